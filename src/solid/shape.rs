//! The kinds of shape. (Skeleton: one file a shape follows.)

use nalgebra::{Point2, Point3, Unit, Vector3};

use crate::space::{Bounds, Pose};

use super::Piece;

/// A ball about the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Ball {
    /// Radius, mm.
    pub radius_mm: f64,
}

/// A rectangular box centred on the origin, edges along the axes.
#[derive(Clone, Debug, PartialEq)]
pub struct Block {
    /// Full edge lengths, mm.
    pub size_mm: Vector3<f64>,
}

/// A straight round bar with flat ends, axis z, centred on the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Cylinder {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Full length along z, mm.
    pub length_mm: f64,
}

/// A straight round bar with round ends, axis z, centred on the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Capsule {
    /// Radius, mm.
    pub radius_mm: f64,
    /// Length of the straight core between the two end centres, mm; zero makes a ball.
    pub core_mm: f64,
}

/// A cone frustum, axis z, centred on the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Frustum {
    /// Radius at z = -length/2, mm.
    pub bottom_radius_mm: f64,
    /// Radius at z = +length/2, mm.
    pub top_radius_mm: f64,
    /// Full length along z, mm.
    pub length_mm: f64,
}

/// A bent round bar with flat ends: a disc swept about the z axis from angle 0 (on +x) to `sweep_rad`.
#[derive(Clone, Debug, PartialEq)]
pub struct TorusArc {
    /// Radius of the centreline about z, mm; greater than or equal to `tube_radius_mm`.
    pub ring_radius_mm: f64,
    /// Radius of the disc, mm.
    pub tube_radius_mm: f64,
    /// Sweep, radians, over 0 to 2 pi; 2 pi is a whole ring.
    pub sweep_rad: f64,
}

/// A flat plate: an outline in the xy plane, with holes, extruded from z = 0 to the thickness.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Simple outline, either way round, mm.
    pub outline: Vec<Point2<f64>>,
    /// Simple holes inside the outline that do not meet each other, mm.
    pub holes: Vec<Vec<Point2<f64>>>,
    /// Thickness, mm.
    pub thickness_mm: f64,
}

/// A round tube along a bent centreline, square-cut ends; as an obstacle it is solid to its outside.
///
/// `corners` are the centreline's ends and its theoretical corners; `bend_radii_mm[i]` is the
/// centreline radius at `corners[i + 1]` (so there are `corners.len() - 2` of them).
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    /// Ends and theoretical corners in order, mm.
    pub corners: Vec<Point3<f64>>,
    /// Centreline radius at each inner corner, mm.
    pub bend_radii_mm: Vec<f64>,
    /// Outside radius, mm.
    pub radius_mm: f64,
    /// Wall thickness, mm; `None` for a solid bar. Counts for mass only.
    pub wall_mm: Option<f64>,
}

/// The convex hull of points.
#[derive(Clone, Debug, PartialEq)]
pub struct Hull {
    /// Points, mm; at least four that are not in one plane.
    pub points: Vec<Point3<f64>>,
}

/// What a mesh means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MeshKind {
    /// Every edge is shared by two triangles: it has an inside.
    Closed,
    /// A patch of surface, thickened by `thickness_mm` to the back of its triangles (against the
    /// right-handed normal); zero is a bare surface.
    Open {
        /// Thickness behind the surface, mm.
        thickness_mm: f64,
    },
}

/// A triangle mesh.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Vertices, mm.
    pub vertices: Vec<Point3<f64>>,
    /// Vertex indices; counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Whether it has an inside.
    pub kind: MeshKind,
}

/// A cloud of measured points, each a ball.
#[derive(Clone, Debug, PartialEq)]
pub struct Cloud {
    /// Centres, mm.
    pub points: Vec<Point3<f64>>,
    /// Radius of every ball, mm.
    pub radius_mm: f64,
}

/// Several shapes that make one solid: their union.
#[derive(Clone, Debug, PartialEq)]
pub struct Compound {
    /// Each part and where it stands in the compound's frame.
    pub parts: Vec<(Pose, Shape)>,
}

/// A solid's shape in its own frame, millimetres.
#[derive(Clone, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum Shape {
    Ball(Ball),
    Block(Block),
    Cylinder(Cylinder),
    Capsule(Capsule),
    Frustum(Frustum),
    TorusArc(TorusArc),
    Plate(Plate),
    Tube(Tube),
    Hull(Hull),
    Mesh(Mesh),
    Cloud(Cloud),
    Compound(Compound),
}

/// The surface point of a shape nearest to a point asked about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Closest {
    /// On the surface, in the shape's frame.
    pub point: Point3<f64>,
    /// Signed distance, mm: negative inside.
    pub distance_mm: f64,
    /// Outward normal at `point`: from inside to outside.
    pub normal: Unit<Vector3<f64>>,
}

/// Why a shape cannot be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ShapeError {
    /// A size that must be above zero is not, or is not finite.
    #[error("{what} is {value_mm} mm; it must be above zero and finite")]
    Size {
        /// Which size.
        what: &'static str,
        /// What it was.
        value_mm: f64,
    },
}

impl Shape {
    /// Checks every size, so that nothing below can meet a shape that cannot be.
    ///
    /// # Errors
    /// The first [`ShapeError`] met.
    pub fn validate(&self) -> Result<(), ShapeError> {
        unimplemented!()
    }
    /// Axis-aligned bounds; exact for primitives.
    pub fn bounds(&self) -> Bounds {
        unimplemented!()
    }
    /// Volume, mm^3: exact for primitives; for an open mesh area times thickness; for a cloud the
    /// sum of its balls; a compound's parts are summed, overlaps counted twice.
    pub fn volume_mm3(&self) -> f64 {
        unimplemented!()
    }
    /// Closest surface point with its signed distance; exact for primitives.
    pub fn closest(&self, _point: &Point3<f64>) -> Closest {
        unimplemented!()
    }
    /// A closed mesh whose surface lies within `chord_mm` of the true one.
    pub fn tessellate(&self, _chord_mm: f64) -> Mesh {
        unimplemented!()
    }
    /// The pieces of which the solid is the union. A closed mesh gives its triangles (its surface)
    /// and is asked for its inside apart.
    pub fn pieces(&self) -> Vec<Piece> {
        unimplemented!()
    }
}
