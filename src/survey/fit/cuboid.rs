//! Boxes.

use nalgebra::{DMatrix, SMatrix, UnitQuaternion, Vector3};
use serde::{Serialize, Serializer};

use super::cuboid_faces::{Faces, assign, attitudes, outward};
use super::plane::OPEN_TURN_RAD;
use super::quality::{Judged, zone_width};
use super::reading::{centroid, check, mean_sigma_mm};
use super::{FitError, FitPlacement, FitQuality, Reading, Tip};
use crate::space::{Direction, Pose};
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

const CURE: &str =
    "three readings on one face, two on a second and one on a third, well apart, fix how it is turned";

/// A box fitted to readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoxFit {
    /// Pose of the box's frame: origin at its centre, axes square to its faces. Its x runs from the
    /// face `forward` to the face `rearward`, y from `left` to `right`, z from `down` to `up`.
    pub pose: Pose,
    /// Edge lengths along the box's x, y, z, mm.
    pub size_mm: Vector3<f64>,
    /// Covariance of (turn x, y, z about the centre in box axes, rad; place, outward, of the faces
    /// forward (-x), rearward (+x), left (-y), right (+y), down (-z), up (+z), mm).
    pub covariance: SMatrix<f64, 9, 9>,
    /// Faces on which each reading was taken to lie, in the order of the readings.
    #[serde(serialize_with = "as_words")]
    pub faces: Vec<Vec<Direction>>,
    /// Standard uncertainty of one reading, root mean square, mm.
    pub sigma_mm: f64,
    /// Evidence; a residual is positive outside, the greatest of its faces for a reading on several.
    pub quality: FitQuality,
}

fn as_words<S: Serializer>(faces: &[Vec<Direction>], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(faces.iter().map(|faces| faces.iter().map(|face| face.word()).collect::<Vec<_>>()))
}

/// Choices of a box fit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BoxOptions {
    /// Faces on which named readings lie: one for a face, two for an edge, three for a corner.
    /// Readings not named here are each put on the face that suits best.
    pub faces: Vec<(String, Vec<Direction>)>,
    /// Edge lengths known from elsewhere, along the box's x, y, z: mm, and standard uncertainty, mm.
    /// For faces that cannot be touched.
    pub known_size_mm: [Option<(f64, f64)>; 3],
    /// What touched the surface; the ball stood outside.
    pub tip: Tip,
}

impl BoxFit {
    /// How well a body made from this box is placed. The surface's part covers the sizes.
    pub fn placement(&self) -> FitPlacement {
        let none = Vector3::zeros();
        let axes: [Vector3<f64>; 3] = std::array::from_fn(|k| self.pose.rotation * Vector3::ith(k, 1.0));
        // Shift of the centre and half size along each axis, from the two faces' outward places.
        let c = &self.covariance;
        let mut to_pose = DMatrix::zeros(6, 9);
        let mut surface = 0.0f64;
        for axis in 0..3 {
            let (low, high) = (3 + 2 * axis, 4 + 2 * axis);
            to_pose[(axis, low)] = -0.5;
            to_pose[(axis, high)] = 0.5;
            to_pose[(3 + axis, axis)] = 1.0;
            let half = (c[(low, low)] + c[(high, high)] + 2.0 * c[(low, high)]) / 4.0;
            let shared = (c[(high, high)] - c[(low, low)]) / 4.0;
            surface = surface.max(half + 2.0 * shared.abs());
        }
        let whole = DMatrix::from_fn(9, 9, |i, j| c[(i, j)]);
        let covariance = &to_pose * whole * to_pose.transpose();
        let form = self.quality.form_sigma_mm(self.sigma_mm);
        FitPlacement::from_parameters(
            self.pose.translation.vector.into(),
            &covariance,
            &[
                (axes[0], none),
                (axes[1], none),
                (axes[2], none),
                (none, axes[0]),
                (none, axes[1]),
                (none, axes[2]),
            ],
            &[],
            (surface + form * form).sqrt(),
            &(&to_pose * &self.quality.response),
        )
    }
}

/// Fits a box to readings on its faces.
///
/// Nine things are sought: how it is turned (3) and where its faces stand (6). Orthogonal
/// distances to the faces, each over its sigma. Unless named, each reading is put on a face by
/// trying many attitudes within 45 degrees of the readings' axes.
///
/// # Errors
/// [`FitError`]: a face that no reading lies on and no known size gives, or a box that could still turn.
pub fn fit_box(readings: &[Reading]) -> Result<BoxFit, FitError> {
    fit_box_with(readings, &BoxOptions::default())
}

/// How the box is turned and the outward place of each face from the centroid of the readings.
pub(super) type State = (UnitQuaternion<f64>, [f64; 6]);

/// [`fit_box`] with choices.
///
/// # Errors
/// As [`fit_box`]; names that are no reading, opposite faces swapped.
pub fn fit_box_with(readings: &[Reading], options: &BoxOptions) -> Result<BoxFit, FitError> {
    let known = options.known_size_mm.iter().flatten().count();
    check(readings, "box", 3)?;
    options.tip.check()?;
    let named = named_faces(readings, options)?;
    let tip_mm = options.tip.offset_mm();
    let middle = centroid(readings);
    let least = 9 - known;
    let given: usize = named.iter().map(|faces| faces.as_ref().map_or(1, Vec::len)).sum();
    if given < least {
        return Err(FitError::TooFew { feature: "box", least, given });
    }
    let sizes =
        options.known_size_mm.map(|size| size.map(|(mm, sigma)| (mm + 2.0 * tip_mm, sigma.max(1e-6))));
    let mut ends: Vec<(Faces, Minimum<State>)> = Vec::new();
    let mut fault = None;
    for start in attitudes(readings, &middle, &named) {
        match follow(readings, &middle, &named, &sizes, start) {
            Ok(end) => ends.push(end),
            Err(error) => fault = Some(error),
        }
    }
    ends.sort_by(|a, b| a.1.evaluation.chi_square().total_cmp(&b.1.evaluation.chi_square()));
    let Some((faces, minimum)) = ends.into_iter().next() else {
        return Err(fault.unwrap_or(FitError::NotConverged { feature: "box", iterations: 0 }));
    };
    let (turn, places) = minimum.state;
    let mut center = Vector3::zeros();
    let mut size = Vector3::zeros();
    for axis in 0..3 {
        center[axis] = (places[2 * axis + 1] - places[2 * axis]) / 2.0;
        size[axis] = places[2 * axis + 1] + places[2 * axis] - 2.0 * tip_mm;
        if size[axis] <= 0.0 {
            let (low, high) = (Direction::ALL[2 * axis].word(), Direction::ALL[2 * axis + 1].word());
            return Err(FitError::Degenerate {
                feature: "box",
                why: format!("from face `{low}` to face `{high}` it would measure {:.1} mm", size[axis]),
                cure: format!("swap the faces `{low}` and `{high}`, or check which readings lie on them"),
            });
        }
    }
    let origin = middle + turn * center;
    let halves: [f64; 6] = std::array::from_fn(|face| size[face / 2] / 2.0 + tip_mm);
    let about_center = Minimum {
        state: (),
        evaluation: evaluate(readings, &origin, &faces, &sizes, &(turn, halves)),
        iterations: minimum.iterations,
        converged: minimum.converged,
    };
    let residuals_mm: Vec<f64> = readings
        .iter()
        .zip(&faces)
        .map(|(reading, faces)| {
            let y = turn.inverse() * (reading.point - origin);
            faces.iter().fold(0.0, |worst: f64, &face| {
                let off = outward(face, &y) - halves[face];
                if off.abs() > worst.abs() { off } else { worst }
            })
        })
        .collect();
    let form_mm = zone_width(&residuals_mm);
    let (covariance, mut quality) = Judged {
        feature: "box",
        readings,
        least: 0,
        residuals_mm,
        form_mm,
        minimum: &about_center,
        reading_covariance: None,
        cure: CURE,
    }
    .judge()?;
    quality.spare = quality.degrees_of_freedom;
    if quality.spare == 0 {
        quality.rms_mm = None;
    }
    if (0..3).any(|axis| covariance[(axis, axis)].sqrt() > OPEN_TURN_RAD) {
        return Err(FitError::Degenerate {
            feature: "box",
            why: "they lie so close together that it could be turned anyhow".to_owned(),
            cure: CURE.to_owned(),
        });
    }
    Ok(BoxFit {
        pose: Pose::from_parts(origin.coords.into(), turn),
        size_mm: size,
        covariance: covariance.fixed_view::<9, 9>(0, 0).into_owned(),
        faces: faces.iter().map(|faces| faces.iter().map(|&face| Direction::ALL[face]).collect()).collect(),
        sigma_mm: mean_sigma_mm(readings),
        quality,
    })
}

/// Faces by number for each reading; `None` where the fit must choose.
fn named_faces(readings: &[Reading], options: &BoxOptions) -> Result<Vec<Option<Vec<usize>>>, FitError> {
    let mut named = vec![None; readings.len()];
    for (name, faces) in &options.faces {
        let Some(at) = readings.iter().position(|r| r.name == *name) else {
            return Err(FitError::BadOption {
                what: format!("faces are given for `{name}`, which is not among the readings"),
                cure: "name a reading of this box".to_owned(),
            });
        };
        let numbers: Vec<usize> =
            faces.iter().filter_map(|face| Direction::ALL.iter().position(|d| d == face)).collect();
        let mut axes: Vec<usize> = numbers.iter().map(|face| face / 2).collect();
        axes.sort_unstable();
        axes.dedup();
        if numbers.is_empty() || axes.len() < numbers.len() {
            return Err(FitError::BadOption {
                what: format!("`{name}` cannot lie on no face, one face twice, or two opposite faces"),
                cure: "give one face, two that meet in an edge, or three that meet in a corner".to_owned(),
            });
        }
        named[at] = Some(numbers);
    }
    Ok(named)
}

/// Fits from one attitude; puts unnamed readings on their nearest faces again until none moves.
fn follow(
    readings: &[Reading],
    middle: &nalgebra::Point3<f64>,
    named: &[Option<Vec<usize>>],
    sizes: &[Option<(f64, f64)>; 3],
    start: UnitQuaternion<f64>,
) -> Result<(Faces, Minimum<State>), FitError> {
    let (mut faces, places) = assign(readings, middle, named, &start, None);
    let mut state = (start, places);
    for round in 0..30 {
        for face in 0..6 {
            if !faces.iter().any(|faces| faces.contains(&face)) && sizes[face / 2].is_none() {
                let word = Direction::ALL[face].word();
                let axis = ["x", "y", "z"][face / 2];
                return Err(FitError::Degenerate {
                    feature: "box",
                    why: format!("no reading lies on its face `{word}`"),
                    cure: format!("touch that face, or give the size along the box's {axis}"),
                });
            }
        }
        let minimum = minimise(
            state,
            |state| evaluate(readings, middle, &faces, sizes, state),
            |(turn, places), change| {
                let turn =
                    turn * UnitQuaternion::from_scaled_axis(Vector3::new(change[0], change[1], change[2]));
                (turn, std::array::from_fn(|face| places[face] + change[3 + face]))
            },
        );
        let (again, _) = assign(readings, middle, named, &minimum.state.0, Some(&minimum.state.1));
        if again == faces || round == 29 {
            return Ok((faces, minimum));
        }
        faces = again;
        state = minimum.state;
    }
    Err(FitError::NotConverged { feature: "box", iterations: 30 })
}

fn evaluate(
    readings: &[Reading],
    origin: &nalgebra::Point3<f64>,
    faces: &Faces,
    sizes: &[Option<(f64, f64)>; 3],
    (turn, places): &State,
) -> Evaluation {
    let mut builder = Evaluation::builder(9);
    for (i, (reading, faces)) in readings.iter().zip(faces).enumerate() {
        let y = turn.inverse() * (reading.point - origin);
        for &face in faces {
            let sign = if face % 2 == 0 { -1.0 } else { 1.0 };
            let normal = Vector3::ith(face / 2, sign);
            let by_turn = normal.cross(&y);
            let mut row = [by_turn.x, by_turn.y, by_turn.z, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
            row[3 + face] = -1.0;
            builder.reading(i, reading.sigma_mm, outward(face, &y) - places[face], turn * normal, &row);
        }
    }
    for (axis, size) in sizes.iter().enumerate() {
        if let Some((mm, sigma)) = size {
            let mut row = [0.0; 9];
            row[3 + 2 * axis] = 1.0;
            row[4 + 2 * axis] = 1.0;
            builder.known(*sigma, places[2 * axis] + places[2 * axis + 1] - mm, &row);
        }
    }
    builder.done()
}
