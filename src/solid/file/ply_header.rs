//! The head of a PLY file.

use std::collections::HashSet;

use ply_rs::parser::{Parser, Reader};
use ply_rs::ply::{DefaultElement, ElementDef, Encoding, PropertyType, ScalarType};

use super::error::{FileFault, FilePlace, MeshFileError, quoted};

/// The most that a head may take: a mebibyte.
pub(crate) const MOST_BYTES: usize = 1 << 20;

/// What a PLY file says it holds, and where that starts.
pub(crate) struct Head {
    pub(crate) encoding: Encoding,
    pub(crate) elements: Vec<ElementDef>,
    pub(crate) payload_at: usize,
    /// The line on which a text payload starts, from 1.
    pub(crate) payload_line: usize,
}

/// How lines end: some programs write `\r\n` or `\r`, and a binary payload starts right after.
fn line_end(bytes: &[u8]) -> &'static [u8] {
    match bytes.iter().position(|byte| matches!(byte, b'\n' | b'\r')) {
        Some(at) if bytes[at] == b'\r' && bytes.get(at + 1) == Some(&b'\n') => b"\r\n",
        Some(at) if bytes[at] == b'\r' => b"\r",
        _ => b"\n",
    }
}

fn find(bytes: &[u8], end: &[u8]) -> Option<usize> {
    bytes.windows(end.len()).position(|window| window == end)
}

/// Reads the head and checks that what it announces can be there.
pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Head, MeshFileError> {
    read_beginning(name, bytes, Some(bytes.len()))
}

/// As [`read`], from the first [`MOST_BYTES`] of a file, or all of a shorter one. What the head announces
/// is checked against the whole file's length where that is known (a pipe has none).
pub(crate) fn read_beginning(
    name: &str,
    bytes: &[u8],
    file_bytes: Option<usize>,
) -> Result<Head, MeshFileError> {
    let at_line = |line: usize, fault: FileFault| fault.at(name, FilePlace::Line(line));
    let end = line_end(bytes);
    let mut lines: Vec<String> = Vec::new();
    let mut at = 0;
    loop {
        let number = lines.len() + 1;
        let rest = &bytes[at..bytes.len().min(MOST_BYTES)];
        let Some(length) = find(rest, end) else {
            let fault = FileFault::expected("`end_header`", "none; this is no PLY file or it is cut short");
            return Err(at_line(number, fault));
        };
        let line = rest[..length].trim_ascii();
        if number == 1 && line != b"ply" {
            return Err(at_line(1, FileFault::expected("`ply`, the first line of a PLY file", quoted(line))));
        }
        at += length + end.len();
        // Comments may hold anything; the parser wants text.
        lines.push(line.iter().map(|&byte| if byte.is_ascii() { byte as char } else { '?' }).collect());
        if line == b"end_header" {
            break;
        }
        if at >= MOST_BYTES.min(bytes.len()) {
            return Err(at_line(number, FileFault::expected("`end_header`", "the end of the file")));
        }
    }
    check_names(&lines).map_err(|(line, fault)| at_line(line, fault))?;
    // An empty line would be an error to the parser; it means nothing.
    let text: String = lines
        .iter()
        .map(|line| if line.is_empty() { "comment\n".to_owned() } else { format!("{line}\n") })
        .collect();
    let header =
        Parser::<DefaultElement>::new().read_header(&mut Reader::new(text.as_bytes())).map_err(|error| {
            let number = error.line().unwrap_or(lines.len());
            let line = lines.get(number.saturating_sub(1)).map_or("", String::as_str);
            let fault = if error.line().is_some() {
                let expected = "a line of a PLY head, such as `element vertex 8` or `property float x`";
                FileFault::expected(expected, quoted(line.as_bytes()))
            } else {
                FileFault::expected("`format ascii 1.0` or a binary one in the head", "none")
            };
            at_line(number, fault)
        })?;
    let head = Head {
        encoding: header.encoding,
        elements: header.elements.into_values().collect(),
        payload_at: at,
        payload_line: lines.len() + 1,
    };
    if let Some(total) = file_bytes {
        head.check_room(total.saturating_sub(at)).map_err(|fault| fault.at(name, FilePlace::Byte(at)))?;
    }
    Ok(head)
}

/// The parser would let a later element or property of the same name take the place of an earlier one.
fn check_names(lines: &[String]) -> Result<(), (usize, FileFault)> {
    let (mut elements, mut properties) = (HashSet::new(), HashSet::new());
    for (index, line) in lines.iter().enumerate() {
        let mut words = line.split_whitespace();
        let fresh = match (words.next(), words.next(), words.next_back()) {
            (Some("element"), Some(element), _) => {
                properties.clear();
                elements.insert(element)
            }
            (Some("property"), _, Some(property)) => properties.insert(property),
            _ => true,
        };
        if !fresh {
            let fault = FileFault::expected("each name once", quoted(line.as_bytes()));
            return Err((index + 1, fault));
        }
    }
    Ok(())
}

impl Head {
    /// The least that an element can take, in bytes.
    fn least_bytes(&self, element: &ElementDef) -> usize {
        element
            .properties
            .values()
            .map(|property| match (&self.encoding, &property.data_type) {
                // A digit and what parts it from the next.
                (Encoding::Ascii, _) => 2,
                (_, PropertyType::Scalar(scalar)) | (_, PropertyType::List(scalar, _)) => size(scalar),
            })
            .sum()
    }

    fn check_room(&self, left_bytes: usize) -> Result<(), FileFault> {
        let mut needed: u128 = 0;
        for element in &self.elements {
            // The last number of a text file needs nothing after it.
            let last = u128::from(self.encoding == Encoding::Ascii);
            needed += element.count as u128 * self.least_bytes(element) as u128;
            if needed > left_bytes as u128 + last {
                let announced = format!("{} of element `{}`", element.count, element.name);
                return Err(FileFault::CutShort { announced, needed_bytes: needed, left_bytes });
            }
        }
        Ok(())
    }
}

/// Bytes of a number in a binary file.
pub(crate) fn size(scalar: &ScalarType) -> usize {
    match scalar {
        ScalarType::Char | ScalarType::UChar => 1,
        ScalarType::Short | ScalarType::UShort => 2,
        ScalarType::Int | ScalarType::UInt | ScalarType::Float => 4,
        ScalarType::Double => 8,
    }
}
