//! Bodies with flat faces: which axes can part two of them, and by how much.
//!
//! Two such bodies that overlap are parted by the shortest push along a face's normal or the
//! cross product of two edges; there are few, so all are tried.

use nalgebra::{Point3, Vector3};

use super::core::Core;

/// Directions of faces and edges (and, for flat bodies, the in-plane normals of their edges).
pub(crate) struct Features {
    faces: [Vector3<f64>; 4],
    face_count: usize,
    edges: [Vector3<f64>; 4],
    edge_count: usize,
}

impl Features {
    /// `None` when the core has curved faces or more of them than are worth listing.
    pub fn of(core: &Core) -> Option<Self> {
        let mut f = Features {
            faces: [Vector3::zeros(); 4],
            face_count: 0,
            edges: [Vector3::zeros(); 4],
            edge_count: 0,
        };
        match core {
            Core::Point(_) => {}
            Core::Segment([a, b]) => f.edge(b - a),
            Core::Triangle(corners) => f.triangle(&corners[0], &corners[1], &corners[2]),
            Core::Wedge(corners) => {
                f.triangle(&corners[0], &corners[1], &corners[2]);
                f.edge(corners[3] - corners[0]);
            }
            Core::Block { axes, .. } => {
                for i in 0..3 {
                    f.face(axes.column(i).into_owned());
                    f.edge(axes.column(i).into_owned());
                }
            }
            Core::Discs(_) | Core::Bend(_) | Core::Points { .. } => return None,
        }
        Some(f)
    }

    fn face(&mut self, normal: Vector3<f64>) {
        self.faces[self.face_count] = normal;
        self.face_count += 1;
    }

    fn edge(&mut self, along: Vector3<f64>) {
        self.edges[self.edge_count] = along;
        self.edge_count += 1;
    }

    fn triangle(&mut self, a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>) {
        let (ab, bc, ca) = (b - a, c - b, a - c);
        let normal = ab.cross(&bc);
        self.face(normal);
        for edge in [ab, bc, ca] {
            self.face(normal.cross(&edge));
            self.edge(edge);
        }
    }

    /// Calls `visit` with the unit axes of a pair.
    pub fn axes(&self, other: &Self, mut visit: impl FnMut(&Vector3<f64>)) {
        let mut offer = |axis: Vector3<f64>, size: f64| {
            let length = axis.norm();
            if length > 1e-10 * size && length > 0.0 {
                visit(&(axis / length));
            }
        };
        for f in [self, other] {
            for face in &f.faces[..f.face_count] {
                offer(*face, 0.0);
            }
        }
        for a in &self.edges[..self.edge_count] {
            for b in &other.edges[..other.edge_count] {
                offer(a.cross(b), a.norm() * b.norm());
            }
        }
    }
}

/// Lowest and highest point of a core along a unit axis.
pub(crate) fn extent(core: &Core, axis: &Vector3<f64>) -> (f64, f64) {
    let of = |points: &[Point3<f64>]| {
        points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), p| {
            let h = p.coords.dot(axis);
            (low.min(h), high.max(h))
        })
    };
    match core {
        Core::Point(p) => of(std::slice::from_ref(p)),
        Core::Segment(p) => of(p),
        Core::Triangle(p) => of(p),
        Core::Wedge(p) => of(p),
        Core::Block { center, axes, half_mm } => {
            let middle = center.coords.dot(axis);
            let half = (axes.transpose() * axis).abs().dot(half_mm);
            (middle - half, middle + half)
        }
        _ => (-core.support(&-axis).coords.dot(&-axis), core.support(axis).coords.dot(axis)),
    }
}

/// Shortest push of `b` that parts two overlapping flat-faced cores: length and unit direction.
pub(crate) fn shortest_push(
    a: &Core,
    b: &Core,
    features: (&Features, &Features),
) -> Option<(f64, Vector3<f64>)> {
    let mut best: Option<(f64, Vector3<f64>)> = None;
    features.0.axes(features.1, |axis| {
        let ((a0, a1), (b0, b1)) = (extent(a, axis), extent(b, axis));
        for (push, direction) in [(a1 - b0, *axis), (b1 - a0, -axis)] {
            if best.is_none_or(|(least, _)| push < least) {
                best = Some((push, direction));
            }
        }
    });
    best
}

/// Over which travels along `travel` the second body overlaps the first; `None` when never.
///
/// The ends are infinite when no axis bounds them (two bodies in one plane that slide in it
/// are bounded, because the edges' in-plane normals are among the axes).
pub(crate) fn overlap_span(
    a: &Core,
    b: &Core,
    features: (&Features, &Features),
    travel: &Vector3<f64>,
) -> Option<(f64, f64)> {
    let mut span = (f64::NEG_INFINITY, f64::INFINITY);
    let mut apart = false;
    features.0.axes(features.1, |axis| {
        let ((a0, a1), (b0, b1)) = (extent(a, axis), extent(b, axis));
        let rate = axis.dot(travel);
        if rate.abs() < 1e-14 {
            apart |= b0 > a1 || a0 > b1;
            return;
        }
        let (one, two) = ((a0 - b1) / rate, (a1 - b0) / rate);
        span.0 = span.0.max(one.min(two));
        span.1 = span.1.min(one.max(two));
    });
    (!apart && span.0 <= span.1).then_some(span)
}
