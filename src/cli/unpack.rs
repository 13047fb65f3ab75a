//! `baywright unpack`: a packed scene, checked and laid out in a new folder.

use std::path::PathBuf;

use crate::scene::unpack;

use super::Exit;
use super::said::{Failure, answer, aside};

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
    let unpacked = unpack(&args.archive, &args.folder)?;
    if unpacked.is_other_library {
        aside("packed with another built-in library: rules and sizes taken from `house:` may differ here");
    }
    answer(&format!("{}: {} files\n", unpacked.scene.display(), unpacked.files.len()))?;
    Ok(Exit::Clear)
}
