//! The kinds of argument: what a function takes, read from what a script hands over.
//!
//! Every function of ours takes its arguments as they come and reads them here, so that one place
//! knows that a length may be written `63.5` or `"2-1/2 in"`, and says so when it is not.

use nalgebra::{Point2, Point3, Unit, Vector3};
use rhai::Dynamic;

use crate::space::{Angle, Direction, Length, LengthUnit, Pose};

use super::values::{AngleValue, Form, Heading, Spot, Stand};

/// What an argument is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Number,
    Length,
    Angle,
    Text,
    Direction,
    Point,
    Where,
    Pose,
    Shape,
    Shapes,
    Points,
    Outline,
    Outlines,
    Body,
    Scene,
    Map,
}

/// No length beyond this is meant: it keeps every sum of lengths finite and fine enough.
const FARTHEST_MM: f64 = 1e7;

impl Kind {
    /// The words for it, article included.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Kind::Number => "a number",
            Kind::Length => "a length",
            Kind::Angle => "an angle",
            Kind::Text => "a text",
            Kind::Direction => "a direction",
            Kind::Point => "a point",
            Kind::Where => "a pose or a point",
            Kind::Pose => "a pose",
            Kind::Shape => "a shape",
            Kind::Shapes => "a list of shapes",
            Kind::Points => "a list of points",
            Kind::Outline => "an outline",
            Kind::Outlines => "a list of outlines",
            Kind::Body => "a body",
            Kind::Scene => "the scene",
            Kind::Map => "a map",
        }
    }

    /// How it is written.
    pub(super) const fn forms(self) -> &'static str {
        match self {
            Kind::Number => "`2`, `2.5`",
            Kind::Length => "`63.5` in the scene's units, or `\"2-1/2 in\"`, `\"76.2 mm\"`",
            Kind::Angle => "`deg(35)`, `35` for degrees, or `\"1/4 turn\"`",
            Kind::Text => "`\"like this\"`",
            Kind::Direction => {
                "`up`, `down`, `forward`, `rearward`, `left`, `right`, `\"up\"` or `dir(1, 0, 1)`"
            }
            Kind::Point => "`at(300, -120, 700)` or `[300, -120, \"27-1/2 in\"]`",
            Kind::Where => {
                "`at(300, -120, 700)`, `pose(at(300, -120, 700)).turned(up, deg(30))` or `scene.frame(\"name\")`"
            }
            Kind::Pose => {
                "`pose(at(300, -120, 700))`, `scene.frame(\"name\")` or `scene.body(\"name\").face(up)`"
            }
            Kind::Shape => "`cylinder(80, 60)`, `box(240, 175, 190)`, `union([...])`",
            Kind::Shapes => "`[ball(40), cylinder(30, 80).put(at(0, 0, 40))]`",
            Kind::Points => "`[at(0, 0, 0), [100, 0, 0], [100, 80, 0]]`",
            Kind::Outline => "`[[0, 0], [80, 0], [80, 40], [0, 40]]`",
            Kind::Outlines => "`[[[0, 0], [8, 0], [4, 8]]]`",
            Kind::Body => "`\"name\"` or `scene.body(\"name\")`",
            Kind::Scene => "`scene`",
            Kind::Map => "`#{role: \"hot\", wrap: 6}`",
        }
    }
}

/// A value in words, for messages.
pub(super) fn describe(value: &Dynamic) -> String {
    if let Ok(whole) = value.as_int() {
        return format!("the whole number {whole}");
    }
    if let Ok(number) = value.as_float() {
        return format!("the number {number}");
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        return format!("the text `{}`", shortened(&text, 40));
    }
    if let Ok(truth) = value.as_bool() {
        return format!("`{truth}`");
    }
    if value.is_unit() {
        return "nothing".to_owned();
    }
    if let Ok(list) = value.as_array_ref() {
        return format!("a list of {}", list.len());
    }
    if value.is_map() {
        return "a map".to_owned();
    }
    with_article(type_word(value.type_name()))
}

/// At most `most` characters, the rest as dots.
pub(super) fn shortened(text: &str, most: usize) -> String {
    let one_line = text.replace(['\n', '\r', '\t'], " ");
    if one_line.chars().count() <= most {
        return one_line;
    }
    let mut short: String = one_line.chars().take(most).collect();
    short.push('…');
    short
}

/// A type's name in our words, from the interpreter's.
pub(super) fn type_word(name: &str) -> &str {
    // Long names are Rust paths, which only unregistered types have.
    let last = name.rsplit("::").next().unwrap_or(name);
    match name.trim() {
        "i64" => "whole number",
        "f64" => "number",
        "bool" => "true or false",
        "char" => "single character",
        "()" => "nothing",
        "array" | "Array" => "list",
        "map" | "Map" => "map",
        "Fn" | "FnPtr" => "function",
        "string" | "String" | "ImmutableString" | "&str" => "text",
        text if text.starts_with("&str") => "text",
        range if range.contains("range") || range.contains("Range") => "range",
        _ => match last {
            "AngleValue" => "angle",
            "Heading" => "direction",
            "Spot" => "point",
            "Stand" => "pose",
            "Form" => "shape",
            "BodyView" => "body",
            "BoundsValue" => "bounds",
            "SceneView" => "scene",
            "FnPtr" => "function",
            other => other,
        },
    }
}

/// `a pose`, `an angle`, `nothing`.
pub(super) fn with_article(word: &str) -> String {
    match word {
        "nothing" | "true or false" | "text" | "bounds" => word.to_owned(),
        "scene" => "the scene".to_owned(),
        _ if word.starts_with(['a', 'e', 'i', 'o', 'u']) => format!("an {word}"),
        _ => format!("a {word}"),
    }
}

/// Why a value is not what was due: empty, or a reason that ends the sentence.
pub(super) type Reason = String;

/// Reads values; knows what a bare number means.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reader {
    pub(super) units: LengthUnit,
}

impl Reader {
    pub(super) fn number(self, value: &Dynamic) -> Result<f64, Reason> {
        let number = match (value.as_int(), value.as_float()) {
            (Ok(whole), _) => whole as f64,
            (_, Ok(number)) => number,
            _ => return Err(String::new()),
        };
        if number.is_finite() { Ok(number) } else { Err("it is not finite".to_owned()) }
    }

    /// In millimetres.
    pub(super) fn length(self, value: &Dynamic) -> Result<f64, Reason> {
        let mm = match value.as_immutable_string_ref() {
            Ok(text) => Length::parse(&text, self.units).map_err(|error| error.to_string())?.mm(),
            Err(_) => self.number(value)? * self.units.mm(),
        };
        if mm.abs() > FARTHEST_MM {
            return Err("lengths end at 10 km".to_owned());
        }
        Ok(mm)
    }

    /// A number in the scene's units, for the script: exact in millimetres, in others without the
    /// last digits that the division leaves behind (1e-10 of a unit).
    pub(super) fn shown(self, mm: f64) -> f64 {
        if self.units == LengthUnit::Millimetre {
            return mm;
        }
        let number = mm / self.units.mm();
        (number * 1e10).round() / 1e10
    }

    pub(super) fn angle(self, value: &Dynamic) -> Result<f64, Reason> {
        if let Some(angle) = value.read_lock::<AngleValue>() {
            return Ok(angle.rad);
        }
        let rad = match value.as_immutable_string_ref() {
            Ok(text) => Angle::parse(&text).map_err(|error| error.to_string())?.rad(),
            Err(_) => self.number(value)?.to_radians(),
        };
        if rad.abs() > 1e6 { Err("it is more turns than make sense".to_owned()) } else { Ok(rad) }
    }

    pub(super) fn text(self, value: &Dynamic) -> Result<String, Reason> {
        value.as_immutable_string_ref().map(|text| text.to_string()).map_err(|_| String::new())
    }

    pub(super) fn direction(self, value: &Dynamic) -> Result<Unit<Vector3<f64>>, Reason> {
        if let Some(heading) = value.read_lock::<Heading>() {
            return Ok(heading.unit);
        }
        if let Ok(text) = value.as_immutable_string_ref() {
            return Direction::from_word(&text).map(Direction::unit).ok_or_else(|| {
                let words = Direction::ALL.map(Direction::word);
                match nearest(&text, words) {
                    Some(word) => format!("did you mean `{word}`?"),
                    None => String::new(),
                }
            });
        }
        if let Some(spot) = value.read_lock::<Spot>() {
            return Unit::try_new(spot.at.coords, 1e-9).ok_or_else(|| "it has no length".to_owned());
        }
        let [x, y, z] = self.three(value, |reader, part| reader.number(part))?;
        Unit::try_new(Vector3::new(x, y, z), 1e-9).ok_or_else(|| "it has no length".to_owned())
    }

    pub(super) fn point(self, value: &Dynamic) -> Result<Point3<f64>, Reason> {
        if let Some(spot) = value.read_lock::<Spot>() {
            return near_enough(&spot.at.coords).map(|()| spot.at);
        }
        let [x, y, z] = self.three(value, |reader, part| reader.length(part))?;
        Ok(Point3::new(x, y, z))
    }

    fn three(
        self,
        value: &Dynamic,
        read: impl Fn(Self, &Dynamic) -> Result<f64, Reason>,
    ) -> Result<[f64; 3], Reason> {
        let list = value.as_array_ref().map_err(|_| String::new())?;
        let [x, y, z] = list.as_slice() else {
            return Err(format!("it has {} entries, not three", list.len()));
        };
        let mut parts = [0.0; 3];
        for ((part, given), name) in parts.iter_mut().zip([x, y, z]).zip(["x", "y", "z"]) {
            *part =
                read(self, given).map_err(|reason| entry_reason(&format!("its {name}"), given, &reason))?;
        }
        Ok(parts)
    }

    pub(super) fn pose(self, value: &Dynamic) -> Result<Stand, Reason> {
        let stand = value.read_lock::<Stand>().map(|stand| stand.clone()).ok_or_else(String::new)?;
        near_enough(&stand.world_from_it.translation.vector).map(|()| stand)
    }

    /// A point stands unturned.
    pub(super) fn place(self, value: &Dynamic) -> Result<Stand, Reason> {
        if value.is::<Stand>() {
            return self.pose(value);
        }
        let at = self.point(value)?;
        Ok(Stand { world_from_it: Pose::translation(at.x, at.y, at.z), carried_by: None, on: None })
    }

    pub(super) fn shape(self, value: &Dynamic) -> Result<Form, Reason> {
        value.read_lock::<Form>().map(|form| form.clone()).ok_or_else(String::new)
    }

    pub(super) fn list<T>(
        self,
        value: &Dynamic,
        read: impl Fn(Self, &Dynamic) -> Result<T, Reason>,
    ) -> Result<Vec<T>, Reason> {
        let list = value.as_array_ref().map_err(|_| String::new())?;
        list.iter()
            .enumerate()
            .map(|(index, entry)| {
                read(self, entry)
                    .map_err(|reason| entry_reason(&format!("its entry {index}"), entry, &reason))
            })
            .collect()
    }

    /// A point of an outline: `[x, y]`.
    pub(super) fn flat_point(self, value: &Dynamic) -> Result<Point2<f64>, Reason> {
        let list = value.as_array_ref().map_err(|_| String::new())?;
        let [x, y] = list.as_slice() else {
            return Err(format!("it has {} entries, not two", list.len()));
        };
        Ok(Point2::new(self.length(x)?, self.length(y)?))
    }
}

fn entry_reason(which: &str, entry: &Dynamic, reason: &str) -> String {
    let what = describe(entry);
    if reason.is_empty() { format!("{which} is {what}") } else { format!("{which} is {what}: {reason}") }
}

/// Sums of steps are held to the same bound as lengths.
fn near_enough(at: &Vector3<f64>) -> Result<(), Reason> {
    let near = at.iter().all(|part| part.is_finite() && part.abs() <= FARTHEST_MM);
    if near { Ok(()) } else { Err("it stands more than 10 km away".to_owned()) }
}

/// The candidate spelled most like `word`, when one is near enough to be meant.
pub(super) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A long word from a stranger's script is not compared: the cost is its length times theirs.
    if word.chars().count() > 80 {
        return None;
    }
    let least = |candidate: &str| {
        let longer = word.chars().count().max(candidate.chars().count());
        // One slip in four letters, two in eight; a lone letter is never near.
        (longer >= 2).then_some((longer.div_ceil(3)).min(4))
    };
    candidates
        .into_iter()
        .filter_map(|candidate| {
            let distance = strsim::damerau_levenshtein(&word.to_lowercase(), &candidate.to_lowercase());
            (distance <= least(candidate)?).then_some((distance, candidate))
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// ``; did you mean `x`?`` or nothing.
pub(super) fn did_you_mean<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> String {
    nearest(word, candidates).map_or_else(String::new, |near| format!("did you mean `{near}`? "))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    const INCHES: Reader = Reader { units: LengthUnit::Inch };
    const MM: Reader = Reader { units: LengthUnit::Millimetre };

    #[test]
    fn lengths_are_read_in_the_scenes_units_or_as_written() {
        for (case, reader, value, want_mm) in [
            ("bare in millimetres", MM, Dynamic::from(63.5), 63.5),
            ("bare in inches: 25.4 exactly", INCHES, Dynamic::from(2_i64), 50.8),
            ("its own unit wins", INCHES, Dynamic::from("10 mm"), 10.0),
            ("a bare text takes the scene's", INCHES, Dynamic::from("2-1/2"), 63.5),
        ] {
            assert!((reader.length(&value).unwrap() - want_mm).abs() < 1e-12, "{case}");
        }
        for wrong in [
            Dynamic::from(f64::NAN),
            Dynamic::from(f64::INFINITY),
            Dynamic::from(2e7),
            Dynamic::from("7 km"),
            Dynamic::UNIT,
        ] {
            assert!(MM.length(&wrong).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn points_and_directions_are_read_from_lists_and_words() {
        let list = |parts: [f64; 3]| Dynamic::from_array(parts.map(Dynamic::from).to_vec());
        assert_eq!(MM.point(&list([1.0, 2.0, 3.0])).unwrap(), Point3::new(1.0, 2.0, 3.0));
        assert_eq!(MM.direction(&Dynamic::from("up")).unwrap(), Vector3::z_axis());
        assert_eq!(MM.direction(&list([0.0, 0.0, 9.0])).unwrap(), Vector3::z_axis());
        assert!(MM.direction(&list([0.0, 0.0, 0.0])).is_err());
        assert_eq!(MM.direction(&Dynamic::from("upp")).unwrap_err(), "did you mean `up`?");
        let short = Dynamic::from_array(vec![Dynamic::from(1.0)]);
        assert_eq!(MM.point(&short).unwrap_err(), "it has 1 entries, not three");
    }

    #[test]
    fn a_near_spelling_is_offered_and_a_far_one_is_not() {
        for (word, want) in [
            ("cylindr", Some("cylinder")),
            ("Box", Some("box")),
            ("plce", Some("place")),
            ("sleep", None),
            ("x", None),
            ("", None),
        ] {
            assert_eq!(nearest(word, ["box", "cylinder", "place", "union"]), want, "{word}");
        }
        assert_eq!(nearest(&"x".repeat(10_000), ["box"]), None, "not even compared");
    }
}
