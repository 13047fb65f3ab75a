//! A branch that meets a header: the branch's cut and the header's hole.

use std::f64::consts::{PI, TAU};

use nalgebra::Point2;

use super::sheet::{Label, Template};
use super::unroll::unroll;

/// Paper beyond the cut, mm.
const SKIRT_MM: f64 = 25.0;
/// Least angle between the two tubes, rad: under it the cut gets longer than any paper.
const LEAST_RAD: f64 = 15.0 * PI / 180.0;

/// A round branch that meets a round header at least as wide.
///
/// The angle is between the two axes; phi goes round the branch from the side of the acute angle, positive
/// toward the offset. Heights are along the branch from where the axes cross (or, with an offset, pass
/// nearest).
///
/// # Example
/// Equal 50.8 mm tubes at a right angle: heights R cos(phi) at 0, 30, 60 and 90 degrees (closed form).
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::tube::Saddle;
/// let tee = Saddle::new(50.8, 50.8, 90f64.to_radians(), 0.0).unwrap();
/// for (deg, want) in [(0.0f64, 25.4), (30.0, 21.9970), (60.0, 12.7), (90.0, 0.0)] {
///     assert!((tee.height_mm(deg.to_radians()) - want).abs() < 1e-4);
/// }
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Saddle {
    header_mm: f64,
    branch_mm: f64,
    fit_mm: f64,
    angle_rad: f64,
    offset_mm: f64,
}

/// Why a saddle cannot be.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SaddleError {
    /// A size is not over zero.
    #[error("{what} is {value_mm:.3} mm; it must be over zero and finite")]
    Size {
        /// Which.
        what: &'static str,
        /// What it was.
        value_mm: f64,
    },
    /// The offset is no length.
    #[error("the offset is {value_mm} mm; it must be finite")]
    Offset {
        /// What it was.
        value_mm: f64,
    },
    /// The tubes run too nearly side by side.
    #[error("the tubes meet at {angle_deg:.2} deg; a template can be made from {least_deg:.0} to {:.0} deg", 180.0 - least_deg)]
    Angle {
        /// What it was.
        angle_deg: f64,
        /// The least.
        least_deg: f64,
    },
    /// The branch does not meet the header all round.
    #[error(
        "a branch of {branch_mm:.3} mm that passes {offset_mm:.3} mm beside the axis of a header of {header_mm:.3} mm \
         does not meet it all round; at that offset a branch of up to {most_branch_mm:.3} mm does{}",
        most_offset(*header_mm, *branch_mm)
    )]
    Overhangs {
        /// Outside diameter of the branch.
        branch_mm: f64,
        /// Outside diameter of the header.
        header_mm: f64,
        /// Offset.
        offset_mm: f64,
        /// The widest branch at that offset.
        most_branch_mm: f64,
    },
}

fn most_offset(header_mm: f64, branch_mm: f64) -> String {
    if branch_mm <= header_mm {
        format!(", or this branch offset by up to {:.3} mm", (header_mm - branch_mm) / 2.0)
    } else {
        ", and this branch at none: let it be the header".to_owned()
    }
}

impl Saddle {
    /// A branch that meets a header; outside diameters, the angle between the axes, and how far the branch's axis
    /// passes beside the header's.
    ///
    /// # Errors
    /// [`SaddleError`] with what would do.
    pub fn new(header_mm: f64, branch_mm: f64, angle_rad: f64, offset_mm: f64) -> Result<Self, SaddleError> {
        for (what, value_mm) in [("the header's diameter", header_mm), ("the branch's diameter", branch_mm)] {
            if !(value_mm > 0.0 && value_mm.is_finite()) {
                return Err(SaddleError::Size { what, value_mm });
            }
        }
        if !offset_mm.is_finite() {
            return Err(SaddleError::Offset { value_mm: offset_mm });
        }
        if !(LEAST_RAD - 1e-9..=PI - LEAST_RAD + 1e-9).contains(&angle_rad) {
            let (angle_deg, least_deg) = (angle_rad.to_degrees(), LEAST_RAD.to_degrees());
            return Err(SaddleError::Angle { angle_deg, least_deg });
        }
        if offset_mm.abs() + branch_mm / 2.0 > header_mm / 2.0 + 1e-9 {
            let most_branch_mm = (header_mm - 2.0 * offset_mm.abs()).max(0.0);
            return Err(SaddleError::Overhangs { branch_mm, header_mm, offset_mm, most_branch_mm });
        }
        Ok(Saddle { header_mm, branch_mm, fit_mm: branch_mm, angle_rad, offset_mm })
    }

    /// The same cut so that the branch's inner edge meets the header: for a wall that is cut square to the tube and
    /// would else stand on its outer edge. The template is still wrapped round the outside.
    ///
    /// # Errors
    /// [`SaddleError::Size`] for a wall that leaves no bore.
    pub fn fitted_inside(self, wall_mm: f64) -> Result<Self, SaddleError> {
        let fit_mm = self.branch_mm - 2.0 * wall_mm;
        if !(wall_mm >= 0.0 && fit_mm > 0.0) {
            return Err(SaddleError::Size { what: "the branch's bore", value_mm: fit_mm });
        }
        Ok(Saddle { fit_mm, ..self })
    }

    /// Height of the cut at an angle round the branch, mm.
    ///
    /// z = (sqrt(R^2 - (r sin phi + e)^2) + r cos phi cos theta) / sin theta, the intersection of two cylinders.
    pub fn height_mm(&self, around_rad: f64) -> f64 {
        let (header, fit) = (self.header_mm / 2.0, self.fit_mm / 2.0);
        let (sin, cos) = around_rad.sin_cos();
        let beside = fit * sin + self.offset_mm;
        let above = (header * header - beside * beside).max(0.0).sqrt();
        (above + fit * cos * self.angle_rad.cos()) / self.angle_rad.sin()
    }

    /// The hole's edge at an angle round the branch, unrolled about the header: round it from the line that faces the
    /// branch, and along it from where the two axes pass each other toward the acute angle, mm.
    pub fn hole_at(&self, around_rad: f64) -> Point2<f64> {
        let (header, fit) = (self.header_mm / 2.0, self.fit_mm / 2.0);
        let (sin, cos) = around_rad.sin_cos();
        let beside = fit * sin + self.offset_mm;
        let above = (header * header - beside * beside).max(0.0).sqrt();
        let along = self.height_mm(around_rad) * self.angle_rad.cos() + fit * cos * self.angle_rad.sin();
        Point2::new(header * beside.atan2(above), along)
    }

    fn words(&self) -> String {
        format!(
            "branch {:.2} mm on header {:.2} mm at {:.2} deg, offset {:.2} mm",
            self.branch_mm,
            self.header_mm,
            self.angle_rad.to_degrees(),
            self.offset_mm
        )
    }

    /// The template of the branch's cut: the branch lies above the curve, the header below it.
    pub fn cut(&self) -> Template {
        let radius = self.branch_mm / 2.0;
        let cut = unroll(|around| Point2::new(radius * around, self.height_mm(around)));
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for point in &cut {
            (low, high) = (low.min(point.y), high.max(point.y));
        }
        let (around_mm, edge) = (TAU * radius, high + SKIRT_MM);
        let mut template = Template {
            title: format!("saddle: {}", self.words()),
            wrap_mm: self.branch_mm,
            cut,
            far_cut: Vec::new(),
            lines: vec![[Point2::new(0.0, edge), Point2::new(around_mm, edge)]],
            labels: Vec::new(),
            ordinates: ordinates(|around| self.height_mm(around)),
            notes: vec![
                "Wrap round the branch, 0 on the side of the acute angle; the branch is above the curve."
                    .to_owned(),
                format!("The straight edge is {edge:.2} mm along the branch from where the axes pass."),
                "90 lies toward the offset.".to_owned(),
            ],
        };
        if self.fit_mm < self.branch_mm {
            let note = "The cut is for the inner edge of the wall: cut square to the tube.";
            template.notes.push(note.to_owned());
        }
        template.set_by_quarters(around_mm, low, edge);
        template
    }

    /// The template of the header's hole, about the line that faces the branch.
    pub fn hole(&self) -> Template {
        let cut = unroll(|around| self.hole_at(around));
        let reach = |axis: usize| {
            let ends = cut.iter().map(|point| point[axis]);
            let (low, high) = ends.fold((0.0f64, 0.0f64), |(low, high), at| (low.min(at), high.max(at)));
            (low - 10.0, high + 10.0)
        };
        let ((left, right), (low, high)) = (reach(0), reach(1));
        // Where the branch's axis comes through the header's side, from where the axes pass.
        let header = self.header_mm / 2.0;
        let through = (header * header - self.offset_mm * self.offset_mm).sqrt() / self.angle_rad.tan();
        Template {
            title: format!("hole: {}", self.words()),
            wrap_mm: self.header_mm,
            cut,
            far_cut: Vec::new(),
            lines: vec![
                [Point2::new(left, 0.0), Point2::new(right, 0.0)],
                [Point2::new(0.0, low), Point2::new(0.0, high)],
            ],
            labels: vec![Label { at: Point2::new(1.5, high - 5.0), text: "0, toward the acute angle".to_owned() }],
            ordinates: Vec::new(),
            notes: vec![
                "Lay the upright line along the header where it faces the branch, the cross where the axes pass."
                    .to_owned(),
                format!("The branch's axis comes through {through:.2} mm above the cross."),
                "Positive offset lies to the right.".to_owned(),
            ],
        }
    }
}

/// Heights every 30 degrees.
pub(super) fn ordinates(height_mm: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    (0..12u32).map(|step| f64::from(step) * 30.0).map(|deg| (deg, height_mm(deg.to_radians()))).collect()
}
