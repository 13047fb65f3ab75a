//! Whether an arm is long enough: the shortest way that is wide enough.

use nalgebra::Point3;

use super::corridor::length_mm;
use super::outside::axis_of;
use super::{AccessError, CorridorPoint, CorridorSearch};
use crate::space::Direction;

/// Whether an arm reaches.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reaches {
    /// There is a way no longer than the arm, wide enough all along: proved.
    Yes,
    /// The point is farther from the shoulder than the arm is long: proved.
    No,
    /// No way was found that is wide enough, or the shortest one found is longer than the arm; a shorter one was not
    /// ruled out.
    NotProved,
}

/// The shortest way found from a shoulder to a point, wide enough all along.
#[derive(Clone, Debug, PartialEq)]
pub struct Reach {
    /// Whether the arm reaches.
    pub reaches: Reaches,
    /// No way is shorter, mm: the straight line from shoulder to point.
    pub straight_mm: f64,
    /// Length of the way found, shoulder to entry to point, mm; none when there is none.
    pub length_mm: Option<f64>,
    /// From the entry to where the ball touches the point. It is pulled taut; its width is proved.
    pub path: Vec<CorridorPoint>,
}

impl CorridorSearch<'_> {
    /// Whether an arm from `shoulder` reaches the point through a corridor `width_mm` wide.
    ///
    /// The way counts from the shoulder straight to the entry in an open side that faces it, along
    /// the corridor, and on to the point itself. Beyond the open side nothing is in the way. The
    /// arm bends freely: an elbow's own length is not considered.
    ///
    /// # Errors
    /// A number out of its range; no open side that faces the shoulder.
    pub fn reach(
        &mut self,
        shoulder: &Point3<f64>,
        arm_mm: f64,
        width_mm: f64,
    ) -> Result<Reach, AccessError> {
        AccessError::finite_point("a coordinate of the shoulder", shoulder)?;
        AccessError::in_range("the arm's length, mm,", arm_mm, 1.0..=1e5, "1 mm to 100 m")?;
        AccessError::in_range(
            "the width asked for, mm,",
            width_mm,
            0.1..=self.ask.cap_mm,
            "0.1 mm to the cap",
        )?;
        let outside = self.ask.outside.clone();
        let sides = outside.facing(shoulder);
        if sides.is_empty() {
            return Err(AccessError::ShoulderBehind { x: shoulder.x, y: shoulder.y, z: shoulder.z });
        }
        let target = self.ask.target;
        let straight_mm = (target - shoulder).norm();
        if let Some(reach) = self.straight_reach(shoulder, &sides, arm_mm, width_mm) {
            return Ok(reach);
        }
        let bay = outside.bay;
        // Toward the shoulder, the entry slides on its own side of the bay.
        let slide = |entry: &Point3<f64>, next: &Point3<f64>| {
            for side in &sides {
                let (axis, at_max) = axis_of(*side);
                let plane = if at_max { bay.max[axis] } else { bay.min[axis] };
                let run = next[axis] - shoulder[axis];
                if entry[axis] == plane && run != 0.0 {
                    let share = ((plane - shoulder[axis]) / run).clamp(0.0, 1.0);
                    let mut slid = bay.nearest(&(shoulder + (next - shoulder) * share));
                    slid[axis] = plane;
                    return slid;
                }
            }
            *entry
        };
        let way = self.taut_way(0.5 * width_mm, &sides, &|out| (out - shoulder).norm(), &slide);
        let Some(path) = way else {
            let reaches = if straight_mm > arm_mm { Reaches::No } else { Reaches::NotProved };
            return Ok(Reach { reaches, straight_mm, length_mm: None, path: Vec::new() });
        };
        let way_mm =
            length_mm(std::iter::once(shoulder).chain(path.iter().map(|point| &point.at)).chain([&target]));
        let reaches = if straight_mm > arm_mm {
            Reaches::No
        } else if way_mm <= arm_mm {
            Reaches::Yes
        } else {
            Reaches::NotProved
        };
        Ok(Reach { reaches, straight_mm, length_mm: Some(way_mm), path })
    }

    /// Straight from the shoulder to the point, where that is proved to be wide enough and nothing stands between the end of
    /// the ball's way and the point: no way is shorter.
    pub(in crate::access) fn straight_reach(
        &mut self,
        shoulder: &Point3<f64>,
        sides: &[Direction],
        arm_mm: f64,
        width_mm: f64,
    ) -> Option<Reach> {
        let line = self.ask.target - shoulder;
        let bay = self.ask.outside.bay;
        // The line comes in where it crosses the last of the planes that it stands beyond.
        let (mut share, mut open) = (0.0_f64, false);
        for axis in 0..3 {
            let beyond = [
                (bay.min[axis], shoulder[axis] <= bay.min[axis]),
                (bay.max[axis], shoulder[axis] >= bay.max[axis]),
            ];
            for (at_max, (plane, beyond)) in [false, true].into_iter().zip(beyond) {
                if !beyond || line[axis] == 0.0 {
                    continue;
                }
                let here = (plane - shoulder[axis]) / line[axis];
                if here >= share {
                    share = here;
                    open = sides.iter().any(|side| axis_of(*side) == (axis, at_max));
                }
            }
        }
        if !open || share > 1.0 {
            return None;
        }
        let entry = bay.nearest(&(shoulder + line * share));
        let path = self.straight_way(&entry, 0.5 * width_mm)?;
        let straight_mm = line.norm();
        let reaches = if straight_mm <= arm_mm { Reaches::Yes } else { Reaches::No };
        Some(Reach { reaches, straight_mm, length_mm: Some(straight_mm), path })
    }
}
