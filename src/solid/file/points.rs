//! Points as text: one a line, numbers apart by spaces, tabs, commas or semicolons.

use nalgebra::Point3;

use crate::space::LengthUnit;

use super::error::{FileFault, FilePlace, MeshFileError, quoted};
use super::text::{in_mm, lines, number};

/// A format of point files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PointFormat {
    /// The vertices of a PLY file.
    Ply,
    /// One point a line. The first line may name the columns: `x`, `y` and `z` are then found by
    /// name; else the first three numbers count. Lines that start with `#` or `//` are passed over.
    Text,
}

fn fields(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    let apart = |byte: &u8| matches!(byte, b',' | b';' | b' ' | b'\t');
    line.split(apart).filter(|field| !field.is_empty())
}

pub(super) fn read_text(
    name: &str,
    bytes: &[u8],
    units: LengthUnit,
) -> Result<Vec<Point3<f64>>, MeshFileError> {
    let mut points: Vec<Point3<f64>> = Vec::new();
    let mut columns = [0, 1, 2];
    let mut begun = false;
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    for (line_number, line) in lines(bytes) {
        let line = line.trim_ascii();
        if line.is_empty() || line.starts_with(b"#") || line.starts_with(b"//") {
            continue;
        }
        let here = |fault: FileFault| fault.at(name, FilePlace::Line(line_number));
        if !begun {
            begun = true;
            if fields(line).any(|field| number(field).is_err()) {
                columns = named_columns(line).map_err(here)?;
                continue;
            }
        }
        points.push(point(line, &columns).and_then(|point| in_mm(point, units)).map_err(here)?);
    }
    if points.is_empty() {
        return Err(FileFault::NoPoints.at(name, FilePlace::Whole));
    }
    Ok(points)
}

/// Where a line of names has x, y and z; `x_mm`, `X [mm]` and the like count as x.
fn named_columns(line: &[u8]) -> Result<[usize; 3], FileFault> {
    let names: Vec<Vec<u8>> = fields(line)
        .map(|field| field.to_ascii_lowercase())
        .filter(|field| !field.starts_with(b"[") && !field.starts_with(b"("))
        .collect();
    let mut columns = [0; 3];
    for (column, letter) in columns.iter_mut().zip(*b"xyz") {
        let is_it = |field: &Vec<u8>| {
            field.first() == Some(&letter) && field.get(1).is_none_or(|next| !next.is_ascii_alphanumeric())
        };
        *column = names.iter().position(is_it).ok_or_else(|| {
            FileFault::expected(
                "three numbers, or the names of columns with x, y and z among them",
                quoted(line),
            )
        })?;
    }
    Ok(columns)
}

/// `1,5;2,0` or `1,5 2,0`: commas that may be decimals, beside other marks that part numbers.
pub(crate) fn has_doubtful_comma(line: &[u8]) -> bool {
    let mut groups = line.split(|byte| matches!(byte, b';' | b' ' | b'\t')).filter(|group| !group.is_empty());
    let within = |group: &[u8]| {
        group.windows(3).any(|three| {
            three[0].is_ascii_digit() && three[1] == b',' && (three[2].is_ascii_digit() || three[2] == b'-')
        })
    };
    let first = groups.next().is_some_and(within);
    let mut others = groups.peekable();
    others.peek().is_some() && (first || others.any(within))
}

fn point(line: &[u8], columns: &[usize; 3]) -> Result<Point3<f64>, FileFault> {
    if has_doubtful_comma(line) {
        let expected = "decimals with points, and numbers parted by one kind of mark";
        return Err(FileFault::expected(expected, quoted(line)));
    }
    let mut coordinates = [f64::NAN; 3];
    let mut count = 0;
    for field in fields(line) {
        for (value, &column) in coordinates.iter_mut().zip(columns) {
            if column == count {
                *value = number(field)?;
            }
        }
        count += 1;
    }
    if columns.iter().any(|&column| column >= count) {
        return Err(FileFault::expected("at least three numbers, with points for decimals", quoted(line)));
    }
    Ok(Point3::from(coordinates))
}
