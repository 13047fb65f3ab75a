//! Why an edit was not taken.

use thiserror::Error;

use crate::scene::SceneErrors;

/// Why an edit was not taken; the document is then as it was.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum EditError {
    /// The scene has faults: before the edit, or after it.
    #[error("{0}")]
    Faults(SceneErrors),
    /// No such body.
    #[error("no body is called `{name}`{}", match nearest { Some(near) => format!("; did you mean `{near}`?"), None => String::new() })]
    UnknownBody {
        /// The name.
        name: String,
        /// The name most likely meant.
        nearest: Option<String>,
    },
    /// No such survey.
    #[error("no survey is called `{name}`{}", match nearest { Some(near) => format!("; did you mean `{near}`?"), None => String::new() })]
    UnknownSurvey {
        /// The name.
        name: String,
        /// The name most likely meant.
        nearest: Option<String>,
    },
    /// It is written in another file.
    #[error("`{name}` is written in {file}, line {line}; edit it there")]
    Elsewhere {
        /// The body.
        name: String,
        /// The file.
        file: String,
        /// The line.
        line: usize,
    },
    /// Other things share the text by an alias.
    #[error(
        "{what} is shared by an anchor and its aliases; spell it out, so that the edit changes nothing else"
    )]
    Shared {
        /// What is shared.
        what: String,
    },
    /// Readings place it.
    #[error("`{name}` is placed by the marks of a survey; measure again, or give it a `shape`")]
    Fitted {
        /// The body.
        name: String,
    },
    /// There is one of that name.
    #[error("the name `{name}` is taken; choose another")]
    Taken {
        /// The name.
        name: String,
    },
    /// A fragment that is no map from names to bodies.
    #[error(
        "the fragment must be a map from a name to a body, such as `tank: {{shape: {{box: [200, 90, 150]}}}}`"
    )]
    Fragment,
    /// The text is laid out in a way that the edit cannot follow.
    #[error("{what} is laid out so that it cannot be edited safely; write each key on a line of its own")]
    Layout {
        /// What.
        what: String,
    },
    /// The pose is not one of numbers.
    #[error("the pose of `{name}` holds a number that is not finite")]
    NotFinite {
        /// The body.
        name: String,
    },
    /// The disk said no.
    #[error("{path} cannot be written: {why}")]
    Write {
        /// The file as it was named.
        path: String,
        /// What the system said.
        why: String,
    },
}

impl From<SceneErrors> for EditError {
    fn from(errors: SceneErrors) -> Self {
        EditError::Faults(errors)
    }
}
