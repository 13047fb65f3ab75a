//! What the scene's document needs for a new scene to be saved: pieces of YAML and where they go.

use std::fmt::Write as _;

use nalgebra::{Point2, Point3};

use crate::scene::{Body, Joined};
use crate::solid::Shape;
use crate::space::Pose;

use super::changes::{Change, Deed};
use super::desk::Desk;
use super::kind::Reader;
use super::placing::Placing;
use super::values::Stand;

/// Where a fragment goes.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Splice {
    /// A new entry at the end of `bodies`: `name:` and its keys.
    Add {
        /// The body.
        body: String,
    },
    /// Keys of the entry `body` under `bodies`: those in `drop` go, then those of the fragment come.
    Set {
        /// The body, by its new name.
        body: String,
        /// Keys to take out.
        drop: Vec<&'static str>,
    },
    /// The entry goes from `bodies`, and so do the joints and the service points named here.
    Remove {
        /// The body.
        body: String,
        /// Service points.
        service: Vec<String>,
    },
    /// The entry `from` under `bodies` gets another name, there and wherever it is named.
    Rename {
        /// The name in the document.
        from: String,
        /// The new name.
        to: String,
    },
    /// A new entry at the end of `joined`.
    Join,
    /// A new entry at the end of `notes`.
    Note,
}

/// A piece of YAML and where it goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct YamlFragment {
    /// Where it goes.
    pub splice: Splice,
    /// The text, not indented, ending in a line break; empty when nothing is to be written.
    /// Lengths in the scene's units, rounded to a thousand-millionth of one.
    pub yaml: String,
    /// Why it cannot be saved as it is, when it cannot: a mesh has a file of its own.
    pub unwritable: Option<String>,
}

/// The fragments of a run: renamed first, so that all others may use the new names.
pub(super) fn fragments(desk: &Desk, changes: &[Change], joined: &[Joined]) -> Vec<YamlFragment> {
    let pen = Pen { reader: desk.reader() };
    let body_of = |name: &str| desk.scene.body(name);
    let mut fragments = Vec::new();
    let empty = |splice| YamlFragment { splice, yaml: String::new(), unwritable: None };
    for change in changes {
        if let Deed::Renamed { from } = &change.deed {
            fragments.push(empty(Splice::Rename { from: from.clone(), to: change.body.clone() }));
        }
    }
    for change in changes {
        match &change.deed {
            Deed::Renamed { .. } => {}
            Deed::Removed { service } => {
                fragments.push(empty(Splice::Remove { body: change.body.clone(), service: service.clone() }));
            }
            Deed::Moved { .. } => {
                let Some(body) = body_of(&change.body) else { continue };
                fragments.push(pen.moved(desk, body));
            }
            Deed::Added => {
                let Some(body) = body_of(&change.body) else { continue };
                let placing =
                    desk.tracks.iter().zip(&desk.scene.bodies).find(|(_, other)| other.name == body.name);
                let placing = placing.and_then(|(track, _)| track.placing.as_ref());
                fragments.push(pen.added(desk, body, placing));
            }
        }
    }
    for joint in joined {
        let (one, other, by) = (text(&joint.one), text(&joint.other), text(&joint.by));
        let kind = joint.joint.map_or_else(String::new, |kind| format!(", joint: {}", kind.word()));
        let yaml = format!("- {{bodies: [{one}, {other}], by: {by}{kind}}}\n");
        fragments.push(YamlFragment { splice: Splice::Join, yaml, unwritable: None });
    }
    for note in &desk.notes {
        let (author, said) = (text(&note.author), text(&note.text));
        let yaml = format!("- {{author: {author}, date: {}, text: {said}}}\n", note.date);
        let undated = "a note needs a date, and a script has no clock: run it with `ScriptOptions::date`";
        let unwritable = note.date.is_empty().then(|| undated.to_owned());
        fragments.push(YamlFragment { splice: Splice::Note, yaml, unwritable });
    }
    fragments
}

/// Writes values in the scene's units.
#[derive(Clone, Copy)]
struct Pen {
    reader: Reader,
}

impl Pen {
    fn moved(self, desk: &Desk, body: &Body) -> YamlFragment {
        let fitted = desk.first_body_was_fitted(&body.name);
        let mut drop = vec!["on", "at", "turn", "axis", "carried_by"];
        let (mut yaml, mut unwritable) = (String::new(), None);
        if fitted {
            // Marks would put it back where it was measured.
            drop.push("fit");
            match self.shape(&body.shape) {
                Ok(shape) => {
                    let _ = writeln!(yaml, "shape: {{{shape}}}");
                }
                Err(why) => unwritable = Some(format!("`{}` cannot be written: {why}", body.name)),
            }
        }
        yaml.push_str(&self.stand(desk, body, ""));
        YamlFragment { splice: Splice::Set { body: body.name.clone(), drop }, yaml, unwritable }
    }

    fn added(self, desk: &Desk, body: &Body, placing: Option<&Placing>) -> YamlFragment {
        let mut yaml = format!("{}:\n", text(&body.name));
        let mut unwritable = None;
        match self.shape(&body.shape) {
            Ok(shape) => {
                let _ = writeln!(yaml, "  shape: {{{shape}}}");
            }
            Err(why) => unwritable = Some(format!("`{}` cannot be written: {why}", body.name)),
        }
        yaml.push_str(&self.stand_on(desk, body, "  "));
        match body.roles.as_slice() {
            [] => {}
            [role] => {
                let _ = writeln!(yaml, "  role: {}", text(role));
            }
            roles => {
                let roles: Vec<String> = roles.iter().map(|role| text(role)).collect();
                let _ = writeln!(yaml, "  role: [{}]", roles.join(", "));
            }
        }
        if let Some(material) = &body.material {
            let _ = writeln!(yaml, "  material: {}", text(material));
        }
        if let Some(kg) = body.mass_kg {
            let _ = writeln!(yaml, "  mass: {}", plain(kg));
        }
        if let Some(by) = &body.bent_by {
            let _ = writeln!(yaml, "  bent_by: {}", text(by));
        }
        if let Some(degrees) = body.hot_c {
            let _ = writeln!(yaml, "  hot_to: {}", plain(degrees));
        }
        if let Some(placing) = placing {
            for (key, mm) in &placing.covers {
                let _ = writeln!(yaml, "  {key}: {}", self.length(*mm));
            }
            if placing.sigma_mm > 0.0 {
                let _ = writeln!(yaml, "  sigma: {}", self.length(placing.sigma_mm));
            }
            if placing.sigma_turn_rad > 0.0 {
                let _ = writeln!(yaml, "  sigma_turn: {}", plain(placing.sigma_turn_rad.to_degrees()));
            }
        }
        yaml.push_str("  candidate: true\n");
        YamlFragment { splice: Splice::Add { body: body.name.clone() }, yaml, unwritable }
    }

    /// As [`Self::stand`], from what it was placed on while that still stands where it stood: then what is
    /// known of its place is known when the file is read, too.
    fn stand_on(self, desk: &Desk, body: &Body, indent: &str) -> String {
        let Some(base) = desk.base_of(body) else { return self.stand(desk, body, indent) };
        let base_from_body = base.world_from_base.inv_mul(&body.world_from_body);
        let at = self.point(&(base_from_body * Point3::origin()));
        let mut yaml = format!("{indent}on: {}\n{indent}at: {at}\n", text(&base.name));
        if let Some(turn) = turn(&base_from_body) {
            let _ = writeln!(yaml, "{indent}turn: {turn}");
        }
        if let Some(carrier) = desk.carrier_name(body.carrier) {
            let _ = writeln!(yaml, "{indent}carried_by: {}", text(carrier));
        }
        yaml
    }

    fn stand(self, desk: &Desk, body: &Body, indent: &str) -> String {
        let mut yaml = format!("{indent}at: {}\n", self.point(&(body.world_from_body * Point3::origin())));
        if let Some(turn) = turn(&body.world_from_body) {
            let _ = writeln!(yaml, "{indent}turn: {turn}");
        }
        if let Some(carrier) = desk.carrier_name(body.carrier) {
            let _ = writeln!(yaml, "{indent}carried_by: {}", text(carrier));
        }
        yaml
    }

    fn length(self, mm: f64) -> String {
        plain(self.reader.shown(mm))
    }

    fn point(self, point: &Point3<f64>) -> String {
        format!("[{}, {}, {}]", self.length(point.x), self.length(point.y), self.length(point.z))
    }

    fn points<'a>(self, points: impl IntoIterator<Item = &'a Point3<f64>>) -> String {
        let points: Vec<String> = points.into_iter().map(|point| self.point(point)).collect();
        format!("[{}]", points.join(", "))
    }

    fn outline(self, outline: &[Point2<f64>]) -> String {
        let points: Vec<String> = outline
            .iter()
            .map(|point| format!("[{}, {}]", self.length(point.x), self.length(point.y)))
            .collect();
        format!("[{}]", points.join(", "))
    }

    /// The shape as `key: value`, without braces.
    fn shape(self, shape: &Shape) -> Result<String, &'static str> {
        let length = |mm| self.length(mm);
        Ok(match shape {
            Shape::Block(block) => format!("box: {}", self.point(&block.size_mm.into())),
            Shape::Ball(ball) => format!("sphere: {{diameter: {}}}", length(ball.radius_mm * 2.0)),
            Shape::Cylinder(bar) => {
                format!(
                    "cylinder: {{diameter: {}, length: {}}}",
                    length(bar.radius_mm * 2.0),
                    length(bar.length_mm)
                )
            }
            Shape::Capsule(bar) => {
                format!(
                    "capsule: {{diameter: {}, core: {}}}",
                    length(bar.radius_mm * 2.0),
                    length(bar.core_mm)
                )
            }
            Shape::Frustum(cone) => format!(
                "cone: {{bottom_diameter: {}, top_diameter: {}, length: {}}}",
                length(cone.bottom_radius_mm * 2.0),
                length(cone.top_radius_mm * 2.0),
                length(cone.length_mm)
            ),
            Shape::TorusArc(arc) => format!(
                "bend: {{diameter: {}, bend_radius: {}, angle: {}}}",
                length(arc.tube_radius_mm * 2.0),
                length(arc.ring_radius_mm),
                plain(arc.sweep_rad.to_degrees())
            ),
            Shape::Plate(plate) => {
                let holes: Vec<String> = plate.holes.iter().map(|hole| self.outline(hole)).collect();
                let holes =
                    if holes.is_empty() { String::new() } else { format!("holes: [{}], ", holes.join(", ")) };
                let outline = self.outline(&plate.outline);
                format!("plate: {{outline: {outline}, {holes}thickness: {}}}", length(plate.thickness_mm))
            }
            Shape::Tube(tube) => {
                let wall = tube.wall_mm.map_or_else(String::new, |wall| format!("wall: {}, ", length(wall)));
                let bends = match tube.bend_radii_mm.as_slice() {
                    [] => String::new(),
                    [first, rest @ ..] if rest.iter().all(|radius| radius == first) => {
                        format!(", bend_radius: {}", length(*first))
                    }
                    radii => {
                        let radii: Vec<String> = radii.iter().map(|radius| length(*radius)).collect();
                        format!(", bend_radius: [{}]", radii.join(", "))
                    }
                };
                let (diameter, points) = (length(tube.radius_mm * 2.0), self.points(&tube.corners));
                format!("tube: {{diameter: {diameter}, {wall}points: {points}{bends}}}")
            }
            Shape::Hull(hull) => format!("hull: {{points: {}}}", self.points(&hull.points)),
            Shape::Compound(compound) => {
                let mut parts = Vec::with_capacity(compound.parts.len());
                for (pose, part) in &compound.parts {
                    let at = self.point(&(pose * Point3::origin()));
                    let turn = turn(pose).map_or_else(String::new, |turn| format!(", turn: {turn}"));
                    parts.push(format!("{{shape: {{{}}}, at: {at}{turn}}}", self.shape(part)?));
                }
                format!("union: [{}]", parts.join(", "))
            }
            Shape::Mesh(_) => return Err("its mesh needs a file of its own"),
            Shape::Cloud(_) => return Err("its points need a file of their own"),
        })
    }
}

/// The turn of a pose as the scene writes it; `None` when it is not turned.
fn turn(pose: &Pose) -> Option<String> {
    let stand = Stand { world_from_it: *pose, carried_by: None, on: None };
    let [x, y, z] = stand.turns_deg().map(plain);
    let parts: Vec<String> = [("x", x), ("y", y), ("z", z)]
        .into_iter()
        .filter(|(_, angle)| angle != "0")
        .map(|(axis, angle)| format!("{axis}: {angle}"))
        .collect();
    (!parts.is_empty()).then(|| format!("{{{}}}", parts.join(", ")))
}

/// Nine decimals at most, no exponent, no negative zero.
fn plain(number: f64) -> String {
    let text = format!("{number:.9}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// A text as YAML reads it back: bare when that is safe, else quoted.
fn text(text: &str) -> String {
    const TAKEN: [&str; 9] = ["true", "false", "null", "yes", "no", "on", "off", "y", "n"];
    let mut letters = text.chars();
    let bare = letters.next().is_some_and(|first| first.is_ascii_alphabetic())
        && letters.all(|c| c.is_ascii_alphanumeric() || "-_. ".contains(c))
        && !text.ends_with(' ')
        && !TAKEN.contains(&text.to_ascii_lowercase().as_str());
    if bare {
        return text.to_owned();
    }
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            c if c.is_control() || c == '\u{2028}' || c == '\u{2029}' || c == '\u{feff}' => {
                let _ = write!(quoted, "\\u{:04x}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use nalgebra::{Unit, UnitQuaternion, Vector3};
    use proptest::prelude::*;

    use super::*;
    use crate::space::{Angle, pose_from_euler};

    #[test]
    fn texts_are_quoted_when_bare_ones_would_be_read_as_something_else() {
        for (given, want) in [
            ("second-turbo", "second-turbo"),
            ("four M10 studs", "four M10 studs"),
            ("no", "\"no\""),
            ("True", "\"True\""),
            ("12", "\"12\""),
            ("a: b", "\"a: b\""),
            ("#x", "\"#x\""),
            ("it's \"so\"", "\"it's \\\"so\\\"\""),
            ("two\nlines", "\"two\\nlines\""),
            ("", "\"\""),
        ] {
            assert_eq!(text(given), want);
        }
    }

    #[test]
    fn numbers_have_no_exponent_and_no_noise() {
        for (given, want) in
            [(0.1 + 0.2, "0.3"), (-1e-12, "0"), (63.5, "63.5"), (1e7, "10000000"), (300.0, "300")]
        {
            assert_eq!(plain(given), want);
        }
    }

    proptest! {
        /// The scene reads `turn` as `pose_from_euler` does. Straight up and down included: there two of
        /// the three angles are one.
        #[test]
        fn a_turn_written_is_the_turn_read(
            axis in (-1.0..1.0, -1.0..1.0, -1.0..1.0f64),
            angle in -3.2..3.2f64,
            level in prop_oneof![Just(0.0), Just(1e-12), Just(1e-9), Just(1e-7), Just(0.3)],
        ) {
            let Some(axis) = Unit::try_new(Vector3::new(axis.0, axis.1, axis.2), 1e-3) else { return Ok(()) };
            let upright = UnitQuaternion::from_axis_angle(&Vector3::y_axis(), std::f64::consts::FRAC_PI_2 - level);
            let spin = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), angle);
            for turn in [UnitQuaternion::from_axis_angle(&axis, angle), upright * spin, spin * upright] {
                let pose = Pose::from_parts(Vector3::zeros().into(), turn);
                let written = Stand { world_from_it: pose, carried_by: None, on: None }.turns_deg();
                let [x, y, z] = written.map(|deg| Angle::from_deg(plain(deg).parse().unwrap_or(f64::NAN)));
                let read = pose_from_euler(Vector3::zeros(), x, y, z);
                prop_assert!(read.rotation.angle_to(&turn) < 1e-8, "{written:?}: off by {}", read.rotation.angle_to(&turn));
            }
        }
    }
}
