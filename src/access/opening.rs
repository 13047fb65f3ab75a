//! Published sizes of openings for hands and arms, by name.
//!
//! A size is for the 95th percentile (an opening must pass the large hand; a reach is judged by
//! the short arm: ISO 15534-2:2000, scope). Where the reference is recalled and was not seen,
//! [`Sure::FromMemory`] says so, and whoever prints the size must print that too. Own sizes may
//! always be given instead.

/// Whether a published figure was seen or recalled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sure {
    /// Read in the source, or in a page that quotes it.
    Seen,
    /// Recalled; check it against the source before relying on it.
    FromMemory,
}

/// What the hand wears.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wear {
    /// Nothing.
    Bare,
    /// A work glove.
    Gloved,
    /// A light sleeve.
    LightClothing,
}

/// An opening that a hand or an arm needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Its name: what a scene writes.
    pub name: &'static str,
    /// What goes through it.
    pub what: &'static str,
    /// What it wears.
    pub wear: Wear,
    /// Diameter of a round opening that will do, mm.
    pub round_mm: f64,
    /// Smaller and greater side of a rectangular opening that will do as well, mm.
    pub flat_mm: Option<(f64, f64)>,
    /// Where it is published.
    pub source: &'static str,
    /// Whether that was seen.
    pub sure: Sure,
}

const ARM_FIGURE: &str = "MIL-STD-1472F/G, arm and hand access dimensions figure";

const fn opening(
    name: &'static str,
    what: &'static str,
    wear: Wear,
    round_mm: f64,
    flat_mm: Option<(f64, f64)>,
) -> Opening {
    Opening { name, what, wear, round_mm, flat_mm, source: ARM_FIGURE, sure: Sure::FromMemory }
}

/// All openings known by name.
pub const OPENINGS: [Opening; 13] = [
    opening("fingertip-bare", "one fingertip, to push", Wear::Bare, 32.0, None),
    opening("fingertip-gloved", "one fingertip, to push", Wear::Gloved, 38.0, None),
    opening("two-fingers-bare", "two fingers, to twist", Wear::Bare, 50.0, None),
    opening("two-fingers-gloved", "two fingers, to twist", Wear::Gloved, 65.0, None),
    opening("hand-bare", "empty hand, rolled, to the wrist", Wear::Bare, 95.0, Some((95.0, 95.0))),
    opening("hand-bare-flat", "empty hand, flat, to the wrist", Wear::Bare, 100.0, Some((55.0, 100.0))),
    opening("hand-gloved", "empty hand to the wrist", Wear::Gloved, 150.0, Some((100.0, 150.0))),
    opening("fist-bare", "fist to the wrist", Wear::Bare, 125.0, Some((95.0, 125.0))),
    opening("fist-gloved", "fist to the wrist", Wear::Gloved, 150.0, Some((115.0, 150.0))),
    opening("hand-with-25mm-bare", "hand that holds a 25 mm object", Wear::Bare, 95.0, Some((95.0, 95.0))),
    opening(
        "hand-with-25mm-gloved",
        "hand that holds a 25 mm object",
        Wear::Gloved,
        150.0,
        Some((150.0, 150.0)),
    ),
    opening("arm-to-elbow", "arm to the elbow", Wear::LightClothing, 115.0, Some((100.0, 115.0))),
    opening("arm-to-shoulder", "arm to the shoulder", Wear::LightClothing, 125.0, Some((125.0, 125.0))),
];

/// Clear room all round an object over 25 mm that a hand carries, mm: bare, gloved.
///
/// # Source
/// MIL-STD-1472F/G, arm and hand access dimensions figure; from memory.
pub const ROUND_HELD_OBJECT_MM: (f64, f64) = (45.0, 65.0);

/// The opening of a name.
pub fn opening_named(name: &str) -> Option<&'static Opening> {
    OPENINGS.iter().find(|opening| opening.name == name)
}

/// What a corridor of some width means for an opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OpeningFit {
    /// A ball of the opening's diameter passes: proved.
    Passes,
    /// A ball of the rectangular opening's smaller side passes, one of the round opening's
    /// diameter does not or may not: the hand passes only if the way is flat and wide enough
    /// across, which a ball cannot tell.
    MayPassFlat,
    /// The proved interval straddles the size: not decided to this tolerance.
    Open,
    /// Not even a ball of the smaller side passes: proved.
    TooNarrow,
}

impl Opening {
    /// What a corridor whose width lies in a proved interval (mm) means for this opening.
    pub fn fit(&self, lower_mm: f64, upper_mm: f64) -> OpeningFit {
        let least_mm = self.flat_mm.map_or(self.round_mm, |(smaller, _)| smaller.min(self.round_mm));
        if lower_mm >= self.round_mm {
            OpeningFit::Passes
        } else if upper_mm < least_mm {
            OpeningFit::TooNarrow
        } else if least_mm < self.round_mm && lower_mm >= least_mm {
            OpeningFit::MayPassFlat
        } else {
            OpeningFit::Open
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_table_is_as_published() {
        // MIL-STD-1472F/G figure as in the project's list of published check values; from memory.
        for (name, round_mm, flat_mm) in [
            ("hand-bare", 95.0, Some((95.0, 95.0))),
            ("hand-bare-flat", 100.0, Some((55.0, 100.0))),
            ("hand-gloved", 150.0, Some((100.0, 150.0))),
            ("fist-bare", 125.0, Some((95.0, 125.0))),
            ("fist-gloved", 150.0, Some((115.0, 150.0))),
            ("hand-with-25mm-bare", 95.0, Some((95.0, 95.0))),
            ("hand-with-25mm-gloved", 150.0, Some((150.0, 150.0))),
            ("arm-to-elbow", 115.0, Some((100.0, 115.0))),
            ("arm-to-shoulder", 125.0, Some((125.0, 125.0))),
            ("fingertip-bare", 32.0, None),
            ("fingertip-gloved", 38.0, None),
            ("two-fingers-bare", 50.0, None),
            ("two-fingers-gloved", 65.0, None),
        ] {
            let opening = opening_named(name).unwrap();
            assert_eq!((opening.round_mm, opening.flat_mm), (round_mm, flat_mm), "{name}");
            assert_eq!(opening.sure, Sure::FromMemory, "{name}");
        }
        assert_eq!(opening_named("hand"), None);
    }

    #[test]
    fn a_name_is_said_once_and_gloves_need_more() {
        for (i, opening) in OPENINGS.iter().enumerate() {
            assert!(OPENINGS[..i].iter().all(|other| other.name != opening.name), "{}", opening.name);
            if let Some(stem) = opening.name.strip_suffix("-gloved") {
                let bare = opening_named(&format!("{stem}-bare")).unwrap();
                assert!(bare.round_mm < opening.round_mm, "{}", opening.name);
            }
        }
    }

    #[test]
    fn an_interval_decides_or_says_that_it_does_not() {
        let flat = opening_named("hand-bare-flat").unwrap();
        for (case, lower, upper, want) in [
            ("wide enough for the round one", 100.0, 101.0, OpeningFit::Passes),
            ("over 55 but under 100", 70.0, 71.0, OpeningFit::MayPassFlat),
            ("straddles 55", 54.5, 55.5, OpeningFit::Open),
            ("under 55", 53.0, 54.0, OpeningFit::TooNarrow),
        ] {
            assert_eq!(flat.fit(lower, upper), want, "{case}");
        }
        let round = opening_named("fingertip-bare").unwrap();
        assert_eq!(round.fit(31.5, 32.5), OpeningFit::Open, "straddles 32");
        assert_eq!(round.fit(31.0, 31.9), OpeningFit::TooNarrow, "under 32");
    }
}
