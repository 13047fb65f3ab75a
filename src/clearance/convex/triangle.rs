//! Triangles: nearest points, exact for slivers and for triangles of no area too.

use nalgebra::Point3;

use super::segment::{on_segment, segments};

/// The point of a triangle nearest to `p`.
///
/// # Source
/// Regions of the triangle's plane: Ericson, *Real-Time Collision Detection* (2005), 5.1.5 (from memory).
pub(crate) fn on_triangle(p: &Point3<f64>, [a, b, c]: &[Point3<f64>; 3]) -> Point3<f64> {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(&ap), ac.dot(&ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return *a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(&bp), ac.dot(&bp));
    if d3 >= 0.0 && d4 <= d3 {
        return *b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return on_segment(p, a, b);
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(&cp), ac.dot(&cp));
    if d6 >= 0.0 && d5 <= d6 {
        return *c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return on_segment(p, a, c);
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return on_segment(p, b, c);
    }
    let sum = va + vb + vc;
    let normal = ab.cross(&ac);
    let longest = ab.norm_squared().max(ac.norm_squared());
    if sum <= 0.0 || normal.norm_squared() <= 1e-20 * longest * longest {
        // No area to speak of: its edges are all there is.
        return [on_segment(p, a, b), on_segment(p, a, c), on_segment(p, b, c)]
            .into_iter()
            .min_by(|m, n| (m - p).norm_squared().total_cmp(&(n - p).norm_squared()))
            .unwrap_or(*a);
    }
    a + ab * (vb / sum) + ac * (vc / sum)
}

/// Where a segment pierces a triangle, if it does.
pub(crate) fn piercing(
    from: &Point3<f64>,
    to: &Point3<f64>,
    [a, b, c]: &[Point3<f64>; 3],
) -> Option<Point3<f64>> {
    let normal = (b - a).cross(&(c - a));
    let (h0, h1) = (normal.dot(&(from - a)), normal.dot(&(to - a)));
    if (h0 > 0.0) == (h1 > 0.0) && h0 != 0.0 && h1 != 0.0 {
        return None;
    }
    let span = h0 - h1;
    if span == 0.0 {
        return None;
    }
    let at = from + (to - from) * (h0 / span);
    let inside = |p: &Point3<f64>, q: &Point3<f64>| (q - p).cross(&(at - p)).dot(&normal) >= 0.0;
    (inside(a, b) && inside(b, c) && inside(c, a)).then_some(at)
}

/// Nearest points of two triangles, one on each; the same point twice when they meet.
///
/// Exact to rounding: nine pairs of edges, six corners against faces, six piercings.
pub(crate) fn triangles(s: &[Point3<f64>; 3], t: &[Point3<f64>; 3]) -> (Point3<f64>, Point3<f64>) {
    let mut best = (s[0], t[0]);
    let mut best_sq = f64::INFINITY;
    for i in 0..3 {
        for j in 0..3 {
            let pair = segments([&s[i], &s[(i + 1) % 3]], [&t[j], &t[(j + 1) % 3]]);
            let sq = (pair.1 - pair.0).norm_squared();
            if sq < best_sq {
                best_sq = sq;
                best = pair;
            }
        }
    }
    for p in s {
        let q = on_triangle(p, t);
        let sq = (q - p).norm_squared();
        if sq < best_sq {
            best_sq = sq;
            best = (*p, q);
        }
    }
    for q in t {
        let p = on_triangle(q, s);
        let sq = (q - p).norm_squared();
        if sq < best_sq {
            best_sq = sq;
            best = (p, *q);
        }
    }
    for i in 0..3 {
        if let Some(at) = piercing(&s[i], &s[(i + 1) % 3], t).or_else(|| piercing(&t[i], &t[(i + 1) % 3], s))
        {
            return (at, at);
        }
    }
    best
}

/// Nearest points of a segment and a triangle.
pub(crate) fn segment_triangle(s: &[Point3<f64>; 2], t: &[Point3<f64>; 3]) -> (Point3<f64>, Point3<f64>) {
    if let Some(at) = piercing(&s[0], &s[1], t) {
        return (at, at);
    }
    let mut best = (s[0], on_triangle(&s[0], t));
    let mut best_sq = (best.1 - best.0).norm_squared();
    let other = (s[1], on_triangle(&s[1], t));
    let edges = (0..3).map(|j| segments([&s[0], &s[1]], [&t[j], &t[(j + 1) % 3]]));
    for pair in std::iter::once(other).chain(edges) {
        let sq = (pair.1 - pair.0).norm_squared();
        if sq < best_sq {
            best_sq = sq;
            best = pair;
        }
    }
    best
}
