//! Hoses in a check: too short, kinked, sagging where they drain, and giving way where an end rides elsewhere.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::check::{CheckOptions, Checker, Finding, Findings, Verdict};
use baywright::space::Pose;
use nalgebra::Vector3;

use crate::common::load;

fn findings(text: &str) -> Findings {
    Checker::new().check(&load(text), None, &CheckOptions::default())
}

fn of<'a>(findings: &'a Findings, code: &str) -> Vec<&'a Finding> {
    findings.list.iter().filter(|finding| finding.code == code).collect()
}

/// A hose over 300 mm between two ports that face each other, `{MORE}` its further keys, `{BODY}` those of its body.
const LINE: &str = "baywright: 1
units: mm
carriers:
  engine: {rock: {through: [0, 0, -400], along: rearward, forward: 3 deg, reverse: 3 deg}}
bodies:
  line:
    shape:
      hose: {diameter: 19, from: [0, 0, 0], from_out: +y, to: [0, 300, 0], to_out: -y, kg_per_m: 0.4, stiffness: 0.05, {MORE}}
    {BODY}
";

fn line(more: &str, body: &str) -> String {
    LINE.replace("{MORE}", more).replace("{BODY}", body)
}

#[test]
fn what_is_wrong_with_a_hose_at_rest_is_a_finding() {
    for (case, text, code, words) in [
        ("fits", line("length: 330, least_bend: 40", "kept: true"), "", ""),
        (
            "kinks",
            line("length: 480, least_bend: 120", "kept: true"),
            "hose-bend",
            "where 120 mm is the least",
        ),
        (
            "sags",
            line("length: 400, least_bend: 20, drains: true", "kept: true"),
            "hose-fall",
            "climbs by up to",
        ),
        ("may sag", line("length: 400, least_bend: 20", "kept: true"), "", ""),
    ] {
        let found = findings(&text);
        let hoses: Vec<&Finding> =
            found.list.iter().filter(|finding| finding.code.starts_with("hose")).collect();
        if code.is_empty() {
            assert!(hoses.is_empty(), "{case}: {hoses:?}");
        } else {
            assert_eq!(hoses.len(), 1, "{case}: {hoses:?}");
            assert!(hoses[0].code == code && hoses[0].verdict == Verdict::Short, "{case}: {:?}", hoses[0]);
            assert!(hoses[0].message.contains(words), "{case}: {}", hoses[0].message);
        }
    }
}

/// Its far end on the engine, 400 mm above the axis: over 3 deg each way that end goes 400 sin 3 = 20.9 mm to either side.
#[test]
fn what_rides_elsewhere_pulls_it_straight_and_it_gives_way() {
    let rides =
        |length: f64| line(&format!("length: {length}, least_bend: 15, to_rides: engine"), "kept: true");
    let found = findings(&rides(312.0));
    let short = of(&found, "hose-length");
    assert_eq!(short.len(), 1, "{found:?}");
    assert!(short[0].message.contains("engine rock"), "{}", short[0].message);
    // 300 mm at rest, and 20.9 mm farther at one end of the rock (and 400 - 400 cos 3 = 0.5 lower, plus its turned arm).
    assert!(short[0].message.contains("apart"), "{}", short[0].message);
    let found = findings(&rides(345.0));
    assert!(of(&found, "hose-length").is_empty(), "{found:?}");
    assert!(
        found.not_checked.iter().any(|said| said.contains("`line`") && said.contains("4 poses")),
        "{found:?}"
    );
}

/// A body beside the hose at rest, which it comes against only because its end moves.
#[test]
fn gaps_count_how_far_a_hose_gives_way() {
    let scene = |rides: &str| {
        line(&format!("length: 345, least_bend: 15{rides}"), "kept: true")
            + "  post: {shape: {box: [20, 20, 400]}, at: [45, 150, 0]}\nrules: [{between: [line, post], least: 8, because: test}]\n"
    };
    let still = findings(&scene(""));
    assert!(of(&still, "room").is_empty(), "{still:?}");
    let moving = findings(&scene(", to_rides: engine"));
    let room = of(&moving, "room");
    assert_eq!(room.len(), 1, "{moving:?}");
    assert!(room[0].actual.unwrap() < of_rest(&scene("")), "{:?}", room[0]);
}

/// The gap of hose and post at rest, by the script's own question.
fn of_rest(text: &str) -> baywright::space::Length {
    let scene = load(text);
    Checker::new().pair_gap(&scene, "line", "post", baywright::check::Poses::Rest).unwrap().upper
}

/// Weight pulls down however the body stands: a hose written lying on its side sags like one written upright.
#[test]
fn weight_pulls_down_whatever_the_body_does() {
    let upright = load(&line("length: 420, least_bend: 15", "kept: true"));
    let turned = load(&line("length: 420, least_bend: 15", "turn: {x: 0, y: 90 deg, z: 0}"));
    let lowest = |scene: &baywright::scene::Scene| {
        let body = scene.body("line").unwrap();
        let pose: Pose = body.world_from_body;
        let bounds = body.shape.bounds_in(&pose);
        (bounds.min.z, pose.rotation * Vector3::z())
    };
    let (a, _) = lowest(&upright);
    let (b, up) = lowest(&turned);
    assert!(up.z.abs() < 1e-9 && a < -40.0, "{a} {up}");
    assert!((a - b).abs() < 0.5, "{a} {b}");
}
