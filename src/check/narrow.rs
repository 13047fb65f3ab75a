//! Which readings, taken once more, would narrow a gap most.

use std::collections::HashMap;

use nalgebra::{DMatrix, DVector};

use crate::scene::{Body, Scene};
use crate::space::Length;

use super::PairGap;
use super::uncertainty::{Side, errors_between, expanded, variance_between};

/// Readings told for one gap, at most.
const TOLD: usize = 3;
/// What narrows a gap's variance by less than this share is not worth a walk to the vehicle.
const WORTH: f64 = 0.02;

/// A reading that would narrow a gap.
#[derive(Clone, Debug, PartialEq)]
pub struct Narrowing {
    /// What to measure: `P3-D1`, `mark F2`; or what to place more exactly: `bracket`.
    pub what: String,
    /// The survey it belongs to; `None` for the stated place of a body.
    pub survey: Option<String>,
    /// The gap's U after it: a reading taken once more as exactly as before, a stated sigma halved.
    pub expected: Length,
}

/// The readings that would narrow one undecided gap, the best first.
#[derive(Clone, Debug, PartialEq)]
pub struct GapReadings {
    /// The two bodies.
    pub bodies: [String; 2],
    /// The best first; empty when no single reading helps.
    pub narrow: Vec<Narrowing>,
    /// What of the gap's U comes from how bodies stray from vehicle to vehicle; no reading of the survey lessens it.
    pub spread: Option<Length>,
}

impl Narrowing {
    /// In words: `take P3-D1 of survey `stand` once more: U 2.1 mm`.
    pub fn words(&self) -> String {
        match &self.survey {
            Some(survey) => {
                format!("take {} of survey `{survey}` once more: U would be {}", self.what, self.expected)
            }
            None => format!("place `{}` with half its sigma: U would be {}", self.what, self.expected),
        }
    }
}

/// Ranks the readings of both bodies' surveys by what the gap's U would be if each were taken once more.
///
/// A reading with slopes r over its sigma lessens the gap's variance by (a.r)^2 / (1 + r.r), where a is how the gap answers to
/// the survey's independent errors: the update of a least-squares solution by one further observation. Linear in the number of
/// readings.
///
/// # Source
/// Sherman and Morrison's formula on the normal matrix; JCGM 100:2008, 5.2.2.
pub(super) fn narrowing(scene: &Scene, one: &Body, other: &Body, gap: &PairGap) -> GapReadings {
    let pose = |body: &Body| {
        let carrier = &scene.carriers[body.carrier];
        let values = gap.place.values.iter().find(|(name, _)| *name == carrier.name);
        carrier.movement.world_from_rest(values.map_or(&[][..], |(_, values)| values))
    };
    let first = Side { placement: &one.placement, world_from_rest: pose(one), point: gap.place.on_first };
    let second =
        Side { placement: &other.placement, world_from_rest: pose(other), point: gap.place.on_second };
    let variance = variance_between(&first, &second, &gap.normal);
    let (mut found, mut strays): (Vec<(f64, Narrowing)>, f64) = (Vec::new(), 0.0);
    for (source, errors) in errors_between(&first, &second, &gap.normal) {
        let whole: f64 = errors.values().map(|a| a * a).sum();
        let mut add = |less: f64, what: &str, survey: Option<&str>| {
            if less > WORTH * variance {
                let expected = expanded((variance - less).max(0.0));
                let (what, survey) = (what.to_owned(), survey.map(str::to_owned));
                found.push((less, Narrowing { what, survey, expected }));
            }
        };
        if crate::scene::is_spread(source) {
            strays += whole;
        } else if let Some(body) = source.strip_prefix("place of ") {
            add(0.75 * whole, body, None);
        } else if let Some(name) = source.strip_prefix("survey ")
            && let Some(survey) = scene.surveys.iter().find(|survey| survey.name == name)
        {
            for reading in survey.readings.iter() {
                add(lessened(&errors, &reading.rows), &reading.what, Some(name));
            }
        }
    }
    // Equal ones by name, so that the order depends on nothing else.
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.what.cmp(&b.1.what)));
    found.truncate(TOLD);
    GapReadings {
        bodies: [one.name.clone(), other.name.clone()],
        narrow: found.into_iter().map(|(_, narrowing)| narrowing).collect(),
        spread: (strays > 0.0).then(|| expanded(strays)),
    }
}

/// By how much one further observation, of one row or several, lessens a variance.
fn lessened(errors: &HashMap<usize, f64>, rows: &[Vec<(usize, f64)>]) -> f64 {
    let dot =
        |row: &[(usize, f64)]| row.iter().map(|(e, x)| errors.get(e).map_or(0.0, |a| a * x)).sum::<f64>();
    let seen = DVector::from_iterator(rows.len(), rows.iter().map(|row| dot(row)));
    if seen.iter().all(|x| *x == 0.0) {
        return 0.0;
    }
    let with = |row: &[(usize, f64)], other: &[(usize, f64)]| -> f64 {
        let of = |e: usize| other.iter().find(|(there, _)| *there == e).map_or(0.0, |(_, x)| *x);
        row.iter().map(|(e, x)| x * of(*e)).sum()
    };
    let normal = DMatrix::from_fn(rows.len(), rows.len(), |i, j| {
        with(&rows[i], &rows[j]) + if i == j { 1.0 } else { 0.0 }
    });
    normal.cholesky().map_or(0.0, |factored| seen.dot(&factored.solve(&seen)))
}
