//! A file cut into pieces: by bytes, or at the ends of lines.

use std::io::{self, ErrorKind, Read};

use crate::solid::{FileFault, FilePlace, MeshFileError, quoted};

/// Bytes of a piece.
const BLOCK: usize = 4 << 20;
/// The longest line that is read, bytes.
const LONGEST_LINE: usize = 1 << 20;

/// What is left of a file, with its name for messages.
pub(super) struct Blocks<'a> {
    pub(super) name: &'a str,
    source: Box<dyn Read + 'a>,
    buffer: Vec<u8>,
    /// Bytes of the buffer that are handed over, and that are there.
    taken: usize,
    filled: usize,
    /// Bytes of the file before the buffer.
    before: usize,
    ended: bool,
}

impl<'a> Blocks<'a> {
    pub(super) fn new(name: &'a str, source: Box<dyn Read + 'a>) -> Self {
        Blocks { name, source, buffer: Vec::new(), taken: 0, filled: 0, before: 0, ended: false }
    }

    /// Place in the file of the next byte, from 0.
    pub(super) fn at(&self) -> usize {
        self.before + self.taken
    }

    pub(super) fn error(&self, fault: FileFault) -> MeshFileError {
        fault.at(self.name, FilePlace::Byte(self.at()))
    }

    /// Makes at least `wanted` bytes ready, fewer only at the end of the file.
    fn fill(&mut self, wanted: usize) -> Result<(), MeshFileError> {
        if self.filled - self.taken >= wanted || self.ended {
            return Ok(());
        }
        self.buffer.copy_within(self.taken..self.filled, 0);
        self.before += self.taken;
        self.filled -= self.taken;
        self.taken = 0;
        if self.buffer.len() < wanted {
            self.buffer.resize(wanted, 0);
        }
        while self.filled < wanted && !self.ended {
            match self.source.read(&mut self.buffer[self.filled..]) {
                Ok(0) => self.ended = true,
                Ok(count) => self.filled += count,
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(self.unreadable(&error)),
            }
        }
        Ok(())
    }

    fn unreadable(&self, error: &io::Error) -> MeshFileError {
        FileFault::Unreadable { cause: error.to_string() }.at(self.name, FilePlace::Whole)
    }

    /// The next bytes without taking them: as many as asked for, fewer only at the end of the file.
    pub(super) fn peek(&mut self, wanted: usize) -> Result<&[u8], MeshFileError> {
        self.fill(wanted)?;
        let end = self.filled.min(self.taken.saturating_add(wanted));
        Ok(&self.buffer[self.taken..end])
    }

    /// Takes bytes that were seen by [`Self::peek`].
    pub(super) fn skip(&mut self, count: usize) {
        self.taken = self.filled.min(self.taken + count);
    }

    /// The next whole records of `stride` bytes, at most `most`, about a block of them, and where they start;
    /// none when less than a record is left.
    pub(super) fn records(&mut self, stride: usize, most: usize) -> Result<(usize, &[u8]), MeshFileError> {
        let wanted = (BLOCK / stride).clamp(1, most.max(1)).saturating_mul(stride);
        self.fill(wanted)?;
        let whole = (self.filled - self.taken).min(wanted) / stride * stride;
        let start = self.taken;
        self.taken += whole;
        Ok((self.before + start, &self.buffer[start..start + whole]))
    }

    /// The next whole lines, about a block of them, with the ends of all but perhaps the last; empty at the end.
    pub(super) fn lines(&mut self, line_end: u8) -> Result<&[u8], MeshFileError> {
        self.fill(BLOCK)?;
        let ready = &self.buffer[self.taken..self.filled];
        let start = self.taken;
        let length = match ready.iter().rposition(|&byte| byte == line_end) {
            Some(last) => last + 1,
            None if self.ended && ready.len() <= LONGEST_LINE => ready.len(),
            None => {
                let found =
                    format!("one of {} bytes, {}", ready.len(), quoted(&ready[..ready.len().min(20)]));
                let expected = format!("lines of at most {LONGEST_LINE} bytes");
                return Err(self.error(FileFault::expected(expected, found)));
            }
        };
        self.taken += length;
        Ok(&self.buffer[start..start + length])
    }

    /// How lines end: `\n`, or `\r` in a file without it.
    pub(super) fn line_end(&mut self) -> Result<u8, MeshFileError> {
        Ok(if self.peek(BLOCK)?.contains(&b'\n') { b'\n' } else { b'\r' })
    }
}
