//! A scene as glTF: what a reader of the standard finds in the file, and `baywright export` at a shell.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use baywright::report::{GltfOptions, GltfPart, gltf_of};
use baywright::scene::Scene;
use baywright::space::Pose;
use baywright::way_in::Way;
use nalgebra::{Isometry3, Matrix4, Point3, Quaternion, Translation3, UnitQuaternion, Vector3};
use serde_json::Value;

const BAY: &str = r#"
baywright: 1
title: a bay, invented
units: mm
carriers:
  engine: {rock: {through: [0, 0, 400], along: rearward, forward: 4 deg, reverse: 2 deg}}
  hood: {hinge: {through: [600, 0, 900], along: right, from: 0 deg, to: 60 deg}}
bodies:
  floor: {shape: {box: [400, 300, 10]}, at: [0, 0, -5], kept: true}
  pump: {shape: {box: [100, 60, 40]}, at: [10, 20, 30], turn: {z: 90 deg}, candidate: true}
  cap: {shape: {cylinder: {diameter: 40, length: 30}}, at: [-150, -100, 500], carried_by: engine}
  lid: {shape: {box: [500, 400, 2]}, at: [300, 0, 900], carried_by: hood}
"#;

fn bay() -> Scene {
    Scene::load_text(Path::new("bay.yaml"), BAY).unwrap_or_else(|errors| panic!("{errors}"))
}

/// A GLB read by the letter of the standard.
struct Read {
    document: Value,
    bin: Vec<u8>,
}

impl Read {
    fn of(glb: &[u8]) -> Self {
        let word = |at: usize| u32::from_le_bytes(glb[at..at + 4].try_into().unwrap()) as usize;
        assert_eq!((&glb[..4], word(4), word(8)), (&b"glTF"[..], 2, glb.len()));
        let text = word(12);
        assert_eq!((&glb[16..20], text % 4), (&b"JSON"[..], 0));
        let bin = 20 + text;
        assert_eq!(
            (&glb[bin + 4..bin + 8], word(bin), word(bin) % 4),
            (&b"BIN\0"[..], glb.len() - bin - 8, 0)
        );
        Read { document: serde_json::from_slice(&glb[20..bin]).unwrap(), bin: glb[bin + 8..].to_vec() }
    }

    /// Rows of an accessor, its bounds compared where it tells them.
    fn rows(&self, accessor: &Value) -> Vec<Vec<f64>> {
        let accessor = &self.document["accessors"][accessor.as_u64().unwrap() as usize];
        let view = &self.document["bufferViews"][accessor["bufferView"].as_u64().unwrap() as usize];
        let width = match accessor["type"].as_str().unwrap() {
            "SCALAR" => 1,
            "VEC3" => 3,
            "VEC4" => 4,
            other => panic!("{other}"),
        };
        let (from, length) =
            (view["byteOffset"].as_u64().unwrap() as usize, view["byteLength"].as_u64().unwrap() as usize);
        let count = accessor["count"].as_u64().unwrap() as usize;
        let bytes = &self.bin[from..from + length];
        let numbers: Vec<f64> = match accessor["componentType"].as_u64().unwrap() {
            5126 => bytes.chunks(4).map(|b| f64::from(f32::from_le_bytes(b.try_into().unwrap()))).collect(),
            5125 => bytes.chunks(4).map(|b| f64::from(u32::from_le_bytes(b.try_into().unwrap()))).collect(),
            5123 => bytes.chunks(2).map(|b| f64::from(u16::from_le_bytes(b.try_into().unwrap()))).collect(),
            other => panic!("{other}"),
        };
        assert_eq!((numbers.len(), from % 4), (count * width, 0));
        let rows: Vec<Vec<f64>> = numbers.chunks(width).map(<[f64]>::to_vec).collect();
        if let Some(low) = accessor["min"].as_array() {
            for (axis, low) in low.iter().enumerate() {
                let least = rows.iter().map(|row| row[axis]).fold(f64::INFINITY, f64::min);
                assert_eq!(low.as_f64().unwrap() as f32, least as f32);
            }
        }
        rows
    }

    fn nodes(&self) -> &Vec<Value> {
        self.document["nodes"].as_array().unwrap()
    }

    fn node(&self, name: &str) -> usize {
        self.nodes().iter().position(|node| node["name"] == name).unwrap_or_else(|| panic!("no node {name}"))
    }

    /// Times of the keys of an animation's channel.
    fn times(&self, animation: &str, channel: usize) -> Vec<f64> {
        let list = self.document["animations"].as_array().unwrap();
        let one = list.iter().find(|one| one["name"] == animation).unwrap();
        let sampler = one["channels"][channel]["sampler"].as_u64().unwrap() as usize;
        self.rows(&one["samplers"][sampler]["input"]).iter().map(|row| row[0]).collect()
    }

    /// Where a node stands in our axes, mm, with an animation at a time; `None` where it is scaled to nothing.
    fn stands(&self, name: &str, animation: Option<(&str, f64)>) -> Option<Isometry3<f64>> {
        let numbers = |value: &Value| {
            value.as_array().map(|list| list.iter().map(|v| v.as_f64().unwrap()).collect::<Vec<_>>())
        };
        let keyed = |node: usize, path: &str| -> Option<Vec<f64>> {
            let (name, time) = animation?;
            let list = self.document["animations"].as_array().unwrap();
            let one = list
                .iter()
                .find(|one| one["name"] == name)
                .unwrap_or_else(|| panic!("no {name} in {list:?}"));
            let channel = one["channels"]
                .as_array()
                .unwrap()
                .iter()
                .find(|channel| channel["target"]["node"] == node && channel["target"]["path"] == path)?;
            let sampler = &one["samplers"][channel["sampler"].as_u64().unwrap() as usize];
            let (times, values) = (self.rows(&sampler["input"]), self.rows(&sampler["output"]));
            assert_eq!(times.len(), values.len());
            let next = times.iter().position(|row| row[0] > time).unwrap_or(times.len());
            let (a, b) = (next.saturating_sub(1), next.min(times.len() - 1));
            if a == b || sampler["interpolation"] == "STEP" {
                return Some(values[a].clone());
            }
            let share = (time - times[a][0]) / (times[b][0] - times[a][0]);
            let (from, to) = (&values[a], &values[b]);
            if path == "rotation" {
                // Shoemake 1985, as appendix C of the standard has it.
                let dot: f64 = from.iter().zip(to).map(|(a, b)| a * b).sum();
                assert!(dot >= 0.0, "neighbours on both sides of the sphere");
                let angle = dot.min(1.0).acos();
                if angle > 1e-6 {
                    let weigh = |part: f64| (part * angle).sin() / angle.sin();
                    return Some(
                        from.iter().zip(to).map(|(a, b)| a * weigh(1.0 - share) + b * weigh(share)).collect(),
                    );
                }
            }
            Some(from.iter().zip(to).map(|(a, b)| a + (b - a) * share).collect())
        };
        let mut at = self.node(name);
        let mut pose = Isometry3::identity();
        loop {
            let node = &self.nodes()[at];
            let get = |path: &str| keyed(at, path).or_else(|| numbers(&node[path]));
            if get("scale").is_some_and(|scale| scale[0] == 0.0) {
                return None;
            }
            let shift =
                get("translation").map_or(Vector3::zeros(), |v| 1000.0 * Vector3::new(v[0], v[1], v[2]));
            let turn = get("rotation").map_or(UnitQuaternion::identity(), |q| {
                UnitQuaternion::from_quaternion(Quaternion::new(q[3], q[0], q[1], q[2]))
            });
            pose = Isometry3::from_parts(Translation3::from(shift), turn) * pose;
            let parent = self.nodes().iter().position(|node| {
                node["children"].as_array().is_some_and(|list| list.iter().any(|child| child == at))
            });
            match parent {
                Some(parent) => at = parent,
                None => break,
            }
        }
        assert_eq!(at, 0, "it hangs from the root");
        // The standard: +y up, the front toward +z, so that -x is the right. Ours: front -x, right +y, up +z.
        let standard = Matrix4::new(0., -1., 0., 0., 0., 0., 1., 0., -1., 0., 0., 0., 0., 0., 0., 1.);
        let ours = standard.transpose() * pose.to_homogeneous();
        let turn = UnitQuaternion::from_matrix(&ours.fixed_view::<3, 3>(0, 0).into_owned());
        Some(Isometry3::from_parts(Translation3::new(ours[(0, 3)], ours[(1, 3)], ours[(2, 3)]), turn))
    }
}

fn apart(a: &Isometry3<f64>, b: &Isometry3<f64>) -> f64 {
    let corners = [[0.0, 0.0, 0.0], [500.0, 0.0, 0.0], [0.0, 500.0, 0.0], [0.0, 0.0, 500.0]];
    corners.iter().map(|at| (a * Point3::from(*at) - b * Point3::from(*at)).norm()).fold(0.0, f64::max)
}

fn parts(scene: &Scene) -> Vec<GltfPart> {
    let goal = scene.body("pump").unwrap().world_from_body;
    let turned = UnitQuaternion::from_scaled_axis(Vector3::new(0.3, -2.5, 0.4));
    let way = |goal: Pose, middle: Point3<f64>| Way {
        poses: vec![
            Pose::translation(0.0, 0.0, 700.0) * goal,
            Pose::from_parts(Vector3::new(300.0, -40.0, 400.0).into(), turned),
            goal,
        ],
        middle,
        spare: Default::default(),
        effort: Default::default(),
    };
    let cap = scene.body("cap").unwrap().world_from_body;
    vec![
        GltfPart {
            body: "pump".to_owned(),
            way: way(goal, Point3::new(5.0, -3.0, 2.0)),
            seat_mm: None,
            away: vec!["cap".to_owned(), "floor".to_owned()],
        },
        GltfPart {
            body: "cap".to_owned(),
            way: way(Pose::translation(0.0, 0.0, 2.0) * cap, Point3::origin()),
            seat_mm: Some(Vector3::new(0.0, 0.0, -2.0)),
            away: vec!["floor".to_owned()],
        },
    ]
}

#[test]
fn bodies_stand_where_they_stand_and_as_large_as_they_are() {
    let scene = bay();
    for parts in [Vec::new(), parts(&scene)] {
        let gltf = gltf_of(&scene, &parts, &GltfOptions::default()).unwrap();
        let read = Read::of(&gltf.glb);
        for body in &scene.bodies {
            let stands = read.stands(&body.name, None).unwrap();
            assert!(apart(&stands, &body.world_from_body) < 1e-3, "{}: {stands}", body.name);
            let mesh = &read.document["meshes"]
                [read.nodes()[read.node(&body.name)]["mesh"].as_u64().unwrap() as usize];
            let rows = read.rows(&mesh["primitives"][0]["attributes"]["POSITION"]);
            let corners = read.rows(&mesh["primitives"][0]["indices"]);
            assert!(corners.iter().all(|corner| (corner[0] as usize) < rows.len()));
            let bounds = body.shape.bounds();
            for axis in 0..3 {
                let most = rows.iter().map(|row| 1000.0 * row[axis]).fold(f64::NEG_INFINITY, f64::max);
                assert!((most - bounds.max[axis]).abs() < 0.1001, "{} along {axis}: {most}", body.name);
            }
        }
    }
}

#[test]
fn carriers_swing_to_the_ends_of_their_ranges() {
    let scene = bay();
    let gltf = gltf_of(&scene, &[], &GltfOptions::default()).unwrap();
    let read = Read::of(&gltf.glb);
    assert_eq!(gltf.animations, ["engine carrier: rock", "hood carrier: hinge"]);
    for (animation, body) in [("engine carrier: rock", "cap"), ("hood carrier: hinge", "lid")] {
        let body = scene.body(body).unwrap();
        let carrier = &scene.carriers[body.carrier];
        let (low, high) = carrier.movement.freedoms[0].range();
        let mut left = vec![low, high, 0.5 * low, 0.5 * high];
        let times = read.times(animation, 0);
        let halves = times.windows(2).map(|pair| 0.5 * (pair[0] + pair[1]));
        for time in times.iter().copied().chain(halves) {
            let stands = read.stands(&body.name, Some((animation, time))).unwrap();
            left.retain(|value| {
                let want = carrier.movement.world_from_rest(&[*value]) * body.world_from_body;
                apart(&stands, &want) > 1e-3
            });
            // What does not ride on it stays.
            let floor = read.stands("floor", Some((animation, time))).unwrap();
            assert!(apart(&floor, &scene.bodies[0].world_from_body) < 1e-3);
        }
        assert!(left.is_empty(), "{animation} never came to {left:?}");
    }
}

#[test]
fn a_way_is_played_as_it_was_proved_among_what_is_there() {
    let scene = bay();
    let parts = parts(&scene);
    let gltf = gltf_of(&scene, &parts, &GltfOptions::default()).unwrap();
    assert!(gltf.stray_mm.is_some_and(|mm| mm < 0.001), "{:?}", gltf.stray_mm);
    let read = Read::of(&gltf.glb);
    assert_eq!(&gltf.animations[2..], ["way in: pump", "way in: cap", "ways in, one after the other"]);
    for part in &parts {
        let animation = format!("way in: {}", part.body);
        let stands = |time: f64| read.stands(&part.body, Some((&animation, time))).unwrap();
        assert!(apart(&stands(0.0), &part.way.poses[0]) < 1e-3);
        assert!(apart(&stands(99.0), &scene.body(&part.body).unwrap().world_from_body) < 1e-3);
        // Midway between two keys it stands as the move has it there; a move that turns by more than 90 degrees has a key on its way.
        let times = read.times(&animation, 0);
        let halves: Vec<_> = times.windows(2).map(|pair| stands(0.5 * (pair[0] + pair[1]))).collect();
        for leg in part.way.moves() {
            let pieces = (leg.turn_rad.norm() / std::f64::consts::FRAC_PI_2).ceil().max(1.0);
            for piece in 0..pieces as usize {
                let want = leg.at((piece as f64 + 0.5) / pieces);
                let nearest = halves.iter().map(|half| apart(half, &want)).fold(f64::INFINITY, f64::min);
                assert!(nearest < 1e-3, "{animation}: {nearest}");
            }
        }
        for away in &part.away {
            assert!(read.stands(away, Some((&animation, 1.0))).is_none(), "{away} is there");
        }
        // The hood stands open: 60 degrees up about its hinge.
        let lid = read.stands("lid", Some((&animation, 1.0))).unwrap();
        assert!(lid.translation.vector.z > 1150.0, "{lid}");
    }
    assert!(read.stands("cap", Some(("way in: cap", 1.0))).is_some());
    // Of two, the second comes when the first is in.
    let all = |name: &str, time: f64| read.stands(name, Some(("ways in, one after the other", time)));
    assert!(all("cap", 1.0).is_none() && all("floor", 1.0).is_none());
    assert!(all("cap", 99.0).is_some() && all("floor", 99.0).is_none());
    assert!(apart(&all("pump", 99.0).unwrap(), &scene.body("pump").unwrap().world_from_body) < 1e-3);
}

#[test]
fn what_cannot_be_is_refused_and_the_same_scene_is_the_same_bytes() {
    let scene = bay();
    let mut twice = parts(&scene);
    twice[1] = twice[0].clone();
    let error = gltf_of(&scene, &twice, &GltfOptions::default()).unwrap_err();
    assert_eq!(error.to_string(), "the motion moves `pump` twice");
    twice[0].body = "gone".to_owned();
    let error = gltf_of(&scene, &twice[..1], &GltfOptions::default()).unwrap_err();
    assert_eq!(error.to_string(), "the scene has no body `gone`, which the motion moves");
    let write = || gltf_of(&scene, &parts(&scene), &GltfOptions::default()).unwrap().glb;
    assert!(write() == write());
}

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let out = Command::cargo_bin("baywright").unwrap().current_dir(folder).args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[test]
fn a_way_found_at_a_shell_is_exported_and_nothing_foreign_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    fs::write(here.join("bay.yaml"), BAY).unwrap();
    let (code, json, wrong) = run(here, &["way-in", "bay.yaml", "pump", "--format", "json"]);
    assert_eq!(code, Some(0), "{json}{wrong}");
    fs::write(here.join("way.json"), &json).unwrap();
    let export = |output: &str, motion: &str| {
        let mut arguments = vec!["export", "bay.yaml", "-o", output];
        if !motion.is_empty() {
            arguments.extend(["--motion", motion]);
        }
        run(here, &arguments)
    };
    let (code, text, wrong) = export("bay.glb", "way.json");
    assert_eq!(code, Some(0), "{text}{wrong}");
    assert!(text.contains("way in: pump") && text.contains("local codes"), "{text}");
    let stray: f64 = text.split("within ").nth(2).unwrap().split(" mm").next().unwrap().parse().unwrap();
    assert!(stray < 0.1, "{text}");
    let first = fs::read(here.join("bay.glb")).unwrap();
    // Its own file may be written again; the same input gives the same bytes.
    assert_eq!(export("bay.glb", "way.json").0, Some(0));
    assert!(first == fs::read(here.join("bay.glb")).unwrap());
    fs::write(here.join("theirs.glb"), "somebody's").unwrap();
    fs::write(here.join("moved.json"), json.replace("30.0", "31.5")).unwrap();
    fs::write(here.join("cut.json"), &json[..json.len() / 2]).unwrap();
    for (output, motion, want) in [
        ("theirs.glb", "", "theirs.glb is there already, and Baywright did not write it"),
        ("bay.gltf", "", "does not end in .glb"),
        ("none/bay.glb", "", "there is no folder none"),
        ("new.glb", "missing.json", "missing.json could not be read"),
        ("new.glb", "bay.yaml", "bay.yaml: line "),
        ("new.glb", "cut.json", "cut.json: line "),
        ("new.glb", "moved.json", "ends 1.5 mm and 0.0 deg from where it is mounted"),
    ] {
        let (code, text, wrong) = export(output, motion);
        assert!(code == Some(2) && wrong.contains(want), "{output} {motion}: {text}{wrong}");
    }
    assert_eq!(fs::read(here.join("theirs.glb")).unwrap(), b"somebody's");
    assert!(!here.join("new.glb").exists());
}
