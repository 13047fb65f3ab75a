//! Least axis-aligned boxes of round things that stand at any angle.

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::Bend;

/// The least box of a disc. `normal` is of unit length.
///
/// A disc of normal n reaches r sqrt(1 - n_i^2) along axis i (closed form).
pub(super) fn of_disc(center: &Point3<f64>, normal: &Vector3<f64>, radius_mm: f64) -> Bounds {
    let half = normal.map(|part| radius_mm * (1.0 - part * part).max(0.0).sqrt());
    Bounds { min: center - half, max: center + half }
}

/// The least box of a ball.
pub(super) fn of_ball(center: &Point3<f64>, radius_mm: f64) -> Bounds {
    Bounds { min: *center, max: *center }.grown(radius_mm)
}

/// The least box of a frustum between two discs.
pub(super) fn of_frustum(
    from: &Point3<f64>,
    to: &Point3<f64>,
    from_radius_mm: f64,
    to_radius_mm: f64,
) -> Bounds {
    let along = (to - from).try_normalize(0.0).unwrap_or_else(Vector3::z);
    of_disc(from, &along, from_radius_mm).union(&of_disc(to, &along, to_radius_mm))
}

/// The least box of points after a pose.
pub(super) fn of_points(points: &[Point3<f64>], world_from_shape: &Pose) -> Bounds {
    points.iter().fold(Bounds::EMPTY, |bounds, point| bounds.with(&(world_from_shape * point)))
}

/// The least box of a disc swept along a bend.
///
/// The disc at an angle reaches R c + r sqrt(c^2 + w^2) along u, where c is u's part along the ring's
/// radius there and w its part along the ring's axis. That grows with c as long as r <= R, so the
/// farthest disc is the one whose radius lies nearest to u.
pub(super) fn of_bend(bend: &Bend, tube_radius_mm: f64) -> Bounds {
    let reach = |u: Vector3<f64>| {
        let angle = bend.section_toward(&u).angle_rad;
        let radius = bend.radius_at(angle);
        let (c, w) = (u.dot(&radius), u.dot(&bend.axis));
        u.dot(&bend.center.coords) + bend.radius_mm * c + tube_radius_mm * c.hypot(w)
    };
    let mut bounds = Bounds::EMPTY;
    for i in 0..3 {
        let mut u = Vector3::zeros();
        u[i] = 1.0;
        bounds.max[i] = reach(u);
        bounds.min[i] = -reach(-u);
    }
    bounds
}
