//! PLY: its head, what stands before the vertices, and the vertices by either of two readers.

use ply_rs::ply::{ElementDef, Encoding, PropertyType, ScalarType};

use crate::solid::{FileFault, FilePlace, MOST_PLY_HEAD_BYTES, MeshFileError, read_ply_head};

use super::super::ScanError;
use super::blocks::Blocks;
use super::{ScanOptions, ScanSink, ScanSummary, ply_binary, ply_text};

/// Points with room reserved for no more than this many before they are there, where the length is unknown.
const RESERVED: usize = 1 << 16;

/// What a vertex consists of.
pub(super) struct Vertex {
    pub(super) count: usize,
    /// Name and type of each property, in order.
    pub(super) properties: Vec<(String, PropertyType)>,
    /// Which of them are x, y, z.
    pub(super) place: [usize; 3],
    /// Which of them are nx, ny, nz.
    pub(super) normal: Option<[usize; 3]>,
    /// Whether nothing may follow them: no element after them has rows.
    pub(super) last: bool,
}

impl Vertex {
    fn of(element: &ElementDef) -> Result<Self, FileFault> {
        let properties: Vec<(String, PropertyType)> = element
            .properties
            .iter()
            .map(|(name, property)| (name.to_string(), property.data_type.clone()))
            .collect();
        let find = |wanted: &str| properties.iter().position(|(name, _)| name == wanted);
        let mut place = [0; 3];
        for (at, axis) in place.iter_mut().zip(["x", "y", "z"]) {
            *at = find(axis).ok_or_else(|| {
                let expected = format!("a property `{axis}` of element `vertex`");
                FileFault::expected(expected, "none in the head")
            })?;
            if matches!(properties[*at].1, PropertyType::List(..)) {
                return Err(FileFault::expected(format!("one number `{axis}` a vertex"), "a list"));
            }
        }
        let scalar = |wanted: &str| {
            find(wanted).filter(|&at| {
                // A normal in whole numbers would be one of six directions.
                matches!(properties[at].1, PropertyType::Scalar(ScalarType::Float | ScalarType::Double))
            })
        };
        let normal = match (scalar("nx"), scalar("ny"), scalar("nz")) {
            (Some(x), Some(y), Some(z)) => Some([x, y, z]),
            _ => None,
        };
        Ok(Vertex { count: element.count, properties, place, normal, last: false })
    }
}

pub(super) fn read(
    blocks: &mut Blocks<'_>,
    length: Option<usize>,
    options: &ScanOptions,
    sink: &mut dyn ScanSink,
) -> Result<ScanSummary, ScanError> {
    let name = blocks.name;
    let whole = |fault: FileFault| fault.at(name, FilePlace::Whole);
    let beginning = blocks.peek(MOST_PLY_HEAD_BYTES)?;
    // A pipe that ends within the beginning has a length after all.
    let length = length.or((beginning.len() < MOST_PLY_HEAD_BYTES).then_some(beginning.len()));
    let head = read_ply_head(name, beginning, length)?;
    blocks.skip(head.payload_at);
    let at = head
        .elements
        .iter()
        .position(|element| element.name == "vertex" && element.count > 0)
        .ok_or_else(|| whole(FileFault::NoPoints))?;
    let last = head.elements[at + 1..].iter().all(|element| element.count == 0);
    let vertex = Vertex { last, ..Vertex::of(&head.elements[at]).map_err(whole)? };
    sink.expect(if length.is_some() { vertex.count } else { vertex.count.min(RESERVED) });
    let before = &head.elements[..at];
    let mut summary = ScanSummary { normals: vertex.normal.is_some(), ..ScanSummary::default() };
    match head.encoding {
        Encoding::Ascii => {
            ply_text::read(blocks, head.payload_line, before, &vertex, options, sink, &mut summary)?;
        }
        encoding => {
            let big_end_first = encoding == Encoding::BinaryBigEndian;
            ply_binary::read(blocks, big_end_first, before, &vertex, options, sink, &mut summary)?;
        }
    }
    Ok(summary)
}

/// The file goes on after the points that it announces: which of both is wrong cannot be told.
pub(super) fn goes_on(vertex: &Vertex) -> FileFault {
    let expected = format!("the end of the file after the {} points that its header announces", vertex.count);
    FileFault::expected(expected, "more; the header is wrong: export it again")
}

/// The file ends before it should.
pub(super) fn cut_short(blocks: &Blocks<'_>, element: &str, index: usize, count: usize) -> MeshFileError {
    let expected = format!("{} of {count} of element `{element}`", index + 1);
    blocks.error(FileFault::expected(expected, "the end of the file; it is cut short: export it again"))
}
