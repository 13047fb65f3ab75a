//! How many straight steps follow an arc within a stated error, and the rings that they make.

use std::f64::consts::TAU;

/// Steps for an arc of `sweep_rad` so that no chord strays from it by more than `sagitta_mm`.
///
/// The sagitta of a step of angle a is radius (1 - cos(a/2)). Never fewer than eight a full turn.
pub(super) fn steps(radius_mm: f64, sweep_rad: f64, sagitta_mm: f64) -> usize {
    let least = (8.0 * sweep_rad / TAU).ceil().clamp(1.0, 8.0) as usize;
    if radius_mm <= 0.0 || !radius_mm.is_finite() || !sweep_rad.is_finite() {
        return least;
    }
    // NaN and nonsense become the floor too: `max` drops a NaN.
    let share = (sagitta_mm / radius_mm).max(1e-6);
    if share >= 1.0 {
        return least;
    }
    let step_rad = 2.0 * (1.0 - share).acos();
    ((sweep_rad / step_rad).ceil() as usize).max(least)
}

/// Points of the unit circle, `count` of them, counter-clockwise from (1, 0).
pub(super) fn unit_circle(count: usize) -> Vec<(f64, f64)> {
    (0..count)
        .map(|step| {
            let (sin, cos) = (TAU * step as f64 / count as f64).sin_cos();
            (cos, sin)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_step_stays_within_its_sagitta() {
        for (radius, sweep, sagitta) in [(50.0, TAU, 0.1), (3.0, 1.0, 0.001), (1000.0, 3.0, 5.0)] {
            let step = sweep / steps(radius, sweep, sagitta) as f64;
            let strays = radius * (1.0 - (step / 2.0).cos());
            assert!(strays <= sagitta * (1.0 + 1e-12), "strays {strays} mm of {sagitta} mm");
        }
        assert_eq!(steps(50.0, TAU, f64::NAN), steps(50.0, TAU, 0.0), "nonsense is the floor");
        assert_eq!(steps(50.0, TAU, 1e9), 8);
    }
}
