//! How far along a straight line two convex bodies overlap.

use nalgebra::Vector3;

use super::core::Convex;
use super::descend::{Stand, distance};
use super::flat::{self, Features};

/// The travel of `b` along the unit vector `travel` after which it has left `a` for good; `None`
/// when it never meets it on that line.
///
/// Comes from outside: each support plane of the gap says how far back `b` may come, so the
/// result is not short of the true exit, and the bodies are then within 1e-9 of their size of contact.
pub(crate) fn overlap_exit(a: &Convex, b: &Convex, travel: &Vector3<f64>) -> Option<f64> {
    if let Some(span) = flat_span(a, b, travel) {
        return span.map(|span| span.1);
    }
    let mut at_mm = a.reach(travel) + b.reach(&-travel);
    let size = a.reach(travel) + a.reach(&-travel) + b.reach(travel) + b.reach(&-travel);
    let near = 1e-11 * (size + at_mm.abs()).max(1e-3);
    for _ in 0..100 {
        let moved = b.shifted(&(travel * at_mm));
        // The plane's own separation, not the points' distance: this one never promises too much.
        let (mut normal, mut apart_mm) = match distance(&a.core, &moved.core) {
            Stand::Apart { lower_mm, normal, .. } => (normal, lower_mm - a.radius_mm - b.radius_mm),
            Stand::Meeting { .. } => (*travel, 0.0),
        };
        if apart_mm <= near {
            // Very near contact the plane is lost to rounding: take it from a little farther out.
            let out = b.shifted(&(travel * (at_mm + 1e-5 * size)));
            if let Stand::Apart { normal: known, .. } = distance(&a.core, &out.core) {
                normal = known;
                apart_mm = -moved.reach(&-known) - a.reach(&known);
            }
            if apart_mm <= near {
                return Some(at_mm);
            }
        }
        let rate = normal.dot(travel);
        if rate <= 1e-12 {
            return None;
        }
        at_mm -= apart_mm / rate;
    }
    // A grazing line that has not settled: the travel is safe, if a little long.
    Some(at_mm)
}

/// Whether two convex bodies overlap, or touch within rounding; much cheaper than how deep.
pub(crate) fn overlap(a: &Convex, b: &Convex) -> bool {
    match distance(&a.core, &b.core) {
        Stand::Meeting { .. } => true,
        Stand::Apart { distance_mm, .. } => distance_mm - a.radius_mm - b.radius_mm < -1e-9,
    }
}

/// For two flat-faced bodies without radius, the travels on which they overlap (`Some(None)`: none);
/// `None` when there is no such formula for the pair.
pub(crate) fn flat_span(a: &Convex, b: &Convex, travel: &Vector3<f64>) -> Option<Option<(f64, f64)>> {
    if a.radius_mm + b.radius_mm > 0.0 {
        return None;
    }
    let (fa, fb) = (Features::of(&a.core)?, Features::of(&b.core)?);
    let span = flat::overlap_span(&a.core, &b.core, (&fa, &fb), travel);
    // A body with too few faces to bound the travel (a triangle of no area) is no case for the formula.
    if span.is_some_and(|(enter, exit)| !enter.is_finite() || !exit.is_finite()) { None } else { Some(span) }
}
