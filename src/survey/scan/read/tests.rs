#![allow(clippy::unwrap_used, clippy::panic)]

use nalgebra::{Point3, Vector3};
use proptest::prelude::*;

use super::{ExtentOnly, NotFinite, ScanFormat, ScanOptions, read_scan_bytes};
use crate::solid::{MeshFormat, PointFormat, read_mesh_bytes, read_points_bytes, write_points};
use crate::space::LengthUnit;
use crate::survey::scan::{PointCloud, ScanSummary};

fn read(
    bytes: &[u8],
    format: ScanFormat,
    options: &ScanOptions,
) -> Result<(PointCloud, ScanSummary), String> {
    let mut cloud = PointCloud::default();
    let summary =
        read_scan_bytes("scan", bytes, format, options, &mut cloud).map_err(|error| error.to_string())?;
    assert_eq!(summary.points, cloud.points.len());
    assert!(cloud.normals.is_empty() || cloud.normals.len() == cloud.points.len());
    Ok((cloud, summary))
}

fn points(bytes: &[u8], format: ScanFormat) -> Result<Vec<Point3<f64>>, String> {
    read(bytes, format, &ScanOptions::default()).map(|(cloud, _)| cloud.points)
}

/// A number in its bytes, as PLY has it.
fn bytes_of(kind: &str, value: f64, big: bool) -> Vec<u8> {
    macro_rules! bytes {
        ($kind:ty) => {
            if big {
                (value as $kind).to_be_bytes().to_vec()
            } else {
                (value as $kind).to_le_bytes().to_vec()
            }
        };
    }
    match kind {
        "char" => bytes!(i8),
        "uchar" => bytes!(u8),
        "short" => bytes!(i16),
        "ushort" => bytes!(u16),
        "int" => bytes!(i32),
        "uint" => bytes!(u32),
        "float" => bytes!(f32),
        _ => bytes!(f64),
    }
}

const KINDS: [&str; 8] = ["char", "uchar", "short", "ushort", "int", "uint", "float", "double"];

/// A PLY with whole coordinates from 0 to 99: every type holds them. `order` is the order of the properties.
fn ply(places: &[[u8; 3]], kinds: [&str; 3], order: &[usize], encoding: &str, list: bool) -> Vec<u8> {
    let mut head = format!("ply\nformat {encoding} 1.0\ncomment made for a test\n");
    head += "element lamp 2\nproperty uchar on\n";
    head += &format!("element vertex {}\n", places.len());
    let names = ["x", "y", "z", "red", "nx", "ny", "nz"];
    let kind = |k: usize| match k {
        0..3 => kinds[k],
        3 => "uchar",
        _ => "float",
    };
    for &k in order {
        head += &format!("property {} {}\n", kind(k), names[k]);
    }
    if list {
        head += "property list uchar short seen_from\n";
    }
    head += "element face 1\nproperty list uchar int vertex_indices\nend_header\n";
    let mut file = head.into_bytes();
    let value = |place: &[u8; 3], k: usize| match k {
        0..3 => f64::from(place[k]),
        3 => 200.0,
        6 => 2.0,
        _ => 0.0,
    };
    if encoding == "ascii" {
        file.extend(b"1\n0\n");
        for place in places {
            let mut words: Vec<String> = order.iter().map(|&k| value(place, k).to_string()).collect();
            if list {
                words.push("2 7 8".to_owned());
            }
            file.extend((words.join(" ") + "\r\n").bytes());
        }
        file.extend(b"3 0 0 0\n");
        return file;
    }
    let big = encoding == "binary_big_endian";
    file.extend([1, 0]);
    for place in places {
        for &k in order {
            file.extend(bytes_of(kind(k), value(place, k), big));
        }
        if list {
            file.push(2);
            file.extend(bytes_of("short", 7.0, big));
            file.extend(bytes_of("short", 8.0, big));
        }
    }
    file.push(3);
    file.extend([0; 12]);
    file
}

proptest! {
    #[test]
    fn a_ply_gives_its_points_whatever_its_types_order_and_encoding(
        places in prop::collection::vec(prop::array::uniform3(0u8..100), 1..40),
        kinds in prop::array::uniform3(prop::sample::select(KINDS.to_vec())),
        order in Just(vec![0usize, 1, 2, 3, 4, 5, 6]).prop_shuffle(),
        encoding in prop::sample::select(vec!["ascii", "binary_little_endian", "binary_big_endian"]),
        list in any::<bool>(),
    ) {
        let file = ply(&places, kinds, &order, encoding, list);
        let (cloud, summary) = read(&file, ScanFormat::Ply, &ScanOptions::default()).unwrap();
        let want: Vec<Point3<f64>> = places.iter().map(|p| Point3::from(p.map(f64::from))).collect();
        prop_assert_eq!(&cloud.points, &want);
        prop_assert!(summary.normals && cloud.normals.iter().all(|n| *n == Vector3::z()));
        // The other reader of this house agrees.
        let whole = read_points_bytes("scan", &file, PointFormat::Ply, LengthUnit::Millimetre).unwrap();
        prop_assert_eq!(whole, want);
    }

    #[test]
    fn a_ply_cut_short_anywhere_is_an_error(
        places in prop::collection::vec(prop::array::uniform3(0u8..100), 1..6),
        encoding in prop::sample::select(vec!["binary_little_endian", "binary_big_endian"]),
        list in any::<bool>(), share in 0.0..1.0f64,
    ) {
        let file = ply(&places, ["float", "double", "int"], &[2, 0, 3, 1], encoding, list);
        let faces = 13;
        let cut = (share * (file.len() - faces) as f64) as usize;
        let told = points(&file[..cut], ScanFormat::Ply);
        prop_assert!(told.is_err(), "{} of {} bytes gave {:?}", cut, file.len(), told);
    }

    #[test]
    fn what_is_written_is_read_to_the_last_bit(all in prop::collection::vec(prop::array::uniform3(-1e6..1e6f64), 1..50)) {
        let all: Vec<Point3<f64>> = all.into_iter().map(Point3::from).collect();
        let mut file = Vec::new();
        write_points(&mut file, &all).unwrap();
        prop_assert_eq!(points(&file, ScanFormat::Ply).unwrap(), all.clone());
        let text: String = all.iter().map(|p| format!("{},{},{}\n", p.x, p.y, p.z)).collect();
        prop_assert_eq!(points(text.as_bytes(), ScanFormat::Text).unwrap(), all.clone());
        let text: String = all.iter().map(|p| format!("v {} {} {}\n", p.x, p.y, p.z)).collect();
        prop_assert_eq!(points(text.as_bytes(), ScanFormat::Obj).unwrap(), all);
    }

    #[test]
    fn any_bytes_are_an_answer_or_an_error(bytes in prop::collection::vec(any::<u8>(), 0..200), start in 0usize..5) {
        let starts: [&[u8]; 5] = [b"", b"ply\nformat ascii 1.0\n", b"solid ", b"v ", b"x,y,z\n"];
        let file = [starts[start], &bytes[..]].concat();
        for format in [ScanFormat::Ply, ScanFormat::Text, ScanFormat::Stl, ScanFormat::Obj] {
            if let Ok(all) = points(&file, format) {
                prop_assert!(all.iter().flat_map(|p| p.iter()).all(|value| value.is_finite()));
            }
        }
    }
}

#[test]
fn text_in_the_forms_that_programs_write() {
    let want = [Point3::new(1.5, -2.0, 3.25), Point3::new(4.0, 5.0, 6.0)];
    for (case, text) in [
        ("blanks", "1.5 -2 3.25\n4 5 6\n"),
        ("tabs, no end of the last line", "1.5\t-2\t3.25\r\n4\t5\t6"),
        ("commas with blanks", "1.5, -2, 3.25\n4, 5, 6\n"),
        ("semicolons with points", "1.5;-2;3.25\n4;5;6\n"),
        ("old ends of lines", "1.5 -2 3.25\r4 5 6\r"),
        ("remarks and blank lines", "# made by hand\n\n1.5 -2 3.25\n// more\n4 5 6\n"),
        ("a mark of UTF-8 and names", "\u{feff}x,y,z\n1.5,-2,3.25\n4,5,6\n"),
        ("names in another order, a column of words", "name,Z [mm],\"X\",y_mm\nA,3.25,1.5,-2\nB,6,4,5\n"),
        ("how many there are", "2\n1.5 -2 3.25\n4 5 6\n"),
        ("colours behind", "1.5 -2 3.25 200 10 10\n4 5 6 200 10 10\n"),
    ] {
        let got = points(text.as_bytes(), ScanFormat::Text);
        assert_eq!(got.as_deref(), Ok(&want[..]), "{case}");
    }
    let (cloud, _) =
        read(b"x y z nx ny nz\n1 2 3 0 0 -4\n1 2 4 nan 0 0\n", ScanFormat::Text, &ScanOptions::default())
            .unwrap();
    assert_eq!(cloud.normals, [-Vector3::z(), Vector3::zeros()]);
}

#[test]
fn points_that_are_no_numbers_are_left_out_when_asked() {
    let options = ScanOptions { not_finite: NotFinite::LeaveOut, ..ScanOptions::default() };
    let rows: Vec<u8> =
        [1f32, 2.0, 3.0, f32::NAN, f32::NAN, f32::NAN, 4.0, 5.0, 6.0, 7.0, f32::INFINITY, 0.0]
            .iter()
            .flat_map(|v| v.to_le_bytes())
            .collect();
    let head = "ply\nformat binary_little_endian 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\nend_header\n";
    let want = [Point3::new(1.0, 2.0, 3.0), Point3::new(4.0, 5.0, 6.0)];
    let (cloud, summary) = read(&[head.as_bytes(), &rows].concat(), ScanFormat::Ply, &options).unwrap();
    assert_eq!((cloud.points, summary.left_out), (want.to_vec(), 2));
    let (cloud, summary) = read(b"3\n1 2 3\nnan nan nan\n4 5 6\n", ScanFormat::Text, &options).unwrap();
    assert_eq!((cloud.points, summary.left_out), (want.to_vec(), 1));
}

#[test]
fn corners_of_triangles_come_with_the_normal_they_wind_round() {
    let text = b"solid a\nfacet normal 0 0 0\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid\n";
    let mesh = read_mesh_bytes("a", text, MeshFormat::Stl, LengthUnit::Inch).unwrap();
    let mut binary = Vec::new();
    crate::solid::write_mesh(&mut binary, &mesh, MeshFormat::Stl).unwrap();
    let inches = ScanOptions { units: LengthUnit::Inch, ..ScanOptions::default() };
    let (from_text, _) = read(text, ScanFormat::Stl, &inches).unwrap();
    let (from_binary, _) = read(&binary, ScanFormat::Stl, &ScanOptions::default()).unwrap();
    assert_eq!(from_text.points[1], Point3::new(25.4, 0.0, 0.0));
    assert_eq!(from_text.normals, vec![Vector3::z(); 3]);
    assert!((from_binary.points[1] - from_text.points[1]).norm() < 1e-5); // single precision
    assert_eq!(from_binary.normals, from_text.normals);
}

#[test]
fn a_file_of_many_blocks_is_read_whole_and_in_order() {
    // 700 000 rows of 20 bytes: more than three blocks, and more text than one task takes.
    let count = 700_000u32;
    let mut binary = format!("ply\nformat binary_big_endian 1.0\nelement vertex {count}\nproperty uint x\nproperty double z\nproperty double y\nend_header\n").into_bytes();
    let mut text = String::from("z,y,x\n");
    for k in 0..count {
        binary.extend(k.to_be_bytes());
        binary.extend(0.5f64.to_be_bytes());
        binary.extend(f64::from(k).sqrt().to_be_bytes());
        text += &format!("0.5,{},{k}\n", f64::from(k).sqrt());
    }
    let right = |all: &[Point3<f64>]| {
        all.len() == count as usize
            && all
                .iter()
                .zip(0..count)
                .all(|(p, k)| *p == Point3::new(f64::from(k), f64::from(k).sqrt(), 0.5))
    };
    assert!(right(&points(&binary, ScanFormat::Ply).unwrap()));
    assert!(right(&points(text.as_bytes(), ScanFormat::Text).unwrap()));
    let broken = text.replacen(",650000\n", ",65x0000\n", 1);
    let error = points(broken.as_bytes(), ScanFormat::Text).unwrap_err();
    assert_eq!(error, "scan, line 650002: expected a number, found `65x0000`");
    let mut extent = ExtentOnly::default();
    read_scan_bytes("scan", &binary, ScanFormat::Ply, &ScanOptions::default(), &mut extent).unwrap();
    assert_eq!(extent.bounds().unwrap().max.x, f64::from(count - 1));
}

#[test]
fn a_ply_that_holds_more_points_than_it_announces_is_refused() {
    // Two are announced, three are there: to read two would lose a part of the scan without a word.
    let head = |encoding: &str, list: &str| {
        format!(
            "ply\nformat {encoding} 1.0\nelement vertex 2\nproperty float x\nproperty float y\nproperty float z\n{list}end_header\n"
        )
    };
    let row = [1.0, 2.0, 3.0].map(|value| bytes_of("float", value, false)).concat();
    let binary = |rows: usize, after: &[u8]| {
        [head("binary_little_endian", "").into_bytes(), row.repeat(rows), after.to_vec()].concat()
    };
    let listed = |rows: usize| {
        let head = head("binary_little_endian", "property list uchar short seen_from\n").into_bytes();
        [head, [row.as_slice(), &[0]].concat().repeat(rows)].concat()
    };
    let text = |after: &str| format!("{}0 0 0\n1 0 0\n{after}", head("ascii", "")).into_bytes();
    let spoilt = binary(2, &row[..11]);
    for (case, bytes) in [
        ("text with a blank line after it", text(" \n\n")),
        ("less than a row is padding", spoilt),
        ("rows with lists", listed(2)),
    ] {
        assert_eq!(points(&bytes, ScanFormat::Ply).unwrap().len(), 2, "{case}");
    }
    for (case, bytes, place) in [
        ("a third line", text("2 2 2\n"), "line 10"),
        ("after a blank one", text("\n2 2 2"), "line 10"),
        ("a third row", binary(3, &[]), "byte "),
        ("a third row with a list", listed(3), "byte "),
    ] {
        let told = points(&bytes, ScanFormat::Ply).unwrap_err();
        assert!(
            told.contains("the 2 points that its header announces") && told.contains(place),
            "{case}: {told}"
        );
    }
}
