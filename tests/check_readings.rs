//! An undecided gap names the readings that would narrow it most, with the U to expect: held against scenes in which the
//! reading was in fact taken once more.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;

use baywright::check::{CheckOptions, Checker, Findings, GapReadings};
use baywright::report::{findings_json, findings_text};
use baywright::scene::Scene;

fn load(text: &str, csv: &str) -> Scene {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("tape.csv"), csv).unwrap();
    Scene::load_text(&folder.path().join("bay.yaml"), text).unwrap_or_else(|errors| panic!("{errors}"))
}

fn check(scene: &Scene) -> Findings {
    Checker::new().check(scene, None, &CheckOptions { cures: 0, ..CheckOptions::default() })
}

/// U of the one finding, and what it tells of readings.
fn told(findings: &Findings) -> (f64, &GapReadings) {
    assert_eq!(findings.list.len(), 1, "{:?}", findings.list);
    let finding = &findings.list[0];
    (finding.uncertainty.unwrap().mm(), findings.readings_for(finding).unwrap())
}

/// A ball on a mark that four tapes hold, and a block 30 mm below; one tape reads worse than the others.
const TAPED: &str = "baywright: 1
surveys:
  tape: {file: tape.csv, instrument: tape, sigma: 1}
bodies:
  ball: {fit: {point: {survey: tape, marks: [P], diameter: 20}}}
  block: {shape: {box: [20, 20, 20]}, at: [300, 200, 250]}
rules: [{between: [ball, block], least: 30, because: test}]
";
const TAPE: &str = "mark,x,y,z,from,distance,sigma
A,0,0,0,,,0
B,600,0,0,,,0
C,0,500,0,,,0
D,300,200,900,,,0
P,,,,A,469.042,1
P,,,,B,469.042,1
P,,,,C,519.615,1
P,,,,D,600,2.5
";

#[test]
fn a_tape_distance_taken_again_narrows_the_gap_as_told() {
    let findings = check(&load(TAPED, TAPE));
    let (u, gap) = told(&findings);
    // The gap runs along z, and D hangs right above: it is the one that tells of z, worse as it is.
    let best = &gap.narrow[0];
    assert!(gap.narrow.len() >= 2, "{gap:?}");
    assert!(best.what.contains('P') && best.survey.as_deref() == Some("tape"), "{best:?}");
    for (at, one) in gap.narrow.iter().enumerate() {
        let hook = one.what.replace(['P', '-'], "");
        let row = TAPE.lines().find(|row| row.starts_with(&format!("P,,,,{hook},"))).unwrap();
        let again = check(&load(TAPED, &format!("{TAPE}{row}\n")));
        let got = told(&again).0;
        let expected = one.expected.mm();
        assert!(
            got < u && (got - expected).abs() < 0.003 * u,
            "{}: U {u} becomes {got}, told {expected}",
            one.what
        );
        assert!(at == 0 || gap.narrow[at - 1].expected <= one.expected, "ranked: {gap:?}");
    }
    let text = findings_text(&load(TAPED, TAPE), &findings);
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(&format!("to narrow it: {}", best.words())), "{text}");
    let json: serde_json::Value =
        serde_json::from_str(&findings_json(&load(TAPED, TAPE), &findings)).unwrap();
    assert_eq!(json["findings"][0]["narrowed_by"][0]["what"], best.what.as_str());
}

/// A panel by three probed marks, one of them worse, against a block beside that one.
fn probed(worse: f64) -> String {
    format!(
        "baywright: 1
surveys:
  arm:
    instrument: probe
    sigma: 0.5
    marks: {{F1: {{at: [0, -200, 0], sigma: {worse}}}, F2: [0, 200, 0], F3: [0, -200, 300]}}
bodies:
  wall: {{fit: {{plane: {{survey: arm, marks: [F1, F2, F3], thickness: 2, solid_side: forward}}}}}}
  block: {{shape: {{box: [20, 20, 20]}}, at: [40, -185, 25], sigma: 0.4}}
rules: [{{between: [wall, block], least: 30, because: test}}]
"
    )
}

#[test]
fn a_mark_probed_again_and_a_body_placed_better_are_ranked_together() {
    let findings = check(&load(&probed(1.5), ""));
    let (u, gap) = told(&findings);
    assert_eq!(gap.narrow[0].what, "mark F1", "{gap:?}");
    // Twice with 1.5 is once with 1.5 / sqrt(2); nothing else checks a plane through three marks.
    let again = check(&load(&probed(1.5 / 2f64.sqrt()), ""));
    let (got, expected) = (told(&again).0, gap.narrow[0].expected.mm());
    assert!((got - expected).abs() < 1e-6 && expected < u, "U {u}: {got}, told {expected}");
    let block = gap.narrow.iter().find(|one| one.what == "block").unwrap();
    assert_eq!(block.survey, None);
    let halved = check(&load(&probed(1.5).replace("sigma: 0.4", "sigma: 0.2"), ""));
    assert!((told(&halved).0 - block.expected.mm()).abs() < 1e-6, "{block:?}");
}

#[test]
fn what_strays_from_vehicle_to_vehicle_is_told_apart() {
    let text = probed(0.5).replace("at: [40, -185, 25]", "at: [40, -185, 25], spread: 3");
    let findings = check(&load(&text, ""));
    let (u, gap) = told(&findings);
    assert!((gap.spread.unwrap().mm() - 6.0).abs() < 1e-9, "{gap:?}");
    assert!(u > 6.0);
    let words = findings_text(&load(&text, ""), &findings).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("between vehicles: 6.0 mm of this U"), "{words}");
    assert!(gap.narrow.is_empty(), "no reading of the survey narrows it by a fiftieth: {gap:?}");
}
