//! What a finding lets be drawn: the way of a hand, the arc of a lever, lines of sight.
//!
//! Places are of the world, with the carriers as the finding's place says. Leaves to others: drawing (`view`).

use nalgebra::Point3;

/// Something that a finding was judged by, to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// The way of a hand, from outside to the point; a ball of this diameter passes all along.
    Corridor {
        /// Its middle line.
        line: Vec<Point3<f64>>,
        /// Diameter that passes, mm: proved.
        width_mm: f64,
        /// What it is: `way in, 110.0 mm wide`.
        words: String,
    },
    /// The arc over which a lever is free: proved.
    Fan {
        /// Where the lever meets what it turns about.
        root: Point3<f64>,
        /// Where its end goes, a few degrees apart.
        rim: Vec<Point3<f64>>,
        /// What it is: `ring-cranked swings 115 deg`.
        words: String,
    },
    /// A look from an eye, by a mirror when there are three places.
    Sight {
        /// Eye, mirror, target.
        line: Vec<Point3<f64>>,
        /// What it is: `80 % seen from right-wing`.
        words: String,
    },
}

impl Shown {
    /// What it is.
    pub fn words(&self) -> &str {
        match self {
            Shown::Corridor { words, .. } | Shown::Fan { words, .. } | Shown::Sight { words, .. } => words,
        }
    }
}
