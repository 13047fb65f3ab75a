//! Distance from a point to a solid: the question asked by the million.

use nalgebra::{Point3, Unit, Vector3};

use super::bend;
use super::convex::{Convex, Core, nearest, on_segment, on_triangle};
use super::gap::IndexedShape;
use super::index::{Index, Item};
use super::inside::inside;
use super::part::Part;
use super::tree::{Child, from_origin, point_below};
use crate::solid::Closest;
use crate::space::Length;

/// The surface point of a solid nearest to `point`, with signed distance; all in the solid's frame.
///
/// Outside: exact to 1e-10 of the size. Inside a closed mesh: exact. Inside a solid of several pieces
/// the deepest piece answers, so the point may be deeper than `distance_mm` says, never shallower.
pub fn closest(solid: &IndexedShape, point: &Point3<f64>) -> Closest {
    let far = Closest { point: *point, distance_mm: f64::INFINITY, normal: Vector3::z_axis() };
    search(&solid.index, point, f64::INFINITY).unwrap_or(far)
}

/// As [`closest`], but `None` when the distance is proved to be at least `limit`.
///
/// Costs less the smaller the limit. A point inside is always answered.
pub fn distance_under(solid: &IndexedShape, point: &Point3<f64>, limit: Length) -> Option<Closest> {
    search(&solid.index, point, limit.mm())
}

fn search(index: &Index, point: &Point3<f64>, limit_mm: f64) -> Option<Closest> {
    let mut best = under(index, point, limit_mm);
    // A point inside a shell that lies farther than the limit from its surface is still inside.
    if index.store.has_shells() && inside(index, point) {
        if best.is_none() {
            best = under(index, point, f64::INFINITY);
        }
        if let Some(found) = &mut best
            && found.distance_mm > 0.0
        {
            found.distance_mm = -found.distance_mm;
            found.normal = -found.normal;
        }
    }
    best
}

/// Nearest item, signs of its own: pieces are negative inside, bare triangles never.
fn under(index: &Index, point: &Point3<f64>, limit_mm: f64) -> Option<Closest> {
    if index.tree.nodes.is_empty() {
        return None;
    }
    let tree = &index.tree;
    let local = from_origin(tree, point);
    let slack = (2e-6 * (tree.reach_mm + (point - tree.origin).norm())) as f32;
    let mut best: Option<Closest> = None;
    let mut limit = limit_mm;
    let mut open: Vec<(f32, Child)> = Vec::with_capacity(64);
    let mut next = tree.nodes[0].child(0).map(|child| (f32::NEG_INFINITY, child));
    while let Some((bound, child)) = next.take().or_else(|| open.pop()) {
        // Inside pieces count below zero, and boxes can't tell how deep: look at all that may hold the point.
        if f64::from(bound) >= limit && (limit > 0.0 || bound > 0.0) {
            continue;
        }
        match child {
            Child::Items { start, count } => {
                for item in start..start + count {
                    let here = item_distance(index.store.item(item), point);
                    if here.distance_mm < limit {
                        limit = here.distance_mm;
                        best = Some(here);
                    }
                }
            }
            Child::Node(node) => {
                let four = &tree.nodes[node as usize];
                let bounds = point_below(&local, four, slack);
                let before = open.len();
                for (lane, bound) in bounds.into_iter().enumerate() {
                    if let Some(child) = four.child(lane)
                        && (f64::from(bound) < limit || bound <= 0.0)
                    {
                        open.push((bound, child));
                    }
                }
                open[before..].sort_unstable_by(|p, q| q.0.total_cmp(&p.0));
            }
        }
    }
    best
}

#[inline]
fn item_distance(item: Item<'_>, point: &Point3<f64>) -> Closest {
    match item {
        Item::Triangle(corners) => {
            let on = on_triangle(point, corners);
            let normal = (corners[1] - corners[0]).cross(&(corners[2] - corners[0]));
            about(on, point, 0.0, normal)
        }
        Item::Ball(center, radius_mm) => about(*center, point, radius_mm, Vector3::z()),
        Item::Part(Part::Bend(piece)) => {
            let (distance_mm, on, normal) = bend::point_distance(piece, point);
            Closest { point: on, distance_mm, normal: unit(normal) }
        }
        Item::Part(Part::Convex(convex)) => convex_distance(convex, point),
    }
}

fn convex_distance(convex: &Convex, point: &Point3<f64>) -> Closest {
    match &convex.core {
        Core::Point(center) => about(*center, point, convex.radius_mm, Vector3::z()),
        Core::Segment([from, to]) => {
            let side = super::convex::perpendicular(&(to - from));
            about(on_segment(point, from, to), point, convex.radius_mm, side)
        }
        Core::Block { center, axes, half_mm } => {
            let local = axes.transpose() * (point - center);
            let over = local.abs() - half_mm;
            if over.max() > 0.0 {
                return about(center + axes * local.sup(&-half_mm).inf(half_mm), point, 0.0, Vector3::z());
            }
            let face = over.imax();
            let sign = if local[face] >= 0.0 { 1.0 } else { -1.0 };
            let normal = axes.column(face) * sign;
            Closest { point: point - normal * over[face], distance_mm: over[face], normal: unit(normal) }
        }
        _ => {
            let found = nearest(convex, &Convex::new(Core::Point(*point), 0.0));
            Closest { point: found.on_a, distance_mm: found.gap_mm, normal: unit(found.normal) }
        }
    }
}

/// The answer when `on` is the core's nearest point; `fallback` serves as normal when it is the point itself.
#[inline]
fn about(on: Point3<f64>, point: &Point3<f64>, radius_mm: f64, fallback: Vector3<f64>) -> Closest {
    let offset = point - on;
    let distance = offset.norm();
    let normal = if distance > 1e-300 { offset / distance } else { fallback };
    let normal = unit(normal);
    Closest { point: on + normal.into_inner() * radius_mm, distance_mm: distance - radius_mm, normal }
}

#[inline]
fn unit(vector: Vector3<f64>) -> Unit<Vector3<f64>> {
    Unit::try_new(vector, 1e-300).unwrap_or_else(Vector3::z_axis)
}
