//! How far a point is from everything, over sampled poses of everything. It guides; it proves nothing.

use std::sync::OnceLock;

use nalgebra::{Point3, Vector3};

use super::chain::Layout;
use super::{Obstacle, Ride, RouteAsk};
use crate::clearance::{IndexedShape, distance_under};
use crate::motion::Movement;
use crate::solid::Piece;
use crate::space::{Bounds, Length, Pose};

/// Farther than this beyond the tube's skin nothing is asked, mm.
pub(super) const FAR_MM: f64 = 80.0;
/// The same for the grid's cells, mm.
const GRID_FAR_MM: f64 = 45.0;
/// Most cells of the grid.
const MOST_CELLS: f64 = 250_000.0;
/// Most sampled poses of one obstacle.
const MOST_POSES: usize = 27;

/// An obstacle as a point of the tube sees it.
struct Seen {
    shape: IndexedShape,
    required_mm: f64,
    /// Poses of the tube's frame in the obstacle's, at rest first.
    solid_from_tube: Vec<Pose>,
    /// Bounds at rest in the tube's frame, grown by how far the obstacle comes toward the tube.
    bounds: Bounds,
    joined: bool,
}

/// A plane of an obstacle near a point: how much room is left, and the way out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Near {
    /// Gap less what is required, less the tube's radius, mm.
    pub slack_mm: f64,
    /// The way that makes it more, unit length.
    pub normal: Vector3<f64>,
    /// Which obstacle.
    pub obstacle: usize,
}

/// Everything that a tube must keep clear of.
pub(super) struct Field {
    seen: Vec<Seen>,
    radius_mm: f64,
    /// Within these balls joined obstacles are not asked.
    spared: [(Point3<f64>, f64); 2],
    grid: Grid,
}

/// First-order answers at the middles of cells, made when first asked for.
struct Grid {
    origin: Point3<f64>,
    step_mm: f64,
    counts: [usize; 3],
    cells: Vec<OnceLock<[f32; 4]>>,
}

/// Sampled values of a movement's freedoms: both ends and the middle of each, rest first.
fn samples(movement: &Movement, steps: usize) -> Vec<Vec<f64>> {
    let mut all = vec![Vec::new()];
    for freedom in &movement.freedoms {
        let (low, high) = freedom.range();
        let values = if steps == 3 { vec![low, (low + high) / 2.0, high] } else { vec![low, high] };
        all = all
            .into_iter()
            .flat_map(|before: Vec<f64>| {
                values
                    .iter()
                    .map(move |value| before.iter().copied().chain([*value]).collect())
                    .collect::<Vec<_>>()
            })
            .collect();
    }
    let rest: Vec<f64> = movement
        .freedoms
        .iter()
        .map(|freedom| freedom.range())
        .map(|(low, high)| 0f64.clamp(low, high))
        .collect();
    all.insert(0, rest);
    all
}

/// Poses of the tube's frame in an obstacle's, sampled, at rest first.
fn relative_poses(ask: &RouteAsk<'_>, obstacle: &Obstacle) -> Vec<Pose> {
    let solid_from_world = obstacle.world_from_solid.inverse();
    let Ride::Own(own) = &obstacle.ride else { return vec![solid_from_world] };
    let freedoms = own.freedoms.len() + ask.movement.freedoms.len();
    let steps = if freedoms <= 2 { 3 } else { 2 };
    let (ours, theirs) = (samples(&ask.movement, steps), samples(own, steps));
    let mut poses = Vec::new();
    for theirs in &theirs {
        for ours in &ours {
            let world_from_solid = own.world_from_rest(theirs) * obstacle.world_from_solid;
            poses.push(world_from_solid.inverse() * ask.movement.world_from_rest(ours));
        }
    }
    poses.dedup();
    // Of very many, evenly chosen ones.
    if poses.len() > MOST_POSES {
        let count = poses.len();
        poses = (0..MOST_POSES).map(|i| poses[i * (count - 1) / (MOST_POSES - 1)]).collect();
    }
    poses
}

impl Field {
    pub fn new(ask: &RouteAsk<'_>) -> Self {
        let radius_mm = ask.tube.covered_radius_mm();
        let region = region(ask);
        let mut seen: Vec<Seen> = Vec::new();
        for obstacle in &ask.obstacles {
            let solid_from_tube = relative_poses(ask, obstacle);
            let mut bounds = Bounds::EMPTY;
            for pose in &solid_from_tube {
                bounds = bounds.union(&obstacle.shape.bounds().moved(&pose.inverse()));
            }
            seen.push(Seen {
                shape: obstacle.shape.clone(),
                required_mm: obstacle.required_mm,
                solid_from_tube,
                bounds,
                joined: obstacle.joined,
            });
        }
        for zone in &ask.forbidden {
            seen.push(Seen {
                shape: zone_shape(zone),
                required_mm: 0.0,
                solid_from_tube: vec![Pose::identity()],
                bounds: *zone,
                joined: false,
            });
        }
        let spared = [&ask.start, &ask.end].map(|port| (port.at, spared_mm(ask, port.straight_mm)));
        Field { seen, radius_mm, spared, grid: Grid::over(&region, (radius_mm * 0.5).clamp(6.0, 18.0)) }
    }

    /// What is nearer than `limit_mm` of room: each obstacle's nearest plane at each sampled pose.
    pub fn near(&self, point: &Point3<f64>, limit_mm: f64, out: &mut Vec<Near>) {
        let spared = self.spared.iter().any(|(at, mm)| (point - at).norm() < *mm);
        for (number, one) in self.seen.iter().enumerate() {
            let limit = limit_mm + self.radius_mm + one.required_mm;
            if (spared && one.joined) || one.bounds.distance_mm(point) >= limit {
                continue;
            }
            let rest = one.solid_from_tube[0] * point;
            let travel = |pose: &Pose| (pose * point - rest).norm();
            let farthest = one.solid_from_tube[1..].iter().map(travel).fold(0.0, f64::max);
            let Some(first) = distance_under(&one.shape, &rest, Length::from_mm(limit + farthest)) else {
                continue;
            };
            let mut add = |distance_mm: f64, normal: Vector3<f64>, pose: &Pose| {
                if distance_mm < limit {
                    let slack_mm = distance_mm - one.required_mm - self.radius_mm;
                    out.push(Near { slack_mm, normal: pose.rotation.inverse() * normal, obstacle: number });
                }
            };
            add(first.distance_mm, first.normal.into_inner(), &one.solid_from_tube[0]);
            for pose in &one.solid_from_tube[1..] {
                if first.distance_mm - travel(pose) >= limit {
                    continue;
                }
                if let Some(found) = distance_under(&one.shape, &(pose * point), Length::from_mm(limit)) {
                    add(found.distance_mm, found.normal.into_inner(), pose);
                }
            }
        }
    }

    /// The plane with the least room at a point, when that is under `cap_mm`: boxes are asked first, the nearest
    /// first, and nothing farther than what is known already.
    pub fn nearest(&self, point: &Point3<f64>, cap_mm: f64) -> Option<Near> {
        let spared = self.spared.iter().any(|(at, mm)| (point - at).norm() < *mm);
        let mut order: Vec<(f64, usize)> = Vec::with_capacity(16);
        for (number, one) in self.seen.iter().enumerate() {
            let at_least = one.bounds.distance_mm(point) - one.required_mm - self.radius_mm;
            if at_least < cap_mm && !(spared && one.joined) {
                order.push((at_least, number));
            }
        }
        order.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut best: Option<Near> = None;
        let mut room_mm = cap_mm;
        for (at_least, number) in order {
            if at_least >= room_mm {
                break;
            }
            let one = &self.seen[number];
            let off = one.required_mm + self.radius_mm;
            let rest = one.solid_from_tube[0] * point;
            let travel = |pose: &Pose| (pose * point - rest).norm();
            let farthest = one.solid_from_tube[1..].iter().map(travel).fold(0.0, f64::max);
            let mut keep = |distance_mm: f64, normal: Vector3<f64>, pose: &Pose, room_mm: &mut f64| {
                if distance_mm - off < *room_mm {
                    *room_mm = distance_mm - off;
                    let normal = pose.rotation.inverse() * normal;
                    best = Some(Near { slack_mm: *room_mm, normal, obstacle: number });
                }
            };
            let limit = room_mm + off + farthest;
            let Some(first) = distance_under(&one.shape, &rest, Length::from_mm(limit)) else { continue };
            keep(first.distance_mm, first.normal.into_inner(), &one.solid_from_tube[0], &mut room_mm);
            for pose in &one.solid_from_tube[1..] {
                if first.distance_mm - travel(pose) >= room_mm + off {
                    continue;
                }
                let limit = Length::from_mm(room_mm + off);
                if let Some(found) = distance_under(&one.shape, &(pose * point), limit) {
                    keep(found.distance_mm, found.normal.into_inner(), pose, &mut room_mm);
                }
            }
        }
        best
    }

    /// Room at a point, estimated to first order from the middle of its cell; capped at [`GRID_FAR_MM`].
    pub fn about(&self, point: &Point3<f64>) -> f64 {
        let Some(cell) = self.grid.cell(point) else { return f64::NEG_INFINITY };
        let middle = self.grid.middle(cell);
        let [slack, x, y, z] = self.at_cell(cell);
        let off = point - middle;
        f64::from(slack) + f64::from(x) * off.x + f64::from(y) * off.y + f64::from(z) * off.z
    }

    /// Room at the middle of a cell.
    pub fn cell_room(&self, cell: usize) -> f64 {
        f64::from(self.at_cell(cell)[0])
    }

    fn at_cell(&self, cell: usize) -> [f32; 4] {
        *self.grid.cells[cell].get_or_init(|| match self.nearest(&self.grid.middle(cell), GRID_FAR_MM) {
            Some(one) => [one.slack_mm, one.normal.x, one.normal.y, one.normal.z].map(|v| v as f32),
            None => [GRID_FAR_MM as f32, 0.0, 0.0, 0.0],
        })
    }

    /// How far from its ends a tube's line is asked, mm: a ball nearer to the end would look behind the port, where
    /// the tube is not. The proof leaves out nothing.
    pub fn end_mm(&self) -> f64 {
        self.radius_mm
    }

    /// From where to where a leg of a line is asked, mm.
    pub fn asked_of_leg(&self, layout: &Layout, leg: usize) -> (f64, f64) {
        let length = layout.leg_length_mm(leg);
        let from = if leg == 0 { self.end_mm().min(length) } else { 0.0 };
        let until = if leg + 1 == layout.legs() { length - self.end_mm() } else { length };
        (from, until.max(from))
    }

    pub fn cell(&self, point: &Point3<f64>) -> Option<usize> {
        self.grid.cell(point)
    }

    pub fn step_mm(&self) -> f64 {
        self.grid.step_mm
    }

    pub fn counts(&self) -> [usize; 3] {
        self.grid.counts
    }

    pub fn middle(&self, cell: usize) -> Point3<f64> {
        self.grid.middle(cell)
    }
}

/// How much of a tube's end joined bodies do not see, mm.
pub(super) fn spared_mm(ask: &RouteAsk<'_>, straight_mm: f64) -> f64 {
    straight_mm.max(ask.tube.covered_radius_mm() + 1.0)
}

/// A forbidden box as a solid.
pub(super) fn zone_shape(zone: &Bounds) -> IndexedShape {
    let center = zone.center();
    let solid_from_block = Pose::translation(center.x, center.y, center.z);
    IndexedShape::of_pieces(&[Piece::Block { solid_from_block, half_mm: zone.size() / 2.0 }])
}

/// Where routes are looked for: about both ports, with room for a detour.
fn region(ask: &RouteAsk<'_>) -> Bounds {
    let apart = (ask.end.at - ask.start.at).norm();
    let detour = (0.6 * apart).clamp(6.0 * ask.tube.outside_mm, 12.0 * ask.tube.outside_mm);
    let reach = 4.0 * ask.tube.outside_mm;
    let ahead = |port: &super::Port| port.at + port.out.into_inner() * reach;
    Bounds::of_points(&[ask.start.at, ask.end.at, ahead(&ask.start), ahead(&ask.end)]).grown(detour)
}

impl Grid {
    fn over(region: &Bounds, step_mm: f64) -> Self {
        let volume = region.size().iter().product::<f64>();
        let step_mm = step_mm.max((volume / MOST_CELLS).cbrt());
        let count = |axis: usize| (region.size()[axis] / step_mm).ceil().max(1.0) as usize;
        let counts = [count(0), count(1), count(2)];
        let cells = (0..counts.iter().product()).map(|_| OnceLock::new()).collect();
        Grid { origin: region.min, step_mm, counts, cells }
    }

    fn cell(&self, point: &Point3<f64>) -> Option<usize> {
        let at = (point - self.origin) / self.step_mm;
        let [nx, ny, nz] = self.counts;
        let inside =
            |value: f64, count: usize| (value >= 0.0 && value < count as f64).then_some(value as usize);
        let (x, y, z) = (inside(at.x, nx)?, inside(at.y, ny)?, inside(at.z, nz)?);
        Some((z * ny + y) * nx + x)
    }

    fn middle(&self, cell: usize) -> Point3<f64> {
        let [nx, ny, _] = self.counts;
        let at = [cell % nx, cell / nx % ny, cell / nx / ny];
        self.origin + Vector3::from(at.map(|i| (i as f64 + 0.5) * self.step_mm))
    }
}
