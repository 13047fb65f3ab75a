//! Three-two-one: a plane fixes three freedoms, a line two, a mark the last.

use nalgebra::{Matrix3, Matrix6, Matrix6x3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};

use super::{AlignError, Alignment};
use crate::space::{Direction, Pose};
use crate::survey::Reading;

/// Marks of a plane must spread across their longest line by at least this share of it.
const THINNEST: f64 = 0.02;
/// A datum line closer to the plane's normal than this (sine) does not say how the survey is turned.
const STEEPEST: f64 = 0.2;
/// Deviations beyond this many sigma are remarked on.
const REMARKABLE: f64 = 3.3;

/// The datum plane: three marks or more that lie in one plane of the vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct DatumPlane {
    /// Marks in the plane, survey axes. More than three are fitted by least squares.
    pub marks: Vec<Reading>,
    /// Direction of the plane's normal in vehicle axes.
    pub normal: Unit<Vector3<f64>>,
    /// Place of the plane along `normal` in vehicle axes, mm; `None` leaves it to the origin mark.
    pub at_mm: Option<f64>,
    /// On which side of the plane `normal` points.
    pub side: DatumSide,
}

/// How to tell the two sides of a datum plane apart: marks in it cannot.
#[derive(Clone, Debug, PartialEq)]
pub enum DatumSide {
    /// The survey's own axes are roughly the vehicle's: the normal is taken to the side on which it agrees.
    SurveyAxes,
    /// A mark well off the plane on the side to which the normal points.
    Toward(Reading),
}

/// The datum line: two marks or more, in order along the line.
#[derive(Clone, Debug, PartialEq)]
pub struct DatumLine {
    /// Marks, survey axes; the line runs from the first toward the last.
    pub marks: Vec<Reading>,
    /// Direction of the line in vehicle axes, square to the plane's normal.
    pub along: Unit<Vector3<f64>>,
    /// Place of the line along (normal x along) in vehicle axes, mm; `None` leaves it to the origin mark.
    pub at_mm: Option<f64>,
}

/// The origin mark.
#[derive(Clone, Debug, PartialEq)]
pub struct DatumOrigin {
    /// The mark, survey axes.
    pub mark: Reading,
    /// Its place in vehicle axes, mm. What plane and line already fix is not taken from it.
    pub at: Point3<f64>,
}

/// Aligns a survey by plane, line and origin mark.
///
/// The plane's normal and place come from the plane's marks, the turn about it from the line seen
/// in the plane, the rest from the origin mark. Readings weigh 1/sigma^2; a mark with sigma 0 is
/// right by definition. The covariance is propagated from every mark, one that serves in several
/// parts included once.
///
/// # Errors
/// [`AlignError`]: too few or repeated marks, marks of the plane nearly on one line, a line nearly
/// square to the plane, normal and line directions that are not square, or a side of the plane that cannot be told.
///
/// # Example
/// A survey with its origin 100 off and turned a quarter about z:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::{align_three_two_one, DatumLine, DatumOrigin, DatumPlane, DatumSide, Reading};
/// use nalgebra::{Point3, Vector3};
/// let mark = |name: &str, x: f64, y: f64| Reading::new(name, Point3::new(x, y, 0.0), 1.0);
/// let (d1, d2, d3) = (mark("D1", 100.0, 0.0), mark("D2", 100.0, 800.0), mark("D3", -500.0, 0.0));
/// let plane = DatumPlane {
///     marks: vec![d1.clone(), d2.clone(), d3],
///     normal: Vector3::z_axis(),
///     at_mm: Some(0.0),
///     side: DatumSide::SurveyAxes,
/// };
/// let line = DatumLine { marks: vec![d1.clone(), d2], along: Vector3::x_axis(), at_mm: None };
/// let origin = DatumOrigin { mark: d1, at: Point3::origin() };
/// let aligned = align_three_two_one(&plane, &line, &origin).unwrap();
/// let there = aligned.vehicle_from_survey * Point3::new(-500.0, 0.0, 0.0);
/// assert!((there - Point3::new(0.0, 600.0, 0.0)).norm() < 1e-9);
/// ```
pub fn align_three_two_one(
    plane: &DatumPlane,
    line: &DatumLine,
    origin: &DatumOrigin,
) -> Result<Alignment, AlignError> {
    check(plane, line, origin)?;
    let flip = side_of(plane)?;
    let vehicle_from_survey = solve(plane, line, origin, flip)?;
    let marks = datum_marks(plane, line, origin)?;
    let middle = marks.iter().fold(Vector3::zeros(), |sum, m| sum + m.point.coords) / marks.len() as f64;
    let about = vehicle_from_survey * Point3::from(middle);
    let extent = marks.iter().map(|m| (m.point.coords - middle).norm()).fold(0.0, f64::max);
    let step = 1e-5 * extent.max(1.0);
    let mut covariance = Matrix6::zeros();
    let mut sensitivity = Vec::with_capacity(marks.len());
    for mark in &marks {
        let mut moves = Matrix6x3::zeros();
        for axis in 0..3 {
            let shifted = |by: f64| -> Result<(Vector3<f64>, Vector3<f64>), AlignError> {
                let by = Vector3::ith(axis, by);
                let pose = solve(
                    &DatumPlane { marks: moved(&plane.marks, &mark.name, &by), ..plane.clone() },
                    &DatumLine { marks: moved(&line.marks, &mark.name, &by), ..line.clone() },
                    &DatumOrigin {
                        mark: moved(std::slice::from_ref(&origin.mark), &mark.name, &by).swap_remove(0),
                        at: origin.at,
                    },
                    flip,
                )?;
                let change = pose * vehicle_from_survey.inverse();
                Ok((change * about - about, change.rotation.scaled_axis()))
            };
            let ((shift_up, turn_up), (shift_down, turn_down)) = (shifted(step)?, shifted(-step)?);
            for k in 0..3 {
                moves[(k, axis)] = (shift_up[k] - shift_down[k]) / (2.0 * step);
                moves[(k + 3, axis)] = (turn_up[k] - turn_down[k]) / (2.0 * step);
            }
        }
        covariance += moves * moves.transpose() * mark.sigma_mm.powi(2);
        sensitivity.push((mark.name.clone(), moves));
    }
    let remarks = remarks(plane, line, origin, &vehicle_from_survey);
    Ok(Alignment { vehicle_from_survey, about, covariance, sensitivity, scale: 1.0, remarks })
}

fn moved(marks: &[Reading], name: &str, by: &Vector3<f64>) -> Vec<Reading> {
    marks
        .iter()
        .map(|mark| {
            let point = if mark.name == name { mark.point + by } else { mark.point };
            Reading { point, ..mark.clone() }
        })
        .collect()
}

fn degenerate(what: String, cure: &str) -> AlignError {
    AlignError::Degenerate { what, cure: cure.to_owned() }
}

fn check(plane: &DatumPlane, line: &DatumLine, origin: &DatumOrigin) -> Result<(), AlignError> {
    for (part, marks, least) in [("plane", &plane.marks, 3), ("line", &line.marks, 2)] {
        for (i, one) in marks.iter().enumerate() {
            for other in &marks[i + 1..] {
                let what = if one.name == other.name {
                    "are the same mark"
                } else if (one.point - other.point).norm() < 1e-6 {
                    "stand at the same place"
                } else {
                    continue;
                };
                let (one, other) = (one.name.clone(), other.name.clone());
                return Err(AlignError::Repeated { part, one, other, what });
            }
        }
        if marks.len() < least {
            return Err(AlignError::TooFew { part, least, given: marks.len() });
        }
    }
    for mark in plane.marks.iter().chain(&line.marks).chain([&origin.mark]) {
        let fine =
            mark.point.iter().all(|x| x.is_finite()) && mark.sigma_mm.is_finite() && mark.sigma_mm >= 0.0;
        if !fine {
            return Err(degenerate(
                format!("datum mark `{}` has a place or sigma that is not a number", mark.name),
                "measure it again; sigma is zero or above",
            ));
        }
    }
    let across = plane.normal.dot(&line.along);
    if across.abs() > 1e-3 {
        return Err(degenerate(
            format!(
                "the plane's normal and the line's direction are {:.1} deg apart",
                across.clamp(-1.0, 1.0).acos().to_degrees()
            ),
            "give the line a direction that lies in the plane, square to its normal",
        ));
    }
    Ok(())
}

/// The marks, each once; one name for two places is refused.
fn datum_marks(
    plane: &DatumPlane,
    line: &DatumLine,
    origin: &DatumOrigin,
) -> Result<Vec<Reading>, AlignError> {
    let mut marks: Vec<Reading> = Vec::new();
    for mark in plane.marks.iter().chain(&line.marks).chain([&origin.mark]) {
        match marks.iter().find(|known| known.name == mark.name) {
            None => marks.push(mark.clone()),
            Some(known) if known.point == mark.point => {}
            Some(_) => {
                return Err(degenerate(
                    format!("datum mark `{}` stands at two places", mark.name),
                    "give each mark its own name",
                ));
            }
        }
    }
    Ok(marks)
}

/// Weights 1/sigma^2; marks right by definition weigh a million times the best of the others.
fn weights(marks: &[Reading]) -> Vec<f64> {
    let least = marks.iter().map(|m| m.sigma_mm).filter(|s| *s > 0.0).fold(f64::INFINITY, f64::min);
    if least.is_infinite() {
        return vec![1.0; marks.len()];
    }
    marks.iter().map(|m| m.sigma_mm.max(1e-3 * least).powi(-2)).collect()
}

/// Weighted centroid, and directions of least to greatest spread with the spread's root mean square.
fn spread(marks: &[Reading]) -> (Point3<f64>, [(f64, Vector3<f64>); 3]) {
    let weights = weights(marks);
    let total: f64 = weights.iter().sum();
    let middle =
        marks.iter().zip(&weights).fold(Vector3::zeros(), |sum, (m, w)| sum + m.point.coords * *w) / total;
    let scatter = marks.iter().zip(&weights).fold(Matrix3::zeros(), |sum, (m, w)| {
        let q = m.point.coords - middle;
        sum + q * q.transpose() * (*w / total)
    });
    let eigen = scatter.symmetric_eigen();
    let mut found: Vec<(f64, Vector3<f64>)> = (0..3)
        .map(|k| (eigen.eigenvalues[k].max(0.0).sqrt(), eigen.eigenvectors.column(k).into_owned()))
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    (Point3::from(middle), [found[0], found[1], found[2]])
}

/// Direction in survey axes toward which the plane's normal points.
fn side_of(plane: &DatumPlane) -> Result<Vector3<f64>, AlignError> {
    let (middle, [(thick, normal), (wide, _), (long, _)]) = spread(&plane.marks);
    if wide < THINNEST * long || wide <= 3.0 * thick {
        let names: Vec<&str> = plane.marks.iter().map(|m| m.name.as_str()).collect();
        return Err(degenerate(
            format!(
                "the datum plane's marks {} lie nearly on one line, about which the survey could turn",
                names.join(", ")
            ),
            "replace one by a mark well off that line",
        ));
    }
    match &plane.side {
        DatumSide::SurveyAxes => {
            let agrees = normal.dot(&plane.normal);
            if agrees.abs() < 0.5 {
                return Err(degenerate(
                    format!(
                        "the survey's own axes do not tell on which side of the datum plane `{}` is: its normal stands {:.0} deg to it",
                        Direction::nearest(&plane.normal).word(),
                        agrees.abs().clamp(0.0, 1.0).acos().to_degrees()
                    ),
                    "name a mark that lies off the plane on that side (`toward`)",
                ));
            }
            Ok(normal * agrees.signum())
        }
        DatumSide::Toward(mark) => {
            let off = (mark.point - middle).dot(&normal);
            if off.abs() < THINNEST * long || off.abs() < 5.0 * mark.sigma_mm {
                return Err(degenerate(
                    format!(
                        "mark `{}` lies only {:.1} mm off the datum plane, too little to tell its sides apart",
                        mark.name,
                        off.abs()
                    ),
                    "name a mark well off the plane",
                ));
            }
            Ok(normal * off.signum())
        }
    }
}

fn solve(
    plane: &DatumPlane,
    line: &DatumLine,
    origin: &DatumOrigin,
    toward: Vector3<f64>,
) -> Result<Pose, AlignError> {
    let (plane_point, [(_, normal), _, _]) = spread(&plane.marks);
    let normal = if normal.dot(&toward) < 0.0 { -normal } else { normal };
    let (line_point, [_, _, (_, direction)]) = spread(&line.marks);
    let ends = line.marks[line.marks.len() - 1].point - line.marks[0].point;
    let direction = if direction.dot(&ends) < 0.0 { -direction } else { direction };
    let in_plane = direction - normal * direction.dot(&normal);
    if in_plane.norm() < STEEPEST {
        return Err(degenerate(
            format!(
                "the datum line stands nearly square to the datum plane ({:.0} deg from its normal), so nothing says how the survey is turned",
                in_plane.norm().asin().to_degrees()
            ),
            "take a line that runs along the plane",
        ));
    }
    let l = in_plane.normalize();
    let survey_axes = Matrix3::from_columns(&[l, normal.cross(&l), normal]);
    let n = plane.normal.into_inner();
    let along = (*line.along - n * line.along.dot(&n)).normalize();
    let across = n.cross(&along);
    let vehicle_axes = Matrix3::from_columns(&[along, across, n]);
    let turn = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(
        vehicle_axes * survey_axes.transpose(),
    ));
    let place = |axis: &Vector3<f64>, at: Option<f64>, point: &Point3<f64>| match at {
        Some(value) => axis * (value - axis.dot(&(turn * point.coords))),
        None => axis * (axis.dot(&origin.at.coords) - axis.dot(&(turn * origin.mark.point.coords))),
    };
    let shift = place(&n, plane.at_mm, &plane_point)
        + place(&across, line.at_mm, &line_point)
        + place(&along, None, &origin.mark.point);
    Ok(Pose::from_parts(Translation3::from(shift), turn))
}

/// What the datum's spare readings say against it.
fn remarks(plane: &DatumPlane, line: &DatumLine, origin: &DatumOrigin, pose: &Pose) -> Vec<String> {
    let mut remarks = Vec::new();
    let (plane_point, _) = spread(&plane.marks);
    let mut check = |mark: &Reading, off: f64, from: &str| {
        if off.abs() > REMARKABLE * mark.sigma_mm.max(1e-3) {
            remarks.push(format!(
                "datum mark {} lies {:.1} mm off {from}, more than its sigma of {:.1} mm explains",
                mark.name,
                off.abs(),
                mark.sigma_mm
            ));
        }
    };
    for mark in &plane.marks {
        check(mark, (pose * mark.point - pose * plane_point).dot(&plane.normal), "the datum plane");
    }
    let across = plane.normal.cross(&line.along);
    let (line_point, _) = spread(&line.marks);
    for mark in &line.marks {
        check(mark, (pose * mark.point - pose * line_point).dot(&across), "the datum line");
    }
    let off = pose * origin.mark.point - origin.at;
    if plane.at_mm.is_some() {
        check(&origin.mark, off.dot(&plane.normal), "its stated place, which the datum plane overrules");
    }
    if line.at_mm.is_some() {
        check(&origin.mark, off.dot(&across), "its stated place, which the datum line overrules");
    }
    remarks
}
