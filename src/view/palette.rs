//! Colours, and the word that goes with each: a colour never stands alone.
//!
//! Verdicts take theirs from the palette of Okabe and Ito, "Color Universal Design" (2008), made
//! so that people with any common kind of colour blindness can tell its members apart; bodies that
//! no finding concerns stay grey, so that colour always means something.

use crate::check::Verdict;
use crate::scene::Body;

/// A colour as a screen shows it: red, green, blue, gamma-encoded (sRGB), 0 to 255.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shade {
    /// Red.
    pub red: u8,
    /// Green.
    pub green: u8,
    /// Blue.
    pub blue: u8,
}

impl Shade {
    /// From three channels.
    pub const fn new(red: u8, green: u8, blue: u8) -> Self {
        Shade { red, green, blue }
    }

    /// The three channels.
    pub const fn channels(self) -> [u8; 3] {
        [self.red, self.green, self.blue]
    }

    /// This colour with a share (0 to 1) of another mixed in, channel by channel.
    pub fn mixed(self, other: Shade, share: f64) -> Self {
        let mix = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share).round() as u8;
        Shade::new(mix(self.red, other.red), mix(self.green, other.green), mix(self.blue, other.blue))
    }
}

// The palette, from Okabe and Ito's published table.

/// Okabe-Ito orange.
pub(super) const ORANGE: Shade = Shade::new(0xE6, 0x9F, 0x00);
/// Okabe-Ito sky blue.
pub(super) const SKY_BLUE: Shade = Shade::new(0x56, 0xB4, 0xE9);
/// Okabe-Ito bluish green.
pub(super) const BLUISH_GREEN: Shade = Shade::new(0x00, 0x9E, 0x73);
/// Okabe-Ito blue.
pub(super) const BLUE: Shade = Shade::new(0x00, 0x72, 0xB2);
/// Okabe-Ito yellow.
pub(super) const YELLOW: Shade = Shade::new(0xF0, 0xE4, 0x42);
/// Okabe-Ito vermillion.
pub(super) const VERMILLION: Shade = Shade::new(0xD5, 0x5E, 0x00);

/// A body on its way in.
pub(super) const ON_ITS_WAY: Shade = BLUE;
/// And the word for it.
pub(super) const ON_ITS_WAY_WORD: &str = "on its way";
/// Behind everything.
pub(super) const BACKGROUND: Shade = Shade::new(0xF4, 0xF6, 0xF8);
/// Factory equipment that stays, when no finding concerns it.
pub(super) const KEPT: Shade = Shade::new(0x9C, 0xA3, 0xAC);
/// Any other body that no finding concerns.
pub(super) const PLAIN: Shade = Shade::new(0xCB, 0xCF, 0xD4);
/// Lines along edges, and text.
pub(super) const INK: Shade = Shade::new(0x1E, 0x24, 0x2B);
/// The strip under a picture, and panels.
pub(super) const PAPER: Shade = Shade::new(0xFF, 0xFF, 0xFF);
/// Quiet text and rules.
pub(super) const FAINT: Shade = Shade::new(0x5B, 0x65, 0x70);

/// The colour of a verdict.
pub const fn verdict_shade(verdict: Verdict) -> Shade {
    match verdict {
        Verdict::Clear => BLUISH_GREEN,
        Verdict::Undecided => YELLOW,
        Verdict::Short => ORANGE,
        Verdict::Touching => VERMILLION,
    }
}

/// Verdicts, worst first, as a legend lists them.
pub(super) const VERDICTS: [Verdict; 4] =
    [Verdict::Touching, Verdict::Short, Verdict::Undecided, Verdict::Clear];

/// What a verdict's word means, in a few more words.
pub(super) const fn verdict_meaning(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Touching => "the bodies meet",
        Verdict::Short => "less room than required",
        Verdict::Undecided => "the measurements cannot say",
        Verdict::Clear => "room enough, measured error included",
    }
}

/// The colour of a body that no finding colours, and the word for what it is.
pub(super) fn body_shade(body: &Body) -> (Shade, &'static str) {
    if body.candidate {
        (SKY_BLUE, "candidate")
    } else if body.kept {
        (KEPT, "kept")
    } else {
        (PLAIN, "other")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, WCAG 2.1 (definition of "relative luminance"; formula from memory).
    fn luminance(shade: Shade) -> f64 {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * linear(shade.red) + 0.7152 * linear(shade.green) + 0.0722 * linear(shade.blue)
    }

    #[test]
    fn text_reads_on_paper() {
        for ink in [INK, FAINT] {
            let contrast = (luminance(PAPER) + 0.05) / (luminance(ink) + 0.05);
            assert!(contrast >= 4.5, "{ink:?}: contrast {contrast:.2}, WCAG AA asks for 4.5");
        }
    }

    #[test]
    fn verdicts_share_no_colour_and_differ_in_lightness_too() {
        for (i, one) in VERDICTS.iter().enumerate() {
            for other in &VERDICTS[i + 1..] {
                let (a, b) = (verdict_shade(*one), verdict_shade(*other));
                assert_ne!(a, b);
                // A black-and-white print keeps neighbours of the scale apart, except that
                // touching and clear are both dark: there the word and the number decide.
                if (*one, *other) != (Verdict::Touching, Verdict::Clear) {
                    let apart = (luminance(a) - luminance(b)).abs();
                    assert!(apart > 0.1, "{} and {}: {apart:.3}", one.word(), other.word());
                }
            }
        }
    }

    #[test]
    fn mixing_nothing_changes_nothing() {
        assert_eq!(ORANGE.mixed(SKY_BLUE, 0.0), ORANGE);
        assert_eq!(ORANGE.mixed(SKY_BLUE, 1.0), SKY_BLUE);
    }
}
