//! Any bytes as a mesh file: an answer or an error, never a panic; what comes out can be asked.
//! Seeds: `tests/corpus/meshes`.
#![no_main]

use baywright_lower::solid::{MeshFormat, Solid, read_mesh_bytes};
use baywright_lower::space::LengthUnit;
use libfuzzer_sys::fuzz_target;
use nalgebra::Point3;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(mesh) = read_mesh_bytes("fuzzed", bytes, MeshFormat::Stl, LengthUnit::Millimetre) {
        let _ = mesh.validate();
        let _ = mesh.closest(&Point3::new(1.0, 2.0, 3.0));
        let _ = (mesh.bounds(), mesh.center_of_mass());
    }
});
