//! OBJ: vertices and faces; everything else is passed over.

use std::borrow::Cow;

use nalgebra::Point3;

use crate::space::LengthUnit;

use super::super::Mesh;
use super::build::{FaceList, checked_index, mesh_of};
use super::error::{FileFault, FilePlace, MeshFileError, quoted};
use super::text::{coordinates, lines, words};

pub(super) fn read_mesh(name: &str, bytes: &[u8], units: LengthUnit) -> Result<Mesh, MeshFileError> {
    let mut points: Vec<Point3<f64>> = Vec::new();
    let mut faces = FaceList::default();
    // The greatest index so far, from 0, and the line that named it: it may name a vertex yet to come.
    let mut greatest = (0, 0_usize);
    let mut joined: Vec<u8> = Vec::new();
    for (number, line) in lines(bytes) {
        // A stroke at the end of a line joins the next to it.
        if let Some(begun) = line.strip_suffix(b"\\") {
            joined.extend_from_slice(begun);
            joined.push(b' ');
            continue;
        }
        let before = std::mem::take(&mut joined);
        let line = if before.is_empty() { Cow::Borrowed(line) } else { Cow::Owned([&before, line].concat()) };
        let here = |fault: FileFault| fault.at(name, FilePlace::Line(number));
        let mut words = words(line.split(|&byte| byte == b'#').next().unwrap_or_default());
        match words.next() {
            Some(b"v") => {
                points.push(coordinates(&mut words, &line, units).map_err(here)?);
            }
            Some(b"f") => {
                let mut face: Vec<u32> = Vec::with_capacity(4);
                for word in words {
                    let index = corner(word, points.len()).map_err(here)?;
                    if index as usize > greatest.0 {
                        greatest = (index as usize, number);
                    }
                    face.push(index);
                }
                // Some programs say the first corner again at the end.
                if face.len() > 3 && face.first() == face.last() {
                    face.pop();
                }
                faces.push(&face).map_err(here)?;
            }
            _ => {}
        }
    }
    if points.is_empty() {
        return Err(FileFault::NoPoints.at(name, FilePlace::Whole));
    }
    let (index, line) = greatest;
    checked_index(index as i64, points.len()).map_err(|_| {
        FileFault::IndexOutOfRange { index: index as i64 + 1, vertices: points.len() }
            .at(name, FilePlace::Line(line))
    })?;
    mesh_of(name, points, &faces)
}

/// A corner's vertex from 0. The file counts from 1, or with a minus sign back from the last vertex;
/// what follows a stroke (texture, normal) does not matter.
fn corner(word: &[u8], vertices: usize) -> Result<u32, FileFault> {
    let digits = word.split(|&byte| byte == b'/').next().unwrap_or_default();
    let index: i64 = std::str::from_utf8(digits)
        .ok()
        .and_then(|text| text.parse().ok())
        .ok_or_else(|| FileFault::expected("the number of a vertex, such as `7` or `7/2/3`", quoted(word)))?;
    let out = FileFault::IndexOutOfRange { index, vertices };
    match index {
        1.. => u32::try_from(index - 1).map_err(|_| out),
        0 => Err(FileFault::expected("a vertex counted from 1", "`0`")),
        _ => checked_index((vertices as i64).saturating_add(index), vertices).map_err(|_| out),
    }
}
