//! Scans for `scan.py` to lay ours beside general-purpose libraries: writes them, and answers its questions one by one, so that
//! ours and the peers' are asked in turn. Started by `scan.py`.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a bench that cannot write cannot go on

#[path = "../../src/survey/scan/test_bay.rs"]
mod bay;

use std::fs::{self, File};
use std::hint::black_box;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};
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
/// Where the stated uncertainty of a registration is tried.
const FAR_PLACE: Point3<f64> = Point3::new(600.0, 0.0, 900.0);

/// Processor time of all threads of this process, s (Linux; elsewhere not a number).
fn processor_s() -> f64 {
    let Ok(tasks) = fs::read_dir("/proc/self/task") else { return f64::NAN };
    let of = |task: fs::DirEntry| {
        let text = fs::read_to_string(task.path().join("schedstat")).ok()?;
        text.split_whitespace().next()?.parse::<f64>().ok()
    };
    tasks.flatten().filter_map(of).sum::<f64>() / 1e9
}

/// The answer with how long it took: by the clock and by the processors, s.
fn timed<T>(ask: impl FnOnce() -> T) -> (T, Value) {
    let (start, before) = (Instant::now(), processor_s());
    let answer = black_box(ask());
    let wall_s = start.elapsed().as_secs_f64();
    (answer, json!({"wall_s": wall_s, "cpu_s": processor_s() - before}))
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
    let (all_s, cpu_s) = (start.elapsed().as_secs_f64(), processor_s());
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or_default();
    let peak_kib: f64 = peak.split_whitespace().nth(1).and_then(|word| word.parse().ok()).unwrap_or(f64::NAN);
    for feature in &found.features {
        let shape = &feature.shape;
        eprintln!("{} {} points, rms {:.3} mm", shape.word(), feature.points.len(), feature.rms_mm);
    }
    json!({"points": summary.points, "thinned": cloud.points.len(), "features": found.features.len(),
        "left": found.left.len(), "thinned_s": thinned_s, "tree_s": tree_s, "normals_s": normals_s, "all_s": all_s, "cpu_s": cpu_s,
        "peak_gib": peak_kib / (1 << 20) as f64})
}

/// A pose up to 15 degrees and 100 mm off, the turn about the middle of the bay.
fn far_pose(dice: &mut Dice) -> Pose {
    let turn = UnitQuaternion::from_axis_angle(&dice.direction(), 15f64.to_radians() * dice.uniform().sqrt());
    let middle = Point3::new(600.0, 0.0, 300.0);
    let shift = dice.direction().into_inner() * (100.0 * dice.uniform().sqrt());
    Translation3::from(middle.coords + shift) * turn * Translation3::from(-middle.coords)
}

/// Writes the pairs of scans that are brought together, and how they lie in truth.
fn write_pairs(folder: &Path) -> Value {
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
            fs::write(folder.join(name), bytes_of(points.iter().map(|p| [p.x, p.y, p.z]))).unwrap();
        }
        cases.push(json!({"fixed": names[0], "moving": names[1], "voxel_mm": REGISTER_MM,
            "truth": matrix(&fixed_from_moving)}));
    }
    json!(cases)
}

fn bytes_of(values: impl Iterator<Item = [f64; 3]>) -> Vec<u8> {
    values.flatten().flat_map(f64::to_le_bytes).collect()
}

fn cloud_of(path: &Path) -> PointCloud {
    let bytes = fs::read(path).unwrap();
    let values: Vec<f64> = bytes.chunks_exact(8).map(|b| f64::from_le_bytes(b.try_into().unwrap())).collect();
    PointCloud::new(values.chunks_exact(3).map(|p| Point3::new(p[0], p[1], p[2])).collect())
}

/// Brings one pair together; its pose, if any, and how long that took.
fn register(folder: &Path, number: usize) -> Value {
    let [fixed, moving] =
        ["fixed", "moving"].map(|word| cloud_of(&folder.join(format!("{word}-{number}.f64"))));
    let ((a, b), prepare) = timed(|| {
        (ScanLevels::new(&fixed, REGISTER_MM).unwrap(), ScanLevels::new(&moving, REGISTER_MM).unwrap())
    });
    let (found, align) = timed(|| align_surfaces(&a, &b, &Pose::identity(), &SurfaceOptions::default()));
    let mut told = json!({"prepare": prepare, "align": align});
    match found {
        Ok(fit) => {
            told["found"] = matrix(fit.fixed_from_moving());
            told["steps"] = json!(fit.iterations);
            told["target_sigma_mm"] = json!(fit.target_sigma_mm(&FAR_PLACE));
        }
        Err(error) => told["refused"] = json!(error.to_string()),
    }
    told
}

fn matrix(pose: &Pose) -> Value {
    let m = pose.to_homogeneous();
    json!((0..4).map(|i| (0..4).map(|j| m[(i, j)]).collect::<Vec<f64>>()).collect::<Vec<_>>())
}

/// Answers the questions that come in, one a line, each with a line of JSON: so that ours and the peers' can be asked in turn.
fn serve(folder: &Path) {
    let (mut large, mut thin) = (PointCloud::default(), PointCloud::default());
    for line in std::io::stdin().lines().map_while(Result::ok) {
        let (question, number) = line.split_once(' ').unwrap_or((&line, "0"));
        let told = match question {
            "read-binary" => {
                drop(std::mem::take(&mut large));
                let (cloud, took) = timed(|| read(&folder.join("scan.ply")));
                large = cloud;
                took
            }
            "read-text" => timed(|| read(&folder.join("scan-text.ply"))).1,
            "thin" => {
                let (cloud, took) = timed(|| {
                    let mut grid = VoxelGrid::new(THIN_MM).unwrap();
                    grid.add(&large).unwrap();
                    grid.finish()
                });
                thin = cloud;
                let places = thin.points.iter().map(|p| [p.x, p.y, p.z]);
                fs::write(folder.join("thin.f64"), bytes_of(places)).unwrap();
                with(took, "points", thin.points.len())
            }
            "normals" => {
                let (normals, took) = timed(|| {
                    let tree = PointTree::new(&thin.points);
                    estimate_normals(&thin.points, &tree, &NormalOptions::default()).unwrap().normals
                });
                let facing = normals.iter().map(|n| [n.x, n.y, n.z]);
                fs::write(folder.join("thin-normals.f64"), bytes_of(facing)).unwrap();
                took
            }
            "outliers" => {
                let rule = OutlierRule::Distance { neighbours: 16, deviations: 2.0 };
                let (kept, took) = timed(|| {
                    let tree = PointTree::new(&thin.points);
                    without_outliers(&thin.points, &tree, rule).unwrap()
                });
                with(took, "points", kept.len())
            }
            "forget" => {
                large = PointCloud::default();
                json!({})
            }
            "register" => register(folder, number.parse().unwrap()),
            _ => return,
        };
        println!("{told}");
        std::io::stdout().flush().unwrap();
    }
}

fn with(mut told: Value, key: &str, count: usize) -> Value {
    told[key] = json!(count);
    told
}

fn main() {
    let folder =
        PathBuf::from(std::env::var("BAYWRIGHT_PEERS").unwrap_or_else(|_| "target/peers".to_owned()));
    fs::create_dir_all(&folder).unwrap();
    match std::env::var("BAYWRIGHT_SCANS").as_deref() {
        Ok("serve") => return serve(&folder),
        Ok("pipeline") => return println!("{}", pipeline(&folder.join("scan.ply"))),
        _ => {}
    }
    let size: usize =
        std::env::var("BAYWRIGHT_POINTS").ok().and_then(|text| text.parse().ok()).unwrap_or(20_000_000);
    let points = bay_scan(size, 0.5, 1);
    write_binary(&folder.join("scan.ply"), points.iter().map(|(point, _)| *point));
    let some: Vec<Point3<f64>> = points.iter().take(size / 10).map(|(point, _)| *point).collect();
    write_text(&folder.join("scan-text.ply"), &some);
    drop(points);
    let all = json!({"points": size, "text_points": size / 10, "thin_mm": THIN_MM,
        "bench": std::env::current_exe().unwrap(), "registration": write_pairs(&folder)});
    fs::write(folder.join("scans.json"), serde_json::to_string(&all).unwrap()).unwrap();
}
