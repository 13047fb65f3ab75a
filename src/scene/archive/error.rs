//! Why a scene could not be packed or unpacked.

use thiserror::Error;

use crate::scene::SceneErrors;

/// Why a scene could not be packed or unpacked. Nothing was written then.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ArchiveError {
    /// The scene has faults; a scene that does not load is not shared.
    #[error("{0}")]
    Faults(SceneErrors),
    /// A file or folder could not be read or written.
    #[error("{path}: {why}")]
    Disk {
        /// The file as it was named.
        path: String,
        /// What the system said.
        why: String,
    },
    /// The archive would replace a file of the scene itself.
    #[error("`{path}` is a file of the scene itself; name another file for the archive")]
    OwnFile {
        /// The file.
        path: String,
    },
    /// A file of the scene changed while it was packed.
    #[error("`{path}` changed while it was packed; pack again when nobody writes to it")]
    Changed {
        /// The file.
        path: String,
    },
    /// Not a packed scene.
    #[error("this is no packed scene: {why}; ask the sender to pack it again")]
    NotPacked {
        /// Why not.
        why: String,
    },
    /// Packed by a version that this build does not know.
    #[error("packed in format {found}; this build reads format {known}")]
    Format {
        /// What the manifest says.
        found: u64,
        /// What this build reads.
        known: u64,
    },
    /// An entry that must not be unpacked.
    #[error("entry `{entry}` is refused: {why}; nothing was unpacked, and the sender should be asked")]
    Entry {
        /// The entry, signs that a terminal might obey made harmless.
        entry: String,
        /// Why.
        why: String,
    },
    /// More than an archive may hold.
    #[error("the archive holds more than {limit} {what}; raise the limit only if you trust its sender")]
    Limit {
        /// Of what.
        what: &'static str,
        /// The limit.
        limit: u64,
    },
    /// The folder to unpack into is not empty.
    #[error("`{path}` is there and not empty; name a new folder")]
    NotEmpty {
        /// The folder.
        path: String,
    },
}

impl From<SceneErrors> for ArchiveError {
    fn from(errors: SceneErrors) -> Self {
        ArchiveError::Faults(errors)
    }
}

impl ArchiveError {
    pub(super) fn disk(path: &std::path::Path, error: &std::io::Error) -> Self {
        ArchiveError::Disk { path: path.display().to_string(), why: crate::scene::folder::in_words(error) }
    }

    pub(super) fn entry(name: &str, why: impl Into<String>) -> Self {
        let entry = name.chars().take(120).map(|c| if c.is_control() { '\u{FFFD}' } else { c }).collect();
        ArchiveError::Entry { entry, why: why.into() }
    }
}
