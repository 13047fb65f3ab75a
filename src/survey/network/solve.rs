//! A network from readings to marks with their joint covariance.

use nalgebra::{DMatrix, Vector3};

use super::adjust::{Adjustment, Origin, adjust};
use super::component::components;
use super::lacking::could_move;
use super::network_graph::{Graph, Tie, listed};
use super::null_space::Loose;
use super::slip::known_slip;
use super::snoop::{LEFT_OUT, Snooped, alike, beyond_chance, limit, standardise};
use super::start::place_all;
use super::{
    KnownMark, Loss, NetworkError, NetworkMark, NetworkOptions, NetworkReading, NetworkSolution,
    ReadingSlope, RoundThing, TapeReading, TapeResidual, TapeSuspect,
};
use crate::survey::fit::inverse_normal;
use crate::survey::uncertainty::chi_square_tail;

/// Readings that contradict each other by more than this many times their sigma, with no telling
/// which is wrong, give no answer.
const HOPELESS: f64 = 5.0;
/// Suspects tried one by one.
const MOST_TRIALS: usize = 16;

/// Solves a tape network: every taped mark at once, weighted least squares, known marks with a
/// sigma adjusted along with them.
///
/// A reading that the others show to be misread is dropped and named in `suspects`; where several
/// may be the wrong one all are kept and named, and the covariance grows.
///
/// # Errors
/// Every mark that has no answer, each with the reading that would give it one: see [`NetworkError`].
pub fn solve_network(
    known: &[KnownMark],
    tape: &[TapeReading],
) -> Result<NetworkSolution, Vec<NetworkError>> {
    let readings: Vec<NetworkReading> = tape.iter().map(NetworkReading::from).collect();
    solve_readings(known, &readings, &NetworkOptions::default())
}

/// [`solve_network`] with readings of every kind and choices.
///
/// About `n^3` for n unknowns, some ten times; with misread distances once more for each suspect.
///
/// # Errors
/// As [`solve_network`].
///
/// # Example
/// The top of a post: 300 mm up from the floor mark, plumb over it, by a square 500 mm from a panel in x = 0.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::space::Direction;
/// use baywright::survey::network::{How, KnownMark, NetworkOptions, NetworkReading, solve_readings};
/// use nalgebra::Point3;
/// let known = |name: &str, at: [f64; 3], sigma_mm: f64| KnownMark {
///     name: name.into(), position: Point3::from(at), sigma_mm,
/// };
/// let marks = [
///     known("F", [498.0, 200.0, 0.0], 2.0),
///     known("A", [0.0, 0.0, 0.0], 0.0),
///     known("B", [0.0, 400.0, 0.0], 0.0),
///     known("C", [0.0, 0.0, 400.0], 0.0),
/// ];
/// let reading = |how: How, value_mm: f64| NetworkReading {
///     mark: "T".into(), how, value_mm, hook_mm: 0.0, sigma_mm: 1.0, side: None, line: 0,
/// };
/// let readings = [
///     reading(How::Offset { from: Some("F".into()), along: Direction::Up }, 300.0),
///     reading(How::Plumb { from: "F".into() }, 0.0),
///     reading(How::Square { panel: ["A".into(), "B".into(), "C".into()] }, 500.0),
/// ];
/// let solution = solve_readings(&marks, &readings, &NetworkOptions::default()).unwrap();
/// // x by weights: the floor mark knows it to root(2^2 + 1^2), the square to 1: (498 / 5 + 500) / (1 / 5 + 1).
/// let top = &solution.marks[4];
/// assert!((top.position - Point3::new(499.6666667, 200.0, 300.0)).norm() < 1e-6);
/// ```
pub fn solve_readings(
    known: &[KnownMark],
    readings: &[NetworkReading],
    options: &NetworkOptions,
) -> Result<NetworkSolution, Vec<NetworkError>> {
    let graph = Graph::build(known, readings)?;
    let mut active = vec![true; graph.edges.len()];
    let mut solved = solve_active(&graph, &active, options)?;
    let mut suspects: Vec<TapeSuspect> = Vec::new();
    loop {
        let limit = limit(&solved.snooped, solved.degrees_of_freedom());
        let beyond = beyond_chance(&solved.snooped, limit);
        if beyond.is_empty() {
            break;
        }
        if options.loss != Loss::Squares {
            suspects.extend(beyond.iter().map(|k| name_suspect(&graph, &solved, *k)));
            break;
        }
        let trials: Vec<(usize, Option<Solved>)> = beyond
            .iter()
            .take(MOST_TRIALS)
            .map(|&k| {
                let without = solved.reading(k).and_then(|reading| {
                    let mut fewer = active.clone();
                    fewer[reading] = false;
                    solve_active(&graph, &fewer, options).ok()
                });
                (k, without)
            })
            .collect();
        let remaining: Vec<(f64, usize)> = trials
            .iter()
            .map(|(k, without)| match without {
                Some(without) => (without.chi_square(), without.degrees_of_freedom()),
                // Not to be left out: what the straight-line estimate says would remain.
                None => {
                    let gained = solved.snooped[*k].standardised.map_or(0.0, |w| w * w);
                    (solved.chi_square() - gained, solved.degrees_of_freedom().saturating_sub(1))
                }
            })
            .collect();
        let alike = alike(&remaining);
        let culprit = match alike.as_slice() {
            [one] => trials.into_iter().nth(*one),
            _ => None,
        };
        let gross = |k: usize| solved.snooped[k].standardised.is_some_and(|w| w.abs() > LEFT_OUT);
        match culprit {
            Some((k, Some(without))) if gross(k) => {
                let Some(reading) = solved.reading(k) else { break };
                let error_mm = off_by(&graph, &without, reading);
                let sigma_mm = graph.edges[reading].sigma_mm / solved.snooped[k].share.sqrt();
                let message = misread(&graph, reading, error_mm, sigma_mm);
                suspects.push(TapeSuspect { reading: Some(reading), error_mm, dropped: true, message });
                active[reading] = false;
                solved = without;
            }
            Some((k, _)) => {
                suspects.push(name_suspect(&graph, &solved, k));
                break;
            }
            None => {
                let named = alike.iter().filter_map(|i| beyond.get(*i));
                suspects.extend(likely(named.map(|k| name_suspect(&graph, &solved, *k)).collect()));
                break;
            }
        }
    }
    let free = solved.degrees_of_freedom() as f64;
    let chi_square = solved.chi_square();
    let scale = match &solved.adjustment.weights {
        Some(weights) => robust_factor(&solved.adjustment, weights).sqrt(),
        None if chi_square_tail(chi_square, free) < 0.001 => (chi_square / free).sqrt(),
        None => 1.0,
    };
    if scale > HOPELESS {
        return Err(vec![disagreement(&graph, &solved, &suspects)]);
    }
    Ok(solved.into_solution(&graph, &active, suspects, chi_square, scale))
}

/// An adjustment with its covariance before scaling.
struct Solved {
    adjustment: Adjustment,
    signs: Vec<f64>,
    cofactor: DMatrix<f64>,
    snooped: Vec<Snooped>,
}

fn solve_active(
    graph: &Graph,
    active: &[bool],
    options: &NetworkOptions,
) -> Result<Solved, Vec<NetworkError>> {
    let (start, signs) = place_all(graph, active)?;
    let adjustment = adjust(graph, active, start, signs.clone(), options);
    let jacobian = &adjustment.minimum.evaluation.jacobian;
    let cofactor = if jacobian.ncols() == 0 {
        DMatrix::zeros(0, 0)
    } else {
        inverse_normal(jacobian).ok_or_else(|| {
            let mark = loosest(&adjustment).unwrap_or(0);
            vec![could_move(graph, &Loose { mark, ways: 1, take: Vec::new() })]
        })?
    };
    if !adjustment.minimum.converged && jacobian.ncols() > 0 {
        let evaluation = &adjustment.minimum.evaluation;
        let worst = evaluation.residuals.iamax();
        let mark = match adjustment.origins[worst] {
            Origin::Reading(reading) => graph.edges[reading].mark,
            Origin::Known(node, _) => node,
            Origin::Tape => 0,
        };
        return Err(vec![NetworkError::NotConverged { mark: graph.nodes[mark].name.clone() }]);
    }
    let snooped = standardise(&adjustment, &cofactor);
    Ok(Solved { adjustment, signs, cofactor, snooped })
}

/// Factor on the variances of least squares when weights follow Huber's rule: K^2 (sum psi^2 / (n - p)) / (mean psi')^2 with
/// K = 1 + p (1 - m) / (n m), m the mean of psi'. Never below 1: few readings that happen to agree make no mark better known.
///
/// # Source
/// P. J. Huber, *Robust Statistics* (1981), section 7.6, first of the three forms (from memory); checked by simulation in the tests.
fn robust_factor(adjustment: &Adjustment, weights: &[f64]) -> f64 {
    let residuals = &adjustment.minimum.evaluation.residuals;
    let unknowns = adjustment.minimum.evaluation.jacobian.ncols() as f64;
    let count = residuals.len() as f64;
    if count <= unknowns {
        return 1.0;
    }
    let (mut squares, mut inside) = (0.0, 0.0);
    for ((residual, weight), origin) in residuals.iter().zip(weights).zip(&adjustment.origins) {
        // What is known of the tape itself is not weighed.
        let weight = if matches!(origin, Origin::Tape) { 1.0 } else { *weight };
        squares += (weight * residual).powi(2);
        inside += f64::from(u8::from(weight >= 1.0));
    }
    // Where every reading is beyond the bound the formula knows no figure: as if one were not.
    let mean = inside.max(1.0) / count;
    let k = 1.0 + unknowns * (1.0 - mean) / (count * mean);
    (k * k * squares / (count - unknowns) / (mean * mean)).max(1.0)
}

/// The mark that could move most without any reading noticing.
fn loosest(adjustment: &Adjustment) -> Option<usize> {
    let jacobian = &adjustment.minimum.evaluation.jacobian;
    let eigen = (jacobian.transpose() * jacobian).symmetric_eigen();
    let direction = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    let places = &adjustment.columns.places;
    (0..places.len())
        .filter_map(|node| places[node].map(|column| (node, direction.rows(column, 3).norm())))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(node, _)| node)
}

/// Read less solved, mm; for plumb how far apart, for an edge along it unless it is further off across.
fn off_by(graph: &Graph, solved: &Solved, reading: usize) -> f64 {
    let edge = &graph.edges[reading];
    let parts = components(edge, solved.signs[reading], &solved.adjustment.minimum.state);
    match edge.tie {
        Tie::Plumb { .. } => parts[0].miss_mm.hypot(parts[1].miss_mm),
        Tie::Edge { .. } => {
            let across = parts[1].miss_mm.hypot(parts[2].miss_mm);
            if across > parts[0].miss_mm.abs() { across } else { -parts[0].miss_mm }
        }
        _ => -parts[0].miss_mm,
    }
}

fn misread(graph: &Graph, reading: usize, error_mm: f64, sigma_mm: f64) -> String {
    let by = if error_mm.abs() >= 10.0 {
        format!("{:.0}", error_mm.abs())
    } else {
        format!("{:.1}", error_mm.abs())
    };
    let name = graph.reading_name(reading);
    let edge = &graph.edges[reading];
    match edge.tie {
        Tie::Plumb { .. } => format!("{name} is about {by} mm off: did the bob hang still?"),
        Tie::Edge { .. } => format!("{name} is about {by} mm off: misread, or is the edge not straight?"),
        _ => {
            let word = match (edge.tie, error_mm > 0.0) {
                (Tie::Offset { .. }, true) => "too far",
                (Tie::Offset { .. }, false) => "not far enough",
                (_, true) => "long",
                (_, false) => "short",
            };
            let slip = known_slip(edge.read_mm, error_mm, sigma_mm);
            let slip = slip.map(|words| format!(" {words}")).unwrap_or_default();
            format!("{name} is about {by} mm {word}: misread?{slip}")
        }
    }
}

/// A place known beforehand that would have to be off by so many times the least error which explains as much is no likely
/// culprit: the readings hardly feel it.
const UNLIKELY: f64 = 10.0;

/// Of suspects that explain the same, those that are likely.
fn likely(mut suspects: Vec<TapeSuspect>) -> Vec<TapeSuspect> {
    let errors = suspects.iter().map(|one| one.error_mm.abs()).filter(|error_mm| *error_mm > 0.0);
    let least_mm = errors.fold(f64::INFINITY, f64::min);
    suspects.retain(|one| one.reading.is_some() || one.error_mm.abs() <= UNLIKELY * least_mm);
    if suspects.len() > 1 {
        for one in &mut suspects {
            one.message.push_str(" (one of several that would each explain it alone)");
        }
    }
    suspects
}

fn name_suspect(graph: &Graph, solved: &Solved, k: usize) -> TapeSuspect {
    let snooped = &solved.snooped[k];
    match snooped.origin {
        Origin::Reading(reading) => {
            let error_mm = off_by(graph, solved, reading) / snooped.share;
            let sigma_mm = graph.edges[reading].sigma_mm / snooped.share.sqrt();
            let message = misread(graph, reading, error_mm, sigma_mm);
            TapeSuspect { reading: Some(reading), error_mm, dropped: false, message }
        }
        Origin::Known(mark, axis) => {
            let node = &graph.nodes[mark];
            let sigma = node.known.map_or(0.0, |(_, sigma)| sigma);
            let error_mm = -solved.adjustment.minimum.evaluation.residuals[k] * sigma / snooped.share;
            let axis = ["x", "y", "z"][axis];
            let message =
                format!("{} of {} seems about {:.1} mm off: is its place right?", axis, node.name, error_mm);
            TapeSuspect { reading: None, error_mm, dropped: false, message }
        }
        Origin::Tape => {
            let message = "the tape itself seems off".to_owned();
            TapeSuspect { reading: None, error_mm: 0.0, dropped: false, message }
        }
    }
}

fn disagreement(graph: &Graph, solved: &Solved, suspects: &[TapeSuspect]) -> NetworkError {
    let mut readings: Vec<usize> = suspects.iter().filter(|s| !s.dropped).filter_map(|s| s.reading).collect();
    if readings.is_empty() {
        let size = |k: &usize| solved.snooped[*k].standardised.map_or(0.0, f64::abs);
        let mut order: Vec<usize> =
            (0..solved.snooped.len()).filter(|k| solved.reading(*k).is_some()).collect();
        order.sort_by(|a, b| size(b).total_cmp(&size(a)));
        readings = order.into_iter().filter_map(|k| solved.reading(k)).collect();
    }
    // Each once, in order; a reading of several parts may stand out in each.
    let mut each: Vec<usize> = Vec::new();
    for reading in readings {
        if !each.contains(&reading) {
            each.push(reading);
        }
    }
    each.truncate(4.max(suspects.len()));
    let off_mm = each.iter().map(|r| off_by(graph, solved, *r).abs()).fold(0.0, f64::max);
    let off_mm = suspects.iter().filter(|s| !s.dropped).map(|s| s.error_mm.abs()).fold(off_mm, f64::max);
    let mark = each.first().map(|r| graph.nodes[graph.edges[*r].mark].name.clone()).unwrap_or_default();
    let readings = listed(each.into_iter().map(|r| graph.reading_name(r)).collect());
    NetworkError::Disagree { mark, readings, off_mm }
}

impl Solved {
    fn chi_square(&self) -> f64 {
        self.adjustment.minimum.evaluation.chi_square()
    }

    fn degrees_of_freedom(&self) -> usize {
        let (rows, columns) = self.adjustment.minimum.evaluation.jacobian.shape();
        rows.saturating_sub(columns)
    }

    /// The reading of a component.
    fn reading(&self, k: usize) -> Option<usize> {
        match self.snooped[k].origin {
            Origin::Reading(reading) => Some(reading),
            _ => None,
        }
    }

    /// How each reading answers to the places of the marks that are told.
    fn slopes(&self, graph: &Graph, placed: &[usize]) -> Vec<ReadingSlope> {
        let jacobian = &self.adjustment.minimum.evaluation.jacobian;
        let columns = &self.adjustment.columns;
        let mut slopes: Vec<(Origin, ReadingSlope)> = Vec::new();
        for (row, origin) in self.adjustment.origins.iter().enumerate() {
            let (origin, what) = match *origin {
                Origin::Reading(reading) => (*origin, graph.reading_name(reading)),
                Origin::Known(node, _) => {
                    (Origin::Known(node, 0), format!("mark {}", graph.nodes[node].name))
                }
                Origin::Tape => continue,
            };
            // A reading of a round thing tells of its diameter as well, which is not among the marks.
            if columns.diameters.iter().flatten().any(|c| jacobian[(row, *c)] != 0.0) {
                continue;
            }
            let slope = |(k, node): (usize, &usize)| {
                let c = columns.places[*node]?;
                let slope = Vector3::from_fn(|axis, _| jacobian[(row, c + axis)]);
                (slope != Vector3::zeros()).then_some((k, slope))
            };
            let row: Vec<(usize, Vector3<f64>)> = placed.iter().enumerate().filter_map(slope).collect();
            match slopes.last_mut() {
                Some((last, told)) if *last == origin => told.rows.push(row),
                _ => slopes.push((origin, ReadingSlope { what, rows: vec![row] })),
            }
        }
        slopes.into_iter().map(|(_, slope)| slope).collect()
    }

    fn into_solution(
        self,
        graph: &Graph,
        active: &[bool],
        suspects: Vec<TapeSuspect>,
        chi_square: f64,
        scale: f64,
    ) -> NetworkSolution {
        let whole = self.adjustment.spread_out(&self.cofactor) * (scale * scale);
        let placed: Vec<usize> = (0..graph.nodes.len()).filter(|n| graph.nodes[*n].placed).collect();
        let covariance = DMatrix::from_fn(3 * placed.len(), 3 * placed.len(), |i, j| {
            whole[(3 * placed[i / 3] + i % 3, 3 * placed[j / 3] + j % 3)]
        });
        let state = &self.adjustment.minimum.state;
        let marks = placed.iter().enumerate().map(|(k, n)| NetworkMark {
            name: graph.nodes[*n].name.clone(),
            position: state.places[*n],
            covariance: covariance.fixed_view::<3, 3>(3 * k, 3 * k).into_owned(),
        });
        let marks = marks.collect();
        let sigma = |column: usize| scale * self.cofactor[(column, column)].max(0.0).sqrt();
        let columns = &self.adjustment.columns;
        let rounds = graph.nodes.iter().enumerate().filter_map(|(n, node)| {
            let column = columns.diameters[n]?;
            let (name, diameter_mm) = (node.name.clone(), state.diameters[n]);
            Some(RoundThing { name, diameter_mm, sigma_mm: sigma(column) })
        });
        let rounds = rounds.collect();
        let zero_mm = columns.tape[0].map(|column| (state.zero_mm, sigma(column)));
        let residuals = graph.edges.iter().enumerate().map(|(i, edge)| {
            let own = self.snooped.iter().filter(|s| s.origin == Origin::Reading(i) && active[i]);
            let checked = own.clone().map(|s| s.share).fold(f64::INFINITY, f64::min);
            let largest = own.filter_map(|s| s.standardised).max_by(|a, b| a.abs().total_cmp(&b.abs()));
            let from: Vec<&str> = edge.from().iter().map(|n| graph.nodes[*n].name.as_str()).collect();
            TapeResidual {
                mark: graph.nodes[edge.mark].name.clone(),
                from: from.join("+"),
                distance_mm: edge.distance_mm,
                residual_mm: off_by(graph, &self, i),
                // Turned round: there it is solved less read.
                standardised: largest.map(|w| -w),
                checked: if checked.is_finite() { checked } else { 0.0 },
            }
        });
        let residuals = residuals.collect();
        NetworkSolution {
            marks,
            covariance,
            rounds,
            zero_mm,
            residuals,
            suspects,
            spare: self.degrees_of_freedom(),
            chi_square,
            scale,
            slopes: self.slopes(graph, &placed),
            iterations: self.adjustment.minimum.iterations,
            converged: self.adjustment.minimum.converged || self.adjustment.columns.count == 0,
        }
    }
}
