#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use nalgebra::Vector3;
use proptest::prelude::*;

use super::*;
use crate::solid::{Ball, Block};

fn block(x: f64, y: f64, z: f64) -> Mesh {
    Block { size_mm: Vector3::new(x, y, z) }.tessellate(1.0)
}

#[test]
fn inside_is_right_where_rays_meet_edges_and_corners() {
    let mesh = block(20.0, 20.0, 20.0);
    // A lattice in step with the corners: rays along axes or diagonals would meet edges all the time.
    for x in -7..=7 {
        for y in -7..=7 {
            for z in -7..=7 {
                let at = Point3::new(f64::from(x) * 2.0, f64::from(y) * 2.0, f64::from(z) * 2.0);
                let reach = at.coords.amax();
                if (reach - 10.0).abs() > 1e-9 {
                    assert_eq!(mesh.inside(&at), reach < 10.0, "{at}");
                }
            }
        }
    }
    for short in [1e-6, 1e-9, 1e-12] {
        let near = 10.0 - short;
        assert!(mesh.inside(&Point3::new(near, near, near)), "{short} mm inside a corner");
        assert!(!mesh.inside(&Point3::new(10.0 + short, near, near)), "{short} mm outside a face");
    }
}

#[test]
fn shells_that_overlap_are_one_and_shells_that_face_inward_are_hollow() {
    let small = block(10.0, 10.0, 10.0);
    let beside = small.moved(&Pose::translation(5.0, 0.0, 0.0));
    let both = Mesh::joined([small.clone(), beside]);
    assert!(both.inside(&Point3::new(2.5, 0.0, 0.0)), "in both");
    assert!(both.inside(&Point3::new(8.0, 0.0, 0.0)), "in one");
    assert!(!both.inside(&Point3::new(11.0, 0.0, 0.0)));
    let hollow = Mesh::joined([block(30.0, 30.0, 30.0), small.turned_over()]);
    hollow.validate().unwrap();
    assert!(!hollow.inside(&Point3::new(0.5, 1.0, 2.0)), "in the hollow");
    assert!(hollow.inside(&Point3::new(10.5, 1.0, 2.0)));
    assert!((hollow.volume_mm3() - 26_000.0).abs() < 1e-9, "30^3 - 10^3");
    assert!((hollow.closest(&Point3::origin()).distance_mm - 5.0).abs() < 1e-12, "outside, in the hollow");
}

#[test]
fn closedness_counts_edges() {
    let whole = block(1.0, 1.0, 1.0);
    assert_eq!(whole.open_edges(), 0);
    let mut lidless = whole.triangles.clone();
    lidless.drain(2..4);
    assert_eq!(Mesh::new(whole.vertices.clone(), lidless, MeshKind::Closed).open_edges(), 4, "a missing lid");
    let mut turned = whole.triangles.clone();
    turned[0].swap(1, 2);
    assert_eq!(
        Mesh::new(whole.vertices.clone(), turned, MeshKind::Closed).open_edges(),
        3,
        "one turned over"
    );
    let twice: Vec<_> = whole.triangles.iter().chain(&whole.triangles).copied().collect();
    assert_eq!(Mesh::new(whole.vertices.clone(), twice, MeshKind::Closed).open_edges(), 18, "all doubled");
}

#[test]
fn what_cannot_be_is_refused() {
    let whole = block(10.0, 10.0, 10.0);
    let with = |triangles: Vec<[u32; 3]>| Mesh::new(whole.vertices.clone(), triangles, MeshKind::Closed);
    insta::assert_snapshot!(with(vec![[0, 1, 9]]).validate().unwrap_err(), @"triangle 0 (from 0) names vertex 9, but there are 8 vertices");
    insta::assert_snapshot!(with(vec![]).validate().unwrap_err(), @"the mesh has no triangle of any area");
    insta::assert_snapshot!(with(vec![[0, 1, 2]]).validate().unwrap_err(), @"the mesh is called closed, but 3 of its edges are not shared by two triangles that run opposite ways; mend it, or treat it as open with a thickness");
    insta::assert_snapshot!(whole.turned_over().validate().unwrap_err(), @"the mesh is inside out: its volume is -1000.000 mm3; turn its triangles over");
    let mut lost = whole.clone();
    lost.vertices[3].y = f64::INFINITY;
    insta::assert_snapshot!(lost.validate().unwrap_err(), @"vertex 3 has a coordinate that is not a finite number");
    // Not validated, but asked all the same: no panic.
    let broken = with(vec![[0, 1, 99]]);
    assert!(broken.pieces().is_empty() && broken.closest(&Point3::origin()).distance_mm.is_infinite());
    assert!(!broken.inside(&Point3::origin()) && broken.tessellate(1.0).triangles.len() == 1);
    let _ = (broken.bounds(), broken.volume_mm3(), broken.center_of_mass());
}

#[test]
fn a_skin_reaches_behind_its_triangles() {
    // One triangle in the plane z = 0 facing up, 2 mm thick downward; legs of 30.
    let corners = vec![Point3::origin(), Point3::new(30.0, 0.0, 0.0), Point3::new(0.0, 30.0, 0.0)];
    let skin = Mesh::new(corners, vec![[0, 1, 2]], MeshKind::Open { thickness_mm: 2.0 });
    skin.validate().unwrap();
    for (case, at, want_mm) in [
        ("above", [5.0, 5.0, 7.0], 7.0),
        ("below: 9 - 2", [5.0, 5.0, -9.0], 7.0),
        ("within, nearer the back", [8.0, 8.0, -1.5], -0.5),
        ("beside the back edge: hypot(3, 4)", [5.0, -3.0, -6.0], 5.0),
        ("beside the long side: 20/sqrt 2", [25.0, 25.0, -1.0], 14.142135623730951),
    ] {
        let got = skin.closest(&Point3::from(at)).distance_mm;
        assert!((got - want_mm).abs() < 1e-12, "{case}: got {got} mm, want {want_mm} mm");
    }
    assert!((skin.volume_mm3() - 900.0).abs() < 1e-9, "30^2 / 2 times 2");
    assert!((skin.center_of_mass() - Point3::new(10.0, 10.0, -1.0)).norm() < 1e-12);
    assert_eq!(skin.bounds().min.z, -2.0);
    let bare = Mesh { kind: MeshKind::Open { thickness_mm: 0.0 }, ..skin.clone() };
    assert_eq!(bare.closest(&Point3::new(5.0, 5.0, -9.0)).distance_mm, 9.0, "no inside");
    assert_eq!(bare.closest(&Point3::new(5.0, 5.0, -9.0)).normal.z, -1.0, "toward the point");
    assert_eq!(bare.volume_mm3(), 0.0);
}

#[test]
fn a_patch_has_its_metal_on_the_side_that_is_named() {
    let corner = |x: f64, y: f64| Point3::new(x, y, 0.0);
    let corners = vec![corner(0.0, 0.0), corner(30.0, 0.0), corner(30.0, 30.0), corner(0.0, 30.0)];
    let kind = MeshKind::Open { thickness_mm: 2.0 };
    let below = |mesh: &Mesh| mesh.closest(&Point3::new(10.0, 5.0, -9.0)).distance_mm;
    for wound in [[[0, 1, 2], [0, 2, 3]], [[0, 2, 1], [0, 3, 2]]] {
        let patch = Mesh::new(corners.clone(), wound.to_vec(), kind);
        for (side, want_mm) in [(-Vector3::z(), 7.0), (Vector3::z(), 9.0)] {
            assert_eq!(below(&patch.clone().with_solid_side(&side).unwrap()), want_mm, "{wound:?}, {side}");
        }
        assert_eq!(
            patch.with_solid_side(&Vector3::x()),
            Err(ShapeError::SideUnclear { away: 0.0, toward: 0.0 })
        );
    }
    let torn = Mesh::new(corners, vec![[0, 1, 2], [0, 3, 2]], kind);
    assert_eq!(
        torn.with_solid_side(&Vector3::z()),
        Err(ShapeError::SideUnclear { away: 50.0, toward: 50.0 })
    );
}

#[test]
fn triangles_without_area_do_no_harm() {
    let whole = block(10.0, 10.0, 10.0);
    let mut vertices = whole.vertices.clone();
    let mut triangles = whole.triangles.clone();
    // Split the edge from corner 0 to 1 in one of its two triangles only, and fill the crack with a sliver.
    vertices.push(nalgebra::center(&vertices[0], &vertices[1]));
    let place = triangles.iter().position(|corners| *corners == [0, 1, 5]).unwrap();
    triangles[place] = [0, 8, 5];
    triangles.extend([[8, 1, 5], [0, 1, 8], [3, 3, 3]]);
    let slivered = Mesh::new(vertices, triangles, MeshKind::Closed);
    slivered.validate().unwrap();
    for at in [[0.0, -7.0, -5.1], [1e-3, -4.9, -4.9], [0.0, -4.0, -4.5], [3.0, -9.0, -9.0]] {
        let at = Point3::from(at);
        let (one, other) = (whole.closest(&at), slivered.closest(&at));
        assert!((one.distance_mm - other.distance_mm).abs() < 1e-12, "{at}");
    }
}

fn at() -> impl Strategy<Value = Point3<f64>> {
    prop::array::uniform3(-40.0_f64..40.0).prop_map(Point3::from)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Against every triangle in turn, and the sum of solid angles.
    #[test]
    fn the_tree_agrees_with_brute_force(points in prop::collection::vec(at(), 20)) {
        let ball = Ball { radius_mm: 25.0 }.tessellate(0.2);
        let index = ball.index();
        for point in points {
            let brute = (0..ball.triangles.len())
                .map(|triangle| (point - triangle::nearest(&point, &ball.corners(triangle))).norm())
                .fold(f64::INFINITY, f64::min);
            prop_assert!((index.closest(&point).distance_mm - brute).abs() < 1e-12);
            let halves: f64 = (0..ball.triangles.len())
                .map(|triangle| triangle::half_solid_angle(&point, &ball.corners(triangle)))
                .sum();
            prop_assert_eq!(index.winding(&point), (halves / std::f64::consts::TAU).round() as i64);
        }
    }

    /// Against a dense search over the triangle.
    #[test]
    fn nearest_of_a_triangle_agrees_with_a_search(corners in prop::array::uniform3(at()), point in at()) {
        let found = triangle::nearest(&point, &corners);
        let steps = 60;
        let mut least = f64::INFINITY;
        for i in 0..=steps {
            for j in 0..=steps - i {
                let (u, v) = (f64::from(i) / f64::from(steps), f64::from(j) / f64::from(steps));
                let on = corners[0] + (corners[1] - corners[0]) * u + (corners[2] - corners[0]) * v;
                least = least.min((point - on).norm());
            }
        }
        let got = (point - found).norm();
        let size = (corners[1] - corners[0]).norm().max((corners[2] - corners[0]).norm());
        prop_assert!(got <= least + 1e-9, "{got} mm is farther than {least} mm");
        prop_assert!(least - got <= 2.0 * size / f64::from(steps));
    }
}
