//! `baywright template`: wrap-around templates at full size.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::{Subcommand, ValueEnum};

use crate::report::said_with_lists;
use crate::scene::write_whole;
use crate::space::{Angle, Length, LengthUnit};
use crate::tube::{Mitre, Paper, PieCuts, Saddle, Template, template_pdf, template_svg};

use super::Exit;
use super::said::{Failure, Wrong, answer};

/// Draw a wrap-around template at full size: the cut of a branch, the hole of a header, a mitre, pie cuts
///
/// Lengths are written as a shop does (`76.2`, `3 in`), bare numbers in millimetres. Print at 100 % and measure the
/// square before you cut.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright template saddle --header 76.2 --branch \"2-1/2 in\" --angle 60 -o saddle.pdf"
)]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

/// Where it goes, and on what paper.
#[derive(Debug, clap::Args)]
struct Sheet {
    /// The file to write: `.svg`, one drawing; or `.pdf`, on pages.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Paper of a PDF, laid sideways.
    #[arg(long, value_enum, default_value_t)]
    paper: PaperSize,
    /// Thickness of the paper; it wraps on a larger circle.
    #[arg(long, value_name = "LENGTH", default_value = "0")]
    paper_thickness: String,
}

/// Paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum PaperSize {
    /// 297 x 210 mm.
    #[default]
    A4,
    /// 11 x 8.5 in.
    Letter,
}

/// Two tubes that meet.
#[derive(Debug, clap::Args)]
struct Meeting {
    /// Outside diameter of the header.
    #[arg(long, value_name = "LENGTH")]
    header: String,
    /// Outside diameter of the branch.
    #[arg(long, value_name = "LENGTH")]
    branch: String,
    /// Angle between their axes.
    #[arg(long, value_name = "ANGLE", default_value = "90")]
    angle: String,
    /// How far the branch's axis passes beside the header's.
    #[arg(long, value_name = "LENGTH", default_value = "0", allow_hyphen_values = true)]
    offset: String,
    /// Wall of the branch: the cut is then for its inner edge.
    #[arg(long, value_name = "LENGTH")]
    fit_inside: Option<String>,
}

#[derive(Debug, Subcommand)]
enum What {
    /// The cut of a branch that meets a header
    Saddle {
        #[command(flatten)]
        meeting: Meeting,
        #[command(flatten)]
        sheet: Sheet,
    },
    /// The hole in a header where a branch meets it
    Hole {
        #[command(flatten)]
        meeting: Meeting,
        #[command(flatten)]
        sheet: Sheet,
    },
    /// A tube cut off at an angle from square
    Mitre {
        /// Outside diameter.
        #[arg(long, value_name = "LENGTH")]
        tube: String,
        /// Angle of the cut from square: half of what the joint turns.
        #[arg(long, value_name = "ANGLE")]
        cut: String,
        #[command(flatten)]
        sheet: Sheet,
    },
    /// One segment of a bend made of pie cuts
    PieCut {
        /// Outside diameter.
        #[arg(long, value_name = "LENGTH")]
        tube: String,
        /// Centreline radius of the bend.
        #[arg(long, value_name = "LENGTH")]
        bend_radius: String,
        /// Angle of the whole bend.
        #[arg(long, value_name = "ANGLE", default_value = "90")]
        angle: String,
        /// Welded joints; the segments between them are one fewer.
        #[arg(long, value_name = "NUMBER")]
        joints: usize,
        #[command(flatten)]
        sheet: Sheet,
    },
}

fn length(text: &str) -> Result<f64, Failure> {
    let size_mm = Length::parse(text, LengthUnit::Millimetre)
        .map(Length::mm)
        .map_err(|error| Wrong::told("a size", error, "write a length such as `76.2` (mm) or `3 in`"))?;
    if size_mm.abs() > MOST_MM {
        let what = format!("a size of {text} on a paper template");
        return Err(Wrong::new(what, format!("give at most {MOST_MM} mm; is the unit right?")).into());
    }
    Ok(size_mm)
}

/// No template is larger, mm: paper is not.
const MOST_MM: f64 = 5000.0;
/// More segments make no bend that can be welded.
const MOST_JOINTS: usize = 100;

fn angle(text: &str) -> Result<f64, Failure> {
    Angle::parse(text)
        .map(Angle::rad)
        .map_err(|error| Wrong::told("an angle", error, "write an angle such as `60` (degrees)").into())
}

fn saddle(meeting: &Meeting) -> Result<Saddle, Failure> {
    let wrong = |error: crate::tube::SaddleError| Wrong::new(error, "change the sizes named here");
    let (header, branch) = (length(&meeting.header)?, length(&meeting.branch)?);
    let saddle = Saddle::new(header, branch, angle(&meeting.angle)?, length(&meeting.offset)?);
    let saddle = saddle.map_err(wrong)?;
    match &meeting.fit_inside {
        Some(wall) => Ok(saddle.fitted_inside(length(wall)?).map_err(wrong)?),
        None => Ok(saddle),
    }
}

fn mitre(mitre: &Mitre) -> Result<Template, Failure> {
    mitre.template().map_err(|error| Wrong::new(error, "change the sizes named here").into())
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let (template, sheet) = match &args.what {
        What::Saddle { meeting, sheet } => (saddle(meeting)?.cut(), sheet),
        What::Hole { meeting, sheet } => (saddle(meeting)?.hole(), sheet),
        What::Mitre { tube, cut, sheet } => {
            (mitre(&Mitre { outside_mm: length(tube)?, cut_rad: angle(cut)?, far: None })?, sheet)
        }
        What::PieCut { tube, bend_radius, angle: whole, joints, sheet } => {
            let joints = *joints;
            if joints < 2 {
                let what = format!("{joints} joint leaves no segment between two");
                return Err(Wrong::new(what, "take two joints or more, or `template mitre`").into());
            }
            if joints > MOST_JOINTS {
                let what = format!("{joints} joints");
                return Err(Wrong::new(what, format!("take at most {MOST_JOINTS}")).into());
            }
            let (angle_rad, radius_mm) = (angle(whole)?, length(bend_radius)?);
            let cuts = PieCuts { angle_rad, radius_mm, outside_mm: length(tube)?, joints };
            (mitre(&Mitre::of_pie_cuts(&cuts))?, sheet)
        }
    };
    let thickness = length(&sheet.paper_thickness)?;
    if !(0.0..=2.0).contains(&thickness) {
        let what = format!("paper of {thickness} mm");
        return Err(Wrong::new(what, "give a thickness from 0 to 2 mm").into());
    }
    let template = template.on_paper(thickness);
    let ending = sheet.output.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    let bytes = match ending.as_deref() {
        Some("svg") => template_svg(&template).into_bytes(),
        Some("pdf") => {
            let paper = match sheet.paper {
                PaperSize::A4 => Paper::A4,
                PaperSize::Letter => Paper::Letter,
            };
            template_pdf(&template, paper)
        }
        _ => {
            let what = format!("{} ends in neither .svg nor .pdf", sheet.output.display());
            return Err(Wrong::new(what, "name the file like `saddle.pdf`").into());
        }
    };
    write_whole(&sheet.output, &bytes).map_err(|error| {
        Wrong::new(
            format!("{} could not be written: {error}", sheet.output.display()),
            "name a folder you may write to",
        )
    })?;
    answer(&said(&template, &sheet.output))?;
    Ok(Exit::Clear)
}

fn said(template: &Template, path: &std::path::Path) -> String {
    let mut out = format!("{}\n{}\n", path.display(), template.title);
    // Writing to a String cannot fail.
    if !template.ordinates.is_empty() {
        let _ = writeln!(out, "\n  round deg  height mm\n  ---------  ---------");
        for (deg, mm) in &template.ordinates {
            let _ = writeln!(out, "  {deg:>9.0}  {:>9.2}", mm + 0.0);
        }
        let _ = writeln!(out);
    }
    for note in &template.notes {
        let _ = writeln!(out, "{note}");
    }
    let _ = writeln!(out, "Print at 100 % and measure the square: 50 mm both ways.");
    for caution in said_with_lists().take(2) {
        let _ = writeln!(out, "! {caution}");
    }
    out
}
