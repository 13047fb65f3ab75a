//! A template as SVG in millimetres: one drawing, as large as it needs to be.

use std::fmt::Write as _;

use nalgebra::Point2;

use super::pages::MARGIN_MM;
use super::sheet::{CHECK_SQUARE_MM, Template};

/// The template as an SVG document (W3C SVG 1.1) whose user units are millimetres. Print it at 100 %: the square must
/// then measure 50 mm both ways.
pub fn template_svg(template: &Template) -> String {
    let [low, high] = template.extent();
    let text_lines = template.notes.len() + 3;
    let foot = (CHECK_SQUARE_MM + 10.0).max(5.0 * text_lines as f64 + 5.0);
    let width = (high.x - low.x).max(CHECK_SQUARE_MM + 110.0) + 2.0 * MARGIN_MM;
    let height = high.y - low.y + foot + 2.0 * MARGIN_MM;
    // y runs down in SVG.
    let at = |point: &Point2<f64>| (point.x - low.x + MARGIN_MM, high.y - point.y + MARGIN_MM);
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.3}mm\" height=\"{height:.3}mm\" \
         viewBox=\"0 0 {width:.3} {height:.3}\">"
    );
    let _ = writeln!(out, "<title>{}</title>", escaped(&template.title));
    let _ = writeln!(out, "<rect width=\"{width:.3}\" height=\"{height:.3}\" fill=\"white\"/>");
    for (id, curve) in [("cut", &template.cut), ("far-cut", &template.far_cut)] {
        if curve.is_empty() {
            continue;
        }
        let _ = write!(out, "<path id=\"{id}\" fill=\"none\" stroke=\"black\" stroke-width=\"0.25\" d=\"");
        for (index, point) in curve.iter().enumerate() {
            let (x, y) = at(point);
            let _ = write!(out, "{}{x:.4} {y:.4}", if index == 0 { "M" } else { " L" });
        }
        let _ = writeln!(out, "\"/>");
    }
    for [from, to] in &template.lines {
        let ((x1, y1), (x2, y2)) = (at(from), at(to));
        let _ = writeln!(
            out,
            "<line x1=\"{x1:.4}\" y1=\"{y1:.4}\" x2=\"{x2:.4}\" y2=\"{y2:.4}\" stroke=\"black\" stroke-width=\"0.15\"/>"
        );
    }
    let mut text = |x: f64, y: f64, words: &str| {
        let _ = writeln!(
            out,
            "<text x=\"{x:.3}\" y=\"{y:.3}\" font-family=\"sans-serif\" font-size=\"3.5\">{}</text>",
            escaped(words)
        );
    };
    for label in &template.labels {
        let (x, y) = at(&label.at);
        text(x, y, &label.text);
    }
    let top = high.y - low.y + MARGIN_MM + 5.0;
    let beside = MARGIN_MM + CHECK_SQUARE_MM + 5.0;
    text(beside, top + 4.0, &template.title);
    text(beside, top + 9.0, &square_words());
    for (index, note) in template.notes.iter().enumerate() {
        text(beside, top + 14.0 + 5.0 * index as f64, note);
    }
    let _ = writeln!(
        out,
        "<rect id=\"check-square\" x=\"{MARGIN_MM:.3}\" y=\"{top:.3}\" width=\"{CHECK_SQUARE_MM:.3}\" \
         height=\"{CHECK_SQUARE_MM:.3}\" fill=\"none\" stroke=\"black\" stroke-width=\"0.25\"/>\n</svg>"
    );
    out
}

/// What stands beside the check square.
pub(super) fn square_words() -> String {
    format!("Print at 100 %: the square must measure {CHECK_SQUARE_MM:.0} mm both ways.")
}

pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
