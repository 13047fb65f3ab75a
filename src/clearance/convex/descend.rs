//! Distance of two convex cores, by descent on their Minkowski difference.
//!
//! A simplex of support points closes in on the point of `B - A` nearest to the origin. Each step
//! has a true upper bound (the nearest point of the simplex) and a true lower bound (the support
//! plane), so that stopping needs no faith: it stops when they meet or can't be told apart in f64.
//!
//! # Source
//! Gilbert, Johnson and Keerthi 1988 (from memory); the simplex step here compares all faces
//! instead of trusting the signs of nearly flat tetrahedra.

use nalgebra::{Point3, Vector3};

use super::core::Core;

/// A point of `B - A` and the points it comes from.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Vertex {
    pub w: Vector3<f64>,
    pub on_a: Point3<f64>,
    pub on_b: Point3<f64>,
}

impl Vertex {
    /// The vertex of `b - a` that lies farthest along `toward`.
    pub fn support(a: &Core, b: &Core, toward: &Vector3<f64>) -> Self {
        let (on_b, on_a) = (b.support(toward), a.support(&-toward));
        Vertex { w: on_b - on_a, on_a, on_b }
    }
}

/// How two cores stand.
pub(crate) enum Stand {
    /// Apart: `distance_mm` with the nearest points; no pair of points is nearer than `lower_mm`.
    /// `normal` (unit, from `a` to `b`) is the plane that proves the lower bound.
    Apart { distance_mm: f64, lower_mm: f64, normal: Vector3<f64>, on_a: Point3<f64>, on_b: Point3<f64> },
    /// They meet; the simplex surrounds the origin (or touches it).
    /// `push` is the shortest push met on the way that parts them, and its unit direction.
    Meeting { simplex: Vec<Vertex>, push: (f64, Vector3<f64>) },
}

/// A simplex with the bounds that its nearest point has earned.
struct Answer {
    upper_mm: f64,
    lower_mm: f64,
    simplex: Simplex,
}

#[derive(Clone)]
struct Simplex {
    vertices: [Vertex; 4],
    weights: [f64; 4],
    count: usize,
}

impl Simplex {
    fn combine<T>(&self, of: impl Fn(&Vertex) -> T, zero: T) -> T
    where
        T: std::ops::Add<Output = T> + std::ops::Mul<f64, Output = T>,
    {
        (0..self.count).fold(zero, |sum, i| sum + of(&self.vertices[i]) * self.weights[i])
    }

    fn nearest(&self) -> Vector3<f64> {
        self.combine(|v| v.w, Vector3::zeros())
    }

    /// Keeps only the vertices of the face nearest to the origin; false when the origin is inside.
    fn reduce(&mut self) -> bool {
        match self.count {
            1 => self.weights[0] = 1.0,
            2 => {
                let (subset, weights) = segment_weights(&self.vertices, [0, 1]);
                self.keep(&subset, &weights);
            }
            3 => {
                let (subset, weights) = triangle_weights(&self.vertices, [0, 1, 2]);
                self.keep(&subset, &weights);
            }
            _ => {
                if surrounds_origin(&self.vertices) {
                    return false;
                }
                let mut best_sq = f64::INFINITY;
                let mut best = ([0usize; 3], [0.0; 3]);
                // The newest vertex is last; the face without it was the last answer.
                for face in [[0, 1, 3], [0, 2, 3], [1, 2, 3], [0, 1, 2]] {
                    let (subset, weights) = triangle_weights(&self.vertices, face);
                    let point = (0..3).fold(Vector3::zeros(), |sum: Vector3<f64>, i| {
                        sum + self.vertices[subset[i]].w * weights[i]
                    });
                    let sq = point.norm_squared();
                    if sq < best_sq {
                        best_sq = sq;
                        best = (subset, weights);
                    }
                }
                self.keep(&best.0, &best.1);
            }
        }
        true
    }

    fn keep(&mut self, subset: &[usize], weights: &[f64]) {
        let mut kept = self.vertices;
        let mut count = 0;
        for (index, weight) in subset.iter().zip(weights) {
            if *weight > 0.0 {
                kept[count] = self.vertices[*index];
                self.weights[count] = *weight;
                count += 1;
            }
        }
        self.vertices = kept;
        self.count = count;
    }

    fn add(&mut self, vertex: Vertex) {
        self.vertices[self.count] = vertex;
        self.count += 1;
    }
}

fn segment_weights(v: &[Vertex; 4], [i, j]: [usize; 2]) -> ([usize; 2], [f64; 2]) {
    let along = v[j].w - v[i].w;
    let length_sq = along.norm_squared();
    if length_sq <= 0.0 {
        return ([i, j], [1.0, 0.0]);
    }
    let first = -v[i].w.dot(&along) / length_sq;
    let t = (first - (v[i].w + along * first).dot(&along) / length_sq).clamp(0.0, 1.0);
    ([i, j], [1.0 - t, t])
}

fn triangle_weights(v: &[Vertex; 4], [i, j, k]: [usize; 3]) -> ([usize; 3], [f64; 3]) {
    let (a, b, c) = (v[i].w, v[j].w, v[k].w);
    let (ab, ac, bc) = (b - a, c - a, c - b);
    // The normal from the two shorter edges keeps its figures on slivers.
    let longest = ab.norm_squared().max(ac.norm_squared()).max(bc.norm_squared());
    let normal = if longest == bc.norm_squared() {
        ab.cross(&ac)
    } else if longest == ac.norm_squared() {
        bc.cross(&-ab)
    } else {
        ac.cross(&bc)
    };
    let area_sq = normal.norm_squared();
    if area_sq > 1e-26 * longest * longest {
        // Weights of the foot of the origin, each from the edge opposite.
        let wa = normal.dot(&b.cross(&c));
        let wb = normal.dot(&c.cross(&a));
        let wc = normal.dot(&a.cross(&b));
        if wa >= 0.0 && wb >= 0.0 && wc >= 0.0 {
            let sum = wa + wb + wc;
            if sum > 0.0 {
                return ([i, j, k], sharpened([a, b, c], [wa / sum, wb / sum, wc / sum]));
            }
        }
    }
    let mut best = ([i, j, k], [1.0, 0.0, 0.0]);
    let mut best_sq = f64::INFINITY;
    for (m, n, other) in [(i, j, k), (i, k, j), (j, k, i)] {
        let (_, [s, t]) = segment_weights(v, [m, n]);
        let sq = (v[m].w * s + v[n].w * t).norm_squared();
        if sq < best_sq {
            best_sq = sq;
            best = ([m, n, other], [s, t, 0.0]);
        }
    }
    best
}

/// Takes back what cancellation cost the weights: solves again for what the foot is off by.
fn sharpened([a, b, c]: [Vector3<f64>; 3], weights: [f64; 3]) -> [f64; 3] {
    let (ab, ac) = (b - a, c - a);
    let (bb, bc, cc) = (ab.norm_squared(), ab.dot(&ac), ac.norm_squared());
    let det = bb * cc - bc * bc;
    let [mut wa, mut wb, mut wc] = weights;
    if det <= 1e-14 * bb * cc {
        return weights;
    }
    for _ in 0..2 {
        let foot = a + ab * wb + ac * wc;
        let (fb, fc) = (ab.dot(&foot), ac.dot(&foot));
        wb -= (cc * fb - bc * fc) / det;
        wc -= (bb * fc - bc * fb) / det;
        wa = 1.0 - wb - wc;
    }
    if wa >= 0.0 && wb >= 0.0 && wc >= 0.0 { [wa, wb, wc] } else { weights }
}

/// Whether the origin lies on the inner side of all four faces, each judged from its own nearest corner
/// so that small faces far from the origin keep their figures.
fn surrounds_origin(v: &[Vertex; 4]) -> bool {
    let size = v.iter().map(|p| (p.w - v[0].w).norm_squared()).fold(0.0, f64::max).sqrt();
    [[1, 2, 3, 0], [0, 2, 3, 1], [0, 1, 3, 2], [0, 1, 2, 3]].iter().all(|[i, j, k, opposite]| {
        let (a, b, c) = (v[*i].w, v[*j].w, v[*k].w);
        let normal = (b - a).cross(&(c - a));
        let foot =
            [a, b, c].into_iter().min_by(|p, q| p.norm_squared().total_cmp(&q.norm_squared())).unwrap_or(a);
        let thickness = normal.dot(&(v[*opposite].w - foot));
        let origin = -normal.dot(&foot);
        thickness.abs() > 1e-13 * size * normal.norm() && origin * thickness.signum() >= 0.0
    })
}

/// Distance between two cores.
///
/// Accurate to about 1e-13 of the bodies' size for flat faces and 1e-11 for curved ones;
/// `lower_mm` tells what is certain.
pub(crate) fn distance(a: &Core, b: &Core) -> Stand {
    let mut toward = a.center() - b.center();
    if toward.norm_squared() == 0.0 {
        toward = Vector3::x();
    }
    let mut best = descend(a, b, &toward);
    // A simplex that rounding has flattened may stop short of the answer: the bounds then disagree,
    // and a start from elsewhere meets other simplices.
    for other in [Vector3::new(1.0, 0.3, -0.2), Vector3::new(-0.4, 1.0, 0.7), Vector3::new(0.2, -0.6, 1.0)] {
        if best.doubt_mm() <= 1e-10 * (1.0 + toward.norm()) {
            return best;
        }
        let next = descend(a, b, &other);
        if next.doubt_mm() < best.doubt_mm() {
            best = next;
        }
    }
    if best.doubt_mm() > 1e-10 * (1.0 + toward.norm()) { near_contact(a, b, best) } else { best }
}

/// Mends an answer whose bounds disagree: so near contact the plane between two cores is lost to
/// rounding, but a little farther out it is plain, and there it is as good.
fn near_contact(a: &Core, b: &Core, stand: Stand) -> Stand {
    let Stand::Apart { distance_mm, mut lower_mm, mut normal, mut on_a, mut on_b } = stand else {
        return stand;
    };
    let size = (a.center() - b.center()).norm() + distance_mm;
    for pull in [1e-2, 1e-3, 1e-4, 1e-5] {
        let out = normal * (pull * size);
        if let Stand::Apart { normal: n, on_a: p, on_b: q, .. } = descend(a, &b.shifted(&out), &-normal) {
            let apart_mm = b.support(&-n).coords.dot(&n) - a.support(&n).coords.dot(&n);
            if apart_mm > lower_mm {
                (lower_mm, normal, on_a, on_b) = (apart_mm, n, p, q - out);
            }
        }
    }
    if lower_mm > 0.0 {
        Stand::Apart { distance_mm: lower_mm.min(distance_mm), lower_mm, normal, on_a, on_b }
    } else {
        Stand::Meeting { simplex: Vec::new(), push: (-lower_mm, normal) }
    }
}

impl Stand {
    /// How far apart the bounds are.
    fn doubt_mm(&self) -> f64 {
        match self {
            Stand::Apart { distance_mm, lower_mm, .. } => distance_mm - lower_mm,
            Stand::Meeting { .. } => 0.0,
        }
    }
}

fn descend(a: &Core, b: &Core, toward: &Vector3<f64>) -> Stand {
    let first = Vertex::support(a, b, toward);
    let mut simplex = Simplex { vertices: [first; 4], weights: [1.0, 0.0, 0.0, 0.0], count: 1 };
    let mut scale = first.w.norm().max(first.on_a.coords.amax()).max(first.on_b.coords.amax());
    let mut nearest = first.w;
    let mut best: Option<Answer> = None;
    let mut push = (f64::INFINITY, Vector3::z());
    for _ in 0..200 {
        let upper = nearest.norm();
        if upper <= 1e-14 * scale {
            return Stand::Meeting { simplex: simplex.vertices[..simplex.count].to_vec(), push };
        }
        let vertex = Vertex::support(a, b, &-nearest);
        scale = scale.max(vertex.w.norm());
        let lower = nearest.dot(&vertex.w) / upper;
        if -lower < push.0 {
            push = (-lower, nearest / upper);
        }
        if best.as_ref().is_none_or(|best| upper - lower < best.upper_mm - best.lower_mm) {
            best = Some(Answer { upper_mm: upper, lower_mm: lower, simplex: simplex.clone() });
        }
        if upper - lower <= 1e-13 * scale || simplex.vertices[..simplex.count].iter().any(|v| v.w == vertex.w)
        {
            break;
        }
        simplex.add(vertex);
        if !simplex.reduce() {
            if push.0 < -1e-13 * scale {
                // A plane between them has been seen: the simplex is flat, not round the origin.
                break;
            }
            return Stand::Meeting { simplex: simplex.vertices[..4].to_vec(), push };
        }
        nearest = simplex.nearest();
        if nearest.norm() >= upper {
            // Rounding has the last word.
            break;
        }
    }
    let Answer { upper_mm, lower_mm, simplex } =
        best.unwrap_or(Answer { upper_mm: nearest.norm(), lower_mm: 0.0, simplex });
    let on_a = simplex.combine(|v| v.on_a.coords, Vector3::zeros());
    let on_b = simplex.combine(|v| v.on_b.coords, Vector3::zeros());
    let normal = simplex.nearest() / upper_mm;
    Stand::Apart {
        distance_mm: upper_mm,
        lower_mm,
        normal,
        on_a: Point3::from(on_a),
        on_b: Point3::from(on_b),
    }
}
