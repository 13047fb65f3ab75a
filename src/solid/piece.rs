//! The pieces of which solids consist, as the clearance kernel sees them.
//!
//! Each piece is convex, or an arc that splits into shorter arcs which convex shapes enclose ever
//! more closely. Leaves to others: trees over pieces, distance between them (`clearance`).

use nalgebra::{Point3, Unit, Vector3};

use crate::space::{Bounds, Pose};

use super::{Bend, extent, triangle};

/// One piece of a solid, in the solid's frame, millimetres.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    /// A ball; what a cloud consists of.
    Ball {
        /// Centre.
        center: Point3<f64>,
        /// Radius.
        radius_mm: f64,
    },
    /// A segment inflated by a radius.
    Capsule {
        /// One end of the core.
        from: Point3<f64>,
        /// The other.
        to: Point3<f64>,
        /// Radius.
        radius_mm: f64,
    },
    /// A rectangular box.
    Block {
        /// Where the box's own frame (its centre, its edges) stands.
        solid_from_block: Pose,
        /// Half edge lengths.
        half_mm: Vector3<f64>,
    },
    /// A cone frustum with flat ends; a cylinder when both radii are the same.
    Frustum {
        /// Centre of the bottom disc.
        from: Point3<f64>,
        /// Centre of the top disc.
        to: Point3<f64>,
        /// Radius at `from`.
        from_radius_mm: f64,
        /// Radius at `to`.
        to_radius_mm: f64,
    },
    /// A bent bar with flat ends: a disc swept about an axis. Not convex.
    Arc {
        /// Centre of the ring.
        center: Point3<f64>,
        /// Axis of the ring; the sweep is right-handed about it.
        axis: Unit<Vector3<f64>>,
        /// From the centre toward the middle of the first disc; perpendicular to `axis`.
        start: Unit<Vector3<f64>>,
        /// Centreline radius.
        ring_radius_mm: f64,
        /// Disc radius, at most the ring radius.
        tube_radius_mm: f64,
        /// Sweep, over 0 to 2 pi.
        sweep_rad: f64,
    },
    /// The convex hull of points (a prism of a plate, a hull).
    Hull {
        /// Points; only hull vertices need be here.
        points: Vec<Point3<f64>>,
    },
    /// A triangle, perhaps thickened against its right-handed normal.
    Triangle {
        /// Corners, counter-clockwise seen from outside.
        corners: [Point3<f64>; 3],
        /// Thickness behind the surface.
        thickness_mm: f64,
    },
}

impl Piece {
    /// The same piece seen from another frame.
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        let mut piece = self.clone();
        match &mut piece {
            Piece::Ball { center, .. } => *center = to_from_here * *center,
            Piece::Capsule { from, to, .. } | Piece::Frustum { from, to, .. } => {
                *from = to_from_here * *from;
                *to = to_from_here * *to;
            }
            Piece::Block { solid_from_block, .. } => *solid_from_block = to_from_here * *solid_from_block,
            Piece::Arc { center, axis, start, .. } => {
                *center = to_from_here * *center;
                *axis = to_from_here * *axis;
                *start = to_from_here * *start;
            }
            Piece::Hull { points } => points.iter_mut().for_each(|point| *point = to_from_here * *point),
            Piece::Triangle { corners, .. } => *corners = corners.map(|corner| to_from_here * corner),
        }
        piece
    }

    /// Axis-aligned bounds after a pose: the least box, up to rounding.
    pub fn bounds_in(&self, world_from_solid: &Pose) -> Bounds {
        let at = |point: &Point3<f64>| world_from_solid * point;
        match self {
            Piece::Ball { center, radius_mm } => extent::of_ball(&at(center), *radius_mm),
            Piece::Capsule { from, to, radius_mm } => {
                extent::of_ball(&at(from), *radius_mm).union(&extent::of_ball(&at(to), *radius_mm))
            }
            Piece::Block { solid_from_block, half_mm } => {
                Bounds { min: Point3::from(-half_mm), max: Point3::from(*half_mm) }
                    .moved(&(world_from_solid * solid_from_block))
            }
            Piece::Frustum { from, to, from_radius_mm, to_radius_mm } => {
                extent::of_frustum(&at(from), &at(to), *from_radius_mm, *to_radius_mm)
            }
            Piece::Arc { center, axis, start, ring_radius_mm, tube_radius_mm, sweep_rad } => {
                let bend = Bend {
                    center: *center,
                    axis: *axis,
                    start: *start,
                    radius_mm: *ring_radius_mm,
                    sweep_rad: *sweep_rad,
                };
                extent::of_bend(&bend.moved(world_from_solid), *tube_radius_mm)
            }
            Piece::Hull { points } => extent::of_points(points, world_from_solid),
            Piece::Triangle { corners, thickness_mm } => {
                let back =
                    corners.map(|corner| corner - triangle::normal(corners).into_inner() * *thickness_mm);
                extent::of_points(corners, world_from_solid)
                    .union(&extent::of_points(&back, world_from_solid))
            }
        }
    }
}
