//! Rays: closed forms, brute force over all triangles, and a walk along the ray by distances.

use std::f64::consts::TAU;
use std::sync::Arc;

use baywright::clearance::{IndexedShape, closest, ray};
use baywright::solid::{Ball, Block, Frustum, Mesh, Shape, TorusArc};
use baywright::space::Length;
use nalgebra::{Point3, Unit, Vector3};

use crate::common::{Dice, torus_mesh};

fn index(shape: Shape) -> IndexedShape {
    IndexedShape::new(Arc::new(shape))
}

const FAR: f64 = 1000.0;

#[test]
fn rays_meet_where_school_says() {
    let block = index(Shape::Block(Block { size_mm: Vector3::new(40.0, 20.0, 10.0) }));
    let ball = index(Shape::Ball(Ball { radius_mm: 10.0 }));
    let cone =
        index(Shape::Frustum(Frustum { bottom_radius_mm: 20.0, top_radius_mm: 10.0, length_mm: 40.0 }));
    let ring =
        index(Shape::TorusArc(TorusArc { ring_radius_mm: 50.0, tube_radius_mm: 10.0, sweep_rad: TAU }));
    for (case, solid, from, along, want) in [
        ("face of a block", &block, [-100.0, 3.0, 2.0], [1.0, 0.0, 0.0], Some(80.0)),
        ("beside it", &block, [-100.0, 10.1, 2.0], [1.0, 0.0, 0.0], None),
        ("behind it", &block, [100.0, 0.0, 0.0], [1.0, 0.0, 0.0], None),
        ("from inside a piece", &block, [0.0, 0.0, 0.0], [1.0, 0.0, 0.0], Some(0.0)),
        ("a ball off its middle", &ball, [0.0, 8.0, 50.0], [0.0, 0.0, -1.0], Some(44.0)),
        ("a cone halfway up", &cone, [-100.0, 0.0, 0.0], [1.0, 0.0, 0.0], Some(85.0)),
        ("through a ring's hole", &ring, [0.0, 0.0, 100.0], [0.0, 0.0, -1.0], None),
        ("on to a ring", &ring, [50.0, 0.0, 100.0], [0.0, 0.0, -1.0], Some(90.0)),
        ("across a ring", &ring, [-100.0, 0.0, 0.0], [1.0, 0.0, 0.0], Some(40.0)),
        ("from a ring's middle", &ring, [0.0, 0.0, 0.0], [0.6, 0.8, 0.0], Some(40.0)),
        ("beyond the limit", &ball, [0.0, 0.0, FAR + 20.0], [0.0, 0.0, -1.0], None),
    ] {
        let along = Unit::new_normalize(Vector3::from(along));
        let hit = ray(solid, &Point3::from(from), &along, Length::from_mm(FAR));
        assert_eq!(hit.map(|hit| (hit.distance.mm() * 1e7).round() / 1e7), want, "{case}");
        if let Some(hit) = hit.filter(|hit| hit.distance.mm() > 0.0) {
            assert!(
                hit.normal.dot(&along) < 0.0,
                "{case}: the normal {:?} is not against the ray",
                hit.normal
            );
        }
    }
}

fn brute(mesh: &Mesh, from: &Point3<f64>, along: &Vector3<f64>) -> Option<f64> {
    // Moeller and Trumbore 1997 (from memory), over all triangles.
    let hits = mesh.triangles.iter().filter_map(|t| {
        let [a, b, c] = t.map(|i| mesh.vertices[i as usize]);
        let (e, f) = (b - a, c - a);
        let p = along.cross(&f);
        let det = e.dot(&p);
        let s = from - a;
        let u = s.dot(&p) / det;
        let q = s.cross(&e);
        let v = along.dot(&q) / det;
        let t = f.dot(&q) / det;
        (det != 0.0 && u >= 0.0 && v >= 0.0 && u + v <= 1.0 && t >= 0.0).then_some(t)
    });
    hits.min_by(f64::total_cmp)
}

#[test]
fn rays_agree_with_brute_force_over_all_triangles() {
    let mut dice = Dice::new(61);
    let mesh = torus_mesh(50.0, 15.0, 40, 24);
    let solid = index(Shape::Mesh(mesh.clone()));
    let mut met = 0;
    for round in 0..2000 {
        let from = dice.point(90.0);
        // At a point of the ring's plane, more often than not near its tube.
        let toward = dice.vector(70.0).component_mul(&Vector3::new(1.0, 1.0, 0.1)) - from.coords;
        let along = Unit::new_normalize(toward);
        let (want, hit) = (brute(&mesh, &from, &along), ray(&solid, &from, &along, Length::from_mm(FAR)));
        let found = hit.map(|hit| hit.distance.mm());
        assert_eq!(found.is_some(), want.is_some(), "{round}: {found:?}, {want:?}");
        if let (Some(found), Some(want)) = (found, want) {
            met += 1;
            assert!((found - want).abs() < 1e-9, "{round}: {found} {want}");
        }
    }
    assert!((500..1900).contains(&met), "{met} met");
}

#[test]
fn a_ray_ends_on_the_surface_and_passes_nothing_before() {
    let mut dice = Dice::new(62);
    let arc = TorusArc { ring_radius_mm: 60.0, tube_radius_mm: 12.0, sweep_rad: 2.0 };
    let cone = Frustum { bottom_radius_mm: 30.0, top_radius_mm: 5.0, length_mm: 70.0 };
    for solid in [index(Shape::TorusArc(arc)), index(Shape::Frustum(cone))] {
        let mut met = 0;
        for round in 0..1000 {
            let from = dice.point(150.0);
            let along = Unit::new_normalize(dice.vector(60.0) - from.coords);
            let hit = ray(&solid, &from, &along, Length::from_mm(FAR));
            if closest(&solid, &from).distance_mm <= 0.0 {
                assert_eq!(hit.map(|hit| hit.distance.mm()), Some(0.0), "{round}: from inside");
                continue;
            }
            let end_mm = hit.map_or(300.0, |hit| hit.distance.mm());
            met += usize::from(hit.is_some());
            if let Some(hit) = hit.filter(|hit| hit.distance.mm() > 0.0) {
                let off = closest(&solid, &hit.point).distance_mm;
                assert!(off.abs() < 1e-6, "{round}: ends {off} off the surface");
            }
            for step in 0..60 {
                let at = from + along.into_inner() * (end_mm * f64::from(step) / 60.0);
                let off = closest(&solid, &at).distance_mm;
                assert!(off > -1e-6, "{round}: {off} inside at step {step} of 60 before {end_mm}");
            }
        }
        assert!(met > 50, "{met} met");
    }
}
