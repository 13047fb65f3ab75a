//! What the process says to the shell.

use clap::ValueEnum;

use crate::check::{Findings, Verdict};

/// The exit codes there are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exit {
    /// Done, and no finding at or above `--fail-on`.
    Clear,
    /// Findings at or above `--fail-on`.
    Found,
    /// The input is wrong; stderr says where, why and what to do.
    WrongInput,
    /// No answer within the budget.
    NoAnswer,
}

impl Exit {
    /// The number for the shell.
    pub const fn code(self) -> u8 {
        match self {
            Exit::Clear => 0,
            Exit::Found => 1,
            Exit::WrongInput => 2,
            Exit::NoAnswer => 3,
        }
    }
}

/// From which verdict on the exit code is 1.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum FailOn {
    /// Anything that is not proved clear.
    Undecided,
    /// What is surely short of room, or touches.
    #[default]
    Short,
    /// Only what touches.
    Touching,
}

impl FailOn {
    /// The exit code for what was found.
    pub fn exit(self, findings: &Findings) -> Exit {
        let from = match self {
            FailOn::Undecided => Verdict::Undecided,
            FailOn::Short => Verdict::Short,
            FailOn::Touching => Verdict::Touching,
        };
        if findings.worst() >= from { Exit::Found } else { Exit::Clear }
    }
}
