//! A tape network from readings to marks with their joint covariance.

use nalgebra::{DMatrix, Matrix3, Point3};
use serde::Serialize;

use super::adjust::{Adjustment, adjust};
use super::network_graph::{Graph, listed};
use super::snoop::{Snooped, alike, beyond_chance, standardise};
use super::start::place_all;
use super::{KnownMark, NetworkError, TapeReading};
use crate::survey::fit::inverse_normal;
use crate::survey::uncertainty::chi_square_tail;

/// Readings that contradict each other by more than this many times their sigma, with no telling
/// which is wrong, give no answer.
const HOPELESS: f64 = 5.0;
/// Suspects tried one by one.
const MOST_TRIALS: usize = 16;

/// A mark of a solved network.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetworkMark {
    /// Name.
    pub name: String,
    /// Place, mm.
    pub position: Point3<f64>,
    /// Covariance of its place, mm^2.
    pub covariance: Matrix3<f64>,
}

/// A solved network.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NetworkSolution {
    /// Every mark: the known ones first, in the order given, then the taped ones in the order met.
    pub marks: Vec<NetworkMark>,
    /// Joint covariance, three rows a mark in the order of `marks`, mm^2.
    pub covariance: DMatrix<f64>,
    /// One a reading, in the order given; dropped ones too.
    pub residuals: Vec<TapeResidual>,
    /// Readings that stand out, the likeliest first.
    pub suspects: Vec<TapeSuspect>,
    /// Readings beyond those that fix the marks; dropped ones not counted.
    pub spare: usize,
    /// Sum of squared residuals, each over its sigma; dropped readings not counted.
    pub chi_square: f64,
    /// Factor on all standard uncertainties because the readings scatter more than stated
    /// (chi-square beyond 0.1 %); 1 when they do not. The covariance holds it already.
    pub scale: f64,
    /// Steps of the last adjustment.
    pub iterations: usize,
    /// Whether the last step was negligible.
    pub converged: bool,
}

/// Residual of one tape reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TapeResidual {
    /// The mark that was measured.
    pub mark: String,
    /// The mark at which the tape was hooked.
    pub from: String,
    /// As read, mm.
    pub distance_mm: f64,
    /// Read less solved, mm: positive when the tape reads long.
    pub residual_mm: f64,
    /// Over its own standard deviation; `None` when nothing checks this reading or it was dropped.
    pub standardised: Option<f64>,
}

/// A tape reading that disagrees with the others.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TapeSuspect {
    /// Index into [`NetworkSolution::residuals`]; `None` for a known mark whose stated place disagrees.
    pub reading: Option<usize>,
    /// By how much it seems wrong, mm: positive when it reads long.
    pub error_mm: f64,
    /// Whether it was left out of the solution; else it is one of several that may be wrong, all kept.
    pub dropped: bool,
    /// `C7-C12 is about 100 mm long: misread?`
    pub message: String,
}

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
    let graph = Graph::build(known, tape)?;
    let mut active = vec![true; graph.edges.len()];
    let mut solved = solve_active(&graph, &active)?;
    let mut suspects: Vec<TapeSuspect> = Vec::new();
    loop {
        let beyond = beyond_chance(&solved.snooped);
        if beyond.is_empty() {
            break;
        }
        let trials: Vec<(usize, Option<Solved>)> = beyond
            .into_iter()
            .take(MOST_TRIALS)
            .map(|k| {
                let without = solved.snooped[k].reading.and_then(|reading| {
                    let mut fewer = active.clone();
                    fewer[reading] = false;
                    solve_active(&graph, &fewer).ok()
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
        match culprit {
            Some((k, Some(without))) => {
                let Some(reading) = solved.snooped[k].reading else { break };
                let error_mm = off_by(&graph, &without, reading);
                let message = misread(&graph, reading, error_mm);
                suspects.push(TapeSuspect { reading: Some(reading), error_mm, dropped: true, message });
                active[reading] = false;
                solved = without;
            }
            Some((k, _)) => {
                suspects.push(name_suspect(&graph, &solved, k));
                break;
            }
            None => {
                let named: Vec<usize> = beyond_chance(&solved.snooped);
                suspects.extend(
                    alike.iter().filter_map(|i| named.get(*i)).map(|k| name_suspect(&graph, &solved, *k)),
                );
                break;
            }
        }
    }
    let free = solved.degrees_of_freedom() as f64;
    let chi_square = solved.chi_square();
    let scale = if chi_square_tail(chi_square, free) < 0.001 { (chi_square / free).sqrt() } else { 1.0 };
    if scale > HOPELESS {
        return Err(vec![disagreement(&graph, &solved, &suspects)]);
    }
    Ok(solved.into_solution(&graph, &active, suspects, chi_square, scale))
}

/// An adjustment with its covariance before scaling.
struct Solved {
    adjustment: Adjustment,
    cofactor: DMatrix<f64>,
    snooped: Vec<Snooped>,
}

fn solve_active(graph: &Graph, active: &[bool]) -> Result<Solved, Vec<NetworkError>> {
    let start = place_all(graph, active)?;
    let adjustment = adjust(graph, active, start);
    let jacobian = &adjustment.minimum.evaluation.jacobian;
    let cofactor = if jacobian.ncols() == 0 {
        DMatrix::zeros(0, 0)
    } else {
        inverse_normal(jacobian).ok_or_else(|| {
            let mark = adjustment.loosest().map(|n| graph.nodes[n].name.clone()).unwrap_or_default();
            let need =
                "could still move without any distance noticing; add a distance to it from a further mark";
            vec![NetworkError::UnderDetermined { mark, need: need.to_owned() }]
        })?
    };
    if !adjustment.minimum.converged && jacobian.ncols() > 0 {
        let evaluation = &adjustment.minimum.evaluation;
        let worst = evaluation.residuals.iamax();
        let reading = adjustment.readings[worst].unwrap_or(0);
        return Err(vec![NetworkError::NotConverged {
            mark: graph.nodes[graph.edges[reading].mark].name.clone(),
        }]);
    }
    let snooped = standardise(&adjustment, &cofactor);
    Ok(Solved { adjustment, cofactor, snooped })
}

/// Read less solved, mm.
fn off_by(graph: &Graph, solved: &Solved, reading: usize) -> f64 {
    let places = &solved.adjustment.minimum.state;
    let edge = &graph.edges[reading];
    edge.distance_mm - (places[edge.mark] - places[edge.from]).norm()
}

fn misread(graph: &Graph, reading: usize, error_mm: f64) -> String {
    let by = if error_mm.abs() >= 10.0 {
        format!("{:.0}", error_mm.abs())
    } else {
        format!("{:.1}", error_mm.abs())
    };
    let word = if error_mm > 0.0 { "long" } else { "short" };
    format!("{} is about {by} mm {word}: misread?", graph.reading_name(reading))
}

fn name_suspect(graph: &Graph, solved: &Solved, k: usize) -> TapeSuspect {
    let snooped = &solved.snooped[k];
    match snooped.reading {
        Some(reading) => {
            let error_mm = off_by(graph, solved, reading) / snooped.share;
            let message = misread(graph, reading, error_mm);
            TapeSuspect { reading: Some(reading), error_mm, dropped: false, message }
        }
        None => {
            let distances = solved.adjustment.readings.iter().filter(|r| r.is_some()).count();
            let known: Vec<_> =
                graph.nodes.iter().filter(|n| matches!(n.known, Some((_, s)) if s > 0.0)).collect();
            let (node, axis) = (known[(k - distances) / 3], (k - distances) % 3);
            let sigma = node.known.map_or(0.0, |(_, sigma)| sigma);
            let error_mm = -solved.adjustment.minimum.evaluation.residuals[k] * sigma / snooped.share;
            let axis = ["x", "y", "z"][axis];
            let message =
                format!("{} of {} seems about {:.1} mm off: is its place right?", axis, node.name, error_mm);
            TapeSuspect { reading: None, error_mm, dropped: false, message }
        }
    }
}

fn disagreement(graph: &Graph, solved: &Solved, suspects: &[TapeSuspect]) -> NetworkError {
    let mut readings: Vec<usize> = suspects.iter().filter(|s| !s.dropped).filter_map(|s| s.reading).collect();
    if readings.is_empty() {
        let size = |k: &usize| solved.snooped[*k].standardised.map_or(0.0, f64::abs);
        let mut order: Vec<usize> =
            (0..solved.snooped.len()).filter(|k| solved.snooped[*k].reading.is_some()).collect();
        order.sort_by(|a, b| size(b).total_cmp(&size(a)));
        readings = order.into_iter().take(4).filter_map(|k| solved.snooped[k].reading).collect();
    }
    let off_mm = readings.iter().map(|r| off_by(graph, solved, *r).abs()).fold(0.0, f64::max);
    let off_mm = suspects.iter().filter(|s| !s.dropped).map(|s| s.error_mm.abs()).fold(off_mm, f64::max);
    let mark = readings.first().map(|r| graph.nodes[graph.edges[*r].mark].name.clone()).unwrap_or_default();
    let readings = listed(readings.into_iter().map(|r| graph.reading_name(r)).collect());
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

    fn into_solution(
        self,
        graph: &Graph,
        active: &[bool],
        suspects: Vec<TapeSuspect>,
        chi_square: f64,
        scale: f64,
    ) -> NetworkSolution {
        let covariance = self.adjustment.spread_out(&self.cofactor) * (scale * scale);
        let marks =
            graph.nodes.iter().zip(&self.adjustment.minimum.state).enumerate().map(|(n, (node, place))| {
                let own = covariance.fixed_view::<3, 3>(3 * n, 3 * n).into_owned();
                NetworkMark { name: node.name.clone(), position: *place, covariance: own }
            });
        let marks = marks.collect();
        let residuals = graph.edges.iter().enumerate().map(|(i, edge)| {
            let snooped = self.snooped.iter().find(|s| s.reading == Some(i)).filter(|_| active[i]);
            TapeResidual {
                mark: graph.nodes[edge.mark].name.clone(),
                from: graph.nodes[edge.from].name.clone(),
                distance_mm: edge.distance_mm,
                residual_mm: off_by(graph, &self, i),
                // Turned round: there it is solved less read.
                standardised: snooped.and_then(|s| s.standardised).map(|w| -w),
            }
        });
        let residuals = residuals.collect();
        NetworkSolution {
            marks,
            covariance,
            residuals,
            suspects,
            spare: self.degrees_of_freedom(),
            chi_square,
            scale,
            iterations: self.adjustment.minimum.iterations,
            converged: self.adjustment.minimum.converged
                || self.adjustment.columns.iter().all(Option::is_none),
        }
    }
}
