//! Mesh and point files: every way of saying one block, every fault's message, and hostile bytes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::{Path, PathBuf};

use baywright::solid::*;
use baywright::space::LengthUnit;
use nalgebra::{Point3, Vector3};
use proptest::prelude::*;

fn corpus(name: &str) -> PathBuf {
    Path::new("tests/corpus/meshes").join(name)
}

fn mesh(name: &str) -> Mesh {
    read_mesh(&corpus(name), LengthUnit::Millimetre).unwrap()
}

/// The message, without the folder.
fn fault(name: &str) -> String {
    let error = read_mesh(&corpus(name), LengthUnit::Millimetre).unwrap_err();
    error.to_string().replace("tests/corpus/meshes/", "")
}

#[test]
fn one_block_in_every_way() {
    for name in [
        "block_ascii.ply",
        "block_odd_ascii.ply",
        "block_little.ply",
        "block_big.ply",
        "block_ascii.stl",
        "block_binary.stl",
        "block_solid_header.stl",
        "block_inside_out.stl",
        "block_negative.obj",
    ] {
        let block = mesh(name);
        block.validate().unwrap();
        assert_eq!(block.kind, MeshKind::Closed, "{name}");
        assert_eq!((block.vertices.len(), block.triangles.len()), (8, 12), "{name}");
        assert_eq!(block.volume_mm3(), 24_000.0, "{name}: 20 30 40");
        assert_eq!(block.bounds().max, Point3::new(20.0, 30.0, 40.0), "{name}");
        assert!(block.inside(&Point3::new(1.0, 29.0, 39.0)) && !block.inside(&Point3::new(21.0, 15.0, 20.0)));
    }
    let bracket = mesh("bracket_concave.obj");
    bracket.validate().unwrap();
    assert_eq!(bracket.volume_mm3(), 3000.0, "L by shoelace: 600 times 5");
    assert_eq!(bracket.triangles.len(), 20, "two hexagons of four and six quads of two");
    let lidless = mesh("block_lidless.stl");
    assert_eq!((lidless.kind, lidless.open_edges()), (MeshKind::Open { thickness_mm: 0.0 }, 4));
}

#[test]
fn units_are_what_the_caller_says() {
    let bytes = std::fs::read(corpus("block_binary.stl")).unwrap();
    for (units, factor) in
        [(LengthUnit::Inch, 25.4), (LengthUnit::Metre, 1000.0), (LengthUnit::Centimetre, 10.0)]
    {
        let block = read_mesh_bytes("block", &bytes, MeshFormat::Stl, units).unwrap();
        assert!((block.bounds().max - Point3::new(20.0, 30.0, 40.0) * factor).norm() < 1e-9);
    }
}

#[test]
fn a_mesh_reads_back_as_it_was_written() {
    let bracket = mesh("bracket_concave.obj")
        .moved(&nalgebra::Isometry3::new(Vector3::new(0.1, 1.0 / 3.0, -7.7), Vector3::new(0.3, 0.2, 0.1)));
    for format in [MeshFormat::Ply, MeshFormat::Obj, MeshFormat::Stl] {
        let mut bytes = Vec::new();
        write_mesh(&mut bytes, &bracket, format).unwrap();
        let again = read_mesh_bytes("again", &bytes, format, LengthUnit::Millimetre).unwrap();
        if format == MeshFormat::Stl {
            // Single precision; vertices in the order that triangles meet them.
            assert_eq!(again.kind, MeshKind::Closed);
            assert!((again.volume_mm3() - 3000.0).abs() < 0.01);
            assert_eq!(again.vertices.len(), bracket.vertices.len());
        } else {
            assert_eq!(again, bracket, "{format:?}: to the last bit");
        }
        let mut twice = Vec::new();
        write_mesh(&mut twice, &bracket, format).unwrap();
        assert_eq!(bytes, twice, "same mesh, same bytes");
    }
    let mut broken = bracket;
    broken.triangles[0][0] = 999;
    assert!(write_mesh(&mut Vec::new(), &broken, MeshFormat::Stl).is_err());
}

#[test]
fn vertices_of_each_face_its_own_still_make_a_solid() {
    let block = mesh("block_ascii.ply");
    let mut text = String::new();
    for triangle in 0..block.triangles.len() {
        for corner in block.corners(triangle) {
            text += &format!("v {} {} {}\n", corner.x, corner.y, corner.z);
        }
        text += "f -3 -2 -1\n";
    }
    let again =
        read_mesh_bytes("loose.obj", text.as_bytes(), MeshFormat::Obj, LengthUnit::Millimetre).unwrap();
    assert_eq!((again.kind, again.vertices.len()), (MeshKind::Closed, 8));
}

#[test]
fn faults_of_ply() {
    insta::assert_snapshot!(fault("lying_header.ply"), @"lying_header.ply, byte 124: announces 4000000000 of element `vertex`, which take at least 48000000000 bytes, but 0 are left; the file is cut short or its header is wrong: copy or export it again");
    insta::assert_snapshot!(fault("lying_nothing.ply"), @"lying_nothing.ply: has no faces; export it with faces, or use it as a cloud of points");
    insta::assert_snapshot!(fault("lying_list.ply"), @"lying_list.ply, byte 174: expected 1 of 1 of element `face`, found the end of the file; it is cut short: export it again");
    insta::assert_snapshot!(fault("twice_named.ply"), @"twice_named.ply, line 5: expected each name once, found `property float x`");
    insta::assert_snapshot!(fault("no_height.ply"), @"no_height.ply: expected a property `z` of element `vertex`, found none in the head");
    insta::assert_snapshot!(fault("no_format.ply"), @"no_format.ply, line 6: expected `format ascii 1.0` or a binary one in the head, found none");
    insta::assert_snapshot!(fault("bad_word.ply"), @"bad_word.ply, line 5: expected a line of a PLY head, such as `element vertex 8` or `property float x`, found `property quaternion y`");
    insta::assert_snapshot!(fault("not_a_ply.ply"), @"not_a_ply.ply, line 1: expected `ply`, the first line of a PLY file, found `<html>moved permanently</html>`");
    insta::assert_snapshot!(fault("cut_short_ascii.ply"), @"cut_short_ascii.ply, line 9: expected 3 of 3 of element `vertex`, found the end of the file; it is cut short: export it again");
    insta::assert_snapshot!(fault("nan_ascii.ply"), @"nan_ascii.ply, line 9: has a coordinate that is not a finite number (`nan`); leave that point out");
}

#[test]
fn faults_of_stl_and_obj() {
    insta::assert_snapshot!(fault("block_lying_count.stl"), @"block_lying_count.stl, byte 80: announces 4000000000 triangles, which take at least 200000000000 bytes, but 50 are left; the file is cut short or its header is wrong: copy or export it again");
    insta::assert_snapshot!(fault("short_loop_ascii.stl"), @"short_loop_ascii.stl, line 6: expected three vertices in a loop, found `endloop` after 2");
    insta::assert_snapshot!(fault("nan_ascii.stl"), @"nan_ascii.stl, line 5: has a coordinate that is not a finite number (`nan`); leave that point out");
    insta::assert_snapshot!(fault("index_out_of_range.obj"), @"index_out_of_range.obj, line 5: names vertex 9, but the file has 3; export it again");
    insta::assert_snapshot!(fault("index_zero.obj"), @"index_zero.obj, line 4: expected a vertex counted from 1, found `0`");
    insta::assert_snapshot!(fault("only_points.obj"), @"only_points.obj: has no faces; export it with faces, or use it as a cloud of points");
    insta::assert_snapshot!(fault("readings.csv"), @"readings.csv: its name ends in `csv`, which is no format read here; expected ply, stl or obj");
    let nothing = read_mesh_bytes("nothing.stl", b"", MeshFormat::Stl, LengthUnit::Millimetre).unwrap_err();
    insta::assert_snapshot!(nothing, @"nothing.stl: is empty; export it again");
    let missing = read_mesh(&corpus("there_is_none.stl"), LengthUnit::Millimetre).unwrap_err();
    assert!(matches!(missing.fault, FileFault::Unreadable { .. }));
}

#[test]
fn points_from_text_and_ply() {
    let points = |name: &str| read_points(&corpus(name), LengthUnit::Millimetre);
    assert_eq!(points("readings.csv").unwrap(), [[1.5, 2.5, -3.0], [4.0, 5.0, 6.0]].map(Point3::from));
    assert_eq!(
        points("readings.xyz").unwrap(),
        [[0.0, 0.0, 0.0], [1.0, 2.0, 3.0], [-10.0, 0.5, 4.0]].map(Point3::from)
    );
    for name in ["block_ascii.ply", "block_odd_ascii.ply", "block_little.ply", "block_big.ply"] {
        let block = points(name).unwrap();
        assert_eq!((block.len(), block[7]), (8, Point3::new(20.0, 30.0, 40.0)), "{name}");
    }
    let said = |name: &str| points(name).unwrap_err().to_string().replace("tests/corpus/meshes/", "");
    insta::assert_snapshot!(said("decimal_comma.csv"), @"decimal_comma.csv, line 1: expected decimals with points, and numbers parted by one kind of mark, found `1,5;2,0;3,1`");
    insta::assert_snapshot!(said("lying_header.ply"), @"lying_header.ply, byte 124: announces 4000000000 of element `vertex`, which take at least 48000000000 bytes, but 0 are left; the file is cut short or its header is wrong: copy or export it again");
    insta::assert_snapshot!(said("block_binary.stl"), @"block_binary.stl: its name ends in `stl`, which is no format read here; expected ply, xyz, csv, txt, asc or pts");
    let text =
        |text: &str| read_points_bytes("tape.csv", text.as_bytes(), PointFormat::Text, LengthUnit::Inch);
    assert_eq!(text("1,2,3\r\n").unwrap(), [Point3::new(1.0, 2.0, 3.0) * 25.4]);
    assert_eq!(
        text("\u{feff}name, z, y, x\na, 1, 2, 3\n").unwrap(),
        [Point3::new(3.0, 2.0, 1.0) * 25.4],
        "by name"
    );
    insta::assert_snapshot!(text("1 2 3\n1 2\n").unwrap_err(), @"tape.csv, line 2: expected at least three numbers, with points for decimals, found `1 2`");
    insta::assert_snapshot!(text("mark,east,north\n").unwrap_err(), @"tape.csv, line 1: expected three numbers, or the names of columns with x, y and z among them, found `mark,east,north`");
    insta::assert_snapshot!(text("1 2 3\n1 2 inf\n").unwrap_err(), @"tape.csv, line 2: has a coordinate that is not a finite number (`inf`); leave that point out");
    insta::assert_snapshot!(text("# nothing\n").unwrap_err(), @"tape.csv: has no points; export it again");
    let mut bytes = Vec::new();
    let scan = points("readings.xyz").unwrap();
    write_points(&mut bytes, &scan).unwrap();
    assert_eq!(read_points_bytes("scan", &bytes, PointFormat::Ply, LengthUnit::Millimetre).unwrap(), scan);
}

/// Reads bytes in every way; what matters is that it ends, and without a panic.
fn read_every_way(bytes: &[u8]) {
    for format in [MeshFormat::Ply, MeshFormat::Stl, MeshFormat::Obj] {
        if let Ok(mesh) = read_mesh_bytes("hostile", bytes, format, LengthUnit::Millimetre) {
            let _ = (mesh.validate(), mesh.closest(&Point3::new(1.0, 2.0, 3.0)), mesh.center_of_mass());
            write_mesh(&mut Vec::new(), &mesh, format).unwrap();
        }
    }
    for format in [PointFormat::Ply, PointFormat::Text] {
        let _ = read_points_bytes("hostile", bytes, format, LengthUnit::Inch);
    }
}

fn corpus_bytes() -> Vec<Vec<u8>> {
    let mut names: Vec<PathBuf> =
        std::fs::read_dir("tests/corpus/meshes").unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    names.into_iter().map(|name| std::fs::read(name).unwrap()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn spoiled_files_never_panic(pick in any::<prop::sample::Index>(), cut in 0.0_f64..1.3, spoils in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6)) {
        let files = corpus_bytes();
        let mut bytes = files[pick.index(files.len())].clone();
        for (place, value) in spoils {
            let place = place.index(bytes.len());
            bytes[place] = value;
        }
        bytes.truncate((cut * bytes.len() as f64) as usize);
        read_every_way(&bytes);
    }

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..400), start in prop::sample::select(vec!["", "ply\n", "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\n", "solid ", "v 0 0 0\nf ", "x;y;z\n"])) {
        read_every_way(&[start.as_bytes(), &bytes].concat());
    }
}
