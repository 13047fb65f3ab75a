//! Writing a file whole or not at all.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes a file whole or not at all: beside it first, then to the disk, then over it by one rename.
///
/// A reader sees the old bytes or the new ones, never a part, and a full disk or a lost power line
/// leaves the old file. A link is followed: what it names is replaced, not the link. Permissions of
/// an old file are kept.
///
/// # Errors
/// What the system said; the file is then as it was and nothing is left beside it.
pub fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let path = &match path.canonicalize() {
        Ok(real) => real,
        Err(_) => path.to_path_buf(),
    };
    let (mut file, beside) = create_beside(path)?;
    let written = write_and_swap(&mut file, bytes, &beside, path);
    if written.is_err() {
        drop(file);
        // The error that counts is the first; what stays beside is only litter.
        let _ = std::fs::remove_file(&beside);
    }
    written
}

fn write_and_swap(file: &mut File, bytes: &[u8], beside: &Path, path: &Path) -> io::Result<()> {
    file.write_all(bytes)?;
    if let Ok(old) = std::fs::metadata(path) {
        file.set_permissions(old.permissions())?;
    }
    file.sync_all()?;
    std::fs::rename(beside, path)?;
    sync_folder(path)
}

/// Makes the rename itself last, where the system lets a folder be opened for that.
fn sync_folder(path: &Path) -> io::Result<()> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    match File::open(folder) {
        Ok(folder) if cfg!(unix) => folder.sync_all(),
        _ => Ok(()),
    }
}

fn create_beside(path: &Path) -> io::Result<(File, PathBuf)> {
    let name = path
        .file_name()
        .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "the path names no file"))?;
    for attempt in 0..100u32 {
        let mut beside = std::ffi::OsString::from(".");
        beside.push(name);
        beside.push(format!(".{}-{attempt}.part", std::process::id()));
        let beside = path.with_file_name(beside);
        match OpenOptions::new().write(true).create_new(true).open(&beside) {
            Ok(file) => return Ok((file, beside)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::new(
        io::ErrorKind::AlreadyExists,
        "a hundred unfinished files stand beside it; delete them",
    ))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn replaces_the_whole_file_and_leaves_nothing_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("scene.yaml");
        write_whole(&path, b"first, and longer").unwrap();
        write_whole(&path, b"second").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"second");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_in_the_way_is_an_error_and_leaves_nothing_beside() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("taken");
        std::fs::create_dir(&path).unwrap();
        assert!(write_whole(&path, b"x").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_what_it_names_is_replaced() {
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        std::fs::write(&real, b"old").unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        write_whole(&link, b"new").unwrap();
        assert_eq!(std::fs::read(&real).unwrap(), b"new");
        assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
    }
}
