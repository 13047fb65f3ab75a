//! Hoses: the solid that one is at rest.

use nalgebra::{Isometry3, Translation3};

use crate::hose::Relaxed;
use crate::scene::decode::z_onto;
use crate::solid::{Capsule, Compound, Shape};

/// A hose at rest as a solid: a capsule for each of its pieces, in the frame of its ports.
pub(crate) fn hose_shape(relaxed: &Relaxed) -> Shape {
    hose_grown(relaxed, &[])
}

/// The same, thicker by so much about each of its nodes, mm; by nothing where the list ends.
pub(crate) fn hose_grown(relaxed: &Relaxed, by_mm: &[f64]) -> Shape {
    let by = |node: usize| by_mm.get(node).copied().unwrap_or(0.0);
    let parts = relaxed
        .points
        .windows(2)
        .enumerate()
        .map(|(node, pair)| {
            let along = pair[1] - pair[0];
            let radius_mm = relaxed.radius_mm + by(node).max(by(node + 1));
            let middle = nalgebra::center(&pair[0], &pair[1]);
            let pose = Isometry3::from_parts(Translation3::from(middle), z_onto(&along));
            (pose, Shape::Capsule(Capsule { radius_mm, core_mm: along.norm() }))
        })
        .collect();
    Shape::Compound(Compound { parts })
}
