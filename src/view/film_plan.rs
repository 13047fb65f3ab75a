//! What is in each tile of a film strip, before anything is drawn: poses, sight, what is faint.

use kiss3d::window::Window;
use nalgebra::{Point3, Unit, Vector3};

use crate::assembly::hood_open;
use crate::check::Findings;
use crate::space::Pose;

use super::camera::{Area, Camera, HALF_ANGLE_RAD, Projection};
use super::error::ViewError;
use super::film::{FilmOptions, FilmRow};
use super::look::{Look, Shading};
use super::outline::outline;
use super::overlay::Label;
use super::palette::{BACKGROUND, FAINT, INK, ON_ITS_WAY, ON_ITS_WAY_WORD};
use super::picture::body_index;
use super::playback::{Leg, no_hinge, reach_mm, travel_mm};
use super::stage::{Cast, draw_segments};
use super::stance::Stance;
use super::tile::{Arrow, TileOverlay, tile_words_px};

/// Poses drawn pale at most, the one where the move begins included.
const PALE: usize = 4;

/// Neighbours nearer than this to the part are named, mm.
const NEAR_MM: f64 = 90.0;

/// A part's tiles.
pub(super) struct RowPlan {
    pub heading: String,
    pub cast: Cast,
    pub tiles: Vec<TilePlan>,
    /// Height of the words under each tile, pixels.
    pub words_px: u32,
    mover: usize,
}

/// One tile.
#[derive(Clone)]
pub(super) struct TilePlan {
    pub number: usize,
    pub words: String,
    pub ends: [Pose; 2],
    /// Where the part is drawn pale.
    pale: Vec<Pose>,
    pub looks: Vec<Look>,
    pub camera: Camera,
    pub overlay: TileOverlay,
    pub faint: Vec<String>,
}

/// Sides to look from: toward the eye, and the words. The front comes before the rear, and a low view before a steep one.
const SIDES: [([f64; 3], &str); 8] = [
    ([-1.0, -0.8, 0.75], "the front, the left and above"),
    ([-1.0, 0.8, 0.75], "the front, the right and above"),
    ([1.0, -0.8, 0.75], "the rear, the left and above"),
    ([1.0, 0.8, 0.75], "the rear, the right and above"),
    ([-0.6, -0.5, 1.2], "above, the front and the left"),
    ([-0.6, 0.5, 1.2], "above, the front and the right"),
    ([0.6, -0.5, 1.2], "above, the rear and the left"),
    ([0.6, 0.5, 1.2], "above, the rear and the right"),
];

impl RowPlan {
    pub(super) fn of(row: &FilmRow<'_>, options: &FilmOptions) -> Result<Self, ViewError> {
        let way = row.way;
        let legs = way.legs();
        if legs.is_empty() {
            return Err(ViewError::NoWay { body: way.body.clone() });
        }
        let mut scene = row.scene.clone();
        let gone: Vec<String> = no_hinge(row.scene).map(str::to_owned).collect();
        scene.bodies.retain(|body| {
            body.name == way.body || !(way.away.contains(&body.name) || gone.contains(&body.name))
        });
        let mover = body_index(&scene, &way.body)?;
        // The part rides on nothing while it is worked in.
        scene.bodies[mover].carrier = 0;
        let others = scene.bodies.len();
        for _ in 0..PALE {
            scene.bodies.push(scene.bodies[mover].clone());
        }
        let stance = Stance::rest(&scene).with(&scene, &hood_open(&scene))?;
        let cast = Cast::of(&scene, &stance);
        let mut looks = Look::of_all(&scene, &Findings::default(), None);
        for (at, look) in looks.iter_mut().enumerate() {
            if at == mover || at >= others {
                (look.shade, look.what) = (ON_ITS_WAY, ON_ITS_WAY_WORD);
                look.shading = if at == mover { Shading::Solid } else { Shading::Hidden };
            } else {
                // The rest steps back.
                look.shade = look.shade.mixed(BACKGROUND, 0.4);
            }
        }
        let mut plan = RowPlan { heading: String::new(), cast, tiles: Vec::new(), words_px: 0, mover };
        let (toward_eye, side) = plan.best_side(&legs, others);
        plan.heading = format!("{}, seen from {side}", row.heading);
        let told: Vec<String> = legs.iter().map(|leg| leg.words.clone()).collect();
        let width = f64::from(options.tile_width);
        plan.words_px = tile_words_px(&told, width);
        let size_px = [width, f64::from(options.tile_height + plan.words_px)];
        let area = Area { left: 0.0, top: 0.0, width, height: f64::from(options.tile_height) };
        let reach = reach_mm(&scene.bodies[mover].shape, &way.way.middle);
        let tips = plan.tips();
        let names: Vec<String> = scene.bodies.iter().map(|body| body.name.clone()).collect();
        for (at, leg) in legs.iter().enumerate() {
            let camera = plan.camera(leg, toward_eye, size_px, area);
            let mut looks = looks.clone();
            let count = (travel_mm(&leg.step, reach) / (0.7 * reach).max(1.0)).ceil();
            let count = (count as usize).clamp(1, PALE);
            let pale: Vec<Pose> = (0..count).map(|n| leg.step.at(n as f64 / count as f64)).collect();
            for look in &mut looks[others..others + count] {
                look.shading = Shading::Faded;
            }
            let mut tile = TilePlan {
                number: at + 1,
                words: leg.words.clone(),
                ends: [leg.step.from, leg.step.to],
                pale,
                looks,
                camera,
                overlay: TileOverlay::default(),
                faint: Vec::new(),
            };
            plan.stand(&tile);
            for i in plan.hiders(leg, &camera, others) {
                tile.looks[i].shading = Shading::Faded;
                tile.faint.push(names[i].clone());
            }
            tile.overlay = TileOverlay {
                camera: Some(camera),
                number: at + 1,
                words: leg.words.clone(),
                arrows: arrows(leg, &tips, &way.way.middle, &camera),
                labels: plan.labels(&names[..others], &tile, at == 0),
            };
            plan.tiles.push(tile);
        }
        Ok(plan)
    }

    /// Puts the part where a tile has it.
    pub(super) fn stand(&mut self, tile: &TilePlan) {
        self.cast.world_from_body[self.mover] = tile.ends[1];
        let first = self.cast.world_from_body.len() - PALE;
        for (at, pose) in tile.pale.iter().enumerate() {
            self.cast.world_from_body[first + at] = *pose;
        }
    }

    /// Lines along the edges: the part's and those that stand as they are in ink, the pale ones in the part's colour.
    pub(super) fn draw_lines(&self, window: &mut Window, tile: &TilePlan) {
        let first_pale = self.cast.world_from_body.len() - PALE;
        for (i, look) in tile.looks.iter().enumerate() {
            // Lines that let light through come out lighter than what they lie on: these are mixed beforehand.
            let shade = match look.shading {
                Shading::Hidden => continue,
                Shading::Faded if i >= first_pale => ON_ITS_WAY.mixed(BACKGROUND, 0.25),
                Shading::Faded => FAINT.mixed(BACKGROUND, 0.5),
                _ if i == self.mover => INK,
                _ => INK.mixed(BACKGROUND, 0.25),
            };
            let lines = outline(&self.cast.drawables[i], &self.cast.world_from_body[i], &tile.camera);
            draw_segments(window, &lines, shade, 1.0, if i == self.mover { 1.6 } else { 1.2 });
        }
    }

    /// The two places of the part's surface that lie farthest apart, nearly: its frame.
    fn tips(&self) -> [Point3<f64>; 2] {
        let drawable = &self.cast.drawables[self.mover];
        let farthest = |from: &Point3<f64>| {
            let far = |a: &&Point3<f64>, b: &&Point3<f64>| (*a - from).norm().total_cmp(&(*b - from).norm());
            drawable.points.iter().max_by(far).copied().unwrap_or(*from)
        };
        let middle = drawable.bounds.map_or(Point3::origin(), |bounds| bounds.center());
        let one = farthest(&middle);
        [farthest(&one), one]
    }

    /// Corners of the part's box over a move.
    fn swept(&self, leg: &Leg) -> Vec<Point3<f64>> {
        let Some(bounds) = self.cast.drawables[self.mover].bounds else { return Vec::new() };
        let poses = [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| leg.step.at(share));
        poses.iter().flat_map(|pose| bounds.corners().map(|corner| pose * corner)).collect()
    }

    fn camera(&self, leg: &Leg, toward_eye: Unit<Vector3<f64>>, size_px: [f64; 2], area: Area) -> Camera {
        let camera = Camera {
            target: Point3::origin(),
            toward_eye,
            distance_mm: 1000.0,
            up: Vector3::z_axis(),
            projection: Projection::Perspective { half_angle_rad: HALF_ANGLE_RAD },
            near_mm: 1.0,
            far_mm: 1e4,
            size_px,
            area,
        };
        let swept = self.swept(leg);
        let framed = camera.framing(&swept, 0.2);
        let mut all = self.cast.corners(|i| i < self.cast.world_from_body.len() - PALE);
        all.extend(swept);
        framed.with_depth_of(&all)
    }

    /// Places of the part over a move that ought to be seen.
    fn places(&self, leg: &Leg) -> Vec<Point3<f64>> {
        let here = self.cast.spread_over(self.mover, 40);
        [0.5, 1.0].iter().flat_map(|share| here.iter().map(|at| leg.step.at(*share) * at)).collect()
    }

    /// Bodies that hide an eighth of the part or more over a move.
    fn hiders(&self, leg: &Leg, camera: &Camera, others: usize) -> Vec<usize> {
        let places = self.places(leg);
        let hides = |i: &usize| {
            let hidden = places.iter().filter(|place| self.cast.hides(*i, place, camera)).count();
            8 * hidden > places.len()
        };
        (0..others).filter(|i| *i != self.mover).filter(hides).collect()
    }

    /// The side from which the moves show best and least stands before the part.
    fn best_side(&self, legs: &[Leg], others: usize) -> (Unit<Vector3<f64>>, &'static str) {
        let area = Area { left: 0.0, top: 0.0, width: 640.0, height: 480.0 };
        let mut best = (f64::NEG_INFINITY, SIDES[0]);
        let [one, other] = self.tips();
        for side in SIDES {
            let toward = Unit::new_normalize(Vector3::from(side.0));
            let mut score = if side.0[0] < 0.0 { 0.2 } else { 0.0 };
            for leg in legs {
                // How much of the part's length is seen.
                let long = (leg.step.to * (other - one))
                    .try_normalize(1e-6)
                    .map_or(1.0, |l| l.cross(&toward).norm());
                let camera = self.camera(leg, toward, [640.0, 480.0], area);
                let across =
                    leg.step.slide_mm.try_normalize(1e-6).map_or(1.0, |way| way.cross(&toward).norm());
                let about = leg
                    .step
                    .turn_rad
                    .try_normalize(1e-3)
                    .map_or(1.0, |axis| 0.5 + 0.5 * axis.dot(&toward).abs());
                let before = self.hiders(leg, &camera, others).len().min(6) as f64;
                score += (0.5 * across + 0.5 * about + 0.7 * long - 0.25 * before) / legs.len() as f64;
            }
            if score > best.0 + 1e-9 {
                best = (score, side);
            }
        }
        (Unit::new_normalize(Vector3::from(best.1.0)), best.1.1)
    }

    /// Names of what is nearest to the part, where it is seen; the part's own in the first tile.
    fn labels(&self, names: &[String], tile: &TilePlan, first: bool) -> Vec<Label> {
        let places: Vec<Point3<f64>> =
            self.cast.spread_over(self.mover, 60).iter().map(|at| tile.ends[1] * at).collect();
        let off = |i: usize| {
            let (bounds, pose) = (self.cast.drawables[i].bounds?, self.cast.world_from_body[i]);
            let near = |place: &Point3<f64>| {
                let at = pose.inverse_transform_point(place);
                let inside = at.coords.sup(&bounds.min.coords).inf(&bounds.max.coords);
                (at.coords - inside).norm()
            };
            Some(places.iter().map(near).fold(f64::INFINITY, f64::min)).filter(|off| *off < NEAR_MM)
        };
        let shown = |i: &usize| *i != self.mover && tile.looks[*i].shading == Shading::Solid;
        let mut near: Vec<(f64, usize)> =
            (0..names.len()).filter(shown).filter_map(|i| Some((off(i)?, i))).collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let label = |i: usize, words: String| {
            let at = tile.camera.project(&self.cast.seen_at(i, &tile.looks, &tile.camera)?)?;
            Some(Label { at, shade: tile.looks[i].shade, words })
        };
        let own = first.then(|| label(self.mover, format!("{} (on its way)", names[self.mover]))).flatten();
        own.into_iter()
            .chain(near.into_iter().filter_map(|(_, i)| label(i, names[i].clone())).take(3))
            .collect()
    }
}

/// Less turn than this and the part's middle tells enough, radians: 4 degrees.
const STRAIGHT_RAD: f64 = 0.07;

/// Pieces of an arrow's line.
const PIECES: usize = 24;

/// How the part goes: its middle where it goes straight, its two ends where it turns.
fn arrows(leg: &Leg, tips: &[Point3<f64>; 2], middle: &Point3<f64>, camera: &Camera) -> Vec<Arrow> {
    let turns = leg.step.turn_rad.norm() > STRAIGHT_RAD;
    let followed: &[Point3<f64>] = if turns { tips } else { std::slice::from_ref(middle) };
    let line = |at: &Point3<f64>| {
        let shares = (0..=PIECES).map(|n| n as f64 / PIECES as f64);
        let line: Vec<[f64; 2]> =
            shares.filter_map(|share| camera.project(&(leg.step.at(share) * at))).collect();
        Arrow::of(line)
    };
    followed.iter().filter_map(line).collect()
}
