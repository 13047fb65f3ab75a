//! What bodies of one survey share: how each moves with every error of its readings.
//!
//! A body's place is not only uncertain; it is uncertain together with that of every other body whose
//! readings hang on the same datum, the same marks, the same tape. Told as movements by independent errors of unit
//! size, what two bodies share is a sum over the errors that both answer to. Leaves to others: which survey a body is from.

use nalgebra::{DMatrix, Matrix6, SVector, Vector3};

use super::fit::lever_to;
use super::{Alignment, FitPlacement, SurveyTable};

/// (shift, turn, growth): a small movement of a body about its own point, and how far its surface grows outward, mm and rad.
pub type Vector7 = SVector<f64, 7>;

/// Movements of a body about its own point, each made by one independent error of unit size.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SharedMoves {
    /// Number of each error, rising.
    pub errors: Vec<usize>,
    /// One an error.
    pub moves: Vec<Vector7>,
}

impl SharedMoves {
    /// From a matrix of 6 rows, or 7 with growth, and one column an error; columns of nothing are left out.
    pub fn from_columns(matrix: &DMatrix<f64>) -> Self {
        let mut shared = SharedMoves::default();
        for (error, column) in matrix.column_iter().enumerate() {
            if column.iter().any(|x| *x != 0.0) {
                shared.errors.push(error);
                shared.moves.push(Vector7::from_fn(|k, _| column.get(k).copied().unwrap_or(0.0)));
            }
        }
        shared
    }

    /// The covariance that they add up to.
    pub fn covariance(&self) -> Matrix6<f64> {
        self.moves.iter().fold(Matrix6::zeros(), |sum, m| {
            let m = m.fixed_rows::<6>(0);
            sum + m * m.transpose()
        })
    }

    /// The movement of something else that stands on it, by a linear map of (shift, turn); it does not grow along.
    pub fn mapped(&self, map: &Matrix6<f64>) -> Self {
        let moved = |m: &Vector7| {
            let there = map * m.fixed_rows::<6>(0);
            Vector7::from_fn(|k, _| if k < 6 { there[k] } else { 0.0 })
        };
        SharedMoves { errors: self.errors.clone(), moves: self.moves.iter().map(moved).collect() }
    }

    /// Covariance of `one` along `gradient` with `other` along `other_gradient`, of the same errors.
    pub fn shared_variance(&self, gradient: &Vector7, other: &SharedMoves, other_gradient: &Vector7) -> f64 {
        let (mut i, mut j, mut sum) = (0, 0, 0.0);
        while i < self.errors.len() && j < other.errors.len() {
            match self.errors[i].cmp(&other.errors[j]) {
                std::cmp::Ordering::Less => i += 1,
                std::cmp::Ordering::Greater => j += 1,
                std::cmp::Ordering::Equal => {
                    sum += gradient.dot(&self.moves[i]) * other_gradient.dot(&other.moves[j]);
                    i += 1;
                    j += 1;
                }
            }
        }
        sum
    }
}

/// A survey's readings as independent errors of unit size: a root of their joint covariance.
#[derive(Clone, Debug)]
pub struct ReadingRoot {
    /// Coordinates of all marks by errors; `None` when each coordinate errs by itself.
    joint: Option<DMatrix<f64>>,
    /// Standard uncertainty of each coordinate, mm, for when they are independent.
    each_mm: Vec<f64>,
}

impl ReadingRoot {
    /// Of a survey in its own axes, before any alignment. Cubic in the number of marks when they share errors.
    pub fn of(own: &SurveyTable) -> Self {
        let n = own.covariance.nrows();
        let each_mm = (0..n).map(|k| own.covariance[(k, k)].max(0.0).sqrt()).collect();
        let joint = own.network.is_some().then(|| root(&own.covariance));
        ReadingRoot { joint, each_mm }
    }

    /// How a body fitted to marks (by number in the survey) moves with each error: through its own readings, and with
    /// the whole survey through the datum's. About the fit's point, in the axes of the fit.
    pub fn moves_of(
        &self,
        fit: &FitPlacement,
        marks: &[usize],
        own: &SurveyTable,
        alignment: Option<&Alignment>,
    ) -> SharedMoves {
        let mut by_coordinate = DMatrix::zeros(7, self.each_mm.len());
        if fit.response.ncols() == 3 * marks.len() {
            let whole = with_growth(fit);
            for (k, mark) in marks.iter().enumerate() {
                // The fit was made in vehicle axes, the readings in the survey's.
                let mut block = whole.fixed_columns::<3>(3 * k).into_owned();
                if let Some(alignment) = alignment {
                    block *= alignment.vehicle_from_survey.rotation.to_rotation_matrix().into_inner();
                }
                let mut at = by_coordinate.fixed_columns_mut::<3>(3 * mark);
                at += block;
            }
        }
        if let Some(alignment) = alignment {
            let mut to_fit = Matrix6::identity();
            to_fit.fixed_view_mut::<3, 6>(0, 0).copy_from(&lever_to(&(fit.about - alignment.about)));
            for (name, moves) in &alignment.sensitivity {
                let Some(mark) = own.marks.iter().position(|mark| mark.name == *name) else { continue };
                let mut at = by_coordinate.fixed_view_mut::<6, 3>(0, 3 * mark);
                at += to_fit * moves * alignment.scale;
            }
        }
        match &self.joint {
            Some(root) => SharedMoves::from_columns(&(by_coordinate * root)),
            None => {
                for (mut column, sigma_mm) in by_coordinate.column_iter_mut().zip(&self.each_mm) {
                    column *= *sigma_mm;
                }
                SharedMoves::from_columns(&by_coordinate)
            }
        }
    }
}

/// A reading of a survey, as it would count if it were taken once more, as exactly as before.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingAgain {
    /// What was measured: `P3-D1`, `mark F2`.
    pub what: String,
    /// A row a component: number of a [`ReadingRoot`]'s error, and how the component answers to it over its own sigma.
    pub rows: Vec<Vec<(usize, f64)>>,
}

impl ReadingRoot {
    /// Every reading of the survey as one that could be taken again; those of the diameter of round things are left out.
    pub fn again(&self, own: &SurveyTable) -> Vec<ReadingAgain> {
        let (Some(root), Some(network)) = (&self.joint, &own.network) else {
            // Each coordinate is its own error of unit size.
            let of = |(at, mark): (usize, &super::Mark)| ReadingAgain {
                what: format!("mark {}", mark.name),
                rows: (3 * at..3 * at + 3).map(|k| vec![(k, 1.0)]).collect(),
            };
            return own.marks.iter().enumerate().filter(|(_, m)| m.sigma_mm > 0.0).map(of).collect();
        };
        let places: Vec<Option<usize>> =
            network.marks.iter().map(|mark| own.marks.iter().position(|own| own.name == mark.name)).collect();
        let row_of = |slopes: &Vec<(usize, Vector3<f64>)>| -> Vec<(usize, f64)> {
            let mut row = vec![0.0; root.ncols()];
            for (mark, slope) in slopes {
                let Some(at) = places.get(*mark).copied().flatten() else { continue };
                for axis in 0..3 {
                    // The covariance holds the network's scale already, and so must the reading's sigma.
                    let by = slope[axis] / network.scale;
                    for (e, x) in row.iter_mut().enumerate() {
                        *x += by * root[(3 * at + axis, e)];
                    }
                }
            }
            row.into_iter().enumerate().filter(|(_, x)| *x != 0.0).collect()
        };
        let again = |slope: &super::network::ReadingSlope| ReadingAgain {
            what: slope.what.clone(),
            rows: slope.rows.iter().map(row_of).collect(),
        };
        network.slopes.iter().map(again).collect()
    }
}

/// A fit's answers to its readings, growth in the seventh row.
pub fn with_growth(fit: &FitPlacement) -> DMatrix<f64> {
    let mut whole = fit.response.clone().resize(7, fit.response.ncols(), 0.0);
    if let Some(growth) = fit.growth.as_ref().filter(|growth| growth.response.len() == whole.ncols()) {
        for (at, value) in growth.response.iter().enumerate() {
            whole[(6, at)] = *value;
        }
    }
    whole
}

/// Lower triangular root of a covariance; a coordinate without error has an empty row.
fn root(covariance: &DMatrix<f64>) -> DMatrix<f64> {
    let n = covariance.nrows();
    let none = 1e-12 * covariance.diagonal().max().max(0.0);
    let mut root = DMatrix::zeros(n, n);
    for j in 0..n {
        let left = covariance[(j, j)] - root.row(j).columns(0, j).norm_squared();
        if left <= none {
            continue;
        }
        let pivot = f64::sqrt(left);
        root[(j, j)] = pivot;
        for i in j + 1..n {
            let dot = root.row(i).columns(0, j).dot(&root.row(j).columns(0, j));
            root[(i, j)] = (covariance[(i, j)] - dot) / pivot;
        }
    }
    root
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use nalgebra::{Point3, Vector3, Vector6};

    use super::*;
    use crate::survey::test_noise::Noise;
    use crate::survey::{Reading, fit_cone, fit_cylinder, fit_line, fit_plane, fit_sphere};

    #[test]
    fn a_root_gives_back_its_covariance() {
        let mut noise = Noise::new(3);
        let a = DMatrix::from_fn(6, 4, |_, _| noise.normal());
        // Rank 4 of 6, and one coordinate without error.
        let mut covariance = &a * a.transpose();
        covariance.row_mut(2).fill(0.0);
        covariance.column_mut(2).fill(0.0);
        let root = root(&covariance);
        assert!((&root * root.transpose() - &covariance).norm() < 1e-9, "{root}");
    }

    /// The answer of each fit to a reading's place against the fit with that reading moved.
    #[test]
    fn a_fit_answers_to_its_readings_as_told() {
        let mut noise = Noise::new(8);
        let mut on = |f: &dyn Fn(f64, f64) -> Vector3<f64>| -> Vec<Reading> {
            (0..14)
                .map(|k| {
                    let (a, h) = (0.45 * f64::from(k) + 0.3 * noise.uniform(), noise.uniform());
                    Reading::new(format!("R{k}"), Point3::from(f(a, h)) + noise.vector(0.3), 0.3)
                })
                .collect()
        };
        type Fit = fn(&[Reading]) -> FitPlacement;
        let cases: [(&str, Vec<Reading>, Fit); 5] = [
            ("plane", on(&|a, h| Vector3::new(200.0 * a, 300.0 * h, 10.0 * a)), |r| {
                fit_plane(r).unwrap().placement()
            }),
            ("sphere", on(&|a, h| Vector3::new(a.cos(), a.sin(), 2.0 * h - 1.0).normalize() * 80.0), |r| {
                fit_sphere(r).unwrap().placement()
            }),
            ("cylinder", on(&|a, h| Vector3::new(40.0 * a.cos(), 40.0 * a.sin(), 300.0 * h)), |r| {
                fit_cylinder(r).unwrap().placement()
            }),
            (
                "cone",
                on(&|a, h| Vector3::new((40.0 + 30.0 * h) * a.cos(), (40.0 + 30.0 * h) * a.sin(), 200.0 * h)),
                |r| fit_cone(r).unwrap().placement(),
            ),
            ("line", on(&|a, _| Vector3::new(100.0 * a, 20.0 * a, -5.0 * a)), |r| {
                fit_line(r).unwrap().placement()
            }),
        ];
        for (name, readings, fit) in cases {
            let here = fit(&readings);
            let step = 1e-3;
            for k in [0, 5, 9] {
                for axis in 0..3 {
                    let at = |by: f64| {
                        let mut moved = readings.clone();
                        moved[k].point[axis] += by;
                        fit(&moved)
                    };
                    let (up, down) = (at(step), at(-step));
                    let told: Vector6<f64> = here.response.column(3 * k + axis).fixed_rows::<6>(0).into();
                    // The shift of the surface's point nearest to where it was, along what holds it there: seen along
                    // every direction that the covariance knows, the movement told is the movement made.
                    let made = (up.about - down.about) / (2.0 * step);
                    let shift = told.fixed_rows::<3>(0).into_owned();
                    // Along the directions that the fit leaves open (in a plane, along an axis) its point is free.
                    let held = here.response.rows(0, 3).into_owned();
                    let svd = held.svd(true, false);
                    let u = svd.u.unwrap();
                    for (direction, size) in u.column_iter().zip(svd.singular_values.iter()) {
                        if *size > 1e-3 {
                            let (told, made) = (direction.dot(&shift), direction.dot(&made));
                            assert!(
                                (told - made).abs() < 2e-2 * svd.singular_values.max().max(0.1),
                                "{name}, reading {k}, axis {axis}: told {told}, made {made}"
                            );
                        }
                    }
                }
            }
        }
    }
}
