//! How a tool is held: straight, leaning from its joint, its lever raised.

use crate::access::{Lean, Lever, Tool};
use crate::scene::{ServiceTool, WrenchJob};
use crate::space::{Angle, Axis, Direction};

use super::slack::SLIM_SHARE;

/// The tool begins so far above the seat: a washer is there. Common practice, no source.
const WASHER_MM: f64 = 1.0;
/// Ways that a joint is leant, all round the fastener's axis.
const WAYS: u32 = 8;
/// Steps from straight to as far as a tool bends.
const STEPS: u32 = 3;

/// One way to hold a tool; straight by default.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Posture {
    /// Of all above the head, off the fastener's axis.
    pub lean: Angle,
    /// Which way it leans, about the fastener's axis.
    pub toward: Angle,
    /// Of the lever's end, from square.
    pub rise: Angle,
}

impl Posture {
    /// Whether a tool bends at all.
    pub fn bends(tool: &ServiceTool) -> bool {
        tool.lean > Angle::ZERO || tool.lever_rise > Angle::ZERO
    }

    /// All ways to hold a tool, straight first, then the least bent.
    pub fn all(tool: &ServiceTool) -> Vec<Self> {
        let steps = |most: Angle| (1..=STEPS).map(move |step| most * (f64::from(step) / f64::from(STEPS)));
        let mut postures = vec![Posture::default()];
        if tool.lever_rise > Angle::ZERO {
            postures.extend(steps(tool.lever_rise).map(|rise| Posture { rise, ..Posture::default() }));
        }
        if tool.lean > Angle::ZERO {
            for lean in steps(tool.lean) {
                postures.extend((0..WAYS).map(|way| Posture {
                    lean,
                    toward: Angle::from_deg(360.0 * f64::from(way) / f64::from(WAYS)),
                    ..Posture::default()
                }));
            }
        }
        postures
    }

    /// Words to follow the tool's name: ` leant 15 deg toward the left`; nothing when straight.
    pub fn words(&self, axis: &Axis) -> String {
        let mut words = String::new();
        if self.lean > Angle::ZERO {
            let out = crate::space::pose_of_turn(axis, self.toward) * Tool::zero(axis);
            words += &format!(" leant {:.0} deg {}", self.lean.deg(), toward_words(&out));
        }
        if self.rise > Angle::ZERO {
            words += &format!(" with its lever raised {:.0} deg", self.rise.deg());
        }
        words
    }
}

/// The vehicle's direction nearest to one, and the next when it lies between two.
pub(super) fn toward_words(out: &nalgebra::Unit<nalgebra::Vector3<f64>>) -> String {
    let main = Direction::nearest(out);
    let rest = out.into_inner() - main.unit().into_inner() * out.dot(&main.unit());
    // Less than some 20 deg off is that direction.
    match rest.norm() > 0.35 {
        true => format!("{} and {}", main.word(), Direction::nearest(&rest).word()),
        false => main.word().to_owned(),
    }
}

/// By so much a tool can be slimmed all round and something of each of its parts is left, mm.
pub(super) fn slims_by_mm(made: &Tool) -> f64 {
    let sections = made
        .sections_mm
        .iter()
        .map(|(from, to, radius)| radius.min(0.5 * (to - from)))
        .fold(f64::INFINITY, f64::min);
    let lever = made.lever.as_ref().map_or(f64::INFINITY, |lever| lever.radius_mm);
    SLIM_SHARE * sections.min(lever)
}

/// The tool for one size, `slim_mm` slimmer all round: no more than [`slims_by_mm`].
pub(super) fn made(tool: &ServiceTool, job: &WrenchJob, posture: &Posture, slim_mm: f64) -> Tool {
    let slim = |mm: f64| mm - slim_mm;
    // Across the corners of a hexagon: the width across flats by cos 30 deg.
    let corner_mm = 0.5 * job.size.mm() / (std::f64::consts::PI / 6.0).cos();
    let top_of_head = tool.head_mm.max(2.0 * WASHER_MM);
    let mut sections_mm = vec![(WASHER_MM, top_of_head, slim(corner_mm + tool.wall_mm))];
    let mut top = top_of_head;
    for (height, radius) in [tool.shank_mm, tool.drive_mm] {
        if height > 0.0 {
            sections_mm.push((top, top + height, slim(radius)));
            top += height;
        }
    }
    // Slimmer also means that it ends sooner, below and above.
    for (from, to, _) in &mut sections_mm {
        (*from, *to) = (*from + slim_mm, *to - slim_mm);
    }
    let lever = tool.lever_mm.map(|(height_mm, length_mm, radius)| Lever {
        height_mm,
        length_mm,
        radius_mm: slim(radius),
        rise: posture.rise,
    });
    let lean = (posture.lean > Angle::ZERO).then_some(Lean {
        at_mm: top_of_head,
        by: posture.lean,
        toward: posture.toward,
    });
    Tool { name: tool.name.clone(), sections_mm, lever, click: tool.click, lean }
}
