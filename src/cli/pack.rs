//! `baywright pack`: a scene and all it names as one file.

use std::path::PathBuf;

use crate::scene::pack;

use super::Exit;
use super::said::{Failure, answer};

/// Pack a scene with every file that it names into one archive with a checksum for each
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright pack my-bay/scene.yaml -o my-bay.zip")]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// The archive to write.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let packed = pack(&args.scene, &args.output)?;
    answer(&format!("{}: {} files\n", args.output.display(), packed.files.len()))?;
    Ok(Exit::Clear)
}
