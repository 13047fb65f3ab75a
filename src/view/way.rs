//! What a service point was judged by, as lines over the picture: the hand's way as a tube of rings, a lever's arc as a
//! fan, lines of sight.

use nalgebra::{Point3, Unit, Vector3};

use crate::check::{Finding, Shown};

use super::camera::Camera;

/// Lines and their words, in pixels.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Way {
    /// Strong lines: middle line, rim, line of sight.
    pub strong: Vec<Vec<[f64; 2]>>,
    /// Thin ones: rings, rays.
    pub thin: Vec<Vec<[f64; 2]>>,
    /// Where the words point to.
    pub at: [f64; 2],
    pub words: String,
}

/// Rings of a corridor lie so far apart, in its radii.
const RING_STEP: f64 = 0.8;
/// No more rings than this.
const RINGS: usize = 40;
/// Corners of a ring.
const CORNERS: usize = 24;

/// All that a finding lets be drawn and that falls before the camera.
pub(super) fn ways(finding: &Finding, camera: &Camera) -> Vec<Way> {
    finding.shown.iter().filter_map(|shown| way(shown, camera)).collect()
}

fn way(shown: &Shown, camera: &Camera) -> Option<Way> {
    let seen = |line: &[Point3<f64>]| -> Vec<[f64; 2]> {
        fine(line).iter().filter_map(|at| camera.project(at)).collect()
    };
    let words = shown.words().to_owned();
    let (strong, thin, at) = match shown {
        Shown::Corridor { line, width_mm, .. } => {
            let thin = rings(line, 0.5 * width_mm).iter().map(|ring| seen(ring)).collect();
            // The words stand where the hand arrives, which is in the picture.
            (vec![seen(line)], thin, line.get(line.len().saturating_sub(2))?)
        }
        Shown::Fan { root, rim, .. } => {
            let rays = rim.iter().map(|end| seen(&[*root, *end])).collect();
            let edges = [rim.first(), rim.last()].into_iter().flatten().map(|end| seen(&[*root, *end]));
            let mut strong = vec![seen(rim)];
            strong.extend(edges);
            (strong, rays, rim.get(rim.len() / 2)?)
        }
        Shown::Sight { line, .. } => (vec![seen(line)], Vec::new(), line.last()?),
    };
    let at = camera.project(at)?;
    Some(Way { strong, thin, at, words })
}

/// Pieces of a line are no longer than this, mm, so that as much of it is drawn as lies before the eye.
const PIECE_MM: f64 = 20.0;

fn fine(line: &[Point3<f64>]) -> Vec<Point3<f64>> {
    let mut fine: Vec<Point3<f64>> = line.first().copied().into_iter().collect();
    for pair in line.windows(2) {
        let along = pair[1] - pair[0];
        let pieces = (along.norm() / PIECE_MM).ceil().clamp(1.0, 500.0) as usize;
        fine.extend((1..=pieces).map(|piece| pair[0] + along * (piece as f64 / pieces as f64)));
    }
    fine
}

/// Circles square to a line, evenly along it, with its ends.
fn rings(line: &[Point3<f64>], radius_mm: f64) -> Vec<Vec<Point3<f64>>> {
    let length: f64 = line.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
    if line.len() < 2 || radius_mm <= 0.0 || length <= 0.0 {
        return Vec::new();
    }
    let count = ((length / (RING_STEP * radius_mm)).ceil() as usize).clamp(1, RINGS);
    let step = length / count as f64;
    let (mut rings, mut gone, mut next) = (Vec::new(), 0.0, 0.0);
    for pair in line.windows(2) {
        let along = pair[1] - pair[0];
        let Some(out) = Unit::try_new(along, 1e-9) else { continue };
        while next <= gone + along.norm() + 1e-9 {
            rings.push(ring(&(pair[0] + out.into_inner() * (next - gone)), &out, radius_mm));
            next += step;
        }
        gone += along.norm();
    }
    rings
}

fn ring(middle: &Point3<f64>, along: &Unit<Vector3<f64>>, radius_mm: f64) -> Vec<Point3<f64>> {
    let x = along.cross(&Vector3::ith(along.iamin(), 1.0)).normalize();
    let y = along.cross(&x);
    (0..=CORNERS)
        .map(|corner| {
            let (sin, cos) = (std::f64::consts::TAU * corner as f64 / CORNERS as f64).sin_cos();
            middle + (x * cos + y * sin) * radius_mm
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_stand_square_to_the_way_and_as_far_from_it_as_they_should() {
        let line =
            [Point3::new(0.0, 0.0, 300.0), Point3::new(0.0, 0.0, 100.0), Point3::new(80.0, 0.0, 100.0)];
        let rings = rings(&line, 50.0);
        // 280 long, 40 apart: seven steps.
        assert_eq!(rings.len(), 8, "{}", rings.len());
        for (number, ring) in rings.iter().enumerate() {
            let gone = 40.0 * number as f64;
            let middle = if gone <= 200.0 {
                Point3::new(0.0, 0.0, 300.0 - gone)
            } else {
                Point3::new(gone - 200.0, 0.0, 100.0)
            };
            for corner in ring {
                assert!(((corner - middle).norm() - 50.0).abs() < 1e-9, "{number}: {corner}");
            }
        }
        assert!(rings.iter().take(5).flatten().zip([300.0; 25]).all(|(corner, z)| corner.z <= z));
        let fine = super::fine(&line);
        assert!(
            fine.first() == line.first() && fine.last() == line.last() && fine.len() == 15,
            "{}",
            fine.len()
        );
        assert!(fine.windows(2).all(|pair| (pair[1] - pair[0]).norm() <= PIECE_MM + 1e-9));
        assert!(super::rings(&line[..1], 50.0).is_empty() && super::rings(&line, 0.0).is_empty());
    }
}
