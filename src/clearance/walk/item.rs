//! One item against another.

use nalgebra::Point3;

use super::super::convex::{Convex, Core, Nearest, nearest, triangles_under};
use super::super::index::Item;
use super::super::part::{Part, part_gap};
use crate::space::Pose;

/// An item of the moving solid, brought into the fixed frame.
pub(crate) enum Moved {
    Triangle([Point3<f64>; 3]),
    Part(Part),
}

impl Moved {
    pub fn of(item: Item<'_>, to_from_item: &Pose) -> Self {
        match item {
            Item::Triangle(corners) => Moved::Triangle(corners.map(|p| to_from_item * p)),
            Item::Ball(center, radius_mm) => Moved::Part(Part::ball(to_from_item * center, radius_mm)),
            Item::Part(part) => Moved::Part(part.moved(to_from_item)),
        }
    }

    pub fn part(&self) -> Part {
        match self {
            Moved::Triangle(corners) => Part::Convex(Convex::new(Core::Triangle(*corners), 0.0)),
            Moved::Part(part) => part.clone(),
        }
    }
}

/// The gap of two items of one frame when it is under `limit_mm`.
pub(crate) fn item_gap(a: Item<'_>, b: &Moved, limit_mm: f64) -> Option<Nearest> {
    if let (Item::Triangle(s), Moved::Triangle(t)) = (a, b) {
        return triangle_gap(s, t, limit_mm);
    }
    let part_a = a.part();
    match (&part_a, b.part()) {
        (Part::Convex(a), Part::Convex(b)) => Some(nearest(a, &b)).filter(|n| n.gap_mm < limit_mm),
        (a, b) => part_gap(a, &b, limit_mm),
    }
}

/// The gap of two triangles when it is under `limit_mm`.
#[inline]
pub(super) fn triangle_gap(s: &[Point3<f64>; 3], t: &[Point3<f64>; 3], limit_mm: f64) -> Option<Nearest> {
    let (on_a, on_b) = triangles_under(s, t, limit_mm)?;
    let offset = on_b - on_a;
    let gap_mm = offset.norm();
    if gap_mm >= limit_mm {
        return None;
    }
    if gap_mm > 0.0 {
        return Some(Nearest { gap_mm, on_a, on_b, normal: offset / gap_mm });
    }
    let flat = |corners: &[Point3<f64>; 3]| Convex::new(Core::Triangle(*corners), 0.0);
    Some(nearest(&flat(s), &flat(t))).filter(|found| found.gap_mm < limit_mm)
}
