//! Whatever becomes of a scene's or a script's text, it is read or refused with a place; nothing panics.

use crate::script_support::{BoxAsker, bay};

use baywright::scene::Scene;
use baywright::script::{ScriptOptions, run_script};
use proptest::prelude::*;

const SCENE: &str = "baywright: 1
title: mutated
units: in
include: [house:rules/common]
carriers:
  engine: {rock: {through: [0, 0, 17-1/2 in], along: rearward, forward: 3 deg, reverse: 2}}
  lid: {hinge: {through: [1000, 0, 900], along: right, from: 0, to: 60}}
surveys:
  stand: {marks: {A: [0, 0, 0], B: {at: [40, 0, 0], sigma: 0.1}, C: [0, 30, 0], D: [40, 30, 0.1]}, instrument: tape, sigma: 0.06}
frames: {face: {on: block, at: [0, 4, 0], turn: {x: -90}}}
bodies:
  block: {shape: {box: [10, 10, 10]}, at: [40, 0, 20], carried_by: engine, kept: true}
  wall: {fit: {plane: {survey: stand, marks: [A, B, C, D], thickness: 0.05, solid_side: down}}, role: panel}
  pipe: {shape: {tube: {diameter: 2.5, points: [[0, 0, 0], [0, 0, 20], [10, 0, 30]], bend_radius: 4}}, on: face, role: [hot, pipe], wrap: 1/4 in, candidate: true}
rules:
  - {between: [hot, panel], least: 1, because: paint}
joined:
  - {bodies: [pipe, block], by: flange}
service:
  reach: {touch: {body: block, at: [40, 0, 26]}, opening: hand-bare}
";

const SCRIPT: &str = "let face = scene.body(\"turbo-bracket\").face(right);
for i in 0..3 {
    place(\"peg \" + i, cylinder(20, 60), face.shifted(0, i * 30, 30), #{role: \"hot\", wrap: 3});
}
let tank = place(\"tank\", box(200, 90, \"6-1/2 in\"), at(300, -200, 650), #{sigma: 1});
if gap(tank, \"battery-left\") < 20 { print(\"near\"); }
";

/// A cut, a doubled stretch or another sign, at a place.
#[derive(Clone, Debug)]
enum Edit {
    Cut(usize, usize),
    Double(usize, usize),
    Put(usize, String),
}

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let signs = prop_oneof![
        Just("\0".to_owned()),
        Just("\t".to_owned()),
        Just("&a ".to_owned()),
        Just("*a".to_owned()),
        Just("[[[[".to_owned()),
        Just("{".to_owned()),
        Just(": ".to_owned()),
        Just("- ".to_owned()),
        Just("-1e999".to_owned()),
        Just("NaN".to_owned()),
        Just("1/0".to_owned()),
        Just("\"".to_owned()),
        Just("ß\u{202e}".to_owned()),
        Just("\r\n".to_owned()),
        "[a-z0-9 ]{1,4}",
    ];
    prop::collection::vec(
        prop_oneof![
            (any::<usize>(), 1..40usize).prop_map(|(at, length)| Edit::Cut(at, length)),
            (any::<usize>(), 1..60usize).prop_map(|(at, length)| Edit::Double(at, length)),
            (any::<usize>(), signs).prop_map(|(at, sign)| Edit::Put(at, sign)),
        ],
        1..5,
    )
}

fn edited(text: &str, edits: &[Edit]) -> String {
    let mut signs: Vec<char> = text.chars().collect();
    for edit in edits {
        let length = signs.len().max(1);
        match edit {
            Edit::Cut(at, count) => {
                let at = at % length;
                signs.drain(at.min(signs.len())..(at + count).min(signs.len()));
            }
            Edit::Double(at, count) => {
                let at = (at % length).min(signs.len());
                let again: Vec<char> = signs[at..(at + count).min(signs.len())].to_vec();
                signs.splice(at..at, again);
            }
            Edit::Put(at, sign) => {
                let at = (at % length).min(signs.len());
                signs.splice(at..at, sign.chars());
            }
        }
    }
    signs.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn a_mutated_scene_is_read_or_refused_with_a_place(edits in edits()) {
        let text = edited(SCENE, &edits);
        let folder = tempfile::tempdir().unwrap();
        if let Err(errors) = Scene::load_text(&folder.path().join("bay.yaml"), &text) {
            let told = errors.to_string();
            prop_assert!(told.contains("bay.yaml:"), "no place in {told}\n{text}");
        }
    }

    #[test]
    fn a_mutated_script_runs_or_is_refused_with_a_place(edits in edits()) {
        let text = edited(SCRIPT, &edits);
        if let Err(errors) = run_script(&text, "try.rhai", &bay(), &BoxAsker, &ScriptOptions::default()) {
            prop_assert!(!errors.list.is_empty());
            prop_assert!(errors.list.iter().all(|error| !error.help.is_empty()), "no remedy in {errors}\n{text}");
        }
    }
}

/// The texts are good before they are spoilt: or nothing but refusal would be tried.
#[test]
fn unspoilt_they_are_read() {
    let folder = tempfile::tempdir().unwrap();
    if let Err(errors) = Scene::load_text(&folder.path().join("bay.yaml"), SCENE) {
        panic!("{errors}");
    }
    if let Err(errors) = run_script(SCRIPT, "try.rhai", &bay(), &BoxAsker, &ScriptOptions::default()) {
        panic!("{errors}");
    }
}
