//! What a convex body is to the kernels: a support function and a radius.

use std::f64::consts::TAU;
use std::sync::Arc;

use nalgebra::{Matrix3, Point3, Vector3};

use crate::space::Pose;

/// A flat round disc.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Disc {
    pub center: Point3<f64>,
    /// Unit length.
    pub normal: Vector3<f64>,
    pub radius_mm: f64,
}

/// The convex hull of a disc swept about an axis from one angle to another.
///
/// As a core it means the hull; `bend` knows the swept solid inside it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BendCore {
    pub center: Point3<f64>,
    /// Angle zero of the sweep, in the ring's plane; unit.
    pub x: Vector3<f64>,
    /// A quarter turn on; unit.
    pub y: Vector3<f64>,
    /// The ring's axis; unit.
    pub z: Vector3<f64>,
    pub ring_mm: f64,
    pub tube_mm: f64,
    pub from_rad: f64,
    pub to_rad: f64,
}

/// A convex set given by its support function.
#[derive(Clone, Debug)]
pub(crate) enum Core {
    Point(Point3<f64>),
    Segment([Point3<f64>; 2]),
    Triangle([Point3<f64>; 3]),
    /// A thick triangle: front corners, then the back ones in the same order.
    Wedge([Point3<f64>; 6]),
    Block {
        center: Point3<f64>,
        /// Columns are the unit edges.
        axes: Matrix3<f64>,
        half_mm: Vector3<f64>,
    },
    /// The hull of two discs: cylinder, frustum, and the chord of a bend.
    Discs([Disc; 2]),
    Bend(BendCore),
    Points {
        points: Arc<[Point3<f64>]>,
        here_from_points: Pose,
    },
}

/// A core inflated by a radius.
#[derive(Clone, Debug)]
pub(crate) struct Convex {
    pub core: Core,
    pub radius_mm: f64,
}

impl Disc {
    #[inline]
    pub fn support(&self, toward: &Vector3<f64>) -> Point3<f64> {
        let once = toward - self.normal * self.normal.dot(toward);
        // What is left of a direction near the normal is mostly rounding: take it out again.
        let flat = once - self.normal * self.normal.dot(&once);
        let length = flat.norm();
        // Along the normal every point of the disc is as far: the centre will do.
        if length > 1e-13 * toward.norm() {
            self.center + flat * (self.radius_mm / length)
        } else {
            self.center
        }
    }

    #[inline]
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        Disc {
            center: to_from_here * self.center,
            normal: to_from_here * self.normal,
            radius_mm: self.radius_mm,
        }
    }

    /// The point of the disc nearest to `point`.
    #[inline]
    pub fn nearest(&self, point: &Point3<f64>) -> Point3<f64> {
        let offset = point - self.center;
        let flat = offset - self.normal * self.normal.dot(&offset);
        let length = flat.norm();
        let reach = if length > self.radius_mm { self.radius_mm / length } else { 1.0 };
        self.center + flat * reach
    }
}

impl BendCore {
    /// Unit vector from the ring's centre at an angle.
    #[inline]
    pub fn out(&self, angle_rad: f64) -> Vector3<f64> {
        let (sin, cos) = angle_rad.sin_cos();
        self.x * cos + self.y * sin
    }

    /// The disc at an angle of the sweep.
    #[inline]
    pub fn disc(&self, angle_rad: f64) -> Disc {
        let (sin, cos) = angle_rad.sin_cos();
        let out = self.x * cos + self.y * sin;
        Disc {
            center: self.center + out * self.ring_mm,
            normal: self.y * cos - self.x * sin,
            radius_mm: self.tube_mm,
        }
    }

    #[inline]
    pub fn sweep_rad(&self) -> f64 {
        self.to_rad - self.from_rad
    }

    /// Angle in `[from, from + 2 pi)`.
    #[inline]
    pub fn angle_of(&self, offset: &Vector3<f64>) -> f64 {
        let angle = self.y.dot(offset).atan2(self.x.dot(offset));
        let mut turns = (angle - self.from_rad).rem_euclid(TAU);
        // rem_euclid of a tiny negative number may round to the modulus itself.
        if turns >= TAU {
            turns = 0.0;
        }
        self.from_rad + turns
    }

    #[inline]
    pub fn support(&self, toward: &Vector3<f64>) -> Point3<f64> {
        let (dx, dy, dz) = (self.x.dot(toward), self.y.dot(toward), self.z.dot(toward));
        let angle = self.angle_of(toward);
        // The height of the disc at an angle grows with how far it faces `toward`.
        let out = if angle <= self.to_rad {
            let flat = dx.hypot(dy);
            if flat > 0.0 { (self.x * dx + self.y * dy) / flat } else { self.x }
        } else {
            let (a, b) = (self.out(self.from_rad), self.out(self.to_rad));
            if a.dot(toward) >= b.dot(toward) { a } else { b }
        };
        let radial = out.dot(toward);
        let rim = radial.hypot(dz);
        let center = self.center + out * self.ring_mm;
        if rim > 1e-300 { center + (out * radial + self.z * dz) * (self.tube_mm / rim) } else { center }
    }

    #[inline]
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        BendCore {
            center: to_from_here * self.center,
            x: to_from_here * self.x,
            y: to_from_here * self.y,
            z: to_from_here * self.z,
            ..*self
        }
    }
}

impl Core {
    /// A farthest point along a direction (any length but zero).
    #[inline]
    pub fn support(&self, toward: &Vector3<f64>) -> Point3<f64> {
        match self {
            Core::Point(point) => *point,
            Core::Segment(ends) => farthest(ends, toward),
            Core::Triangle(corners) => farthest(corners, toward),
            Core::Wedge(corners) => farthest(corners, toward),
            Core::Block { center, axes, half_mm } => {
                let mut point = *center;
                for i in 0..3 {
                    let axis = axes.column(i);
                    let side = if axis.dot(toward) >= 0.0 { half_mm[i] } else { -half_mm[i] };
                    point += axis * side;
                }
                point
            }
            Core::Discs([a, b]) => {
                let (a, b) = (a.support(toward), b.support(toward));
                if (b - a).dot(toward) > 0.0 { b } else { a }
            }
            Core::Bend(bend) => bend.support(toward),
            Core::Points { points, here_from_points } => {
                let local = here_from_points.rotation.inverse() * toward;
                here_from_points * farthest(points, &local)
            }
        }
    }

    /// A point well inside.
    #[inline]
    pub fn center(&self) -> Point3<f64> {
        match self {
            Core::Point(point) => *point,
            Core::Segment(ends) => mean(ends),
            Core::Triangle(corners) => mean(corners),
            Core::Wedge(corners) => mean(corners),
            Core::Block { center, .. } => *center,
            Core::Discs([a, b]) => nalgebra::center(&a.center, &b.center),
            Core::Bend(bend) => {
                let (a, b) = (bend.disc(bend.from_rad).center, bend.disc(bend.to_rad).center);
                let middle = bend.disc((bend.from_rad + bend.to_rad) / 2.0).center;
                nalgebra::center(&nalgebra::center(&a, &b), &middle)
            }
            Core::Points { points, here_from_points } => here_from_points * mean(points),
        }
    }

    #[inline]
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        match self {
            Core::Point(point) => Core::Point(to_from_here * point),
            Core::Segment(ends) => Core::Segment(ends.map(|p| to_from_here * p)),
            Core::Triangle(corners) => Core::Triangle(corners.map(|p| to_from_here * p)),
            Core::Wedge(corners) => Core::Wedge(corners.map(|p| to_from_here * p)),
            Core::Block { center, axes, half_mm } => Core::Block {
                center: to_from_here * center,
                axes: to_from_here.rotation.to_rotation_matrix().matrix() * axes,
                half_mm: *half_mm,
            },
            Core::Discs(discs) => Core::Discs(discs.map(|disc| disc.moved(to_from_here))),
            Core::Bend(bend) => Core::Bend(bend.moved(to_from_here)),
            Core::Points { points, here_from_points } => {
                Core::Points { points: Arc::clone(points), here_from_points: to_from_here * here_from_points }
            }
        }
    }

    /// Moved without turning.
    #[inline]
    pub fn shifted(&self, by: &Vector3<f64>) -> Self {
        match self {
            Core::Point(point) => Core::Point(point + by),
            Core::Segment(ends) => Core::Segment(ends.map(|p| p + by)),
            Core::Triangle(corners) => Core::Triangle(corners.map(|p| p + by)),
            Core::Wedge(corners) => Core::Wedge(corners.map(|p| p + by)),
            Core::Block { center, axes, half_mm } => {
                Core::Block { center: center + by, axes: *axes, half_mm: *half_mm }
            }
            Core::Discs(discs) => Core::Discs(discs.map(|disc| Disc { center: disc.center + by, ..disc })),
            Core::Bend(bend) => Core::Bend(BendCore { center: bend.center + by, ..*bend }),
            Core::Points { points, here_from_points } => {
                let mut pose = *here_from_points;
                pose.translation.vector += by;
                Core::Points { points: Arc::clone(points), here_from_points: pose }
            }
        }
    }
}

impl Convex {
    #[inline]
    pub fn new(core: Core, radius_mm: f64) -> Self {
        Convex { core, radius_mm }
    }

    #[inline]
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        Convex { core: self.core.moved(to_from_here), radius_mm: self.radius_mm }
    }

    #[inline]
    pub fn shifted(&self, by: &Vector3<f64>) -> Self {
        Convex { core: self.core.shifted(by), radius_mm: self.radius_mm }
    }

    /// How far it reaches along a unit direction, from the origin.
    #[inline]
    pub fn reach(&self, toward: &Vector3<f64>) -> f64 {
        self.core.support(toward).coords.dot(toward) + self.radius_mm
    }
}

#[inline]
fn farthest(points: &[Point3<f64>], toward: &Vector3<f64>) -> Point3<f64> {
    let mut best = points[0];
    let mut height = best.coords.dot(toward);
    for point in &points[1..] {
        let here = point.coords.dot(toward);
        if here > height {
            height = here;
            best = *point;
        }
    }
    best
}

#[inline]
fn mean(points: &[Point3<f64>]) -> Point3<f64> {
    let sum = points.iter().fold(Vector3::zeros(), |sum, p| sum + p.coords);
    Point3::from(sum / points.len() as f64)
}
