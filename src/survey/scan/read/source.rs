//! The ways in: a path or bytes, what format they are in, and what is wanted of them.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use crate::solid::{FileFault, FilePlace};
use crate::space::LengthUnit;

use super::super::ScanError;
use super::blocks::Blocks;
use super::{ScanSink, obj, ply, stl_binary, stl_text, text};

/// A format in which scans come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ScanFormat {
    /// Polygon file format, text or binary: the vertices, with their normals where there are any.
    Ply,
    /// One point a line. The first line may name the columns: `x`, `y`, `z` and perhaps `nx`, `ny`, `nz` are then
    /// found by name; else the first three numbers count. It may also say how many points there are. Lines that
    /// start with `#` or `//` are passed over.
    Text,
    /// Stereolithography, text or binary: each corner of each triangle, with the normal of its corners.
    Stl,
    /// Wavefront text: the vertices.
    Obj,
}

impl ScanFormat {
    /// The format that a file's name ends in, whatever its case.
    pub fn from_path(path: &Path) -> Option<Self> {
        Some(match ending(path).as_str() {
            "ply" => ScanFormat::Ply,
            "xyz" | "csv" | "txt" | "asc" | "pts" => ScanFormat::Text,
            "stl" => ScanFormat::Stl,
            "obj" => ScanFormat::Obj,
            _ => return None,
        })
    }
}

fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// What becomes of points that are no numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NotFinite {
    /// They are a fault of the file.
    #[default]
    Refuse,
    /// They are left out and counted: some scanners write them where nothing came back.
    LeaveOut,
}

/// How a scan is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ScanOptions {
    /// The unit in which the file was written.
    pub units: LengthUnit,
    /// What becomes of points that are no numbers.
    pub not_finite: NotFinite,
}

/// What was read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ScanSummary {
    /// Points handed over.
    pub points: usize,
    /// Points left out because a coordinate was no number.
    pub left_out: usize,
    /// Whether the file has normals.
    pub normals: bool,
}

/// Reads a scan piece by piece into `sink`; its name's ending tells the format.
///
/// Points come out in mm, in the order of the file, a batch at a time: memory does not grow with the file
/// unless the sink does. Nothing the file says is believed before the bytes are there to back it.
///
/// # Errors
/// [`ScanError`] names the file, the line or byte, what was expected and what would do. The sink then holds
/// part of the file and must be thrown away.
pub fn read_scan(
    path: &Path,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let name = path.display().to_string();
    let format = ScanFormat::from_path(path).ok_or_else(|| {
        let known = "ply, xyz, csv, txt, asc, pts, stl or obj";
        FileFault::UnknownFormat { ending: ending(path), known }.at(&name, FilePlace::Whole)
    })?;
    let unreadable = |cause: std::io::Error| {
        FileFault::Unreadable { cause: cause.to_string() }.at(&name, FilePlace::Whole)
    };
    let file = File::open(path).map_err(unreadable)?;
    let about = file.metadata().map_err(unreadable)?;
    // A pipe or device has no length.
    let length = about.is_file().then(|| usize::try_from(about.len()).unwrap_or(usize::MAX));
    read(&name, Box::new(file), length, format, options, sink)
}

/// Reads a scan from bytes; `name` is what messages call it. See [`read_scan`].
///
/// # Errors
/// As [`read_scan`].
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::space::LengthUnit;
/// use baywright::survey::scan::{PointCloud, ScanFormat, ScanOptions, read_scan_bytes};
/// let mut cloud = PointCloud::default();
/// let options = ScanOptions { units: LengthUnit::Metre, ..ScanOptions::default() };
/// read_scan_bytes("two.xyz", b"0.5 0 0\n1.5 0 0\n", ScanFormat::Text, &options, &mut cloud).unwrap();
/// assert_eq!(cloud.points[1].x, 1500.0);
/// ```
pub fn read_scan_bytes(
    name: &str,
    bytes: &[u8],
    format: ScanFormat,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    read(name, Box::new(bytes), Some(bytes.len()), format, options, sink)
}

fn read(
    name: &str,
    source: Box<dyn Read + '_>,
    length: Option<usize>,
    format: ScanFormat,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let whole = |fault: FileFault| fault.at(name, FilePlace::Whole);
    let mut blocks = Blocks::new(name, source);
    if blocks.peek(1)?.is_empty() {
        return Err(whole(FileFault::Empty).into());
    }
    let summary = match format {
        ScanFormat::Ply => ply::read(&mut blocks, length, options, sink)?,
        ScanFormat::Text => text::read(&mut blocks, options, sink)?,
        ScanFormat::Obj => obj::read(&mut blocks, options, sink)?,
        ScanFormat::Stl => match stl_binary::count(&mut blocks, length)? {
            Some(triangles) => stl_binary::read(&mut blocks, triangles, options, sink)?,
            None => stl_text::read(&mut blocks, options, sink)?,
        },
    };
    sink.ended()?;
    if summary.points == 0 {
        return Err(whole(FileFault::NoPoints).into());
    }
    Ok(summary)
}
