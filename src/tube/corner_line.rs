//! A tube by its ends, theoretical corners and radii.

use nalgebra::{Point3, Vector3};

use super::bend_list::frame;
use super::{BendList, ListedBend, TubeError};
use crate::solid::Tube;
use crate::space::Pose;

/// Under this turn (rad) a corner is straight, as in [`Tube`].
const STRAIGHT_RAD: f64 = 1e-9;

/// Ends and theoretical corners of the centreline, with a radius for each corner between the ends.
#[derive(Clone, Debug, PartialEq)]
pub struct CornerLine {
    /// Ends and corners, mm.
    pub points: Vec<Point3<f64>>,
    /// Centreline radius at each corner between the ends, mm.
    pub radii_mm: Vec<f64>,
}

/// Some unit vector across a unit vector: away from the axis it lies least along.
pub(super) fn across(along: &Vector3<f64>) -> Vector3<f64> {
    let mut least = Vector3::zeros();
    least[along.iamin()] = 1.0;
    (least - along * along.dot(&least)).normalize()
}

impl CornerLine {
    /// The same tube as a bend list in the canonical form: see [`BendList::canonical`]. Corners that do
    /// not turn vanish. A straight tube's z axis is any direction across it.
    ///
    /// Small bends tell their plane poorly: a bend of a degree turns a rounding of the corners sixty
    /// times larger into rotation.
    ///
    /// # Errors
    /// [`TubeError::Corners`] names the leg or corner, and the radius that would fit.
    pub fn bend_list(&self) -> Result<BendList, TubeError> {
        // The shape knows every way in which corners fail to make a tube, whatever its thickness.
        self.tube(f64::MIN_POSITIVE, None).centreline()?;
        let inner = |index: usize| index > 0 && index + 1 < self.points.len();
        let kept: Vec<usize> = (0..self.points.len())
            .filter(|&index| !inner(index) || self.turn_rad(index) > STRAIGHT_RAD)
            .collect();
        let point = |at: usize| self.points[kept[at]];
        let count = kept.len() - 2;
        let along: Vec<Vector3<f64>> =
            (0..=count).map(|leg| (point(leg + 1) - point(leg)).normalize()).collect();
        let turn = |bend: usize| along[bend].cross(&along[bend + 1]);
        let angle = |bend: usize| turn(bend).norm().atan2(along[bend].dot(&along[bend + 1]));
        let radius = |bend: usize| self.radii_mm[kept[bend + 1] - 1];
        let setback = |bend: usize| radius(bend) * (angle(bend) / 2.0).tan();
        let straight = |leg: usize| {
            let before = if leg > 0 { setback(leg - 1) } else { 0.0 };
            let after = if leg < count { setback(leg) } else { 0.0 };
            // Not under zero by rounding: the shape has refused what truly is.
            ((point(leg + 1) - point(leg)).norm() - before - after).max(0.0)
        };
        let normals: Vec<Vector3<f64>> = (0..count).map(|bend| turn(bend).normalize()).collect();
        let bends = (0..count)
            .map(|bend| {
                let rotation_rad = if bend == 0 {
                    0.0
                } else {
                    let (last, this) = (&normals[bend - 1], &normals[bend]);
                    along[bend].dot(&last.cross(this)).atan2(last.dot(this))
                };
                ListedBend {
                    straight_mm: straight(bend),
                    rotation_rad,
                    angle_rad: angle(bend),
                    radius_mm: radius(bend),
                }
            })
            .collect();
        let normal = normals.first().copied().unwrap_or_else(|| across(&along[0]));
        let start = frame(&point(0), &along[0], &normal);
        Ok(BendList { start, bends, last_straight_mm: straight(count) }.canonical())
    }

    /// The solid of a round tube on this line; a wall of `None` makes a bar.
    pub fn tube(&self, outside_radius_mm: f64, wall_mm: Option<f64>) -> Tube {
        Tube {
            corners: self.points.clone(),
            bend_radii_mm: self.radii_mm.clone(),
            radius_mm: outside_radius_mm,
            wall_mm,
        }
    }

    /// The line of a solid tube.
    pub fn of_tube(tube: &Tube) -> Self {
        CornerLine { points: tube.corners.clone(), radii_mm: tube.bend_radii_mm.clone() }
    }

    /// The same tube in another frame.
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        CornerLine {
            points: self.points.iter().map(|point| to_from_here * point).collect(),
            radii_mm: self.radii_mm.clone(),
        }
    }

    fn turn_rad(&self, index: usize) -> f64 {
        let (before, after) =
            (self.points[index] - self.points[index - 1], self.points[index + 1] - self.points[index]);
        before.cross(&after).norm().atan2(before.dot(&after))
    }
}
