//! What a script does to its copy of the scene, and what it reads back.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::script_support;

use baywright::scene::{Joined, RuleSide, Scene, Span};
use baywright::script::{Deed, ScriptOptions, ScriptRun, When, run_script};
use baywright::solid::Shape;
use baywright::space::LengthUnit;
use nalgebra::{Point3, Vector3};
use script_support::{BoxAsker, bay, printed, refused, run, run_with};

fn ran(source: &str) -> ScriptRun {
    run(source).unwrap_or_else(|errors| panic!("{errors}\n{source}"))
}

fn close(got: &Point3<f64>, want: [f64; 3]) -> bool {
    (got - Point3::from(want)).norm() < 1e-9
}

#[test]
fn a_candidate_has_all_that_it_was_placed_with() {
    let run = ran(r#"
        let face = scene.frame("bracket-face");
        place("second-turbo", cylinder(150, 90), face.raised("1 in"), #{
            role: ["hot", "turbo"], material: "cast-iron", wrap: 6, coating: "0.2 mm",
            joined_to: ["turbo-bracket", "engine-block"], by: "four M10 studs",
            sigma: 1.5, sigma_turn: deg(0.5)
        });
    "#);
    let turbo = run.scene.body("second-turbo").unwrap();
    assert!(turbo.candidate && !turbo.kept);
    assert_eq!(turbo.roles, ["hot", "turbo"]);
    assert_eq!(turbo.material.as_deref(), Some("cast-iron"));
    assert!((turbo.cover.mm() - 6.2).abs() < 1e-12, "6 of wrap and 0.2 of coating");
    assert_eq!(run.scene.carriers[turbo.carrier].name, "engine", "the frame's carrier");
    // The face looks right (+y): a stand-off of 1 in is 25.4 mm along it.
    assert!(close(&(turbo.world_from_body * Point3::origin()), [100.0, 285.4, 640.0]));
    let covariance = &turbo.placement.covariance;
    assert!((covariance[(0, 0)] - 2.25).abs() < 1e-12, "1.5 squared");
    assert!((covariance[(5, 5)] - 0.5f64.to_radians().powi(2)).abs() < 1e-15);
    assert_eq!(turbo.span, Span { file: "try.rhai".to_owned(), line: 3, column: 9 });
    let joined: Vec<(&str, &str, &str)> = run
        .joined
        .iter()
        .map(|joint| (joint.one.as_str(), joint.other.as_str(), joint.by.as_str()))
        .collect();
    assert_eq!(
        joined,
        [
            ("second-turbo", "turbo-bracket", "four M10 studs"),
            ("second-turbo", "engine-block", "four M10 studs")
        ]
    );
    assert_eq!(run.scene.joined.len(), 3, "the scene's own joint stays");
    assert_eq!(run.changes.len(), 1);
    assert_eq!((run.changes[0].body.as_str(), &run.changes[0].deed), ("second-turbo", &Deed::Added));
}

#[test]
fn a_body_belongs_to_the_line_that_placed_it() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("pegs.rhai"),
        "fn peg(x) {\n    place(\"peg\", ball(5), at(x, 0, 0));\n}\n",
    )
    .unwrap();
    let source = r#"import "house/tank" as tank;
import "pegs" as pegs;
fn pin() {
    place("pin", ball(4), at(0, 0, 0));
}
pin();
pegs::peg(50);
tank::against("firewall", forward, #{name: "tank"});"#;
    let options = ScriptOptions { folder: Some(folder.path().to_owned()), ..ScriptOptions::default() };
    let run = run_with(source, &options).unwrap();
    for (name, file, line, column) in [
        ("pin", "try.rhai", 4, 5),
        ("peg", "pegs.rhai", 2, 5),
        // A house script places it, the user's line is to answer for it.
        ("tank", "try.rhai", 8, 7),
    ] {
        let span = &run.scene.body(name).unwrap().span;
        assert_eq!((span.file.as_str(), span.line, span.column), (file, line, column), "{name}");
    }
}

#[test]
fn the_scene_that_was_handed_over_stays_as_it_was() {
    let scene = bay();
    let before = format!("{scene:?}");
    let source = "remove_body(\"firewall\"); rename_body(\"filler\", \"neck\"); note(\"x\"); throw 1;";
    assert!(run_script(source, "try.rhai", &scene, &BoxAsker, &ScriptOptions::default()).is_err());
    assert_eq!(format!("{scene:?}"), before);
}

#[test]
fn only_what_ends_otherwise_than_it_began_is_a_change() {
    let run = ran(r#"
        place("peg", ball(5), at(0, 0, 0));
        remove_body("peg");
        let battery = scene.body("battery-left");
        let home = battery.pose;
        move_body(battery, battery.at + up * 30);
        move_body(battery, home);
    "#);
    assert!(run.changes.is_empty(), "{:?}", run.changes);
    assert_eq!(run.scene.bodies.len(), bay().bodies.len());
}

#[test]
fn a_kept_body_that_is_disturbed_is_told() {
    let run = ran(r#"
        let battery = scene.body("battery-left");
        move_body(battery, battery.pose.moved(up, 30).turned(up, 90));
        remove_body("filler");
        rename_body("firewall", "front-wall");
        move_body("turbo-bracket", at(0, 0, 0));
    "#);
    let told: Vec<(&str, &str, usize)> = run
        .kept_disturbed()
        .map(|change| (change.body.as_str(), change.deed.word(), change.span.line))
        .collect();
    assert_eq!(
        told,
        [("front-wall", "renamed", 5), ("battery-left", "moved", 3), ("filler", "removed", 4)],
        "in the scene's order; the bracket is not kept"
    );
    assert_eq!(run.changes.len(), 4);
    let battery = run.scene.body("battery-left").unwrap();
    assert!(close(&(battery.world_from_body * Point3::origin()), [300.0, -520.0, 730.0]));
    // Sigmas 1, 2, 3 along x, y, z: after a quarter turn about z those of x and y have changed places.
    let covariance = &battery.placement.covariance;
    for (axis, want) in [(0, 4.0), (1, 1.0), (2, 9.0)] {
        assert!((covariance[(axis, axis)] - want).abs() < 1e-9, "axis {axis}: {covariance}");
    }
    assert!(close(&battery.placement.about, [300.0, -520.0, 730.0]));
    assert_eq!(battery.placement.source, None, "it no longer stands where it was measured");
    assert!(!battery.candidate, "moved, not placed");
}

#[test]
fn what_names_a_body_follows_it() {
    let run = ran(r#"rename_body("battery-left", "battery-one"); rename_body("engine-block", "block");"#);
    assert_eq!(run.scene.rules[0].one, RuleSide::Body("battery-one".to_owned()));
    assert_eq!(run.scene.rules[0].other, RuleSide::Role("hot".to_owned()), "a role is no body");
    assert_eq!(run.scene.service[0].body, "battery-one");
    assert_eq!(run.scene.joined[0].other, "block");
    let run = ran(r#"remove_body("battery-left"); remove_body("engine-block");"#);
    assert!(run.scene.service.is_empty() && run.scene.joined.is_empty());
    let removed = run.changes.iter().find(|change| change.body == "battery-left").unwrap();
    assert_eq!(removed.deed, Deed::Removed { service: vec!["battery-left-out".to_owned()] });
}

#[test]
fn gaps_are_read_back_and_remembered() {
    let run = ran(r#"
        // Block: y from -200 to 200. Battery: y from -607.5 to -432.5. Its neighbour is 232.5 away.
        print(gap("battery-left", "engine-block"));
        print(gap_over("battery-left", scene.body("engine-block")));
        place("pump", box(60, 60, 60), at(300, -300, 700), #{wrap: 6});
        print(gap("pump", "battery-left"));
        let near = nearest_places("pump", "battery-left");
        print(near.gap);
        print(near.on_second.y);
        try { gap("filler", "pump") } catch (why) { print("caught: " + why); }
    "#);
    assert_eq!(run.printed[..5], ["232.5", "225.5", "96.5", "96.5", "-432.5"]);
    assert_eq!(
        run.printed[5],
        "caught: the gap between `filler` and `pump` is not known: `filler` is no box"
    );
    assert_eq!(run.asked.len(), 5);
    assert_eq!((run.asked[1].when, run.asked[1].span.line), (When::OverMovement, 4));
    assert!((run.asked[2].answer.as_ref().unwrap().gap.mm() - 96.5).abs() < 1e-9, "102.5 less 6 of wrap");
    assert!(run.asked[4].answer.is_err());
}

#[test]
fn bare_numbers_are_in_the_scenes_units_both_ways() {
    let options = ScriptOptions { units: LengthUnit::Inch, ..ScriptOptions::default() };
    let run = run_with(
        r#"
        place("pump", box(2, "50.8 mm", mm(50.8)), at(1, 0, 0) + up * 0.5);
        let pump = scene.body("pump");
        print(pump.bounds.size);
        print(pump.at.x);
        print(length("76.2 mm"));
        print(inches(3));
        print(distance(at(0, 0, 0), at(3, 4, 0)));
    "#,
        &options,
    )
    .unwrap();
    assert_eq!(run.printed, ["at(2, 2, 2)", "1.0", "3.0", "3.0", "5.0"]);
    let pump = run.scene.body("pump").unwrap();
    let Shape::Block(block) = &*pump.shape else { panic!("{:?}", pump.shape) };
    assert!((block.size_mm - Vector3::repeat(50.8)).norm() < 1e-12);
    assert!(run.yaml_fragments()[0].yaml.contains("shape: {box: [2, 2, 2]}\n  at: [1, 0, 0.5]\n"));
}

#[test]
fn numbers_divide_as_in_the_shop() {
    for (written, want) in [
        ("5 / 2", "2.5"),
        ("6 / 2", "3"),
        ("-7 / 2", "-3.5"),
        ("1 / 8 * 25.4", "3.175"),
        ("[10, 20, 30][4 / 2]", "30"),
        ("{ let x = 9; x /= 2; x }", "4.5"),
        ("{ let x = 9.0; x /= 2; x }", "4.5"),
        ("7 % 4", "3"),
    ] {
        assert_eq!(printed(&format!("print({written});")), [want], "{written}");
    }
    assert!(refused("print(1 / 0);").contains("division by zero"));
}

/// Right-handed turns in closed form: about z, x goes to (cos, sin, 0); about x, y goes to (0, cos, sin).
#[test]
fn poses_turn_right_handed_about_the_vehicles_axes_and_their_own() {
    for (case, written, want) in [
        ("x of a pose turned 30 about up", "pose().turned(up, deg(30)).x_dir", "dir(0.866025, 0.5, 0)"),
        ("y of a pose turned 90 about rearward", "pose().turned(rearward, 90).y_dir", "up"),
        ("where it stands it stays", "pose(at(1, 2, 3)).turned(up, 90).at", "at(1, 2, 3)"),
        ("vehicle axes, turned already", "pose().turned(up, 90).turned(rearward, 90).y_dir", "forward"),
        ("own axes, turned already", "pose().turned(up, 90).turned_own(\"x\", 90).y_dir", "up"),
        ("clocking", "pose().turned(rearward, 90).spun(90).x_dir", "up"),
        ("shifted along its own x", "pose().turned(up, 90).shifted(5, 0, 0).at", "at(0, 5, 0)"),
        ("raised along its own z", "pose().turned(right, 90).raised(7).at", "at(7, 0, 0)"),
        ("moved along the vehicle's", "pose().turned(up, 90).moved(rearward, 5).at", "at(5, 0, 0)"),
        ("a point moves too", "at(1, 1, 1).moved(left, \"1 in\")", "at(1, -24.4, 1)"),
        ("aimed", "pose().aimed(dir(0, 1, 0)).z_dir", "right"),
        ("aimed straight back", "pose().aimed(down).z_dir", "down"),
        ("one after the other", "pose(at(10, 0, 0)).turned(up, 90).then(at(1, 0, 0)).at", "at(10, 1, 0)"),
        ("a point of its own", "pose(at(10, 0, 0)).turned(up, 90).point(0, 1, 0)", "at(9, 0, 0)"),
        ("a quarter turn", "pose().turned(up, \"1/4 turn\").x_dir", "right"),
        ("steps", "at(1, 2, 3) + (up - down) * 2", "fails"),
        ("a difference is a step", "(at(4, 6, 3) - at(1, 2, 3)).far", "5.0"),
        ("midway", "midway(at(0, 0, 0), at(2, 4, 6))", "at(1, 2, 3)"),
        ("angles add", "deg(30) + deg(15) * 2", "60 deg"),
        ("the sine of 30 deg is a half", "deg(30).sin", "0.49999999999999994"),
    ] {
        if want == "fails" {
            assert!(refused(&format!("print({written});")).contains("does not go with"), "{case}");
        } else {
            assert_eq!(printed(&format!("print({written});")), [want], "{case}");
        }
    }
}

#[test]
fn the_same_script_gives_the_same_run() {
    let source = r#"
        import "house/turbo" as turbo;
        let m = #{b: 1, a: 2, c: |x| x + 1};
        for i in 0..20 { turbo::place_on(scene.frame("bracket-face"), i * 3, #{name: "turbo " + i, wrap: i}); }
        print(m.keys()); print(scene.bodies.map(|body| body.name));
        print(gap("battery-left", "engine-block"));
    "#;
    let runs: Vec<String> = (0..3).map(|_| format!("{:?}", ran(source))).collect();
    assert!(runs[0] == runs[1] && runs[1] == runs[2]);
}

#[test]
fn printed_lines_are_kept_up_to_a_number_and_counted_beyond() {
    let options = ScriptOptions { printed_lines: 3, ..ScriptOptions::default() };
    let run = run_with("for i in 0..10 { print(i); } debug(at(1, 2, 3));", &options).unwrap();
    assert_eq!(run.printed, ["0", "1", "2"]);
    assert_eq!(run.printed_dropped, 8);
    assert_eq!(printed("\ndebug(up);"), ["try.rhai:2: up"]);
    let errors = run_with("print(\"before\"); throw 1;", &options).unwrap_err();
    assert_eq!(errors.printed, ["before"]);
}

#[test]
fn notes_bear_the_author_and_the_date_that_the_run_is_given() {
    let options = ScriptOptions {
        author: Some("bench 2".to_owned()),
        date: Some("2026-03-14".to_owned()),
        ..ScriptOptions::default()
    };
    let run = run_with("note(\"tank: moved 20 up\");", &options).unwrap();
    assert_eq!(run.scene.notes, run.notes);
    assert_eq!(
        run.yaml_fragments()[0].yaml,
        "- {author: bench 2, date: 2026-03-14, text: \"tank: moved 20 up\"}\n"
    );
    let undated = ran("note(\"x\");");
    assert_eq!(undated.notes[0].author, "script try.rhai");
    assert!(undated.yaml_fragments()[0].unwritable.as_deref().unwrap().contains("a note needs a date"));
}

#[test]
fn joins_are_declared_between_any_two_bodies() {
    let run = ran("join(\"battery-left\", \"firewall\", \"strap\");");
    let span = Span { file: "try.rhai".to_owned(), line: 1, column: 1 };
    let strap = Joined {
        one: "battery-left".to_owned(),
        other: "firewall".to_owned(),
        by: "strap".to_owned(),
        joint: None,
        span,
    };
    assert_eq!(run.joined, [strap]);
    assert!(refused("join(\"firewall\", \"firewall\", \"glue\");").contains("joined to itself"));
}

#[test]
fn a_script_sees_the_scene() {
    let lines = printed(
        r#"
        print(scene.title);
        print(scene.frames);
        print(scene.carriers);
        print(scene.bodies_of_role("battery"));
        print(scene.has_body("x"));
        let battery = scene.body("battery-left");
        print([battery.kept, battery.candidate, battery.roles, battery.carried_by, battery.cover, battery.material]);
        print(battery.top - battery.bottom);
        print(battery.bounds.middle);
        print(scene.body("turbo-bracket").face(right));
        print(battery.shape.litres);
        print(battery.face(up).carried_by + scene.body("engine-block").face(up).carried_by);
    "#,
    );
    insta::assert_snapshot!(lines.join("\n"), @r#"
    invented van
    ["bracket-face"]
    ["chassis", "engine"]
    [body battery-left]
    false
    [true, false, ["battery"], "chassis", 0.0, ""]
    190.0
    at(300, -520, 700)
    pose(at(100, 260, 640)) turned x -90, y -90, z 0 deg
    8.0465
    chassisengine
    "#);
}

#[test]
fn scripts_beside_the_scene_can_be_imported_and_none_outside() {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("job");
    std::fs::create_dir_all(folder.join("parts")).unwrap();
    std::fs::write(outer.path().join("secret.rhai"), "fn told() { 1 }").unwrap();
    std::fs::write(folder.join("parts/peg.rhai"), "export const SIZE = 8;\nfn put_up(x) { place(\"peg\", ball(SIZE_OF()), at(x, 0, 0)) }\nfn SIZE_OF() { 8 }").unwrap();
    let options = ScriptOptions { folder: Some(folder.clone()), ..ScriptOptions::default() };
    let run = run_with("import \"parts/peg\" as peg; peg::put_up(20); print(peg::SIZE);", &options).unwrap();
    assert_eq!(run.printed, ["8"]);
    assert!(run.scene.body("peg").is_some());
    for path in ["../secret", "parts/../../secret", "/etc/hosts", "parts\\peg", "parts", "peg.yaml"] {
        let source = format!("import {path:?} as x;");
        let errors = run_with(&source, &options).unwrap_err();
        assert_eq!(errors.list[0].code, "script::import", "{path}: {errors}");
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(outer.path().join("secret.rhai"), folder.join("link.rhai")).unwrap();
        let errors = run_with("import \"link\" as x;", &options).unwrap_err();
        assert!(errors.to_string().contains("a link out of the scene's folder"), "{errors}");
    }
    let errors = script_support::run("import \"parts/peg\" as peg;").unwrap_err();
    assert!(errors.to_string().contains("has no folder"), "{errors}");
}

/// Anything that reads YAML reads the fragments; here a general YAML reader, as JSON.
#[test]
fn fragments_are_yaml_that_says_what_the_scene_holds() {
    let mut scene: Scene = bay();
    let firewall = scene.bodies.iter_mut().find(|body| body.name == "firewall").unwrap();
    firewall.fit = Some(baywright::scene::FitEvidence {
        kind: "plane".to_owned(),
        survey: "stand".to_owned(),
        residuals: Vec::new(),
        rms_mm: None,
        spare: 0,
        left_out: Vec::new(),
        remarks: Vec::new(),
    });
    let source = r#"
        rename_body("filler", "neck");
        move_body("neck", at(-300, 500, 910));
        move_body("firewall", scene.body("firewall").pose.moved(rearward, 5));
        remove_body("battery-left");
        place("the pipe: hot", tube(63.5, [[0, 0, 0], [200, 0, 0], [200, 150, 0]], 95, 1.65), pose(at(0, 0, 0)).turned(right, 90));
    "#;
    // A colon is refused; the rest is done with a name that is not.
    assert!(run_script(source, "x", &scene, &BoxAsker, &ScriptOptions::default()).is_err());
    let source = source.replace("the pipe: hot", "true")
        + r#"
        place("all", union([box(1, 2, 3), ball(4).put(at(5, 6, 7)), cylinder(8, 9), capsule(10, 25), cone(11, 12, 13),
            bend(20, 95, 90), plate([[0, 0], [80, 0], [80, 50]], 6, [[[60, 10], [70, 10], [70, 20]]]),
            hull([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9]])]), at(0, 0, 0), #{role: "no", sheath: 2, joined_to: "neck", by: "it's \"glue\""});
    "#;
    let run = run_script(&source, "x", &scene, &BoxAsker, &ScriptOptions::default()).unwrap();
    let words: Vec<String> =
        run.yaml_fragments().iter().map(|fragment| format!("{:?}", fragment.splice)).collect();
    insta::assert_snapshot!(words.join("\n"), @r#"
    Rename { from: "filler", to: "neck" }
    Set { body: "firewall", drop: ["on", "at", "turn", "axis", "carried_by", "fit"] }
    Remove { body: "battery-left", service: ["battery-left-out"] }
    Set { body: "neck", drop: ["on", "at", "turn", "axis", "carried_by"] }
    Add { body: "true" }
    Add { body: "all" }
    Join
    "#);
    let read = |index: usize| -> serde_json::Value {
        let yaml = &run.yaml_fragments()[index].yaml;
        serde_yaml::from_str(yaml).unwrap_or_else(|error| panic!("{error}\n{yaml}"))
    };
    let firewall = read(1);
    assert_eq!(firewall["at"], serde_json::json!([605, 0, 700]));
    assert_eq!(
        firewall["shape"]["plate"]["thickness"],
        serde_json::json!(1.2),
        "marks would hold it in place"
    );
    assert_eq!(firewall["turn"], serde_json::json!({"y": -90}));
    assert_eq!(read(3), serde_json::json!({"at": [-300, 500, 910], "carried_by": "chassis"}));
    let pipe = &read(4)["true"];
    assert_eq!(pipe["shape"]["tube"]["bend_radius"], serde_json::json!(95));
    assert_eq!(pipe["turn"], serde_json::json!({"y": 90}));
    let all = &read(5)["all"];
    assert_eq!(all["role"], serde_json::json!("no"), "quoted: bare it would be false");
    assert_eq!(all["shape"]["union"].as_array().unwrap().len(), 8);
    assert_eq!(all["shape"]["union"][3]["shape"]["capsule"], serde_json::json!({"diameter": 10, "core": 15}));
    assert_eq!(all["sheath"], serde_json::json!(2));
    assert_eq!(read(6)[0]["by"], serde_json::json!("it's \"glue\""));
    assert_eq!(run.yaml_fragments()[0].yaml, "");
}
