//! `baywright view`: the 3D window.

use super::Exit;
use super::fitted_out::SceneArgs;
use super::said::Failure;

/// Open a window on a scene: walk round it, pick a finding and fly to it, rock the engine
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright view demo-scenes/van/scene.yaml")]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    /// Fly to the finding of this number in the report of `check`.
    #[arg(long, value_name = "NUMBER")]
    finding: Option<usize>,
    /// Run along the ways in of this file, which `way-in` or `order` wrote with --format json.
    #[arg(long, value_name = "FILE")]
    motion: Option<std::path::PathBuf>,
    /// Close after this many frames (for trying out a machine).
    #[arg(long, value_name = "COUNT")]
    frames: Option<usize>,
}

#[cfg(not(feature = "viewer"))]
pub(super) fn run(_args: &Args) -> Result<Exit, Failure> {
    Err(without_viewer())
}

/// Why a build without the viewer draws nothing.
#[cfg(not(feature = "viewer"))]
pub(super) fn without_viewer() -> Failure {
    super::said::Wrong::new(
        "this build has no viewer",
        "build with the default features: `cargo build --release`; `check` and `reach` answer without it",
    )
    .into()
}

/// The ways in of a file, to be run along, and the scene with pipes in the pieces that go in.
#[cfg(feature = "viewer")]
pub(super) fn played(
    file: &std::path::Path,
    scene: &crate::scene::Scene,
) -> Result<(crate::scene::Scene, crate::view::Playback), Failure> {
    let (seen, parts) = super::motion_file::ways_of(file, scene)?;
    let here = |name: &String| seen.body(name).is_some();
    let ways: Vec<crate::view::BodyWay> = parts
        .into_iter()
        .map(|part| crate::view::BodyWay {
            body: part.body,
            way: part.way,
            seat_mm: part.seat_mm,
            away: part.away.into_iter().filter(here).collect(),
        })
        .collect();
    let playback = crate::view::Playback::new(&seen, &ways)?;
    Ok((seen, playback))
}

#[cfg(feature = "viewer")]
pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    use super::fitted_out::FittedOut;
    use crate::check::CheckOptions;
    use crate::view::{WindowOptions, open_window_with};

    let mut ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    let findings = ready.check(&CheckOptions::default());
    let mut options = WindowOptions { focus: args.finding, frames: args.frames, ..WindowOptions::default() };
    if let Some(path) = &args.motion {
        // Findings are of the scene with pipes whole; where one is in pieces they are told by its old name.
        let (scene, playback) = played(path, ready.scene())?;
        options.motion = Some(playback);
        open_window_with(&scene, &findings, &options)?;
        return Ok(Exit::Clear);
    }
    open_window_with(ready.scene(), &findings, &options)?;
    Ok(Exit::Clear)
}
