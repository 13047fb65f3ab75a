//! Placing marks one after another, each by the distances to those that stand already.
//!
//! What comes out is a start for the adjustment of the whole, not the answer.

use nalgebra::Point3;

use super::NetworkError;
use super::lacking::{IMPOSSIBLE_SIGMAS, apart, too_few};
use super::mirror::{choose, with_rival};
use super::network_graph::{Graph, listed};
use super::sight::{Place, Sight, certainty, cost, miss, refine, sights, triples};
use super::trilaterate::{Trilateration, trilaterate};

/// Places every mark, using only the readings that are `active`.
pub(super) fn place_all(graph: &Graph, active: &[bool]) -> Result<Vec<Point3<f64>>, Vec<NetworkError>> {
    let mut places: Vec<Option<Place>> = graph.nodes.iter().map(|node| node.known).collect();
    loop {
        let waiting: Vec<usize> = (0..places.len()).filter(|n| places[*n].is_none()).collect();
        if waiting.is_empty() {
            return Ok(places.into_iter().flatten().map(|(place, _)| place).collect());
        }
        let mut moved = false;
        let mut faults = Vec::new();
        // The mark with the most distances first: it has the least left to chance.
        let mut order: Vec<(usize, Vec<Sight>)> =
            waiting.iter().map(|n| (*n, sights(graph, active, &places, *n))).collect();
        order.sort_by_key(|(node, sights)| (usize::MAX - sights.len(), *node));
        for (node, sights) in &order {
            match place_one(graph, *node, sights) {
                Ok(place) => {
                    places[*node] = Some(place);
                    moved = true;
                    break;
                }
                Err(Refused::TooFew) => faults.push(too_few(graph, active, &places, *node)),
                Err(Refused::Because(fault)) => faults.push(fault),
            }
        }
        if !moved {
            faults.sort_by_key(|fault| graph.nodes.iter().position(|node| node.name == fault.mark()));
            return Err(faults);
        }
    }
}

/// Why a mark was not placed.
enum Refused {
    /// It has too few distances to marks with a place, so far.
    TooFew,
    /// It has enough, and yet no one place.
    Because(NetworkError),
}

fn place_one(graph: &Graph, node: usize, sights: &[Sight]) -> Result<Place, Refused> {
    let mut anchors: Vec<usize> = sights.iter().map(|s| s.node).collect();
    anchors.sort_unstable();
    anchors.dedup();
    if anchors.len() < 3 {
        return Err(Refused::TooFew);
    }
    let triples = triples(sights);
    if triples.is_empty() {
        return Err(Refused::TooFew);
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
        return Err(Refused::TooFew);
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
