//! Whether a tube runs into itself, and whether its ends look where they must.

use nalgebra::{Unit, Vector3};

use super::{BendList, LegPlace, TubeError};
use crate::clearance::{IndexedShape, gap};
use crate::solid::{Leg, Piece, TubePlace};
use crate::space::{Bounds, Pose};

/// Overlap under this (mm) is rounding: a 180 deg bend of half the diameter touches itself and may.
const TOUCH_MM: f64 = 1e-6;

fn piece(leg: &Leg, radius_mm: f64) -> Piece {
    match leg {
        Leg::Straight { from, to } => {
            Piece::Frustum { from: *from, to: *to, from_radius_mm: radius_mm, to_radius_mm: radius_mm }
        }
        Leg::Bend(bend) => Piece::Arc {
            center: bend.center,
            axis: bend.axis,
            start: bend.start,
            ring_radius_mm: bend.radius_mm,
            tube_radius_mm: radius_mm,
            sweep_rad: bend.sweep_rad,
        },
    }
}

impl BendList {
    /// Whether a tube of this centreline and outside diameter (wrap included) can be at all: every bend
    /// is at least as wide as half the tube, and the tube does not run into itself.
    ///
    /// Neighbouring legs never overlap once the radii are wide enough, so pairs further apart are
    /// looked at: quadratic in the number of bends.
    ///
    /// # Errors
    /// [`TubeError::RadiusUnderHalf`] and [`TubeError::SelfCrossing`], besides those of [`Self::check`].
    pub fn check_body(&self, outside_mm: f64) -> Result<(), TubeError> {
        let legs = self.legs()?;
        for (index, bend) in self.bends.iter().enumerate() {
            let least_mm = outside_mm / 2.0;
            if bend.radius_mm < least_mm {
                return Err(TubeError::RadiusUnderHalf {
                    place: TubePlace::Bend(index + 1),
                    radius_mm: bend.radius_mm,
                    outside_mm,
                    least_mm,
                });
            }
        }
        let radius_mm = outside_mm / 2.0;
        let bounds: Vec<Bounds> = legs.iter().map(|(_, leg)| bounds(leg, radius_mm)).collect();
        let indexed: Vec<IndexedShape> =
            legs.iter().map(|(_, leg)| IndexedShape::of_pieces(&[piece(leg, radius_mm)])).collect();
        for one in 0..legs.len() {
            for other in one + 2..legs.len() {
                if !meet(&bounds[one], &bounds[other]) {
                    continue;
                }
                let found = gap(&indexed[one], &indexed[other], &Pose::identity());
                let depth_mm = -found.gap.mm();
                if depth_mm > TOUCH_MM {
                    let at = nalgebra::center(&found.witness.on_fixed, &found.witness.on_moving);
                    let place = |index: usize| -> LegPlace { legs[index].0 };
                    return Err(TubeError::SelfCrossing {
                        one: place(one),
                        other: place(other),
                        depth_mm,
                        x_mm: at.x,
                        y_mm: at.y,
                        z_mm: at.z,
                    });
                }
            }
        }
        Ok(())
    }

    /// Whether the tube's ends run along the axes of what they meet, within an angle that the joints take.
    ///
    /// `start_axis` is the way out of the first port, into the tube; `end_axis` the way into the last port,
    /// out of the tube; `None` for an end that meets nothing.
    ///
    /// # Errors
    /// [`TubeError::EndFacesAway`] names the end and the angle.
    pub fn check_ends(
        &self,
        start_axis: Option<&Unit<Vector3<f64>>>,
        end_axis: Option<&Unit<Vector3<f64>>>,
        allowed_rad: f64,
    ) -> Result<(), TubeError> {
        let heads = [
            (TubePlace::Start, start_axis, self.start * Vector3::x()),
            (TubePlace::End, end_axis, self.end() * Vector3::x()),
        ];
        for (end, axis, head) in heads {
            let Some(axis) = axis else { continue };
            let off_rad = head.cross(axis).norm().atan2(head.dot(axis));
            if off_rad > allowed_rad + 1e-9 {
                return Err(TubeError::EndFacesAway { end, off_deg: off_rad.to_degrees() });
            }
        }
        Ok(())
    }
}

/// A box round a leg; for a bend the box of its corners' triangle, which holds the arc.
fn bounds(leg: &Leg, radius_mm: f64) -> Bounds {
    let mut points = vec![leg.point_at(0.0), leg.point_at(leg.length_mm())];
    if let Leg::Bend(bend) = leg {
        // Half a turn and less lies within the square of its radius about the arc.
        let out = bend.radius_at(bend.sweep_rad / 2.0).into_inner() * bend.radius_mm;
        points.extend(points.clone().iter().map(|point| point + out));
        points.push(bend.point_at(bend.sweep_rad / 2.0));
    }
    Bounds::of_points(&points).grown(radius_mm)
}

fn meet(one: &Bounds, other: &Bounds) -> bool {
    (0..3).all(|axis| one.min[axis] <= other.max[axis] && other.min[axis] <= one.max[axis])
}
