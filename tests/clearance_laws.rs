//! Laws of the gap: brute force, rigid motion, swapping, containment, depth.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::common;

use std::f64::consts::TAU;
use std::sync::Arc;

use baywright::clearance::{
    ApartUnder, GapUnder, IndexedShape, apart_under, closest, distance_under, gap, gap_under, touches,
};
use baywright::solid::{Cloud, Compound, Mesh, MeshKind, Piece, Shape};
use baywright::space::{Length, Pose};
use common::{Dice, box_mesh, brute_force_mm, point_triangle_mm, torus_mesh};
use nalgebra::{Point3, Vector3};

fn mesh(mesh: Mesh) -> IndexedShape {
    IndexedShape::new(Arc::new(Shape::Mesh(mesh)))
}

fn shifted(pose: &Pose, by: Vector3<f64>) -> Pose {
    Pose::translation(by.x, by.y, by.z) * pose
}

#[test]
fn mesh_gaps_agree_with_brute_force_over_all_triangle_pairs() {
    let mut dice = Dice::new(1);
    let (one, two) = (torus_mesh(50.0, 15.0, 20, 12), torus_mesh(40.0, 10.0, 14, 10));
    let (a, b) = (mesh(one.clone()), mesh(two.clone()));
    let mut meeting = 0;
    for round in 0..150 {
        let pose = dice.pose(if round % 2 == 0 { 60.0 } else { 130.0 });
        let want = brute_force_mm(&one, &two, &pose);
        let found = gap(&a, &b, &pose);
        if want > 0.0 {
            assert!((found.gap.mm() - want).abs() < 1e-9, "{round}: got {} want {want}", found.gap.mm());
            assert!(!touches(&a, &b, &pose), "{round}");
            let apart = (found.witness.on_moving - found.witness.on_fixed).norm();
            assert!((apart - want).abs() < 1e-9, "{round}");
        } else {
            meeting += 1;
            assert!(found.gap.mm() < 0.0 && touches(&a, &b, &pose), "{round}: {}", found.gap.mm());
        }
    }
    assert!((20..140).contains(&meeting), "{meeting} met");
}

#[test]
fn gap_under_gives_the_gap_or_a_true_bound() {
    let mut dice = Dice::new(2);
    let (a, b) = (mesh(torus_mesh(50.0, 15.0, 40, 20)), mesh(torus_mesh(40.0, 10.0, 30, 16)));
    let mut meeting = 0;
    for round in 0..100 {
        let pose = dice.pose(140.0);
        let full = gap(&a, &b, &pose).gap.mm();
        for limit in [5.0, 25.0, 80.0] {
            match gap_under(&a, &b, &pose, Length::from_mm(limit)) {
                GapUnder::Clear { at_least } => {
                    assert!(
                        at_least.mm() >= limit && at_least.mm() <= full + 1e-9,
                        "{round}: {at_least:?} {full}"
                    );
                }
                GapUnder::Under(found) => {
                    assert!(full < limit, "{round}: {full} is not under {limit}");
                    assert!((found.gap.mm() - full).abs() < 1e-9, "{round}");
                }
            }
            match apart_under(&a, &b, &pose, Length::from_mm(limit)) {
                ApartUnder::Clear { at_least } => {
                    assert!(at_least.mm() >= limit && at_least.mm() <= full + 1e-9, "{round}: {full}");
                }
                ApartUnder::Under(found) => {
                    assert!((0.0..limit).contains(&full), "{round}: {full}");
                    assert!((found.gap.mm() - full).abs() < 1e-9, "{round}");
                }
                ApartUnder::Meeting => {
                    meeting += 1;
                    assert!(full < 1e-9, "{round}: {full}");
                }
            }
        }
    }
    assert!((15..285).contains(&meeting), "{meeting} met");
}

#[test]
fn gaps_do_not_depend_on_where_the_bay_stands() {
    let mut dice = Dice::new(3);
    let (a, b) = (mesh(torus_mesh(50.0, 15.0, 30, 16)), IndexedShape::of_pieces(&pipe()));
    for round in 0..60 {
        let (fixed, moving) = (dice.pose(2000.0), dice.pose(2000.0));
        let a_from_b = dice.pose(150.0);
        let here = gap(&a, &b, &a_from_b);
        // Both solids carried along: the relative pose, computed anew, differs by rounding only.
        let there = gap(&a, &b, &(fixed.inverse() * (fixed * a_from_b)));
        assert!(
            (here.gap.mm() - there.gap.mm()).abs() < 1e-9 * here.gap.mm().abs().max(1.0),
            "{round}: {} {}",
            here.gap.mm(),
            there.gap.mm()
        );
        // Swapped: the same gap, the other way round.
        let swapped = gap(&b, &a, &a_from_b.inverse());
        if here.gap.mm() > 0.0 {
            assert!((here.gap.mm() - swapped.gap.mm()).abs() < 1e-8, "{round}");
        } else {
            assert!(swapped.gap.mm() <= 0.0, "{round}");
        }
        let _ = moving;
    }
}

/// A straight, a bend and a straight.
fn pipe() -> Vec<Piece> {
    let frustum = |from: [f64; 3], to: [f64; 3]| Piece::Frustum {
        from: from.into(),
        to: to.into(),
        from_radius_mm: 12.0,
        to_radius_mm: 12.0,
    };
    vec![
        frustum([40.0, -60.0, 0.0], [40.0, 0.0, 0.0]),
        Piece::Arc {
            center: Point3::origin(),
            axis: Vector3::z_axis(),
            start: Vector3::x_axis(),
            ring_radius_mm: 40.0,
            tube_radius_mm: 12.0,
            sweep_rad: TAU / 4.0,
        },
        frustum([0.0, 40.0, 0.0], [-50.0, 40.0, 0.0]),
    ]
}

#[test]
fn what_is_inside_a_closed_mesh_overlaps_it_and_is_parted_by_the_depth() {
    let shell = mesh(box_mesh(Vector3::new(100.0, 80.0, 60.0)));
    let ball = |at: [f64; 3]| IndexedShape::of_pieces(&[Piece::Ball { center: at.into(), radius_mm: 5.0 }]);
    for (case, at, want_mm) in [
        ("in the middle: out through the nearest face, 30 + 5", [0.0, 0.0, 0.0], -35.0),
        ("near the top: 30 - 20 + 5", [0.0, 0.0, 20.0], -15.0),
        ("near a side: 50 - 48 + 5", [48.0, 0.0, 0.0], -7.0),
        ("outside by 3", [58.0, 0.0, 0.0], 3.0),
    ] {
        let found = gap(&shell, &ball(at), &Pose::identity());
        assert!((found.gap.mm() - want_mm).abs() < 1e-6, "{case}: {}", found.gap.mm());
        assert_eq!(touches(&shell, &ball(at), &Pose::identity()), want_mm < 0.0, "{case}");
        let swapped = gap(&ball(at), &shell, &Pose::identity());
        assert!((swapped.gap.mm() - want_mm).abs() < 1e-6, "{case} swapped: {}", swapped.gap.mm());
        let under = gap_under(&shell, &ball(at), &Pose::identity(), Length::from_mm(1.0));
        assert_eq!(matches!(under, GapUnder::Under(_)), want_mm < 0.0, "{case}: {under:?}");
    }
    // The same mesh wound inside out has the same inside.
    let mut inside_out = box_mesh(Vector3::new(100.0, 80.0, 60.0));
    for t in &mut inside_out.triangles {
        t.swap(1, 2);
    }
    let found = gap(&mesh(inside_out), &ball([0.0; 3]), &Pose::identity());
    assert!((found.gap.mm() + 35.0).abs() < 1e-6, "{}", found.gap.mm());
    // A cloud of which one ball is inside.
    let cloud = Cloud::new(vec![Point3::new(200.0, 0.0, 0.0), Point3::new(0.0, 0.0, 10.0)], 1.0);
    let cloud = IndexedShape::new(Arc::new(Shape::Cloud(cloud)));
    assert!(touches(&shell, &cloud, &Pose::identity()));
}

#[test]
fn an_open_patch_has_no_inside() {
    let mut patch = box_mesh(Vector3::new(100.0, 80.0, 60.0));
    patch.kind = MeshKind::Open { thickness_mm: 0.0 };
    let ball = IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 5.0 }]);
    assert!((gap(&mesh(patch.clone()), &ball, &Pose::identity()).gap.mm() - 25.0).abs() < 1e-9);
    // Thickened by 4 to the back, which is inward here.
    patch.kind = MeshKind::Open { thickness_mm: 4.0 };
    assert!((gap(&mesh(patch), &ball, &Pose::identity()).gap.mm() - 21.0).abs() < 1e-9);
}

/// Moved along the normal by the depth they touch; by 0.999 of it they still overlap.
fn depth_law(case: &str, a: &IndexedShape, b: &IndexedShape, pose: &Pose) -> f64 {
    let found = gap(a, b, pose);
    let depth = -found.gap.mm();
    if depth <= 1e-6 {
        return depth;
    }
    let along = found.witness.normal.into_inner();
    let parted = gap(a, b, &shifted(pose, along * depth)).gap.mm();
    assert!(parted.abs() < 1e-6, "{case}: gap {parted:e} after a push by {depth}");
    assert!(touches(a, b, &shifted(pose, along * (depth * 0.999))), "{case}: apart after 0.999 of {depth}");
    let short = gap(a, b, &shifted(pose, along * (depth * 0.999))).gap.mm();
    assert!(short < 0.0, "{case}: gap {short} after 0.999 of {depth}");
    depth
}

#[test]
fn a_push_by_the_depth_just_parts() {
    let mut dice = Dice::new(7);
    let solids = [
        ("pipe", IndexedShape::of_pieces(&pipe())),
        ("torus mesh", mesh(torus_mesh(50.0, 15.0, 24, 12))),
        ("box mesh", mesh(box_mesh(Vector3::new(60.0, 40.0, 30.0)))),
        (
            "angle of two blocks",
            IndexedShape::of_pieces(&[
                Piece::Block { solid_from_block: Pose::identity(), half_mm: Vector3::new(50.0, 5.0, 20.0) },
                Piece::Block {
                    solid_from_block: Pose::translation(45.0, 40.0, 0.0),
                    half_mm: Vector3::new(5.0, 45.0, 20.0),
                },
            ]),
        ),
        ("ball", IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 20.0 }])),
        ("cloud", {
            let points = (0..300).map(|_| Point3::from(dice.vector(1.0).normalize() * 18.0)).collect();
            IndexedShape::new(Arc::new(Shape::Cloud(Cloud::new(points, 0.5))))
        }),
    ];
    let mut overlapping = 0;
    for round in 0..72 {
        let (i, j) = (round % 6, (round / 6 + round) % 6);
        let pose = dice.pose(35.0);
        let case = format!("{round}: {} and {}", solids[i].0, solids[j].0);
        overlapping += usize::from(depth_law(&case, &solids[i].1, &solids[j].1, &pose) > 0.0);
    }
    assert!(overlapping > 20, "{overlapping} overlapped");
}

#[test]
fn a_convex_mesh_is_as_deep_as_the_same_block() {
    let mut dice = Dice::new(9);
    let size = Vector3::new(60.0, 40.0, 30.0);
    let as_mesh = mesh(box_mesh(size));
    let as_block =
        IndexedShape::of_pieces(&[Piece::Block { solid_from_block: Pose::identity(), half_mm: size / 2.0 }]);
    for round in 0..25 {
        let pose = dice.pose(25.0);
        let exact = gap(&as_block, &as_block, &pose).gap.mm();
        let found = gap(&as_mesh, &as_mesh, &pose).gap.mm();
        if exact > 0.0 {
            assert!((exact - found).abs() < 1e-9, "{round}");
        } else {
            assert!(found <= exact + 1e-7, "{round}: {found} cannot be less than {exact} deep");
            assert!(found >= exact * 1.05 - 1e-6, "{round}: {found} is far deeper than {exact}");
        }
    }
}

#[test]
fn closest_points_agree_with_brute_force_and_know_inside() {
    let mut dice = Dice::new(4);
    let torus = torus_mesh(50.0, 15.0, 32, 16);
    let solid = mesh(torus.clone());
    for round in 0..400 {
        let point = dice.point(80.0);
        let found = closest(&solid, &point);
        let want = torus
            .triangles
            .iter()
            .map(|t| common::point_triangle_mm(&point, &t.map(|i| torus.vertices[i as usize])))
            .fold(f64::INFINITY, f64::min);
        assert!((found.distance_mm.abs() - want).abs() < 1e-9, "{round}: {} {want}", found.distance_mm);
        assert!(((found.point - point).norm() - want).abs() < 1e-9, "{round}");
        // The mesh lies inside the true torus by its chord error: near the surface either sign may be right.
        let smooth = (point.x.hypot(point.y) - 50.0).hypot(point.z) - 15.0;
        if smooth.abs() > 1.0 {
            assert_eq!(found.distance_mm < 0.0, smooth < 0.0, "{round}: {point}");
        }
        let under = distance_under(&solid, &point, Length::from_mm(10.0));
        assert_eq!(under.is_some(), found.distance_mm < 10.0, "{round}");
        if let Some(under) = under {
            assert!((under.distance_mm - found.distance_mm).abs() < 1e-12, "{round}");
        }
    }
}

#[test]
fn empty_and_degenerate_solids_answer() {
    let nothing = IndexedShape::new(Arc::new(Shape::Compound(Compound { parts: vec![] })));
    let ball = IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 5.0 }]);
    assert_eq!(gap(&nothing, &ball, &Pose::identity()).gap.mm(), f64::INFINITY);
    assert!(!touches(&ball, &nothing, &Pose::identity()));
    // Slivers, doubles and triangles without area.
    let p = |x: f64, y: f64| Point3::new(x, y, 20.0);
    let patch = Mesh::new(
        vec![p(0.0, 0.0), p(1.0, 0.0), p(1e-9, 1e-9), p(-40.0, 0.0), p(0.0, 30.0)],
        vec![[0, 1, 2], [0, 1, 2], [0, 0, 1], [0, 0, 0], [3, 1, 4], [3, 1, 4]],
        MeshKind::Open { thickness_mm: 0.0 },
    );
    let found = gap(&mesh(patch), &ball, &Pose::identity());
    assert!((found.gap.mm() - 15.0).abs() < 1e-9, "{found:?}");
}

#[test]
fn far_coordinates_cost_no_more_than_their_rounding() {
    let far = 1e6;
    let ring = torus_mesh(50.0, 15.0, 24, 12);
    let mut moved = ring.clone();
    moved.vertices.iter_mut().for_each(|v| v.x += far);
    let (near_ring, far_ring) = (mesh(ring), mesh(moved));
    let ball =
        IndexedShape::of_pieces(&[Piece::Ball { center: Point3::new(3.0, 4.0, 90.0), radius_mm: 5.0 }]);
    let here = gap(&near_ring, &ball, &Pose::identity()).gap.mm();
    let there = gap(&far_ring, &ball, &Pose::translation(far, 0.0, 0.0)).gap.mm();
    assert!((here - there).abs() < 1e-9 * far, "{here} {there}");
}

/// A cloud's balls are islands each: one inside a closed mesh is enough, wherever the others are.
#[test]
fn a_cloud_is_inside_where_any_of_its_points_is_and_as_far_as_its_nearest() {
    let shell = torus_mesh(60.0, 20.0, 48, 24);
    let solid = mesh(shell.clone());
    let mut dice = Dice::new(404);
    let (mut inside, mut outside) = (0, 0);
    for round in 0..60 {
        let pose = dice.pose(20.0);
        // Points well off the surface, on either side of it; the world's, then brought into the cloud's frame.
        let off_mm = |p: &Point3<f64>| (f64::hypot(p.x, p.y) - 60.0).hypot(p.z) - 20.0;
        let wanted = round % 3 == 0;
        let mut points: Vec<Point3<f64>> =
            std::iter::repeat_with(|| dice.point(110.0)).filter(|p| off_mm(p) > 3.0).take(3000).collect();
        if wanted {
            let one = std::iter::repeat_with(|| dice.point(80.0)).find(|p| off_mm(p) < -3.0).unwrap();
            points.insert(round * 31, one);
        }
        let local: Vec<Point3<f64>> = points.iter().map(|p| pose.inverse_transform_point(p)).collect();
        let cloud = IndexedShape::new(Arc::new(Shape::Cloud(Cloud::new(local, 1.0))));
        for (fixed, moving, fixed_from_moving) in [(&solid, &cloud, pose), (&cloud, &solid, pose.inverse())] {
            assert_eq!(touches(fixed, moving, &fixed_from_moving), wanted, "round {round}");
            if wanted {
                inside += 1;
                continue;
            }
            let found = gap(fixed, moving, &fixed_from_moving).gap.mm();
            outside += 1;
            let corners = |t: &[u32; 3]| t.map(|i| shell.vertices[i as usize]);
            let least = points
                .iter()
                .flat_map(|p| shell.triangles.iter().map(move |t| (p, t)))
                .filter(|(p, t)| (corners(t)[0] - *p).norm() < 25.0)
                .map(|(p, t)| point_triangle_mm(p, &corners(t)))
                .fold(f64::INFINITY, f64::min);
            assert!(
                (found - (least - 1.0)).abs() < 1e-9,
                "round {round}: {found}, by brute force {}",
                least - 1.0
            );
        }
    }
    assert!(inside >= 20 && outside >= 20);
}
