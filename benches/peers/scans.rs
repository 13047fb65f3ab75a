//! Measures our answers on scans, and writes scans, poses, answers and times for `scan.py` to lay beside those of general-purpose
//! libraries. Started by `scan.py`.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a bench that cannot write cannot go on

#[path = "../../src/survey/scan/test_bay.rs"]
mod bay;

use std::fs::{self, File};
use std::hint::black_box;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use bay::{Dice, bay_scan};
use baywright::space::Pose;
use baywright::survey::align::{ScanLevels, SurfaceOptions, align_surfaces};
use baywright::survey::scan::{
    NormalOptions, OutlierRule, PointCloud, PointTree, ScanOptions, SegmentOptions, VoxelGrid,
    estimate_normals, read_scan, segment, without_outliers,
};
use nalgebra::{Point3, Translation3, UnitQuaternion};
use serde_json::{Value, json};

/// Edge of a cell in the large scan and in registration, mm.
const THIN_MM: f64 = 3.0;
const REGISTER_MM: f64 = 6.0;

/// Best of so many, s, and the last answer.
fn best<T>(times: usize, mut ask: impl FnMut() -> T) -> (f64, T) {
    let mut once = || {
        let start = Instant::now();
        let answer = black_box(ask());
        (start.elapsed().as_secs_f64(), answer)
    };
    let mut found = once();
    for _ in 1..times {
        let (took, answer) = once();
        found = (found.0.min(took), answer);
    }
    found
}

fn write_binary(path: &Path, points: impl ExactSizeIterator<Item = Point3<f64>>) {
    let mut out = BufWriter::new(File::create(path).unwrap());
    writeln!(out, "ply\nformat binary_little_endian 1.0\nelement vertex {}", points.len()).unwrap();
    writeln!(out, "property float x\nproperty float y\nproperty float z\nend_header").unwrap();
    for point in points {
        for value in point.iter() {
            out.write_all(&(*value as f32).to_le_bytes()).unwrap();
        }
    }
}

fn write_text(path: &Path, points: &[Point3<f64>]) {
    let mut out = BufWriter::new(File::create(path).unwrap());
    writeln!(out, "ply\nformat ascii 1.0\nelement vertex {}", points.len()).unwrap();
    writeln!(out, "property float x\nproperty float y\nproperty float z\nend_header").unwrap();
    for point in points {
        writeln!(out, "{:.4} {:.4} {:.4}", point.x, point.y, point.z).unwrap();
    }
}

fn read(path: &Path) -> PointCloud {
    let mut cloud = PointCloud::default();
    read_scan(path, &ScanOptions::default(), &mut cloud).unwrap();
    cloud
}

/// Reads, thins and segments in a process of its own, and says what that took and the most memory it had.
fn pipeline(path: &Path) -> Value {
    let start = Instant::now();
    let mut grid = VoxelGrid::new(THIN_MM).unwrap();
    let summary = read_scan(path, &ScanOptions::default(), &mut grid).unwrap();
    let mut cloud = grid.finish();
    let thinned_s = start.elapsed().as_secs_f64();
    let tree = PointTree::new(&cloud.points);
    let tree_s = start.elapsed().as_secs_f64();
    cloud.normals = estimate_normals(&cloud.points, &tree, &NormalOptions::default()).unwrap().normals;
    let normals_s = start.elapsed().as_secs_f64();
    let found =
        segment(&cloud, &tree, &SegmentOptions { least_points: 1000, ..SegmentOptions::default() }).unwrap();
    let all_s = start.elapsed().as_secs_f64();
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or_default();
    let peak_kib: f64 = peak.split_whitespace().nth(1).and_then(|word| word.parse().ok()).unwrap_or(f64::NAN);
    for feature in &found.features {
        let shape = &feature.shape;
        eprintln!("{} {} points, rms {:.3} mm", shape.word(), feature.points.len(), feature.rms_mm);
    }
    json!({"points": summary.points, "thinned": cloud.points.len(), "features": found.features.len(),
        "left": found.left.len(), "thinned_s": thinned_s, "tree_s": tree_s, "normals_s": normals_s, "all_s": all_s,
        "peak_gib": peak_kib / (1 << 20) as f64})
}

/// A pose up to 15 degrees and 100 mm off, the turn about the middle of the bay.
fn far_pose(dice: &mut Dice) -> Pose {
    let turn = UnitQuaternion::from_axis_angle(&dice.direction(), 15f64.to_radians() * dice.uniform().sqrt());
    let middle = Point3::new(600.0, 0.0, 300.0);
    let shift = dice.direction().into_inner() * (100.0 * dice.uniform().sqrt());
    Translation3::from(middle.coords + shift) * turn * Translation3::from(-middle.coords)
}

fn registration(folder: &Path) -> Value {
    let count: usize =
        std::env::var("BAYWRIGHT_STARTS").ok().and_then(|text| text.parse().ok()).unwrap_or(100);
    let mut cases = Vec::new();
    let mut dice = Dice::new(42);
    for number in 0..count {
        // Another scan of the bay each time, of which the moving one saw about four fifths, from a pose of its own.
        let fixed: Vec<Point3<f64>> =
            bay_scan(200_000, 1.0, 1000 + number as u64).into_iter().map(|(point, _)| point).collect();
        let fixed_from_moving = far_pose(&mut dice);
        let moving_from_fixed = fixed_from_moving.inverse();
        let moving: Vec<Point3<f64>> = bay_scan(200_000, 1.0, 5000 + number as u64)
            .into_iter()
            .filter(|(point, _)| point.x + 0.3 * point.y > 150.0)
            .map(|(point, _)| moving_from_fixed * point)
            .collect();
        let names = ["fixed", "moving"].map(|word| format!("{word}-{number}.f64"));
        for (name, points) in names.iter().zip([&fixed, &moving]) {
            let bytes: Vec<u8> =
                points.iter().flat_map(|p| [p.x, p.y, p.z]).flat_map(f64::to_le_bytes).collect();
            fs::write(folder.join(name), bytes).unwrap();
        }
        let (fixed, moving) = (PointCloud::new(fixed), PointCloud::new(moving));
        let (prepare_s, (a, b)) = best(2, || {
            (ScanLevels::new(&fixed, REGISTER_MM).unwrap(), ScanLevels::new(&moving, REGISTER_MM).unwrap())
        });
        let options = SurfaceOptions::default();
        let (align_s, found) = best(2, || align_surfaces(&a, &b, &Pose::identity(), &options));
        let mut case = json!({"fixed": names[0], "moving": names[1], "voxel_mm": REGISTER_MM, "prepare_s": prepare_s,
            "align_s": align_s, "truth": matrix(&fixed_from_moving)});
        match found {
            Ok(fit) => {
                case["found"] = matrix(fit.fixed_from_moving());
                case["steps"] = json!(fit.iterations);
                case["overlap"] = json!(fit.overlap);
                case["target_sigma_mm"] = json!(fit.target_sigma_mm(&Point3::new(600.0, 0.0, 900.0)));
                let place = moving_from_fixed * Point3::new(600.0, 0.0, 900.0);
                let off = (fit.fixed_from_moving() * place - fixed_from_moving * place).norm();
                case["target_off_mm"] = json!(off);
                case["worst_share"] = json!(fit.directions[0].share);
                case["noise_share"] = json!(fit.directions[0].noise_share);
            }
            Err(error) => eprintln!("case {number}: {error}"),
        }
        cases.push(case);
    }
    json!(cases)
}

fn matrix(pose: &Pose) -> Value {
    let m = pose.to_homogeneous();
    json!((0..4).map(|i| (0..4).map(|j| m[(i, j)]).collect::<Vec<f64>>()).collect::<Vec<_>>())
}

fn main() {
    let folder =
        PathBuf::from(std::env::var("BAYWRIGHT_PEERS").unwrap_or_else(|_| "target/peers".to_owned()));
    fs::create_dir_all(&folder).unwrap();
    if let Ok(path) = std::env::var("BAYWRIGHT_PIPELINE") {
        println!("{}", pipeline(Path::new(&path)));
        return;
    }
    let size: usize =
        std::env::var("BAYWRIGHT_POINTS").ok().and_then(|text| text.parse().ok()).unwrap_or(20_000_000);
    let large = folder.join("scan.ply");
    let text = folder.join("scan-text.ply");
    {
        let points = bay_scan(size, 0.5, 1);
        write_binary(&large, points.iter().map(|(point, _)| *point));
        let some: Vec<Point3<f64>> = points.iter().take(size / 10).map(|(point, _)| *point).collect();
        write_text(&text, &some);
    }
    let (read_s, cloud) = best(3, || read(&large));
    let (read_text_s, _) = best(3, || read(&text));
    let (thin_s, thin) = best(3, || {
        let mut grid = VoxelGrid::new(THIN_MM).unwrap();
        grid.add(&cloud).unwrap();
        grid.finish()
    });
    drop(cloud);
    let (tree_s, tree) = best(3, || PointTree::new(&thin.points));
    let (normals_s, normals) =
        best(3, || estimate_normals(&thin.points, &tree, &NormalOptions::default()).unwrap());
    let rule = OutlierRule::Distance { neighbours: 16, deviations: 2.0 };
    let (outliers_s, kept) = best(3, || without_outliers(&thin.points, &tree, rule).unwrap());
    let bytes = |values: &[Point3<f64>]| -> Vec<u8> {
        values.iter().flat_map(|p| [p.x, p.y, p.z]).flat_map(f64::to_le_bytes).collect()
    };
    fs::write(folder.join("thin.f64"), bytes(&thin.points)).unwrap();
    let facing: Vec<Point3<f64>> = normals.normals.iter().map(|n| Point3::from(*n)).collect();
    fs::write(folder.join("thin-normals.f64"), bytes(&facing)).unwrap();
    let own =
        Command::new(std::env::current_exe().unwrap()).env("BAYWRIGHT_PIPELINE", &large).output().unwrap();
    eprint!("{}", String::from_utf8_lossy(&own.stderr));
    let pipeline: Value = serde_json::from_slice(&own.stdout).unwrap();
    let all = json!({"binary": large, "text": text, "points": size, "text_points": size / 10, "thin_mm": THIN_MM,
        "read_s": read_s, "read_text_s": read_text_s, "thin_s": thin_s, "tree_s": tree_s, "normals_s": normals_s,
        "outliers_s": outliers_s, "kept": kept.len(), "thinned": thin.points.len(), "pipeline": pipeline,
        "registration": registration(&folder)});
    fs::write(folder.join("scans.json"), serde_json::to_string(&all).unwrap()).unwrap();
}
