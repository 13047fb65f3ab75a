//! `baywright way-in` as a person at a shell meets it.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

const TRAY: &str = r#"
baywright: 1
title: a tray, invented
units: mm
bodies:
  floor: {shape: {box: [400, 300, 10]}, at: [0, 0, -5], kept: true}
  left-wall: {shape: {box: [400, 10, 120]}, at: [0, -155, 60], kept: true}
  right-wall: {shape: {box: [400, 10, 120]}, at: [0, 155, 60], kept: true}
  pump: {shape: {box: [100, 60, 40]}, at: [0, 0, HEIGHT], candidate: true}
  EXTRA
"#;

fn scene(folder: &Path, height: &str, extra: &str) -> String {
    let text = TRAY.replace("HEIGHT", height).replace("  EXTRA", extra);
    let path = folder.join("scene.yaml");
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

fn run(scene: &str, more: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::cargo_bin("baywright").unwrap();
    let out = command.args(["way-in", scene]).args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[test]
fn a_part_goes_into_an_open_tray_from_above_and_the_moves_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "30", "");
    let (code, text, _) = run(&path, &["pump"]);
    assert_eq!(code, Some(0), "{text}");
    // The tray's top is at 120; outside is 3 of gap, 10 and 20 mm above; the pump's underside is at 10 when mounted.
    assert!(text.contains("`pump` goes in: 1 move,") && text.contains("lower 143 mm"), "{text}");
    assert!(text.contains("Not looked at: ") && text.contains("local codes"), "{text}");
    let (_, json, _) = run(&path, &["pump", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["format"], "baywright-way-in/1");
    assert_eq!(json["answer"], "way");
    assert_eq!(json["poses"].as_array().unwrap().len(), 2);
    assert_eq!(json["poses"][1]["at_mm"], serde_json::json!([0.0, 0.0, 30.0]));
    let (_, csv, _) = run(&path, &["pump", "--format", "csv"]);
    assert_eq!(csv.lines().count(), 3, "{csv}");
    assert!(csv.starts_with("x_mm,y_mm,z_mm,qx,qy,qz,qw\n"));
}

/// The strip is asked for where it cannot be: told before anything is searched.
#[test]
fn a_film_strip_has_a_name_that_can_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "30", "");
    let film = |name: &str| folder.path().join(name).display().to_string();
    let said = |name: &str| {
        let (code, text, wrong) = run(&path, &["pump", "--film", &film(name)]);
        assert_eq!((code, text.as_str()), (Some(2), ""), "{name}: {wrong}");
        wrong.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    if cfg!(not(feature = "viewer")) {
        assert!(said("film.png").contains("this build has no viewer"));
        return;
    }
    assert!(said("film.jpg").contains("does not end in .png"));
    assert!(said("none/film.png").contains("there is no folder"));
}

/// Strip and playback from the command line: the same way, drawn from the search and from its file.
#[cfg(feature = "viewer")]
#[test]
fn a_way_is_drawn_from_the_search_and_from_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "30", "");
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (code, json, wrong) = run(&path, &["pump", "--format", "json", "--film", &at("film.png")]);
    if wrong.contains("no graphics adapter") {
        return println!("skipped: {wrong}");
    }
    assert_eq!(code, Some(0), "{json}{wrong}");
    assert!(fs::read(at("film.png")).unwrap().starts_with(b"\x89PNG"));
    fs::write(at("way.json"), &json).unwrap();
    let draw = |more: &[&str]| {
        let mut command = Command::cargo_bin("baywright").unwrap();
        let out =
            command.args(["picture", &path, "-o", &at("at.png"), "--size", "400x320"]).args(more).output();
        let out = out.unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        (
            out.status.code(),
            text(out.stdout),
            text(out.stderr).split_whitespace().collect::<Vec<_>>().join(" "),
        )
    };
    let (code, text, wrong) = draw(&["--motion", &at("way.json"), "--at", "40%"]);
    assert_eq!(code, Some(0), "{wrong}");
    assert!(text.contains("a tray, invented: pump, move 1 of 1\n"), "{text}");
    assert!(text.ends_with("\nlower 143 mm\n"), "{text}");
    fs::write(at("none.json"), json.replace("\"answer\": \"way\"", "\"answer\": \"none found\"")).unwrap();
    fs::write(at("cut.json"), &json[..200]).unwrap();
    fs::write(at("moved.json"), json.replace("30.0", "31.0")).unwrap();
    fs::write(at("lost.json"), json.replace("\"body\": \"pump\"", "\"body\": \"pmup\"")).unwrap();
    for (more, said) in [
        (vec!["--motion", "none.json"], "the file has no way: its answer is `none found`"),
        (vec!["--motion", "cut.json"], "EOF while parsing"),
        (vec!["--motion", "moved.json"], "ends 1.0 mm and 0.0 deg from where it is mounted"),
        (vec!["--motion", "lost.json"], "the scene has no body `pmup`"),
        (vec!["--motion", "gone.json"], "could not be read"),
        (vec!["--motion", "way.json", "--at", "140%"], "0% to 100%"),
        (vec!["--motion", "way.json", "--at", "half"], "0% to 100%"),
        (vec!["--at", "40%"], "--motion"),
    ] {
        let named: Vec<String> = more
            .iter()
            .map(|word| if word.ends_with(".json") { at(word) } else { (*word).to_owned() })
            .collect();
        let named: Vec<&str> = named.iter().map(String::as_str).collect();
        let (code, _, wrong) = draw(&named);
        assert_eq!(code, Some(2), "{more:?}: {wrong}");
        assert!(wrong.contains(said), "{more:?}: {wrong}");
    }
}

#[test]
fn a_lid_stops_it_unless_it_comes_off() {
    let folder = tempfile::tempdir().unwrap();
    let walls = "  front-wall: {shape: {box: [10, 300, 120]}, at: [-205, 0, 60]}\n  back-wall: {shape: {box: [10, 300, 120]}, at: [205, 0, 60]}\n";
    let lid = format!("{walls}  lid: {{shape: {{box: [420, 320, 5]}}, at: [0, 0, 123]}}\n");
    let path = scene(folder.path(), "30", &lid);
    // The pump is 40 thick, and half a millimetre is open under the lid: a proof, not a search.
    let (code, text, _) = run(&path, &["pump", "--time", "60s"]);
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("this is proved: a ball of 40.00 mm lies in it"), "{text}");
    let (code, json, _) = run(&path, &["pump", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((code, &json["answer"]), (Some(1), &"impossible".into()));
    // Through a hatch of 50 the ball gets out with the gap kept on both sides, the pump of 60 x 40 x 100 does not.
    let hatch = "{box: [185, 320, 5]}}, at: [-117.5, 0, 0]}, {shape: {box: [185, 320, 5]}, at: [117.5, 0, 0]}, {shape: {box: [50, 135, 5]}, at: [0, -92.5, 0]}, {shape: {box: [50, 135, 5]}, at: [0, 92.5, 0]}";
    let hatched = format!("{walls}  lid: {{shape: {{union: [{{shape: {hatch}]}}, at: [0, 0, 123]}}\n")
        .replace("5]}}, at: [-117", "5]}, at: [-117");
    let path = scene(folder.path(), "30", &hatched);
    let (code, text, _) = run(&path, &["pump", "--time", "1s"]);
    assert_eq!(code, Some(3), "{text}");
    assert!(text.contains("does not prove that there is none") && text.contains("% lid"), "{text}");
    let (code, text, _) = run(&path, &["pump", "--without", "lid"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("`lid` is taken off first"), "{text}");
}

#[test]
fn what_sits_on_its_seat_ends_a_little_off_it_and_what_overlaps_is_impossible() {
    let folder = tempfile::tempdir().unwrap();
    let seated = scene(folder.path(), "20", "\njoined:\n  - {bodies: [pump, floor], by: four bolts}\n");
    let (code, text, _) = run(&seated, &["pump"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("on to floor are not looked at") && text.contains("on to its seat"), "{text}");
    let sunk = scene(folder.path(), "15", "");
    let (code, text, _) = run(&sunk, &["pump"]);
    assert_eq!(code, Some(1), "{text}");
    assert!(
        text.contains("this is proved: the mounted pose is not free: it overlaps or touches `floor`"),
        "{text}"
    );
    // Nearer than the gap, but not touching: what is there is kept, and said.
    let near = scene(folder.path(), "21", "");
    let (code, text, _) = run(&near, &["pump"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("`floor` is 1.0 mm off where the way ends, so 0.9 mm are kept"), "{text}");
}

#[test]
fn a_puzzle_of_two_meshes_is_a_scene_like_any_other() {
    let folder = tempfile::tempdir().unwrap();
    // A bar 20 x 20 through a window of 26 x 26 in a plate: two meshes as OBJ.
    let block = |low: [f64; 3], high: [f64; 3], first: usize, text: &mut String| {
        for i in 0..8 {
            let pick = |axis: usize, bit: usize| if i >> bit & 1 == 0 { low[axis] } else { high[axis] };
            text.push_str(&format!("v {} {} {}\n", pick(0, 0), pick(1, 1), pick(2, 2)));
        }
        for [a, b, c, d] in
            [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]]
        {
            let [a, b, c, d] = [a, b, c, d].map(|i| i + first + 1);
            text.push_str(&format!("f {a} {b} {c}\nf {a} {c} {d}\n"));
        }
    };
    let mut plate = String::new();
    block([-200.0, -200.0, -5.0], [-13.0, 200.0, 5.0], 0, &mut plate);
    block([13.0, -200.0, -5.0], [200.0, 200.0, 5.0], 8, &mut plate);
    block([-13.0, -200.0, -5.0], [13.0, -13.0, 5.0], 16, &mut plate);
    block([-13.0, 13.0, -5.0], [13.0, 200.0, 5.0], 24, &mut plate);
    let mut bar = String::new();
    block([-10.0, -10.0, -60.0], [10.0, 10.0, 60.0], 0, &mut bar);
    fs::write(folder.path().join("plate.obj"), plate).unwrap();
    fs::write(folder.path().join("bar.obj"), bar).unwrap();
    let text = "baywright: 1\ntitle: bar through a window\nunits: mm\nbodies:\n  \
                plate: {shape: {mesh: {file: plate.obj}}}\n  bar: {shape: {mesh: {file: bar.obj}}, candidate: true}\n";
    let path = folder.path().join("scene.yaml");
    fs::write(&path, text).unwrap();
    let path = path.display().to_string();
    let ask = ["bar", "--gap", "1 mm", "--from", "40,0,150,0,90,0", "--seed", "4", "--format", "json"];
    let (code, first, wrong) = run(&path, &ask);
    assert_eq!(code, Some(0), "{first}{wrong}");
    assert_eq!(first, run(&path, &ask).1, "the same seed, another answer");
    let json: serde_json::Value = serde_json::from_str(&first).unwrap();
    assert_eq!(json["answer"], "way");
    assert!(json["poses"].as_array().unwrap().len() >= 3, "{first}");
}

#[test]
fn wrong_input_is_told_with_a_cure() {
    let folder = tempfile::tempdir().unwrap();
    let path = scene(folder.path(), "30", "");
    for (more, said) in [
        (vec!["pmup"], "bodies are: floor, left-wall, right-wall, pump"),
        (vec!["pump", "--without", "bonnet"], "no such body"),
        (vec!["pump", "--without", "pump"], "cannot be taken off before it is worked in"),
        (vec!["pump", "--gap", "-1"], "0 to 1000 mm"),
        (vec!["pump", "--gap", "wide"], "wide"),
        (vec!["pump", "--from", "behind"], "above, below, front, left or right"),
        (vec!["pump", "--from", "1,2"], "X,Y,Z"),
        (vec!["pump", "--time", "soon"], "60s or 2min"),
        (vec!["pump", "--time", "-5s"], "60s or 2min"),
    ] {
        let (code, text, wrong) = run(&path, &more);
        assert_eq!(code, Some(2), "{more:?}: {text}{wrong}");
        assert!(wrong.split_whitespace().collect::<Vec<_>>().join(" ").contains(said), "{more:?}: {wrong}");
    }
}

/// A closed box of thin walls about a long rod, whose ball would leave by a hatch while the rod does not: only time ends
/// such a search.
#[cfg(unix)]
fn closed(folder: &Path) -> String {
    let text = "baywright: 1\ntitle: a covered channel, invented\nunits: mm\nbodies:\n\
         \x20 floor: {shape: {box: [320, 170, 5]}, at: [0, 0, -2.5]}\n\
         \x20 front: {shape: {box: [5, 170, 60]}, at: [-157.5, 0, 30]}\n\
         \x20 rear: {shape: {box: [5, 170, 60]}, at: [157.5, 0, 30]}\n\
         \x20 left: {shape: {box: [320, 5, 60]}, at: [0, -82.5, 30]}\n\
         \x20 right: {shape: {box: [320, 5, 60]}, at: [0, 82.5, 30]}\n\
         \x20 lid-front: {shape: {box: [130, 170, 5]}, at: [-95, 0, 62.5]}\n\
         \x20 lid-rear: {shape: {box: [130, 170, 5]}, at: [95, 0, 62.5]}\n\
         \x20 rod: {shape: {tube: {diameter: 20, wall: 1.5, points: [[-150, 0, 30], [150, 0, 30]], bend_radius: 30}}, candidate: true}\n\
         \x20 tag: {shape: {box: [10, 10, 10]}, at: [0, 0, 90], candidate: true}\n";
    let path = folder.join("closed.yaml");
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

/// Starts the command, presses Ctrl-C so often once it searches, and waits for its end.
#[cfg(unix)]
fn interrupted(arguments: &[&str], times: usize) -> (Option<i32>, String, String) {
    use std::process::{Command, Stdio};
    use std::time::Duration;
    let child = Command::new(assert_cmd::cargo::cargo_bin!("baywright"))
        .args(arguments)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::thread::sleep(Duration::from_millis(1500));
    for _ in 0..times {
        let sent = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
        assert!(sent.success(), "it had ended by itself: {arguments:?}");
        std::thread::sleep(Duration::from_millis(20));
    }
    let out = child.wait_with_output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (out.status.code(), text(out.stdout), text(out.stderr))
}

#[cfg(unix)]
#[test]
fn ctrl_c_ends_a_search_with_the_best_so_far() {
    let folder = tempfile::tempdir().unwrap();
    let path = closed(folder.path());
    let early = "before the search was ended early";
    let (code, text, wrong) = interrupted(&["way-in", &path, "rod", "--time", "10min"], 1);
    assert_eq!(code, Some(3), "{text}{wrong}");
    assert!(wrong.contains("ending the search"), "{wrong}");
    assert!(text.contains(&format!("No way in for `rod` was found {early}")), "{text}");
    assert!(text.contains("Breaks were not looked for: the search was ended early"), "{text}");
    let (code, text, wrong) = interrupted(&["way-in", &path, "rod", "--time", "10min", "--breaks"], 1);
    assert_eq!(code, Some(3), "{text}{wrong}");
    assert!(text.contains(early), "{text}");
    // The tag stands free above: it is told, though nothing is known of the rod.
    let (code, text, wrong) = interrupted(&["order", &path, "--time", "10min"], 1);
    assert_eq!(code, Some(3), "{text}{wrong}");
    assert!(text.contains(&format!("No order was found for all parts {early}")), "{text}");
    assert!(text.contains("1 of 2 are left") && text.contains("`tag`"), "{text}");
}
