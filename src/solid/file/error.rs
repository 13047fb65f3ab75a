//! Why a mesh or point file cannot be used.

use std::fmt;

/// Why a mesh or point file cannot be used: which file, where in it, what is wrong, what would do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{file}{place}: {fault}")]
pub struct MeshFileError {
    /// The file as the caller named it.
    pub file: String,
    /// Where in it.
    pub place: FilePlace,
    /// What is wrong.
    pub fault: FileFault,
}

/// A place in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FilePlace {
    /// No one place.
    Whole,
    /// A line, from 1.
    Line(usize),
    /// A byte, from 0.
    Byte(usize),
}

impl fmt::Display for FilePlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FilePlace::Whole => Ok(()),
            FilePlace::Line(line) => write!(f, ", line {line}"),
            FilePlace::Byte(byte) => write!(f, ", byte {byte}"),
        }
    }
}

/// What is wrong with a file.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum FileFault {
    /// The system would not give it.
    #[error("cannot be read: {cause}")]
    Unreadable {
        /// What the system said.
        cause: String,
    },
    /// Larger than is read into memory.
    #[error("is larger than {limit_bytes} bytes; thin it out or cut it up before it is used here")]
    TooLarge {
        /// The limit.
        limit_bytes: u64,
    },
    /// Nothing is in it.
    #[error("is empty; export it again")]
    Empty,
    /// Its name does not say what it is.
    #[error("its name ends in `{ending}`, which is no format read here; expected {known}")]
    UnknownFormat {
        /// How the name ends.
        ending: String,
        /// The endings that are known.
        known: &'static str,
    },
    /// Something else stands where something is due.
    #[error("expected {expected}, found {found}")]
    Expected {
        /// What is due.
        expected: String,
        /// What stands there.
        found: String,
    },
    /// The file announces more than it holds.
    #[error(
        "announces {announced}, which take at least {needed_bytes} bytes, but {left_bytes} are left; the \
         file is cut short or its header is wrong: copy or export it again"
    )]
    CutShort {
        /// What it announces.
        announced: String,
        /// What that takes.
        needed_bytes: u128,
        /// What there is.
        left_bytes: usize,
    },
    /// A coordinate is infinite or not a number.
    #[error("has a coordinate that is not a finite number (`{found}`); leave that point out")]
    NotFinite {
        /// What stands there.
        found: String,
    },
    /// A face names a vertex that is not there.
    #[error("names vertex {index}, but the file has {vertices}; export it again")]
    IndexOutOfRange {
        /// The index as the file counts.
        index: i64,
        /// How many vertices there are.
        vertices: usize,
    },
    /// A face has too few or too many corners.
    #[error("has a face of {corners} corners; a face has 3 to {most}: split it before it is exported")]
    Corners {
        /// How many it has.
        corners: usize,
        /// How many it may have.
        most: usize,
    },
    /// There are no faces of any area.
    #[error("has no faces; export it with faces, or use it as a cloud of points")]
    NoFaces,
    /// There are no points.
    #[error("has no points; export it again")]
    NoPoints,
}

impl FileFault {
    pub(crate) fn expected(expected: impl Into<String>, found: impl Into<String>) -> Self {
        FileFault::Expected { expected: expected.into(), found: found.into() }
    }

    pub(crate) fn at(self, file: &str, place: FilePlace) -> MeshFileError {
        MeshFileError { file: file.to_owned(), place, fault: self }
    }
}

/// A piece of a file, short and printable, in quotes.
pub(crate) fn quoted(bytes: &[u8]) -> String {
    const LONGEST: usize = 40;
    if bytes.is_empty() {
        return "nothing".to_owned();
    }
    let text = String::from_utf8_lossy(&bytes[..bytes.len().min(4 * LONGEST)]);
    let shown: String =
        text.chars().take(LONGEST).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if shown.len() < bytes.len() && text.chars().count() > LONGEST {
        format!("`{shown}...`")
    } else {
        format!("`{shown}`")
    }
}
