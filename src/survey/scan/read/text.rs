//! Points as text: one a line, numbers apart by commas, semicolons or blanks, one kind in a file.
//!
//! Nothing is guessed where it could be wrong: decimal commas, lines of different length, and whole numbers
//! between commas that could be halves of decimals are refused.

use crate::solid::{FileFault, FilePlace, has_doubtful_comma, quoted};

use super::super::ScanError;
use super::blocks::Blocks;
use super::lines::{LineReader, each_line, read_lines};
use super::row::{Piece, coordinate, direction};
use super::text_columns::{Columns, FirstLine, first_line};
use super::{ScanOptions, ScanSink, ScanSummary};

struct PointLine<'a> {
    columns: Columns,
    options: &'a ScanOptions,
}

fn is_remark(line: &[u8]) -> bool {
    line.is_empty() || line.starts_with(b"#") || line.starts_with(b"//")
}

impl LineReader for PointLine<'_> {
    fn line(&self, line: &[u8], piece: &mut Piece) -> Result<(), FileFault> {
        let line = line.trim_ascii();
        if is_remark(line) {
            return Ok(());
        }
        piece.decimals = piece.decimals || line.iter().any(|byte| matches!(byte, b'.' | b'e' | b'E'));
        self.point(line, piece).map_err(|fault| {
            if has_doubtful_comma(line) {
                let expected = "decimals with points, and numbers parted by one kind of mark";
                FileFault::expected(expected, quoted(line))
            } else {
                fault
            }
        })
    }
}

impl PointLine<'_> {
    fn point(&self, line: &[u8], piece: &mut Piece) -> Result<(), FileFault> {
        let Columns { apart, place, normal, fields, .. } = &self.columns;
        let (mut at, mut facing, mut count) = ([f64::NAN; 3], [b"0".as_slice(); 3], 0);
        for field in apart.fields(line) {
            if let Some(axis) = place.iter().position(|&column| column == count) {
                at[axis] = coordinate(field, self.options)?;
            } else if let Some(axis) = normal.and_then(|n| n.iter().position(|&column| column == count)) {
                facing[axis] = field;
            }
            count += 1;
        }
        if count < 3 {
            return Err(FileFault::expected(
                "at least three numbers, with points for decimals",
                quoted(line),
            ));
        }
        if count != *fields {
            let expected = format!("{fields} fields on every line, as on the first");
            return Err(FileFault::expected(expected, format!("{count} in {}", quoted(line))));
        }
        let facing = normal.map(|_| direction(facing)).transpose()?;
        piece.push(self.options, at, facing)
    }
}

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let name = blocks.name;
    check_encoding(blocks)?;
    let line_end = blocks.line_end()?;
    let mut summary = ScanSummary::default();
    let (mut line_number, mut decimals) = (1, false);
    let mut announced = None;
    let mut reader: Option<PointLine<'_>> = None;
    loop {
        let mut block = blocks.lines(line_end)?;
        if block.is_empty() {
            break;
        }
        while reader.is_none() && !block.is_empty() {
            let length = block.iter().position(|&byte| byte == line_end).map_or(block.len(), |at| at + 1);
            let line = each_line(&block[..length], line_end).next().unwrap_or_default().trim_ascii();
            let mut point = false;
            if !is_remark(line) {
                let first = first_line(line).map_err(|fault| fault.at(name, FilePlace::Line(line_number)))?;
                match first {
                    FirstLine::Count(count) if announced.is_none() => announced = Some((count, line_number)),
                    FirstLine::Count(_) => {
                        let fault = FileFault::expected("three numbers", quoted(line));
                        return Err(fault.at(name, FilePlace::Line(line_number)).into());
                    }
                    FirstLine::Names(columns) => reader = Some(PointLine { columns, options }),
                    FirstLine::Point(columns) => {
                        reader = Some(PointLine { columns, options });
                        point = true;
                    }
                }
            }
            if !point {
                block = &block[length..];
                line_number += 1;
            }
        }
        if let Some(reader) = &reader {
            summary.normals = reader.columns.normal.is_some();
            for piece in read_lines(name, block, line_end, &mut line_number, reader)? {
                decimals |= piece.decimals;
                piece.give(sink, &mut summary)?;
            }
        }
    }
    let whole = |fault: FileFault| fault.at(name, FilePlace::Whole);
    if let Some(Columns { apart: super::text_columns::Apart::Comma, fields: 4.., named: false, .. }) =
        reader.as_ref().map(|reader| &reader.columns)
        && !decimals
    {
        let expected = "a first line that names the columns, for the commas may part numbers or decimals";
        return Err(whole(FileFault::expected(expected, "whole numbers between commas throughout")).into());
    }
    if let Some((count, line)) = announced
        && count != summary.points + summary.left_out
    {
        let expected = format!("{count} points, as the first line says");
        let found = format!("{}; the file is cut short or was cut up", summary.points + summary.left_out);
        return Err(FileFault::expected(expected, found).at(name, FilePlace::Line(line)).into());
    }
    Ok(summary)
}

/// Passes over the mark of UTF-8; refuses other encodings.
fn check_encoding(blocks: &mut Blocks<'_>) -> Result<(), ScanError> {
    let beginning = blocks.peek(4096)?;
    if beginning.starts_with(b"\xef\xbb\xbf") {
        blocks.skip(3);
    } else if beginning.starts_with(b"\xff\xfe")
        || beginning.starts_with(b"\xfe\xff")
        || beginning.contains(&0)
    {
        let found = if beginning.starts_with(b"\xff") || beginning.starts_with(b"\xfe") {
            "UTF-16; save it as UTF-8"
        } else {
            "bytes that are no text; its name should end in what it is"
        };
        return Err(blocks.error(FileFault::expected("text in UTF-8", found)).into());
    }
    Ok(())
}
