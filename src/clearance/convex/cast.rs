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
    if a.radius_mm + b.radius_mm == 0.0
        && let (Some(fa), Some(fb)) = (Features::of(&a.core), Features::of(&b.core))
    {
        return flat::overlap_span(&a.core, &b.core, (&fa, &fb), travel).map(|span| span.1);
    }
    let mut at_mm = a.reach(travel) + b.reach(&-travel);
    let size = a.reach(travel) + a.reach(&-travel) + b.reach(travel) + b.reach(&-travel);
    let near = 1e-11 * (size + at_mm.abs()).max(1e-3);
    for _ in 0..100 {
        let moved = b.shifted(&(travel * at_mm));
        let Stand::Apart { distance_mm, lower_mm, normal, .. } = distance(&a.core, &moved.core) else {
            return Some(at_mm);
        };
        let radii_mm = a.radius_mm + b.radius_mm;
        if distance_mm - radii_mm <= near {
            return Some(at_mm);
        }
        // The plane's own separation, not the points' distance: this one never promises too much.
        let rate = normal.dot(travel);
        let by_plane = (lower_mm - radii_mm) / rate;
        // Near contact the plane is lost to rounding, but a step within the gap is always safe.
        let by_gap = (distance_mm - radii_mm) * 0.9;
        if rate <= 1e-12 && by_gap > 1e3 * near {
            return None;
        }
        at_mm -= if rate > 1e-12 { by_plane.max(by_gap) } else { by_gap };
    }
    // A grazing line that has not settled: the travel is safe, if a little long.
    Some(at_mm)
}

/// For two flat-faced bodies without radius, the travels on which they overlap (`Some(None)`: none);
/// `None` when there is no such formula for the pair.
pub(crate) fn flat_span(a: &Convex, b: &Convex, travel: &Vector3<f64>) -> Option<Option<(f64, f64)>> {
    if a.radius_mm + b.radius_mm > 0.0 {
        return None;
    }
    let (fa, fb) = (Features::of(&a.core)?, Features::of(&b.core)?);
    Some(flat::overlap_span(&a.core, &b.core, (&fa, &fb), travel))
}
