//! Mesh and point files, written.

use std::io::{self, Write};

use nalgebra::Point3;

use super::super::{Mesh, triangle};
use super::read::MeshFormat;

/// Writes a mesh in mm: PLY as binary, little end first, in double precision; STL as binary, in
/// single precision as that format has it; OBJ as text that reads back to the same bits.
///
/// Same mesh, same bytes. Whoever calls wraps slow writers in a buffer and puts the file in place
/// when it is whole.
///
/// # Errors
/// What `out` gives; of kind `InvalidInput` when a triangle names a vertex that is not there.
pub fn write_mesh(out: &mut impl Write, mesh: &Mesh, format: MeshFormat) -> io::Result<()> {
    if mesh.triangles.iter().flatten().any(|&index| index as usize >= mesh.vertices.len()) {
        let what = "a triangle names a vertex that is not there";
        return Err(io::Error::new(io::ErrorKind::InvalidInput, what));
    }
    match format {
        MeshFormat::Ply => write_ply(out, &mesh.vertices, Some(&mesh.triangles)),
        MeshFormat::Stl => write_stl(out, mesh),
        MeshFormat::Obj => write_obj(out, mesh),
    }
}

/// Writes points in mm as a PLY without faces: binary, little end first, in double precision.
///
/// # Errors
/// What `out` gives.
pub fn write_points(out: &mut impl Write, points: &[Point3<f64>]) -> io::Result<()> {
    write_ply(out, points, None)
}

fn write_ply(out: &mut impl Write, points: &[Point3<f64>], faces: Option<&[[u32; 3]]>) -> io::Result<()> {
    writeln!(out, "ply\nformat binary_little_endian 1.0\ncomment millimetres")?;
    writeln!(out, "element vertex {}", points.len())?;
    writeln!(out, "property double x\nproperty double y\nproperty double z")?;
    if let Some(faces) = faces {
        writeln!(out, "element face {}\nproperty list uchar uint vertex_indices", faces.len())?;
    }
    writeln!(out, "end_header")?;
    for point in points {
        for value in point.iter() {
            out.write_all(&value.to_le_bytes())?;
        }
    }
    for corners in faces.unwrap_or_default() {
        out.write_all(&[3])?;
        for index in corners {
            out.write_all(&index.to_le_bytes())?;
        }
    }
    Ok(())
}

fn write_stl(out: &mut impl Write, mesh: &Mesh) -> io::Result<()> {
    let mut head = [b' '; 80];
    let title = b"binary STL, millimetres";
    head[..title.len()].copy_from_slice(title);
    out.write_all(&head)?;
    let count = u32::try_from(mesh.triangles.len())
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidInput, "too many triangles for STL"))?;
    out.write_all(&count.to_le_bytes())?;
    for index in 0..mesh.triangles.len() {
        let corners = mesh.corners(index);
        let normal = triangle::normal(&corners);
        let numbers = normal.iter().chain(corners.iter().flat_map(|corner| corner.iter()));
        for value in numbers {
            out.write_all(&(*value as f32).to_le_bytes())?;
        }
        out.write_all(&[0, 0])?;
    }
    Ok(())
}

fn write_obj(out: &mut impl Write, mesh: &Mesh) -> io::Result<()> {
    writeln!(out, "# millimetres")?;
    for vertex in &mesh.vertices {
        writeln!(out, "v {} {} {}", vertex.x, vertex.y, vertex.z)?;
    }
    for [a, b, c] in &mesh.triangles {
        writeln!(out, "f {} {} {}", u64::from(*a) + 1, u64::from(*b) + 1, u64::from(*c) + 1)?;
    }
    Ok(())
}
