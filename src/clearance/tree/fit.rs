//! An oriented box about a set of items.

use nalgebra::{Matrix3, Vector3};

use super::super::convex::perpendicular;
use super::layout::Box32;

/// How points are spread: their count, mean, and sums of squares about it. Two may be joined.
#[derive(Clone, Copy)]
pub(super) struct Spread {
    count: f64,
    mean: Vector3<f64>,
    /// xx, yy, zz, xy, xz, yz.
    squares: [f64; 6],
}

impl Default for Spread {
    fn default() -> Self {
        Spread { count: 0.0, mean: Vector3::zeros(), squares: [0.0; 6] }
    }
}

impl Spread {
    /// Adds a point.
    ///
    /// # Source
    /// Welford's update, in its form for products: Chan, Golub and LeVeque 1979 (from memory).
    #[inline]
    pub fn add(&mut self, point: &Vector3<f64>) {
        self.count += 1.0;
        let before = point - self.mean;
        self.mean += before / self.count;
        self.weigh(&before, (self.count - 1.0) / self.count);
    }

    /// Adds all that another holds.
    #[inline]
    pub fn join(&mut self, other: &Spread) {
        let count = self.count + other.count;
        if count > 0.0 {
            let between = other.mean - self.mean;
            self.mean += between * (other.count / count);
            self.weigh(&between, self.count * other.count / count);
            for (mine, theirs) in self.squares.iter_mut().zip(other.squares) {
                *mine += theirs;
            }
            self.count = count;
        }
    }

    #[inline]
    fn weigh(&mut self, d: &Vector3<f64>, weight: f64) {
        let products = [d.x * d.x, d.y * d.y, d.z * d.z, d.x * d.y, d.x * d.z, d.y * d.z];
        for (square, product) in self.squares.iter_mut().zip(products) {
            *square += weight * product;
        }
    }

    /// A unit vector along which the points are spread most.
    pub fn widest(&self) -> Vector3<f64> {
        let [xx, yy, zz, xy, xz, yz] = self.squares;
        foremost([xx, yy, zz, xy, xz, yz]).unwrap_or_else(Vector3::x)
    }

    /// Columns, right-handed: the direction of most spread across the last, the one across both, and that of
    /// least spread.
    pub fn axes(&self) -> Matrix3<f64> {
        let size = self.squares[0] + self.squares[1] + self.squares[2];
        if !(size > 0.0 && size.is_finite()) {
            return Matrix3::identity();
        }
        let [xx, yy, zz, xy, xz, yz] = self.squares.map(|v| v / size);
        // The cofactors have the inverse's directions, and exist where it does not.
        let cofactors = [
            yy * zz - yz * yz,
            xx * zz - xz * xz,
            xx * yy - xy * xy,
            xz * yz - xy * zz,
            xy * yz - xz * yy,
            xy * xz - xx * yz,
        ];
        let z = if cofactors[0] + cofactors[1] + cofactors[2] > 1e-14 { foremost(cofactors) } else { None };
        // All on a line: anything across it will do.
        let z = z.unwrap_or_else(|| perpendicular(&self.widest()));
        let u = perpendicular(&z);
        let v = z.cross(&u);
        let product = |p: &Vector3<f64>, q: &Vector3<f64>| {
            p.x * (xx * q.x + xy * q.y + xz * q.z)
                + p.y * (xy * q.x + yy * q.y + yz * q.z)
                + p.z * (xz * q.x + yz * q.y + zz * q.z)
        };
        let (uu, uv, vv) = (product(&u, &u), product(&u, &v), product(&v, &v));
        let (sin, cos) = (0.5 * (2.0 * uv).atan2(uu - vv)).sin_cos();
        let x = u * cos + v * sin;
        Matrix3::from_columns(&[x, z.cross(&x), z])
    }
}

/// The direction that a symmetric matrix stretches most (its eigenvalues not negative), by squaring it until
/// nothing else is left; where two are alike, one between them. `None` for nothing.
fn foremost(mut m: [f64; 6]) -> Option<Vector3<f64>> {
    for _ in 0..5 {
        let trace = m[0] + m[1] + m[2];
        if !(trace > 0.0 && trace.is_finite()) {
            return None;
        }
        let [xx, yy, zz, xy, xz, yz] = m.map(|v| v / trace);
        m = [
            xx * xx + xy * xy + xz * xz,
            xy * xy + yy * yy + yz * yz,
            xz * xz + yz * yz + zz * zz,
            xx * xy + xy * yy + xz * yz,
            xx * xz + xy * yz + xz * zz,
            xy * xz + yy * yz + yz * zz,
        ];
    }
    let [xx, yy, zz, xy, xz, yz] = m;
    let column = if xx >= yy && xx >= zz {
        Vector3::new(xx, xy, xz)
    } else if yy >= zz {
        Vector3::new(xy, yy, yz)
    } else {
        Vector3::new(xz, yz, zz)
    };
    column.try_normalize(1e-300)
}

/// The box along given axes about what `extents` widens low and high by.
pub(super) fn along(
    axes: &Matrix3<f64>,
    extents: impl FnOnce(&[Vector3<f64>; 3], &mut [f64; 3], &mut [f64; 3]),
) -> Box32 {
    let axes32: Matrix3<f32> = axes.map(|v| v as f32);
    let axes = axes32.map(f64::from);
    let columns = [0, 1, 2].map(|j| axes.column(j).into_owned());
    let mut low = [f64::INFINITY; 3];
    let mut high = [f64::NEG_INFINITY; 3];
    extents(&columns, &mut low, &mut high);
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
