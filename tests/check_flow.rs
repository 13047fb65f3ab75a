//! Flow in a check: what a tube's flow costs against what is allowed, and what is wrong with a flow as written.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::check::{CheckOptions, Checker, Finding, Findings, Verdict};
use baywright::scene::Scene;

use crate::common::load;

fn findings(text: &str) -> Findings {
    Checker::new().check(&load(text), None, &CheckOptions::default())
}

fn flow(findings: &Findings) -> Vec<&Finding> {
    findings.list.iter().filter(|finding| finding.code == "flow").collect()
}

/// A straight metre of 63.5 mm outside and 59.2 mm bore, and what flows through it.
fn with_flow(flow: &str) -> String {
    format!(
        "baywright: 1\nunits: mm\nbodies:\n  pipe:\n    shape: {{tube: {{diameter: 63.5, wall: 2.15, points: [[0, 0, 0], [1000, 0, 0]]}}}}\n    flow: {{{flow}}}\n"
    )
}

/// 0.30 kg/s of air at 60 deg C and 250 kPa in 59.2 mm, roughness 1.5 um: 41.69 m/s at the start, Mach 0.114, 0.558 kPa a
/// metre before the gas thins (scipy's root of Colebrook; `src/calc/flow/tests.rs`). Friction is good to 15 in a hundred:
/// 0.48 to 0.65 kPa.
#[test]
fn a_flow_is_judged_by_what_it_may_cost() {
    let air = "of: air, kg_per_s: 0.3, temperature: 60, pressure: 250, roughness: 0.0015";
    for (case, limits, want) in [
        ("nothing asked", "", Verdict::Clear),
        ("plenty allowed", ", most_loss: 1, most_velocity: 100", Verdict::Clear),
        ("allowed within what the figure may be off", ", most_loss: 0.6", Verdict::Undecided),
        ("hardly over what is allowed", ", most_loss: 0.5", Verdict::Undecided),
        ("too much by any reading", ", most_loss: 0.4", Verdict::Short),
        ("too fast", ", most_velocity: 40", Verdict::Short),
    ] {
        let found = findings(&with_flow(&format!("{air}{limits}")));
        let found = flow(&found);
        let [one] = found.as_slice() else { panic!("{case}: {found:?}") };
        assert_eq!(one.verdict, want, "{case}: {}", one.message);
        assert!(
            one.message.contains("41.8 m/s, Mach 0.11, loses 0.56 kPa (within 0.48 to 0.65)"),
            "{}",
            one.message
        );
        assert!(one.because.contains("screening"), "{}", one.because);
        assert_eq!(one.message.contains("would do"), want != Verdict::Clear, "{case}: {}", one.message);
    }
}

#[test]
fn a_bore_that_chokes_and_one_that_is_not_known_are_told() {
    let much = findings(&with_flow("of: exhaust, kg_per_s: 3, temperature: 800, pressure: 120"));
    assert_eq!(flow(&much)[0].verdict, Verdict::Short);
    assert!(flow(&much)[0].message.contains("chokes"), "{}", flow(&much)[0].message);
    let water = "of: water, kg_per_s: 0.5, temperature: 80";
    let bar = findings(&with_flow(water).replace("wall: 2.15, ", ""));
    assert!(flow(&bar).is_empty());
    assert!(
        bar.not_checked.iter().any(|said| said.contains("wall of `pipe` is not given")),
        "{:?}",
        bar.not_checked
    );
    let block = with_flow(water).replace(
        "{tube: {diameter: 63.5, wall: 2.15, points: [[0, 0, 0], [1000, 0, 0]]}}",
        "{box: [10, 10, 10]}",
    );
    assert!(findings(&block).not_checked.iter().any(|said| said.contains("no tube")));
}

#[test]
fn what_is_wrong_with_a_flow_is_told_at_its_place() {
    for (case, flow, words) in [
        ("a gas without pressure", "of: air, kg_per_s: 0.3, temperature: 60", "no `pressure`"),
        ("no such gas", "of: aire, kg_per_s: 0.3, temperature: 60, pressure: 101", "air"),
        ("a liquid without viscosity", "density: 880, kg_per_s: 0.3, temperature: 60", "no `viscosity`"),
        ("boiling", "of: water, kg_per_s: 0.3, temperature: 130", "within 0 and 100 deg C"),
        ("nothing flows", "of: water, kg_per_s: 0, temperature: 30", "above zero"),
        ("water's own viscosity", "of: water, viscosity: 1, kg_per_s: 1, temperature: 30", "viscosity"),
        ("a word for a temperature", "of: water, kg_per_s: 1, temperature: hot", "a number, deg C"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let loaded = Scene::load_text(&folder.path().join("bay.yaml"), &with_flow(flow));
        let errors = loaded.unwrap_err();
        let told: Vec<String> = errors.list().iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 1, "{case}: {told:?}");
        assert!(told[0].contains(words), "{case}: {told:?}");
    }
}
