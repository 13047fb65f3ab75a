//! Leaves of paper with lines and words: forms to fill in by hand, as SVG and PDF.

use std::fmt::Write as _;

use nalgebra::Point2;

use super::pages::Paper;
use super::pdf::{POINTS, sized_text, written};
use super::svg::escaped;

/// One leaf, laid upright; places in millimetres from its lower left corner.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Leaf {
    /// Lines, each with its width, mm.
    pub lines: Vec<([Point2<f64>; 2], f64)>,
    /// Words: where their left end stands, height of the letters in mm, the words.
    pub words: Vec<(Point2<f64>, f64, String)>,
}

/// Width and height of an upright leaf, mm.
pub fn leaf_size_mm(paper: Paper) -> [f64; 2] {
    let [wide, tall] = paper.size_mm();
    [tall, wide]
}

/// Leaves as a PDF document, one a page (ISO 32000-1). The same leaves give the same bytes.
pub fn leaves_pdf(leaves: &[Leaf], paper: Paper) -> Vec<u8> {
    let [width, height] = leaf_size_mm(paper).map(|mm| mm * POINTS);
    let kids: Vec<String> = (0..leaves.len()).map(|page| format!("{} 0 R", 4 + 2 * page)).collect();
    let mut objects = vec![
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        format!("<< /Type /Pages /Kids [{}] /Count {} >>", kids.join(" "), leaves.len()),
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding >>".to_owned(),
    ];
    for (index, leaf) in leaves.iter().enumerate() {
        let mut content = String::new();
        // Writing to a String cannot fail.
        let _ = writeln!(content, "q {POINTS:.8} 0 0 {POINTS:.8} 0 0 cm");
        for ([from, to], wide) in &leaf.lines {
            let _ =
                writeln!(content, "{wide:.3} w {:.3} {:.3} m {:.3} {:.3} l S", from.x, from.y, to.x, to.y);
        }
        for (at, size, words) in &leaf.words {
            sized_text(&mut content, at.x, at.y, *size, words);
        }
        let _ = writeln!(content, "Q");
        objects.push(format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 {width:.4} {height:.4}] /Resources << /Font << /F 3 0 R >> >> \
             /Contents {} 0 R >>",
            5 + 2 * index
        ));
        objects.push(format!("<< /Length {} >>\nstream\n{content}endstream", content.len()));
    }
    written(&objects)
}

/// Leaves as one SVG document (W3C SVG 1.1), under each other; user units are millimetres.
pub fn leaves_svg(leaves: &[Leaf], paper: Paper) -> String {
    let [width, tall] = leaf_size_mm(paper);
    let height = tall * leaves.len() as f64;
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.3}mm\" height=\"{height:.3}mm\" \
         viewBox=\"0 0 {width:.3} {height:.3}\">\n<rect width=\"{width:.3}\" height=\"{height:.3}\" fill=\"white\"/>"
    );
    for (index, leaf) in leaves.iter().enumerate() {
        // y runs down in SVG.
        let down = |y: f64| tall * (index + 1) as f64 - y;
        for ([from, to], wide) in &leaf.lines {
            let _ = writeln!(
                out,
                "<line x1=\"{:.3}\" y1=\"{:.3}\" x2=\"{:.3}\" y2=\"{:.3}\" stroke=\"black\" stroke-width=\"{wide:.3}\"/>",
                from.x,
                down(from.y),
                to.x,
                down(to.y)
            );
        }
        for (at, size, words) in &leaf.words {
            let _ = writeln!(
                out,
                "<text x=\"{:.3}\" y=\"{:.3}\" font-family=\"sans-serif\" font-size=\"{size:.2}\">{}</text>",
                at.x,
                down(at.y),
                escaped(words)
            );
        }
    }
    out.push_str("</svg>\n");
    out
}
