//! `baywright order` and `baywright way-in --breaks` as a person at a shell meets them.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

const TRAY: &str = r#"
baywright: 1
title: a tray, invented
units: mm
step_times:
  stud: {minutes: 4, source: timed on an invented job}
bodies:
  floor: {shape: {box: [400, 300, 10]}, at: [0, 0, -5], kept: true}
  left-wall: {shape: {box: [400, 10, 120]}, at: [0, -155, 60], kept: true}
  pump: {shape: {box: [100, 60, 40]}, at: [0, 0, 20], candidate: true, role: [hot]}
  cover: {shape: {box: [120, 80, 10]}, at: [0, 0, 45], candidate: true}
joined:
  - {bodies: [pump, floor], by: four M10 studs}
  - {bodies: [cover, pump], by: glue}
"#;

fn scene(folder: &Path, extra: &str) -> String {
    let path = folder.join("scene.yaml");
    fs::write(&path, format!("{TRAY}{extra}")).unwrap();
    path.display().to_string()
}

fn run(command: &str, scene: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let mut program = Command::cargo_bin("baywright").unwrap();
    let out = program.args([command, scene]).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[test]
fn the_card_has_a_step_a_part_with_moves_minutes_and_cautions() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "kit: [cover, pump]\n");
    let card = folder.path().join("card.md");
    let (code, text, wrong) = run("order", &path, &["--card", &card.display().to_string()]);
    assert_eq!(code, Some(0), "{text}{wrong}");
    assert!(text.contains("An order was found in which all 2 parts go in"), "{text}");
    insta::assert_snapshot!("install_card", fs::read_to_string(&card).unwrap());
    let (_, json, _) = run("order", &path, &["--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((&json["format"], &json["answer"]), (&"baywright-order/1".into(), &"order".into()));
    // 2 for the part, 0.5 for its one move, four studs of 4; then 2 and 0.5 and glue that the table does not know.
    assert_eq!(json["minutes"], 2.0 + 0.5 + 16.0 + 2.0 + 0.5);
    assert_eq!(json["steps"][0]["part"], "pump");
    let (_, csv, _) = run("order", &path, &["--format", "csv"]);
    assert!(csv.starts_with("part,x_mm,y_mm,z_mm,qx,qy,qz,qw\npump,"), "{csv}");
    assert_eq!(csv.lines().count(), 5, "{csv}");
}

#[test]
fn what_must_come_out_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "");
    let (code, text, wrong) = run("order", &path, &["--for", "cover"]);
    assert_eq!(code, Some(0), "{text}{wrong}");
    assert!(text.contains("`cover` out: nothing must come out."), "{text}");
    let (code, json, _) = run("order", &path, &["--for", "cover", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((code, &json["count"]), (Some(0), &0.into()));
}

#[test]
fn wrong_input_is_told_with_a_cure() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "");
    for (command, more, said) in [
        ("order", vec!["--part", "pmup"], "there is no body `pmup`"),
        ("order", vec!["--part", "pump", "--part", "pump"], "is there twice"),
        ("order", vec!["--without", "pump"], "cannot be taken off first"),
        ("order", vec!["--without", "bonnet"], "no such body"),
        ("order", vec!["--for", "bonnet"], "neither such a body nor such a service point"),
        ("order", vec!["--from", "behind"], "above, below, front, left, right"),
        ("order", vec!["--card", "no/such/folder/card.md"], "folder that exists"),
        ("way-in", vec!["pump", "--breaks"], "`pump` is no tube"),
        ("way-in", vec!["pump", "--joint", "tape"], "weld, v-band, slip"),
        ("way-in", vec!["pump", "--pieces", "4"], "2..=3"),
    ] {
        let (code, text, wrong) = run(command, &path, &more);
        assert_eq!(code, Some(2), "{more:?}: {text}{wrong}");
        assert!(wrong.split_whitespace().collect::<Vec<_>>().join(" ").contains(said), "{more:?}: {wrong}");
    }
    let none = scene(folder.path(), "kit: [turbo]\n");
    let (code, _, wrong) = run("order", &none, &[]);
    assert_eq!(code, Some(2));
    assert!(wrong.contains("there is no body `turbo`") && wrong.contains("--script"), "{wrong}");
}
