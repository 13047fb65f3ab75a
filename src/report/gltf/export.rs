//! A scene as a glTF document.

use std::collections::BTreeSet;

use nalgebra::{Matrix3, Point3, Rotation3, UnitQuaternion, Vector3};
use serde_json::{Map, Value, json};

use crate::assembly::hood_open;
use crate::report::CAUTIONS;
use crate::scene::{Body, Scene};
use crate::space::Pose;
use crate::way_in::Way;

use super::GltfError;
use super::carriers::{Track, Values, back, held, stand, swing, there, turn_of};
use super::film::{Film, legs};
use super::glb::Buffer;
use super::skin::{Skins, metres};

/// What `asset.generator` says in every file of ours.
pub const GLTF_GENERATOR: &str = concat!("Baywright ", env!("CARGO_PKG_VERSION"));

/// How a scene is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GltfOptions {
    /// Surfaces lie within this of the true ones, mm.
    pub chord_mm: f64,
}

impl Default for GltfOptions {
    fn default() -> Self {
        // Finer than a bay is measured.
        GltfOptions { chord_mm: 0.1 }
    }
}

/// A body with its way in.
#[derive(Clone, Debug)]
pub struct GltfPart {
    /// The body.
    pub body: String,
    /// Its way, from outside to where it is mounted.
    pub way: Way,
    /// The last move on to its seat, mm, which was not looked at.
    pub seat_mm: Option<Vector3<f64>>,
    /// Bodies that are not there meanwhile: taken off first, or mounted later.
    pub away: Vec<String>,
}

/// A scene as glTF, and what is in it.
#[derive(Clone, Debug)]
pub struct Gltf {
    /// The file.
    pub glb: Vec<u8>,
    /// Triangles in it.
    pub triangles: usize,
    /// Points of clouds in it.
    pub points: usize,
    /// Names of its animations.
    pub animations: Vec<String>,
    /// What plays the ways keeps every point of a moving body within this of the way, mm, at 33 instants between each key and the
    /// next; `None` without a way.
    pub stray_mm: Option<f64>,
}

/// The colours, from the published table of Okabe and Ito, "Color Universal Design" (2008), and greys for what nothing concerns; the same
/// as in the viewer.
const LOOKS: [(&str, [u8; 3]); 4] = [
    ("candidate", [0x56, 0xB4, 0xE9]),
    ("kept", [0x9C, 0xA3, 0xAC]),
    ("other", [0xCB, 0xCF, 0xD4]),
    ("on its way", [0x00, 0x72, 0xB2]),
];
const ON_ITS_WAY: usize = 3;

const WHAT_IS_NOT_THERE: &str = "Covers (wrap, coating, sheath) and the thickness of open meshes are not drawn. A hose keeps its shape at rest \
                                 and rides on what carries it. Only the way itself is proved; swings of carriers and the move on to a seat show movement.";

/// The vehicle's axes (x rearward, y right, z up) as the standard wants them: y up, the front toward +z.
fn root_turn() -> UnitQuaternion<f64> {
    let turn = Matrix3::new(0.0, -1.0, 0.0, 0.0, 0.0, 1.0, -1.0, 0.0, 0.0);
    UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(turn))
}

struct Document<'a> {
    scene: &'a Scene,
    buffer: Buffer,
    nodes: Vec<Value>,
    meshes: Vec<Value>,
    animations: Vec<Value>,
    names: Vec<String>,
    /// By carrier: the nodes of its freedoms, and the node that its bodies hang from.
    carriers: Vec<(Vec<usize>, usize)>,
    /// By body: its node, and that at its middle where it moves.
    bodies: Vec<(usize, Option<usize>)>,
    triangles: usize,
    points: usize,
}

/// Writes a scene, every body where it is mounted, as a GLB: each body a node of its name, the freedoms of each carrier an animation
/// each, and each way an animation. Same input, same bytes.
///
/// # Errors
/// A way of a body that is not there, two of one body, a file over 4 GiB.
pub fn gltf_of(scene: &Scene, parts: &[GltfPart], options: &GltfOptions) -> Result<Gltf, GltfError> {
    let moving: Vec<usize> = parts
        .iter()
        .map(|part| {
            let at = scene.bodies.iter().position(|body| body.name == part.body);
            at.ok_or_else(|| GltfError::NoBody { body: part.body.clone() })
        })
        .collect::<Result<_, _>>()?;
    if let Some(at) = (1..moving.len()).find(|at| moving[..*at].contains(&moving[*at])) {
        return Err(GltfError::Twice { body: parts[at].body.clone() });
    }
    let mut document = Document {
        scene,
        buffer: Buffer::default(),
        nodes: vec![json!({
            "name": if scene.title.is_empty() { "bay" } else { &scene.title },
            "rotation": turn_of(&root_turn()), "children": [],
        })],
        meshes: Vec::new(),
        animations: Vec::new(),
        names: Vec::new(),
        carriers: Vec::new(),
        bodies: Vec::new(),
        triangles: 0,
        points: 0,
    };
    document.add_carriers();
    let mut reaches_mm = Vec::with_capacity(scene.bodies.len());
    for (at, body) in scene.bodies.iter().enumerate() {
        let part = moving.iter().position(|number| *number == at).map(|number| &parts[number]);
        reaches_mm.push(document.add_body(body, part.map(|part| &part.way.middle), options.chord_mm));
    }
    document.add_swings();
    let stray_mm = document.add_ways(parts, &moving, &reaches_mm);
    document.finish(stray_mm)
}

impl Document<'_> {
    fn add(&mut self, node: Value, under: usize) -> usize {
        self.nodes.push(node);
        let number = self.nodes.len() - 1;
        let parent = &mut self.nodes[under];
        if parent.get("children").is_none() {
            parent["children"] = json!([]);
        }
        if let Some(children) = parent["children"].as_array_mut() {
            children.push(json!(number));
        }
        number
    }

    fn add_carriers(&mut self) {
        for carrier in &self.scene.carriers {
            let (mut under, mut nodes) = (0, Vec::new());
            for (at, freedom) in carrier.movement.freedoms.iter().enumerate() {
                let word = carrier.freedom_words.get(at).map_or("moves", String::as_str);
                let (shift, turn) = stand(freedom, 0.0);
                let name = format!("{} carrier: {word}", carrier.name);
                let node = json!({"name": name, "translation": shift, "rotation": turn});
                under = self.add(node, under);
                nodes.push(under);
                if let Some(back) = back(freedom) {
                    under = self
                        .add(json!({"name": format!("{name}, from its axis"), "translation": back}), under);
                }
            }
            self.carriers.push((nodes, under));
        }
    }

    /// Adds a body; how far it reaches from its middle (for one that moves), mm.
    fn add_body(&mut self, body: &Body, middle: Option<&Point3<f64>>, chord_mm: f64) -> f64 {
        let skins = Skins::of(&body.shape, chord_mm);
        let look = match (middle, body.candidate, body.kept) {
            (Some(_), ..) => ON_ITS_WAY,
            (_, true, _) => 0,
            (_, _, true) => 1,
            _ => 2,
        };
        let mut primitives = Vec::new();
        for (skin, material) in [(&skins.closed, 2 * look), (&skins.open, 2 * look + 1)] {
            if skin.corners.is_empty() {
                continue;
            }
            let places = self.buffer.positions(&skin.positions);
            let normals = self.buffer.normals(&skin.normals);
            let corners = self.buffer.indices(&skin.corners);
            primitives.push(json!({
                "attributes": {"POSITION": places, "NORMAL": normals}, "indices": corners, "material": material,
            }));
        }
        if !skins.points.is_empty() {
            let places = self.buffer.positions(&skins.points);
            primitives.push(json!({"attributes": {"POSITION": places}, "material": 2 * look, "mode": 0}));
        }
        self.triangles += skins.triangles();
        self.points += skins.points.len();
        let mut node = Map::new();
        node.insert("name".into(), json!(body.name));
        let carrier = self.carriers.get(body.carrier).map_or(0, |(_, node)| *node);
        let pose = &body.world_from_body;
        let mut at_middle = None;
        let under = match middle {
            None => {
                node.insert("translation".into(), json!(metres(&pose.translation.vector)));
                node.insert("rotation".into(), json!(turn_of(&pose.rotation)));
                carrier
            }
            Some(middle) => {
                node.insert("translation".into(), json!(metres(&-middle.coords)));
                let pivot = json!({
                    "name": format!("{}: its middle, on its way", body.name),
                    "translation": metres(&(pose * middle).coords), "rotation": turn_of(&pose.rotation),
                });
                let pivot = self.add(pivot, carrier);
                at_middle = Some(pivot);
                pivot
            }
        };
        if !primitives.is_empty() {
            self.meshes.push(json!({"name": body.name, "primitives": primitives}));
            node.insert("mesh".into(), json!(self.meshes.len() - 1));
        }
        let mut extras = Map::new();
        if !body.roles.is_empty() {
            extras.insert("role".into(), json!(body.roles));
        }
        if let Some(material) = &body.material {
            extras.insert("material".into(), json!(material));
        }
        for (key, is) in [("kept", body.kept), ("candidate", body.candidate)] {
            if is {
                extras.insert(key.into(), json!(true));
            }
        }
        if !extras.is_empty() {
            node.insert("extras".into(), Value::Object(extras));
        }
        let number = self.add(Value::Object(node), under);
        self.bodies.push((number, at_middle));
        middle.map_or(0.0, |middle| skins.reach_mm(middle))
    }

    fn animate(&mut self, name: String, tracks: Vec<(usize, Track)>) {
        let (mut channels, mut samplers) = (Vec::new(), Vec::new());
        for (node, track) in tracks {
            let input = self.buffer.times(&track.times);
            let (path, interpolation, output) = match &track.values {
                Values::Shift(keys) => ("translation", "LINEAR", self.buffer.keys3(keys)),
                Values::Turn(keys) => ("rotation", "LINEAR", self.buffer.keys4(keys)),
                Values::There(keys) => ("scale", "STEP", self.buffer.keys3(keys)),
            };
            channels.push(json!({"sampler": samplers.len(), "target": {"node": node, "path": path}}));
            samplers.push(json!({"input": input, "interpolation": interpolation, "output": output}));
        }
        self.animations.push(json!({"name": name, "channels": channels, "samplers": samplers}));
        self.names.push(name);
    }

    fn add_swings(&mut self) {
        let scene = self.scene;
        for (number, carrier) in scene.carriers.iter().enumerate() {
            for (at, freedom) in carrier.movement.freedoms.iter().enumerate() {
                let word = carrier.freedom_words.get(at).map_or("moves", String::as_str);
                let track = swing(freedom);
                if track.times.len() > 1 {
                    let node = self.carriers[number].0[at];
                    self.animate(format!("{} carrier: {word}", carrier.name), vec![(node, track)]);
                }
            }
        }
    }

    /// Each way an animation, and where there are several all one after the other; how far they stray, mm.
    fn add_ways(&mut self, parts: &[GltfPart], moving: &[usize], reaches_mm: &[f64]) -> Option<f64> {
        let mut stray_mm = None;
        for (part, &body) in parts.iter().zip(moving) {
            let film = self.film(part, body, reaches_mm, 0.0);
            stray_mm = Some(film.stray_mm.max(stray_mm.unwrap_or(0.0)));
            let until = film.ends_s() as f32;
            let mut tracks = self.keys(body, film);
            tracks.extend(self.surroundings(until, &part.away, &part.body));
            self.animate(format!("way in: {}", part.body), tracks);
        }
        if parts.len() > 1 {
            let (mut tracks, mut from_s) = (Vec::new(), 0.0);
            let mut begins = Vec::new();
            for (part, &body) in parts.iter().zip(moving) {
                let film = self.film(part, body, reaches_mm, from_s);
                stray_mm = Some(film.stray_mm.max(stray_mm.unwrap_or(0.0)));
                begins.push((body, from_s as f32));
                from_s = film.ends_s();
                tracks.extend(self.keys(body, film));
            }
            let until = from_s as f32;
            tracks.extend(begins.into_iter().map(|(body, from)| (self.bodies[body].0, there(from, until))));
            let named = |name: &String| parts.iter().any(|part| part.body == *name);
            let away: Vec<String> =
                parts.iter().flat_map(|part| &part.away).filter(|name| !named(name)).cloned().collect();
            tracks.extend(self.surroundings(until, &away, ""));
            self.animate("ways in, one after the other".to_owned(), tracks);
        }
        stray_mm
    }

    fn film(&self, part: &GltfPart, body: usize, reaches_mm: &[f64], from_s: f64) -> Film {
        // What rides on the hood goes with the hood that stands open meanwhile: its keys are told from there.
        let scene = self.scene;
        let carrier = &scene.carriers[scene.bodies[body].carrier];
        let open = hood_open(scene).into_iter().find(|(name, _)| *name == carrier.name);
        let world_from_carrier =
            open.map_or_else(Pose::identity, |(_, values)| carrier.movement.world_from_rest(&values));
        let moves = legs(&part.way, part.seat_mm);
        Film::of(&moves, &part.way.middle, &world_from_carrier.inverse(), reaches_mm[body], from_s)
    }

    fn keys(&self, body: usize, film: Film) -> Vec<(usize, Track)> {
        let Some(node) = self.bodies[body].1 else { return Vec::new() };
        let shifts = Track { times: film.times.clone(), values: Values::Shift(film.shifts) };
        let turns = Track { times: film.times, values: Values::Turn(film.turns) };
        vec![(node, shifts), (node, turns)]
    }

    /// The hood open, and what is away not there.
    fn surroundings(&self, until: f32, away: &[String], mover: &str) -> Vec<(usize, Track)> {
        let scene = self.scene;
        let mut tracks = Vec::new();
        for (name, values) in hood_open(scene) {
            let number = scene.carriers.iter().position(|carrier| carrier.name == name);
            let Some(number) = number else { continue };
            let freedoms = scene.carriers[number].movement.freedoms.iter().zip(values);
            for ((freedom, value), node) in freedoms.zip(&self.carriers[number].0) {
                tracks.push((*node, held(freedom, value, until)));
            }
        }
        // A hood that does not move is lifted off.
        let lifted_off = |body: &Body| {
            let carrier = &scene.carriers[body.carrier];
            carrier.name == "hood" && carrier.movement.freedoms.is_empty()
        };
        let gone: BTreeSet<usize> = (0..scene.bodies.len())
            .filter(|at| {
                let body = &scene.bodies[*at];
                body.name != mover && (away.contains(&body.name) || lifted_off(body))
            })
            .collect();
        tracks.extend(gone.into_iter().map(|at| (self.bodies[at].0, there(until, until))));
        tracks
    }

    fn finish(self, stray_mm: Option<f64>) -> Result<Gltf, GltfError> {
        let mut document = Map::new();
        document.insert(
            "asset".into(),
            json!({
                "version": "2.0", "generator": GLTF_GENERATOR,
                "extras": {
                    "title": self.scene.title,
                    "axes": "under the root node: x rearward, y to the vehicle's right, z up, metres",
                    "not_shown": WHAT_IS_NOT_THERE,
                    "cautions": CAUTIONS,
                },
            }),
        );
        document.insert("scene".into(), json!(0));
        document.insert("scenes".into(), json!([{"nodes": [0]}]));
        let mut nodes = self.nodes;
        if nodes[0]["children"].as_array().is_some_and(Vec::is_empty)
            && let Some(root) = nodes[0].as_object_mut()
        {
            // The standard knows no empty lists.
            root.remove("children");
        }
        document.insert("nodes".into(), Value::Array(nodes));
        if !self.meshes.is_empty() {
            document.insert("meshes".into(), Value::Array(self.meshes));
        }
        document.insert("materials".into(), Value::Array(materials()));
        if !self.animations.is_empty() {
            document.insert("animations".into(), Value::Array(self.animations));
        }
        let glb = self.buffer.into_glb(document)?;
        Ok(Gltf { glb, triangles: self.triangles, points: self.points, animations: self.names, stray_mm })
    }
}

/// Each look twice: of solids, and of patches that are seen from both sides.
fn materials() -> Vec<Value> {
    // sRGB to linear light, IEC 61966-2-1 (from memory).
    let linear = |channel: u8| {
        let c = f64::from(channel) / 255.0;
        let light = if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
        (light * 1e6).round() / 1e6
    };
    let both = LOOKS.iter().flat_map(|look| [(look, false), (look, true)]);
    both.map(|((word, shade), patch)| {
        let [r, g, b] = shade.map(linear);
        json!({
            "name": if patch { format!("{word}, patch") } else { (*word).to_owned() },
            "pbrMetallicRoughness": {"baseColorFactor": [r, g, b, 1.0], "metallicFactor": 0.0, "roughnessFactor": 0.7},
            "doubleSided": patch,
        })
    })
    .collect()
}
