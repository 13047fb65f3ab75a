//! `baywright bend-list`: what the bench needs to cut and bend a tube of a scene.

use std::path::PathBuf;

use clap::ValueEnum;
use nalgebra::Vector3;

use crate::calc::{FlowLoss, flow_loss};
use crate::check::{bore_mm, tubes_in};
use crate::report::{BenchPiece, BenchUnit, bench_csv, bench_json, bench_text};
use crate::route::flow_parts;
use crate::scene::{Body, Scene};
use crate::solid::Tube;
use crate::space::{InchFraction, Length, Pose};
use crate::tube::{
    BenchOptions, Bender, CornerLine, Making, TubeMaterial, Weight, bench_sheet, check_making, jig_points,
};

use super::Exit;
use super::fitted_out::FittedOut;
use super::said::{Failure, Wrong, answer};

/// List what the bench needs to make a tube: cut length, bend table, marks, weight, jig points
///
/// With --bender the table has springback and stretch, and every place that this bender cannot make is told, with
/// the nearest that it can.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright bend-list demo-scenes/van/scene.yaml cold-pipe --script demo-scenes/van/scripts/second-position.rhai --bender mandrel-rotary"
)]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// The body: a tube.
    body: String,
    /// Run this script on the scene first; the scene file is left as it is.
    #[arg(long, value_name = "SCRIPT")]
    script: Option<PathBuf>,
    /// Bender, by its name in the scene or the library.
    #[arg(long, value_name = "NAME")]
    bender: Option<String>,
    /// How lengths are written: millimetres, or inches to sixteenths or thirty-seconds.
    #[arg(long, value_enum, default_value_t)]
    units: Units,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: ListFormat,
    /// Tube left on at the start and cut off after bending; a bare number takes the scene's units.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm", allow_hyphen_values = true)]
    start_extra: String,
    /// Tube left on at the end and cut off after bending.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm", allow_hyphen_values = true)]
    end_extra: String,
    /// Tell where a weld jig should touch the tube as it stands in the vehicle.
    #[arg(long)]
    jig: bool,
}

/// Units of a list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Units {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches to 1/16.
    In16,
    /// Inches to 1/32.
    In32,
}

/// How a list is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum ListFormat {
    /// For people: 80 columns.
    #[default]
    Text,
    /// For a spreadsheet.
    Csv,
    /// For programs: one stable, versioned document.
    Json,
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let ready = FittedOut::load(&args.scene, args.script.as_deref())?;
    let scene = ready.scene();
    let body = body_of(scene, &args.body)?;
    let bender = args.bender.as_deref().map(|name| bender_of(scene, name)).transpose()?;
    let extra = |text: &str| match Length::parse(text, scene.units) {
        Ok(length) if length.mm() >= 0.0 => Ok(length.mm()),
        Ok(_) => Err(Wrong::new(format!("`{text}` left on is under zero"), "leave on zero or more")),
        Err(error) => Err(Wrong::told("what is left on", error, "write a length such as `20 mm`")),
    };
    let (start_extra_mm, end_extra_mm) = (extra(&args.start_extra)?, extra(&args.end_extra)?);
    let mut tubes = Vec::new();
    tubes_in(&body.shape, &Pose::identity(), &mut tubes);
    if tubes.is_empty() {
        let what = format!("`{}` is not a tube", body.name);
        return Err(Wrong::new(what, "name a body whose shape is a tube, or a union that holds one").into());
    }
    let many = tubes.len() > 1;
    let mut pieces = Vec::new();
    for (index, (body_from_tube, tube)) in tubes.iter().enumerate() {
        let name = if many { format!("{} {}", body.name, index + 1) } else { body.name.clone() };
        let options = BenchOptions {
            outside_mm: 2.0 * tube.radius_mm,
            wall_mm: tube.wall_mm,
            density_kg_m3: body
                .material
                .as_deref()
                .and_then(|name| scene.material(name))
                .map(|one| one.density_kg_m3),
            material: body.material.as_deref(),
            bender,
            start_extra_mm,
            end_extra_mm,
        };
        let world_from_tube = body.world_from_body * body_from_tube;
        let piece = piece(scene, name.clone(), tube, &world_from_tube, &options, args.jig);
        let mut piece = piece
            .map_err(|error| Wrong::new(format!("`{name}`: {error}"), "correct the tube where it is made"))?;
        piece.flow = flow_of(body, tube)?;
        pieces.push(piece);
    }
    let unit = match args.units {
        Units::Mm => BenchUnit::Millimetre,
        Units::In16 => BenchUnit::Inch(InchFraction::Sixteenth),
        Units::In32 => BenchUnit::Inch(InchFraction::ThirtySecond),
    };
    answer(&match args.format {
        ListFormat::Text => bench_text(&pieces, unit),
        ListFormat::Csv => bench_csv(&pieces, unit),
        ListFormat::Json => bench_json(&pieces),
    })?;
    let cannot = pieces.iter().flat_map(|piece| &piece.findings).any(|one| one.weight == Weight::Cannot);
    Ok(if cannot { Exit::Found } else { Exit::Clear })
}

fn piece<'a>(
    scene: &'a Scene,
    name: String,
    tube: &Tube,
    world_from_tube: &Pose,
    options: &BenchOptions<'a>,
    jig: bool,
) -> Result<BenchPiece<'a>, crate::tube::TubeError> {
    let list = CornerLine::of_tube(tube).bend_list()?.moved(world_from_tube);
    let sheet = bench_sheet(&list, options)?;
    let findings = match options.bender {
        Some(bender) => {
            let making = Making {
                outside_mm: options.outside_mm,
                wall_mm: options.wall_mm,
                elongation: options.material.and_then(TubeMaterial::find).map(|one| one.elongation),
                bender,
                start_needs_mm: 0.0,
                end_needs_mm: 0.0,
                start_extra_mm: options.start_extra_mm,
                end_extra_mm: options.end_extra_mm,
                stock_bends: &scene.stock_bends,
            };
            check_making(&list, &making)?
        }
        None => Vec::new(),
    };
    let jig = if jig { jig_points(&list, options.outside_mm, &Vector3::z_axis())? } else { Vec::new() };
    Ok(BenchPiece {
        name,
        outside_mm: options.outside_mm,
        wall_mm: options.wall_mm,
        material: options.material,
        bender: options.bender,
        sheet,
        findings,
        jig,
        flow: None,
    })
}

/// What the body's flow costs in one of its tubes.
fn flow_of(body: &Body, tube: &Tube) -> Result<Option<FlowLoss>, Failure> {
    let (Some(asked), Some(bore)) = (&body.flow, bore_mm(tube)) else { return Ok(None) };
    let wrong = |error: &dyn std::fmt::Display| {
        Wrong::new(format!("the flow of `{}`: {error}", body.name), "correct the flow, or take a wider tube")
    };
    let list = CornerLine::of_tube(tube).bend_list().map_err(|error| wrong(&error))?;
    Ok(Some(flow_loss(&flow_parts(&list, bore), &asked.flow).map_err(|error| wrong(&error))?))
}

fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

pub(super) fn body_of<'a>(scene: &'a Scene, name: &str) -> Result<&'a Body, Failure> {
    scene.body(name).ok_or_else(|| {
        let holds = |body: &&Body| {
            let mut tubes = Vec::new();
            tubes_in(&body.shape, &Pose::identity(), &mut tubes);
            !tubes.is_empty()
        };
        let tubes = listed(scene.bodies.iter().filter(holds).map(|body| body.name.as_str()));
        Wrong::new(
            format!("no body is called `{name}`"),
            format!("tubes here are {tubes}; what a script places is there with --script"),
        )
        .into()
    })
}

pub(super) fn bender_of<'a>(scene: &'a Scene, name: &str) -> Result<&'a Bender, Failure> {
    scene.benders.iter().find(|bender| bender.name == name).ok_or_else(|| {
        let known = listed(scene.benders.iter().map(|bender| bender.name.as_str()));
        Wrong::new(format!("no bender is called `{name}`"), format!("name one of {known}")).into()
    })
}
