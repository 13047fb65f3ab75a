//! Proofs over one parameter: an angle that a lever turns through, a travel that a body is lifted by.
//!
//! A gap that changes by no more than `speed_mm` for each unit of the parameter is known over an
//! interval once it is known at its middle. Leaves to others: movements of several freedoms
//! (`motion`).

/// Where a parameter may be: proved free throughout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeInterval {
    /// Least value.
    pub from: f64,
    /// Greatest value.
    pub to: f64,
}

/// The intervals of `from..=to` over which `gap_mm` is proved not to be below zero, in order. A mere
/// touch at a single value parts no interval.
///
/// `gap_mm` may be a lower bound. Intervals narrower than `tolerance` are left out. Each ends within `tolerance` of a place where the gap is
/// below `speed_mm * tolerance / 2`, or at the range's end. Where the gap is negative, as much of the
/// parameter is passed over as it would take to part the two: for shapes that consist of convex
/// pieces nothing free is missed; in any case nothing is called free that is not.
///
/// # Example
/// A gap of |x| - 1 with a speed of 1 is free but for -1 to 1:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::access::free_intervals;
/// let free = free_intervals(-5.0, 4.0, 1.0, 1e-6, &mut |x: f64| x.abs() - 1.0);
/// assert_eq!(free.len(), 2);
/// assert!((free[0].to + 1.0).abs() < 1e-5 && (free[1].from - 1.0).abs() < 1e-5);
/// ```
pub fn free_intervals(
    from: f64,
    to: f64,
    speed_mm: f64,
    tolerance: f64,
    gap_mm: &mut dyn FnMut(f64) -> f64,
) -> Vec<FreeInterval> {
    let mut free: Vec<FreeInterval> = Vec::new();
    let mut add = |from: f64, to: f64| match free.last_mut() {
        Some(last) if from <= last.to => last.to = last.to.max(to),
        _ => free.push(FreeInterval { from, to }),
    };
    // What is still to be looked at, the least last; `None` gap: not looked at yet.
    let mut todo = vec![(from, to, false)];
    while let Some((a, b, known_free)) = todo.pop() {
        if known_free {
            add(a, b);
            continue;
        }
        if b < a {
            continue;
        }
        let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
        let gap = gap_mm(middle);
        let sure = if speed_mm > 0.0 { gap.abs() / speed_mm } else { f64::INFINITY };
        if gap > 0.0 && sure >= half {
            add(a, b);
        } else if sure >= half || 2.0 * half <= tolerance {
            // In contact, or too narrow to tell: not free.
        } else {
            let sure = sure.max(0.0);
            todo.push((middle + sure, b, false));
            if gap > 0.0 && sure > 0.0 {
                todo.push((middle - sure, middle + sure, true));
            }
            todo.push((a, middle - sure, false));
        }
    }
    // Slivers by the ends of the free intervals tell nobody anything.
    free.retain(|found| found.to - found.from >= tolerance.min(to - from));
    free
}

/// How far from `from` toward `to` a gap stays proved above zero; `to` when all the way.
///
/// `gap_mm` may be a lower bound and changes by no more than the parameter does. It stops where
/// the gap is under `tolerance`: there contact is that near.
pub fn free_travel(from: f64, to: f64, tolerance: f64, gap_mm: &mut dyn FnMut(f64) -> f64) -> f64 {
    let mut at = from;
    while at < to {
        let gap = gap_mm(at);
        if gap < tolerance {
            return at;
        }
        at += gap;
    }
    to
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn all_none_and_a_touch() {
        let whole = free_intervals(0.0, 10.0, 1.0, 1e-3, &mut |_| 0.5);
        assert_eq!(whole, [FreeInterval { from: 0.0, to: 10.0 }]);
        assert!(free_intervals(0.0, 10.0, 1.0, 1e-3, &mut |_| -0.5).is_empty());
        // |x - 4| touches zero at 4 only; a hair under it, it is parted there.
        let touch = free_intervals(0.0, 10.0, 1.0, 1e-3, &mut |x: f64| (x - 4.0).abs());
        assert_eq!(touch, [FreeInterval { from: 0.0, to: 10.0 }]);
        let parted = free_intervals(0.0, 10.0, 1.0, 1e-3, &mut |x: f64| (x - 4.0).abs() - 1e-6);
        assert!(parted.len() == 2 && parted[1].from - parted[0].to < 4e-3, "{parted:?}");
        assert_eq!(free_travel(0.0, 10.0, 1e-6, &mut |x: f64| 20.0 - x), 10.0);
        assert!((free_travel(0.0, 10.0, 1e-6, &mut |x: f64| 7.0 - x) - 7.0).abs() < 1e-5);
    }

    proptest! {
        #[test]
        fn free_means_free(
            balls in prop::collection::vec((-10.0..10.0f64, 0.1..3.0f64), 1..5), probe in -10.0..10.0f64
        ) {
            let gap = |x: f64| balls.iter().map(|(c, r)| (x - c).abs() - r).fold(f64::INFINITY, f64::min);
            let free = free_intervals(-10.0, 10.0, 1.0, 1e-4, &mut { gap });
            let within = free.iter().any(|f| f.from < probe && probe < f.to);
            if within { prop_assert!(gap(probe) > -1e-9); }
            if gap(probe) > 2e-3 { prop_assert!(within, "missed a free place"); }
        }
    }
}
