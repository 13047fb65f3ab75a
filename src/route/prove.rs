//! Whether a chain is a route: every rule of making, and every gap over the whole movement.

use std::sync::Arc;

use super::bending::broken;
use super::chain::{Chain, on};
use super::field::{spared_mm, zone_shape};
use super::fit_up::{ends_off, slack_mm};
use super::{FitUp, Port, Ride, RouteAsk};
use crate::clearance::{IndexedShape, gap, touches};
use crate::motion::{GapOverUnder, Movement, Rider, gap_over_under};
use crate::solid::{Bend, Leg, Piece, Shape};
use crate::space::{Length, Pose};
use crate::tube::{BendList, CornerLine};

/// Width of the proved interval, mm.
const TOLERANCE_MM: f64 = 0.02;

/// What a proof came to.
#[derive(Clone, Debug)]
pub(super) enum Proof {
    /// It can be made, and everywhere at least so much more than required is left.
    Route {
        list: BendList,
        /// How far off its ports it ends, start and end.
        ends: [FitUp; 2],
        room_mm: f64,
        /// The obstacle with the least room; forbidden boxes follow the obstacles. `None` when nothing is near.
        nearest: Option<usize>,
    },
    /// It cannot be made.
    Unmakeable(String),
    /// It is not proved to stay far enough from this obstacle.
    Blocked { obstacle: usize },
}

/// Proves a chain, or says why it is none. What lies farther off than `look_mm` beyond what is required is only known
/// to be farther.
pub(super) fn prove(chain: &Chain, ask: &RouteAsk<'_>, look_mm: f64) -> Proof {
    let list = match chain.bend_list() {
        Ok(list) => list,
        Err(error) => return Proof::Unmakeable(error.to_string()),
    };
    if let Err(why) = broken(ask, &list) {
        return Proof::Unmakeable(why);
    }
    let covered_mm = ask.tube.covered_radius_mm();
    if let Err(error) = list.check_body(2.0 * covered_mm) {
        return Proof::Unmakeable(error.to_string());
    }
    let ends = ends_off(ask, &list);
    for (port, off, which) in [(&ask.start, &ends[0], "start"), (&ask.end, &ends[1], "end")] {
        // Two bends and more have the freedom to end exactly.
        let taken = if chain.corners.len() < 2 { port.fit_up } else { FitUp::EXACT };
        if !taken.takes(off) {
            return Proof::Unmakeable(format!(
                "its {which} lies {:.6} mm and {:.4} deg off its port",
                off.offset_mm,
                off.angle_rad.to_degrees()
            ));
        }
    }
    let (whole, middle) = match shapes(&list, ask, covered_mm) {
        Ok(shapes) => shapes,
        Err(why) => return Proof::Unmakeable(why),
    };
    let mut room_mm = look_mm;
    let mut nearest = None;
    for number in 0..ask.obstacles.len() + ask.forbidden.len() {
        match asked_of(ask, number, &whole, &middle, room_mm) {
            Asked::Farther => {}
            Asked::Room(here) => {
                room_mm = room_mm.min(here);
                nearest = Some(number);
            }
            Asked::Short { .. } => return Proof::Blocked { obstacle: number },
        }
    }
    Proof::Route { list, ends, room_mm, nearest }
}

/// What one obstacle leaves a tube.
enum Asked {
    /// More than was looked for.
    Farther,
    /// Proved: at least so much more than required, mm.
    Room(f64),
    /// Less than required, or not proved to be enough; by so much at some pose, mm, unless the two meet at rest.
    Short { by_mm: Option<f64> },
}

/// What stands in the straight that a tube must have at a port, whatever its route: proved. The obstacle's number and by
/// how much room is short, mm.
pub(super) fn in_the_stub(ask: &RouteAsk<'_>, port: &Port, length_mm: f64) -> Vec<(usize, f64)> {
    let covered_mm = ask.tube.covered_radius_mm();
    let bar = |from_mm: f64| {
        let (from, to) = (on(port, from_mm), on(port, length_mm.max(from_mm + 1e-3)));
        let piece = Piece::Frustum { from, to, from_radius_mm: covered_mm, to_radius_mm: covered_mm };
        IndexedShape::of_pieces(&[piece])
    };
    let spared = spared_mm(ask, port.straight_mm);
    let (whole, middle) = (bar(0.0), bar(spared));
    let mut found = Vec::new();
    // A tube need not lie on the port's axis exactly: what it could pass by as much is not proved to be in its way.
    let slack = slack_mm(port, length_mm) + 0.05;
    for number in 0..ask.obstacles.len() + ask.forbidden.len() {
        let spared_all = ask.obstacles.get(number).is_some_and(|one| one.joined) && spared >= length_mm;
        if spared_all {
            continue;
        }
        // Within rounding of enough is the routes' own proof to decide; what meets is in the way.
        match asked_of(ask, number, &whole, &middle, 0.0) {
            Asked::Short { by_mm: Some(by_mm) } if by_mm > slack => found.push((number, by_mm)),
            Asked::Short { by_mm: None } => {
                let depth = |shape: &IndexedShape, pose: &Pose, required_mm: f64, joined: bool| {
                    let tube = if joined { &middle } else { &whole };
                    required_mm - gap(shape, tube, &pose.inverse()).gap.mm()
                };
                let by_mm = match ask.obstacles.get(number) {
                    Some(one) => depth(&one.shape, &one.world_from_solid, one.required_mm, one.joined),
                    None => {
                        let zone = zone_shape(&ask.forbidden[number - ask.obstacles.len()]);
                        depth(&zone, &Pose::identity(), 0.0, false)
                    }
                };
                // What just touches stands in the way of a tube that must be exact.
                if by_mm > slack_mm(port, length_mm) - 1e-6 {
                    found.push((number, by_mm));
                }
            }
            _ => {}
        }
    }
    found
}

/// Asks one obstacle, or forbidden box, over the whole movement.
fn asked_of(
    ask: &RouteAsk<'_>,
    number: usize,
    whole: &IndexedShape,
    middle: &IndexedShape,
    look_mm: f64,
) -> Asked {
    let (still, identity) = (Movement::still(), Pose::identity());
    let zone;
    let (shape, pose, theirs, ours, tube, required_mm) = match ask.obstacles.get(number) {
        Some(one) => {
            let (theirs, ours) = match &one.ride {
                Ride::WithTube => (&still, &still),
                Ride::Own(own) => (own, &ask.movement),
            };
            let tube = if one.joined { middle } else { whole };
            (&one.shape, one.world_from_solid, theirs, ours, tube, one.required_mm)
        }
        None => {
            zone = zone_shape(&ask.forbidden[number - ask.obstacles.len()]);
            (&zone, identity, &still, &still, whole, 0.0)
        }
    };
    // How deep two bodies overlap takes long to tell, and nobody asks.
    if touches(shape, tube, &pose.inverse()) {
        return Asked::Short { by_mm: None };
    }
    let fixed = Rider { shape, world_from_solid: &pose, movement: theirs };
    let moving = Rider { shape: tube, world_from_solid: &identity, movement: ours };
    let limit = Length::from_mm(required_mm + look_mm);
    match gap_over_under(&fixed, &moving, limit, Length::from_mm(TOLERANCE_MM)) {
        GapOverUnder::Clear { .. } => Asked::Farther,
        GapOverUnder::Under(gap) if gap.lower.mm() >= required_mm => {
            Asked::Room(gap.lower.mm() - required_mm)
        }
        GapOverUnder::Under(gap) => Asked::Short { by_mm: Some(required_mm - gap.upper.gap.mm()) },
    }
}

/// The tube with its cover, and the same without the ends that joined bodies do not see.
fn shapes(
    list: &BendList,
    ask: &RouteAsk<'_>,
    covered_mm: f64,
) -> Result<(IndexedShape, IndexedShape), String> {
    let tube = list.corners().map(|corners: CornerLine| corners.tube(covered_mm, None));
    let tube = tube.map_err(|error| error.to_string())?;
    let legs = list.centreline().map_err(|error| error.to_string())?.legs;
    let length_mm = list.length_mm();
    let from = spared_mm(ask, ask.start.straight_mm);
    let until = length_mm - spared_mm(ask, ask.end.straight_mm);
    let pieces = trimmed(&legs, from, until, covered_mm);
    Ok((IndexedShape::new(Arc::new(Shape::Tube(tube))), IndexedShape::of_pieces(&pieces)))
}

/// The round bar along the part of a line from one length to another.
fn trimmed(legs: &[Leg], from_mm: f64, until_mm: f64, radius_mm: f64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    let mut before = 0.0;
    for leg in legs {
        let length = leg.length_mm();
        let (low, high) = ((from_mm - before).clamp(0.0, length), (until_mm - before).clamp(0.0, length));
        before += length;
        if high - low <= 1e-9 {
            continue;
        }
        pieces.push(match leg {
            Leg::Straight { .. } => Piece::Frustum {
                from: leg.point_at(low),
                to: leg.point_at(high),
                from_radius_mm: radius_mm,
                to_radius_mm: radius_mm,
            },
            Leg::Bend(Bend { center, axis, radius_mm: ring, .. }) => {
                let Leg::Bend(bend) = leg else { continue };
                Piece::Arc {
                    center: *center,
                    axis: *axis,
                    start: bend.radius_at(low / ring),
                    ring_radius_mm: *ring,
                    tube_radius_mm: radius_mm,
                    sweep_rad: (high - low) / ring,
                }
            }
        });
    }
    pieces
}
