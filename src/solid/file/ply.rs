//! PLY: text, and binary with either end first.
//!
//! The head and binary rows are read by the crate `ply-rs`; text rows here, because that crate takes
//! no `.5` or `1.`, which programs write, and so that every message names its line.

use std::io::ErrorKind;

use nalgebra::Point3;
use ply_rs::parser::{ParseError, Parser};
use ply_rs::ply::{ElementDef, Encoding, PropertyType};

use crate::space::LengthUnit;

use super::super::Mesh;
use super::build::{FaceList, checked_index, mesh_of};
use super::error::{FileFault, FilePlace, MeshFileError, quoted};
use super::ply_header::{self, Head};
use super::ply_rows::{FaceRow, OtherRow, Row, VertexRow, is_corners};
use super::text::{in_mm, lines, number, words};

/// Points with nothing reserved for more than this many before they are there.
const RESERVED: usize = 1 << 16;

const CUT_SHORT: &str = "the end of the file; it is cut short: export it again";

pub(super) fn read_points(
    name: &str,
    bytes: &[u8],
    units: LengthUnit,
) -> Result<Vec<Point3<f64>>, MeshFileError> {
    let head = ply_header::read(name, bytes)?;
    vertex_count(&head).map_err(|fault| fault.at(name, FilePlace::Whole))?;
    let mut rows = Rows::of(name, bytes, &head);
    for (k, element) in head.elements.iter().enumerate() {
        if element.name == "vertex" {
            let points = vertices(&mut rows, element, units)?;
            if head.elements[k + 1..].iter().all(|after| after.count == 0) {
                rows.nothing_more()?;
            }
            return Ok(points);
        }
        rows.each::<OtherRow>(element, |_| Ok(()))?;
    }
    Err(FileFault::NoPoints.at(name, FilePlace::Whole))
}

pub(super) fn read_mesh(name: &str, bytes: &[u8], units: LengthUnit) -> Result<Mesh, MeshFileError> {
    let head = ply_header::read(name, bytes)?;
    let whole = |fault: FileFault| fault.at(name, FilePlace::Whole);
    let count = vertex_count(&head).map_err(whole)?;
    let mut rows = Rows::of(name, bytes, &head);
    let (mut points, mut faces) = (Vec::new(), FaceList::default());
    for element in &head.elements {
        match element.name.as_str() {
            "vertex" => points = vertices(&mut rows, element, units)?,
            "face" => {
                check_corners(element).map_err(whole)?;
                let mut corners: Vec<u32> = Vec::new();
                rows.each::<FaceRow>(element, |row| {
                    corners.clear();
                    for &index in &row.0 {
                        if index.fract() != 0.0 || index.abs() > 1e15 {
                            return Err(FileFault::expected("the number of a vertex", format!("`{index}`")));
                        }
                        corners.push(checked_index(index as i64, count)?);
                    }
                    faces.push(&corners)
                })?;
            }
            _ => rows.each::<OtherRow>(element, |_| Ok(()))?,
        }
    }
    rows.nothing_more()?;
    mesh_of(name, points, &faces)
}

fn vertex_count(head: &Head) -> Result<usize, FileFault> {
    let vertex = head.elements.iter().find(|element| element.name == "vertex");
    let Some(vertex) = vertex.filter(|vertex| vertex.count > 0) else {
        return Err(FileFault::NoPoints);
    };
    for axis in ["x", "y", "z"] {
        match vertex.properties.get(axis).map(|property| &property.data_type) {
            Some(PropertyType::Scalar(_)) => {}
            Some(PropertyType::List(..)) => {
                return Err(FileFault::expected(format!("one number `{axis}` a vertex"), "a list"));
            }
            None => {
                let expected = format!("a property `{axis}` of element `vertex`");
                return Err(FileFault::expected(expected, "none in the head"));
            }
        }
    }
    Ok(vertex.count)
}

fn check_corners(face: &ElementDef) -> Result<(), FileFault> {
    let has = face
        .properties
        .values()
        .any(|property| is_corners(&property.name) && matches!(property.data_type, PropertyType::List(..)));
    if has || face.count == 0 {
        return Ok(());
    }
    Err(FileFault::expected("a list `vertex_indices` of element `face`", "none in the head"))
}

fn vertices(
    rows: &mut Rows<'_>,
    element: &ElementDef,
    units: LengthUnit,
) -> Result<Vec<Point3<f64>>, MeshFileError> {
    let mut points: Vec<Point3<f64>> = Vec::with_capacity(element.count.min(RESERVED));
    rows.each::<VertexRow>(element, |row| {
        points.push(in_mm(Point3::from(row.0), units)?);
        Ok(())
    })?;
    Ok(points)
}

/// What is left of the payload.
enum Rows<'a> {
    Text { name: &'a str, lines: Box<dyn Iterator<Item = (usize, &'a [u8])> + 'a>, last: usize },
    Binary { name: &'a str, rest: &'a [u8], total: usize, encoding: Encoding },
}

impl<'a> Rows<'a> {
    fn of(name: &'a str, bytes: &'a [u8], head: &Head) -> Self {
        let payload = &bytes[head.payload_at..];
        if head.encoding != Encoding::Ascii {
            return Rows::Binary { name, rest: payload, total: bytes.len(), encoding: head.encoding };
        }
        let before = head.payload_line - 1;
        let lines = lines(payload)
            .map(move |(number, line)| (number + before, line))
            .filter(|(_, line)| !line.trim_ascii().is_empty());
        Rows::Text { name, lines: Box::new(lines), last: before }
    }

    /// Hands over each row of an element, in order.
    fn each<R: Row>(
        &mut self,
        element: &ElementDef,
        mut take: impl FnMut(R) -> Result<(), FileFault>,
    ) -> Result<(), MeshFileError> {
        // Rows of nothing take no room, so a head could announce any number of them.
        if element.properties.is_empty() {
            return Ok(());
        }
        for index in 0..element.count {
            match self {
                Rows::Text { name, lines, last } => {
                    let Some((number, line)) = lines.next() else {
                        return Err(missing(element, index, CUT_SHORT).at(name, FilePlace::Line(*last)));
                    };
                    *last = number;
                    text_row(line, element)
                        .and_then(&mut take)
                        .map_err(|fault| fault.at(name, FilePlace::Line(number)))?;
                }
                Rows::Binary { name, rest, total, encoding } => {
                    let at = *total - rest.len();
                    let parser = Parser::<R>::new();
                    let row = match encoding {
                        Encoding::BinaryBigEndian => parser.read_big_endian_element(rest, element),
                        _ => parser.read_little_endian_element(rest, element),
                    };
                    let found = |error: ParseError| match error.kind() {
                        ErrorKind::UnexpectedEof => CUT_SHORT.to_owned(),
                        _ => error.to_string().lines().next().unwrap_or("something else").to_owned(),
                    };
                    row.map_err(|error| missing(element, index, &found(error)))
                        .and_then(&mut take)
                        .map_err(|fault| fault.at(name, FilePlace::Byte(at)))?;
                }
            }
        }
        Ok(())
    }

    /// The file ends where its head says: what goes on is a part of the thing that would be lost without a word. Blank
    /// space and zeros are padding, and so are less than four bytes: no row of points or faces is as short.
    fn nothing_more(&mut self) -> Result<(), MeshFileError> {
        let fault = || {
            let found = "more; the header is wrong: export it again";
            FileFault::expected("the end of the file after all that its header announces", found)
        };
        match self {
            Rows::Text { name, lines, .. } => match lines.next() {
                Some((number, _)) => Err(fault().at(name, FilePlace::Line(number))),
                None => Ok(()),
            },
            Rows::Binary { name, rest, total, .. } => {
                let padding = rest.iter().all(|byte| byte.is_ascii_whitespace() || *byte == 0);
                let at = *total - rest.len();
                if padding || rest.len() < 4 { Ok(()) } else { Err(fault().at(name, FilePlace::Byte(at))) }
            }
        }
    }
}

fn missing(element: &ElementDef, index: usize, found: &str) -> FileFault {
    let expected = format!("{} of {} of element `{}`", index + 1, element.count, element.name);
    FileFault::expected(expected, found)
}

fn text_row<R: Row>(line: &[u8], element: &ElementDef) -> Result<R, FileFault> {
    let mut row = R::new();
    let mut words = words(line);
    let mut next = |what: &str| {
        let short = || FileFault::expected(format!("a number for `{what}`"), quoted(line.trim_ascii()));
        words.next().ok_or_else(short).and_then(number)
    };
    for (name, property) in &element.properties {
        match property.data_type {
            PropertyType::Scalar(_) => row.set_number(name, next(name)?),
            PropertyType::List(..) => {
                let count = next(name)?;
                // A number takes two bytes of the line.
                if count.fract() != 0.0 || count < 0.0 || count > line.len() as f64 {
                    let expected = format!("how many numbers `{name}` has on this line");
                    return Err(FileFault::expected(expected, format!("`{count}`")));
                }
                let mut values = Vec::with_capacity(count as usize);
                for _ in 0..count as usize {
                    values.push(next(name)?);
                }
                row.set_list(name, values);
            }
        }
    }
    match words.next() {
        Some(word) => Err(FileFault::expected("the end of the line", quoted(word))),
        None => Ok(row),
    }
}
