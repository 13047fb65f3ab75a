//! Service points among bodies that are known so and so well: clear and short are proved for all of them, not the nearest.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::common::load;

use baywright::check::{Checker, Figure, Finding, Findings, Verdict};

const PEOPLE: &str =
    "people: {standing: {above: {shoulder: [0, 0, 1500], eye: [0, 0, 1000], reach: REACH}}}\n";
const FLOOR: &str = "floor: {shape: {box: [1200, 1200, 20]}, at: [0, 0, -300]}";
const DIAL: &str = "dial: {shape: {cylinder: {diameter: 40, length: 20}}, at: [0, 0, -10]}";

fn found(bodies: &[&str], service: &str, reach: &str) -> Findings {
    let bodies: Vec<String> = bodies.iter().map(|body| format!("  {body}\n")).collect();
    let people = PEOPLE.replace("REACH", reach);
    let text = format!("baywright: 1\n{people}bodies:\n{}service:\n  it: {service}\n", bodies.concat());
    Checker::new().reach(&load(&text), None)
}

fn one(bodies: &[&str], service: &str) -> Finding {
    let list = found(bodies, service, "3000").list;
    list.into_iter().find(|finding| finding.code != "caution").unwrap()
}

fn figure(finding: &Finding, what: &str) -> Figure {
    *finding
        .figures
        .iter()
        .find(|figure| figure.what == what)
        .unwrap_or_else(|| panic!("no {what}: {finding:?}"))
}

#[test]
fn what_is_hot_beside_the_point_itself_is_told() {
    // A pipe whose surface is 3 from the rim of the dial, in an open bay: the hand's middle stops 60 from the point.
    for (opening, cautions) in [("opening: 90", 1), ("opening: 30", 1)] {
        let touch = format!("{{touch: {{body: dial, at: [20, 0, 0]}}, {opening}}}");
        let told = |x: f64| {
            let pipe = format!("pipe: {{shape: {{box: [20, 20, 20]}}, at: [{x}, 0, -10], hot_to: 600}}");
            let list = found(&[FLOOR, DIAL, &pipe], &touch, "3000").list;
            list.iter().filter(|finding| finding.code == "caution").count()
        };
        assert_eq!(told(33.0), cautions, "{opening}");
        assert_eq!(told(300.0), 0, "{opening}");
    }
}

#[test]
fn a_further_obstacle_makes_no_room_surer() {
    let wall = |name: &str, x: f64, sigma: f64| {
        format!("{name}: {{shape: {{box: [20, 400, 60]}}, at: [{x}, 0, 30], sigma: {sigma}}}")
    };
    // A grip of 75: a wall 15 off known to 60, and a sharp one at 10.
    let (vague, sharp) = (wall("vague", 100.0, 30.0), wall("sharp", -95.0, 0.0));
    let turn = "{turn: {body: dial, at: [0, 0, 0], along: up}, opening: 30}";
    let room = |bodies: &[&str]| figure(&one(bodies, turn), "room");
    assert_eq!(room(&[FLOOR, DIAL, &vague]).verdict, Verdict::Undecided);
    let both = room(&[FLOOR, DIAL, &vague, &sharp]);
    assert_eq!(both.verdict, Verdict::Undecided, "{both:?}");
    assert!((both.actual.unwrap() - 10.0).abs() < 0.01 && both.uncertainty.unwrap() > 54.0, "{both:?}");
    assert_eq!(room(&[FLOOR, DIAL, &sharp]).verdict, Verdict::Clear);
    // A vague one that blocks lets a sharp one that blocks too decide.
    let (in_it, sharply) = (wall("in-it", 80.0, 30.0), wall("sharply", -84.0, 0.0));
    assert_eq!(room(&[FLOOR, DIAL, &in_it]).verdict, Verdict::Undecided);
    assert_eq!(room(&[FLOOR, DIAL, &in_it, &sharply]).verdict, Verdict::Short);
}

/// A bolt on a plate in a ring of nine posts of radius 8, and a bar that needs 60 deg where 25 are free.
fn coarse(sigma: &str, more: &str) -> Finding {
    let mut bodies = vec![
        FLOOR.to_owned(),
        "plate: {shape: {box: [40, 40, 10]}, at: [0, 0, -5]}".to_owned(),
        "bolt: {shape: {cylinder: {diameter: 14, length: 5}}, at: [0, 0, 2.5]}".to_owned(),
    ];
    bodies.extend((0..9).map(|i| {
        let a = (20.0 + 40.0 * f64::from(i)).to_radians();
        let (x, y) = (100.0 * a.cos(), 100.0 * a.sin());
        format!("post-{i}: {{shape: {{cylinder: {{diameter: 16, length: 200}}}}, {sigma}at: [{x}, {y}, 0]}}")
    }));
    bodies.extend((!more.is_empty()).then(|| more.to_owned()));
    let bodies: Vec<&str> = bodies.iter().map(String::as_str).collect();
    let wrench = "{wrench: {body: bolt, at: [0, 0, 0], along: up, size: 13, tool: coarse}, opening: 30}
joined: [{bodies: [bolt, plate], by: thread}]
tools:
  coarse: {fits: [13], wall: 2, head: 12, lever: 150, lever_radius: 5, lever_height: 20, click: 60 deg, off: 10, source: test}";
    one(&bodies, wrench)
}

#[test]
fn no_tool_is_short_for_bodies_that_may_not_be_there() {
    let swing = |sigma: &str, more: &str| figure(&coarse(sigma, more), "swing").verdict;
    assert_eq!(swing("", ""), Verdict::Short, "known exactly");
    assert_eq!(swing("sigma: 0.5, ", ""), Verdict::Short, "known to 1: asin(12 / 100) leaves 26 deg");
    assert_eq!(swing("sigma: 15, ", ""), Verdict::Undecided, "posts of radius 8 known to 30");
    // One that is known and lies on the head leaves no doubt.
    let lid = "lid: {shape: {box: [60, 60, 10]}, at: [0, 0, 14]}";
    assert_eq!(swing("sigma: 15, ", lid), Verdict::Short);
}

#[test]
fn finger_and_thumb_find_the_same_room_however_the_plug_stands() {
    // Posts of radius 7 at 30 shut all sides of a plug of 20 but one pair: tips of 25 at 22.5 clear a post when
    // 40.5 deg off it, which leaves 9 deg; at no turn they lie on either side of where half a turn ends.
    let verdict = |turn_deg: f64| -> f64 {
        let posts: Vec<String> = [45.0, 90.0, 135.0, 225.0, 270.0, 315.0]
            .iter()
            .enumerate()
            .map(|(i, post_deg)| {
                let a: f64 = f64::to_radians(turn_deg + post_deg);
                let (x, y) = (30.0 * a.cos(), 30.0 * a.sin());
                format!(
                    "post-{i}: {{shape: {{cylinder: {{diameter: 14, length: 60}}}}, at: [{x}, {y}, -10]}}"
                )
            })
            .collect();
        let plug =
            format!("plug: {{shape: {{box: [20, 20, 20]}}, at: [0, 0, -10], turn: {{z: {turn_deg} deg}}}}");
        let mut bodies = vec![FLOOR, &plug];
        bodies.extend(posts.iter().map(String::as_str));
        let found = one(&bodies, "{plug: {body: plug, at: [0, 0, 0], along: up}, opening: 20}");
        figure(&found, "thumb room").actual.unwrap()
    };
    let as_wide = verdict(30.0);
    assert!(
        (as_wide - 9.0).abs() < 0.7 && (verdict(0.0) - as_wide).abs() < 0.5,
        "{} {as_wide}",
        verdict(0.0)
    );
}

#[test]
fn an_arm_with_three_to_spare_is_not_clear_for_a_point_known_to_four() {
    // From 1500 over it, straight down.
    let touch = "{touch: {body: dial, at: [0, 0, 0]}, opening: 90}";
    let spare = |sigma: &str, reach_mm: f64| {
        let dial = DIAL.replace("at:", &format!("{sigma}at:"));
        let list = found(&[FLOOR, &dial], touch, &reach_mm.to_string()).list;
        let finding = list.into_iter().find(|finding| finding.code != "caution").unwrap();
        figure(&finding, "arm to spare")
    };
    let arm = |sigma: &str, reach_mm: f64| spare(sigma, reach_mm).verdict;
    // The way that is found is a little longer than the straight line of 1500.
    let way_mm = 1700.0 - spare("", 1700.0).actual.unwrap();
    assert!((1500.0..1560.0).contains(&way_mm), "{way_mm}");
    assert_eq!(arm("", way_mm + 3.0), Verdict::Clear);
    assert_eq!(arm("sigma: 2, ", way_mm + 3.0), Verdict::Undecided);
    assert_eq!(arm("sigma: 2, ", way_mm + 12.0), Verdict::Clear);
    assert_eq!(arm("sigma: 2, ", 1498.0), Verdict::Undecided);
    assert_eq!(arm("sigma: 2, ", 1490.0), Verdict::Short);
}
