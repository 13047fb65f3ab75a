//! Parts too heavy for hands: their mass, and the straight lift by which they come in.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use baywright::assembly::{Heft, Shapes, heft, mass_kg, straight_lift};
use baywright::scene::Scene;
use baywright::space::{Length, Pose};
use proptest::prelude::*;

/// A pump of 40 kg on a floor between walls; `SHELF` is a place for what may be in the way.
const BAY: &str = r#"
baywright: 1
title: a deep tray, invented
units: mm
materials:
  heavy-metal: {density: 7850, source: invented}
bodies:
  floor: {shape: {box: [600, 600, 10]}, at: [0, 0, -5], kept: true}
  wall: {shape: {box: [600, 10, 500]}, at: [0, 200, 250], kept: true}
  pump: {shape: {box: [200, 200, 100]}, at: [0, 0, 50], candidate: true, mass: 40, HOIST}
  SHELF
joined:
  - {bodies: [pump, floor], by: four M10 studs}
"#;

fn text(hoist: &str, shelf: &str) -> String {
    BAY.replace(", HOIST", hoist).replace("  SHELF", shelf)
}

fn load(text: &str) -> Scene {
    Scene::load_text(Path::new("bay.yaml"), text).unwrap_or_else(|errors| panic!("{errors}"))
}

const HOOK: &str = ", hoist: {at: [0, 0, 50], room: 120}";

#[test]
fn mass_is_what_the_scene_says_else_volume_by_density() {
    let scene = load(&text("", ""));
    assert_eq!(mass_kg(&scene, scene.body("pump").unwrap()), Some(40.0));
    assert_eq!(mass_kg(&scene, scene.body("wall").unwrap()), None);
    let scene = load(&text(
        "",
        "block: {shape: {box: [100, 100, 100]}, at: [0, 0, 900], material: heavy-metal}"
            .replace("block", "  block")
            .as_str(),
    ));
    let block = scene.body("block").unwrap();
    // A litre of 7850 kg/m^3.
    assert!((mass_kg(&scene, block).unwrap() - 7.85).abs() < 1e-12);
    assert_eq!(heft(&scene, block, 7.86), Heft::Light);
    assert_eq!(heft(&scene, scene.body("wall").unwrap(), 23.0), Heft::Unknown);
    assert!(matches!(heft(&scene, scene.body("pump").unwrap(), 23.0), Heft::NoHoist { kg } if kg == 40.0));
    assert_eq!(heft(&scene, scene.body("pump").unwrap(), 41.0), Heft::Light);
}

/// What is in the way of the part and of the hook, and how far the lift is free.
fn lifted(shelf: &str, gap_mm: f64) -> (Vec<String>, Vec<String>, f64, f64) {
    let scene = load(&text(HOOK, shelf));
    let body = scene.body("pump").unwrap();
    let Heft::Hoisted { kg, hoist } = heft(&scene, body, 23.0) else { panic!() };
    let shapes = Shapes::of(&scene);
    let lift = straight_lift(&scene, &shapes, body, &[], Length::from_mm(gap_mm), (kg, hoist)).unwrap();
    let met = lift.met.into_iter().map(|(name, _)| name).collect();
    (met, lift.hook_met, lift.free_mm, lift.travel_mm)
}

#[test]
fn a_lift_is_free_until_something_stands_within_the_gap_or_over_the_hook() {
    // The pump's side is at y = -100; a shelf's edge y beyond it leaves a gap of as much, at heights 300 to 310.
    let shelf = |y: f64| format!("  shelf: {{shape: {{box: [600, 100, 10]}}, at: [0, {}, 305]}}", y - 50.0);
    for (case, y, gap_mm, free) in [
        ("a tenth of a millimetre beyond the gap", -103.1, 3.0, true),
        ("a tenth under it", -102.9, 3.0, false),
        ("well in the way", -60.0, 3.0, false),
        ("a smaller gap lets it by", -102.9, 2.0, true),
    ] {
        let (met, hook, free_mm, travel_mm) = lifted(&shelf(y), gap_mm);
        assert!(hook.is_empty(), "{case}: {hook:?}");
        if free {
            assert!(met.is_empty() && free_mm == travel_mm, "{case}: {met:?}");
        } else {
            assert_eq!(met, ["shelf"], "{case}");
        }
        if y == -60.0 {
            // Its top is at 100 and the shelf's underside at 300, of which 3 are kept.
            assert!((free_mm - 197.0).abs() < 0.05, "{case}: {free_mm}");
        }
    }
    // A rail over the part's rim misses the part's own lift only where it is off it; over the hook's room of 120 it stops the hook.
    let rail = |x: f64| format!("  rail: {{shape: {{box: [10, 10, 10]}}, at: [{x}, 0, 800]}}");
    let (met, hook, ..) = lifted(&rail(0.0), 3.0);
    assert_eq!((met, hook), (vec!["rail".to_owned()], vec!["rail".to_owned()]));
    let (met, hook, ..) = lifted(&rail(66.0), 3.0);
    assert_eq!((met.len(), hook.len()), (1, 0), "beside the hook, over the part");
    let (met, hook, ..) = lifted(&rail(109.0), 3.0);
    assert_eq!((met.len(), hook.len()), (0, 0), "beside both");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn a_free_lift_is_free_at_every_height_that_is_looked_at(
        x in -250.0..250.0f64, y in -350.0..-60.0f64, z in 150.0..700.0f64, size in 5.0..120.0f64, turn in 0.0..90.0f64
    ) {
        let shelf = format!("  shelf: {{shape: {{box: [{size}, {size}, {size}]}}, at: [{x}, {y}, {z}], turn: {{z: {turn} deg}}}}");
        let (met, _, free_mm, travel_mm) = lifted(&shelf, 3.0);
        let scene = load(&text(HOOK, &shelf));
        let shapes = Shapes::of(&scene);
        let (pump, shelf) = (scene.body("pump").unwrap(), scene.body("shelf").unwrap());
        let (pump_tree, shelf_tree) = (shapes.of_body(pump), shapes.of_body(shelf));
        let gap_at = |height: f64| {
            let lifted = Pose::translation(0.0, 0.0, height) * pump.world_from_body;
            baywright::clearance::gap(&shelf_tree, &pump_tree, &shelf.world_from_body.inv_mul(&lifted)).gap.mm()
        };
        let heights = |to: f64| (0..=500).map(move |step| to * f64::from(step) / 500.0);
        let rest = gap_at(0.0);
        let room = if rest > 0.0 && rest < 3.0 { 0.9 * rest } else { 3.0 };
        for height in heights(free_mm) {
            prop_assert!(gap_at(height) > room - 0.03, "at {height}: {}", gap_at(height));
        }
        if met.is_empty() {
            prop_assert_eq!(free_mm, travel_mm);
        } else {
            // And it is stopped for a reason.
            let least = heights(travel_mm).map(gap_at).fold(f64::INFINITY, f64::min);
            prop_assert!(least < room + 0.1, "{least}");
        }
    }
}

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let out = Command::cargo_bin("baywright").unwrap().current_dir(folder).args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[test]
fn the_commands_ask_for_the_lift_and_say_why() {
    let folder = tempfile::tempdir().unwrap();
    let here = folder.path();
    let write = |hoist: &str, shelf: &str| fs::write(here.join("bay.yaml"), text(hoist, shelf)).unwrap();
    write(HOOK, "");
    let (code, text, wrong) = run(here, &["way-in", "bay.yaml", "pump"]);
    assert_eq!(code, Some(0), "{text}{wrong}");
    for want in [
        "`pump` goes in: 1 move",
        "lower 533 mm",
        "it weighs 40.0 kg, so a straight lift by its hoist point is required",
        "local rules for lifting gear",
        "local codes",
    ] {
        assert!(text.contains(want), "{want}: {text}");
    }
    let (_, json, _) = run(here, &["way-in", "bay.yaml", "pump", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((&json["answer"], &json["poses"][1]["at_mm"][2]), (&"way".into(), &50.0.into()));
    // Under its limit it is looked for like any other.
    let (code, text, _) = run(here, &["way-in", "bay.yaml", "pump", "--mass-limit", "50 kg"]);
    assert!(code == Some(0) && !text.contains("weighs"), "{text}");
    // What hands could work round stops a lift.
    let beam = "  beam: {shape: {box: [20, 20, 20]}, at: [90, 90, 400]}";
    write(HOOK, beam);
    let (code, text, _) = run(here, &["way-in", "bay.yaml", "pump"]);
    assert_eq!(code, Some(1), "{text}");
    assert!(
        text.contains("is not lifted straight in, and this is proved")
            && text.contains("`beam` is in the way"),
        "{text}"
    );
    let (code, json, _) = run(here, &["way-in", "bay.yaml", "pump", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(
        (code, &json["answer"], &json["in_the_way"][0]["body"]),
        (Some(1), &"no straight lift".into(), &"beam".into())
    );
    let (code, text, _) = run(here, &["way-in", "bay.yaml", "pump", "--mass-limit", "50"]);
    assert_eq!(code, Some(0), "by hand it goes round: {text}");
    let (code, text, _) = run(here, &["order", "bay.yaml", "--part", "pump"]);
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("proved not to go in: it weighs 40.0 kg"), "{text}");
    let (code, text, _) = run(here, &["order", "bay.yaml", "--part", "pump", "--without", "beam"]);
    assert!(code == Some(0) && text.contains("straight lift by its hoist point is required"), "{text}");
    // No hoist: told, and looked for all the same.
    write("", "");
    for command in [&["way-in", "bay.yaml", "pump"][..], &["order", "bay.yaml", "--part", "pump"]] {
        let (code, text, _) = run(here, command);
        assert!(code == Some(0) && text.contains("the scene gives it no `hoist`"), "{text}");
    }
    for (arguments, want) in
        [(["--mass-limit", "0"], "above 0"), (["--mass-limit", "some"], "give a mass in kg")]
    {
        let (code, _, wrong) = run(here, &[&["way-in", "bay.yaml", "pump"][..], &arguments].concat());
        assert!(code == Some(2) && wrong.contains(want), "{wrong}");
    }
}
