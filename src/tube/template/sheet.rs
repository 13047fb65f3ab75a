//! A template before it is drawn.

use nalgebra::Point2;

/// Side of the square by which a print is checked, mm.
pub const CHECK_SQUARE_MM: f64 = 50.0;

/// A word on a template.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where it starts: its lower left corner.
    pub at: Point2<f64>,
    /// The word.
    pub text: String,
}

/// What is drawn, in millimetres on paper: x round the tube, y along it.
#[derive(Clone, Debug, PartialEq)]
pub struct Template {
    /// What it is.
    pub title: String,
    /// Outside diameter of the tube that it is wrapped round, mm.
    pub wrap_mm: f64,
    /// The curve of the cut itself: over a whole turn, or closed for a hole.
    pub cut: Vec<Point2<f64>>,
    /// A second cut (the other end of a segment); empty when there is none.
    pub far_cut: Vec<Point2<f64>>,
    /// Straight edges of the paper and lines to set it by.
    pub lines: Vec<[Point2<f64>; 2]>,
    /// Words.
    pub labels: Vec<Label>,
    /// Height of the cut every 30 degrees round the tube: degrees and mm, as a handbook lists it.
    pub ordinates: Vec<(f64, f64)>,
    /// Sentences beside the drawing.
    pub notes: Vec<String>,
}

impl Template {
    /// The least box that holds all that is drawn: its lower and upper corners.
    pub fn extent(&self) -> [Point2<f64>; 2] {
        let ends = self.lines.iter().flatten();
        let mut low = Point2::new(f64::INFINITY, f64::INFINITY);
        let mut high = -low;
        for point in self.cut.iter().chain(&self.far_cut).chain(ends) {
            low = low.inf(point);
            high = high.sup(point);
        }
        [low, high]
    }

    /// The same on paper of this thickness, mm: wrapped round the tube its middle lies half of that further out, so
    /// that the drawing is made so much longer round.
    pub fn on_paper(mut self, paper_mm: f64) -> Template {
        let share = 1.0 + paper_mm / self.wrap_mm;
        let points = self.cut.iter_mut().chain(&mut self.far_cut).chain(self.lines.iter_mut().flatten());
        for point in points {
            point.x *= share;
        }
        for label in &mut self.labels {
            label.at.x *= share;
        }
        self
    }

    /// Vertical lines at the quarters of a turn with their angles, and the two edges that meet.
    pub(super) fn set_by_quarters(&mut self, around_mm: f64, low_mm: f64, high_mm: f64) {
        for quarter in 0..=4u32 {
            let x = around_mm * f64::from(quarter) / 4.0;
            self.lines.push([Point2::new(x, low_mm), Point2::new(x, high_mm)]);
            if quarter < 4 {
                let text = format!("{}", quarter * 90);
                self.labels.push(Label { at: Point2::new(x + 1.5, high_mm - 5.0), text });
            }
        }
    }
}
