//! A file written whole or not at all.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

use super::ViewError;

/// Writes beside the file, syncs, and takes its place in one step; on failure the old file, if
/// any, is as it was and nothing is left over.
pub(super) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), ViewError> {
    let beside = beside(path);
    let written = File::create(&beside).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    written.and_then(|()| fs::rename(&beside, path)).map_err(|cause| {
        let _ = fs::remove_file(&beside);
        ViewError::Write { path: path.to_owned(), cause }
    })
}

fn beside(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_file_is_whole_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.png");
        write_whole(&path, b"one").unwrap();
        write_whole(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_missing_folder_is_an_error_and_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let error = write_whole(&folder.path().join("none/a.png"), b"one").unwrap_err();
        assert!(matches!(error, ViewError::Write { .. }), "{error}");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}
