//! Spoilt scans: each told with its place and what would do.

use baywright::survey::scan::{PointCloud, ScanFormat, ScanOptions, read_scan_bytes};

fn points(bytes: &[u8], format: ScanFormat) -> Result<usize, String> {
    let mut cloud = PointCloud::default();
    read_scan_bytes("scan", bytes, format, &ScanOptions::default(), &mut cloud)
        .map(|summary| summary.points)
        .map_err(|error| error.to_string())
}

#[test]
fn spoilt_text_is_refused_with_its_place_and_a_cure() {
    let utf16: Vec<u8> = "\u{feff}1 2 3\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: Vec<(&str, Vec<u8>)> = vec![
        ("UTF-16", utf16),
        ("decimal commas between semicolons", b"1,5;2,0;3,5\n".to_vec()),
        ("decimal commas between blanks", b"1,5 2,0 3,5\n".to_vec()),
        ("decimal commas between commas", b"1,5,2,0,3,5\n4,5,5,0,6,5\n".to_vec()),
        ("not a number", b"1 2 3\n1 nan 3\n".to_vec()),
        ("too large a number", b"1 2 1e999\n".to_vec()),
        ("a word", b"1 2 3\n1 two 3\n".to_vec()),
        ("two numbers", b"1 2\n".to_vec()),
        ("a line that is longer", b"1 2 3\n1 2 3 4\n".to_vec()),
        ("an empty field", b"1,,2,3\n1,,2,3\n".to_vec()),
        ("names without z", b"x,y,height\n1,2,3\n".to_vec()),
        ("fewer than announced", b"3\n1 2 3\n4 5 6\n".to_vec()),
        ("two announcements", b"3\n3\n1 2 3\n".to_vec()),
        ("names alone", b"x,y,z\n".to_vec()),
        ("nothing", Vec::new()),
        ("no text", b"1 2 3\0\0\n".to_vec()),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|(case, bytes)| format!("{case}: {}", points(bytes, ScanFormat::Text).unwrap_err()))
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}

#[test]
fn spoilt_files_of_other_formats_are_refused() {
    let ply =
        |lines: &str, rows: &[u8]| [format!("ply\nformat {lines}end_header\n").as_bytes(), rows].concat();
    let xyz = "property float x\nproperty float y\nproperty float z\n";
    let nan: Vec<u8> = [1f32, 2.0, 3.0, 1.0, f32::NAN, 3.0].iter().flat_map(|v| v.to_le_bytes()).collect();
    let mut stl = vec![b' '; 80];
    stl.extend(2u32.to_le_bytes());
    stl.extend([0; 50]);
    let cases: Vec<(&str, ScanFormat, Vec<u8>)> = vec![
        (
            "a binary PLY of two that announces three",
            ScanFormat::Ply,
            ply(&format!("binary_little_endian 1.0\nelement vertex 3\n{xyz}"), &[0; 24]),
        ),
        (
            "a PLY that announces more than there is memory",
            ScanFormat::Ply,
            ply(&format!("binary_little_endian 1.0\nelement vertex 4000000000\n{xyz}"), &[0; 24]),
        ),
        (
            "a text PLY of one that announces two",
            ScanFormat::Ply,
            ply(&format!("ascii 1.0\nelement vertex 2\n{xyz}"), b"1 2 3.00\n"),
        ),
        (
            "a list for x",
            ScanFormat::Ply,
            ply(
                "ascii 1.0\nelement vertex 1\nproperty list uchar float x\nproperty float y\nproperty float z\n",
                b"1 1 2 3\n",
            ),
        ),
        (
            "no z",
            ScanFormat::Ply,
            ply("ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\n", b"1 2\n"),
        ),
        (
            "NaN in a binary PLY",
            ScanFormat::Ply,
            ply(&format!("binary_little_endian 1.0\nelement vertex 2\n{xyz}"), &nan),
        ),
        (
            "too many numbers on a line",
            ScanFormat::Ply,
            ply(&format!("ascii 1.0\nelement vertex 1\n{xyz}"), b"1 2 3 4\n"),
        ),
        (
            "a list of minus one",
            ScanFormat::Ply,
            ply(
                &format!("binary_little_endian 1.0\nelement vertex 1\n{xyz}property list char int a\n"),
                &[0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 255],
            ),
        ),
        (
            "a list before the vertices that goes on for ever",
            ScanFormat::Ply,
            ply(
                &format!(
                    "binary_little_endian 1.0\nelement lamp 1\nproperty list uint double a\nelement vertex 1\n{xyz}"
                ),
                &[255; 24],
            ),
        ),
        ("no vertices", ScanFormat::Ply, ply(&format!("ascii 1.0\nelement vertex 0\n{xyz}"), b"")),
        ("an OBJ with two coordinates", ScanFormat::Obj, b"v 1 2 3\nv 1 2\n".to_vec()),
        ("an OBJ without vertices", ScanFormat::Obj, b"f 1 2 3\n".to_vec()),
        ("a binary STL cut short", ScanFormat::Stl, stl),
        (
            "a text STL cut short",
            ScanFormat::Stl,
            b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\n".to_vec(),
        ),
        (
            "an STL of four corners",
            ScanFormat::Stl,
            b"solid a\nouter loop\nvertex 0 0 0\nvertex 0 0 1\nvertex 0 1 0\nvertex 1 0 0\nendloop\n"
                .to_vec(),
        ),
    ];
    let told: Vec<String> = cases
        .iter()
        .map(|(case, format, bytes)| format!("{case}: {}", points(bytes, *format).unwrap_err()))
        .collect();
    insta::assert_snapshot!(told.join("\n"));
}
