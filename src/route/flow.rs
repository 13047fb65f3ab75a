//! A tube's line as the flow in it sees it.

use crate::calc::{Flow, FlowError, FlowLoss, FlowPart, flow_loss};
use crate::tube::BendList;

use super::RouteTube;

/// Straights and bends of a list in turn, all of one bore; straights of no length are left out.
pub fn flow_parts(list: &BendList, bore_mm: f64) -> Vec<FlowPart> {
    let straight = |length_mm: f64| (length_mm > 0.0).then_some(FlowPart::Straight { bore_mm, length_mm });
    let mut parts = Vec::new();
    for bend in &list.bends {
        parts.extend(straight(bend.straight_mm));
        parts.push(FlowPart::Bend { bore_mm, radius_mm: bend.radius_mm, angle_rad: bend.angle_rad });
    }
    parts.extend(straight(list.last_straight_mm));
    parts
}

/// What a flow costs along a list, or why the tube does not take it; `None` without a flow or a known bore.
pub(super) fn loss_of(
    list: &BendList,
    tube: &RouteTube,
    flow: Option<&Flow>,
) -> Option<Result<FlowLoss, FlowError>> {
    let bore_mm = tube.outside_mm - 2.0 * tube.wall_mm?;
    Some(flow_loss(&flow_parts(list, bore_mm), flow?))
}
