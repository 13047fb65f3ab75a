//! Which marks could still move without any reading noticing, and which reading would hold them.
//!
//! The movements that no reading sees are the null space of the slopes. A straight distance holds the
//! one along it, so among all distances not yet taken the one that the null space changes most is
//! named; what it leaves is looked at again.

use nalgebra::{DMatrix, DVector, Vector3};

use super::adjust::Problem;
use super::component::State;
use super::network_graph::Graph;
use super::sight::Place;

/// Part of the greatest slope below which a movement goes unseen.
const UNSEEN: f64 = 1e-7;
/// Of the greatest possible change, what a further reading must see to be named.
const SEES: f64 = 0.02;
/// A mark moves when its share of an unseen movement is above this.
const MOVES: f64 = 1e-3;

/// A mark that could still move.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Loose {
    /// The mark.
    pub mark: usize,
    /// In how many independent ways.
    pub ways: usize,
    /// Distances that would hold it, the best first, as many as are needed; fewer when there are no marks for more.
    pub take: Vec<(usize, usize)>,
}

/// Marks that could still move at the place where the readings agree best, near a start.
pub(super) fn loose(
    problem: &Problem<'_>,
    places: &[Option<Place>],
    nodes: &[usize],
    start: &State,
) -> Vec<Loose> {
    let state =
        if problem.edges.is_empty() { start.clone() } else { problem.minimum(start.clone(), None).state };
    let jacobian = problem.evaluate(&state, None).jacobian;
    let mut free = unseen(&jacobian, problem.columns.count);
    let ways: Vec<usize> = (0..nodes.len()).map(|k| rank_of(&free, k)).collect();
    let mut take: Vec<(usize, usize)> = Vec::new();
    while !free.is_empty() {
        let Some((pair, row)) = best_distance(problem, places, nodes, &state, &free, &take) else { break };
        take.push(pair);
        free = held(free, &row);
    }
    nodes
        .iter()
        .zip(ways)
        .filter(|(_, ways)| *ways > 0)
        .map(|(mark, ways)| {
            let own = take.iter().filter(|(of, from)| of == mark || from == mark).copied();
            Loose { mark: *mark, ways, take: own.take(ways).collect() }
        })
        .collect()
}

/// Orthonormal movements that the slopes do not see.
fn unseen(jacobian: &DMatrix<f64>, columns: usize) -> Vec<DVector<f64>> {
    if jacobian.nrows() == 0 {
        return (0..columns).map(|k| DVector::from_fn(columns, |i, _| f64::from(i == k))).collect();
    }
    let eigen = (jacobian.transpose() * jacobian).symmetric_eigen();
    let greatest = eigen.eigenvalues.max();
    (0..columns)
        .filter(|k| eigen.eigenvalues[*k] <= UNSEEN * greatest)
        .map(|k| eigen.eigenvectors.column(k).into_owned())
        .collect()
}

/// In how many ways mark `k` of the problem moves.
fn rank_of(free: &[DVector<f64>], k: usize) -> usize {
    if free.is_empty() {
        return 0;
    }
    let block = DMatrix::from_fn(3, free.len(), |i, j| free[j][3 * k + i]);
    block.svd(false, false).singular_values.iter().filter(|s| **s > MOVES).count()
}

/// What remains unseen with one more row of slopes.
fn held(free: Vec<DVector<f64>>, row: &DVector<f64>) -> Vec<DVector<f64>> {
    // Turn the basis so that one of it takes all of the row, and drop that one.
    let seen = DVector::from_iterator(free.len(), free.iter().map(|v| v.dot(row)));
    let size = seen.norm();
    if size <= 0.0 {
        return free;
    }
    let basis = DMatrix::from_columns(&free);
    let first = seen / size;
    let mut kept: Vec<DVector<f64>> = vec![first];
    for k in 0..free.len() {
        let mut next = DVector::from_fn(free.len(), |i, _| f64::from(i == k));
        for known in &kept {
            next -= known * known.dot(&next);
        }
        if next.norm() > 1e-6 && kept.len() < free.len() {
            kept.push(next.normalize());
        }
    }
    kept[1..].iter().map(|v| &basis * v).collect()
}

/// The distance not yet taken that the unseen movements change most, and its slopes.
fn best_distance(
    problem: &Problem<'_>,
    places: &[Option<Place>],
    nodes: &[usize],
    state: &State,
    free: &[DVector<f64>],
    taken: &[(usize, usize)],
) -> Option<((usize, usize), DVector<f64>)> {
    let graph: &Graph = problem.graph;
    let mut best: Option<(f64, (usize, usize), DVector<f64>)> = None;
    for (k, mark) in nodes.iter().enumerate() {
        for (other, place) in places.iter().enumerate() {
            let earlier = nodes.iter().position(|n| *n == other);
            // Between two marks that are both looked for, once.
            if other == *mark || earlier.is_some_and(|j| j < k) || (earlier.is_none() && place.is_none()) {
                continue;
            }
            let is_this = |a: usize, b: usize| (a, b) == (*mark, other) || (b, a) == (*mark, other);
            let have = graph.edges.iter().any(|e| e.other(*mark) == Some(other));
            if have || taken.iter().any(|(a, b)| is_this(*a, *b)) {
                continue;
            }
            let Some(away) = (state.places[*mark] - state.places[other]).try_normalize(1e-9) else {
                continue;
            };
            let mut row = DVector::zeros(problem.columns.count);
            let mut add = |at: usize, by: Vector3<f64>| {
                for axis in 0..3 {
                    row[at + axis] += by[axis];
                }
            };
            add(3 * k, away);
            if let Some(j) = earlier {
                add(3 * j, -away);
            }
            // A distance to a mark that stands holds better than one to a mark that moves itself.
            let favour = if earlier.is_some() { 0.5 } else { 1.0 };
            let sees = favour * free.iter().map(|v| v.dot(&row).powi(2)).sum::<f64>().sqrt();
            if sees > SEES * favour && best.as_ref().is_none_or(|(most, _, _)| sees > *most + 1e-9) {
                best = Some((sees, (*mark, other), row));
            }
        }
    }
    best.map(|(_, pair, row)| (pair, row))
}
