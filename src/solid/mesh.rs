//! A triangle mesh.

mod edges;
mod index;
mod sums;

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::cache::Cache;
use super::error::{finite, not_negative};
use super::{Closest, Piece, ShapeError, Solid, extent, triangle};

use index::MeshIndex;
pub(super) use sums::Sums;

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
///
/// Queries keep a tree of what they saw the first time: make a new mesh ([`Mesh::new`],
/// [`Mesh::moved`]) instead of changing vertices or triangles of one that was asked already. A clone
/// starts without a tree. Triangles without area are tolerated: they have no inside and no weight.
///
/// Closest point: of equally near triangles, the first that the tree meets; always the same one for
/// the same mesh and point.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Vertices, mm.
    pub vertices: Vec<Point3<f64>>,
    /// Vertex indices; counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// Whether it has an inside.
    pub kind: MeshKind,
    index: Cache<MeshIndex>,
}

impl Mesh {
    /// A mesh as given; nothing is checked or merged.
    pub fn new(vertices: Vec<Point3<f64>>, triangles: Vec<[u32; 3]>, kind: MeshKind) -> Self {
        Mesh { vertices, triangles, kind, index: Cache::default() }
    }

    /// A mesh that is closed if its edges say so, and a bare surface if not. A closed one that is
    /// inside out as a whole is turned over.
    pub fn of_unknown_kind(vertices: Vec<Point3<f64>>, triangles: Vec<[u32; 3]>) -> Self {
        let mut mesh = Mesh::new(vertices, triangles, MeshKind::Open { thickness_mm: 0.0 });
        if mesh.indices_hold() && !mesh.triangles.is_empty() && mesh.open_edges() == 0 {
            mesh.kind = MeshKind::Closed;
            if Sums::of(&mesh.vertices, &mesh.triangles).volume_mm3 < 0.0 {
                mesh = mesh.turned_over();
            }
        }
        mesh
    }

    /// The same mesh seen from another frame.
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        let vertices = self.vertices.iter().map(|vertex| to_from_here * vertex).collect();
        Mesh::new(vertices, self.triangles.clone(), self.kind)
    }

    /// The same surface with every triangle facing the other way.
    pub fn turned_over(&self) -> Self {
        let triangles = self.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect();
        Mesh::new(self.vertices.clone(), triangles, self.kind)
    }

    /// The same mesh as another kind.
    pub fn with_kind(mut self, kind: MeshKind) -> Self {
        self.kind = kind;
        self.index = Cache::default();
        self
    }

    /// Several meshes as one, each a shell of its own. Closed if all are; else open, with the
    /// thickness of the first open one.
    pub fn joined(meshes: impl IntoIterator<Item = Mesh>) -> Self {
        let mut whole = Mesh::new(Vec::new(), Vec::new(), MeshKind::Closed);
        for mut mesh in meshes {
            let first = whole.vertices.len() as u32;
            whole.vertices.append(&mut mesh.vertices);
            whole.triangles.extend(mesh.triangles.iter().map(|corners| corners.map(|index| first + index)));
            if whole.kind == MeshKind::Closed {
                whole.kind = mesh.kind;
            }
        }
        whole
    }

    /// The same patch, turned over if need be so that what is behind its triangles lies to a side of it.
    ///
    /// # Errors
    /// Less than four fifths of the area face to one and the same side: then it does not tell them apart.
    pub fn with_solid_side(self, side: &Vector3<f64>) -> Result<Self, ShapeError> {
        let (mut away, mut to, mut all) = (0.0, 0.0, f64::MIN_POSITIVE);
        for triangle in 0..self.triangles.len() {
            if self.triangles[triangle].iter().any(|&index| index as usize >= self.vertices.len()) {
                continue;
            }
            let [a, b, c] = self.corners(triangle);
            let (area, toward) = ((b - a).cross(&(c - a)).norm(), (b - a).cross(&(c - a)).dot(side));
            all += area;
            // Nearly edge on it faces neither way.
            away += if toward < -0.05 * area { area } else { 0.0 };
            to += if toward > 0.05 * area { area } else { 0.0 };
        }
        match (away / all, to / all) {
            (away, _) if away >= 0.8 => Ok(self),
            (_, to) if to >= 0.8 => Ok(self.turned_over()),
            (away, to) => Err(ShapeError::SideUnclear { away: 100.0 * away, toward: 100.0 * to }),
        }
    }

    /// The corners of a triangle; `triangle` must be one of the mesh.
    pub fn corners(&self, triangle: usize) -> [Point3<f64>; 3] {
        self.triangles[triangle].map(|index| self.vertices[index as usize])
    }

    /// How many edges are not shared by exactly two triangles that run opposite ways. Zero is a
    /// closed surface. Triangles that name one vertex twice do not count.
    pub fn open_edges(&self) -> usize {
        edges::open_edges(&self.triangles)
    }

    /// Whether a point lies inside; always false for an open mesh.
    ///
    /// Exact up to rounding, by how often the surface winds round the point: shells that overlap are
    /// one solid, a shell that faces inward within another is a hollow. A point of the surface
    /// itself may go either way. Logarithmic time after the first call.
    pub fn inside(&self, point: &Point3<f64>) -> bool {
        self.kind == MeshKind::Closed && self.index().winding(point) != 0
    }

    fn thickness_mm(&self) -> f64 {
        match self.kind {
            MeshKind::Closed => 0.0,
            MeshKind::Open { thickness_mm } => thickness_mm,
        }
    }

    fn index(&self) -> &MeshIndex {
        self.index.get_or(|| MeshIndex::new(&self.vertices, &self.triangles, self.thickness_mm()))
    }

    fn sums(&self) -> Sums {
        Sums::of(&self.vertices, &self.triangles)
    }

    fn indices_hold(&self) -> bool {
        self.triangles.iter().flatten().all(|&index| (index as usize) < self.vertices.len())
    }

    fn check_indices(&self) -> Result<(), ShapeError> {
        let vertices = self.vertices.len();
        for (triangle, corners) in self.triangles.iter().enumerate() {
            if let Some(&index) = corners.iter().find(|&&index| index as usize >= vertices) {
                return Err(ShapeError::IndexOutOfRange { triangle, index, vertices });
            }
        }
        Ok(())
    }
}

impl Solid for Mesh {
    fn validate(&self) -> Result<(), ShapeError> {
        finite("vertex", &self.vertices)?;
        self.check_indices()?;
        let sums = self.sums();
        if sums.area_mm2 <= 0.0 {
            return Err(ShapeError::NoSurface);
        }
        match self.kind {
            MeshKind::Open { thickness_mm } => not_negative("the mesh's thickness", thickness_mm),
            MeshKind::Closed => {
                let edges = self.open_edges();
                if edges > 0 {
                    return Err(ShapeError::OpenEdges { edges });
                }
                if sums.volume_mm3 < 0.0 {
                    return Err(ShapeError::InsideOut { volume_mm3: sums.volume_mm3 });
                }
                Ok(())
            }
        }
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        let thickness = self.thickness_mm();
        if thickness == 0.0 {
            // Only vertices that a triangle uses count.
            return self.triangles.iter().flatten().fold(Bounds::EMPTY, |bounds, &index| {
                self.vertices.get(index as usize).map_or(bounds, |at| bounds.with(&(world_from_shape * at)))
            });
        }
        if !self.indices_hold() {
            return Bounds::EMPTY;
        }
        (0..self.triangles.len()).fold(Bounds::EMPTY, |bounds, index| {
            let front = self.corners(index);
            let back = front.map(|corner| corner - triangle::normal(&front).into_inner() * thickness);
            bounds
                .union(&extent::of_points(&front, world_from_shape))
                .union(&extent::of_points(&back, world_from_shape))
        })
    }

    fn volume_mm3(&self) -> f64 {
        match self.kind {
            MeshKind::Closed => self.sums().volume_mm3,
            MeshKind::Open { thickness_mm } => self.sums().area_mm2 * thickness_mm,
        }
    }

    fn area_mm2(&self) -> f64 {
        self.sums().area_mm2
    }

    fn center_of_mass(&self) -> Point3<f64> {
        let sums = self.sums();
        match self.kind {
            MeshKind::Closed => sums.center_of_volume,
            MeshKind::Open { thickness_mm } => sums.center_of_area - sums.mean_normal * (thickness_mm / 2.0),
        }
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        let nearest = self.index().closest(point);
        if nearest.distance_mm.is_finite() && self.inside(point) {
            return nearest.turned_inside();
        }
        nearest
    }

    fn tessellate(&self, _chord_mm: f64) -> Mesh {
        let thickness = self.thickness_mm();
        if thickness == 0.0 || !self.indices_hold() {
            return self.clone();
        }
        Mesh::joined((0..self.triangles.len()).map(|index| {
            let front = self.corners(index);
            let shift = triangle::normal(&front).into_inner() * thickness;
            let vertices = front.into_iter().chain(front.map(|corner| corner - shift)).collect();
            let triangles =
                vec![[0, 1, 2], [3, 5, 4], [0, 3, 4], [0, 4, 1], [1, 4, 5], [1, 5, 2], [2, 5, 3], [2, 3, 0]];
            Mesh::new(vertices, triangles, MeshKind::Closed)
        }))
    }

    fn pieces(&self) -> Vec<Piece> {
        if !self.indices_hold() {
            return Vec::new();
        }
        let thickness_mm = self.thickness_mm();
        (0..self.triangles.len())
            .map(|index| Piece::Triangle { corners: self.corners(index), thickness_mm })
            .collect()
    }
}

#[cfg(test)]
mod tests;
