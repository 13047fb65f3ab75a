//! Marks: the named points of a survey, with how well each is known.

use nalgebra::{DMatrix, Matrix3, Point3};
use serde::Serialize;

use super::fit::Reading;
use super::network::NetworkSolution;

/// How a mark came by its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum MarkSource {
    /// Its coordinates stand in the file.
    Measured,
    /// Its place was solved from tape distances.
    Taped,
}

/// A named point of a survey.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Mark {
    /// Name, unique in its survey, case kept.
    pub name: String,
    /// Place in the survey's axes (in the vehicle's after [`super::Alignment::carry`]), mm.
    pub position: Point3<f64>,
    /// Standard uncertainty of one coordinate by the reading alone, mm: the root mean square over
    /// the three axes. Alignment does not change it.
    pub sigma_mm: f64,
    /// Covariance of the place, mm^2, by all that is known: after alignment it holds the datum's share too.
    pub covariance: Matrix3<f64>,
    /// How it came by its place.
    pub source: MarkSource,
    /// What the file says of it.
    pub note: Option<String>,
    /// Line of the file, from 1: of its coordinates or of its first tape reading.
    pub line: usize,
}

/// A survey as read: every mark with its place, tape distances already solved.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SurveyTable {
    /// The file as it was named.
    pub file: String,
    /// Marks in the order in which the file first names them as `mark`.
    pub marks: Vec<Mark>,
    /// Covariance of all coordinates, three rows a mark in the order of `marks`, mm^2. Off the
    /// diagonal blocks stands what marks share: tape distances between them, the datum.
    pub covariance: DMatrix<f64>,
    /// The solved tape network; `None` when the file holds no distances.
    pub network: Option<NetworkSolution>,
    /// Rows of a field sheet that were not filled in; they say nothing.
    pub blanks: Vec<BlankRow>,
}

/// A row of a field sheet that was not filled in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct BlankRow {
    /// Line of the file, from 1.
    pub line: usize,
    /// Column in characters of the empty cell, from 1.
    pub column: usize,
    /// What was to be read: `D1-P3`.
    pub what: String,
    /// Which of its readings, from 1.
    pub reading: u32,
}

impl SurveyTable {
    /// The mark of a name.
    pub fn mark(&self, name: &str) -> Option<&Mark> {
        self.marks.iter().find(|mark| mark.name == name)
    }

    /// Readings of the named marks for a fit, in the order named; `Err` holds the first unknown name.
    ///
    /// # Errors
    /// The first name that is no mark of this survey.
    pub fn readings<'a>(&self, names: impl IntoIterator<Item = &'a str>) -> Result<Vec<Reading>, String> {
        names
            .into_iter()
            .map(|name| self.mark(name).map(Reading::of_mark).ok_or_else(|| name.to_owned()))
            .collect()
    }

    /// Joint covariance of the named marks, three rows each in the order named, mm^2; `None` when
    /// a name is unknown. Goes into [`super::FitOptions::reading_covariance`] for marks that share errors.
    pub fn covariance_of<'a>(&self, names: impl IntoIterator<Item = &'a str>) -> Option<DMatrix<f64>> {
        let places: Vec<usize> = names
            .into_iter()
            .map(|name| self.marks.iter().position(|mark| mark.name == name))
            .collect::<Option<_>>()?;
        let n = 3 * places.len();
        Some(DMatrix::from_fn(n, n, |row, column| {
            self.covariance[(3 * places[row / 3] + row % 3, 3 * places[column / 3] + column % 3)]
        }))
    }
}
