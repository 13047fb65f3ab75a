//! The grammar of quantities: whole numbers, decimals, fractions and mixed numbers with units.

use thiserror::Error;

use super::{AngleUnit, LengthUnit};

/// Why a text is not a length or an angle.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum QuantityError {
    /// Nothing was written.
    #[error("nothing stands where a {kind} is due; write {example}")]
    Empty {
        /// `length` or `angle`.
        kind: &'static str,
        /// A form that works.
        example: &'static str,
    },
    /// A number could not be read.
    #[error("`{found}` in `{text}` is not a number; write {example}")]
    NotANumber {
        /// The whole text.
        text: String,
        /// The part that could not be read.
        found: String,
        /// A form that works.
        example: &'static str,
    },
    /// A unit is unknown.
    #[error(
        "`{found}` in `{text}` is not a unit of {kind}; {}use {known}",
        if found.starts_with(['O', 'o', 'l', 'I']) { "if a digit is meant, write 0 or 1, not a letter; else " } else { "" }
    )]
    UnknownUnit {
        /// The whole text.
        text: String,
        /// The unknown unit.
        found: String,
        /// `length` or `angle`.
        kind: &'static str,
        /// The units there are.
        known: &'static str,
    },
    /// A fraction has zero beneath the stroke.
    #[error("`{text}` divides by zero")]
    DivisionByZero {
        /// The whole text.
        text: String,
    },
    /// Two units where the second is not a smaller one: `3 mm 2 in`.
    #[error("`{text}` mixes units; only feet and inches go together: `7 ft 2 in`")]
    MixedUnits {
        /// The whole text.
        text: String,
    },
    /// The number is too large to be a real one, infinite or not a number.
    #[error("`{text}` is not a finite number")]
    NotFinite {
        /// The whole text.
        text: String,
    },
}

const LENGTH_EXAMPLE: &str = "`76.2 mm`, `3 in`, `2-1/8\"`, `14 3/16 in` or `7 ft 2 in`";
const ANGLE_EXAMPLE: &str = "`35 deg`, `22.5`, `1/4 turn` or `0.5 rad`";

pub(super) fn parse_length(text: &str, bare: LengthUnit) -> Result<f64, QuantityError> {
    let grammar = Grammar { text, kind: "length", example: LENGTH_EXAMPLE };
    let (sign, terms) = grammar.terms()?;
    let mut units = Vec::with_capacity(terms.len());
    for term in &terms {
        units.push(match term.unit {
            "" => None,
            word => Some(LengthUnit::from_word(word).ok_or_else(|| QuantityError::UnknownUnit {
                text: text.to_owned(),
                found: word.to_owned(),
                kind: "length",
                known: "mm, cm, m, in or ft",
            })?),
        });
    }
    let magnitude = match (terms.as_slice(), units.as_slice()) {
        ([one], [unit]) => one.scaled(unit.unwrap_or(bare).mm_ratio()),
        // `7' 2` is read as shops write it: the bare rest of feet is inches.
        ([feet, inches], [Some(LengthUnit::Foot), None | Some(LengthUnit::Inch)]) => {
            let (times, over) = LengthUnit::Inch.mm_ratio();
            (feet.scaled((12.0, 1.0)) + inches.scaled((1.0, 1.0))) * times / over
        }
        _ => return Err(QuantityError::MixedUnits { text: text.to_owned() }),
    };
    grammar.finite(sign * magnitude)
}

pub(super) fn parse_angle(text: &str) -> Result<f64, QuantityError> {
    let grammar = Grammar { text, kind: "angle", example: ANGLE_EXAMPLE };
    let (sign, terms) = grammar.terms()?;
    let [term] = terms.as_slice() else {
        return Err(QuantityError::MixedUnits { text: text.to_owned() });
    };
    let unit = match term.unit {
        "" => AngleUnit::Degree,
        word => AngleUnit::from_word(word).ok_or_else(|| QuantityError::UnknownUnit {
            text: text.to_owned(),
            found: word.to_owned(),
            kind: "angle",
            known: "deg, rad, arcmin or turn",
        })?,
    };
    // Through degrees, so that `90` and `1/4 turn` give the same bits.
    let rad = match unit {
        AngleUnit::Degree => term.scaled((1.0, 1.0)).to_radians(),
        AngleUnit::Turn => term.scaled((360.0, 1.0)).to_radians(),
        other => term.scaled((other.rad(), 1.0)),
    };
    grammar.finite(sign * rad)
}

/// A number with so many decimals, and no minus sign before nothing (`-0.0`).
pub(super) fn shown(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(bare) if bare.bytes().all(|byte| matches!(byte, b'0' | b'.')) => bare.to_owned(),
        _ => text,
    }
}

/// A number and the unit word after it (empty when there is none).
struct Term<'a> {
    whole: f64,
    over: Option<(f64, f64)>,
    unit: &'a str,
}

impl Term<'_> {
    /// Times a ratio of whole numbers. Multiplies all before the one division, so that `3/16 in` is the
    /// double nearest to 4.7625 mm: 3 * 254 / (16 * 10), where 3 * 25.4 / 16 is not.
    fn scaled(&self, (times, over): (f64, f64)) -> f64 {
        let (above, below) = self.over.unwrap_or((0.0, 1.0));
        (self.whole * below + above) * times / (below * over)
    }
}

struct Grammar<'a> {
    text: &'a str,
    kind: &'static str,
    example: &'static str,
}

impl<'a> Grammar<'a> {
    fn terms(&self) -> Result<(f64, Vec<Term<'a>>), QuantityError> {
        let mut rest = self.text.trim();
        if rest.is_empty() {
            return Err(QuantityError::Empty { kind: self.kind, example: self.example });
        }
        let mut sign = 1.0;
        if let Some(after) = rest.strip_prefix('-').or_else(|| rest.strip_prefix('\u{2212}')) {
            sign = -1.0;
            rest = after.trim_start();
        } else if let Some(after) = rest.strip_prefix('+') {
            rest = after.trim_start();
        }
        let mut terms = Vec::new();
        while !rest.is_empty() {
            let (term, after) = self.term(rest)?;
            terms.push(term);
            // `5'-6"`: the stroke after a unit joins, it does not subtract.
            rest = after.trim_start();
            // With nothing after it, it is a slip of the pen and is met as one.
            if let Some(joined) =
                rest.strip_prefix('-').map(str::trim_start).filter(|joined| !joined.is_empty())
            {
                rest = joined;
            }
        }
        Ok((sign, terms))
    }

    fn term(&self, rest: &'a str) -> Result<(Term<'a>, &'a str), QuantityError> {
        let (first, mut rest) = self.number(rest)?;
        let mut term = Term { whole: first, over: None, unit: "" };
        if let Some(after) = rest.trim_start().strip_prefix('/') {
            let (below, after) = self.number(after.trim_start())?;
            term.whole = 0.0;
            term.over = Some((first, below));
            rest = after;
        } else {
            // `2 1/8`, `2-1/8`: a fraction after a whole number belongs to it.
            let joined = rest.trim_start();
            let joined = joined.strip_prefix('-').unwrap_or(joined).trim_start();
            if joined.starts_with(|c: char| c.is_ascii_digit())
                && let Ok((above, after)) = self.number(joined)
                && let Some(after) = after.trim_start().strip_prefix('/')
            {
                let (below, after) = self.number(after.trim_start())?;
                term.over = Some((above, below));
                rest = after;
            }
        }
        if term.over.is_some_and(|(_, below)| below == 0.0) {
            return Err(QuantityError::DivisionByZero { text: self.text.to_owned() });
        }
        rest = rest.trim_start();
        let marks = ['"', '\'', '\u{201d}', '\u{2033}', '\u{2019}', '\u{2032}', '\u{b0}'];
        let length = match rest.chars().next() {
            Some(mark) if marks.contains(&mark) => mark.len_utf8(),
            _ => rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len()),
        };
        term.unit = &rest[..length];
        // `3 in.`: units are often written as abbreviations.
        let after = &rest[length..];
        let spelled = term.unit.starts_with(|c: char| c.is_alphabetic());
        Ok((term, if spelled { after.strip_prefix('.').unwrap_or(after) } else { after }))
    }

    /// Digits with at most one point and an exponent; no sign.
    fn number(&self, rest: &'a str) -> Result<(f64, &'a str), QuantityError> {
        let bytes = rest.as_bytes();
        let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
        let mut end = digits(0);
        let mut count = end;
        if bytes.get(end) == Some(&b'.') {
            let decimals = digits(end + 1);
            count += decimals;
            end += 1 + decimals;
        }
        if count > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
            let signed = matches!(bytes.get(end + 1), Some(b'+' | b'-'));
            let start = end + 1 + usize::from(signed);
            let exponent = if start <= bytes.len() { digits(start) } else { 0 };
            if exponent > 0 {
                end = start + exponent;
            }
        }
        let not_a_number = || QuantityError::NotANumber {
            text: self.text.to_owned(),
            found: rest.split_whitespace().next().unwrap_or(rest).to_owned(),
            example: self.example,
        };
        if count == 0 || bytes.get(end) == Some(&b'.') || bytes.get(end) == Some(&b',') {
            return Err(not_a_number());
        }
        let value: f64 = rest[..end].parse().map_err(|_| not_a_number())?;
        Ok((value, &rest[end..]))
    }

    fn finite(&self, value: f64) -> Result<f64, QuantityError> {
        if value.is_finite() {
            Ok(value)
        } else {
            Err(QuantityError::NotFinite { text: self.text.to_owned() })
        }
    }
}
