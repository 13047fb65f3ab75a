//! Exit codes, nothing else.

use std::process::ExitCode;

use baywright::cli::{Baywright, run};
use clap::Parser;

fn main() -> ExitCode {
    ExitCode::from(run(Baywright::parse()).code())
}
