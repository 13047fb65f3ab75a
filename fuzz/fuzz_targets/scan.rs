//! Any bytes as a scan of any format, read whole and in pieces: an answer or an error, never a panic; every point is
//! finite, and what the whole-file reader accepts of a PLY is the same points. Seeds: `tests/corpus/meshes`.
#![no_main]

use baywright_lower::solid::{PointFormat, read_points_bytes};
use baywright_lower::space::LengthUnit;
use baywright_lower::survey::scan::{
    NotFinite, PointCloud, ScanFormat, ScanOptions, VoxelGrid, read_scan_bytes,
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for format in [ScanFormat::Ply, ScanFormat::Text, ScanFormat::Stl, ScanFormat::Obj] {
        for not_finite in [NotFinite::Refuse, NotFinite::LeaveOut] {
            let options = ScanOptions { not_finite, ..ScanOptions::default() };
            let mut cloud = PointCloud::default();
            if read_scan_bytes("fuzzed", bytes, format, &options, &mut cloud).is_err() {
                continue;
            }
            assert!(cloud.points.iter().flat_map(|point| point.iter()).all(|value| value.is_finite()));
            assert!(cloud.normals.is_empty() || cloud.normals.len() == cloud.points.len());
            if let Ok(mut grid) = VoxelGrid::new(1.0)
                && grid.add(&cloud).is_ok()
            {
                let thin = grid.finish();
                assert!(!thin.points.is_empty() && thin.points.len() <= cloud.points.len());
            }
            if format == ScanFormat::Ply
                && not_finite == NotFinite::Refuse
                && let Ok(points) =
                    read_points_bytes("fuzzed", bytes, PointFormat::Ply, LengthUnit::Millimetre)
            {
                assert_eq!(points, cloud.points);
            }
        }
    }
});
