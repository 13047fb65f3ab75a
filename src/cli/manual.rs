//! `baywright manual`: the manual page.

use clap::CommandFactory;
use clap_mangen::Man;

use super::said::{Failure, Wrong, answer};
use super::{Baywright, Exit};

/// Write the manual page (roff) to stdout
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright manual | man -l -")]
pub struct Args {
    /// The page of one command instead of the whole program's.
    command: Option<String>,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let mut program = Baywright::command();
    program.build();
    let page = match &args.command {
        None => program,
        Some(name) => program.find_subcommand(name).cloned().ok_or_else(|| {
            let known: Vec<&str> = program.get_subcommands().map(clap::Command::get_name).collect();
            Wrong::new(
                format!("there is no command `{name}`"),
                format!("the commands are {}", known.join(", ")),
            )
        })?,
    };
    let mut text = Vec::new();
    Man::new(page)
        .render(&mut text)
        .map_err(|error| Wrong::new(format!("the page could not be made: {error}"), "report this"))?;
    answer(&String::from_utf8_lossy(&text))?;
    Ok(Exit::Clear)
}
