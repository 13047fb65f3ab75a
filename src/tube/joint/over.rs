//! What whole movements ask of a joint: proved bounds, not samples.

use std::f64::consts::PI;

use nalgebra::{Point3, Unit, Vector3};

use super::Demand;
use crate::motion::{Freedom, Movement};

/// Cells that a turn is cut into.
const CELLS: usize = 16;

/// The most that a joint is asked when its two sides ride on two movements: an upper bound of each part, from rest.
///
/// `at` is on the axis, where the joint is; `axis` points out of the moving side. Offset and stretch are exact at the
/// ends of every cell of the freedoms, and between those a turned point stays within rho (1 - cos(cell / 2)) of the
/// straight between them, where both are convex: the bound is that much more. The angle is at most the sum of what
/// each turn does to the axis, exact for one turn, and so is the twist; of several turns it holds to the third order of their
/// angles. The sign of the stretch is that of its worse side.
///
/// # Example
/// A joint 300 from the axis of a rock of 3 deg, its own axis along that of the rock (closed form: offset 2 x 300 x
/// sin 1.5 deg, no angle, 3 deg of twist):
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::motion::{Freedom, Movement};
/// use baywright::space::Axis;
/// use baywright::tube::demand_over;
/// use nalgebra::{Point3, Vector3};
/// let axis = Axis { through: Point3::origin(), along: Vector3::x_axis() };
/// let three = 3f64.to_radians();
/// let rock = Movement { freedoms: vec![Freedom::Turn { axis, from_rad: -three, to_rad: three }] };
/// let asked = demand_over(&Point3::new(50.0, 300.0, 0.0), &Vector3::x_axis(), &rock, &Movement::still());
/// assert!((asked.offset_mm - 600.0 * (1.5f64.to_radians()).sin()).abs() < 0.01);
/// assert!(asked.angle_rad < 1e-9 && asked.stretch_mm.abs() < 0.01 && (asked.twist_rad - three).abs() < 1e-9);
/// ```
pub fn demand_over(
    at: &Point3<f64>,
    axis: &Unit<Vector3<f64>>,
    moving: &Movement,
    fixed: &Movement,
) -> Demand {
    let mut asked = Demand::default();
    let (ours, theirs) = (grid(moving), grid(fixed));
    for own in &ours {
        let here = moving.world_from_rest(own) * at;
        for their in &theirs {
            // Where the moving side's point has gone, as the other side sees it.
            let shift = fixed.world_from_rest(their).inverse() * here - at;
            let along = shift.dot(axis);
            let across = (shift - axis.into_inner() * along).norm();
            asked.offset_mm = asked.offset_mm.max(across);
            if along.abs() > asked.stretch_mm.abs() {
                asked.stretch_mm = -along;
            }
        }
    }
    let mut hidden_mm = 0.0;
    for freedom in moving.freedoms.iter().chain(&fixed.freedoms) {
        let Freedom::Turn { axis: line, from_rad, to_rad } = freedom else { continue };
        // The other freedoms may have carried the joint off by as much as all of them do.
        let rho = line.distance(at) + asked.offset_mm + asked.stretch_mm.abs();
        hidden_mm += rho * (1.0 - ((to_rad - from_rad) / CELLS as f64 / 2.0).cos());
        let most = from_rad.abs().max(to_rad.abs());
        let lean = line.along.cross(axis).norm();
        asked.angle_rad += 2.0 * (lean * (most / 2.0).sin()).clamp(-1.0, 1.0).asin();
        // The part of a turn about a leaning line that is twist (swing and twist): it grows faster than the turn.
        asked.twist_rad += 2.0 * (line.along.dot(axis).abs() * (most.min(PI) / 2.0).tan()).atan();
    }
    asked.offset_mm += hidden_mm;
    asked.stretch_mm += hidden_mm.copysign(asked.stretch_mm);
    if asked.stretch_mm.abs() <= hidden_mm && hidden_mm < 1e-9 {
        asked.stretch_mm = 0.0;
    }
    // Several turns may lean the axis one after another from where it was not at rest.
    let turns =
        moving.freedoms.iter().chain(&fixed.freedoms).filter(|one| matches!(one, Freedom::Turn { .. }));
    if turns.count() > 1 {
        asked.angle_rad = moving
            .freedoms
            .iter()
            .chain(&fixed.freedoms)
            .filter(|one| matches!(one, Freedom::Turn { .. }))
            .map(|one| one.range().0.abs().max(one.range().1.abs()))
            .sum();
        // Two turns about lines that lean also twist by up to half their product: the sum of all squared is more than all of those.
        asked.twist_rad += asked.angle_rad * asked.angle_rad / 2.0;
    }
    asked
}

/// Values at the ends of all cells: slides need their ends only.
fn grid(movement: &Movement) -> Vec<Vec<f64>> {
    let mut all = vec![Vec::new()];
    for freedom in &movement.freedoms {
        let (low, high) = freedom.range();
        let cells = if matches!(freedom, Freedom::Turn { .. }) { CELLS } else { 1 };
        all = all
            .into_iter()
            .flat_map(|before: Vec<f64>| {
                (0..=cells).map(move |cell| {
                    let value = low + (high - low) * cell as f64 / cells as f64;
                    before.iter().copied().chain([value]).collect()
                })
            })
            .collect();
    }
    all
}
