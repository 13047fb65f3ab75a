//! `baywright check`: every finding of a scene.

use crate::check::{CheckOptions, Findings, KeptPairs};
use crate::report::{findings_json, findings_text};
use crate::scene::Scene;

use super::Exit;
use super::exit::FailOn;
use super::fitted_out::{FittedOut, SceneArgs};
use super::said::{Failure, Format, answer};

/// Check a scene: what touches, is short of room, is undecided, is clear; at rest and through all movement
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright check my-bay/scene.yaml --fail-on undecided")]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    #[command(flatten)]
    asked: Asked,
}

/// How findings are asked for and told: the same for every command that checks.
#[derive(Debug, clap::Args)]
pub(super) struct Asked {
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
    /// Exit with 1 from this verdict on.
    #[arg(long, value_enum, default_value_t, value_name = "VERDICT")]
    fail_on: FailOn,
    /// Judge pairs of kept equipment too, instead of taking them as the factory left them.
    #[arg(long)]
    kept_pairs: bool,
}

impl Asked {
    /// Checks a scene as asked for.
    pub fn check(&self, ready: &mut FittedOut) -> Findings {
        let kept_pairs = if self.kept_pairs { KeptPairs::Examined } else { KeptPairs::AsFound };
        ready.check(&CheckOptions { kept_pairs, ..CheckOptions::default() })
    }

    /// Prints the findings and says how it ended.
    pub fn tell(&self, scene: &Scene, findings: &Findings) -> Result<Exit, Failure> {
        answer(&match self.format {
            Format::Text => findings_text(scene, findings),
            Format::Json => findings_json(scene, findings),
        })?;
        Ok(self.fail_on.exit(findings))
    }
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let mut ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    let findings = args.asked.check(&mut ready);
    args.asked.tell(ready.scene(), &findings)
}
