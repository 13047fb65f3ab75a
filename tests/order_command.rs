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
    let written = fs::read_to_string(&card).unwrap();
    insta::assert_snapshot!("install_card", without_pictures(&written));
    pictures_are_there_or_missed(folder.path(), &written, &wrong);
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

/// The card but for what it says of pictures, which depends on the build and the machine.
fn without_pictures(card: &str) -> String {
    let lines: Vec<&str> = card.lines().collect();
    let about = |line: &str| line.starts_with("![Step ") || line.starts_with("Without pictures: ");
    // The empty line behind such a one goes with it.
    let of_pictures = |at: usize| about(lines[at]) || (at > 0 && about(lines[at - 1]));
    let kept = (0..lines.len()).filter(|at| !of_pictures(*at));
    kept.map(|at| format!("{}\n", lines[at])).collect()
}

/// One picture a step, named in the card and a PNG of a width that three tiles or one have; or the reason why there is none.
fn pictures_are_there_or_missed(folder: &Path, card: &str, aside: &str) {
    let named = card.lines().filter(|line| line.starts_with("![Step ")).count();
    let files = (1..=3).filter(|at| folder.join(format!("card-{at}.png")).exists()).count();
    if let Some(why) = card.lines().find_map(|line| line.strip_prefix("Without pictures: ")) {
        assert_eq!((named, files), (0, 0), "{card}");
        assert!(aside.contains("the install card has no pictures: "), "{aside}");
        let headless = why == "this build of Baywright has no viewer, so it draws none.";
        assert!(headless == cfg!(not(feature = "viewer")), "{why}");
        assert!(headless || why.starts_with("no graphics adapter can be had"), "{why}");
        return;
    }
    assert_eq!((named, files), (2, 2), "{card}");
    assert!(card.contains("![Step 1: how pump goes in, move by move](card-1.png)"), "{card}");
    for at in 1..=2 {
        let bytes = fs::read(folder.join(format!("card-{at}.png"))).unwrap();
        assert!(bytes.starts_with(b"\x89PNG\r\n\x1a\n"), "card-{at}.png is no PNG");
        let width = u32::from_be_bytes(bytes[16..20].try_into().unwrap());
        // The pump has one move, and its move on to the seat; the cover the same.
        assert_eq!(width, 1280, "card-{at}.png has two tiles beside each other");
    }
}

#[test]
fn a_card_goes_without_pictures_where_none_are_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "kit: [cover, pump]\n");
    let card = folder.path().join("card.md");
    let (code, text, wrong) = run("order", &path, &["--no-pictures", "--card", &card.display().to_string()]);
    assert_eq!(code, Some(0), "{text}{wrong}");
    let written = fs::read_to_string(&card).unwrap();
    assert!(written.contains("Without pictures: none were asked for."), "{written}");
    assert!(!written.contains("![") && !folder.path().join("card-1.png").exists());
    assert!(written.contains("**Caution:** `pump` gets hot enough"), "{written}");
    let (code, _, wrong) = run("order", &path, &["--no-pictures"]);
    assert_eq!(code, Some(2), "{wrong}");
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
