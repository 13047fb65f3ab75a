//! `baywright scan A.ply --onto B.ply`: one scan brought onto another by their surfaces.

use std::path::Path;

use nalgebra::{Point3, Vector3};

use crate::report::{OntoReport, OntoTarget, onto_json, onto_text};
use crate::scene::write_whole;
use crate::solid::write_points;
use crate::space::{Angle, LengthUnit, pose_from_euler};
use crate::survey::align::{
    AlignError, ScanLevels, SurfaceFit, SurfaceOptions, TURNS, align_surfaces, align_surfaces_anywhere,
};
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
    let (fits, tried) = match asked.start {
        Start::Given([x, y, z, a, b, c]) => {
            let [a, b, c] = [a, b, c].map(|deg| Angle::from_rad(deg.to_radians()));
            let start = pose_from_euler(Vector3::new(x, y, z), a, b, c);
            (align_surfaces(&fixed_levels, &moving_levels, &start, &options).map(|fit| vec![fit]), 1)
        }
        Start::Searched => (align_surfaces_anywhere(&fixed_levels, &moving_levels, &options), TURNS),
    };
    let fits = fits.map_err(Apart)?;
    let fit = &fits[0];
    let other = fits[1..].iter().map(|fit| fit.overlap).fold(0.0, f64::max);
    let names = [asked.moving.display().to_string(), asked.fixed.display().to_string()];
    let report = OntoReport {
        moving: &names[0],
        fixed: &names[1],
        cell_mm: asked.cell_mm,
        tried,
        next_overlap: (tried > 1).then_some(other),
        targets: asked
            .targets
            .iter()
            .map(|place| OntoTarget { place: *place, expanded_mm: 2.0 * fit.target_sigma_mm(place) })
            .collect(),
        fit,
    };
    if let Some(folder) = asked.out {
        write(folder, &moving, fit)?;
    }
    answer(&match asked.format {
        Format::Text => onto_text(&report),
        Format::Json => onto_json(&report),
    })?;
    Ok(if fit.converged { Exit::Clear } else { Exit::NoAnswer })
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
