//! Which reading lies on which face of a box. Faces count from 0: -x, +x, -y, +y, -z, +z.

use nalgebra::{Point3, UnitQuaternion, Vector3};

use super::Reading;

/// Faces of each reading.
pub(super) type Faces = Vec<Vec<usize>>;

/// Attitudes followed to their minimum.
const FOLLOWED: usize = 8;

/// How far out along a face's normal a place lies, in box axes.
pub(super) fn outward(face: usize, y: &Vector3<f64>) -> f64 {
    if face.is_multiple_of(2) { -y[face / 2] } else { y[face / 2] }
}

/// Faces of each reading, and the outward place of each face, for an attitude. Unnamed readings go
/// to the nearest face: of `places`, or of the least box that holds all readings.
pub(super) fn assign(
    readings: &[Reading],
    middle: &Point3<f64>,
    named: &[Option<Vec<usize>>],
    turn: &UnitQuaternion<f64>,
    places: Option<&[f64; 6]>,
) -> (Faces, [f64; 6]) {
    let back = turn.inverse();
    let inside: Vec<Vector3<f64>> = readings.iter().map(|r| back * (r.point - middle)).collect();
    let places = places.copied().unwrap_or_else(|| held(&inside));
    let faces = inside
        .iter()
        .zip(named)
        .map(|(y, named)| named.clone().unwrap_or_else(|| vec![nearest(y, &places)]))
        .collect();
    (faces, places)
}

/// Outward place of each face of the least box that holds all.
fn held(inside: &[Vector3<f64>]) -> [f64; 6] {
    std::array::from_fn(|face| inside.iter().map(|y| outward(face, y)).fold(f64::NEG_INFINITY, f64::max))
}

/// The face nearest to a place.
fn nearest(y: &Vector3<f64>, places: &[f64; 6]) -> usize {
    let off = |face: usize| (outward(face, y) - places[face]).abs();
    (1..6).fold(0, |best, face| if off(face) < off(best) { face } else { best })
}

/// Attitudes to start from, the most promising first: those in which the readings lie nearest to
/// the faces of the least box that holds them. Within 45 degrees of the readings' axes about z, 30 about x and y.
pub(super) fn attitudes(
    readings: &[Reading],
    middle: &Point3<f64>,
    named: &[Option<Vec<usize>>],
) -> Vec<UnitQuaternion<f64>> {
    let mut found: Vec<(f64, usize, UnitQuaternion<f64>)> = Vec::new();
    for yaw in -9..9 {
        for pitch in -3..=3 {
            for roll in -3..=3 {
                let turn = UnitQuaternion::from_euler_angles(
                    (10.0 * f64::from(roll)).to_radians(),
                    (10.0 * f64::from(pitch)).to_radians(),
                    (5.0 * f64::from(yaw)).to_radians(),
                );
                found.push((cost(readings, middle, named, &turn), found.len(), turn));
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut chosen: Vec<UnitQuaternion<f64>> = Vec::new();
    for (_, _, turn) in found {
        if chosen.len() < FOLLOWED && chosen.iter().all(|other| other.angle_to(&turn) > 0.1) {
            chosen.push(turn);
        }
    }
    chosen
}

/// Sum of squared distances to the faces, each face standing at the mean of its readings.
fn cost(
    readings: &[Reading],
    middle: &Point3<f64>,
    named: &[Option<Vec<usize>>],
    turn: &UnitQuaternion<f64>,
) -> f64 {
    let back = turn.inverse();
    let inside: Vec<Vector3<f64>> = readings.iter().map(|r| back * (r.point - middle)).collect();
    let held = held(&inside);
    let (mut sum, mut squares, mut count) = ([0.0; 6], [0.0; 6], [0.0f64; 6]);
    for (y, named) in inside.iter().zip(named) {
        let nearest = [nearest(y, &held)];
        for &face in named.as_deref().unwrap_or(&nearest) {
            let place = outward(face, y);
            sum[face] += place;
            squares[face] += place * place;
            count[face] += 1.0;
        }
    }
    (0..6).map(|face| squares[face] - sum[face] * sum[face] / count[face].max(1.0)).sum()
}
