//! Service points where the answer is known: what a hand passes, and what stops it however thin.

use crate::common::load;

use baywright::check::{Checker, Findings, Verdict};

fn reach(text: &str) -> Findings {
    Checker::new().reach(&load(text), None)
}

fn verdict(text: &str) -> Verdict {
    let found = reach(text);
    assert_eq!(found.list.len(), 1, "{:?} {:?}", found.list, found.not_checked);
    found.list[0].verdict
}

/// A stick 172 high in a square well 300 high, its walls `thick` mm, `inside` mm apart; `lid` on top when asked for.
fn well(inside: f64, thick: f64, lid: &str, point: &str) -> String {
    let (out, long) = ((inside + thick) / 2.0, inside + 2.0 * thick);
    format!(
        "baywright: 1
bodies:
  stick: {{shape: {{cylinder: {{diameter: 12, length: 170}}}}, at: [0, 0, 85]}}
  floor: {{shape: {{box: [900, 900, 20]}}, at: [0, 0, -10.5]}}
  west: {{shape: {{box: [{thick}, {long}, 300]}}, at: [{out}, 0, 150]}}
  east: {{shape: {{box: [{thick}, {long}, 300]}}, at: [-{out}, 0, 150]}}
  north: {{shape: {{box: [{inside}, {thick}, 300]}}, at: [0, {out}, 150]}}
  south: {{shape: {{box: [{inside}, {thick}, 300]}}, at: [0, -{out}, 150]}}
{lid}service:
  dip: {{touch: {{body: stick, at: [0, 0, 172]}}{point}}}
"
    )
}

#[test]
fn a_hand_does_not_reach_through_the_walls_of_a_well() {
    let lid = "  lid: {shape: {box: [400, 400, 2]}, at: [0, 0, 302]}\n";
    // Inside width, lid, opening: the verdict; the point is 128 below the rim.
    let cases = [
        (
            "a finger's opening goes down a well of 60",
            well(60.0, 4.0, "", ", opening: 55"),
            vec![Verdict::Clear],
        ),
        ("a wider one does not", well(60.0, 4.0, "", ", opening: 65"), vec![Verdict::Short]),
        (
            "nor a hand, whose fingers are 80 long",
            well(60.0, 4.0, "", ""),
            vec![Verdict::Short, Verdict::Undecided],
        ),
        ("a hand goes down a well of 130", well(130.0, 4.0, "", ""), vec![Verdict::Clear]),
        ("nothing goes through a lid", well(60.0, 4.0, lid, ", opening: 30"), vec![Verdict::Short]),
        ("not even fingers of a hand", well(60.0, 4.0, lid, ""), vec![Verdict::Short]),
        ("nor through a lid of a wide well", well(130.0, 4.0, lid, ""), vec![Verdict::Short]),
        ("nor through walls like paper", well(60.0, 0.5, lid, ""), vec![Verdict::Short]),
    ];
    for (case, scene, allowed) in cases {
        let found = verdict(&scene);
        assert!(allowed.contains(&found), "{case}: {found:?}");
    }
}

#[test]
fn a_hand_reaches_over_an_edge_with_its_fingers() {
    // A point 60 below the rim of a well that no hand enters: fingers are 80 long.
    let scene = well(60.0, 4.0, "", "")
        .replace("length: 170", "length: 238")
        .replace("at: [0, 0, 85]", "at: [0, 0, 119]");
    let scene = scene.replace("at: [0, 0, 172]", "at: [0, 0, 240]");
    assert_eq!(verdict(&scene), Verdict::Clear);
}

#[test]
fn ill_known_bodies_make_a_wide_way_undecided_not_clear() {
    // A hole of 130 in a plate known to 80 mm (2 sigma): a hand needs 95.
    let plate = |hole: f64, sigma: f64| {
        let ring: Vec<String> = (0..64)
            .map(|i| {
                let a = std::f64::consts::TAU * f64::from(i) / 64.0;
                format!("[{}, {}]", hole / 2.0 * a.cos(), hole / 2.0 * a.sin())
            })
            .collect();
        format!(
            "baywright: 1
bodies:
  post: {{shape: {{cylinder: {{diameter: 12, length: 20}}}}, at: [0, 0, -200]}}
  plate:
    shape: {{plate: {{outline: [[-600, -600], [600, -600], [600, 600], [-600, 600]], thickness: 4, holes: [[{}]]}}}}
    sigma: {sigma}
  left: {{shape: {{box: [1200, 10, 300]}}, at: [0, -600, -150]}}
  right: {{shape: {{box: [1200, 10, 300]}}, at: [0, 600, -150]}}
  front: {{shape: {{box: [10, 1200, 300]}}, at: [-600, 0, -150]}}
  rear: {{shape: {{box: [10, 1200, 300]}}, at: [600, 0, -150]}}
service:
  post: {{touch: {{body: post, at: [0, 0, -189]}}}}
",
            ring.join(", ")
        )
    };
    assert_eq!(verdict(&plate(130.0, 0.0)), Verdict::Clear);
    assert_eq!(verdict(&plate(130.0, 40.0)), Verdict::Undecided);
    let found = reach(&plate(130.0, 40.0));
    let known = found.list[0].figures[0].uncertainty;
    assert!(known.is_some_and(|u_mm| u_mm > 35.0), "{:?}", found.list[0]);
    assert_eq!(verdict(&plate(90.0, 0.0)), Verdict::Short);
}
