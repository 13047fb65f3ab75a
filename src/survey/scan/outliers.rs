//! Points that stand alone: specks in the air, and the veil at edges.

use nalgebra::Point3;
use rayon::prelude::*;

use super::ScanError;
use super::tree::{Following, PointTree};

/// Points of one task: near each other, for the cache's sake.
const TASK: usize = 1024;

/// What makes a point an outlier.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OutlierRule {
    /// The mean distance to so many neighbours, the point itself not among them, is more than the cloud's mean of
    /// it and `deviations` standard deviations.
    Distance {
        /// Neighbours.
        neighbours: usize,
        /// Standard deviations.
        deviations: f64,
    },
    /// Fewer than `least` other points lie within `radius_mm`.
    Count {
        /// Radius, mm.
        radius_mm: f64,
        /// Other points.
        least: usize,
    },
}

/// Numbers of the points that are no outliers, in order.
///
/// # Errors
/// [`ScanError`]: an option that is not above zero, or no more points than neighbours.
///
/// # Source
/// By distance: Rusu, Marton, Blodow, Dolha and Beetz, Robotics and Autonomous Systems 56 (2008) 927-941, section 4.1.
pub fn without_outliers(
    points: &[Point3<f64>],
    tree: &PointTree,
    rule: OutlierRule,
) -> Result<Vec<u32>, ScanError> {
    let kept: Vec<bool> = match rule {
        OutlierRule::Distance { neighbours, deviations } => {
            if neighbours == 0 || !deviations.is_finite() || deviations < 0.0 {
                return Err(ScanError::BadOption {
                    what: format!("outliers by {neighbours} neighbours and {deviations} deviations"),
                    cure: "give at least one neighbour and a number of deviations of 0 or more",
                });
            }
            if points.len() <= neighbours {
                let cure = "take fewer neighbours, or a larger scan";
                let (least, given) = (neighbours + 1, points.len());
                return Err(ScanError::TooFew { what: "finding outliers", least, given, cure });
            }
            // The point itself is the first, or one at the same place is: its distance is 0 either way.
            let near = || Following::new(tree, neighbours + 1, f64::INFINITY);
            let means = for_each(points, tree, near, |near, at| {
                near.ask(at);
                near.found.iter().map(|n| n.distance_sq.sqrt()).sum::<f64>() / neighbours as f64
            });
            let count = means.len() as f64;
            let mean = means.iter().sum::<f64>() / count;
            let variance = means.iter().map(|own| (own - mean).powi(2)).sum::<f64>() / (count - 1.0);
            let limit = mean + deviations * variance.sqrt();
            means.iter().map(|own| *own <= limit).collect()
        }
        OutlierRule::Count { radius_mm, least } => {
            ScanError::positive("the radius in which neighbours count", radius_mm)?;
            for_each(points, tree, Vec::new, |found, at| {
                tree.within(at, radius_mm, least + 1, found);
                found.len() > least
            })
        }
    };
    Ok((0..).zip(kept).filter(|(_, kept)| *kept).map(|(index, _)| index).collect())
}

/// An answer a point, worked out in the order of the tree, told in the order of the points.
fn for_each<T: Copy + Default + Send + Sync, S>(
    points: &[Point3<f64>],
    tree: &PointTree,
    start: impl Fn() -> S + Sync,
    ask: impl Fn(&mut S, &Point3<f64>) -> T + Sync,
) -> Vec<T> {
    let order: Vec<u32> = tree.order().collect();
    let found: Vec<T> = order
        .par_chunks(TASK)
        .flat_map_iter(|chunk| {
            let mut state = start();
            chunk.iter().map(|&index| ask(&mut state, &points[index as usize])).collect::<Vec<T>>()
        })
        .collect();
    let mut answers = vec![T::default(); points.len()];
    for (&index, answer) in order.iter().zip(found) {
        answers[index as usize] = answer;
    }
    answers
}
