//! Which tools of the set turn a fastener, and the best of them.

use std::sync::Arc;

use nalgebra::{Point3, Rotation3, Unit, UnitQuaternion, Vector3};
use rayon::prelude::*;

use crate::access::{
    AccessError, Bodies, FreeArc, Lever, Tool, ToolAsk, clear_about, free_travel, tool_on_axis,
};
use crate::check::{FigureUnit, Verdict};
use crate::clearance::IndexedShape;
use crate::scene::{Scene, ServiceKind, ServicePoint, ServiceTool, ToolEntry, WrenchJob};
use crate::solid::{Capsule, Compound, Cylinder, Shape};
use crate::space::{Angle, Axis, Pose, pose_of_turn};

use super::bay::Bay;
use super::part::{Part, Spread};
use super::slack::grown;

/// The tool begins so far above the seat: a washer is there. Common practice, no source.
const WASHER_MM: f64 = 1.0;
/// A section is no thinner than this when it is tried slimmer.
const THIN_MM: f64 = 0.2;
/// Places within an arc at which a tool is taken off.
const PLACES: [f64; 5] = [0.5, 0.25, 0.75, 0.05, 0.95];
/// How closely a free travel is found, mm.
const TRAVEL_TOLERANCE_MM: f64 = 0.02;
/// The hand holds the lever at this share of its length.
const GRIP_SHARE: f64 = 0.85;

/// What became of a fastener: its part, and where the hand holds the tool that was chosen.
pub(super) struct Turned {
    pub part: Part,
    pub grip: Option<Point3<f64>>,
}

/// One tool tried on the fastener.
struct Tried<'a> {
    tool: &'a ServiceTool,
    spread: Spread,
    /// The hand's place, in the widest arc.
    grip: Option<Point3<f64>>,
    /// What stops it, with the place.
    stop: Option<(String, Option<Point3<f64>>)>,
}

/// Judges a fastener or a clamp's nut; nothing for other kinds.
pub(super) fn judge(
    scene: &Scene,
    bay: &Bay,
    slack_mm: &[f64],
    point: &ServicePoint,
    axis: &Axis,
) -> Result<Option<Turned>, AccessError> {
    let (ServiceKind::Wrench(job) | ServiceKind::Clamp(job)) = &point.kind else { return Ok(None) };
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    let allowed = |name: &String| point.from.is_empty() || point.from.contains(name);
    let people: Vec<(Point3<f64>, f64)> = scene
        .standing
        .iter()
        .filter(|place| allowed(&place.name))
        .map(|place| (place.shoulder, place.reach.mm()))
        .collect();
    let ask = Fastener { job, axis, without: &without, people: &people };
    let set: Vec<&ServiceTool> = scene
        .tools
        .iter()
        // What measures torque is taken where torque is asked for, or by name.
        .filter(|tool| tool.may_do(job) && (job.torque || !tool.torque || !job.tools.is_empty()))
        .collect();
    let stands_off = grown(&bay.bodies, slack_mm)?;
    let tried: Result<Vec<Tried<'_>>, AccessError> =
        set.par_iter().map(|tool| tried(bay, &stands_off, slack_mm, tool, &ask)).collect();
    let tried = tried?;
    let Some(best) = tried.iter().reduce(|best, next| if next.better_than(best, &ask) { next } else { best })
    else {
        let spread = Spread { sure: 0.0, nominal: 0.0, may: 0.0 };
        let said = format!("no tool of the set fits {}", job.size);
        let part = Part::spread("swing", FigureUnit::Deg, spread, 1.0, said);
        return Ok(Some(Turned { part, grip: None }));
    };
    // How far the best one swings as drawn; of the others it is enough that they surely do.
    let mut spread = best.spread;
    if best.verdict(job) == Verdict::Clear {
        let drawn = swing_of(&bay.bodies, best.tool, &ask, 0.0)?;
        spread = Spread { nominal: drawn.deg.max(spread.sure), may: drawn.deg.max(spread.sure), ..spread };
    }
    let works: Vec<String> = tried
        .iter()
        .filter(|one| one.verdict(job) == Verdict::Clear)
        .map(|one| format!("`{}` {:.0} deg", one.tool.name, one.spread.sure))
        .collect();
    let (name, asked) = (&best.tool.name, asked_deg(best.tool, job));
    let swing = format!("`{name}` swings {:.0} deg, {asked:.0} asked for", spread.nominal);
    let said = match best.verdict(job) {
        Verdict::Clear => {
            format!(
                "{swing}; of {} tools {} work, and swing at least: {}",
                tried.len(),
                works.len(),
                works.join(", ")
            )
        }
        Verdict::Undecided => {
            let stop = best.stop.as_ref().map(|(stop, _)| format!(" ({stop})")).unwrap_or_default();
            format!(
                "{swing}, as drawn; what is near is not known well enough for any of {} tools{stop}",
                tried.len()
            )
        }
        _ => {
            let stop = best.stop.as_ref().map_or("it has no swing", |(stop, _)| stop.as_str());
            format!("none of {} tools works; `{name}` comes nearest: {stop}", tried.len())
        }
    };
    let place = best.stop.as_ref().and_then(|(_, place)| *place);
    let part = Part::spread("swing", FigureUnit::Deg, spread, asked, said).at(place);
    Ok(Some(Turned { part, grip: best.grip }))
}

/// The fastener, as tools are tried on it.
struct Fastener<'a> {
    job: &'a WrenchJob,
    axis: &'a Axis,
    without: &'a [usize],
    /// Shoulders and reaches, mm.
    people: &'a [(Point3<f64>, f64)],
}

impl Fastener<'_> {
    /// How much longer the best arm is than the straight way to a place, mm.
    fn spare_mm(&self, at: &Point3<f64>) -> f64 {
        self.people
            .iter()
            .map(|(shoulder, reach)| reach - (at - shoulder).norm())
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

/// The swing that is needed with a tool, degrees.
fn asked_deg(tool: &ServiceTool, job: &WrenchJob) -> f64 {
    tool.click.deg().max(job.turn.map_or(0.0, Angle::deg))
}

impl Tried<'_> {
    fn verdict(&self, job: &WrenchJob) -> Verdict {
        self.spread.verdict(asked_deg(self.tool, job))
    }

    /// First by verdict, then by whether an arm gets to its grip, then by swing; of two alike the first of the set stays.
    fn better_than(&self, other: &Self, ask: &Fastener<'_>) -> bool {
        let order = self.verdict(ask.job).cmp(&other.verdict(ask.job)).reverse();
        // An arm that has this much to spare needs no more, mm.
        const SPARE_MM: f64 = 50.0;
        let spare = |one: &Self| one.grip.map_or(0.0, |grip| ask.spare_mm(&grip).min(SPARE_MM));
        let swing = |one: &Self| one.spread.sure.min(one.spread.nominal);
        order
            .then(spare(self).total_cmp(&spare(other)))
            .then(swing(self).total_cmp(&swing(other)))
            .then(self.spread.nominal.total_cmp(&other.spread.nominal))
            == std::cmp::Ordering::Greater
    }
}

fn tried<'a>(
    bay: &Bay,
    stands_off: &Bodies,
    slack_mm: &[f64],
    tool: &'a ServiceTool,
    ask: &Fastener<'_>,
) -> Result<Tried<'a>, AccessError> {
    let asked = asked_deg(tool, ask.job);
    let sure = swing_of(stands_off, tool, ask, 0.0)?;
    if sure.deg >= asked {
        let spread = Spread { sure: sure.deg, nominal: sure.deg, may: sure.deg };
        return Ok(Tried { tool, spread, grip: sure.grip, stop: None });
    }
    let far_mm = axis_reach_mm(tool);
    let slack_mm = (0..slack_mm.len())
        .filter(|body| bay.bodies.bounds_of(*body).distance_mm(&ask.axis.through) < far_mm)
        .map(|body| slack_mm[body])
        .fold(0.0, f64::max);
    let drawn = if slack_mm > 0.0 { swing_of(&bay.bodies, tool, ask, 0.0)? } else { sure.clone() };
    let may_deg = match drawn.deg < asked && slack_mm > 0.0 {
        true => swing_of(&bay.bodies, tool, ask, slack_mm)?.deg,
        false => drawn.deg,
    };
    // What stops it as drawn is told; where nothing does, what stops it when all stand as ill as they may.
    let spread = Spread { sure: sure.deg.min(drawn.deg), nominal: drawn.deg, may: may_deg.max(drawn.deg) };
    Ok(Tried { tool, spread, grip: sure.grip.or(drawn.grip), stop: drawn.stop.or(sure.stop) })
}

/// No point of a tool is farther from the seat than this, mm.
fn axis_reach_mm(tool: &ServiceTool) -> f64 {
    let high = tool.head_mm + tool.shank_mm.0 + tool.drive_mm.0;
    let wide = tool.lever_mm.map_or(0.0, |(height, length, radius)| length + radius + height.abs());
    high.max(wide) + tool.drive_mm.1 + tool.off_mm
}

/// The widest arc over which a tool sits, turns and comes off again.
#[derive(Clone, Default)]
struct Swung {
    deg: f64,
    grip: Option<Point3<f64>>,
    stop: Option<(String, Option<Point3<f64>>)>,
}

/// Proves the swing of a tool that is `slim_mm` slimmer all round.
fn swing_of(
    bodies: &Bodies,
    tool: &ServiceTool,
    ask: &Fastener<'_>,
    slim_mm: f64,
) -> Result<Swung, AccessError> {
    let Fastener { job, axis, without, .. } = *ask;
    let made = made(tool, job, slim_mm);
    let off_mm = if tool.entry == ToolEntry::Along { tool.off_mm } else { 0.0 };
    let fit = tool_on_axis(&ToolAsk { bodies, without, tool: &made, axis: *axis, off_mm, room_mm: 0.0 })?;
    let name = |body: usize| bodies.list().get(body).map_or("", |body| body.name.as_str());
    let stopped = |stop: String, place| Ok(Swung { stop: Some((stop, place)), ..Swung::default() });
    if fit.seated.gap_mm < 0.0 {
        let near = fit.seated.nearest;
        let by = near.map_or("something", |near| name(near.body));
        return stopped(format!("`{by}` is where its head must sit"), near.map(|near| near.on_body));
    }
    if fit.rises_mm < off_mm {
        let stop =
            format!("along its axis it rises {:.1} mm of the {off_mm:.1} that take it off", fit.rises_mm);
        return stopped(stop, Some(axis.through));
    }
    let Some(swing) = &fit.swing else {
        // Turned by its top, which is round: it turns as far as one likes.
        let top: f64 = made.sections_mm.iter().map(|(_, to, _)| *to).fold(0.0, f64::max);
        let grip = axis.through + axis.along.into_inner() * top;
        return Ok(Swung { deg: 360.0, grip: Some(grip), stop: None });
    };
    let asked = asked_deg(tool, job);
    let mut arcs: Vec<&FreeArc> = swing.arcs.iter().collect();
    arcs.sort_by(|a, b| b.sweep_rad().total_cmp(&a.sweep_rad()).then(a.from_rad.total_cmp(&b.from_rad)));
    let Some(widest) = arcs.first() else {
        return stopped("its lever is free at no angle".to_owned(), Some(axis.through));
    };
    let wide_deg = Angle::from_rad(widest.sweep_rad()).deg();
    if wide_deg < asked {
        let ends: Vec<&str> =
            [widest.stopped_from, widest.stopped_to].into_iter().flatten().map(name).collect();
        let between = match ends.as_slice() {
            [one, other] if one != other => format!(" between `{one}` and `{other}`"),
            [one, ..] => format!(" by `{one}`"),
            [] => String::new(),
        };
        let stop = format!("it swings {wide_deg:.1} deg{between}, {asked:.0} asked for");
        return Ok(Swung { deg: wide_deg, grip: None, stop: Some((stop, Some(axis.through))) });
    }
    // The widest arc in which it comes off counts; the hand goes where an arm gets to best.
    let (height, length) = made.lever.map_or((0.0, 0.0), |lever| (lever.height_mm, lever.length_mm));
    let grip_at = |angle: Angle| {
        let out = pose_of_turn(axis, angle) * fit.zero;
        axis.through + axis.along.into_inner() * height + out.into_inner() * (GRIP_SHARE * length)
    };
    let mut found: Option<(f64, f64, Point3<f64>)> = None;
    for arc in arcs.iter().filter(|arc| Angle::from_rad(arc.sweep_rad()).deg() >= asked) {
        let mut places: Vec<(f64, Angle, Point3<f64>)> = PLACES
            .iter()
            .map(|share| {
                let angle = Angle::from_rad(arc.from_rad + share * arc.sweep_rad());
                let grip = grip_at(angle);
                (ask.spare_mm(&grip), angle, grip)
            })
            .collect();
        places.sort_by(|a, b| b.0.total_cmp(&a.0));
        let off = places
            .into_iter()
            .find(|(_, angle, _)| comes_off(bodies, without, tool, &made, axis, &fit.zero, *angle));
        if let Some((spare_mm, _, grip)) = off {
            let deg = Angle::from_rad(arc.sweep_rad()).deg();
            found = match found {
                Some((widest, known_mm, known)) if known_mm >= spare_mm => Some((widest, known_mm, known)),
                Some((widest, ..)) => Some((widest, spare_mm, grip)),
                None => Some((deg, spare_mm, grip)),
            };
        }
    }
    if let Some((deg, _, grip)) = found {
        return Ok(Swung { deg, grip: Some(grip), stop: None });
    }
    let way = if tool.entry == ToolEntry::Along { "up its axis" } else { "back along its lever" };
    stopped(format!("it cannot be put on: it does not come off {way}, lever and all"), Some(axis.through))
}

/// The tool for one size, `slim_mm` slimmer all round.
fn made(tool: &ServiceTool, job: &WrenchJob, slim_mm: f64) -> Tool {
    let slim = |mm: f64| (mm - slim_mm).max(THIN_MM);
    // Across the corners of a hexagon: the width across flats by cos 30 deg.
    let corner_mm = 0.5 * job.size.mm() / (std::f64::consts::PI / 6.0).cos();
    let top_of_head = tool.head_mm.max(2.0 * WASHER_MM);
    let mut sections_mm = vec![(WASHER_MM, top_of_head, slim(corner_mm + tool.wall_mm))];
    let mut top = top_of_head;
    for (height, radius) in [tool.shank_mm, tool.drive_mm] {
        if height > 0.0 {
            sections_mm.push((top, top + height, slim(radius)));
            top += height;
        }
    }
    // Slimmer also means that it ends sooner, below and above.
    for (from, to, _) in &mut sections_mm {
        let middle = 0.5 * (*from + *to);
        (*from, *to) = ((*from + slim_mm).min(middle - 0.1), (*to - slim_mm).max(middle + 0.1));
    }
    let lever = tool.lever_mm.map(|(height_mm, length_mm, radius)| Lever {
        height_mm,
        length_mm,
        radius_mm: slim(radius),
    });
    Tool { name: tool.name.clone(), sections_mm, lever, click: tool.click }
}

/// Whether the whole tool, lever and all, comes off with its lever at an angle: proved.
fn comes_off(
    bodies: &Bodies,
    without: &[usize],
    tool: &ServiceTool,
    made: &Tool,
    axis: &Axis,
    zero: &Unit<Vector3<f64>>,
    angle: Angle,
) -> bool {
    let mut parts: Vec<(Pose, Shape)> = made
        .sections_mm
        .iter()
        .map(|&(from, to, radius_mm)| {
            let section = Shape::Cylinder(Cylinder { radius_mm, length_mm: to - from });
            (Pose::translation(0.0, 0.0, 0.5 * (from + to)), section)
        })
        .collect();
    if let Some(lever) = made.lever {
        // A capsule lies along its own z; the lever along the probe's x.
        let turn = UnitQuaternion::from_axis_angle(&Vector3::y_axis(), std::f64::consts::FRAC_PI_2);
        let at = Vector3::new(0.5 * lever.length_mm, 0.0, lever.height_mm);
        let bar = Shape::Capsule(Capsule { radius_mm: lever.radius_mm, core_mm: lever.length_mm });
        parts.push((Pose::from_parts(at.into(), turn), bar));
    }
    let probe = IndexedShape::new(Arc::new(Shape::Compound(Compound { parts })));
    let (x, z) = (zero.into_inner(), axis.along.into_inner());
    let frame = Rotation3::from_basis_unchecked(&[x, z.cross(&x), z]);
    let seat = Pose::from_parts(axis.through.coords.into(), UnitQuaternion::from_rotation_matrix(&frame));
    let world_from_tool = pose_of_turn(axis, angle) * seat;
    let way = match tool.entry {
        ToolEntry::Along => z,
        ToolEntry::Side => world_from_tool * x,
    };
    let horizon_mm = tool.off_mm + 1.0;
    free_travel(0.0, tool.off_mm, TRAVEL_TOLERANCE_MM, &mut |gone_mm| {
        let shift = way * gone_mm;
        let pose = Pose::translation(shift.x, shift.y, shift.z) * world_from_tool;
        clear_about(bodies, without, &probe, &pose, horizon_mm)
    }) >= tool.off_mm
}
