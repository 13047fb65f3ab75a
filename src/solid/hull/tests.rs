#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::HashSet;

use proptest::prelude::*;

use super::*;
use crate::space::Pose;

fn points(list: &[[f64; 3]]) -> Vec<Point3<f64>> {
    list.iter().map(|&at| Point3::from(at)).collect()
}

/// Every point behind every face; every side shared by two faces; V - E + F = 2 (Euler); all corners used.
fn check(given: &[Point3<f64>]) {
    let hull = Hull::new(given.to_vec());
    hull.validate().unwrap();
    let faces = hull.faces().unwrap();
    let size = Bounds::of_points(given).diagonal_mm();
    for (normal, offset) in &faces.planes {
        for point in given {
            let before = normal.dot(&point.coords) - offset;
            assert!(before <= 1e-8 * size.max(1e-3), "{point} lies {before} mm before a face");
        }
    }
    let sides: HashSet<(u32, u32)> =
        faces.triangles.iter().flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)]).collect();
    assert_eq!(sides.len(), 3 * faces.triangles.len(), "a side is run through twice");
    assert!(sides.iter().all(|&(a, b)| sides.contains(&(b, a))), "a side has no partner");
    let used: HashSet<u32> = faces.triangles.iter().flatten().copied().collect();
    assert_eq!(used.len(), faces.vertices.len());
    assert_eq!(faces.vertices.len() + faces.triangles.len(), sides.len() / 2 + 2, "Euler");
}

fn block(x: f64, y: f64, z: f64) -> Vec<Point3<f64>> {
    Bounds { min: Point3::origin(), max: Point3::new(x, y, z) }.corners().to_vec()
}

/// Points of a lattice: most lie in the middle of faces and edges.
fn lattice(count: usize, pose: &Pose) -> Vec<Point3<f64>> {
    let mut all = Vec::new();
    for x in 0..count {
        for y in 0..count {
            for z in 0..count {
                all.push(pose * Point3::new(x as f64 * 7.3, y as f64 * 7.3, z as f64 * 7.3));
            }
        }
    }
    all
}

#[test]
fn volumes_by_closed_form() {
    let side = 7.3 * 4.0;
    let turned = crate::space::pose_from_euler(
        Vector3::new(812.0, -340.0, 95.0),
        crate::space::Angle::from_deg(31.0),
        crate::space::Angle::from_deg(-17.0),
        crate::space::Angle::from_deg(77.0),
    );
    let frustum = points(&[
        [-100.0, -50.0, 0.0],
        [100.0, -50.0, 0.0],
        [100.0, 50.0, 0.0],
        [-100.0, 50.0, 0.0],
        [-50.0, -25.0, 90.0],
        [50.0, -25.0, 90.0],
        [50.0, 25.0, 90.0],
        [-50.0, 25.0, 90.0],
    ]);
    for (case, given, want) in [
        ("block: 20 30 40", block(20.0, 30.0, 40.0), 24_000.0),
        ("rectangular frustum, prismoid formula: 1.05 litre", frustum, 1.05e6),
        (
            "octahedron of half-diagonal 10: 4/3 10^3",
            points(&[
                [10.0, 0.0, 0.0],
                [-10.0, 0.0, 0.0],
                [0.0, 10.0, 0.0],
                [0.0, -10.0, 0.0],
                [0.0, 0.0, 10.0],
                [0.0, 0.0, -10.0],
            ]),
            4000.0 / 3.0,
        ),
        ("lattice, all faces full of points", lattice(5, &Pose::identity()), side * side * side),
        (
            "the same turned, so that rounding lifts points off the faces",
            lattice(5, &turned),
            side * side * side,
        ),
    ] {
        check(&given);
        let got = Hull::new(given).volume_mm3();
        assert!((got - want).abs() < 1e-7 * want, "{case}: got {got}, want {want}");
    }
}

#[test]
fn a_hull_without_inside_is_refused() {
    let same = [[3.0, 4.0, 5.0]; 6];
    let line: Vec<[f64; 3]> =
        (0..6).map(|i| [f64::from(i), 2.0 * f64::from(i), 0.1 * f64::from(i)]).collect();
    let plane: Vec<[f64; 3]> =
        (0..25).map(|i| [f64::from(i % 5), f64::from(i / 5), 0.3 * f64::from(i % 5)]).collect();
    for (case, given) in [("one place", &same[..]), ("one line", &line), ("one plane", &plane)] {
        let error = Hull::new(points(given)).validate().unwrap_err();
        assert!(
            matches!(error, ShapeError::FlatHull { thickness_mm } if thickness_mm < 1e-9),
            "{case}: {error}"
        );
    }
    let three = Hull::new(points(&same[..3]));
    assert_eq!(three.validate().unwrap_err().to_string(), "3 points of a hull given; at least 4 are needed");
    assert!(three.pieces().is_empty() && three.closest(&Point3::origin()).distance_mm.is_infinite());
    let broken = Hull::new(points(&[[0.0; 3], [f64::NAN, 0.0, 0.0], [0.0; 3], [0.0; 3]]));
    insta::assert_snapshot!(broken.validate().unwrap_err(), @"hull point 1 has a coordinate that is not a finite number");
}

#[test]
fn closest_point_of_a_block_agrees_with_the_block() {
    let hull = Hull::new(block(20.0, 30.0, 40.0));
    for (case, at, want_mm) in [
        ("before a face", [10.0, 15.0, 45.0], 5.0),
        ("before an edge, 3-4-5", [23.0, 34.0, 20.0], 5.0),
        ("before a corner: sqrt(2^2 + 3^2 + 6^2)", [22.0, 33.0, 46.0], 7.0),
        ("inside, 4 behind x = 20", [16.0, 15.0, 20.0], -4.0),
        ("on a face", [20.0, 11.0, 20.0], 0.0),
    ] {
        let got = hull.closest(&Point3::from(at));
        assert!((got.distance_mm - want_mm).abs() < 1e-9, "{case}: got {} mm", got.distance_mm);
    }
}

fn cloud(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Point3<f64>>> {
    // On a coarse lattice of every size, so that many points fall together, on lines and in planes.
    (prop::collection::vec(prop::array::uniform3(-6_i32..7), count), 0_i32..4).prop_map(|(raw, power)| {
        let step = 0.1 * 10_f64.powi(power);
        raw.into_iter().map(|at| Point3::from(at.map(|value| f64::from(value) * step))).collect()
    })
}

proptest! {
    #[test]
    fn every_point_lies_behind_every_face(given in cloud(4..60)) {
        if Hull::new(given.clone()).validate().is_ok() {
            check(&given);
        }
    }

    #[test]
    fn points_on_a_ball_are_all_corners(raw in prop::collection::vec(prop::array::uniform3(-1.0_f64..1.0), 8..200)) {
        let given: Vec<Point3<f64>> = raw.into_iter()
            .filter_map(|at| Vector3::from(at).try_normalize(0.1))
            .map(|way| Point3::from(way * 50.0))
            .collect();
        if Hull::new(given.clone()).validate().is_ok() {
            check(&given);
            prop_assert_eq!(Hull::new(given.clone()).corners().len(), given.len());
        }
    }
}

/// Found by fuzzing: a corner lay 1e-14 before the plane of a triangle of its own face, and was told to be as far off as that triangle.
#[test]
fn corners_of_faces_of_many_triangles_lie_on_the_hull() {
    let text = b"# invented L bracket, 5 thick; its flat faces are concave hexagons\nv 0 0 0\nv 40 0 0\nv 40 10 0\nv 10 10 0\nv 10 30 0\n\
        v 0 30 0\nv 0 0 5\nv 40 0 5\nv 40 10 5\nv 10 10 5\nv 10 30 5\nv 0 30 5\nf 6 5 4 3 2 1\nf 7 8 9 10 11 12\nf 1 2 8 7\nf 2 3 9 8\n\
        f 3 4 10 9\nf 4 5 11 10\nf 5 6 12 11\nf 6 1 7 12\n";
    let given: Vec<Point3<f64>> = text
        .chunks_exact(3)
        .map(|at| Point3::new(f64::from(at[0] as i8), f64::from(at[1] as i8), f64::from(at[2] as i8)))
        .collect();
    let hull = Hull::new(given.clone());
    for point in &given {
        let found = hull.closest(point);
        assert!(found.distance_mm < 1e-9, "{point} is told to lie {} mm off", found.distance_mm);
    }
}
