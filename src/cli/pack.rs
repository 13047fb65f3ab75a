//! `baywright pack`: a scene and all it names as one file.

use std::path::PathBuf;

use crate::scene::pack;

use super::Exit;
use super::said::{Failure, Wrong, answer};

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
    if let Some(folder) =
        args.output.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir())
    {
        return Err(Wrong::new(
            format!("there is no folder {} to write into", folder.display()),
            "make it first, or name another",
        )
        .into());
    }
    let packed = pack(&args.scene, &args.output)?;
    answer(&format!("{}: {} files\n", args.output.display(), packed.files.len()))?;
    Ok(Exit::Clear)
}
