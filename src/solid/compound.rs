//! Several shapes as one solid.

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::{Closest, Mesh, Piece, Shape, ShapeError, Solid};

/// How deep compounds may lie in compounds.
const DEEPEST: usize = 16;

/// Several shapes that make one solid: their union.
///
/// Closest point: from outside, that of the nearest part, of equally near ones the first. From inside,
/// that of the part in which the point lies deepest; where parts overlap the true depth may be more.
#[derive(Clone, Debug, PartialEq)]
pub struct Compound {
    /// Each part and where it stands in the compound's frame.
    pub parts: Vec<(Pose, Shape)>,
}

impl Compound {
    fn validate_within(&self, depth: usize) -> Result<(), ShapeError> {
        if depth >= DEEPEST {
            return Err(ShapeError::TooDeep { limit: DEEPEST });
        }
        if self.parts.is_empty() {
            return Err(ShapeError::TooFew { what: "parts of a compound", found: 0, needed: 1 });
        }
        for (part, (pose, shape)) in self.parts.iter().enumerate() {
            let place = pose.translation.vector.iter().chain(pose.rotation.coords.iter());
            let checked = if place.copied().all(f64::is_finite) {
                match shape {
                    Shape::Compound(inner) => inner.validate_within(depth + 1),
                    other => other.validate(),
                }
            } else {
                return Err(ShapeError::NotFinite { what: "the place of part", index: part });
            };
            checked.map_err(|cause| ShapeError::Part { part, cause: Box::new(cause) })?;
        }
        Ok(())
    }
}

impl Solid for Compound {
    fn validate(&self) -> Result<(), ShapeError> {
        self.validate_within(0)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        self.parts.iter().fold(Bounds::EMPTY, |bounds, (compound_from_part, shape)| {
            bounds.union(&shape.bounds_in(&(world_from_shape * compound_from_part)))
        })
    }

    fn volume_mm3(&self) -> f64 {
        self.parts.iter().map(|(_, shape)| shape.volume_mm3()).sum()
    }

    fn area_mm2(&self) -> f64 {
        self.parts.iter().map(|(_, shape)| shape.area_mm2()).sum()
    }

    /// Weighted by volume; parts without any (bare surfaces) count only if no part has one, and then
    /// by area.
    fn center_of_mass(&self) -> Point3<f64> {
        let weighted = |weight: &dyn Fn(&Shape) -> f64| {
            let mut total = 0.0;
            let mut moment = Vector3::zeros();
            for (compound_from_part, shape) in &self.parts {
                let share = weight(shape);
                total += share;
                moment += (compound_from_part * shape.center_of_mass()).coords * share;
            }
            (total > 0.0).then(|| Point3::from(moment / total))
        };
        weighted(&Shape::volume_mm3).or_else(|| weighted(&Shape::area_mm2)).unwrap_or_else(Point3::origin)
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        self.parts
            .iter()
            .map(|(compound_from_part, shape)| {
                shape.closest(&compound_from_part.inverse_transform_point(point)).moved(compound_from_part)
            })
            .fold(Closest::NOWHERE, Closest::nearer)
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        Mesh::joined(
            self.parts
                .iter()
                .map(|(compound_from_part, shape)| shape.tessellate(chord_mm).moved(compound_from_part)),
        )
    }

    fn pieces(&self) -> Vec<Piece> {
        self.parts
            .iter()
            .flat_map(|(compound_from_part, shape)| {
                shape.pieces().into_iter().map(|piece| piece.moved(compound_from_part))
            })
            .collect()
    }
}
