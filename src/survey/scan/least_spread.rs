//! The direction of least spread, in closed form.

use nalgebra::{Matrix3, Vector3};

/// The direction in which a covariance is least, its greatest component positive, and the variance along it;
/// `None` when no one direction is least (points on a line or at one place).
///
/// # Source
/// Eigenvalues of a symmetric matrix of order 3 by the angle: Smith, Comm. ACM 4 (1961) 168. The direction is
/// the longest of the three products of the rows of the matrix less its eigenvalue.
pub(super) fn least_spread(spread: &Matrix3<f64>) -> Option<(Vector3<f64>, f64)> {
    let trace = spread.trace();
    if trace <= 0.0 || !trace.is_finite() {
        return None;
    }
    let mean = trace / 3.0;
    let off = spread.m12 * spread.m12 + spread.m13 * spread.m13 + spread.m23 * spread.m23;
    let (a, b, c) = (spread.m11 - mean, spread.m22 - mean, spread.m33 - mean);
    let p = ((a * a + b * b + c * c + 2.0 * off) / 6.0).sqrt();
    if p <= 1e-12 * mean {
        return None;
    }
    let determinant = a * (b * c - spread.m23 * spread.m23)
        - spread.m12 * (spread.m12 * c - spread.m23 * spread.m13)
        + spread.m13 * (spread.m12 * spread.m23 - b * spread.m13);
    let angle = (determinant / (2.0 * p * p * p)).clamp(-1.0, 1.0).acos() / 3.0;
    let least = mean + 2.0 * p * (angle + 2.0 * std::f64::consts::FRAC_PI_3).cos();
    let greatest = mean + 2.0 * p * angle.cos();
    let between = 3.0 * mean - least - greatest;
    // On a line the two lesser are one.
    if between - least <= 1e-6 * greatest {
        return None;
    }
    let rows = [0, 1, 2].map(|k| {
        let mut row = Vector3::new(spread[(k, 0)], spread[(k, 1)], spread[(k, 2)]);
        row[k] -= least;
        row
    });
    let products = [rows[0].cross(&rows[1]), rows[1].cross(&rows[2]), rows[2].cross(&rows[0])];
    let longest = products
        .into_iter()
        .fold(Vector3::zeros(), |best, p| if p.norm_squared() > best.norm_squared() { p } else { best });
    let mut normal = longest.try_normalize(f64::MIN_POSITIVE)?;
    if normal[normal.iamax()] < 0.0 {
        normal = -normal;
    }
    Some((normal, least.max(0.0)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn it_is_the_direction_that_a_general_solver_finds(v in prop::array::uniform9(-3.0..3.0f64)) {
            let a = Matrix3::from_row_slice(&v);
            let spread = a * a.transpose();
            let solved = spread.symmetric_eigen();
            let k = solved.eigenvalues.imin();
            let mut sorted: Vec<f64> = solved.eigenvalues.iter().copied().collect();
            sorted.sort_by(f64::total_cmp);
            prop_assume!(sorted[1] - sorted[0] > 1e-3 * sorted[2]);
            let (normal, variance) = least_spread(&spread).unwrap();
            prop_assert!((variance - sorted[0].max(0.0)).abs() < 1e-9 * sorted[2]);
            prop_assert!(normal.dot(&solved.eigenvectors.column(k)).abs() > 1.0 - 1e-9);
        }
    }

    #[test]
    fn points_on_a_line_or_at_one_place_have_none() {
        let line = Vector3::new(1.0, 2.0, -1.0);
        assert_eq!(least_spread(&(line * line.transpose())), None);
        assert_eq!(least_spread(&Matrix3::zeros()), None);
        assert_eq!(least_spread(&Matrix3::identity()), None);
    }
}
