//! `baywright scan A.ply --onto B.ply`: one scan brought onto another by their surfaces.

use std::path::Path;

use nalgebra::{Point3, Quaternion, Translation3, UnitQuaternion, Vector3};

use rayon::prelude::*;

use crate::report::{OntoReport, OntoTarget, onto_json, onto_text};
use crate::scene::write_whole;
use crate::solid::write_points;
use crate::space::{Angle, LengthUnit, Pose, pose_from_euler};
use crate::survey::align::{AlignError, ScanLevels, SurfaceFit, SurfaceOptions, align_surfaces};
use crate::survey::scan::{NotFinite, PointCloud, ScanOptions, VoxelGrid, read_scan};

use super::Exit;
use super::said::{Failure, Format, Wrong, answer, aside};

/// How the moving scan lies before it is brought onto the other.
#[derive(Clone, Copy, Debug)]
pub(super) enum Start {
    /// Shift in mm, turns about x, y, z in degrees.
    Given([f64; 6]),
    /// Nothing is known: middles laid on each other, turned every way.
    Searched,
}

/// What is asked.
pub(super) struct Onto<'a> {
    pub moving: &'a Path,
    pub fixed: &'a Path,
    pub units: LengthUnit,
    pub cell_mm: f64,
    pub not_finite: NotFinite,
    pub start: Start,
    pub reach_mm: f64,
    pub targets: Vec<Point3<f64>>,
    pub out: Option<&'a Path>,
    pub format: Format,
}

/// Why the scans were not brought together.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
#[error(transparent)]
struct Apart(AlignError);

pub(super) fn run(asked: &Onto<'_>) -> Result<Exit, Failure> {
    let read = |path: &Path| -> Result<PointCloud, Failure> {
        let mut grid = VoxelGrid::new(asked.cell_mm).map_err(super::scan::Refused)?;
        let options = ScanOptions { units: asked.units, not_finite: asked.not_finite };
        read_scan(path, &options, &mut grid).map_err(super::scan::Refused)?;
        let cloud = grid.finish();
        if cloud.points.len() < 100 {
            return Err(Wrong::new(
                format!(
                    "{} has {} cells of points, too few for a surface",
                    path.display(),
                    cloud.points.len()
                ),
                "make `--cell` smaller, or look at `--units`",
            )
            .into());
        }
        Ok(cloud)
    };
    let (moving, fixed) = (read(asked.moving)?, read(asked.fixed)?);
    let levels = |cloud: &PointCloud| {
        ScanLevels::new(cloud, asked.cell_mm).map_err(|error| Failure::from(super::scan::Refused(error)))
    };
    let (moving_levels, fixed_levels) = (levels(&moving)?, levels(&fixed)?);
    let options = SurfaceOptions { reach_mm: asked.reach_mm, ..SurfaceOptions::default() };
    let starts = match asked.start {
        Start::Given([x, y, z, a, b, c]) => {
            let [a, b, c] = [a, b, c].map(|deg| Angle::from_rad(deg.to_radians()));
            vec![pose_from_euler(Vector3::new(x, y, z), a, b, c)]
        }
        Start::Searched => searched(&moving, &fixed, asked)?,
    };
    let tried = match asked.start {
        Start::Given(_) => 1,
        Start::Searched => TURNS,
    };
    let mut best: Option<SurfaceFit> = None;
    let mut why = None;
    let mut overlaps = Vec::new();
    for start in &starts {
        match align_surfaces(&fixed_levels, &moving_levels, start, &options) {
            Ok(fit) => {
                overlaps.push(fit.overlap);
                let better = |best: &SurfaceFit| {
                    fit.overlap > best.overlap + 0.01
                        || (fit.overlap - best.overlap).abs() <= 0.01 && fit.scatter_mm < best.scatter_mm
                };
                if best.as_ref().is_none_or(better) {
                    best = Some(fit);
                }
            }
            Err(error) => why = Some(error),
        }
    }
    let Some(fit) = best else {
        return Err(match why {
            Some(error) => Apart(error).into(),
            None => Wrong::new("there is no start to go from", "give `--start`").into(),
        });
    };
    let other = overlaps.iter().copied().filter(|overlap| *overlap < fit.overlap - 0.01).fold(0.0, f64::max);
    let names = [asked.moving.display().to_string(), asked.fixed.display().to_string()];
    let report = OntoReport {
        moving: &names[0],
        fixed: &names[1],
        cell_mm: asked.cell_mm,
        tried,
        next_overlap: (starts.len() > 1).then_some(other),
        targets: asked
            .targets
            .iter()
            .map(|place| OntoTarget { place: *place, expanded_mm: 2.0 * fit.target_sigma_mm(place) })
            .collect(),
        fit: &fit,
    };
    if let Some(folder) = asked.out {
        write(folder, &moving, &fit)?;
    }
    answer(&match asked.format {
        Format::Text => onto_text(&report),
        Format::Json => onto_json(&report),
    })?;
    Ok(if fit.converged { Exit::Clear } else { Exit::NoAnswer })
}

/// Turns that are tried when nothing is known of the start.
const TURNS: usize = 120;
/// Ends that are followed from the coarse search to the fine one.
const FOLLOWED: usize = 3;

/// Middle on middle, turned every way, brought together coarsely; the places that overlap most, the best first.
fn searched(moving: &PointCloud, fixed: &PointCloud, asked: &Onto<'_>) -> Result<Vec<Pose>, Failure> {
    let coarse = 4.0 * asked.cell_mm;
    let levels = |cloud: &PointCloud| {
        ScanLevels::new(cloud, coarse).map_err(|error| Failure::from(super::scan::Refused(error)))
    };
    let (a, b) = (levels(fixed)?, levels(moving)?);
    let middle = |cloud: &PointCloud| {
        cloud.points.iter().map(|p| p.coords).sum::<Vector3<f64>>() / cloud.points.len().max(1) as f64
    };
    let (from, to) = (middle(moving), middle(fixed));
    let options = SurfaceOptions { reach_mm: asked.reach_mm, ..SurfaceOptions::default() };
    let ends: Vec<Option<SurfaceFit>> = (0..TURNS)
        .into_par_iter()
        .map(|k| {
            let start = Translation3::from(to) * turn(k) * Translation3::from(-from);
            align_surfaces(&a, &b, &start, &options).ok()
        })
        .collect();
    let mut ends: Vec<SurfaceFit> = ends.into_iter().flatten().collect();
    // A stable order: of equal ones the first turn tried.
    ends.sort_by(|a, b| b.overlap.total_cmp(&a.overlap));
    let mut starts: Vec<Pose> = Vec::new();
    for end in ends {
        let pose = *end.fixed_from_moving();
        let apart = |known: &Pose| {
            (known * Point3::from(from) - pose * Point3::from(from)).norm() > 3.0 * coarse
                || known.rotation.angle_to(&pose.rotation) > 0.1
        };
        if starts.len() < FOLLOWED && starts.iter().all(apart) {
            starts.push(pose);
        }
    }
    if starts.is_empty() {
        let what = format!("none of {TURNS} turns brings the scans together");
        return Err(Wrong::new(
            what,
            "see that they show the same thing in the same unit, or give `--start`",
        )
        .into());
    }
    Ok(starts)
}

/// One of [`TURNS`] turns spread evenly: a spiral on the sphere of unit quaternions (Alexa, CVPR 2022; constants from memory).
fn turn(k: usize) -> UnitQuaternion<f64> {
    const PSI: f64 = 1.533_751_168_755_204_3;
    let s = k as f64 + 0.5;
    let (low, high) = ((s / TURNS as f64).sqrt(), (1.0 - s / TURNS as f64).sqrt());
    let (alpha, beta) =
        (std::f64::consts::TAU * s / std::f64::consts::SQRT_2, std::f64::consts::TAU * s / PSI);
    UnitQuaternion::from_quaternion(Quaternion::new(
        high * beta.cos(),
        low * alpha.sin(),
        low * alpha.cos(),
        high * beta.sin(),
    ))
}

fn write(folder: &Path, moving: &PointCloud, fit: &SurfaceFit) -> Result<(), Failure> {
    let path = folder.join("brought.ply");
    let failed = |error: std::io::Error| {
        Wrong::new(
            format!("{} could not be written: {error}", path.display()),
            "name a folder you may write to",
        )
    };
    std::fs::create_dir_all(folder).map_err(failed)?;
    let brought: Vec<Point3<f64>> = moving.points.iter().map(|p| fit.fixed_from_moving() * p).collect();
    let mut bytes = Vec::new();
    write_points(&mut bytes, &brought).map_err(failed)?;
    write_whole(&path, &bytes).map_err(failed)?;
    aside(&format!("{}: {} points", path.display(), brought.len()));
    Ok(())
}
