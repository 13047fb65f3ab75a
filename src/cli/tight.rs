//! `baywright tight`: all of a body's surface that has too little room.

use std::path::PathBuf;

use clap::ValueEnum;

use crate::check::CheckOptions;
use crate::report::{tight_csv, tight_json, tight_text};
use crate::space::Length;

use super::Exit;
use super::fitted_out::FittedOut;
use super::said::{Failure, Wrong, answer};

/// Show all of a body's surface that has too little room, not only the worst place: what to dent, trim or move
///
/// For each other body that is too near it lists the stretches of surface under the room asked for, at the pose of the
/// least gap: where they are with the body at rest, how far they reach, and their area.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright tight demo-scenes/van/scene.yaml turbo --script demo-scenes/van/scripts/first-position.rhai"
)]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// The body.
    body: String,
    /// Run this script on the scene first; the scene file is left as it is.
    #[arg(long, value_name = "SCRIPT")]
    script: Option<PathBuf>,
    /// How finely the edge of a stretch is followed; a bare number takes the scene's units.
    #[arg(long, value_name = "LENGTH", default_value = "1 mm")]
    resolution: String,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: TightFormat,
}

/// How the stretches are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum TightFormat {
    /// For people: 80 columns.
    #[default]
    Text,
    /// Every cell's corners and gap, one a row.
    Csv,
    /// For programs: one stable, versioned document.
    Json,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let mut ready = FittedOut::load(&args.scene, args.script.as_deref())?;
    let FittedOut { before, script, checker } = &mut ready;
    let scene = script.as_ref().map_or(&*before, |run| &run.scene);
    if scene.body(&args.body).is_none() {
        let names: Vec<String> = scene.bodies.iter().map(|body| format!("`{}`", body.name)).collect();
        let names = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
        return Err(Wrong::new(
            format!("no body is called `{}`", args.body),
            format!("bodies here are {names}; what a script places is there with --script"),
        )
        .into());
    }
    let resolution = match Length::parse(&args.resolution, scene.units) {
        Ok(length) if length.mm() >= 0.01 => length,
        Ok(_) => return Err(Wrong::new("the resolution is under 0.01 mm", "give one such as `1 mm`").into()),
        Err(error) => {
            return Err(Wrong::told("the resolution", error, "write a length such as `1 mm`").into());
        }
    };
    let found =
        checker.tight(scene, &args.body, &CheckOptions { cures: 0, ..CheckOptions::default() }, resolution);
    answer(&match args.format {
        TightFormat::Text => tight_text(&args.body, &found),
        TightFormat::Csv => tight_csv(&found),
        TightFormat::Json => tight_json(&args.body, &found),
    })?;
    Ok(if found.is_empty() { Exit::Clear } else { Exit::Found })
}
