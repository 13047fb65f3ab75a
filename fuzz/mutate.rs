//! Every parser against spoilt files, on the stable compiler and without coverage: seeds are cut, doubled, overwritten and
//! crossed at random, and whatever comes of it must be read or refused, never a panic, and in ten seconds.
//!
//! `cargo run --release --example mutate -- TARGET SECONDS SEED [FOLDER]` runs one target; no TARGET lists them. Run it from the
//! repository's root. The bytes in hand are kept in FOLDER/TARGET.last (default: the temporary folder), so a crash that
//! takes the program down can be seen as well. With nightly and cargo-fuzz the targets beside this file do the same with coverage.
#![allow(clippy::expect_used, clippy::panic)]

use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use baywright::scene::{Scene, unpack};
use baywright::script::{Asker, Gap, ScriptOptions, When, run_script};
use baywright::solid::{Hull, MeshFormat, PointFormat, Solid, read_mesh_bytes, read_points_bytes};
use baywright::space::{Angle, Length, LengthUnit};
use baywright::survey::read_survey_bytes;
use baywright::survey::scan::{NotFinite, PointCloud, ScanFormat, ScanOptions, VoxelGrid, read_scan_bytes};
use nalgebra::Point3;

/// A target: its name, where its seeds lie, which files, and what is done with the bytes.
type Target = (&'static str, &'static [&'static str], &'static [&'static str], fn(&[u8], &Path));

const TARGETS: &[Target] = &[
    ("quantities", &[], &[], |bytes, _| quantities(&String::from_utf8_lossy(bytes))),
    ("mesh_ply", &["tests/corpus/meshes"], &["ply"], |bytes, _| mesh(bytes, MeshFormat::Ply)),
    ("mesh_stl", &["tests/corpus/meshes"], &["stl"], |bytes, _| mesh(bytes, MeshFormat::Stl)),
    ("mesh_obj", &["tests/corpus/meshes"], &["obj"], |bytes, _| mesh(bytes, MeshFormat::Obj)),
    ("points", &["tests/corpus/meshes"], &["ply", "xyz", "csv"], |bytes, _| points(bytes)),
    ("scan", &["tests/corpus/meshes"], &["ply", "xyz", "csv", "stl", "obj"], |bytes, _| scan(bytes)),
    ("survey_csv", &["tests/corpus/surveys", "demo-scenes"], &["csv"], |bytes, _| survey(bytes)),
    ("hull", &[], &[], |bytes, _| hull(bytes)),
    ("scene", &["tests/bad", "scenes", "demo-scenes"], &["yaml"], scene),
    ("script", &["tests/bad-scripts", "scripts", "demo-scenes"], &["rhai"], script),
    ("pack", &["@packed"], &["zip"], packed),
];

fn quantities(text: &str) {
    for unit in [LengthUnit::Millimetre, LengthUnit::Inch] {
        match Length::parse(text, unit) {
            Ok(length) => assert!(length.mm().is_finite()),
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
    match Angle::parse(text) {
        Ok(angle) => assert!(angle.rad().is_finite()),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}

fn mesh(bytes: &[u8], format: MeshFormat) {
    if let Ok(mesh) = read_mesh_bytes("fuzzed", bytes, format, LengthUnit::Millimetre) {
        let _ = mesh.validate();
        let _ = mesh.closest(&Point3::new(1.0, 2.0, 3.0));
        let _ = (mesh.bounds(), mesh.center_of_mass());
    }
}

fn points(bytes: &[u8]) {
    for format in [PointFormat::Ply, PointFormat::Text] {
        if let Ok(points) = read_points_bytes("fuzzed", bytes, format, LengthUnit::Millimetre) {
            assert!(points.iter().flat_map(|point| point.iter()).all(|value| value.is_finite()));
        }
    }
}

fn scan(bytes: &[u8]) {
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
        }
    }
}

fn survey(bytes: &[u8]) {
    for unit in [LengthUnit::Millimetre, LengthUnit::Inch] {
        match read_survey_bytes(bytes, "fuzzed.csv", unit, 1.5) {
            Ok(table) => {
                for mark in &table.marks {
                    assert!(mark.position.iter().all(|value| value.is_finite()), "{mark:?}");
                    assert!(mark.covariance.iter().all(|value| value.is_finite()), "{mark:?}");
                    assert!((0..3).all(|axis| mark.covariance[(axis, axis)] >= 0.0), "{mark:?}");
                }
            }
            Err(errors) => {
                assert!(!errors.errors.is_empty());
                assert!(errors.errors.iter().all(|error| error.line > 0 && !error.to_string().is_empty()));
            }
        }
    }
}

fn hull(bytes: &[u8]) {
    let points: Vec<Point3<f64>> = bytes
        .chunks_exact(3)
        .map(|at| Point3::new(f64::from(at[0] as i8), f64::from(at[1] as i8), f64::from(at[2] as i8)))
        .collect();
    let hull = Hull::new(points.clone());
    if hull.validate().is_ok() {
        assert!(points.iter().all(|point| hull.closest(point).distance_mm < 1e-6));
    }
}

fn scene(bytes: &[u8], folder: &Path) {
    let text = String::from_utf8_lossy(bytes);
    if let Err(errors) = Scene::load_text(&folder.join("bay.yaml"), &text) {
        let told = errors.to_string();
        assert!(told.contains("bay.yaml"), "no place in {told}");
    }
}

/// Answers every question alike.
struct Far;
impl Asker for Far {
    fn gap(&self, _: &Scene, _: &str, _: &str, _: When) -> Result<Gap, String> {
        Err("not measured here".to_owned())
    }
}

fn script(bytes: &[u8], folder: &Path) {
    let bay = "baywright: 1\ntitle: mutated\nbodies:\n  block: {shape: {box: [10, 10, 10]}, kept: true}\n";
    let bay = Scene::load_text(&folder.join("bay.yaml"), bay).expect("a good scene");
    let text = String::from_utf8_lossy(bytes);
    if let Err(errors) = run_script(&text, "fuzzed.rhai", &bay, &Far, &ScriptOptions::default()) {
        assert!(!errors.list.is_empty());
    }
}

fn packed(bytes: &[u8], folder: &Path) {
    let (archive, into) = (folder.join("spoilt.zip"), folder.join("in/unpacked"));
    let _ = fs::remove_dir_all(folder.join("in"));
    fs::create_dir_all(folder.join("in")).expect("a folder");
    fs::write(&archive, bytes).expect("the archive");
    let done = unpack(&archive, &into);
    // All or nothing, and nothing beside it.
    assert_eq!(done.is_ok(), into.exists(), "{done:?}");
    let left: Vec<_> = fs::read_dir(folder.join("in")).expect("the folder").flatten().collect();
    assert!(left.len() <= usize::from(done.is_ok()), "left behind: {left:?}");
}

/// Reproducible random numbers (`splitmix64`).
struct Dice(u64);
impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let x = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((x ^ (x >> 31)) % end.max(1) as u64) as usize
    }
}

const SIGNS: &[&str] = &[
    "\0",
    "\t",
    "\n",
    "\r\n",
    " ",
    ",",
    ";",
    "-",
    "1e999",
    "-1e308",
    "1e-320",
    "NaN",
    "inf",
    "4294967295",
    "-1",
    "0",
    "99999999999999999999",
    "\"",
    "'",
    "/",
    "3/0",
    "14 3/16 in",
    "7 ft 2 in",
    "deg",
    "[[[[",
    "{",
    "}",
    ": ",
    "- ",
    "&a ",
    "*a",
    "ß\u{202e}",
    "\u{feff}",
    "element vertex 99999999\n",
    "property list uchar int vertex_indices\n",
    "end_header\n",
    "f 1/2/3 -1 2\n",
    "facet normal 0 0 1\n",
    "mark,x,y,z\n",
    "loop {}",
    "fn f(x) { f(x) }",
    "../..",
    "wrap",
    "square",
    "A+B+C",
];

fn spoilt(seeds: &[Vec<u8>], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = if seeds.is_empty() {
        (0..dice.below(90)).map(|_| dice.below(256) as u8).collect()
    } else {
        seeds[dice.below(seeds.len())].clone()
    };
    for _ in 0..=dice.below(6) {
        let at = dice.below(bytes.len() + 1);
        let most = 1 << dice.below(10);
        let end = (at + 1 + dice.below(most)).min(bytes.len());
        match dice.below(9) {
            0 => drop(bytes.drain(at..end)),
            1 => {
                let again = bytes[at..end].to_vec();
                bytes.splice(at..at, again);
            }
            2 => bytes.truncate(at),
            3 => bytes[at..end].iter_mut().take(8).for_each(|byte| *byte = dice.below(256) as u8),
            4 => bytes[at..end].iter_mut().take(1).for_each(|byte| *byte ^= 1 << dice.below(8)),
            5 | 6 => drop(bytes.splice(at..at, SIGNS[dice.below(SIGNS.len())].bytes())),
            7 => drop(bytes.splice(at..end, SIGNS[dice.below(SIGNS.len())].bytes())),
            _ if !seeds.is_empty() => {
                let other = &seeds[dice.below(seeds.len())];
                let from = dice.below(other.len() + 1);
                let to = (from + dice.below(200)).min(other.len());
                bytes.splice(at..at, other[from..to].iter().copied());
            }
            _ => bytes.push(dice.below(256) as u8),
        }
    }
    bytes.truncate(200_000);
    bytes
}

fn gather(folder: &Path, kinds: &[&str], into: &mut Vec<(PathBuf, Vec<u8>)>) {
    let Ok(list) = fs::read_dir(folder) else { return };
    for path in list.flatten().map(|entry| entry.path()) {
        let fits = path.extension().is_some_and(|ext| kinds.iter().any(|kind| ext == *kind));
        if path.is_dir() {
            gather(&path, kinds, into);
        } else if let (true, Ok(bytes)) = (fits, fs::read(&path))
            && bytes.len() < 60_000
        {
            into.push((path, bytes));
        }
    }
}

fn main() {
    let given: Vec<String> = std::env::args().skip(1).collect();
    let Some((name, seeds, kinds, work)) =
        TARGETS.iter().find(|target| Some(target.0) == given.first().map(String::as_str))
    else {
        let names: Vec<&str> = TARGETS.iter().map(|target| target.0).collect();
        println!("mutate TARGET SECONDS SEED [FOLDER], TARGET one of {}", names.join(", "));
        return;
    };
    let number = |k: usize, or: u64| given.get(k).and_then(|text| text.parse().ok()).unwrap_or(or);
    let (seconds, seed) = (number(1, 10), number(2, 1));
    let folder = given.get(3).map_or_else(std::env::temp_dir, PathBuf::from);
    let scratch = folder.join(format!("mutate-{name}"));
    fs::create_dir_all(&scratch).expect("a folder for what is tried");
    let mut found = Vec::new();
    for place in *seeds {
        if *place == "@packed" {
            let archive = scratch.join("seed.zip");
            let _ = fs::remove_file(&archive);
            baywright::scene::pack(Path::new("demo-scenes/cowl/scene.yaml"), &archive)
                .expect("the demo packed");
            found.push((archive.clone(), fs::read(&archive).expect("the archive")));
        } else {
            gather(Path::new(place), kinds, &mut found);
        }
    }
    found.sort();
    let corpus: Vec<Vec<u8>> = found.into_iter().map(|(_, bytes)| bytes).collect();
    let last = folder.join(format!("{name}.last"));
    let began = Instant::now();
    static BUSY_SINCE_MS: AtomicU64 = AtomicU64::new(0);
    {
        let last = last.clone();
        std::thread::spawn(move || {
            loop {
                std::thread::sleep(Duration::from_millis(500));
                let now = began.elapsed().as_millis() as u64;
                if now.saturating_sub(BUSY_SINCE_MS.load(Ordering::Relaxed)) > 30_000 {
                    eprintln!("hang: {}", last.display());
                    std::process::exit(3);
                }
            }
        });
    }
    let mut dice = Dice(seed);
    let (mut tried, mut worst, mut faults) = (0u64, Duration::ZERO, 0);
    while began.elapsed() < Duration::from_secs(seconds) {
        let bytes = spoilt(&corpus, &mut dice);
        fs::write(&last, &bytes).expect("the bytes in hand");
        BUSY_SINCE_MS.store(began.elapsed().as_millis() as u64, Ordering::Relaxed);
        let start = Instant::now();
        if catch_unwind(|| work(&bytes, &scratch)).is_err() {
            faults += 1;
            let kept = folder.join(format!("{name}-{tried}.fault"));
            fs::write(&kept, &bytes).expect("the fault kept");
            eprintln!("fault: {}", kept.display());
            if faults > 20 {
                break;
            }
        }
        if start.elapsed() > worst {
            worst = start.elapsed();
            let _ = fs::write(folder.join(format!("{name}.slowest")), &bytes);
        }
        tried += 1;
    }
    println!(
        "{name}: {} seeds, {tried} spoilt files in {} s, slowest {} ms, {faults} faults (seed {seed})",
        corpus.len(),
        began.elapsed().as_secs(),
        worst.as_millis()
    );
    if faults > 0 {
        std::process::exit(1);
    }
}
