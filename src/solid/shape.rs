//! The kinds of shape, and what every one of them can answer.

use nalgebra::Point3;

use crate::space::{Bounds, Pose};

use super::{
    Ball, Block, Capsule, Closest, Cloud, Compound, Cylinder, Frustum, Hull, Mesh, Piece, Plate, ShapeError,
    TorusArc, Tube,
};

/// What every shape answers, in its own frame, millimetres.
///
/// All but [`Solid::validate`] may be asked only of a shape that it passes; of another the answers
/// mean nothing, but nothing panics.
pub trait Solid {
    /// Checks every size, so that nothing below can meet a shape that cannot be.
    ///
    /// # Errors
    /// The first [`ShapeError`] met.
    fn validate(&self) -> Result<(), ShapeError>;

    /// Axis-aligned bounds after a pose: the least box for every shape, up to rounding.
    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds;

    /// Axis-aligned bounds in the shape's own frame.
    fn bounds(&self) -> Bounds {
        self.bounds_in(&Pose::identity())
    }

    /// Volume of material, mm^3: exact for primitives. A tube with a wall counts its wall alone, an
    /// open mesh its area times its thickness, a cloud the sum of its balls; a compound's parts are
    /// summed, overlaps counted twice.
    fn volume_mm3(&self) -> f64;

    /// Outer surface, mm^2: exact for primitives. Joints inside a compound or a cloud count too.
    fn area_mm2(&self) -> f64;

    /// Centre of mass at one density throughout; of a bare surface (an open mesh of no thickness)
    /// the centre of its area.
    fn center_of_mass(&self) -> Point3<f64>;

    /// Closest surface point with its signed distance; exact for primitives.
    ///
    /// Where several surface points are equally near, one is taken by a fixed rule that each shape
    /// states; the distance is the same for all. Inside overlapping parts (compound, cloud,
    /// thickened open mesh) the answer is that of the part in which the point lies deepest, so the
    /// depth is a lower bound of the true one.
    fn closest(&self, point: &Point3<f64>) -> Closest;

    /// A closed mesh whose surface lies within `chord_mm` of the true one, on either side.
    ///
    /// A chord error under a millionth of the radius it applies to is raised to that. Parts that
    /// overlap give shells that overlap; an open mesh of no thickness stays open.
    fn tessellate(&self, chord_mm: f64) -> Mesh;

    /// The pieces of which the solid is the union. A closed mesh gives its triangles (its surface)
    /// and is asked for its inside apart.
    fn pieces(&self) -> Vec<Piece>;
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

impl Shape {
    /// The shape as the one thing that all are.
    pub fn as_solid(&self) -> &dyn Solid {
        match self {
            Shape::Ball(shape) => shape,
            Shape::Block(shape) => shape,
            Shape::Cylinder(shape) => shape,
            Shape::Capsule(shape) => shape,
            Shape::Frustum(shape) => shape,
            Shape::TorusArc(shape) => shape,
            Shape::Plate(shape) => shape,
            Shape::Tube(shape) => shape,
            Shape::Hull(shape) => shape,
            Shape::Mesh(shape) => shape,
            Shape::Cloud(shape) => shape,
            Shape::Compound(shape) => shape,
        }
    }

    /// Checks every size; see [`Solid::validate`].
    ///
    /// # Errors
    /// The first [`ShapeError`] met.
    pub fn validate(&self) -> Result<(), ShapeError> {
        self.as_solid().validate()
    }

    /// Axis-aligned bounds in the shape's own frame.
    pub fn bounds(&self) -> Bounds {
        self.as_solid().bounds()
    }

    /// Axis-aligned bounds after a pose; see [`Solid::bounds_in`].
    pub fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        self.as_solid().bounds_in(world_from_shape)
    }

    /// Volume of material, mm^3; see [`Solid::volume_mm3`].
    pub fn volume_mm3(&self) -> f64 {
        self.as_solid().volume_mm3()
    }

    /// Outer surface, mm^2; see [`Solid::area_mm2`].
    pub fn area_mm2(&self) -> f64 {
        self.as_solid().area_mm2()
    }

    /// Centre of mass at one density throughout; see [`Solid::center_of_mass`].
    pub fn center_of_mass(&self) -> Point3<f64> {
        self.as_solid().center_of_mass()
    }

    /// Closest surface point with its signed distance; see [`Solid::closest`].
    pub fn closest(&self, point: &Point3<f64>) -> Closest {
        self.as_solid().closest(point)
    }

    /// A closed mesh within `chord_mm` of the true surface; see [`Solid::tessellate`].
    pub fn tessellate(&self, chord_mm: f64) -> Mesh {
        self.as_solid().tessellate(chord_mm)
    }

    /// The pieces of which the solid is the union; see [`Solid::pieces`].
    pub fn pieces(&self) -> Vec<Piece> {
        self.as_solid().pieces()
    }
}
