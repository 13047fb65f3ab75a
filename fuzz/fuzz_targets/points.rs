//! Any bytes as points: an answer or an error, never a panic; every point is finite unless the unit
//! took it out of range. Seeds: `tests/corpus/meshes`.
#![no_main]

use baywright_lower::solid::{PointFormat, read_points_bytes};
use baywright_lower::space::LengthUnit;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for format in [PointFormat::Ply, PointFormat::Text] {
        if let Ok(points) = read_points_bytes("fuzzed", bytes, format, LengthUnit::Millimetre) {
            assert!(points.iter().flat_map(|point| point.iter()).all(|value| value.is_finite()));
        }
    }
});
