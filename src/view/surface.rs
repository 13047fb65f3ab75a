//! Which way the surface faces at each point of a cloud, so that it can be shaded.

use std::collections::HashMap;

use nalgebra::{Matrix3, Point3, Vector3};

/// The normal of the plane through each point's neighbours within a reach (mm), of unknown sign;
/// `None` where there are too few of them to tell.
///
/// For looks only: no figure is computed from it. Time grows with the neighbours in reach.
pub(super) fn normals(points: &[Point3<f64>], reach_mm: f64) -> Vec<Option<Vector3<f64>>> {
    if !(reach_mm > 0.0 && reach_mm.is_finite()) {
        return vec![None; points.len()];
    }
    let cell = |p: &Point3<f64>| [p.x, p.y, p.z].map(|c| (c / reach_mm).floor() as i64);
    let mut cells: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    for (i, p) in points.iter().enumerate() {
        cells.entry(cell(p)).or_default().push(i as u32);
    }
    points
        .iter()
        .map(|p| {
            let [x, y, z] = cell(p);
            let (mut count, mut sum, mut squares) = (0, Vector3::zeros(), Matrix3::zeros());
            for near in 0..27 {
                let key = [x + near % 3 - 1, y + near / 3 % 3 - 1, z + near / 9 - 1];
                // In a crowd every few of the neighbours tell enough.
                let crowd = cells.get(&key).map_or(&[][..], Vec::as_slice);
                for i in crowd.iter().step_by(crowd.len() / 12 + 1) {
                    let to = points[*i as usize] - p;
                    if to.norm_squared() <= reach_mm * reach_mm {
                        count += 1;
                        sum += to;
                        squares += to * to.transpose();
                    }
                }
            }
            if count < 4 {
                return None;
            }
            let mean = sum / f64::from(count);
            let spread = squares / f64::from(count) - mean * mean.transpose();
            let eigen = spread.symmetric_eigen();
            eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned().try_normalize(1e-9)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_ball_face_along_the_radius() {
        // Spread by the golden angle over a ball of 50 mm, about 5.6 mm apart.
        let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
        let points: Vec<_> = (0..1000)
            .map(|i| {
                let z = 1.0 - 2.0 * (f64::from(i) + 0.5) / 1000.0;
                let (r, a) = ((1.0 - z * z).sqrt(), golden * f64::from(i));
                Point3::new(50.0 * r * a.cos(), 50.0 * r * a.sin(), 50.0 * z)
            })
            .collect();
        for (p, normal) in points.iter().zip(normals(&points, 15.0)) {
            let along = normal.map_or(0.0, |n| n.dot(&p.coords.normalize()).abs());
            assert!(along > 0.99, "at {p}: {along}");
        }
    }

    #[test]
    fn a_lonely_point_faces_nowhere() {
        assert_eq!(normals(&[Point3::origin(), Point3::new(100.0, 0.0, 0.0)], 5.0), vec![None, None]);
    }
}
