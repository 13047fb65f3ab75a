//! Axis-aligned bounds.

use nalgebra::{Point3, Vector3};

use super::Pose;

/// An axis-aligned box that holds something, millimetres. Empty when `min > max`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Least corner.
    pub min: Point3<f64>,
    /// Greatest corner.
    pub max: Point3<f64>,
}

impl Bounds {
    /// Holds nothing; the unit of [`Bounds::union`].
    pub const EMPTY: Bounds = Bounds {
        min: Point3::new(f64::INFINITY, f64::INFINITY, f64::INFINITY),
        max: Point3::new(f64::NEG_INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// The least box that holds all points.
    pub fn of_points<'a>(points: impl IntoIterator<Item = &'a Point3<f64>>) -> Self {
        points.into_iter().fold(Self::EMPTY, |bounds, point| bounds.with(point))
    }

    /// Whether it holds nothing.
    pub fn is_empty(&self) -> bool {
        self.min.x > self.max.x || self.min.y > self.max.y || self.min.z > self.max.z
    }

    /// Grown to hold a point.
    pub fn with(&self, point: &Point3<f64>) -> Self {
        Bounds { min: self.min.inf(point), max: self.max.sup(point) }
    }

    /// The least box that holds both.
    pub fn union(&self, other: &Self) -> Self {
        Bounds { min: self.min.inf(&other.min), max: self.max.sup(&other.max) }
    }

    /// Grown on every side by `by_mm`.
    pub fn grown(&self, by_mm: f64) -> Self {
        let by = Vector3::repeat(by_mm);
        Bounds { min: self.min - by, max: self.max + by }
    }

    /// Middle of the box; meaningless when empty.
    pub fn center(&self) -> Point3<f64> {
        nalgebra::center(&self.min, &self.max)
    }

    /// Edge lengths.
    pub fn size(&self) -> Vector3<f64> {
        self.max - self.min
    }

    /// Length of the space diagonal.
    pub fn diagonal_mm(&self) -> f64 {
        self.size().norm()
    }

    /// Euclidean gap between two boxes, 0 when they meet.
    pub fn gap_mm(&self, other: &Self) -> f64 {
        let apart = |a: f64, b: f64| (a - b).max(0.0);
        let gap = Vector3::new(
            apart(self.min.x, other.max.x).max(apart(other.min.x, self.max.x)),
            apart(self.min.y, other.max.y).max(apart(other.min.y, self.max.y)),
            apart(self.min.z, other.max.z).max(apart(other.min.z, self.max.z)),
        );
        gap.norm()
    }

    /// Euclidean distance from a point to the box, 0 inside.
    pub fn distance_mm(&self, point: &Point3<f64>) -> f64 {
        (point - self.nearest(point)).norm()
    }

    /// The point of the box nearest to `point`.
    pub fn nearest(&self, point: &Point3<f64>) -> Point3<f64> {
        point.sup(&self.min).inf(&self.max)
    }

    /// Whether a point lies inside or on the box.
    pub fn contains(&self, point: &Point3<f64>) -> bool {
        !self.is_empty() && self.nearest(point) == *point
    }

    /// Axis-aligned bounds of this box after a pose (exact for the box, so loose for what it holds).
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        if self.is_empty() {
            return *self;
        }
        let center = to_from_here * self.center();
        let turn = to_from_here.rotation.to_rotation_matrix();
        let half = turn.matrix().abs() * (self.size() / 2.0);
        Bounds { min: center - half, max: center + half }
    }

    /// The eight corners.
    pub fn corners(&self) -> [Point3<f64>; 8] {
        std::array::from_fn(|i| {
            Point3::new(
                if i & 1 == 0 { self.min.x } else { self.max.x },
                if i & 2 == 0 { self.min.y } else { self.max.y },
                if i & 4 == 0 { self.min.z } else { self.max.z },
            )
        })
    }
}
