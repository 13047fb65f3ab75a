//! The tube that is asked for: from the options, or from the tube that it replaces.

use std::sync::Arc;

use nalgebra::{Unit, Vector3};

use super::args::Args;
use super::port::{fit_up, known_body, listed, port, size};
use crate::check::{ShapeStore, joint_ends, tubes_in};
use crate::cli::bend_list::{bender_of, body_of};
use crate::cli::said::{Failure, Wrong, aside};
use crate::route::{FitUp, Maker, Port, RouteTube};
use crate::scene::{Body, Placement, Scene, Span};
use crate::solid::{Ball, Shape};
use crate::space::{Length, Pose};
use crate::tube::{BendList, CornerLine, TubeMaterial};

/// Straight left for a weld between two stock bends, mm: `common practice, no source`.
const WELD_MM: f64 = 10.0;

/// The tube as it is asked for.
pub(super) struct Told {
    /// Roles, carrier, name, placement; its shape stands for nothing.
    pub body: Body,
    pub size: RouteTube,
    pub start: Port,
    pub end: Port,
    pub joined: Vec<String>,
    pub without: Vec<String>,
}

pub(super) fn told(args: &Args, scene: &Scene) -> Result<Told, Failure> {
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
                fit_up: FitUp::EXACT,
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
    let joints = match &old {
        Some(old) => joint_ends(scene, &old.body, &mut ShapeStore::default()),
        None => [None, None],
    };
    for (port, joint) in ports.iter_mut().zip(joints) {
        port.fit_up = fit_up(args.fit_up.as_deref(), scene.units, joint, outside_mm)?;
    }
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
        mass_kg: old_body.and_then(|body| body.mass_kg),
        hoist: old_body.and_then(|body| body.hoist),
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

pub(super) fn maker<'a>(args: &Args, scene: &'a Scene) -> Result<Maker<'a>, Failure> {
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
