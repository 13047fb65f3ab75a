//! The scene with what a script placed, as a new document: comments and order of the old one stay.

use std::path::Path;

use crate::scene::SceneDocument;
use crate::script::{ScriptRun, Splice};

use super::said::{Failure, Wrong};

/// Opens the scene that the script ran on, splices in what it did, and writes the new file whole or not at
/// all. The new file must lie in the scene's folder, where the files are that it names.
pub(super) fn save(scene: &Path, run: &ScriptRun, new: &Path) -> Result<(), Failure> {
    let mut document = SceneDocument::open(scene)?;
    for fragment in run.yaml_fragments() {
        if let Some(why) = &fragment.unwritable {
            return Err(
                Wrong::new(format!("the new scene cannot be saved: {why}"), "nothing was written").into()
            );
        }
        match &fragment.splice {
            Splice::Add { .. } => document.add_body(&fragment.yaml)?,
            Splice::Set { body, .. } => {
                let placed = run.scene.body(body).ok_or_else(|| gone(body))?;
                document.set_body_pose(body, &placed.world_from_body)?;
            }
            Splice::Remove { body, .. } => {
                document.remove_body(body)?;
            }
            Splice::Rename { from, to } => {
                let what = format!("`{from}` was renamed to `{to}`, which `--save` does not write");
                return Err(Wrong::new(what, "rename it in the scene by hand, or leave its name").into());
            }
            // Joints and notes come from the run itself, after every body is there.
            _ => {}
        }
    }
    for pair in &run.joined {
        document.add_joined(pair)?;
    }
    for note in &run.notes {
        document.add_note(note)?;
    }
    document.save_as(new)?;
    Ok(())
}

fn gone(body: &str) -> Wrong {
    Wrong::new(format!("`{body}` was moved by the script and is gone from its scene"), "nothing was written")
}
