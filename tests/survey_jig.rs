//! `baywright jig` as a shop meets it, and survey files that are junk: each gets a message, none a wrong answer.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

fn jig(folder: &Path, more: &[&str]) -> (i32, String, String) {
    let output =
        Command::cargo_bin("baywright").unwrap().current_dir(folder).arg("jig").args(more).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

const STAND: &str =
    "mark,x,y,z\nJ1,0,0,0\nJ2,900,0,0\nJ3,0,800,0\nJ4,900,800,50\nJ5,450,400,600\nJ6,100,700,500\n";

/// The same marks turned a quarter about z and shifted: (x, y, z) becomes (y, -x, z) + (40, 10, 5); `J5` by `by` more in x.
fn vehicle(by: f64) -> String {
    format!(
        "mark,x,y,z\nJ1,40,10,5\nJ2,40,-890,5\nJ3,840,10,5\nJ4,840,-890,55\nJ5,{},-440,605\nJ6,740,-90,505\nK1,0,0,0\n",
        440.0 + by
    )
}

#[test]
fn a_jig_that_is_off_is_told_and_the_exit_code_says_so() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stand.csv"), STAND).unwrap();
    fs::write(folder.path().join("same.csv"), vehicle(0.0)).unwrap();
    fs::write(folder.path().join("other.csv"), vehicle(12.0)).unwrap();
    let (code, text, _) = jig(folder.path(), &["stand.csv", "same.csv", "--sigma", "1 mm"]);
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("all marks agree, to 0.0 mm root mean square"), "{text}");
    assert!(text.contains("only on the vehicle: K1"), "{text}");
    let (code, text, _) = jig(folder.path(), &["stand.csv", "same.csv", "other.csv", "--sigma", "1 mm"]);
    assert_eq!(code, 1, "{text}");
    let row = text.lines().rfind(|line| line.contains("J5") && line.contains("OFF")).unwrap();
    // The stand has it where the first vehicle has it: 12 less in x than the second.
    assert!(row.contains("-12.0"), "{row}");
    assert!(text.contains("off beyond chance: J5;"), "{text}");
    // Two places 12 apart: standard deviation 8.5 in one axis of three, 4.9 root mean square.
    assert!(
        text.lines().any(|line| line.contains("J5") && line.contains("4.9 mm over 2 vehicles")),
        "{text}"
    );
    let (code, json, _) = jig(folder.path(), &["stand.csv", "other.csv", "--sigma", "1", "--format", "json"]);
    let told: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!((code, &told["version"]), (1, &serde_json::json!(1)));
    let marks = told["vehicles"][0]["marks"].as_array().unwrap();
    assert!(marks.iter().all(|mark| (mark["name"] == "J5") == (mark["moved"] == true)), "{json}");
}

#[test]
fn junk_is_refused_with_where_and_what_to_do() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stand.csv"), STAND).unwrap();
    let utf16: Vec<u8> = "mark,x,y,z\nJ1,0,0,0\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: [(&str, Vec<u8>, &str); 8] = [
        ("UTF-16", utf16, "UTF-16"),
        ("semicolons", b"mark;x;y;z\nJ1;0;0;0\n".to_vec(), "separated by semicolons"),
        ("decimal commas", b"mark,x,y,z\nJ1,\"12,5\",0,0\n".to_vec(), "decimal comma"),
        ("a mark twice", b"mark,x,y,z\nJ1,0,0,0\nJ1,5,0,0\nJ2,1,1,1\n".to_vec(), "stands twice"),
        ("two where three are due", b"mark,x,y,z\nJ1,0,0,0\nJ2,900,0,0\n".to_vec(), "three or more"),
        ("on one line", b"mark,x,y,z\nJ1,0,0,0\nJ2,900,0,0\nJ3,450,0,0\n".to_vec(), "three or more"),
        ("not a number", b"mark,x,y,z\nJ1,NaN,0,0\n".to_vec(), "not a number"),
        ("nothing", Vec::new(), "no header"),
    ];
    for (case, bytes, want) in cases {
        fs::write(folder.path().join("car.csv"), bytes).unwrap();
        let (code, text, said) = jig(folder.path(), &["stand.csv", "car.csv"]);
        let flat = said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ");
        assert_eq!((code, text.as_str()), (2, ""), "{case}: {said}");
        assert!(flat.contains(want), "{case}: {said}");
    }
    for (more, want) in [
        (&["stand.csv", "none.csv"][..], "could not be read"),
        (&["stand.csv", "stand.csv", "--units", "furlong"], "no unit of length"),
        (&["stand.csv", "stand.csv", "--sigma=-1"], "no length above zero"),
        (&["stand.csv"], "VEHICLES"),
    ] {
        let (code, _, said) = jig(folder.path(), more);
        assert_eq!(code, 2, "{said}");
        assert!(said.contains(want), "{said}");
    }
}

/// A scene with the stand's marks under `s`, a ball fitted to four of them, and a block 60 mm from it.
const WITH_MARKS: &str = "baywright: 1 # the shop's own
surveys:
  # measured on the stand
  s: {file: stand.csv, instrument: probe, sigma: 0.5} # keep me
bodies:
  jig: {fit: {point: {survey: s, marks: [J5], diameter: 20}}}
  block: {shape: {box: [20, 20, 20]}, at: [450, 400, 660]}
";

#[test]
fn the_spread_between_vehicles_goes_into_the_scene_and_into_u() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    put("stand.csv", STAND);
    put("same.csv", &vehicle(0.0));
    put("other.csv", &vehicle(12.0));
    put("bay.yaml", WITH_MARKS);
    let into = |survey: &str| {
        jig(folder.path(), &["stand.csv", "same.csv", "other.csv", "--into", "bay.yaml", "--survey", survey])
    };
    let (code, text, told) = into("s");
    assert_eq!(code, 1, "{told}");
    assert!(text.contains("J5: 4.90 mm"), "{text}");
    assert!(told.contains("wrote the spread of 6 marks to survey `s` of bay.yaml"), "{told}");
    let scene = fs::read_to_string(folder.path().join("bay.yaml")).unwrap();
    assert!(
        scene.starts_with(
            "baywright: 1 # the shop's own\nsurveys:\n  # measured on the stand\n  s: {file: stand.csv"
        ),
        "{scene}"
    );
    assert!(scene.contains("J5: 4.9") && scene.contains("}} # keep me"), "{scene}");
    // Once more gives the same file: the key is set, not added again.
    into("s");
    assert_eq!(fs::read_to_string(folder.path().join("bay.yaml")).unwrap(), scene);
    let check = |rule: &str| -> serde_json::Value {
        put("rule.yaml", &(fs::read_to_string(folder.path().join("bay.yaml")).unwrap() + rule));
        let output = Command::cargo_bin("baywright")
            .unwrap()
            .current_dir(folder.path())
            .args(["check", "rule.yaml", "--format", "json"])
            .output()
            .unwrap();
        serde_json::from_slice(&output.stdout).unwrap()
    };
    // The gap is 60 - 10 - 10 = 40; U = 2 sqrt(0.5^2 + 4.9^2).
    let found = check("rules: [{between: [jig, block], least: 41, because: test}]\n");
    let finding = &found["findings"][0];
    assert_eq!(finding["verdict"], "undecided");
    let u = finding["uncertainty_mm"].as_f64().unwrap();
    assert!((u - 2.0 * f64::hypot(0.5, 4.9)).abs() < 0.02, "{u}");
    let spread = finding["spread_mm"].as_f64().unwrap();
    assert!((spread - 9.8).abs() < 0.01, "{spread}");
    let (code, _, told) = into("t");
    assert_eq!(code, 2);
    assert!(told.contains("no survey is called `t`; did you mean `s`?"), "{told}");
    let (code, _, told) =
        jig(folder.path(), &["stand.csv", "same.csv", "--into", "bay.yaml", "--survey", "s"]);
    assert_eq!(code, 2);
    assert!(told.contains("no mark was measured on two vehicles or more"), "{told}");
}
