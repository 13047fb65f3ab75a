//! Asking again after a small move.

use nalgebra::Matrix3;

use super::convex::Nearest;
use super::gap::{Gap, IndexedShape, signed_from};
use super::walk::{Front, least_gap_kept};
use crate::space::Pose;

/// The gap of two solids that move little between one question and the next: a part dragged about, a search
/// that creeps, a movement sampled closely.
///
/// The answers are those of [`gap`](super::gap()), found in less time: what the last full search proved of far
/// apart places still holds, less by the move since, so that only the places that came near are looked at.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::clearance::{Follow, IndexedShape, gap};
/// use baywright::solid::Piece;
/// use baywright::space::Pose;
/// use nalgebra::Point3;
/// let ball = IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 10.0 }]);
/// let mut follow = Follow::new(ball.clone(), ball.clone());
/// for x in [50.0, 49.0, 48.5] {
///     let there = Pose::translation(x, 0.0, 0.0);
///     assert_eq!(follow.gap(&there), gap(&ball, &ball, &there));
/// }
/// ```
#[derive(Clone, Debug)]
pub struct Follow {
    fixed: IndexedShape,
    moving: IndexedShape,
    base: Option<Base>,
}

/// What the last full search left.
#[derive(Clone, Debug)]
struct Base {
    at: Pose,
    front: Front,
    gap_mm: f64,
}

impl Follow {
    /// Knows nothing yet: the first question costs as much as [`gap`](super::gap()), and a little more.
    pub fn new(fixed: IndexedShape, moving: IndexedShape) -> Self {
        Follow { fixed, moving, base: None }
    }

    /// The signed gap at a pose, as [`gap`](super::gap()) gives it.
    ///
    /// Cheap while the pose is near one asked before; any pose may be asked.
    pub fn gap(&mut self, fixed_from_moving: &Pose) -> Gap {
        if let Some(found) = self.near(fixed_from_moving) {
            return Gap::of(&found);
        }
        let (a, b) = (&*self.fixed.index, &*self.moving.index);
        let mut front = Front::default();
        let outcome = least_gap_kept(a, b, fixed_from_moving, &mut front);
        let found = signed_from(a, b, fixed_from_moving, outcome);
        self.base = (found.gap_mm > 0.0 && found.gap_mm.is_finite()).then_some(Base {
            at: *fixed_from_moving,
            front,
            gap_mm: found.gap_mm,
        });
        Gap::of(&found)
    }

    /// The gap, from what is known of a pose near by; `None` when that does not help.
    fn near(&self, at: &Pose) -> Option<Nearest> {
        let base = self.base.as_ref()?;
        let (a, b) = (&*self.fixed.index, &*self.moving.index);
        let moved_mm = farthest_move(&base.at, at, &b.tree.origin, b.tree.reach_mm);
        // While nothing can have met on the way, nothing can have got inside anything either.
        if moved_mm >= base.gap_mm {
            return None;
        }
        base.front.least_gap(a, b, at)
    }
}

/// The farthest that a point within `reach` of `center` moves between two poses, rounded up.
fn farthest_move(from: &Pose, to: &Pose, center: &nalgebra::Point3<f64>, reach_mm: f64) -> f64 {
    let turned: Matrix3<f64> =
        to.rotation.to_rotation_matrix().into_inner() - from.rotation.to_rotation_matrix().into_inner();
    // The greatest stretch of the difference of two turns is 2 sin(angle / 2): its Frobenius norm over root 2.
    let stretch = turned.norm() / std::f64::consts::SQRT_2;
    ((to * center - from * center).norm() + stretch * reach_mm) * (1.0 + 1e-9)
}
