//! Scenes from text; meshes, dice and brute force for the tests of clearance and motion.
#![allow(dead_code)]

use std::f64::consts::TAU;

use baywright::solid::{Mesh, MeshKind};
use baywright::space::Pose;
use nalgebra::{Isometry3, Point3, Quaternion, UnitQuaternion, Vector3};

/// A scene from its text; panics with all its faults.
pub fn load(text: &str) -> baywright::scene::Scene {
    let folder = tempfile::tempdir().unwrap();
    match baywright::scene::Scene::load_text(&folder.path().join("bay.yaml"), text) {
        Ok(scene) => scene,
        Err(errors) => panic!("{errors}"),
    }
}

/// Seeded random numbers (splitmix64: Steele, Lea and Flood 2014, from memory).
pub struct Dice {
    state: u64,
}

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice { state: seed }
    }
    /// In `[-1, 1)`.
    pub fn roll(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
    pub fn vector(&mut self, size: f64) -> Vector3<f64> {
        Vector3::new(self.roll(), self.roll(), self.roll()) * size
    }
    pub fn point(&mut self, size: f64) -> Point3<f64> {
        Point3::from(self.vector(size))
    }
    pub fn turn(&mut self) -> UnitQuaternion<f64> {
        UnitQuaternion::from_quaternion(Quaternion::new(self.roll(), self.roll(), self.roll(), self.roll()))
    }
    pub fn pose(&mut self, size: f64) -> Pose {
        Isometry3::from_parts(self.vector(size).into(), self.turn())
    }
}

/// A closed torus about z, wound outward.
pub fn torus_mesh(ring_mm: f64, tube_mm: f64, around: u32, across: u32) -> Mesh {
    let mut vertices = Vec::new();
    for i in 0..around {
        let u = TAU * f64::from(i) / f64::from(around);
        for j in 0..across {
            let v = TAU * f64::from(j) / f64::from(across);
            let rho = ring_mm + tube_mm * v.cos();
            vertices.push(Point3::new(rho * u.cos(), rho * u.sin(), tube_mm * v.sin()));
        }
    }
    let at = |i: u32, j: u32| (i % around) * across + j % across;
    let mut triangles = Vec::new();
    for i in 0..around {
        for j in 0..across {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            triangles.push([a, b, c]);
            triangles.push([a, c, d]);
        }
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A closed box about the origin, wound outward.
pub fn box_mesh(size: Vector3<f64>) -> Mesh {
    let vertices = (0..8u32)
        .map(|i| {
            let side = |bit: u32| if i >> bit & 1 == 1 { 0.5 } else { -0.5 };
            Point3::new(side(0) * size.x, side(1) * size.y, side(2) * size.z)
        })
        .collect();
    let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    let triangles = quads.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect();
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// Distance from a point to a triangle, by projecting onto its plane and its edges (a way of its own).
pub fn point_triangle_mm(p: &Point3<f64>, t: &[Point3<f64>; 3]) -> f64 {
    let normal = (t[1] - t[0]).cross(&(t[2] - t[0]));
    let mut best = f64::INFINITY;
    if normal.norm() > 0.0 {
        let n = normal.normalize();
        let foot = p - n * n.dot(&(p - t[0]));
        let inside = (0..3).all(|i| (t[(i + 1) % 3] - t[i]).cross(&(foot - t[i])).dot(&n) >= 0.0);
        if inside {
            best = (p - foot).norm();
        }
    }
    for i in 0..3 {
        let (a, d) = (t[i], t[(i + 1) % 3] - t[i]);
        let s = (d.dot(&(p - a)) / d.norm_squared().max(1e-300)).clamp(0.0, 1.0);
        best = best.min((p - (a + d * s)).norm());
    }
    best
}

/// Distance between two segments: the least of the common perpendicular's, where its feet are on both, and of
/// each end's to the other.
fn segment_segment_mm(a: [Point3<f64>; 2], b: [Point3<f64>; 2]) -> f64 {
    let along = |s: [Point3<f64>; 2], p: &Point3<f64>| {
        let d = s[1] - s[0];
        (d.dot(&(p - s[0])) / d.norm_squared().max(1e-300)).clamp(0.0, 1.0)
    };
    let at = |s: [Point3<f64>; 2], t: f64| s[0] + (s[1] - s[0]) * t;
    let to = |s: [Point3<f64>; 2], p: &Point3<f64>| (p - at(s, along(s, p))).norm();
    let mut best = to(b, &a[0]).min(to(b, &a[1])).min(to(a, &b[0])).min(to(a, &b[1]));
    let (u, v, w) = (a[1] - a[0], b[1] - b[0], a[0] - b[0]);
    let across = u.cross(&v);
    if across.norm_squared() > 1e-24 * u.norm_squared() * v.norm_squared() {
        let s = v.cross(&w).dot(&across) / across.norm_squared();
        if (0.0..=1.0).contains(&s) {
            // The foot found again from the other line: it is on both.
            let other = at(b, along(b, &at(a, s)));
            best = best.min(to(a, &other));
        }
    }
    best
}

/// Whether a segment goes through a triangle; one that only meets its edge or its plane has a distance of 0 anyhow.
fn pierces(s: [Point3<f64>; 2], t: &[Point3<f64>; 3]) -> bool {
    let volume = |a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>, d: &Point3<f64>| {
        (b - a).cross(&(c - a)).dot(&(d - a))
    };
    let sides = [0, 1, 2].map(|i| volume(&s[0], &s[1], &t[i], &t[(i + 1) % 3]));
    volume(&t[0], &t[1], &t[2], &s[0]) * volume(&t[0], &t[1], &t[2], &s[1]) < 0.0
        && (sides.iter().all(|v| *v > 0.0) || sides.iter().all(|v| *v < 0.0))
}

/// Distance between two meshes over all pairs of triangles: 0 when they meet.
pub fn brute_force_mm(a: &Mesh, b: &Mesh, a_from_b: &Pose) -> f64 {
    let corners = |mesh: &Mesh, pose: &Pose| -> Vec<[Point3<f64>; 3]> {
        mesh.triangles.iter().map(|t| t.map(|i| pose * mesh.vertices[i as usize])).collect()
    };
    let (ta, tb) = (corners(a, &Pose::identity()), corners(b, a_from_b));
    let ball = |t: &[Point3<f64>; 3]| {
        let c = Point3::from((t[0].coords + t[1].coords + t[2].coords) / 3.0);
        (c, t.iter().map(|p| (p - c).norm()).fold(0.0, f64::max))
    };
    let (ba, bb): (Vec<_>, Vec<_>) = (ta.iter().map(ball).collect(), tb.iter().map(ball).collect());
    // Middles are points of the triangles: what is farther apart than they are need not be looked at.
    let middles = ba.iter().flat_map(|(cs, _)| bb.iter().map(move |(ct, _)| (cs - ct).norm()));
    let mut best = middles.fold(f64::INFINITY, f64::min);
    for (s, (cs, rs)) in ta.iter().zip(&ba) {
        for (t, (ct, rt)) in tb.iter().zip(&bb) {
            if (cs - ct).norm() - rs - rt >= best {
                continue;
            }
            for i in 0..3 {
                let (es, et) = ([s[i], s[(i + 1) % 3]], [t[i], t[(i + 1) % 3]]);
                if pierces(es, t) || pierces(et, s) {
                    return 0.0;
                }
                best = best.min(point_triangle_mm(&s[i], t)).min(point_triangle_mm(&t[i], s));
                for j in 0..3 {
                    best = best.min(segment_segment_mm(es, [t[j], t[(j + 1) % 3]]));
                }
            }
        }
    }
    best
}
