//! Free room about a cap that must be turned and a filler that must be poured into.

use crate::access::{AccessError, RoomAbout, pour_room, turn_room};
use crate::check::pair::Ready;
use crate::check::uncertainty::COVERAGE;
use crate::check::{Verdict, decide};
use crate::scene::{ServiceKind, ServicePoint};
use crate::space::{Axis, Length};

use super::bay::Bay;
use super::point::Part;

/// Gaps beyond this and every uncertainty are all alike.
const AMPLE_MM: f64 = 50.0;

/// Judges the room that the kind of service needs about its axis; nothing for kinds that need none.
pub(super) fn judge(
    ready: &[Ready<'_>],
    bay: &Bay,
    point: &ServicePoint,
    axis: &Axis,
) -> Result<Option<Part>, AccessError> {
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    // Gaps beyond what is asked by this much are all alike, however badly the bodies are known.
    let ample_mm = AMPLE_MM + super::bay::worst_mm(ready);
    let (room, what) = match &point.kind {
        ServiceKind::Turn { grip_radius, grip_height } => {
            let room = turn_room(&bay.bodies, &without, axis, grip_radius.mm(), grip_height.mm(), ample_mm)?;
            (room, format!("the turning hand ({grip_radius} about the axis, {grip_height} high)"))
        }
        ServiceKind::Pour { spout_radius, spout_length } => {
            let room =
                pour_room(&bay.bodies, &without, axis, spout_radius.mm(), spout_length.mm(), ample_mm)?;
            (room, format!("the spout ({spout_radius} about its line, {spout_length} long)"))
        }
        ServiceKind::Touch | ServiceKind::LiftOut { .. } => return Ok(None),
    };
    Ok(Some(told(ready, bay, point, &room, &what)))
}

fn told(ready: &[Ready<'_>], bay: &Bay, point: &ServicePoint, room: &RoomAbout, what: &str) -> Part {
    let gap = Length::from_mm(room.gap_mm);
    let served =
        ready.iter().find(|ready| ready.body.name == point.body).map_or(0.0, |r| r.worst_standard_mm);
    let other = room.nearest.and_then(|near| ready.get(near.body)).map_or(0.0, |r| r.worst_standard_mm);
    let uncertainty = Length::from_mm(COVERAGE * served.hypot(other));
    let verdict = match decide(gap, gap, uncertainty, Length::ZERO) {
        // The hand's room meets a body: the hand is short of room, no two bodies touch.
        Verdict::Touching => Verdict::Short,
        verdict => verdict,
    };
    let nearest = room.nearest.and_then(|near| bay.bodies.list().get(near.body));
    let said = match nearest {
        None => format!("{what} has all the room it needs"),
        Some(body) if room.gap_mm < 0.0 => format!("{what} is blocked by `{}` by {}", body.name, -gap),
        Some(body) => format!("{what} clears `{}` by {gap}", body.name),
    };
    Part {
        verdict,
        required: Some(Length::ZERO),
        // With nothing near there is no gap to tell, only that it is ample.
        actual: nearest.map(|_| gap),
        uncertainty: nearest.map(|_| uncertainty),
        place: room.nearest.map(|near| near.on_body),
        said,
    }
}
