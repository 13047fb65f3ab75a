//! How far a lever turns: the free angles about an axis, proved.

use crate::clearance::IndexedShape;
use crate::space::{Angle, Axis, Bounds, Pose, pose_of_turn};

use super::room::room_about;
use super::{AccessError, Bodies, free_intervals};

/// Farther off than this share of a radian's swing, all is alike.
const HORIZON_RAD: f64 = 0.5;

/// Which lever turns about what.
#[derive(Clone, Debug)]
pub struct SwingAsk<'a> {
    /// What may be in the way.
    pub bodies: &'a Bodies,
    /// Bodies taken off first, and the fastener itself.
    pub without: &'a [usize],
    /// The lever.
    pub lever: &'a IndexedShape,
    /// Where it stands at angle zero.
    pub world_from_lever: Pose,
    /// What it turns about, right-handed.
    pub axis: Axis,
    /// Least angle, radians.
    pub from_rad: f64,
    /// Greatest angle, radians, at most a full turn more.
    pub to_rad: f64,
    /// Gap that it must keep, mm.
    pub room_mm: f64,
    /// How closely the ends of an arc are found, radians.
    pub tolerance_rad: f64,
}

/// An arc over which the lever keeps its room: proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeArc {
    /// Least angle, radians.
    pub from_rad: f64,
    /// Greatest angle, radians; may exceed a full turn when the arc runs past where it began.
    pub to_rad: f64,
    /// The body that stops it at the least angle; none at the range's end.
    pub stopped_from: Option<usize>,
    /// The body that stops it at the greatest.
    pub stopped_to: Option<usize>,
}

impl FreeArc {
    /// How far the lever turns in it, radians.
    pub fn sweep_rad(&self) -> f64 {
        self.to_rad - self.from_rad
    }
}

/// All free arcs of a lever.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// In order of angle; none overlap. A full free turn is one arc of 2 pi.
    pub arcs: Vec<FreeArc>,
}

impl Swing {
    /// The widest arc.
    pub fn widest(&self) -> Option<&FreeArc> {
        self.arcs.iter().max_by(|a, b| a.sweep_rad().total_cmp(&b.sweep_rad()))
    }
}

/// The free arcs of a lever. Arcs narrower than the tolerance may be missed; none is called free
/// that is not.
///
/// # Errors
/// A number out of its range.
pub fn swing(ask: &SwingAsk<'_>) -> Result<Swing, AccessError> {
    let full = std::f64::consts::TAU;
    AccessError::in_range("the least angle, radians,", ask.from_rad, -100.0..=100.0, "-100 to 100")?;
    let range = ask.to_rad - ask.from_rad;
    AccessError::in_range("the range of angles, radians,", range, 0.0..=full + 1e-9, "0 to 2 pi")?;
    AccessError::in_range("the tolerance, radians,", ask.tolerance_rad, 1e-6..=0.1, "1e-6 to 0.1")?;
    AccessError::in_range("the room to keep, mm,", ask.room_mm, 0.0..=1000.0, "0 to 1000 mm")?;
    let speed_mm = lever_mm(&ask.lever.shape().bounds().moved(&ask.world_from_lever), &ask.axis);
    let limit_mm = ask.room_mm + speed_mm * HORIZON_RAD;
    let about = |angle_rad: f64| {
        let world_from_lever = pose_of_turn(&ask.axis, Angle::from_rad(angle_rad)) * ask.world_from_lever;
        room_about(ask.bodies, ask.without, ask.lever, &world_from_lever, limit_mm)
    };
    let free = free_intervals(ask.from_rad, ask.to_rad, speed_mm, ask.tolerance_rad, &mut |angle_rad| {
        about(angle_rad).gap_mm - ask.room_mm
    });
    let whole_turn = range >= full - 1e-9;
    let stop = |angle_rad: f64| about(angle_rad).nearest.map(|nearest| nearest.body);
    let mut arcs: Vec<FreeArc> = free
        .iter()
        .map(|found| FreeArc {
            from_rad: found.from,
            to_rad: found.to,
            stopped_from: if found.from > ask.from_rad { stop(found.from) } else { None },
            stopped_to: if found.to < ask.to_rad { stop(found.to) } else { None },
        })
        .collect();
    if whole_turn && arcs.len() > 1 {
        let (first, last) = (arcs[0], arcs[arcs.len() - 1]);
        if first.from_rad <= ask.from_rad && last.to_rad >= ask.to_rad {
            arcs.remove(0);
            if let Some(last) = arcs.last_mut() {
                last.to_rad = first.to_rad + full;
                last.stopped_to = first.stopped_to;
            }
        }
    }
    Ok(Swing { arcs })
}

/// The farthest that any point of a box is from an axis, mm: at a corner, since that distance is convex.
fn lever_mm(bounds: &Bounds, axis: &Axis) -> f64 {
    bounds.corners().iter().map(|corner| axis.distance(corner)).fold(0.0, f64::max)
}
