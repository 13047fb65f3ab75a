//! The question put, and the answer told.

use nalgebra::Vector3;

use super::args::{Args, Rank, RouteFormat};
use super::body::{save, yaml};
use super::port::zone;
use super::tube::{Told, maker, told};
use crate::calc::Flow;
use crate::check::{ShapeStore, route_obstacles};
use crate::cli::Exit;
use crate::cli::fitted_out::FittedOut;
use crate::cli::flow_text::flow_of_text;
use crate::cli::said::{Failure, Wrong, answer};
use crate::report::{BenchPiece, RouteReport, routes_json, routes_text};
use crate::route::{Maker, Port, Route, RouteAsk, find_routes};
use crate::scene::Scene;
use crate::space::Bounds;
use crate::tube::{BenchOptions, bench_sheet, jig_points};

pub(in crate::cli) fn run(args: &Args) -> Result<Exit, Failure> {
    if let Some(new) = &args.save {
        crate::cli::new_file::is_new(new)?;
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
pub(super) fn flow(args: &Args, scene: &Scene, tube: &Told) -> Result<Option<Flow>, Failure> {
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
