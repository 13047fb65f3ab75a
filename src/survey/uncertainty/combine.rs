//! The law of propagation of uncertainty.

use nalgebra::DMatrix;

/// Combined standard uncertainty of independent inputs, each with its sensitivity: root of the
/// sum of (sensitivity x uncertainty) squared.
///
/// # Source
/// JCGM 100:2008, 5.1.2, equation (10).
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::uncertainty::combine_uncorrelated;
/// let u = combine_uncorrelated(&[(0.3, 1.0), (0.5, 1.0), (0.29, 1.0)]);
/// assert!((2.0 * u - 1.3024592).abs() < 1e-6); // U at k = 2
/// ```
pub fn combine_uncorrelated(inputs: &[(f64, f64)]) -> f64 {
    inputs.iter().map(|(u, sensitivity)| (u * sensitivity).powi(2)).sum::<f64>().sqrt()
}

/// Covariance of outputs from the covariance of inputs: `sensitivity * covariance * sensitivity^T`;
/// one row of `sensitivity` an output, one column an input.
///
/// # Source
/// JCGM 100:2008, 5.2.2, equation (13); several outputs: JCGM 102:2011, 6.2.
///
/// # Panics
/// When the sizes do not match.
pub fn combine_correlated(sensitivity: &DMatrix<f64>, covariance: &DMatrix<f64>) -> DMatrix<f64> {
    sensitivity * covariance * sensitivity.transpose()
}

/// Effective degrees of freedom of a combined uncertainty from its terms, each (contribution,
/// degrees of freedom); infinite degrees stand for an uncertainty that is itself known exactly.
///
/// # Source
/// Welch-Satterthwaite: JCGM 100:2008, G.4.1, equation (G.2b).
pub fn effective_degrees_of_freedom(terms: &[(f64, f64)]) -> f64 {
    let combined: f64 = terms.iter().map(|(u, _)| u * u).sum();
    combined * combined / terms.iter().map(|(u, dof)| u.powi(4) / dof).sum::<f64>()
}

/// Standard uncertainty of a value known to lie within `half_width` either way, no place likelier
/// than another.
///
/// # Source
/// JCGM 100:2008, 4.3.7.
pub fn half_width_sigma(half_width: f64) -> f64 {
    half_width / 3f64.sqrt()
}

/// Standard uncertainty of reading a scale to the nearest of marks `step` apart.
///
/// # Source
/// JCGM 100:2008, F.2.2.1.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::uncertainty::resolution_sigma;
/// assert!((resolution_sigma(1.0) - 0.2886751).abs() < 1e-7); // a tape read to the nearest millimetre
/// ```
pub fn resolution_sigma(step: f64) -> f64 {
    step / 12f64.sqrt()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
    use super::super::student_factor;
    use super::*;

    /// Source: JCGM 100:2008, H.1 (results from memory, inputs as repeated in public software documentation).
    #[test]
    fn end_gauge_calibration_comes_out_as_in_the_guide() {
        let length_nm = 50_000_623.0;
        let (alpha, theta) = (11.5e-6, -0.1);
        // Difference of the two gauges: repeated readings, comparator random, comparator systematic.
        let difference = [(5.8, 24.0), (3.9, 5.0), (6.7, 8.0)];
        let u_difference = combine_uncorrelated(&difference.map(|(u, _)| (u, 1.0)));
        assert!((u_difference - 9.7).abs() < 0.05, "got {u_difference}");
        let expansion = length_nm * theta * half_width_sigma(1e-6);
        let temperature = length_nm * alpha * half_width_sigma(0.05);
        assert!((expansion.abs() - 2.9).abs() < 0.05, "got {expansion}");
        assert!((temperature - 16.6).abs() < 0.05, "got {temperature}");
        let combined =
            combine_uncorrelated(&[(25.0, 1.0), (u_difference, 1.0), (expansion, 1.0), (temperature, 1.0)]);
        assert!((combined - 31.66).abs() < 0.05, "got {combined}");
        let u_difference_dof = effective_degrees_of_freedom(&difference);
        assert!((u_difference_dof - 25.6).abs() < 0.5, "got {u_difference_dof}");
        // The guide gives the two uniform terms 50 and 2 degrees of freedom.
        let dof = effective_degrees_of_freedom(&[
            (25.0, 18.0),
            (u_difference, u_difference_dof),
            (expansion, 50.0),
            (temperature, 2.0),
        ]);
        assert!((dof - 16.75).abs() < 0.3, "got {dof}");
        let expanded = student_factor(0.99, dof.floor()) * combined;
        assert!((expanded - 93.0).abs() < 1.0, "got {expanded}");
    }

    /// Source: JCGM 100:2008, H.2 (from memory; numpy reproduces all). The guide prints 0.295 for
    /// u(X), the inputs give 0.29558: one unit in the last place is allowed.
    #[test]
    fn resistance_and_reactance_come_out_as_in_the_guide() {
        let v = [5.007, 4.994, 5.005, 4.990, 4.999];
        let i = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
        let phase = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
        let mean = |x: &[f64; 5]| x.iter().sum::<f64>() / 5.0;
        let columns = [v, i, phase];
        let means = columns.map(|x| mean(&x));
        let covariance = DMatrix::from_fn(3, 3, |a, b| {
            (0..5).map(|k| (columns[a][k] - means[a]) * (columns[b][k] - means[b])).sum::<f64>() / 20.0
        });
        let [v, i, phase] = means;
        let z = v / i;
        let (sin, cos) = phase.sin_cos();
        let sensitivity = DMatrix::from_row_slice(
            3,
            3,
            &[cos / i, -z * cos / i, -z * sin, sin / i, -z * sin / i, z * cos, 1.0 / i, -z / i, 0.0],
        );
        let out = combine_correlated(&sensitivity, &covariance);
        for (case, got, want, tolerance) in [
            ("resistance", z * cos, 127.732, 0.001),
            ("reactance", z * sin, 219.847, 0.001),
            ("impedance", z, 254.260, 0.001),
            ("u of resistance", out[(0, 0)].sqrt(), 0.071, 0.001),
            ("u of reactance", out[(1, 1)].sqrt(), 0.295, 0.001),
            ("u of impedance", out[(2, 2)].sqrt(), 0.236, 0.001),
            ("r(R, X)", out[(0, 1)] / (out[(0, 0)] * out[(1, 1)]).sqrt(), -0.588, 0.001),
            ("r(R, Z)", out[(0, 2)] / (out[(0, 0)] * out[(2, 2)]).sqrt(), -0.485, 0.001),
            ("r(X, Z)", out[(1, 2)] / (out[(1, 1)] * out[(2, 2)]).sqrt(), 0.993, 0.001),
        ] {
            assert!((got - want).abs() < tolerance, "{case}: got {got}, want {want}");
        }
    }
}
