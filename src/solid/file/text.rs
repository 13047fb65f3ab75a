//! Lines and numbers of text files that may hold anything.

use nalgebra::Point3;

use crate::space::LengthUnit;

use super::error::{FileFault, quoted};

/// Lines with their numbers from 1, without their ends: `\n`, `\r\n`, or `\r` in a file without `\n`.
pub(super) fn lines(bytes: &[u8]) -> impl Iterator<Item = (usize, &[u8])> {
    let end = if bytes.contains(&b'\n') { b'\n' } else { b'\r' };
    bytes
        .split(move |&byte| byte == end)
        .map(|line| line.strip_suffix(b"\r").unwrap_or(line))
        .zip(1..)
        .map(|(line, number)| (number, line))
}

/// The words of a line.
pub(crate) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty())
}

/// A number, finite.
pub(crate) fn number(word: &[u8]) -> Result<f64, FileFault> {
    let value: Option<f64> = std::str::from_utf8(word).ok().and_then(|text| text.parse().ok());
    match value {
        Some(value) if value.is_finite() => Ok(value),
        Some(_) => Err(FileFault::NotFinite { found: String::from_utf8_lossy(word).into_owned() }),
        None => Err(FileFault::expected("a number", quoted(word))),
    }
}

/// The next three words as a point, in mm.
pub(super) fn coordinates<'a>(
    words: &mut impl Iterator<Item = &'a [u8]>,
    line: &[u8],
    units: LengthUnit,
) -> Result<Point3<f64>, FileFault> {
    let mut found = [0.0; 3];
    for value in &mut found {
        let word = words
            .next()
            .ok_or_else(|| FileFault::expected("three coordinates", quoted(line.trim_ascii())))?;
        *value = number(word)?;
    }
    in_mm(Point3::from(found), units)
}

/// A point of a file in mm; so large a number that it is none in mm is a fault.
pub(super) fn in_mm(point: Point3<f64>, units: LengthUnit) -> Result<Point3<f64>, FileFault> {
    let scaled = point * units.mm();
    match point.iter().zip(scaled.iter()).find(|(_, scaled)| !scaled.is_finite()) {
        Some((value, _)) => Err(FileFault::NotFinite { found: value.to_string() }),
        None => Ok(scaled),
    }
}
