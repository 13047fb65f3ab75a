//! Single values: words, flags, quantities, points, directions, dates.

use nalgebra::{Point2, Point3, Vector3};

use super::table::told;
use super::{Cx, Named};
use crate::scene::error::{Fault, nearest};
use crate::scene::read::{Node, NodeKind, Place};
use crate::space::{Angle, Direction, Length, QuantityError};

/// Nothing in a bay is farther from anything than this, mm; a greater figure is a slip of the unit.
const FARTHEST_MM: f64 = 1.0e6;

/// A direction as written: words are the vehicle's, triples and `z` those of the frame it stands in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum WrittenDirection {
    /// `forward`, `up`, ...
    Vehicle(Direction),
    /// A vector in the frame that the thing stands in; not zero.
    Local(Vector3<f64>),
}

/// The items of a list; nothing written is an empty one.
pub(crate) fn list<'a>(
    cx: &Cx<'_>,
    node: &'a Node,
    what: &str,
    example: &'static str,
) -> Option<Vec<&'a Node>> {
    let real = node.real();
    match &real.kind {
        NodeKind::List(items, _) => Some(items.iter().map(|item| &**item).collect()),
        NodeKind::Nothing => Some(Vec::new()),
        _ => {
            let found = told(real);
            cx.add(real, Fault::WrongKind { what: what.to_owned(), found, expected: "a list", example });
            None
        }
    }
}

/// A word or sentence; not empty.
pub(crate) fn text(cx: &Cx<'_>, node: &Node, what: &str, example: &'static str) -> Option<Named> {
    let real = node.real();
    match real.scalar() {
        Some(text) if !text.trim().is_empty() => {
            Some(Named { text: text.trim().to_owned(), place: real.place.clone() })
        }
        _ => {
            let found = if real.scalar().is_some() { "nothing".to_owned() } else { told(real) };
            cx.add(real, Fault::WrongKind { what: what.to_owned(), found, expected: "text", example });
            None
        }
    }
}

/// One word, or a list of words.
pub(crate) fn words(cx: &Cx<'_>, node: &Node, what: &str, example: &'static str) -> Vec<Named> {
    match &node.real().kind {
        NodeKind::List(items, _) => items.iter().filter_map(|item| text(cx, item, what, example)).collect(),
        _ => text(cx, node, what, example).into_iter().collect(),
    }
}

/// `true` or `false`.
pub(crate) fn flag(cx: &Cx<'_>, node: &Node, what: &str) -> Option<bool> {
    match node.scalar() {
        Some("true") => Some(true),
        Some("false") => Some(false),
        _ => {
            let fault = Fault::WrongKind {
                what: what.to_owned(),
                found: told(node.real()),
                expected: "`true` or `false`",
                example: "`true` or `false`",
            };
            cx.add(node.real(), fault);
            None
        }
    }
}

fn scalar_of<'a>(
    cx: &Cx<'_>,
    node: &'a Node,
    what: &str,
    expected: &'static str,
    example: &'static str,
) -> Option<&'a str> {
    let real = node.real();
    match real.scalar() {
        Some(text) => {
            let plain = text.trim_start_matches(['+', '-']).to_ascii_lowercase();
            if matches!(plain.as_str(), ".inf" | ".nan" | "inf" | "nan" | "infinity") {
                let cause = QuantityError::NotFinite { text: text.to_owned() };
                cx.add(real, Fault::Quantity { what: what.to_owned(), cause });
                return None;
            }
            Some(text)
        }
        None => {
            let found = told(real);
            cx.add(real, Fault::WrongKind { what: what.to_owned(), found, expected, example });
            None
        }
    }
}

/// A length, mm; any sign.
pub(crate) fn length(cx: &Cx<'_>, node: &Node, what: &str) -> Option<f64> {
    let text = scalar_of(cx, node, what, "a length", "`76.2`, `3 in` or `2-1/8 in`")?;
    match Length::parse(text, cx.units) {
        Ok(length) if length.mm().abs() <= FARTHEST_MM => Some(length.mm()),
        Ok(length) => {
            let fault = Fault::Range {
                what: what.to_owned(),
                found: format!("{:.0} m", length.mm() / 1000.0),
                limit: "no length in a scene is over 1000 m".into(),
                remedy: "check the unit: `units` at the top of the file, or one written behind the figure",
            };
            cx.add(node.real(), fault);
            None
        }
        Err(cause) => {
            cx.add(node.real(), Fault::Quantity { what: what.to_owned(), cause });
            None
        }
    }
}

/// A length above zero, mm.
pub(crate) fn size(cx: &Cx<'_>, node: &Node, what: &str) -> Option<f64> {
    let mm = length(cx, node, what)?;
    if mm > 0.0 {
        return Some(mm);
    }
    let fault = Fault::Range {
        what: what.to_owned(),
        found: told(node.real()),
        limit: "it must be above zero".into(),
        remedy: "write a size above zero",
    };
    cx.add(node.real(), fault);
    None
}

/// A length of zero or more, mm.
pub(crate) fn extent(cx: &Cx<'_>, node: &Node, what: &str) -> Option<f64> {
    let mm = length(cx, node, what)?;
    if mm >= 0.0 {
        return Some(mm);
    }
    let fault = Fault::Range {
        what: what.to_owned(),
        found: told(node.real()),
        limit: "it must not be negative".into(),
        remedy: "write zero or more",
    };
    cx.add(node.real(), fault);
    None
}

/// An angle within one turn either way.
pub(crate) fn angle(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Angle> {
    let text = scalar_of(cx, node, what, "an angle", "`35 deg`, `22.5` or `1/4 turn`")?;
    match Angle::parse(text) {
        Ok(angle) if angle.deg().abs() <= 360.0 => Some(angle),
        Ok(_) => {
            let fault = Fault::Range {
                what: what.to_owned(),
                found: told(node.real()),
                limit: "it must lie within one turn, -360 to 360 deg".into(),
                remedy: "take whole turns off",
            };
            cx.add(node.real(), fault);
            None
        }
        Err(cause) => {
            cx.add(node.real(), Fault::Quantity { what: what.to_owned(), cause });
            None
        }
    }
}

/// A standard uncertainty of an angle, rad: 0 to 15 deg.
pub(crate) fn small_angle(cx: &Cx<'_>, node: &Node, what: &str) -> Option<f64> {
    let sigma = angle(cx, node, what)?;
    if (0.0..=15.0).contains(&sigma.deg()) {
        return Some(sigma.rad());
    }
    let fault = Fault::Range {
        what: what.to_owned(),
        found: sigma.to_string(),
        limit: "it must lie within 0 and 15 deg".into(),
        remedy: "measure the turn better; the check treats it as small",
    };
    cx.add(node.real(), fault);
    None
}

/// An angle of zero or more.
pub(crate) fn sweep(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Angle> {
    let angle = angle(cx, node, what)?;
    if angle.rad() >= 0.0 {
        return Some(angle);
    }
    let fault = Fault::Range {
        what: what.to_owned(),
        found: told(node.real()),
        limit: "it must not be negative".into(),
        remedy: "write it without the minus; the direction it turns about sets which way",
    };
    cx.add(node.real(), fault);
    None
}

/// A plain number above zero.
pub(crate) fn number(cx: &Cx<'_>, node: &Node, what: &str) -> Option<f64> {
    let text = scalar_of(cx, node, what, "a number", "`7850`")?;
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() && value > 0.0 => Some(value),
        _ => {
            let found = told(node.real());
            let fault = Fault::WrongKind {
                what: what.to_owned(),
                found,
                expected: "a number above zero",
                example: "a figure such as `7850`",
            };
            cx.add(node.real(), fault);
            None
        }
    }
}

/// A whole number above zero, at most 1000.
pub(crate) fn count(cx: &Cx<'_>, node: &Node, what: &str, example: &'static str) -> Option<usize> {
    let text = scalar_of(cx, node, what, "a whole number", example)?;
    match text.parse::<usize>() {
        Ok(value) if (1..=1000).contains(&value) => Some(value),
        _ => {
            let (what, found) = (what.to_owned(), told(node.real()));
            let expected = "a whole number from 1 to 1000";
            cx.add(node.real(), Fault::WrongKind { what, found, expected, example });
            None
        }
    }
}

fn lengths<const N: usize>(
    cx: &Cx<'_>,
    node: &Node,
    what: &str,
    expected: &'static str,
    example: &'static str,
) -> Option<[f64; N]> {
    let items = match &node.real().kind {
        NodeKind::List(items, _) => items,
        _ => {
            let found = told(node.real());
            cx.add(node.real(), Fault::WrongKind { what: what.to_owned(), found, expected, example });
            return None;
        }
    };
    if items.len() != N {
        let expected = if N == 2 { "two lengths" } else { "three lengths" };
        let fault = Fault::Count { what: what.to_owned(), found: items.len(), expected, example };
        cx.add(node.real(), fault);
        return None;
    }
    let mut out = [0.0; N];
    let mut whole = true;
    for (slot, item) in out.iter_mut().zip(items) {
        match length(cx, item, what) {
            Some(mm) => *slot = mm,
            None => whole = false,
        }
    }
    whole.then_some(out)
}

/// Three lengths, mm.
pub(crate) fn point(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Point3<f64>> {
    lengths::<3>(cx, node, what, "a point of three lengths", "`[x, y, z]`").map(Point3::from)
}

/// Two lengths, mm.
pub(crate) fn flat_point(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Point2<f64>> {
    lengths::<2>(cx, node, what, "a point of two lengths", "`[x, y]`").map(Point2::from)
}

/// A list of points, each read by `one`; `None` when any is wrong.
pub(crate) fn points<T>(
    cx: &Cx<'_>,
    node: &Node,
    what: &str,
    example: &'static str,
    one: impl Fn(&Cx<'_>, &Node, &str) -> Option<T>,
) -> Option<Vec<T>> {
    let items = list(cx, node, what, example)?;
    let out: Vec<T> = items.iter().filter_map(|item| one(cx, item, what)).collect();
    (out.len() == items.len()).then_some(out)
}

const DIRECTION: &str = "`forward`, `rearward`, `left`, `right`, `up`, `down`, `+x` ... `-z` or `[x, y, z]`";

/// A direction.
pub(crate) fn direction(cx: &Cx<'_>, node: &Node, what: &str) -> Option<WrittenDirection> {
    if let NodeKind::List(items, _) = &node.real().kind {
        if items.len() != 3 {
            let found = items.len();
            let fault =
                Fault::Count { what: what.to_owned(), found, expected: "three numbers", example: DIRECTION };
            cx.add(node.real(), fault);
            return None;
        }
        let vector = point(cx, node, what)?.coords;
        if vector.norm() == 0.0 {
            cx.add(node.real(), Fault::NoDirection { what: what.to_owned() });
            return None;
        }
        return Some(WrittenDirection::Local(vector.normalize()));
    }
    let word = match node.scalar() {
        Some(word) => word,
        None => {
            let found = told(node.real());
            let fault = Fault::WrongKind {
                what: what.to_owned(),
                found,
                expected: "a direction",
                example: DIRECTION,
            };
            cx.add(node.real(), fault);
            return None;
        }
    };
    if let Some(direction) = Direction::from_word(word) {
        return Some(WrittenDirection::Vehicle(direction));
    }
    let local = match word.strip_prefix('+').unwrap_or(word) {
        "x" => Vector3::x(),
        "y" => Vector3::y(),
        "z" => Vector3::z(),
        "-x" => -Vector3::x(),
        "-y" => -Vector3::y(),
        "-z" => -Vector3::z(),
        _ => {
            let known: Vec<String> =
                Direction::ALL.iter().map(|direction| direction.word().to_owned()).collect();
            let fault = Fault::Choice {
                found: word.to_owned(),
                what: "a direction",
                nearest: nearest(word, known.iter().map(String::as_str)),
                known: known.into_iter().chain(["+x ... -z".to_owned(), "[x, y, z]".to_owned()]).collect(),
            };
            cx.add(node.real(), fault);
            return None;
        }
    };
    Some(WrittenDirection::Local(local))
}

/// A direction that must be one of the thing's own frame.
pub(crate) fn own_direction(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Vector3<f64>> {
    match direction(cx, node, what)? {
        WrittenDirection::Local(vector) => Some(vector),
        WrittenDirection::Vehicle(direction) => {
            cx.add(node.real(), of_the_vehicle(direction));
            None
        }
    }
}

/// The words of the vehicle do not turn with the thing.
pub(super) fn of_the_vehicle(direction: Direction) -> Fault {
    Fault::Choice {
        found: direction.word().to_owned(),
        what: "a direction of the body's own frame",
        nearest: None,
        known: ["+x", "-x", "+y", "-y", "+z", "-z", "[x, y, z]"].map(str::to_owned).to_vec(),
    }
}

/// A direction that must be one of the vehicle's or a triple; as a unit vector in vehicle axes.
pub(crate) fn vehicle_direction(cx: &Cx<'_>, node: &Node, what: &str) -> Option<Vector3<f64>> {
    Some(match direction(cx, node, what)? {
        WrittenDirection::Vehicle(direction) => direction.unit().into_inner(),
        WrittenDirection::Local(vector) => vector,
    })
}

/// One of some words.
pub(crate) fn choice(cx: &Cx<'_>, node: &Node, what: &'static str, known: &[&str]) -> Option<String> {
    let found = text(cx, node, what, "one of its words")?;
    if known.contains(&found.text.as_str()) {
        return Some(found.text);
    }
    let fault = Fault::Choice {
        nearest: nearest(&found.text, known.iter().copied()),
        found: found.text,
        what,
        known: known.iter().map(|word| word.to_string()).collect(),
    };
    cx.faults.add(found.place, fault);
    None
}

/// A date, `YYYY-MM-DD`, of a day that there is.
pub(crate) fn date(cx: &Cx<'_>, node: &Node) -> Option<String> {
    let found = text(cx, node, "the date", "`2026-03-14`")?;
    if is_date(&found.text) {
        return Some(found.text);
    }
    let fault = Fault::WrongKind {
        what: "the date".into(),
        found: format!("`{}`", found.text),
        expected: "a day",
        example: "year, month and day: `2026-03-14`",
    };
    cx.faults.add(found.place, fault);
    None
}

/// Whether a text is a day of the calendar, `YYYY-MM-DD`.
pub(crate) fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    let shaped = bytes.len() == 10
        && bytes
            .iter()
            .enumerate()
            .all(|(at, byte)| if matches!(at, 4 | 7) { *byte == b'-' } else { byte.is_ascii_digit() });
    if !shaped {
        return false;
    }
    let figure = |range: std::ops::Range<usize>| text[range].parse::<u32>().unwrap_or(0);
    let (year, month, day) = (figure(0..4), figure(5..7), figure(8..10));
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        _ => 0,
    };
    (1..=days).contains(&day)
}

/// Marks a place with a fault when two texts that must differ are the same.
pub(crate) fn differ(cx: &Cx<'_>, one: &Named, other: &Named) {
    if one.text == other.text {
        let place: Place = other.place.clone();
        cx.faults.add(place, Fault::SamePair { name: other.text.clone() });
    }
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn only_days_of_the_calendar() {
        for (text, want) in [
            ("2026-03-14", true),
            ("2024-02-29", true),
            ("2026-02-29", false),
            ("2000-02-29", true),
            ("1900-02-29", false),
            ("2026-13-01", false),
            ("2026-04-31", false),
            ("2026-4-1", false),
            ("14-03-2026", false),
            ("2026-03-\u{662}4", false),
        ] {
            assert_eq!(is_date(text), want, "{text}");
        }
    }
}
