//! `baywright fit`: surveys turned to bodies, with residuals and uncertainty.

use std::path::PathBuf;

use crate::report::{fits_json, fits_text};
use crate::scene::Scene;

use super::Exit;
use super::said::{Failure, Format, answer};

/// Fit bodies to measured marks: residuals, scatter, uncertainty, and which marks to measure again
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright fit demo-scenes/van/scene.yaml")]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let scene = Scene::load(&args.scene)?;
    answer(&match args.format {
        Format::Text => fits_text(&scene),
        Format::Json => fits_json(&scene),
    })?;
    Ok(Exit::Clear)
}
