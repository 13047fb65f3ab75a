//! `baywright reach`: service points alone, before and after.

use crate::check::kept_table;
use crate::report::{findings_json, findings_text, reach_json, reach_table};

use super::Exit;
use super::exit::FailOn;
use super::fitted_out::{FittedOut, SceneArgs};
use super::said::{Failure, Format, answer};

/// Try the service points alone: what a person must see, touch, turn, pull, pour into, unscrew and lift out
///
/// With --script one table shows every point and every kept body before and after the script, side by side.
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
    let FittedOut { before, script, checker } = &mut ready;
    let (after, table) = match script {
        None => (checker.reach(before, None), None),
        Some(run) => {
            let was = checker.reach(before, None);
            let now = checker.reach(&run.scene, Some(before));
            let table = kept_table(before, &run.scene, &was, &now);
            (now, Some(table))
        }
    };
    let text = match (args.format, &table) {
        (Format::Json, None) => findings_json(ready.scene(), &after),
        (Format::Json, Some(table)) => reach_json(ready.scene(), &after, table),
        (Format::Text, None) => findings_text(ready.scene(), &after),
        (Format::Text, Some(table)) => {
            format!("{}\n{}", reach_table(table), findings_text(ready.scene(), &after))
        }
    };
    answer(&text)?;
    Ok(args.fail_on.exit(&after))
}
