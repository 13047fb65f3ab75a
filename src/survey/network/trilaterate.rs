//! Three distances from three marks, in closed form.

use nalgebra::{Point3, Vector3};

/// Where a point may be that has three given distances from three places.
#[derive(Clone, Debug, PartialEq)]
pub enum Trilateration {
    /// Two mirror places; the first lies on the side to which (second - first) x (third - first) points.
    Two(Point3<f64>, Point3<f64>),
    /// No place: the nearest try in the plane of the three, and how far below zero the squared
    /// height would be, mm^2.
    Short {
        /// Where the first two distances and the difference of the third put it.
        in_plane: Point3<f64>,
        /// Height squared, below zero.
        height_squared: f64,
    },
    /// The three places lie on one line: a whole circle fits, or nothing.
    Collinear,
}

/// Places at three distances (mm) from three places.
///
/// Exact up to rounding, constant time. Ill-conditioned near the plane of the three, where the
/// height is the root of a difference: there an error of a millimetre becomes many.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::network::{trilaterate, Trilateration};
/// use nalgebra::Point3;
/// let anchors = [Point3::origin(), Point3::new(600.0, 0.0, 0.0), Point3::new(0.0, 400.0, 0.0)];
/// let Trilateration::Two(up, down) = trilaterate(&anchors, [500.0, 460.0, 420.0]) else { panic!() };
/// assert!((up - Point3::new(332.0, 292.0, 233.478050)).norm() < 1e-6);
/// assert!((down - Point3::new(332.0, 292.0, -233.478050)).norm() < 1e-6);
/// ```
pub fn trilaterate(anchors: &[Point3<f64>; 3], distances_mm: [f64; 3]) -> Trilateration {
    let [p1, p2, p3] = anchors;
    let [d1, d2, d3] = distances_mm;
    let a = (p2 - p1).norm();
    let longest = a.max((p3 - p1).norm()).max((p3 - p2).norm());
    let normal: Vector3<f64> = (p2 - p1).cross(&(p3 - p1));
    if normal.norm() <= 1e-9 * longest * longest || a <= 0.0 {
        return Trilateration::Collinear;
    }
    let ex = (p2 - p1) / a;
    let ez = normal.normalize();
    let ey = ez.cross(&ex);
    let (i, j) = ((p3 - p1).dot(&ex), (p3 - p1).dot(&ey));
    let x = (d1 * d1 - d2 * d2 + a * a) / (2.0 * a);
    let y = (d1 * d1 - d3 * d3 + i * i + j * j - 2.0 * i * x) / (2.0 * j);
    let height_squared = d1 * d1 - x * x - y * y;
    let in_plane = p1 + ex * x + ey * y;
    if height_squared < 0.0 {
        return Trilateration::Short { in_plane, height_squared };
    }
    let rise = ez * height_squared.sqrt();
    Trilateration::Two(in_plane + rise, in_plane - rise)
}
