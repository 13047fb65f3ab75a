//! The unit in which a scan was written, guessed from how large it then is.

use crate::space::LengthUnit;

/// Sizes that a scan of an engine bay, a stand or a part of one may have, diagonally, mm (common practice, no source).
const LIKELY_MM: [f64; 2] = [150.0, 8000.0];
/// The size from which the guess starts, mm: a bay (common practice, no source).
const TYPICAL_MM: f64 = 1800.0;
/// Every unit that a scan may be in, and how seldom it is: as if the size were off by e to that power (common
/// practice, no source).
const UNITS: [(LengthUnit, f64); 5] = [
    (LengthUnit::Millimetre, 0.0),
    (LengthUnit::Metre, 0.0),
    (LengthUnit::Inch, 1.0),
    (LengthUnit::Centimetre, 2.0),
    (LengthUnit::Foot, 2.0),
];

/// A unit, and how large the scan is in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnitGuess {
    /// The unit.
    pub unit: LengthUnit,
    /// Diagonal of the scan if that is its unit, mm.
    pub diagonal_mm: f64,
}

/// Units in which a scan of this diagonal, in the file's own unit, has a likely size; the likeliest first. Empty
/// when none has. Never more than a guess: whoever reads the scan says the unit.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::space::LengthUnit;
/// use baywright::survey::scan::guess_units;
/// assert_eq!(guess_units(1.9)[0].unit, LengthUnit::Metre); // 1.9 m
/// assert_eq!(guess_units(1900.0)[0].unit, LengthUnit::Millimetre);
/// assert!(guess_units(1e6).is_empty());
/// ```
pub fn guess_units(diagonal: f64) -> Vec<UnitGuess> {
    let mut guesses: Vec<(f64, UnitGuess)> = UNITS
        .iter()
        .map(|&(unit, seldom)| {
            let diagonal_mm = diagonal * unit.mm();
            ((diagonal_mm / TYPICAL_MM).ln().abs() + seldom, UnitGuess { unit, diagonal_mm })
        })
        .filter(|(_, guess)| (LIKELY_MM[0]..=LIKELY_MM[1]).contains(&guess.diagonal_mm))
        .collect();
    guesses.sort_by(|a, b| a.0.total_cmp(&b.0));
    guesses.into_iter().map(|(_, guess)| guess).collect()
}
