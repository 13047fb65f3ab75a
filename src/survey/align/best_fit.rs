//! Best fit on named points, turned and shifted but never stretched or mirrored.

use nalgebra::{
    DMatrix, Matrix3, Matrix6, Matrix6x3, Point3, Rotation3, Translation3, UnitQuaternion, Vector3,
};
use serde::Serialize;

use super::{AlignError, Alignment};
use crate::space::Pose;
use crate::survey::fit::lever_to;
use crate::survey::uncertainty::chi_square_tail;

/// A mark measured in the survey whose place in the vehicle is known.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkPair {
    /// Name.
    pub name: String,
    /// Place in survey axes, mm.
    pub survey: Point3<f64>,
    /// Place in vehicle axes, mm.
    pub vehicle: Point3<f64>,
    /// Standard uncertainty of each coordinate of the difference, mm; above zero.
    pub sigma_mm: f64,
}

/// A best fit with its evidence.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BestFit {
    /// The pose and its covariance.
    pub alignment: Alignment,
    /// Distance of each mark from where it should be, in order, mm.
    pub residuals_mm: Vec<(String, f64)>,
    /// Root mean square of these, mm. It says little of the error elsewhere: ask [`Self::target_sigma_mm`].
    pub rms_mm: f64,
    /// What `rms_mm` should be for the stated sigmas, mm.
    pub expected_rms_mm: f64,
    /// Factor on the stated sigmas because the marks scatter more (chi-square beyond 0.1 %); 1 when they do not.
    pub scale: f64,
}

impl BestFit {
    /// Standard uncertainty (root of the sum over three axes) with which a place comes to stand in the vehicle, mm.
    pub fn target_sigma_mm(&self, vehicle: &Point3<f64>) -> f64 {
        self.alignment.point_covariance(vehicle).trace().sqrt()
    }
}

/// Turn and shift that best carry `from` to `to`, any number of dimensions, rows are points.
pub(super) struct Carried {
    /// Best turn.
    pub turn: DMatrix<f64>,
    /// Best shift.
    pub shift: DMatrix<f64>,
    /// Best orthogonal matrix when a mirror is allowed.
    pub unguarded: DMatrix<f64>,
    /// Singular values of the cross-covariance, greatest first.
    pub singular: Vec<f64>,
}

/// Weighted least-squares turn and shift.
///
/// # Source
/// Umeyama, IEEE PAMI 13 (1991) 376-380, without the scale: the determinant guard is his.
pub(super) fn carry_points(from: &DMatrix<f64>, to: &DMatrix<f64>, weights: &[f64]) -> Option<Carried> {
    let (n, dimensions) = from.shape();
    let total: f64 = weights.iter().sum();
    let mean = |points: &DMatrix<f64>| {
        DMatrix::from_fn(1, dimensions, |_, j| {
            (0..n).map(|i| weights[i] * points[(i, j)]).sum::<f64>() / total
        })
    };
    let (from_mean, to_mean) = (mean(from), mean(to));
    let cross = DMatrix::from_fn(dimensions, dimensions, |a, b| {
        (0..n).map(|i| weights[i] * (to[(i, a)] - to_mean[a]) * (from[(i, b)] - from_mean[b])).sum::<f64>()
            / total
    });
    let svd = cross.svd(true, true);
    let (u, v_t) = (svd.u?, svd.v_t?);
    let mut order: Vec<usize> = (0..dimensions).collect();
    order.sort_by(|a, b| svd.singular_values[*b].total_cmp(&svd.singular_values[*a]));
    let unguarded = &u * &v_t;
    let mut signs = DMatrix::identity(dimensions, dimensions);
    if unguarded.determinant() < 0.0 {
        let last = *order.last()?;
        signs[(last, last)] = -1.0;
    }
    let turn = &u * signs * &v_t;
    let shift = to_mean.transpose() - &turn * from_mean.transpose();
    let singular = order.iter().map(|k| svd.singular_values[*k]).collect();
    Some(Carried { turn, shift, unguarded, singular })
}

/// Aligns a survey by marks whose places in the vehicle are known.
///
/// # Errors
/// [`AlignError`]: fewer than three different marks, marks nearly on one line, or a mirrored survey.
pub fn align_best_fit(pairs: &[MarkPair]) -> Result<BestFit, AlignError> {
    check(pairs)?;
    let rows =
        |point: fn(&MarkPair) -> &Point3<f64>| DMatrix::from_fn(pairs.len(), 3, |i, j| point(&pairs[i])[j]);
    let weights: Vec<f64> = pairs.iter().map(|p| p.sigma_mm.powi(-2)).collect();
    let (from, to) = (rows(|p| &p.survey), rows(|p| &p.vehicle));
    let sigma = (pairs.len() as f64 / weights.iter().sum::<f64>()).sqrt();
    let carried = carry_points(&from, &to, &weights).ok_or_else(on_one_line)?;
    if carried.singular[1] < 1e-3 * carried.singular[0] {
        return Err(on_one_line());
    }
    let pose_of = |turn: &DMatrix<f64>| {
        let turn = turn.fixed_view::<3, 3>(0, 0).into_owned();
        move |p: &MarkPair, from_mean: &Vector3<f64>, to_mean: &Vector3<f64>| {
            (turn * (p.survey.coords - from_mean) - (p.vehicle.coords - to_mean)).norm()
        }
    };
    let total: f64 = weights.iter().sum();
    let mean = |point: fn(&MarkPair) -> &Point3<f64>| {
        pairs.iter().zip(&weights).fold(Vector3::zeros(), |sum, (p, w)| sum + point(p).coords * *w) / total
    };
    let (from_mean, to_mean) = (mean(|p| &p.survey), mean(|p| &p.vehicle));
    let rms = |turn: &DMatrix<f64>| {
        let off = pose_of(turn);
        (pairs.iter().map(|p| off(p, &from_mean, &to_mean).powi(2)).sum::<f64>() / pairs.len() as f64).sqrt()
    };
    let (turned_mm, mirrored_mm) = (rms(&carried.turn), rms(&carried.unguarded));
    if carried.unguarded.determinant() < 0.0 && turned_mm > 5.0 * sigma && mirrored_mm < 0.5 * turned_mm {
        return Err(AlignError::Mirrored { mirrored_mm, turned_mm });
    }
    let turn = Rotation3::from_matrix_unchecked(carried.turn.fixed_view::<3, 3>(0, 0).into_owned());
    let quaternion = UnitQuaternion::from_rotation_matrix(&turn);
    let vehicle_from_survey =
        Pose::from_parts(Translation3::new(carried.shift[0], carried.shift[1], carried.shift[2]), quaternion);
    let about = Point3::from(to_mean);
    let mut normal = Matrix6::zeros();
    let mut chi_square = 0.0;
    let mut residuals_mm = Vec::with_capacity(pairs.len());
    for (pair, weight) in pairs.iter().zip(&weights) {
        let there = vehicle_from_survey * pair.survey;
        let lever = lever_to(&(there - about));
        normal += lever.transpose() * lever * *weight;
        let off = (there - pair.vehicle).norm();
        chi_square += off * off * weight;
        residuals_mm.push((pair.name.clone(), off));
    }
    let cofactor = normal.try_inverse().ok_or_else(on_one_line)?;
    let free = 3.0 * pairs.len() as f64 - 6.0;
    let scale = if chi_square_tail(chi_square, free) < 0.001 { (chi_square / free).sqrt() } else { 1.0 };
    let turn: Matrix3<f64> = quaternion.to_rotation_matrix().into_inner();
    let sensitivity = pairs
        .iter()
        .zip(&weights)
        .map(|(pair, weight)| {
            // The pose follows where the vehicle says a mark is, and runs from where the survey says.
            let lever = lever_to(&(vehicle_from_survey * pair.survey - about));
            let moves: Matrix6x3<f64> = cofactor * lever.transpose() * turn * -*weight;
            (pair.name.clone(), moves)
        })
        .collect();
    let mut remarks = Vec::new();
    if scale > 1.0 {
        remarks.push(format!("the marks scatter {scale:.1} times as far as their sigma explains"));
    }
    let n = pairs.len() as f64;
    let rms_mm = (residuals_mm.iter().map(|(_, off)| off * off).sum::<f64>() / n).sqrt();
    Ok(BestFit {
        alignment: Alignment {
            vehicle_from_survey,
            about,
            covariance: cofactor * (scale * scale),
            sensitivity,
            scale,
            remarks,
        },
        residuals_mm,
        rms_mm,
        expected_rms_mm: ((1.0 - 2.0 / n) * 3.0).sqrt() * sigma,
        scale,
    })
}

fn check(pairs: &[MarkPair]) -> Result<(), AlignError> {
    for (i, one) in pairs.iter().enumerate() {
        let fine = one.survey.iter().chain(one.vehicle.iter()).all(|x| x.is_finite());
        if !fine || !one.sigma_mm.is_finite() || one.sigma_mm <= 0.0 {
            return Err(AlignError::Degenerate {
                what: format!("mark `{}` has a place or sigma that is not a number above zero", one.name),
                cure: "measure it again and state its sigma".to_owned(),
            });
        }
        for other in &pairs[i + 1..] {
            let what = if one.name == other.name {
                "are the same mark"
            } else if (one.survey - other.survey).norm() < 1e-6 {
                "stand at the same place"
            } else {
                continue;
            };
            let (one, other) = (one.name.clone(), other.name.clone());
            return Err(AlignError::Repeated { part: "point set", one, other, what });
        }
    }
    if pairs.len() < 3 {
        return Err(AlignError::TooFew { part: "point set", least: 3, given: pairs.len() });
    }
    Ok(())
}

fn on_one_line() -> AlignError {
    AlignError::Degenerate {
        what: "the marks lie nearly on one line, about which the survey could turn".to_owned(),
        cure: "add a mark well off that line".to_owned(),
    }
}

/// Expected error (root mean square over three axes) at a place, mm, for marks each located with
/// `mark_error_mm` (root of the sum over three axes), equal for all.
///
/// # Source
/// Fitzpatrick, West and Maurer, IEEE TMI 17 (1998) 694-702: TRE^2 = FLE^2 / N (1 + 1/3 sum d_k^2 / f_k^2),
/// d_k the place's distance from principal axis k of the marks, f_k the marks' root mean square distance from it.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::align::expected_target_error_mm;
/// use nalgebra::Point3;
/// let marks = [[50.0, 50.0, 0.0], [-50.0, 50.0, 0.0], [50.0, -50.0, 0.0], [-50.0, -50.0, 0.0]].map(Point3::from);
/// let error = expected_target_error_mm(&marks, 1.0, &Point3::new(0.0, 0.0, 100.0)).unwrap();
/// assert!((error - 0.9574271).abs() < 1e-6);
/// ```
pub fn expected_target_error_mm(
    marks: &[Point3<f64>],
    mark_error_mm: f64,
    place: &Point3<f64>,
) -> Option<f64> {
    let n = marks.len() as f64;
    let middle = marks.iter().fold(Vector3::zeros(), |sum, m| sum + m.coords) / n;
    let scatter = marks.iter().fold(Matrix3::zeros(), |sum, m| {
        let q = m.coords - middle;
        sum + q * q.transpose() / n
    });
    let axes = scatter.symmetric_eigen();
    let mut sum = 0.0;
    for axis in axes.eigenvectors.column_iter() {
        let from_axis = |p: &Vector3<f64>| (p - axis * axis.dot(p)).norm_squared();
        let spread = marks.iter().map(|m| from_axis(&(m.coords - middle))).sum::<f64>() / n;
        if spread <= 1e-12 {
            return None;
        }
        sum += from_axis(&(place.coords - middle)) / spread;
    }
    Some((mark_error_mm * mark_error_mm / n * (1.0 + sum / 3.0)).sqrt())
}
