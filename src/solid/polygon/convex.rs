//! Few convex parts that cover a flat region exactly.

use std::collections::HashMap;

use nalgebra::Point2;

/// Joins triangles across their common edges, longest first, as long as what comes of it is convex.
///
/// Each part is a counter-clockwise ring of point indices. The parts cover what the triangles cover.
/// At most four times as many as the least possible number (Hertel and Mehlhorn, 1983; from memory).
pub(in super::super) fn convex_parts(points: &[Point2<f64>], triangles: &[[u32; 3]]) -> Vec<Vec<u32>> {
    let mut parts: Vec<Vec<u32>> = triangles.iter().map(|triangle| triangle.to_vec()).collect();
    let mut owner: HashMap<(u32, u32), usize> = HashMap::new();
    for (index, part) in parts.iter().enumerate() {
        for side in sides(part) {
            owner.insert(side, index);
        }
    }
    let mut inner: Vec<(u32, u32)> =
        owner.keys().copied().filter(|&(u, v)| u < v && owner.contains_key(&(v, u))).collect();
    let length = |(u, v): (u32, u32)| (points[u as usize] - points[v as usize]).norm_squared();
    inner.sort_by(|&one, &other| length(other).total_cmp(&length(one)).then(one.cmp(&other)));
    for (u, v) in inner {
        let (Some(&left), Some(&right)) = (owner.get(&(u, v)), owner.get(&(v, u))) else { continue };
        if left == right {
            continue;
        }
        let Some(joined) = joined(points, &parts[left], &parts[right], u, v) else { continue };
        for side in sides(&parts[right]) {
            owner.insert(side, left);
        }
        parts[left] = joined;
        parts[right].clear();
    }
    parts.retain(|part| part.len() >= 3);
    parts
}

fn sides(part: &[u32]) -> impl Iterator<Item = (u32, u32)> + '_ {
    part.iter().copied().zip(part.iter().copied().cycle().skip(1))
}

/// The two parts as one ring, without their common edge (u to v in the left one), if that is convex.
fn joined(points: &[Point2<f64>], left: &[u32], right: &[u32], u: u32, v: u32) -> Option<Vec<u32>> {
    // Left from v round to u, then right from after u round to before v.
    let after = |part: &[u32], from: u32| {
        let start = part.iter().position(|&index| index == from).unwrap_or(0);
        part.iter().copied().cycle().skip(start).take(part.len()).collect::<Vec<u32>>()
    };
    let mut ring = after(left, v);
    let rest = after(right, u);
    ring.extend(&rest[1..rest.len() - 1]);
    // Parts that share two edges in a row leave a spike where these met.
    while let Some(tip) = (0..ring.len())
        .find(|&i| ring.len() > 2 && ring[(i + ring.len() - 1) % ring.len()] == ring[(i + 1) % ring.len()])
    {
        let twin = (tip + 1) % ring.len();
        ring.remove(tip.max(twin));
        ring.remove(tip.min(twin));
    }
    let count = ring.len();
    let convex = (0..count).all(|i| {
        let [a, b, c] = [i, i + 1, i + 2].map(|place| points[ring[place % count] as usize]);
        let (before, next) = (b - a, c - b);
        before.perp(&next) >= -1e-12 * before.norm() * next.norm()
    });
    (count >= 3 && convex).then_some(ring)
}
