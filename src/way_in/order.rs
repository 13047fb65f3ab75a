//! An order of assembly, found backwards: what can leave while the rest is mounted is mounted last.
//!
//! Taking a part out never stands in the way of another, so whatever leaves first may be taken first: no choice has to be
//! taken back. Leaves to others: how one part leaves (`plan`, by whoever asks), what a part is.

/// What came of trying to take one part out.
#[derive(Clone, Debug, PartialEq)]
pub enum Leaves<W> {
    /// It leaves, and this is how.
    Yes(W),
    /// It was not seen to leave.
    No {
        /// Parts by number that stopped it, the one that did most often first; what is no part of the kit is not named.
        by: Vec<usize>,
        /// Whether it is proved that it does not.
        proved: bool,
    },
}

/// Parts in an order in which each goes in among those before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Order<W> {
    /// Parts by number in the order of mounting, each with its way among those before it and among the stuck ones.
    pub steps: Vec<(usize, W)>,
    /// Parts that did not leave when all others had: mounted before any step, if that can be done at all.
    pub stuck: Vec<Stuck>,
    /// How often a part was tried.
    pub tries: usize,
}

/// A part for which no way was found while the other stuck ones are mounted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stuck {
    /// Which part.
    pub part: usize,
    /// Whether it leaves where no other part of the kit is mounted.
    pub leaves_alone: bool,
    /// Parts each of which alone keeps it in.
    pub kept_by: Vec<usize>,
    /// Whether it is proved that it does not leave.
    pub proved: bool,
}

impl<W> Order<W> {
    /// Groups of stuck parts that block each other: each keeps another of its group in, round in a ring. In order of
    /// their least number.
    pub fn interlocks(&self) -> Vec<Vec<usize>> {
        let count = self.stuck.iter().map(|stuck| stuck.part + 1).max().unwrap_or(0);
        let mut reaches = vec![vec![false; count]; count];
        for stuck in &self.stuck {
            for &by in stuck.kept_by.iter().filter(|by| **by < count) {
                reaches[stuck.part][by] = true;
            }
        }
        for middle in 0..count {
            for from in 0..count {
                for to in 0..count {
                    reaches[from][to] |= reaches[from][middle] && reaches[middle][to];
                }
            }
        }
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for (part, from_part) in reaches.iter().enumerate() {
            if !from_part[part] || groups.iter().any(|group| group.contains(&part)) {
                continue;
            }
            groups.push((0..count).filter(|other| from_part[*other] && reaches[*other][part]).collect());
        }
        groups
    }
}

/// Finds an order of assembly for `parts` parts.
///
/// `leaves(part, others, level)` tries to take a part out while `others` are mounted; the higher the level (from 0 up to,
/// not including, `levels`), the harder it is to try. Every level is tried on all parts before the next, so that easy
/// parts cost little. The order depends on its answers alone. A part that was stopped is tried again at the same level
/// when one of those named has gone; before it is given up it is tried once more among exactly those that are left.
///
/// # Example
/// A stack of three: each is kept in by the one above it.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::way_in::{Leaves, order};
/// let found = order(3, 1, |part, others, _| {
///     let above: Vec<usize> = others.iter().copied().filter(|other| *other == part + 1).collect();
///     if above.is_empty() { Leaves::Yes(()) } else { Leaves::No { by: above, proved: true } }
/// });
/// let order: Vec<usize> = found.steps.iter().map(|(part, ())| *part).collect();
/// assert_eq!(order, [0, 1, 2]);
/// ```
pub fn order<W>(
    parts: usize,
    levels: usize,
    mut leaves: impl FnMut(usize, &[usize], usize) -> Leaves<W>,
) -> Order<W> {
    let mut left: Vec<usize> = (0..parts).collect();
    let mut out: Vec<(usize, W)> = Vec::new();
    let mut tries = 0;
    let mut failed: Vec<Option<Failed>> = vec![None; parts];
    let mut pass = 0;
    // One pass more than there are levels: the last trusts nobody's word on what stopped a part.
    while pass <= levels && levels > 0 {
        let (level, trusting) = (pass.min(levels - 1), pass < levels);
        let mut gone = None;
        // The last named is tried first: what a person writes last is most likely mounted last.
        for at in (0..left.len()).rev() {
            let part = left[at];
            if failed[part].as_ref().is_some_and(|failed| failed.in_vain(level, trusting, &left)) {
                continue;
            }
            let others: Vec<usize> = left.iter().copied().filter(|other| *other != part).collect();
            tries += 1;
            match leaves(part, &others, level) {
                Leaves::Yes(way) => {
                    gone = Some((at, way));
                    break;
                }
                Leaves::No { by, proved } => {
                    failed[part] = Some(Failed { level, by, proved, of: left.len() });
                }
            }
        }
        match gone {
            Some((at, way)) => {
                out.push((left.remove(at), way));
                pass = 0;
            }
            None => pass += 1,
        }
    }
    out.reverse();
    let mut stuck = Vec::new();
    for &part in &left {
        let proved = failed[part].as_ref().is_some_and(|one| one.proved);
        let last = levels.saturating_sub(1);
        tries += 1;
        let leaves_alone = matches!(leaves(part, &[], last), Leaves::Yes(_));
        let mut kept_by = Vec::new();
        if leaves_alone {
            for &other in left.iter().filter(|other| **other != part) {
                tries += 1;
                if !matches!(leaves(part, &[other], last), Leaves::Yes(_)) {
                    kept_by.push(other);
                }
            }
        }
        stuck.push(Stuck { part, leaves_alone, kept_by, proved });
    }
    Order { steps: out, stuck, tries }
}

/// How a part was last seen not to leave.
#[derive(Clone, Debug)]
struct Failed {
    level: usize,
    by: Vec<usize>,
    proved: bool,
    /// How many were left, itself included.
    of: usize,
}

impl Failed {
    /// Whether it need not be tried again.
    fn in_vain(&self, level: usize, trusting: bool, left: &[usize]) -> bool {
        let same = self.of == left.len();
        let still_stopped = trusting && self.by.iter().all(|by| left.contains(by));
        (self.level >= level || self.proved) && (same || still_stopped)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Parts that are kept in by others, as a table; all else leaves.
    fn of_table(table: &[Vec<usize>]) -> Order<usize> {
        order(table.len(), 2, |part, others, level| {
            let by: Vec<usize> = table[part].iter().copied().filter(|by| others.contains(by)).collect();
            if by.is_empty() { Leaves::Yes(level) } else { Leaves::No { by, proved: false } }
        })
    }

    #[test]
    fn a_ring_of_blocks_is_named_and_nothing_else_is() {
        // 0 and 3 keep each other in; 4 is under 0; 1 and 2 are free.
        let found = of_table(&[vec![3], vec![], vec![1], vec![0], vec![0]]);
        assert_eq!(found.interlocks(), [vec![0, 3]]);
        assert_eq!(found.stuck.iter().map(|one| one.part).collect::<Vec<_>>(), [0, 3, 4]);
        assert!(found.stuck.iter().all(|one| one.leaves_alone));
        assert_eq!(found.steps.iter().map(|one| one.0).collect::<Vec<_>>(), [2, 1]);
    }

    #[test]
    fn what_does_not_even_leave_alone_is_no_interlock() {
        let found = order(1, 3, |_, _, _| Leaves::<()>::No { by: vec![], proved: true });
        assert!(found.interlocks().is_empty());
        assert_eq!(found.stuck, [Stuck { part: 0, leaves_alone: false, kept_by: vec![], proved: true }]);
    }

    #[test]
    fn what_needs_a_harder_try_is_tried_after_all_else() {
        let mut asked = Vec::new();
        let found = order(2, 3, |part, others, level| {
            asked.push((part, level));
            let _ = others;
            if part == 0 || level == 2 {
                Leaves::Yes(level)
            } else {
                Leaves::No { by: vec![], proved: false }
            }
        });
        assert_eq!(found.steps, [(1, 2), (0, 0)]);
        assert!(found.stuck.is_empty() && asked[0] == (1, 0), "{asked:?}");
    }

    proptest! {
        /// Over random kits: every step is free of those before it, and what is stuck is exactly what brute force
        /// cannot take out in any order.
        #[test]
        fn the_order_holds_and_nothing_is_stuck_in_vain(
            table in proptest::collection::vec(proptest::collection::vec(0usize..7, 0..3), 7),
        ) {
            let table: Vec<Vec<usize>> = table
                .into_iter()
                .enumerate()
                .map(|(part, mut by)| { by.retain(|other| *other != part); by.sort_unstable(); by.dedup(); by })
                .collect();
            let found = of_table(&table);
            let mut mounted: Vec<usize> = found.stuck.iter().map(|one| one.part).collect();
            for (part, _) in &found.steps {
                prop_assert!(table[*part].iter().all(|by| !mounted.contains(by)));
                mounted.push(*part);
            }
            prop_assert_eq!(mounted.len(), table.len());
            // Brute force: which sets can be reached by taking parts out one at a time.
            let (mut least, mut open, mut seen) = (0u32.wrapping_sub(1) >> 25, vec![(1u32 << 7) - 1], vec![false; 128]);
            while let Some(set) = open.pop() {
                if std::mem::replace(&mut seen[set as usize], true) { continue; }
                if set.count_ones() < least.count_ones() { least = set; }
                for (part, by) in table.iter().enumerate() {
                    if set >> part & 1 == 1 && by.iter().all(|by| set >> by & 1 == 0) {
                        open.push(set & !(1 << part));
                    }
                }
            }
            let stuck: u32 = found.stuck.iter().map(|one| 1 << one.part).sum();
            prop_assert_eq!(stuck, least);
            // Who is in a ring keeps and is kept by another of the ring.
            for ring in found.interlocks() {
                for part in &ring {
                    prop_assert!(ring.iter().any(|other| table[*part].contains(other)));
                }
            }
        }
    }
}
