//! Scripts on scenes as they are read: what a role means, and how well a part is placed that stands on another.

use crate::common::load;
use crate::script_support::BoxAsker;

use baywright::script::{ScriptOptions, ScriptRun, run_script};

const BAY: &str = "baywright: 1
include: [house:rules/common]
frames: {top: {on: bracket, at: [0, 0, 20]}}
bodies:
  bracket: {shape: {box: [120, 80, 40]}, at: [300, 100, 700], sigma: 10, sigma_turn: 1 deg}
";

fn run(script: &str) -> Result<ScriptRun, String> {
    let options = ScriptOptions::default();
    run_script(script, "try.rhai", &load(BAY), &BoxAsker, &options).map_err(|errors| errors.to_string())
}

#[test]
fn a_role_that_no_rule_could_mean_is_refused() {
    let place = |role: &str| {
        run(&format!("place(\"pipe\", cylinder(60, 200), at(420, 480, 760), #{{role: \"{role}\"}});"))
    };
    assert!(place("hot").is_ok());
    let told = place("hott").unwrap_err();
    assert!(told.contains("no role `hott`") && told.contains("`hot`"), "{told}");
}

/// The same part on the same frame or body, by script and in the scene: as badly known either way.
#[test]
fn a_part_is_known_no_better_than_what_it_stands_on() {
    let cases = [
        ("scene.frame(\"top\").shifted(10, 0, 50)", "on: top, at: [10, 0, 50]", ""),
        ("scene.body(\"bracket\").pose.shifted(0, 0, 90)", "on: bracket, at: [0, 0, 90]", ""),
        ("scene.frame(\"top\").shifted(10, 0, 50)", "on: top, at: [10, 0, 50], sigma: 2", ", sigma: 2"),
    ];
    for (pose, written, more) in cases {
        let script = format!("place(\"probe\", box(10, 10, 10), {pose}, #{{role: \"pipe\"{more}}});");
        let by_script = run(&script).unwrap();
        let in_scene = load(&format!("{BAY}  probe: {{shape: {{box: [10, 10, 10]}}, {written}}}\n"));
        let (one, other) = (by_script.scene.body("probe").unwrap(), in_scene.body("probe").unwrap());
        assert!(
            (one.world_from_body.translation.vector - other.world_from_body.translation.vector).norm() < 1e-9
        );
        let off = (one.placement.covariance_at(&other.placement.about) - other.placement.covariance).norm();
        assert!(off < 1e-9 * other.placement.covariance.norm(), "{pose}: {off}");
        assert!(other.placement.covariance.norm() > 100.0, "or nothing was compared");
    }
}
