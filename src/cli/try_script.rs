//! `baywright try`: run a script on a scene, check the result, perhaps save it.

use std::path::PathBuf;

use crate::script::{Deed, ScriptRun};

use super::Exit;
use super::check::Asked;
use super::fitted_out::FittedOut;
use super::said::{Failure, aside};
use super::save::save;

/// Run a script on a scene and check the result; the scene file is left as it is
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright try demo-scenes/van/scene.yaml demo-scenes/van/scripts/first-position.rhai"
)]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// The script (Rhai).
    script: PathBuf,
    /// Save the scene with what the script placed as a new file in the scene's folder.
    #[arg(long, value_name = "NEW-SCENE")]
    save: Option<PathBuf>,
    #[command(flatten)]
    asked: Asked,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    if let Some(new) = &args.save {
        super::new_file::is_new(new)?;
    }
    let mut ready = FittedOut::load(&args.scene, Some(&args.script))?;
    if let Some(run) = &ready.script {
        aside(&what_it_did(run));
        if let Some(new) = &args.save {
            save(&args.scene, run, new)?;
            aside(&format!("saved as {}", new.display()));
        }
    }
    let findings = args.asked.check(&mut ready);
    args.asked.tell(ready.scene(), &findings)
}

fn what_it_did(run: &ScriptRun) -> String {
    let lines: Vec<String> = run
        .changes
        .iter()
        .map(|change| {
            let deed = match &change.deed {
                Deed::Added => "placed".to_owned(),
                Deed::Moved { .. } => "moved".to_owned(),
                Deed::Removed { .. } => "removed".to_owned(),
                Deed::Renamed { from } => format!("renamed from `{from}`"),
            };
            format!("  {} {deed} ({}:{})", change.body, change.span.file, change.span.line)
        })
        .collect();
    let bodies = if lines.len() == 1 { "1 body" } else { &format!("{} bodies", lines.len()) };
    format!("{} ran: {bodies} changed\n{}", run.script, lines.join("\n"))
}
