//! Bodies and poses that the benches measure on: made here, from a seed, so that peers get the very same ones.

use std::f64::consts::TAU;
use std::sync::Arc;

use baywright::clearance::IndexedShape;
use baywright::solid::{Mesh, MeshKind, Shape};
use baywright::space::Pose;
use nalgebra::{Isometry3, Point3, Quaternion, UnitQuaternion, Vector3};

/// Seeded random numbers (splitmix64: Steele, Lea and Flood 2014, from memory).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice(seed)
    }

    /// In `[-1, 1)`.
    pub fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    /// Turned any way, and shifted by up to `spread_mm` along each axis.
    pub fn pose(&mut self, spread_mm: f64) -> Pose {
        let turn = Quaternion::new(self.roll(), self.roll(), self.roll(), self.roll());
        let shift = Vector3::new(self.roll(), self.roll(), self.roll()) * spread_mm;
        Isometry3::from_parts(shift.into(), UnitQuaternion::from_quaternion(turn))
    }
}

/// A closed surface over `around` by `across` places: `at` gives the point for two angles.
fn closed_round(around: u32, across: u32, at: impl Fn(f64, f64) -> Point3<f64>) -> Mesh {
    let angle = |i: u32, n: u32| TAU * f64::from(i) / f64::from(n);
    let vertices =
        (0..around * across).map(|i| at(angle(i / across, around), angle(i % across, across))).collect();
    let id = |i: u32, j: u32| (i % around) * across + j % across;
    let mut triangles = Vec::new();
    for i in 0..around {
        for j in 0..across {
            let [a, b, c, d] = [id(i, j), id(i + 1, j), id(i + 1, j + 1), id(i, j + 1)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A torus of `2 * around * across` triangles.
pub fn torus(ring_mm: f64, tube_mm: f64, around: u32, across: u32) -> Mesh {
    closed_round(around, across, |u, v| {
        let rho = ring_mm + tube_mm * v.cos();
        Point3::new(rho * u.cos(), rho * u.sin(), tube_mm * v.sin())
    })
}

/// A pipe bent like an S in space, 60 mm across.
pub fn bent_pipe(around: u32, across: u32) -> Mesh {
    closed_round(around, across, |u, v| {
        // There and back along the same line, so that it closes: a flattened loop, a pipe beside a pipe.
        let (s, side) = (u.cos(), u.sin());
        let mid = Point3::new(260.0 * s, 90.0 * (2.5 * s).sin() + 45.0 * side, 60.0 * (1.7 * s).cos());
        let along = Vector3::new(
            -260.0 * side,
            -225.0 * side * (2.5 * s).cos() + 45.0 * s,
            102.0 * side * (1.7 * s).sin(),
        );
        let across_one = along.cross(&Vector3::z()).normalize();
        let across_two = across_one.cross(&along).normalize();
        mid + (across_one * v.cos() + across_two * v.sin()) * 30.0
    })
}

/// A round housing with 24 cooling ribs.
pub fn ribbed_housing(around: u32, across: u32) -> Mesh {
    closed_round(around, across, |u, v| {
        let rib = (24.0 * u).cos().max(0.0).powi(4);
        let rho = 70.0 + (45.0 + 9.0 * rib) * v.cos();
        Point3::new(rho * u.cos(), rho * u.sin(), 60.0 * v.sin())
    })
}

/// A scanned patch of a panel with a bead and scatter: open, 1 mm thick.
pub fn scanned_patch(side: u32) -> Mesh {
    let mut dice = Dice::new(5);
    let step = 500.0 / f64::from(side);
    let vertices = (0..side * side)
        .map(|i| {
            let (x, y) = (f64::from(i % side) * step - 250.0, f64::from(i / side) * step - 250.0);
            let bead = 12.0 / (1.0 + ((x - 40.0) / 18.0).powi(2));
            Point3::new(x, y, bead + 8.0 * (y / 110.0).sin() + 0.15 * dice.roll())
        })
        .collect();
    let mut triangles = Vec::new();
    for i in 0..side - 1 {
        for j in 0..side - 1 {
            let a = i * side + j;
            triangles.extend([[a, a + 1, a + side + 1], [a, a + side + 1, a + side]]);
        }
    }
    Mesh::new(vertices, triangles, MeshKind::Open { thickness_mm: 0.0 })
}

/// Two bodies and the poses of the second against the first.
pub struct Case {
    pub name: &'static str,
    pub fixed: Mesh,
    pub moving: Mesh,
    pub poses: Vec<Pose>,
}

impl Case {
    /// The two with their trees.
    pub fn indexed(&self) -> [IndexedShape; 2] {
        [&self.fixed, &self.moving].map(|mesh| IndexedShape::new(Arc::new(Shape::Mesh(mesh.clone()))))
    }
}

/// The cases that claims are about.
pub fn cases() -> Vec<Case> {
    let mut dice = Dice::new(20_260_314);
    let mut poses = |spread: f64| (0..200).map(|_| dice.pose(spread)).collect::<Vec<_>>();
    vec![
        Case {
            name: "tori",
            fixed: torus(120.0, 40.0, 160, 64),
            moving: torus(120.0, 40.0, 320, 128),
            poses: poses(230.0),
        },
        Case {
            name: "pipe and housing",
            fixed: bent_pipe(400, 48),
            moving: ribbed_housing(480, 96),
            poses: poses(290.0),
        },
        Case {
            name: "scan and pipe",
            fixed: scanned_patch(224),
            moving: bent_pipe(400, 48),
            poses: poses(330.0),
        },
    ]
}
