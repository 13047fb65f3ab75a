//! The decision rule: gap, limit and uncertainty in, verdict out.

use crate::space::Length;

use super::Verdict;

/// The verdict on a gap that is proved to lie in `[lower, upper]`, with expanded uncertainty U, against a
/// least gap.
///
/// Clear only when even `lower - U` reaches the limit; short only when even `upper + U` misses it; touching
/// when even `upper + U` is not above zero; else undecided.
///
/// # Source
/// ISO 14253-1: conformity is proved only outside the uncertainty zone of the limit (from memory).
///
/// # Example
/// ```
/// use baywright::{check::{Verdict, decide}, space::Length};
/// let mm = Length::from_mm;
/// assert_eq!(decide(mm(12.0), mm(12.0), mm(1.5), mm(10.0)), Verdict::Clear); // 12 - 1.5 >= 10
/// assert_eq!(decide(mm(11.0), mm(11.0), mm(1.5), mm(10.0)), Verdict::Undecided); // 9.5 < 10 < 12.5
/// assert_eq!(decide(mm(8.0), mm(8.0), mm(1.5), mm(10.0)), Verdict::Short); // 9.5 < 10
/// ```
pub fn decide(lower: Length, upper: Length, uncertainty: Length, least: Length) -> Verdict {
    if (upper + uncertainty).mm() <= 0.0 {
        Verdict::Touching
    } else if upper + uncertainty < least {
        Verdict::Short
    } else if lower - uncertainty >= least {
        Verdict::Clear
    } else {
        Verdict::Undecided
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn verdict_follows_the_zone_round_the_limit() {
        let mm = Length::from_mm;
        for (case, gap, uncertainty, least, want) in [
            ("exact measurement exactly at the limit conforms", 10.0, 0.0, 10.0, Verdict::Clear),
            ("at the limit with any uncertainty nothing is proved", 10.0, 0.1, 10.0, Verdict::Undecided),
            ("limit + U conforms", 12.0, 2.0, 10.0, Verdict::Clear),
            ("just under limit + U does not", 11.999, 2.0, 10.0, Verdict::Undecided),
            ("just under limit - U breaks it", 7.999, 2.0, 10.0, Verdict::Short),
            ("limit - U itself is not proved broken", 8.0, 2.0, 10.0, Verdict::Undecided),
            ("overlap smaller than U may still be short of room for sure", -1.0, 2.0, 10.0, Verdict::Short),
            ("overlap by more than U surely touches", -2.5, 2.0, 10.0, Verdict::Touching),
            ("no rule but that nothing may overlap", 0.5, 1.0, 0.0, Verdict::Undecided),
            ("contact with nothing uncertain is touching", 0.0, 0.0, 0.0, Verdict::Touching),
        ] {
            assert_eq!(decide(mm(gap), mm(gap), mm(uncertainty), mm(least)), want, "{case}");
        }
    }

    #[test]
    fn each_end_of_a_proved_interval_is_used_where_it_is_the_careful_one() {
        let mm = Length::from_mm;
        assert_eq!(decide(mm(9.99), mm(10.0), mm(0.0), mm(10.0)), Verdict::Undecided);
        assert_eq!(decide(mm(9.0), mm(9.999), mm(0.0), mm(10.0)), Verdict::Short);
    }
}
