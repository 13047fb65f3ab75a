//! Boxes.

use nalgebra::{SMatrix, Vector3};
use serde::{Serialize, Serializer};

use super::{FitError, FitPlacement, FitQuality, Reading, Tip};
use crate::space::{Direction, Pose};

/// A box fitted to readings on its faces.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoxFit {
    /// Pose of the box's frame: origin at its centre, axes along its edges, each the nearest to the
    /// same axis of the readings' frame when faces were found rather than named.
    pub pose: Pose,
    /// Edge lengths along the box's x, y, z, mm.
    pub size_mm: Vector3<f64>,
    /// Covariance of (turn x, y, z about the centre in box axes, rad; places of the faces
    /// forward (-x), rearward (+x), left (-y), right (+y), down (-z), up (+z), outward, mm).
    pub covariance: SMatrix<f64, 9, 9>,
    /// Faces on which each reading was taken to lie, in the order of the readings.
    #[serde(serialize_with = "as_words")]
    pub faces: Vec<Vec<Direction>>,
    /// Evidence.
    pub quality: FitQuality,
}

fn as_words<S: Serializer>(faces: &[Vec<Direction>], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(faces.iter().map(|faces| faces.iter().map(|face| face.word()).collect::<Vec<_>>()))
}

/// Choices of a box fit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoxOptions {
    /// Faces on which named readings lie: one for a face, two for an edge, three for a corner.
    /// Readings not named here are assigned to the nearest face.
    pub faces: Vec<(String, Vec<Direction>)>,
    /// Edge lengths known from elsewhere, along the box's x, y, z, mm: for faces that cannot be touched.
    pub known_size_mm: [Option<f64>; 3],
    /// What touched the surface.
    pub tip: Tip,
}

impl BoxFit {
    /// How well a body made from this box is placed.
    pub fn placement(&self) -> FitPlacement {
        unimplemented!()
    }
}

/// Fits a box to readings on its faces.
///
/// # Errors
/// [`FitError`].
pub fn fit_box(readings: &[Reading]) -> Result<BoxFit, FitError> {
    fit_box_with(readings, &BoxOptions::default())
}

/// [`fit_box`] with choices.
///
/// # Errors
/// [`FitError`].
pub fn fit_box_with(_readings: &[Reading], _options: &BoxOptions) -> Result<BoxFit, FitError> {
    unimplemented!()
}
