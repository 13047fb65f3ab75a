//! Depth of two overlapping convex cores, by growing a polytope inside their Minkowski difference.
//!
//! The face nearest to the origin bounds the depth from below, each support plane met on the way
//! bounds it from above; the answer is the least support plane found, so that a push by it
//! certainly parts the cores. Flat faces end it exactly. Curved ones would go on for ever where
//! many directions are as good (a bar within a tube), so after a while the best direction is
//! turned downhill instead: the push as a function of direction is smooth there.

use nalgebra::Vector3;

use super::core::Core;
use super::descend::Vertex;
use super::segment::perpendicular;

struct Face {
    corners: [usize; 3],
    normal: Vector3<f64>,
    height_mm: f64,
}

/// Shortest push of `b` found that parts the cores: its length and unit direction.
pub(crate) fn shortest_push(a: &Core, b: &Core, simplex: &[Vertex]) -> (f64, Vector3<f64>) {
    let mut points: Vec<Vector3<f64>> = Vec::with_capacity(64);
    for vertex in simplex {
        if !points.contains(&vertex.w) {
            points.push(vertex.w);
        }
    }
    let mut best = Best { push_mm: f64::INFINITY, direction: Vector3::z() };
    let size = size_of(a, b);
    if let Some(flat) = complete(a, b, &mut points, size, &mut best) {
        return (flat.push_mm.max(0.0), flat.direction);
    }
    let mut faces = Vec::with_capacity(128);
    let inside = points.iter().sum::<Vector3<f64>>() / 4.0;
    for corners in [[0, 1, 2], [0, 1, 3], [0, 2, 3], [1, 2, 3]] {
        add_face(&mut faces, &points, corners, &inside);
    }
    for _ in 0..160 {
        let Some(nearest) =
            (0..faces.len()).min_by(|i, j| faces[*i].height_mm.total_cmp(&faces[*j].height_mm))
        else {
            break;
        };
        let (normal, height) = (faces[nearest].normal, faces[nearest].height_mm);
        if best.push_mm - height <= 1e-12 * size {
            return (best.push_mm.max(0.0), best.direction);
        }
        let vertex = Vertex::support(a, b, &normal);
        let reach = vertex.w.dot(&normal);
        best.offer(reach, -normal);
        if reach - height <= 1e-12 * size || points.contains(&vertex.w) {
            // Nothing lies beyond this face: it is final; the nearest final face is the answer.
            if best.push_mm - height <= 1e-10 * size {
                return (best.push_mm.max(0.0), best.direction);
            }
            faces[nearest].height_mm = f64::INFINITY;
            continue;
        }
        grow(&mut faces, &mut points, vertex.w, &inside, size);
        if faces.len() > 2 * points.len() {
            // More faces than Euler allows: rounding has torn the polytope.
            break;
        }
    }
    best.downhill(a, b, size);
    (best.push_mm.max(0.0), best.direction)
}

struct Best {
    push_mm: f64,
    direction: Vector3<f64>,
}

impl Best {
    fn offer(&mut self, push_mm: f64, direction: Vector3<f64>) {
        if push_mm < self.push_mm {
            *self = Best { push_mm, direction };
        }
    }

    /// Turns the direction against the slope of the push until it no longer shortens.
    fn downhill(&mut self, a: &Core, b: &Core, size: f64) {
        let mut step = 1.0 / size;
        for _ in 0..60 {
            let toward = -self.direction;
            let w = Vertex::support(a, b, &toward).w;
            let slope = w - toward * toward.dot(&w);
            if slope.norm() <= 1e-9 * size || step * size < 1e-9 {
                return;
            }
            let Some(next) = (toward - slope * step).try_normalize(1e-12) else { return };
            let before = self.push_mm;
            self.offer(Vertex::support(a, b, &next).w.dot(&next), -next);
            step = if self.push_mm < before { step * 1.6 } else { step / 3.0 };
        }
    }
}

fn size_of(a: &Core, b: &Core) -> f64 {
    [Vector3::x(), Vector3::y(), Vector3::z()]
        .iter()
        .map(|d| Vertex::support(a, b, d).w.dot(d) - Vertex::support(a, b, &-d).w.dot(d))
        .fold(1e-300, f64::max)
}

/// Adds support points until there are four that are not in one plane; when there is no such
/// four, the difference is flat and its normal is the answer.
fn complete(a: &Core, b: &Core, points: &mut Vec<Vector3<f64>>, size: f64, best: &mut Best) -> Option<Best> {
    let thin = 1e-11 * size;
    points.truncate(4);
    if points.len() == 4 {
        let normal = (points[1] - points[0]).cross(&(points[2] - points[0]));
        if normal.norm() > thin * size && (points[3] - points[0]).dot(&normal).abs() > thin * normal.norm() {
            return None;
        }
        points.truncate(3);
    }
    if points.is_empty() {
        points.push(Vertex::support(a, b, &Vector3::x()).w);
    }
    let mut spread = |points: &mut Vec<Vector3<f64>>,
                      directions: &[Vector3<f64>],
                      measure: &dyn Fn(&Vector3<f64>) -> f64| {
        let mut farthest: Option<(f64, Vector3<f64>)> = None;
        for direction in directions.iter().flat_map(|d| [*d, -d]) {
            let w = Vertex::support(a, b, &direction).w;
            best.offer(w.dot(&direction), -direction);
            let far = measure(&w);
            if far > thin && farthest.is_none_or(|(most, _)| far > most) {
                farthest = Some((far, w));
            }
        }
        if let Some((_, w)) = farthest {
            points.push(w);
        }
        farthest.is_some()
    };
    if points.len() >= 2 && (points[1] - points[0]).norm() <= thin {
        points.truncate(1);
    }
    if points.len() >= 3 {
        let along = points[1] - points[0];
        if along.cross(&(points[2] - points[0])).norm() <= thin * along.norm() {
            points.truncate(2);
        }
    }
    if points.len() == 1 {
        let first = points[0];
        let axes = [Vector3::x(), Vector3::y(), Vector3::z()];
        if !spread(points, &axes, &|w| (w - first).norm()) {
            return Some(Best { push_mm: 0.0, direction: Vector3::z() });
        }
    }
    if points.len() == 2 {
        let (first, along) = (points[0], (points[1] - points[0]).normalize());
        let side = perpendicular(&along);
        let axes = [side, along.cross(&side)];
        if !spread(points, &axes, &|w| (w - first).cross(&along).norm()) {
            return Some(Best { push_mm: 0.0, direction: side });
        }
    }
    let (first, normal) = (points[0], (points[1] - points[0]).cross(&(points[2] - points[0])).normalize());
    if !spread(points, &[normal], &|w| (w - first).dot(&normal).abs()) {
        return Some(Best { push_mm: 0.0, direction: normal });
    }
    None
}

fn add_face(faces: &mut Vec<Face>, points: &[Vector3<f64>], corners: [usize; 3], inside: &Vector3<f64>) {
    let [a, b, c] = corners.map(|i| points[i]);
    let cross = (b - a).cross(&(c - a));
    let length = cross.norm();
    if length <= 1e-300 {
        return;
    }
    let mut face = Face { corners, normal: cross / length, height_mm: 0.0 };
    if face.normal.dot(&(a - inside)) < 0.0 {
        face.normal = -face.normal;
        face.corners = [corners[0], corners[2], corners[1]];
    }
    face.height_mm = face.normal.dot(&a);
    faces.push(face);
}

fn grow(
    faces: &mut Vec<Face>,
    points: &mut Vec<Vector3<f64>>,
    point: Vector3<f64>,
    inside: &Vector3<f64>,
    size: f64,
) {
    let index = points.len();
    points.push(point);
    let mut rim: Vec<[usize; 2]> = Vec::with_capacity(16);
    faces.retain(|face| {
        let seen = face.normal.dot(&(point - points[face.corners[0]])) > 1e-13 * size;
        if seen {
            for i in 0..3 {
                let edge = [face.corners[i], face.corners[(i + 1) % 3]];
                match rim.iter().position(|other| *other == [edge[1], edge[0]]) {
                    Some(twin) => {
                        rim.swap_remove(twin);
                    }
                    None => rim.push(edge),
                }
            }
        }
        !seen
    });
    for [from, to] in rim {
        add_face(faces, points, [from, to, index], inside);
    }
}
