//! What commands print and how they fail.

use std::fmt;
use std::io::{self, IsTerminal, Write};

use clap::ValueEnum;
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme};

use super::Exit;

/// How an answer is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people: 80 columns, no colour needed.
    #[default]
    Text,
    /// For programs: one stable, versioned document.
    Json,
}

/// Why a command gave no answer: printed to stderr, exit code 2.
pub(super) struct Failure(Box<dyn Diagnostic + Send + Sync + 'static>);

impl<D: Diagnostic + Send + Sync + 'static> From<D> for Failure {
    fn from(diagnostic: D) -> Self {
        Failure(Box::new(diagnostic))
    }
}

/// A plain failure: what is wrong and what to do.
#[derive(Debug, thiserror::Error, Diagnostic)]
#[error("{what}")]
pub(super) struct Wrong {
    what: String,
    #[help]
    cure: String,
}

impl Wrong {
    pub fn new(what: impl fmt::Display, cure: impl fmt::Display) -> Self {
        Wrong { what: what.to_string(), cure: cure.to_string() }
    }
}

impl Failure {
    /// Prints to stderr: drawn with the offending line, coloured only on a terminal.
    pub fn print(&self) -> Exit {
        let theme =
            if io::stderr().is_terminal() { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
        let mut text = String::new();
        let drawn = GraphicalReportHandler::new_themed(theme).with_width(100).render_report(&mut text, &*self.0);
        if drawn.is_err() {
            text = self.0.to_string();
        }
        // Nobody is left to tell when stderr is closed.
        let _ = writeln!(io::stderr(), "{}", text.trim_end());
        Exit::WrongInput
    }
}

/// Writes an answer to stdout. A reader that closed the pipe early has what it wanted.
pub(super) fn answer(text: &str) -> Result<(), Failure> {
    match io::stdout().write_all(text.as_bytes()).and_then(|()| io::stdout().flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Wrong::new(format!("the answer could not be written: {error}"), "free the place it goes to").into())
        }
        _ => Ok(()),
    }
}

/// Tells something beside the answer, on stderr.
pub(super) fn aside(text: &str) {
    let _ = writeln!(io::stderr(), "{text}");
}
