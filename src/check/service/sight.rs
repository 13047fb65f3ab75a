//! What an eye sees of a service point, straight or by a mirror.

use nalgebra::Point3;

use crate::access::{AccessError, Mirror, Sight, seen_share};
use crate::check::{FigureUnit, Shown, Verdict};
use crate::scene::{Scene, ServiceKind, ServicePoint};
use crate::space::Axis;

use super::bay::Bay;
use super::part::{Part, Spread};
use super::slack::Slack;

/// Lines to the target.
const LINES: usize = 61;
/// Lines end so far before the target, which lies on a surface, mm.
const SHORT_MM: f64 = 2.0;

/// Judges a look from every allowed standing place; nothing for other kinds.
pub(super) fn judge(
    scene: &Scene,
    bay: &Bay,
    slack_mm: &[f64],
    point: &ServicePoint,
    axis: &Axis,
) -> Result<Option<Part>, AccessError> {
    let ServiceKind::See { radius, share, mirror } = &point.kind else { return Ok(None) };
    let mut without = bay.numbers(&point.without);
    without.extend(bay.bodies.number(&point.body));
    let mirror =
        mirror.map(|mirror| Mirror { at: mirror.at, normal: mirror.normal, radius_mm: mirror.radius.mm() });
    let obstacles = |times: f64| -> Result<Slack<'_>, AccessError> {
        Ok(Slack::new(bay.bodies.obstacles(&without)?, slack_mm, times))
    };
    let (grown, drawn, shrunk) = (obstacles(1.0)?, obstacles(0.0)?, obstacles(-1.0)?);
    let mut best: Option<(Spread, String, Vec<Point3<f64>>)> = None;
    let mut most: f64 = 0.0;
    let allowed = |name: &String| point.from.is_empty() || point.from.contains(name);
    for place in scene.standing.iter().filter(|place| allowed(&place.name)) {
        for by in [None, mirror.as_ref()].into_iter().take(if mirror.is_some() { 2 } else { 1 }) {
            let seen = |world: &Slack<'_>| -> Result<Sight, AccessError> {
                let (at, out) = (&axis.through, &axis.along);
                seen_share(world, &place.eye, by, at, out, radius.mm(), LINES, SHORT_MM)
            };
            let nominal = 100.0 * seen(&drawn)?.share();
            // With the margin of the sampling on either side.
            let (sure, may) = (100.0 * seen(&grown)?.least_share(), 100.0 * seen(&shrunk)?.most_share());
            let spread = Spread { sure: sure.min(nominal), nominal, may: may.max(nominal) };
            most = most.max(spread.may);
            let how = if by.is_some() { " by the mirror" } else { "" };
            let better = best
                .as_ref()
                .is_none_or(|(known, ..)| (spread.sure, spread.nominal) > (known.sure, known.nominal));
            if better {
                let mut line = vec![place.eye];
                line.extend(by.map(|mirror| mirror.at));
                line.push(axis.through);
                best = Some((spread, format!("from `{}`{how}", place.name), line));
            }
        }
    }
    let required = 100.0 * share;
    // Short only where no place and no mirror may do.
    let best = best.map(|(spread, from, line)| (Spread { may: spread.may.max(most), ..spread }, from, line));
    let Some((spread, from, line)) = best else {
        let spread = Spread { sure: 0.0, nominal: 0.0, may: 100.0 };
        let said = "there is nobody to look: give `people: {standing: ...}` a place".to_owned();
        return Ok(Some(Part::spread("sight", FigureUnit::Percent, spread, required, said)));
    };
    let more = match spread.verdict(required) {
        Verdict::Clear => "",
        Verdict::Undecided => {
            "; whether that is enough depends on how well the bodies in between are placed, and on what lies between the lines that were tried"
        }
        _ => "; look from elsewhere, or give a mirror",
    };
    let said = format!("{:.0} % of it is seen {from}, {required:.0} % asked for{more}", spread.nominal);
    let words = format!("{:.0} % seen {}", spread.nominal, from.replace('`', ""));
    let part = Part::spread("sight", FigureUnit::Percent, spread, required, said);
    Ok(Some(part.showing(Some(Shown::Sight { line, words }))))
}
