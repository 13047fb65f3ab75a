//! Solids: shapes, meshes, mesh files, mass.
//!
//! A [`Shape`] stands in a frame of its own, millimetres, and knows its bounds, volume, closest
//! surface point, a mesh of stated chord error and the convex or arc [`Piece`]s of which it
//! consists. Leaves to others: distance between two shapes (`clearance`), where a shape stands
//! (`scene`).

mod piece;
mod shape;

pub use piece::Piece;
pub use shape::{
    Ball, Block, Capsule, Closest, Cloud, Compound, Cylinder, Frustum, Hull, Mesh, MeshKind, Plate, Shape,
    ShapeError, TorusArc, Tube,
};
