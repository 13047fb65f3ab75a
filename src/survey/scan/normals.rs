//! Which way the surface faces at each point: the direction of least spread of its neighbours.

use nalgebra::{Matrix3, Point3, Vector3};
use rayon::prelude::*;

use super::ScanError;
use super::least_spread::least_spread;
use super::tree::{Following, Neighbour, PointTree};

/// Points of one task: near each other, for the cache's sake.
const TASK: usize = 1024;

/// How normals are estimated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NormalOptions {
    /// Neighbours that count, the point itself among them.
    pub neighbours: usize,
    /// How far a neighbour may be, mm.
    pub within_mm: f64,
}

impl Default for NormalOptions {
    fn default() -> Self {
        NormalOptions { neighbours: 16, within_mm: f64::INFINITY }
    }
}

/// Normals, and how far neighbours lie off the plane through them.
#[derive(Clone, Debug, PartialEq)]
pub struct Normals {
    /// One a point, its sign open (its greatest component is positive); zero where the neighbours lie on a
    /// line or are fewer than three.
    pub normals: Vec<Vector3<f64>>,
    /// Standard deviation of the neighbours along the normal, one a point, mm; infinite where there is no normal.
    pub off_plane_mm: Vec<f64>,
    /// How far each point itself lies from that plane, along its normal, mm; 0 where there is no normal.
    pub above_mm: Vec<f64>,
}

impl Normals {
    /// Median of [`Self::off_plane_mm`]: about the scatter of the scan, since most of a bay is flat at
    /// the scale of a few points. `None` without normals.
    pub fn scatter_mm(&self) -> Option<f64> {
        let mut known: Vec<f64> = self.off_plane_mm.iter().copied().filter(|off| off.is_finite()).collect();
        if known.is_empty() {
            return None;
        }
        let middle = known.len() / 2;
        Some(*known.select_nth_unstable_by(middle, f64::total_cmp).1)
    }
}

/// The direction of least spread of each point's nearest neighbours.
///
/// # Errors
/// [`ScanError`]: fewer than three points or neighbours.
///
/// # Source
/// Hoppe, DeRose, Duchamp, McDonald and Stuetzle, SIGGRAPH (1992) 71-78, section 3.1.
pub fn estimate_normals(
    points: &[Point3<f64>],
    tree: &PointTree,
    options: &NormalOptions,
) -> Result<Normals, ScanError> {
    let given = points.len().min(options.neighbours);
    if given < 3 {
        let cure = "take more neighbours, or a larger scan";
        return Err(ScanError::TooFew { what: "a normal", least: 3, given, cure });
    }
    let order: Vec<u32> = tree.order().collect();
    let found: Vec<Vec<Facing>> = order
        .par_chunks(TASK)
        .map(|chunk| {
            let mut near = Following::new(tree, options.neighbours, options.within_mm);
            chunk
                .iter()
                .map(|&index| {
                    let at = &points[index as usize];
                    near.ask(at);
                    facing(points, at, &near.found)
                })
                .collect()
        })
        .collect();
    let mut all = Normals {
        normals: vec![Vector3::zeros(); points.len()],
        off_plane_mm: vec![f64::INFINITY; points.len()],
        above_mm: vec![0.0; points.len()],
    };
    for (&index, own) in order.iter().zip(found.into_iter().flatten()) {
        let index = index as usize;
        all.normals[index] = own.normal;
        all.off_plane_mm[index] = own.off_plane_mm;
        all.above_mm[index] = own.above_mm;
    }
    Ok(all)
}

/// What one point's neighbours say.
struct Facing {
    normal: Vector3<f64>,
    off_plane_mm: f64,
    above_mm: f64,
}

fn facing(points: &[Point3<f64>], at: &Point3<f64>, neighbours: &[Neighbour]) -> Facing {
    let none = Facing { normal: Vector3::zeros(), off_plane_mm: f64::INFINITY, above_mm: 0.0 };
    if neighbours.len() < 3 {
        return none;
    }
    let count = neighbours.len() as f64;
    let (mut sum, mut squares) = (Vector3::zeros(), Matrix3::zeros());
    for neighbour in neighbours {
        // From the point itself: differences keep their digits.
        let q = points[neighbour.index as usize] - at;
        sum += q;
        squares += q * q.transpose();
    }
    let mean = sum / count;
    let spread = squares / count - mean * mean.transpose();
    match least_spread(&spread) {
        Some((normal, variance)) => Facing {
            normal,
            off_plane_mm: (variance * count / (count - 1.0)).sqrt(),
            above_mm: -mean.dot(&normal),
        },
        None => none,
    }
}
