//! `--motion FILE`: ways in, read from a file, on a scene.

use std::fs;
use std::path::{Path, PathBuf};

use crate::assembly::broken_scene;
use crate::report::{MovedPart, read_motion};
use crate::scene::Scene;
use crate::view::BodyWay;

use super::said::{Failure, Wrong};

/// Files larger than this are not read, bytes.
const MOST_BYTES: u64 = 64 << 20;

/// How far a way may end from where its body is mounted, mm and radians: a figure printed and read back.
const NEAR_MM: f64 = 0.1;
const NEAR_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// Reads ways and fits them to a scene: pipes that go in as pieces are in pieces in the scene that is given back.
pub(super) fn read(path: &Path, scene: &Scene) -> Result<(Scene, Vec<BodyWay>), Failure> {
    let cure = "give a file that `baywright way-in SCENE BODY --format json > FILE` wrote";
    let not_read = |why: String| Wrong::new(format!("{} could not be read: {why}", path.display()), cure);
    let size = fs::metadata(path).map_err(|error| not_read(error.to_string()))?;
    if !size.is_file() {
        return Err(not_read("it is no file".to_owned()).into());
    }
    if size.len() > MOST_BYTES {
        let what = format!("it is larger than {} MiB, which no file of ways is", MOST_BYTES >> 20);
        return Err(not_read(what).into());
    }
    let text = fs::read_to_string(path).map_err(|error| not_read(error.to_string()))?;
    let file = read_motion(&text).map_err(|error| {
        let help = miette::Diagnostic::help(&error).map(|help| help.to_string());
        Wrong::new(format!("{}: {error}", path.display()), help.unwrap_or_else(|| cure.to_owned()))
    })?;
    let other = "run `way-in` on this scene, with the same --script, and give its file";
    let mut seen = scene.clone();
    for pipe in &file.broken {
        seen = broken_scene(&seen, &pipe.body, pipe.joint, &pipe.places)
            .map_err(|error| Wrong::new(format!("{}: {error}", path.display()), other))?;
    }
    let names: Vec<&String> = file.parts.iter().map(|part| &part.body).collect();
    let mut ways = Vec::with_capacity(file.parts.len());
    for part in &file.parts {
        fits(path, &seen, part, other)?;
        let later = names.iter().filter(|name| ***name != part.body && !part.after.contains(name));
        // What is away is away in this scene as well, where it has it.
        let gone = file.without.iter().filter(|name| seen.body(name).is_some());
        ways.push(BodyWay {
            body: part.body.clone(),
            way: part.way.clone(),
            seat_mm: part.seat_mm,
            away: later.copied().chain(gone).cloned().collect(),
        });
    }
    Ok((seen, ways))
}

/// Refuses a way that does not end where its body is mounted: then the file is of another scene.
fn fits(path: &Path, scene: &Scene, part: &MovedPart, cure: &str) -> Result<(), Failure> {
    let file = PathBuf::from(path);
    let Some(body) = scene.body(&part.body) else {
        let what = format!("{}: the scene has no body `{}`", file.display(), part.body);
        return Err(Wrong::new(what, cure).into());
    };
    let Some(last) = part.way.poses.last() else { return Ok(()) };
    let end = last.translation.vector + part.seat_mm.unwrap_or_default();
    let off_mm = (end - body.world_from_body.translation.vector).norm();
    let off_rad = last.rotation.angle_to(&body.world_from_body.rotation);
    if off_mm > NEAR_MM || off_rad > NEAR_RAD {
        let what = format!(
            "{}: the way of `{}` ends {off_mm:.1} mm and {:.1} deg from where it is mounted in this scene",
            file.display(),
            part.body,
            off_rad.to_degrees()
        );
        return Err(Wrong::new(what, cure).into());
    }
    Ok(())
}
