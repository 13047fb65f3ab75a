//! Packing.

use std::fs::File;
use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipWriter};

use super::ArchiveError;
use super::manifest::{FOLDER, FORMAT, Listed, MANIFEST, Manifest};
use crate::scene::folder::{Folder, portable_path};
use crate::scene::library::{digest, hex};
use crate::scene::{Scene, write_whole};

/// What was packed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Packed {
    /// Files of the scene, relative to its folder, sorted.
    pub files: Vec<PathBuf>,
    /// Bytes of the files together.
    pub bytes: u64,
    /// Bytes of the archive.
    pub archive_bytes: u64,
}

/// Packs a scene and every file that it names into one archive, written whole or not at all.
///
/// The same scene gives the same bytes: entries are sorted and bear one fixed date. The scene must
/// load, for a broken one helps nobody. The built-in library is not packed; its hash is.
///
/// # Errors
/// [`ArchiveError`].
pub fn pack(scene: &Path, out: &Path) -> Result<Packed, ArchiveError> {
    let loaded = Scene::load(scene)?;
    let folder = Folder::of(scene).map_err(|error| ArchiveError::disk(scene, &error))?;
    let mut names: Vec<String> =
        loaded.files.iter().map(|file| file.to_string_lossy().into_owned()).collect();
    let entry = names[0].clone();
    names.sort();
    let mut listed = Vec::with_capacity(names.len());
    let mut files = Vec::with_capacity(names.len());
    for name in names {
        if let Err(why) = portable_path(&name) {
            return Err(ArchiveError::entry(&name, why));
        }
        let full = match folder.find("", &name) {
            Ok(inside) => inside.full,
            Err(fault) => return Err(ArchiveError::entry(&name, fault.to_string())),
        };
        let (size, sha256) = hashed(&full, &mut std::io::sink())?;
        listed.push(Listed { path: name, size, sha256 });
        files.push(full);
    }
    if let Ok(target) = out.canonicalize()
        && files.iter().any(|file| file.canonicalize().is_ok_and(|file| file == target))
    {
        return Err(ArchiveError::OwnFile { path: out.display().to_string() });
    }
    let manifest = Manifest { format: FORMAT, scene_format: 1, scene: entry, house: digest(), files: listed };
    let bytes = zipped(&manifest, &files)?;
    write_whole(out, &bytes).map_err(|error| ArchiveError::disk(out, &error))?;
    Ok(Packed {
        files: manifest.files.iter().map(|file| PathBuf::from(&file.path)).collect(),
        bytes: manifest.files.iter().map(|file| file.size).sum(),
        archive_bytes: bytes.len() as u64,
    })
}

fn zipped(manifest: &Manifest, files: &[PathBuf]) -> Result<Vec<u8>, ArchiveError> {
    let broken = |why: String| ArchiveError::Disk { path: "the archive".to_owned(), why };
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Deflated)
        .compression_level(Some(6))
        .last_modified_time(DateTime::DEFAULT)
        .unix_permissions(0o644);
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let text = serde_json::to_string_pretty(manifest).map_err(|error| broken(error.to_string()))?;
    zip.start_file(MANIFEST, options).map_err(|error| broken(error.to_string()))?;
    zip.write_all(text.as_bytes()).map_err(|error| broken(error.to_string()))?;
    for (listed, full) in manifest.files.iter().zip(files) {
        let large = options.large_file(listed.size > u64::from(u32::MAX) / 2);
        zip.start_file(format!("{FOLDER}{}", listed.path), large)
            .map_err(|error| broken(error.to_string()))?;
        let (size, sha256) = hashed(full, &mut zip)?;
        if size != listed.size || sha256 != listed.sha256 {
            return Err(ArchiveError::Changed { path: listed.path.clone() });
        }
    }
    let bytes = zip.finish().map_err(|error| broken(error.to_string()))?;
    Ok(bytes.into_inner())
}

/// Copies a file and tells its size and hash.
fn hashed(path: &Path, out: &mut impl Write) -> Result<(u64, String), ArchiveError> {
    let told = |error: std::io::Error| ArchiveError::disk(path, &error);
    let mut file = File::open(path).map_err(told)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 64 * 1024];
    let mut size = 0u64;
    loop {
        let read = file.read(&mut buffer).map_err(told)?;
        if read == 0 {
            return Ok((size, hex(&hash.finalize())));
        }
        size += read as u64;
        hash.update(&buffer[..read]);
        out.write_all(&buffer[..read]).map_err(told)?;
    }
}
