//! Asking again after a small move gives what asking anew gives.

use crate::common;

use std::sync::Arc;

use baywright::clearance::{Follow, IndexedShape, gap};
use baywright::solid::Shape;
use common::{Dice, box_mesh, torus_mesh};
use nalgebra::{Isometry3, Vector3};

/// Walks of small and great steps, through contact and containment and out again.
#[test]
fn every_step_of_a_walk_agrees_with_a_fresh_question() {
    let index = |mesh| IndexedShape::new(Arc::new(Shape::Mesh(mesh)));
    let bodies = [
        index(torus_mesh(60.0, 15.0, 40, 24)),
        index(torus_mesh(25.0, 9.0, 30, 20)),
        index(box_mesh(Vector3::new(8.0, 6.0, 4.0))),
    ];
    let mut dice = Dice::new(77);
    let (mut apart, mut meeting) = (0, 0);
    for walk in 0..24 {
        let (fixed, moving) = (&bodies[walk % 2], &bodies[1 + walk % 2]);
        let mut follow = Follow::new(fixed.clone(), moving.clone());
        let mut pose = dice.pose(90.0);
        for step in 0..60 {
            let size = [0.05, 1.0, 1.0, 6.0][step % 4];
            let turn = nalgebra::UnitQuaternion::from_scaled_axis(dice.vector(0.01 * size));
            pose = Isometry3::from_parts(
                (pose.translation.vector + dice.vector(size)).into(),
                turn * pose.rotation,
            );
            let (warm, cold) = (follow.gap(&pose), gap(fixed, moving, &pose));
            let off = (warm.gap.mm() - cold.gap.mm()).abs();
            if cold.gap.mm() > 0.0 {
                apart += 1;
                assert!(
                    off < 1e-9,
                    "walk {walk}, step {step}: {} warm, {} cold",
                    warm.gap.mm(),
                    cold.gap.mm()
                );
                let ends = warm.witness.on_moving - warm.witness.on_fixed;
                assert!((ends.norm() - warm.gap.mm()).abs() < 1e-9, "its places are its gap apart");
            } else {
                meeting += 1;
                assert!(off < 1e-9, "walk {walk}, step {step}: depths {warm:?}, {cold:?}");
            }
        }
    }
    assert!(apart > 500 && meeting > 50, "{apart} apart, {meeting} meeting");
}
