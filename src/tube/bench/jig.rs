//! Where a weld fixture should touch a tube.

use nalgebra::{Point3, Unit, Vector3};

use crate::solid::Leg;
use crate::tube::{BendList, LegPlace, TubeError};

/// A place where a jig holds the tube: under a straight, never on a bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JigPoint {
    /// The straight.
    pub place: LegPlace,
    /// Along the centreline from the first end, mm.
    pub along_mm: f64,
    /// On the centreline there.
    pub center: Point3<f64>,
    /// On the tube's outside, as low as it gets; on a straight that stands upright, toward +x.
    pub touch: Point3<f64>,
}

/// A straight shorter than this (in diameters) is held once, in its middle.
const ONE_HOLD_OD: f64 = 3.0;
/// How far from its ends a longer straight is held, as a share of it: `common practice, no source`.
const HOLD_SHARE: f64 = 0.2;

/// Points for a jig: two on each straight, one on a short one; `up` is away from the jig's table.
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
    for (place, leg) in list.legs()? {
        let length = leg.length_mm();
        if let Leg::Straight { .. } = leg {
            let along = leg.tangent_at(0.0).into_inner();
            let down = -(up.into_inner() - along * along.dot(up));
            let sideways = Vector3::x() - along * along.x;
            let out = down.try_normalize(1e-6).or_else(|| sideways.try_normalize(1e-6));
            let out = out.unwrap_or_else(Vector3::y);
            let shares: &[f64] =
                if length < ONE_HOLD_OD * outside_mm { &[0.5] } else { &[HOLD_SHARE, 1.0 - HOLD_SHARE] };
            points.extend(shares.iter().map(|share| {
                let center = leg.point_at(share * length);
                JigPoint {
                    place,
                    along_mm: before_mm + share * length,
                    center,
                    touch: center + out * (outside_mm / 2.0),
                }
            }));
        }
        before_mm += length;
    }
    Ok(points)
}
