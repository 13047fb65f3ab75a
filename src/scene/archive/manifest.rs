//! What an archive says of itself.

use serde::{Deserialize, Serialize};

/// The format of archives that this build writes and reads.
pub(super) const FORMAT: u64 = 1;
/// Where the manifest is.
pub(super) const MANIFEST: &str = "manifest.json";
/// The folder of the scene's files within the archive.
pub(super) const FOLDER: &str = "scene/";

/// The manifest.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Manifest {
    /// Version of this format.
    pub format: u64,
    /// Version of the scene format.
    pub scene_format: u64,
    /// The scene file, as its path among the files.
    pub scene: String,
    /// SHA-256 of the built-in library of the build that packed it: rules that the scene includes
    /// from there may differ elsewhere.
    pub house: String,
    /// Every file, sorted by path.
    pub files: Vec<Listed>,
}

/// One file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Listed {
    /// Path, parts joined by `/`.
    pub path: String,
    /// Bytes.
    pub size: u64,
    /// SHA-256, lower-case hexadecimal.
    pub sha256: String,
}

/// Only the version, to be read before anything that a later one may have changed.
#[derive(Deserialize)]
pub(super) struct FormatOnly {
    /// Version of this format.
    pub format: u64,
}
