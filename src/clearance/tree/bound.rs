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
        let turn = a_from_b.rotation.to_rotation_matrix();
        let shift = (a_from_b * b.origin) - a.origin;
        let back = turn.matrix().transpose();
        let size = a.reach_mm + b.reach_mm + shift.norm();
        Relative {
            a_from_b: Frame32 { turn: turn.matrix().map(|v| v as f32), shift: shift.map(|v| v as f32) },
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
        for j in 0..3 {
            r[i][j] =
                row[0] * four.axes[3 * j] + row[1] * four.axes[3 * j + 1] + row[2] * four.axes[3 * j + 2];
        }
    }
    let h = &four.half;
    let mut least = s(f32::NEG_INFINITY);
    let (mut one_sq, mut four_sq) = (F4::ZERO, F4::ZERO);
    let mut apart = [F4::ZERO; 3];
    for i in 0..3 {
        let g = t[i].abs()
            - s(one.half[i])
            - (r[i][0].abs() * h[0] + r[i][1].abs() * h[1] + r[i][2].abs() * h[2]);
        least = least.max(g);
        apart[i] = g.max(F4::ZERO);
        one_sq = one_sq + apart[i] * apart[i];
    }
    for j in 0..3 {
        let along = r[0][j] * t[0] + r[1][j] * t[1] + r[2][j] * t[2];
        let g = along.abs()
            - h[j]
            - (r[0][j].abs() * s(one.half[0])
                + r[1][j].abs() * s(one.half[1])
                + r[2][j].abs() * s(one.half[2]));
        least = least.max(g);
        let apart = g.max(F4::ZERO);
        four_sq = four_sq + apart * apart;
    }
    let best = one_sq.max(four_sq).sqrt();
    let mut bounds = [0.0; 4];
    for lane in 0..4 {
        let value = if best.0[lane] > 0.0 { best.0[lane] } else { least.0[lane] };
        // Relative rounding of a far bound is covered by the slack's share of the distance.
        bounds[lane] = value - slack;
    }
    bounds
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
pub(crate) fn from_origin(tree: &Tree, point: &Point3<f64>) -> Vector3<f32> {
    (point - tree.origin).map(|v| v as f32)
}
