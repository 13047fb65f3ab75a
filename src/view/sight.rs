//! What stands between a place and the eye, and from where a place is best seen.

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Pose;

use super::drawable::Drawable;

/// A body as an obstacle to sight.
pub(super) struct Seen<'a> {
    pub drawable: &'a Drawable,
    pub world_from_body: Pose,
}

/// Hits nearer to the place than this belong to the surface that the place is on, mm.
const SKIN_MM: f64 = 0.8;

impl Seen<'_> {
    /// Whether the body stands between a place and an eye far away in a direction.
    pub(super) fn blocks(&self, place: &Point3<f64>, toward_eye: &Unit<Vector3<f64>>) -> bool {
        let Some(bounds) = self.drawable.bounds else { return false };
        let from = self.world_from_body.inverse_transform_point(place);
        let along = self.world_from_body.inverse_transform_vector(toward_eye);
        if !ray_meets_box(&from, &along, &bounds.grown(1e-6)) {
            return false;
        }
        let surface = &self.drawable.triangles[..self.drawable.surface_triangles];
        surface.iter().any(|t| {
            let corners = t.map(|i| self.drawable.points[i as usize]);
            ray_triangle(&from, &along, &corners).is_some_and(|at| at > SKIN_MM)
        }) || self.drawable.stones.iter().any(|stone| {
            let to = stone.center - from;
            let at = to.dot(&along);
            at > SKIN_MM + 2.0 * stone.radius_mm && to.norm_squared() - at * at < stone.radius_mm.powi(2)
        })
    }
}

fn ray_meets_box(from: &Point3<f64>, along: &Vector3<f64>, bounds: &crate::space::Bounds) -> bool {
    let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
    for i in 0..3 {
        if along[i].abs() < 1e-12 {
            if from[i] < bounds.min[i] || from[i] > bounds.max[i] {
                return false;
            }
        } else {
            let (a, b) = ((bounds.min[i] - from[i]) / along[i], (bounds.max[i] - from[i]) / along[i]);
            enter = enter.max(a.min(b));
            leave = leave.min(a.max(b));
        }
    }
    enter <= leave
}

/// How far along the ray the triangle is met, from either side.
///
/// # Source
/// Moeller and Trumbore, "Fast, Minimum Storage Ray/Triangle Intersection", Journal of Graphics
/// Tools 2 (1997); from memory.
fn ray_triangle(from: &Point3<f64>, along: &Vector3<f64>, corners: &[Point3<f64>; 3]) -> Option<f64> {
    let (one, other) = (corners[1] - corners[0], corners[2] - corners[0]);
    let across = along.cross(&other);
    let det = one.dot(&across);
    if det == 0.0 {
        return None;
    }
    let to = from - corners[0];
    let u = to.dot(&across) / det;
    if !(0.0..=1.0).contains(&u) {
        return None;
    }
    let q = to.cross(&one);
    let v = along.dot(&q) / det;
    if v < 0.0 || u + v > 1.0 {
        return None;
    }
    Some(other.dot(&q) / det)
}

/// The direction toward the eye from which a gap between two places shows best.
///
/// Of 96 directions over the upper part of the sphere, and the usual one: first where the two
/// bodies concerned don't hide the places, then where few others do, where the gap is seen from
/// the side, and near the usual direction. The same input gives the same answer.
pub(super) fn best_direction(
    places: &[Point3<f64>; 2],
    pair: &[Seen<'_>],
    others: &[Seen<'_>],
    usual: &Unit<Vector3<f64>>,
) -> Unit<Vector3<f64>> {
    let line = Unit::try_new(places[1] - places[0], 1e-6);
    let hidden = |bodies: &[Seen<'_>], toward: &Unit<Vector3<f64>>| {
        let blocked = |b: &&Seen<'_>| places.iter().any(|p| b.blocks(p, toward));
        bodies.iter().filter(blocked).count() as f64
    };
    let mut best = (f64::NEG_INFINITY, *usual);
    for toward in std::iter::once(*usual).chain(directions(96)) {
        let from_the_side = line.map_or(0.5, |l| 1.0 - l.dot(&toward).abs());
        let score = -4.0 * hidden(pair, &toward) - 0.7 * hidden(others, &toward).min(4.0)
            + 1.5 * from_the_side
            + 0.8 * toward.dot(usual);
        if score > best.0 + 1e-9 {
            best = (score, toward);
        }
    }
    best.1
}

/// Directions spread evenly over the sphere by the golden angle, less those from far below.
fn directions(count: usize) -> impl Iterator<Item = Unit<Vector3<f64>>> {
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    (0..count).map(move |i| {
        let z = 0.97 - 1.2 * (i as f64 + 0.5) / count as f64;
        let (r, a) = ((1.0 - z * z).sqrt(), golden * i as f64);
        Unit::new_normalize(Vector3::new(r * a.cos(), r * a.sin(), z))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::{Mesh, MeshKind, Shape};

    /// A square plate across x at a place, 100 mm wide and high.
    fn wall(x: f64) -> Shape {
        let corners = [(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)];
        let corners = corners.map(|(y, z)| Point3::new(x, y, z)).to_vec();
        let kind = MeshKind::Open { thickness_mm: 0.0 };
        Shape::Mesh(Mesh::new(corners, vec![[0, 1, 2], [0, 2, 3]], kind))
    }

    #[test]
    fn a_wall_blocks_the_sight_through_it_and_no_other() {
        let drawable = Drawable::of(&wall(-100.0));
        let seen = Seen { drawable: &drawable, world_from_body: Pose::identity() };
        let at = |d: [f64; 3]| Unit::new_normalize(Vector3::from(d));
        for (case, toward, want) in [
            ("straight through", [-1.0, 0.0, 0.0], true),
            ("away from it", [1.0, 0.0, 0.0], false),
            ("past its edge: 60 up over 100", [-1.0, 0.0, 0.6], false),
            ("just under its edge: 40 up over 100", [-1.0, 0.0, 0.4], true),
        ] {
            assert_eq!(seen.blocks(&Point3::origin(), &at(toward)), want, "{case}");
        }
        assert!(!seen.blocks(&Point3::new(-100.0, 0.0, 0.0), &at([-1.0, 0.2, 0.0])), "its own surface");
    }

    #[test]
    fn the_best_direction_looks_round_a_wall() {
        let drawable = Drawable::of(&wall(-60.0));
        let wall = Seen { drawable: &drawable, world_from_body: Pose::identity() };
        let places = [Point3::origin(), Point3::new(0.0, 10.0, 0.0)];
        let usual = -Vector3::x_axis();
        let best = best_direction(&places, std::slice::from_ref(&wall), &[], &usual);
        assert!(places.iter().all(|p| !wall.blocks(p, &best)), "hidden from {best:?}");
        assert!(best.y.abs() < 0.6, "sees the gap, which lies along y, from the side: {best:?}");
    }
}
