//! The greatest clearance anywhere in a box: an upper bound that closes in quickly.
//!
//! The clearance at the centre plus the box's half diagonal is a bound, but a poor one: halving
//! the box gains only half of it. Points of obstacles seen from anywhere give a better one. At p,
//! an obstacle with a point q and cover k leaves at most |p - q| - k. Of two obstacles on opposite
//! sides one is always the nearer, so the clearance is at most the mean of both such distances, or
//! any weighted mean of several; the mean is convex, so its greatest value over the box is at a
//! corner. In a gap of width d the mean exceeds d/2 only by about (size of box)^2 / d.
//!
//! Any weights prove a bound; good ones are found by playing the game corner against obstacle a
//! few rounds (fictitious play: Brown 1951; from memory).

use nalgebra::Point3;

use crate::access::Near;

/// Rounds of play. More gain little: the weights need not be the best.
const ROUNDS: usize = 24;
/// Most obstacles' points considered.
pub(super) const MOST: usize = 24;

/// The most that the clearance can be over a convex set of which `corners` are the corners, mm,
/// as far as `witnesses` tell; infinite without any.
pub(super) fn greatest_clearance(corners: &[Point3<f64>; 8], witnesses: &[&Near]) -> f64 {
    let mut most = [[0.0_f64; 8]; MOST];
    let count = witnesses.len().min(MOST);
    if count == 0 {
        return f64::INFINITY;
    }
    let (mut first, mut bound) = (0, f64::INFINITY);
    for (i, witness) in witnesses.iter().take(count).enumerate() {
        let mut worst = f64::NEG_INFINITY;
        for (value, corner) in most[i].iter_mut().zip(corners) {
            *value = witness.at_most_mm(corner);
            worst = worst.max(*value);
        }
        if worst < bound {
            (first, bound) = (i, worst);
        }
    }
    let mut sum = most[first];
    for round in 2..=ROUNDS {
        let corner = (0..8).fold(0, |best, j| if sum[j] > sum[best] { j } else { best });
        let reply = (0..count).fold(0, |best, i| if most[i][corner] < most[best][corner] { i } else { best });
        for (total, value) in sum.iter_mut().zip(&most[reply]) {
            *total += value;
        }
        let worst = sum.iter().fold(f64::NEG_INFINITY, |worst, total| worst.max(*total));
        bound = bound.min(worst / round as f64);
    }
    bound
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Bounds;
    use nalgebra::Vector3;

    fn witness(x: f64, y: f64, z: f64) -> Near {
        Near {
            body: 0,
            point: Point3::new(x, y, z),
            cover_mm: 0.0,
            clearance_mm: 0.0,
            away: Vector3::z_axis(),
        }
    }

    #[test]
    fn a_gap_is_bounded_to_second_order() {
        let walls = [witness(0.0, 0.0, 15.0), witness(0.0, 0.0, -15.0)];
        let refs: Vec<&Near> = walls.iter().collect();
        for half in [4.0_f64, 2.0, 1.0] {
            let half_box =
                Bounds { min: Point3::new(-half, -half, -half), max: Point3::new(half, half, half) };
            let got = greatest_clearance(&half_box.corners(), &refs);
            // Mean distance of a corner: by hand, ((15-h)^2+2h^2)^0.5 and ((15+h)^2+2h^2)^0.5.
            let side = |z: f64| (z * z + 2.0 * half * half).sqrt();
            let want = 0.5 * (side(15.0 - half) + side(15.0 + half));
            assert!((got - want).abs() < 1e-12, "half {half}: {got} against {want}");
            assert!(got - 15.0 < 1.1 * half * half / 15.0, "second order: {got}");
        }
    }

    #[test]
    fn three_walls_round_a_shaft_bound_it_across() {
        let ring: Vec<Near> = (0..3)
            .map(|i| {
                let (sin, cos) = (f64::from(i) * 2.0 * std::f64::consts::PI / 3.0).sin_cos();
                witness(20.0 * cos, 20.0 * sin, 0.0)
            })
            .collect();
        let refs: Vec<&Near> = ring.iter().collect();
        let small = Bounds { min: Point3::new(-1.0, -1.0, -1.0), max: Point3::new(1.0, 1.0, 1.0) };
        let got = greatest_clearance(&small.corners(), &refs);
        assert!((20.0..20.3).contains(&got), "{got}");
    }
}
