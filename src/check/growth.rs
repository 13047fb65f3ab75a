//! How far a hot tube reaches beyond where it is drawn: added to the movement that gaps are proved over.

use crate::scene::Body;
use crate::solid::{Shape, Tube};
use crate::space::{Length, Pose};
use crate::tube::TubeMaterial;

/// Temperature at which scenes are measured, deg C: `common practice, no source`.
pub(super) const COLD_C: f64 = 20.0;

/// No point of a body is farther than this from where it is drawn when the body is as hot as it says: its expansion
/// times the farthest that two of its points are apart, wherever it is held. Zero without `hot_to`.
///
/// Corners of a tube's line hold all of it between them, so none of its points are farther apart than two corners and
/// the tube's thickness.
pub(super) fn growth_of(body: &Body) -> Length {
    let (Some(hot_c), Some(material)) = (body.hot_c, metal_of(body)) else { return Length::ZERO };
    let mut span_mm: f64 = 0.0;
    let mut tubes = Vec::new();
    tubes_in(&body.shape, &Pose::identity(), &mut tubes);
    let points: Vec<_> = tubes
        .iter()
        .flat_map(|(pose, tube)| tube.corners.iter().map(move |at| (pose * at, tube.radius_mm)))
        .collect();
    for (one, thick) in &points {
        for (other, other_thick) in &points {
            span_mm = span_mm.max((one - other).norm() + thick + other_thick);
        }
    }
    Length::from_mm((material.growth_share(COLD_C, hot_c) * span_mm).max(0.0))
}

/// The metal that a body is made of, when expansion is known of it.
pub(super) fn metal_of(body: &Body) -> Option<&'static TubeMaterial> {
    body.material.as_deref().and_then(TubeMaterial::find)
}

/// All tubes in a shape, each with where it stands in it.
pub fn tubes_in(shape: &Shape, outer_from_shape: &Pose, out: &mut Vec<(Pose, Tube)>) {
    match shape {
        Shape::Tube(tube) => out.push((*outer_from_shape, tube.clone())),
        Shape::Compound(compound) => {
            for (compound_from_part, part) in &compound.parts {
                tubes_in(part, &(outer_from_shape * compound_from_part), out);
            }
        }
        _ => {}
    }
}
