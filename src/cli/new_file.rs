//! Files that a command writes must not replace what somebody needs.

use std::path::Path;

use crate::scene::Scene;

use super::said::Wrong;

/// Refuses a name under which something stands already: `--save` writes a new scene.
pub(super) fn is_new(path: &Path) -> Result<(), Wrong> {
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir()) {
        let what = format!("there is no folder {} to write into", folder.display());
        return Err(Wrong::new(what, "make it first, or name another"));
    }
    if path.symlink_metadata().is_ok() {
        let what = format!("{} is there already", path.display());
        return Err(Wrong::new(what, "name a new file; what is there is left as it is"));
    }
    Ok(())
}

/// Refuses a name that is the scene's own, or that of a file which the scene names.
pub(super) fn is_no_input(path: &Path, scene_file: &Path, scene: &Scene) -> Result<(), Wrong> {
    let Ok(target) = path.canonicalize() else { return Ok(()) };
    let folder = scene_file.parent().unwrap_or(Path::new(""));
    let own = scene.files.iter().map(|file| folder.join(file)).chain([scene_file.to_owned()]);
    for file in own {
        if file.canonicalize().is_ok_and(|file| file == target) {
            let what = format!("{} is a file of the scene itself", path.display());
            return Err(Wrong::new(what, "name another; what is there is left as it is"));
        }
    }
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic)]
mod tests {
    use super::*;

    #[test]
    fn only_a_name_that_is_free_is_new() {
        let folder = tempfile::tempdir().unwrap();
        let there = folder.path().join("there.yaml");
        std::fs::write(&there, "x").unwrap();
        assert!(is_new(&folder.path().join("free.yaml")).is_ok());
        assert!(is_new(&there).unwrap_err().to_string().contains("is there already"));
        assert!(is_new(&folder.path().join("none/free.yaml")).unwrap_err().to_string().contains("no folder"));
    }
}
