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

/// The bore that is told is clear when it is taken, and a tenth less is not.
#[test]
fn the_bore_that_would_do_is_clear() {
    for flow in [
        "of: air, kg_per_s: 0.3, temperature: 60, pressure: 250, roughness: 0.0015, most_loss: 0.6",
        "of: air, kg_per_s: 0.3, temperature: 60, pressure: 250, roughness: 0.0015, most_loss: 0.4",
        "of: exhaust, kg_per_s: 0.1, temperature: 800, pressure: 120, most_velocity: 96",
        "of: exhaust, kg_per_s: 0.1, temperature: 800, pressure: 120, most_velocity: 60, most_loss: 0.3",
    ] {
        let told = findings(&with_flow(flow));
        let message = flow_of(&told).message.clone();
        let (_, after) = message.split_once("a bore of ").unwrap_or_else(|| panic!("{message}"));
        let bore: f64 = after.split(' ').next().unwrap().parse().unwrap();
        for (bore, clear) in [(bore, true), (bore - 0.11, false)] {
            let taken = with_flow(flow).replace("diameter: 63.5", &format!("diameter: {:.2}", bore + 4.3));
            let found = findings(&taken);
            let one = flow_of(&found);
            assert_eq!(one.verdict == Verdict::Clear, clear, "{flow}: {message}; {bore}: {}", one.message);
        }
    }
}

fn flow_of(findings: &Findings) -> &Finding {
    let [one] = flow(findings)[..] else { panic!("{:?}", findings.list) };
    one
}

/// Exhaust's density is good to 5 in a hundred, so its velocity is too: 0.1 kg/s at 120 kPa and 800 deg C in 59.2 mm begins
/// with 0.1 / (120e3 / (288 * 1073.15) * pi / 4 * 0.0592^2) = 93.6 m/s, and lies between 89 and 99.
#[test]
fn a_velocity_is_judged_by_what_it_may_be() {
    let exhaust = "of: exhaust, kg_per_s: 0.1, temperature: 800, pressure: 120";
    for (most, want) in [
        (85.0, Verdict::Short),
        (92.0, Verdict::Undecided),
        (96.0, Verdict::Undecided),
        (102.0, Verdict::Clear),
    ] {
        let found = findings(&with_flow(&format!("{exhaust}, most_velocity: {most}")));
        assert_eq!(flow_of(&found).verdict, want, "{most}: {}", flow_of(&found).message);
        assert!(flow_of(&found).message.contains("m/s (within 89."), "{}", flow_of(&found).message);
    }
}

/// A metre of 38 mm, air of 60 deg C and 150 kPa (`src/calc/flow/tests.rs`): 0.36 kg/s pass by the figures as taken and choke
/// with 15 in a hundred more friction, 0.37 the other way round, 0.40 choke either way.
#[test]
fn what_may_choke_and_may_not_is_undecided() {
    for (mass, limits, want, words) in [
        (0.36, ", most_loss: 45", Verdict::Undecided, "loses 29.17 kPa (within 22.06 to choking)"),
        (0.36, "", Verdict::Undecided, "Mach 0.7"),
        (0.36, ", most_loss: 20", Verdict::Short, "within 22.06 to choking"),
        (0.37, ", most_loss: 45", Verdict::Undecided, "it passes and loses 26.65 kPa"),
        (0.37, ", most_loss: 20", Verdict::Short, "it passes and loses 26.65 kPa"),
        (0.40, ", most_loss: 45", Verdict::Short, "chokes in part 1"),
    ] {
        let text = with_flow(&format!("of: air, kg_per_s: {mass}, temperature: 60, pressure: 150{limits}"));
        let found = findings(&text.replace("diameter: 63.5", "diameter: 42.3"));
        assert_eq!(flow_of(&found).verdict, want, "{mass}{limits}: {}", flow_of(&found).message);
        assert!(flow_of(&found).message.contains(words), "{mass}{limits}: {}", flow_of(&found).message);
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
