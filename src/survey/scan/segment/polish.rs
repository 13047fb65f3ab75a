//! A candidate improved on some of its points, by a few steps of least squares.

use nalgebra::{Matrix3, Point3, SMatrix, SVector, Unit, Vector3};

use super::super::least_spread::least_spread;
use super::surface::Surface;

const STEPS: usize = 6;

/// The surface of the same kind that fits these points best, from a start near it; `None` when they leave it open.
pub(super) fn polish(start: Surface, points: &[Point3<f64>]) -> Option<Surface> {
    if points.len() < 6 {
        return None;
    }
    match start {
        Surface::Plane { .. } => plane(points),
        Surface::Cylinder { mut point, mut direction, mut radius_mm } => {
            // About the middle of the points, where a turn and a shift are told apart best.
            let middle = mean(points);
            point += direction.into_inner() * (middle - point).dot(&direction);
            for _ in 0..STEPS {
                let u = Unit::new_normalize(direction.cross(&Vector3::ith(direction.iamin(), 1.0)));
                let v = direction.cross(&u);
                let change = step::<5>(points, |at| {
                    let q = at - point;
                    let h = q.dot(&direction);
                    let across = q - direction.into_inner() * h;
                    let length = across.norm().max(1e-9);
                    let (eu, ev) = (across.dot(&u) / length, across.dot(&v) / length);
                    (length - radius_mm, SVector::<f64, 5>::new(-eu, -ev, h * ev, -h * eu, -1.0))
                })?;
                point += u.into_inner() * change[0] + v * change[1];
                direction =
                    Unit::new_normalize(direction.into_inner() + u.into_inner() * change[3] - v * change[2]);
                radius_mm += change[4];
                if !(radius_mm > 0.0 && radius_mm.is_finite()) {
                    return None;
                }
            }
            Some(Surface::Cylinder { point, direction, radius_mm })
        }
        Surface::Sphere { mut center, mut radius_mm } => {
            for _ in 0..STEPS {
                let change = step::<4>(points, |at| {
                    let q = at - center;
                    let length = q.norm().max(1e-9);
                    let away = q / length;
                    (length - radius_mm, SVector::<f64, 4>::new(-away.x, -away.y, -away.z, -1.0))
                })?;
                center += Vector3::new(change[0], change[1], change[2]);
                radius_mm += change[3];
                if !(radius_mm > 0.0 && radius_mm.is_finite()) {
                    return None;
                }
            }
            Some(Surface::Sphere { center, radius_mm })
        }
    }
}

fn mean(points: &[Point3<f64>]) -> Point3<f64> {
    Point3::from(points.iter().map(|p| p.coords).sum::<Vector3<f64>>() / points.len().max(1) as f64)
}

fn plane(points: &[Point3<f64>]) -> Option<Surface> {
    let point = mean(points);
    let spread = points.iter().fold(Matrix3::zeros(), |sum, p| {
        let q = p - point;
        sum + q * q.transpose()
    });
    let (normal, _) = least_spread(&spread)?;
    Some(Surface::Plane { point, normal: Unit::new_unchecked(normal) })
}

/// The change of `N` parameters that takes the residuals down most, their change being linear.
fn step<const N: usize>(
    points: &[Point3<f64>],
    residual: impl Fn(&Point3<f64>) -> (f64, SVector<f64, N>),
) -> Option<SVector<f64, N>> {
    let (mut normal, mut gradient) = (SMatrix::<f64, N, N>::zeros(), SVector::<f64, N>::zeros());
    for point in points {
        let (off, row) = residual(point);
        normal += row * row.transpose();
        gradient += row * off;
    }
    // Columns of different units are brought to one size first; a little damping holds what is hardly seen.
    let scale = normal.diagonal().map(|d| if d > 0.0 { 1.0 / d.sqrt() } else { 0.0 });
    let mut scaled = SMatrix::<f64, N, N>::from_fn(|i, j| normal[(i, j)] * scale[i] * scale[j]);
    for k in 0..N {
        scaled[(k, k)] += 1e-6;
    }
    // A matrix of fixed size has no factors here without a bound on its size: Gauss's elimination will do.
    let solved = solve(scaled, -gradient.component_mul(&scale))?;
    Some(solved.component_mul(&scale))
}

fn solve<const N: usize>(mut a: SMatrix<f64, N, N>, mut b: SVector<f64, N>) -> Option<SVector<f64, N>> {
    for k in 0..N {
        let pivot = a[(k, k)];
        if pivot.is_nan() || pivot <= 1e-12 {
            return None;
        }
        for i in k + 1..N {
            let factor = a[(i, k)] / pivot;
            for j in k..N {
                a[(i, j)] -= factor * a[(k, j)];
            }
            b[i] -= factor * b[k];
        }
    }
    for k in (0..N).rev() {
        for j in k + 1..N {
            b[k] -= a[(k, j)] * b[j];
        }
        b[k] /= a[(k, k)];
    }
    b.iter().all(|x| x.is_finite()).then_some(b)
}
