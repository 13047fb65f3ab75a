//! Unpacking what may come from a stranger.

use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::io::{BufReader, Read, Write};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use zip::ZipArchive;
use zip::result::ZipError;

use super::ArchiveError;
use super::manifest::{FOLDER, FORMAT, FormatOnly, Listed, MANIFEST, Manifest};
use crate::scene::folder::portable_path;
use crate::scene::library::{digest, hex};

/// The most that an archive may hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UnpackLimits {
    /// Entries, the manifest included.
    pub entries: u64,
    /// Bytes of all files together, counted while they are inflated.
    pub total_bytes: u64,
    /// Bytes inflated for each byte packed, over any one file past its first 64 KiB.
    pub ratio: u64,
}

impl Default for UnpackLimits {
    /// 2 000 entries, 4 GiB, 200 to 1: text of measured points packs about 3 to 1.
    fn default() -> Self {
        UnpackLimits { entries: 2_000, total_bytes: 4 << 30, ratio: 200 }
    }
}

/// What was unpacked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unpacked {
    /// The scene file, in the folder.
    pub scene: PathBuf,
    /// Files, relative to the folder, sorted.
    pub files: Vec<PathBuf>,
    /// Whether this build has another built-in library than the one that packed it: rules and sizes
    /// that the scene takes from there may differ.
    pub is_other_library: bool,
}

/// Unpacks an archive into a folder that is new or empty, within the usual limits.
///
/// # Errors
/// As [`unpack_with`].
pub fn unpack(archive: &Path, folder: &Path) -> Result<Unpacked, ArchiveError> {
    unpack_with(archive, folder, &UnpackLimits::default())
}

/// Unpacks an archive into a folder that is new or empty.
///
/// Every name, size and hash is checked; files are first written beside and the folder appears, by
/// one rename, only when all of them are right.
///
/// # Errors
/// [`ArchiveError`] says which entry and why: a name that leaves the folder, a link, a name twice or
/// twice but for its case, a bomb, a hash that differs. The folder is then not there, or empty as before.
pub fn unpack_with(archive: &Path, folder: &Path, limits: &UnpackLimits) -> Result<Unpacked, ArchiveError> {
    refuse_full(folder)?;
    let file = File::open(archive).map_err(|error| ArchiveError::disk(archive, &error))?;
    if !file.metadata().map_err(|error| ArchiveError::disk(archive, &error))?.is_file() {
        return Err(ArchiveError::NotPacked { why: "it is not a file".to_owned() });
    }
    let mut zip = ZipArchive::new(BufReader::new(file)).map_err(not_packed)?;
    check_entries(&mut zip, limits)?;
    let manifest = manifest(&mut zip)?;
    let places = places(&zip, &manifest)?;

    let beside = Beside::create(folder)?;
    let mut left = limits.total_bytes;
    for listed in &manifest.files {
        let Some(index) = places.get(listed.path.as_str()) else { continue };
        let size = inflate(&mut zip, *index, listed, &beside.path, left, limits)?;
        left -= size;
    }
    beside.become_folder(folder)?;
    Ok(Unpacked {
        scene: folder.join(&manifest.scene),
        files: manifest.files.iter().map(|listed| PathBuf::from(&listed.path)).collect(),
        is_other_library: manifest.house != digest(),
    })
}

fn not_packed(error: ZipError) -> ArchiveError {
    let why = match error {
        ZipError::InvalidArchive(_) => "it is no zip file, or its end is cut off".to_owned(),
        other => other.to_string(),
    };
    ArchiveError::NotPacked { why }
}

fn refuse_full(folder: &Path) -> Result<(), ArchiveError> {
    match std::fs::read_dir(folder) {
        Ok(mut entries) => match entries.next() {
            Some(_) => Err(ArchiveError::NotEmpty { path: folder.display().to_string() }),
            None => Ok(()),
        },
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
        Err(error) => Err(ArchiveError::disk(folder, &error)),
    }
}

type Zip = ZipArchive<BufReader<File>>;

/// Judges every entry by its name and kind, before anything is inflated.
fn check_entries(zip: &mut Zip, limits: &UnpackLimits) -> Result<(), ArchiveError> {
    if zip.len() as u64 > limits.entries {
        return Err(ArchiveError::Limit { what: "entries", limit: limits.entries });
    }
    if zip.has_duplicate_names() {
        return Err(ArchiveError::NotPacked { why: "two entries bear the same name".to_owned() });
    }
    let mut folded: HashMap<String, String> = HashMap::new();
    for index in 0..zip.len() {
        let entry = zip.by_index_data(index).map_err(not_packed)?;
        let raw = String::from_utf8_lossy(entry.name_raw()).into_owned();
        let Ok(name) = std::str::from_utf8(entry.name_raw()) else {
            return Err(ArchiveError::entry(&raw, "its name is not UTF-8"));
        };
        // A name that the reader would change, by another code page or an extra field, is a trick.
        if !entry.name().is_ok_and(|read| read == name) {
            return Err(ArchiveError::entry(&raw, "it bears two different names"));
        }
        if let Err(why) = portable_path(name) {
            return Err(ArchiveError::entry(&raw, why));
        }
        if entry.is_symlink() {
            return Err(ArchiveError::entry(name, "it is a link"));
        }
        if entry.is_dir() {
            return Err(ArchiveError::entry(name, "it is a folder; folders come from the files in them"));
        }
        const KIND: u32 = 0o170_000;
        const PLAIN: u32 = 0o100_000;
        if entry.unix_mode().is_some_and(|mode| mode & KIND != 0 && mode & KIND != PLAIN) {
            return Err(ArchiveError::entry(name, "it is neither file nor folder"));
        }
        if entry.encrypted() {
            return Err(ArchiveError::entry(name, "it is encrypted"));
        }
        if name != MANIFEST && !name.starts_with(FOLDER) {
            return Err(ArchiveError::entry(name, "it is neither the manifest nor under `scene/`"));
        }
        if let Some(other) = folded.insert(name.to_lowercase(), name.to_owned()) {
            return Err(ArchiveError::entry(name, format!("it differs from `{other}` by case only")));
        }
    }
    for (fold, name) in &folded {
        let mut parent = fold.as_str();
        while let Some((shorter, _)) = parent.rsplit_once('/') {
            if folded.contains_key(shorter) {
                return Err(ArchiveError::entry(
                    name,
                    "another entry is a file where this one needs a folder",
                ));
            }
            parent = shorter;
        }
    }
    match zip.has_overlapping_files() {
        Ok(false) => Ok(()),
        Ok(true) => Err(ArchiveError::NotPacked { why: "two entries share the same bytes".to_owned() }),
        Err(error) => Err(not_packed(error)),
    }
}

fn manifest(zip: &mut Zip) -> Result<Manifest, ArchiveError> {
    const LARGEST: u64 = 4 << 20;
    let broken = |why: String| ArchiveError::NotPacked { why: format!("its manifest cannot be read: {why}") };
    let entry = match zip.by_name(MANIFEST) {
        Ok(entry) => entry,
        Err(ZipError::FileNotFound) => {
            return Err(ArchiveError::NotPacked { why: "it has no manifest".to_owned() });
        }
        Err(error) => return Err(not_packed(error)),
    };
    let mut bytes = Vec::new();
    entry.take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| broken(error.to_string()))?;
    if bytes.len() as u64 > LARGEST {
        return Err(ArchiveError::Limit { what: "bytes in its manifest", limit: LARGEST });
    }
    let only: FormatOnly = serde_json::from_slice(&bytes).map_err(|error| broken(error.to_string()))?;
    if only.format != FORMAT {
        return Err(ArchiveError::Format { found: only.format, known: FORMAT });
    }
    serde_json::from_slice(&bytes).map_err(|error| broken(error.to_string()))
}

/// Where each listed file is; every entry must be listed and every listed file be there.
fn places<'a>(zip: &Zip, manifest: &'a Manifest) -> Result<HashMap<&'a str, usize>, ArchiveError> {
    let mut places = HashMap::new();
    for listed in &manifest.files {
        let Some(index) = zip.index_for_name(&format!("{FOLDER}{}", listed.path)) else {
            return Err(ArchiveError::entry(&listed.path, "the manifest lists it, but it is not there"));
        };
        if places.insert(listed.path.as_str(), index).is_some() {
            return Err(ArchiveError::entry(&listed.path, "the manifest lists it twice"));
        }
    }
    if zip.len() != places.len() + 1 {
        for name in zip.file_names().flatten() {
            let listed = name.strip_prefix(FOLDER).is_some_and(|path| places.contains_key(path));
            if !listed && name != MANIFEST {
                return Err(ArchiveError::entry(&name, "the manifest does not list it"));
            }
        }
    }
    if !places.contains_key(manifest.scene.as_str()) {
        return Err(ArchiveError::entry(&manifest.scene, "it should be the scene, but it is not listed"));
    }
    Ok(places)
}

/// Inflates one file, counting its bytes as they come: what the headers say of sizes is not believed.
fn inflate(
    zip: &mut Zip,
    index: usize,
    listed: &Listed,
    folder: &Path,
    left: u64,
    limits: &UnpackLimits,
) -> Result<u64, ArchiveError> {
    const FREE: u64 = 64 * 1024;
    let mut entry = zip.by_index(index).map_err(not_packed)?;
    let most = limits.ratio.saturating_mul(entry.compressed_size()).max(FREE);
    let path = folder.join(&listed.path);
    let told = |error: std::io::Error| ArchiveError::disk(Path::new(&listed.path), &error);
    if let Some(parent) = path.parent() {
        std::fs::create_dir_all(parent).map_err(told)?;
    }
    let mut file = OpenOptions::new().write(true).create_new(true).open(&path).map_err(told)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 64 * 1024];
    let mut size = 0u64;
    loop {
        let read = match entry.read(&mut buffer) {
            Ok(0) => break,
            Ok(read) => read,
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(ArchiveError::entry(&listed.path, format!("it is damaged: {error}"))),
        };
        size += read as u64;
        if size > left {
            return Err(ArchiveError::Limit { what: "bytes in all", limit: limits.total_bytes });
        }
        if size > listed.size {
            let why = format!("it inflates to more than the {} bytes that the manifest states", listed.size);
            return Err(ArchiveError::entry(&listed.path, why));
        }
        if size > most {
            let why = format!("it inflates to more than {} times its packed size", limits.ratio);
            return Err(ArchiveError::entry(&listed.path, why));
        }
        hash.update(&buffer[..read]);
        file.write_all(&buffer[..read]).map_err(told)?;
    }
    if size != listed.size {
        let why = format!("it has {size} bytes where the manifest states {}", listed.size);
        return Err(ArchiveError::entry(&listed.path, why));
    }
    if hex(&hash.finalize()) != listed.sha256 {
        return Err(ArchiveError::entry(&listed.path, "its SHA-256 is not the one that the manifest states"));
    }
    file.sync_all().map_err(told)?;
    Ok(size)
}

/// A folder beside the one wanted; it goes when it is dropped unfinished.
struct Beside {
    path: PathBuf,
    is_done: bool,
}

impl Beside {
    fn create(folder: &Path) -> Result<Self, ArchiveError> {
        let Some(name) = folder.file_name() else {
            return Err(ArchiveError::Disk {
                path: folder.display().to_string(),
                why: "it names no folder".into(),
            });
        };
        for attempt in 0..100u32 {
            let mut beside = std::ffi::OsString::from(".");
            beside.push(name);
            beside.push(format!(".{}-{attempt}.part", std::process::id()));
            let path = folder.with_file_name(beside);
            match std::fs::create_dir(&path) {
                Ok(()) => return Ok(Beside { path, is_done: false }),
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(ArchiveError::disk(folder, &error)),
            }
        }
        let why = "a hundred unfinished folders stand beside it; delete them".to_owned();
        Err(ArchiveError::Disk { path: folder.display().to_string(), why })
    }

    fn become_folder(mut self, folder: &Path) -> Result<(), ArchiveError> {
        let told = |error: std::io::Error| ArchiveError::disk(folder, &error);
        // An empty folder stands in the way on some systems; a full one makes this fail, as it must.
        match std::fs::remove_dir(folder) {
            Ok(()) => {}
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {}
            Err(error) => return Err(told(error)),
        }
        std::fs::rename(&self.path, folder).map_err(told)?;
        self.is_done = true;
        Ok(())
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        if !self.is_done {
            // The error that is told is the one that stopped the unpacking.
            let _ = std::fs::remove_dir_all(&self.path);
        }
    }
}
