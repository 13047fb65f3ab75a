//! A shape as what is drawn: triangles with normals, or points. Metres, in the shape's own frame.

use nalgebra::{Point3, Vector3};

use crate::solid::{Mesh, MeshKind, Shape};
use crate::space::Pose;

/// Facets that meet at more than this keep an edge between them: 32 degrees.
const CREASE_COS: f64 = 0.848;

/// Triangles that share a material.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Skin {
    pub positions: Vec<[f32; 3]>,
    pub normals: Vec<[f32; 3]>,
    pub corners: Vec<u32>,
}

/// What a body shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Skins {
    /// Surfaces of solids.
    pub closed: Skin,
    /// Bare patches, seen from both sides.
    pub open: Skin,
    /// Points of clouds.
    pub points: Vec<[f32; 3]>,
}

/// A place in metres.
pub(super) fn metres(at: &Vector3<f64>) -> [f32; 3] {
    [at.x, at.y, at.z].map(|mm| (mm / 1000.0) as f32)
}

impl Skins {
    /// Of a shape, within `chord_mm` of its true surface. Open meshes are shown as the patches that they are, without their thickness;
    /// clouds by their points.
    pub fn of(shape: &Shape, chord_mm: f64) -> Self {
        let mut skins = Skins::default();
        skins.add(shape, &Pose::identity(), chord_mm);
        skins
    }

    fn add(&mut self, shape: &Shape, whole_from_part: &Pose, chord_mm: f64) {
        match shape {
            Shape::Cloud(cloud) => {
                self.points.extend(cloud.points.iter().map(|at| metres(&(whole_from_part * at).coords)));
            }
            Shape::Compound(compound) => {
                for (pose, part) in &compound.parts {
                    self.add(part, &(whole_from_part * pose), chord_mm);
                }
            }
            Shape::Mesh(mesh) => {
                let skin = if mesh.kind == MeshKind::Closed { &mut self.closed } else { &mut self.open };
                skin.add(mesh, whole_from_part);
            }
            _ => self.closed.add(&shape.tessellate(chord_mm), whole_from_part),
        }
    }

    /// Triangles in all.
    pub fn triangles(&self) -> usize {
        (self.closed.corners.len() + self.open.corners.len()) / 3
    }

    /// How far the farthest thing shown is from a point of the frame, mm.
    pub fn reach_mm(&self, from: &Point3<f64>) -> f64 {
        let places = self.closed.positions.iter().chain(&self.open.positions).chain(&self.points);
        let far = |at: &[f32; 3]| (Vector3::from(at.map(|m| 1000.0 * f64::from(m))) - from.coords).norm();
        places.map(far).fold(0.0, f64::max)
    }
}

impl Skin {
    /// Adds a mesh; a vertex is doubled where its facets meet at a crease.
    fn add(&mut self, mesh: &Mesh, whole_from_mesh: &Pose) {
        let count = mesh.vertices.len();
        let triangles: Vec<[usize; 3]> = mesh
            .triangles
            .iter()
            .map(|corners| corners.map(|index| index as usize))
            .filter(|corners| corners.iter().all(|index| *index < count))
            .collect();
        let cross: Vec<Vector3<f64>> = triangles
            .iter()
            .map(|[a, b, c]| {
                let at = |index: &usize| mesh.vertices[*index];
                (at(b) - at(a)).cross(&(at(c) - at(a)))
            })
            .collect();
        let facing: Vec<Vector3<f64>> =
            cross.iter().map(|cross| cross.try_normalize(1e-12).unwrap_or_default()).collect();
        let mut meet: Vec<Vec<u32>> = vec![Vec::new(); count];
        for (at, corners) in triangles.iter().enumerate() {
            for vertex in corners {
                meet[*vertex].push(at as u32);
            }
        }
        // Copies of each vertex: its number in the skin, and its normal.
        let mut copies: Vec<Vec<(u32, Vector3<f64>)>> = vec![Vec::new(); count];
        for (at, corners) in triangles.iter().enumerate() {
            for &vertex in corners {
                let own = facing[at];
                let smooth = |other: &&u32| own.dot(&facing[**other as usize]) > CREASE_COS;
                let sum: Vector3<f64> =
                    meet[vertex].iter().filter(smooth).map(|other| cross[*other as usize]).sum();
                // A triangle without area has no side; any will do.
                let normal = sum
                    .try_normalize(1e-12)
                    .unwrap_or_else(|| if own == Vector3::zeros() { Vector3::z() } else { own });
                let known = copies[vertex].iter().find(|(_, known)| (known - normal).amax() < 1e-4);
                let number = match known {
                    Some((number, _)) => *number,
                    None => {
                        let number = self.positions.len() as u32;
                        self.positions.push(metres(&(whole_from_mesh * mesh.vertices[vertex]).coords));
                        let normal_there = whole_from_mesh * normal;
                        self.normals.push([normal_there.x, normal_there.y, normal_there.z].map(|v| v as f32));
                        copies[vertex].push((number, normal));
                        number
                    }
                };
                self.corners.push(number);
            }
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;
    use crate::solid::{Block, Cylinder};

    #[test]
    fn a_block_keeps_its_edges_and_a_cylinder_is_smooth_round() {
        let block = Skins::of(&Shape::Block(Block { size_mm: Vector3::new(20.0, 10.0, 5.0) }), 0.1);
        // Six faces of four corners, each with a normal of its own.
        assert_eq!((block.closed.positions.len(), block.triangles()), (24, 12));
        let round = Skins::of(&Shape::Cylinder(Cylinder { radius_mm: 30.0, length_mm: 50.0 }), 0.1);
        let mut side = 0;
        for (at, normal) in round.closed.positions.iter().zip(&round.closed.normals) {
            if normal[2].abs() < 0.5 {
                let out = Vector3::new(at[0], at[1], 0.0).normalize();
                assert!((out - Vector3::from(*normal)).norm() < 0.03, "{at:?} {normal:?}");
                side += 1;
            }
        }
        assert!(side > 20, "{side}");
        assert!((round.reach_mm(&Point3::origin()) - 30.0f64.hypot(25.0)).abs() < 0.11);
    }
}
