//! Room for finger and thumb on two opposite sides of a connector.

use std::sync::Arc;

use crate::access::{AccessError, Bodies, SwingAsk, swing};
use crate::check::{FigureUnit, Verdict};
use crate::clearance::IndexedShape;
use crate::scene::{Scene, ServiceKind, ServicePoint};
use crate::solid::{Capsule, Compound, Shape};
use crate::space::{Angle, Axis, Pose};

use super::bay::Bay;
use super::part::{Part, Spread};
use super::room::on_axis;
use super::slack::{AtBest, SLIM_SHARE, grown};

/// How long the tips are that hold it, mm; they begin at its face. Common practice, no source.
const TIP_MM: f64 = 15.0;
/// Finger and thumb must find room over this much of a turn.
const LEAST_DEG: f64 = 5.0;

/// Judges the room for finger and thumb; nothing for other kinds.
pub(super) fn judge(
    scene: &Scene,
    bay: &Bay,
    slack_mm: &[f64],
    point: &ServicePoint,
    axis: &Axis,
) -> Result<Option<Part>, AccessError> {
    let ServiceKind::Plug { thumb, .. } = point.kind else { return Ok(None) };
    let Some(body) = scene.body(&point.body) else { return Ok(None) };
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    // Half the connector's smaller side across the pull.
    let half = body.shape.bounds().size() / 2.0;
    let own = body.world_from_body.rotation.inverse() * point.along.into_inner();
    let along = own.iamax();
    let half_mm = (0..3).filter(|side| *side != along).map(|side| half[side]).fold(f64::INFINITY, f64::min);
    let full_mm = 0.5 * thumb.mm();
    let deg = |bodies: &Bodies, without: &[usize], slim_mm: f64| -> Result<f64, AccessError> {
        let off_mm = half_mm + full_mm;
        // Slimmed at its ends too: the core stays as long as it is.
        let core_mm = (TIP_MM - 2.0 * full_mm).max(0.1);
        let tip = || Shape::Capsule(Capsule { radius_mm: full_mm - slim_mm, core_mm });
        let pair = Shape::Compound(Compound {
            parts: [off_mm, -off_mm].map(|x| (Pose::translation(x, 0.0, -0.5 * TIP_MM), tip())).into(),
        });
        let ask = SwingAsk {
            bodies,
            without,
            lever: &IndexedShape::new(Arc::new(pair)),
            world_from_lever: on_axis(axis),
            axis: *axis,
            from_rad: 0.0,
            to_rad: std::f64::consts::PI,
            room_mm: 0.0,
            tolerance_rad: Angle::from_deg(0.1).rad(),
        };
        // Finger and thumb change places after half a turn.
        Ok(Angle::from_rad(swing(&ask)?.widest_round_rad()).deg())
    };
    let nominal = deg(&bay.bodies, &without, 0.0)?;
    let sure = deg(&grown(&bay.bodies, slack_mm)?, &without, 0.0)?.min(nominal);
    let may = match nominal >= LEAST_DEG {
        true => nominal,
        false => {
            let best = AtBest::new(&bay.bodies, &without, slack_mm, SLIM_SHARE * full_mm)?;
            deg(&best.bodies, &best.without, best.slim_mm)?.max(nominal)
        }
    };
    let spread = Spread { sure, nominal, may };
    let said = match spread.verdict(LEAST_DEG) {
        Verdict::Clear => format!("finger and thumb find room over {nominal:.0} deg of half a turn"),
        Verdict::Undecided => {
            "whether finger and thumb find room is for better known places to say".to_owned()
        }
        _ => format!("finger and thumb of {thumb} find room on no two opposite sides of it"),
    };
    Ok(Some(Part::spread("thumb room", FigureUnit::Deg, spread, LEAST_DEG, said)))
}
