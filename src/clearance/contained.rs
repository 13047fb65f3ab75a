//! Whether part of one solid lies inside a closed surface of the other.

use nalgebra::Point3;

use super::index::{Index, Item};
use super::inside::inside;
use super::tree::{Box32, Child, Relative, boxes_overlap};
use crate::space::Pose;

/// Whether an island of one solid is inside a closed surface of the other.
///
/// Meant for solids whose surfaces do not meet: then an island is wholly inside or wholly outside,
/// and one point of it decides.
pub(crate) fn contained(a: &Index, b: &Index, a_from_b: &Pose) -> bool {
    any_inside(a, b, a_from_b) || any_inside(b, a, &a_from_b.inverse())
}

fn any_inside(shells: &Index, other: &Index, shells_from_other: &Pose) -> bool {
    let in_shell = |p: &Point3<f64>| inside(shells, &(shells_from_other * p));
    shells.store.has_shells()
        && (other.anchors.iter().any(in_shell) || any_ball_inside(shells, other, shells_from_other))
}

/// Every ball is an island. A box of them that comes nowhere near the surface is on one side of it, and one ball
/// decides for all; so only where boxes meet the surface's boxes is it asked of balls one by one.
fn any_ball_inside(shells: &Index, other: &Index, shells_from_other: &Pose) -> bool {
    if other.store.balls.is_empty() {
        return false;
    }
    let in_shell = |p: &Point3<f64>| inside(shells, &(shells_from_other * p));
    let relative = Relative::new(&shells.tree, &other.tree, shells_from_other);
    let first = |child: Child| match other.tree.first_item(child).map(|item| other.store.item(item)) {
        Some(Item::Ball(center, _)) => in_shell(center),
        // Other kinds of items have anchors of their own.
        _ => false,
    };
    let mut open: Vec<(Box32, Child)> = Vec::new();
    open.extend(other.tree.nodes[0].child(0).map(|child| (other.tree.bounds(0), child)));
    while let Some((bounds, child)) = open.pop() {
        if !meets(shells, &bounds, &relative)
            && other.store.parts.is_empty()
            && other.store.triangles.is_empty()
        {
            if first(child) {
                return true;
            }
            continue;
        }
        match child {
            Child::Node(node) => {
                let node = &other.tree.nodes[node as usize];
                open.extend((0..4).filter_map(|lane| Some((node.bounds(lane), node.child(lane)?))));
            }
            Child::Items { start, count } => {
                for item in start..start + count {
                    if let Item::Ball(center, _) = other.store.item(item)
                        && in_shell(center)
                    {
                        return true;
                    }
                }
            }
        }
    }
    false
}

/// Whether a box of the second tree meets any lowest box of the first.
fn meets(shells: &Index, bounds: &Box32, relative: &Relative) -> bool {
    let mut open = vec![0u32];
    let mut whole = true;
    while let Some(node) = open.pop() {
        let four = &shells.tree.nodes[node as usize];
        let apart = boxes_overlap(bounds, &relative.b_from_a, four, relative.slack, 0.0);
        let lanes = if std::mem::take(&mut whole) { 1 } else { 4 };
        for (lane, apart) in apart.iter().enumerate().take(lanes) {
            match four.child(lane) {
                Some(Child::Node(next)) if *apart <= 0.0 => open.push(next),
                Some(Child::Items { .. }) if *apart <= 0.0 => return true,
                _ => {}
            }
        }
    }
    false
}
