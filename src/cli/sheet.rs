//! `baywright sheet`: the form for the next measuring session.

use std::fs;
use std::path::{Path, PathBuf};

use clap::ValueEnum;

use crate::check::{CheckOptions, session_readings};
use crate::report::{FieldSheet, MEASURING_CAUTIONS, sheet_leaves, sheet_markdown, unit_word};
use crate::scene::{Scene, SurveyRead, write_whole};
use crate::survey::blank_sheet;
use crate::tube::{Paper, leaves_pdf, leaves_svg};

use super::Exit;
use super::fitted_out::{FittedOut, SceneArgs};
use super::said::{Failure, Wrong, answer, aside};

/// Print the form for the next measuring session: where the marks are, which distances to take, blanks to fill
///
/// First the readings that would narrow undecided gaps most, then distances to marks that rest on few, then those that the
/// survey has. Without --output the form goes to stdout as Markdown. --csv writes the survey's file with a row for each
/// blank; fill `distance`, and name the file in the scene in place of the survey's own. Blank rows are told, not read.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright sheet demo-scenes/van/scene.yaml --survey stand -o sheet.pdf --csv sheet.csv"
)]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    /// The survey that is continued; the first that has lengths, else the first that has marks.
    #[arg(long, value_name = "NAME")]
    survey: Option<String>,
    /// The form: `.pdf`, `.svg` or `.md`.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The same as rows to fill in, for `file` of the survey.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Readings of each.
    #[arg(long, value_name = "NUMBER", default_value_t = 3, value_parser = clap::value_parser!(u32).range(1..=6))]
    times: u32,
    /// Paper of a PDF or SVG, upright.
    #[arg(long, value_enum, default_value_t)]
    paper: SheetPaper,
}

/// Paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum SheetPaper {
    /// 210 x 297 mm.
    #[default]
    A4,
    /// 8.5 x 11 in.
    Letter,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let kind = args.output.as_deref().map(ending).transpose()?;
    let mut ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    let findings = ready.check(&CheckOptions::default());
    let scene = ready.scene();
    let survey = chosen(scene, args.survey.as_deref())?;
    let readings = session_readings(scene, survey, &findings);
    let sheet = FieldSheet { scene, survey, readings: &readings, times: args.times };
    let paper = match args.paper {
        SheetPaper::A4 => Paper::A4,
        SheetPaper::Letter => Paper::Letter,
    };
    if let Some(path) = &args.csv {
        let text = csv(&args.scene.scene, &sheet)?;
        write(path, text.as_bytes())?;
        aside(&format!(
            "{}: {} readings, {} blanks each; fill `distance`, then `file: {}` for survey `{}`{}",
            path.display(),
            readings.len(),
            args.times,
            path.display(),
            survey.name,
            if survey.here.is_empty() { "" } else { ", and take its `marks` and `tape` out of the scene" },
        ));
    }
    match (kind, &args.output) {
        (Some(kind), Some(path)) => {
            let bytes = match kind {
                "pdf" => leaves_pdf(&sheet_leaves(&sheet, paper), paper),
                "svg" => leaves_svg(&sheet_leaves(&sheet, paper), paper).into_bytes(),
                _ => sheet_markdown(&sheet).into_bytes(),
            };
            write(path, &bytes)?;
            let mut out =
                format!("{}: {} readings for survey `{}`\n", path.display(), readings.len(), survey.name);
            for caution in MEASURING_CAUTIONS {
                out += &format!("! {caution}\n");
            }
            answer(&out)?;
        }
        _ => answer(&sheet_markdown(&sheet))?,
    }
    Ok(Exit::Clear)
}

/// The kind of file that a name asks for.
fn ending(path: &Path) -> Result<&'static str, Failure> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
    let known = ["pdf", "svg", "md"].into_iter().find(|known| *known == ending);
    known.ok_or_else(|| {
        let what = format!("{} ends in none of .pdf, .svg and .md", path.display());
        Wrong::new(what, "name the file like `sheet.pdf`; rows to fill in are written by --csv").into()
    })
}

fn chosen<'a>(scene: &'a Scene, name: Option<&str>) -> Result<&'a SurveyRead, Failure> {
    let usable = || scene.surveys.iter().filter(|survey| !survey.marks.is_empty());
    let names = usable().map(|survey| format!("`{}`", survey.name)).collect::<Vec<_>>().join(", ");
    if names.is_empty() {
        return Err(Wrong::new(
            "no survey of this scene has marks",
            "write marks first; see docs/surveys.md",
        )
        .into());
    }
    let found = match name {
        Some(name) => usable().find(|survey| survey.name == name),
        None => usable().find(|survey| survey.kind == "tape").or(usable().next()),
    };
    found.ok_or_else(|| {
        let what = format!("no survey with marks is called `{}`", name.unwrap_or_default());
        Wrong::new(what, format!("name one of {names}")).into()
    })
}

fn csv(scene_path: &Path, sheet: &FieldSheet<'_>) -> Result<String, Failure> {
    let survey = sheet.survey;
    let mut texts = Vec::new();
    if let Some(file) = &survey.file {
        let path = scene_path.parent().unwrap_or(Path::new("")).join(file);
        let bytes = fs::read(&path).map_err(|error| {
            Wrong::new(format!("{} could not be read: {error}", path.display()), "put the survey's file back")
        })?;
        texts.push(String::from_utf8_lossy(&bytes).into_owned());
    }
    texts.push(survey.here.clone());
    let blanks: Vec<_> = sheet.readings.iter().map(|one| one.reading.clone()).collect();
    let unit = unit_word(survey.unit);
    let head = [
        format!(
            "Field sheet of survey {}. A bare number is in {unit}; a point in decimals, commas between the cells.",
            survey.name
        ),
        format!(
            "Fill `distance` ({unit}) in the rows that have a number under `reading`; a row left empty is not read."
        ),
        "What was read before stands first. Own `sigma` or `instrument` of a row go before the survey's."
            .to_owned(),
    ];
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    Ok(blank_sheet(&head, &texts, &blanks, sheet.times))
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_whole(path, bytes).map_err(|error| {
        let what = format!("{} could not be written: {error}", path.display());
        Wrong::new(what, "name a folder you may write to").into()
    })
}
