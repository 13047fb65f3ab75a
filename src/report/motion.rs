//! Ways in read back from the files that `way-in` and `order` write with `--format json`.
//!
//! Leaves to others: whether the bodies are there (`cli`, which has the scene), how it is shown (`view`).

use nalgebra::{Isometry3, Point3, Quaternion, Translation3, UnitQuaternion, Vector3};
use serde::Deserialize;

use crate::space::{Length, Pose};
use crate::tube::JointKind;
use crate::way_in::{Effort, Way};

use super::way::WAY_FORMAT;

/// Names and versions of documents that hold ways.
const FORMATS: [&str; 3] = [WAY_FORMAT, super::breaks::BREAKS_FORMAT, super::order::ORDER_FORMAT];

/// Poses of one part at most, and parts at most: far beyond what a search gives.
const MOST_POSES: usize = 100_000;
const MOST_PARTS: usize = 1_000;

/// Ways as a file has them.
#[derive(Clone, Debug, PartialEq)]
pub struct MotionFile {
    /// Title of the scene that they were found in.
    pub title: String,
    /// Bodies taken off first.
    pub without: Vec<String>,
    /// Parts in the order in which they go in.
    pub parts: Vec<MovedPart>,
    /// Pipes that go in as pieces, and where they break.
    pub broken: Vec<BrokenPipe>,
}

/// One part's way.
#[derive(Clone, Debug, PartialEq)]
pub struct MovedPart {
    /// The part.
    pub body: String,
    /// Its way; what it took to find it is not in the file.
    pub way: Way,
    /// The last move on to the seat, mm, vehicle axes, which was not looked at.
    pub seat_mm: Option<Vector3<f64>>,
    /// Parts of the same file that are mounted before.
    pub after: Vec<String>,
}

/// A pipe in pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct BrokenPipe {
    /// The pipe.
    pub body: String,
    /// What closes its breaks.
    pub joint: JointKind,
    /// For each break: the straight, from 0, and how far along the pipe it is, mm.
    pub places: Vec<(usize, f64)>,
}

/// Why a file holds no ways that can be used.
#[derive(Debug, thiserror::Error, miette::Diagnostic)]
pub enum MotionError {
    /// It is no JSON, or lacks a key.
    #[error("line {line}, column {column}: {what}")]
    #[diagnostic(help(
        "give a file that `baywright way-in` or `order` wrote with --format json, as it was written"
    ))]
    Json {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What was expected.
        what: String,
    },
    /// It is a document of another kind.
    #[error("`format` is `{found}`; ways are in {known}")]
    #[diagnostic(help("give a file that `baywright way-in` or `order` wrote with --format json"))]
    Format {
        /// What it says.
        found: String,
        /// What it may say.
        known: String,
    },
    /// It says that there is no way.
    #[error("the file has no way: its answer is `{answer}`")]
    #[diagnostic(help("give the search more time, or ask for --breaks, and write the file again"))]
    NoWay {
        /// The answer.
        answer: String,
    },
    /// A figure or a list that cannot be.
    #[error("`{key}`: {what}")]
    #[diagnostic(help("write the file again with --format json; it was changed by hand or cut off"))]
    Value {
        /// Where.
        key: String,
        /// What is wrong with it.
        what: String,
    },
}

#[derive(Deserialize)]
struct Document {
    format: String,
    #[serde(default)]
    title: String,
    answer: String,
    body: Option<String>,
    #[serde(default)]
    without: Vec<String>,
    #[serde(default)]
    poses: Vec<PoseIn>,
    middle_mm: Option<[f64; 3]>,
    seat_mm: Option<[f64; 3]>,
    spare_mm: Option<f64>,
    #[serde(default)]
    steps: Vec<StepIn>,
    joint: Option<String>,
    won: Option<usize>,
    #[serde(default)]
    tried: Vec<TriedIn>,
    #[serde(default)]
    broken_at: Vec<BrokenIn>,
}

#[derive(Deserialize)]
struct PoseIn {
    at_mm: [f64; 3],
    turn_xyzw: [f64; 4],
}

#[derive(Deserialize)]
struct StepIn {
    part: String,
    after: Vec<String>,
    middle_mm: [f64; 3],
    poses: Vec<PoseIn>,
    seat_mm: Option<[f64; 3]>,
    #[serde(default)]
    spare_mm: f64,
}

#[derive(Deserialize)]
struct TriedIn {
    places: Vec<PlaceIn>,
}

#[derive(Deserialize)]
struct PlaceIn {
    straight: usize,
    along_mm: f64,
}

#[derive(Deserialize)]
struct BrokenIn {
    body: String,
    joint: String,
    places: Vec<PlaceIn>,
}

/// Reads ways from a document of `way-in` (of a whole body, or of the pieces of a pipe) or of `order`.
///
/// # Errors
/// [`MotionError`]: what is wrong, where, and what to do.
pub fn read_motion(text: &str) -> Result<MotionFile, MotionError> {
    let document: Document = serde_json::from_str(text).map_err(|error| {
        let what = error.to_string();
        // The place is told apart from the words.
        let what = what.split(" at line ").next().unwrap_or_default().to_owned();
        MotionError::Json { line: error.line(), column: error.column(), what }
    })?;
    if !FORMATS.contains(&document.format.as_str()) {
        let known = FORMATS.map(|format| format!("`{format}`")).join(", ");
        return Err(MotionError::Format { found: document.format, known });
    }
    let mut parts = Vec::new();
    let mut broken = Vec::new();
    if document.format == WAY_FORMAT {
        if document.answer != "way" {
            return Err(MotionError::NoWay { answer: document.answer });
        }
        let body = document.body.ok_or_else(|| lacks("body"))?;
        let middle = document.middle_mm.ok_or_else(|| lacks("middle_mm"))?;
        let way = way("poses", &document.poses, middle, document.spare_mm.unwrap_or(0.0))?;
        let seat_mm = seat("seat_mm", document.seat_mm)?;
        parts.push(MovedPart { body, way, seat_mm, after: Vec::new() });
    } else {
        if document.steps.is_empty() {
            return Err(MotionError::NoWay { answer: document.answer });
        }
        if document.steps.len() > MOST_PARTS {
            let what = format!("{} parts; {MOST_PARTS} at most are read", document.steps.len());
            return Err(MotionError::Value { key: "steps".to_owned(), what });
        }
        for (at, step) in document.steps.into_iter().enumerate() {
            let key = |of: &str| format!("steps[{at}].{of}");
            let way = way(&key("poses"), &step.poses, step.middle_mm, step.spare_mm)?;
            let seat_mm = seat(&key("seat_mm"), step.seat_mm)?;
            parts.push(MovedPart { body: step.part, way, seat_mm, after: step.after });
        }
        if let Some(won) = document.won {
            let tried = document.tried.get(won).ok_or_else(|| MotionError::Value {
                key: "won".to_owned(),
                what: format!("there is no place {won} among {} tried", document.tried.len()),
            })?;
            let body = document.body.ok_or_else(|| lacks("body"))?;
            let joint = document.joint.ok_or_else(|| lacks("joint"))?;
            broken.push(pipe("joint", body, &joint, &tried.places)?);
        }
        for (at, one) in document.broken_at.into_iter().enumerate() {
            broken.push(pipe(&format!("broken_at[{at}].joint"), one.body, &one.joint, &one.places)?);
        }
    }
    Ok(MotionFile { title: document.title, without: document.without, parts, broken })
}

fn lacks(key: &str) -> MotionError {
    MotionError::Value { key: key.to_owned(), what: "it is not there".to_owned() }
}

fn finite(key: &str, values: &[f64]) -> Result<(), MotionError> {
    match values.iter().all(|value| value.is_finite() && value.abs() < 1e7) {
        true => Ok(()),
        false => Err(MotionError::Value {
            key: key.to_owned(),
            what: "no plain number of millimetres, ten kilometres at most".to_owned(),
        }),
    }
}

fn seat(key: &str, seat_mm: Option<[f64; 3]>) -> Result<Option<Vector3<f64>>, MotionError> {
    seat_mm.map(|seat_mm| finite(key, &seat_mm).map(|()| Vector3::from(seat_mm))).transpose()
}

fn way(key: &str, poses: &[PoseIn], middle: [f64; 3], spare_mm: f64) -> Result<Way, MotionError> {
    if !(2..=MOST_POSES).contains(&poses.len()) {
        let what = format!("{} poses; a way has 2 to {MOST_POSES}", poses.len());
        return Err(MotionError::Value { key: key.to_owned(), what });
    }
    finite(key, &middle)?;
    let pose = |(at, pose): (usize, &PoseIn)| -> Result<Pose, MotionError> {
        finite(&format!("{key}[{at}].at_mm"), &pose.at_mm)?;
        let [x, y, z, w] = pose.turn_xyzw;
        let turn = Quaternion::new(w, x, y, z);
        let off = (turn.norm() - 1.0).abs();
        if off.is_nan() || off > 1e-6 {
            return Err(MotionError::Value {
                key: format!("{key}[{at}].turn_xyzw"),
                what: format!("it is {:.6} long; a turn is a quaternion of length 1", turn.norm()),
            });
        }
        let at = Translation3::from(Vector3::from(pose.at_mm));
        Ok(Isometry3::from_parts(at, UnitQuaternion::new_unchecked(turn)))
    };
    let poses = poses.iter().enumerate().map(pose).collect::<Result<Vec<_>, _>>()?;
    let (middle, spare) = (Point3::from(middle), Length::from_mm(spare_mm));
    Ok(Way { poses, middle, spare, effort: Effort::default() })
}

fn pipe(key: &str, body: String, joint: &str, places: &[PlaceIn]) -> Result<BrokenPipe, MotionError> {
    let joint = JointKind::from_word(joint).ok_or_else(|| MotionError::Value {
        key: key.to_owned(),
        what: format!(
            "`{joint}` is no joint; joints are: {}",
            JointKind::ALL.map(JointKind::word).join(", ")
        ),
    })?;
    let place = |place: &PlaceIn| {
        let straight = place.straight.checked_sub(1).ok_or_else(|| MotionError::Value {
            key: "straight".to_owned(),
            what: "straights are counted from 1".to_owned(),
        })?;
        finite("along_mm", &[place.along_mm])?;
        Ok((straight, place.along_mm))
    };
    let places = places.iter().map(place).collect::<Result<_, MotionError>>()?;
    Ok(BrokenPipe { body, joint, places })
}
