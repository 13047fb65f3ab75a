//! `baywright jig`: a stand's marks against those of vehicles.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use serde::Serialize;

use crate::scene::SceneDocument;
use crate::space::{Length, LengthUnit};
use crate::survey::align::{MarkSpread, StandAgainst, compare_stand, vehicle_spread};
use crate::survey::{SurveyTable, read_survey_bytes};

use super::Exit;
use super::said::{Failure, Format, Wrong, answer, aside};

/// Lay a jig stand on one vehicle or more by marks that both have, and tell what each jig is off by
///
/// Survey files as scenes read them: marks with places, or tape distances. The stand may lie anyhow; only the shape counts. Exit
/// code 1 when a mark is off beyond chance.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example: baywright jig stand.csv van-1.csv van-2.csv --sigma 1")]
pub struct Args {
    /// Survey of the stand (CSV).
    stand: PathBuf,
    /// Surveys of vehicles, the same marks by the same names (CSV).
    #[arg(required = true)]
    vehicles: Vec<PathBuf>,
    /// What a bare number of the files means: mm, cm, m, in or ft.
    #[arg(long, default_value = "mm")]
    units: String,
    /// Standard uncertainty of a reading where its row gives none.
    #[arg(long, default_value = "1.5 mm")]
    sigma: String,
    /// Write the spread between vehicles into this scene, as `spread` of the survey `--survey`; comments and order stay.
    #[arg(long, value_name = "SCENE", requires = "survey")]
    into: Option<PathBuf>,
    /// The scene's survey that has the stand's marks.
    #[arg(long, value_name = "NAME", requires = "into")]
    survey: Option<String>,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: Format,
}

#[derive(Serialize)]
struct Told<'a> {
    version: u32,
    vehicles: Vec<OneTold<'a>>,
    spread: &'a [MarkSpread],
}

#[derive(Serialize)]
struct OneTold<'a> {
    file: String,
    #[serde(flatten)]
    against: &'a StandAgainst,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let unit = LengthUnit::from_word(&args.units).ok_or_else(|| {
        Wrong::new(format!("`{}` is no unit of length", args.units), "write mm, cm, m, in or ft")
    })?;
    let sigma_mm =
        Length::parse(&args.sigma, unit).ok().map(Length::mm).filter(|mm| *mm > 0.0).ok_or_else(|| {
            Wrong::new(format!("--sigma `{}` is no length above zero", args.sigma), "write `1.5 mm`, say")
        })?;
    let stand = table(&args.stand, unit, sigma_mm)?;
    let vehicles: Vec<SurveyTable> =
        args.vehicles.iter().map(|path| table(path, unit, sigma_mm)).collect::<Result<_, _>>()?;
    let mut laid = Vec::new();
    for (path, vehicle) in args.vehicles.iter().zip(&vehicles) {
        laid.push(compare_stand(&stand, vehicle).map_err(|error| {
            Wrong::new(
                format!("the stand could not be laid on {}: {error}", path.display()),
                "give the same names to the same marks in both files, three or more, well spread",
            )
        })?);
    }
    let both: Vec<(&SurveyTable, &StandAgainst)> = vehicles.iter().zip(&laid).collect();
    let spread = vehicle_spread(&stand, &both);
    let moved = laid.iter().any(|against| against.marks.iter().any(|mark| mark.moved));
    let text = match args.format {
        Format::Text => text(args, &laid, &spread),
        Format::Json => {
            let vehicles = args.vehicles.iter().zip(&laid);
            let vehicles =
                vehicles.map(|(path, against)| OneTold { file: path.display().to_string(), against });
            let told = Told { version: 1, vehicles: vehicles.collect(), spread: &spread };
            let written = serde_json::to_string_pretty(&told).map_err(|error| {
                Wrong::new(format!("the answer could not be written: {error}"), "report this")
            })?;
            written + "\n"
        }
    };
    if let (Some(scene), Some(survey)) = (&args.into, &args.survey) {
        write_into(scene, survey, &spread)?;
    }
    answer(&text)?;
    Ok(if moved { Exit::Found } else { Exit::Clear })
}

/// Writes the spread of each mark that the scene's survey has.
fn write_into(path: &Path, survey: &str, spread: &[MarkSpread]) -> Result<(), Failure> {
    if spread.is_empty() {
        return Err(Wrong::new(
            "there is no spread to write: no mark was measured on two vehicles or more".to_owned(),
            "give the surveys of two vehicles or more",
        )
        .into());
    }
    let mut document = SceneDocument::open(path)?;
    let marks = document.scene().surveys.iter().find(|one| one.name == survey).map(|one| one.marks.clone());
    let known = |name: &str| marks.as_ref().is_none_or(|marks| marks.iter().any(|mark| mark.0 == name));
    let own: Vec<(String, f64)> = spread
        .iter()
        .filter(|mark| known(&mark.name))
        .map(|mark| (mark.name.clone(), mark.spread_mm))
        .collect();
    if own.is_empty() {
        return Err(Wrong::new(
            format!("survey `{survey}` of {} has none of the stand's marks", path.display()),
            "name the survey whose marks bear the same names",
        )
        .into());
    }
    document.set_survey_spread(survey, &own)?;
    document.save()?;
    let missing = spread.len() - own.len();
    let rest = if missing > 0 { format!("; {missing} marks are not in it") } else { String::new() };
    aside(&format!(
        "wrote the spread of {} marks to survey `{survey}` of {}{rest}",
        own.len(),
        path.display()
    ));
    Ok(())
}

fn table(path: &Path, unit: LengthUnit, sigma_mm: f64) -> Result<SurveyTable, Failure> {
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|error| {
        Wrong::new(format!("{name} could not be read: {error}"), "give the path of a survey file (CSV)")
    })?;
    read_survey_bytes(&bytes, &name, unit, sigma_mm).map_err(|errors| {
        Wrong::new(errors.to_string(), "docs/surveys.md says what a survey file holds").into()
    })
}

// Writing to a String cannot fail.
fn text(args: &Args, laid: &[StandAgainst], spread: &[MarkSpread]) -> String {
    let mut out = String::new();
    for (path, against) in args.vehicles.iter().zip(laid) {
        let _ = writeln!(out, "the stand on {}", path.display());
        let _ = writeln!(
            out,
            "  {:<12} {:>10} {:>10} {:>10} {:>8}   (mm, vehicle axes: x rearward, y right, z up)",
            "mark", "off in x", "in y", "in z", "U (k=2)"
        );
        for mark in &against.marks {
            let (off, u) = (mark.off_mm, mark.expanded_mm.max());
            let word = if mark.moved { "OFF" } else { "agrees" };
            let _ = writeln!(
                out,
                "  {:<12} {:>+10.1} {:>+10.1} {:>+10.1} {:>8.1}   {word}",
                mark.name, off.x, off.y, off.z, u
            );
        }
        let moved: Vec<&str> = against.marks.iter().filter(|m| m.moved).map(|m| m.name.as_str()).collect();
        if moved.is_empty() {
            let _ = writeln!(out, "  all marks agree, to {:.1} mm root mean square", against.rms_mm);
        } else if against.tells_which {
            let _ = writeln!(out, "  off beyond chance: {}; move the jig by the opposite", moved.join(", "));
        } else {
            let _ =
                writeln!(out, "  something is off, but with so few marks nothing tells which: measure more");
        }
        for (names, whose) in [(&against.only_stand, "stand"), (&against.only_vehicle, "vehicle")] {
            if !names.is_empty() {
                let _ = writeln!(out, "  only on the {whose}: {}", names.join(", "));
            }
        }
    }
    if !spread.is_empty() {
        let _ = writeln!(out, "between vehicles (standard deviation in each axis)");
        for mark in spread {
            let _ = writeln!(
                out,
                "  {:<12} {:>6.1} mm over {} vehicles",
                mark.name, mark.spread_mm, mark.vehicles
            );
        }
        let each: Vec<String> =
            spread.iter().map(|mark| format!("{}: {:.2} mm", mark.name, mark.spread_mm)).collect();
        let _ = writeln!(
            out,
            "for the scene, in the survey that has these marks (or let --into SCENE --survey NAME write it):"
        );
        let _ = writeln!(out, "    spread: {{{}}}", each.join(", "));
    }
    out
}
