//! `baywright export`: a scene as glTF, for other programs and for eyes.

use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

use crate::report::{CAUTIONS, GLTF_GENERATOR, GltfOptions, glb_generator, gltf_of};
use crate::scene::{Scene, write_whole};
use crate::space::{Length, LengthUnit};

use super::Exit;
use super::fitted_out::{FittedOut, SceneArgs};
use super::motion_file::ways_of;
use super::new_file::is_no_input;
use super::said::{Failure, Wrong, answer};

/// Write a scene as glTF 2.0 (GLB): every body a named node, movements and ways in as animations
///
/// Metres, y up, as the standard asks; under the root node the axes are the vehicle's. Each freedom of a carrier (the engine's
/// rock, the hood's hinge) is an animation; with --motion each way in is one too, the hood open and what is away not there.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright way-in demo-scenes/cowl/scene.yaml hot-pipe --breaks --format json --time 90s > ways.json\n         baywright export demo-scenes/cowl/scene.yaml --motion ways.json -o cowl.glb"
)]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    /// The file to write; it ends in .glb.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// How far drawn surfaces may lie off the true ones; a bare number is millimetres.
    #[arg(long, value_name = "LENGTH", default_value = "0.1 mm", value_parser = chord, allow_hyphen_values = true)]
    chord: Length,
    /// Ways in to be played: a file that `way-in` or `order` wrote with --format json.
    #[arg(long, value_name = "FILE")]
    motion: Option<PathBuf>,
}

fn chord(text: &str) -> Result<Length, String> {
    let length = Length::parse(text, LengthUnit::Millimetre).map_err(|error| error.to_string())?;
    match (0.005..=50.0).contains(&length.mm()) {
        true => Ok(length),
        false => Err("a chord error is from 0.005 to 50 mm".to_owned()),
    }
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    can_write(&args.output)?;
    let ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    is_no_input(&args.output, &args.scene.scene, ready.scene())?;
    let (scene, parts) = match &args.motion {
        Some(path) => ways_of(path, ready.scene())?,
        None => (ready.scene().clone(), Vec::new()),
    };
    let gltf = gltf_of(&scene, &parts, &GltfOptions { chord_mm: args.chord.mm() })?;
    write_whole(&args.output, &gltf.glb).map_err(|error| {
        let what = format!("{} could not be written: {error}", args.output.display());
        Wrong::new(what, "give a path in a folder that exists and may be written to")
    })?;
    let mut text = format!(
        "{}: {}, {} triangles within {} of the surfaces, {} points\n",
        args.output.display(),
        counted(&scene),
        gltf.triangles,
        args.chord,
        gltf.points
    );
    if !gltf.animations.is_empty() {
        text.push_str("Animations:\n");
        for name in &gltf.animations {
            text.push_str(&format!("  {name}\n"));
        }
    }
    if let Some(stray_mm) = gltf.stray_mm {
        text.push_str(&format!(
            "What plays the ways as the standard says keeps every point of the body within {:.5} mm of them (33 instants looked at from \
             each key to the next). A way is proved; a picture of it proves nothing.\n",
            stray_mm
        ));
    }
    text.push('\n');
    for caution in CAUTIONS {
        text.push_str(caution);
        text.push('\n');
    }
    answer(&text)?;
    Ok(Exit::Clear)
}

fn counted(scene: &Scene) -> String {
    match scene.bodies.len() {
        1 => "1 body".to_owned(),
        count => format!("{count} bodies"),
    }
}

/// Refuses a name that is no GLB's, and to write over what is not one of ours.
fn can_write(path: &Path) -> Result<(), Wrong> {
    if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("glb")) {
        let what = format!("{} does not end in .glb, and GLB is what is written", path.display());
        return Err(Wrong::new(what, "name the file like `bay.glb`"));
    }
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir()) {
        let what = format!("there is no folder {} to write into", folder.display());
        return Err(Wrong::new(what, "make it first, or name another"));
    }
    if path.is_dir() {
        let what = format!("{} is a folder", path.display());
        return Err(Wrong::new(what, "name a file"));
    }
    if path.symlink_metadata().is_ok() && !is_ours(path) {
        let what = format!("{} is there already, and Baywright did not write it", path.display());
        return Err(Wrong::new(what, "name another; what is there is left as it is"));
    }
    Ok(())
}

/// Documents longer than this are not looked into, bytes.
const MOST_BYTES: u64 = 256 << 20;

fn is_ours(path: &Path) -> bool {
    let name = GLTF_GENERATOR.split(' ').next().unwrap_or(GLTF_GENERATOR);
    let mut bytes = Vec::new();
    let read = File::open(path).and_then(|file| file.take(MOST_BYTES).read_to_end(&mut bytes));
    read.is_ok() && glb_generator(&bytes).is_some_and(|by| by.split(' ').next() == Some(name))
}
