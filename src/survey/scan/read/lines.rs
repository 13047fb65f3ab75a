//! Lines of a block, read by several threads, answered in the order of the file.

use rayon::prelude::*;

use crate::solid::{FileFault, FilePlace, MeshFileError};

use super::row::Piece;

/// Bytes that one task reads.
const TASK: usize = 256 << 10;

/// Reads one line, without its end.
pub(super) trait LineReader: Sync {
    fn line(&self, line: &[u8], piece: &mut Piece) -> Result<(), FileFault>;
}

/// Reads every line of a block; `first_line` is the number of its first line and is moved on.
pub(super) fn read_lines(
    name: &str,
    block: &[u8],
    line_end: u8,
    first_line: &mut usize,
    reader: &impl LineReader,
) -> Result<Vec<Piece>, MeshFileError> {
    let done: Vec<(Piece, usize, Option<FileFault>)> =
        cut(block, line_end).into_par_iter().map(|part| read_part(part, line_end, reader)).collect();
    let mut pieces = Vec::with_capacity(done.len());
    for (piece, lines, fault) in done {
        if let Some(fault) = fault {
            return Err(fault.at(name, FilePlace::Line(*first_line + lines)));
        }
        *first_line += lines;
        pieces.push(piece);
    }
    Ok(pieces)
}

/// The points of a part, the lines before its end or its fault, and the fault.
fn read_part(part: &[u8], line_end: u8, reader: &impl LineReader) -> (Piece, usize, Option<FileFault>) {
    let mut piece = Piece::default();
    let mut lines = 0;
    for line in each_line(part, line_end) {
        if let Err(fault) = reader.line(line, &mut piece) {
            return (piece, lines, Some(fault));
        }
        lines += 1;
    }
    (piece, lines, None)
}

/// Lines of a block that ends at the end of a line, or of the file; without their ends.
pub(super) fn each_line(block: &[u8], line_end: u8) -> impl Iterator<Item = &[u8]> {
    let whole = block.strip_suffix(&[line_end]).unwrap_or(block);
    let none = block.is_empty();
    whole
        .split(move |&byte| byte == line_end)
        .map(|line| line.strip_suffix(b"\r").unwrap_or(line))
        .take(if none { 0 } else { usize::MAX })
}

fn cut(mut block: &[u8], line_end: u8) -> Vec<&[u8]> {
    let mut parts = Vec::new();
    while block.len() > TASK {
        let Some(more) = block[TASK..].iter().position(|&byte| byte == line_end) else { break };
        let (part, rest) = block.split_at(TASK + more + 1);
        parts.push(part);
        block = rest;
    }
    if !block.is_empty() {
        parts.push(block);
    }
    parts
}
