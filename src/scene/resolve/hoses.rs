//! Hoses: the solid that one is at rest.

use nalgebra::{Isometry3, Translation3};

use crate::hose::Relaxed;
use crate::scene::decode::z_onto;
use crate::solid::{Capsule, Compound, Shape};

/// A hose at rest as a solid: a capsule for each of its pieces, in the frame of its ports.
pub(crate) fn hose_shape(relaxed: &Relaxed) -> Shape {
    let parts = relaxed
        .points
        .windows(2)
        .map(|pair| {
            let along = pair[1] - pair[0];
            let middle = nalgebra::center(&pair[0], &pair[1]);
            let pose = Isometry3::from_parts(Translation3::from(middle), z_onto(&along));
            (pose, Shape::Capsule(Capsule { radius_mm: relaxed.radius_mm, core_mm: along.norm() }))
        })
        .collect();
    Shape::Compound(Compound { parts })
}
