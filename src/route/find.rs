//! The whole search: families, lattice, refining, proof, ranking.

use nalgebra::Point3;
use rayon::prelude::*;

use super::bending::{Bending, care};
use super::chain::{Chain, on};
use super::family::{one_bend, straight};
use super::field::Field;
use super::flood::{Flood, preferred};
use super::flow::loss_of;
use super::front::ranked;
use super::lattice::{Budget, Candidate, keep_best, search, unlike};
use super::prove::{Proof, in_the_stub, prove};
use super::refine::{Aim, Worth, blockers, refine, worth};
use super::remix::remixed;
use super::seat::{Seat, seats};
use super::{FitUp, RouteAsk, RouteError};
use crate::calc::{FlowError, FlowLoss};
use crate::tube::BendList;

/// A tube that can be made and is proved clear over the whole movement.
#[derive(Clone, Debug, PartialEq)]
pub struct Route {
    /// The tube, in the frame in which its carrier is at rest.
    pub list: BendList,
    /// Length of the centreline, mm.
    pub length_mm: f64,
    /// Proved: over all movement every gap is at least what is required and so much more, mm. What lies farther off
    /// than the search looked is only known to be farther.
    pub room_mm: f64,
    /// The obstacle where room is least; `None` when nothing is near.
    pub nearest: Option<String>,
    /// Share of the line that lies in the preferred boxes, from 0 to 1; 1 when there is none.
    pub preferred_share: f64,
    /// What the flow costs along it; `None` when none was given, no wall is known or the tube does not take it.
    pub flow: Option<FlowLoss>,
    /// Why the tube does not take the flow along it; `None` when it does or none was given.
    pub flow_error: Option<FlowError>,
    /// What can be made with care only, in sentences.
    pub care: Vec<String>,
    /// How far off its ports it ends, start and end: within what their joints take.
    pub ends: [FitUp; 2],
}

impl Route {
    /// How many bends it has.
    pub fn bends(&self) -> usize {
        self.list.bends.len()
    }
}

/// A body in the way of a near-route.
#[derive(Clone, Debug, PartialEq)]
pub struct Blocker {
    /// Its name; a forbidden box has `forbidden box` and its number.
    pub name: String,
    /// By how much room is short there at least, mm.
    pub short_mm: f64,
    /// Where on the tube's line.
    pub at: Point3<f64>,
}

/// The nearest to a route that was found, and what stands in its way.
#[derive(Clone, Debug, PartialEq)]
pub struct NearRoute {
    /// How many bends.
    pub bends: usize,
    /// Length, mm.
    pub length_mm: f64,
    /// Bodies that it comes too near to, the worst first.
    pub blockers: Vec<Blocker>,
    /// By how much the worst rule of bending is broken, mm of straight (or of arc); zero when all hold.
    pub rule_short_mm: f64,
    /// Why it was refused after all seemed well, when it was: a rule of making, or the proof.
    pub refused: Option<String>,
}

/// What a search came to.
#[derive(Clone, Debug, PartialEq)]
pub struct RouteAnswer {
    /// Routes, ranked: fewest bends, then the shortest; none is worse than another in everything. Empty: none was
    /// found, which is no proof that there is none.
    pub routes: Vec<Route>,
    /// When no route was found: what came nearest, best first.
    pub near: Vec<NearRoute>,
    /// When no route was found: bodies that a port sits on without being joined to them.
    pub seats: Vec<Seat>,
}

/// Room beyond which a tube is roomy enough, mm, for three kinds of route: the shortest, a middling one, a roomy one.
const ROOM_CAPS_MM: [f64; 3] = [1.0, 8.0, 30.0];
/// A millimetre of room is worth so many millimetres of length.
const LENGTH_COST: f64 = 0.02;
/// Steps of refining.
const STEPS: usize = 50;
/// Candidates of one number of bends that are refined.
const REFINED: usize = 8;
/// Near-routes that are told.
const NEAR: usize = 3;

/// Rounds of the search, each wider than the one before.
const ROUNDS: [Budget; 3] = [
    Budget { states: 300, candidates: 80, floor_mm: -6.0 },
    Budget { states: 2500, candidates: 250, floor_mm: -14.0 },
    Budget { states: 600, candidates: 100, floor_mm: -60.0 },
];

/// Finds routes between two ports.
///
/// Each route passes every rule of making of its bender or stock, ends in its ports (exactly, or as nearly as their joints
/// take when it has no bend or one) and is proved clear over all movement; none is claimed otherwise. That none was found is no proof that there is none.
///
/// The search takes one radius for all bends, the smallest first, and stops at the first with which there is a route;
/// then single bends take other radii where that gains. Corners of more than
/// 150 deg are not sought. Time: a second or so for a bay of some fifty bodies on two cores; see
/// `docs/routes.md`.
///
/// # Errors
/// [`RouteError`]: figures that cannot be, a tube that nothing bends, ports at one place.
pub fn find_routes(ask: &RouteAsk<'_>) -> Result<RouteAnswer, RouteError> {
    check(ask)?;
    let bending = Bending::of(ask)?;
    let field = Field::new(ask);
    let mut near: Vec<(Chain, Worth, Option<String>)> = Vec::new();
    if let Some(stuck) = stuck_port(ask, &bending) {
        return Ok(RouteAnswer { routes: Vec::new(), near: vec![stuck], seats: seats(ask) });
    }
    for budget in ROUNDS {
        let flood = Flood::new(ask, &field, budget.floor_mm - field.step_mm() / 2.0);
        for radius_mm in &bending.radii_mm {
            let routes = of_radius(ask, &bending, *radius_mm, &field, &flood, budget, &mut near);
            if !routes.is_empty() {
                return Ok(RouteAnswer { routes: ranked(routes), near: Vec::new(), seats: Vec::new() });
            }
        }
    }
    let near = nearest(ask, &bending, &field, near);
    Ok(RouteAnswer { routes: Vec::new(), near, seats: seats(ask) })
}

fn check(ask: &RouteAsk<'_>) -> Result<(), RouteError> {
    let figure = |what, value: f64, wanted, fine: bool| {
        if value.is_finite() && fine { Ok(()) } else { Err(RouteError::Figure { what, value, wanted }) }
    };
    let tube = &ask.tube;
    figure("the outside diameter", tube.outside_mm, "over zero", tube.outside_mm > 0.0)?;
    figure("the cover", tube.cover_mm, "zero or more", tube.cover_mm >= 0.0)?;
    if let Some(wall) = tube.wall_mm {
        figure(
            "the wall",
            wall,
            "over zero and under half the diameter",
            wall > 0.0 && wall < tube.outside_mm / 2.0,
        )?;
    }
    for port in [&ask.start, &ask.end] {
        figure("a port's straight", port.straight_mm, "zero or more", port.straight_mm >= 0.0)?;
        let FitUp { offset_mm, angle_rad } = port.fit_up;
        figure("a fit-up's offset", offset_mm, "zero or more", offset_mm >= 0.0)?;
        figure("a fit-up's angle", angle_rad, "from 0 to 0.35 rad", (0.0..=0.35).contains(&angle_rad))?;
        for value in port.at.iter().chain(port.out.iter()) {
            figure("a port's place or direction", *value, "finite", true)?;
        }
    }
    for obstacle in &ask.obstacles {
        figure("a required gap", obstacle.required_mm, "zero or more", obstacle.required_mm >= 0.0)?;
    }
    let apart_mm = (ask.end.at - ask.start.at).norm();
    if apart_mm < 1e-3 {
        return Err(RouteError::PortsMeet { apart_mm });
    }
    Ok(())
}

/// The straight that every route has at a port, when something is proved to stand in it.
fn stuck_port(ask: &RouteAsk<'_>, bending: &Bending) -> Option<NearRoute> {
    let ports = [(&ask.start, bending.first_mm, "start"), (&ask.end, bending.last_mm, "end")];
    for (port, needed, which) in ports {
        // Facing ports may be nearer to each other than that: then the tube is straight.
        let until = needed.min((ask.end.at - ask.start.at).norm());
        let found = in_the_stub(ask, port, until);
        if !found.is_empty() {
            let told = |(number, by_mm): &(usize, f64)| Blocker {
                name: name(ask, *number),
                short_mm: *by_mm,
                at: on(port, until / 2.0),
            };
            let mut blockers: Vec<Blocker> = found.iter().map(told).collect();
            blockers.sort_by(|a, b| b.short_mm.total_cmp(&a.short_mm));
            let why =
                format!("every tube has {until:.1} mm of straight at the {which} port, and that is not free");
            let rule_short_mm = 0.0;
            return Some(NearRoute {
                bends: 0,
                length_mm: until,
                blockers,
                rule_short_mm,
                refused: Some(why),
            });
        }
    }
    None
}

/// Routes of one radius.
fn of_radius(
    ask: &RouteAsk<'_>,
    bending: &Bending,
    radius_mm: f64,
    field: &Field,
    flood: &Flood,
    budget: Budget,
    near: &mut Vec<(Chain, Worth, Option<String>)>,
) -> Vec<Route> {
    let mut routes = Vec::new();
    let few = [straight(ask), one_bend(ask, radius_mm)];
    for chain in few.into_iter().flatten().filter(|chain| chain.corners.len() <= ask.most_bends) {
        let found = worth(&chain, bending, field);
        settle(ask, field, bending, vec![(chain, found)], &mut routes, near);
    }
    if routes.iter().any(|route| route.bends() == 0) || ask.most_bends < 2 {
        return routes;
    }
    let candidates = search(ask, bending, radius_mm, field, flood, budget);
    for bends in 2..=ask.most_bends {
        let mut some: Vec<Candidate> =
            candidates.iter().filter(|one| one.chain.corners.len() == bends).cloned().collect();
        if some.is_empty() {
            continue;
        }
        // One bend more than the fewest may be shorter or roomier; two more are never looked for.
        if routes.iter().any(|route| route.bends() + 1 < bends) {
            break;
        }
        keep_best(&mut some, REFINED);
        let refined: Vec<(Chain, Worth)> = some
            .par_iter()
            .with_max_len(1)
            .map(|one| refine(&one.chain, ask, bending, field, &middling()))
            .collect();
        settle(ask, field, bending, refined, &mut routes, near);
    }
    routes
}

/// Between the shortest and the roomiest.
fn middling() -> Aim {
    Aim { room_cap_mm: ROOM_CAPS_MM[1], length_cost: LENGTH_COST, steps: STEPS }
}

/// Proves what seems sound, each also as short and as roomy as it gets; the rest is remembered as near.
fn settle(
    ask: &RouteAsk<'_>,
    field: &Field,
    bending: &Bending,
    refined: Vec<(Chain, Worth)>,
    routes: &mut Vec<Route>,
    near: &mut Vec<(Chain, Worth, Option<String>)>,
) {
    let (mut sound, rest): (Vec<_>, Vec<_>) = refined.into_iter().partition(|(_, worth)| worth.sound());
    if sound.is_empty() {
        // Of one radius none is a route: a smaller one at a short leg, or a larger one past a body, may be.
        let mended =
            |(chain, found): &(Chain, Worth)| remixed(chain, found, ask, bending, field, &middling());
        let mixed: Vec<_> = rest.par_iter().with_max_len(1).filter_map(mended).collect();
        sound.extend(mixed.into_iter().filter(|(_, worth)| worth.sound()));
    }
    near.extend(rest.into_iter().map(|(chain, worth)| (chain, worth, None)));
    let mut kinds: Vec<(Chain, Worth)> = Vec::new();
    for (chain, worth) in sound {
        if kinds.iter().all(|(other, _)| unlike(other, &chain)) {
            kinds.push((chain, worth));
        }
    }
    let all: Vec<(Chain, Worth)> = kinds
        .par_iter()
        .with_max_len(1)
        .flat_map_iter(|(chain, found)| {
            let mut all = vec![(chain.clone(), found.clone())];
            for cap in [ROOM_CAPS_MM[0], ROOM_CAPS_MM[2]] {
                let aim = Aim { room_cap_mm: cap, length_cost: LENGTH_COST, steps: STEPS };
                if !chain.variables().is_empty() {
                    all.push(refine(chain, ask, bending, field, &aim));
                }
            }
            all.extend(remixed(chain, found, ask, bending, field, &middling()));
            all
        })
        .filter(|(_, worth)| worth.sound())
        .collect();
    let proofs: Vec<Proof> =
        all.par_iter().with_max_len(1).map(|(chain, worth)| prove(chain, ask, worth.room_mm + 2.0)).collect();
    for ((chain, worth), proof) in all.into_iter().zip(proofs) {
        match proof {
            Proof::Route { list, ends, room_mm, nearest } => {
                let (flow, flow_error) = match loss_of(&list, &ask.tube, ask.flow.as_ref()) {
                    None => (None, None),
                    Some(Ok(found)) => (Some(found), None),
                    Some(Err(error)) => (None, Some(error)),
                };
                routes.push(Route {
                    length_mm: list.length_mm(),
                    preferred_share: preferred_share(ask, &list),
                    care: care(ask, &list),
                    flow,
                    flow_error,
                    list,
                    ends,
                    room_mm,
                    nearest: nearest.map(|number| name(ask, number)),
                });
            }
            Proof::Unmakeable(why) => near.push((chain, worth, Some(why))),
            Proof::Blocked { obstacle } => {
                let why = format!("it is not proved to stay far enough from `{}`", name(ask, obstacle));
                near.push((chain, worth, Some(why)));
            }
        }
    }
}

fn preferred_share(ask: &RouteAsk<'_>, list: &BendList) -> f64 {
    let Ok(line) = list.centreline() else { return 0.0 };
    let steps = 400;
    let inside = (0..steps).filter(|step| {
        let mm = (f64::from(*step) + 0.5) / f64::from(steps) * line.length_mm();
        preferred(ask, &line.point_at(mm))
    });
    inside.count() as f64 / f64::from(steps)
}

fn name(ask: &RouteAsk<'_>, number: usize) -> String {
    match ask.obstacles.get(number) {
        Some(obstacle) => obstacle.name.clone(),
        None => format!("forbidden box {}", number - ask.obstacles.len() + 1),
    }
}

/// The best of what came near, each unlike those before it.
fn nearest(
    ask: &RouteAsk<'_>,
    bending: &Bending,
    field: &Field,
    mut near: Vec<(Chain, Worth, Option<String>)>,
) -> Vec<NearRoute> {
    near.sort_by(|a, b| b.1.least().total_cmp(&a.1.least()));
    let mut kept: Vec<(Chain, Worth, Option<String>)> = Vec::new();
    for one in near {
        if kept.len() < NEAR && kept.iter().all(|other| unlike(&other.0, &one.0)) {
            kept.push(one);
        }
    }
    if kept.is_empty() {
        // Not even a near-route: what lies on the straight way between the ports.
        let way = Chain {
            start: on(&ask.start, bending.first_mm),
            end: on(&ask.end, bending.last_mm),
            corners: Vec::new(),
            radii_mm: Vec::new(),
        };
        let found = blockers(&way, field);
        return vec![told(ask, &way, 0.0, found, Some(unreached(ask)))];
    }
    kept.into_iter()
        .map(|(chain, worth, refused)| {
            let found = blockers(&chain, field);
            told(ask, &chain, (-worth.rule_mm).max(0.0), found, refused)
        })
        .collect()
}

/// Why no chain of bends reaches from port to port, as far as the ports alone tell it, and what would help.
fn unreached(ask: &RouteAsk<'_>) -> String {
    let mut said = "no chain of bends reaches from port to port".to_owned();
    let between = ask.end.at - ask.start.at;
    for (port, way, which) in [(&ask.start, between, "start"), (&ask.end, -between, "end")] {
        let off_rad = port.out.angle(&way);
        if off_rad > std::f64::consts::FRAC_PI_2 {
            said.push_str(&format!(
                "; the {which} port looks {:.0} deg away from the other: turn its direction round if it points into the \
                 port, or turn the port toward the other",
                off_rad.to_degrees()
            ));
        }
    }
    if ask.most_bends < 5 {
        said.push_str(&format!("; more than {} bends may be needed", ask.most_bends));
    }
    said
}

fn told(
    ask: &RouteAsk<'_>,
    chain: &Chain,
    rule_short_mm: f64,
    found: Vec<(usize, f64, Point3<f64>)>,
    refused: Option<String>,
) -> NearRoute {
    let mut blockers: Vec<Blocker> = found
        .into_iter()
        .filter(|(_, slack, _)| *slack < 0.0)
        .map(|(number, slack, at)| Blocker { name: name(ask, number), short_mm: -slack, at })
        .collect();
    blockers.sort_by(|a, b| b.short_mm.total_cmp(&a.short_mm));
    NearRoute {
        bends: chain.corners.len(),
        length_mm: chain.layout().length_mm(),
        blockers,
        rule_short_mm,
        refused,
    }
}
