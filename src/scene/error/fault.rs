//! The kinds of fault a scene can have, each with what it needs to be told and mended.

use thiserror::Error;

use crate::calc::FlowError;
use crate::hose::HoseError;
use crate::solid::ShapeError;
use crate::space::QuantityError;
use crate::tube::TubeError;

/// What is wrong at one place of a scene.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Fault {
    /// Nothing is written at all.
    #[error("the document is empty")]
    Empty,
    /// Not UTF-8.
    #[error("the file is {found}, not UTF-8 text")]
    Encoding {
        /// What it seems to be.
        found: String,
    },
    /// Larger than anything written by hand.
    #[error("more than {limit} {what}")]
    TooMuch {
        /// Of what.
        what: &'static str,
        /// The greatest that is read.
        limit: u64,
    },
    /// Not YAML.
    #[error("not YAML: {}", parted(detail).0)]
    Syntax {
        /// What the parser said.
        detail: String,
    },
    /// A second `---`.
    #[error("a second document starts here; one file is one document")]
    SecondDocument,
    /// `!tag`.
    #[error("YAML tags mean nothing in a scene")]
    Tag,
    /// A key that is a list or a map.
    #[error("a key must be a word")]
    KeyIsNoText,
    /// A key that the map does not have.
    #[error("`{key}` is not a key of {of}")]
    UnknownKey {
        /// The key.
        key: String,
        /// Of what map.
        of: &'static str,
        /// The key most likely meant.
        nearest: Option<String>,
        /// All keys there are.
        known: Vec<&'static str>,
    },
    /// The same key twice in one map.
    #[error("`{key}` is written twice in {of}")]
    DuplicateKey {
        /// The key.
        key: String,
        /// Of what map.
        of: String,
    },
    /// A key that must be there is not.
    #[error("{of} lacks `{key}`")]
    MissingKey {
        /// The key.
        key: &'static str,
        /// Of what map.
        of: String,
        /// How it may look.
        example: String,
    },
    /// Exactly one of several keys is due.
    #[error("{of} needs exactly one of {}; {}", among(.choices), those(.given))]
    OneOf {
        /// Of what map.
        of: String,
        /// Which keys.
        choices: Vec<&'static str>,
        /// Those that are there.
        given: Vec<String>,
    },
    /// Two keys that exclude each other.
    #[error("`{one}` and `{other}` do not go together")]
    Conflict {
        /// A key.
        one: &'static str,
        /// Another.
        other: &'static str,
        /// Why, and what to do.
        remedy: &'static str,
    },
    /// The wrong sort of value.
    #[error("{what} is {found} where {expected} is due")]
    WrongKind {
        /// Of what.
        what: String,
        /// What is written.
        found: String,
        /// What should be.
        expected: &'static str,
        /// How it may look.
        example: &'static str,
    },
    /// A list of the wrong length.
    #[error("{what} has {found} where {expected} are due")]
    Count {
        /// Of what.
        what: String,
        /// How many there are.
        found: usize,
        /// How many should be.
        expected: &'static str,
        /// How it may look.
        example: &'static str,
    },
    /// Not a version that this build reads.
    #[error("format version `{found}` is not known; this build reads version {known}")]
    Version {
        /// What is written.
        found: String,
        /// The version that is read.
        known: u32,
    },
    /// Not a length or an angle.
    #[error("{what}: {}", parted(cause).0)]
    Quantity {
        /// Of what.
        what: String,
        /// Why.
        cause: QuantityError,
    },
    /// A quantity outside what can be.
    #[error("{what} is {found}; {limit}")]
    Range {
        /// Of what.
        what: String,
        /// What is written.
        found: String,
        /// What it must be.
        limit: String,
        /// What would mend it.
        remedy: &'static str,
    },
    /// Not one of some words.
    #[error("`{found}` is not {what}")]
    Choice {
        /// What is written.
        found: String,
        /// What it should name.
        what: &'static str,
        /// The word most likely meant.
        nearest: Option<String>,
        /// All words there are.
        known: Vec<String>,
    },
    /// A name that nothing bears.
    #[error("no {what} is called `{name}`")]
    UnknownName {
        /// What should bear it: `body`, `survey`.
        what: &'static str,
        /// The name.
        name: String,
        /// The name most likely meant.
        nearest: Option<String>,
        /// Names there are, the first few.
        known: Vec<String>,
    },
    /// A name given twice.
    #[error("the name `{name}` is given twice")]
    DuplicateName {
        /// The name.
        name: String,
    },
    /// The same name twice in one list.
    #[error("`{name}` is named twice")]
    Repeated {
        /// The name.
        name: String,
    },
    /// A name that cannot be one.
    #[error("`{name}` cannot be a name: {}", parted(why).0)]
    BadName {
        /// The name.
        name: String,
        /// Why.
        why: &'static str,
    },
    /// Things that stand on each other in a ring.
    #[error("these stand on each other in a ring: {}", .chain.join(" on "))]
    PoseCycle {
        /// Names, the first again at the end.
        chain: Vec<String>,
    },
    /// A shape that cannot be.
    #[error("this shape cannot be: {}", parted(cause).0)]
    Shape {
        /// Why.
        cause: ShapeError,
    },
    /// A tube that cannot be.
    #[error("this tube cannot be: {}", parted(cause).0)]
    Tube {
        /// Why.
        cause: Box<TubeError>,
    },
    /// A hose that has no shape at rest.
    #[error("this hose cannot be: {cause}")]
    Hose {
        /// Why.
        cause: HoseError,
    },
    /// A flow that cannot be.
    #[error("this flow cannot be: {cause}")]
    Flow {
        /// Why.
        cause: FlowError,
    },
    /// A flow of which something is not said.
    #[error("this flow has no {what}")]
    FlowNeeds {
        /// The key that is missing.
        what: &'static str,
        /// What to add.
        remedy: &'static str,
    },
    /// A path that a scene may not name.
    #[error("`{path}` is refused: {why}")]
    PathRefused {
        /// The path.
        path: String,
        /// Why.
        why: &'static str,
    },
    /// A file that cannot be read.
    #[error("`{path}` cannot be read: {why}")]
    File {
        /// The path.
        path: String,
        /// Why.
        why: String,
    },
    /// A survey, mesh or cloud file with a fault of its own.
    #[error("`{path}`: {}", parted(why).0)]
    BadFile {
        /// The path.
        path: String,
        /// What its reader said.
        why: String,
    },
    /// A row of a survey file that its reader refused.
    #[error("{}", parted(why).0)]
    Row {
        /// What the reader said.
        why: String,
    },
    /// Readings that give no alignment or no fit.
    #[error("{what}: {}", parted(why).0)]
    Reading {
        /// `this alignment`, `this fit`.
        what: &'static str,
        /// Why.
        why: String,
    },
    /// A direction of no length.
    #[error("{what} has no direction: all three are zero")]
    NoDirection {
        /// Of what.
        what: String,
    },
    /// A service point inside a body that it does not belong to.
    #[error("service point `{point}` lies {depth} inside `{body}`")]
    PointInside {
        /// The service point.
        point: String,
        /// How deep.
        depth: crate::space::Length,
        /// The body.
        body: String,
    },
    /// A fastener of a size that no tool comes in.
    #[error("service point `{point}`: no {}tool that may be used comes in {size}", if *.torque { "torque-measuring " } else { "" })]
    NoToolFits {
        /// The service point.
        point: String,
        /// Width across flats.
        size: crate::space::Length,
        /// Whether the tool must measure torque.
        torque: bool,
        /// Sizes that there are.
        sizes: Vec<String>,
    },
    /// A room rule whose side is no body and no role that there is.
    #[error("`{side}` is no body, no role and not `any`: this rule would never apply")]
    RuleOfNothing {
        /// The side.
        side: String,
        /// The name most likely meant.
        nearest: Option<String>,
    },
    /// A pair of a body with itself.
    #[error("`{name}` stands on both sides")]
    SamePair {
        /// The body.
        name: String,
    },
}

/// A message of another room in two: what is wrong, and the cure, which stands behind a `; `.
fn parted(message: &impl std::fmt::Display) -> (String, Option<String>) {
    let message = message.to_string();
    match message.split_once("; ") {
        Some((wrong, cure)) => (wrong.to_owned(), Some(cure.to_owned())),
        None => (message, None),
    }
}

fn among(choices: &[&'static str]) -> String {
    choices.iter().map(|choice| format!("`{choice}`")).collect::<Vec<_>>().join(", ")
}

fn those(given: &[String]) -> String {
    match given {
        [] => "none is there".to_owned(),
        given => {
            format!("{} are there", given.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", "))
        }
    }
}

fn meant(nearest: &Option<String>, known: &[impl AsRef<str>], nothing: &str) -> String {
    const SHOWN: usize = 24;
    match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None if known.is_empty() => nothing.to_owned(),
        None => {
            let shown: Vec<_> = known.iter().take(SHOWN).map(AsRef::as_ref).collect();
            let more = known.len().saturating_sub(SHOWN);
            let rest = if more > 0 { format!(" and {more} more") } else { String::new() };
            format!("there are: {}{rest}", shown.join(", "))
        }
    }
}

impl Fault {
    /// A stable word for the kind of fault.
    pub fn code(&self) -> &'static str {
        match self {
            Fault::Empty => "empty",
            Fault::Encoding { .. } => "encoding",
            Fault::TooMuch { .. } => "too_much",
            Fault::Syntax { .. } => "syntax",
            Fault::SecondDocument => "second_document",
            Fault::Tag => "tag",
            Fault::KeyIsNoText => "key_is_no_text",
            Fault::UnknownKey { .. } => "unknown_key",
            Fault::DuplicateKey { .. } => "duplicate_key",
            Fault::MissingKey { .. } => "missing_key",
            Fault::OneOf { .. } => "one_of",
            Fault::Conflict { .. } => "conflict",
            Fault::WrongKind { .. } => "wrong_kind",
            Fault::Count { .. } => "count",
            Fault::Version { .. } => "version",
            Fault::Quantity { .. } => "quantity",
            Fault::Range { .. } => "range",
            Fault::Choice { .. } => "choice",
            Fault::UnknownName { .. } => "unknown_name",
            Fault::DuplicateName { .. } => "duplicate_name",
            Fault::Repeated { .. } => "repeated",
            Fault::BadName { .. } => "bad_name",
            Fault::PoseCycle { .. } => "pose_cycle",
            Fault::Shape { .. } => "shape",
            Fault::Tube { .. } => "tube",
            Fault::Hose { .. } => "hose",
            Fault::Flow { .. } | Fault::FlowNeeds { .. } => "flow",
            Fault::PathRefused { .. } => "path_refused",
            Fault::File { .. } => "file",
            Fault::BadFile { .. } => "bad_file",
            Fault::Row { .. } => "row",
            Fault::Reading { .. } => "reading",
            Fault::NoDirection { .. } => "no_direction",
            Fault::PointInside { .. } => "point_inside",
            Fault::NoToolFits { .. } => "no_tool_fits",
            Fault::RuleOfNothing { .. } => "rule_of_nothing",
            Fault::SamePair { .. } => "same_pair",
        }
    }

    /// What would mend it.
    pub fn remedy(&self) -> String {
        match self {
            Fault::Empty => "begin with `baywright: 1`; `baywright new` writes a scene to start from".into(),
            Fault::Encoding { .. } => "save it as UTF-8".into(),
            Fault::TooMuch { .. } => {
                "split it with `include`, and keep clouds and meshes in files of their own".into()
            }
            Fault::Syntax { detail } => parted(detail).1.unwrap_or_else(|| {
                "look here and on the line above: indentation, a missing `:`, quote or bracket".into()
            }),
            Fault::SecondDocument => {
                "delete the `---`, or move the rest into a file named by `include`".into()
            }
            Fault::Tag => "delete the word that begins with `!`".into(),
            Fault::KeyIsNoText => "write `word: value`".into(),
            Fault::UnknownKey { nearest, known, .. } => meant(nearest, known, "it has no keys"),
            Fault::DuplicateKey { .. } => "delete or rename one of them".into(),
            Fault::MissingKey { example, .. } => format!("add `{example}`"),
            Fault::OneOf { choices, given, .. } => {
                if given.is_empty() {
                    format!("add {}", among(choices).replace("`, `", "` or `"))
                } else {
                    "keep one and delete the others".into()
                }
            }
            Fault::Conflict { remedy, .. } => (*remedy).into(),
            Fault::WrongKind { example, .. } | Fault::Count { example, .. } => format!("write {example}"),
            Fault::Version { known, .. } => {
                format!("write `baywright: {known}`, or use the build that wrote it")
            }
            Fault::Quantity { cause, .. } => match cause {
                QuantityError::NotFinite { .. } => "write the size in figures".into(),
                QuantityError::DivisionByZero { .. } => "write another number beneath the stroke".into(),
                _ => parted(cause).1.unwrap_or_else(|| "mend the figure or its unit".into()),
            },
            Fault::Range { remedy, .. } => (*remedy).into(),
            Fault::Choice { nearest, known, .. } => meant(nearest, known, "there are none yet"),
            Fault::UnknownName { nearest, known, what, .. } => {
                meant(nearest, known, &format!("no {what} is defined; define one first"))
            }
            Fault::DuplicateName { .. } => {
                "rename one of them; a body and a frame may not share a name either".into()
            }
            Fault::Repeated { .. } => "name it once".into(),
            Fault::BadName { why, .. } => parted(why)
                .1
                .unwrap_or_else(|| "use letters, digits, `-`, `_`, `.` and single blanks, 64 at most".into()),
            Fault::PoseCycle { .. } => {
                "place one of them in vehicle axes: give it `at` and delete its `on`".into()
            }
            Fault::Shape { cause } => {
                parted(cause).1.unwrap_or_else(|| "correct the size, and check its unit".into())
            }
            Fault::Tube { cause } => {
                parted(cause).1.unwrap_or_else(|| "correct the figure, and check its unit".into())
            }
            Fault::Hose { cause } => match cause {
                HoseError::TooShort { .. } => "give it more length, or bring its holds nearer".into(),
                HoseError::ClipOrder { .. } => "list the clips from `from` to `to`, `from_start` growing".into(),
                HoseError::Figure { .. } => "write the size in figures".into(),
                HoseError::NotFound { .. } => "give it more length, or turn its ports toward each other".into(),
            },
            Fault::Flow { .. } => "correct the figure, and check its unit: kg/s, deg C, kPa".into(),
            Fault::FlowNeeds { remedy, .. } => (*remedy).into(),
            Fault::PathRefused { .. } => {
                "put the file in the scene's folder and name it like `parts/bracket.stl`".into()
            }
            Fault::File { .. } => "check its spelling; what a scene names is looked for from the folder of the file that names it".into(),
            Fault::BadFile { why, .. } => {
                parted(why).1.unwrap_or_else(|| "mend that file, or name another".into())
            }
            Fault::Row { why } => parted(why).1.unwrap_or_else(|| "mend this row of the survey".into()),
            Fault::Reading { why, .. } => parted(why)
                .1
                .unwrap_or_else(|| "change the marks that are named here, or what is said of them".into()),
            Fault::NoDirection { .. } => {
                "write forward, rearward, left, right, up or down, or three numbers that are not all zero"
                    .into()
            }
            Fault::PointInside { body, .. } => {
                format!("move `at` to the surface that is served, or list `{body}` under `without` if it comes off first")
            }
            Fault::NoToolFits { sizes, .. } if sizes.is_empty() => {
                "name a tool that measures torque, or add one under `tools`".into()
            }
            Fault::NoToolFits { sizes, .. } => {
                format!("sizes there are: {} mm; correct `size` (width across flats), or add a tool under `tools`", sizes.join(", "))
            }
            Fault::RuleOfNothing { nearest, .. } => match nearest {
                Some(nearest) => format!("did you mean `{nearest}`?"),
                None => "name a body or a role, or declare the role under `roles`; for what only a script places, give it a role there and name that".into(),
            },
            Fault::SamePair { .. } => "name two different bodies".into(),
        }
    }
}
