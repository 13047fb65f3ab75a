//! `baywright picture`: a scene and its findings drawn without a window.

use std::path::PathBuf;

use super::Exit;
use super::fitted_out::SceneArgs;
use super::said::Failure;

/// Draw a scene and its findings to a PNG file, without a window
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright picture my-bay/scene.yaml -o bay.png --finding 1")]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    /// The PNG file to write.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Fly to the finding of this number in the report of `check`.
    #[arg(long, value_name = "NUMBER")]
    finding: Option<usize>,
    /// A moment of the ways in of this file, which `way-in` or `order` wrote with --format json; no findings are marked.
    #[arg(long, value_name = "FILE", conflicts_with = "finding")]
    motion: Option<PathBuf>,
    /// Which moment: a share of the whole, such as 40%.
    #[arg(long, value_name = "SHARE", default_value = "50%", value_parser = share, requires = "motion", allow_hyphen_values = true)]
    at: f64,
    /// From where: front, rear, left, right, above, quarter-left or quarter-right.
    #[arg(long, value_name = "SIDE")]
    from: Option<String>,
    /// Leave a body out; may be given again.
    #[arg(long, value_name = "BODY")]
    hide: Vec<String>,
    /// See through a body; may be given again.
    #[arg(long, value_name = "BODY")]
    fade: Vec<String>,
    /// Draw solid what is otherwise drawn faint because it hides a candidate or a finding.
    #[arg(long)]
    solid: bool,
    /// Width and height in pixels.
    #[arg(long, value_name = "WIDTHxHEIGHT", default_value = "1600x1000")]
    size: String,
}

/// `40%` or `0.4`.
fn share(text: &str) -> Result<f64, String> {
    let text = text.trim();
    let (figure, whole) = text.strip_suffix('%').map_or((text, 1.0), |figure| (figure, 100.0));
    match figure.trim().parse::<f64>() {
        Ok(value) if (0.0..=whole).contains(&value) => Ok(value / whole),
        _ => Err("give a share from 0% to 100%".to_owned()),
    }
}

#[cfg(not(feature = "viewer"))]
pub(super) fn run(_args: &Args) -> Result<Exit, Failure> {
    Err(super::view::without_viewer())
}

#[cfg(feature = "viewer")]
pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    use super::fitted_out::FittedOut;
    use super::said::{Wrong, answer};
    use crate::assembly::hood_open;
    use crate::check::{CheckOptions, Findings};
    use crate::view::{InFront, Moving, PictureOptions, ViewFrom, picture};

    let size = || {
        let (width, height) = args.size.split_once('x')?;
        Some((width.trim().parse().ok()?, height.trim().parse().ok()?))
    };
    let (width, height) = size().ok_or_else(|| {
        Wrong::new(
            format!("`{}` is not a size", args.size),
            "write width x height in pixels: `--size 1600x1000`",
        )
    })?;
    if !args.output.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png")) {
        return Err(Wrong::new(
            format!("{} does not end in .png, and PNG is what is written", args.output.display()),
            "name the file like `bay.png`",
        )
        .into());
    }
    let from = args.from.as_deref().map(ViewFrom::from_word).transpose()?;
    let mut ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    let mut options = PictureOptions {
        width,
        height,
        from,
        focus: args.finding,
        hidden: args.hide.clone(),
        faded: args.fade.clone(),
        in_front: if args.solid { InFront::Solid } else { InFront::Faint },
        ..PictureOptions::default()
    };
    let drawn = match &args.motion {
        Some(path) => {
            let (scene, playback) = super::view::played(path, ready.scene())?;
            let (seen, now) = playback.scene_at(&scene, args.at);
            options.values = hood_open(&seen);
            options.moving =
                Some(Moving { body: now.body.clone(), told: now.told(), words: now.words.clone() });
            picture(&seen, &Findings::default(), &options)?
        }
        None => {
            let findings = ready.check(&CheckOptions::default());
            picture(ready.scene(), &findings, &options)?
        }
    };
    drawn.save(&args.output)?;
    answer(&format!("{}\n{}\n", args.output.display(), drawn.caption.join("\n")))?;
    Ok(Exit::Clear)
}
