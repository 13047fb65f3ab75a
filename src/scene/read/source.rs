//! The text of one file, and where in it a byte stands.

use std::sync::Arc;

use crate::scene::Span;

/// The greatest document that is read, bytes. A scene is written by hand; clouds and meshes are
/// files of their own.
pub(crate) const LARGEST_DOCUMENT: u64 = 4 * 1024 * 1024;

/// One file's text with the starts of its lines.
#[derive(Debug)]
pub(crate) struct Source {
    name: String,
    text: String,
    line_starts: Vec<usize>,
}

/// Some bytes of one source.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    /// Which file.
    pub source: Arc<Source>,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

/// Why bytes are not the text of a document.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NotText {
    /// UTF-16 or UTF-32, by its byte-order mark or by zero bytes.
    OtherEncoding(&'static str),
    /// Not UTF-8: offset of the first bad byte.
    BadByte(usize),
}

impl Source {
    /// A source of a name, relative to the scene's folder.
    pub fn new(name: &str, text: &str) -> Arc<Self> {
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1));
        Arc::new(Source { name: name.to_owned(), line_starts: starts.collect(), text: text.to_owned() })
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its text, without a byte-order mark.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Line and column of a byte, both from 1; columns count characters.
    pub fn line_column(&self, byte: usize) -> (usize, usize) {
        let line = self.line_starts.partition_point(|start| *start <= byte).max(1);
        let start = self.line_starts[line - 1];
        let before = self.text.get(start..byte.min(self.text.len())).unwrap_or_default();
        (line, before.chars().count() + 1)
    }
}

impl Source {
    /// The byte at a line and column, both from 1; the end of the text past the last.
    pub fn byte_of(&self, line: usize, column: usize) -> usize {
        let Some(start) = self.line_starts.get(line.saturating_sub(1)) else { return self.text.len() };
        let rest = self.text.get(*start..).unwrap_or_default();
        let within = rest.char_indices().nth(column.saturating_sub(1)).map_or(rest.len(), |(at, _)| at);
        start + within
    }
}

impl Place {
    /// The first byte of a whole file, for faults of the file itself.
    pub fn top(source: &Arc<Source>) -> Self {
        Place { source: source.clone(), start: 0, end: 0 }
    }

    /// File, line and column.
    pub fn span(&self) -> Span {
        let (line, column) = self.source.line_column(self.start);
        Span { file: self.source.name.clone(), line, column }
    }

    /// The offending text, its first line only and not too long.
    pub fn found(&self) -> String {
        let text = self.source.text.get(self.start..self.end.max(self.start)).unwrap_or_default();
        let line = text.lines().next().unwrap_or_default().trim_end();
        match line.char_indices().nth(60) {
            Some((cut, _)) => format!("{}...", &line[..cut]),
            None => line.to_owned(),
        }
    }
}

/// The text of a document: UTF-8, with or without a byte-order mark (told by the flag).
pub(crate) fn text_of(bytes: &[u8]) -> Result<(&str, bool), NotText> {
    match bytes {
        [0xFF, 0xFE, 0, 0, ..] | [0, 0, 0xFE, 0xFF, ..] => return Err(NotText::OtherEncoding("UTF-32")),
        [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => return Err(NotText::OtherEncoding("UTF-16")),
        [0, next, ..] | [next, 0, ..] if *next != 0 => return Err(NotText::OtherEncoding("UTF-16")),
        _ => {}
    }
    let (marked, rest) = match bytes {
        [0xEF, 0xBB, 0xBF, rest @ ..] => (true, rest),
        rest => (false, rest),
    };
    match std::str::from_utf8(rest) {
        Ok(text) => Ok((text, marked)),
        Err(error) => Err(NotText::BadByte(error.valid_up_to() + 3 * usize::from(marked))),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn columns_count_characters_not_bytes() {
        let source = Source::new("a.yaml", "é: 1\nb: é x\n");
        assert_eq!(source.line_column(0), (1, 1));
        assert_eq!(source.line_column(2), (1, 2), "the accented letter is two bytes, one column");
        assert_eq!(source.line_column(5 + 1 + 3), (2, 4));
        assert_eq!(source.line_column(source.text().len()), (3, 1), "past the last line feed");
    }

    #[test]
    fn other_encodings_are_told_apart() {
        assert_eq!(text_of(b"\xFF\xFEb\0a\0"), Err(NotText::OtherEncoding("UTF-16")));
        assert_eq!(text_of(b"b\0a\0"), Err(NotText::OtherEncoding("UTF-16")), "no mark, zero bytes");
        assert_eq!(text_of(b"\xFF\xFE\0\0b\0\0\0"), Err(NotText::OtherEncoding("UTF-32")));
        assert_eq!(text_of(b"\xEF\xBB\xBFa"), Ok(("a", true)));
        assert_eq!(text_of(b"ab\xFF"), Err(NotText::BadByte(2)));
        assert_eq!(text_of(b""), Ok(("", false)));
    }
}
