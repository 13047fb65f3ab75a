//! Free room about a cap that must be turned and a filler that must be poured into.

use std::sync::Arc;

use nalgebra::UnitQuaternion;

use crate::access::{
    AccessError, Bodies, Leaning, RoomAbout, SwingAsk, Tool, leans_free, pour_room, swing, turn_room,
};
use crate::check::{FigureUnit, Verdict};
use crate::clearance::IndexedShape;
use crate::scene::{ServiceKind, ServicePoint};
use crate::solid::{Capsule, Shape};
use crate::space::{Angle, Axis, Length, Pose, pose_of_turn};

use super::bay::Bay;
use super::part::{Part, Spread};
use super::slack::{AtBest, MOST_MM, SLIM_SHARE, grown};

/// Gaps beyond this and every uncertainty are all alike.
const AMPLE_MM: f64 = 50.0;

/// Judges the room that the kind of service needs about its axis; nothing for kinds that need none.
pub(super) fn judge(
    bay: &Bay,
    slack_mm: &[f64],
    point: &ServicePoint,
    axis: &Axis,
) -> Result<Vec<Part>, AccessError> {
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    // Only what needs room of its own is asked about.
    if !matches!(point.kind, ServiceKind::Turn { .. } | ServiceKind::Pour { .. }) {
        return Ok(Vec::new());
    }
    let rooms = Rooms::new(bay, slack_mm)?;
    match &point.kind {
        ServiceKind::Turn { grip_radius, grip_height, swing } => {
            let what = format!("the turning hand ({grip_radius} about the axis, {grip_height} high)");
            let mut all_round = rooms.told(&what, &|bodies, limit_mm| {
                turn_room(bodies, &without, axis, grip_radius.mm(), grip_height.mm(), limit_mm)
            })?;
            let Some(asked) = swing else { return Ok(vec![all_round]) };
            // Then the arc decides, and the room all round is told for what it is.
            let arc = hand_swing(bay, slack_mm, &without, axis, (*grip_radius, *grip_height), *asked)?;
            all_round.figure.required = None;
            all_round.figure.verdict = Verdict::Clear;
            Ok(vec![arc, all_round])
        }
        ServiceKind::Pour { spout_radius, spout_length, container_radius, container_height, tilt } => {
            let what = format!("the spout ({spout_radius} about its line, {spout_length} long)");
            let mut parts = vec![rooms.told(&what, &|bodies, limit_mm| {
                pour_room(bodies, &without, axis, spout_radius.mm(), spout_length.mm(), limit_mm)
            })?];
            if container_height.mm() > 0.0 {
                let above = axis.through + axis.along.into_inner() * spout_length.mm();
                let above = Axis { through: above, along: axis.along };
                let (radius, height) = (container_radius.mm(), container_height.mm());
                let what = format!(
                    "the container above ({container_radius} about the line, {container_height} high)"
                );
                let mut part = rooms.told(&what, &|bodies, limit_mm| {
                    turn_room(bodies, &without, &above, radius, height, limit_mm)
                })?;
                part.figure.what = "container";
                parts.push(part);
                if let Some(asked) = tilt {
                    let container = Leaning {
                        over: above,
                        mouth_mm: 0.0,
                        radius_mm: radius,
                        height_mm: height,
                        toward: Angle::ZERO,
                        most: *asked,
                    };
                    parts.push(leans(bay, slack_mm, &without, container)?);
                }
            }
            Ok(parts)
        }
        _ => Ok(Vec::new()),
    }
}

/// Sides to which a container is leant.
const SIDES: u32 = 24;

/// How far the container leans aside, to the side where it surely leans farthest.
fn leans(bay: &Bay, slack_mm: &[f64], without: &[usize], container: Leaning) -> Result<Part, AccessError> {
    let stands_off = grown(&bay.bodies, slack_mm)?;
    let most_mm = SLIM_SHARE * container.radius_mm.min(0.5 * container.height_mm);
    let at_best = AtBest::new(&bay.bodies, without, slack_mm, most_mm)?;
    let slim_mm = at_best.slim_mm;
    let slim = Leaning {
        mouth_mm: slim_mm,
        radius_mm: container.radius_mm - slim_mm,
        height_mm: container.height_mm - 2.0 * slim_mm,
        ..container
    };
    let asked = container.most.deg();
    let mut best: Option<(Spread, Angle)> = None;
    for side in 0..SIDES {
        let toward = Angle::from_deg(360.0 * f64::from(side) / f64::from(SIDES));
        let deg = |bodies: &Bodies, without: &[usize], container: &Leaning| {
            Ok(leans_free(bodies, without, &Leaning { toward, ..*container })?.deg())
        };
        let sure = deg(&stands_off, without, &container)?;
        let spread = match sure >= asked {
            true => Spread { sure, nominal: sure, may: sure },
            false => {
                let nominal = deg(&bay.bodies, without, &container)?.max(sure);
                let may = deg(&at_best.bodies, &at_best.without, &slim)?.max(nominal);
                Spread { sure, nominal, may }
            }
        };
        let key = |spread: &Spread| [spread.sure, spread.nominal, spread.may];
        if best.as_ref().is_none_or(|(known, _)| key(&spread) > key(known)) {
            best = Some((spread, toward));
        }
        if sure >= asked {
            break;
        }
    }
    let (spread, toward) = best.unwrap_or((Spread { sure: 0.0, nominal: 0.0, may: 0.0 }, Angle::ZERO));
    let side =
        super::posture::toward_words(&(pose_of_turn(&container.over, toward) * Tool::zero(&container.over)));
    let said = format!("the container leans {:.0} deg to the {side}, {asked:.0} asked for", spread.nominal);
    Ok(Part::spread("tilt", FigureUnit::Deg, spread, asked, said))
}

/// The arc over which a hand's bar turns about a cap: from the axis to the grip's radius, as thick as the grip is high.
fn hand_swing(
    bay: &Bay,
    slack_mm: &[f64],
    without: &[usize],
    axis: &Axis,
    (grip_radius, grip_height): (Length, Length),
    asked: Angle,
) -> Result<Part, AccessError> {
    let thick_mm = 0.5 * grip_height.mm();
    let mut stop: Option<usize> = None;
    let mut deg = |bodies: &Bodies, without: &[usize], slim_mm: f64| -> Result<f64, AccessError> {
        let radius_mm = thick_mm - slim_mm;
        let core_mm = (grip_radius.mm() - thick_mm).max(0.1);
        let bar = Shape::Capsule(Capsule { radius_mm, core_mm });
        let turn = UnitQuaternion::from_axis_angle(&nalgebra::Vector3::y_axis(), std::f64::consts::FRAC_PI_2);
        let lie = Pose::from_parts(nalgebra::Vector3::new(0.5 * core_mm, 0.0, thick_mm).into(), turn);
        let ask = SwingAsk {
            bodies,
            without,
            lever: &IndexedShape::new(Arc::new(bar)),
            world_from_lever: on_axis(axis) * lie,
            axis: *axis,
            from_rad: 0.0,
            to_rad: std::f64::consts::TAU,
            room_mm: 0.0,
            tolerance_rad: Angle::from_deg(0.05).rad(),
        };
        let found = swing(&ask)?;
        let widest = found.widest();
        stop = stop.or(widest.and_then(|arc| arc.stopped_to.or(arc.stopped_from)));
        Ok(widest.map_or(0.0, |arc| Angle::from_rad(arc.sweep_rad()).deg()))
    };
    let nominal = deg(&bay.bodies, without, 0.0)?;
    let sure = deg(&grown(&bay.bodies, slack_mm)?, without, 0.0)?.min(nominal);
    let may = match nominal >= asked.deg() {
        true => nominal,
        false => {
            let best = AtBest::new(&bay.bodies, without, slack_mm, SLIM_SHARE * thick_mm)?;
            deg(&best.bodies, &best.without, best.slim_mm)?.max(nominal)
        }
    };
    let spread = Spread { sure, nominal, may };
    let name = stop.and_then(|body| bay.bodies.list().get(body)).map(|body| body.name.as_str());
    let by = name.map_or_else(String::new, |name| format!(", stopped by `{name}`"));
    let said = format!("the hand on it swings {nominal:.0} deg{by}, {:.0} asked for", asked.deg());
    Ok(Part::spread("swing", FigureUnit::Deg, spread, asked.deg(), said))
}

/// The frame whose z is an axis, its origin where the axis passes through.
pub(super) fn on_axis(axis: &Axis) -> Pose {
    let turn = UnitQuaternion::rotation_between(&nalgebra::Vector3::z(), &axis.along).unwrap_or_else(|| {
        UnitQuaternion::from_axis_angle(&nalgebra::Vector3::x_axis(), std::f64::consts::PI)
    });
    Pose::from_parts(axis.through.coords.into(), turn)
}

/// The bodies of a bay as they are drawn, and as ill and as well as they may stand.
struct Rooms<'a> {
    bay: &'a Bay,
    grown: Bodies,
    /// Each grown by what the worst known stands off more than it: gaps to them, and that on top, are gaps at best.
    at_best: Bodies,
    worst_mm: f64,
    known: bool,
}

impl<'a> Rooms<'a> {
    fn new(bay: &'a Bay, slack_mm: &[f64]) -> Result<Self, AccessError> {
        let slack_mm: Vec<f64> = slack_mm.iter().map(|mm| mm.min(MOST_MM)).collect();
        let worst_mm = slack_mm.iter().copied().fold(0.0, f64::max);
        let rest: Vec<f64> = slack_mm.iter().map(|mm| worst_mm - mm).collect();
        let stands_off = grown(&bay.bodies, &slack_mm)?;
        let at_best = grown(&bay.bodies, &rest)?;
        Ok(Rooms { bay, grown: stands_off, at_best, worst_mm, known: worst_mm <= 0.0 })
    }

    /// Judges a room. A gap to one body changes by no more than the body stands off, so the least of all gaps, each less
    /// or more by that, is what the room is at worst and at best.
    fn told(
        &self,
        what: &str,
        room_of: &dyn Fn(&Bodies, f64) -> Result<RoomAbout, AccessError>,
    ) -> Result<Part, AccessError> {
        // Gaps beyond what is asked by this much are all alike, however badly the bodies are known.
        let ample_mm = AMPLE_MM + self.worst_mm;
        let room = room_of(&self.bay.bodies, ample_mm)?;
        let nominal = room.gap_mm;
        let (sure_room, may) = match self.known {
            true => (room, nominal),
            false => {
                let sure = room_of(&self.grown, ample_mm)?;
                let short = nominal < 0.0;
                let may =
                    if short { room_of(&self.at_best, ample_mm)?.gap_mm + self.worst_mm } else { nominal };
                (sure, may.max(nominal))
            }
        };
        let spread = Spread { sure: sure_room.gap_mm.min(nominal), nominal, may };
        let name = |room: &RoomAbout| {
            room.nearest.and_then(|near| self.bay.bodies.list().get(near.body)).map(|body| body.name.as_str())
        };
        let gap = Length::from_mm(nominal);
        let verdict = spread.verdict(0.0);
        let mut said = match name(&room) {
            None => format!("{what} has all the room it needs"),
            Some(body) if nominal < 0.0 => format!("{what} is blocked by `{body}` by {}", -gap),
            Some(body) => format!("{what} clears `{body}` by {gap}"),
        };
        if let (Verdict::Undecided, Some(body)) = (verdict, name(&sure_room)) {
            said += &format!(", as drawn; `{body}` is not known well enough");
        }
        let mut part = Part::spread("room", FigureUnit::Mm, spread, 0.0, said);
        let nearest = if verdict == Verdict::Undecided { sure_room.nearest } else { room.nearest };
        part = part.at(nearest.map(|near| near.on_body));
        // With nothing near there is no gap to tell, only that it is ample.
        part.figure.at_least = room.nearest.is_none();
        Ok(part)
    }
}
