//! Three-two-one.
use nalgebra::{Point3, Unit, Vector3};

use super::{AlignError, Alignment};
use crate::survey::Reading;

/// The datum plane: three marks or more that lie in one plane of the vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct DatumPlane {
    /// Marks in the plane, survey axes.
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
    /// Direction of the line in vehicle axes.
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
/// # Errors
/// [`AlignError`].
pub fn align_three_two_one(
    _plane: &DatumPlane,
    _line: &DatumLine,
    _origin: &DatumOrigin,
) -> Result<Alignment, AlignError> {
    unimplemented!()
}
