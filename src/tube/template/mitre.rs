//! A tube cut off at an angle, at one end or both.

use std::f64::consts::{PI, TAU};

use nalgebra::Point2;

use super::saddle::ordinates;
use super::sheet::Template;
use super::unroll::unroll;
use crate::tube::{PieCuts, TubeError};

/// Paper beyond a single cut, mm.
const SKIRT_MM: f64 = 25.0;
/// Steepest cut from square, rad.
const STEEPEST_RAD: f64 = 75.0 * PI / 180.0;

/// A plane cut through a round tube; two of them make a segment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mitre {
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Angle of the cut from square, rad: half of what the joint turns.
    pub cut_rad: f64,
    /// For a segment: its centreline length, mm, the other cut from square, and how far the other cut is turned
    /// round the tube against the first, rad. Zero turn makes a segment whose two long sides coincide.
    pub far: Option<(f64, f64, f64)>,
}

impl Mitre {
    /// The whole segment of pie cuts.
    pub fn of_pie_cuts(cuts: &PieCuts) -> Self {
        let cut_rad = cuts.joint_rad() / 2.0;
        Mitre { outside_mm: cuts.outside_mm, cut_rad, far: Some((cuts.segment_mm()[1], cut_rad, 0.0)) }
    }

    /// Height of a cut above its centre at an angle round the tube from its long side, mm: r tan(cut) cos(phi).
    fn rise_mm(&self, cut_rad: f64, around_rad: f64) -> f64 {
        self.outside_mm / 2.0 * cut_rad.tan() * around_rad.cos()
    }

    /// The template; for a single cut the tube lies below the curve, for a segment between the two.
    ///
    /// # Errors
    /// [`TubeError::Section`] for sizes that cannot be, cuts steeper than 75 deg and cuts that meet.
    pub fn template(&self) -> Result<Template, TubeError> {
        let wrong = |what, found_mm, remedy| Err(TubeError::Section { what, found_mm, remedy });
        if !(self.outside_mm > 0.0 && self.outside_mm.is_finite()) {
            return wrong("an outside diameter", self.outside_mm, "it must be over zero and finite");
        }
        let cuts = [Some(self.cut_rad), self.far.map(|far| far.1)];
        if cuts.iter().flatten().any(|cut| !cut.is_finite() || cut.abs() > STEEPEST_RAD) {
            return wrong("a mitre through a tube", self.outside_mm, "cut at most 75 deg from square");
        }
        let radius = self.outside_mm / 2.0;
        let around_mm = TAU * radius;
        let mut template = Template {
            title: format!(
                "mitre: tube {:.2} mm cut {:.3} deg from square",
                self.outside_mm,
                self.cut_rad.to_degrees()
            ),
            wrap_mm: self.outside_mm,
            cut: Vec::new(),
            far_cut: Vec::new(),
            lines: Vec::new(),
            labels: Vec::new(),
            ordinates: Vec::new(),
            notes: vec!["0 is the long side.".to_owned()],
        };
        let (near_mm, low) = match self.far {
            None => {
                let low = -radius * self.cut_rad.abs().tan() - SKIRT_MM;
                template.lines.push([Point2::new(0.0, low), Point2::new(around_mm, low)]);
                (0.0, low)
            }
            Some((length_mm, far_rad, turn_rad)) => {
                let far = |around: f64| -length_mm / 2.0 - self.rise_mm(far_rad, around - turn_rad);
                let near = |around: f64| length_mm / 2.0 + self.rise_mm(self.cut_rad, around);
                let steps = (0..360u32).map(|deg| f64::from(deg).to_radians());
                let least = steps.map(|around| near(around) - far(around)).fold(f64::INFINITY, f64::min);
                if !least.is_finite() || least <= 0.0 {
                    return wrong(
                        "the short side of a segment",
                        least,
                        "make the segment longer, the cuts less steep or the joints fewer",
                    );
                }
                template.title = format!(
                    "segment: tube {:.2} mm, {length_mm:.2} mm long, cut {:.3} and {:.3} deg from square",
                    self.outside_mm,
                    self.cut_rad.to_degrees(),
                    far_rad.to_degrees()
                );
                template.far_cut = unroll(|around| Point2::new(radius * around, far(around)));
                template.notes.push(format!("The short side is {least:.2} mm."));
                (length_mm / 2.0, -length_mm / 2.0 - radius * far_rad.abs().tan())
            }
        };
        let height = |around: f64| near_mm + self.rise_mm(self.cut_rad, around);
        template.cut = unroll(|around| Point2::new(radius * around, height(around)));
        template.ordinates = ordinates(height);
        template.set_by_quarters(around_mm, low, near_mm + radius * self.cut_rad.abs().tan());
        Ok(template)
    }
}
