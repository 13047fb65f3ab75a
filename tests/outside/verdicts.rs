//! Pairs of small meshes on which a verdict may go wrong: touching, contained, coplanar, degenerate.

use baywright::clearance::{IndexedShape, gap, touches};
use baywright::solid::{Mesh, MeshKind, Shape};
use baywright::space::Pose;
use nalgebra::{Point3, Vector3};
use std::sync::Arc;

use super::dice::Dice;
use super::shapes;
use crate::common::{box_mesh, brute_force_mm, torus_mesh};

/// A mesh and its tree.
pub struct Stocked {
    pub kind: Kind,
    pub mesh: Mesh,
    pub indexed: IndexedShape,
}

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Edges whole and even, so that faces can be laid on each other without rounding.
    Box,
    Lumpy,
    /// With triangles without area, doubled ones and slivers.
    Degenerate,
    /// Open and flat, in z = 0.
    Sheet,
}

/// Some of each kind, none of many triangles: the judge looks at all pairs of them.
pub fn stock(dice: &mut Dice) -> Vec<Stocked> {
    let mut list = Vec::new();
    let mut add = |kind, mesh: Mesh| {
        let indexed = IndexedShape::new(Arc::new(Shape::Mesh(mesh.clone())));
        list.push(Stocked { kind, mesh, indexed });
    };
    for size in
        [[20.0, 20.0, 20.0], [40.0, 20.0, 10.0], [60.0, 6.0, 30.0], [100.0, 80.0, 60.0], [8.0, 8.0, 2.0]]
    {
        add(Kind::Box, box_mesh(Vector3::from(size)));
    }
    for _ in 0..6 {
        add(Kind::Lumpy, shapes::tetrahedron(dice));
        add(Kind::Lumpy, torus_mesh(dice.between(20.0, 40.0), dice.between(4.0, 15.0), 5, 4));
    }
    for at in 0..6 {
        let mut mesh =
            if at % 2 == 0 { box_mesh(Vector3::new(30.0, 24.0, 18.0)) } else { shapes::tetrahedron(dice) };
        spoil(&mut mesh, dice);
        add(Kind::Degenerate, mesh);
    }
    for half in [10.0, 25.0, 60.0] {
        let corner = |x: f64, y: f64| Point3::new(x * half, y * half, 0.0);
        let corners = vec![corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
        let triangles = vec![[0, 1, 2], [0, 2, 3]];
        add(Kind::Sheet, Mesh::new(corners, triangles, MeshKind::Open { thickness_mm: 0.0 }));
    }
    list
}

/// Doubles a triangle, and adds one that is a line, one that is a point and one thin as a hair, all within the mesh's
/// own surface, so that the solid stays what it was.
fn spoil(mesh: &mut Mesh, dice: &mut Dice) {
    let mut triangles = mesh.triangles.clone();
    let mut vertices = mesh.vertices.clone();
    let [a, b, c] = triangles[dice.choice(triangles.len())];
    triangles.extend([[a, b, c], [c, b, a], [a, b, b], [c, c, c]]);
    // Along an edge a hair wide: its third corner stands off the edge by 1e-7 of it, inside the face.
    let (from, to, inner) = (vertices[a as usize], vertices[b as usize], vertices[c as usize]);
    let middle = from + (to - from) * 0.5;
    vertices.push(middle + (inner - middle) * 1e-7);
    let hair = (vertices.len() - 1) as u32;
    triangles.extend([[a, b, hair], [hair, b, a]]);
    *mesh = Mesh::new(vertices, triangles, mesh.kind);
}

/// A pair, how it was laid, and what we say of it.
pub struct Verdict {
    pub kind: &'static str,
    pub fixed: usize,
    pub moving: usize,
    pub pose: Pose,
    pub touches: bool,
    pub gap_mm: f64,
    /// What the tests' own kernel says against it.
    pub fault: Option<String>,
}

pub const KINDS: [&str; 6] =
    ["anyhow", "a hair apart", "a hair deep", "face on face", "contained", "coplanar"];

/// Case `at` of a run.
pub fn case(stock: &[Stocked], seed: u64, at: usize) -> Verdict {
    let mut dice = Dice::new(seed + 1_000 + at as u64);
    let dice = &mut dice;
    let pick = |dice: &mut Dice, wanted: &[Kind]| loop {
        let found = dice.choice(stock.len());
        if wanted.contains(&stock[found].kind) {
            return found;
        }
    };
    let any = [Kind::Box, Kind::Lumpy, Kind::Degenerate, Kind::Sheet];
    let whole = |dice: &mut Dice, half: usize| dice.choice(2 * half + 1) as f64 - half as f64;
    let kind = KINDS[[0, 0, 0, 1, 2, 3, 4, 5][at % 8]];
    let (fixed, moving, pose) = match kind {
        "anyhow" => (pick(dice, &any), pick(dice, &any), dice.pose(70.0)),
        "a hair apart" | "a hair deep" => {
            let (fixed, moving, pose) = (pick(dice, &any), pick(dice, &any), dice.pose(120.0));
            let found = gap(&stock[fixed].indexed, &stock[moving].indexed, &pose);
            let hair = 10f64.powf(dice.between(-6.0, -3.0)) * if kind == "a hair apart" { 1.0 } else { -1.0 };
            let shift = found.witness.normal.into_inner() * (hair - found.gap.mm());
            (fixed, moving, Pose::translation(shift.x, shift.y, shift.z) * pose)
        }
        "face on face" => {
            // Against a face from outside, slid along it by whole millimetres, beyond its edges at times.
            let (fixed, moving) = (pick(dice, &[Kind::Box]), pick(dice, &[Kind::Box]));
            let half = |at: usize| stock[at].indexed.bounds().max.coords;
            let sum = half(fixed) + half(moving);
            let axis = dice.choice(3);
            let mut shift = Vector3::from_fn(|i, _| whole(dice, sum[i] as usize + 1));
            shift[axis] = sum[axis] * if dice.choice(2) == 0 { 1.0 } else { -1.0 };
            (fixed, moving, Pose::translation(shift.x, shift.y, shift.z))
        }
        "contained" => {
            let fixed = stock.iter().position(|s| s.indexed.bounds().max.x == 50.0).unwrap_or(0);
            let moving = pick(dice, &any);
            (fixed, moving, Pose::from_parts(dice.vector(40.0).into(), dice.turn()))
        }
        _ => {
            // Sheets, and boxes' faces, in one plane: beside each other, edge on edge, or one over the other.
            let (fixed, moving) = (pick(dice, &[Kind::Sheet]), pick(dice, &[Kind::Sheet, Kind::Box]));
            let lift = stock[moving].indexed.bounds().max.z * if dice.choice(2) == 0 { 1.0 } else { -1.0 };
            (fixed, moving, Pose::translation(whole(dice, 90), whole(dice, 90), lift))
        }
    };
    let (one, two) = (&stock[fixed], &stock[moving]);
    let found = gap(&one.indexed, &two.indexed, &pose).gap.mm();
    let touch = touches(&one.indexed, &two.indexed, &pose);
    // All pairs of triangles, by a kernel of the tests' own.
    let brute = brute_force_mm(&one.mesh, &two.mesh, &pose);
    let held = || inside_of(&one.mesh, &two.mesh, &pose) || inside_of(&two.mesh, &one.mesh, &pose.inverse());
    let fault = if touch != (found <= 1e-9) {
        Some(format!("touches says {touch}, the gap is {found:e}"))
    } else if touch != (brute <= 1e-9 || held()) || !touch && (brute - found).abs() >= 1e-9 {
        Some(format!("touches says {touch}, gap {found:e}, all pairs say {brute:e}"))
    } else {
        None
    };
    let fault = fault.map(|fault| format!("case {at}, {kind}, mesh {fixed} and {moving} at {pose}: {fault}"));
    Verdict { kind, fixed, moving, pose, touches: touch, gap_mm: found, fault }
}

/// Whether the second mesh's first corner is within the first, which is closed and convex or nearly so.
///
/// By the solid angles of all triangles (van Oosterom and Strackee 1983, from memory).
fn inside_of(shell: &Mesh, other: &Mesh, shell_from_other: &Pose) -> bool {
    if !matches!(shell.kind, MeshKind::Closed) {
        return false;
    }
    let point = shell_from_other * other.vertices[0];
    let angle: f64 = shell
        .triangles
        .iter()
        .map(|t| {
            let [a, b, c] = t.map(|i| shell.vertices[i as usize] - point);
            let (la, lb, lc) = (a.norm(), b.norm(), c.norm());
            2.0 * a.dot(&b.cross(&c)).atan2(la * lb * lc + a.dot(&b) * lc + b.dot(&c) * la + c.dot(&a) * lb)
        })
        .sum();
    angle.abs() > std::f64::consts::TAU
}
