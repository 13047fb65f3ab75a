//! Placing marks by readings of any kind: several starts, and whether their ends can be told apart.
//!
//! For marks that distances alone do not place one by one. What comes out is a start for the
//! adjustment of the whole, not the answer.

use nalgebra::{Point3, Vector3};

use super::NetworkError;
use super::adjust::{Columns, Problem};
use super::component::State;
use super::mirror::RULED_OUT;
use super::network_graph::{Graph, Tie};
use super::null_space::{Loose, loose};
use super::sight::Place;
use crate::space::Direction;

/// Starts tried.
const STARTS: usize = 48;
/// Two ends nearer than this are one, mm.
const SAME_MM: f64 = 0.5;
/// Marks placed together at most.
const MOST_TOGETHER: usize = 8;

/// Why marks were not placed.
pub(super) enum Unplaced {
    /// They could still move.
    Loose(Vec<Loose>),
    /// They have enough, and yet no one place.
    Because(NetworkError),
}

/// Places of marks that are looked for together, the others standing.
pub(super) fn place_together(
    graph: &Graph,
    active: &[bool],
    places: &[Option<Place>],
    nodes: &[usize],
) -> Result<Vec<Place>, Unplaced> {
    let stands = |node: usize| places[node].is_some() || nodes.contains(&node);
    let edges: Vec<usize> = (0..graph.edges.len())
        .filter(|i| active[*i])
        .filter(|i| {
            let of = graph.edges[*i].nodes();
            of.iter().any(|n| nodes.contains(n)) && of.iter().all(|n| stands(*n))
        })
        .collect();
    let problem = Problem {
        graph,
        columns: Columns::places_of(graph, nodes),
        known: Vec::new(),
        signs: graph.edges.iter().map(|_| 0.0).collect(),
        tape_sigma: [0.0; 2],
        edges,
    };
    let numbers: usize = problem.edges.iter().map(|i| super::component::count(&graph.edges[*i])).sum();
    let starts = starts(graph, &problem, places, nodes);
    if numbers < 3 * nodes.len() {
        return Err(Unplaced::Loose(loose(&problem, places, nodes, &starts[0])));
    }
    if nodes.len() > MOST_TOGETHER {
        let free = loose(&problem, places, nodes, &starts[0]);
        // They hold each other: nothing is missing but a place to begin at.
        return Err(match free.is_empty() {
            true => Unplaced::Because(NetworkError::TooManyTogether {
                mark: graph.nodes[nodes[0]].name.clone(),
                marks: graph.list(nodes),
                count: nodes.len(),
                most: MOST_TOGETHER,
            }),
            false => Unplaced::Loose(free),
        });
    }
    let mut ends: Vec<(f64, State)> = starts
        .iter()
        .map(|start| problem.minimum(start.clone(), None))
        .map(|end| (end.evaluation.chi_square(), end.state))
        .filter(|(cost, _)| cost.is_finite())
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some((least, best)) = ends.first().cloned() else {
        return Err(Unplaced::Loose(loose(&problem, places, nodes, &starts[0])));
    };
    let free = loose(&problem, places, nodes, &best);
    if !free.is_empty() {
        return Err(Unplaced::Loose(free));
    }
    let apart =
        |a: &State, b: &State| nodes.iter().map(|n| (a.places[*n] - b.places[*n]).norm()).fold(0.0, f64::max);
    let mut rivals: Vec<State> = Vec::new();
    for (cost, state) in ends {
        if cost - least <= RULED_OUT && rivals.iter().all(|known| apart(known, &state) > SAME_MM) {
            rivals.push(state);
        }
    }
    let chosen = choose(graph, &problem, nodes, rivals, &best).map_err(Unplaced::Because)?;
    let jacobian = problem.evaluate(&chosen, None).jacobian;
    let spread = (jacobian.transpose() * &jacobian).try_inverse();
    Ok(nodes
        .iter()
        .enumerate()
        .map(|(k, node)| {
            let variance = spread.as_ref().map_or(1.0, |s| (0..3).map(|a| s[(3 * k + a, 3 * k + a)]).sum());
            (chosen.places[*node], f64::sqrt(variance / 3.0))
        })
        .collect())
}

/// The end that the sides name; the only one needs none.
fn choose(
    graph: &Graph,
    problem: &Problem<'_>,
    nodes: &[usize],
    rivals: Vec<State>,
    best: &State,
) -> Result<State, NetworkError> {
    if rivals.len() < 2 {
        return Ok(best.clone());
    }
    let sided: Vec<(usize, Direction)> = problem
        .edges
        .iter()
        .map(|i| &graph.edges[*i])
        .filter(|edge| nodes.contains(&edge.mark))
        .filter_map(|edge| edge.side.map(|side| (edge.mark, side)))
        .collect();
    let score = |state: &State| -> f64 {
        sided.iter().map(|(mark, side)| side.unit().dot(&state.places[*mark].coords)).sum()
    };
    let mut order: Vec<&State> = rivals.iter().collect();
    order.sort_by(|a, b| score(b).total_cmp(&score(a)));
    let (first, second) = (order[0], order[1]);
    let off = |n: usize| first.places[n] - second.places[n];
    let Some(worst) = nodes.iter().copied().max_by(|a, b| off(*a).norm().total_cmp(&off(*b).norm())) else {
        return Ok(best.clone());
    };
    if score(first) - score(second) > 0.2 * off(worst).norm() {
        return Ok(first.clone());
    }
    let mut from: Vec<usize> = problem
        .edges
        .iter()
        .filter(|i| graph.edges[**i].nodes().contains(&worst))
        .flat_map(|i| graph.edges[*i].nodes())
        .filter(|n| *n != worst)
        .collect();
    from.sort_unstable();
    from.dedup();
    let (mark, apart) = (graph.nodes[worst].name.clone(), off(worst));
    let (one, other) = (Direction::nearest(&apart).word(), Direction::nearest(&-apart).word());
    match sided.iter().find(|(of, _)| *of == worst) {
        Some((_, side)) => Err(NetworkError::SideDoesNotTell { mark, side: side.word(), one, other }),
        None => {
            let plane = graph.list(&from);
            Err(NetworkError::Mirror { mark, plane, apart_mm: apart.norm(), one, other })
        }
    }
}

/// States to start from: about the middle of what stands, as far off as the readings are long.
fn starts(graph: &Graph, problem: &Problem<'_>, places: &[Option<Place>], nodes: &[usize]) -> Vec<State> {
    let mut anchors: Vec<usize> = problem.edges.iter().flat_map(|i| graph.edges[*i].nodes()).collect();
    anchors.retain(|n| places[*n].is_some());
    let standing = |n: &usize| places[*n].map(|(place, _)| place.coords);
    let sum = anchors.iter().filter_map(standing).fold(Vector3::zeros(), |sum, p| sum + p);
    let middle = sum / anchors.len().max(1) as f64;
    let lengths: Vec<f64> = problem
        .edges
        .iter()
        .map(|i| &graph.edges[*i])
        .filter(|edge| !matches!(edge.tie, Tie::Plumb { .. }))
        .map(|edge| edge.distance_mm.abs())
        .collect();
    let reach = (lengths.iter().sum::<f64>() / lengths.len().max(1) as f64).max(10.0);
    let blank = State {
        places: places.iter().map(|p| p.map_or(Point3::from(middle), |(place, _)| place)).collect(),
        diameters: graph.nodes.iter().map(|node| node.diameter_mm.unwrap_or(0.0)).collect(),
        zero_mm: 0.0,
        stretch: 0.0,
    };
    (0..STARTS)
        .map(|k| {
            let mut state = blank.clone();
            for (j, node) in nodes.iter().enumerate() {
                // Even over a box: van der Corput's sequence in bases 2, 3 and 5, another stretch of it for each mark.
                let at = 1 + k + j * STARTS;
                let off = [2, 3, 5].map(|base| 2.0 * reversed(at, base) - 1.0);
                state.places[*node] += Vector3::from(off) * (1.5 * reach);
            }
            state
        })
        .collect()
}

/// A whole number's digits mirrored at the point.
fn reversed(mut number: usize, base: usize) -> f64 {
    let (mut value, mut share) = (0.0, 1.0 / base as f64);
    while number > 0 {
        value += (number % base) as f64 * share;
        number /= base;
        share /= base as f64;
    }
    value
}
