//! The way of the hand and the arm to a point.

use nalgebra::Point3;

use crate::access::{AccessError, CorridorAsk, CorridorPoint, Hand, HandWay, Reaches, Served, hand_way};
use crate::check::pair::Ready;
use crate::check::uncertainty::COVERAGE;
use crate::check::{Shown, Verdict, decide};
use crate::scene::{Scene, ServicePoint};
use crate::space::Length;

use super::bay::{Bay, worst_mm};
use super::part::Part;

/// An opening at least this wide is a hand's, whose fingers go before it.
const HAND_MM: f64 = 90.0;
/// How far fingers stretch before a hand, and the width that they pass: common practice, no source.
const FINGERS_MM: f64 = 80.0;
const FINGER_OPENING_MM: f64 = 25.0;
/// Widths beyond the opening and every uncertainty by this much are all alike.
const AMPLE_MM: f64 = 30.0;

/// Judges the corridor against the opening, then the arm of every allowed standing place.
pub(super) fn judge(
    scene: &Scene,
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
    at: &Point3<f64>,
) -> Result<(Vec<Part>, Vec<CorridorPoint>), AccessError> {
    let without = bay.numbers(&point.without);
    let served = bay.bodies.number(&point.body);
    let obstacles = match served {
        Some(body) => bay.bodies.obstacles_at(at, body, Served::Absent, &without)?,
        None => bay.bodies.obstacles(&without)?,
    };
    let opening = point.opening;
    let ask = CorridorAsk {
        cap_mm: opening.mm() + AMPLE_MM + worst_mm(ready),
        // Narrower ways than fingers need are all alike, and cost the most to tell apart.
        floor_mm: 0.8 * opening.mm().min(FINGER_OPENING_MM),
        ..CorridorAsk::new(*at, bay.outside.clone())
    };
    let hand = Hand {
        opening_mm: opening.mm(),
        fingers_mm: if opening.mm() >= HAND_MM { FINGERS_MM } else { 0.0 },
        finger_opening_mm: FINGER_OPENING_MM,
    };
    let mut way = hand_way(&obstacles, &ask, served, &hand)?;
    let corridor = &way.corridor;
    let upper = Length::from_mm(corridor.upper_mm.min(ask.cap_mm));
    let lower = Length::from_mm(corridor.lower_mm);
    let narrow: Vec<usize> = match &corridor.narrowest {
        Some(narrowest) if !narrowest.bodies.is_empty() => narrowest.bodies.clone(),
        _ => corridor.shut_by.clone(),
    };
    let worst = |body: &usize| ready.get(*body).map_or(0.0, |ready| ready.worst_standard_mm);
    // The width is set by two sides; their errors are taken as independent.
    let shares = narrow.iter().take(2).map(worst).fold(0.0, f64::hypot);
    let uncertainty = Length::from_mm(COVERAGE * shares);
    let verdict = match decide(lower, upper, uncertainty, opening) {
        // A narrow corridor touches nothing: it is short.
        Verdict::Touching => Verdict::Short,
        verdict => verdict,
    };
    let between: Vec<&str> =
        narrow.iter().take(2).filter_map(|b| Some(bay.bodies.list().get(*b)?.name.as_str())).collect();
    let between =
        if between.is_empty() { String::new() } else { format!(" between {}", between.join(" and ")) };
    let ample = lower.mm() + 1e-9 >= ask.cap_mm;
    let (width, actual) = if ample {
        (format!("at least {lower}"), None)
    } else if corridor.upper_mm > ask.cap_mm {
        (format!("proved {lower}"), Some(lower))
    } else {
        (format!("{upper}"), Some(upper))
    };
    let more = match verdict {
        Verdict::Undecided if lower < opening => {
            "; whether another way is wide enough was not settled: try it by hand"
        }
        _ => "",
    };
    let said = format!("the way in is {width} wide{between}, {opening} asked for{more}");
    let told = Some((actual.unwrap_or(lower), uncertainty));
    let mut part = Part::length("corridor", verdict, Some(opening), told, said)
        .at(corridor.narrowest.as_ref().map(|narrowest| narrowest.at));
    part.figure.at_least = ample;
    let path = corridor.path.clone();
    let shown = (path.len() > 1).then(|| Shown::Corridor {
        line: path.iter().map(|at| at.at).collect(),
        width_mm: corridor.lower_mm,
        words: format!("way of the hand, {width} wide"),
    });
    let mut parts = vec![part.showing(shown)];
    if verdict != Verdict::Short {
        parts.extend(reach(scene, point, &mut way, opening.min(lower))?);
    }
    Ok((parts, path))
}

/// Whether an arm from any allowed standing place reaches through a corridor of this width.
fn reach(
    scene: &Scene,
    point: &ServicePoint,
    way: &mut HandWay<'_>,
    width: Length,
) -> Result<Option<Part>, AccessError> {
    let allowed = |name: &String| point.from.is_empty() || point.from.contains(name);
    let places = || scene.standing.iter().filter(|place| allowed(&place.name));
    let mut best: Option<(Verdict, Length, String)> = None; // with what the arm has to spare
    for place in places() {
        let reach = match way.reach(&place.shoulder, place.reach.mm(), width.mm().max(1.0)) {
            Ok(reach) => reach,
            Err(AccessError::ShoulderBehind { .. }) => continue,
            Err(error) => return Err(error),
        };
        let verdict = match reach.reaches {
            Reaches::Yes => Verdict::Clear,
            Reaches::NotProved => Verdict::Undecided,
            Reaches::No => Verdict::Short,
        };
        let length = Length::from_mm(reach.length_mm.unwrap_or(reach.straight_mm));
        let spare = place.reach - length;
        let said = format!(
            "from `{}` the arm must go {}{length}, its reach is {}",
            place.name,
            if reach.length_mm.is_none() { "over " } else { "" },
            place.reach
        );
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
        Part::length("arm to spare", verdict, Some(Length::ZERO), Some((spare, Length::ZERO)), said)
    }))
}
