//! Mesh and point files.
//!
//! Reads PLY (ASCII and both binaries), STL (ASCII and binary) and OBJ, and points as PLY or as text;
//! writes PLY, STL and OBJ. Nothing a file says is believed before the bytes are there to back it,
//! and no file makes it panic. What reads large scans piece by piece (`survey::scan`) shares the head of a
//! PLY, the numbers and the messages. Leaves to others: where files may lie, and writing them whole or not
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

pub(crate) use error::quoted;
pub use error::{FileFault, FilePlace, MeshFileError};
pub(crate) use ply_header::{
    MOST_BYTES as MOST_PLY_HEAD_BYTES, read_beginning as read_ply_head, size as ply_bytes,
};
pub use points::PointFormat;
pub(crate) use points::has_doubtful_comma;
pub use read::{MeshFormat, read_mesh, read_mesh_bytes, read_points, read_points_bytes};
pub(crate) use text::{number, words};
pub use write::{write_mesh, write_points};
