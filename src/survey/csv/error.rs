//! What is wrong with a survey file, where, and what to do.

use std::fmt;

use thiserror::Error;

use crate::space::QuantityError;
use crate::survey::network::{HowFault, NetworkError};

/// One fault of a survey file, with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyError {
    /// The file as it was named.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The offending text as it stands in the file; may be empty.
    pub found: String,
    /// What is wrong.
    pub fault: SurveyFault,
}

/// What can be wrong with a survey file. Each message says what was found, what was due and the cure.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SurveyFault {
    /// Two bytes a character.
    #[error("the file is UTF-16 text; save it as UTF-8 (\"CSV UTF-8\" in most spreadsheets)")]
    Utf16,
    /// Bytes that are no UTF-8.
    #[error(
        "byte {byte} of the file is not UTF-8 text; save it as UTF-8 (\"CSV UTF-8\" in most spreadsheets)"
    )]
    NotUtf8 {
        /// Offset from the start of the file.
        byte: usize,
    },
    /// A zero byte.
    #[error("the file holds a zero byte, so it is no text; export the survey as CSV")]
    NotText,
    /// Nothing but remarks.
    #[error(
        "the file holds no {missing}; write a header such as `mark,x,y,z,sigma` and a row for each reading"
    )]
    Empty {
        /// `header` or `readings`.
        missing: &'static str,
    },
    /// Semicolons or tabs between the cells.
    #[error(
        "the cells are separated by {by}; separate them by commas, and write decimals with a point: `A1,12.5,0,300`"
    )]
    Separator {
        /// `semicolons` or `tabs`.
        by: &'static str,
    },
    /// A first line that is no header.
    #[error(
        "the first line must name the columns: `mark,x,y,z` for points, `mark,from,distance` for tape distances, all six for both"
    )]
    NoHeader,
    /// A column of no known name.
    #[error(
        "`{name}` is no column of a survey{}; known are mark, x, y, z, from, distance, sigma, side, how, hook, thickness, instrument, reading and note",
        meant(near)
    )]
    UnknownColumn {
        /// As written.
        name: String,
        /// The nearest known name.
        near: Option<String>,
    },
    /// A column named twice.
    #[error("column `{name}` stands twice, first at column {first}; keep one")]
    RepeatedColumn {
        /// Name.
        name: String,
        /// Where it stands first, in characters from 1.
        first: usize,
    },
    /// A column is missing.
    #[error(
        "the header lacks `{missing}`; points need mark, x, y and z, tape distances mark, from and distance"
    )]
    MissingColumn {
        /// Names.
        missing: String,
    },
    /// More or fewer cells than columns.
    #[error("the row has {found} cells, the header names {due}; {}", if *decimals {
        "write decimals with a point, not a comma, or put the cell in double quotes"
    } else if found < due {
        "fill it up with commas: an empty cell keeps its comma"
    } else {
        "put a cell that holds a comma in double quotes"
    })]
    CellCount {
        /// Cells in the row.
        found: usize,
        /// Columns.
        due: usize,
        /// Whether decimal commas look likely.
        decimals: bool,
    },
    /// A quoted cell that does not end.
    #[error("the double quote is not closed on its line; close it, and write a quote within quotes twice")]
    OpenQuote,
    /// Text after a closing quote.
    #[error(
        "text stands after the closing quote; put the whole cell in quotes, and write a quote within quotes twice"
    )]
    AfterQuote,
    /// A cell that must not be empty.
    #[error("`{column}` is empty; write {due}")]
    EmptyCell {
        /// Column.
        column: &'static str,
        /// What is due.
        due: &'static str,
    },
    /// A list in a cell.
    #[error("a list stands where `{column}` is due; write one value a cell")]
    List {
        /// Column.
        column: &'static str,
    },
    /// Not a number, or infinite.
    #[error("`{column}` is not a number that can be measured; measure again or take the row out")]
    NotFinite {
        /// Column.
        column: &'static str,
    },
    /// A decimal comma.
    #[error("`{column}` has a decimal comma; write a point: `{instead}`")]
    DecimalComma {
        /// Column.
        column: &'static str,
        /// The same with a point.
        instead: String,
    },
    /// Not a length.
    #[error("`{column}` is not a length: {why}")]
    BadLength {
        /// Column.
        column: &'static str,
        /// Why.
        why: QuantityError,
    },
    /// Beyond any vehicle.
    #[error(
        "`{column}` is {metres:.0} m, beyond anything a survey of a vehicle holds; check the unit and the decimal point"
    )]
    TooLarge {
        /// Column.
        column: &'static str,
        /// Metres.
        metres: f64,
    },
    /// A distance that is not above zero.
    #[error("a distance must be above zero; measure again or take the row out")]
    NotAboveZero,
    /// A sigma that cannot be.
    #[error("sigma must be {due}; it says how far a reading is to be trusted")]
    BadSigma {
        /// What is due.
        due: &'static str,
    },
    /// The same mark measured twice.
    #[error(
        "mark `{name}` stands twice, first on line {first}; give the second its own name, or keep the better one"
    )]
    DuplicateMark {
        /// Name.
        name: String,
        /// Line on which it stands first.
        first: usize,
    },
    /// A tape hooked at a mark that is none.
    #[error("`{name}` is no mark of this file{}; give it coordinates or distances of its own", meant(near))]
    UnknownFrom {
        /// Name.
        name: String,
        /// Nearest mark.
        near: Option<String>,
    },
    /// A distance from a mark to itself.
    #[error("the distance runs from `{name}` to itself; name the other mark")]
    FromItself {
        /// Name.
        name: String,
    },
    /// A figure where a side is due: what stands before it was cut in two.
    #[error(
        "`{figures}` is no side: a decimal comma has cut the cell before it in two; write decimals with a point, not a comma, or put the cell in double quotes"
    )]
    FigureForSide {
        /// As written.
        figures: String,
    },
    /// A side of no known name.
    #[error(
        "`{name}` is no side{}; write forward, rearward, left, right, up or down, in the survey's own axes (x rearward, y right, z up)",
        meant(near)
    )]
    UnknownSide {
        /// As written.
        name: String,
        /// Nearest known word.
        near: Option<String>,
    },
    /// An instrument of no known name.
    #[error("`{name}` is no instrument{}; known are {known}", meant(near))]
    UnknownInstrument {
        /// As written.
        name: String,
        /// Nearest known name.
        near: Option<String>,
        /// All names.
        known: String,
    },
    /// The number of a reading that is none.
    #[error(
        "`reading` says which of a sheet's readings of the same thing the row is; write 1, 2, 3, or leave it empty"
    )]
    BadReading,
    /// A way of measuring that is none, or with the wrong marks.
    #[error("{why}{}", meant(near))]
    BadHow {
        /// What is wrong.
        why: HowFault,
        /// Nearest known word.
        near: Option<String>,
    },
    /// A length where none belongs.
    #[error("`{how}` is read as no difference, so it has no distance; leave the cell empty")]
    NoLength {
        /// The way of measuring.
        how: String,
    },
    /// A cell of a way of measuring that does not use it.
    #[error("`{column}` belongs to {due} only; leave it empty")]
    OnlyFor {
        /// Column.
        column: &'static str,
        /// What it belongs to.
        due: &'static str,
    },
    /// Both kinds in one row.
    #[error("the row gives coordinates and a distance; write two rows, one of each kind")]
    MixedRow,
    /// A row that says nothing.
    #[error("the row gives neither coordinates nor a distance; fill in x, y and z, or from and distance")]
    NothingGiven,
    /// A side without a distance.
    #[error("a side tells two mirror places of a taped mark apart, and a point has none; leave `side` empty")]
    SideOfPoint,
    /// The tape network has no answer.
    #[error("{0}")]
    Network(NetworkError),
}

fn meant(near: &Option<String>) -> String {
    near.as_ref().map(|near| format!(" (is `{near}` meant?)")).unwrap_or_default()
}

/// The known word most like `word`, when one is near enough to be a slip.
pub(super) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<String> {
    let lower = word.to_lowercase();
    known
        .into_iter()
        .map(|known| (strsim::damerau_levenshtein(&lower, &known.to_lowercase()), known))
        .min_by_key(|(distance, _)| *distance)
        .filter(|(distance, known)| *distance <= 2.min(known.chars().count() / 2).max(1))
        .map(|(_, known)| known.to_owned())
}

/// All faults of a survey file, in order of their place; at least one.
#[derive(Clone, Debug, PartialEq)]
pub struct SurveyErrors {
    /// The faults.
    pub errors: Vec<SurveyError>,
}

/// One line a fault.
impl fmt::Display for SurveyErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, error) in self.errors.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            write!(f, "{error}")?;
        }
        Ok(())
    }
}

/// `file:line:column: `text`: what is wrong; what to do`.
impl fmt::Display for SurveyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: ", self.file, self.line, self.column)?;
        let shown = self.found.trim();
        if !shown.is_empty() {
            if shown.chars().count() > 40 {
                write!(f, "`{}...`: ", shown.chars().take(40).collect::<String>())?;
            } else {
                write!(f, "`{shown}`: ")?;
            }
        }
        write!(f, "{}", self.fault)
    }
}

impl std::error::Error for SurveyErrors {}
impl std::error::Error for SurveyError {}
