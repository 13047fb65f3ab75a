//! A file of ways in, read for a scene.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use miette::Diagnostic;

use crate::assembly::broken_scene;
use crate::report::{GltfPart, MovedPart, read_motion};
use crate::scene::Scene;

use super::said::{Failure, Wrong};

/// Files larger than this are not read, bytes.
const MOST_BYTES: u64 = 64 << 20;

/// How far a way may end from where its body is mounted, mm and radians: a figure printed and read back.
const NEAR_MM: f64 = 0.1;
const NEAR_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;

const CURE: &str = "give a file that `baywright way-in SCENE BODY --format json > FILE` wrote";
const OTHER: &str = "run `way-in` on this scene, with the same --script, and give its file";

/// Reads ways for a scene: pipes that go in as pieces are in pieces in the scene that is given back.
pub(super) fn ways_of(path: &Path, scene: &Scene) -> Result<(Scene, Vec<GltfPart>), Failure> {
    let file = path.display();
    let not_read = |why: String| Wrong::new(format!("{file} could not be read: {why}"), CURE);
    if path.is_dir() {
        return Err(not_read("it is a folder".to_owned()).into());
    }
    let mut bytes = Vec::new();
    let open = File::open(path).map_err(|error| not_read(error.to_string()))?;
    open.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| not_read(error.to_string()))?;
    if bytes.len() as u64 > MOST_BYTES {
        let why = format!("it is larger than {} MiB, which no file of ways is", MOST_BYTES >> 20);
        return Err(not_read(why).into());
    }
    let text = String::from_utf8(bytes).map_err(|_| not_read("it is no text in UTF-8".to_owned()))?;
    let read = read_motion(&text).map_err(|error| {
        let cure = error.help().map_or_else(|| CURE.to_owned(), |help| help.to_string());
        Wrong::new(format!("{file}: {error}"), cure)
    })?;
    let mut seen = scene.clone();
    for pipe in &read.broken {
        seen = broken_scene(&seen, &pipe.body, pipe.joint, &pipe.places)
            .map_err(|error| Wrong::new(format!("{file}: {error}"), OTHER))?;
    }
    let names: Vec<&String> = read.parts.iter().map(|part| &part.body).collect();
    let mut parts = Vec::with_capacity(names.len());
    for part in &read.parts {
        ends_where_it_is_mounted(path, &seen, part)?;
        let later = names.iter().filter(|name| ***name != part.body && !part.after.contains(name));
        parts.push(GltfPart {
            body: part.body.clone(),
            way: part.way.clone(),
            seat_mm: part.seat_mm,
            away: later.copied().chain(&read.without).cloned().collect(),
        });
    }
    Ok((seen, parts))
}

/// Refuses a way that does not end where its body is mounted: then the file is of another scene.
fn ends_where_it_is_mounted(path: &Path, scene: &Scene, part: &MovedPart) -> Result<(), Wrong> {
    let (file, body) = (path.display(), &part.body);
    let Some(mounted) = scene.body(body) else {
        return Err(Wrong::new(format!("{file}: the scene has no body `{body}`"), OTHER));
    };
    let Some(last) = part.way.poses.last() else { return Ok(()) };
    let end = last.translation.vector + part.seat_mm.unwrap_or_default();
    let off_mm = (end - mounted.world_from_body.translation.vector).norm();
    let off_rad = last.rotation.angle_to(&mounted.world_from_body.rotation);
    if off_mm <= NEAR_MM && off_rad <= NEAR_RAD {
        return Ok(());
    }
    let what = format!(
        "{file}: the way of `{body}` ends {off_mm:.1} mm and {:.1} deg from where it is mounted in this scene",
        off_rad.to_degrees()
    );
    Err(Wrong::new(what, OTHER))
}
