//! `baywright way-in`: whether a body can be worked from outside to where it is mounted.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::ValueEnum;
use nalgebra::Vector3;

use crate::assembly::{
    AssemblyError, BreakAsk, Breaks, Heft, Look, MASS_LIMIT_KG, PartStep, Seen, Shapes, Side, caged,
    find_breaks, heft, no_hoist_words, straight_lift,
};
use crate::report::{
    BreakReport, LiftReport, WayReport, breaks_csv, breaks_json, breaks_text, lift_csv, lift_json, lift_text,
    way_csv, way_json, way_text,
};
use crate::scene::{Body, Hoist, Scene};
use crate::solid::Shape;
use crate::space::{Angle, Length, LengthUnit, Pose, pose_from_euler};
use crate::tube::JointKind;
use crate::way_in::{Answer, Options, WayAsk, way_in};

use super::Exit;
use super::film::{self, Strip};
use super::fitted_out::FittedOut;
use super::interrupt;
use super::said::{Failure, Wrong, answer, aside};

/// Find a way in: a motion from outside to the mounted pose, every instant of it proved clear
///
/// All other bodies stand at rest, the hood open. The answer is a way as moves to follow; or that none was found within
/// the time, and what stopped it; or, where that can be proved, that there is none.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright way-in demo-scenes/van/scene.yaml hot-pipe --script demo-scenes/van/scripts/second-position.rhai --from above"
)]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// The body to be worked in.
    body: String,
    /// Run this script on the scene first; the scene file is left as it is.
    #[arg(long, value_name = "SCRIPT")]
    script: Option<PathBuf>,
    /// Least gap on the way; a bare number is millimetres.
    #[arg(long, value_name = "LENGTH", default_value = "3 mm", value_parser = room, allow_hyphen_values = true)]
    gap: Length,
    /// Where it comes from: above, below, front, left, right; or a pose of the body, X,Y,Z or X,Y,Z,RX,RY,RZ in
    /// millimetres and degrees.
    #[arg(long, value_name = "SIDE", default_value = "above", value_parser = from, allow_hyphen_values = true)]
    from: From,
    /// Take this body off first; may be given again.
    #[arg(long, value_name = "BODY")]
    without: Vec<String>,
    /// A part that weighs more, kg, must come straight down from above by its `hoist` point.
    ///
    /// 23 is the load constant of the revised lifting equation (NIOSH publication 94-110, from memory): what hands may lift when all
    /// else is at its best.
    #[arg(long, value_name = "KG", default_value_t = MASS_LIMIT_KG, value_parser = kg, allow_hyphen_values = true)]
    mass_limit: f64,
    /// All chance comes from this number.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Time to look at most, such as 60s or 2min.
    #[arg(long, value_name = "TIME", default_value = "60s", value_parser = time, allow_hyphen_values = true)]
    time: Duration,
    /// For a pipe: find where it must break so that it goes in as two or three pieces, whether or not it goes in whole.
    /// Without this, breaks are looked for only where no way was found for the whole pipe.
    #[arg(long)]
    breaks: bool,
    /// What closes a break: v-band, slip, flange, coupler, bellows or weld.
    #[arg(long, value_name = "KIND", default_value = "v-band", value_parser = joint)]
    joint: JointKind,
    /// Pieces at most: 2 or 3.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u8).range(2..=3))]
    pieces: u8,
    /// Draw the way as a film strip to this PNG file: a tile a move, its words under it.
    #[arg(long, value_name = "FILE")]
    film: Option<PathBuf>,
    /// How the answer is written; csv holds the poses.
    #[arg(long, value_enum, default_value_t)]
    format: WayFormat,
}

/// How a way is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum WayFormat {
    /// For people.
    #[default]
    Text,
    /// For programs.
    Json,
    /// Poses, one a line.
    Csv,
}

#[derive(Clone, Copy, Debug)]
enum From {
    Side(Side),
    Pose(Pose),
}

pub(super) fn room(text: &str) -> Result<Length, String> {
    let length = Length::parse(text, LengthUnit::Millimetre).map_err(|error| error.to_string())?;
    if (0.0..=1000.0).contains(&length.mm()) {
        Ok(length)
    } else {
        Err("a gap is from 0 to 1000 mm".to_owned())
    }
}

fn from(text: &str) -> Result<From, String> {
    if let Some(side) = Side::from_word(text) {
        return Ok(From::Side(side));
    }
    let numbers: Result<Vec<f64>, _> = text.split(',').map(|word| word.trim().parse::<f64>()).collect();
    let figures = match numbers {
        Ok(list) if matches!(list.len(), 3 | 6) && list.iter().all(|v| v.is_finite() && v.abs() < 1e6) => {
            list
        }
        _ => {
            return Err("name above, below, front, left or right, or give X,Y,Z or X,Y,Z,RX,RY,RZ".to_owned());
        }
    };
    let turn = |at: usize| Angle::from_deg(figures.get(at).copied().unwrap_or(0.0));
    let at = Vector3::new(figures[0], figures[1], figures[2]);
    Ok(From::Pose(pose_from_euler(at, turn(3), turn(4), turn(5))))
}

pub(super) fn time(text: &str) -> Result<Duration, String> {
    let text = text.trim();
    let (figure, seconds) = match (text.strip_suffix("min"), text.strip_suffix('s')) {
        (Some(figure), _) => (figure, 60.0),
        (_, Some(figure)) => (figure, 1.0),
        _ => (text, 1.0),
    };
    match figure.trim().parse::<f64>() {
        Ok(value) if value > 0.0 && value * seconds <= 86_400.0 => {
            Ok(Duration::from_secs_f64(value * seconds))
        }
        _ => Err("give a time such as 60s or 2min, at most a day".to_owned()),
    }
}

pub(super) fn kg(text: &str) -> Result<f64, String> {
    let figure = text.trim().trim_end_matches("kg").trim();
    match figure.parse::<f64>() {
        Ok(value) if value > 0.0 && value <= 5000.0 => Ok(value),
        _ => Err("give a mass in kg, above 0 and at most 5000".to_owned()),
    }
}

/// Poses looked at by each search before a proof that there is no way is tried.
const AT_ONCE: u64 = 2000;

pub(super) fn joint(text: &str) -> Result<JointKind, String> {
    let words = JointKind::ALL.map(JointKind::word);
    JointKind::from_word(text).ok_or_else(|| format!("joints are: {}", words.join(", ")))
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let (begin, cancel) = (Instant::now(), interrupt::listen());
    let ready = FittedOut::load(&args.scene, args.script.as_deref())?;
    let scene = ready.scene();
    let known = || scene.bodies.iter().map(|body| body.name.as_str()).collect::<Vec<_>>().join(", ");
    let Some(body) = scene.body(&args.body) else {
        return Err(Wrong::new(
            format!("the scene has no body `{}`", args.body),
            format!("bodies are: {}", known()),
        )
        .into());
    };
    if let Some(name) = args.without.iter().find(|name| scene.body(name).is_none()) {
        return Err(Wrong::new(
            format!("`--without {name}`: the scene has no such body"),
            format!("bodies are: {}", known()),
        )
        .into());
    }
    if args.without.contains(&body.name) {
        return Err(Wrong::new(
            format!("`{}` cannot be taken off before it is worked in", body.name),
            "leave it out of --without",
        )
        .into());
    }
    let is_tube = matches!(*body.shape, Shape::Tube(_));
    if args.breaks && !is_tube {
        let error = AssemblyError::NoTube { body: body.name.clone() };
        return Err(Wrong::new(error, "leave --breaks out, or name a body whose shape is a `tube`").into());
    }
    if let Some(path) = &args.film {
        film::can_write(path, &args.scene, scene)?;
    }
    let shapes = Shapes::of(scene);
    if args.breaks {
        let breaks = breaks(args, scene, &shapes, body, begin)?;
        tell_breaks(args, scene, body, &breaks)?;
        return Ok(if breaks.won.is_some() { Exit::Clear } else { Exit::NoAnswer });
    }
    let mut seen = Seen::by(scene, &shapes, body, &args.without, args.gap);
    match heft(scene, body, args.mass_limit) {
        Heft::Hoisted { kg, hoist } => return lift(args, scene, &shapes, body, &seen, (kg, hoist)),
        Heft::NoHoist { kg } => seen.remarks.push(no_hoist_words(&body.name, kg, args.mass_limit)),
        Heft::Light | Heft::Unknown => {}
    }
    let start = match args.from {
        From::Side(side) => seen.outside(side),
        From::Pose(pose) => pose,
    };
    let whole = WayAsk {
        body: &seen.body,
        obstacles: &seen.obstacles,
        starts: &[start],
        goal: seen.goal,
        room: seen.room(&[start]),
        options: Options { seed: args.seed, time: args.time, cancel: Some(cancel), ..Options::default() },
    };
    let failed = |error| Wrong::new(error, "give the body a shape, and figures that are plain numbers");
    // A pipe keeps half of the time for its breaks.
    let half = is_tube && args.format == WayFormat::Text;
    let time = if half { args.time / 2 } else { args.time };
    let at_once = Options { time, checks: Some(AT_ONCE), ..whole.options };
    let mut found = match seen.blocked() {
        Some(blocked) => blocked,
        None => way_in(&WayAsk { options: at_once, ..whole }).map_err(failed)?,
    };
    let mut cage = None;
    if matches!(found, Answer::NoneFound(_)) && !interrupt::pressed() {
        cage = caged(&seen, &[start]);
        if cage.is_none() {
            let left = time.saturating_sub(begin.elapsed()).max(Duration::from_millis(1));
            found = way_in(&WayAsk { options: Options { time: left, ..whole.options }, ..whole })
                .map_err(failed)?;
        }
    }
    let report = WayReport {
        scene,
        body: &body.name,
        gap: args.gap,
        seed: args.seed,
        time,
        without: &args.without,
        names: &seen.names,
        remarks: &seen.remarks,
        seat_mm: seen.seat_mm,
        answer: &found,
        cage: cage.as_ref(),
    };
    answer(&match args.format {
        WayFormat::Text => way_text(&report),
        WayFormat::Json => way_json(&report),
        WayFormat::Csv => way_csv(&report),
    })?;
    match &found {
        Answer::Way(way) => {
            let part = body.name.clone();
            let (way, seat_mm) = (way.clone(), seen.seat_mm);
            let step = PartStep { part, way, seat_mm, remarks: seen.remarks.clone(), after: Vec::new() };
            draw(args, scene, std::slice::from_ref(&body.name), &[step])?;
        }
        Answer::NoneFound(_) if half => {}
        _ => draw(args, scene, &[], &[])?,
    }
    Ok(match found {
        Answer::Way(_) => Exit::Clear,
        Answer::Impossible(_) => Exit::Found,
        Answer::NoneFound(_) if cage.is_some() && !half => Exit::Found,
        Answer::NoneFound(_) if half && interrupt::pressed() => {
            answer("Breaks were not looked for: the search was ended early.\n")?;
            Exit::NoAnswer
        }
        Answer::NoneFound(_) if half => {
            answer("\n")?;
            let breaks = breaks(args, scene, &shapes, body, begin)?;
            tell_breaks(args, scene, body, &breaks)?;
            if breaks.won.is_some() || cage.is_some() { Exit::Found } else { Exit::NoAnswer }
        }
        Answer::NoneFound(_) => Exit::NoAnswer,
    })
}

/// What is too heavy for hands comes straight down by its hoist point, or not at all.
fn lift(
    args: &Args,
    scene: &Scene,
    shapes: &Shapes,
    body: &Body,
    seen: &Seen,
    by: (f64, &Hoist),
) -> Result<Exit, Failure> {
    let failed = |error| Wrong::new(error, "give the body a shape, and figures that are plain numbers");
    let lift = straight_lift(scene, shapes, body, &args.without, args.gap, by).map_err(failed)?;
    let report = LiftReport {
        scene,
        body: &body.name,
        gap: args.gap,
        seed: args.seed,
        without: &args.without,
        names: &seen.names,
        limit_kg: args.mass_limit,
        lift: &lift,
    };
    answer(&match args.format {
        WayFormat::Text => lift_text(&report),
        WayFormat::Json => lift_json(&report),
        WayFormat::Csv => lift_csv(&report),
    })?;
    let step = lift.is_free().then(|| PartStep {
        part: body.name.clone(),
        way: lift.way.clone(),
        seat_mm: None,
        remarks: lift.remarks.clone(),
        after: Vec::new(),
    });
    draw(args, scene, std::slice::from_ref(&body.name), step.as_slice())?;
    Ok(if lift.is_free() { Exit::Clear } else { Exit::Found })
}

fn breaks(
    args: &Args,
    scene: &Scene,
    shapes: &Shapes,
    body: &Body,
    begin: Instant,
) -> Result<Breaks, Failure> {
    let side = match args.from {
        From::Side(side) => side,
        From::Pose(_) => {
            aside("note: pieces are not brought from a pose; they come from above");
            Side::Above
        }
    };
    let look = Look {
        gap: args.gap,
        sides: vec![side],
        seed: args.seed,
        mass_limit_kg: args.mass_limit,
        until: begin + args.time,
        cancel: Some(interrupt::flag()),
    };
    let found = find_breaks(&BreakAsk {
        scene,
        shapes,
        body,
        without: &args.without,
        joint: args.joint,
        most_pieces: usize::from(args.pieces),
        look: &look,
    });
    Ok(found.map_err(|error| Wrong::new(error, "give the body a tube that can be, and plain figures"))?)
}

fn tell_breaks(args: &Args, scene: &Scene, body: &Body, breaks: &Breaks) -> Result<(), Failure> {
    let report = BreakReport {
        scene,
        body: &body.name,
        gap: args.gap,
        seed: args.seed,
        without: &args.without,
        breaks,
    };
    answer(&match args.format {
        WayFormat::Text => breaks_text(&report),
        WayFormat::Json => breaks_json(&report),
        WayFormat::Csv => breaks_csv(&report),
    })?;
    match &breaks.won {
        Some(won) => draw(args, &won.scene, &won.pieces, &won.found.steps),
        None => draw(args, scene, &[], &[]),
    }
}

/// The film strip, where one is asked for.
fn draw(args: &Args, scene: &Scene, kit: &[String], steps: &[PartStep]) -> Result<(), Failure> {
    let Some(path) = &args.film else { return Ok(()) };
    if steps.is_empty() {
        aside("there is no way to be drawn, so no film strip is written");
        return Ok(());
    }
    Strip { scene, kit, without: &args.without, gap: args.gap }.save(steps, 1, path)?;
    aside(&format!("the film strip is in {}", path.display()));
    Ok(())
}
