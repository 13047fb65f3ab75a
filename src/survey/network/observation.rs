//! What a tape, a square, a plumb bob or a level tells of marks.

use nalgebra::Point3;

use crate::space::Direction;

/// A mark whose place is known before the tape comes out.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownMark {
    /// Name.
    pub name: String,
    /// Place, mm.
    pub position: Point3<f64>,
    /// Standard uncertainty of each coordinate, mm; 0 for a mark that is right by definition.
    pub sigma_mm: f64,
}

/// A taped distance between two marks.
#[derive(Clone, Debug, PartialEq)]
pub struct TapeReading {
    /// The mark that was measured.
    pub mark: String,
    /// The mark at which the tape was hooked.
    pub from: String,
    /// Distance, mm.
    pub distance_mm: f64,
    /// Standard uncertainty, mm.
    pub sigma_mm: f64,
    /// On which side of the marks it was measured from `mark` lies, where lengths leave two mirror places.
    pub side: Option<Direction>,
    /// Line of the file, from 1; 0 when there is none.
    pub line: usize,
}

/// What a reading of a network was taken of.
#[derive(Clone, Debug, PartialEq)]
pub enum How {
    /// Straight from one mark to another; a diagonal is one too.
    Straight {
        /// Where the tape was hooked.
        from: String,
    },
    /// Straight from a mark to the near side of the round thing whose middle is the mark measured.
    Near {
        /// Where the tape was hooked.
        from: String,
    },
    /// Straight from a mark to the far side of the round thing whose middle is the mark measured.
    Far {
        /// Where the tape was hooked.
        from: String,
    },
    /// Square to the panel through three marks.
    Square {
        /// The panel's marks, not on one line.
        panel: [String; 3],
    },
    /// How far along one of the survey's axes, told by a level, a plumb bob or a square: `up` from a mark
    /// on the floor is a height. From the survey's own zero when no mark is named. May be below zero.
    Offset {
        /// The mark it is counted from.
        from: Option<String>,
        /// The way that counts as positive.
        along: Direction,
    },
    /// On the straight edge through two marks, so far from the first toward the second.
    Edge {
        /// Where the tape was hooked.
        from: String,
        /// The mark that the edge runs to.
        to: String,
    },
    /// Plumb over or under a mark.
    Plumb {
        /// The mark.
        from: String,
    },
    /// As high as another mark.
    Level {
        /// The mark.
        from: String,
    },
    /// Diameter of the round thing whose middle the mark is.
    Diameter,
    /// Circumference of it, by a tape wrapped once round.
    Wrap {
        /// Thickness of the tape, mm. The scale runs at mid-thickness: circumference is pi (diameter + thickness).
        thickness_mm: f64,
    },
}

/// One reading of a network.
#[derive(Clone, Debug, PartialEq)]
pub struct NetworkReading {
    /// The mark that was measured.
    pub mark: String,
    /// Of what.
    pub how: How,
    /// As read, mm; 0 for plumb and level, which are read as no difference.
    pub value_mm: f64,
    /// Added to what was read, mm: the hook's thickness, or a piece cut off the tape's end (then below zero).
    pub hook_mm: f64,
    /// Standard uncertainty, mm. For an edge it counts along it and across it, for plumb in both directions.
    pub sigma_mm: f64,
    /// On which side of what it was measured from `mark` lies, where readings leave two places.
    pub side: Option<Direction>,
    /// Line of the file, from 1; 0 when there is none.
    pub line: usize,
}

impl From<&TapeReading> for NetworkReading {
    fn from(tape: &TapeReading) -> Self {
        NetworkReading {
            mark: tape.mark.clone(),
            how: How::Straight { from: tape.from.clone() },
            value_mm: tape.distance_mm,
            hook_mm: 0.0,
            sigma_mm: tape.sigma_mm,
            side: tape.side,
            line: tape.line,
        }
    }
}

impl How {
    /// The marks it was measured from.
    pub fn from(&self) -> Vec<&str> {
        match self {
            How::Straight { from }
            | How::Near { from }
            | How::Far { from }
            | How::Plumb { from }
            | How::Level { from } => {
                vec![from]
            }
            How::Square { panel } => panel.iter().map(String::as_str).collect(),
            How::Offset { from, .. } => from.iter().map(String::as_str).collect(),
            How::Edge { from, to } => vec![from, to],
            How::Diameter | How::Wrap { .. } => Vec::new(),
        }
    }
}

/// How readings are weighed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Loss {
    /// Least squares; misread distances are looked for, named and, when singled out, left out.
    #[default]
    Squares,
    /// Readings further off than `sigmas` of their own sigma weigh less, in proportion (Huber). Suspects are named,
    /// none is left out.
    Huber {
        /// Where it begins; 1.345 keeps 95 % of the efficiency for normal errors (Huber's constant, from memory).
        sigmas: f64,
    },
}

/// Choices of a network's solution.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct NetworkOptions {
    /// How readings are weighed.
    pub loss: Loss,
    /// Standard uncertainty of what all tape lengths of the survey are off alike, mm: a bent hook, a worn zero.
    /// It is found along with the marks where the readings tell it, and is shared by all of them where they do not.
    pub zero_sigma_mm: f64,
    /// Standard uncertainty of the tape's scale, a ratio: 2e-4 is 0.2 mm a metre.
    pub stretch_sigma: f64,
}
