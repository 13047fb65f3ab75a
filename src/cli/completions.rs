//! `baywright completions`: completions for a shell.

use clap::CommandFactory;
use clap_complete::Shell;

use super::said::{Failure, answer};
use super::{Baywright, Exit};

/// Write completions for a shell to stdout
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright completions bash > ~/.local/share/bash-completion/completions/baywright"
)]
pub struct Args {
    /// Which shell.
    #[arg(value_enum)]
    shell: Shell,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let mut text = Vec::new();
    clap_complete::generate(args.shell, &mut Baywright::command(), "baywright", &mut text);
    answer(&String::from_utf8_lossy(&text))?;
    Ok(Exit::Clear)
}
