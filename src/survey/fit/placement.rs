//! What a fit's covariance means for the body made from it.

use nalgebra::{DMatrix, Matrix3, Matrix3x6, Matrix6, Point3, Vector3, Vector6};
use serde::Serialize;

/// How well a fitted body is placed: the covariance of a small shift and a small turn about a
/// point, in the frame of the readings, and the standard uncertainty of the surface itself.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitPlacement {
    /// The point about which the small turn is taken.
    pub about: Point3<f64>,
    /// Covariance of (shift x, y, z, turn x, y, z): mm^2, mm rad, rad^2.
    pub covariance: Matrix6<f64>,
    /// Standard uncertainty of the surface: radius or thickness, and form beyond the readings' own scatter, mm.
    pub surface_mm: f64,
    /// How (shift, turn) answers to each reading's place, three columns a reading in the order of the fit. What the
    /// readings share with those of another body goes through it.
    #[serde(skip)]
    pub response: DMatrix<f64>,
    /// How a radius that was fitted along with the place errs with it; `None` for what has no radius, or several sizes.
    #[serde(skip)]
    pub growth: Option<Growth>,
}

/// A radius fitted along with a place: how it errs with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Growth {
    /// Covariance of the radius with (shift, turn): mm^2, mm rad.
    pub with_moves: Vector6<f64>,
    /// Its variance, mm^2.
    pub variance: f64,
    /// How it answers to each reading's place, three numbers a reading.
    pub response: Vec<f64>,
    /// Form beyond the readings' own scatter, mm: the part of `surface_mm` that is no radius.
    pub form_mm: f64,
}

impl FitPlacement {
    /// From the covariance of local parameters: column `k` of `moves` is the (shift, turn) about
    /// `about` that parameter `k` makes; `loose` are further independent (shift, turn) variances,
    /// each a direction and a variance along it; `by_reading` is [`super::FitQuality::response`].
    pub(super) fn from_parameters(
        about: Point3<f64>,
        covariance: &DMatrix<f64>,
        moves: &[(Vector3<f64>, Vector3<f64>)],
        loose: &[(Vector3<f64>, Vector3<f64>, f64)],
        surface_mm: f64,
        by_reading: &DMatrix<f64>,
    ) -> Self {
        let stacked = |shift: &Vector3<f64>, turn: &Vector3<f64>| {
            Vector6::new(shift.x, shift.y, shift.z, turn.x, turn.y, turn.z)
        };
        let mut total = Matrix6::zeros();
        for (a, (shift_a, turn_a)) in moves.iter().enumerate() {
            for (b, (shift_b, turn_b)) in moves.iter().enumerate() {
                total += stacked(shift_a, turn_a) * stacked(shift_b, turn_b).transpose() * covariance[(a, b)];
            }
        }
        for (shift, turn, variance) in loose {
            let direction = stacked(shift, turn);
            total += direction * direction.transpose() * *variance;
        }
        let mut response = DMatrix::zeros(6, by_reading.ncols());
        for (k, (shift, turn)) in moves.iter().enumerate().take(by_reading.nrows()) {
            response += stacked(shift, turn) * by_reading.row(k);
        }
        FitPlacement { about, covariance: total, surface_mm, response, growth: None }
    }

    /// With a radius that errs along with the place: local parameter `radius`, whose covariance with those of `moves` is
    /// `with_moves`.
    pub(super) fn growing(
        mut self,
        moves: &[(Vector3<f64>, Vector3<f64>)],
        with_moves: &[f64],
        (radius, variance): (usize, f64),
        form_mm: f64,
        by_reading: &DMatrix<f64>,
    ) -> Self {
        let together = moves.iter().zip(with_moves).fold(Vector6::zeros(), |sum, ((shift, turn), c)| {
            sum + Vector6::new(shift.x, shift.y, shift.z, turn.x, turn.y, turn.z) * *c
        });
        let response = by_reading.row(radius).iter().copied().collect();
        self.growth = Some(Growth { with_moves: together, variance, response, form_mm });
        self
    }

    /// Covariance of the place of a point that belongs to the body, mm^2; the surface's own part left out.
    pub fn point_covariance(&self, point: &Point3<f64>) -> Matrix3<f64> {
        let lever = lever_to(&(point - self.about));
        lever * self.covariance * lever.transpose()
    }

    /// Standard uncertainty of the surface at `point` along `direction`, everything included, mm:
    /// what counts in a gap measured that way.
    pub fn sigma_along_mm(&self, point: &Point3<f64>, direction: &Vector3<f64>) -> f64 {
        let direction = direction.normalize();
        let placed = (direction.transpose() * self.point_covariance(point) * direction)[(0, 0)];
        (placed + self.surface_mm * self.surface_mm).sqrt()
    }
}

/// How a point `from_about` away from the centre of a small turn moves with (shift, turn).
pub(in crate::survey) fn lever_to(from_about: &Vector3<f64>) -> Matrix3x6<f64> {
    let mut lever = Matrix3x6::zeros();
    lever.fixed_view_mut::<3, 3>(0, 0).copy_from(&Matrix3::identity());
    lever.fixed_view_mut::<3, 3>(0, 3).copy_from(&-from_about.cross_matrix());
    lever
}
