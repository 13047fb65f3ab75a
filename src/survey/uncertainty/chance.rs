//! How likely a scatter is by chance alone.

use super::special::{beta_lower, gamma_upper};

/// Chance that a normal variable of mean 0 and standard deviation 1 is below `x`.
///
/// # Example
/// A gap of 3.0 mm with standard uncertainty 1.2 mm is no gap at all with a chance of 0.6 %:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::uncertainty::normal_below;
/// assert!((normal_below(-3.0 / 1.2) - 0.00621).abs() < 1e-5);
/// ```
pub fn normal_below(x: f64) -> f64 {
    let tail = 0.5 * gamma_upper(0.5, x * x / 2.0);
    if x > 0.0 { 1.0 - tail } else { tail }
}

/// Chance that chi-square of so many degrees of freedom exceeds `x`; 1 when there are none.
pub fn chi_square_tail(x: f64, degrees_of_freedom: f64) -> f64 {
    if degrees_of_freedom > 0.0 { gamma_upper(degrees_of_freedom / 2.0, x / 2.0) } else { 1.0 }
}

/// Chance that the ratio of two variances, of `above` and `below` degrees of freedom, exceeds `x`.
pub fn f_tail(x: f64, above: f64, below: f64) -> f64 {
    if x <= 0.0 {
        return 1.0;
    }
    if x.is_infinite() {
        return 0.0;
    }
    beta_lower(below / 2.0, above / 2.0, below / (below + above * x))
}

/// Student's factor: the half-width, in standard deviations estimated with so many degrees of
/// freedom, of the interval that holds `level` of the chance on both sides together.
///
/// # Source
/// JCGM 100:2008, annex G and table G.2.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::uncertainty::student_factor;
/// assert!((student_factor(0.95, 4.0) - 2.776).abs() < 1e-3);
/// ```
pub fn student_factor(level: f64, degrees_of_freedom: f64) -> f64 {
    let outside =
        |t: f64| beta_lower(degrees_of_freedom / 2.0, 0.5, degrees_of_freedom / (degrees_of_freedom + t * t));
    let goal = 1.0 - level;
    let (mut low, mut high) = (0.0, 1.0);
    while outside(high) > goal && high < 1e12 {
        low = high;
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if outside(middle) > goal { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_coverage_is_that_of_the_table() {
        // Source: JCGM 100:2008 table G.1; scipy.stats.norm.
        for (k, percent) in [(1.0, 68.27), (1.96, 95.00), (2.0, 95.45), (2.5758, 99.00), (3.0, 99.73)] {
            let got = 100.0 * (normal_below(k) - normal_below(-k));
            assert!((got - percent).abs() < 0.01, "k = {k}: got {got} %, want {percent} %");
        }
    }

    #[test]
    fn student_factors_are_those_of_the_table() {
        // Source: JCGM 100:2008 table G.2; scipy.stats.t.
        for (level, dof, want) in [
            (0.95, 2.0, 4.303),
            (0.95, 4.0, 2.776),
            (0.95, 9.0, 2.262),
            (0.95, 19.0, 2.093),
            (0.99, 16.0, 2.921),
        ] {
            let got = student_factor(level, dof);
            assert!((got - want).abs() < 1e-3, "{level} at {dof}: got {got}, want {want}");
        }
    }

    #[test]
    fn chi_square_tails_are_those_of_closed_forms() {
        for (case, x, dof, want) in [
            ("two degrees: exp(-x/2)", 13.815_510_557_964_274, 2.0, 0.001),
            ("four degrees: exp(-x/2)(1 + x/2)", 6.0, 4.0, (-3.0f64).exp() * 4.0),
            ("one degree, two sigma: as the normal", 4.0, 1.0, 0.045_500_263_896_358_4),
            ("nothing to spare, nothing to say", 9.0, 0.0, 1.0),
        ] {
            let got = chi_square_tail(x, dof);
            assert!((got - want).abs() < 1e-12, "{case}: got {got}, want {want}");
        }
    }

    #[test]
    fn variance_ratio_with_one_degree_above_is_student_squared() {
        for (t, dof) in [(2.262_157_162_740_992, 9.0), (4.302_652_729_911_275, 2.0)] {
            let got = f_tail(t * t, 1.0, dof);
            assert!((got - 0.05).abs() < 1e-9, "{t} at {dof}: got {got}");
        }
    }
}
