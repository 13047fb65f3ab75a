//! Lower bounds between boxes, one against four at a time.

use nalgebra::{Matrix3, Point3, Vector3};

use super::lanes::F4;
use super::layout::{Box32, Node, Tree};
use crate::space::Pose;

/// A rigid motion in f32, between the origins of two trees.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Frame32 {
    pub turn: Matrix3<f32>,
    pub shift: Vector3<f32>,
}

/// How two trees stand to each other, and what f32 may hide.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Relative {
    pub a_from_b: Frame32,
    pub b_from_a: Frame32,
    /// Every bound is lowered by this, mm.
    pub slack: f32,
}

impl Relative {
    pub fn new(a: &Tree, b: &Tree, a_from_b: &Pose) -> Self {
        let turn = Matrix3::from(a_from_b.rotation.to_rotation_matrix());
        Self::of_matrix(a, b, &turn, &a_from_b.translation.vector)
    }

    /// From the pose's rotation matrix and its shift, mm.
    pub fn of_matrix(a: &Tree, b: &Tree, turn: &Matrix3<f64>, shift: &Vector3<f64>) -> Self {
        let shift = turn * b.origin.coords + shift - a.origin.coords;
        let back = turn.transpose();
        let size = a.reach_mm + b.reach_mm + shift.norm();
        Relative {
            a_from_b: Frame32 { turn: turn.map(|v| v as f32), shift: shift.map(|v| v as f32) },
            b_from_a: Frame32 { turn: back.map(|v| v as f32), shift: (back * -shift).map(|v| v as f32) },
            slack: (2e-6 * size) as f32,
        }
    }
}

/// Lower bounds on the gap between one box and a node's four, mm, less `slack`.
///
/// Positive: the Euclidean length of the separations along the three edges of either box, the better
/// of the two, sharpened along the direction that they point to. Not positive: the boxes may meet,
/// and the least overlap along their six edges is given, so that the deepest can be taken first.
#[inline]
pub(crate) fn boxes_below(one: &Box32, one_from_four: &Frame32, four: &Node, slack: f32) -> [f32; 4] {
    let back = one.axes.transpose();
    let m = back * one_from_four.turn;
    let t0 = back * (one_from_four.shift - one.center);
    let s = F4::splat;
    let mut t = [F4::ZERO; 3];
    let mut r = [[F4::ZERO; 3]; 3];
    for i in 0..3 {
        let row = [s(m[(i, 0)]), s(m[(i, 1)]), s(m[(i, 2)])];
        t[i] = s(t0[i]) + row[0] * four.center[0] + row[1] * four.center[1] + row[2] * four.center[2];
        for (axis, along) in four.axes.chunks_exact(3).zip(&mut r[i]) {
            *along = row[0] * axis[0] + row[1] * axis[1] + row[2] * axis[2];
        }
    }
    let h = &four.half;
    let mut least = s(f32::NEG_INFINITY);
    let (mut one_sq, mut one_along, mut one_reach) = (F4::ZERO, F4::ZERO, [F4::ZERO; 3]);
    for i in 0..3 {
        let far = t[i].abs() - s(one.half[i]);
        let g = far - (r[i][0].abs() * h[0] + r[i][1].abs() * h[1] + r[i][2].abs() * h[2]);
        least = least.max(g);
        let apart = g.max(F4::ZERO);
        one_sq = one_sq + apart * apart;
        // The four's true reach along the direction found is less than that of the box about them.
        one_along = one_along + apart * far;
        let signed = apart.with_sign_of(t[i]);
        for j in 0..3 {
            one_reach[j] = one_reach[j] + signed * r[i][j];
        }
    }
    let (mut four_sq, mut four_along, mut four_reach) = (F4::ZERO, F4::ZERO, [F4::ZERO; 3]);
    for j in 0..3 {
        let along = r[0][j] * t[0] + r[1][j] * t[1] + r[2][j] * t[2];
        let far = along.abs() - h[j];
        let g = far
            - (r[0][j].abs() * s(one.half[0])
                + r[1][j].abs() * s(one.half[1])
                + r[2][j].abs() * s(one.half[2]));
        least = least.max(g);
        let apart = g.max(F4::ZERO);
        four_sq = four_sq + apart * apart;
        four_along = four_along + apart * far;
        let signed = apart.with_sign_of(along);
        for i in 0..3 {
            four_reach[i] = four_reach[i] + signed * r[i][j];
        }
    }
    let one_reach = one_reach[0].abs() * h[0] + one_reach[1].abs() * h[1] + one_reach[2].abs() * h[2];
    let four_reach = four_reach[0].abs() * s(one.half[0])
        + four_reach[1].abs() * s(one.half[1])
        + four_reach[2].abs() * s(one.half[2]);
    let (one_gap, four_gap) = (one_sq.sqrt(), four_sq.sqrt());
    let best = one_gap
        .max((one_along - one_reach).over(one_gap))
        .max(four_gap)
        .max((four_along - four_reach).over(four_gap));
    // Relative rounding of a far bound is covered by the slack's share of the distance.
    std::array::from_fn(|lane| (if best.0[lane] > 0.0 { best.0[lane] } else { least.0[lane] }) - slack)
}

/// How far one box and a node's four stand apart along the best of their six edges, mm, less `slack`; negative
/// is how far they overlap along it. Costs half of [`boxes_below`]; less where the first three edges set all four
/// apart by more than `limit`, mm, which ends it.
#[inline(always)]
pub(crate) fn boxes_overlap(
    one: &Box32,
    one_from_four: &Frame32,
    four: &Node,
    slack: f32,
    limit: f32,
) -> [f32; 4] {
    let back = one.axes.transpose();
    let m = back * one_from_four.turn;
    let t0 = back * (one_from_four.shift - one.center);
    let s = F4::splat;
    let h = &four.half;
    let mut least = s(f32::NEG_INFINITY);
    let mut along = [F4::ZERO; 3];
    let mut reach = [F4::ZERO; 3];
    for i in 0..3 {
        let row = [s(m[(i, 0)]), s(m[(i, 1)]), s(m[(i, 2)])];
        let t = s(t0[i]) + row[0] * four.center[0] + row[1] * four.center[1] + row[2] * four.center[2];
        let mut spread = s(one.half[i]);
        for j in 0..3 {
            let r = row[0] * four.axes[3 * j] + row[1] * four.axes[3 * j + 1] + row[2] * four.axes[3 * j + 2];
            spread = spread + r.abs() * h[j];
            along[j] = along[j] + r * t;
            reach[j] = reach[j] + r.abs() * s(one.half[i]);
        }
        least = least.max(t.abs() - spread);
    }
    let enough = limit + slack;
    if least.0.iter().all(|v| *v > enough) {
        return least.0.map(|v| v - slack);
    }
    for j in 0..3 {
        least = least.max(along[j].abs() - h[j] - reach[j]);
    }
    least.0.map(|v| v - slack)
}

/// A direction, in the first tree's frame, along which two boxes stand well apart, and how far at least, mm.
///
/// The best of the two that [`boxes_below`] weighs.
pub(crate) fn apart_along(one: &Box32, two: &Box32, relative: &Relative) -> (Vector3<f32>, f32) {
    let axes = relative.a_from_b.turn * two.axes;
    let offset = relative.a_from_b.turn * two.center + relative.a_from_b.shift - one.center;
    let cross = one.axes.tr_mul(&axes);
    let outside = |along: f32, reach: f32| along.signum() * (along.abs() - reach).max(0.0);
    let (t_one, t_two) = (one.axes.tr_mul(&offset), axes.tr_mul(&offset));
    let mut best = (Vector3::x(), f32::NEG_INFINITY);
    let from_one = Vector3::from_fn(|i, _| {
        outside(t_one[i], one.half[i] + (0..3).map(|j| cross[(i, j)].abs() * two.half[j]).sum::<f32>())
    });
    let from_two = Vector3::from_fn(|j, _| {
        outside(t_two[j], two.half[j] + (0..3).map(|i| cross[(i, j)].abs() * one.half[i]).sum::<f32>())
    });
    for toward in [one.axes * from_one, axes * from_two] {
        if let Some(unit) = toward.try_normalize(1e-30) {
            let reach = one.half.dot(&one.axes.tr_mul(&unit).abs()) + two.half.dot(&axes.tr_mul(&unit).abs());
            let apart = offset.dot(&unit) - reach - relative.slack;
            if apart > best.1 {
                best = (unit, apart);
            }
        }
    }
    best
}

/// Lower bounds on the distance from a point (from the tree's origin) to a node's four boxes, mm.
#[inline]
pub(crate) fn point_below(point: &Vector3<f32>, four: &Node, slack: f32) -> [f32; 4] {
    let s = F4::splat;
    let d = [0, 1, 2].map(|i| s(point[i]) - four.center[i]);
    let mut sq = F4::ZERO;
    for j in 0..3 {
        let along = d[0] * four.axes[3 * j] + d[1] * four.axes[3 * j + 1] + d[2] * four.axes[3 * j + 2];
        let apart = (along.abs() - four.half[j]).max(F4::ZERO);
        sq = sq + apart * apart;
    }
    sq.sqrt().0.map(|v| v - slack)
}

/// A point seen from a tree's origin.
#[inline]
pub(crate) fn from_origin(tree: &Tree, point: &Point3<f64>) -> Vector3<f32> {
    (point - tree.origin).map(|v| v as f32)
}

/// Between which travels of a node's four boxes along `toward` (a unit vector in the frame of the one's tree) each of
/// them may overlap the one, mm, widened by what f32 may hide. One that never does leaves before it enters.
#[inline]
pub(crate) fn boxes_spans(
    one: &Box32,
    one_from_four: &Frame32,
    four: &Node,
    toward: &Vector3<f32>,
    slack: f32,
) -> [(f64, f64); 4] {
    let back = one.axes.transpose();
    let m = back * one_from_four.turn;
    let t0 = back * (one_from_four.shift - one.center);
    let pace = back * toward;
    let s = F4::splat;
    let h = &four.half;
    // The slack is a fixed share of the size of it all, and a millionth of any travel that matters. Along an axis on
    // which the box hardly moves its pace is raised to a hundred thousandth, for which ten slacks make up.
    let (least_pace, spare) = (s(1e-5), s(11.0 * slack));
    let (mut enter, mut leave) = (s(f32::NEG_INFINITY), s(f32::INFINITY));
    let mut cut = |at: F4, pace: F4, reach: F4| {
        let at = at * s(1.0).with_sign_of(pace);
        let inverse = s(1.0).over(pace.abs().max(least_pace));
        let reach = reach + spare;
        enter = enter.max((s(0.0) - reach - at) * inverse);
        leave = leave.min((reach - at) * inverse);
    };
    let (mut along, mut reach, mut paces) = ([F4::ZERO; 3], [F4::ZERO; 3], [F4::ZERO; 3]);
    for i in 0..3 {
        let row = [s(m[(i, 0)]), s(m[(i, 1)]), s(m[(i, 2)])];
        let t = s(t0[i]) + row[0] * four.center[0] + row[1] * four.center[1] + row[2] * four.center[2];
        let mut spread = s(one.half[i]);
        for j in 0..3 {
            let r = row[0] * four.axes[3 * j] + row[1] * four.axes[3 * j + 1] + row[2] * four.axes[3 * j + 2];
            spread = spread + r.abs() * h[j];
            along[j] = along[j] + r * t;
            reach[j] = reach[j] + r.abs() * s(one.half[i]);
            paces[j] = paces[j] + r * s(pace[i]);
        }
        cut(t, s(pace[i]), spread);
    }
    for j in 0..3 {
        cut(along[j], paces[j], h[j] + reach[j]);
    }
    std::array::from_fn(|lane| {
        let (enter, leave) = (f64::from(enter.0[lane]), f64::from(leave.0[lane]));
        (enter - 1e-6 * enter.abs(), leave + 1e-6 * leave.abs())
    })
}
