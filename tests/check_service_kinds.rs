//! Each kind of service point where the answer is known in closed form, and what is compared before and after.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::common::load;

use assert_cmd::Command;
use baywright::check::{Change, Checker, Figure, Finding, Findings, Verdict, kept_table};
use proptest::prelude::*;

fn reach(text: &str) -> Findings {
    Checker::new().reach(&load(text), None)
}

/// The one finding of a scene, cautions apart.
fn one(text: &str) -> Finding {
    let found = reach(text);
    let mut list: Vec<Finding> = found.list.into_iter().filter(|finding| finding.code != "caution").collect();
    assert_eq!(list.len(), 1, "{list:?}");
    list.remove(0)
}

fn figure(finding: &Finding, what: &str) -> Figure {
    *finding
        .figures
        .iter()
        .find(|figure| figure.what == what)
        .unwrap_or_else(|| panic!("no {what} in {finding:?}"))
}

const PEOPLE: &str =
    "people: {standing: {above: {shoulder: [0, 0, 1500], eye: [0, 0, 1000], reach: 3000}}}\n";

/// A scene of bodies and one service point.
fn scene(bodies: &[&str], service: &str) -> String {
    let bodies: Vec<String> = bodies.iter().map(|body| format!("  {body}\n")).collect();
    format!("baywright: 1\n{PEOPLE}bodies:\n{}service:\n  it: {service}\n", bodies.concat())
}

const FLOOR: &str = "floor: {shape: {box: [1200, 1200, 20]}, at: [0, 0, -300]}";
const DIAL: &str = "dial: {shape: {cylinder: {diameter: 40, length: 20}}, at: [0, 0, -10]}";
const LID: &str = "lid: {shape: {box: [300, 300, 4]}, at: [0, 0, 200]}";

#[test]
fn an_eye_sees_past_an_edge_and_by_a_mirror() {
    let see = "{see: {body: dial, at: [0, 0, 0], along: up, radius: 15}}";
    let clear = one(&scene(&[FLOOR, DIAL], see));
    assert_eq!((clear.verdict, figure(&clear, "sight").actual), (Verdict::Clear, Some(100.0)));
    let lid = one(&scene(&[FLOOR, DIAL, LID], see));
    assert_eq!((lid.verdict, figure(&lid, "sight").actual), (Verdict::Short, Some(0.0)));
    // The edge of a plate on the eye's own axis: half of the target is behind it (by symmetry).
    let half = "plate: {shape: {box: [300, 300, 4]}, at: [150, 0, 200]}";
    let seen = figure(&one(&scene(&[FLOOR, DIAL, half], see)), "sight").actual.unwrap();
    assert!((seen - 50.0).abs() < 4.0, "{seen}");
    // A plate known to 20 mm (k = 1) there: 25 % asked for is not certain.
    let vague = "plate: {shape: {box: [300, 300, 4]}, at: [150, 0, 200], sigma: 20}";
    let some = "{see: {body: dial, at: [0, 0, 0], along: up, radius: 15, share: 0.25}}";
    assert_eq!(one(&scene(&[FLOOR, DIAL, vague], some)).verdict, Verdict::Undecided);
    // Round the lid by a mirror that stands beside it: eye and target at a right angle about its middle.
    let mirror = "{see: {body: dial, at: [0, 0, 0], along: up, radius: 5, mirror: {at: [600, 0, 500], normal: [-1, 0, 0], radius: 60}}}";
    assert_eq!(one(&scene(&[FLOOR, DIAL, LID], mirror)).verdict, Verdict::Clear);
}

#[test]
fn a_dipstick_comes_out_as_far_as_the_roof_lets_the_hand() {
    // A hand of radius 47.5 over the point: under a roof at height h it travels h - 2 * 47.5.
    for (roof_mm, length_mm, want) in [
        (400.0_f64, 300.0_f64, Verdict::Clear),
        (400.0, 310.0, Verdict::Short),
        (200.0, 100.0, Verdict::Clear),
    ] {
        let roof = format!("roof: {{shape: {{box: [60, 400, 4]}}, at: [0, 0, {}]}}", roof_mm + 2.0);
        let pull = format!("{{pull: {{body: dial, at: [0, 0, 0], along: up, length: {length_mm}}}}}");
        let found = one(&scene(&[FLOOR, DIAL, &roof], &pull));
        assert_eq!(found.verdict, want, "{roof_mm} {length_mm}: {found:?}");
        let free = figure(&found, "free length").actual.unwrap();
        assert!((free - length_mm.min(roof_mm - 95.0)).abs() < 0.1, "{roof_mm} {length_mm}: {free}");
    }
}

#[test]
fn a_spout_fits_where_its_can_does_not() {
    let shelf = "shelf: {shape: {box: [200, 200, 204]}, at: [140, 0, 250]}";
    let pour = |more: &str| {
        format!(
            "{{pour: {{body: dial, at: [0, 0, 0], along: up, spout_radius: 20, spout_length: 250{more}}}}}"
        )
    };
    let with = one(&scene(&[FLOOR, DIAL, shelf], &pour("")));
    assert_eq!(with.verdict, Verdict::Short, "{with:?}");
    // The can of radius 90 reaches 50 into the shelf, whose edge is 40 from the line.
    assert!((figure(&with, "container").actual.unwrap() + 50.0).abs() < 0.1, "{with:?}");
    assert!((figure(&with, "room").actual.unwrap() - 20.0).abs() < 0.1, "{with:?}");
    assert_eq!(one(&scene(&[FLOOR, DIAL, shelf], &pour(", container_height: 0"))).verdict, Verdict::Clear);
}

#[test]
fn a_can_leans_away_from_a_wall_and_not_between_two() {
    // Radius 90, 300 high, its mouth 250 over the filler; walls whose faces lie 100 from the line.
    let wall = |name: &str, side: f64| {
        format!("{name}: {{shape: {{box: [400, 20, 900]}}, at: [0, {}, 500]}}", side * 110.0)
    };
    let (left, right) = (wall("left", -1.0), wall("right", 1.0));
    let ends = [
        "front: {shape: {box: [20, 180, 900]}, at: [-110, 0, 500]}",
        "rear: {shape: {box: [20, 180, 900]}, at: [110, 0, 500]}",
    ];
    let pour = "{pour: {body: dial, at: [0, 0, 0], along: up, spout_radius: 20, tilt: 60 deg}}";
    let one_wall = one(&scene(&[FLOOR, DIAL, &left], pour));
    assert_eq!(figure(&one_wall, "tilt").verdict, Verdict::Clear, "{one_wall:?}");
    let shaft = one(&scene(&[FLOOR, DIAL, &left, &right, ends[0], ends[1]], pour));
    let tilt = figure(&shaft, "tilt");
    assert_eq!(tilt.verdict, Verdict::Short, "{shaft:?}");
    // Square to a wall a corner of its top, 90 out and 300 up, swings out to 100: 300 sin a + 90 cos a = 100. By a
    // diagonal the walls leave 41 percent more, from which the can's own width there takes as much again, or less: so
    // it leans at least so far as square to a wall.
    let square = (100.0_f64 / 300.0_f64.hypot(90.0)).asin() - (90.0_f64 / 300.0).atan();
    let leans = tilt.actual.unwrap();
    assert!(leans >= square.to_degrees() - 0.05 && leans < 6.0, "{leans}, square {}", square.to_degrees());
    // In a slot it leans along the slot, whichever way that lies.
    let slot = one(&scene(&[FLOOR, DIAL, &left, &right], pour));
    assert_eq!(figure(&slot, "tilt").verdict, Verdict::Clear, "{slot:?}");
}

#[test]
fn a_plug_needs_its_pull_and_two_sides_for_finger_and_thumb() {
    let plug = "plug: {shape: {box: [20, 20, 20]}, at: [0, 0, -10]}";
    let wall = |name: &str, at: [f64; 3], size: [f64; 3]| {
        format!("{name}: {{shape: {{box: {size:?}}}, at: {at:?}}}")
    };
    let pull = "{plug: {body: plug, at: [0, 0, 0], along: up}, opening: 20}";
    assert_eq!(one(&scene(&[FLOOR, plug], pull)).verdict, Verdict::Clear);
    // 25 over it, 30 asked for.
    let over = wall("over", [0.0, 0.0, 27.0], [60.0, 60.0, 4.0]);
    assert_eq!(one(&scene(&[FLOOR, plug, &over], pull)).verdict, Verdict::Short);
    // A finger of 25 beside a half width of 10 fits between walls 40 from the middle; 24 is too near even in the corners,
    // where it needs (10 + 12.5) cos 45 + 12.5 = 28.4.
    for (off_mm, want) in [(40.0, Verdict::Clear), (24.0, Verdict::Short)] {
        let ring: Vec<String> = [("e", 1.0, 0.0), ("w", -1.0, 0.0), ("n", 0.0, 1.0), ("s", 0.0, -1.0)]
            .iter()
            .map(|(name, x, y)| {
                let at = [x * (off_mm + 5.0), y * (off_mm + 5.0), -10.0];
                wall(
                    name,
                    at,
                    [if *x == 0.0 { 120.0 } else { 10.0 }, if *y == 0.0 { 120.0 } else { 10.0 }, 30.0],
                )
            })
            .collect();
        let mut bodies = vec![FLOOR, plug];
        bodies.extend(ring.iter().map(String::as_str));
        let found = one(&scene(&bodies, pull));
        assert_eq!(figure(&found, "thumb room").verdict, want, "{off_mm}: {found:?}");
    }
}

/// A bolt on a plate, with one tool of our own: a bar 150 long and 10 thick, 20 over the seat.
fn bolt(others: &[&str], wrench: &str) -> String {
    let mut bodies = vec![
        FLOOR,
        "plate: {shape: {box: [40, 40, 10]}, at: [0, 0, -5]}",
        "bolt: {shape: {cylinder: {diameter: 14, length: 5}}, at: [0, 0, 2.5]}",
    ];
    bodies.extend(others);
    let tools = "joined: [{bodies: [bolt, plate], by: thread}]
tools:
  bar: {fits: [13], wall: 2, head: 12, lever: 150, lever_radius: 5, lever_height: 20, click: 5 deg, off: 10, source: test}
  coarse: {fits: [13], wall: 2, head: 12, lever: 150, lever_radius: 5, lever_height: 20, click: 60 deg, off: 10, source: test}
";
    scene(&bodies, wrench) + tools
}

#[test]
fn a_tool_swings_past_a_post_as_the_closed_form_says() {
    let wrench = "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, tool: bar}, opening: 30}";
    for (distance_mm, radius_mm) in [(100.0, 10.0), (60.0, 25.0), (140.0, 3.0)] {
        let post = format!(
            "post: {{shape: {{cylinder: {{diameter: {}, length: 200}}}}, at: [{distance_mm}, 0, 0]}}",
            2.0 * radius_mm
        );
        let found = one(&bolt(&[&post], wrench));
        // A bar of radius r passes a post of radius R at distance D at asin((r + R) / D) (elementary geometry).
        let blocked_deg = 2.0 * ((5.0_f64 + radius_mm) / distance_mm).asin().to_degrees();
        let swing = figure(&found, "swing").actual.unwrap();
        assert!((swing - (360.0 - blocked_deg)).abs() < 0.1, "{distance_mm}: {swing} {blocked_deg}");
        assert_eq!(found.verdict, Verdict::Clear, "{found:?}");
    }
}

#[test]
fn between_two_posts_a_fine_ratchet_works_and_a_coarse_one_does_not() {
    // Posts of radius 8 at 100 and +-a: free between asin(13 / 100) = 7.470 deg off each; walls shut the rest of the turn.
    let posts: Vec<String> = (0..9)
        .map(|i| {
            let a = (20.0 + 40.0 * f64::from(i)).to_radians();
            let (x, y) = (100.0 * a.cos(), 100.0 * a.sin());
            format!("post-{i}: {{shape: {{cylinder: {{diameter: 16, length: 200}}}}, at: [{x}, {y}, 0]}}")
        })
        .collect();
    let posts: Vec<&str> = posts.iter().map(String::as_str).collect();
    let wrench = |tool: &str| {
        format!("{{wrench: {{body: bolt, at: [0, 0, 0], along: up, size: 13, tool: {tool}}}, opening: 30}}")
    };
    let fine = one(&bolt(&posts, &wrench("bar")));
    assert!((figure(&fine, "swing").actual.unwrap() - (40.0 - 2.0 * 7.470)).abs() < 0.1, "{fine:?}");
    assert_eq!(figure(&fine, "swing").verdict, Verdict::Clear);
    let coarse = one(&bolt(&posts, &wrench("coarse")));
    assert_eq!(coarse.verdict, Verdict::Short, "{coarse:?}");
    // Posts known to 10 mm (k = 1) might be 20 nearer: asin(33 / 100) = 19.27 deg off each leave 1.5 deg.
    let vague: Vec<String> = posts.iter().map(|post| post.replace("at: [", "sigma: 10, at: [")).collect();
    let vague: Vec<&str> = vague.iter().map(String::as_str).collect();
    assert_eq!(figure(&one(&bolt(&vague, &wrench("bar"))), "swing").verdict, Verdict::Undecided);
}

#[test]
fn a_tool_with_a_joint_is_taken_where_nothing_straight_works() {
    // A sill beside the bolt, from 40 up, its face 10 from the axis: a head of radius 14 meets it straight, leant away
    // it does not.
    let sill = "sill: {shape: {box: [30, 400, 200]}, at: [25, 0, 140]}";
    let wrench =
        "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, tool: [long, wobble]}, opening: 5}";
    let drive = "fits: [13], wall: 1, head: 25, shank: 40, shank_radius: 6, drive: 20, drive_radius: 14, lever: 120, lever_radius: 8, click: 5 deg, off: 12";
    let with = |more: &str| {
        bolt(&[sill], wrench)
            + format!("  long: {{{drive}, source: test}}\n  wobble: {{{drive}{more}, source: test}}\n")
                .as_str()
    };
    let straight = one(&with(""));
    assert_eq!(figure(&straight, "swing").verdict, Verdict::Short, "{straight:?}");
    let leant = one(&with(", lean: 15 deg"));
    assert_eq!(figure(&leant, "swing").verdict, Verdict::Clear, "{leant:?}");
    assert!(leant.message.contains("`wobble` leant 10 deg "), "{}", leant.message);
    // What bends is left alone where a straight tool does.
    let free = one(&(bolt(&[], wrench)
        + format!("  long: {{{drive}, source: test}}\n  wobble: {{{drive}, lean: 15 deg, source: test}}\n")
            .as_str()));
    assert!(
        free.message.contains("`long` swings 360") && free.message.contains("of 1 tools"),
        "{}",
        free.message
    );
    // A kerb of 60 all round with the lever at 75: raised, it passes over a higher one.
    let kerb = "kerb: {shape: {box: [500, 500, 80]}, at: [0, 300, 40]}";
    let wrench =
        "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, tool: flex, turn: 300 deg}, opening: 5}";
    let flex = |rise: &str| {
        one(&(bolt(&[kerb], wrench)
            + format!(
                "  flex: {{fits: [13], wall: 1, head: 25, shank: 40, shank_radius: 6, drive: 20, drive_radius: 14, lever: 120, lever_radius: 8, click: 5 deg, off: 12{rise}, source: test}}\n"
).as_str()))
    };
    assert_eq!(figure(&flex(""), "swing").verdict, Verdict::Short);
    let raised = flex(", lever_rise: 30 deg");
    assert_eq!(figure(&raised, "swing").verdict, Verdict::Clear, "{raised:?}");
    assert!(raised.message.contains("with its lever raised"), "{}", raised.message);
}

#[test]
fn a_tool_must_rise_off_lever_and_all_or_slide_off_sideways() {
    // A lid 30 over the seat: the bar (12 high, lever to 25) needs 10 to come off: 30 - 25 = 5.
    let lid = "lid: {shape: {box: [400, 400, 4]}, at: [0, 0, 32]}";
    let along = "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, tool: bar}, opening: 5}";
    let found = one(&bolt(&[lid], along));
    assert_eq!(figure(&found, "swing").verdict, Verdict::Short, "{found:?}");
    assert!(found.message.contains("does not come off"), "{}", found.message);
    let slid = bolt(&[lid], along).replace("click: 5 deg, off: 10", "click: 5 deg, entry: side, off: 30");
    assert_eq!(figure(&one(&slid), "swing").verdict, Verdict::Clear);
    // Only what measures torque is taken where torque is asked for.
    let torque = "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, torque: true}, opening: 30}";
    let found = one(&bolt(&[], torque));
    assert!(found.message.contains("torque-3-8") && !found.message.contains("`ratchet"), "{}", found.message);
}

#[test]
fn a_hand_that_need_not_go_all_round_turns_beside_a_wall() {
    let wall = "wall: {shape: {box: [400, 20, 200]}, at: [0, 50, 0]}";
    let turn = |more: &str| format!("{{turn: {{body: dial, at: [0, 0, 0], along: up{more}}}, opening: 30}}");
    assert_eq!(one(&scene(&[FLOOR, DIAL, wall], &turn(""))).verdict, Verdict::Short);
    let found = one(&scene(&[FLOOR, DIAL, wall], &turn(", swing: 90 deg")));
    assert_eq!(found.verdict, Verdict::Clear, "{found:?}");
    // Grip 75, bar 30 thick: its end's middle at 45 meets the wall at 40 where 45 sin a + 30 = 40, a = 12.840 deg.
    let want = 180.0 + 2.0 * 12.840;
    assert!((figure(&found, "swing").actual.unwrap() - want).abs() < 0.2, "{found:?}");
}

#[test]
fn hot_parts_and_a_hood_that_is_shut_are_told() {
    // Between two bars 70 apart a way 30 wide ends within 35 of one of them, which is under 15 + 25.
    let cautions = |degrees: f64| {
        let bar = |name: &str, x: f64| {
            format!("{name}: {{shape: {{box: [40, 400, 40]}}, at: [{x}, 0, 20], hot_to: {degrees}}}")
        };
        let narrow = "{touch: {body: dial, at: [0, 0, 2]}, opening: 30}";
        let found = reach(&scene(&[FLOOR, DIAL, &bar("east", 55.0), &bar("west", -55.0)], narrow));
        found.list.iter().filter(|finding| finding.code == "caution").count()
    };
    // ISO 13732-1: 51 deg C for a minute's contact, from memory.
    assert_eq!((cautions(400.0), cautions(52.0), cautions(50.0)), (1, 1, 0));
    let bodies = [
        "hood: {shape: {box: [240, 240, 4]}, at: [0, 0, 100], role: hood}",
        "floor: {shape: {box: [240, 240, 10]}, at: [0, 0, -65]}",
        "a: {shape: {box: [240, 10, 158]}, at: [0, 115, 19]}",
        "b: {shape: {box: [240, 10, 158]}, at: [0, -115, 19]}",
        "c: {shape: {box: [10, 240, 158]}, at: [115, 0, 19]}",
        "d: {shape: {box: [10, 240, 158]}, at: [-115, 0, 19]}",
        DIAL,
    ];
    let found = one(&scene(&bodies, "{touch: {body: dial, at: [0, 0, 2]}, opening: 60}"));
    assert_eq!(found.verdict, Verdict::Short);
    assert!(found.message.contains("`hood` stands shut over it"), "{}", found.message);
}

#[test]
fn an_elbow_that_must_follow_down_a_shaft_is_told() {
    // A shaft 110 wide inside and so many deep, the dial at its bottom: an arm to the shoulder asks for 125.
    let shaft = |high: f64| -> Vec<String> {
        [("e", 65.0, 0.0), ("w", -65.0, 0.0), ("n", 0.0, 65.0), ("s", 0.0, -65.0)]
            .iter()
            .map(|(name, x, y)| {
                let size = [if *x == 0.0 { 150.0 } else { 20.0 }, if *y == 0.0 { 150.0 } else { 20.0 }, high];
                format!("{name}: {{shape: {{box: {size:?}}}, at: [{x}, {y}, {}]}}", 0.5 * high - 20.0)
            })
            .collect()
    };
    let told = |high: f64| {
        let walls = shaft(high);
        // Nobody gets to it from below.
        let mut bodies = vec![FLOOR, DIAL, "base: {shape: {box: [150, 150, 20]}, at: [0, 0, -31]}"];
        bodies.extend(walls.iter().map(String::as_str));
        let found = reach(&scene(&bodies, "{touch: {body: dial, at: [0, 0, 0]}, opening: 90}"));
        found.list.into_iter().find(|finding| finding.message.contains("elbow"))
    };
    assert!(told(300.0).is_none(), "the forearm alone goes in");
    // 460 from the point to the rim, and less than 400 from the middle of the ball that stops before it.
    assert!(told(480.0).is_some(), "deep counts from the point");
    let deep = told(700.0).expect("an elbow at 400 is in the shaft");
    let width = figure(&deep, "elbow");
    assert!((width.actual.unwrap() - 110.0).abs() < 1.0 && width.required == Some(125.0), "{deep:?}");
}

#[test]
fn gloves_ask_for_the_gloved_opening() {
    let bare = scene(&[FLOOR, DIAL], "{touch: {body: dial, at: [0, 0, 2]}}");
    let gloved = bare.replace("people: {", "people: {wear: gloves, ");
    // MIL-STD-1472 F/G, empty hand to the wrist: 95 bare, 150 gloved; from memory.
    for (text, want) in [(bare, 95.0), (gloved, 150.0)] {
        assert_eq!(figure(&one(&text), "corridor").required, Some(want));
    }
}

#[test]
fn kept_bodies_are_laid_before_and_after() {
    let text = |dial_at: &str, more: &str, roof: &str| {
        format!(
            "baywright: 1\n{PEOPLE}bodies:\n  {FLOOR}\n  dial: {{shape: {{cylinder: {{diameter: 40, length: 20}}}}, at: {dial_at}, kept: true{more}}}
  roof: {{shape: {{box: [60, 400, 4]}}, at: {roof}}}\nservice:\n  it: {{pull: {{body: dial, at: [0, 0, 0], along: up, length: 300}}}}\n"
        )
    };
    let changed = |before: &str, after: &str| {
        let (before, after) = (load(before), load(after));
        let mut checker = Checker::new();
        let (was, now) = (checker.reach(&before, None), checker.reach(&after, Some(&before)));
        (kept_table(&before, &after, &was, &now), now)
    };
    let high = text("[0, 0, -10]", "", "[0, 0, 902]");
    // A roof that comes down to 300 leaves 300 - 95 = 205 of 300.
    let (table, _) = changed(&high, &text("[0, 0, -10]", "", "[0, 0, 302]"));
    assert_eq!(table.points[0].change, Change::Worse);
    assert!((table.points[0].figures[0].delta.unwrap() + 95.0).abs() < 0.1, "{:?}", table.points[0]);
    assert!(!table.bodies[0].is_intact() && table.bodies[0].fault.is_none());
    let (table, now) = changed(&high, &high);
    assert!(table.bodies[0].is_intact() && table.points[0].change == Change::AsBefore);
    assert_eq!(now.worst(), Verdict::Clear);
    // Moved: an error, unless the scene says why.
    let moved = "[0, 5, -10]";
    let (table, now) = changed(&high, &text(moved, "", "[0, 0, 902]"));
    assert!(table.bodies[0].fault.as_ref().is_some_and(|fault| fault.contains("5.0 mm")), "{table:?}");
    assert_eq!(now.worst(), Verdict::Short);
    let why = ", may_move: its bracket is replaced";
    let (table, now) = changed(&text("[0, 0, -10]", why, "[0, 0, 902]"), &text(moved, why, "[0, 0, 902]"));
    assert!(table.bodies[0].allowed.is_some());
    assert_eq!(now.worst(), Verdict::Clear, "{:?}", now.list);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]
    #[test]
    fn a_bigger_obstacle_improves_nothing(
        x in -160.0..160.0f64, y in -160.0..160.0f64, z in -20.0..300.0f64,
        size in prop::array::uniform3(10.0..120.0f64), more in 1.0..40.0f64,
    ) {
        let kinds = [
            ("sight", "{see: {body: bolt, at: [0, 0, 5], along: up}}"),
            ("free length", "{pull: {body: bolt, at: [0, 0, 5], along: up, length: 200}, opening: 30}"),
            ("swing", "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, tool: bar}, opening: 30}"),
            ("room", "{turn: {body: bolt, at: [0, 0, 5], along: up}, opening: 30}"),
        ];
        let block = |by: f64| {
            let [a, b, c] = size.map(|edge| edge + by);
            format!("block: {{shape: {{box: [{a}, {b}, {c}]}}, at: [{x}, {y}, {z}]}}")
        };
        for (what, kind) in kinds {
            // A tool comes off at one of five places of an arc: over it the places count, not only the room.
            if what == "swing" && z - 0.5 * size[2] > 12.0 {
                continue;
            }
            let before = one_or_none(&bolt(&[&block(0.0)], kind), what);
            let after = one_or_none(&bolt(&[&block(more)], kind), what);
            if let (Some(before), Some(after)) = (before, after) {
                // Each is found to its tolerance: 0.05 mm, 0.02 deg twice.
                prop_assert!(after <= before + 0.15, "{what}: {before} then {after}");
            }
        }
    }
}

/// A figure; none where the block is where the point is.
fn one_or_none(text: &str, what: &str) -> Option<f64> {
    let folder = tempfile::tempdir().unwrap();
    let scene = baywright::scene::Scene::load_text(&folder.path().join("bay.yaml"), text).ok()?;
    let found = Checker::new().reach(&scene, None);
    let finding = found.list.iter().find(|finding| finding.code != "caution")?;
    finding.figures.iter().find(|figure| figure.what == what)?.actual
}

#[test]
fn the_demo_says_what_the_first_position_breaks() {
    let van = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-scenes/van");
    let reach = |script: &str| {
        let out = Command::cargo_bin("baywright")
            .unwrap()
            .args(["reach", &format!("{van}/scene.yaml"), "--format", "json", "--script"])
            .arg(format!("{van}/scripts/{script}-position.rhai"))
            .output()
            .unwrap();
        let json: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        json["before_after"].clone()
    };
    let verdict = |table: &serde_json::Value, name: &str| {
        let points = table["points"].as_array().unwrap();
        let point = points.iter().find(|point| point["point"] == name).unwrap();
        (point["before"].as_str().unwrap().to_owned(), point["after"].as_str().unwrap().to_owned())
    };
    let pair = |before: &str, after: &str| (before.to_owned(), after.to_owned());
    let first = reach("first");
    // The subtle one: a hand gets to the cap, and cannot turn it.
    assert_eq!(verdict(&first, "fluid-cap-reach"), pair("clear", "clear"));
    assert_eq!(verdict(&first, "fluid-cap-turn"), pair("clear", "short"));
    assert_eq!(verdict(&first, "battery-right-out"), pair("clear", "short"));
    let kept = first["bodies"].as_array().unwrap();
    let broken: Vec<&str> = kept
        .iter()
        .filter(|body| body["intact"] == false)
        .map(|body| body["body"].as_str().unwrap())
        .collect();
    assert_eq!(broken, ["battery-right", "fluid-cap"]);
}
