//! Solids: shapes, meshes, mesh files, mass.
//!
//! A [`Shape`] stands in a frame of its own, millimetres, and knows its bounds, volume, centre of
//! mass, closest surface point, a mesh of stated chord error and the convex or arc [`Piece`]s of
//! which it consists: see [`Solid`]. Leaves to others: distance between two shapes (`clearance`),
//! where a shape stands (`scene`), writing files whole or not at all (whoever owns the folder).
//!
//! ```text
//! shape.rs   Shape, and what all shapes answer      error.rs     why a shape cannot be
//! ball block capsule cylinder frustum torus_arc plate tube hull/ mesh/ cloud compound: one a shape
//! bend.rs centreline.rs   arcs, and straights and arcs in order
//! polygon/   flat regions     triangle.rs   one triangle     tree.rs   boxes over many things
//! lathe.rs sweep.rs chord.rs   meshes of round things         extent.rs  boxes round round things
//! within.rs  the part of a surface within a box
//! file/      PLY, STL, OBJ and lists of points
//! ```
//!
//! A mesh is closed when every edge is shared by exactly two triangles that run opposite ways; it
//! then has an inside. Any other is a bare surface, or with a thickness a skin behind its triangles.

mod ball;
mod bend;
mod block;
mod cache;
mod capsule;
mod centreline;
mod chord;
mod closest;
mod cloud;
mod compound;
mod cylinder;
mod error;
mod extent;
mod file;
mod frustum;
mod hull;
mod lathe;
mod mesh;
mod piece;
mod plate;
mod polygon;
mod shape;
mod sweep;
mod torus_arc;
mod tree;
mod triangle;
mod tube;
mod within;

pub use ball::Ball;
pub use bend::Bend;
pub use block::Block;
pub use capsule::Capsule;
pub use centreline::{Centreline, Leg};
pub use closest::Closest;
pub use cloud::Cloud;
pub use compound::Compound;
pub use cylinder::Cylinder;
pub use error::{Ring, ShapeError, TubePlace};
pub use file::{
    FileFault, FilePlace, MeshFileError, MeshFormat, PointFormat, read_mesh, read_mesh_bytes, read_points,
    read_points_bytes, write_mesh, write_points,
};
pub(crate) use file::{
    MOST_PLY_HEAD_BYTES, has_doubtful_comma, number, ply_bytes, quoted, read_ply_head, words,
};
pub use frustum::Frustum;
pub use hull::Hull;
pub use mesh::{Mesh, MeshKind};
pub use piece::Piece;
pub use plate::Plate;
pub use shape::{Shape, Solid};
pub use torus_arc::TorusArc;
pub use tube::Tube;
