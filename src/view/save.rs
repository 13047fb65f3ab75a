//! A file written whole or not at all, and pixels as PNG.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};

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

/// Pixels, rows from the top, red, green, blue, as a PNG file's bytes.
///
/// # Errors
/// [`ViewError::Encode`].
pub(super) fn png(rgb: &[u8], width: u32, height: u32) -> Result<Vec<u8>, ViewError> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    // Flat colours: the usual effort makes files a good deal smaller than the least.
    PngEncoder::new_with_quality(&mut bytes, CompressionType::Default, FilterType::Adaptive)
        .write_image(rgb, width, height, ExtendedColorType::Rgb8)
        .map_err(ViewError::Encode)?;
    Ok(bytes.into_inner())
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
