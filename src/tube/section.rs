//! Sections: what a cut square across the tube shows.

use std::f64::consts::{PI, TAU};
use std::fmt;

use nalgebra::{Point2, Vector2};

use super::TubeError;

/// The outline of a tube cut square across: y and z of the tube's frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Section {
    /// A circle.
    Round {
        /// Outside diameter, mm.
        outside_mm: f64,
    },
    /// Two half circles joined by flats, as a round tube pressed flat between two plates becomes.
    Oval {
        /// Along y, the flats' direction, mm; at least the height.
        width_mm: f64,
        /// Along z, mm.
        height_mm: f64,
    },
}

impl Section {
    /// The oval that a round tube becomes when it is pressed to a height: its perimeter stays.
    ///
    /// Width = height + pi (D - height) / 2, for the perimeter pi h + 2 (w - h) is pi D.
    ///
    /// # Errors
    /// [`TubeError::Section`] for a height that is not under the diameter or not over zero.
    pub fn pressed(outside_mm: f64, height_mm: f64) -> Result<Self, TubeError> {
        if !(height_mm > 0.0 && height_mm <= outside_mm) {
            return Err(TubeError::Section {
                what: "a pressed height",
                found_mm: height_mm,
                remedy: "it must be over zero and at most the round tube's diameter",
            });
        }
        let width_mm = height_mm + PI * (outside_mm - height_mm) / 2.0;
        Ok(Section::Oval { width_mm, height_mm })
    }

    /// Full width (along y) and height (along z), mm.
    pub fn size_mm(&self) -> [f64; 2] {
        match *self {
            Section::Round { outside_mm } => [outside_mm; 2],
            Section::Oval { width_mm, height_mm } => [width_mm, height_mm],
        }
    }

    /// The section a wall inside this one, or (negative) a cover outside it.
    pub fn inset(&self, wall_mm: f64) -> Section {
        match *self {
            Section::Round { outside_mm } => Section::Round { outside_mm: outside_mm - 2.0 * wall_mm },
            Section::Oval { width_mm, height_mm } => {
                Section::Oval { width_mm: width_mm - 2.0 * wall_mm, height_mm: height_mm - 2.0 * wall_mm }
            }
        }
    }

    /// Area inside the outline, mm^2.
    pub fn area_mm2(&self) -> f64 {
        let [width, height] = self.size_mm();
        PI * height * height / 4.0 + (width - height) * height
    }

    /// Length of the outline, mm.
    pub fn perimeter_mm(&self) -> f64 {
        let [width, height] = self.size_mm();
        PI * height + 2.0 * (width - height)
    }

    /// Whether the section can be, with a wall inside it.
    ///
    /// # Errors
    /// [`TubeError::Section`] with the figure and what would do.
    pub fn check(&self, wall_mm: Option<f64>) -> Result<(), TubeError> {
        let [width, height] = self.size_mm();
        let wrong = |what, found_mm, remedy| Err(TubeError::Section { what, found_mm, remedy });
        if !(height > 0.0 && height.is_finite() && width.is_finite()) {
            return wrong("an outside size", height, "it must be over zero and finite");
        }
        if width < height {
            return wrong("an oval's width", width, "it must be at least the height; roll the oval instead");
        }
        match wall_mm {
            Some(wall) if !(wall > 0.0 && wall.is_finite()) => {
                wrong("a wall", wall, "it must be over zero; leave it out for a solid bar")
            }
            Some(wall) if wall >= height / 2.0 => {
                wrong("a wall", wall, "it must be under half the outside size, or nothing is left inside")
            }
            _ => Ok(()),
        }
    }

    /// Corners of a polygon round the outline, counter-clockwise, that nowhere leaves it by more than
    /// `chord_mm` and nowhere cuts into it.
    pub fn outline(&self, chord_mm: f64) -> Vec<Point2<f64>> {
        let [width, height] = self.size_mm();
        let (radius, flat) = (height / 2.0, (width - height) / 2.0);
        // A polygon round a circle of n sides stands off by r (1 / cos(pi / n) - 1).
        let half = (radius / (radius + chord_mm)).acos();
        let sides = (((PI / half / 4.0).ceil() as usize) * 4).clamp(8, 4000);
        let step = TAU / sides as f64;
        let reach = radius / (step / 2.0).cos();
        (0..sides)
            .map(|side| {
                let angle = (side as f64 + 0.5) * step;
                let round = Vector2::new(angle.cos(), angle.sin()) * reach;
                Point2::new(round.x + flat.copysign(round.x), round.y)
            })
            .collect()
    }
}

/// `63.5 mm round` or `80.0 x 40.0 mm oval`.
impl fmt::Display for Section {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Section::Round { outside_mm } => write!(f, "{outside_mm:.2} mm round"),
            Section::Oval { width_mm, height_mm } => write!(f, "{width_mm:.2} x {height_mm:.2} mm oval"),
        }
    }
}

/// Volume between two parallel sections when every point of one outline runs straight to that of the
/// other with the same outward direction, mm^3.
///
/// Such a body's cut is quadratic along it, so Simpson's rule (the prismoidal formula of the surveyors'
/// handbooks) is exact: L (A + 4 M + B) / 6 with the middle section's sizes the means of the ends'.
///
/// # Example
/// A cone from 120 to 80 mm over 100 mm: pi 100 / 3 (60^2 + 60 40 + 40^2) = 795870.1 mm^3.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::tube::{Section, loft_volume_mm3};
/// let (big, small) = (Section::Round { outside_mm: 120.0 }, Section::Round { outside_mm: 80.0 });
/// assert!((loft_volume_mm3(&big, &small, 100.0) - 795_870.138_9).abs() < 1e-3);
/// ```
pub fn loft_volume_mm3(from: &Section, to: &Section, length_mm: f64) -> f64 {
    let ([fw, fh], [tw, th]) = (from.size_mm(), to.size_mm());
    let middle = Section::Oval { width_mm: (fw + tw) / 2.0, height_mm: (fh + th) / 2.0 };
    length_mm * (from.area_mm2() + 4.0 * middle.area_mm2() + to.area_mm2()) / 6.0
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_pressed_oval_keeps_its_perimeter() {
        for (outside, height) in [(76.2, 50.0), (63.5, 63.5), (101.6, 20.0)] {
            let oval = Section::pressed(outside, height).unwrap();
            assert!((oval.perimeter_mm() - PI * outside).abs() < 1e-9, "{oval}");
        }
        assert!(Section::pressed(50.0, 51.0).is_err());
    }

    #[test]
    fn the_polygon_holds_the_outline_and_little_more() {
        for section in
            [Section::Round { outside_mm: 76.2 }, Section::Oval { width_mm: 90.0, height_mm: 40.0 }]
        {
            let corners = section.outline(0.02);
            let twice: f64 = (0..corners.len())
                .map(|i| (corners[i], corners[(i + 1) % corners.len()]))
                .map(|(a, b)| a.x * b.y - a.y * b.x)
                .sum();
            let over = twice / 2.0 - section.area_mm2();
            assert!(over > 0.0 && over < 0.02 * section.perimeter_mm(), "{section}: {over} mm2 too much");
        }
    }
}
