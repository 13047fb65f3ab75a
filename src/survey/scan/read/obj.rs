//! OBJ: vertices; everything else is passed over.

use crate::solid::{FileFault, quoted, words};

use super::super::ScanError;
use super::blocks::Blocks;
use super::lines::{LineReader, read_lines};
use super::row::{Piece, coordinate};
use super::{ScanOptions, ScanSink, ScanSummary};

struct ObjLine<'a>(&'a ScanOptions);

impl LineReader for ObjLine<'_> {
    fn line(&self, line: &[u8], piece: &mut Piece) -> Result<(), FileFault> {
        let mut words = words(line.split(|&byte| byte == b'#').next().unwrap_or_default());
        if words.next() != Some(b"v") {
            return Ok(());
        }
        let mut place = [0.0; 3];
        for value in &mut place {
            let word = words
                .next()
                .ok_or_else(|| FileFault::expected("three coordinates", quoted(line.trim_ascii())))?;
            *value = coordinate(word, self.0)?;
        }
        piece.push(self.0, place, None)
    }
}

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let name = blocks.name;
    let mut summary = ScanSummary::default();
    let mut line_number = 1;
    let line_end = blocks.line_end()?;
    loop {
        let block = blocks.lines(line_end)?;
        if block.is_empty() {
            return Ok(summary);
        }
        for piece in read_lines(name, block, line_end, &mut line_number, &ObjLine(options))? {
            piece.give(sink, &mut summary)?;
        }
    }
}
