//! How far two riding points come from each other over whole movements.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use nalgebra::Point3;

use super::cell::Share;
use super::{Freedom, Movement};
use crate::space::Pose;

/// Cells that are opened before the bounds are given as they are.
const BUDGET: usize = 20_000;

/// The farthest that two points come from each other over the movements of their carriers.
#[derive(Clone, Debug, PartialEq)]
pub struct Farthest {
    /// Proved: no pose takes them farther apart, mm.
    pub at_most_mm: f64,
    /// How far apart they are at the pose below, mm.
    pub found_mm: f64,
    /// The first carrier's freedoms there, rad or mm.
    pub one_values: Vec<f64>,
    /// The second carrier's.
    pub other_values: Vec<f64>,
}

struct Cell {
    at_most_mm: f64,
    number: usize,
    shares: (Rc<Share>, Rc<Share>),
}
impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number
    }
}
impl Eq for Cell {}
impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at_most_mm.total_cmp(&other.at_most_mm).then(other.number.cmp(&self.number))
    }
}

/// The farthest that two points come from each other, each riding on its own carrier: proved, no sample.
///
/// Over a cell of the freedoms each point stays within the hull of where the cell's corners take it, grown by the arcs'
/// excess; a distance is greatest at corners of hulls. Cells are halved along their widest turn until the two bounds are
/// within `tolerance_mm`, or 20,000 were opened: then `at_most_mm` is true and wide. Points of one carrier must be asked
/// with a still movement.
///
/// # Example
/// A point on an arm of 100 that swings through 60 deg to either side, seen from 300 in front of its axis, level with it:
/// farthest at an end of the swing, sqrt((300 - 100 cos 60)^2 + (100 sin 60)^2) = 264.575.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::motion::{Freedom, Movement, farthest_apart};
/// use baywright::space::Axis;
/// use nalgebra::{Point3, Vector3};
/// let axis = Axis { through: Point3::origin(), along: Vector3::z_axis() };
/// let sixty = 60f64.to_radians();
/// let swing = Movement { freedoms: vec![Freedom::Turn { axis, from_rad: -sixty, to_rad: sixty }] };
/// let (arm, seen_from) = (Point3::new(100.0, 0.0, 0.0), Point3::new(300.0, 0.0, 0.0));
/// let found = farthest_apart((&seen_from, &Movement::still()), (&arm, &swing), 1e-3);
/// assert!((found.found_mm - 264.5751).abs() < 1e-3 && found.at_most_mm - found.found_mm <= 1e-3);
/// ```
pub fn farthest_apart(
    (one, one_moves): (&Point3<f64>, &Movement),
    (other, other_moves): (&Point3<f64>, &Movement),
    tolerance_mm: f64,
) -> Farthest {
    let here = Pose::identity();
    let mut best = Farthest {
        at_most_mm: f64::INFINITY,
        found_mm: f64::NEG_INFINITY,
        one_values: Vec::new(),
        other_values: Vec::new(),
    };
    let mut heap = BinaryHeap::new();
    let mut number = 0;
    let mut open = |shares: (Rc<Share>, Rc<Share>), best: &mut Farthest| {
        let mut greatest_mm = f64::NEG_INFINITY;
        for (i, one_pose) in shares.0.corners.iter().enumerate() {
            for (j, other_pose) in shares.1.corners.iter().enumerate() {
                let apart_mm = (other_pose * other - one_pose * one).norm();
                greatest_mm = greatest_mm.max(apart_mm);
                if apart_mm > best.found_mm {
                    best.found_mm = apart_mm;
                    best.one_values = shares.0.corner_values(i);
                    best.other_values = shares.1.corner_values(j);
                }
            }
        }
        let hidden_mm =
            shares.0.sway(one_moves, one, 0.0).excess_mm + shares.1.sway(other_moves, other, 0.0).excess_mm;
        number += 1;
        Cell { at_most_mm: greatest_mm + hidden_mm, number, shares }
    };
    let whole = (Share::whole(one_moves, &here), Share::whole(other_moves, &here));
    heap.push(open(whole, &mut best));
    for _ in 0..BUDGET {
        let Some(cell) = heap.pop() else { break };
        best.at_most_mm = cell.at_most_mm;
        if cell.at_most_mm - best.found_mm <= tolerance_mm.max(1e-9) {
            break;
        }
        let (first, second) = (widest(&cell.shares.0, one_moves), widest(&cell.shares.1, other_moves));
        match (first, second) {
            (Some((freedom, wide)), other_wide) if other_wide.is_none_or(|(_, wider)| wide >= wider) => {
                for half in cell.shares.0.halves(one_moves, &here, freedom) {
                    heap.push(open((half, Rc::clone(&cell.shares.1)), &mut best));
                }
            }
            (_, Some((freedom, _))) => {
                for half in cell.shares.1.halves(other_moves, &here, freedom) {
                    heap.push(open((Rc::clone(&cell.shares.0), half), &mut best));
                }
            }
            // Without a turn nothing is hidden: the bound is what was found.
            _ => break,
        }
    }
    best
}

/// The turn of a share that has the widest range left, rad.
fn widest(share: &Share, movement: &Movement) -> Option<(usize, f64)> {
    let turns = movement.freedoms.iter().zip(&share.ranges).enumerate();
    turns
        .filter(|(_, (freedom, _))| matches!(freedom, Freedom::Turn { .. }))
        .map(|(at, (_, (low, high)))| (at, high - low))
        .filter(|(_, wide)| *wide > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

#[cfg(test)]
mod tests {
    use nalgebra::{Unit, Vector3};
    use proptest::prelude::*;

    use super::*;
    use crate::space::Axis;

    fn turn(through: [f64; 3], along: Vector3<f64>, from_deg: f64, to_deg: f64) -> Freedom {
        let axis = Axis { through: Point3::from(through), along: Unit::new_normalize(along) };
        Freedom::Turn { axis, from_rad: from_deg.to_radians(), to_rad: to_deg.to_radians() }
    }

    /// Closed form: an arm of 50 about z at the origin, seen from (-300, 0, 0), is farthest when it points away: 350, which is
    /// neither at an end of the swing nor in its middle.
    #[test]
    fn the_farthest_pose_may_lie_inside_the_range() {
        let swing = Movement { freedoms: vec![turn([0.0; 3], Vector3::z(), -70.0, 20.0)] };
        let (from, arm) = (Point3::new(-300.0, 0.0, 0.0), Point3::new(50.0, 0.0, 0.0));
        let found = farthest_apart((&from, &Movement::still()), (&arm, &swing), 1e-4);
        assert!(found.at_most_mm >= 350.0 && found.at_most_mm < 350.0001, "{found:?}");
        assert!((found.found_mm - 350.0).abs() < 1e-4 && found.other_values[0].abs() < 0.02, "{found:?}");
    }

    #[test]
    fn slides_are_exact_at_once_and_stillness_is_a_distance() {
        let slide = Movement {
            freedoms: vec![Freedom::Slide { along: Vector3::x_axis(), from_mm: -30.0, to_mm: 40.0 }],
        };
        let (one, other) = (Point3::origin(), Point3::new(100.0, 0.0, 0.0));
        let found = farthest_apart((&one, &Movement::still()), (&other, &slide), 1e-6);
        assert_eq!((found.at_most_mm, found.found_mm, found.other_values[0]), (140.0, 140.0, 40.0));
        let still = farthest_apart((&one, &Movement::still()), (&other, &Movement::still()), 1e-6);
        assert_eq!((still.at_most_mm, still.found_mm), (100.0, 100.0));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(30))]
        /// No sampled pose takes the points farther apart than the bound, and some pose comes near it.
        #[test]
        fn no_pose_is_beyond_the_bound(
            (x, y, z) in (-300.0..300.0f64, -300.0..300.0f64, -300.0..300.0f64),
            (u, v, w) in (-1.0..1.0f64, -1.0..1.0f64, 0.1..1.0f64),
            low in -40.0..0.0f64, high in 0.0..40.0f64, slides in 0.0..20.0f64, hinge in 0.0..70.0f64,
        ) {
            let engine = Movement { freedoms: vec![
                turn([20.0, -40.0, 60.0], Vector3::new(u, v, w), low, high),
                Freedom::Slide { along: Vector3::z_axis(), from_mm: -slides, to_mm: slides },
            ] };
            let hood = Movement { freedoms: vec![turn([0.0, 200.0, 0.0], Vector3::x(), 0.0, hinge)] };
            let (one, other) = (Point3::new(x, y, z), Point3::new(z, -x, y));
            let found = farthest_apart((&one, &engine), (&other, &hood), 0.01);
            let mut most: f64 = 0.0;
            for i in 0..=60 {
                for j in 0..=6 {
                    for k in 0..=60 {
                        let share = |of: i32, all: i32| f64::from(of) / f64::from(all);
                        let own = [
                            (low + (high - low) * share(i, 60)).to_radians(),
                            slides * (2.0 * share(j, 6) - 1.0),
                        ];
                        let theirs = [(hinge * share(k, 60)).to_radians()];
                        let apart = hood.world_from_rest(&theirs) * other - engine.world_from_rest(&own) * one;
                        most = most.max(apart.norm());
                    }
                }
            }
            prop_assert!(most <= found.at_most_mm + 1e-9, "{most} sampled, {found:?}");
            prop_assert!(found.at_most_mm <= found.found_mm + 0.0101, "{found:?}");
            prop_assert!(found.found_mm >= most - 1e-9 || found.at_most_mm >= most);
            let there = hood.world_from_rest(&found.other_values) * other - engine.world_from_rest(&found.one_values) * one;
            prop_assert!((there.norm() - found.found_mm).abs() < 1e-9);
        }
    }
}
