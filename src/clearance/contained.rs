//! Whether part of one solid lies inside a closed surface of the other.

use nalgebra::Point3;

use super::index::Index;
use super::inside::inside;
use crate::space::Pose;

/// Whether an island of one solid is inside a closed surface of the other.
///
/// Meant for solids whose surfaces do not meet: then an island is wholly inside or wholly outside,
/// and one point of it decides.
pub(crate) fn contained(a: &Index, b: &Index, a_from_b: &Pose) -> bool {
    any_inside(a, b, a_from_b) || any_inside(b, a, &a_from_b.inverse())
}

fn any_inside(shells: &Index, other: &Index, shells_from_other: &Pose) -> bool {
    let in_shell = |p: &Point3<f64>| inside(shells, &(shells_from_other * p));
    shells.store.has_shells()
        && (other.anchors.iter().any(in_shell) || other.store.balls.iter().any(in_shell))
}
