//! Known misreadings: what a length wrong by so much was probably taken for.

use crate::space::Length;

/// Lengths by which tapes are misread, mm, with their words: common practice, no source.
const STEPS: [(f64, &str); 7] = [
    (10.0, "10 mm"),
    (Length::from_inches(1.0).mm(), "an inch"),
    (50.0, "50 mm"),
    (100.0, "100 mm"),
    (Length::from_inches(12.0).mm(), "a foot"),
    (500.0, "500 mm"),
    (1000.0, "1 m"),
];

/// An error is taken for a known one within this many of its standard uncertainties.
const NEAR: f64 = 2.0;
/// A known misreading must stand out from none by as many.
const DISTINCT: f64 = 5.0;

/// Words for a reading that is `error_mm` too long (below zero: too short), known to `sigma_mm`; `None` when no known
/// misreading is near, or everything would be.
///
/// Two digits of a whole number of millimetres may have changed places; then the error is a multiple of 9.
pub(super) fn known_slip(read_mm: f64, error_mm: f64, sigma_mm: f64) -> Option<String> {
    let steps = STEPS.iter().map(|(step, words)| (*step, format!("{words} off is a usual slip")));
    let swaps = swapped(read_mm).into_iter().filter_map(|right| {
        let by = read_mm - right;
        (by * error_mm > 0.0).then(|| (by.abs(), format!("with two digits swapped it would be {right:.0}")))
    });
    steps
        .chain(swaps)
        .map(|(by, words)| ((error_mm.abs() - by).abs() / sigma_mm, by, words))
        .filter(|(off, by, _)| *off <= NEAR && *by >= DISTINCT * sigma_mm)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, _, words)| words)
}

/// The number with each two neighbouring digits swapped; none for what is not a whole number of millimetres.
fn swapped(read_mm: f64) -> Vec<f64> {
    if read_mm.fract() != 0.0 || !(10.0..1e6).contains(&read_mm) {
        return Vec::new();
    }
    let digits: Vec<u8> = format!("{read_mm:.0}").into_bytes();
    (1..digits.len())
        .filter(|k| digits[*k] != digits[k - 1])
        .filter_map(|k| {
            let mut other = digits.clone();
            other.swap(k - 1, k);
            String::from_utf8(other).ok()?.parse().ok()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_slips_are_known_by_their_size() {
        for (case, read, error, sigma, want) in [
            ("a hundred", 812.0, 101.2, 2.0, Some("100 mm off is a usual slip")),
            ("a hundred short", 612.0, -98.8, 2.0, Some("100 mm off is a usual slip")),
            ("an inch", 812.5, 24.9, 1.5, Some("an inch off is a usual slip")),
            ("a foot", 812.5, -304.0, 1.5, Some("a foot off is a usual slip")),
            ("1164 read for 1146", 1164.0, 17.3, 1.5, Some("with two digits swapped it would be 1146")),
            ("1146 read for 1164", 1146.0, -18.9, 1.5, Some("with two digits swapped it would be 1164")),
            ("the wrong way round: 1146 is short of 1164, not long", 1146.0, 18.0, 1.5, None),
            ("not a whole number", 1164.5, 17.3, 1.5, None),
            ("no known size", 812.0, 71.0, 2.0, None),
            ("too little known of it to tell", 812.0, 24.0, 8.0, None),
        ] {
            assert_eq!(known_slip(read, error, sigma).as_deref(), want, "{case}");
        }
    }
}
