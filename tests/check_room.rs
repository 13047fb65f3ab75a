//! Room rules on scenes whose gaps are known in closed form: which rule governs, what the verdict is, what cures.

use crate::common::load;

use baywright::check::{CheckOptions, Checker, Finding, Findings, KeptPairs, Verdict};

fn check(text: &str) -> Findings {
    Checker::new().check(
        &load(text),
        None,
        &CheckOptions { kept_pairs: KeptPairs::Examined, ..Default::default() },
    )
}

fn only(findings: &Findings) -> &Finding {
    assert_eq!(findings.list.len(), 1, "{:#?}", findings.list);
    &findings.list[0]
}

/// Two balls of radius 10 whose centres are 30 + `apart` mm from each other along x: their gap is 10 + `apart`.
fn balls(apart: f64, extra: &str, rules: &str) -> String {
    format!(
        "baywright: 1
roles: {{red: test, blue: test, round: test}}
bodies:
  one: {{shape: {{sphere: {{radius: 10}}}}, at: [0, 0, 0], role: [red, round]}}
  other: {{shape: {{sphere: {{radius: 10}}}}, at: [{}, 0, 0], role: blue{extra}}}
rules:
{rules}",
        30.0 + apart
    )
}

#[test]
fn the_verdict_turns_at_the_limit_less_and_more_the_uncertainty() {
    let rule = "  - {between: [red, blue], least: 12, because: test}\n";
    // Gap, standard uncertainty of the second ball: verdict. U = 2 sigma in any direction.
    let cases = [
        (13.01, 0.5, None),
        (12.99, 0.5, Some(Verdict::Undecided)),
        (11.01, 0.5, Some(Verdict::Undecided)),
        (10.99, 0.5, Some(Verdict::Short)),
        (12.01, 0.0, None),
        (11.99, 0.0, Some(Verdict::Short)),
        (0.5, 0.5, Some(Verdict::Short)),
        (-1.01, 0.5, Some(Verdict::Touching)),
        (-0.99, 0.5, Some(Verdict::Short)),
    ];
    for (gap, sigma, verdict) in cases {
        let findings = check(&balls(gap - 10.0, &format!(", sigma: {sigma}"), rule));
        assert_eq!(findings.list.first().map(|finding| finding.verdict), verdict, "gap {gap}, sigma {sigma}");
        if let Some(finding) = findings.list.first() {
            assert!((finding.actual.unwrap().mm() - gap).abs() < 1e-6, "{finding:?}");
            assert!((finding.uncertainty.unwrap().mm() - 2.0 * sigma).abs() < 1e-9, "{finding:?}");
        }
    }
}

#[test]
fn covers_come_off_the_gap() {
    let rule = "  - {between: [red, blue], least: 12, because: test}\n";
    let findings = check(&balls(2.0, ", wrap: 3", rule));
    let finding = only(&findings);
    assert!(
        (finding.actual.unwrap().mm() - 9.0).abs() < 1e-6,
        "12 between the surfaces, 3 of wrap: {finding:?}"
    );
    let place = finding.place.as_ref().unwrap();
    assert!(
        (place.on_second - place.on_first).norm() - 9.0 < 1e-6,
        "the places are on the covers: {place:?}"
    );
}

#[test]
fn the_rule_that_governs_is_the_one_that_names_most_exactly() {
    let line =
        |between: &str, least: u32| format!("  - {{between: [{between}], least: {least}, because: test}}\n");
    // Rules in order, the least gap that must govern the pair.
    let cases: [(&[(&str, u32)], f64); 8] = [
        (&[], 0.0),
        (&[("any, any", 20)], 20.0),
        (&[("any, any", 30), ("red, blue", 20)], 20.0),
        (&[("red, blue", 20), ("round, blue", 25)], 25.0),
        (&[("round, blue", 25), ("red, blue", 20)], 25.0),
        (&[("red, blue", 40), ("blue, red", 20)], 20.0),
        (&[("red, blue", 40), ("one, blue", 20)], 20.0),
        (&[("one, other", 20), ("one, blue", 40)], 20.0),
    ];
    for (rules, least) in cases {
        let text: String = rules.iter().map(|(between, least)| line(between, *least)).collect();
        // 5 mm of overlap: every rule is broken, so that the finding tells which one was asked.
        let findings = check(&balls(-15.0, "", if text.is_empty() { "  []\n" } else { &text }));
        let finding = only(&findings);
        assert_eq!(finding.required.unwrap().mm(), least, "{rules:?}");
    }
}

#[test]
fn a_joined_pair_is_told_not_judged_and_must_not_stand_apart() {
    let joined = |apart: f64| {
        let scene = balls(apart, "", "  []\njoined:\n  - {bodies: [one, other], by: four screws}\n");
        check(&scene)
    };
    let touching = joined(-10.5);
    assert_eq!((touching.list.len(), touching.joined.len(), touching.pairs.joined), (0, 1, 1));
    assert!((touching.joined[0].gap.unwrap().mm() + 0.5).abs() < 1e-6);
    let apart = joined(-5.0);
    assert_eq!(only(&apart).code, "joined");
}

#[test]
fn pairs_are_all_accounted_for() {
    let text = "baywright: 1
roles: {red: test}
bodies:
  a: {shape: {sphere: {radius: 10}}, at: [0, 0, 0], kept: true}
  b: {shape: {sphere: {radius: 10}}, at: [100, 0, 0], kept: true}
  c: {shape: {sphere: {radius: 10}}, at: [200, 0, 0], role: red}
  d: {shape: {sphere: {radius: 10}}, at: [219, 0, 0], candidate: true}
joined:
  - {bodies: [c, d], by: clamp}
rules:
  - {between: [red, any], least: 5, because: test}
";
    let scene = load(text);
    let found = Checker::new().check(&scene, None, &CheckOptions::default());
    let count = found.pairs;
    assert_eq!((count.kept, count.joined, count.by_rule, count.by_default), (1, 1, 2, 2));
    assert_eq!(count.clear, 4);
}

#[test]
fn the_worst_pose_is_found_between_the_ends_of_the_movement() {
    // A ball on an arm of 100 swings from -20 to +20 degrees past a wall: nearest when it stands square to it.
    let text = "baywright: 1
carriers: {engine: {rock: {through: [0, 0, 0], along: rearward, forward: 20, reverse: 20}}}
bodies:
  arm: {shape: {sphere: {radius: 10}}, at: [0, 100, 0], carried_by: engine}
  wall: {shape: {box: [400, 20, 400]}, at: [0, 130, 0]}
rules:
  - {between: [any, any], least: 12, because: test}
";
    let findings = check(text);
    let finding = only(&findings);
    assert!((finding.actual.unwrap().mm() - 10.0).abs() <= 0.01, "{finding:?}");
    assert_eq!(finding.verdict, Verdict::Short);
}

#[test]
fn a_cure_is_the_shortest_straight_move_and_says_whether_it_is_proved() {
    let text = |third: &str| {
        format!(
            "baywright: 1
bodies:
  wall: {{shape: {{box: [20, 400, 400]}}, at: [0, 0, 0], kept: true}}
  part: {{shape: {{sphere: {{radius: 10}}}}, at: [25, 0, 0], candidate: true}}
{third}rules:
  - {{between: [any, any], least: 12, because: test}}
"
        )
    };
    // The wall's face is at x = 10, the ball reaches to 15: 5 mm; 7 mm more along +x are the shortest cure.
    let free = check(&text(""));
    let cure = only(&free).cure.as_ref().unwrap();
    assert_eq!((cure.body.as_str(), cure.proved), ("part", true));
    assert!((cure.shift - nalgebra::Vector3::new(7.0, 0.0, 0.0)).norm() < 1e-6, "{cure:?}");
    let barred = check(&text("  bar: {shape: {box: [10, 400, 400]}, at: [58, 0, 0], kept: true}\n"));
    let cure = barred.list.iter().find(|finding| finding.bodies[0] == "wall").unwrap().cure.as_ref().unwrap();
    assert!(!cure.proved, "11 mm are left on the other side once it is moved: {cure:?}");
}

#[test]
fn kept_bodies_must_stay() {
    let scene = |at: &str, kept: bool, size: u32| {
        load(&format!(
            "baywright: 1
bodies:
  battery: {{shape: {{box: [{size}, 100, 100]}}, at: {at}, kept: {kept}}}
  other: {{shape: {{sphere: {{radius: 1}}}}, at: [900, 0, 0]}}
"
        ))
    };
    let before = scene("[0, 0, 0]", true, 100);
    let cases = [
        (scene("[0, 0, 0]", true, 100), None),
        (scene("[0, 0, 0.001]", true, 100), Some("moved")),
        (scene("[0, 0, 0]", false, 100), Some("no longer marked kept")),
        (scene("[0, 0, 0]", true, 101), Some("another shape")),
        (
            load("baywright: 1\nbodies: {other: {shape: {sphere: {radius: 1}}, at: [900, 0, 0]}}\n"),
            Some("removed"),
        ),
    ];
    for (after, word) in cases {
        let found = Checker::new().check(&after, Some(&before), &CheckOptions::default());
        match word {
            None => assert!(found.list.is_empty(), "{:?}", found.list),
            Some(word) => {
                assert_eq!(only(&found).code, "kept");
                assert!(only(&found).message.contains(word), "{}", only(&found).message);
            }
        }
    }
}

/// A wall, its face at y = 0, and a part held at the origin with two feet toward it: one there, `near` mm off, one 900 mm
/// along, 10.5 mm off.
fn feet(near: &str, sigma_turn: &str) -> Findings {
    check(&format!(
        "baywright: 1
roles: {{red: test, blue: test}}
bodies:
  wall: {{shape: {{box: [2400, 10, 200]}}, at: [0, -5, 0], role: red}}
  part:
    shape:
      union:
{near}        - {{shape: {{box: [20, 20, 20]}}, at: [900, 20.5, 0]}}
        - {{shape: {{box: [900, 10, 10]}}, at: [450, 40, 0]}}
    at: [0, 0, 0]
    role: blue
    sigma: 0.1
    sigma_turn: {sigma_turn}
rules:
  - {{between: [red, blue], least: 9, because: test}}
"
    ))
}

#[test]
fn a_place_with_more_gap_that_is_known_worse_decides() {
    let foot = "        - {shape: {box: [20, 20, 20]}, at: [0, 20, 0]}\n";
    // Closed form: a degree at 900 mm is 15.7 mm, so U is 31.4 mm at the far foot and 0.6 mm at the near one.
    for near in [foot, ""] {
        let findings = feet(near, "1 deg");
        let finding = only(&findings);
        assert_eq!(finding.verdict, Verdict::Undecided, "{finding:#?}");
        assert!((finding.actual.unwrap().mm() - 10.5).abs() < 0.02, "{finding:#?}");
        let u_mm = finding.uncertainty.unwrap().mm();
        let by_hand = 2.0 * (900.0 * 1f64.to_radians()).hypot(0.1);
        assert!((u_mm - by_hand).abs() < 0.02 * by_hand, "{u_mm} against {by_hand}");
    }
    // A tenth as uncertain it is not clear either (U 3.1), a hundredth it is (U 0.4).
    assert_eq!(only(&feet(foot, "0.1 deg")).verdict, Verdict::Undecided);
    assert!(feet(foot, "0.01 deg").list.is_empty());
}
