//! Which tools of the set turn a fastener, and the best of them.

use nalgebra::Point3;
use rayon::prelude::*;

use crate::access::{AccessError, Bodies, FreeArc, TakenOff, ToolAsk, tool_comes_off, tool_on_axis};
use crate::check::{FigureUnit, Shown, Verdict};
use crate::scene::{Scene, ServiceKind, ServicePoint, ServiceTool, ToolEntry, WrenchJob};
use crate::space::{Angle, Axis};

use super::bay::Bay;
use super::part::{Part, Spread};
use super::posture::{Posture, made, slims_by_mm};
use super::slack::{AtBest, grown};

/// Places within an arc at which a tool is taken off.
const PLACES: [f64; 5] = [0.5, 0.25, 0.75, 0.05, 0.95];
/// The hand holds the lever at this share of its length.
const GRIP_SHARE: f64 = 0.85;
/// A swing's fan is drawn with a ray so often: 5 deg.
const FAN_STEP_RAD: f64 = std::f64::consts::PI / 36.0;

/// What became of a fastener: its part, and where the hand holds the tool that was chosen.
pub(super) struct Turned {
    pub part: Part,
    pub grip: Option<Point3<f64>>,
}

/// One tool tried on the fastener.
struct Tried<'a> {
    tool: &'a ServiceTool,
    posture: Posture,
    spread: Spread,
    /// The hand's place, in the widest arc.
    grip: Option<Point3<f64>>,
    /// What stops it, with the place.
    stop: Option<(String, Option<Point3<f64>>)>,
    fan: Option<Fan>,
}

/// Where a lever's root is, and where its end goes.
type Fan = (Point3<f64>, Vec<Point3<f64>>);

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
    let try_all = |straight: bool| -> Result<Vec<Tried<'_>>, AccessError> {
        let postures = |tool: &ServiceTool| match straight {
            true => vec![Posture::default()],
            false => Posture::all(tool),
        };
        set.par_iter()
            .filter(|tool| Posture::bends(tool) != straight)
            .filter_map(|tool| best_of(bay, &stands_off, slack_mm, tool, postures(tool), &ask).transpose())
            .collect()
    };
    let mut tried = try_all(true)?;
    // What has a joint is tried only where nothing straight does: that is dearer, to find and in the hand.
    if tried.iter().all(|one| one.verdict(job) != Verdict::Clear) {
        tried.extend(try_all(false)?);
    }
    let Some(best) = tried.iter().reduce(|best, next| if next.better_than(best, &ask) { next } else { best })
    else {
        let spread = Spread { sure: 0.0, nominal: 0.0, may: 0.0 };
        let said = format!("no tool of the set fits {}", job.size);
        let part = Part::spread("swing", FigureUnit::Deg, spread, 1.0, said);
        return Ok(Some(Turned { part, grip: None }));
    };
    // How far the best one swings as drawn; of the others it is enough that they surely do.
    let (mut spread, mut fan) = (best.spread, best.fan.clone());
    if best.verdict(job) == Verdict::Clear {
        let drawn = swing_of(&bay.bodies, best.tool, &best.posture, &ask, 0.0)?;
        fan = drawn.fan.clone().or(fan);
        spread = Spread { nominal: drawn.deg.max(spread.sure), may: drawn.deg.max(spread.sure), ..spread };
    }
    let works: Vec<String> = tried
        .iter()
        .filter(|one| one.verdict(job) == Verdict::Clear)
        .map(|one| format!("`{}` {:.0} deg", one.tool.name, one.spread.sure))
        .collect();
    let (name, asked) = (&best.tool.name, asked_deg(best.tool, job));
    let how = best.posture.words(axis);
    let swing = format!("`{name}`{how} swings {:.0} deg, {asked:.0} asked for", spread.nominal);
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
            format!("none of {} tools works; `{name}`{how} comes nearest: {stop}", tried.len())
        }
    };
    let place = best.stop.as_ref().and_then(|(_, place)| *place);
    let words = format!("{name}{how} swings {:.0} deg", spread.nominal);
    let shown = fan.map(|(root, rim)| Shown::Fan { root, rim, words });
    let part = Part::spread("swing", FigureUnit::Deg, spread, asked, said).at(place).showing(shown);
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

/// The best of a tool's postures, the first that works at once; none when it has none.
fn best_of<'a>(
    bay: &Bay,
    stands_off: &Bodies,
    slack_mm: &[f64],
    tool: &'a ServiceTool,
    postures: Vec<Posture>,
    ask: &Fastener<'_>,
) -> Result<Option<Tried<'a>>, AccessError> {
    let mut best: Option<Tried<'a>> = None;
    for posture in postures {
        let next = tried(bay, stands_off, slack_mm, tool, posture, ask)?;
        if best.as_ref().is_none_or(|best| next.better_than(best, ask)) {
            best = Some(next);
        }
        if best.as_ref().is_some_and(|best| best.verdict(ask.job) == Verdict::Clear) {
            break;
        }
    }
    Ok(best)
}

fn tried<'a>(
    bay: &Bay,
    stands_off: &Bodies,
    slack_mm: &[f64],
    tool: &'a ServiceTool,
    posture: Posture,
    ask: &Fastener<'_>,
) -> Result<Tried<'a>, AccessError> {
    let asked = asked_deg(tool, ask.job);
    let sure = swing_of(stands_off, tool, &posture, ask, 0.0)?;
    if sure.deg >= asked {
        let spread = Spread { sure: sure.deg, nominal: sure.deg, may: sure.deg };
        return Ok(Tried { tool, posture, spread, grip: sure.grip, stop: None, fan: sure.fan });
    }
    let far_mm = axis_reach_mm(tool);
    let ill_known = (0..slack_mm.len()).any(|body| {
        let off_mm = bay.bodies.bounds_of(body).distance_mm(&ask.axis.through);
        slack_mm[body] > 0.0 && off_mm < far_mm + slack_mm[body]
    });
    let drawn = if ill_known { swing_of(&bay.bodies, tool, &posture, ask, 0.0)? } else { sure.clone() };
    let may_deg = match drawn.deg < asked && ill_known {
        true => {
            let most_mm = slims_by_mm(&made(tool, ask.job, &posture, 0.0));
            let best = AtBest::new(&bay.bodies, ask.without, slack_mm, most_mm)?;
            let ask = Fastener { without: &best.without, ..*ask };
            swing_of(&best.bodies, tool, &posture, &ask, best.slim_mm)?.deg
        }
        false => drawn.deg,
    };
    // What stops it as drawn is told; where nothing does, what stops it when all stand as ill as they may.
    let spread = Spread { sure: sure.deg.min(drawn.deg), nominal: drawn.deg, may: may_deg.max(drawn.deg) };
    let (grip, stop, fan) = (sure.grip.or(drawn.grip), drawn.stop.or(sure.stop), drawn.fan.or(sure.fan));
    Ok(Tried { tool, posture, spread, grip, stop, fan })
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
    fan: Option<Fan>,
}

/// Proves the swing of a tool that is `slim_mm` slimmer all round.
fn swing_of(
    bodies: &Bodies,
    tool: &ServiceTool,
    posture: &Posture,
    ask: &Fastener<'_>,
    slim_mm: f64,
) -> Result<Swung, AccessError> {
    let Fastener { job, axis, without, .. } = *ask;
    let made = made(tool, job, posture, slim_mm);
    let off_mm = if tool.entry == ToolEntry::Along { tool.off_mm } else { 0.0 };
    let on_it = ToolAsk { bodies, without, tool: &made, axis: *axis, off_mm, room_mm: 0.0 };
    let fit = tool_on_axis(&on_it)?;
    let name = |body: usize| bodies.list().get(body).map_or("", |body| body.name.as_str());
    let stopped = |stop: String, place| Ok(Swung { stop: Some((stop, place)), ..Swung::default() });
    if fit.seated.gap_mm <= 0.0 {
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
        let grip = fit.turns_about.through + fit.turns_about.along.into_inner() * top;
        return Ok(Swung { deg: 360.0, grip: Some(grip), stop: None, fan: None });
    };
    let asked = asked_deg(tool, job);
    let mut arcs: Vec<&FreeArc> = swing.arcs.iter().collect();
    arcs.sort_by(|a, b| b.sweep_rad().total_cmp(&a.sweep_rad()).then(a.from_rad.total_cmp(&b.from_rad)));
    let fan_of = |arc: &FreeArc| {
        let lever = made.lever?;
        let steps = (arc.sweep_rad() / FAN_STEP_RAD).ceil().max(1.0);
        let at = |step: f64| Angle::from_rad(arc.from_rad + arc.sweep_rad() * step / steps);
        let rim = (0..=steps as usize)
            .map(|step| lever.at(&fit.turns_about, at(step as f64), lever.length_mm + lever.radius_mm))
            .collect();
        Some((lever.at(&fit.turns_about, Angle::ZERO, 0.0), rim))
    };
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
        return Ok(Swung {
            deg: wide_deg,
            grip: None,
            stop: Some((stop, Some(axis.through))),
            fan: fan_of(widest),
        });
    }
    // The widest arc in which it comes off counts; the hand goes where an arm gets to best.
    let grip_at = |angle: Angle| {
        made.lever
            .map_or(axis.through, |lever| lever.at(&fit.turns_about, angle, GRIP_SHARE * lever.length_mm))
    };
    // An open jaw goes back along its lever; it has sat there, so that way counts from its seat.
    let taken_off = if tool.entry == ToolEntry::Along { TakenOff::Along } else { TakenOff::Back };
    let whole = ToolAsk { off_mm: tool.off_mm, ..on_it };
    let mut found: Option<(f64, f64, Point3<f64>)> = None;
    let mut fan = None;
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
        let off = places.into_iter().find(|(_, angle, _)| tool_comes_off(&whole, *angle, taken_off));
        if let Some((spare_mm, _, grip)) = off {
            let deg = Angle::from_rad(arc.sweep_rad()).deg();
            found = match found {
                Some((widest, known_mm, known)) if known_mm >= spare_mm => Some((widest, known_mm, known)),
                Some((widest, ..)) => Some((widest, spare_mm, grip)),
                None => {
                    fan = fan_of(arc);
                    Some((deg, spare_mm, grip))
                }
            };
        }
    }
    if let Some((deg, _, grip)) = found {
        return Ok(Swung { deg, grip: Some(grip), stop: None, fan });
    }
    let way = if tool.entry == ToolEntry::Along { "up its axis" } else { "back along its lever" };
    stopped(format!("it cannot be put on: it does not come off {way}, lever and all"), Some(axis.through))
}
