//! What is wrong with a script: where, what, and what to do.

use std::fmt;

use miette::{Diagnostic, LabeledSpan, NamedSource, SourceCode, SourceSpan};

/// Where a call was on its way when an error came up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// The function that was called.
    pub function: String,
    /// The script that called it.
    pub file: String,
    /// Line of the call, from 1; 0 when it is not known.
    pub line: usize,
    /// Column of the call, from 1; 0 when it is not known.
    pub column: usize,
}

/// One error of a script.
#[derive(Clone, Debug)]
pub struct ScriptError {
    /// Stable code: `script::argument`, `script::unknown_function`, `script::limit`...
    pub code: &'static str,
    /// What is wrong, in a sentence.
    pub message: String,
    /// What to do about it.
    pub help: String,
    /// The script: the user's own where the call began, even when a house script refused.
    pub file: String,
    /// Line, from 1; 0 when the error has no place.
    pub line: usize,
    /// Column, from 1 and in characters; 0 when the error has no place.
    pub column: usize,
    /// The line as written.
    pub quoted: String,
    /// The calls that led there, outermost first.
    pub trace: Vec<Trace>,
    pub(super) source: NamedSource<String>,
    pub(super) mark: SourceSpan,
}

impl ScriptError {
    /// Place, cause and remedy in one line: for logs and for editors that read lines.
    pub fn one_line(&self) -> String {
        let place = if self.line == 0 {
            self.file.clone()
        } else {
            format!("{}:{}:{}", self.file, self.line, self.column)
        };
        let help = if self.help.is_empty() { String::new() } else { format!("; {}", self.help) };
        format!("{place}: {}{help}", self.message)
    }
}

impl fmt::Display for ScriptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for ScriptError {}

impl Diagnostic for ScriptError {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(self.code))
    }
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        if self.help.is_empty() {
            return None;
        }
        let mut help = self.help.clone();
        for call in self.trace.iter().rev() {
            help.push_str(&format!(
                "\n(in `{}`, called at {}:{}:{})",
                call.function, call.file, call.line, call.column
            ));
        }
        Some(Box::new(help))
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        (self.line > 0).then_some(&self.source)
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        if self.line == 0 {
            return None;
        }
        Some(Box::new(std::iter::once(LabeledSpan::new_with_span(Some("here".to_owned()), self.mark))))
    }
}

/// Why a script gave no scene. The scene that it was run on is untouched.
#[derive(Clone, Debug, thiserror::Error, Diagnostic)]
#[error("the script `{script}` stopped: {}", .list.first().map_or_else(String::new, ScriptError::one_line))]
pub struct ScriptErrors {
    /// The script that was started.
    pub script: String,
    /// What is wrong; the interpreter stops at the first, so there is one.
    #[related]
    pub list: Vec<ScriptError>,
    /// What it printed before it stopped.
    pub printed: Vec<String>,
}
