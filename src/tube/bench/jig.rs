//! Where a weld fixture should touch a tube.

use nalgebra::{Point3, Unit, Vector3};

use crate::solid::Leg;
use crate::tube::{BendList, LegPlace, TubeError};

/// What a jig's place is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JigUse {
    /// By an end of a straight: where a joint, or a bend that is welded on, is held while it is tacked.
    ByJoint,
    /// The middle of a straight: carries the tube.
    Middle,
}

/// A place where a jig holds the tube: under a straight, never on a bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JigPoint {
    /// The straight.
    pub place: LegPlace,
    /// What it is for.
    pub holds: JigUse,
    /// Along the centreline from the first end, mm.
    pub along_mm: f64,
    /// On the centreline there.
    pub center: Point3<f64>,
    /// On the tube's outside, as low as it gets; on a straight that stands upright, toward +x.
    pub touch: Point3<f64>,
    /// Out of the tube there: the jig's face looks the other way.
    pub normal: Unit<Vector3<f64>>,
    /// [`Self::touch`] in the tube's own frame: origin at its first end, x along it, z the first bend's axis.
    pub touch_in_tube: Point3<f64>,
    /// [`Self::normal`] in the tube's own frame.
    pub normal_in_tube: Unit<Vector3<f64>>,
}

/// A straight shorter than this (in diameters) is held once, in its middle.
const ONE_HOLD_OD: f64 = 3.0;
/// How far from its ends a longer straight is held, in diameters, so that a torch gets round the joint: `common
/// practice, no source`.
const BY_JOINT_OD: f64 = 0.75;

/// Points for a jig: the middle of each straight, and by both ends of a long one; `up` is away from the jig's table.
///
/// # Errors
/// A list that cannot be.
pub fn jig_points(
    list: &BendList,
    outside_mm: f64,
    up: &Unit<Vector3<f64>>,
) -> Result<Vec<JigPoint>, TubeError> {
    let mut points = Vec::new();
    let mut before_mm = 0.0;
    let tube_from_list = list.start.inverse();
    for (place, leg) in list.legs()? {
        let length = leg.length_mm();
        if let Leg::Straight { .. } = leg {
            let along = leg.tangent_at(0.0).into_inner();
            let down = -(up.into_inner() - along * along.dot(up));
            let sideways = Vector3::x() - along * along.x;
            let out = down.try_normalize(1e-6).or_else(|| sideways.try_normalize(1e-6));
            let normal = Unit::new_normalize(out.unwrap_or_else(Vector3::y));
            let by = BY_JOINT_OD * outside_mm;
            let middle = (length / 2.0, JigUse::Middle);
            let holds = if length < ONE_HOLD_OD * outside_mm {
                vec![middle]
            } else {
                vec![(by, JigUse::ByJoint), middle, (length - by, JigUse::ByJoint)]
            };
            points.extend(holds.into_iter().map(|(at, holds)| {
                let center = leg.point_at(at);
                let touch = center + normal.into_inner() * (outside_mm / 2.0);
                JigPoint {
                    place,
                    holds,
                    along_mm: before_mm + at,
                    center,
                    touch,
                    normal,
                    touch_in_tube: tube_from_list * touch,
                    normal_in_tube: tube_from_list * normal,
                }
            }));
        }
        before_mm += length;
    }
    Ok(points)
}
