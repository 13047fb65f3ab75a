//! Reading what a shop says: `6 in straight, 90 at 4.5 in CLR, turn up`.

use nalgebra::{Point3, Unit, Vector3};

use super::{SpokenTube, Step, Toward, TubeError};
use crate::space::{Angle, Direction, Length, LengthUnit};

const STRAIGHT: &str = "6 in straight";
const BEND: &str = "90 at 4.5 in CLR";
const TURN: &str = "turn up";

impl SpokenTube {
    /// Reads a spoken tube: phrases with commas, semicolons or line ends between them.
    ///
    /// - `6 in straight`: straight tube between tangent points;
    /// - `10 in leg`: from corner to corner, setbacks included;
    /// - `90 at 4.5 in CLR`: a bend and its centreline radius (`45 deg bend at 100 mm` is the same);
    /// - `turn up` after a bend says which way: a direction of the vehicle, or `turn [0 1 1]`; or
    ///   `roll 30 deg` from the plane of the last bend. A bend with neither stays in the last one's plane.
    ///
    /// A bare length takes `bare`; a bare angle is degrees.
    ///
    /// # Errors
    /// [`TubeError::Phrase`] for the first phrase that is not understood.
    pub fn parse(
        text: &str,
        bare: LengthUnit,
        at: Point3<f64>,
        heading: Unit<Vector3<f64>>,
    ) -> Result<Self, TubeError> {
        let mut steps: Vec<Step> = Vec::new();
        let mut turned = true;
        let phrases = text.split([',', ';', '\n']).map(str::trim).filter(|phrase| !phrase.is_empty());
        for (index, phrase) in phrases.enumerate() {
            let wrong = |why: String, example: &'static str| TubeError::Phrase {
                number: index + 1,
                phrase: phrase.to_owned(),
                why,
                example,
            };
            let words = phrase.to_lowercase();
            if let Some(which) = words.strip_prefix("turn ") {
                let toward =
                    direction(which.trim()).ok_or_else(|| wrong("that is no direction".to_owned(), TURN))?;
                set_toward(&mut steps, &mut turned, Toward::Heading(toward))
                    .ok_or_else(|| wrong("no bend stands just before it".to_owned(), BEND))?;
            } else if let Some(angle) = words.strip_prefix("roll ") {
                let angle =
                    Angle::parse(angle.trim()).map_err(|error| wrong(error.to_string(), "roll 30 deg"))?;
                set_toward(&mut steps, &mut turned, Toward::Roll(angle.rad()))
                    .ok_or_else(|| wrong("no bend stands just before it".to_owned(), BEND))?;
            } else if let Some((angle, radius)) = words.split_once(" at ") {
                let angle = angle.trim().trim_end_matches("bend").trim();
                let angle = Angle::parse(angle).map_err(|error| wrong(error.to_string(), BEND))?;
                let radius = radius.trim().trim_end_matches("clr").trim();
                let radius = Length::parse(radius, bare).map_err(|error| wrong(error.to_string(), BEND))?;
                let (angle_rad, radius_mm) = (angle.rad(), radius.mm());
                steps.push(Step::Bend { angle_rad, radius_mm, toward: Toward::Roll(0.0) });
                turned = false;
            } else if let Some(length) = words.strip_suffix("straight") {
                let length =
                    Length::parse(length.trim(), bare).map_err(|e| wrong(e.to_string(), STRAIGHT))?;
                steps.push(Step::Straight(length.mm()));
            } else if let Some(length) = words.strip_suffix("leg") {
                let length =
                    Length::parse(length.trim(), bare).map_err(|e| wrong(e.to_string(), "10 in leg"))?;
                steps.push(Step::Leg(length.mm()));
            } else {
                let why = "it is neither a straight, a leg, a bend, a turn nor a roll".to_owned();
                return Err(wrong(why, STRAIGHT));
            }
        }
        Ok(SpokenTube { at, heading, steps })
    }
}

/// Gives the bend just said its direction; `None` when there is none that still wants one.
fn set_toward(steps: &mut [Step], turned: &mut bool, which: Toward) -> Option<()> {
    match steps.last_mut() {
        Some(Step::Bend { toward, .. }) if !*turned => {
            *toward = which;
            *turned = true;
            Some(())
        }
        _ => None,
    }
}

fn direction(word: &str) -> Option<Unit<Vector3<f64>>> {
    if let Some(known) = Direction::from_word(word) {
        return Some(known.unit());
    }
    let inside = word.strip_prefix('[')?.strip_suffix(']')?;
    let parts: Vec<f64> = inside.split_whitespace().map(str::parse).collect::<Result<_, _>>().ok()?;
    let [x, y, z] = <[f64; 3]>::try_from(parts).ok()?;
    Unit::try_new(Vector3::new(x, y, z), 1e-9).filter(|unit| unit.iter().all(|part| part.is_finite()))
}
