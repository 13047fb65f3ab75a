//! The way of the hand and the arm to a point.

use nalgebra::Point3;

use crate::access::{AccessError, CorridorAsk, Hand, HandWay, Reaches, Served, hand_way};
use crate::check::pair::Ready;
use crate::check::uncertainty::COVERAGE;
use crate::check::{Shown, Verdict};
use crate::scene::{Scene, ServicePoint};
use crate::space::Length;

use super::bay::{Bay, worst_mm};
use super::part::Part;
use super::slack::Slack;

/// An opening at least this wide is a hand's, whose fingers go before it.
const HAND_MM: f64 = 90.0;
/// How far fingers stretch before a hand, and the width that they pass: common practice, no source.
const FINGERS_MM: f64 = 80.0;
pub(super) const FINGER_OPENING_MM: f64 = 25.0;
/// Widths beyond the opening by this much are all alike.
const AMPLE_MM: f64 = 30.0;

/// Parts of a way, the way of the hand, and that of the fingers before it.
pub(super) type Judged = (Vec<Part>, Vec<Point3<f64>>, Vec<Point3<f64>>);

/// Judges the corridor against the opening, then the arm of every allowed standing place.
///
/// Clear: a way is wide enough where every body stands off against the body served by as much as it may. Short: none
/// is where every body stands as well as it may.
pub(super) fn judge(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    slack_mm: &[f64],
    point: &ServicePoint,
    at: &Point3<f64>,
) -> Result<Judged, AccessError> {
    let without = bay.numbers(&point.without);
    let served = bay.bodies.number(&point.body);
    let opening = point.opening;
    let cap_mm = opening.mm() + AMPLE_MM;
    let ask = |cap_mm: f64| CorridorAsk {
        cap_mm,
        // Narrower ways than fingers need are all alike, and cost the most to tell apart.
        floor_mm: 0.8 * opening.mm().min(FINGER_OPENING_MM),
        ..CorridorAsk::new(*at, bay.outside.clone())
    };
    let hand = Hand {
        opening_mm: opening.mm(),
        fingers_mm: if opening.mm() >= HAND_MM { FINGERS_MM } else { 0.0 },
        finger_opening_mm: FINGER_OPENING_MM,
    };
    let obstacles = |times: f64| -> Result<Slack<'_>, AccessError> {
        let bodies = match served {
            Some(body) => bay.bodies.obstacles_at(at, body, Served::Absent, &without)?,
            None => bay.bodies.obstacles(&without)?,
        };
        Ok(Slack::new(bodies, slack_mm, times))
    };
    let exact = slack_mm.iter().all(|mm| *mm <= 0.0);
    let (grown, drawn, shrunk) = (obstacles(1.0)?, obstacles(0.0)?, obstacles(-1.0)?);
    // With all bodies as ill as they may stand; most ways are ample even so, and nothing more is asked.
    let at_worst = if exact { None } else { tried(hand_way(&grown, &ask(cap_mm), served, &hand))? };
    let sure_mm = at_worst.as_ref().map_or(0.0, |way| way.corridor.lower_mm);
    let ample = |mm: f64| mm + 1e-9 >= cap_mm;
    let as_drawn = match ample(sure_mm) {
        true => None,
        false => Some(hand_way(&drawn, &ask(corridor_cap(cap_mm, exact, ready)), served, &hand)?),
    };
    let told = |way: &HandWay<'_>| (way.corridor.lower_mm, way.corridor.upper_mm);
    let (lower_mm, upper_mm) = as_drawn.as_ref().or(at_worst.as_ref()).map_or((0.0, 0.0), told);
    let (sure_mm, may_mm) = match exact {
        true => (lower_mm, upper_mm),
        false if upper_mm < opening.mm() => {
            (sure_mm, hand_way(&shrunk, &ask(cap_mm), served, &hand)?.corridor.upper_mm.max(upper_mm))
        }
        false => (sure_mm, upper_mm),
    };
    let verdict = if sure_mm >= opening.mm() {
        Verdict::Clear
    } else if may_mm < opening.mm() {
        Verdict::Short
    } else {
        Verdict::Undecided
    };
    // The way that is told and drawn, and the one that the verdict rests on.
    let clear = verdict == Verdict::Clear;
    let (mut rests_on, shown) = match (at_worst, as_drawn) {
        (Some(worst), drawn) if clear => (worst, drawn),
        (_, Some(drawn)) | (Some(drawn), None) => (drawn, None),
        (None, None) => return Ok((Vec::new(), Vec::new(), Vec::new())),
    };
    let corridor = shown.as_ref().map_or(&rests_on.corridor, |way| &way.corridor);
    let narrow: Vec<usize> = match &corridor.narrowest {
        Some(narrowest) if !narrowest.bodies.is_empty() => narrowest.bodies.clone(),
        _ => corridor.shut_by.clone(),
    };
    let between: Vec<&str> =
        narrow.iter().take(2).filter_map(|b| Some(bay.bodies.list().get(*b)?.name.as_str())).collect();
    let between =
        if between.is_empty() { String::new() } else { format!(" between {}", between.join(" and ")) };
    let lower = Length::from_mm(lower_mm);
    let (width, actual) = if ample(lower_mm) {
        (format!("at least {lower}"), lower)
    } else if !upper_mm.is_finite() || upper_mm > corridor_cap(cap_mm, exact, ready) {
        (format!("proved {lower}"), lower)
    } else {
        let upper = Length::from_mm(upper_mm);
        (format!("{upper}"), upper)
    };
    let more = match verdict {
        Verdict::Undecided if lower >= opening => {
            "; it is not where all bodies stand off by as much as they may: place them more exactly"
        }
        Verdict::Undecided if upper_mm >= opening.mm() => {
            "; whether another way is wide enough was not settled: try it by hand"
        }
        Verdict::Undecided => "; it may be where bodies stand as well as they may: place them more exactly",
        _ => "",
    };
    let said = format!("the way in is {width} wide{between}, {opening} asked for{more}");
    let off_mm = match upper_mm < opening.mm() && may_mm.is_finite() {
        true => (actual.mm() - sure_mm).max(may_mm - actual.mm()),
        false => actual.mm() - sure_mm,
    };
    let uncertainty = Length::from_mm(if exact { 0.0 } else { off_mm.max(0.0) });
    let mut part = Part::length("corridor", verdict, Some(opening), Some((actual, uncertainty)), said)
        .at(corridor.narrowest.as_ref().map(|narrowest| narrowest.at));
    part.figure.at_least = ample(lower_mm);
    let line: Vec<Point3<f64>> = corridor.path.iter().map(|place| place.at).collect();
    let drawn = (line.len() > 1).then(|| Shown::Corridor {
        line,
        width_mm: corridor.lower_mm,
        words: format!("way of the hand, {width} wide"),
    });
    let mut parts = vec![part.showing(drawn)];
    if verdict != Verdict::Short {
        // How far the point itself may be off against who reaches for it.
        let own_mm = ready
            .iter()
            .find(|one| one.body.name == point.body)
            .map_or(0.0, |one| COVERAGE * one.worst_standard_mm);
        let width = opening.min(Length::from_mm(rests_on.corridor.lower_mm));
        let arm = reach(scene, point, &mut rests_on, width, Length::from_mm(own_mm))?;
        parts.extend(arm.map(|mut part| {
            // By a way that may not be there nothing is proved of an arm.
            if verdict == Verdict::Undecided && part.figure.verdict == Verdict::Clear && !exact {
                part.figure.verdict = Verdict::Undecided;
            }
            part
        }));
    }
    let hand = rests_on.corridor.path.iter().map(|place| place.at).collect();
    Ok((parts, hand, rests_on.fingers))
}

/// Up to which width ways were told apart, mm.
fn corridor_cap(cap_mm: f64, exact: bool, ready: &[Ready<'_>]) -> f64 {
    if exact { cap_mm } else { cap_mm + worst_mm(ready) }
}

/// Where a body that stands as ill as it may stands over the point itself, no way is sure.
fn tried(way: Result<HandWay<'_>, AccessError>) -> Result<Option<HandWay<'_>>, AccessError> {
    match way {
        Ok(way) => Ok(Some(way)),
        Err(AccessError::PointInside { .. }) => Ok(None),
        Err(error) => Err(error),
    }
}

/// Whether an arm from any allowed standing place reaches through a corridor of this width to a point that is known so well.
fn reach(
    scene: &Scene,
    point: &ServicePoint,
    way: &mut HandWay<'_>,
    width: Length,
    uncertainty: Length,
) -> Result<Option<Part>, AccessError> {
    let allowed = |name: &String| point.from.is_empty() || point.from.contains(name);
    let places = || scene.standing.iter().filter(|place| allowed(&place.name));
    let mut best: Option<(Verdict, Length, String)> = None; // with what the arm has to spare
    for place in places() {
        let arm_mm = (place.reach - uncertainty).mm().max(1.0);
        let reach = match way.reach(&place.shoulder, arm_mm, width.mm().max(1.0)) {
            Ok(reach) => reach,
            Err(AccessError::ShoulderBehind { .. }) => continue,
            Err(error) => return Err(error),
        };
        let verdict = match reach.reaches {
            Reaches::Yes => Verdict::Clear,
            _ if reach.straight_mm > (place.reach + uncertainty).mm() => Verdict::Short,
            _ => Verdict::Undecided,
        };
        let straight = Length::from_mm(reach.straight_mm);
        let found = reach.length_mm.map(Length::from_mm);
        let length = if verdict == Verdict::Short { straight } else { found.unwrap_or(straight) };
        let spare = place.reach - length;
        let from = format!("from `{}`", place.name);
        let said = match (verdict, found) {
            (Verdict::Clear, _) => format!("{from} the arm goes {length}, its reach is {}", place.reach),
            (Verdict::Short, _) => {
                format!("{from} it is {straight} in a straight line, the reach is {}", place.reach)
            }
            (_, Some(length)) => format!(
                "{from} the shortest way found for the arm is {length}, {straight} in a straight line, its reach is {}",
                place.reach
            ),
            (_, None) => format!(
                "{from} no way was found for the arm; it is {straight} in a straight line, the reach is {}",
                place.reach
            ),
        };
        let better = |(known, known_spare, _): &(Verdict, Length, String)| {
            verdict < *known || (verdict == *known && spare > *known_spare)
        };
        if best.as_ref().is_none_or(better) {
            best = Some((verdict, spare, said));
        }
    }
    if best.is_none() && places().next().is_some() {
        let said =
            "nobody stands where an open side of the bay faces a shoulder: whether an arm reaches was not \
                    judged; put the shoulder above the bodies or beside the bay"
                .to_owned();
        return Ok(Some(Part::length("arm to spare", Verdict::Undecided, Some(Length::ZERO), None, said)));
    }
    Ok(best.map(|(verdict, spare, said)| {
        Part::length("arm to spare", verdict, Some(Length::ZERO), Some((spare, uncertainty)), said)
    }))
}
