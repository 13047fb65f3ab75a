//! What commands print and how they fail.

use std::fmt;
use std::io::{self, IsTerminal, Write};

use clap::ValueEnum;
use miette::Diagnostic;

use super::Exit;
use crate::report::fault_text;

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

    /// An error under a heading: what it says behind a `; ` is its own remedy, told once and instead of `cure`.
    pub fn told(heading: impl fmt::Display, error: impl fmt::Display, cure: impl fmt::Display) -> Self {
        let error = error.to_string();
        match error.split_once("; ") {
            Some((what, remedy)) => Wrong::new(format!("{heading}: {what}"), remedy),
            None => Wrong::new(format!("{heading}: {error}"), cure),
        }
    }
}

impl Failure {
    /// What is wrong, on one line, without what to do about it.
    pub fn words(&self) -> String {
        self.0.to_string().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Prints to stderr: each fault drawn with its offending line, coloured only on a terminal.
    pub fn print(&self) -> Exit {
        let faults: Vec<&dyn Diagnostic> = self.0.related().map(Iterator::collect).unwrap_or_default();
        // Nobody is left to tell when stderr is closed.
        if faults.is_empty() {
            let _ = writeln!(io::stderr(), "{}", drawn(&*self.0));
        } else {
            for fault in &faults {
                let _ = writeln!(io::stderr(), "{}\n", drawn(*fault));
            }
            let count =
                if faults.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", faults.len()) };
            let _ = writeln!(io::stderr(), "{count}; nothing was done");
        }
        Exit::WrongInput
    }
}

fn drawn(diagnostic: &dyn Diagnostic) -> String {
    fault_text(diagnostic, io::stderr().is_terminal())
}

/// Writes an answer to stdout. A reader that closed the pipe early has what it wanted.
pub(super) fn answer(text: &str) -> Result<(), Failure> {
    match io::stdout().write_all(text.as_bytes()).and_then(|()| io::stdout().flush()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(Wrong::new(format!("the answer could not be written: {error}"), "free the place it goes to")
                .into())
        }
        _ => Ok(()),
    }
}

/// Tells something beside the answer, on stderr.
pub(super) fn aside(text: &str) {
    let _ = writeln!(io::stderr(), "{text}");
}
