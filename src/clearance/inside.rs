//! Whether a point lies inside a closed surface.
//!
//! Counts signed crossings of a ray that runs off to nowhere. A ray that passes too near an edge is
//! given up for another; if all are, the solid angles of all triangles are summed, which always
//! answers.
//!
//! # Source
//! Solid angle of a triangle: van Oosterom and Strackee 1983 (from memory).

use nalgebra::{Point3, Vector3};

use super::index::Index;
use super::tree::{Child, Node};

/// Directions that no drawing uses.
const RAYS: [[f64; 3]; 6] = [
    [0.623_489_8, 0.531_208_3, 0.573_912_7],
    [-0.417_231_9, 0.708_113_7, 0.569_714_1],
    [0.271_828_1, -0.577_215_6, 0.770_017_3],
    [-0.691_408_3, -0.303_517_2, 0.655_021_7],
    [0.141_592_6, 0.414_213_5, -0.899_101_3],
    [-0.866_025_4, 0.161_803_3, -0.473_011_9],
];

/// Whether `point` is inside a closed surface among the index's items (its other pieces don't count).
pub(crate) fn inside(index: &Index, point: &Point3<f64>) -> bool {
    if !index.store.has_shells() || (point - index.tree.origin).norm() > index.tree.reach_mm {
        return false;
    }
    for ray in RAYS {
        if let Some(crossings) = crossings(index, point, &Vector3::from(ray)) {
            return crossings > 0;
        }
    }
    winding(index, point) > 0.5
}

/// Crossings outward less crossings inward, or `None` when the ray grazes an edge.
fn crossings(index: &Index, from: &Point3<f64>, ray: &Vector3<f64>) -> Option<i32> {
    let local = (from - index.tree.origin).map(|v| v as f32);
    let ray32 = ray.map(|v| v as f32);
    let grow = 4e-6 * index.tree.reach_mm as f32;
    let mut sum = 0;
    let mut open = vec![0u32];
    while let Some(node) = open.pop() {
        let node = &index.tree.nodes[node as usize];
        for lane in 0..4 {
            let Some(child) = node.child(lane) else { break };
            if ray_meets(node, lane, &local, &ray32, grow).is_none() {
                continue;
            }
            match child {
                Child::Node(next) => open.push(next),
                Child::Items { start, count } => {
                    for item in start..start + count {
                        if let Some(corners) = index.store.shell_triangle(item) {
                            sum += crossing(from, ray, corners)?;
                        }
                    }
                }
            }
        }
    }
    Some(sum)
}

/// Where a ray (from the tree's origin) enters a box grown by `grow`, at the earliest; `None` when it misses it.
pub(super) fn ray_meets(
    node: &Node,
    lane: usize,
    from: &Vector3<f32>,
    ray: &Vector3<f32>,
    grow: f32,
) -> Option<f32> {
    let bounds = node.bounds(lane);
    let offset = from - bounds.center;
    let (mut enter, mut leave) = (0.0f32, f32::INFINITY);
    for j in 0..3 {
        let axis = bounds.axes.column(j);
        let (at, rate, half) = (axis.dot(&offset), axis.dot(ray), bounds.half[j] + grow);
        if rate.abs() < 1e-6 {
            // As good as parallel: it drifts less than `grow` over any body of sane size.
            if at.abs() > half * 1.001 + grow {
                return None;
            }
            continue;
        }
        let (one, two) = ((-half - at) / rate, (half - at) / rate);
        enter = enter.max(one.min(two) * (1.0 - 1e-6) - grow);
        leave = leave.min(one.max(two) * (1.0 + 1e-6) + grow);
    }
    (enter <= leave).then_some(enter)
}

/// +1 when the ray leaves through the triangle, -1 when it enters, 0 when it misses.
fn crossing(from: &Point3<f64>, ray: &Vector3<f64>, [a, b, c]: &[Point3<f64>; 3]) -> Option<i32> {
    let (a, b, c) = (a - from, b - from, c - from);
    let size = a.amax().max(b.amax()).max(c.amax());
    let near = 1e-13 * size * size;
    let (u, v, w) = (ray.dot(&a.cross(&b)), ray.dot(&b.cross(&c)), ray.dot(&c.cross(&a)));
    let positive = u > near && v > near && w > near;
    let negative = u < -near && v < -near && w < -near;
    if !positive && !negative {
        // Surely outside one edge: a miss. On an edge within rounding: can't tell.
        let miss = (u > near || v > near || w > near) && (u < -near || v < -near || w < -near);
        return miss.then_some(0);
    }
    let ahead = (u * c + v * a + w * b).dot(ray) / (u + v + w);
    if ahead.abs() <= 1e-14 * size {
        return None;
    }
    Some(if ahead < 0.0 {
        0
    } else if positive {
        1
    } else {
        -1
    })
}

fn winding(index: &Index, point: &Point3<f64>) -> f64 {
    (0..index.store.item_count() as u32)
        .filter_map(|item| index.store.shell_triangle(item))
        .map(|corners| {
            let [a, b, c] = corners.map(|p| p - point);
            let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
            let det = a.dot(&b.cross(&c));
            let sum = la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb;
            2.0 * det.atan2(sum)
        })
        .sum::<f64>()
        / (4.0 * std::f64::consts::PI)
}
