//! The middle of a bent tube: straights and bends, in order.

use nalgebra::{Point3, Unit, Vector3};

use crate::space::{Bounds, Pose};

use super::bend::{flat_end, round_side};
use super::closest::NOISE_MM;
use super::sweep::perpendicular;
use super::{Bend, Closest, Piece, extent};

/// One leg of a centreline.
#[derive(Clone, Debug, PartialEq)]
pub enum Leg {
    /// A straight; never of zero length.
    Straight {
        /// Where it starts.
        from: Point3<f64>,
        /// Where it ends.
        to: Point3<f64>,
    },
    /// An arc, tangent to its neighbours.
    Bend(Bend),
}

/// The middle of a bent tube: each leg starts where the last one ends, heading the same way.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Centreline {
    /// In order from the first end.
    pub legs: Vec<Leg>,
}

impl Leg {
    /// Length along the centreline, mm.
    pub fn length_mm(&self) -> f64 {
        match self {
            Leg::Straight { from, to } => (to - from).norm(),
            Leg::Bend(bend) => bend.length_mm(),
        }
    }

    /// The centreline's point a way along the leg; the way is not checked.
    pub fn point_at(&self, along_mm: f64) -> Point3<f64> {
        match self {
            Leg::Straight { from, .. } => from + self.tangent_at(along_mm).into_inner() * along_mm,
            Leg::Bend(bend) => bend.point_at(along_mm / bend.radius_mm),
        }
    }

    /// Where the centreline heads a way along the leg.
    pub fn tangent_at(&self, along_mm: f64) -> Unit<Vector3<f64>> {
        match self {
            Leg::Straight { from, to } => Unit::new_normalize(to - from),
            Leg::Bend(bend) => bend.tangent_at(along_mm / bend.radius_mm),
        }
    }

    /// Nearest point of the bar of this leg alone, but not of its ends seen from inside.
    pub(super) fn closest(&self, point: &Point3<f64>, radius_mm: f64) -> Closest {
        match self {
            Leg::Straight { from, .. } => {
                let along = self.tangent_at(0.0);
                let at = (point - from).dot(&along);
                let length = self.length_mm();
                if at < -NOISE_MM {
                    return flat_end(point, &self.point_at(0.0), -along, radius_mm);
                }
                if at > length + NOISE_MM {
                    return flat_end(point, &self.point_at(length), along, radius_mm);
                }
                let core = from + along.into_inner() * at;
                round_side(point, &core, radius_mm, perpendicular(&along))
            }
            Leg::Bend(bend) => {
                let section = bend.section_toward(&(point - bend.center));
                let core = bend.point_at(section.angle_rad);
                if section.beside {
                    return round_side(point, &core, radius_mm, bend.radius_at(section.angle_rad));
                }
                let ahead = bend.tangent_at(section.angle_rad);
                let outward = if section.angle_rad > 0.0 { ahead } else { -ahead };
                flat_end(point, &core, outward, radius_mm)
            }
        }
    }

    pub(super) fn bounds_in(&self, world_from_shape: &Pose, radius_mm: f64) -> Bounds {
        match self {
            Leg::Straight { from, to } => {
                let [from, to] = [from, to].map(|end| world_from_shape * end);
                extent::of_frustum(&from, &to, radius_mm, radius_mm)
            }
            Leg::Bend(bend) => extent::of_bend(&bend.moved(world_from_shape), radius_mm),
        }
    }

    pub(super) fn piece(&self, radius_mm: f64) -> Piece {
        match self {
            Leg::Straight { from, to } => {
                Piece::Frustum { from: *from, to: *to, from_radius_mm: radius_mm, to_radius_mm: radius_mm }
            }
            Leg::Bend(bend) => bend.piece(radius_mm),
        }
    }
}

impl Centreline {
    /// Developed length, mm: what the tube measures before it is bent, if the middle keeps its length.
    pub fn length_mm(&self) -> f64 {
        self.legs.iter().map(Leg::length_mm).sum()
    }

    /// The bends in order.
    pub fn bends(&self) -> impl Iterator<Item = &Bend> {
        self.legs.iter().filter_map(|leg| match leg {
            Leg::Bend(bend) => Some(bend),
            Leg::Straight { .. } => None,
        })
    }

    /// The point at a developed length from the first end, held between the ends; the origin when
    /// there is no leg.
    pub fn point_at(&self, along_mm: f64) -> Point3<f64> {
        self.leg_at(along_mm).map_or_else(Point3::origin, |(leg, within)| leg.point_at(within))
    }

    /// Where the line heads at a developed length from the first end, held between the ends; along
    /// z when there is no leg.
    pub fn tangent_at(&self, along_mm: f64) -> Unit<Vector3<f64>> {
        self.leg_at(along_mm).map_or_else(Vector3::z_axis, |(leg, within)| leg.tangent_at(within))
    }

    fn leg_at(&self, along_mm: f64) -> Option<(&Leg, f64)> {
        let mut rest = along_mm.max(0.0);
        let mut last = None;
        for leg in &self.legs {
            let length = leg.length_mm();
            if rest <= length {
                return Some((leg, rest));
            }
            rest -= length;
            last = Some((leg, length));
        }
        last
    }
}
