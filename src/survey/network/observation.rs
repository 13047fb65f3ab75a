//! What a tape, a square, a plumb bob or a level tells of marks.

use nalgebra::Point3;
use thiserror::Error;

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

/// Words for kinds of readings, as surveys and scenes write them; besides these each direction word is one.
const WORDS: [&str; 9] = ["straight", "near", "far", "square", "edge", "plumb", "level", "diameter", "wrap"];

/// Why words do not make a kind of reading.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum HowFault {
    /// No known word.
    #[error(
        "`{name}` is no way of measuring; write straight, near, far, square, edge, plumb, level, diameter, wrap, or a direction such as up for a height"
    )]
    Unknown {
        /// As written.
        name: String,
    },
    /// Too few or too many marks that it was measured from.
    #[error("`{how}` was measured from {due}; {given} given")]
    From {
        /// The way of measuring.
        how: String,
        /// What is due.
        due: &'static str,
        /// How many marks are given.
        given: String,
    },
}

impl How {
    /// Whether a word is a way of measuring; for lists of known words.
    pub fn words() -> impl Iterator<Item = &'static str> {
        WORDS.into_iter().chain(Direction::ALL.map(Direction::word))
    }

    /// From its word and the marks it was measured from, several joined by `+`: `square` takes three, `edge` two,
    /// `diameter` and `wrap` none; a direction takes one, or none for the survey's own zero. No word is `straight`.
    ///
    /// # Errors
    /// An unknown word, or marks that do not go with it.
    pub fn from_words(word: &str, from: &str, thickness_mm: f64) -> Result<How, HowFault> {
        let word = word.trim().to_lowercase();
        let word = if word.is_empty() { "straight" } else { word.as_str() };
        let whole = from.trim();
        let parts: Vec<String> = match word {
            "square" | "edge" => {
                whole.split('+').map(|part| part.trim().to_owned()).filter(|p| !p.is_empty()).collect()
            }
            _ => (!whole.is_empty()).then(|| whole.to_owned()).into_iter().collect(),
        };
        let fault = |due| {
            let given = if parts.is_empty() { "none".to_owned() } else { parts.len().to_string() };
            Err(HowFault::From { how: word.to_owned(), due, given })
        };
        let one = "one mark, under `from`";
        if let Some(along) = Direction::from_word(word) {
            return match parts.as_slice() {
                [] => Ok(How::Offset { from: None, along }),
                [from] => Ok(How::Offset { from: Some(from.clone()), along }),
                _ => fault(one),
            };
        }
        match (word, parts.as_slice()) {
            ("straight", [from]) => Ok(How::Straight { from: from.clone() }),
            ("near", [from]) => Ok(How::Near { from: from.clone() }),
            ("far", [from]) => Ok(How::Far { from: from.clone() }),
            ("plumb", [from]) => Ok(How::Plumb { from: from.clone() }),
            ("level", [from]) => Ok(How::Level { from: from.clone() }),
            ("square", [a, b, c]) => Ok(How::Square { panel: [a.clone(), b.clone(), c.clone()] }),
            ("edge", [from, to]) => Ok(How::Edge { from: from.clone(), to: to.clone() }),
            ("diameter", []) => Ok(How::Diameter),
            ("wrap", []) => Ok(How::Wrap { thickness_mm }),
            ("straight" | "near" | "far" | "plumb" | "level", _) => fault(one),
            ("square", _) => fault("three marks of the panel, under `from`: `A+B+C`"),
            ("edge", _) => fault(
                "two marks of the edge, under `from`: `A+B`, the one at which the tape was hooked first",
            ),
            ("diameter" | "wrap", _) => fault("no mark; leave `from` empty"),
            _ => Err(HowFault::Unknown { name: word.to_owned() }),
        }
    }

    /// Whether a length belongs to it; plumb and level have none.
    pub fn has_length(&self) -> bool {
        !matches!(self, How::Plumb { .. } | How::Level { .. })
    }

    /// Whether that length may be zero or below.
    pub fn may_be_below_zero(&self) -> bool {
        matches!(self, How::Offset { .. } | How::Edge { .. })
    }

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
