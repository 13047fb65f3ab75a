//! The bend list: how far to feed, how far to roll, how far to bend.

use std::f64::consts::{PI, TAU};

use nalgebra::{Isometry3, Matrix3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};

use super::{CornerLine, LegPlace, TubeError};
use crate::solid::{Bend, Centreline, Leg, TubePlace};
use crate::space::Pose;

/// Over this angle a bend is told as two corners: one corner's setback grows without end toward 180 deg.
const TWO_CORNERS_RAD: f64 = 150.0 * PI / 180.0;
/// Under this (mm, rad) a straight or a rotation between two bends is none at all.
pub(super) const NONE: f64 = 1e-8;
/// A straight this much under zero is rounding.
const ROUNDING_MM: f64 = 1e-9;

/// One bend and the straight before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ListedBend {
    /// Straight before the bend, between tangent points, mm; zero or more.
    pub straight_mm: f64,
    /// Turn of the plane of bending since the last bend, rad, right-handed about the direction of feed.
    /// For the first bend: since the z axis of [`BendList::start`].
    pub rotation_rad: f64,
    /// How far the tube bends, rad, over 0 to pi.
    pub angle_rad: f64,
    /// Radius of the centreline, mm.
    pub radius_mm: f64,
}

impl ListedBend {
    /// From tangent point to theoretical corner, mm: R tan(A/2). Without end at half a turn.
    pub fn setback_mm(&self) -> f64 {
        self.radius_mm * (self.angle_rad / 2.0).tan()
    }

    /// Length of the centreline in the bend, mm: R A.
    pub fn arc_mm(&self) -> f64 {
        self.radius_mm * self.angle_rad
    }
}

/// A tube's centreline as a bender needs it.
///
/// It starts at the origin of `start` along its x axis; a bend without rotation turns about `start`'s z
/// axis, right-handed (the normal of a bend is incoming direction x outgoing direction).
///
/// # Example
/// One right angle of 76.2 mm radius; the cut length is 123.8 + 76.2 pi/2 + 73.8.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::tube::{BendList, ListedBend};
/// use baywright::space::Pose;
/// let bend = ListedBend { straight_mm: 123.8, rotation_rad: 0.0, angle_rad: 1.5707963267948966, radius_mm: 76.2 };
/// let list = BendList { start: Pose::identity(), bends: vec![bend], last_straight_mm: 73.8 };
/// assert!((list.length_mm() - 317.2946801).abs() < 1e-6);
/// let corners = list.corners().unwrap();
/// assert!((corners.points[1].x - 200.0).abs() < 1e-9);
/// assert!((corners.points[2].y - 150.0).abs() < 1e-9);
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct BendList {
    /// Where the first end stands and heads.
    pub start: Pose,
    /// Bends in order.
    pub bends: Vec<ListedBend>,
    /// Straight after the last bend (or the whole tube when there is none), mm.
    pub last_straight_mm: f64,
}

/// Rotation matrix whose columns are the moving axes while a list is walked.
struct Walk {
    at: Point3<f64>,
    axes: Rotation3<f64>,
}

impl Walk {
    fn of(start: &Pose) -> Self {
        Walk { at: start.translation.vector.into(), axes: start.rotation.to_rotation_matrix() }
    }

    fn axis(&self, index: usize) -> Vector3<f64> {
        self.axes.matrix().column(index).into_owned()
    }

    fn feed(&mut self, mm: f64) {
        self.at += self.axis(0) * mm;
    }

    fn roll(&mut self, rad: f64) {
        self.axes *= Rotation3::from_axis_angle(&Vector3::x_axis(), rad);
    }

    fn bend(&mut self, rad: f64) {
        self.axes *= Rotation3::from_axis_angle(&Vector3::z_axis(), rad);
    }
}

impl BendList {
    /// Whether all figures can be.
    ///
    /// # Errors
    /// [`TubeError`] for the first that cannot, with its place and what would do.
    pub fn check(&self) -> Result<(), TubeError> {
        let figure = |what, place, value: f64, wanted, fine: bool| {
            if value.is_finite() && fine {
                Ok(())
            } else {
                Err(TubeError::Figure { what, place, value, wanted })
            }
        };
        for (index, bend) in self.bends.iter().enumerate() {
            let place = TubePlace::Bend(index + 1);
            let straight = bend.straight_mm;
            figure("the straight before", place, straight, "zero or more, and finite", straight >= 0.0)?;
            figure("the rotation", place, bend.rotation_rad, "finite", true)?;
            figure("the angle", place, bend.angle_rad, "finite", true)?;
            figure("the radius", place, bend.radius_mm, "over zero, and finite", bend.radius_mm > 0.0)?;
            let angle_deg = bend.angle_rad.to_degrees();
            if bend.angle_rad.abs() < 1e-9 {
                return Err(TubeError::ZeroAngle { place });
            }
            if bend.angle_rad < 0.0 {
                return Err(TubeError::NegativeAngle { place, angle_deg });
            }
            if bend.angle_rad > PI + 1e-9 {
                return Err(TubeError::AngleTooGreat { place, angle_deg });
            }
        }
        let last = self.last_straight_mm;
        figure("the last straight", TubePlace::End, last, "zero or more, and finite", last >= 0.0)?;
        if self.length_mm() <= 0.0 {
            return Err(TubeError::Figure {
                what: "the length",
                place: TubePlace::End,
                value: self.length_mm(),
                wanted: "over zero",
            });
        }
        Ok(())
    }

    /// Developed length of the centreline, mm: straights and arcs.
    pub fn length_mm(&self) -> f64 {
        self.bends.iter().map(|bend| bend.straight_mm + bend.arc_mm()).sum::<f64>() + self.last_straight_mm
    }

    /// Where the last end stands and heads: x along the tube, z as the last bend left it.
    pub fn end(&self) -> Pose {
        let mut walk = Walk::of(&self.start);
        for bend in &self.bends {
            walk.feed(bend.straight_mm);
            walk.roll(bend.rotation_rad);
            let center = walk.at + walk.axis(1) * bend.radius_mm;
            walk.bend(bend.angle_rad);
            walk.at = center - walk.axis(1) * bend.radius_mm;
        }
        walk.feed(self.last_straight_mm);
        Isometry3::from_parts(walk.at.into(), UnitQuaternion::from_rotation_matrix(&walk.axes))
    }

    /// The legs in space. Straights of no length are left out.
    ///
    /// # Errors
    /// As [`Self::check`].
    pub fn centreline(&self) -> Result<Centreline, TubeError> {
        Ok(Centreline { legs: self.legs()?.into_iter().map(|(_, leg)| leg).collect() })
    }

    /// The legs in space with the place of each. Straights of no length are left out.
    ///
    /// # Errors
    /// As [`Self::check`].
    pub fn legs(&self) -> Result<Vec<(LegPlace, Leg)>, TubeError> {
        self.check()?;
        let mut walk = Walk::of(&self.start);
        let mut legs = Vec::new();
        let straight = |walk: &mut Walk, mm: f64, after: usize, legs: &mut Vec<_>| {
            let from = walk.at;
            walk.feed(mm);
            if mm > ROUNDING_MM {
                legs.push((LegPlace::Straight(after), Leg::Straight { from, to: walk.at }));
            }
        };
        for (index, bend) in self.bends.iter().enumerate() {
            straight(&mut walk, bend.straight_mm, index, &mut legs);
            walk.roll(bend.rotation_rad);
            let center = walk.at + walk.axis(1) * bend.radius_mm;
            legs.push((
                LegPlace::Bend(index + 1),
                Leg::Bend(Bend {
                    center,
                    axis: Unit::new_normalize(walk.axis(2)),
                    start: Unit::new_normalize(-walk.axis(1)),
                    radius_mm: bend.radius_mm,
                    sweep_rad: bend.angle_rad,
                }),
            ));
            walk.bend(bend.angle_rad);
            walk.at = center - walk.axis(1) * bend.radius_mm;
        }
        straight(&mut walk, self.last_straight_mm, self.bends.len(), &mut legs);
        Ok(legs)
    }

    /// The same tube by ends, theoretical corners and radii. A bend of more than 150 deg becomes two
    /// corners with no straight between them; [`CornerLine::bend_list`] makes them one again.
    ///
    /// # Errors
    /// As [`Self::check`].
    pub fn corners(&self) -> Result<CornerLine, TubeError> {
        self.check()?;
        let mut walk = Walk::of(&self.start);
        let mut points = vec![walk.at];
        let mut radii_mm = Vec::new();
        for bend in &self.bends {
            walk.feed(bend.straight_mm);
            walk.roll(bend.rotation_rad);
            let parts = if bend.angle_rad > TWO_CORNERS_RAD { 2 } else { 1 };
            let angle = bend.angle_rad / f64::from(parts);
            let setback = bend.radius_mm * (angle / 2.0).tan();
            for _ in 0..parts {
                walk.feed(setback);
                points.push(walk.at);
                radii_mm.push(bend.radius_mm);
                walk.bend(angle);
                walk.feed(setback);
            }
        }
        walk.feed(self.last_straight_mm);
        points.push(walk.at);
        Ok(CornerLine { points, radii_mm })
    }

    /// The same tube told in the one way that others can be compared with: the first rotation is in
    /// `start`, rotations are over -180 to 180 deg, and bends that follow each other in one plane and
    /// radius without a straight are one.
    pub fn canonical(&self) -> BendList {
        let mut out = BendList { bends: Vec::with_capacity(self.bends.len()), ..self.clone() };
        for bend in &self.bends {
            let mut bend = *bend;
            bend.rotation_rad = turn_in_range(bend.rotation_rad);
            if let Some(last) = out.bends.last_mut() {
                let joins = bend.straight_mm <= NONE
                    && bend.rotation_rad.abs() <= NONE
                    && (last.radius_mm - bend.radius_mm).abs() <= NONE
                    && last.angle_rad + bend.angle_rad <= PI + NONE;
                if joins {
                    last.angle_rad += bend.angle_rad;
                    continue;
                }
            } else {
                let turn = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), bend.rotation_rad);
                out.start.rotation *= turn;
                bend.rotation_rad = 0.0;
            }
            out.bends.push(bend);
        }
        out
    }

    /// The same tube in another frame.
    pub fn moved(&self, to_from_here: &Pose) -> BendList {
        BendList { start: to_from_here * self.start, ..self.clone() }
    }

    /// The same tube bent from its other end.
    pub fn reversed(&self) -> BendList {
        let end = self.end();
        // Heading back, with the last bend's normal turned over: bends keep turning right-handed.
        let turn = UnitQuaternion::from_axis_angle(&Vector3::y_axis(), PI);
        let start = Isometry3::from_parts(end.translation, end.rotation * turn);
        let count = self.bends.len();
        let straight = |index: usize| {
            if index == count { self.last_straight_mm } else { self.bends[index].straight_mm }
        };
        let bends = (0..count)
            .rev()
            .map(|index| ListedBend {
                straight_mm: straight(index + 1),
                rotation_rad: if index + 1 == count { 0.0 } else { self.bends[index + 1].rotation_rad },
                ..self.bends[index]
            })
            .collect();
        BendList { start, bends, last_straight_mm: straight(0) }
    }
}

/// An angle over -pi to pi; what is within rounding of -pi becomes pi.
pub(super) fn turn_in_range(rad: f64) -> f64 {
    let turn = rad - TAU * (rad / TAU).round();
    if turn < -PI + 1e-12 { turn + TAU } else { turn }
}

/// The frame at a point that heads along x with z as its normal.
pub(super) fn frame(at: &Point3<f64>, along: &Vector3<f64>, normal: &Vector3<f64>) -> Pose {
    let across = normal.cross(along);
    let axes = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[*along, across, *normal]));
    Isometry3::from_parts(Translation3::from(at.coords), UnitQuaternion::from_rotation_matrix(&axes))
}
