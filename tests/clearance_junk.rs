//! Meshes that nobody would draw: whatever their corners and triangles are, every question is answered, and the
//! answers agree with each other.

use std::sync::Arc;

use baywright::clearance::{
    ApartUnder, GapUnder, IndexedShape, all_under, apart_under, closest, gap, gap_under, ray, touches,
};
use baywright::solid::{Mesh, MeshKind, Shape};
use baywright::space::{Length, Pose};
use nalgebra::{Isometry3, Point3, Unit, UnitQuaternion, Vector3};
use proptest::prelude::*;

/// Round numbers, that triangles fall together; hairs, giants and anything.
fn coordinate() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => (-3i32..=3).prop_map(|v| f64::from(v) * 10.0),
        1 => prop_oneof![Just(1e-9), Just(-1e-9), Just(1e-300), Just(1e5), Just(-1e5)],
        3 => -50.0..50.0f64,
    ]
}

fn junk() -> impl Strategy<Value = Mesh> {
    let point = [coordinate(), coordinate(), coordinate()].prop_map(Point3::from);
    let kind = prop_oneof![
        3 => Just(None),
        1 => Just(Some(MeshKind::Closed)),
        1 => Just(Some(MeshKind::Open { thickness_mm: 0.0 })),
        1 => Just(Some(MeshKind::Open { thickness_mm: 2.0 })),
    ];
    (prop::collection::vec(point, 1..12), prop::collection::vec([0u32..12, 0..12, 0..12], 1..20), kind)
        .prop_map(|(vertices, triangles, kind)| {
            let count = vertices.len() as u32;
            let mut triangles: Vec<[u32; 3]> = triangles.into_iter().map(|t| t.map(|i| i % count)).collect();
            if count > 3 && kind.is_none() {
                // A body that is closed, however flat it may be.
                triangles = vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]];
            }
            match kind {
                Some(kind) => Mesh::new(vertices, triangles, kind),
                None => Mesh::of_unknown_kind(vertices, triangles),
            }
        })
}

fn pose() -> impl Strategy<Value = Pose> {
    let turn = prop_oneof![
        Just(UnitQuaternion::identity()),
        [-3.0..3.0f64, -3.0..3.0, -3.0..3.0].prop_map(|v| UnitQuaternion::from_scaled_axis(Vector3::from(v))),
    ];
    ([coordinate(), coordinate(), coordinate()], turn)
        .prop_map(|(at, turn)| Isometry3::from_parts(Vector3::from(at).into(), turn))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn answers_to_junk_agree_with_each_other(one in junk(), two in junk(), pose in pose()) {
        let [a, b] = [one, two].map(|mesh| IndexedShape::new(Arc::new(Shape::Mesh(mesh))));
        let found = gap(&a, &b, &pose);
        let mm = found.gap.mm();
        prop_assert!(mm.is_finite(), "{found:?}");
        prop_assert!((found.witness.normal.norm() - 1.0).abs() < 1e-9);
        // Giants of a hundred metres are known to a millionth of a millimetre and no better.
        let sure = 1e-6;
        if mm.abs() > sure {
            prop_assert_eq!(touches(&a, &b, &pose), mm < 0.0, "gap {}", mm);
            prop_assert_eq!(touches(&b, &a, &pose.inverse()), mm < 0.0, "swapped, gap {}", mm);
        }
        if mm > sure {
            let swapped = gap(&b, &a, &pose.inverse()).gap.mm();
            prop_assert!((swapped - mm).abs() < sure, "{} and, swapped, {}", mm, swapped);
            let apart = (found.witness.on_moving - found.witness.on_fixed).norm();
            prop_assert!((apart - mm).abs() < sure, "{} between points {} apart", mm, apart);
        }
        match gap_under(&a, &b, &pose, Length::from_mm(5.0)) {
            GapUnder::Clear { at_least } => prop_assert!(mm >= 5.0 && at_least.mm() <= mm + sure),
            GapUnder::Under(under) => prop_assert!(mm < 5.0 + sure && (under.gap.mm() - mm).abs() < sure),
        }
        match apart_under(&a, &b, &pose, Length::from_mm(5.0)) {
            ApartUnder::Meeting => prop_assert!(mm < sure, "met, and a gap of {}", mm),
            ApartUnder::Clear { at_least } => prop_assert!(mm >= 5.0 && at_least.mm() <= mm + sure),
            ApartUnder::Under(under) => prop_assert!(mm > -sure && (under.gap.mm() - mm).abs() < sure),
        }
        let origin = Point3::from(pose.translation.vector);
        prop_assert!(closest(&a, &origin).distance_mm.is_finite());
        if let Some(hit) = ray(&a, &origin, &Unit::new_normalize(Vector3::new(1.0, 2.0, 3.0)), Length::from_mm(1e7)) {
            prop_assert!(hit.distance.mm() >= 0.0 && hit.point.coords.iter().all(|v| v.is_finite()));
        }
        for patch in all_under(&a, &b, &pose, Length::from_mm(2.0), Length::from_mm(20.0)) {
            prop_assert!(patch.area_mm2 >= 0.0 && patch.least.mm() < 2.0);
        }
    }
}
