//! Edits made by the tool: they touch only what they must, comments and order stay, and what would
//! not load is not taken.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::Path;

use baywright::scene::{EditError, Joined, Note, Scene, SceneDocument, Span};
use baywright::space::{Angle, Pose, pose_from_euler};
use nalgebra::Vector3;

const BAY: &str = "\
# The bay, as found.
baywright: 1
units: mm # shop units

bodies: # kept parts first
  # the left one
  battery:
    shape: {box: [242, 175, 190]}   # with terminals
    at: [300, -520, 700] # taped
    kept: true

  block: {shape: {box: [500, 300, 400]}, at: [500, 0, 400], carried_by: engine} # cast
  turbo:
    shape: {cylinder: {diameter: 120, length: 80}}
    on: block # on its right
    at: [0, 190, 80]
    axis: right
    role: hot # last line

carriers:
  engine: {rock: {through: [0, 0, 300], along: rearward, forward: 3, reverse: 2}}

joined:
  - {bodies: [turbo, block], by: four studs} # M10

service:
  out: {lift-out: {body: battery, travel: 260}}
  look: {touch: {body: turbo}, without: [battery]}
# the end
";

fn document(text: &str) -> SceneDocument {
    match SceneDocument::from_text(Path::new("bay.yaml"), text) {
        Ok(document) => document,
        Err(error) => panic!("{error}"),
    }
}

fn pose(at: [f64; 3], turn: [f64; 3]) -> Pose {
    let [x, y, z] = turn.map(Angle::from_deg);
    pose_from_euler(Vector3::from(at), x, y, z)
}

/// Lines that differ, as a patch: `-` before, `+` after.
fn changed(before: &str, after: &str) -> String {
    let (before, after): (Vec<&str>, Vec<&str>) = (before.lines().collect(), after.lines().collect());
    let start = before.iter().zip(&after).take_while(|(a, b)| a == b).count();
    let rest = before.len().min(after.len()) - start;
    let end = before.iter().rev().zip(after.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let mut out: Vec<String> =
        before[start..before.len() - end].iter().map(|line| format!("-{line}")).collect();
    out.extend(after[start..after.len() - end].iter().map(|line| format!("+{line}")));
    out.join("\n")
}

#[test]
fn a_moved_body_changes_its_own_line_alone() {
    let mut edited = document(BAY);
    edited.set_body_pose("battery", &pose([310.25, -500.0, 700.0], [0.0; 3])).unwrap();
    insta::assert_snapshot!(changed(BAY, edited.text()), @r"
    -    at: [300, -520, 700] # taped
    +    at: [310.25, -500, 700] # taped
    ");
}

#[test]
fn a_turn_is_added_after_the_last_key() {
    let mut edited = document(BAY);
    edited.set_body_pose("battery", &pose([300.0, -520.0, 700.0], [0.0, 0.0, 5.0])).unwrap();
    insta::assert_snapshot!(changed(BAY, edited.text()), @r"
    +    turn: {z: 5}
    ");
}

#[test]
fn a_body_on_another_is_written_in_its_axes_and_axis_gives_way_to_turn() {
    let mut edited = document(BAY);
    let target = pose([500.0, 200.0, 480.0], [-90.0, 0.0, 0.0]);
    edited.set_body_pose("turbo", &target).unwrap();
    insta::assert_snapshot!(changed(BAY, edited.text()), @r"
    -    at: [0, 190, 80]
    -    axis: right
    -    role: hot # last line
    +    at: [0, 200, 80]
    +    role: hot # last line
    +    turn: {x: -90}
    ");
    let got = edited.scene().body("turbo").unwrap().world_from_body;
    assert!((got.inverse() * target).translation.vector.norm() < 1e-9);
}

#[test]
fn a_body_in_one_line_stays_in_one_line() {
    let mut edited = document(BAY);
    edited.set_body_pose("block", &pose([1.0, 2.0, 3.0], [10.0, -20.0, 30.0])).unwrap();
    insta::assert_snapshot!(changed(BAY, edited.text()), @r"
    -  block: {shape: {box: [500, 300, 400]}, at: [500, 0, 400], carried_by: engine} # cast
    +  block: {shape: {box: [500, 300, 400]}, at: [1, 2, 3], carried_by: engine, turn: {x: 10, y: -20, z: 30}} # cast
    ");
}

#[test]
fn figures_are_in_the_units_of_the_file() {
    let text = "baywright: 1\nunits: in\nbodies:\n  tank: {shape: {box: [8, 4, 6]}}\n";
    let mut edited = document(text);
    edited.set_body_pose("tank", &pose([63.5, 25.4, 3.175], [0.0; 3])).unwrap();
    assert!(edited.text().contains("at: [2.5, 1, 0.125]"), "{}", edited.text());
}

#[test]
fn a_rod_from_point_to_point_moves_as_a_whole() {
    let text = "baywright: 1\nbodies:\n  rod: {shape: {cylinder: {diameter: 8, from: [0, 0, 0], to: [0, 0, 100]}}}\n";
    let mut edited = document(text);
    let target = pose([10.0, 20.0, 30.0], [0.0; 3]);
    edited.set_body_pose("rod", &target).unwrap();
    assert!(edited.text().contains("at: [10, 20, -20]"), "its middle goes there: {}", edited.text());
    assert!(
        (edited.scene().body("rod").unwrap().world_from_body.translation.vector - target.translation.vector)
            .norm()
            < 1e-9
    );
}

#[test]
fn bodies_are_added_after_the_last_with_their_comments() {
    let mut edited = document(BAY);
    edited
        .add_body("# tried on Friday\ntank:\n  shape: {box: [200, 90, 150]} # 2 l\n  at: [900, 300, 600]\n")
        .unwrap();
    insta::assert_snapshot!(changed(BAY, edited.text()), @r"
    +  # tried on Friday
    +  tank:
    +    shape: {box: [200, 90, 150]} # 2 l
    +    at: [900, 300, 600]
    ");
    edited.add_body("{cap: {shape: {sphere: {radius: 20}}, on: tank, role: [cap, plastic]}}").unwrap();
    let line = edited.text().lines().find(|line| line.starts_with("  cap: {")).unwrap();
    assert!(line.ends_with('}') && line.contains("[cap, plastic]"), "in one line as it was given: {line}");
    assert_eq!(edited.scene().body("cap").unwrap().roles, ["cap", "plastic"]);
}

#[test]
fn bodies_are_added_wherever_there_is_room_for_them() {
    for (case, text) in [
        ("no key yet", "baywright: 1\n"),
        ("no line feed at the end", "baywright: 1"),
        ("a key with nothing", "baywright: 1\nbodies:\ntitle: x\n"),
        ("an empty map", "baywright: 1\nbodies: {} # none\n"),
        ("in one line", "baywright: 1\nbodies: {pump: {shape: {sphere: {radius: 9}}}} # one\n"),
        ("all in brackets", "{baywright: 1, bodies: {pump: {shape: {sphere: {radius: 9}}}}}\n"),
        ("all in brackets, no bodies", "{baywright: 1}\n"),
        (
            "carriage returns",
            "baywright: 1\r\nbodies:\r\n  pump: {shape: {sphere: {radius: 9}}}\r\ntitle: x\r\n",
        ),
        (
            "deeper indentation",
            "baywright: 1\nbodies:\n      pump:\n        shape:\n          sphere: {radius: 9}\n",
        ),
        (
            "a block text last",
            "baywright: 1\nbodies:\n  pump: {shape: {sphere: {radius: 9}}}\ntitle: |\n  two\n  lines\n",
        ),
        ("marked as UTF-8", "\u{FEFF}baywright: 1\n"),
    ] {
        let mut edited = document(text);
        edited
            .add_body("tank:\n  shape: {box: [200, 90, 150]}\n")
            .unwrap_or_else(|error| panic!("{case}: {error}"));
        edited
            .add_note(&Note {
                author: "bench: 2".into(),
                date: "2026-03-14".into(),
                text: "\"tried\" # once".into(),
            })
            .unwrap_or_else(|error| panic!("{case}: {error}\n{}", edited.text()));
        let scene = edited.scene();
        assert!(scene.body("tank").is_some(), "{case}");
        assert_eq!(scene.notes[0].text, "\"tried\" # once", "{case}");
        assert_eq!(scene.notes[0].author, "bench: 2", "{case}");
        if text.contains("\r\n") {
            assert_eq!(edited.text().matches('\n').count(), edited.text().matches("\r\n").count(), "{case}");
        }
    }
}

#[test]
fn a_removed_body_takes_along_what_would_name_it_in_vain() {
    let mut edited = document(BAY);
    let along = edited.remove_body("battery").unwrap();
    assert_eq!(along, ["service point out", "`without` of service point look"]);
    insta::assert_snapshot!(edited.text());
    let along = edited.remove_body("turbo").unwrap();
    assert_eq!(along, ["joined pair [turbo, block]", "service point look"]);
    assert_eq!(edited.scene().bodies.len(), 1);
    edited.remove_body("block").unwrap();
    assert!(edited.scene().bodies.is_empty());
    assert!(edited.text().contains("# kept parts first"));
}

#[test]
fn a_body_that_others_stand_on_stays_and_the_text_is_as_it_was() {
    let mut edited = document(BAY);
    let error = edited.remove_body("block").unwrap_err();
    insta::assert_snapshot!(error, @"bay.yaml:14:9: no body or frame is called `block`; there are: battery, turbo");
    assert_eq!(edited.text(), BAY);
    assert!(edited.scene().body("block").is_some());
}

#[test]
fn what_cannot_be_edited_says_why() {
    let shared =
        "baywright: 1\nbodies:\n  one: &b {shape: {sphere: {radius: 9}}, at: [1, 2, 3]}\n  two: *b\n";
    let mut edited = document(shared);
    for name in ["one", "two"] {
        let error = edited.set_body_pose(name, &Pose::identity()).unwrap_err();
        assert!(matches!(error, EditError::Shared { .. }), "{error}");
    }
    let mut edited = document(BAY);
    let error = edited.set_body_pose("batery", &Pose::identity()).unwrap_err();
    insta::assert_snapshot!(error, @"no body is called `batery`; did you mean `battery`?");
    let error = edited.add_body("battery: {shape: {sphere: {radius: 1}}}").unwrap_err();
    insta::assert_snapshot!(error, @"the name `battery` is taken; choose another");
    let error = edited.add_body("- not a map").unwrap_err();
    assert!(matches!(error, EditError::Fragment), "{error}");
    let error = edited.add_body("tank: {shape: {box: [1, 2, -3]}}").unwrap_err();
    assert!(matches!(error, EditError::Faults(_)), "{error}");
    let error = edited.set_body_pose("battery", &Pose::translation(f64::NAN, 0.0, 0.0)).unwrap_err();
    assert!(matches!(error, EditError::NotFinite { .. }), "{error}");
    let day = Note { author: "me".into(), date: "2026-02-30".into(), text: "x".into() };
    assert!(matches!(edited.add_note(&day).unwrap_err(), EditError::Faults(_)));
    assert_eq!(edited.text(), BAY);
}

#[test]
fn a_joined_pair_is_added_to_the_list() {
    let mut edited = document(BAY);
    let pair = Joined {
        one: "battery".into(),
        other: "block".into(),
        by: "a strap".into(),
        joint: None,
        span: Span::default(),
    };
    edited.add_joined(&pair).unwrap();
    insta::assert_snapshot!(changed(BAY, edited.text()), @"+  - {bodies: [battery, block], by: a strap}");
}

#[test]
fn a_body_of_an_included_file_is_edited_there() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("bay.yaml"), "baywright: 1\ninclude: [part.yaml]\n").unwrap();
    std::fs::write(folder.path().join("part.yaml"), "bodies:\n  tank: {shape: {sphere: {radius: 9}}}\n")
        .unwrap();
    let mut edited =
        SceneDocument::open(&folder.path().join("bay.yaml")).unwrap_or_else(|error| panic!("{error}"));
    let error = edited.set_body_pose("tank", &Pose::identity()).unwrap_err();
    insta::assert_snapshot!(error, @"`tank` is written in part.yaml, line 2; edit it there");
}

#[test]
fn saving_writes_what_is_shown_with_the_mark_it_came_with() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bay.yaml");
    std::fs::write(&path, format!("\u{FEFF}{BAY}")).unwrap();
    let mut edited = SceneDocument::open(&path).unwrap_or_else(|error| panic!("{error}"));
    edited.set_body_pose("battery", &pose([1.0, 2.0, 3.0], [0.0; 3])).unwrap();
    edited.save().unwrap();
    let written = std::fs::read_to_string(&path).unwrap();
    assert_eq!(written.strip_prefix('\u{FEFF}'), Some(edited.text()));
    let other = folder.path().join("other.yaml");
    edited.save_as(&other).unwrap();
    assert_eq!(Scene::load(&other).unwrap().bodies.len(), 3);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is left beside");
}
