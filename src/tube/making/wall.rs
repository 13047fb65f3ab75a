//! What bending does to the outside of a bend.

/// Wall left at the outside of a bend, mm: t R / (R + D / 2).
///
/// Every fibre keeps its area and the centreline its length: `common practice, no source`. A machine that
/// pushes the tube round thins it less. At R of 1, 1.5, 2 and 3 D it thins by 1/3, 1/4, 1/5 and 1/7.
pub fn outer_wall_mm(wall_mm: f64, outside_mm: f64, radius_mm: f64) -> f64 {
    wall_mm * radius_mm / (radius_mm + outside_mm / 2.0)
}

/// How much longer the outermost fibre gets, as a part of its length: D / 2R (geometry).
pub fn outer_strain(outside_mm: f64, radius_mm: f64) -> f64 {
    outside_mm / (2.0 * radius_mm)
}

/// The centreline radius at which the outer wall thins by no more than a share, mm: from
/// [`outer_wall_mm`], R = (D / 2) (1 - share) / share.
pub fn radius_for_thinning_mm(outside_mm: f64, share: f64) -> f64 {
    outside_mm / 2.0 * (1.0 - share) / share
}
