//! Obstacles whose clearance is a closed form: what the rest of this room is checked against.
//!
//! They also serve for quick estimates before anything is modelled. Leaves to others: solids
//! (`bodies.rs`).

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Bounds;

use super::{Near, Obstacles};

/// A shape with a closed-form signed distance, in the world, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Part {
    /// A ball.
    Ball {
        /// Centre.
        center: Point3<f64>,
        /// Radius.
        radius_mm: f64,
    },
    /// A box with edges along the axes.
    Block(Bounds),
    /// A wall without end: all points with z between two heights, but for a round hole along z.
    WallWithHole {
        /// Lower and upper height.
        z_mm: (f64, f64),
        /// A point on the hole's axis; its z means nothing.
        hole_at: Point3<f64>,
        /// Radius of the hole; 0 for none.
        hole_radius_mm: f64,
    },
    /// A wall without end between two heights, but for a slot along x.
    WallWithSlot {
        /// Lower and upper height.
        z_mm: (f64, f64),
        /// The slot's two edges.
        y_mm: (f64, f64),
    },
}

/// Any number of [`Part`]s.
#[derive(Clone, Debug, Default)]
pub struct Analytic {
    parts: Vec<(String, Part, f64)>,
}

impl Analytic {
    /// None yet.
    pub fn new() -> Self {
        Analytic::default()
    }

    /// With one more, bare.
    pub fn with(self, name: &str, part: Part) -> Self {
        self.with_covered(name, part, 0.0)
    }

    /// With one more, under a cover of some thickness.
    pub fn with_covered(mut self, name: &str, part: Part, cover_mm: f64) -> Self {
        self.parts.push((name.to_string(), part, cover_mm));
        self
    }
}

impl Part {
    /// The surface point nearest to `point`, the signed distance, and the way out.
    fn closest(&self, point: &Point3<f64>) -> (Point3<f64>, f64, Unit<Vector3<f64>>) {
        match *self {
            Part::Ball { center, radius_mm } => {
                let away = Unit::try_new(point - center, 1e-12).unwrap_or(Vector3::z_axis());
                (center + away.into_inner() * radius_mm, (point - center).norm() - radius_mm, away)
            }
            Part::Block(bounds) => closest_on_block(&bounds, point),
            Part::WallWithHole { z_mm, hole_at, hole_radius_mm } => {
                let radial = Vector3::new(point.x - hole_at.x, point.y - hole_at.y, 0.0);
                let out = Unit::try_new(radial, 1e-12).unwrap_or(Vector3::x_axis());
                wall(point, z_mm, radial.norm() - hole_radius_mm, out)
            }
            Part::WallWithSlot { z_mm, y_mm } => {
                let middle = 0.5 * (y_mm.0 + y_mm.1);
                let half = 0.5 * (y_mm.1 - y_mm.0);
                let sign = if point.y < middle { -1.0 } else { 1.0 };
                let out = Unit::new_unchecked(Vector3::new(0.0, sign, 0.0));
                wall(point, z_mm, (point.y - middle).abs() - half, out)
            }
        }
    }

    fn bounds(&self) -> Bounds {
        const FAR: f64 = 1.0e7;
        match *self {
            Part::Ball { center, radius_mm } => Bounds { min: center, max: center }.grown(radius_mm),
            Part::Block(bounds) => bounds,
            Part::WallWithHole { z_mm, .. } | Part::WallWithSlot { z_mm, .. } => {
                Bounds { min: Point3::new(-FAR, -FAR, z_mm.0), max: Point3::new(FAR, FAR, z_mm.1) }
            }
        }
    }
}

/// A wall seen in the plane of its thickness (z) and of the direction `out` in which it begins:
/// the point stands `in_mm` past the edge of its opening (negative: within the opening).
fn wall(
    point: &Point3<f64>,
    z_mm: (f64, f64),
    in_mm: f64,
    out: Unit<Vector3<f64>>,
) -> (Point3<f64>, f64, Unit<Vector3<f64>>) {
    let middle = 0.5 * (z_mm.0 + z_mm.1);
    let half = 0.5 * (z_mm.1 - z_mm.0);
    let sign = if point.z < middle { -1.0 } else { 1.0 };
    let beyond = (point.z - middle).abs() - half; // positive: above or below the wall
    let short = -in_mm; // positive: within the opening
    let up = Vector3::new(0.0, 0.0, sign);
    if beyond <= 0.0 && short <= 0.0 {
        // Inside the material: the nearer of the face and the opening's edge.
        return if beyond > short {
            (point - up * beyond, beyond, Unit::new_unchecked(up))
        } else {
            (point + out.into_inner() * short, short, -out)
        };
    }
    let (gap_z, gap_in) = (beyond.max(0.0), short.max(0.0));
    let nearest = point - up * gap_z + out.into_inner() * gap_in;
    let away = Unit::try_new(point - nearest, 1e-12).unwrap_or(if beyond > short {
        Unit::new_unchecked(up)
    } else {
        -out
    });
    (nearest, gap_z.hypot(gap_in), away)
}

fn closest_on_block(bounds: &Bounds, point: &Point3<f64>) -> (Point3<f64>, f64, Unit<Vector3<f64>>) {
    let nearest = bounds.nearest(point);
    if let Some(away) = Unit::try_new(point - nearest, 1e-12) {
        return (nearest, (point - nearest).norm(), away);
    }
    let (mut depth, mut best, mut away) = (f64::INFINITY, *point, Vector3::z_axis());
    for axis in 0..3 {
        for (wall, sign) in [(bounds.min[axis], -1.0), (bounds.max[axis], 1.0)] {
            let to_wall = (wall - point[axis]).abs();
            if to_wall < depth {
                depth = to_wall;
                best = *point;
                best[axis] = wall;
                away = Unit::new_unchecked(Vector3::ith(axis, sign));
            }
        }
    }
    (best, -depth, away)
}

impl Obstacles for Analytic {
    fn bounds(&self) -> Bounds {
        self.parts
            .iter()
            .fold(Bounds::EMPTY, |all, (_, part, cover_mm)| all.union(&part.bounds().grown(*cover_mm)))
    }

    fn near(&self, point: &Point3<f64>, limit_mm: f64, spread_mm: f64, into: &mut Vec<Near>) {
        into.clear();
        for (body, (_, part, cover_mm)) in self.parts.iter().enumerate() {
            let (at, distance_mm, away) = part.closest(point);
            let clearance_mm = distance_mm - cover_mm;
            into.push(Near { body, point: at, cover_mm: *cover_mm, clearance_mm, away });
        }
        keep_nearest(into, limit_mm, spread_mm);
    }

    fn name(&self, body: usize) -> &str {
        self.parts.get(body).map_or("?", |part| &part.0)
    }
}

/// Puts the nearest first and drops what is over the limit or over the spread behind the nearest.
pub(super) fn keep_nearest(into: &mut Vec<Near>, limit_mm: f64, spread_mm: f64) {
    into.sort_by(|a, b| a.clearance_mm.total_cmp(&b.clearance_mm).then(a.body.cmp(&b.body)));
    let most = into.first().map_or(limit_mm, |first| limit_mm.min(first.clearance_mm + spread_mm));
    into.retain(|near| near.clearance_mm < limit_mm && near.clearance_mm <= most);
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    fn all_parts() -> Analytic {
        Analytic::new()
            .with("ball", Part::Ball { center: Point3::new(40.0, 0.0, 10.0), radius_mm: 12.0 })
            .with(
                "block",
                Part::Block(Bounds {
                    min: Point3::new(-50.0, -20.0, 5.0),
                    max: Point3::new(-10.0, 5.0, 30.0),
                }),
            )
            .with_covered(
                "holed wall",
                Part::WallWithHole {
                    z_mm: (40.0, 50.0),
                    hole_at: Point3::new(3.0, 4.0, 0.0),
                    hole_radius_mm: 9.0,
                },
                1.5,
            )
            .with("slotted wall", Part::WallWithSlot { z_mm: (-50.0, -45.0), y_mm: (-6.0, 7.0) })
    }

    #[test]
    fn closed_forms() {
        let world = all_parts();
        for (case, at, want_mm) in [
            ("above the ball: 30 - 12", [40.0, 0.0, 40.0 - 12.0], 6.0),
            ("hole's axis, mid wall: 9 less 1.5 of cover", [3.0, 4.0, 45.0], 7.5),
            ("3 within the hole, 4 above the wall, 3-4-5: 5 - 1.5", [9.0, 4.0, 54.0], 3.5),
            ("slot's middle: half of 13", [0.0, 0.5, -47.0], 6.5),
            ("inside the block, 5 from its floor", [-30.0, -8.0, 10.0], -5.0),
        ] {
            let got = world.clearance_mm(&Point3::from(at));
            assert!((got - want_mm).abs() < 1e-12, "{case}: got {got}, want {want_mm}");
        }
    }

    proptest! {
        #[test]
        fn clearance_is_1_lipschitz_and_witnesses_bound_it(
            a in prop::array::uniform3(-70.0..70.0f64), b in prop::array::uniform3(-70.0..70.0f64)
        ) {
            let world = all_parts();
            let (a, b) = (Point3::from(a), Point3::from(b));
            prop_assert!((world.clearance_mm(&a) - world.clearance_mm(&b)).abs() <= (a - b).norm() + 1e-9);
            let mut near = Vec::new();
            world.near(&a, f64::INFINITY, f64::INFINITY, &mut near);
            for seen in near {
                prop_assert!(world.clearance_mm(&b) <= seen.at_most_mm(&b) + 1e-9);
            }
        }
    }
}
