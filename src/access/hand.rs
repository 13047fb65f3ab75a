//! A hand on the way to a point: its fingers go before it.

use nalgebra::Point3;

use super::corridor::nothing_between;
use super::{AccessError, Corridor, CorridorAsk, CorridorPoint, CorridorSearch, Obstacles, Reach, Reaches};

/// A hand, as a way in needs it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// The opening that it passes, mm.
    pub opening_mm: f64,
    /// How far fingers stretch before it, along their own way, mm; 0 for what has no fingers.
    pub fingers_mm: f64,
    /// The opening that fingers pass, mm.
    pub finger_opening_mm: f64,
}

/// The way of a hand to a point.
pub struct HandWay<'a> {
    /// How wide: the lower end is proved for the whole hand, the upper for any way there is.
    pub corridor: Corridor,
    /// Length of the fingers' way from the hand to the point, mm; 0 where the hand itself arrives.
    pub fingers_mm: f64,
    /// From the place where the hand stops to the point: the way of what goes before it; empty when there is no way.
    pub fingers: Vec<Point3<f64>>,
    /// The hand's own search: it ends where the fingers' way begins.
    search: CorridorSearch<'a>,
    /// As if fingers passed through everything.
    through: Option<CorridorSearch<'a>>,
    obstacles: &'a dyn Obstacles,
    target: Point3<f64>,
}

impl HandWay<'_> {
    /// Whether an arm from `shoulder` reaches the point, fingertips and all, through a corridor `width_mm` wide.
    ///
    /// # Errors
    /// As [`CorridorSearch::reach`].
    pub fn reach(
        &mut self,
        shoulder: &Point3<f64>,
        arm_mm: f64,
        width_mm: f64,
    ) -> Result<Reach, AccessError> {
        if let Some(through) = &mut self.through {
            // Fingers stretched along a free line: nothing is shorter.
            let sides = through.ask.outside.facing(shoulder);
            if let Some(straight) = through.straight_reach(shoulder, &sides, arm_mm, width_mm) {
                return Ok(straight);
            }
        }
        let mut found = self.search.reach(shoulder, (arm_mm - self.fingers_mm).max(1.0), width_mm)?;
        found.straight_mm = (self.target - shoulder).norm();
        found.length_mm = found.length_mm.map(|length_mm| length_mm + self.fingers_mm);
        if found.reaches == Reaches::Yes {
            return Ok(found);
        }
        let Some(through) = &mut self.through else { return Ok(found) };
        // The hand may stop earlier and stretch its fingers, where they have a free line to the point.
        let stretched = through.reach(shoulder, arm_mm, width_mm)?;
        let free = stretched
            .path
            .last()
            .is_some_and(|end| nothing_between(self.obstacles, None, &end.at, &self.target));
        let shorter =
            |known: &Reach| found.length_mm.is_none_or(|mm| known.length_mm.is_some_and(|own| own < mm));
        if free && shorter(&stretched) {
            return Ok(stretched);
        }
        let reaches = if stretched.reaches == Reaches::No { Reaches::No } else { Reaches::NotProved };
        Ok(Reach { reaches, ..found })
    }
}

/// From how far a fingertip, or what passes the opening, has arrived, mm: common practice, no source.
const TIP_MM: f64 = 15.0;
/// The same where something stands between: as near as the search allows.
const NEXT_TO_MM: f64 = 1.0;
/// How near the hand must come to where its fingers begin, mm.
const KNUCKLE_MM: f64 = 5.0;
/// Shares of the fingers' length that are tried, the whole first.
const STRETCHES: [f64; 4] = [1.0, 0.75, 0.5, 0.25];

/// The widest way for a hand to a point, cap and all else as `ask` has it (its `touch_mm` is not used).
///
/// A hand has arrived when it is within its fingers' length of the point *along a way that fingers pass*: steel
/// between the hand and the point stops it, however thin. What needs no fingers must come to within 15 mm with
/// nothing between. Where the fingers have several ways, only the widest is tried; so `lower_mm` may be less than
/// the best there is, and `upper_mm` then comes from a hand that reaches its fingers' length through everything.
///
/// # Errors
/// As [`CorridorSearch::new`].
pub fn hand_way<'a>(
    obstacles: &'a dyn Obstacles,
    ask: &CorridorAsk,
    served: Option<usize>,
    hand: &Hand,
) -> Result<HandWay<'a>, AccessError> {
    let (mut tip, mut search) = open_tip(obstacles, ask, served)?;
    let through_ask = CorridorAsk { touch_mm: hand.fingers_mm.max(NEXT_TO_MM), ..ask.clone() };
    let through = match hand.fingers_mm > 0.0 {
        true => Some(CorridorSearch::new(obstacles, &through_ask, served)?),
        false => None,
    };
    let way = |corridor: Corridor, fingers_mm, fingers, search, through| HandWay {
        corridor,
        fingers_mm,
        fingers,
        search,
        through,
        obstacles,
        target: ask.target,
    };
    if tip.lower_mm >= hand.opening_mm || hand.fingers_mm <= 0.0 || tip.lower_mm < hand.finger_opening_mm {
        if hand.fingers_mm > 0.0 && tip.lower_mm < hand.opening_mm && tip.upper_mm >= hand.finger_opening_mm {
            // Fingers might pass by another way: nothing is proved against the hand.
            tip.upper_mm = f64::INFINITY;
        }
        let fingers = ahead(&ask.target, &tip.path, 0.0);
        return Ok(way(tip, 0.0, fingers, search, through));
    }
    // Fingers get there. Where along their way does the hand stop?
    let mut best: Option<(Corridor, f64)> = None;
    for stretch in STRETCHES {
        let Some(knuckle) = back_from(&ask.target, &tip.path, hand.fingers_mm * stretch) else { continue };
        let at_knuckle = CorridorAsk { target: knuckle, touch_mm: KNUCKLE_MM, ..ask.clone() };
        let Ok(mut to_knuckle) = CorridorSearch::new(obstacles, &at_knuckle, None) else { continue };
        let found = to_knuckle.widest();
        let wide_enough = found.lower_mm >= hand.opening_mm;
        if best.as_ref().is_none_or(|(known, _)| found.lower_mm > known.lower_mm) {
            best = Some((found, hand.fingers_mm * stretch));
            search = to_knuckle;
        }
        if wide_enough {
            break;
        }
    }
    let Some((mut corridor, fingers_mm)) = best else {
        tip.upper_mm = f64::INFINITY;
        let fingers = ahead(&ask.target, &tip.path, 0.0);
        return Ok(way(tip, 0.0, fingers, search, through));
    };
    if corridor.lower_mm < hand.opening_mm {
        // By this way it is short; whether by any is for a hand to say whose fingers pass through everything.
        let any = CorridorSearch::new(obstacles, &through_ask, served)?.widest();
        if any.upper_mm < hand.opening_mm {
            corridor.shut_by = any.shut_by;
        }
        corridor.upper_mm = any.upper_mm.max(corridor.lower_mm);
        corridor.settled = false;
    }
    let fingers = match corridor.path.last() {
        Some(end) => std::iter::once(end.at).chain(ahead(&ask.target, &tip.path, fingers_mm)).collect(),
        None => Vec::new(),
    };
    Ok(way(corridor, fingers_mm, fingers, search, through))
}

/// The widest way to the point itself, with nothing between its end and the point.
fn open_tip<'a>(
    obstacles: &'a dyn Obstacles,
    ask: &CorridorAsk,
    served: Option<usize>,
) -> Result<(Corridor, CorridorSearch<'a>), AccessError> {
    let near = CorridorAsk { touch_mm: TIP_MM, ..ask.clone() };
    let mut search = CorridorSearch::new(obstacles, &near, served)?;
    let found = search.widest();
    let Some(end) = found.path.last() else { return Ok((found, search)) };
    if nothing_between(obstacles, None, &end.at, &ask.target) {
        return Ok((found, search));
    }
    let next_to = CorridorAsk { touch_mm: NEXT_TO_MM, ..ask.clone() };
    let mut search = CorridorSearch::new(obstacles, &next_to, served)?;
    let mut nearer = search.widest();
    nearer.upper_mm = nearer.upper_mm.max(found.upper_mm);
    Ok((nearer, search))
}

/// The last so many millimetres of the way to a point along a path that ends before it, the point included; at least from
/// the path's end on. Empty when there is no path.
fn ahead(point: &Point3<f64>, path: &[CorridorPoint], length_mm: f64) -> Vec<Point3<f64>> {
    let Some(end) = path.last() else { return Vec::new() };
    let mut way = vec![*point, end.at];
    let mut left_mm = length_mm - (end.at - point).norm();
    for pair in path.windows(2).rev() {
        if left_mm <= 0.0 {
            break;
        }
        let step = pair[0].at - pair[1].at;
        let step_mm = step.norm();
        way.push(pair[1].at + step * (left_mm / step_mm.max(left_mm)).min(1.0));
        left_mm -= step_mm;
    }
    way.reverse();
    way
}

/// The place a length back along a path from the point at its end; the path's start when it is shorter.
fn back_from(point: &Point3<f64>, path: &[CorridorPoint], length_mm: f64) -> Option<Point3<f64>> {
    let (mut at, mut left_mm) = (*point, length_mm);
    for next in path.iter().rev() {
        let step = next.at - at;
        let step_mm = step.norm();
        if step_mm >= left_mm {
            return Some(at + step * (left_mm / step_mm));
        }
        left_mm -= step_mm;
        at = next.at;
    }
    path.first().map(|first| first.at)
}
