//! The pieces of which solids consist, as the clearance kernel sees them.
//!
//! Each piece is convex, or an arc that splits into shorter arcs which convex shapes enclose ever
//! more closely. Leaves to others: trees over pieces, distance between them (`clearance`).

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Pose;

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
