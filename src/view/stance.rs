//! How the carriers stand: a value for every freedom, and the pose of every body that follows.

use crate::motion::Freedom;
use crate::scene::{Body, Carrier, Scene};
use crate::space::Pose;

use super::ViewError;

/// A value (radians or millimetres) for every freedom of every carrier of one scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Stance {
    /// By carrier, in the scene's order; one value a freedom.
    values: Vec<Vec<f64>>,
}

impl Stance {
    /// Every carrier at rest.
    pub fn rest(scene: &Scene) -> Self {
        Stance { values: scene.carriers.iter().map(|c| vec![0.0; c.movement.freedoms.len()]).collect() }
    }

    /// With the carriers named set to the values given (radians or mm, one a freedom).
    ///
    /// # Errors
    /// A carrier that isn't there, a wrong number of values, or a value outside its range.
    pub fn with(mut self, scene: &Scene, values: &[(String, Vec<f64>)]) -> Result<Self, ViewError> {
        for (name, given) in values {
            let index = scene.carriers.iter().position(|c| c.name == *name).ok_or_else(|| {
                ViewError::UnknownCarrier {
                    name: name.clone(),
                    known: scene.carriers.iter().map(|c| c.name.as_str()).collect::<Vec<_>>().join(", "),
                }
            })?;
            let carrier = &scene.carriers[index];
            if given.len() != carrier.movement.freedoms.len() {
                return Err(ViewError::ValueCount {
                    carrier: name.clone(),
                    expected: carrier.movement.freedoms.len(),
                    words: carrier.freedom_words.join(", "),
                    got: given.len(),
                });
            }
            for (i, (freedom, value)) in carrier.movement.freedoms.iter().zip(given).enumerate() {
                let (from, to) = freedom.range();
                // A thousandth of the range, so that a worst pose printed and read back still counts.
                let slack = (to - from).abs() * 1e-3 + 1e-9;
                if !(*value >= from - slack && *value <= to + slack) {
                    return Err(ViewError::OutOfRange {
                        carrier: name.clone(),
                        word: word_of(carrier, i).to_owned(),
                        value: value_words(freedom, *value),
                        from: value_words(freedom, from),
                        to: value_words(freedom, to),
                    });
                }
            }
            self.values[index] = given.clone();
        }
        Ok(self)
    }

    /// The values of a carrier, by its index.
    pub fn of(&self, carrier: usize) -> &[f64] {
        self.values.get(carrier).map_or(&[], Vec::as_slice)
    }

    /// The same, to be changed by a slider.
    pub(super) fn of_mut(&mut self, carrier: usize) -> &mut [f64] {
        self.values.get_mut(carrier).map_or(&mut [], Vec::as_mut_slice)
    }

    /// Where a body stands now.
    pub fn world_from_body(&self, scene: &Scene, body: &Body) -> Pose {
        match scene.carriers.get(body.carrier) {
            Some(carrier) => carrier.movement.world_from_rest(self.of(body.carrier)) * body.world_from_body,
            None => body.world_from_body,
        }
    }

    /// The stance in words: `engine rock +3.0 deg, bounce -4.0 mm`; `at rest` when nothing moved.
    pub fn words(&self, scene: &Scene) -> String {
        let mut parts = Vec::new();
        for (index, carrier) in scene.carriers.iter().enumerate() {
            for (i, (freedom, value)) in carrier.movement.freedoms.iter().zip(self.of(index)).enumerate() {
                if *value != 0.0 {
                    let value = value_words(freedom, *value);
                    parts.push(format!("{} {} {value}", carrier.name, word_of(carrier, i)));
                }
            }
        }
        if parts.is_empty() { "at rest".to_owned() } else { parts.join(", ") }
    }
}

/// The word for a freedom of a carrier: the scene's, or what kind it is.
pub(super) fn word_of(carrier: &Carrier, freedom: usize) -> &str {
    carrier.freedom_words.get(freedom).map_or_else(
        || match carrier.movement.freedoms.get(freedom) {
            Some(Freedom::Slide { .. }) => "slide",
            _ => "turn",
        },
        String::as_str,
    )
}

/// A value with its unit: degrees for a turn, millimetres for a slide.
pub(super) fn value_words(freedom: &Freedom, value: f64) -> String {
    match freedom {
        Freedom::Turn { .. } => format!("{:+.1} deg", value.to_degrees()),
        Freedom::Slide { .. } => format!("{value:+.1} mm"),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::motion::Movement;
    use crate::scene::Span;
    use crate::space::Axis;
    use nalgebra::{Point3, Vector3};

    fn scene() -> Scene {
        Scene {
            carriers: vec![
                Carrier {
                    name: "chassis".into(),
                    movement: Movement::still(),
                    freedom_words: vec![],
                    span: Span::default(),
                },
                Carrier {
                    name: "engine".into(),
                    movement: Movement {
                        freedoms: vec![
                            Freedom::Turn {
                                axis: Axis { through: Point3::origin(), along: Vector3::x_axis() },
                                from_rad: -0.06,
                                to_rad: 0.06,
                            },
                            Freedom::Slide { along: Vector3::z_axis(), from_mm: -5.0, to_mm: 5.0 },
                        ],
                    },
                    freedom_words: vec!["rock".into(), "bounce".into()],
                    span: Span::default(),
                },
            ],
            ..Scene::default()
        }
    }

    #[test]
    fn words_say_what_moved() {
        let scene = scene();
        let rest = Stance::rest(&scene);
        assert_eq!(rest.words(&scene), "at rest");
        let moved = rest.with(&scene, &[("engine".into(), vec![3.0_f64.to_radians(), -4.0])]).unwrap();
        assert_eq!(moved.words(&scene), "engine rock +3.0 deg, engine bounce -4.0 mm");
    }

    #[test]
    fn wrong_values_say_what_is_right() {
        let scene = scene();
        let errors: Vec<String> = [
            ("motor", vec![0.0, 0.0]),
            ("engine", vec![0.0]),
            ("engine", vec![0.2, 0.0]),
            ("engine", vec![f64::NAN, 0.0]),
        ]
        .into_iter()
        .map(|(name, values)| {
            Stance::rest(&scene).with(&scene, &[(name.to_owned(), values)]).unwrap_err().to_string()
        })
        .collect();
        insta::assert_snapshot!(errors.join("\n"), @r"
        there is no carrier `motor` in the scene; it has: chassis, engine
        carrier `engine` has 2 freedoms (rock, bounce); 1 values were given
        carrier `engine`: rock +11.5 deg is outside its range, -3.4 deg to +3.4 deg
        carrier `engine`: rock NaN deg is outside its range, -3.4 deg to +3.4 deg
        ");
    }
}
