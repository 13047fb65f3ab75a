//! The ways in: a path or bytes, and the units in which the file was written.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use nalgebra::Point3;

use crate::space::LengthUnit;

use super::super::Mesh;
use super::error::{FileFault, FilePlace, MeshFileError};
use super::points::PointFormat;
use super::{obj, ply, points, stl};

/// The largest file that is read: 1 GiB, about 40 million binary points.
const MOST_BYTES: u64 = 1 << 30;

/// A format of mesh files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeshFormat {
    /// Polygon file format, ASCII or binary.
    Ply,
    /// Stereolithography, ASCII or binary.
    Stl,
    /// Wavefront text; vertices and faces only.
    Obj,
}

impl MeshFormat {
    /// The format that a file's name ends in, whatever its case.
    pub fn from_path(path: &Path) -> Option<Self> {
        match ending(path).as_str() {
            "ply" => Some(MeshFormat::Ply),
            "stl" => Some(MeshFormat::Stl),
            "obj" => Some(MeshFormat::Obj),
            _ => None,
        }
    }
}

/// Reads a mesh; its name's ending tells the format.
///
/// Points come out in mm. Polygons are cut into triangles; triangles that name one vertex twice are
/// dropped; vertices of an STL that are the same to the last bit are one, and those of another file
/// too if that closes the mesh. The mesh is [`super::super::MeshKind::Closed`] if every edge is
/// shared by two opposed triangles, and turned over if it was inside out; else it is a bare surface.
///
/// # Errors
/// [`MeshFileError`] names the file, the line or byte, what was expected and what would do.
pub fn read_mesh(path: &Path, units: LengthUnit) -> Result<Mesh, MeshFileError> {
    let name = path.display().to_string();
    let format = MeshFormat::from_path(path).ok_or_else(|| {
        FileFault::UnknownFormat { ending: ending(path), known: "ply, stl or obj" }
            .at(&name, FilePlace::Whole)
    })?;
    read_mesh_bytes(&name, &read_file(path, &name)?, format, units)
}

/// Reads a mesh from bytes; `name` is what messages call it. See [`read_mesh`].
///
/// # Errors
/// As [`read_mesh`].
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::solid::{read_mesh_bytes, MeshFormat, Solid};
/// use baywright::space::LengthUnit;
/// let wedge = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n";
/// let mesh = read_mesh_bytes("wedge.obj", wedge, MeshFormat::Obj, LengthUnit::Centimetre).unwrap();
/// assert!((mesh.volume_mm3() - 1000.0 / 6.0).abs() < 1e-9); // 10 mm a side
/// ```
pub fn read_mesh_bytes(
    name: &str,
    bytes: &[u8],
    format: MeshFormat,
    units: LengthUnit,
) -> Result<Mesh, MeshFileError> {
    if bytes.is_empty() {
        return Err(FileFault::Empty.at(name, FilePlace::Whole));
    }
    match format {
        MeshFormat::Ply => ply::read_mesh(name, bytes, units),
        MeshFormat::Stl => stl::read_mesh(name, bytes, units),
        MeshFormat::Obj => obj::read_mesh(name, bytes, units),
    }
}

/// Reads points in mm: the vertices of a PLY, or a text file of one point a line.
///
/// A name that ends in `ply` is PLY; `xyz`, `csv`, `txt`, `asc` or `pts` is text.
///
/// # Errors
/// [`MeshFileError`] names the file, the line or byte, what was expected and what would do.
pub fn read_points(path: &Path, units: LengthUnit) -> Result<Vec<Point3<f64>>, MeshFileError> {
    let name = path.display().to_string();
    let format = match ending(path).as_str() {
        "ply" => PointFormat::Ply,
        "xyz" | "csv" | "txt" | "asc" | "pts" => PointFormat::Text,
        other => {
            let known = "ply, xyz, csv, txt, asc or pts";
            let fault = FileFault::UnknownFormat { ending: other.to_owned(), known };
            return Err(fault.at(&name, FilePlace::Whole));
        }
    };
    read_points_bytes(&name, &read_file(path, &name)?, format, units)
}

/// Reads points from bytes; `name` is what messages call it. See [`read_points`].
///
/// # Errors
/// As [`read_points`].
pub fn read_points_bytes(
    name: &str,
    bytes: &[u8],
    format: PointFormat,
    units: LengthUnit,
) -> Result<Vec<Point3<f64>>, MeshFileError> {
    if bytes.is_empty() {
        return Err(FileFault::Empty.at(name, FilePlace::Whole));
    }
    match format {
        PointFormat::Ply => ply::read_points(name, bytes, units),
        PointFormat::Text => points::read_text(name, bytes, units),
    }
}

fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

fn read_file(path: &Path, name: &str) -> Result<Vec<u8>, MeshFileError> {
    let unreadable =
        |cause: std::io::Error| FileFault::Unreadable { cause: cause.to_string() }.at(name, FilePlace::Whole);
    let mut bytes = Vec::new();
    // Not by the length that the system reports: a pipe or device has none.
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(FileFault::TooLarge { limit_bytes: MOST_BYTES }.at(name, FilePlace::Whole));
    }
    Ok(bytes)
}
