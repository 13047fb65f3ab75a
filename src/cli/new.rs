//! `baywright new`: a commented starter scene.

use std::fs;
use std::path::PathBuf;

use crate::scene::{new_scene_text, write_whole};

use super::Exit;
use super::said::{Failure, Wrong, answer};

/// Make a folder with a commented starter scene to fill with your own measurements
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright new my-bay")]
pub struct Args {
    /// The folder to make.
    folder: PathBuf,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let scene = args.folder.join("scene.yaml");
    if scene.exists() {
        let what = format!("{} is there already", scene.display());
        return Err(Wrong::new(what, "name another folder; nothing was changed").into());
    }
    let failed = |error: std::io::Error| {
        Wrong::new(
            format!("{} could not be made: {error}", args.folder.display()),
            "name a folder you may write to",
        )
    };
    fs::create_dir_all(&args.folder).map_err(failed)?;
    write_whole(&scene, new_scene_text().as_bytes()).map_err(failed)?;
    answer(&format!("{}\n", scene.display()))?;
    Ok(Exit::Clear)
}
