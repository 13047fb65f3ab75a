//! The straight free length of what a hand pulls out.

use crate::access::{AccessError, Obstacles, free_travel};
use crate::check::{FigureUnit, Verdict};
use crate::scene::{ServiceKind, ServicePoint};
use crate::space::{Axis, Length};

use super::bay::Bay;
use super::part::{Part, Spread};
use super::slack::Slack;

/// How closely the free length is found, mm.
const TOLERANCE_MM: f64 = 0.05;

/// Judges a pull: a ball of the hand's size travels along the line; nothing for other kinds.
pub(super) fn judge(
    bay: &Bay,
    slack_mm: &[f64],
    point: &ServicePoint,
    axis: &Axis,
) -> Result<Option<Part>, AccessError> {
    let ServiceKind::Pull { length, hand_radius } = point.kind else { return Ok(None) };
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    let start = axis.through + axis.along.into_inner() * hand_radius.mm();
    let mut stopped = None;
    let mut free = |times: f64| -> Result<f64, AccessError> {
        let obstacles = Slack::new(bay.bodies.obstacles(&without)?, slack_mm, times);
        let mut near = Vec::new();
        Ok(free_travel(0.0, length.mm(), TOLERANCE_MM, &mut |gone_mm| {
            let at = start + axis.along.into_inner() * gone_mm;
            obstacles.near(&at, hand_radius.mm() + length.mm(), 0.0, &mut near);
            let Some(first) = near.first() else { return length.mm() };
            let gap_mm = first.clearance_mm - hand_radius.mm();
            if gap_mm < TOLERANCE_MM {
                stopped = stopped.or(Some((first.body, first.point)));
            }
            gap_mm
        }))
    };
    // The stop that is told is that of the bodies as they stand, or else of the grown ones.
    let nominal = free(0.0)?;
    let spread = Spread { sure: free(1.0)?, nominal, may: free(-1.0)? };
    let name = |body: usize| bay.bodies.list().get(body).map_or("", |body| body.name.as_str());
    let told = Length::from_mm(nominal);
    let said = match (spread.verdict(length.mm()), stopped) {
        (Verdict::Clear, _) | (_, None) => format!("it is pulled straight out over {length}"),
        (Verdict::Undecided, Some((body, _))) => format!(
            "of {length} straight out {told} are free as drawn; `{0}` is not known well enough: place `{0}` more exactly",
            name(body)
        ),
        (_, Some((body, _))) => {
            format!(
                "of {length} straight out only {told} are free for the hand: `{}` is in the way",
                name(body)
            )
        }
    };
    let part = Part::spread("free length", FigureUnit::Mm, spread, length.mm(), said);
    Ok(Some(part.at(stopped.map(|(_, at)| at))))
}
