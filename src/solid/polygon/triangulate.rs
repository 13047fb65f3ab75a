//! Triangles that cover a flat region, corner to corner.

use std::collections::HashSet;

use nalgebra::{Point2, Point3, Vector3};

use super::flat::signed_area;

/// Covers a region with triangles, counter-clockwise, over its points in order: the outline
/// (counter-clockwise), then each hole (clockwise).
///
/// No corner of one lies within the edge of another, so a region with thickness has a closed surface.
pub(in super::super) fn region_triangles(rings: &[Vec<Point2<f64>>]) -> Vec<[u32; 3]> {
    let points: Vec<Point2<f64>> = rings.iter().flatten().copied().collect();
    let mut holes: Vec<u32> = Vec::new();
    let mut boundary: HashSet<(u32, u32)> = HashSet::new();
    let mut first = 0_u32;
    for ring in rings {
        if first > 0 {
            holes.push(first);
        }
        let count = ring.len() as u32;
        boundary.extend((0..count).map(|i| (first + i, first + (i + 1) % count)));
        first += count;
    }
    let mut flat: Vec<u32> = Vec::new();
    earcut::Earcut::new().earcut(points.iter().map(|point| [point.x, point.y]), &holes, &mut flat);
    let mut triangles: Vec<[u32; 3]> = flat
        .chunks_exact(3)
        .map(|corners| {
            let [a, b, c] = [corners[0], corners[1], corners[2]];
            let ring = [a, b, c].map(|index| points[index as usize]);
            if signed_area(&ring) < 0.0 { [a, c, b] } else { [a, b, c] }
        })
        .collect();
    split_at_corners(&points, &boundary, &mut triangles);
    triangles
}

/// The ear cutter leaves out points on straight edges. Splits each triangle edge that has no partner at
/// the points that lie on it, until every edge has one.
fn split_at_corners(points: &[Point2<f64>], boundary: &HashSet<(u32, u32)>, triangles: &mut Vec<[u32; 3]>) {
    // Each round settles at least one point of one edge.
    for _ in 0..points.len() {
        let sides: HashSet<(u32, u32)> = triangles.iter().flat_map(sides_of).collect();
        let mut split = false;
        for index in 0..triangles.len() {
            for (turn, (u, v)) in sides_of(&triangles[index]).into_iter().enumerate() {
                if sides.contains(&(v, u)) || boundary.contains(&(u, v)) {
                    continue;
                }
                if let Some(between) = nearest_between(points, u, v) {
                    let w = triangles[index][(turn + 2) % 3];
                    triangles[index] = [u, between, w];
                    triangles.push([between, v, w]);
                    split = true;
                    break;
                }
            }
        }
        if !split {
            return;
        }
    }
}

fn sides_of(triangle: &[u32; 3]) -> [(u32, u32); 3] {
    let [a, b, c] = *triangle;
    [(a, b), (b, c), (c, a)]
}

/// The point strictly between two others on their line that lies nearest to the first.
fn nearest_between(points: &[Point2<f64>], from: u32, to: u32) -> Option<u32> {
    let (start, edge) = (points[from as usize], points[to as usize] - points[from as usize]);
    let length_sq = edge.norm_squared();
    let mut best: Option<(f64, u32)> = None;
    for (index, point) in points.iter().enumerate() {
        let offset = point - start;
        let along = offset.dot(&edge) / length_sq;
        let on_line = edge.perp(&offset).abs() <= 1e-9 * length_sq;
        if index as u32 != from
            && index as u32 != to
            && on_line
            && along > 0.0
            && along < 1.0
            && best.is_none_or(|(least, _)| along < least)
        {
            best = Some((along, index as u32));
        }
    }
    best.map(|(_, index)| index)
}

/// Covers a face of a mesh file: a polygon in space, not quite flat perhaps, by its corners in order.
///
/// A convex quad is cut along its shorter diagonal. A face that crosses itself is cut as a fan.
pub(in super::super) fn face_triangles(corners: &[u32], points: &[Point3<f64>]) -> Vec<[u32; 3]> {
    let count = corners.len();
    if count < 3 {
        return Vec::new();
    }
    if count == 3 {
        return vec![[corners[0], corners[1], corners[2]]];
    }
    let at = |index: usize| points[corners[index] as usize];
    // Newell's normal: twice the area seen along each axis.
    let mut normal = Vector3::zeros();
    for i in 0..count {
        normal += (at(i) - at(0)).cross(&(at((i + 1) % count) - at(0)));
    }
    let drop = normal.iamax();
    let flat: Vec<Point2<f64>> = (0..count)
        .map(|index| {
            let point = at(index);
            let (x, y) = (point[(drop + 1) % 3], point[(drop + 2) % 3]);
            // Mirrored where the face is seen from behind, so that it runs counter-clockwise.
            if normal[drop] < 0.0 { Point2::new(-x, y) } else { Point2::new(x, y) }
        })
        .collect();
    let convex = (0..count).all(|i| {
        let (a, b, c) = (flat[i], flat[(i + 1) % count], flat[(i + 2) % count]);
        (b - a).perp(&(c - b)) > 0.0
    });
    let local: Vec<[u32; 3]> = if convex && count == 4 {
        if (at(0) - at(2)).norm() <= (at(1) - at(3)).norm() {
            vec![[0, 1, 2], [0, 2, 3]]
        } else {
            vec![[1, 2, 3], [1, 3, 0]]
        }
    } else {
        let cut = region_triangles(std::slice::from_ref(&flat));
        if cut.len() == count - 2 { cut } else { (1..count as u32 - 1).map(|i| [0, i, i + 1]).collect() }
    };
    local.into_iter().map(|triangle| triangle.map(|index| corners[index as usize])).collect()
}
