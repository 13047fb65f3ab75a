//! Lines and numbers of text files that may hold anything.

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
pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty())
}

/// A number, finite.
pub(super) fn number(word: &[u8]) -> Result<f64, FileFault> {
    let value: Option<f64> = std::str::from_utf8(word).ok().and_then(|text| text.parse().ok());
    match value {
        Some(value) if value.is_finite() => Ok(value),
        Some(_) => Err(FileFault::NotFinite { found: String::from_utf8_lossy(word).into_owned() }),
        None => Err(FileFault::expected("a number", quoted(word))),
    }
}

/// The next three words as coordinates.
pub(super) fn coordinates<'a>(
    words: &mut impl Iterator<Item = &'a [u8]>,
    line: &[u8],
) -> Result<[f64; 3], FileFault> {
    let mut found = [0.0; 3];
    for value in &mut found {
        let word = words
            .next()
            .ok_or_else(|| FileFault::expected("three coordinates", quoted(line.trim_ascii())))?;
        *value = number(word)?;
    }
    Ok(found)
}
