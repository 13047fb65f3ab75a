//! `baywright scan`: a scan thinned and turned to features.

use std::path::{Path, PathBuf};

use clap::ValueEnum;
use nalgebra::{Point3, Unit, Vector3};

use crate::report::{ScanReport, scan_json, scan_text, scan_yaml};
use crate::scene::write_whole;
use crate::solid::write_points;
use crate::space::{Bounds, LengthUnit};
use crate::survey::scan::{
    Crop, ExtentOnly, NormalOptions, NotFinite, OutlierRule, PointCloud, PointTree, ScanError, ScanOptions,
    SegmentOptions, VoxelGrid, crop, estimate_normals, face_neighbours, face_viewpoint, guess_units,
    read_scan, segment, without_outliers,
};

use super::Exit;
use super::said::{Failure, Format, Wrong, answer, aside};
use super::scan_onto::{self, Onto, Start};

/// Thin a scan, take off specks, and find the planes, cylinders and spheres in it
///
/// Reads PLY, text (xyz, csv, txt, asc, pts), STL and OBJ. Without --units it says how large the scan is, guesses the unit, and does
/// no more. Sizes on the command line are in mm. With --onto it is brought onto another scan instead.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright scan left-wing.ply --units m --out left-wing
         baywright scan left-wing.ply --onto bay.ply --units m --target 600,0,300")]
pub struct Args {
    /// The scan.
    file: PathBuf,
    /// The unit in which the file was written.
    #[arg(long, value_enum)]
    units: Option<Unit5>,
    /// Edge of the cells to which the scan is thinned, mm.
    #[arg(long, default_value_t = 3.0, value_name = "MM")]
    cell: f64,
    /// Keep what lies in a box: least x, y, z, greatest x, y, z, mm.
    #[arg(long, value_name = "X,Y,Z,X,Y,Z", value_parser = numbers::<6>, allow_hyphen_values = true)]
    within: Option<Numbers<6>>,
    /// Keep one side of a plane: a point of it, then a direction toward what is kept, mm. May be given again.
    #[arg(long, value_name = "X,Y,Z,X,Y,Z", value_parser = numbers::<6>, allow_hyphen_values = true)]
    side: Vec<Numbers<6>>,
    /// Where the scanner stood, mm: surfaces face it. Without it neighbours agree, from the highest point on.
    #[arg(long, value_name = "X,Y,Z", value_parser = numbers::<3>, allow_hyphen_values = true)]
    from: Option<Numbers<3>>,
    /// Remove points whose neighbours are farther off than usual by so many standard deviations; 0 keeps all.
    #[arg(long, default_value_t = 4.0, value_name = "NUMBER")]
    outliers: f64,
    /// How far a point of a feature may lie off it, mm; else three times the scatter found.
    #[arg(long, value_name = "MM")]
    tolerance: Option<f64>,
    /// The fewest points that make a feature.
    #[arg(long, default_value_t = 300, value_name = "NUMBER")]
    least_points: usize,
    /// What the search starts from: the same seed finds the same features.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    seed: u64,
    /// Leave out points that are no numbers (some scanners write NaN where nothing came back).
    #[arg(long)]
    drop_nan: bool,
    /// A folder for thinned.ply, left.ply and features.yaml; made when it is not there.
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
    /// Bring this scan onto another one by their surfaces; nothing else is done. --cell is then the finest cell (6 does well).
    #[arg(long, value_name = "FILE")]
    onto: Option<PathBuf>,
    /// With --onto: how the scan lies at first, shift in mm and turns about x, y, z in degrees; up to 15 degrees and 100 mm off will do.
    #[arg(long, value_name = "X,Y,Z,A,B,C", value_parser = numbers::<6>, allow_hyphen_values = true, requires = "onto")]
    start: Option<Numbers<6>>,
    /// With --onto: nothing is known of how it lies; middles are laid on each other and every turn is tried.
    #[arg(long, requires = "onto", conflicts_with = "start")]
    search: bool,
    /// With --onto: how far a place may lie from where it belongs at the start, mm.
    #[arg(long, default_value_t = 300.0, value_name = "MM", requires = "onto")]
    reach: f64,
    /// With --onto: a place at which the error is asked for, mm, in the axes of the scan that stays. May be given again.
    #[arg(long, value_name = "X,Y,Z", value_parser = numbers::<3>, allow_hyphen_values = true, requires = "onto")]
    target: Vec<Numbers<3>>,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

/// A unit of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
#[allow(missing_docs)]
pub enum Unit5 {
    Mm,
    Cm,
    M,
    In,
    Ft,
}

impl Unit5 {
    fn unit(self) -> LengthUnit {
        match self {
            Unit5::Mm => LengthUnit::Millimetre,
            Unit5::Cm => LengthUnit::Centimetre,
            Unit5::M => LengthUnit::Metre,
            Unit5::In => LengthUnit::Inch,
            Unit5::Ft => LengthUnit::Foot,
        }
    }
}

fn word(unit: LengthUnit) -> &'static str {
    match unit {
        LengthUnit::Millimetre => "mm",
        LengthUnit::Centimetre => "cm",
        LengthUnit::Metre => "m",
        LengthUnit::Inch => "in",
        LengthUnit::Foot => "ft",
    }
}

/// Numbers with commas between them.
#[derive(Clone, Copy, Debug)]
struct Numbers<const N: usize>([f64; N]);

fn numbers<const N: usize>(text: &str) -> Result<Numbers<N>, String> {
    let found: Vec<f64> = text.split(',').filter_map(|word| word.trim().parse().ok()).collect();
    match <[f64; N]>::try_from(found) {
        Ok(all) if all.iter().all(|x| x.is_finite()) && text.split(',').count() == N => Ok(Numbers(all)),
        _ => Err(format!("expected {N} numbers with commas between them, in mm")),
    }
}

/// Why the scan was not taken.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
#[error(transparent)]
pub(super) struct Refused(pub ScanError);

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let not_finite = if args.drop_nan { NotFinite::LeaveOut } else { NotFinite::Refuse };
    let Some(units) = args.units.map(Unit5::unit) else { return Err(unknown_unit(args, not_finite)?.into()) };
    if let Some(fixed) = &args.onto {
        return scan_onto::run(&Onto {
            moving: &args.file,
            fixed,
            units,
            cell_mm: args.cell,
            not_finite,
            start: match (args.start, args.search) {
                (_, true) => Start::Searched,
                (given, false) => Start::Given(given.map_or([0.0; 6], |Numbers(six)| six)),
            },
            reach_mm: args.reach,
            targets: args.target.iter().map(|Numbers(place)| Point3::from(*place)).collect(),
            out: args.out.as_deref(),
            format: args.format,
        });
    }
    let mut grid = VoxelGrid::new(args.cell).map_err(Refused)?;
    let summary = read_scan(&args.file, &ScanOptions { units, not_finite }, &mut grid).map_err(Refused)?;
    let thin = cropped(grid.finish(), args)?;
    let thinned = thin.points.len();
    let mut cloud = match (args.outliers > 0.0, thinned > OUTLIER_NEIGHBOURS) {
        (true, true) => {
            let rule = OutlierRule::Distance { neighbours: OUTLIER_NEIGHBOURS, deviations: args.outliers };
            thin.select(
                &without_outliers(&thin.points, &PointTree::new(&thin.points), rule).map_err(Refused)?,
            )
        }
        _ => thin,
    };
    let outliers = thinned - cloud.points.len();
    let tree = PointTree::new(&cloud.points);
    face(&mut cloud, &tree, args)?;
    let options = SegmentOptions {
        tolerance_mm: args.tolerance,
        least_points: args.least_points,
        seed: args.seed,
        ..SegmentOptions::default()
    };
    let found = segment(&cloud, &tree, &options).map_err(Refused)?;
    let file = args.file.display().to_string();
    let report = ScanReport {
        file: &file,
        units: word(units),
        summary,
        cell_mm: args.cell,
        thinned,
        outliers,
        seed: args.seed,
        cloud: &cloud,
        found: &found,
    };
    if let Some(folder) = &args.out {
        write(folder, &report)?;
    }
    answer(&match args.format {
        Format::Text => scan_text(&report),
        Format::Json => scan_json(&report),
    })?;
    Ok(Exit::Clear)
}

/// Neighbours of which an outlier is far (common practice, no source).
const OUTLIER_NEIGHBOURS: usize = 12;

fn cropped(cloud: PointCloud, args: &Args) -> Result<PointCloud, Failure> {
    let mut crops = Vec::new();
    if let Some(Numbers([x, y, z, to_x, to_y, to_z])) = args.within {
        if x > to_x || y > to_y || z > to_z {
            let what = "the box of --within has its least corner beyond its greatest";
            return Err(Wrong::new(what, "give least x, y, z first, then greatest").into());
        }
        crops.push(Crop::InBox(Bounds { min: Point3::new(x, y, z), max: Point3::new(to_x, to_y, to_z) }));
    }
    for Numbers([x, y, z, to_x, to_y, to_z]) in &args.side {
        let toward = Unit::try_new(Vector3::new(*to_x, *to_y, *to_z), 1e-12)
            .ok_or_else(|| Wrong::new("--side gives no direction", "give a direction other than 0,0,0"))?;
        crops.push(Crop::HalfSpace { point: Point3::new(*x, *y, *z), toward });
    }
    if crops.is_empty() {
        return Ok(cloud);
    }
    let kept = crop(&cloud, &crops);
    if kept.points.is_empty() {
        let what = "no point of the scan lies in the part that is kept";
        return Err(Wrong::new(what, "check --within and --side against the extent, in mm").into());
    }
    Ok(kept)
}

/// Normals: those of the file where it has them, else estimated and turned.
fn face(cloud: &mut PointCloud, tree: &PointTree, args: &Args) -> Result<(), Failure> {
    if cloud.has_normals() {
        return Ok(());
    }
    cloud.normals =
        estimate_normals(&cloud.points, tree, &NormalOptions::default()).map_err(Refused)?.normals;
    match args.from {
        Some(Numbers(from)) => face_viewpoint(&cloud.points, &mut cloud.normals, &Point3::from(from)),
        None => face_neighbours(&cloud.points, tree, &mut cloud.normals, 8),
    }
    Ok(())
}

/// Says how large the scan is and which unit would make sense of it.
fn unknown_unit(args: &Args, not_finite: NotFinite) -> Result<Wrong, Failure> {
    let mut extent = ExtentOnly::default();
    let options = ScanOptions { units: LengthUnit::Millimetre, not_finite };
    let summary = read_scan(&args.file, &options, &mut extent).map_err(Refused)?;
    let bounds = extent.bounds().unwrap_or(Bounds { min: Point3::origin(), max: Point3::origin() });
    let size = bounds.size();
    aside(&format!(
        "{}: {} points, {:.6} x {:.6} x {:.6} in the file's own unit",
        args.file.display(),
        summary.points,
        size.x,
        size.y,
        size.z
    ));
    let guesses = guess_units(bounds.diagonal_mm());
    let cure = match guesses.first() {
        None => "no usual unit makes it the size of a bay or a part of one: look for stray points, then say `--units`".to_owned(),
        Some(likeliest) => {
            let all: Vec<String> = guesses
                .iter()
                .map(|guess| format!("{} ({:.0} mm across)", word(guess.unit), guess.diagonal_mm))
                .collect();
            format!("if it is the likeliest, say `--units {}`; possible: {}", word(likeliest.unit), all.join(", "))
        }
    };
    Ok(Wrong::new("the unit of the scan is not known; nothing was done", cure))
}

fn write(folder: &Path, report: &ScanReport<'_>) -> Result<(), Failure> {
    let failed = |what: &Path, error: std::io::Error| {
        Wrong::new(
            format!("{} could not be written: {error}", what.display()),
            "name a folder you may write to",
        )
    };
    std::fs::create_dir_all(folder).map_err(|error| failed(folder, error))?;
    let ply = |name: &str, points: &[Point3<f64>]| -> Result<(), Failure> {
        let path = folder.join(name);
        let mut bytes = Vec::new();
        write_points(&mut bytes, points).map_err(|error| failed(&path, error))?;
        write_whole(&path, &bytes).map_err(|error| failed(&path, error))?;
        aside(&format!("{}: {} points", path.display(), points.len()));
        Ok(())
    };
    ply("thinned.ply", &report.cloud.points)?;
    let left = report.cloud.select(&report.found.left).points;
    if !left.is_empty() {
        ply("left.ply", &left)?;
    }
    let path = folder.join("features.yaml");
    let yaml = scan_yaml(report, (!left.is_empty()).then_some("left.ply"));
    write_whole(&path, yaml.as_bytes()).map_err(|error| failed(&path, error))?;
    aside(&format!("{}: {} bodies", path.display(), report.found.features.len()));
    Ok(())
}
