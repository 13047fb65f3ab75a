//! Places, directions, boxes and lengths as they are written on the command line.

use nalgebra::{Point3, Unit, Vector3};

use crate::cli::said::{Failure, Wrong};
use crate::route::{FitUp, Port};
use crate::scene::Scene;
use crate::space::{Angle, Bounds, Direction, Length, LengthUnit};
use crate::tube::{JointKind, joint_size};

pub(super) fn known_body(scene: &Scene, name: &str) -> Result<(), Failure> {
    if scene.body(name).is_some() {
        return Ok(());
    }
    let known = listed(scene.bodies.iter().map(|body| body.name.as_str()));
    Err(Wrong::new(format!("no body is called `{name}`"), format!("name one of {known}")).into())
}

pub(super) fn size(text: &str, bare: LengthUnit, what: &str) -> Result<f64, Failure> {
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
pub(super) fn port(text: &str, scene: &Scene) -> Result<(Port, Option<usize>), Failure> {
    if let Some(frame) = scene.frames.iter().find(|frame| frame.name == text.trim()) {
        let pose = frame.world_from_frame;
        let out = Unit::new_normalize(pose * Vector3::z());
        let port = Port { at: pose.translation.vector.into(), out, straight_mm: 0.0, fit_up: FitUp::EXACT };
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
    Ok((Port { at, out, straight_mm: 0.0, fit_up: FitUp::EXACT }, None))
}

pub(super) fn zone(text: &str, units: LengthUnit) -> Result<Bounds, Failure> {
    let Some((low, high)) = text.split_once(" to ") else {
        return Err(Wrong::new(format!("`{text}` is no box"), "write `300,-50,600 to 420,50,700`").into());
    };
    let (low, high) = (triple(low, units, "a corner")?, triple(high, units, "a corner")?);
    Ok(Bounds::of_points(&[low.into(), high.into()]))
}

pub(super) fn listed<'a>(names: impl Iterator<Item = &'a str>) -> String {
    let names: Vec<String> = names.map(|name| format!("`{name}`")).collect();
    if names.is_empty() { "none".to_owned() } else { names.join(", ") }
}

/// What a joint of which nothing is known is fitted up to: `common practice, no source`.
const BY_HAND: (f64, f64) = (0.5, 0.5 * std::f64::consts::PI / 180.0);

/// How far off a port a tube may end: as said, or half of what the joint takes (the other half is for movement), and at least
/// what is fitted up by hand.
pub(super) fn fit_up(
    text: Option<&str>,
    units: LengthUnit,
    joint: Option<JointKind>,
    outside_mm: f64,
) -> Result<FitUp, Failure> {
    let Some(text) = text else {
        let takes = joint.map(|kind| joint_size(kind, outside_mm).absorbs);
        let (offset_mm, angle_rad) = takes.map_or((0.0, 0.0), |takes| (takes.offset_mm, takes.angle_rad));
        return Ok(FitUp {
            offset_mm: (offset_mm / 2.0).max(BY_HAND.0),
            angle_rad: (angle_rad / 2.0).max(BY_HAND.1),
        });
    };
    if text.trim() == "exact" {
        return Ok(FitUp::EXACT);
    }
    let cure = "write `0.5 mm, 0.5 deg`, or `exact`";
    let Some((offset, angle)) = text.split_once(',') else {
        return Err(Wrong::new(format!("`{text}` is no fit-up"), cure).into());
    };
    let offset_mm = size(offset.trim(), units, "the offset of --fit-up")?;
    let angle =
        Angle::parse(angle.trim()).map_err(|error| Wrong::told("the angle of --fit-up", error, cure))?;
    if !(0.0..=20.0).contains(&angle.deg()) {
        let found = format!("the angle of --fit-up is {angle}; it must lie within 0 and 20 deg");
        return Err(Wrong::new(found, cure).into());
    }
    Ok(FitUp { offset_mm, angle_rad: angle.rad() })
}
