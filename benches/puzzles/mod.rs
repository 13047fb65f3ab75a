//! Puzzles that ways in are measured on: a rigid body to be worked out of, or into, another. All invented here and made
//! by this file, so that peers get the very same meshes. Each has a twin whose decisive opening is 1 mm too small.

#![allow(dead_code)]

pub mod wider;

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use baywright::solid::{Mesh, MeshKind};
use baywright::space::{Bounds, Pose};
use nalgebra::{Point3, Translation3, UnitQuaternion, Vector3};

/// One puzzle. Poses are world_from_body.
pub struct Puzzle {
    pub name: &'static str,
    pub fixed: Mesh,
    pub moving: Mesh,
    pub start: Pose,
    pub goal: Pose,
    /// Where the body's origin may be.
    pub bounds: Bounds,
    /// Step of a sampled check: travel of the farthest point, mm.
    pub step_mm: f64,
}

/// A round rod along a line of points, `around` facets, flat ends; closed.
pub fn rod(line: &[Point3<f64>], radius_mm: f64, around: u32) -> Mesh {
    let last = line.len() - 1;
    let tangent = |i: usize| (line[(i + 1).min(last)] - line[i.saturating_sub(1)]).normalize();
    let mut side = tangent(0).cross(&Vector3::new(0.37, 0.71, 0.59)).normalize();
    let mut vertices = Vec::new();
    for (i, point) in line.iter().enumerate() {
        let along = tangent(i);
        side = (side - along * side.dot(&along)).normalize();
        let up = along.cross(&side);
        for k in 0..around {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(around)).sin_cos();
            vertices.push(point + (side * cos + up * sin) * radius_mm);
        }
    }
    let id = |i: usize, k: u32| i as u32 * around + k % around;
    let mut triangles = Vec::new();
    for i in 0..last {
        for k in 0..around {
            let [a, b, c, d] = [id(i, k), id(i, k + 1), id(i + 1, k + 1), id(i + 1, k)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    let (first, end) = (vertices.len() as u32, vertices.len() as u32 + 1);
    vertices.extend([line[0], line[last]]);
    for k in 0..around {
        triangles.push([first, id(0, k + 1), id(0, k)]);
        triangles.push([end, id(last, k), id(last, k + 1)]);
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A block, each face cut into squares of about `cell_mm`, as a scanner or a mesher would.
pub fn block(low: [f64; 3], high: [f64; 3], cell_mm: f64) -> Mesh {
    let mut vertices = Vec::new();
    let mut triangles = Vec::new();
    for axis in 0..3 {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        let count = |a: usize| ((high[a] - low[a]) / cell_mm).ceil().max(1.0) as u32;
        let (nu, nv) = (count(u), count(v));
        for top in [false, true] {
            let first = vertices.len() as u32;
            for i in 0..=nu {
                for j in 0..=nv {
                    let mut p = [0.0; 3];
                    p[axis] = if top { high[axis] } else { low[axis] };
                    p[u] = low[u] + (high[u] - low[u]) * f64::from(i) / f64::from(nu);
                    p[v] = low[v] + (high[v] - low[v]) * f64::from(j) / f64::from(nv);
                    vertices.push(Point3::from(p));
                }
            }
            for i in 0..nu {
                for j in 0..nv {
                    let at = |i: u32, j: u32| first + i * (nv + 1) + j;
                    let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
                    let two = [[a, b, c], [a, c, d]];
                    triangles.extend(two.map(|[x, y, z]| if top { [x, y, z] } else { [x, z, y] }));
                }
            }
        }
    }
    welded(&vertices, &triangles)
}

/// Vertices that lie at the same place become one.
fn welded(points: &[Point3<f64>], triangles: &[[u32; 3]]) -> Mesh {
    let mut known = std::collections::HashMap::new();
    let mut vertices = Vec::new();
    let ids: Vec<u32> = points
        .iter()
        .map(|p| {
            *known.entry([p.x, p.y, p.z].map(|v| (v * 1e6).round() as i64)).or_insert_with(|| {
                vertices.push(*p);
                vertices.len() as u32 - 1
            })
        })
        .collect();
    let triangles = triangles.iter().map(|t| t.map(|i| ids[i as usize])).collect();
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A plate across z with a rectangular opening, as four blocks that overlap at nothing but faces.
pub fn plate_with_opening(half_mm: f64, z: [f64; 2], opening: [f64; 2], cell_mm: f64) -> Mesh {
    let [w, h] = opening.map(|size| size / 2.0);
    Mesh::joined([
        block([-half_mm, -half_mm, z[0]], [-w, half_mm, z[1]], cell_mm),
        block([w, -half_mm, z[0]], [half_mm, half_mm, z[1]], cell_mm),
        block([-w, -half_mm, z[0]], [w, -h, z[1]], cell_mm),
        block([-w, h, z[0]], [w, half_mm, z[1]], cell_mm),
    ])
}

/// A line of straights and bends, walked from `at` along `toward`: (straight mm, bend angle, bend radius, roll).
pub fn walked(
    at: Point3<f64>,
    toward: Vector3<f64>,
    up: Vector3<f64>,
    legs: &[(f64, f64, f64, f64)],
) -> Vec<Point3<f64>> {
    let (mut at, mut toward, mut up) = (at, toward.normalize(), up.normalize());
    let mut line = vec![at];
    for &(straight, angle, radius, roll) in legs {
        let pieces = (straight / 12.0).ceil().max(1.0) as u32;
        for i in 1..=pieces {
            line.push(at + toward * (straight * f64::from(i) / f64::from(pieces)));
        }
        at += toward * straight;
        up = nalgebra::Rotation3::from_axis_angle(&nalgebra::Unit::new_normalize(toward), roll) * up;
        if angle > 0.0 {
            let pieces = (angle / 0.16).ceil() as u32;
            let (from, out) = (toward, up);
            for i in 1..=pieces {
                let a = angle * f64::from(i) / f64::from(pieces);
                line.push(at + (from * a.sin() + out * (1.0 - a.cos())) * radius);
            }
            at += (from * angle.sin() + out * (1.0 - angle.cos())) * radius;
            toward = from * angle.cos() + out * angle.sin();
            up = out * angle.cos() - from * angle.sin();
        }
    }
    line.dedup_by(|a, b| (*a - *b).norm() < 1e-9);
    line
}

fn about(half: f64) -> Bounds {
    Bounds { min: Point3::new(-half, -half, -half), max: Point3::new(half, half, half) }
}

fn pose(x: f64, y: f64, z: f64, turn: [f64; 3]) -> Pose {
    Pose::from_parts(Translation3::new(x, y, z), UnitQuaternion::from_euler_angles(turn[0], turn[1], turn[2]))
}

/// A pipe of 40 mm, bent twice in two planes, through an opening in a plate. It goes through along its own line:
/// each section passes the opening square to it, and the rest stays on its side of the plate.
pub fn pipe_through_slot(opening_mm: f64) -> Puzzle {
    let line = walked(
        Point3::new(0.0, 0.0, -150.0),
        Vector3::z(),
        Vector3::x(),
        &[(110.0, FRAC_PI_2, 40.0, 0.0), (60.0, FRAC_PI_2, 40.0, 1.9), (90.0, 0.0, 0.0, 0.0)],
    );
    Puzzle {
        name: "bent pipe through a slot",
        fixed: plate_with_opening(560.0, [-3.0, 3.0], [opening_mm, opening_mm + 24.0], 30.0),
        moving: rod(&line, 20.0, 24),
        start: pose(0.0, 0.0, 330.0, [0.3, 0.2, 0.1]),
        goal: pose(0.0, 0.0, -330.0, [0.4, -2.0, 0.3]),
        bounds: about(380.0),
        step_mm: 3.0,
    }
}

/// A hook of 24 mm rod out of a cage of 10 mm bars: the clear window is `window_mm` square.
pub fn hook_out_of_a_cage(window_mm: f64) -> Puzzle {
    let (pitch, bar) = (window_mm + 10.0, 5.0);
    let across = (84.0 / pitch).ceil();
    let half = across * pitch;
    let mut bars = Vec::new();
    let ticks = |n: i32| (-n..=n).map(move |i| f64::from(i) * pitch);
    let straight = |a: Point3<f64>, b: Point3<f64>| {
        let line: Vec<_> = (0..=12).map(|i| a + (b - a) * (f64::from(i) / 12.0)).collect();
        rod(&line, bar, 10)
    };
    for side in [-half, half] {
        for t in ticks(across as i32) {
            let reach = half + bar;
            bars.push(straight(Point3::new(t, side, -reach), Point3::new(t, side, reach)));
            bars.push(straight(Point3::new(-reach, side, t), Point3::new(reach, side, t)));
            bars.push(straight(Point3::new(side, t, -reach), Point3::new(side, t, reach)));
            bars.push(straight(Point3::new(side, -reach, t), Point3::new(side, reach, t)));
            bars.push(straight(Point3::new(t, -reach, side), Point3::new(t, reach, side)));
            bars.push(straight(Point3::new(-reach, t, side), Point3::new(reach, t, side)));
        }
    }
    let line = walked(
        Point3::new(-40.0, -40.0, 0.0),
        Vector3::y(),
        Vector3::x(),
        &[(80.0, PI, 26.0, 0.0), (26.0, 0.0, 0.0, 0.0)],
    );
    Puzzle {
        name: "hook out of a cage",
        fixed: Mesh::joined(bars),
        moving: rod(&line, 12.0, 18),
        start: pose(4.0, -6.0, 3.0, [0.5, 0.4, 0.1]),
        goal: pose(0.0, 0.0, 2.0 * half + 40.0, [0.0, 0.0, 0.0]),
        bounds: about(2.5 * half + 60.0),
        step_mm: 2.0,
    }
}

/// A U of 20 mm rod round a column of 44 mm with a collar at either end: its mouth of 34 mm passes only where the
/// column is turned down to `waist_mm`, over a height that leaves the rod little room.
pub fn u_round_a_column(waist_mm: f64) -> Puzzle {
    let turned = |z0: f64, z1: f64, radius: f64| {
        let line: Vec<_> =
            (0..=6).map(|i| Point3::new(0.0, 0.0, z0 + (z1 - z0) * f64::from(i) / 6.0)).collect();
        rod(&line, radius, 48)
    };
    let fixed = Mesh::joined([
        turned(-110.0, -98.0, 150.0),
        turned(-98.0, 28.0, 22.0),
        turned(28.0, 52.0, waist_mm / 2.0),
        turned(52.0, 98.0, 22.0),
        turned(98.0, 110.0, 150.0),
    ]);
    // Legs 54 mm apart inside that lean in to 34 at the mouth.
    let lean = (10.0f64 / 70.0).atan();
    let mut line = Vec::new();
    for i in 0..=16 {
        let t = f64::from(i) / 16.0;
        line.push(Point3::new(75.0 * (1.0 - t) + 5.0 * t, -(27.0 + 10.0 * t * 0.999), 0.0));
    }
    for i in 1..24 {
        let a = -FRAC_PI_2 - PI * f64::from(i) / 24.0;
        line.push(Point3::new(5.0 + 37.0 * a.cos(), 37.0 * a.sin(), 0.0));
    }
    for i in (0..=16).rev() {
        let t = f64::from(i) / 16.0;
        line.push(Point3::new(75.0 * (1.0 - t) + 5.0 * t, 27.0 + 10.0 * t * 0.999, 0.0));
    }
    let _ = lean;
    Puzzle {
        name: "U-tube round a column",
        fixed,
        moving: rod(&line, 10.0, 18),
        start: pose(0.0, 0.0, -40.0, [0.0, 0.0, 0.4]),
        goal: pose(260.0, 0.0, 0.0, [0.0, 0.0, 0.0]),
        bounds: about(320.0),
        step_mm: 2.0,
    }
}

/// A key with a cross bar through two plates, whose keyholes stand across each other.
pub fn key_in_a_keyhole(hole_mm: f64) -> Puzzle {
    key_through(hole_mm, 110.0, 14.0, 28.0)
}

/// The key with plates of a size and a goal so far along z, mm.
fn key_through(hole_mm: f64, half_mm: f64, cell_mm: f64, goal_mm: f64) -> Puzzle {
    let first = plate_with_opening(half_mm, [-2.0, 2.0], [62.0, hole_mm], cell_mm);
    let turn = Pose::from_parts(
        Translation3::new(0.0, 0.0, 34.0),
        UnitQuaternion::from_euler_angles(0.0, 0.0, FRAC_PI_2),
    );
    let second = plate_with_opening(half_mm, [-2.0, 2.0], [62.0, hole_mm], cell_mm).moved(&turn);
    let shaft: Vec<_> = (0..=12).map(|i| Point3::new(0.0, 0.0, -90.0 + 10.0 * f64::from(i))).collect();
    let bit: Vec<_> = (0..=8).map(|i| Point3::new(-28.0 + 7.0 * f64::from(i), 0.0, 30.0)).collect();
    let grip: Vec<_> = (0..=8).map(|i| Point3::new(0.0, -40.0 + 10.0 * f64::from(i), -90.0)).collect();
    Puzzle {
        name: "key through two keyholes",
        fixed: Mesh::joined([first, second]),
        moving: Mesh::joined([rod(&shaft, 6.0, 16), rod(&bit, 6.0, 16), rod(&grip, 7.0, 16)]),
        start: pose(0.0, 0.0, -130.0, [0.4, 0.3, 0.8]),
        goal: pose(0.0, 0.0, goal_mm, [0.0, 0.0, 0.6]),
        bounds: about(200.0),
        step_mm: 1.5,
    }
}

/// A loop of rod whose legs cross with room of `gap_mm` between them.
fn loop_rod(gap_mm: f64) -> Mesh {
    let (radius, ring) = (7.0, 42.0);
    let h = radius + gap_mm / 2.0;
    let open = 0.75; // half angle of the arc that is missing
    let mut line = Vec::new();
    let leg = 95.0;
    let end = |side: f64| {
        // Where the arc ends, and the way on from there.
        let a = -FRAC_PI_2 + side * open;
        (Point3::new(ring * a.cos(), ring * a.sin(), side * h), Vector3::new(a.sin(), -a.cos(), 0.0) * side)
    };
    let (right, on) = end(1.0);
    for i in (1..=14).rev() {
        line.push(right + on * (leg * f64::from(i) / 14.0));
    }
    let pieces = 40;
    for i in 0..=pieces {
        let t = f64::from(i) / f64::from(pieces);
        let a = -FRAC_PI_2 + open + (TAU - 2.0 * open) * t;
        // Level where the legs begin, so that they stay a constant way apart.
        let rise = (1.0 - (PI * t).cos()) / 2.0;
        line.push(Point3::new(ring * a.cos(), ring * a.sin(), h - 2.0 * h * rise));
    }
    let (left, on) = end(-1.0);
    for i in 1..=14 {
        line.push(left + on * (leg * f64::from(i) / 14.0));
    }
    rod(&line, radius, 14)
}

/// Two loops of 14 mm rod, each through the other.
pub fn interlocked_loops(name: &'static str, gap_mm: f64) -> Puzzle {
    Puzzle {
        name,
        fixed: loop_rod(gap_mm),
        moving: loop_rod(gap_mm),
        start: pose(0.0, 62.0, 0.0, [0.0, FRAC_PI_2, PI]),
        goal: pose(150.0, 60.0, 90.0, [0.3, 0.2, 0.1]),
        bounds: about(260.0),
        step_mm: 1.5,
    }
}

/// An elbow with a flange out of a box with an opening: only edgewise, with the tube beside.
pub fn flanged_elbow(opening_mm: f64) -> Puzzle {
    let wall = 4.0;
    let (w, d) = (95.0, 95.0);
    let cell = 16.0;
    let fixed = Mesh::joined([
        block([-w, -w, -2.0 * d], [w, w, -2.0 * d + wall], cell),
        block([-w, -w, -2.0 * d + wall], [-w + wall, w, -wall], cell),
        block([w - wall, -w, -2.0 * d + wall], [w, w, -wall], cell),
        block([-w + wall, -w, -2.0 * d + wall], [w - wall, -w + wall, -wall], cell),
        block([-w + wall, w - wall, -2.0 * d + wall], [w - wall, w, -wall], cell),
        plate_with_opening(w, [-wall, 0.0], [opening_mm, 76.0], cell),
    ]);
    let tube = walked(
        Point3::origin(),
        Vector3::z(),
        Vector3::x(),
        &[(18.0, FRAC_PI_2, 22.0, 0.0), (70.0, 0.0, 0.0, 0.0)],
    );
    let flange: Vec<_> = (0..=2).map(|i| Point3::new(0.0, 0.0, -4.0 + 4.0 * f64::from(i))).collect();
    Puzzle {
        name: "flanged elbow out of a box",
        fixed,
        moving: Mesh::joined([rod(&tube, 11.0, 20), rod(&flange, 36.0, 48)]),
        start: pose(-20.0, 0.0, -110.0, [0.0, 0.0, 0.0]),
        goal: pose(0.0, 0.0, 150.0, [0.0, 0.0, 0.0]),
        bounds: about(280.0),
        step_mm: 2.0,
    }
}

/// All that can be solved.
pub fn feasible() -> Vec<Puzzle> {
    vec![
        pipe_through_slot(43.0),
        hook_out_of_a_cage(36.0),
        u_round_a_column(31.0),
        key_in_a_keyhole(15.0),
        interlocked_loops("interlocked loops, wide", 21.0),
        interlocked_loops("interlocked loops, tight", 16.8),
        flanged_elbow(58.0),
        interlocked_loops("interlocked loops, tightest", 14.8),
        Puzzle { name: "bent pipe through a slot, tight", ..pipe_through_slot(41.0) },
        Puzzle { name: "hook out of a cage, tight", ..hook_out_of_a_cage(33.0) },
    ]
}

/// Width of a facetted rod across its flats, mm: the least that any opening must let through.
fn across_flats(radius_mm: f64, around: u32) -> f64 {
    2.0 * radius_mm * (PI / f64::from(around)).cos()
}

/// Their twins: the opening that decides, facets counted, is 1 mm less than what must pass.
pub fn infeasible() -> Vec<Puzzle> {
    // What a rod's flats stand back behind its radius opens a gap that was told from radius to radius.
    let back = |radius_mm: f64, around: u32| 2.0 * radius_mm - across_flats(radius_mm, around);
    let mouth_mm = 2.0 * 27.0 - across_flats(10.0, 18);
    vec![
        pipe_through_slot(across_flats(20.0, 24) - 1.0),
        hook_out_of_a_cage(across_flats(12.0, 18) - back(5.0, 10) - 1.0),
        u_round_a_column((mouth_mm + 1.0) / (PI / 48.0).cos()),
        // Wholly beyond both plates, and they reach farther than the key may go: a shaft does not stand in a hole too small.
        key_through(across_flats(6.0, 16) - 1.0, 330.0, 40.0, 148.0),
        interlocked_loops("interlocked loops, shut", across_flats(7.0, 14) - back(7.0, 14) - 1.0),
        flanged_elbow(across_flats(11.0, 20) - 1.0),
    ]
}
