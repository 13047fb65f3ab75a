//! The scene's folder: the only place from which a scene may name files.
//!
//! A scene may come from a stranger. No path of it leaves the folder: not by `..`, not by an
//! absolute path, not through a link.

use std::path::{Path, PathBuf};

use super::error::Fault;

/// A folder, links resolved.
#[derive(Clone, Debug)]
pub(crate) struct Folder {
    root: PathBuf,
}

/// A file of the folder.
#[derive(Clone, Debug)]
pub(crate) struct Inside {
    /// Relative to the folder, parts joined by `/`.
    pub relative: String,
    /// Where it is.
    pub full: PathBuf,
}

impl Folder {
    /// The folder of a scene file.
    pub fn of(scene: &Path) -> std::io::Result<Self> {
        let parent = match scene.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent,
            _ => Path::new("."),
        };
        Ok(Folder { root: parent.canonicalize()? })
    }

    /// The file that `path`, written in the file `from` (relative to the folder), names.
    pub fn find(&self, from: &str, path: &str) -> Result<Inside, Fault> {
        let path = path.strip_prefix("./").unwrap_or(path);
        if let Err(why) = portable_path(path) {
            return Err(Fault::PathRefused { path: path.to_owned(), why });
        }
        let relative = match from.rsplit_once('/') {
            Some((folder, _)) => format!("{folder}/{path}"),
            None => path.to_owned(),
        };
        let unreadable = |why: String| Fault::File { path: path.to_owned(), why };
        let full = self.root.join(&relative).canonicalize().map_err(|error| unreadable(in_words(&error)))?;
        if !full.starts_with(&self.root) {
            return Err(Fault::PathRefused {
                path: path.to_owned(),
                why: "it is a link that leaves the scene's folder",
            });
        }
        // A pipe or a device would hang the reader.
        if !full.metadata().map_err(|error| unreadable(in_words(&error)))?.is_file() {
            return Err(unreadable("it is not a file".to_owned()));
        }
        Ok(Inside { relative, full })
    }
}

/// What went wrong with a file, in words that are the same on every machine.
pub(crate) fn in_words(error: &std::io::Error) -> String {
    use std::io::ErrorKind;
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".to_owned(),
        ErrorKind::PermissionDenied => "reading it is not allowed".to_owned(),
        ErrorKind::NotADirectory => "a part of its path is no folder".to_owned(),
        _ => error.to_string(),
    }
}

/// Whether a relative path means the same file on every system, inside the folder it starts from.
pub(crate) fn portable_path(path: &str) -> Result<(), &'static str> {
    if path.is_empty() {
        return Err("it is empty");
    }
    if path.len() > 400 {
        return Err("it is longer than 400 bytes");
    }
    if path.starts_with('/') {
        return Err("it is absolute");
    }
    if path.contains('\\') {
        return Err("it has a backslash; folders are parted by `/`");
    }
    if path.chars().any(|c| c.is_control() || matches!(c, ':' | '<' | '>' | '"' | '|' | '?' | '*')) {
        return Err("it has a sign that not every system takes in a file name");
    }
    for part in path.split('/') {
        match part {
            "" => return Err("two `/` stand together, or one at its end"),
            ".." => return Err("it leaves the folder by `..`"),
            "." => return Err("it has a `.` for a folder"),
            _ => {}
        }
        if part.ends_with(['.', ' ']) || part.starts_with(' ') {
            return Err("a part of it begins or ends with a blank, or ends with a dot");
        }
        let stem = part.split('.').next().unwrap_or_default().to_ascii_lowercase();
        let numbered = |prefix: &str| {
            stem.strip_prefix(prefix)
                .is_some_and(|rest| rest.len() == 1 && rest.chars().all(|c| c.is_ascii_digit()))
        };
        if matches!(stem.as_str(), "con" | "prn" | "aux" | "nul") || numbered("com") || numbered("lpt") {
            return Err("a part of it is the name of a device on some systems");
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_portable_paths_pass() {
        for good in ["a.csv", "surveys/stand.csv", "a b/c-d_e.ply", "é.yaml", "common.yaml", "..a/b"] {
            assert_eq!(portable_path(good), Ok(()), "{good}");
        }
        for bad in [
            "",
            "/etc/x",
            "../x",
            "a/../b",
            "a/..",
            "./a",
            "a//b",
            "a/",
            "c:/x",
            "a\\b",
            "a\0b",
            "a\nb",
            "nul",
            "x/CON.txt",
            "com1.csv",
            "a./b",
            "a /b",
            " a",
            "what?",
            "a|b",
        ] {
            assert!(portable_path(bad).is_err(), "{bad:?}");
        }
    }
}
