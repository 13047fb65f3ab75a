//! The friction factor of a wall.

/// Reynolds number up to which flow is taken to be laminar.
pub(super) const LAMINAR: f64 = 2300.0;

/// Darcy's friction factor of a round bore, from the Reynolds number and roughness over bore.
///
/// Laminar up to a Reynolds number of 2300; over that the turbulent factor, also where neither is sure (up to some
/// 4000), because it is the greater. Exact to rounding for the formula; real walls are within some 15 in a hundred of
/// it (White, *Fluid Mechanics*, ch. 6, from memory).
///
/// # Source
/// 64 / Re; Colebrook, J. Inst. Civ. Eng. 11 (1939) 133: 1/sqrt f = -2 log10(e/3.7D + 2.51/(Re sqrt f)), solved by
/// Newton's method in 1/sqrt f.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::calc::friction_factor;
/// assert_eq!(friction_factor(1600.0, 0.0), 0.04); // 64 / 1600
/// assert!((friction_factor(1e5, 1e-3) - 0.0221745).abs() < 1e-6);
/// ```
pub fn friction_factor(reynolds: f64, roughness_share: f64) -> f64 {
    if reynolds <= LAMINAR {
        return 64.0 / reynolds;
    }
    let (a, b) = (roughness_share / 3.7, 2.51 / reynolds);
    // x = 1/sqrt f; x + 2 log10(a + b x) = 0 rises and is concave: from the left Newton's steps do not pass the root.
    let mut x = 1.0;
    for _ in 0..50 {
        let inside = a + b * x;
        let value = x + 2.0 * inside.log10();
        let step = value / (1.0 + 2.0 / std::f64::consts::LN_10 * b / inside);
        x -= step;
        if step.abs() < 1e-14 * x.abs() {
            break;
        }
    }
    1.0 / (x * x)
}
