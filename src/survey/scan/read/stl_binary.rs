//! Binary STL: the three corners of each triangle.

use crate::solid::{FileFault, FilePlace, MeshFileError, quoted};

use super::super::ScanError;
use super::blocks::Blocks;
use super::row::Piece;
use super::{ScanOptions, ScanSink, ScanSummary};

/// Free text and the count.
const HEAD: usize = 84;
/// A normal, three corners and two bytes of anything.
const TRIANGLE: usize = 50;

/// How many triangles a binary file has; `None` for text.
///
/// A binary file is one whose length agrees with its count, even if its free text starts with `solid`; of
/// the others a text file is one that starts with `solid` and goes on like text.
pub(super) fn count(blocks: &mut Blocks<'_>, length: Option<usize>) -> Result<Option<usize>, MeshFileError> {
    let beginning = blocks.peek(1024)?;
    let count = beginning
        .get(HEAD - 4..HEAD)
        .map(|field| u32::from_le_bytes([field[0], field[1], field[2], field[3]]) as usize);
    let agrees =
        count.zip(length).is_some_and(|(count, length)| length == HEAD + TRIANGLE.saturating_mul(count));
    let start = beginning.trim_ascii_start();
    let is_text = start.len() >= 5
        && start[..5].eq_ignore_ascii_case(b"solid")
        && !start.iter().any(|&byte| byte < b' ' && !byte.is_ascii_whitespace());
    if is_text && !agrees {
        return Ok(None);
    }
    let Some(count) = count else {
        let found =
            format!("{} bytes that start {}", beginning.len(), quoted(&beginning[..beginning.len().min(16)]));
        let expected = "an STL file: `solid` and text, or 84 bytes of header and then triangles";
        return Err(blocks.error(FileFault::expected(expected, found)));
    };
    if let Some(left_bytes) = length.map(|length| length.saturating_sub(HEAD))
        && count.saturating_mul(TRIANGLE) > left_bytes
    {
        let fault = FileFault::CutShort {
            announced: format!("{count} triangles"),
            needed_bytes: count as u128 * TRIANGLE as u128,
            left_bytes,
        };
        return Err(fault.at(blocks.name, FilePlace::Byte(HEAD - 4)));
    }
    Ok(Some(count))
}

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    triangles: usize,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let name = blocks.name;
    let mut summary = ScanSummary { normals: true, ..ScanSummary::default() };
    blocks.skip(HEAD);
    let mut done = 0;
    while done < triangles {
        let (at, records) = blocks.records(TRIANGLE, triangles - done)?;
        if records.is_empty() {
            let expected = format!("{} of {triangles} triangles", done + 1);
            let found = "the end of the file; it is cut short: export it again";
            return Err(blocks.error(FileFault::expected(expected, found)).into());
        }
        let mut piece = Piece::default();
        for (index, record) in records.chunks_exact(TRIANGLE).enumerate() {
            let corner = |corner: usize| -> [f64; 3] {
                std::array::from_fn(|axis| {
                    let k = 12 + 12 * corner + 4 * axis;
                    f64::from(f32::from_le_bytes([record[k], record[k + 1], record[k + 2], record[k + 3]]))
                })
            };
            let corners = [corner(0), corner(1), corner(2)];
            push_triangle(&mut piece, options, corners)
                .map_err(|fault| fault.at(name, FilePlace::Byte(at + index * TRIANGLE)))?;
        }
        done += records.len() / TRIANGLE;
        piece.give(sink, &mut summary)?;
    }
    Ok(summary)
}

/// Adds the corners of a triangle, with the normal that they wind round.
pub(super) fn push_triangle(
    piece: &mut Piece,
    options: &ScanOptions,
    corners: [[f64; 3]; 3],
) -> Result<(), FileFault> {
    let [a, b, c] = corners.map(nalgebra::Vector3::from);
    let normal = (b - a).cross(&(c - a));
    for corner in corners {
        piece.push(options, corner, Some(normal.into()))?;
    }
    Ok(())
}
