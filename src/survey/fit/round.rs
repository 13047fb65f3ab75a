//! What round features share: circles through projected points and a search for the axis.

use nalgebra::{DMatrix, DVector, Point3, Unit, Vector2, Vector3};

/// Two directions square to `w` and to each other; `u x v = w`.
pub(super) fn square_to(w: &Unit<Vector3<f64>>) -> (Vector3<f64>, Vector3<f64>) {
    let smallest = w.iamin();
    let u = w.cross(&Vector3::ith(smallest, 1.0)).normalize();
    (u, w.cross(&u))
}

/// The direction turned by small angles about `u` and `v` of [`square_to`].
pub(super) fn tilted(w: &Unit<Vector3<f64>>, about_u_rad: f64, about_v_rad: f64) -> Unit<Vector3<f64>> {
    let (u, v) = square_to(w);
    Unit::new_normalize(w.into_inner() + u * about_v_rad - v * about_u_rad)
}

/// Circle of a linear fit, x^2 + y^2 = 2ax + 2by + c: good enough to start from, not an answer,
/// for it favours small radii on short arcs. `None` when the points lie on a line.
pub(super) fn starting_circle(points: &[Vector2<f64>]) -> Option<(Vector2<f64>, f64)> {
    let scale = points.iter().map(|p| p.norm()).fold(0.0, f64::max);
    if scale <= 0.0 {
        return None;
    }
    let a = DMatrix::from_fn(points.len(), 3, |i, j| if j < 2 { 2.0 * points[i][j] / scale } else { 1.0 });
    let b = DVector::from_iterator(points.len(), points.iter().map(|p| p.norm_squared() / (scale * scale)));
    let x = solve(a, &b)?;
    let squared = x[2] + x[0] * x[0] + x[1] * x[1];
    (squared > 0.0).then(|| (Vector2::new(x[0], x[1]) * scale, squared.sqrt() * scale))
}

/// Least-squares solution, good enough to start from; `None` when the columns are as good as dependent.
pub(super) fn solve(a: DMatrix<f64>, b: &DVector<f64>) -> Option<DVector<f64>> {
    let normal = a.tr_mul(&a);
    let greatest = normal.diagonal().max();
    let factored = normal.cholesky()?;
    let least = factored.l_dirty().diagonal().min();
    (least * least > 1e-13 * greatest).then(|| factored.solve(&a.tr_mul(b)))
}

/// Directions spread evenly over a half sphere.
pub(super) fn half_sphere(count: usize) -> impl Iterator<Item = Unit<Vector3<f64>>> {
    let golden = std::f64::consts::PI * (3.0 - 5f64.sqrt());
    (0..count).map(move |i| {
        let z = 1.0 - (i as f64 + 0.5) / count as f64;
        let r = (1.0 - z * z).sqrt();
        let angle = golden * i as f64;
        Unit::new_normalize(Vector3::new(r * angle.cos(), r * angle.sin(), z))
    })
}

/// Points seen along `w`: their place across it and along it, from `origin`.
pub(super) fn seen_along(
    points: &[Point3<f64>],
    origin: &Point3<f64>,
    w: &Unit<Vector3<f64>>,
) -> (Vec<Vector2<f64>>, Vec<f64>) {
    let (u, v) = square_to(w);
    points
        .iter()
        .map(|p| {
            let q = p - origin;
            (Vector2::new(q.dot(&u), q.dot(&v)), q.dot(w))
        })
        .unzip()
}

/// Standard uncertainty of a round surface: its radius, what radius and place share at the worst
/// side, and form, mm.
pub(super) fn radius_surface_mm(radius_variance: f64, shared: f64, form_mm: f64) -> f64 {
    (radius_variance + 2.0 * shared + form_mm * form_mm).sqrt()
}

/// Turns a direction to the side of another.
pub(super) fn facing(
    direction: Unit<Vector3<f64>>,
    toward: Option<&Unit<Vector3<f64>>>,
) -> Unit<Vector3<f64>> {
    let toward = toward.map_or_else(|| Vector3::ith(direction.iamax(), 1.0), |d| d.into_inner());
    if direction.dot(&toward) < 0.0 { -direction } else { direction }
}
