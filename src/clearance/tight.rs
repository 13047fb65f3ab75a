//! All of a surface that is too near to something, not only its worst place.
//!
//! The surface is cut into triangles and each of them asked how far it is: one ball about it, wholly under the limit
//! or wholly over it, settles it; what lies across the limit is halved until it is as small as was asked for.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::{Point3, Vector3};

use super::closest::distance_under;
use super::convex::triangles_under;
use super::gap::IndexedShape;
use crate::solid::Shape;
use crate::space::{Bounds, Length, Pose};

/// A piece of surface under the limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TightCell {
    /// Its corners, fixed frame; all the same for a point of a cloud.
    pub corners: [Point3<f64>; 3],
    /// Signed gap at its middle; below zero within the other solid.
    pub gap: Length,
    /// Whether all of it is proved to be under the limit; else it lies across, and its middle is under.
    pub whole: bool,
}

/// A connected stretch of the fixed solid's surface that is nearer than the limit to the moving solid.
#[derive(Clone, Debug, PartialEq)]
pub struct TightPatch {
    /// Area of its cells, mm². For a cloud, which has no surface, 0.
    pub area_mm2: f64,
    /// Area of those of them that lie across the limit, mm²: so much may be over it, and about as much more under.
    pub doubtful_mm2: f64,
    /// Bounds in the fixed frame.
    pub bounds: Bounds,
    /// The least gap at the middle of any cell. The least of all is [`super::gap`]'s.
    pub least: Length,
    /// The middle of that cell.
    pub at: Point3<f64>,
    /// The cells, the largest first.
    pub cells: Vec<TightCell>,
}

/// All stretches of the fixed solid's surface that are under `limit` from the moving solid, the nearest first, in
/// the fixed solid's frame: what would have to be dented or trimmed. Swap the solids for the other's surface.
///
/// What lies across the limit is cut down to `resolution` (0.01 mm at least), which also is, a tenth of it, the
/// chord error of surfaces that are not flat. A cloud's points are taken singly, and count as one stretch where they
/// are within `resolution` of each other. Costs one distance a triangle near the moving solid and
/// two for each halving, of which there are 100 000 at most.
///
/// # Example
/// A plate of 100 x 100, and 3 above it a ball of radius 20: within 5 of the ball it is tight in a disc.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::clearance::{IndexedShape, all_under};
/// use baywright::solid::{Ball, Block, Shape};
/// use baywright::space::{Length, Pose};
/// use nalgebra::Vector3;
/// let plate = Shape::Block(Block { size_mm: Vector3::new(100.0, 100.0, 2.0) });
/// let (plate, ball) = (IndexedShape::new(plate.into()), IndexedShape::new(Shape::Ball(Ball { radius_mm: 20.0 }).into()));
/// let found = all_under(&plate, &ball, &Pose::translation(0.0, 0.0, 24.0), Length::from_mm(5.0), Length::from_mm(1.0));
/// let disc = std::f64::consts::PI * (25.0f64.powi(2) - 23.0f64.powi(2));
/// assert_eq!(found.len(), 1);
/// assert!((found[0].area_mm2 - disc).abs() < found[0].doubtful_mm2);
/// ```
pub fn all_under(
    fixed: &IndexedShape,
    moving: &IndexedShape,
    fixed_from_moving: &Pose,
    limit: Length,
    resolution: Length,
) -> Vec<TightPatch> {
    let resolution_mm = resolution.mm().max(0.01);
    let to_moving = fixed_from_moving.inverse();
    let asked = Asked { moving, to_moving: &to_moving, limit_mm: limit.mm(), resolution_mm };
    let near = near_box(moving, fixed_from_moving, limit.mm());
    let mut cells = Vec::new();
    let joined_mm = if let Shape::Cloud(cloud) = fixed.shape().as_ref() {
        for point in cloud.points.iter().filter(|p| holds(&near, p, cloud.radius_mm)) {
            if let Some(mm) = asked.distance(point, limit.mm() + cloud.radius_mm) {
                let gap = Length::from_mm(mm - cloud.radius_mm);
                cells.push(TightCell { corners: [*point; 3], gap, whole: true });
            }
        }
        resolution_mm
    } else {
        let mesh = fixed.shape().tessellate(resolution_mm / 10.0);
        let corners = mesh.triangles.iter().map(|triangle| triangle.map(|i| mesh.vertices[i as usize]));
        cells = asked.cut(corners.filter(|corners| meets(&Bounds::of_points(corners), &near)));
        1e-6
    };
    patches(cells, joined_mm)
}

/// Where anything under the limit must be.
fn near_box(moving: &IndexedShape, fixed_from_moving: &Pose, limit_mm: f64) -> Bounds {
    let own = moving.bounds();
    let corners: Vec<Point3<f64>> = (0..8)
        .map(|i| {
            let side = |bit: usize, j: usize| if i >> bit & 1 == 1 { own.max[j] } else { own.min[j] };
            fixed_from_moving * Point3::new(side(0, 0), side(1, 1), side(2, 2))
        })
        .collect();
    Bounds::of_points(&corners).grown(limit_mm.max(0.0) + 1e-6)
}

fn meets(one: &Bounds, two: &Bounds) -> bool {
    (0..3).all(|i| one.min[i] <= two.max[i] && two.min[i] <= one.max[i])
}

fn holds(bounds: &Bounds, point: &Point3<f64>, spare_mm: f64) -> bool {
    (0..3).all(|i| bounds.min[i] - spare_mm <= point[i] && point[i] <= bounds.max[i] + spare_mm)
}

struct Asked<'a> {
    moving: &'a IndexedShape,
    to_moving: &'a Pose,
    limit_mm: f64,
    resolution_mm: f64,
}

impl Asked<'_> {
    /// Signed distance of a point of the fixed frame, when under a limit.
    fn distance(&self, point: &Point3<f64>, under_mm: f64) -> Option<f64> {
        distance_under(self.moving, &(self.to_moving * point), Length::from_mm(under_mm))
            .map(|found| found.distance_mm)
    }

    /// Cells of some triangles that are under the limit, the largest cut first.
    fn cut(&self, triangles: impl Iterator<Item = [Point3<f64>; 3]>) -> Vec<TightCell> {
        let mut cells = Vec::new();
        let mut open: BinaryHeap<Open> =
            triangles.enumerate().map(|(number, corners)| Open::new(corners, number)).collect();
        let mut number = open.len();
        let most = number + MOST_HALVINGS;
        while let Some(Open { radius_mm, middle, corners, .. }) = open.pop() {
            let Some(mm) = self.distance(&middle, self.limit_mm + radius_mm) else { continue };
            let whole = mm + radius_mm < self.limit_mm;
            if !whole && radius_mm > self.resolution_mm && number < most {
                let long = (0..3).max_by(|i, j| side_sq(&corners, *i).total_cmp(&side_sq(&corners, *j)));
                let [a, b, c] = [0, 1, 2].map(|i| corners[(long.unwrap_or(0) + i) % 3]);
                let half = nalgebra::center(&a, &b);
                open.push(Open::new([half, b, c], number));
                open.push(Open::new([a, half, c], number + 1));
                number += 2;
            } else if mm < self.limit_mm {
                cells.push(TightCell { corners, gap: Length::from_mm(mm), whole });
            }
        }
        cells
    }
}

/// Halves made at most: then what lies across the limit stays as large as it is, and is told as doubtful.
const MOST_HALVINGS: usize = 100_000;

/// A triangle to be asked about; the largest is the greatest.
struct Open {
    radius_mm: f64,
    middle: Point3<f64>,
    corners: [Point3<f64>; 3],
    number: usize,
}

impl Open {
    fn new(corners: [Point3<f64>; 3], number: usize) -> Self {
        let middle = Point3::from(corners.iter().map(|p| p.coords).sum::<Vector3<f64>>() / 3.0);
        let radius_mm = corners.iter().map(|p| (p - middle).norm()).fold(0.0, f64::max);
        Open { radius_mm, middle, corners, number }
    }
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        self.radius_mm.total_cmp(&other.radius_mm).then(other.number.cmp(&self.number))
    }
}

fn side_sq(corners: &[Point3<f64>; 3], at: usize) -> f64 {
    (corners[(at + 1) % 3] - corners[at]).norm_squared()
}

/// Cells that touch, put together; the nearest stretch first.
fn patches(cells: Vec<TightCell>, joined_mm: f64) -> Vec<TightPatch> {
    let boxes: Vec<Bounds> =
        cells.iter().map(|cell| Bounds::of_points(&cell.corners).grown(joined_mm)).collect();
    let mut order: Vec<usize> = (0..cells.len()).collect();
    order.sort_by(|i, j| boxes[*i].min.x.total_cmp(&boxes[*j].min.x).then(i.cmp(j)));
    let mut root: Vec<usize> = (0..cells.len()).collect();
    let mut swept: Vec<usize> = Vec::new();
    for at in order {
        swept.retain(|other| boxes[*other].max.x >= boxes[at].min.x);
        for other in &swept {
            let (one, two) = (find(&mut root, at), find(&mut root, *other));
            if one != two
                && meets(&boxes[at], &boxes[*other])
                && triangles_under(&cells[at].corners, &cells[*other].corners, 2.0 * joined_mm).is_some()
            {
                root[one.max(two)] = one.min(two);
            }
        }
        swept.push(at);
    }
    let mut found: Vec<TightPatch> = Vec::new();
    let mut place = vec![usize::MAX; cells.len()];
    for (at, cell) in cells.iter().enumerate() {
        let first = find(&mut root, at);
        if place[first] == usize::MAX {
            place[first] = found.len();
            found.push(TightPatch {
                area_mm2: 0.0,
                doubtful_mm2: 0.0,
                bounds: Bounds::EMPTY,
                least: Length::from_mm(f64::INFINITY),
                at: cell.corners[0],
                cells: Vec::new(),
            });
        }
        let patch = &mut found[place[first]];
        let [a, b, c] = cell.corners;
        let area_mm2 = (b - a).cross(&(c - a)).norm() / 2.0;
        patch.area_mm2 += area_mm2;
        patch.doubtful_mm2 += if cell.whole { 0.0 } else { area_mm2 };
        patch.bounds = patch.bounds.union(&Bounds::of_points(&cell.corners));
        if cell.gap < patch.least {
            patch.least = cell.gap;
            patch.at = Point3::from((a.coords + b.coords + c.coords) / 3.0);
        }
        patch.cells.push(*cell);
    }
    found.sort_by(|p, q| p.least.mm().total_cmp(&q.least.mm()));
    found
}

fn find(root: &mut [usize], mut at: usize) -> usize {
    while root[at] != at {
        root[at] = root[root[at]];
        at = root[at];
    }
    at
}
