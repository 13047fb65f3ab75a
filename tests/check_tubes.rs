//! Tubes in a check: what cannot be made, tubes that cross themselves, joints between carriers, growth in heat.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::check::{CheckOptions, Checker, Finding, Findings, Verdict};
use baywright::motion::{Freedom, Movement};
use baywright::space::Axis;
use baywright::tube::demand_over;
use nalgebra::{Point3, Unit, Vector3};
use proptest::prelude::*;

use crate::common::load;

fn findings(text: &str) -> Findings {
    Checker::new().check(&load(text), None, &CheckOptions::default())
}

fn of<'a>(findings: &'a Findings, code: &str) -> Vec<&'a Finding> {
    findings.list.iter().filter(|finding| finding.code == code).collect()
}

fn with_tube(tube: &str) -> String {
    format!(
        "baywright: 1\nunits: mm\nbodies:\n  pipe: {{shape: {{tube: {tube}}}, material: stainless-304{{MORE}}}}\n"
    )
}

/// Every rule that the bench's list knows is a finding here; the bender is the library's, of round figures: 1.5 diameters
/// of clamp are 76.2 on 50.8 mm.
#[test]
fn what_the_named_bender_cannot_make_is_a_finding() {
    let scene = |straight: f64, radius: f64, by: &str| {
        let tube = format!(
            "{{diameter: 50.8, wall: 1.65, bends: [{{straight: 200, angle: 90 deg}}, {{straight: {straight}, angle: 60 deg}}], last_straight: 200, bend_radius: {radius}}}"
        );
        with_tube(&tube).replace("{MORE}", by)
    };
    for (case, text, messages) in [
        ("fits", scene(80.0, 76.2, ", bent_by: mandrel-rotary"), vec![]),
        ("nothing said, nothing asked", scene(10.0, 60.0, ""), vec![]),
        (
            "70 between bends where 76.2 are asked",
            scene(70.0, 76.2, ", bent_by: mandrel-rotary"),
            vec!["the straight after bend 1", "make it 6.20 mm longer"],
        ),
        (
            "no die of 90 mm radius",
            scene(80.0, 90.0, ", bent_by: mandrel-rotary"),
            vec!["bend 1", "bend it to a radius of 76.20 mm"],
        ),
        ("ready-made bends of that radius", scene(10.0, 76.2, ", bent_by: stock"), vec![]),
        (
            "none of that radius",
            scene(10.0, 80.0, ", bent_by: stock"),
            vec!["no stock bend makes bend 1", "76.20"],
        ),
    ] {
        let found = findings(&text);
        let making = of(&found, "making");
        assert_eq!(making.is_empty(), messages.is_empty(), "{case}: {making:?}");
        for words in messages {
            assert!(making.iter().any(|one| one.message.contains(words)), "{case}: {words} in {making:?}");
        }
        assert!(making.iter().all(|one| one.verdict == Verdict::Short), "{case}");
    }
}

#[test]
fn a_tube_that_runs_into_itself_touches() {
    let loop_of = |rise: f64| {
        let points = format!(
            "[[0, 0, 0], [400, 0, 0], [400, 300, {}], [100, 300, {}], [100, -200, {rise}]]",
            rise / 3.0,
            rise / 2.0
        );
        with_tube(&format!("{{diameter: 50, points: {points}, bend_radius: 75}}")).replace("{MORE}", "")
    };
    let crossing = findings(&loop_of(20.0));
    let making = of(&crossing, "making");
    assert_eq!(making.len(), 1, "{making:?}");
    assert_eq!(making[0].verdict, Verdict::Touching);
    assert!(making[0].message.contains("runs into itself") && making[0].actual.unwrap().mm() < 0.0);
    assert!(of(&findings(&loop_of(220.0)), "making").is_empty());
}

const RIDING: &str = "
baywright: 1
units: mm
carriers:
  engine: {bounce: {along: up, up: 2, down: 3}}
bodies:
  turbo: {shape: {box: [100, 100, 100]}, at: [-50, 0, 0], carried_by: engine, kept: true}
  pipe: {shape: {tube: {diameter: 50, points: [[0, 0, 0], [400, 0, 0]]}}, carried_by: CARRIER, material: MATERIAL}
joined:
  - {bodies: [pipe, turbo], by: band clampJOINT}
";

fn riding(carrier: &str, joint: &str, material: &str) -> String {
    RIDING.replace("CARRIER", carrier).replace("JOINT", joint).replace("MATERIAL", material)
}

/// The engine moves 3 down and 2 up across the joint's axis: 3 mm sideways. Our own table on 50 mm: a coupler takes
/// 1.5 + 0.02 x 50 = 2.5, bellows 3 + 0.08 x 50 = 7.
#[test]
fn joints_between_carriers_must_take_the_movement() {
    for (case, text, verdict, words) in [
        ("one carrier", riding("engine", "", "mild-steel"), None, ""),
        ("bellows take it", riding("chassis", ", joint: bellows", "mild-steel"), None, ""),
        (
            "a band takes nothing",
            riding("chassis", ", joint: v-band", "mild-steel"),
            Some(Verdict::Short),
            "asked are 0.00 deg, 3.00 mm and 0.00 mm",
        ),
        (
            "a coupler takes 2.5",
            riding("chassis", ", joint: coupler", "mild-steel"),
            Some(Verdict::Short),
            "a bellows would take it",
        ),
        ("nothing said", riding("chassis", "", "mild-steel"), Some(Verdict::Undecided), "`joint: bellows`"),
        (
            "nothing takes 60",
            riding("chassis", "", "mild-steel").replace("up: 2, down: 3", "up: 2, down: 60"),
            Some(Verdict::Short),
            "no single joint here takes that",
        ),
    ] {
        let found = findings(&text);
        let joints = of(&found, "joint");
        assert_eq!(joints.first().map(|one| one.verdict), verdict, "{case}: {joints:?}");
        assert!(joints.iter().all(|one| one.message.contains(words)), "{case}: {joints:?}");
    }
    // What bends by itself is not judged, and the report says so.
    let silicone = riding("chassis", "", "silicone");
    let hose = riding("chassis", "", "mild-steel").replace("material: mild-steel", "role: hose");
    for text in [silicone, hose] {
        let hose = findings(&text);
        assert!(of(&hose, "joint").is_empty());
        assert!(hose.not_checked.iter().any(|line| line.contains("whether the joint of `pipe` and `turbo`")));
    }
}

/// An engine that rocks 2.5 deg about the pipe's own axis twists its joint by as much and moves it no further: bellows tear, a band
/// cannot turn, a hose over beads gives 5 deg (our own table).
#[test]
fn a_joint_in_line_with_the_rock_is_twisted() {
    let rocks = |joint: &str| {
        riding("chassis", joint, "mild-steel").replace(
            "bounce: {along: up, up: 2, down: 3}",
            "rock: {through: [0, 0, 0], along: rearward, forward: 2.5 deg, reverse: 2.5 deg}",
        )
    };
    for (joint, verdict, words) in [
        (", joint: coupler", None, ""),
        (
            ", joint: bellows",
            Some(Verdict::Short),
            "it is twisted by 2.50 deg where it takes 0.50; a slip would take it",
        ),
        (", joint: v-band", Some(Verdict::Short), "it is twisted by 2.50 deg where it takes 0.00"),
        (
            "",
            Some(Verdict::Undecided),
            "and 2.50 deg of twist, and no joint is said; say which joint it is: `joint: slip` or `joint: coupler`",
        ),
    ] {
        let found = findings(&rocks(joint));
        let joints = of(&found, "joint");
        assert_eq!(joints.first().map(|one| one.verdict), verdict, "{joint}: {joints:?}");
        assert!(joints.iter().all(|one| one.message.contains(words)), "{joint}: {joints:?}");
    }
}

/// Steel of 400 mm at 520 deg C: our table's mean expansion x 500 K x 400 mm along the joint's axis.
#[test]
fn growth_is_asked_of_the_joint_and_counted_in_gaps() {
    let hot = |more: &str| {
        riding("chassis", ", joint: bellows", "mild-steel").replace("material: mild-steel", more)
    };
    let steel = baywright::tube::TubeMaterial::find("mild-steel").unwrap();
    let grown = steel.growth_share(20.0, 520.0) * 400.0;
    // Bellows take 5 + 0.12 x 50 = 11 mm along; the pipe's growth alone is under that, with 10 mm of slide over it.
    let slides = |text: String| text.replace("along: up, up: 2, down: 3", "along: up, up: 0, down: 0");
    let cold = slides(hot("material: mild-steel"));
    assert!(of(&findings(&cold), "joint").is_empty());
    let warm = slides(hot("material: mild-steel, hot_to: 520")).replace("joint: bellows", "joint: v-band");
    let warm = findings(&warm);
    let joints = of(&warm, "joint");
    assert_eq!(joints.len(), 1);
    assert!(joints[0].message.contains(&format!("and {grown:.2} mm")), "{grown} in {}", joints[0].message);
    // Gaps: a wall 5 mm beside the pipe, with 3 mm asked; hot, less than 5 - growth of the whole is left.
    let beside = |more: &str| {
        format!(
            "baywright: 1\nunits: mm\nrules:\n  - {{between: [any, any], least: 3, because: 'nothing may chafe'}}\nbodies:\n  pipe: {{shape: {{tube: {{diameter: 50, points: [[0, 0, 0], [400, 0, 0]]}}}}, material: mild-steel{more}}}\n  wall: {{shape: {{box: [600, 10, 200]}}, at: [200, 35, 0]}}\n"
        )
    };
    assert!(findings(&beside("")).list.is_empty());
    let found = findings(&beside(", hot_to: 520"));
    let actual = of(&found, "room")[0].actual.unwrap().mm();
    let most = steel.growth_share(20.0, 520.0) * 450.0;
    assert!((actual - (5.0 - most)).abs() < 0.02, "{actual} against {}", 5.0 - most);
}

#[test]
fn wrong_words_name_the_right_ones() {
    let fault = |text: &str| {
        let folder = tempfile::tempdir().unwrap();
        let loaded = baywright::scene::Scene::load_text(&folder.path().join("bay.yaml"), text);
        format!("{}", loaded.unwrap_err())
    };
    let tube = with_tube("{diameter: 50, points: [[0, 0, 0], [400, 0, 0]]}");
    assert!(fault(&tube.replace("{MORE}", ", bent_by: mandrel-rotery")).contains("mandrel-rotary"));
    assert!(fault(&tube.replace("{MORE}", ", hot_to: 5000")).contains("-60 and 1200"));
    assert!(fault(&riding("chassis", ", joint: v-bant", "mild-steel")).contains("v-band"));
}

proptest! {
    /// What sampled poses ask of a joint is never more than the bound, and the bound is not far above it.
    #[test]
    fn demands_are_bounded(
        x in -400.0..400.0f64, y in -400.0..400.0f64, z in -400.0..400.0f64,
        turn in 0.5..8.0f64, slide in 0.0..10.0f64, lean in 0.0..6.2f64,
    ) {
        let line = Axis { through: Point3::new(10.0, -20.0, 5.0), along: Vector3::x_axis() };
        let rock = Movement { freedoms: vec![
            Freedom::Turn { axis: line, from_rad: -turn.to_radians(), to_rad: 0.6 * turn.to_radians() },
            Freedom::Slide { along: Vector3::z_axis(), from_mm: -slide, to_mm: 0.5 * slide },
        ] };
        let at = Point3::new(x, y, z);
        let axis = Unit::new_normalize(Vector3::new(lean.cos(), lean.sin(), 0.4));
        let bound = demand_over(&at, &axis, &rock, &Movement::still());
        let (mut offset, mut stretch, mut angle, mut twist) = (0f64, 0f64, 0f64, 0f64);
        for i in 0..=40 {
            for j in 0..=10 {
                let values = [
                    turn.to_radians() * (-1.0 + 1.6 * f64::from(i) / 40.0),
                    slide * (-1.0 + 1.5 * f64::from(j) / 10.0),
                ];
                let asked = baywright::tube::demand(&at, &axis, &rock.world_from_rest(&values));
                offset = offset.max(asked.offset_mm);
                stretch = stretch.max(asked.stretch_mm.abs());
                angle = angle.max(asked.angle_rad);
                twist = twist.max(asked.twist_rad.abs());
            }
        }
        prop_assert!(offset <= bound.offset_mm + 1e-9 && offset >= bound.offset_mm - 0.6, "{offset} {bound:?}");
        prop_assert!(stretch <= bound.stretch_mm.abs() + 1e-9 && stretch >= bound.stretch_mm.abs() - 0.6);
        prop_assert!(twist <= bound.twist_rad + 1e-9 && twist >= bound.twist_rad - 1e-6, "{twist} {bound:?}");
        prop_assert!(angle <= bound.angle_rad + 1e-9 && angle >= bound.angle_rad - 1e-6);
    }
}
