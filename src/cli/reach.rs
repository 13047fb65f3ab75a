//! `baywright reach`: service points alone, before and after.

use std::fmt::Write as _;

use crate::check::Findings;
use crate::report::{findings_json, findings_text, reach_table};

use super::Exit;
use super::exit::FailOn;
use super::fitted_out::{FittedOut, SceneArgs};
use super::said::{Failure, Format, answer};

/// Try the service points alone: what a person must touch, turn, pour into and lift out
///
/// With --script each point is tried before and after the script, side by side.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright reach demo-scenes/van/scene.yaml --script demo-scenes/van/scripts/first-position.rhai"
)]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Exit with 1 from this verdict on (after the script, when there is one).
    #[arg(long, value_enum, default_value_t, value_name = "VERDICT")]
    fail_on: FailOn,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let mut ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    let after = {
        let FittedOut { before, script, checker } = &mut ready;
        checker.reach(script.as_ref().map_or(&*before, |run| &run.scene))
    };
    let text = match args.format {
        Format::Json => findings_json(ready.scene(), &after),
        Format::Text => {
            let mut text = String::new();
            if ready.script.is_some() {
                let before: Findings = ready.checker.reach(&ready.before);
                // Writing to a String cannot fail.
                let _ = writeln!(text, "{}", reach_table(&before, &after));
            }
            text.push_str(&findings_text(ready.scene(), &after));
            text
        }
    };
    answer(&text)?;
    Ok(args.fail_on.exit(&after))
}
