//! All marks at once by weighted least squares, or with less weight for what lies far off.

use nalgebra::{DMatrix, DVector, Point3, Vector3};

use super::component::{Signs, State, components};
use super::network_graph::{Graph, Tie};
use super::{Loss, NetworkOptions};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

/// Rounds in which weights are found anew, at most.
const MOST_ROUNDS: usize = 60;

/// Where a component of the residuals comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Origin {
    /// A reading.
    Reading(usize),
    /// A coordinate of a mark, known beforehand: the mark and 0, 1 or 2.
    Known(usize, usize),
    /// What is known beforehand of the tape itself.
    Tape,
}

/// Which unknowns a problem has, and where they stand in a row.
#[derive(Clone, Debug)]
pub(super) struct Columns {
    /// First of three of each mark; `None` for one that stays.
    pub places: Vec<Option<usize>>,
    /// Of each mark's diameter.
    pub diameters: Vec<Option<usize>>,
    /// Of the tape's zero and stretch.
    pub tape: [Option<usize>; 2],
    /// Their number.
    pub count: usize,
}

impl Columns {
    /// Everything that is not right by definition.
    pub fn all(graph: &Graph, active: &[bool], options: &NetworkOptions) -> Columns {
        let mut columns = Columns { places: Vec::new(), diameters: Vec::new(), tape: [None; 2], count: 0 };
        for node in &graph.nodes {
            let free = node.placed && !matches!(node.known, Some((_, sigma)) if sigma == 0.0);
            columns.places.push(free.then_some(columns.count));
            columns.count += if free { 3 } else { 0 };
        }
        for node in 0..graph.nodes.len() {
            let speaks = |(i, edge): (usize, &super::network_graph::Edge)| {
                let of_size = matches!(edge.tie, Tie::Round { .. });
                let to_skin = matches!(edge.tie, Tie::Straight { halves, .. } if halves != 0.0);
                active[i] && edge.mark == node && (of_size || to_skin)
            };
            let free = graph.edges.iter().enumerate().any(speaks);
            columns.diameters.push(free.then_some(columns.count));
            columns.count += usize::from(free);
        }
        for (slot, sigma) in columns.tape.iter_mut().zip([options.zero_sigma_mm, options.stretch_sigma]) {
            if sigma > 0.0 {
                *slot = Some(columns.count);
                columns.count += 1;
            }
        }
        columns
    }

    /// Only the places of some marks.
    pub fn places_of(graph: &Graph, nodes: &[usize]) -> Columns {
        let mut places = vec![None; graph.nodes.len()];
        for (k, node) in nodes.iter().enumerate() {
            places[*node] = Some(3 * k);
        }
        let diameters = vec![None; graph.nodes.len()];
        Columns { places, diameters, tape: [None; 2], count: 3 * nodes.len() }
    }

    /// The state a step further.
    pub fn step(&self, state: &State, change: &DVector<f64>) -> State {
        let mut next = state.clone();
        for (place, column) in next.places.iter_mut().zip(&self.places) {
            if let Some(c) = column {
                *place += Vector3::new(change[*c], change[c + 1], change[c + 2]);
            }
        }
        for (diameter, column) in next.diameters.iter_mut().zip(&self.diameters) {
            *diameter += column.map_or(0.0, |c| change[c]);
        }
        next.zero_mm += self.tape[0].map_or(0.0, |c| change[c]);
        next.stretch += self.tape[1].map_or(0.0, |c| change[c]);
        next
    }
}

/// A least-squares problem: which readings count and what is looked for.
pub(super) struct Problem<'a> {
    /// The network.
    pub graph: &'a Graph,
    /// Indices of the readings that count.
    pub edges: Vec<usize>,
    /// What is looked for.
    pub columns: Columns,
    /// Known coordinates that take part: mark, place, sigma.
    pub known: Vec<(usize, Point3<f64>, f64)>,
    /// Sides of panels, one a reading.
    pub signs: Vec<f64>,
    /// Sigma of the tape's zero and stretch.
    pub tape_sigma: [f64; 2],
}

impl Problem<'_> {
    /// Residuals over sigma and their slopes; `weights`, one a component, are taken by their root.
    pub fn evaluate(&self, state: &State, weights: Option<&[f64]>) -> Evaluation {
        let count = self.columns.count;
        let mut builder = Evaluation::builder(count);
        let mut row = vec![0.0; count];
        let mut k = 0;
        let root = |k: usize| weights.map_or(1.0, |w| w[k].sqrt());
        let signs: &Signs = &self.signs;
        for &i in &self.edges {
            let edge = &self.graph.edges[i];
            for one in components(edge, signs[i], state) {
                row.fill(0.0);
                for (node, slope) in &one.by_place {
                    if let Some(c) = self.columns.places[*node] {
                        for axis in 0..3 {
                            row[c + axis] += slope[axis];
                        }
                    }
                }
                if let Some(c) = self.columns.diameters[edge.mark] {
                    row[c] += one.by_diameter;
                }
                for (slot, slope) in self.columns.tape.iter().zip(one.by_tape) {
                    if let Some(c) = slot {
                        row[*c] += slope;
                    }
                }
                builder.reading(i, edge.sigma_mm / root(k), one.miss_mm, Vector3::zeros(), &row);
                k += 1;
            }
        }
        for (node, place, sigma) in &self.known {
            for axis in 0..3 {
                row.fill(0.0);
                if let Some(c) = self.columns.places[*node] {
                    row[c + axis] = 1.0;
                }
                builder.known(sigma / root(k), state.places[*node][axis] - place[axis], &row);
                k += 1;
            }
        }
        for (slot, (sigma, value)) in
            self.columns.tape.iter().zip(self.tape_sigma.iter().zip([state.zero_mm, state.stretch]))
        {
            if let Some(c) = slot {
                row.fill(0.0);
                row[*c] = 1.0;
                builder.known(*sigma, value, &row);
            }
        }
        builder.done()
    }

    /// The minimum near `start`.
    pub fn minimum(&self, start: State, weights: Option<&[f64]>) -> Minimum<State> {
        minimise(
            start,
            |state| self.evaluate(state, weights),
            |state, change| self.columns.step(state, change),
        )
    }

    /// Where each component comes from.
    pub fn origins(&self) -> Vec<Origin> {
        let mut origins = Vec::new();
        for &i in &self.edges {
            let count = super::component::count(&self.graph.edges[i]);
            origins.extend(std::iter::repeat_n(Origin::Reading(i), count));
        }
        for (node, _, _) in &self.known {
            origins.extend((0..3).map(|axis| Origin::Known(*node, axis)));
        }
        origins.extend(self.columns.tape.iter().flatten().map(|_| Origin::Tape));
        origins
    }
}

/// The adjustment: what was looked for, and where it ended.
pub(super) struct Adjustment {
    /// The unknowns.
    pub columns: Columns,
    /// The minimum; residuals and slopes without any weight but the sigmas'.
    pub minimum: Minimum<State>,
    /// For each component: where it comes from.
    pub origins: Vec<Origin>,
    /// Weights of a robust solution, one a component; `None` for least squares.
    pub weights: Option<Vec<f64>>,
}

/// Adjusts everything from `start`, with the readings that are `active`. Known coordinates with a
/// sigma take part as readings of their own.
pub(super) fn adjust(
    graph: &Graph,
    active: &[bool],
    start: State,
    signs: Vec<f64>,
    options: &NetworkOptions,
) -> Adjustment {
    let columns = Columns::all(graph, active, options);
    let known = graph
        .nodes
        .iter()
        .enumerate()
        .filter_map(|(n, node)| node.known.map(|(place, sigma)| (n, place, sigma)))
        .filter(|(_, _, sigma)| *sigma > 0.0)
        .collect();
    let edges = (0..graph.edges.len()).filter(|edge| active[*edge]).collect();
    let tape_sigma = [options.zero_sigma_mm, options.stretch_sigma];
    let problem = Problem { graph, edges, columns, known, signs, tape_sigma };
    let mut minimum = problem.minimum(start, None);
    let mut weights = None;
    if let Loss::Huber { sigmas } = options.loss {
        let (robust, found) = reweighted(&problem, minimum, sigmas);
        (minimum, weights) = (robust, Some(found));
    }
    let origins = problem.origins();
    Adjustment { columns: problem.columns, minimum, origins, weights }
}

/// Weights by Huber's rule, found anew until the marks stay.
///
/// # Source
/// Huber, Ann. Math. Stat. 35 (1964) 73-101 (from memory); solved by repeated weighted least squares.
fn reweighted(problem: &Problem<'_>, squares: Minimum<State>, sigmas: f64) -> (Minimum<State>, Vec<f64>) {
    let weigh = |evaluation: &Evaluation| -> Vec<f64> {
        evaluation.residuals.iter().map(|r| if r.abs() <= sigmas { 1.0 } else { sigmas / r.abs() }).collect()
    };
    let mut here = squares;
    let mut weights = weigh(&here.evaluation);
    let mut settled = false;
    for _ in 0..MOST_ROUNDS {
        let next = problem.minimum(here.state.clone(), Some(&weights));
        let plain = problem.evaluate(&next.state, None);
        let moved = (&plain.residuals - &here.evaluation.residuals).norm();
        weights = weigh(&plain);
        here = Minimum { evaluation: plain, ..next };
        if moved < 1e-8 {
            settled = here.converged;
            break;
        }
    }
    (Minimum { converged: settled, ..here }, weights)
}

impl Adjustment {
    /// Covariance over every mark, three rows each, from that of the unknowns.
    pub fn spread_out(&self, cofactor: &DMatrix<f64>) -> DMatrix<f64> {
        let n = self.columns.places.len();
        DMatrix::from_fn(3 * n, 3 * n, |i, j| {
            match (self.columns.places[i / 3], self.columns.places[j / 3]) {
                (Some(a), Some(b)) => cofactor[(a + i % 3, b + j % 3)],
                _ => 0.0,
            }
        })
    }
}
