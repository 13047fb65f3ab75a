//! STL, ASCII and binary.

use crate::space::LengthUnit;

use super::super::Mesh;
use super::build::{FaceList, Merger, mesh_of};
use super::error::{FileFault, FilePlace, MeshFileError, quoted};
use super::text::{coordinates, lines, words};

/// A binary file's free text and its count.
const HEAD: usize = 84;
/// A normal, three corners and two bytes of anything.
const TRIANGLE: usize = 50;

pub(super) fn read_mesh(name: &str, bytes: &[u8], units: LengthUnit) -> Result<Mesh, MeshFileError> {
    let (merger, faces) =
        if is_text(bytes) { read_text(name, bytes, units)? } else { read_binary(name, bytes, units)? };
    mesh_of(name, merger.points, &faces)
}

/// A binary file is one whose length agrees with its count, even if its free text starts with
/// `solid`; of the others a text file is one that starts with `solid` and goes on like text.
fn is_text(bytes: &[u8]) -> bool {
    if count(bytes).is_some_and(|count| bytes.len() == HEAD + TRIANGLE * count) {
        return false;
    }
    let start = bytes.trim_ascii_start();
    let beginning = &start[..start.len().min(1024)];
    start.len() >= 5
        && start[..5].eq_ignore_ascii_case(b"solid")
        && !beginning.iter().any(|&byte| byte < b' ' && !byte.is_ascii_whitespace())
}

fn count(bytes: &[u8]) -> Option<usize> {
    let field = bytes.get(HEAD - 4..HEAD)?;
    Some(u32::from_le_bytes([field[0], field[1], field[2], field[3]]) as usize)
}

fn read_binary(name: &str, bytes: &[u8], units: LengthUnit) -> Result<(Merger, FaceList), MeshFileError> {
    let Some(count) = count(bytes) else {
        let fault = FileFault::expected(
            "an STL file: `solid` and text, or 84 bytes of header and then triangles",
            format!("{} bytes that start {}", bytes.len(), quoted(&bytes[..bytes.len().min(16)])),
        );
        return Err(fault.at(name, FilePlace::Byte(0)));
    };
    let body = &bytes[HEAD..];
    if count.saturating_mul(TRIANGLE) > body.len() {
        let fault = FileFault::CutShort {
            announced: format!("{count} triangles"),
            needed_bytes: (count as u128) * TRIANGLE as u128,
            left_bytes: body.len(),
        };
        return Err(fault.at(name, FilePlace::Byte(HEAD - 4)));
    }
    let (mut merger, mut faces) = (Merger::default(), FaceList::default());
    for (index, record) in body.chunks_exact(TRIANGLE).take(count).enumerate() {
        let mut face = [0; 3];
        for (corner, place) in face.iter_mut().enumerate() {
            let start = 12 + 12 * corner;
            let mut point = [0.0; 3];
            for (axis, value) in point.iter_mut().enumerate() {
                let at = start + 4 * axis;
                let single = f32::from_le_bytes([record[at], record[at + 1], record[at + 2], record[at + 3]]);
                if !single.is_finite() {
                    let fault = FileFault::NotFinite { found: single.to_string() };
                    return Err(fault.at(name, FilePlace::Byte(HEAD + TRIANGLE * index + at)));
                }
                *value = f64::from(single) * units.mm();
            }
            *place = merger.place(point);
        }
        faces.push(&face).map_err(|fault| fault.at(name, FilePlace::Byte(HEAD + TRIANGLE * index)))?;
    }
    Ok((merger, faces))
}

fn read_text(name: &str, bytes: &[u8], units: LengthUnit) -> Result<(Merger, FaceList), MeshFileError> {
    let (mut merger, mut faces) = (Merger::default(), FaceList::default());
    let mut face: Vec<u32> = Vec::new();
    let (mut in_loop, mut last) = (false, 1);
    for (number, line) in lines(bytes) {
        last = number;
        let here = |fault: FileFault| fault.at(name, FilePlace::Line(number));
        let mut words = words(line);
        let Some(first) = words.next() else { continue };
        let keyword = first.to_ascii_lowercase();
        match keyword.as_slice() {
            b"outer" => {
                if in_loop {
                    return Err(here(FileFault::expected(
                        "`endloop` before another `outer loop`",
                        quoted(first),
                    )));
                }
                face.clear();
                in_loop = true;
            }
            b"vertex" => {
                if !in_loop {
                    return Err(here(FileFault::expected(
                        "`outer loop` before a vertex",
                        quoted(line.trim_ascii()),
                    )));
                }
                if face.len() == 3 {
                    return Err(here(FileFault::expected(
                        "`endloop` after three vertices",
                        quoted(line.trim_ascii()),
                    )));
                }
                let point = coordinates(&mut words, line, units).map_err(here)?;
                face.push(merger.place(point.into()));
            }
            b"endloop" => {
                if !in_loop || face.len() != 3 {
                    let found = format!("`endloop` after {}", face.len());
                    return Err(here(FileFault::expected("three vertices in a loop", found)));
                }
                faces.push(&face).map_err(here)?;
                in_loop = false;
            }
            b"solid" | b"endsolid" | b"facet" | b"endfacet" | b"color" => {}
            _ => {
                let expected = "`facet`, `outer loop`, `vertex`, `endloop`, `endfacet` or `endsolid`";
                return Err(here(FileFault::expected(expected, quoted(line.trim_ascii()))));
            }
        }
    }
    if in_loop {
        let fault = FileFault::expected("`endloop`", "the end of the file; it is cut short: export it again");
        return Err(fault.at(name, FilePlace::Line(last)));
    }
    Ok((merger, faces))
}
