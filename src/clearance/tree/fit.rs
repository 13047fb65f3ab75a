//! An oriented box about a set of items.

use nalgebra::{Matrix3, Point3, SymmetricEigen, Vector3};

use super::build::Items;
use super::layout::Box32;

/// Sums from which a covariance comes, gathered about a point near the data.
#[derive(Clone, Copy)]
pub(super) struct Spread {
    about: Point3<f64>,
    count: f64,
    sum: Vector3<f64>,
    squares: Matrix3<f64>,
}

impl Spread {
    pub fn about(about: Point3<f64>) -> Self {
        Spread { about, count: 0.0, sum: Vector3::zeros(), squares: Matrix3::zeros() }
    }

    #[inline]
    pub fn add(&mut self, point: &Point3<f64>) {
        let d = point - self.about;
        self.count += 1.0;
        self.sum += d;
        for j in 0..3 {
            for i in 0..=j {
                self.squares[(i, j)] += d[i] * d[j];
            }
        }
    }

    /// Columns: directions of most, middle and least spread.
    pub fn axes(&self) -> Matrix3<f64> {
        let n = self.count.max(1.0);
        let mut covariance = Matrix3::zeros();
        for j in 0..3 {
            for i in 0..=j {
                let value = self.squares[(i, j)] / n - self.sum[i] * self.sum[j] / (n * n);
                covariance[(i, j)] = value;
                covariance[(j, i)] = value;
            }
        }
        if !covariance.iter().all(|v| v.is_finite()) {
            return Matrix3::identity();
        }
        let eigen = SymmetricEigen::new(covariance);
        let mut order = [0, 1, 2];
        order.sort_by(|a, b| eigen.eigenvalues[*b].total_cmp(&eigen.eigenvalues[*a]));
        let x: Vector3<f64> = eigen.eigenvectors.column(order[0]).into_owned();
        let y: Vector3<f64> = eigen.eigenvectors.column(order[1]).into_owned();
        let (Some(x), Some(y)) = (x.try_normalize(1e-12), (y - x * x.dot(&y)).try_normalize(1e-12)) else {
            return Matrix3::identity();
        };
        Matrix3::from_columns(&[x, y, x.cross(&y)])
    }
}

/// The box about items along the axes of their spread.
pub(super) fn fit<I: Items>(items: &I, order: &[u32], origin: &Point3<f64>) -> Box32 {
    let mut spread = Spread::about(items.middle(order[0]));
    for index in order {
        items.corners(*index, &mut |p| spread.add(p));
    }
    along(items, order, origin, &spread.axes())
}

/// The box about items along given axes.
pub(super) fn along<I: Items>(items: &I, order: &[u32], origin: &Point3<f64>, axes: &Matrix3<f64>) -> Box32 {
    let axes32: Matrix3<f32> = axes.map(|v| v as f32);
    let axes = axes32.map(f64::from);
    let columns = [0, 1, 2].map(|j| axes.column(j).into_owned());
    let mut low = [f64::INFINITY; 3];
    let mut high = [f64::NEG_INFINITY; 3];
    for index in order {
        items.extents(*index, origin, &columns, &mut low, &mut high);
    }
    let mut center = Vector3::zeros();
    let mut half = Vector3::zeros();
    for j in 0..3 {
        center += columns[j] * ((low[j] + high[j]) / 2.0);
        half[j] = (high[j] - low[j]) / 2.0;
    }
    // The axes are orthonormal to f32 only, and the centre is rounded: grow by what that may hide.
    let grow = 4e-7 * (center.norm() + half.norm()) + 1e-30;
    Box32 { center: center.map(|v| v as f32), axes: axes32, half: half.map(|h| (h + grow) as f32) }
}
