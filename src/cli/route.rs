//! `baywright route`: tubes that the tool finds itself between two ports.

use std::path::PathBuf;
use std::sync::Arc;

use clap::ValueEnum;
use nalgebra::{Point3, Unit, Vector3};

use crate::calc::Flow;
use crate::check::{ShapeStore, route_obstacles, tubes_in};
use crate::report::{BenchPiece, RouteReport, routes_json, routes_text};
use crate::route::{Maker, Port, Route, RouteAsk, RouteTube, find_routes};
use crate::scene::{Body, Joined, Placement, Scene, SceneDocument, Span};
use crate::solid::{Ball, Shape};
use crate::space::{Bounds, Direction, Length, LengthUnit, Pose};
use crate::tube::{BenchOptions, BendList, CornerLine, TubeMaterial, bench_sheet, jig_points};

use super::Exit;
use super::bend_list::{bender_of, body_of};
use super::fitted_out::{FittedOut, SceneArgs};
use super::flow_text::{flow_keys, flow_of_text};
use super::said::{Failure, Wrong, answer, aside};

/// Find routes for a tube between two ports: makeable, and clear of everything through all movement
///
/// A port is a frame of the scene, whose z axis points out into the tube, or `x,y,z toward dx,dy,dz` (or `toward up`) in
/// vehicle axes. With --instead-of a tube of the scene is routed anew: its ends, size, material, roles, carrier and what
/// it is joined to are taken from it, and it stands in nobody's way.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Example: baywright route demo-scenes/van/scene.yaml --from first-compressor-inlet --to \"640,300,900 toward up\" --diameter 50.8 --wall 1.65 --bender mandrel-rotary --carried-by engine --role cold --role pipe --joined-to first-compressor"
)]
pub struct Args {
    #[command(flatten)]
    scene: SceneArgs,
    /// A tube of the scene that the route is to replace.
    #[arg(long, value_name = "BODY")]
    instead_of: Option<String>,
    /// Where the tube begins.
    #[arg(long, value_name = "PORT", allow_hyphen_values = true)]
    from: Option<String>,
    /// Where the tube ends.
    #[arg(long, value_name = "PORT", allow_hyphen_values = true)]
    to: Option<String>,
    /// Outside diameter; a bare number takes the scene's units.
    #[arg(long, value_name = "LENGTH")]
    diameter: Option<String>,
    /// Wall.
    #[arg(long, value_name = "LENGTH")]
    wall: Option<String>,
    /// Thickness of wrap and coating.
    #[arg(long, value_name = "LENGTH")]
    wrap: Option<String>,
    /// Material, as the scene knows it.
    #[arg(long, value_name = "NAME")]
    material: Option<String>,
    /// A role by which room rules know the tube; may be given several times. Default: `pipe`.
    #[arg(long, value_name = "ROLE")]
    role: Vec<String>,
    /// The carrier that the tube rides on. Default: that of the first port.
    #[arg(long, value_name = "CARRIER")]
    carried_by: Option<String>,
    /// A body that an end is joined to; it does not see the tube's ends. May be given several times.
    #[arg(long, value_name = "BODY")]
    joined_to: Vec<String>,
    /// A body that is left out; may be given several times.
    #[arg(long, value_name = "BODY")]
    without: Vec<String>,
    /// The bender, by its name in the scene or the library.
    #[arg(long, value_name = "NAME", conflicts_with = "stock")]
    bender: Option<String>,
    /// Make it of ready-made bends of the scene and the library, cut to the angle and welded.
    #[arg(long)]
    stock: bool,
    /// With --stock: bends are not cut.
    #[arg(long, requires = "stock")]
    whole: bool,
    /// Straight that the joint at the first port needs.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    start_straight: String,
    /// Straight that the joint at the last port needs.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    end_straight: String,
    /// Tube left on at the start while bending, and cut off.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    start_extra: String,
    /// Tube left on at the end while bending, and cut off.
    #[arg(long, value_name = "LENGTH", default_value = "0 mm")]
    end_extra: String,
    /// Standard uncertainty with which the tube will be placed, each axis. Default: none, or that of the tube replaced.
    #[arg(long, value_name = "LENGTH")]
    sigma: Option<String>,
    /// A box that the tube may not enter: `x,y,z to x,y,z`. May be given several times.
    #[arg(long, value_name = "BOX", allow_hyphen_values = true)]
    forbid: Vec<String>,
    /// A box in which it should run where it can.
    #[arg(long, value_name = "BOX", allow_hyphen_values = true)]
    prefer: Vec<String>,
    /// What flows through it from start to end, in any order: `air, 0.3 kg/s, 60 deg C, 250 kPa`; `exhaust`, `water` or
    /// `880 kg/m3, 0.012 Pa s`; pressures are absolute; `rough 0.05 mm` if it is. Default: what the tube replaced says.
    #[arg(long, value_name = "FLOW", allow_hyphen_values = true)]
    flow: Option<String>,
    /// What comes first in the list: fewest bends and shortest, or least pressure loss, or most room.
    #[arg(long, value_enum, default_value_t)]
    rank: Rank,
    /// Most bends.
    #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u8).range(0..=6))]
    bends: u8,
    /// Which route of the list is told in full, written as YAML or saved.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pick: usize,
    /// Tell where a weld jig should touch the picked route as it stands in the vehicle.
    #[arg(long)]
    jig: bool,
    /// How the answer is written.
    #[arg(long, value_enum, default_value_t)]
    format: RouteFormat,
    /// Save the scene file with the picked route as a body, beside the files that it names.
    #[arg(long, value_name = "FILE")]
    save: Option<PathBuf>,
    /// Name of that body.
    #[arg(long, value_name = "NAME", default_value = "route")]
    name: String,
}

/// What comes first in the list.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum Rank {
    /// Fewest bends, then the shortest.
    #[default]
    Bends,
    /// Least pressure loss; needs a flow.
    Loss,
    /// Most room.
    Room,
}

/// How an answer is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
enum RouteFormat {
    /// For people: 80 columns.
    #[default]
    Text,
    /// For programs: one stable, versioned document.
    Json,
    /// The picked route as a body, to paste into a scene.
    Yaml,
}

/// Straight left for a weld between two stock bends, mm: `common practice, no source`.
const WELD_MM: f64 = 10.0;

pub(super) fn run(args: &Args) -> Result<Exit, Failure> {
    if let Some(new) = &args.save {
        super::new_file::is_new(new)?;
    }
    let ready = FittedOut::load(&args.scene.scene, args.scene.script.as_deref())?;
    let scene = ready.scene();
    let tube = told(args, scene)?;
    let maker = maker(args, scene)?;
    let obstacles =
        route_obstacles(scene, &tube.body, &tube.without, &tube.joined, &mut ShapeStore::default());
    let zones = |texts: &[String]| -> Result<Vec<Bounds>, Failure> {
        texts.iter().map(|text| zone(text, scene.units)).collect()
    };
    let asked = RouteAsk {
        start: tube.start.clone(),
        end: tube.end.clone(),
        tube: tube.size,
        maker,
        movement: scene.carriers[tube.body.carrier].movement.clone(),
        obstacles,
        forbidden: zones(&args.forbid)?,
        preferred: zones(&args.prefer)?,
        flow: flow(args, scene, &tube)?,
        most_bends: usize::from(args.bends),
    };
    let mut found = find_routes(&asked).map_err(|error| {
        let cure = "change the tube, the bender or the ports; --help tells how each is given";
        Wrong::told("no route can be sought", error, cure)
    })?;
    match args.rank {
        Rank::Bends => {}
        Rank::Loss => {
            let loss = |route: &Route| route.flow.as_ref().map_or(f64::INFINITY, |flow| flow.loss_pa);
            found.routes.sort_by(|a, b| loss(a).total_cmp(&loss(b)));
        }
        Rank::Room => found.routes.sort_by(|a, b| b.room_mm.total_cmp(&a.room_mm)),
    }
    let picked = match found.routes.as_slice() {
        [] => None,
        routes => Some(args.pick.checked_sub(1).and_then(|at| routes.get(at)).ok_or_else(|| {
            Wrong::new(
                format!("there is no route {}", args.pick),
                format!("pick one of 1 to {}", routes.len()),
            )
        })?),
    };
    let report = RouteReport {
        asked: sentence(args, scene, &tube, maker),
        answer: &found,
        picked: match picked {
            Some(route) => Some((args.pick, piece(args, scene, &tube, maker, route)?)),
            None => None,
        },
        preferred: !asked.preferred.is_empty(),
        flow: asked.flow.is_some(),
        ranked: match args.rank {
            Rank::Bends => "Fewest bends first, then the shortest.",
            Rank::Loss => "Least pressure loss first.",
            Rank::Room => "Most room first.",
        },
    };
    match (args.format, picked) {
        (RouteFormat::Yaml, Some(route)) => answer(&yaml(args, scene, &tube, &route.list)?)?,
        (RouteFormat::Json, _) => answer(&routes_json(&report))?,
        _ => answer(&routes_text(&report))?,
    }
    if let (Some(file), Some(route)) = (&args.save, picked) {
        save(args, scene, &tube, route, file)?;
    }
    Ok(if found.routes.is_empty() { Exit::NoAnswer } else { Exit::Clear })
}

/// The flow asked for, or that of the tube replaced.
fn flow(args: &Args, scene: &Scene, tube: &Told) -> Result<Option<Flow>, Failure> {
    let flow = match &args.flow {
        Some(text) => Some(flow_of_text(text, scene.units)?),
        None => tube.body.flow.map(|told| told.flow),
    };
    if args.rank == Rank::Loss && flow.is_none() {
        let cure = "give --flow, such as --flow \"air, 0.3 kg/s, 60 deg C, 250 kPa\"";
        return Err(Wrong::new("without a flow there is no pressure loss to rank by", cure).into());
    }
    if flow.is_some() && tube.size.wall_mm.is_none() {
        return Err(
            Wrong::new("a flow needs the tube's bore, and its wall is not said", "give --wall").into()
        );
    }
    Ok(flow)
}

/// The tube as it is asked for.
struct Told {
    /// Roles, carrier, name, placement; its shape stands for nothing.
    body: Body,
    size: RouteTube,
    start: Port,
    end: Port,
    joined: Vec<String>,
    without: Vec<String>,
}

fn told(args: &Args, scene: &Scene) -> Result<Told, Failure> {
    let old = args.instead_of.as_deref().map(|name| replaced(scene, name)).transpose()?;
    let length = |text: &str, what: &str| size(text, scene.units, what);
    let given =
        |text: &Option<String>, what: &str| text.as_deref().map(|text| length(text, what)).transpose();
    let missing = |what: &str, option: &str| {
        Wrong::new(format!("{what} is not said"), format!("give {option}, or a tube with --instead-of"))
    };
    let start_mm = length(&args.start_straight, "--start-straight")?;
    let end_mm = length(&args.end_straight, "--end-straight")?;
    let ends = [
        (
            &args.from,
            start_mm,
            old.as_ref().map(|old| old.list.start),
            1.0,
            "where the tube begins",
            "--from PORT",
        ),
        (&args.to, end_mm, old.as_ref().map(|old| old.list.end()), -1.0, "where the tube ends", "--to PORT"),
    ];
    let mut ports = Vec::new();
    let mut carrier = old.as_ref().map(|old| old.body.carrier);
    for (text, straight_mm, own, sign, what, option) in ends {
        match (text, own) {
            (Some(text), _) => {
                let (mut port, on) = port(text, scene)?;
                port.straight_mm = straight_mm;
                if let (Some(one), Some(other)) = (carrier, on)
                    && one != other
                {
                    aside(&format!(
                        "the ports ride on `{}` and `{}`: the route rides on the first; `baywright check` judges the joint",
                        scene.carriers[one].name, scene.carriers[other].name
                    ));
                }
                carrier = carrier.or(on);
                ports.push(port);
            }
            (None, Some(pose)) => ports.push(Port {
                at: pose.translation.vector.into(),
                out: Unit::new_normalize(pose * Vector3::x() * sign),
                straight_mm,
            }),
            (None, None) => return Err(missing(what, option).into()),
        }
    }
    let outside_mm = match given(&args.diameter, "--diameter")? {
        Some(mm) => mm,
        None => {
            old.as_ref().map(|old| old.outside_mm).ok_or_else(|| missing("the diameter", "--diameter"))?
        }
    };
    let wall_mm = given(&args.wall, "--wall")?.or(old.as_ref().and_then(|old| old.wall_mm));
    let old_cover = old.as_ref().map_or(0.0, |old| old.body.cover.mm());
    let cover_mm = given(&args.wrap, "--wrap")?.unwrap_or(old_cover);
    let old_body = old.as_ref().map(|old| &old.body);
    let material = args.material.clone().or_else(|| old_body.and_then(|body| body.material.clone()));
    if let Some(name) = &material
        && scene.material(name).is_none()
    {
        let known = listed(scene.materials.iter().map(|one| one.name.as_str()));
        return Err(
            Wrong::new(format!("no material is called `{name}`"), format!("name one of {known}")).into()
        );
    }
    for role in &args.role {
        if !scene.roles.contains(role) {
            let known = listed(scene.roles.iter().map(String::as_str));
            return Err(
                Wrong::new(format!("no role is called `{role}`"), format!("name one of {known}")).into()
            );
        }
    }
    let roles = match (args.role.is_empty(), old_body) {
        (false, _) => args.role.clone(),
        (true, Some(body)) => body.roles.clone(),
        (true, None) => vec!["pipe".to_owned()],
    };
    let carrier = match &args.carried_by {
        Some(name) => scene.carriers.iter().position(|one| one.name == *name).ok_or_else(|| {
            let known = listed(scene.carriers.iter().map(|one| one.name.as_str()));
            Wrong::new(format!("no carrier is called `{name}`"), format!("name one of {known}"))
        })?,
        None => carrier.unwrap_or(0),
    };
    let mut joined = args.joined_to.clone();
    let mut without = args.without.clone();
    for name in joined.iter().chain(&without) {
        known_body(scene, name)?;
    }
    if let Some(old) = &old {
        let name = &old.body.name;
        joined.extend(scene.joined.iter().filter_map(|pair| {
            match (&pair.one == name, &pair.other == name) {
                (true, _) => Some(pair.other.clone()),
                (_, true) => Some(pair.one.clone()),
                _ => None,
            }
        }));
        without.push(name.clone());
    }
    let middle = nalgebra::center(&ports[0].at, &ports[1].at);
    let mut placement = old_body.map_or_else(|| Placement::exact(middle), |body| body.placement.clone());
    if let Some(sigma) = given(&args.sigma, "--sigma")? {
        placement = Placement::exact(middle);
        for axis in 0..3 {
            placement.covariance[(axis, axis)] = sigma * sigma;
        }
    }
    let reach = (ports[1].at - ports[0].at).norm() / 2.0 + outside_mm;
    let elongation = material.as_deref().and_then(TubeMaterial::find).map(|one| one.elongation);
    let body = Body {
        name: args.name.clone(),
        // Something of the tube's extent: what turns it little shifts its ends by that arm.
        shape: Arc::new(Shape::Ball(Ball { radius_mm: reach })),
        world_from_body: Pose::translation(middle.x, middle.y, middle.z),
        carrier,
        roles,
        material,
        bent_by: None,
        hot_c: old_body.and_then(|body| body.hot_c),
        flow: old_body.and_then(|body| body.flow),
        mass_kg: None,
        hoist: None,
        hose: None,
        kept: false,
        may_move: None,
        candidate: true,
        cover: Length::from_mm(cover_mm),
        placement,
        fit: None,
        span: Span::default(),
    };
    let [start, end]: [Port; 2] =
        ports.try_into().map_err(|_| Wrong::new("two ports are needed", "give --from and --to"))?;
    let size = RouteTube { outside_mm, wall_mm, cover_mm, elongation };
    Ok(Told { body, size, start, end, joined, without })
}

/// A tube of the scene that is to be replaced.
struct Replaced {
    body: Body,
    list: BendList,
    outside_mm: f64,
    wall_mm: Option<f64>,
}

fn replaced(scene: &Scene, name: &str) -> Result<Replaced, Failure> {
    let body = body_of(scene, name)?;
    let mut tubes = Vec::new();
    tubes_in(&body.shape, &Pose::identity(), &mut tubes);
    let [(body_from_tube, tube)] = tubes.as_slice() else {
        return Err(
            Wrong::new(format!("`{name}` is not one tube"), "name a body whose shape is a tube").into()
        );
    };
    let list = CornerLine::of_tube(tube)
        .bend_list()
        .map_err(|error| Wrong::new(format!("`{name}`: {error}"), "correct the tube where it is made"))?
        .moved(&(body.world_from_body * body_from_tube));
    Ok(Replaced { body: body.clone(), list, outside_mm: 2.0 * tube.radius_mm, wall_mm: tube.wall_mm })
}

fn maker<'a>(args: &Args, scene: &'a Scene) -> Result<Maker<'a>, Failure> {
    let left_on = |text: &str, what: &str| size(text, scene.units, what);
    if args.stock {
        return Ok(Maker::Stock { set: &scene.stock_bends, cut: !args.whole, between_mm: WELD_MM });
    }
    let Some(name) = &args.bender else {
        let known = listed(scene.benders.iter().map(|one| one.name.as_str()));
        let cure = format!("give --stock, or --bender with one of {known}");
        return Err(Wrong::new("it is not said what bends the tube", cure).into());
    };
    Ok(Maker::Bender {
        bender: bender_of(scene, name)?,
        start_extra_mm: left_on(&args.start_extra, "--start-extra")?,
        end_extra_mm: left_on(&args.end_extra, "--end-extra")?,
    })
}

fn known_body(scene: &Scene, name: &str) -> Result<(), Failure> {
    if scene.body(name).is_some() {
        return Ok(());
    }
    let known = listed(scene.bodies.iter().map(|body| body.name.as_str()));
    Err(Wrong::new(format!("no body is called `{name}`"), format!("name one of {known}")).into())
}

fn size(text: &str, bare: LengthUnit, what: &str) -> Result<f64, Failure> {
    match Length::parse(text, bare) {
        Ok(length) if length.mm() >= 0.0 => Ok(length.mm()),
        Ok(_) => Err(Wrong::new(format!("{what} is `{text}`, under zero"), "give zero or more").into()),
        Err(error) => Err(Wrong::told(what, error, "write a length such as `63.5 mm`").into()),
    }
}

/// Three numbers or lengths with commas.
fn triple(text: &str, bare: LengthUnit, what: &str) -> Result<Vector3<f64>, Failure> {
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    let [x, y, z] = parts.as_slice() else {
        let found = format!("`{text}` has {} parts where {what} has three", parts.len());
        return Err(Wrong::new(found, "write `645,260,575`").into());
    };
    let one = |text: &str| {
        Length::parse(text, bare)
            .map(Length::mm)
            .map_err(|error| Wrong::told(what, error, "write `645,260,575`"))
    };
    Ok(Vector3::new(one(x)?, one(y)?, one(z)?))
}

/// A port, and the carrier of its frame.
fn port(text: &str, scene: &Scene) -> Result<(Port, Option<usize>), Failure> {
    if let Some(frame) = scene.frames.iter().find(|frame| frame.name == text.trim()) {
        let pose = frame.world_from_frame;
        let out = Unit::new_normalize(pose * Vector3::z());
        let port = Port { at: pose.translation.vector.into(), out, straight_mm: 0.0 };
        return Ok((port, Some(frame.carrier)));
    }
    let Some((at, toward)) = text.split_once("toward") else {
        let frames = listed(scene.frames.iter().map(|frame| frame.name.as_str()));
        let cure = format!("name a frame ({frames}), or write `645,260,575 toward -1,0,0`");
        return Err(Wrong::new(format!("`{text}` is no port"), cure).into());
    };
    let at = Point3::from(triple(at, scene.units, "a place")?);
    let out = match Direction::from_word(toward.trim()) {
        Some(direction) => direction.unit(),
        // A direction has no unit: only its parts' shares count.
        None => {
            Unit::try_new(triple(toward, LengthUnit::Millimetre, "a direction")?, 1e-9).ok_or_else(|| {
                Wrong::new(
                    format!("`{}` is no direction", toward.trim()),
                    "write `toward up` or `toward 0,0,1`",
                )
            })?
        }
    };
    Ok((Port { at, out, straight_mm: 0.0 }, None))
}

fn zone(text: &str, units: LengthUnit) -> Result<Bounds, Failure> {
    let Some((low, high)) = text.split_once(" to ") else {
        return Err(Wrong::new(format!("`{text}` is no box"), "write `300,-50,600 to 420,50,700`").into());
    };
    let (low, high) = (triple(low, units, "a corner")?, triple(high, units, "a corner")?);
    Ok(Bounds::of_points(&[low.into(), high.into()]))
}

fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

fn sentence(args: &Args, scene: &Scene, tube: &Told, maker: Maker<'_>) -> String {
    let told = |port: &Port, text: &Option<String>| match text {
        Some(text) if !text.contains("toward") => text.clone(),
        _ => format!("({:.1}, {:.1}, {:.1})", port.at.x, port.at.y, port.at.z),
    };
    let by = match maker {
        Maker::Bender { bender, .. } => format!("bent by {}", bender.name),
        Maker::Stock { cut: true, .. } => "of stock bends, cut and welded".to_owned(),
        Maker::Stock { cut: false, .. } => "of whole stock bends, welded".to_owned(),
    };
    let wrap = if tube.size.cover_mm > 0.0 {
        format!(", {:.1} mm of wrap", tube.size.cover_mm)
    } else {
        String::new()
    };
    format!(
        "routes from {} to {}: tube of {:.2} mm{wrap}, {by}, carried by {}{}",
        told(&tube.start, &args.from),
        told(&tube.end, &args.to),
        tube.size.outside_mm,
        scene.carriers[tube.body.carrier].name,
        if tube.body.roles.is_empty() {
            String::new()
        } else {
            format!(", as {}", tube.body.roles.join(", "))
        }
    )
}

fn piece<'a>(
    args: &Args,
    scene: &'a Scene,
    tube: &'a Told,
    maker: Maker<'a>,
    route: &Route,
) -> Result<BenchPiece<'a>, Failure> {
    let (bender, start_extra_mm, end_extra_mm) = match maker {
        Maker::Bender { bender, start_extra_mm, end_extra_mm } => {
            (Some(bender), start_extra_mm, end_extra_mm)
        }
        Maker::Stock { .. } => (None, 0.0, 0.0),
    };
    let material = tube.body.material.as_deref();
    let options = BenchOptions {
        outside_mm: tube.size.outside_mm,
        wall_mm: tube.size.wall_mm,
        density_kg_m3: material.and_then(|name| scene.material(name)).map(|one| one.density_kg_m3),
        material,
        bender,
        start_extra_mm,
        end_extra_mm,
    };
    let sheet = bench_sheet(&route.list, &options)
        .map_err(|error| Wrong::new(format!("route {}: {error}", args.pick), "pick another route"))?;
    let jig = if args.jig {
        jig_points(&route.list, tube.size.outside_mm, &Vector3::z_axis())
    } else {
        Ok(Vec::new())
    };
    let jig =
        jig.map_err(|error| Wrong::new(format!("route {}: {error}", args.pick), "pick another route"))?;
    Ok(BenchPiece {
        name: args.name.clone(),
        outside_mm: options.outside_mm,
        wall_mm: options.wall_mm,
        material,
        bender,
        sheet,
        findings: Vec::new(),
        jig,
        flow: route.flow,
    })
}

/// The route as a body of a scene.
fn yaml(args: &Args, scene: &Scene, tube: &Told, list: &BendList) -> Result<String, Failure> {
    let line = list
        .corners()
        .map_err(|error| Wrong::new(format!("route {}: {error}", args.pick), "pick another route"))?;
    let unit = if scene.units == LengthUnit::Millimetre { "" } else { " mm" };
    // A thousand-millionth of a millimetre is kept, as scenes are saved elsewhere.
    let length = |mm: f64| format!("{}{unit}", (mm * 1e9).round() / 1e9 + 0.0);
    let points: Vec<String> = line
        .points
        .iter()
        .map(|at| format!("[{}, {}, {}]", length(at.x), length(at.y), length(at.z)))
        .collect();
    let wall = tube.size.wall_mm.map_or_else(String::new, |wall| format!("wall: {}, ", length(wall)));
    let radius = match line.radii_mm.as_slice() {
        [] => String::new(),
        [first, rest @ ..] if rest.iter().all(|radius| (radius - first).abs() < 1e-9) => {
            format!(", bend_radius: {}", length(*first))
        }
        all => {
            let all: Vec<String> = all.iter().map(|radius| length(*radius)).collect();
            format!(", bend_radius: [{}]", all.join(", "))
        }
    };
    let quoted = |text: &str| serde_json::Value::from(text).to_string();
    let mut out = format!(
        "{}:\n  shape: {{tube: {{diameter: {}, {wall}points: [{}]{radius}}}}}\n",
        quoted(&args.name),
        length(tube.size.outside_mm),
        points.join(", ")
    );
    let body = &tube.body;
    let roles: Vec<String> = body.roles.iter().map(|role| quoted(role)).collect();
    out.push_str(&format!("  carried_by: {}\n", quoted(&scene.carriers[body.carrier].name)));
    out.push_str(&format!("  role: [{}]\n", roles.join(", ")));
    if let Some(material) = &body.material {
        out.push_str(&format!("  material: {}\n", quoted(material)));
    }
    if tube.size.cover_mm > 0.0 {
        out.push_str(&format!("  wrap: {}\n", length(tube.size.cover_mm)));
    }
    let variance = (0..3).map(|axis| body.placement.covariance[(axis, axis)]).fold(0.0, f64::max);
    if variance > 0.0 {
        out.push_str(&format!("  sigma: {}\n", length(variance.sqrt())));
    }
    let by = args.bender.as_deref().unwrap_or("stock");
    out.push_str(&format!("  bent_by: {}\n", quoted(by)));
    if let Some(degrees) = body.hot_c {
        out.push_str(&format!("  hot_to: {degrees}\n"));
    }
    let limits = body.flow.map(|told| told.limits).unwrap_or_default();
    if let Some(flow) = flow(args, scene, tube)? {
        out.push_str(&format!("  flow: {{{}}}\n", flow_keys(&flow, &limits, &length(flow.roughness_mm))));
    }
    out.push_str("  candidate: true\n");
    Ok(out)
}

fn save(
    args: &Args,
    scene: &Scene,
    tube: &Told,
    route: &Route,
    file: &std::path::Path,
) -> Result<(), Failure> {
    let mut document = SceneDocument::open(&args.scene.scene)?;
    if document.scene().body(&args.name).is_some() {
        document.remove_body(&args.name)?;
    }
    document.add_body(&yaml(args, scene, tube, &route.list)?)?;
    for other in &tube.joined {
        if document.scene().body(other).is_none() {
            aside(&format!(
                "`{other}` is not in the scene file (a script places it): no joint with it is written"
            ));
            continue;
        }
        let (one, other) = (args.name.clone(), other.clone());
        document.add_joined(&Joined {
            one,
            other,
            by: "to be said".to_owned(),
            joint: None,
            span: Span::default(),
        })?;
    }
    document.save_as(file)?;
    aside(&format!("route {} is in {} as `{}`", args.pick, file.display(), args.name));
    Ok(())
}
