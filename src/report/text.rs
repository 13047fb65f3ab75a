//! Findings as text that reads well in 80 columns without colour.

use std::fmt::Write as _;

use nalgebra::{Point3, Vector3};

use crate::check::{Figure, FigureUnit, Finding, Findings, Verdict};
use crate::motion::Freedom;
use crate::scene::Scene;
use crate::space::{Angle, Direction, Length};

use super::CAUTIONS;
use super::fits::look_at;
use super::table::{Set, item, table, wrapped};

/// The report on a scene: what was asked, a table of findings worst first, each in full, what was not
/// checked, cautions. Ends with a line break.
pub fn findings_text(scene: &Scene, findings: &Findings) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(out, "{}\n{}", wrapped(&scene.title, 0), wrapped(&scene_line(scene), 0));
    let _ = writeln!(out);
    if findings.list.is_empty() {
        let _ = writeln!(out, "No findings: everything examined is clear.");
    } else {
        let rows: Vec<Vec<String>> = findings.list.iter().enumerate().map(row).collect();
        let heads = [
            ("#", Set::Right),
            ("verdict", Set::Left),
            ("what", Set::Left),
            ("gap", Set::Right),
            ("need", Set::Right),
            ("U", Set::Right),
            ("at rest", Set::Right),
        ];
        let _ = writeln!(out, "{}", table(&heads, 2, &rows));
        let _ = writeln!(
            out,
            "  mm; gap: least over all movement; U: its expanded uncertainty, k = 2;\n  negative: overlap depth"
        );
    }
    let _ = writeln!(out, "\n{}\n", wrapped(&summary(findings), 0));
    for (at, finding) in findings.list.iter().enumerate() {
        if finding.verdict != Verdict::Clear || finding.code == "caution" {
            let _ = writeln!(out, "{}", in_full(at + 1, finding, findings));
        }
    }
    if !findings.joined.is_empty() {
        let _ = writeln!(out, "Declared joined, so not judged (gap as measured, mm):");
        for pair in &findings.joined {
            let gap = pair.gap.map_or_else(|| "overlapping".to_owned(), |gap| format!("{:.1}", tidy(gap)));
            let told = format!("{} / {}: {gap} by {}", pair.one, pair.other, pair.by);
            let _ = writeln!(out, "{}", item("  -", 4, &told));
        }
        let _ = writeln!(out);
    }
    let look_at = look_at(scene);
    if !look_at.is_empty() {
        let _ = writeln!(out, "Measurements to look at:");
        for line in &look_at {
            let _ = writeln!(out, "{}", item("  -", 4, line));
        }
        let _ = writeln!(out);
    }
    if !findings.not_checked.is_empty() {
        let _ = writeln!(out, "Not checked:");
        for line in &findings.not_checked {
            let _ = writeln!(out, "{}", item("  -", 4, line));
        }
        let _ = writeln!(out);
    }
    let _ = writeln!(out, "Cautions:");
    for line in CAUTIONS {
        let _ = writeln!(out, "{}", item("  -", 4, line));
    }
    out
}

fn scene_line(scene: &Scene) -> String {
    let mut said = vec![format!("{} bodies", scene.bodies.len())];
    for carrier in &scene.carriers {
        let moves: Vec<String> = carrier
            .movement
            .freedoms
            .iter()
            .zip(&carrier.freedom_words)
            .map(|(freedom, word)| match freedom {
                Freedom::Turn { from_rad, to_rad, .. } => {
                    let deg = |rad: f64| Angle::from_rad(rad).deg();
                    format!("{word} {:+.1} to {:+.1} deg", deg(*from_rad), deg(*to_rad))
                }
                Freedom::Slide { from_mm, to_mm, .. } => format!("{word} {from_mm:+.1} to {to_mm:+.1} mm"),
            })
            .collect();
        if !moves.is_empty() {
            said.push(format!("{} {}", carrier.name, moves.join(", ")));
        }
    }
    said.join("; ")
}

fn row((at, finding): (usize, &Finding)) -> Vec<String> {
    let short = |length: Option<Length>| length.map_or_else(|| "-".to_owned(), |l| format!("{:.1}", tidy(l)));
    // What was judged by degrees or a share shows those.
    let judged = finding.figures.iter().find(|figure| {
        figure.verdict == finding.verdict && figure.unit != FigureUnit::Mm && figure.required.is_some()
    });
    let judged = judged.filter(|_| finding.required.is_none());
    let other = |pick: fn(&Figure) -> Option<f64>| {
        judged.map(|figure| {
            pick(figure).map_or_else(|| "-".to_owned(), |value| format!("{value:.0} {}", figure.unit.word()))
        })
    };
    vec![
        (at + 1).to_string(),
        word(finding).to_owned(),
        what(finding),
        other(|figure| figure.actual).unwrap_or_else(|| short(finding.actual)),
        other(|figure| figure.required).unwrap_or_else(|| short(finding.required)),
        other(|figure| figure.uncertainty).unwrap_or_else(|| short(finding.uncertainty)),
        short(if finding.code == "room" { finding.at_rest.or(finding.actual) } else { None }),
    ]
}

/// A caution is no verdict.
fn word(finding: &Finding) -> &'static str {
    if finding.code == "caution" { "caution" } else { finding.verdict.word() }
}

fn what(finding: &Finding) -> String {
    match finding.code {
        "room" => finding.bodies.join(" / "),
        code => format!("{code}: {}", finding.bodies.join(" / ")),
    }
}

/// Millimetres without a negative zero.
fn tidy(length: Length) -> f64 {
    if length.mm().abs() < 0.05 { 0.0 } else { length.mm() }
}

fn summary(findings: &Findings) -> String {
    let counts: Vec<String> = [Verdict::Touching, Verdict::Short, Verdict::Undecided]
        .iter()
        .map(|verdict| format!("{} {}", findings.count(*verdict), verdict.word()))
        .collect();
    let pairs = findings.pairs;
    let examined = pairs.by_rule + pairs.by_default;
    if examined + pairs.joined + pairs.kept == 0 {
        return format!("{}.", counts.join(", "));
    }
    format!(
        "{}. Of {examined} pairs examined ({} by a room rule, {} that they do not meet) {} are clear; {} are \
         joined; {} of kept equipment are taken as found.",
        counts.join(", "),
        pairs.by_rule,
        pairs.by_default,
        pairs.clear,
        pairs.joined,
        pairs.kept
    )
}

fn in_full(number: usize, finding: &Finding, findings: &Findings) -> String {
    let mark = format!("{number}.");
    let mut lines = vec![item(&mark, 4, &format!("{}: {}", word(finding).to_uppercase(), finding.message))];
    let mut add = |what: &str, text: String| lines.push(item("", 4, &format!("{what} {text}")));
    add("rule:", format!("{} - {}", finding.rule, finding.because));
    if let Some(at_rest) = finding.at_rest {
        add("at rest:", format!("{at_rest}"));
    }
    if let Some(place) = &finding.place {
        let (first, second) = (xyz(&place.on_first), xyz(&place.on_second));
        // A place in one body's way is the same on both.
        let both = if first == second { first } else { format!("{first} to {second}") };
        add("where:", format!("{both} (x rearward, y right, z up)"));
    }
    if let Some(gap) = findings.readings_for(finding) {
        for narrowing in &gap.narrow {
            add("to narrow it:", narrowing.words());
        }
        if let Some(spread) = gap.spread {
            add(
                "between vehicles:",
                format!(
                    "{spread} of this U is how the bodies stray from vehicle to vehicle; measure this very vehicle"
                ),
            );
        }
    }
    if let Some(cure) = &finding.cure {
        let sure = if cure.proved {
            "then every pair of it is clear"
        } else {
            "cures this pair; others to be checked"
        };
        add("cure:", format!("move `{}` {} ({sure})", cure.body, shift_words(&cure.shift)));
    }
    lines.join("\n") + "\n"
}

fn xyz(point: &Point3<f64>) -> String {
    let [x, y, z] = [point.x, point.y, point.z].map(|mm| tidy(Length::from_mm(mm)));
    format!("({x:.1}, {y:.1}, {z:.1})")
}

/// A shift as a person sets it: `12.5 mm forward, 3.0 mm up`.
pub(super) fn shift_words(shift: &Vector3<f64>) -> String {
    let axes = [
        (shift.x, Direction::Forward, Direction::Rearward),
        (shift.y, Direction::Left, Direction::Right),
        (shift.z, Direction::Down, Direction::Up),
    ];
    let moves: Vec<String> = axes
        .iter()
        .filter(|(mm, _, _)| mm.abs() >= 0.05)
        .map(|(mm, negative, positive)| {
            format!("{:.1} mm {}", mm.abs(), if *mm < 0.0 { negative.word() } else { positive.word() })
        })
        .collect();
    if moves.is_empty() { "not at all".to_owned() } else { moves.join(", ") }
}
