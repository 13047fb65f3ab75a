//! A template as PDF, true to scale, on as many pages as it needs.

use std::fmt::Write as _;

use nalgebra::Point2;

use super::pages::{FOOT_MM, MARGIN_MM, Page, Paper, pages};
use super::sheet::{CHECK_SQUARE_MM, Template};
use super::svg::square_words;

/// Points of PDF (1/72 in) in a millimetre.
pub(super) const POINTS: f64 = 72.0 / 25.4;

/// The template as a PDF document (ISO 32000-1: a classic cross-reference table, lines and one standard font, nothing
/// compressed). Every page carries a 50 mm square to check the printer by. The same template gives the same bytes.
pub fn template_pdf(template: &Template, paper: Paper) -> Vec<u8> {
    let shown = pages(template, paper);
    let [width, height] = paper.size_mm().map(|mm| mm * POINTS);
    // Objects 1 to 3 are catalogue, page tree and font; then a page and its content for each page.
    let kids: Vec<String> = (0..shown.len()).map(|page| format!("{} 0 R", 4 + 2 * page)).collect();
    let mut objects = vec![
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        format!("<< /Type /Pages /Kids [{}] /Count {} >>", kids.join(" "), shown.len()),
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>".to_owned(),
    ];
    for (index, page) in shown.iter().enumerate() {
        let content = content(template, page, index + 1, shown.len());
        objects.push(format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width:.4} {height:.4}] /Resources << /Font << /F 3 0 R >> >> \
             /Contents {} 0 R >>",
            5 + 2 * index
        ));
        objects.push(format!("<< /Length {} >>\nstream\n{content}endstream", content.len()));
    }
    written(&objects)
}

/// Objects with header, cross-references and trailer.
pub(super) fn written(objects: &[String]) -> Vec<u8> {
    let mut out = "%PDF-1.4\n".to_owned();
    let mut places = Vec::with_capacity(objects.len());
    for (index, object) in objects.iter().enumerate() {
        places.push(out.len());
        // Writing to a String cannot fail.
        let _ = write!(out, "{} 0 obj\n{object}\nendobj\n", index + 1);
    }
    let table = out.len();
    let _ = write!(out, "xref\n0 {}\n0000000000 65535 f \n", objects.len() + 1);
    for place in places {
        let _ = writeln!(out, "{place:010} 00000 n ");
    }
    let size = objects.len() + 1;
    let _ = write!(out, "trailer\n<< /Size {size} /Root 1 0 R >>\nstartxref\n{table}\n%%EOF\n");
    out.into_bytes()
}

fn content(template: &Template, page: &Page, number: usize, of: usize) -> String {
    let mut out = String::new();
    // Millimetres from here on; round joins keep the corners of curves where they are.
    let _ = writeln!(out, "q {POINTS:.8} 0 0 {POINTS:.8} 0 0 cm 1 j 1 J");
    let [low, high] = [page.low, page.high].map(|corner| corner + page.shift);
    let (wide, tall) = (high.x - low.x, high.y - low.y);
    let _ = writeln!(out, "q {:.4} {:.4} {wide:.4} {tall:.4} re W n", low.x, low.y);
    let at = |point: &Point2<f64>| point + page.shift;
    let _ = writeln!(out, "0.25 w");
    for curve in [&template.cut, &template.far_cut] {
        for (index, point) in curve.iter().enumerate() {
            let at = at(point);
            let _ = writeln!(out, "{:.4} {:.4} {}", at.x, at.y, if index == 0 { "m" } else { "l" });
        }
        if !curve.is_empty() {
            let _ = writeln!(out, "S");
        }
    }
    let _ = writeln!(out, "0.15 w");
    for [from, to] in &template.lines {
        let (from, to) = (at(from), at(to));
        let _ = writeln!(out, "{:.4} {:.4} m {:.4} {:.4} l S", from.x, from.y, to.x, to.y);
    }
    for label in &template.labels {
        let at = at(&label.at);
        text(&mut out, at.x, at.y, &label.text);
    }
    let _ = writeln!(out, "Q 0.25 w");
    let _ = writeln!(out, "{MARGIN_MM:.4} {MARGIN_MM:.4} {CHECK_SQUARE_MM:.4} {CHECK_SQUARE_MM:.4} re S");
    let beside = MARGIN_MM + CHECK_SQUARE_MM + 5.0;
    let mut y = MARGIN_MM + FOOT_MM - 9.0;
    let mut words = vec![template.title.clone(), square_words()];
    words.extend(template.notes.iter().cloned());
    if of > 1 {
        words
            .push(format!("Page {number} of {of}: lay neighbours over each other by 10 mm, to the crosses."));
        for corner in [low, Point2::new(high.x, low.y), Point2::new(low.x, high.y), high] {
            for arm in [[3.0, 0.0], [0.0, 3.0]] {
                let (x, y) = (corner.x, corner.y);
                let _ = writeln!(
                    out,
                    "{:.4} {:.4} m {:.4} {:.4} l S",
                    x - arm[0],
                    y - arm[1],
                    x + arm[0],
                    y + arm[1]
                );
            }
        }
    }
    for line in words {
        text(&mut out, beside, y, &line);
        y -= 5.0;
    }
    let _ = writeln!(out, "Q");
    out
}

/// A line of text, 3.5 mm high. What the font's one-byte letters do not have becomes a question mark.
fn text(out: &mut String, x: f64, y: f64, words: &str) {
    sized_text(out, x, y, 3.5, words);
}

/// A line of text of that height, mm.
pub(super) fn sized_text(out: &mut String, x: f64, y: f64, size: f64, words: &str) {
    let _ = write!(out, "BT /F {size} Tf {x:.4} {y:.4} Td (");
    for letter in words.chars() {
        match letter {
            '(' | ')' | '\\' => {
                out.push('\\');
                out.push(letter);
            }
            ' '..='~' => out.push(letter),
            '\u{a1}'..='\u{ff}' => {
                let _ = write!(out, "\\{:03o}", letter as u32);
            }
            _ => out.push('?'),
        }
    }
    let _ = writeln!(out, ") Tj ET");
}
