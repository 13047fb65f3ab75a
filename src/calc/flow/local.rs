//! Loss coefficients of bends and of changes of bore, in velocity heads.

/// Loss coefficient of a smooth bend, over and above the friction of as much straight tube.
///
/// `factor` is the friction factor of the bore, `radius_share` the centreline radius over the bore. Made from
/// turbulent flow in smooth bends of up to 180 deg with straight tube before and after; bends close together
/// influence each other, which is not counted. Other published formulae differ by up to 36 in a hundred at 90
/// deg, and more at small angles: take it as known to 40.
///
/// # Source
/// Rennels & Hudson, *Pipe Flow* (2012), the bend's secondary flow and separation terms (from memory; the tests hold
/// it to a general-purpose library that gives the book's formula and a worked example).
pub fn bend_loss(factor: f64, radius_share: f64, angle_rad: f64) -> f64 {
    let half = (angle_rad / 2.0).sin();
    let secondary = (0.10 + 2.4 * factor) * half;
    let separation =
        6.6 * factor * (half.sqrt() + half) / radius_share.powf(4.0 * angle_rad / std::f64::consts::PI);
    secondary + separation
}

/// Loss coefficient of a change of bore, sudden or along a cone, in velocity heads of the narrower bore. Friction
/// along the cone is within it.
///
/// # Source
/// Crane, *Flow of Fluids*, TP 410M (1979), p. A-26: wider 2.6 sin(a/2) (1 - b^2)^2 up to a whole angle of 45 deg, over
/// that (1 - b^2)^2; narrower 0.8 sin(a/2) (1 - b^2), over that 0.5 sqrt(sin(a/2)) (1 - b^2); b is narrow over wide.
pub(super) fn change_loss(from_mm: f64, to_mm: f64, length_mm: f64) -> f64 {
    let (narrow, wide) = (from_mm.min(to_mm), from_mm.max(to_mm));
    let area = 1.0 - (narrow / wide).powi(2);
    let half = ((wide - narrow) / 2.0).atan2(length_mm);
    let gentle = half <= std::f64::consts::FRAC_PI_8;
    match (to_mm > from_mm, gentle) {
        (true, true) => (2.6 * half.sin()).min(1.0) * area * area,
        (true, false) => area * area,
        (false, true) => 0.8 * half.sin() * area,
        (false, false) => 0.5 * half.sin().sqrt() * area,
    }
}
