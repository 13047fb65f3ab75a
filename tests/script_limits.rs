//! Scripts are strangers: whatever they do, a run ends within its limits and nothing panics.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::script_support;

use std::time::{Duration, Instant};

use baywright::script::{ScriptErrors, ScriptOptions};
use proptest::prelude::*;
use script_support::{run, run_with};

/// The interpreter's own panic, should it meet one, ends in this message.
fn no_panic(errors: &ScriptErrors) {
    assert!(!errors.to_string().contains("fault of its own"), "{errors}");
}

#[test]
fn every_limit_stops_the_run_and_says_how_to_raise_it() {
    let usual = ScriptOptions::default();
    for (field, options, source) in [
        ("operations", ScriptOptions { operations: 1_000, ..usual.clone() }, "loop {}"),
        ("operations", ScriptOptions { operations: 1_000, ..usual.clone() }, "for i in 0..1000000000000 {}"),
        (
            "operations",
            ScriptOptions { operations: 20_000, ..usual.clone() },
            "import \"house/tank\" as tank; loop { tank::cap(\"firewall\", forward, #{}); }",
        ),
        ("call_depth", usual.clone(), "fn f() { f() } f();"),
        ("call_depth", usual.clone(), "let f = |g| g.call(g); f.call(f);"),
        ("expression_depth", usual.clone(), &format!("let x = {}1{};", "[".repeat(90), "]".repeat(90))),
        (
            "variables",
            ScriptOptions { variables: 10, ..usual.clone() },
            &(0..20).map(|i| format!("let x{i} = 1;")).collect::<String>(),
        ),
        ("functions", ScriptOptions { functions: 2, ..usual.clone() }, "fn a() {} fn b() {} fn c() {}"),
        ("text_bytes", usual.clone(), "let s = \"x\"; s.pad(1000000, \"y\");"),
        ("text_bytes", usual.clone(), &format!("let s = \"{}\";", "x".repeat(20_000))),
        ("list_entries", usual.clone(), "let a = []; loop { a.push(1); }"),
        ("list_entries", usual.clone(), "let a = []; a.pad(1000000, 0);"),
        ("list_entries", usual.clone(), "let a = [1, 2]; loop { a = [a, a]; }"),
        ("map_entries", usual.clone(), "let m = #{}; for i in 0..10000 { m[\"k\" + i] = i; }"),
        (
            "list_entries",
            usual.clone(),
            "let a = []; a.pad(100, 0); let b = a; for i in 0..100 { a[i] = b; }",
        ),
        (
            "list_entries",
            usual.clone(),
            "let a = []; a.pad(100, 0); let m = #{}; for i in 0..100 { m[\"k\" + i] = a; }",
        ),
        (
            "map_entries",
            usual.clone(),
            "fn grow() { for i in 0..10000 { this[\"k\" + i] = i; } } let m = #{}; m.grow();",
        ),
        (
            "map_entries",
            usual.clone(),
            "let m = #{}; let f = || { for i in 0..10000 { m[\"k\" + i] = i; } }; f.call();",
        ),
        (
            "text_bytes",
            usual.clone(),
            "let t = \"x\"; t.pad(9000, \"y\"); let m = #{}; m.a = t; m[\"b\"] = t; print(m);",
        ),
        (
            "bodies",
            ScriptOptions { bodies: 3, ..usual.clone() },
            "for i in 0..9 { place(\"p\" + i, ball(1), at(i, 0, 0)); }",
        ),
        (
            "bodies",
            ScriptOptions { bodies: 3, ..usual.clone() },
            "for i in 0..99 { place(\"p\", ball(1), at(i, 0, 0)); remove_body(\"p\"); }",
        ),
        (
            "bodies",
            ScriptOptions { bodies: 3, ..usual.clone() },
            "loop { join(\"firewall\", \"filler\", \"x\"); }",
        ),
        ("shape_parts", usual.clone(), "let s = ball(1); loop { s = union([s, s]); }"),
        (
            "shape_parts",
            ScriptOptions { shape_parts: 1_000, ..usual.clone() },
            "let s = ball(1); loop { s = s.put(at(1, 0, 0)); }",
        ),
        (
            "gaps",
            ScriptOptions { gaps: 3, ..usual.clone() },
            "loop { gap(\"battery-left\", \"engine-block\"); }",
        ),
        ("notes", usual.clone(), "loop { note(\"x\"); }"),
        ("script_bytes", ScriptOptions { script_bytes: 10, ..usual.clone() }, "let x = 1; let y = 2;"),
        (
            "imports",
            ScriptOptions { imports: 1, ..usual.clone() },
            "import \"house/tank\" as a; import \"house/turbo\" as b;",
        ),
        ("imports", usual.clone(), "loop { import \"house/tank\" as a; }"),
        (
            "time",
            ScriptOptions { time: Some(Duration::from_millis(50)), operations: u64::MAX, ..usual.clone() },
            "loop {}",
        ),
    ] {
        let short: String = source.chars().take(60).collect();
        let errors = match run_with(source, &options) {
            Ok(run) => panic!("`{short}` ran: {} steps", run.operations),
            Err(errors) => errors,
        };
        assert_eq!(errors.list[0].code, "script::limit", "`{short}`: {errors}");
        let want = format!("`ScriptOptions::{field}`");
        assert!(errors.list[0].help.contains(&want), "`{short}`: want {want}: {errors}");
    }
}

#[test]
fn a_limit_cannot_be_caught() {
    let options = ScriptOptions { operations: 5_000, gaps: 2, ..ScriptOptions::default() };
    for source in [
        "loop { try { loop {} } catch {} }",
        "loop { try { gap(\"battery-left\", \"engine-block\") } catch {} }",
        "fn f() { try { f() } catch { f() } } f();",
    ] {
        let errors = run_with(source, &options).unwrap_err();
        assert_eq!(errors.list[0].code, "script::limit", "{errors}");
    }
}

#[test]
fn a_script_has_no_files_no_network_no_clock_and_no_other_texts() {
    for source in [
        "eval(\"1\")",
        "let x = timestamp();",
        "sleep(1);",
        "exit(3);",
        "open_file(\"/etc/hosts\");",
        "import \"/etc/hosts\" as x;",
        "import \"https://example.org/x\" as x;",
        "import \"\" as x;",
        "let f = Fn(\"eval\"); f.call(\"1\");",
        "rand();",
        "parse_json(\"{}\");",
    ] {
        let errors = match run(source) {
            Ok(_) => panic!("`{source}` ran"),
            Err(errors) => errors,
        };
        no_panic(&errors);
    }
}

/// Tricks that aim at the stack or the heap rather than at a limit of the language.
#[test]
fn tricks_end_in_an_error_or_an_answer_and_never_in_a_crash() {
    let deep_calls = "fn f(n) { if n > 0 { [[[[[[[[[[f(n - 1)]]]]]]]]]] } else { 0 } } f(31);";
    let sources = [
        // A list in a list in a list: dropped and counted without end.
        "let a = []; for i in 0..3900 { a = [a]; }",
        "let m = #{}; for i in 0..490 { m = #{m: m}; }",
        deep_calls,
        // A map whose functions bear the names that a house script calls on it.
        "import \"house/turbo\" as turbo; let m = #{}; m.keys = |x| { turbo::place_on(pose(), 0, m) }; turbo::place_on(pose(), 0, m);",
        "import \"house/tank\" as tank; fn again(x) { tank::cap(\"firewall\", forward, #{keys: Fn(\"again\")}) } again(1);",
        // Closures that hold each other.
        "let a = #{}; let f = || a; a.f = f; print(f.call());",
        "let x = 1; let f = |y| { x += y; f2.call(y) };",
        // Numbers at the end of their range.
        "let x = 9223372036854775807; x += 1;",
        "print(-9223372036854775808 / -1);",
        "let s = box(1e300, 1, 1);",
        "let p = at(1e6, 0, 0) * 1e300; place(\"x\", ball(1), p);",
        "let p = pose(); for i in 0..2000 { p = p.then(p).moved(up, 1e6); } place(\"x\", ball(1), p);",
        "let x = 0.0 / 0.0; place(\"x\", ball(x), at(0, 0, 0));",
        "place(\"x\", ball(1), at(0, 0, 0) / 0);",
        "print(deg(1e300)); pose().turned(up, deg(1e300));",
        "hull([[0, 0, 0], [1, 1, 1], [2, 2, 2], [3, 3, 3]]);",
        "plate([[0, 0], [10, 10], [0, 10], [10, 0]], 2);",
        "tube(10, [[0, 0, 0], [10, 0, 0], [0, 0, 0]], 20);",
        "union([]);",
        "print(scene.body(\"firewall\").shape.put(at(1, 2, 3)).bounds);",
        "let f = scene.body; f();",
        "this.x = 1;",
        "print(`${`${`${up}`}`}`);",
        "\u{feff}print(1);",
        "print(\"\u{202e}\u{0}\");",
        "/* never closed",
        "let \u{1F600} = 1;",
        "print(1);\r\nprint(2);\r\n",
        "",
        ";;;;",
        "}",
        "place();",
        "throw scene;",
        "throw ();",
        "return 5;",
        "break;",
        "switch 3 { 3 => print(3), _ => () }",
        "let x = if true { 1 } else { 2 }; x.y.z = 3;",
        "fn place(a) { 1 } place(2);",
        "fn box(x, y, z) { ball(1) } place(\"x\", box(1, 2, 3), at(0, 0, 0));",
        "let scene = 5; print(scene);",
        "const up = 3; print(up);",
        "print(global::x);",
        "private fn f() {} f();",
        "let a = [1, 2, 3]; a.sort(|x, y| 0 / 0); a.map(|v| a.push(v));",
        "let o = #{role: [[[\"x\"]]]}; place(\"x\", ball(1), at(0, 0, 0), o);",
        "place(\"x\", ball(1), at(0, 0, 0), #{wrap: -1});",
        "place(\"x\", ball(1), at(0, 0, 0), #{sigma_turn: \"1 furlong\"});",
        "place(\"\\u0000\", ball(1), at(0, 0, 0));",
        "rename_body(\"firewall\", \"any\");",
    ];
    for source in sources {
        match run(source) {
            Ok(run) => assert!(run.scene.bodies.len() <= 20),
            Err(errors) => {
                no_panic(&errors);
                // The message can be shown whatever it quotes.
                let _ = errors.list[0].one_line();
                let _ = baywright::report::fault_text(&errors.list[0], false);
            }
        }
    }
}

#[test]
fn the_time_limit_holds_within_a_slow_run() {
    let options = ScriptOptions {
        time: Some(Duration::from_millis(200)),
        operations: u64::MAX,
        ..ScriptOptions::default()
    };
    let begun = Instant::now();
    // Each step counts a list of 4 000 entries.
    let source = "let a = []; a.pad(3990, 0); loop { a.push(1); a.pop(); }";
    assert!(run_with(source, &options).is_err());
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
}

const GOOD: [&str; 3] = [
    r#"import "house/turbo" as turbo;
let face = scene.frame("bracket-face");
for clock in [0, 20, 40] {
    let name = "turbo " + clock;
    turbo::place_on(face.raised(2.5), deg(clock), #{name: name, wrap: "1/4 in", joined_to: "turbo-bracket", by: "studs"});
    if gap_over("battery-left", "engine-block") < 10 { remove_body(name); }
}
"#,
    r#"fn peg(x, y) { cylinder(8, "1-1/2 in").put(pose(at(x, y, 0)).turned(rearward, 90)) }
let pegs = [];
for i in 0..5 { pegs.push(peg(i * 20, -i / 2)); }
let rack = place("rack", union(pegs), scene.body("battery-left").face(up).shifted(0, 10, 5), #{role: ["rack", "plastic"]});
move_body(rack, rack.pose.moved(left, 12).spun(15));
print(rack.bounds.size + up * 3); note("rack at " + rack.at);
"#,
    r#"import "house/tank" as tank;
let tanks = #{a: 0, b: 120};
for name in tanks.keys() {
    try { tank::against("firewall", forward, #{name: name, aside: tanks[name], stand_off: 12}); }
    catch (why) { print(why); }
}
let pipe = tube(38, [[0, 0, 0], [200, 0, 0], [200, 150, 40]], 60, 1.6);
place("pipe", pipe, at(0, 0, 900), #{carried_by: "engine", sheath: 2});
rename_body("filler", "neck"); join("pipe", "neck", "clamp");
"#,
];

#[test]
fn the_good_scripts_are_good() {
    for source in GOOD {
        run(source).unwrap_or_else(|errors| panic!("{errors}"));
    }
}

/// Pieces that a slip of the hand, or a hostile one, puts in.
const PIECES: [&str; 30] = [
    "(", ")", "[", "]", "{", "}", ";", ",", ".", "\"", "`", "#{", "-", "1e308", "0", "()", "scene", "up",
    "fn f() {", "loop {", "let ", "import ", "|x|", "/*", "deg(", "place(", ".put(", "name", " in ",
    "\u{e9}\n",
];

#[derive(Clone, Debug)]
enum Slip {
    Cut(usize, usize),
    Double(usize, usize),
    Put(usize, usize),
    Swap(usize, usize),
}

fn slip() -> impl Strategy<Value = Slip> {
    prop_oneof![
        (any::<usize>(), 1usize..12).prop_map(|(at, length)| Slip::Cut(at, length)),
        (any::<usize>(), 1usize..60).prop_map(|(at, length)| Slip::Double(at, length)),
        (any::<usize>(), 0..PIECES.len()).prop_map(|(at, piece)| Slip::Put(at, piece)),
        (any::<usize>(), any::<usize>()).prop_map(|(one, other)| Slip::Swap(one, other)),
    ]
}

fn slipped(source: &str, slips: &[Slip]) -> String {
    let mut text: Vec<char> = source.chars().collect();
    for slip in slips {
        let length = text.len().max(1);
        match slip {
            Slip::Cut(at, count) => {
                let at = at % length;
                text.drain(at.min(text.len())..(at + count).min(text.len()));
            }
            Slip::Double(at, count) => {
                let at = at % length;
                let piece: Vec<char> = text[at.min(text.len())..(at + count).min(text.len())].to_vec();
                text.splice(at.min(text.len())..at.min(text.len()), piece);
            }
            Slip::Put(at, piece) => {
                let at = (at % length).min(text.len());
                text.splice(at..at, PIECES[*piece].chars());
            }
            Slip::Swap(one, other) if !text.is_empty() => text.swap(one % length, other % length),
            Slip::Swap(..) => {}
        }
    }
    text.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn a_good_script_with_slips_never_panics_and_stays_in_its_limits(
        which in 0..GOOD.len(),
        slips in proptest::collection::vec(slip(), 1..5),
    ) {
        let options = ScriptOptions {
            operations: 20_000, bodies: 8, gaps: 10, notes: 3, printed_lines: 5, shape_parts: 500,
            time: Some(Duration::from_secs(5)), ..ScriptOptions::default()
        };
        let source = slipped(GOOD[which], &slips);
        match run_with(&source, &options) {
            Ok(run) => {
                prop_assert!(run.operations <= options.operations);
                prop_assert!(run.scene.bodies.len() <= 5 + options.bodies);
                prop_assert!(run.asked.len() <= options.gaps && run.notes.len() <= options.notes);
                prop_assert!(run.printed.len() <= options.printed_lines);
                for body in &run.scene.bodies {
                    prop_assert!(body.shape.validate().is_ok(), "{}", body.name);
                    prop_assert!(body.world_from_body.translation.vector.iter().all(|part| part.is_finite()));
                }
            }
            Err(errors) => {
                let error = &errors.list[0];
                prop_assert!(error.code != "script::fault", "{}\n{source}", error);
                prop_assert!(!error.message.is_empty() && !error.help.is_empty(), "{:?}\n{source}", error);
                prop_assert!(error.line <= source.lines().count() + 1);
                let shown = baywright::report::fault_text(error, true);
                prop_assert!(!shown.is_empty());
            }
        }
    }
}
