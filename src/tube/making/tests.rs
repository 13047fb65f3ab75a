//! One fault each, and tubes without any.
#![allow(clippy::unwrap_used, clippy::panic)]

use proptest::prelude::*;

use super::*;
use crate::space::Pose;
use crate::tube::{BendList, LegPlace, ListedBend};

/// An invented bender.
fn bender() -> Bender {
    Bender {
        name: "bench".to_owned(),
        dies: [(50.8, 76.2), (63.5, 63.5), (63.5, 95.25), (63.5, 127.0), (76.2, 114.3)]
            .iter()
            .map(|(outside_mm, radius_mm)| Die { outside_mm: *outside_mm, radius_mm: *radius_mm })
            .collect(),
        least_radius_od: 1.0,
        tight_radius_od: 1.5,
        clamp_od: 1.5,
        first_od: 2.0,
        last_od: 1.0,
        most_wall_mm: 3.0,
        most_angle_rad: 120f64.to_radians(),
        most_thinning: 0.30,
        springback: vec![
            Springback { material: Some("stainless-304".to_owned()), share: 0.03, add_rad: 0.01 },
            Springback { material: None, share: 0.02, add_rad: 0.0 },
        ],
        stretch: 0.02,
        source: "common practice, no source".to_owned(),
    }
}

fn list(straights: &[f64], radius_mm: f64, angle_deg: f64) -> BendList {
    let (last, bends) = straights.split_last().unwrap();
    let bend = |straight_mm: &f64| ListedBend {
        straight_mm: *straight_mm,
        rotation_rad: 1.0,
        angle_rad: angle_deg.to_radians(),
        radius_mm,
    };
    BendList { start: Pose::identity(), bends: bends.iter().map(bend).collect(), last_straight_mm: *last }
}

fn making(bender: &Bender) -> Making<'_> {
    Making {
        outside_mm: 63.5,
        wall_mm: Some(1.65),
        elongation: Some(0.40),
        bender,
        start_needs_mm: 0.0,
        end_needs_mm: 0.0,
        start_extra_mm: 0.0,
        end_extra_mm: 0.0,
        stock_bends: &[],
    }
}

/// Source: t R / (R + D/2) and D / 2R worked beside the project; common practice, no source.
#[test]
fn the_outside_of_a_bend() {
    for (ratio, wall, strain) in
        [(1.0, 1.1000, 0.50), (1.5, 1.2375, 0.3333), (2.0, 1.3200, 0.25), (3.0, 1.4143, 0.1667)]
    {
        let radius = 50.8 * ratio;
        assert!((outer_wall_mm(1.65, 50.8, radius) - wall).abs() < 1e-4);
        assert!((outer_strain(50.8, radius) - strain).abs() < 1e-4);
        let share = 1.0 - outer_wall_mm(1.65, 50.8, radius) / 1.65;
        assert!((radius_for_thinning_mm(50.8, share) - radius).abs() < 1e-9);
    }
}

#[test]
fn overbend_and_stretch() {
    let bender = bender();
    let to = |material| bender.bend_to_rad(90f64.to_radians(), material).to_degrees();
    assert!((to(Some("mild-steel")) - 91.8).abs() < 1e-9);
    assert!((to(Some("stainless-304")) - (92.7 + 0.01f64.to_degrees())).abs() < 1e-9);
    assert!((bender.drawn_arc_mm(100.0) - 98.0).abs() < 1e-12);
}

#[test]
fn each_rule_finds_its_fault_and_nothing_else() {
    let bender = bender();
    let usual = making(&bender);
    let stock = [StockBend {
        name: "90 of 63.5".to_owned(),
        outside_mm: 63.5,
        wall_mm: 1.65,
        radius_mm: 80.0,
        angle_rad: 90f64.to_radians(),
        leg_mm: 100.0,
        source: "invented".to_owned(),
    }];
    let fine = list(&[140.0, 100.0, 100.0], 95.25, 60.0);
    assert_eq!(check_making(&fine, &usual).unwrap(), []);
    let cases: Vec<(&str, BendList, Making<'_>)> = vec![
        ("between", list(&[140.0, 90.0, 100.0], 127.0, 60.0), usual),
        ("start", list(&[120.0, 100.0, 100.0], 95.25, 60.0), usual),
        ("end, for the joint", fine.clone(), Making { end_needs_mm: 110.0, ..usual }),
        ("end, for the bender", list(&[140.0, 100.0, 50.0], 95.25, 60.0), usual),
        (
            "end, with tube to cut off",
            list(&[120.0, 100.0, 50.0], 95.25, 60.0),
            Making { start_extra_mm: 7.0, end_extra_mm: 20.0, ..usual },
        ),
        ("no such die", list(&[140.0, 130.0, 100.0], 100.0, 60.0), usual),
        ("tight", list(&[140.0, 130.0, 100.0], 80.0, 60.0), Making { stock_bends: &stock, ..usual }),
        ("too tight", list(&[140.0, 130.0, 100.0], 50.0, 60.0), usual),
        ("no such tube", fine.clone(), Making { outside_mm: 60.0, ..usual }),
        ("wall", fine.clone(), Making { wall_mm: Some(3.5), ..usual }),
        ("angle", list(&[140.0, 100.0, 100.0], 95.25, 130.0), usual),
        ("elongation", fine.clone(), Making { elongation: Some(0.3), ..usual }),
        ("a straight tube for a joint", list(&[40.0], 95.25, 60.0), Making { start_needs_mm: 50.0, ..usual }),
    ];
    let mut told = Vec::new();
    for (case, list, making) in &cases {
        for finding in check_making(list, making).unwrap() {
            told.push(format!("{case}: [{}] {finding}", finding.rule.code()));
        }
    }
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn what_a_remedy_names_can_be_made() {
    let bender = bender();
    let usual = making(&bender);
    let short = list(&[140.0, 90.0, 100.0], 127.0, 60.0);
    let findings = check_making(&short, &usual).unwrap();
    assert_eq!(findings.len(), 1);
    assert_eq!((findings[0].rule, findings[0].place), (MakingRule::StraightBetween, LegPlace::Straight(1)));
    let Remedy::Radius(radius) = findings[0].remedies[0] else { panic!("{findings:?}") };
    let mended = with_radius(&with_radius(&short, 0, radius), 1, radius);
    assert_eq!(check_making(&mended, &usual).unwrap(), []);
    // The corners, and so both ends, stay where they were.
    let (before, after) = (short.corners().unwrap(), mended.corners().unwrap());
    for (one, other) in before.points.iter().zip(&after.points) {
        assert!((one - other).norm() < 1e-9);
    }
}

/// Source: 2 (R -/+ D/2) tan(45 deg / n), worked beside the project.
#[test]
fn pie_cuts() {
    for (joints, radius_mm, want) in
        [(5, 76.2, [12.0689, 24.1378, 36.2067]), (4, 114.3, [30.3142, 45.4714, 60.6285])]
    {
        let angle_rad = 90f64.to_radians();
        let cuts = PieCuts { angle_rad, radius_mm, outside_mm: 76.2, joints };
        for (got, want) in cuts.segment_mm().iter().zip(want) {
            assert!((got - want).abs() < 1e-4, "{got} against {want}");
        }
    }
    assert_eq!(PieCuts::new(90f64.to_radians(), 76.2, 76.2, 15f64.to_radians()).joints, 6);
}

#[test]
fn a_tube_from_stock_bends() {
    let stock = |name: &str, angle: f64| StockBend {
        name: name.to_owned(),
        outside_mm: 63.5,
        wall_mm: 1.65,
        radius_mm: 95.25,
        angle_rad: angle.to_radians(),
        leg_mm: 100.0,
        source: "invented".to_owned(),
    };
    let set = [stock("45", 45.0), stock("90", 90.0), stock("180", 180.0)];
    let mut tube = list(&[150.0, 120.0, 80.0], 95.25, 90.0);
    tube.bends[1].angle_rad = 60f64.to_radians();
    let plan = plan_from_stock(&tube, 63.5, None, &set).unwrap().unwrap();
    assert_eq!(plan.bends[0].stock, "90");
    assert_eq!((plan.bends[0].leg_before_mm, plan.bends[0].leg_after_mm), (100.0, 100.0));
    // 30 deg off a 90, on the side away from the longer straight; its leg covers the other.
    assert!((plan.bends[1].cut_off_rad.to_degrees() - 30.0).abs() < 1e-9);
    assert_eq!((plan.bends[1].leg_before_mm, plan.bends[1].leg_after_mm), (0.0, 80.0));
    assert_eq!(plan.fills_mm, [50.0, 20.0, 0.0]);
    assert_eq!(plan.welds, 3); // 50 | 90 | 20 | 60 with its leg
    tube.bends[0].radius_mm = 120.0;
    assert_eq!(plan_from_stock(&tube, 63.5, None, &set).unwrap(), Err((1, Some(95.25))));
    // A stock bend of another wall is none: nobody welds 1.65 to 3 for a tube that was to be even.
    tube.bends[0].radius_mm = 95.25;
    assert!(plan_from_stock(&tube, 63.5, Some(1.5), &set).unwrap().is_ok());
    assert_eq!(plan_from_stock(&tube, 63.5, Some(3.0), &set).unwrap(), Err((1, None)));
    // Whatever is taken and filled adds up to the straights.
    let legs: f64 = plan.bends.iter().map(|one| one.leg_before_mm + one.leg_after_mm).sum();
    assert!((legs + plan.fills_mm.iter().sum::<f64>() - 350.0).abs() < 1e-9);
}

proptest! {
    /// A tube without findings stays without when everything grows but the tube.
    #[test]
    fn longer_straights_never_make_it_worse(
        straights in prop::collection::vec(10.0f64..300.0, 1..5), by in 0.0f64..200.0, angle in 5.0f64..110.0,
    ) {
        let bender = bender();
        let usual = making(&bender);
        let found = |list: &BendList| check_making(list, &usual).map(|found| found.len());
        let short = list(&straights, 95.25, angle);
        let longer: Vec<f64> = straights.iter().map(|mm| mm + by).collect();
        if let (Ok(one), Ok(other)) = (found(&short), found(&list(&longer, 95.25, angle))) {
            prop_assert!(other <= one);
        }
    }
}
