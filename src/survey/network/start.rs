//! Placing marks one after another, each by the distances to those that stand already.
//!
//! What comes out is a start for the adjustment of the whole, not the answer.

use nalgebra::Point3;

use super::NetworkError;
use super::component::State;
use super::lacking::{IMPOSSIBLE_SIGMAS, apart, could_move, too_few};
use super::mirror::{choose, with_rival};
use super::network_graph::{Graph, Tie, listed};
use super::null_space::Loose;
use super::place_mixed::{Unplaced, place_together};
use super::sight::{Place, Sight, certainty, cost, miss, refine, sights, triples};
use super::trilaterate::{Trilateration, trilaterate};

/// Places every mark, using only the readings that are `active`; and for each reading square to a panel
/// on which side it was taken.
pub(super) fn place_all(graph: &Graph, active: &[bool]) -> Result<(State, Vec<f64>), Vec<NetworkError>> {
    let mut places: Vec<Option<Place>> = graph
        .nodes
        .iter()
        .map(|node| if node.placed { node.known } else { Some((Point3::origin(), 0.0)) })
        .collect();
    loop {
        let waiting: Vec<usize> = (0..places.len()).filter(|n| places[*n].is_none()).collect();
        if waiting.is_empty() {
            let places: Vec<Point3<f64>> = places.into_iter().flatten().map(|(place, _)| place).collect();
            let diameters = graph.nodes.iter().map(|node| node.diameter_mm.unwrap_or(0.0)).collect();
            let signs = signs(graph, &places);
            return Ok((State { places, diameters, zero_mm: 0.0, stretch: 0.0 }, signs));
        }
        let mut moved = false;
        let mut faults = Vec::new();
        // The mark with the most distances first: it has the least left to chance.
        let mut order: Vec<(usize, Vec<Sight>)> =
            waiting.iter().map(|n| (*n, sights(graph, active, &places, *n))).collect();
        order.sort_by_key(|(node, sights)| (usize::MAX - sights.len(), *node));
        for (node, sights) in &order {
            match place_alone(graph, active, &places, *node, sights) {
                Ok(place) => {
                    places[*node] = Some(place);
                    moved = true;
                    break;
                }
                Err(Refused::TooFew(_)) => faults.push(true),
                Err(Refused::Because(fault)) => {
                    faults.push(false);
                    if waiting.len() == 1 {
                        return Err(vec![fault]);
                    }
                }
            }
        }
        if moved {
            continue;
        }
        // None stands by what stands already; together they may.
        let few = faults.iter().all(|few| *few);
        if waiting.len() > 1 {
            match place_together(graph, active, &places, &waiting) {
                Ok(found) => {
                    for (node, place) in waiting.iter().zip(found) {
                        places[*node] = Some(place);
                    }
                    continue;
                }
                Err(Unplaced::Because(fault)) if few => return Err(vec![fault]),
                Err(Unplaced::Loose(loose)) if few => {
                    return Err(named(graph, active, &places, &waiting, &loose));
                }
                // Some have a fault of their own: tell of each mark by itself.
                Err(_) => {}
            }
        }
        let mut told = Vec::new();
        for (node, sights) in &order {
            match place_alone(graph, active, &places, *node, sights) {
                Ok(_) => {}
                Err(Refused::Because(fault)) => told.push(fault),
                Err(Refused::TooFew(loose)) => told.extend(named(graph, active, &places, &[*node], &loose)),
            }
        }
        told.sort_by_key(|fault| graph.nodes.iter().position(|node| node.name == fault.mark()));
        return Err(told);
    }
}

/// On which side of its panel each square reading was taken: by the side it names, else where the mark stands.
fn signs(graph: &Graph, places: &[Point3<f64>]) -> Vec<f64> {
    let of = |edge: &super::network_graph::Edge| {
        let Tie::Square { panel: [a, b, c] } = edge.tie else { return 0.0 };
        let normal = (places[b] - places[a]).cross(&(places[c] - places[a]));
        let told = edge.side.map(|side| side.unit().dot(&normal) / normal.norm().max(1e-12));
        match told {
            Some(along) if along.abs() > 0.2 => along.signum(),
            _ => 1f64.copysign(normal.dot(&(places[edge.mark] - places[a]))),
        }
    };
    graph.edges.iter().map(of).collect()
}

/// A fault for every mark that could still move, with the readings that would hold it.
fn named(
    graph: &Graph,
    active: &[bool],
    places: &[Option<Place>],
    waiting: &[usize],
    loose: &[Loose],
) -> Vec<NetworkError> {
    let mut faults: Vec<NetworkError> = waiting
        .iter()
        .map(|node| {
            let one = loose.iter().find(|one| one.mark == *node);
            let plain = graph.edges.iter().all(|edge| edge.plain() || !edge.nodes().contains(node));
            match one {
                Some(one) if !plain => could_move(graph, one),
                one => too_few(graph, active, places, *node, one.map_or(&[], |one| &one.take)),
            }
        })
        .collect();
    faults.sort_by_key(|fault| graph.nodes.iter().position(|node| node.name == fault.mark()));
    faults
}

/// Why a mark was not placed.
enum Refused {
    /// It has too few distances to marks with a place, so far; with what would hold it.
    TooFew(Vec<Loose>),
    /// It has enough, and yet no one place.
    Because(NetworkError),
}

/// By plain distances where it has no other readings, else by all it has.
fn place_alone(
    graph: &Graph,
    active: &[bool],
    places: &[Option<Place>],
    node: usize,
    sights: &[Sight],
) -> Result<Place, Refused> {
    let stands = |n: &usize| *n == node || places[*n].is_some();
    let mixed = graph.edges.iter().enumerate().any(|(i, edge)| {
        let of = edge.nodes();
        active[i] && !edge.plain() && of.contains(&node) && of.iter().all(stands)
    });
    let together = || match place_together(graph, active, places, &[node]) {
        Ok(found) => Ok(found[0]),
        Err(Unplaced::Because(fault)) => Err(Refused::Because(fault)),
        Err(Unplaced::Loose(loose)) => Err(Refused::TooFew(loose)),
    };
    if mixed {
        return together();
    }
    match place_one(graph, node, sights) {
        // What it lacks is asked of the movements that nothing holds.
        Err(Refused::TooFew(_)) => match place_together(graph, active, places, &[node]) {
            Err(Unplaced::Loose(loose)) => Err(Refused::TooFew(loose)),
            _ => Err(Refused::TooFew(Vec::new())),
        },
        other => other,
    }
}

fn place_one(graph: &Graph, node: usize, sights: &[Sight]) -> Result<Place, Refused> {
    let mut anchors: Vec<usize> = sights.iter().map(|s| s.node).collect();
    anchors.sort_unstable();
    anchors.dedup();
    if anchors.len() < 3 {
        return Err(Refused::TooFew(Vec::new()));
    }
    let triples = triples(sights);
    if triples.is_empty() {
        return Err(Refused::TooFew(Vec::new()));
    }
    let redundant = anchors.len() > 3;
    if !redundant && let Some(fault) = apart(graph, node, sights) {
        return Err(Refused::Because(fault));
    }
    let candidates: Vec<Point3<f64>> = triples
        .iter()
        .flat_map(|[a, b, c]| {
            let anchors = [sights[*a].anchor, sights[*b].anchor, sights[*c].anchor];
            let lengths = [sights[*a].distance_mm, sights[*b].distance_mm, sights[*c].distance_mm];
            match trilaterate(&anchors, lengths) {
                Trilateration::Two(one, other) => vec![one, other],
                Trilateration::Short { in_plane, .. } => vec![in_plane],
                Trilateration::Collinear => vec![],
            }
        })
        .collect();
    let Some(first) = candidates.iter().min_by(|a, b| cost(sights, a).total_cmp(&cost(sights, b))) else {
        return Err(Refused::TooFew(Vec::new()));
    };
    let one = refine(sights, *first);
    let (one, other) = with_rival(sights, one, &candidates);
    if !redundant {
        let worst = sights
            .iter()
            .max_by(|a, b| (miss(a, &one) / a.sigma_mm).abs().total_cmp(&(miss(b, &one) / b.sigma_mm).abs()));
        if let Some(worst) = worst
            && (miss(worst, &one) / worst.sigma_mm).abs() > IMPOSSIBLE_SIGMAS
        {
            let fault = NetworkError::Impossible {
                mark: graph.nodes[node].name.clone(),
                why: format!(
                    "even the nearest place misses {} by {:.1} mm",
                    graph.reading_name(worst.edge),
                    miss(worst, &one).abs()
                ),
                again: listed(sights.iter().map(|s| graph.reading_name(s.edge)).collect()),
            };
            return Err(Refused::Because(fault));
        }
    }
    if let (_, Some(known_to_mm)) = certainty(sights, &one) {
        let fault = NetworkError::Flat {
            mark: graph.nodes[node].name.clone(),
            plane: graph.list(&anchors),
            known_to_mm,
        };
        return Err(Refused::Because(fault));
    }
    let chosen = choose(graph, node, sights, one, other).map_err(Refused::Because)?;
    let (sigma, _) = certainty(sights, &chosen);
    Ok((chosen, sigma))
}
