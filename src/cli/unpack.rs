//! `baywright unpack`: a packed scene, checked and laid out in a new folder.

use std::path::PathBuf;

use crate::scene::unpack;

use super::Exit;
use super::said::{Failure, answer};

/// Unpack a packed scene into a new folder, after checking every file against its checksum
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright unpack my-bay.zip -d their-bay")]
pub struct Args {
    /// The archive.
    archive: PathBuf,
    /// The folder to make; it must not exist or be empty.
    #[arg(short = 'd', long, value_name = "FOLDER")]
    folder: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let scene = unpack(&args.archive, &args.folder)?;
    answer(&format!("{}\n", scene.display()))?;
    Ok(Exit::Clear)
}
