//! `baywright order`: which part goes in after which, the install card, and what must come out.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use crate::assembly::{
    BrokenOrder, ComeOutAsk, Look, MASS_LIMIT_KG, OrderAsk, PartStep, Reached, Shapes, Side, find_order,
    find_order_with_breaks, must_come_out,
};
use crate::check::{CheckOptions, Checker, Verdict};
use crate::report::{
    CardPictures, OrderReport, card_markdown, come_out_json, come_out_text, order_csv, order_json, order_text,
};
use crate::scene::{Scene, write_whole};
use crate::space::Length;
use crate::tube::JointKind;

use super::Exit;
use super::film::Strip;
use super::fitted_out::FittedOut;
use super::interrupt;
use super::said::{Failure, Wrong, answer, aside};
use super::way_in::{WayFormat, joint, kg, room, time};

/// Find an order in which all parts of a kit go in, or what must come out for one body
///
/// Parts are the scene's `kit`, or every candidate. Each part has a way in among those before it, every instant of it proved
/// clear; parts that block each other are named. Exit codes: 0 an order of all parts; 1 parts that block each other, or that are
/// proved not to go in; 3 no way found for some part within the time.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright order demo-scenes/van/scene.yaml --script demo-scenes/van/scripts/second-position.rhai --card card.md"
)]
pub struct Args {
    /// The scene file (YAML).
    scene: PathBuf,
    /// Run this script on the scene first; the scene file is left as it is.
    #[arg(long, value_name = "SCRIPT")]
    script: Option<PathBuf>,
    /// A part of the kit, instead of those that the scene names; may be given again.
    #[arg(long, value_name = "BODY")]
    part: Vec<String>,
    /// The reverse: which parts must come out before this body does, or before this service point is clear.
    #[arg(long = "for", value_name = "BODY")]
    goal: Option<String>,
    /// Write the install card (Markdown) to this file.
    ///
    /// A picture of each step's moves goes beside it: card-1.png, card-2.png beside card.md.
    #[arg(long, value_name = "FILE", conflicts_with = "goal")]
    card: Option<PathBuf>,
    /// Draw no pictures beside the card.
    #[arg(long, requires = "card")]
    no_pictures: bool,
    /// Least gap on the way; a bare number is millimetres.
    #[arg(long, value_name = "LENGTH", default_value = "3 mm", value_parser = room, allow_hyphen_values = true)]
    gap: Length,
    /// A side that parts come from: above, below, front, left, right; may be given again. [default: above]
    #[arg(long, value_name = "SIDE", value_parser = side)]
    from: Vec<Side>,
    /// Take this body off first; may be given again.
    #[arg(long, value_name = "BODY")]
    without: Vec<String>,
    /// Where no way is found for a pipe, break it into two or three pieces that go in; they become parts of the order.
    #[arg(long, conflicts_with = "goal")]
    breaks: bool,
    /// What closes a break: v-band, slip, flange, coupler, bellows or weld.
    #[arg(long, value_name = "KIND", default_value = "v-band", value_parser = joint, requires = "breaks")]
    joint: JointKind,
    /// Pieces at most: 2 or 3.
    #[arg(long, default_value_t = 3, value_parser = clap::value_parser!(u8).range(2..=3), requires = "breaks")]
    pieces: u8,
    /// Parts that weigh more, kg, must come straight down from above by their `hoist` point.
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
    /// How the answer is written; csv holds the poses.
    #[arg(long, value_enum, default_value_t)]
    format: WayFormat,
}

fn side(text: &str) -> Result<Side, String> {
    Side::from_word(text).ok_or_else(|| "sides are: above, below, front, left, right".to_owned())
}

fn known(scene: &Scene) -> String {
    scene.bodies.iter().map(|body| body.name.as_str()).collect::<Vec<_>>().join(", ")
}

/// The parts that are asked about, each a body of the scene.
fn kit(args: &Args, scene: &Scene) -> Result<Vec<String>, Failure> {
    let (said, parts) = match (args.part.is_empty(), scene.kit.is_empty()) {
        (false, _) => ("--part", args.part.clone()),
        (true, false) => ("`kit` of the scene", scene.kit.clone()),
        (true, true) => {
            let candidates = scene.bodies.iter().filter(|body| body.candidate);
            ("candidates", candidates.map(|body| body.name.clone()).collect())
        }
    };
    if let Some(name) = parts.iter().find(|name| scene.body(name).is_none()) {
        let cure = match args.script {
            Some(_) => format!("bodies are: {}", known(scene)),
            None => format!("name the script that places it (--script); bodies are: {}", known(scene)),
        };
        return Err(Wrong::new(format!("{said}: there is no body `{name}`"), cure).into());
    }
    if let Some((at, name)) = parts.iter().enumerate().find(|(at, name)| parts[..*at].contains(name)) {
        return Err(Wrong::new(
            format!("{said}: `{name}` is there twice (number {})", at + 1),
            "name it once",
        )
        .into());
    }
    if let Some(name) = args.without.iter().find(|name| scene.body(name).is_none()) {
        return Err(Wrong::new(
            format!("`--without {name}`: the scene has no such body"),
            format!("bodies are: {}", known(scene)),
        )
        .into());
    }
    if let Some(name) = args.without.iter().find(|name| parts.contains(name)) {
        return Err(Wrong::new(
            format!("`{name}` is a part, so it cannot be taken off first"),
            "leave it out of --without, or name the other parts with --part",
        )
        .into());
    }
    if parts.is_empty() {
        return Err(Wrong::new(
            "there are no parts to be mounted",
            "name them in the scene (`kit: [..]`), mark bodies `candidate: true`, give --part, or place them by --script",
        )
        .into());
    }
    Ok(parts)
}

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    let (begin, cancel) = (Instant::now(), Some(interrupt::listen()));
    let ready = FittedOut::load(&args.scene, args.script.as_deref())?;
    let scene = ready.scene();
    let parts = kit(args, scene)?;
    let sides = if args.from.is_empty() { vec![Side::Above] } else { args.from.clone() };
    let look = Look {
        gap: args.gap,
        sides,
        seed: args.seed,
        mass_limit_kg: args.mass_limit,
        until: begin + args.time,
        cancel,
    };
    let shapes = Shapes::of(scene);
    if let Some(card) = &args.card {
        super::new_file::is_no_input(card, &args.scene, scene)?;
        let folder = card.parent().filter(|folder| !folder.as_os_str().is_empty());
        if let Some(folder) = folder.filter(|folder| !folder.is_dir()) {
            let what = format!("the card cannot be written: there is no folder {}", folder.display());
            return Err(Wrong::new(what, "give a path in a folder that exists and may be written to").into());
        }
    }
    if let Some(goal) = &args.goal {
        return come_out(args, scene, &shapes, &parts, &look, goal);
    }
    let ask = OrderAsk {
        scene,
        shapes: &shapes,
        kit: &parts,
        without: &args.without,
        look: &look,
        levels: 3,
        explain: true,
    };
    let BrokenOrder { found, scene: with_pieces, broken } = match args.breaks {
        true => find_order_with_breaks(&ask, args.joint, usize::from(args.pieces)),
        false => {
            find_order(&ask).map(|found| BrokenOrder { found, scene: scene.clone(), broken: Vec::new() })
        }
    }
    .map_err(wrong)?;
    let report = OrderReport {
        scene: &with_pieces,
        gap: args.gap,
        seed: args.seed,
        without: &args.without,
        found: &found,
        broken: &broken,
    };
    // A pipe in pieces is no part any more; its pieces are.
    let mut kit = parts.clone();
    for (name, won) in broken.iter().filter_map(|(name, breaks)| Some((name, breaks.won.as_ref()?))) {
        kit.retain(|part| part != name);
        kit.extend(won.pieces.iter().cloned());
    }
    if found.steps.is_empty() && args.card.is_some() {
        aside("no part goes in, so there is no install card");
    } else if let Some(path) = &args.card {
        let strip = Strip { scene: &with_pieces, kit: &kit, without: &args.without, gap: args.gap };
        let pictures = pictures(args, &strip, &found.steps, path)?;
        write_whole(path, card_markdown(&report, &pictures).as_bytes()).map_err(|error| {
            let what = format!("the card {} could not be written: {error}", path.display());
            Wrong::new(what, "give a path in a folder that exists and may be written to")
        })?;
        aside(&format!("the install card is in {}", path.display()));
    }
    answer(&match args.format {
        WayFormat::Text => order_text(&report),
        WayFormat::Json => order_json(&report),
        WayFormat::Csv => order_csv(&report),
    })?;
    Ok(if found.stuck.is_empty() {
        Exit::Clear
    } else if !found.interlocks.is_empty() || found.stuck.iter().any(|stuck| stuck.proof.is_some()) {
        Exit::Found
    } else {
        Exit::NoAnswer
    })
}

/// Pictures beside the card, one a step; where none can be drawn the card goes without them and says so.
fn pictures(
    args: &Args,
    strip: &Strip<'_>,
    steps: &[PartStep],
    card: &Path,
) -> Result<CardPictures, Failure> {
    if args.no_pictures {
        return Ok(CardPictures::Without("none were asked for".to_owned()));
    }
    if cfg!(not(feature = "viewer")) {
        let why = "this build of Baywright has no viewer, so it draws none";
        aside(&format!("the install card has no pictures: {why}"));
        return Ok(CardPictures::Without(why.to_owned()));
    }
    let stem = card.file_stem().unwrap_or_default().to_string_lossy();
    let mut files = Vec::with_capacity(steps.len());
    for (at, step) in steps.iter().enumerate() {
        let file = format!("{stem}-{}.png", at + 1);
        let path = card.with_file_name(&file);
        super::film::can_write(&path, &args.scene, strip.scene)?;
        match strip.save(std::slice::from_ref(step), at + 1, &path) {
            Ok(()) => files.push(file),
            // The first tells for all; a card without pictures is better than none.
            Err(failure) => {
                let why = failure.words();
                aside(&format!("the install card has no pictures: {why}"));
                return Ok(CardPictures::Without(why));
            }
        }
    }
    Ok(CardPictures::Drawn(files))
}

fn wrong(error: crate::assembly::AssemblyError) -> Failure {
    Wrong::new(error, "give every part a shape, and figures that are plain numbers").into()
}

fn come_out(
    args: &Args,
    scene: &Scene,
    shapes: &Shapes,
    parts: &[String],
    look: &Look<'_>,
    goal: &str,
) -> Result<Exit, Failure> {
    let ask = ComeOutAsk { scene, shapes, parts, look };
    let point = scene.service.iter().find(|point| point.name == goal);
    let (told, found) = match (scene.body(goal), point) {
        (Some(_), _) => (format!("`{goal}` out"), must_come_out(&ask, goal, None)),
        (None, Some(point)) => {
            let mut checker = Checker::new();
            let mut reached = |out: &[String]| point_clear(&mut checker, scene, goal, out);
            (format!("service point `{goal}` clear"), must_come_out(&ask, &point.body, Some(&mut reached)))
        }
        (None, None) => {
            let points: Vec<&str> = scene.service.iter().map(|point| point.name.as_str()).collect();
            let cure = format!("bodies are: {}; service points are: {}", known(scene), points.join(", "));
            let what = format!("`--for {goal}`: the scene has neither such a body nor such a service point");
            return Err(Wrong::new(what, cure).into());
        }
    };
    let found = found.map_err(wrong)?;
    answer(&match args.format {
        WayFormat::Text => come_out_text(&told, parts, &found, args.seed),
        WayFormat::Json => come_out_json(&told, &found, args.seed),
        WayFormat::Csv => {
            return Err(Wrong::new("--for has no poses of its own", "use --format text or json").into());
        }
    })?;
    let stuck = found.ways.as_ref().is_some_and(|ways| !ways.stuck.is_empty());
    Ok(if found.reached && !stuck { Exit::Clear } else { Exit::NoAnswer })
}

/// Whether a service point is clear with some bodies out; where it is not, the bodies that its finding names.
fn point_clear(checker: &mut Checker, scene: &Scene, point: &str, out: &[String]) -> Reached {
    let mut open = scene.clone();
    open.bodies.retain(|body| !out.contains(&body.name));
    // Only the service point is asked about.
    open.service.retain(|one| one.name == point);
    open.rules.clear();
    open.joined.clear();
    let options = CheckOptions { cures: 0, ..CheckOptions::default() };
    let findings = checker.check(&open, None, &options);
    let start = format!("service point `{point}`:");
    match findings.list.iter().find(|finding| finding.rule.starts_with(&start)) {
        Some(finding) if finding.verdict == Verdict::Clear => Reached::Yes,
        Some(finding) => {
            let named = |name: &str| finding.message.contains(&format!("`{name}`"));
            let by = open.bodies.iter().filter(|body| named(&body.name));
            Reached::No { by: by.map(|body| body.name.clone()).collect() }
        }
        // It could not be asked about: that is no clear.
        None => Reached::No { by: Vec::new() },
    }
}
