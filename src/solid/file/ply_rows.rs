//! Rows of a PLY file's elements: a vertex, a face, or one that is passed over.

use ply_rs::ply::{Property, PropertyAccess, PropertyAccessResult};

/// What is read out of one row.
pub(super) trait Row: PropertyAccess {
    /// A number of the row.
    fn set_number(&mut self, property: &str, value: f64);
    /// A list of the row.
    fn set_list(&mut self, property: &str, values: Vec<f64>);
}

/// Coordinates; NaN until set.
#[derive(Debug)]
pub(super) struct VertexRow(pub(super) [f64; 3]);

impl Row for VertexRow {
    fn set_number(&mut self, property: &str, value: f64) {
        match property {
            "x" => self.0[0] = value,
            "y" => self.0[1] = value,
            "z" => self.0[2] = value,
            _ => {}
        }
    }

    fn set_list(&mut self, _: &str, _: Vec<f64>) {}
}

/// Corners as the file counts them.
#[derive(Debug, Default)]
pub(super) struct FaceRow(pub(super) Vec<f64>);

/// Whether a list of this name holds a face's corners.
pub(super) fn is_corners(property: &str) -> bool {
    matches!(property, "vertex_indices" | "vertex_index")
}

impl Row for FaceRow {
    fn set_number(&mut self, _: &str, _: f64) {}

    fn set_list(&mut self, property: &str, values: Vec<f64>) {
        if is_corners(property) {
            self.0 = values;
        }
    }
}

/// A row that is passed over.
#[derive(Debug)]
pub(super) struct OtherRow;

impl Row for OtherRow {
    fn set_number(&mut self, _: &str, _: f64) {}
    fn set_list(&mut self, _: &str, _: Vec<f64>) {}
}

/// Every integer that PLY has fits a double exactly.
fn set(row: &mut impl Row, name: &str, property: Property) -> PropertyAccessResult {
    match property {
        Property::Char(value) => row.set_number(name, value.into()),
        Property::UChar(value) => row.set_number(name, value.into()),
        Property::Short(value) => row.set_number(name, value.into()),
        Property::UShort(value) => row.set_number(name, value.into()),
        Property::Int(value) => row.set_number(name, value.into()),
        Property::UInt(value) => row.set_number(name, value.into()),
        Property::Float(value) => row.set_number(name, value.into()),
        Property::Double(value) => row.set_number(name, value),
        Property::ListChar(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListUChar(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListShort(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListUShort(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListInt(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListUInt(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListFloat(values) => row.set_list(name, values.into_iter().map(f64::from).collect()),
        Property::ListDouble(values) => row.set_list(name, values),
    }
    PropertyAccessResult::Set
}

impl PropertyAccess for VertexRow {
    fn new() -> Self {
        VertexRow([f64::NAN; 3])
    }

    fn set_property(&mut self, name: &str, property: Property) -> PropertyAccessResult {
        set(self, name, property)
    }
}

impl PropertyAccess for FaceRow {
    fn new() -> Self {
        FaceRow::default()
    }

    fn set_property(&mut self, name: &str, property: Property) -> PropertyAccessResult {
        set(self, name, property)
    }
}

impl PropertyAccess for OtherRow {
    fn new() -> Self {
        OtherRow
    }
}
