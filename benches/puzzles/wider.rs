//! Puzzles of other kinds: a narrow neck out of a wide belly, a long way round many corners, fine meshes, screws.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use baywright::solid::{Mesh, MeshKind};
use nalgebra::{Point3, Vector3};

use super::{Puzzle, about, block, plate_with_opening, pose, rod, walked};

/// A body turned about z: a closed outline of (radius, height), `around` facets.
pub fn turned(outline: &[(f64, f64)], around: u32) -> Mesh {
    let rows = outline.len() as u32;
    let mut vertices = Vec::new();
    for &(radius, z) in outline {
        for k in 0..around {
            let (sin, cos) = (TAU * f64::from(k) / f64::from(around)).sin_cos();
            vertices.push(Point3::new(radius * cos, radius * sin, z));
        }
    }
    let id = |i: u32, k: u32| (i % rows) * around + k % around;
    let mut triangles = Vec::new();
    for i in 0..rows {
        for k in 0..around {
            let [a, b, c, d] = [id(i, k), id(i, k + 1), id(i + 1, k + 1), id(i + 1, k)];
            triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A stick out of a round belly by a neck that reaches far into it.
pub fn stick_out_of_a_flask(neck_mm: f64) -> Puzzle {
    let mut outline = Vec::new();
    let (inner, wall, neck) = (120.0f64, 4.0, neck_mm / 2.0);
    let mouth = 40.0;
    // Outside from below to the mouth, then the neck down into the belly, then the belly inside back down.
    let steps = 40;
    let up = |radius: f64, from: f64, to: f64, outline: &mut Vec<(f64, f64)>| {
        for i in 0..=steps {
            let a = from + (to - from) * f64::from(i) / f64::from(steps);
            outline.push((radius * a.cos(), radius * a.sin()));
        }
    };
    let edge = (mouth / (inner + wall)).acos();
    up(inner + wall, -FRAC_PI_2 + 1e-3, edge, &mut outline);
    for i in 1..=10 {
        let t = f64::from(i) / 10.0;
        outline.push((mouth + (neck + wall - mouth) * t, 117.4 - 20.0 * t));
    }
    outline.push((neck, 97.0));
    for i in 1..=12 {
        outline.push((neck, 97.0 - 90.0 * f64::from(i) / 12.0));
    }
    for i in (0..=12).rev() {
        outline.push((neck + wall, 97.0 - 90.0 * f64::from(i) / 12.0 - 1.0));
    }
    let inside = ((mouth + wall) / inner).acos();
    let mut belly = Vec::new();
    up(inner, -FRAC_PI_2 + 1e-3, inside, &mut belly);
    belly.reverse();
    outline.extend(belly);
    let stick: Vec<_> = (0..=10).map(|i| Point3::new(0.0, 0.0, -45.0 + 9.0 * f64::from(i))).collect();
    Puzzle {
        name: "stick out of a flask",
        fixed: turned(&outline, 48),
        moving: rod(&stick, 10.0, 16),
        start: pose(60.0, 0.0, -60.0, [0.4, 1.2, 0.0]),
        goal: pose(0.0, 0.0, 220.0, [1.0, 0.0, 0.0]),
        bounds: about(300.0),
        step_mm: 2.0,
    }
}

/// A spring of rod through a round-cornered hole hardly larger than its rod: it must be screwed through, turn by turn.
pub fn spring_through_a_hole(hole_mm: f64, turns: f64) -> Puzzle {
    let (radius, ring, pitch) = (6.0, 30.0, 34.0);
    let count = (turns * 40.0) as u32;
    let line: Vec<_> = (0..=count)
        .map(|i| {
            let a = TAU * f64::from(i) / 40.0;
            Point3::new(ring * a.cos(), ring * a.sin(), pitch * a / TAU - turns * pitch / 2.0)
        })
        .collect();
    let far = turns * pitch / 2.0 + 60.0;
    Puzzle {
        name: "spring through a hole",
        fixed: plate_with_opening(320.0, [-2.0, 2.0], [hole_mm, hole_mm + 2.0], 24.0),
        moving: rod(&line, radius, 14),
        start: pose(0.0, 0.0, far, [0.2, 0.1, 0.0]),
        goal: pose(0.0, 0.0, -far, [0.3, 0.5, 0.0]),
        bounds: about(far + 60.0),
        step_mm: 2.0,
    }
}

/// An angle of bar through a house of rooms with windows, from one corner to the far one.
pub fn angle_through_rooms(window_mm: f64) -> Puzzle {
    let (size, wall, rooms) = (160.0, 6.0, 3);
    let half = size * f64::from(rooms) / 2.0;
    let cell = 40.0;
    let mut walls = Vec::new();
    let mut dice = 88172645463325252u64;
    let mut roll = || {
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        (dice >> 11) as f64 / (1u64 << 53) as f64
    };
    for axis in 0..3usize {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        for layer in 0..=rooms {
            for i in 0..rooms {
                for j in 0..rooms {
                    let mut low = [0.0; 3];
                    let mut high = [0.0; 3];
                    low[axis] = -half + size * f64::from(layer) - wall / 2.0;
                    high[axis] = low[axis] + wall;
                    let (u0, v0) = (-half + size * f64::from(i), -half + size * f64::from(j));
                    let inner = layer > 0 && layer < rooms;
                    // Two of three inner walls have a window somewhere.
                    if inner && roll() < 0.67 {
                        let at =
                            |from: f64, share: f64| from + wall + share * (size - 2.0 * wall - window_mm);
                        let (wu, wv) = (at(u0, roll()), at(v0, roll()));
                        for [ul, uh, vl, vh] in [
                            [u0, wu, v0, v0 + size],
                            [wu + window_mm, u0 + size, v0, v0 + size],
                            [wu, wu + window_mm, v0, wv],
                            [wu, wu + window_mm, wv + window_mm, v0 + size],
                        ] {
                            (low[u], high[u], low[v], high[v]) = (ul, uh, vl, vh);
                            walls.push(block(low, high, cell));
                        }
                    } else {
                        (low[u], high[u], low[v], high[v]) = (u0, u0 + size, v0, v0 + size);
                        walls.push(block(low, high, cell));
                    }
                }
            }
        }
    }
    let line = walked(
        Point3::new(0.0, 0.0, -50.0),
        Vector3::z(),
        Vector3::x(),
        &[(75.0, FRAC_PI_2, 25.0, 0.0), (45.0, 0.0, 0.0, 0.0)],
    );
    let far = half - size / 2.0;
    Puzzle {
        name: "angle through rooms",
        fixed: Mesh::joined(walls),
        moving: rod(&line, 14.0, 16),
        start: pose(-far - 20.0, -far, -far, [0.3, 0.2, 0.1]),
        goal: pose(far - 20.0, far, far, [0.5, -0.2, 0.3]),
        bounds: about(half),
        step_mm: 4.0,
    }
}

/// A table through a door of a room full of things, all in fine meshes.
pub fn table_out_of_a_room(door_mm: f64) -> Puzzle {
    let cell = 9.0;
    let (w, h, t) = (600.0, 260.0, 12.0);
    let mut things = vec![
        block([-w, -w, -t], [w, w, 0.0], cell),
        block([-w, -w, h], [w, w, h + t], cell),
        block([-w, -w, 0.0], [-w + t, w, h], cell),
        block([w - t, -w, 0.0], [w, w, h], cell),
        block([-w + t, -w, 0.0], [w - t, -w + t, h], cell),
        block([-w + t, w - t, 0.0], [w - t, w, h], cell),
        // A wall across, with a door.
        block([-t / 2.0, -w + t, 0.0], [t / 2.0, 150.0 - door_mm / 2.0, h], cell),
        block([-t / 2.0, 150.0 + door_mm / 2.0, 0.0], [t / 2.0, w - t, h], cell),
        block([-t / 2.0, 150.0 - door_mm / 2.0, 205.0], [t / 2.0, 150.0 + door_mm / 2.0, h], cell),
    ];
    let mut dice = 362436069362436069u64;
    let mut roll = || {
        dice ^= dice << 13;
        dice ^= dice >> 7;
        dice ^= dice << 17;
        (dice >> 11) as f64 / (1u64 << 53) as f64
    };
    for _ in 0..26 {
        let (x, y) = ((roll() - 0.5) * 1000.0, (roll() - 0.5) * 1000.0);
        let near = |px: f64, py: f64| (x - px).hypot(y - py) < 260.0;
        if near(-330.0, -300.0) || near(330.0, -300.0) || (x.abs() < 130.0) {
            continue;
        }
        let (a, b, c) = (20.0 + 40.0 * roll(), 20.0 + 40.0 * roll(), 60.0 + 120.0 * roll());
        if roll() < 0.5 {
            things.push(block([x - a, y - b, 0.0], [x + a, y + b, c], 4.0));
        } else {
            let line: Vec<_> = (0..=40).map(|i| Point3::new(x, y, c * f64::from(i) / 40.0)).collect();
            things.push(rod(&line, a * 0.7, 60));
        }
    }
    let leg = |x: f64, y: f64| {
        let line: Vec<_> = (0..=20).map(|i| Point3::new(x, y, -100.0 + 5.0 * f64::from(i))).collect();
        rod(&line, 7.0, 24)
    };
    let (a, b) = (110.0, 80.0);
    let table = Mesh::joined([
        block([-a, -b, 0.0], [a, b, 10.0], 8.0),
        leg(-a + 12.0, -b + 12.0),
        leg(a - 12.0, -b + 12.0),
        leg(-a + 12.0, b - 12.0),
        leg(a - 12.0, b - 12.0),
    ]);
    Puzzle {
        name: "table through a door",
        fixed: Mesh::joined(things),
        moving: table,
        start: pose(-330.0, -300.0, 103.0, [0.0, 0.0, 0.1]),
        goal: pose(330.0, -300.0, 103.0, [0.0, 0.0, 0.4]),
        bounds: about(600.0),
        step_mm: 6.0,
    }
}

/// Half a ring of pipe with an elbow at one end, out through a collar that fits it closely.
pub fn bow_through_a_collar(bore_mm: f64) -> Puzzle {
    let bore = bore_mm / 2.0;
    let outline: Vec<(f64, f64)> = (0..24)
        .map(|i| {
            let a = TAU * f64::from(i) / 24.0;
            (bore + 30.0 + 30.0 * a.cos(), 12.0 * a.sin())
        })
        .collect();
    let line = walked(
        Point3::new(0.0, 0.0, -70.0),
        Vector3::z(),
        Vector3::x(),
        &[(60.0, PI * 0.9, 60.0, 0.0), (30.0, FRAC_PI_2, 40.0, 1.2), (70.0, 0.0, 0.0, 0.0)],
    );
    let plate = plate_with_opening(420.0, [-3.0, 3.0], [2.0 * bore + 90.0, 2.0 * bore + 90.0], 30.0);
    Puzzle {
        name: "bow through a collar",
        fixed: Mesh::joined([turned(&outline, 64), plate]),
        moving: rod(&line, 20.0, 32),
        start: pose(0.0, 0.0, 300.0, [0.3, 0.2, 0.1]),
        goal: pose(0.0, 0.0, -320.0, [0.4, -2.0, 0.3]),
        bounds: about(420.0),
        step_mm: 2.0,
    }
}

/// An S of rod out of a chain of two rings that hold it.
pub fn s_out_of_rings(gap_mm: f64) -> Puzzle {
    let ring = |x: f64, turn: f64| {
        let line: Vec<_> = (0..=48)
            .map(|i| {
                let a = TAU * f64::from(i) / 48.0;
                Point3::new(x + 34.0 * a.cos(), 34.0 * a.sin() * turn.cos(), 34.0 * a.sin() * turn.sin())
            })
            .collect();
        rod(&line, 8.0, 14)
    };
    let line = walked(
        Point3::new(-70.0 + gap_mm, -6.0, 0.0),
        Vector3::y(),
        Vector3::x(),
        &[(10.0, PI * 0.85, 26.0, 0.0), (24.0, PI * 0.85, 26.0, PI), (10.0, 0.0, 0.0, 0.0)],
    );
    Puzzle {
        name: "S out of rings",
        fixed: Mesh::joined([ring(-70.0, FRAC_PI_2), ring(60.0, FRAC_PI_2)]),
        moving: rod(&line, 8.0, 16),
        start: pose(0.0, 0.0, 0.0, [0.0, 0.0, 0.0]),
        goal: pose(0.0, 200.0, 0.0, [0.4, -2.0, 0.3]),
        bounds: about(320.0),
        step_mm: 1.5,
    }
}

/// All of them.
pub fn feasible() -> Vec<Puzzle> {
    vec![
        stick_out_of_a_flask(22.0),
        spring_through_a_hole(17.0, 3.0),
        angle_through_rooms(62.0),
        table_out_of_a_room(135.0),
        bow_through_a_collar(42.0),
        s_out_of_rings(8.0),
    ]
}
