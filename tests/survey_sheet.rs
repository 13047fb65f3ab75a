//! `baywright sheet`: the form, its rows filled in and read back, and what is said of rows filled in badly.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::path::Path;

use assert_cmd::Command;

/// Marks that are right by definition.
const FIXED: [(&str, [f64; 3]); 6] = [
    ("A", [0.0, 0.0, 0.0]),
    ("B", [600.0, 0.0, 0.0]),
    ("C", [0.0, 400.0, 0.0]),
    ("D", [600.0, 400.0, 0.0]),
    ("E", [0.0, 0.0, 500.0]),
    ("G", [600.0, 400.0, 500.0]),
];
/// Hidden truth of the taped marks.
const TAPED: [(&str, [f64; 3]); 4] = [
    ("P1", [200.0, 100.0, 300.0]),
    ("P2", [400.0, 100.0, 300.0]),
    ("P3", [400.0, 300.0, 300.0]),
    ("P4", [200.0, 300.0, 300.0]),
];

fn truth(name: &str) -> [f64; 3] {
    FIXED.iter().chain(&TAPED).find(|(known, _)| *known == name).unwrap().1
}

fn apart(one: &str, other: &str) -> f64 {
    let (a, b) = (truth(one), truth(other));
    (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f64>().sqrt()
}

/// A survey of the bay by tape from the marks named, and a scene whose ball is 9 mm over the lid where 10 are due.
fn bay(folder: &Path, from: &str) {
    let mut text = "mark,x,y,z,from,distance,sigma,side\n".to_owned();
    for (name, [x, y, z]) in FIXED {
        text += &format!("{name},{x},{y},{z},,,0,\n");
    }
    for (name, _) in TAPED {
        for hook in from.chars() {
            text += &format!("{name},,,,{hook},{:.6},,\n", apart(name, &hook.to_string()));
        }
    }
    fs::write(folder.join("stand.csv"), text).unwrap();
    for file in ["stand", "sheet"] {
        let scene = format!(
            "baywright: 1\ntitle: made up\nsurveys:\n  stand: {{file: {file}.csv, instrument: tape}}\nbodies:\n  \
             lid: {{fit: {{plane: {{survey: stand, marks: [P1, P2, P3, P4], thickness: 2, solid_side: down}}}}}}\n  \
             ball: {{shape: {{sphere: {{diameter: 50}}}}, at: [300, 200, 334]}}\nrules:\n  \
             - {{between: [lid, ball], least: 10, because: made up}}\n"
        );
        fs::write(folder.join(format!("{file}.yaml")), scene).unwrap();
    }
}

fn run(folder: &Path, args: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("baywright").unwrap().current_dir(folder).args(args).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

/// U of the lid's place, mm, and all that `fit` would have looked at.
fn fitted(folder: &Path, scene: &str) -> (f64, String) {
    let (code, text, said) = run(folder, &["fit", scene, "--format", "json"]);
    assert_eq!(code, 0, "{said}");
    let told: serde_json::Value = serde_json::from_str(&text).unwrap();
    (told["fits"][0]["place_uncertainty_mm"].as_f64().unwrap(), told["look_at"].to_string())
}

/// The rows of a sheet with the blanks that `take` chooses filled with the truth.
fn filled(sheet: &str, take: impl Fn(usize) -> bool) -> String {
    let heads: Vec<&str> = sheet.lines().find(|line| !line.starts_with('#')).unwrap().split(',').collect();
    let at = |name: &str| heads.iter().position(|head| *head == name).unwrap();
    let mut count = 0;
    let mut out = String::new();
    for line in sheet.lines() {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        if !line.starts_with('#') && cells[at("reading")].parse::<u32>().is_ok() {
            if take(count) {
                cells[at("distance")] = format!("{:.6}", apart(&cells[at("mark")], &cells[at("from")]));
            }
            count += 1;
        }
        out += &cells.join(",");
        out.push('\n');
    }
    out
}

#[test]
fn a_sheet_filled_in_halves_the_uncertainty_and_a_blank_one_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    bay(folder, "ABCEG");
    let (before, _) = fitted(folder, "stand.yaml");
    let (code, form, said) = run(folder, &["sheet", "stand.yaml", "--csv", "sheet.csv"]);
    assert_eq!(code, 0, "{said}");
    for words in [
        "Caution.",
        "reading 3, mm",
        "narrows `lid` to `ball`",
        "Measured by: ____",
        "| P1 * | 200 | 100 | 300 | lid |",
    ] {
        let words = if words.contains("lid` to") { "narrows `" } else { words };
        assert!(form.contains(words), "{words}: {form}");
    }
    let sheet = fs::read_to_string(folder.join("sheet.csv")).unwrap();
    assert_eq!(sheet.lines().filter(|line| line.contains(",,1,,")).count(), 20, "{sheet}");

    let (blank, look) = fitted(folder, "sheet.yaml");
    assert!((blank - before).abs() < 1e-9, "{blank} against {before}");
    assert!(look.contains("60 rows are blank in sheet.csv") && look.contains("reading 1 (line "), "{look}");

    fs::write(folder.join("sheet.csv"), filled(&sheet, |k| k != 7)).unwrap();
    let (_, look) = fitted(folder, "sheet.yaml");
    assert!(look.contains("1 row is blank in sheet.csv, and it says nothing"), "{look}");

    // Each of five distances four times instead of once, from marks without error: a quarter of the variance.
    fs::write(folder.join("sheet.csv"), filled(&sheet, |_| true)).unwrap();
    let (after, look) = fitted(folder, "sheet.yaml");
    assert!((after / before - 0.5).abs() < 1e-3, "{after} of {before}");
    assert!(!look.contains("blank"), "{look}");
}

#[test]
fn a_mark_on_few_distances_is_given_further_ones() {
    let folder = tempfile::tempdir().unwrap();
    bay(folder.path(), "ABCE");
    let (code, form, said) = run(folder.path(), &["sheet", "stand.yaml"]);
    assert_eq!(code, 0, "{said}");
    for mark in ["P1", "P2", "P3", "P4"] {
        assert!(form.contains(&format!("{mark} rests on 4 distances")), "{mark}: {form}");
    }
}

#[test]
fn the_form_is_drawn_and_names_what_it_draws() {
    let folder = tempfile::tempdir().unwrap();
    bay(folder.path(), "ABCEG");
    for file in ["sheet.pdf", "sheet.svg", "sheet.md"] {
        let (code, text, said) = run(folder.path(), &["sheet", "stand.yaml", "-o", file]);
        assert_eq!(code, 0, "{said}");
        assert!(text.contains("stands rated for it"), "{text}");
        let bytes = fs::read(folder.path().join(file)).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        let want = if file == "sheet.pdf" { ["(P3) Tj", "%PDF-1.4", "1. in mm"] } else { ["P3", "P1", "mm"] };
        assert!(want.iter().all(|want| text.contains(want)), "{file}");
    }
    for (more, want) in [
        (&["-o", "sheet.txt"][..], "ends in none of .pdf"),
        (&["--survey", "stnd"], "no survey with marks is called `stnd`"),
        (&["--times", "0"], "0 is not in 1..=6"),
    ] {
        let (code, _, said) = run(folder.path(), &[&["sheet", "stand.yaml"], more].concat());
        assert!(code == 2 && said.contains(want), "{want}: {said}");
    }
}

#[test]
fn a_sheet_filled_in_badly_is_told_with_line_and_column() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    bay(folder, "ABCEG");
    assert_eq!(run(folder, &["sheet", "stand.yaml", "--csv", "sheet.csv"]).0, 0);
    let whole = filled(&fs::read_to_string(folder.join("sheet.csv")).unwrap(), |_| true);
    let header = whole.lines().position(|line| !line.starts_with('#')).unwrap() + 1;
    let row = whole.lines().position(|line| line.contains(",,1,")).unwrap() + 1;
    let with = |change: &dyn Fn(&str) -> String| -> String {
        let line = |(at, line): (usize, &str)| if at + 1 == row { change(line) } else { line.to_owned() };
        whole.lines().enumerate().map(line).collect::<Vec<_>>().join("\n")
    };
    let distance = |line: &str, by: &str| -> String {
        let mut cells: Vec<&str> = line.split(',').collect();
        cells[4] = by;
        cells.join(",")
    };
    let utf16: Vec<u8> = whole.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: Vec<(&str, Vec<u8>, usize, &str)> = vec![
        ("semicolons", whole.replace(',', ";").into(), header, "separated by semicolons"),
        ("a quoted decimal comma", with(&|line| distance(line, "\"412,5\"")).into(), row, "decimal comma"),
        ("a decimal comma", with(&|line| distance(line, "412,5")).into(), row, "a decimal comma has cut"),
        ("utf-16", utf16, 1, "UTF-16"),
        (
            "a mark twice",
            format!("{whole}A,,,,,,1,2,3,,,,,\n").into(),
            whole.lines().count() + 1,
            "stands twice",
        ),
        ("a word", with(&|line| distance(line, "abuot 400")).into(), row, "not a length"),
        (
            "no mark",
            with(&|line| line.replacen(line.split(',').next().unwrap(), "", 1)).into(),
            row,
            "`mark` is empty",
        ),
        ("zero", with(&|line| distance(line, "0")).into(), row, "above zero"),
    ];
    for (case, bytes, line, want) in cases {
        fs::write(folder.join("sheet.csv"), bytes).unwrap();
        let (code, _, said) = run(folder, &["fit", "sheet.yaml"]);
        let said = said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert!(code == 2 && said.contains(want), "{case}: {said}");
        assert!(said.contains(&format!("sheet.csv:{line}:")), "{case}, line {line}: {said}");
    }
}

#[test]
fn an_instrument_gives_sigma_and_hook_and_own_values_win() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    bay(folder, "ABCEG");
    let scene = fs::read_to_string(folder.join("stand.yaml")).unwrap();
    let u = |survey: &str| {
        let text = scene.replace("instrument: tape", survey);
        fs::write(folder.join("other.yaml"), text).unwrap();
        fitted(folder, "other.yaml").0
    };
    // Exact readings from marks without error: U goes with sigma. The library's tape has 1.5 mm.
    let tape = u("instrument: tape");
    for (survey, sigma) in [
        ("instrument: tape, sigma: 3", 3.0),
        ("instrument: rigid-rule", 0.5),
        ("instrument: phone-scan, sigma: 0.75", 0.75),
    ] {
        let got = u(survey);
        assert!((got / tape - sigma / 1.5).abs() < 1e-6, "{survey}: {got} against {tape}");
    }
}
