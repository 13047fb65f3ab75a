//! Which joint closes which end of a tube.

use nalgebra::Point3;

use crate::clearance::distance_under;
use crate::scene::{Body, Scene};
use crate::space::Length;
use crate::tube::JointKind;

use super::ShapeStore;
use super::making::lines_of;

/// The kinds of joint that a scene declares at a tube's first and last end: of each joined body that of the end which lies
/// nearer to it. `None` where none is declared; both for what is not one tube.
pub fn joint_ends(scene: &Scene, body: &Body, store: &mut ShapeStore) -> [Option<JointKind>; 2] {
    let mut kinds = [None, None];
    let lines = lines_of(body);
    let [(_, list)] = lines.as_slice() else { return kinds };
    let ends = [list.start, list.end()].map(|pose| Point3::from(pose.translation.vector));
    for pair in &scene.joined {
        let mate = if pair.one == body.name {
            &pair.other
        } else if pair.other == body.name {
            &pair.one
        } else {
            continue;
        };
        let Some(mate) = scene.body(mate) else { continue };
        let shape = store.indexed(&mate.shape);
        let far = ends.map(|end| {
            let at = mate.world_from_body.inverse() * end;
            let found = distance_under(&shape, &at, Length::from_mm(f64::INFINITY));
            found.map_or(f64::INFINITY, |found| found.distance_mm)
        });
        let nearer = usize::from(far[1] < far[0]);
        kinds[nearer] = kinds[nearer].or(pair.joint);
    }
    kinds
}
