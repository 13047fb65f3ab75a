//! Laying a template on pages.

use nalgebra::{Point2, Vector2};

use super::sheet::{CHECK_SQUARE_MM, Template};

/// Paper, laid sideways: templates are wider than tall.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 297 x 210 mm (ISO 216).
    #[default]
    A4,
    /// 11 x 8.5 in.
    Letter,
}

impl Paper {
    /// Width and height, mm.
    pub const fn size_mm(self) -> [f64; 2] {
        match self {
            Paper::A4 => [297.0, 210.0],
            Paper::Letter => [279.4, 215.9],
        }
    }
}

/// What printers leave white, mm.
pub(super) const MARGIN_MM: f64 = 10.0;
/// Strip at the foot of a page for the check square and the words, mm.
pub(super) const FOOT_MM: f64 = CHECK_SQUARE_MM + 6.0;
/// How far two pages show the same, to lay them over each other, mm.
const OVERLAP_MM: f64 = 10.0;

/// One page: which part of the drawing it shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Page {
    /// Lower left corner of the window, in the drawing.
    pub low: Point2<f64>,
    /// Its upper right corner.
    pub high: Point2<f64>,
    /// From the drawing to the page, whose origin is its lower left corner.
    pub shift: Vector2<f64>,
}

/// Pages that together show the whole drawing, row by row from the top left, each overlapping the next.
pub(super) fn pages(template: &Template, paper: Paper) -> Vec<Page> {
    let [low, high] = template.extent();
    let [width, height] = paper.size_mm();
    let window = Vector2::new(width - 2.0 * MARGIN_MM, height - 2.0 * MARGIN_MM - FOOT_MM);
    let size = high - low;
    let count = |axis: usize| {
        let beyond = (size[axis] - window[axis]).max(0.0);
        1 + (beyond / (window[axis] - OVERLAP_MM) - 1e-9).ceil().max(0.0) as usize
    };
    let mut out = Vec::new();
    for row in 0..count(1) {
        for column in 0..count(0) {
            let left = low.x + column as f64 * (window.x - OVERLAP_MM);
            let top = high.y - row as f64 * (window.y - OVERLAP_MM);
            let corner = Point2::new(left, top - window.y);
            let shift = Vector2::new(MARGIN_MM, MARGIN_MM + FOOT_MM) - corner.coords;
            out.push(Page { low: corner, high: Point2::new(left + window.x, top), shift });
        }
    }
    out
}
