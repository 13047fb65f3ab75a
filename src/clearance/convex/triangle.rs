//! Triangles: nearest points, exact for slivers and for triangles of no area too.

use nalgebra::{Point3, Vector3};

use super::segment::{on_segment, segments};

/// The point of a triangle nearest to `p`.
///
/// # Source
/// Regions of the triangle's plane: Ericson, *Real-Time Collision Detection* (2005), 5.1.5 (from memory).
#[inline]
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
#[inline]
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
#[inline]
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

/// A triangle's plane as another triangle's corners see it.
struct Sides {
    normal: Vector3<f64>,
    length_sq: f64,
    /// Heights of the other's corners times the normal's length.
    heights: [f64; 3],
}

impl Sides {
    #[inline]
    fn of(s: &[Point3<f64>; 3], t: &[Point3<f64>; 3]) -> Self {
        let normal = (s[1] - s[0]).cross(&(s[2] - s[0]));
        let heights = [0, 1, 2].map(|i| normal.dot(&(t[i] - s[0])));
        Sides { normal, length_sq: normal.norm_squared(), heights }
    }

    /// The other's corner nearest to the plane when all of it lies on one side, well off rounding.
    #[inline]
    fn foremost(&self) -> Option<usize> {
        let [a, b, c] = self.heights;
        let one_side = (a > 0.0 && b > 0.0 && c > 0.0) || (a < 0.0 && b < 0.0 && c < 0.0);
        let i = if a.abs() <= b.abs() && a.abs() <= c.abs() { 0 } else { 1 + usize::from(c.abs() < b.abs()) };
        one_side.then_some(i)
    }

    /// The foot of a corner, when it lands on the triangle: then nothing is nearer.
    #[inline]
    fn foot(&self, s: &[Point3<f64>; 3], p: &Point3<f64>, height: f64) -> Option<Point3<f64>> {
        let inside = |a: &Point3<f64>, b: &Point3<f64>| (b - a).cross(&(p - a)).dot(&self.normal) >= 0.0;
        (inside(&s[0], &s[1]) && inside(&s[1], &s[2]) && inside(&s[2], &s[0]))
            .then(|| p - self.normal * (height / self.length_sq))
    }
}

/// As [`triangles`], but `None` as soon as it is certain that they are no nearer than `limit_mm`.
///
/// A triangle wholly on one side of the other's plane is at least as far as its foremost corner; when
/// that corner's foot lands on the other, that is the answer and the nine pairs of edges are spared.
#[inline]
pub(crate) fn triangles_under(
    s: &[Point3<f64>; 3],
    t: &[Point3<f64>; 3],
    limit_mm: f64,
) -> Option<(Point3<f64>, Point3<f64>)> {
    let limit_sq = limit_mm.max(0.0) * limit_mm.max(0.0);
    let (of_s, of_t) = (Sides::of(s, t), Sides::of(t, s));
    let (front_t, front_s) = (of_s.foremost(), of_t.foremost());
    if front_t.is_none() && front_s.is_none() {
        return Some(triangles(s, t));
    }
    let mut best: Option<(Point3<f64>, Point3<f64>)> = None;
    let mut best_sq = limit_sq;
    for (front, sides) in [(front_t, &of_s), (front_s, &of_t)] {
        if let Some(i) = front
            && sides.heights[i] * sides.heights[i] >= best_sq * sides.length_sq
        {
            return None;
        }
    }
    if let Some(i) = front_t
        && let Some(foot) = of_s.foot(s, &t[i], of_s.heights[i])
    {
        return Some((foot, t[i]));
    }
    if let Some(i) = front_s
        && let Some(foot) = of_t.foot(t, &s[i], of_t.heights[i])
    {
        return Some((s[i], foot));
    }
    // Corners that stand over the other's face are done with; what is left is edge to edge, which
    // covers corners against edges too. A face with no triangle wholly before it still needs corners.
    for i in 0..3 {
        let (k, h) = ((i + 1) % 3, &of_t.heights);
        if front_s.is_some() && h[i].abs().min(h[k].abs()).powi(2) >= best_sq * of_t.length_sq {
            continue;
        }
        for j in 0..3 {
            let pair = segments([&s[i], &s[k]], [&t[j], &t[(j + 1) % 3]]);
            let across = pair.1 - pair.0;
            let sq = across.norm_squared();
            // Both third corners lie behind their edges: the slab between the points holds nothing else.
            if across.dot(&(s[(i + 2) % 3] - pair.0)) <= 0.0 && across.dot(&(t[(j + 2) % 3] - pair.1)) >= 0.0
            {
                return (sq < limit_sq).then_some(pair);
            }
            if sq < best_sq {
                best_sq = sq;
                best = Some(pair);
            }
        }
    }
    let mut offer = |p: Point3<f64>, q: Point3<f64>| {
        let sq = (q - p).norm_squared();
        if sq < best_sq {
            best_sq = sq;
            best = Some((p, q));
        }
    };
    if front_t.is_none() {
        t.iter().for_each(|q| offer(on_triangle(q, s), *q));
    }
    if front_s.is_none() {
        s.iter().for_each(|p| offer(*p, on_triangle(p, t)));
    }
    best
}

/// Nearest points of a segment and a triangle.
#[inline]
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
