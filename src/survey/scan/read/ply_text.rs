//! Vertices of a PLY written as text.

use ply_rs::ply::{ElementDef, PropertyType};

use crate::solid::{FileFault, FilePlace, number, quoted, words};

use super::super::ScanError;
use super::blocks::Blocks;
use super::lines::{LineReader, each_line, read_lines};
use super::ply::{Vertex, goes_on};
use super::row::{Piece, coordinate, direction};
use super::{ScanOptions, ScanSink, ScanSummary};

struct VertexLine<'a> {
    vertex: &'a Vertex,
    options: &'a ScanOptions,
}

impl LineReader for VertexLine<'_> {
    fn line(&self, line: &[u8], piece: &mut Piece) -> Result<(), FileFault> {
        let mut words = words(line).peekable();
        if words.peek().is_none() {
            return Ok(());
        }
        let (mut place, mut normal) = ([f64::NAN; 3], [b"0".as_slice(); 3]);
        for (index, (name, kind)) in self.vertex.properties.iter().enumerate() {
            let mut next = || {
                words.next().ok_or_else(|| {
                    FileFault::expected(format!("a number for `{name}`"), quoted(line.trim_ascii()))
                })
            };
            let word = next()?;
            if let Some(axis) = self.vertex.place.iter().position(|&at| at == index) {
                place[axis] = coordinate(word, self.options)?;
            } else if let Some(axis) = self.vertex.normal.and_then(|n| n.iter().position(|&at| at == index)) {
                normal[axis] = word;
            } else if let PropertyType::List(..) = kind {
                let count = number(word)?;
                // A number takes two bytes of the line.
                if count.fract() != 0.0 || count < 0.0 || count > line.len() as f64 {
                    let expected = format!("how many numbers `{name}` has on this line");
                    return Err(FileFault::expected(expected, format!("`{count}`")));
                }
                for _ in 0..count as usize {
                    next()?;
                }
            }
        }
        if let Some(word) = words.next() {
            return Err(FileFault::expected("the end of the line", quoted(word)));
        }
        let normal = self.vertex.normal.map(|_| direction(normal)).transpose()?;
        piece.push(self.options, place, normal)
    }
}

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    mut line_number: usize,
    before: &[ElementDef],
    vertex: &Vertex,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
    summary: &mut ScanSummary,
) -> Result<(), ScanError> {
    let name = blocks.name;
    // Rows without properties have no lines.
    let mut to_skip = before.iter().filter(|element| !element.properties.is_empty()).map(|e| e.count).sum();
    let mut left = vertex.count;
    let line_end = blocks.line_end()?;
    let reader = VertexLine { vertex, options };
    let mut more = false;
    while left > 0 {
        let block = blocks.lines(line_end)?;
        if block.is_empty() {
            let expected = format!("{} of {} of element `vertex`", vertex.count - left + 1, vertex.count);
            let found = "the end of the file; it is cut short: export it again";
            let place = FilePlace::Line(line_number.saturating_sub(1));
            return Err(FileFault::expected(expected, found).at(name, place).into());
        }
        let (skipped, rest) = split_after(block, line_end, &mut to_skip);
        line_number += each_line(skipped, line_end).count();
        let (rows, after) = split_after(rest, line_end, &mut left);
        more = !after.trim_ascii().is_empty();
        for piece in read_lines(name, rows, line_end, &mut line_number, &reader)? {
            piece.give(sink, summary)?;
        }
    }
    if vertex.last && (more || !blocks.lines(line_end)?.trim_ascii().is_empty()) {
        return Err(goes_on(vertex).at(name, FilePlace::Line(line_number)).into());
    }
    Ok(())
}

/// Splits a block after so many lines that are not blank, or at its end, and counts them down.
fn split_after<'a>(block: &'a [u8], line_end: u8, count: &mut usize) -> (&'a [u8], &'a [u8]) {
    let mut at = 0;
    while *count > 0 && at < block.len() {
        let end = block[at..].iter().position(|&byte| byte == line_end).map_or(block.len(), |n| at + n + 1);
        if !block[at..end].trim_ascii().is_empty() {
            *count -= 1;
        }
        at = end;
    }
    block.split_at(at)
}
