//! The command line, as a person at a shell meets it: answers on stdout, the rest on stderr, exit codes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use predicates::prelude::*;

const VAN: &str = "demo-scenes/van/scene.yaml";
const FIRST: &str = "demo-scenes/van/scripts/first-position.rhai";
const SECOND: &str = "demo-scenes/van/scripts/second-position.rhai";

fn baywright() -> Command {
    let mut command = Command::cargo_bin("baywright").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

fn out(command: &mut Command) -> String {
    String::from_utf8(command.output().unwrap().stdout).unwrap()
}

#[test]
fn help_names_every_command_with_an_example() {
    let help = out(baywright().arg("--help"));
    for name in [
        "new",
        "fit",
        "scan",
        "jig",
        "check",
        "try",
        "reach",
        "tight",
        "way-in",
        "order",
        "bend-list",
        "route",
        "template",
        "view",
        "picture",
        "export",
        "pack",
        "unpack",
        "completions",
        "manual",
    ] {
        assert!(help.contains(&format!("\n  {name} ")), "{name} is missing from\n{help}");
        let own = out(baywright().args([name, "--help"]));
        assert!(own.contains("Example: baywright "), "no example in\n{own}");
    }
}

#[test]
fn a_tube_of_the_demo_gets_its_bend_list() {
    let run = |more: &[&str]| {
        let mut command = baywright();
        command.args(["bend-list", VAN, "cold-pipe", "--script", SECOND]).args(more);
        command
    };
    let json: serde_json::Value = serde_json::from_str(&out(&mut run(&["--format", "json"]))).unwrap();
    assert_eq!(json["format"], "baywright-bench/1");
    let tube = &json["tubes"][0];
    let bends = tube["bends"].as_array().unwrap();
    let figure = |value: &serde_json::Value| value.as_f64().unwrap();
    let parts: f64 = bends.iter().map(|bend| figure(&bend["straight_mm"]) + figure(&bend["arc_mm"])).sum();
    assert!((parts + figure(&tube["last_straight_mm"]) - figure(&tube["cut_mm"])).abs() < 1e-9);
    assert!(!bends.is_empty());
    // Text and CSV tell the same straights, the inches within half a division.
    let csv = out(&mut run(&["--format", "csv"]));
    assert_eq!(csv.lines().count(), 2 + bends.len());
    let straight = csv.lines().nth(1).unwrap().split(',').nth(2).unwrap().to_owned();
    assert_eq!(straight, format!("{:.1}", figure(&bends[0]["straight_mm"])));
    let inches = out(&mut run(&["--format", "csv", "--units", "in32"]));
    assert!(inches.starts_with("tube,bend,straight_in,"), "{inches}");
    let text = out(&mut run(&["--bender", "mandrel-rotary", "--jig"]));
    assert!(text.contains("jig touches at") && text.contains("licensed practice"), "{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "wider than 80 columns: {line}");
    }
    run(&[]).assert().code(0);
}

/// The demo's hand-made hot pipe is a ready-made bend: the finder, given its ports, finds one no worse.
#[test]
fn a_route_of_the_demo_is_as_good_as_the_pipe_made_by_hand() {
    let route = |more: &[&str]| {
        let mut command = baywright();
        command.args(["route", VAN, "--script", SECOND, "--instead-of", "hot-pipe", "--stock"]).args(more);
        command
    };
    let told = |command: &mut Command| -> serde_json::Value { serde_json::from_str(&out(command)).unwrap() };
    let by_hand =
        told(baywright().args(["bend-list", VAN, "hot-pipe", "--script", SECOND, "--format", "json"]));
    let found = told(&mut route(&["--format", "json"]));
    assert_eq!(found["format"], "baywright-routes/1");
    let first = &found["routes"][0];
    let hand = &by_hand["tubes"][0];
    assert!(first["bends"].as_array().unwrap().len() <= hand["bends"].as_array().unwrap().len());
    let (length, hand_length) = (&first["length_mm"], &hand["centreline_mm"]);
    assert!(length.as_f64().unwrap() <= hand_length.as_f64().unwrap() + 1e-6, "{length} {hand_length}");
    assert!(first["room_mm"].as_f64().unwrap() > 0.0);
    let text = out(&mut route(&[]));
    for words in ["least room to", "route 1 in full", "licensed practice", "Not looked at"] {
        assert!(text.contains(words), "{words} is missing from\n{text}");
    }
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "wider than 80 columns: {line}");
    }
    let yaml = out(&mut route(&["--format", "yaml", "--name", "new-pipe"]));
    assert!(yaml.contains("new-pipe") && yaml.contains("bend_radius: 63.5"), "{yaml}");
    route(&[]).assert().code(0);
}

/// A route that is saved is a body of a scene that loads and is checked clear.
#[test]
fn a_route_is_saved_as_a_body() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("bay.yaml");
    let text = "baywright: 1\nunits: in\nrules:\n  - {between: [pipe, any], least: 0.5, because: 'room'}\n\
                bodies:\n  post: {shape: {box: [2, 2, 20]}, at: [12, 3, 0]}\n\
                frames:\n  inlet: {at: [0, 0, 0], axis: rearward}\n";
    fs::write(&scene, text).unwrap();
    let saved = folder.path().join("with.yaml");
    let run = |more: &[&str]| {
        let mut command = baywright();
        command
            .arg("route")
            .arg(&scene)
            .args(["--from", "inlet", "--diameter", "2", "--wall", "0.065"])
            .args(more);
        command
    };
    let to = ["--to", "24,8,0 toward forward", "--bender", "mandrel-rotary"];
    run(&to).arg("--save").arg(&saved).args(["--name", "charge"]).assert().code(0);
    let written = fs::read_to_string(&saved).unwrap();
    assert!(written.contains("charge") && written.contains("bent_by"), "{written}");
    baywright().arg("check").arg(&saved).args(["--fail-on", "undecided"]).assert().code(0);
    baywright().arg("bend-list").arg(&saved).args(["charge", "--bender", "mandrel-rotary"]).assert().code(0);
    // Walled in: none found, and the post's wall is named.
    let walled = text.replace("[2, 2, 20]}, at: [12, 3, 0]", "[1, 300, 300]}, at: [12, 3, 0]");
    fs::write(&scene, walled).unwrap();
    run(&to)
        .assert()
        .code(3)
        .stdout(predicate::str::contains("none found").and(predicate::str::contains("`post`")));
}

/// A flow is told for each route and ranks them; a jig's places stand in both frames; what is wrong with a flow is told.
#[test]
fn a_route_says_what_its_flow_costs() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("bay.yaml");
    let text = "baywright: 1\nunits: mm\nbodies:\n  cold-pipe:\n    shape: {tube: {diameter: 50.8, wall: 1.65, points: \
                [[0, 0, 0], [400, 0, 0], [400, 300, 0]], bend_radius: 76.2}}\n    flow: {of: air, kg_per_s: 0.3, \
                temperature: 60, pressure: 250, most_loss: 1}\n";
    fs::write(&scene, text).unwrap();
    let run = |more: &[&str]| {
        let mut command = baywright();
        command
            .arg("route")
            .arg(&scene)
            .args(["--instead-of", "cold-pipe", "--bender", "mandrel-rotary"])
            .args(more);
        command
    };
    let found: serde_json::Value =
        serde_json::from_str(&out(&mut run(&["--rank", "loss", "--jig", "--format", "json"]))).unwrap();
    let losses: Vec<f64> = found["routes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["flow"]["loss_pa"].as_f64().unwrap())
        .collect();
    assert!(losses.len() > 1 && losses.is_sorted(), "{losses:?}");
    assert_eq!(found["routes"][0]["flow"]["kind"], "screening");
    let jig = found["picked"]["tube"]["jig"].as_array().unwrap();
    assert!(jig.len() >= 4 && jig.iter().all(|point| point["normal_in_tube"].is_array()), "{jig:?}");
    let text = out(&mut run(&["--flow", "air, 0.2 kg/s, 60 deg C, 250 kPa"]));
    for words in ["loss kPa", "screening figures", "Fewest bends first"] {
        assert!(text.contains(words), "{words} is missing from\n{text}");
    }
    let yaml = out(&mut run(&["--format", "yaml"]));
    let told =
        "flow: {of: air, kg_per_s: 0.3, temperature: 60, pressure: 250, roughness: 0.02, most_loss: 1}";
    assert!(yaml.contains(told), "{yaml}");
    run(&["--flow", "air, 0.2"])
        .assert()
        .code(2)
        .stderr(predicate::str::contains("neither a fluid nor a figure"));
    // The pipe itself loses too much: the list tells, and the check finds it.
    baywright()
        .arg("bend-list")
        .arg(&scene)
        .arg("cold-pipe")
        .assert()
        .code(0)
        .stdout(predicate::str::contains("flow: 65.4 m/s, Mach 0.18, loses 2.33 kPa"));
    baywright()
        .arg("check")
        .arg(&scene)
        .assert()
        .code(1)
        .stdout(predicate::str::contains("SHORT: `cold-pipe`, bore 47.5 mm"));
}

/// A port on a body's face: the body blocks every way, and what to say is said; said, there is a route, which tells how far off
/// its ports it ends, and one that must be exact needs bends.
#[test]
fn a_route_says_what_its_ports_sit_on_and_how_far_off_it_ends() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("bay.yaml");
    let text = "baywright: 1\nunits: mm\nbodies:\n  turbo: {shape: {box: [100, 100, 100]}, at: [-50, 0, 0]}\n\
                frames:\n  outlet: {at: [0, 0, 0], axis: rearward}\n  inlet: {at: [400, 0.8, 0], axis: forward}\n";
    fs::write(&scene, text).unwrap();
    let run = |more: &[&str]| {
        let mut command = baywright();
        command
            .arg("route")
            .arg(&scene)
            .args(["--from", "outlet", "--to", "inlet", "--diameter", "50.8", "--wall", "1.65", "--stock"])
            .args(more);
        command
    };
    run(&[]).assert().code(3).stdout(
        predicate::str::contains("none found")
            .and(predicate::str::contains("the start port sits on `turbo`"))
            .and(predicate::str::contains("--joined-to turbo")),
    );
    let joined = ["--joined-to", "turbo"];
    let text = out(run(&joined).arg("--format=text"));
    assert!(text.contains("off its port and ends") && text.contains("--fit-up"), "{text}");
    let told = |more: &[&str]| -> serde_json::Value {
        let all = [&joined[..], more, &["--format", "json"]].concat();
        serde_json::from_str(&out(&mut run(&all))).unwrap()
    };
    let found = told(&[]);
    let first = &found["routes"][0];
    assert_eq!(first["bends"].as_array().unwrap().len(), 0);
    // 0.8 mm to the side over 400 mm is 0.115 deg, or offsets, or some of both; never more than 0.5 mm and 0.5 deg.
    for end in first["ends"].as_array().unwrap() {
        let figure = |key: &str| end[key].as_f64().unwrap();
        assert!(figure("offset_mm") <= 0.5 && figure("angle_deg") <= 0.5, "{end}");
        assert!(figure("offset_mm") + figure("angle_deg") > 0.05, "{end}");
    }
    let exact = told(&["--fit-up", "exact"]);
    let first = &exact["routes"][0];
    assert!(first["bends"].as_array().unwrap().len() > 1, "{first}");
    assert!(first["ends"][1]["offset_mm"].as_f64().unwrap() < 1e-6, "{first}");
}

#[test]
fn a_route_of_nothing_is_wrong_input() {
    let wrong = |args: &[&str], words: &str| {
        baywright()
            .args(["route", VAN])
            .args(args)
            .assert()
            .code(2)
            .stdout("")
            .stderr(predicate::str::contains(words));
    };
    let ends = ["--from", "first-turbo-outlet", "--to", "480,260,645 toward down"];
    let with = |more: &[&'static str]| [&ends[..], more].concat();
    wrong(&[], "--from PORT");
    wrong(&["--from", "first-turbo-outlet"], "--to PORT");
    wrong(&ends, "--diameter");
    wrong(&with(&["--diameter", "63.5"]), "what bends the tube");
    wrong(&with(&["--diameter", "63.5", "--bender", "bendy"]), "mandrel-rotary");
    wrong(&with(&["--diameter=-3", "--stock"]), "under zero");
    wrong(&with(&["--diameter", "55", "--bender", "mandrel-rotary"]), "55.00");
    wrong(&with(&["--diameter", "63.5", "--stock", "--role", "hoot"]), "no role is called");
    wrong(&with(&["--diameter", "63.5", "--stock", "--joined-to", "nobody"]), "no body is called");
    wrong(&with(&["--diameter", "63.5", "--stock", "--carried-by", "cart"]), "`engine`");
    wrong(&with(&["--diameter", "63.5", "--stock", "--forbid", "1,2,3"]), "is no box");
    wrong(&with(&["--diameter", "63.5", "--stock", "--fit-up", "5"]), "is no fit-up");
    wrong(&with(&["--diameter", "63.5", "--stock", "--fit-up", "1 mm, 30 deg"]), "within 0 and 20 deg");
    wrong(&with(&["--diameter", "63.5", "--stock", "--wall", "5"]), "have a wall of 1.65 mm");
    wrong(
        &["--from", "outlet", "--to", "0,0,0 toward up", "--diameter", "63.5", "--stock"],
        "first-turbo-outlet",
    );
    wrong(
        &["--from", "1,2 toward up", "--to", "0,0,0 toward up", "--diameter", "63.5", "--stock"],
        "has 2 parts",
    );
    wrong(
        &["--from", "1,2,3 toward 0,0,0", "--to", "0,0,0 toward up", "--diameter", "63.5", "--stock"],
        "no direction",
    );
    wrong(&["--instead-of", "engine-block", "--stock"], "is not one tube");
}

#[test]
fn a_bend_list_of_nothing_is_wrong_input() {
    let stderr = |words: &'static str| predicate::str::contains(words);
    let wrong = |args: &[&str], words| {
        baywright().arg("bend-list").args(args).assert().code(2).stdout("").stderr(stderr(words));
    };
    wrong(&[VAN, "no-such-body"], "no body is called");
    wrong(&[VAN, "cold-pipe", "--script", SECOND, "--bender", "bendy"], "mandrel-rotary");
    wrong(&[VAN, "cold-pipe", "--script", SECOND, "--start-extra", "-3"], "under zero");
    wrong(&[VAN, "cold-pipe", "--script", SECOND, "--end-extra", "some"], "is not a number");
}

/// A ball of radius 20, its middle 23 over a plate, under a rule of 5: a disc of radius sqrt(25^2 - 23^2) is tight.
#[test]
fn what_is_tight_is_listed_with_its_area() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("scene.yaml");
    let text = "baywright: 1
rules: [{between: [any, any], least: 5, because: 'nothing may chafe'}]
bodies:
  plate: {shape: {box: [200, 200, 4]}}
  ball: {shape: {sphere: {radius: 20}}, at: [300, 0, 0], role: hose}
";
    let near = text.replace("[300, 0, 0]", "[10, 0, 25]");
    let run = |text: &str, more: &[&str]| {
        fs::write(&scene, text).unwrap();
        baywright().arg("tight").arg(&scene).args(more).assert()
    };
    run(text, &["plate"]).code(0).stdout(predicate::str::contains("has the room"));
    let told = run(&near, &["plate", "--format", "json", "--resolution", "0.5"]).code(1);
    let json: serde_json::Value = serde_json::from_slice(&told.get_output().stdout).unwrap();
    let stretch = &json["tight"][0]["stretches"][0];
    let figure = |key: &str| stretch[key].as_f64().unwrap();
    let disc = std::f64::consts::PI * (25.0f64.powi(2) - 23.0f64.powi(2));
    assert!((figure("area_mm2") - disc).abs() <= figure("doubtful_mm2"), "{stretch}");
    assert!(figure("doubtful_mm2") < 0.3 * disc && (figure("least_mm") - 3.0).abs() < 0.1, "{stretch}");
    assert!((stretch["at_mm"][0].as_f64().unwrap() - 10.0).abs() < 2.0, "{stretch}");
    run(&near, &["plate"]).code(1).stdout(predicate::str::contains("Against `ball`: less than 5"));
    let csv = run(&near, &["plate", "--format", "csv"]).code(1);
    assert!(String::from_utf8_lossy(&csv.get_output().stdout).lines().count() > 20);
    run(&near, &["plat"]).code(2).stderr(predicate::str::contains("bodies here are `plate`, `ball`"));
    run(&near, &["plate", "--resolution", "0"]).code(2).stderr(predicate::str::contains("under 0.01 mm"));
}

#[test]
fn a_tube_too_tight_for_its_bender_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let scene = folder.path().join("scene.yaml");
    let tube =
        "{diameter: 63.5, wall: 1.65, spoken: '6 in straight, 90 at 2 in CLR, turn up, 6 in straight'}";
    fs::write(&scene, format!("baywright: 1\nbodies:\n  pipe: {{shape: {{tube: {tube}}}}}\n")).unwrap();
    let run = |more: &[&str]| baywright().arg("bend-list").arg(&scene).arg("pipe").args(more).assert();
    run(&[]).code(0);
    let found = run(&["--bender", "mandrel-rotary"]).code(1);
    found.stdout(predicate::str::contains("bend it to a radius of 95.25 mm"));
    fs::write(&scene, "baywright: 1\nbodies:\n  block: {shape: {box: [1, 2, 3]}}\n").unwrap();
    let other = baywright().arg("bend-list").arg(&scene).arg("block").assert().code(2);
    other.stderr(predicate::str::contains("is not a tube"));
}

#[test]
fn templates_are_written_whole_and_say_their_ordinates() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str], file: &str| {
        let path = folder.path().join(file);
        let done = baywright().arg("template").args(args).arg("-o").arg(&path).assert();
        (done, path)
    };
    // 60.3 on 48.3 mm at 60 deg: 48.76 mm at 0 (closed form, as in the tests of the library).
    let saddle = ["saddle", "--header", "60.3", "--branch", "48.3", "--angle", "60"];
    let (done, path) = run(&saddle, "saddle.pdf");
    done.code(0).stdout(predicate::str::contains("48.76").and(predicate::str::contains("18.10")));
    assert!(fs::read(path).unwrap().starts_with(b"%PDF-1.4"));
    let (done, path) =
        run(&["hole", "--header", "3 in", "--branch", "2 in", "--offset", "-1/4 in"], "hole.svg");
    done.code(0);
    assert!(fs::read_to_string(path).unwrap().contains("check-square"));
    let pie = ["pie-cut", "--tube", "76.2", "--bend-radius", "114.3", "--joints", "4"];
    run(&pie, "pie.svg").0.code(0).stdout(predicate::str::contains("The short side is 30.31 mm"));
    run(&["mitre", "--tube", "76.2", "--cut", "22.5"], "mitre.pdf").0.code(0);
    let (done, path) = run(&["saddle", "--header", "40", "--branch", "50"], "no.pdf");
    done.code(2).stdout("").stderr(predicate::str::contains("branch of up to 40.000 mm"));
    assert!(!path.exists());
    run(&saddle, "saddle.docx").0.code(2).stderr(predicate::str::contains(".svg nor .pdf"));
    run(&["mitre", "--tube", "76.2", "--cut", "80"], "steep.pdf").0.code(2);
    run(&["mitre", "--tube", "wide", "--cut", "10"], "wide.pdf").0.code(2);
}

#[test]
fn a_missing_scene_is_wrong_input() {
    let stderr = predicate::str::contains("nowhere.yaml");
    baywright().args(["check", "nowhere.yaml"]).assert().code(2).stdout("").stderr(stderr);
}

#[test]
fn a_wrong_option_is_wrong_input() {
    baywright().args(["check", VAN, "--fail-on", "soon"]).assert().code(2).stdout("");
}

#[test]
fn a_new_scene_loads_and_is_not_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let bay = folder.path().join("my-bay");
    baywright().arg("new").arg(&bay).assert().code(0);
    let scene = bay.join("scene.yaml");
    let before = fs::read(&scene).unwrap();
    baywright().arg("check").arg(&scene).assert().code(0);
    baywright().arg("fit").arg(&scene).assert().code(0);
    baywright().arg("new").arg(&bay).assert().code(2).stderr(predicate::str::contains("there already"));
    assert_eq!(fs::read(&scene).unwrap(), before);
}

#[test]
fn the_first_position_fails_for_different_reasons_and_the_second_passes() {
    let found = out(baywright().args(["try", VAN, FIRST, "--format", "json"]));
    let json: serde_json::Value = serde_json::from_str(&found).unwrap();
    assert_eq!(json["format"], "baywright-findings/1");
    let findings = json["findings"].as_array().unwrap();
    let bad: Vec<&serde_json::Value> =
        findings.iter().filter(|f| f["verdict"] == "touching" || f["verdict"] == "short").collect();
    let rules: std::collections::BTreeSet<&str> = bad.iter().map(|f| f["rule"].as_str().unwrap()).collect();
    assert!(rules.len() >= 3, "only these rules are broken: {rules:?}");
    // One of them is clear at rest: only the movement shows it.
    let only_moving = |f: &&serde_json::Value| {
        f["code"] == "room"
            && f["at_rest_mm"].as_f64().is_some_and(|gap| gap > f["required_mm"].as_f64().unwrap())
    };
    assert!(bad.iter().any(only_moving), "nothing is short through movement alone:\n{found}");
    baywright().args(["try", VAN, FIRST]).assert().code(1);
    baywright().args(["try", VAN, SECOND, "--fail-on", "undecided"]).assert().code(0);
    baywright().args(["check", VAN]).assert().code(0);
}

#[test]
fn the_report_fits_eighty_columns() {
    for args in [vec!["try", VAN, FIRST], vec!["fit", VAN], vec!["reach", VAN, "--script", FIRST]] {
        let text = out(baywright().args(&args));
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{args:?} is wider than 80 columns: {line}");
        }
        assert!(text.lines().count() > 10, "{args:?} says little:\n{text}");
    }
}

#[test]
fn access_before_and_after_stands_side_by_side() {
    let text = out(baywright().args(["reach", VAN, "--script", FIRST]));
    assert!(text.contains("worse"), "{text}");
    assert!(text.contains("as before"), "{text}");
    baywright().args(["reach", VAN]).assert().code(0);
    baywright().args(["reach", VAN, "--script", FIRST]).assert().code(1);
}

fn try_first(folder: &Path) -> Vec<u8> {
    let mut command = Command::cargo_bin("baywright").unwrap();
    let args = ["try", "scene.yaml", "scripts/first-position.rhai", "--format", "json"];
    command.current_dir(folder).args(args).output().unwrap().stdout
}

#[test]
fn a_shared_scene_gives_the_same_findings_byte_for_byte() {
    let folder = tempfile::tempdir().unwrap();
    let (archive, theirs) = (folder.path().join("van.zip"), folder.path().join("theirs"));
    baywright().args(["pack", VAN, "-o"]).arg(&archive).assert().code(0);
    let first = fs::read(&archive).unwrap();
    baywright().args(["pack", VAN, "-o"]).arg(&archive).assert().code(0);
    assert_eq!(fs::read(&archive).unwrap(), first, "packing twice gives different bytes");
    baywright().arg("unpack").arg(&archive).arg("-d").arg(&theirs).assert().code(0);
    let ours = try_first(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-scenes/van"));
    assert!(!ours.is_empty());
    assert_eq!(try_first(&theirs), ours);
    baywright().arg("unpack").arg(&archive).arg("-d").arg(&theirs).assert().code(2);
}

#[test]
fn what_a_script_placed_can_be_saved_and_checked_again() {
    let folder = tempfile::tempdir().unwrap();
    let theirs = folder.path().join("van");
    let archive = folder.path().join("van.zip");
    baywright().args(["pack", VAN, "-o"]).arg(&archive).assert().code(0);
    baywright().arg("unpack").arg(&archive).arg("-d").arg(&theirs).assert().code(0);
    let run = |args: &[&str]| {
        let mut command = Command::cargo_bin("baywright").unwrap();
        command.current_dir(&theirs).args(args);
        command
    };
    let tried = run(&[
        "try",
        "scene.yaml",
        "scripts/second-position.rhai",
        "--save",
        "fitted.yaml",
        "--format",
        "json",
    ])
    .output()
    .unwrap();
    assert_eq!(tried.status.code(), Some(0), "{}", String::from_utf8_lossy(&tried.stderr));
    let saved = fs::read_to_string(theirs.join("fitted.yaml")).unwrap();
    assert!(saved.contains("second-turbo:"), "{saved}");
    let original = fs::read_to_string(theirs.join("scene.yaml")).unwrap();
    for line in original.lines().filter(|line| line.trim_start().starts_with('#')) {
        assert!(saved.contains(line), "the comment is lost: {line}");
    }
    let again = run(&["check", "fitted.yaml", "--format", "json"]).output().unwrap();
    let worst = |bytes: &[u8]| {
        let json: serde_json::Value = serde_json::from_slice(bytes).unwrap();
        (json["worst"].clone(), json["bodies"].clone())
    };
    assert_eq!(worst(&again.stdout), worst(&tried.stdout));
}

#[test]
fn a_wrong_script_is_told_with_its_line() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("wrong.rhai");
    fs::write(&script, "let a = 1;\nplace(\"x\", bocks(1, 2, 3), at(0, 0, 0), #{});\n").unwrap();
    let stderr = predicate::str::contains("wrong.rhai:2:").and(predicate::str::contains("bocks"));
    baywright().args(["try", VAN]).arg(&script).assert().code(2).stdout("").stderr(stderr);
}

#[test]
fn completions_and_manual_are_written() {
    for shell in ["bash", "zsh", "fish"] {
        assert!(out(baywright().args(["completions", shell])).contains("baywright"), "{shell}");
    }
    assert!(out(baywright().arg("manual")).starts_with(".ie"));
    assert!(out(baywright().args(["manual", "check"])).contains("check"));
    baywright().args(["manual", "cheek"]).assert().code(2).stderr(predicate::str::contains("check"));
}

/// A plate, a pipe and a ball, a point a millimetre or two, as text in metres.
fn small_scan() -> String {
    let mut text = String::from("x,y,z\n");
    let mut say = |x: f64, y: f64, z: f64| text += &format!("{:.6},{:.6},{:.6}\n", x / 1e3, y / 1e3, z / 1e3);
    for k in 0..22_500 {
        say(f64::from(k % 150) * 2.0, f64::from(k / 150) * 2.0, 0.0);
    }
    for k in 0..20_000 {
        let angle = f64::from(k % 100) / 100.0 * std::f64::consts::TAU;
        say(50.0 + f64::from(k / 100), 150.0 + 30.0 * angle.cos(), 120.0 + 30.0 * angle.sin());
    }
    for k in 0..8000 {
        // Evenly over a ball: the golden angle.
        let z = 1.0 - (f64::from(k) + 0.5) / 4000.0;
        let (r, angle) = ((1.0 - z * z).sqrt(), f64::from(k) * 2.399_963_229_728_653);
        say(400.0 + 50.0 * r * angle.cos(), 100.0 + 50.0 * r * angle.sin(), 100.0 + 50.0 * z);
    }
    text
}

#[test]
fn a_scan_without_a_unit_is_looked_at_and_nothing_is_done() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bay.csv");
    fs::write(&file, small_scan()).unwrap();
    let told = baywright()
        .arg("scan")
        .arg(&file)
        .arg("--out")
        .arg(folder.path().join("out"))
        .assert()
        .code(2)
        .stdout("");
    let told = String::from_utf8(told.get_output().stderr.clone()).unwrap();
    assert!(told.contains("50500 points") && told.contains("--units m`"), "{told}");
    assert!(!folder.path().join("out").exists());
}

#[test]
fn a_scan_becomes_bodies_that_a_scene_takes() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bay.csv");
    fs::write(&file, small_scan()).unwrap();
    let out_folder = folder.path().join("out");
    let asked = |more: &[&str]| {
        let mut command = baywright();
        command.arg("scan").arg(&file).args(["--units", "m", "--cell", "2", "--tolerance", "0.3"]).args(more);
        command.assert().code(0).get_output().stdout.clone()
    };
    let json: serde_json::Value = serde_json::from_slice(&asked(&["--format", "json"])).unwrap();
    assert_eq!(json["format"], "baywright-scan/1");
    let features = json["features"].as_array().unwrap();
    let mut found: Vec<(&str, f64)> = features
        .iter()
        .map(|f| (f["kind"].as_str().unwrap(), f["radius_mm"].as_f64().unwrap_or_default()))
        .collect();
    found.sort_by(|a, b| a.0.cmp(b.0));
    let near = |have: f64, want: f64| (have - want).abs() < 0.2;
    assert!(
        matches!(found[..], [("cylinder", pipe), ("plane", _), ("sphere", ball)] if near(pipe, 30.0) && near(ball, 50.0)),
        "{found:?}"
    );
    asked(&["--out", out_folder.to_str().unwrap()]);
    let yaml = fs::read_to_string(out_folder.join("features.yaml")).unwrap();
    let bodies: String = yaml.lines().map(|line| format!("  {line}\n")).collect();
    let scene = format!("baywright: 1\ntitle: made from a scan\nunits: mm\nbodies:\n{bodies}");
    fs::write(out_folder.join("scene.yaml"), scene).unwrap();
    let report = out(baywright().arg("check").arg(out_folder.join("scene.yaml")).args(["--format", "json"]));
    let report: serde_json::Value = serde_json::from_str(&report).unwrap_or_default();
    assert_eq!(report["format"], "baywright-findings/1", "{yaml}");
    assert!(asked(&[]) == asked(&[]), "same input, same bytes");
}

#[test]
fn a_spoilt_scan_is_wrong_input() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bay.xyz");
    fs::write(&file, "1,5;2,5;3,5\n").unwrap();
    let stderr = predicate::str::contains("decimals with points");
    baywright().arg("scan").arg(&file).args(["--units", "mm"]).assert().code(2).stdout("").stderr(stderr);
}
