//! The first point of a solid on a ray.

use nalgebra::{Point3, Unit, Vector3};

use super::bend;
use super::convex::{Convex, Core, overlap_exit};
use super::gap::IndexedShape;
use super::index::Item;
use super::inside::ray_meets;
use super::part::Part;
use super::tree::Child;
use crate::space::Length;

/// Where a ray meets a solid, in the solid's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RayHit {
    /// How far along the ray.
    pub distance: Length,
    /// Where.
    pub point: Point3<f64>,
    /// The surface's normal there, against the ray. For pieces that are not flat, right to about 1e-5 rad.
    pub normal: Unit<Vector3<f64>>,
}

/// The first point of the surface that a ray from `from` (solid's frame) meets within `limit`, from whichever side.
///
/// A piece that holds the start itself is met at once, at distance 0; a closed mesh that holds it is a surface, and is
/// met where the ray leaves it. A ray that only grazes an edge or a rounding, within 1e-9 of the solid's size, may
/// meet it or not. Costs about as much as the distance of a point.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::clearance::{IndexedShape, ray};
/// use baywright::solid::Piece;
/// use baywright::space::Length;
/// use nalgebra::{Point3, Vector3};
/// let ball = IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 10.0 }]);
/// let hit = ray(&ball, &Point3::new(-50.0, 6.0, 0.0), &Vector3::x_axis(), Length::from_mm(1000.0)).unwrap();
/// assert!((hit.distance.mm() - 42.0).abs() < 1e-9); // 50 less the leg of 6-8-10
/// ```
pub fn ray(
    solid: &IndexedShape,
    from: &Point3<f64>,
    along: &Unit<Vector3<f64>>,
    limit: Length,
) -> Option<RayHit> {
    let (index, along) = (&solid.index, along.into_inner());
    let tree = &index.tree;
    let local = (from - tree.origin).map(|v| v as f32);
    let along32 = along.map(|v| v as f32);
    let grow = (4e-6 * (tree.reach_mm + (from - tree.origin).norm())) as f32;
    let mut best: Option<(f64, Vector3<f64>)> = None;
    let mut limit_mm = limit.mm();
    let mut open: Vec<(f32, Child)> = Vec::with_capacity(32);
    open.extend(tree.nodes.first().and_then(|node| node.child(0)).map(|child| (0.0, child)));
    while let Some((enter, child)) = open.pop() {
        if f64::from(enter) > limit_mm {
            continue;
        }
        match child {
            Child::Items { start, count } => {
                for item in start..start + count {
                    if let Some((at_mm, normal)) = meets(index.store.item(item), from, &along, limit_mm)
                        && at_mm < limit_mm
                    {
                        limit_mm = at_mm;
                        best = Some((at_mm, normal));
                    }
                }
            }
            Child::Node(node) => {
                let node = &tree.nodes[node as usize];
                let before = open.len();
                for lane in 0..4 {
                    if let Some(child) = node.child(lane)
                        && let Some(enter) = ray_meets(node, lane, &local, &along32, grow)
                    {
                        open.push((enter, child));
                    }
                }
                // The nearest on top.
                open[before..].sort_unstable_by(|p, q| q.0.total_cmp(&p.0));
            }
        }
    }
    let (at_mm, normal) = best?;
    let against = if normal.dot(&along) > 0.0 { -normal } else { normal };
    Some(RayHit {
        distance: Length::from_mm(at_mm),
        point: from + along * at_mm,
        normal: Unit::try_new(against, 1e-300).unwrap_or_else(|| Unit::new_normalize(-along)),
    })
}

/// Where the ray meets one item, and its normal there.
fn meets(
    item: Item<'_>,
    from: &Point3<f64>,
    along: &Vector3<f64>,
    limit_mm: f64,
) -> Option<(f64, Vector3<f64>)> {
    match item {
        Item::Triangle(corners) => meets_triangle(corners, from, along),
        Item::Ball(center, radius_mm) => meets_ball(center, radius_mm, from, along),
        Item::Part(Part::Convex(convex)) => meets_convex(convex, from, along),
        Item::Part(Part::Bend(piece)) => {
            // The distance to a bend is exact, so a step by it never goes through.
            let mut at_mm = 0.0;
            for _ in 0..400 {
                let (distance_mm, _, normal) = bend::point_distance(piece, &(from + along * at_mm));
                if distance_mm <= 1e-10 * (1.0 + at_mm + piece.ring_mm) {
                    return Some((at_mm, normal));
                }
                at_mm += distance_mm;
                if at_mm > limit_mm {
                    return None;
                }
            }
            // So many steps are only taken along a surface that is grazed.
            None
        }
    }
}

/// Signed volumes of the ray's line with the edges tell whether it goes through; edges count.
fn meets_triangle(
    corners: &[Point3<f64>; 3],
    from: &Point3<f64>,
    along: &Vector3<f64>,
) -> Option<(f64, Vector3<f64>)> {
    let [a, b, c] = corners.map(|p| p - from);
    let sides = [along.dot(&a.cross(&b)), along.dot(&b.cross(&c)), along.dot(&c.cross(&a))];
    if sides.iter().any(|v| *v > 0.0) && sides.iter().any(|v| *v < 0.0) {
        return None;
    }
    let sum: f64 = sides.iter().sum();
    if sum == 0.0 {
        // Along its plane: it is met on edge, by its neighbours.
        return None;
    }
    let at_mm = (sides[1] * a + sides[2] * b + sides[0] * c).dot(along) / sum;
    (at_mm >= 0.0).then(|| (at_mm, (b - a).cross(&(c - a))))
}

fn meets_ball(
    center: &Point3<f64>,
    radius_mm: f64,
    from: &Point3<f64>,
    along: &Vector3<f64>,
) -> Option<(f64, Vector3<f64>)> {
    let to = center - from;
    let middle = to.dot(along);
    let aside_sq = (to - along * middle).norm_squared();
    let half_sq = radius_mm * radius_mm - aside_sq;
    if half_sq < 0.0 || middle + half_sq.sqrt() < 0.0 {
        return None;
    }
    let at_mm = (middle - half_sq.sqrt()).max(0.0);
    Some((at_mm, along * at_mm - to))
}

/// By the travel on which a point, coming from the other side, leaves the body for good.
fn meets_convex(convex: &Convex, from: &Point3<f64>, along: &Vector3<f64>) -> Option<(f64, Vector3<f64>)> {
    let point = Convex::new(Core::Point(*from), 0.0);
    let leave_mm = overlap_exit(convex, &point, along)?;
    if leave_mm < 0.0 {
        return None;
    }
    let at_mm = (-overlap_exit(convex, &point, &-along)?).max(0.0);
    // A hair before the surface there is a distance, and with it a normal.
    let before = from + along * (at_mm - 1e-5);
    let found = super::convex::nearest(convex, &Convex::new(Core::Point(before), 0.0));
    Some((at_mm, found.normal))
}
