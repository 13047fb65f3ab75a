//! From what a mesh file holds to a mesh.

use std::collections::HashMap;

use nalgebra::Point3;

use super::super::polygon::face_triangles;
use super::super::{Mesh, MeshKind};
use super::error::{FileFault, FilePlace, MeshFileError};

/// The most corners that a face may have: enough for any flange, too few to stall the ear cutter.
pub(super) const MOST_CORNERS: usize = 1024;

/// Faces of any number of corners, one after the other.
#[derive(Debug, Default)]
pub(super) struct FaceList {
    corners: Vec<u32>,
    ends: Vec<usize>,
}

impl FaceList {
    /// Adds a face; its indices must hold.
    pub(super) fn push(&mut self, corners: &[u32]) -> Result<(), FileFault> {
        if !(3..=MOST_CORNERS).contains(&corners.len()) {
            return Err(FileFault::Corners { corners: corners.len(), most: MOST_CORNERS });
        }
        self.corners.extend_from_slice(corners);
        self.ends.push(self.corners.len());
        Ok(())
    }

    fn triangles(&self, points: &[Point3<f64>]) -> Vec<[u32; 3]> {
        let mut triangles = Vec::with_capacity(self.ends.len());
        let mut start = 0;
        for &end in &self.ends {
            let face = &self.corners[start..end];
            match *face {
                [a, b, c] => triangles.push([a, b, c]),
                _ => triangles.extend(face_triangles(face, points)),
            }
            start = end;
        }
        triangles
    }
}

/// The index that a file gives as `index` from 0.
pub(super) fn checked_index(index: i64, vertices: usize) -> Result<u32, FileFault> {
    match u32::try_from(index) {
        Ok(small) if (small as usize) < vertices => Ok(small),
        _ => Err(FileFault::IndexOutOfRange { index, vertices }),
    }
}

/// Vertices that are the same to the last bit become one.
#[derive(Debug, Default)]
pub(super) struct Merger {
    pub(super) points: Vec<Point3<f64>>,
    places: HashMap<[u64; 3], u32>,
}

impl Merger {
    pub(super) fn place(&mut self, point: [f64; 3]) -> u32 {
        // Zero and minus zero are one place.
        let point = point.map(|value| value + 0.0);
        let next = self.points.len() as u32;
        *self.places.entry(point.map(f64::to_bits)).or_insert_with(|| {
            self.points.push(Point3::from(point));
            next
        })
    }
}

/// Faces of a file, over points in mm, as a mesh.
pub(super) fn mesh_of(name: &str, points: Vec<Point3<f64>>, faces: &FaceList) -> Result<Mesh, MeshFileError> {
    let mut triangles = faces.triangles(&points);
    triangles.retain(has_three_corners);
    if triangles.is_empty() {
        return Err(FileFault::NoFaces.at(name, FilePlace::Whole));
    }
    let mesh = Mesh::of_unknown_kind(points, triangles);
    if mesh.kind == MeshKind::Closed {
        return Ok(mesh);
    }
    // Some programs give each face vertices of its own; that must not cost a solid its inside.
    let mut merger = Merger::default();
    let places: Vec<u32> =
        mesh.vertices.iter().map(|vertex| merger.place([vertex.x, vertex.y, vertex.z])).collect();
    if merger.points.len() == mesh.vertices.len() {
        return Ok(mesh);
    }
    let mut triangles: Vec<[u32; 3]> =
        mesh.triangles.iter().map(|corners| corners.map(|index| places[index as usize])).collect();
    triangles.retain(has_three_corners);
    let merged = Mesh::of_unknown_kind(merger.points, triangles);
    Ok(if merged.kind == MeshKind::Closed { merged } else { mesh })
}

fn has_three_corners([a, b, c]: &[u32; 3]) -> bool {
    a != b && b != c && c != a
}
