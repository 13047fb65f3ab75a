//! Vertices of a binary PLY. Rows of one length are decoded many at once, by all threads.

use nalgebra::{Point3, Vector3};
use ply_rs::ply::{ElementDef, PropertyType, ScalarType};
use rayon::prelude::*;

use crate::solid::{FileFault, FilePlace, ply_bytes};

use super::super::ScanError;
use super::blocks::Blocks;
use super::ply::{Vertex, cut_short, goes_on};
use super::row::{Piece, unit_or_zero};
use super::{NotFinite, ScanOptions, ScanSink, ScanSummary};

/// Rows that one task decodes at least.
const TASK_ROWS: usize = 8192;

/// A number of a row.
#[derive(Clone)]
struct Column {
    offset: usize,
    kind: ScalarType,
    big_end_first: bool,
}

/// A number in its bytes.
fn value(kind: &ScalarType, big_end_first: bool, bytes: &[u8]) -> f64 {
    macro_rules! number {
        ($kind:ty) => {{
            let mut own = [0; size_of::<$kind>()];
            let count = own.len();
            own.copy_from_slice(&bytes[..count]);
            if big_end_first {
                <$kind>::from_be_bytes(own).into()
            } else {
                <$kind>::from_le_bytes(own).into()
            }
        }};
    }
    match kind {
        ScalarType::Char => number!(i8),
        ScalarType::UChar => number!(u8),
        ScalarType::Short => number!(i16),
        ScalarType::UShort => number!(u16),
        ScalarType::Int => number!(i32),
        ScalarType::UInt => number!(u32),
        ScalarType::Float => number!(f32),
        ScalarType::Double => number!(f64),
    }
}

impl Column {
    fn of(vertex: &Vertex, index: usize, big_end_first: bool) -> Self {
        let mut offset = 0;
        let mut kind = ScalarType::Char;
        for (k, (_, property)) in vertex.properties[..=index].iter().enumerate() {
            if let PropertyType::Scalar(scalar) = property {
                kind = scalar.clone();
                offset += if k < index { ply_bytes(scalar) } else { 0 };
            }
        }
        Column { offset, kind, big_end_first }
    }
}

/// Bytes of a row with a list at least: x, y and z of a byte each and a list of none.
const LEAST_ROW: usize = 4;

/// Bytes of a row, when all have the same.
fn stride<'a>(properties: impl Iterator<Item = &'a PropertyType>) -> Option<usize> {
    properties
        .map(|kind| match kind {
            PropertyType::Scalar(scalar) => Some(ply_bytes(scalar)),
            PropertyType::List(..) => None,
        })
        .sum()
}

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    big_end_first: bool,
    before: &[ElementDef],
    vertex: &Vertex,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
    summary: &mut ScanSummary,
) -> Result<(), ScanError> {
    for element in before {
        pass_over(blocks, big_end_first, element)?;
    }
    let stride = stride(vertex.properties.iter().map(|(_, kind)| kind));
    match stride {
        Some(stride) => fixed_rows(blocks, big_end_first, stride, vertex, options, sink, summary)?,
        None => rows_with_lists(blocks, big_end_first, vertex, options, sink, summary)?,
    }
    // Less than a row may be a line's end or padding.
    let row = stride.unwrap_or(LEAST_ROW);
    if vertex.last && blocks.peek(row)?.len() == row {
        return Err(blocks.error(goes_on(vertex)).into());
    }
    Ok(())
}

fn pass_over(blocks: &mut Blocks<'_>, big_end_first: bool, element: &ElementDef) -> Result<(), ScanError> {
    let kinds: Vec<&PropertyType> = element.properties.values().map(|property| &property.data_type).collect();
    let short = |blocks: &Blocks<'_>, index| cut_short(blocks, &element.name, index, element.count);
    match stride(kinds.iter().copied()) {
        // Rows of nothing take no room.
        Some(0) => {}
        Some(stride) => {
            let mut done = 0;
            while done < element.count {
                let rows = blocks.records(stride, element.count - done)?.1.len() / stride;
                if rows == 0 {
                    return Err(short(blocks, done).into());
                }
                done += rows;
            }
        }
        None => {
            for index in 0..element.count {
                for kind in &kinds {
                    property(blocks, big_end_first, kind)?.ok_or_else(|| short(blocks, index))?;
                }
            }
        }
    }
    Ok(())
}

/// Takes one property of a row: its number, NaN for a list; `None` at the end of the file.
fn property(
    blocks: &mut Blocks<'_>,
    big_end_first: bool,
    kind: &PropertyType,
) -> Result<Option<f64>, ScanError> {
    let (PropertyType::Scalar(first) | PropertyType::List(first, _)) = kind;
    let size = ply_bytes(first);
    let bytes = blocks.peek(size)?;
    if bytes.len() < size {
        return Ok(None);
    }
    let number = value(first, big_end_first, bytes);
    let PropertyType::List(_, item) = kind else {
        blocks.skip(size);
        return Ok(Some(number));
    };
    if number.fract() != 0.0 || number < 0.0 {
        let fault = FileFault::expected("how many numbers a list has", format!("`{number}`"));
        return Err(blocks.error(fault).into());
    }
    blocks.skip(size);
    let mut left = (number as usize).saturating_mul(ply_bytes(item));
    while left > 0 {
        let ready = blocks.peek(left.min(1 << 16))?.len();
        if ready == 0 {
            return Ok(None);
        }
        blocks.skip(ready);
        left -= ready;
    }
    Ok(Some(f64::NAN))
}

fn rows_with_lists(
    blocks: &mut Blocks<'_>,
    big_end_first: bool,
    vertex: &Vertex,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
    summary: &mut ScanSummary,
) -> Result<(), ScanError> {
    let mut piece = Piece::default();
    let mut row = vec![0.0; vertex.properties.len()];
    for index in 0..vertex.count {
        let at = blocks.at();
        for (number, (_, kind)) in row.iter_mut().zip(&vertex.properties) {
            *number = property(blocks, big_end_first, kind)?
                .ok_or_else(|| cut_short(blocks, "vertex", index, vertex.count))?;
        }
        piece
            .push(options, vertex.place.map(|k| row[k]), vertex.normal.map(|normal| normal.map(|k| row[k])))
            .map_err(|fault| fault.at(blocks.name, FilePlace::Byte(at)))?;
        if piece.points.len() >= 1 << 16 {
            std::mem::take(&mut piece).give(sink, summary)?;
        }
    }
    piece.give(sink, summary)
}

fn fixed_rows(
    blocks: &mut Blocks<'_>,
    big_end_first: bool,
    stride: usize,
    vertex: &Vertex,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
    summary: &mut ScanSummary,
) -> Result<(), ScanError> {
    let columns = |indices: [usize; 3]| indices.map(|index| Column::of(vertex, index, big_end_first));
    let place = columns(vertex.place);
    let normal = vertex.normal.map(columns);
    let scale = options.units.mm();
    let [x, y, z] = [0, 1, 2].map(|k: usize| place[k].offset);
    let singles = !big_end_first && place.iter().all(|column| matches!(column.kind, ScalarType::Float));
    let single = |row: &[u8], at: usize| {
        f64::from(f32::from_le_bytes([row[at], row[at + 1], row[at + 2], row[at + 3]]))
    };
    let mut done = 0;
    while done < vertex.count {
        let (at, rows) = blocks.records(stride, vertex.count - done)?;
        if rows.is_empty() {
            return Err(cut_short(blocks, "vertex", done, vertex.count).into());
        }
        let taken = rows.len() / stride;
        let buffer = sink.buffer();
        let start = buffer.points.len();
        let each = || rows.par_chunks_exact(stride).with_min_len(TASK_ROWS);
        // Most scans are in single precision: the same work without a choice a number.
        if singles {
            buffer.points.par_extend(each().map(|row| {
                Point3::new(single(row, x) * scale, single(row, y) * scale, single(row, z) * scale)
            }));
        } else {
            buffer.points.par_extend(each().map(|row| Point3::from(of(row, &place)) * scale));
        }
        if let Some(normal) = &normal {
            buffer.normals.par_extend(each().map(|row| unit_or_zero(of(row, normal))));
        }
        let fine = |point: &Point3<f64>| point.iter().all(|value| value.is_finite());
        let bad =
            buffer.points[start..].par_iter().with_min_len(TASK_ROWS).position_first(|point| !fine(point));
        if let Some(first) = bad {
            if options.not_finite == NotFinite::Refuse {
                let found =
                    buffer.points[start + first].iter().find(|value| !value.is_finite()).map(f64::to_string);
                let fault = FileFault::NotFinite { found: found.unwrap_or_default() };
                return Err(fault.at(blocks.name, FilePlace::Byte(at + first * stride)).into());
            }
            keep(&mut buffer.points, &mut buffer.normals, start, fine);
        }
        let kept = buffer.points.len() - start;
        summary.points += kept;
        summary.left_out += taken - kept;
        done += taken;
        sink.taken()?;
    }
    Ok(())
}

fn of(row: &[u8], columns: &[Column; 3]) -> [f64; 3] {
    [0, 1, 2].map(|k| value(&columns[k].kind, columns[k].big_end_first, &row[columns[k].offset..]))
}

/// Drops points from `start` on that are not fine, with their normals.
fn keep(
    points: &mut Vec<Point3<f64>>,
    normals: &mut Vec<Vector3<f64>>,
    start: usize,
    fine: impl Fn(&Point3<f64>) -> bool,
) {
    let mut next = start;
    let with_normals = normals.len() == points.len();
    for index in start..points.len() {
        if fine(&points[index]) {
            points[next] = points[index];
            if with_normals {
                normals[next] = normals[index];
            }
            next += 1;
        }
    }
    points.truncate(next);
    if with_normals {
        normals.truncate(next);
    }
}
