//! Mesh and point files.
//!
//! Reads PLY (ASCII and both binaries), STL (ASCII and binary) and OBJ, and points as PLY or as text;
//! writes PLY, STL and OBJ. Nothing a file says is believed before the bytes are there to back it,
//! and no file makes it panic. Leaves to others: where files may lie, and writing them whole or not
//! at all.

mod build;
mod error;
mod obj;
mod ply;
mod ply_header;
mod ply_rows;
mod points;
mod read;
mod stl;
mod text;
mod write;

pub use error::{FileFault, FilePlace, MeshFileError};
pub use points::PointFormat;
pub use read::{MeshFormat, read_mesh, read_mesh_bytes, read_points, read_points_bytes};
pub use write::{write_mesh, write_points};
