//! Gaps of a hose that gives way: pose by pose, each with the shape that it has there.
//!
//! Each cell of the grid is asked by itself: the shape in its middle, as much nearer as what may lie between, against the other
//! body over the cell's own stretch of the movement. That bound is an estimate by what may lie between, and its gap for sure is
//! the one in the very pose that was looked at.

use std::sync::Arc;

use super::sway::{Cell, Within};
use crate::check::Verdict;
use crate::check::pair::{Examined, Pair, PairGap, Poses, Ready, pose_words};
use crate::motion::Movement;
use crate::space::Length;

impl<'a> Pair<'a> {
    /// The cells of the hose of this pair that gives way, and whether it is the first body. Of two hoses the first is followed;
    /// the other counts as reaching as far as it goes.
    fn giving_way(&self) -> Option<(&'a [Cell], bool)> {
        if self.poses == Poses::Rest || self.within.is_some() {
            return None;
        }
        let cells = |ready: &'a Ready<'a>| {
            ready.sway.as_ref().map(|sway| sway.cells.as_slice()).filter(|cells| !cells.is_empty())
        };
        cells(self.first).map(|cells| (cells, true)).or(cells(self.second).map(|cells| (cells, false)))
    }

    /// How far the body that is not followed may lie off its shape: by so much more than what is found it may be away.
    fn others_off(&self, is_first: bool) -> Length {
        if is_first { self.second.off } else { self.first.off }
    }

    /// As [`Pair::examine`], of a hose that gives way; `None` when neither does.
    pub(in crate::check) fn examine_giving_way(&self, least: Length) -> Option<Examined> {
        let (cells, is_first) = self.giving_way()?;
        let others = self.others_off(is_first);
        let mut worst: Option<PairGap> = None;
        for cell in cells {
            let Some(found) = self.in_cell(cell, is_first, Within::Cell, |pair| pair.examine(least)) else {
                continue;
            };
            let Examined::Near(mut gap) = found else { continue };
            if gap.verdict(least) != Verdict::Clear
                && let Some(sure) = self.looked_at(cell, is_first)
            {
                let lower = gap.lower;
                let uncertainty = gap.uncertainty.max(sure.uncertainty);
                *gap =
                    PairGap { lower, uncertainty, settled: gap.settled, upper: sure.upper + others, ..sure };
            }
            worst = Some(match worst.take() {
                None => *gap,
                Some(before) => together(before, *gap),
            });
        }
        Some(worst.map_or(Examined::Clear, |gap| Examined::Near(Box::new(gap))))
    }

    /// As [`Pair::gap`], of a hose that gives way.
    pub(in crate::check) fn gap_giving_way(&self) -> Option<PairGap> {
        let (cells, is_first) = self.giving_way()?;
        let others = self.others_off(is_first);
        let mut worst: Option<PairGap> = None;
        for cell in cells {
            let Some(bound) = self.in_cell(cell, is_first, Within::Cell, |pair| pair.gap()) else { continue };
            let Some(sure) = self.looked_at(cell, is_first) else { continue };
            let gap =
                PairGap { lower: bound.lower, settled: bound.settled, upper: sure.upper + others, ..sure };
            worst = Some(match worst.take() {
                None => gap,
                Some(before) => together(before, gap),
            });
        }
        worst
    }

    /// The gap in the very pose of a cell that was looked at.
    fn looked_at(&self, cell: &Cell, is_first: bool) -> Option<PairGap> {
        let mut sure = self.in_cell(cell, is_first, Within::Look, |pair| pair.gap())?;
        // The hose's own carriers stand as they were looked at, whatever the pair's two bodies ride on.
        let mut values = cell.values(self.scene);
        values.retain(|(_, at)| !at.is_empty());
        let others = std::mem::take(&mut sure.place.values);
        for other in others {
            if values.iter().all(|(name, _)| *name != other.0) {
                values.push(other);
            }
        }
        sure.place.pose = pose_words(self.scene, &values);
        sure.place.values = values;
        Some(sure)
    }

    /// Asks the pair with the hose as it is in a cell.
    fn in_cell<T>(
        &self,
        cell: &Cell,
        is_first: bool,
        within: Within,
        ask: impl Fn(&Pair<'_>) -> T,
    ) -> Option<T> {
        let like = if is_first { self.first } else { self.second };
        let shape = if within == Within::Cell { cell.grown.clone()? } else { cell.shape.clone()? };
        let reach = like.reach().mm();
        let at_rest = shape.bounds().moved(&like.body.world_from_body);
        let movement = cell.movement(self.scene, like.body.carrier, within);
        let there = Ready {
            body: like.body,
            shape,
            growth: like.growth,
            off: Length::ZERO,
            sway: None,
            at_rest: at_rest.grown(reach),
            swept: movement.swept(&at_rest).grown(reach),
            worst_standard_mm: like.worst_standard_mm,
        };
        let (first, second) = if is_first { (&there, self.second) } else { (self.first, &there) };
        let movements: [Movement; 2] = if first.body.carrier == second.body.carrier {
            [Movement::still(), Movement::still()]
        } else {
            [first, second].map(|ready| cell.movement(self.scene, ready.body.carrier, within))
        };
        Some(ask(&Pair {
            scene: self.scene,
            first,
            second,
            poses: self.poses,
            within: Some(Arc::new(movements)),
        }))
    }
}

/// The worse of two cells: the least bound of both, and the place where the gap is least for sure.
fn together(one: PairGap, other: PairGap) -> PairGap {
    let lower = one.lower.min(other.lower);
    let uncertainty = one.uncertainty.max(other.uncertainty);
    let settled = one.settled && other.settled;
    let near = if other.upper < one.upper { other } else { one };
    PairGap { lower, uncertainty, settled, ..near }
}
