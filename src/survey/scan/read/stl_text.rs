//! STL as text: the three corners of each triangle.

use crate::solid::{FileFault, FilePlace, quoted, words};

use super::super::ScanError;
use super::blocks::Blocks;
use super::lines::each_line;
use super::row::{Piece, coordinate};
use super::stl_binary::push_triangle;
use super::{ScanOptions, ScanSink, ScanSummary};

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let name = blocks.name;
    let mut summary = ScanSummary { normals: true, ..ScanSummary::default() };
    let line_end = blocks.line_end()?;
    let mut reader = Loop { options, corners: Vec::with_capacity(3), inside: false };
    let mut line_number = 0;
    loop {
        let block = blocks.lines(line_end)?;
        if block.is_empty() {
            break;
        }
        let mut piece = Piece::default();
        for line in each_line(block, line_end) {
            line_number += 1;
            reader.line(line, &mut piece).map_err(|fault| fault.at(name, FilePlace::Line(line_number)))?;
        }
        piece.give(sink, &mut summary)?;
    }
    if reader.inside {
        let fault = FileFault::expected("`endloop`", "the end of the file; it is cut short: export it again");
        return Err(fault.at(name, FilePlace::Line(line_number)).into());
    }
    Ok(summary)
}

/// The loop of corners that is open.
struct Loop<'a> {
    options: &'a ScanOptions,
    corners: Vec<[f64; 3]>,
    inside: bool,
}

impl Loop<'_> {
    fn line(&mut self, line: &[u8], piece: &mut Piece) -> Result<(), FileFault> {
        let mut words = words(line);
        let Some(first) = words.next() else { return Ok(()) };
        match first.to_ascii_lowercase().as_slice() {
            b"outer" => {
                if self.inside {
                    return Err(FileFault::expected("`endloop` before another `outer loop`", quoted(first)));
                }
                self.corners.clear();
                self.inside = true;
            }
            b"vertex" => {
                if !self.inside || self.corners.len() == 3 {
                    let expected = "a vertex only within `outer loop`, three of them";
                    return Err(FileFault::expected(expected, quoted(line.trim_ascii())));
                }
                let mut corner = [0.0; 3];
                for value in &mut corner {
                    let word = words
                        .next()
                        .ok_or_else(|| FileFault::expected("three coordinates", quoted(line.trim_ascii())))?;
                    *value = coordinate(word, self.options)?;
                }
                self.corners.push(corner);
            }
            b"endloop" => {
                let [a, b, c] = self.corners[..] else {
                    let found = format!("`endloop` after {}", self.corners.len());
                    return Err(FileFault::expected("three vertices in a loop", found));
                };
                self.inside = false;
                self.corners.clear();
                push_triangle(piece, self.options, [a, b, c])?;
            }
            b"solid" | b"endsolid" | b"facet" | b"endfacet" | b"color" => {}
            _ => {
                let expected = "`facet`, `outer loop`, `vertex`, `endloop`, `endfacet` or `endsolid`";
                return Err(FileFault::expected(expected, quoted(line.trim_ascii())));
            }
        }
        Ok(())
    }
}
