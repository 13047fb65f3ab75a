//! The answer: how wide, along what, where it is narrowest and who makes it so.

use nalgebra::Point3;

/// A place on a corridor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CorridorPoint {
    /// In the world, mm.
    pub at: Point3<f64>,
    /// Diameter of the greatest ball there that touches no obstacle, mm; where nothing is within
    /// the distance looked at, that distance's double.
    pub width_mm: f64,
}

/// Where a corridor is narrowest.
#[derive(Clone, Debug, PartialEq)]
pub struct Narrowest {
    /// In the world, mm.
    pub at: Point3<f64>,
    /// Width there, mm.
    pub width_mm: f64,
    /// Obstacles that make it so, the nearest first; [`crate::access::Obstacles::name`] names them.
    pub bodies: Vec<usize>,
}

/// What an answer cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Effort {
    /// Questions asked of the obstacles.
    pub queries: usize,
    /// Boxes made.
    pub boxes: usize,
    /// Searches through the boxes.
    pub walks: usize,
}

/// The widest corridor to a point: a proved interval for its width, and a way that has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Corridor {
    /// A ball of this diameter passes along [`Corridor::path`], mm: proved. 0 when no way was found.
    pub lower_mm: f64,
    /// No ball of a greater diameter passes, mm: proved. Infinite when widths over the cap were
    /// not told apart.
    pub upper_mm: f64,
    /// Whether the interval is as narrow as asked, or the cap or the floor was reached; false only when the
    /// budget ran out or two ways are within rounding of each other.
    pub settled: bool,
    /// From the open side to the place where the ball touches the point; empty when `lower_mm` is 0.
    pub path: Vec<CorridorPoint>,
    /// Length of the path, mm. The shortest way that is just wide enough is another question:
    /// [`crate::access::CorridorSearch::reach`].
    pub length_mm: f64,
    /// Where the path is narrowest; none when there is no path.
    pub narrowest: Option<Narrowest>,
    /// When the way in is short of the cap: obstacles round the widest opening that was ruled out.
    pub shut_by: Vec<usize>,
    /// What it cost.
    pub effort: Effort,
}

impl Corridor {
    /// Middle of the proved interval, mm; the lower end when the upper is infinite.
    pub fn width_mm(&self) -> f64 {
        if self.upper_mm.is_finite() { 0.5 * (self.lower_mm + self.upper_mm) } else { self.lower_mm }
    }
}
