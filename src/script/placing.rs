//! What `place` is told about a candidate besides its shape and its pose.

use rhai::{Dynamic, Map};

use crate::tube::JointKind;

use super::desk::Desk;
use super::fault::Fault;
use super::kind::{Reader, describe, did_you_mean};

/// One key of the options map.
pub(super) struct PlaceOption {
    pub(super) name: &'static str,
    pub(super) takes: &'static str,
    pub(super) says: &'static str,
}

/// The keys there are.
pub(super) const OPTIONS: &[PlaceOption] = &[
    PlaceOption {
        name: "role",
        takes: "a text or a list of texts",
        says: "roles by which room rules find the body; the first is its main one",
    },
    PlaceOption {
        name: "carried_by",
        takes: "a text",
        says: "the carrier it moves with; left out: that of the frame or body that the pose came from, else `chassis`",
    },
    PlaceOption { name: "material", takes: "a text", says: "what it is made of" },
    PlaceOption { name: "wrap", takes: "a length", says: "thickness of heat wrap, counted in every gap" },
    PlaceOption { name: "coating", takes: "a length", says: "thickness of coating, counted in every gap" },
    PlaceOption { name: "sheath", takes: "a length", says: "thickness of a sheath, counted in every gap" },
    PlaceOption {
        name: "joined_to",
        takes: "a body or a list of bodies",
        says: "bodies that it is fastened to, so that their touching is meant; needs `by`",
    },
    PlaceOption { name: "by", takes: "a text", says: "what fastens it: `four M10 studs`" },
    PlaceOption {
        name: "joint",
        takes: "a text",
        says: "the kind of joint: `weld`, `v-band`, `slip`, `flange`, `coupler` or `bellows`; needs `joined_to`",
    },
    PlaceOption {
        name: "bent_by",
        takes: "a text",
        says: "what bends the tube: a bender's name, or `stock` for ready-made bends",
    },
    PlaceOption { name: "hot_to", takes: "a number", says: "how hot the tube's metal gets, deg C" },
    PlaceOption {
        name: "mass",
        takes: "a number",
        says: "what it weighs, kg; left out: by its material and shape",
    },
    PlaceOption {
        name: "sigma",
        takes: "a length",
        says: "standard uncertainty with which it will be placed, each way; left out: none",
    },
    PlaceOption {
        name: "sigma_turn",
        takes: "an angle",
        says: "standard uncertainty with which it will be turned, about each axis; left out: none",
    },
];

/// The options read.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Placing {
    pub(super) roles: Vec<String>,
    pub(super) carried_by: Option<String>,
    pub(super) material: Option<String>,
    /// `wrap`, `coating`, `sheath` with their thicknesses, mm.
    pub(super) covers: Vec<(&'static str, f64)>,
    /// Numbers of bodies.
    pub(super) joined_to: Vec<usize>,
    pub(super) by: Option<String>,
    pub(super) joint: Option<JointKind>,
    pub(super) bent_by: Option<String>,
    pub(super) hot_c: Option<f64>,
    /// What it weighs, kg.
    pub(super) mass_kg: Option<f64>,
    pub(super) sigma_mm: f64,
    pub(super) sigma_turn_rad: f64,
}

/// Longest role, material or carrier: these are words, not tales.
const LONGEST_WORD: usize = 120;

impl Placing {
    /// Reads the map; `desk` knows the bodies and carriers.
    pub(super) fn read(map: &Map, reader: Reader, desk: &Desk) -> Result<Self, Fault> {
        let unknown: Vec<String> = map
            .keys()
            .filter(|key| !OPTIONS.iter().any(|option| option.name == key.as_str()))
            .map(|key| {
                let near = did_you_mean(key, OPTIONS.iter().map(|option| option.name));
                let near = near.trim_end();
                if near.is_empty() { format!("`{key}`") } else { format!("`{key}` ({near})") }
            })
            .collect();
        if !unknown.is_empty() {
            let names: Vec<&str> = OPTIONS.iter().map(|option| option.name).collect();
            return Err(Fault::new(
                "script::option",
                format!("`place` knows no option {}", unknown.join(", ")),
                format!("its options are {}", names.join(", ")),
            ));
        }
        let wrong = |key: &str, value: &Dynamic, reason: &str| {
            let takes = OPTIONS.iter().find(|option| option.name == key).map_or("", |option| option.takes);
            let reason = if reason.is_empty() { String::new() } else { format!(": {reason}") };
            Fault::new(
                "script::option",
                format!("`{key}` of `place` takes {takes}; it is given {}{reason}", describe(value)),
                format!("write `{}`", example(key)),
            )
        };
        let text = |key: &str| {
            map.get(key)
                .map(|value| {
                    let text = reader.text(value).map_err(|reason| wrong(key, value, &reason))?;
                    word(&text).map(str::to_owned).map_err(|reason| wrong(key, value, reason))
                })
                .transpose()
        };
        let mut placing = Placing {
            carried_by: text("carried_by")?,
            material: text("material")?,
            by: text("by")?,
            bent_by: text("bent_by")?,
            ..Placing::default()
        };
        if let Some(value) = map.get("role") {
            for role in one_or_many(value) {
                let role = reader.text(&role).map_err(|reason| wrong("role", value, &reason))?;
                let role = word(&role).map_err(|reason| wrong("role", value, reason))?;
                desk.role_known(role)?;
                placing.roles.push(role.to_owned());
            }
        }
        for key in ["wrap", "coating", "sheath", "sigma"] {
            let Some(value) = map.get(key) else { continue };
            let mm = reader.length(value).map_err(|reason| wrong(key, value, &reason))?;
            if mm < 0.0 {
                return Err(wrong(key, value, "it must not be negative"));
            }
            if key == "sigma" {
                placing.sigma_mm = mm;
            } else {
                placing.covers.push((key, mm));
            }
        }
        if let Some(by) = &placing.bent_by
            && !desk.bends(by)
        {
            return Err(Fault::new(
                "script::option",
                format!("no bender is called `{by}`"),
                "name a bender of the scene or the library, or `stock`",
            ));
        }
        if let Some(value) = map.get("hot_to") {
            let degrees = reader.number(value).map_err(|reason| wrong("hot_to", value, &reason))?;
            if !(-60.0..=1200.0).contains(&degrees) {
                return Err(wrong("hot_to", value, "it must lie within -60 and 1200 deg C"));
            }
            placing.hot_c = Some(degrees);
        }
        if let Some(value) = map.get("mass") {
            let kg = reader.number(value).map_err(|reason| wrong("mass", value, &reason))?;
            if !(kg > 0.0 && kg <= 5000.0) {
                return Err(wrong("mass", value, "it must be above 0 and at most 5000 kg"));
            }
            placing.mass_kg = Some(kg);
        }
        if let Some(word) = text("joint")? {
            let kind = JointKind::from_word(&word);
            let Some(value) = map.get("joint") else { return Ok(placing) };
            placing.joint = Some(kind.ok_or_else(|| wrong("joint", value, "it is no kind of joint"))?);
            if !map.contains_key("joined_to") {
                return Err(wrong("joint", value, "it needs `joined_to`"));
            }
        }
        if let Some(value) = map.get("sigma_turn") {
            let rad = reader.angle(value).map_err(|reason| wrong("sigma_turn", value, &reason))?;
            if rad < 0.0 {
                return Err(wrong("sigma_turn", value, "it must not be negative"));
            }
            placing.sigma_turn_rad = rad;
        }
        if let Some(value) = map.get("joined_to") {
            for body in one_or_many(value) {
                let id = desk
                    .body_id(&body)
                    .map_err(|fault| fault.unwrap_or_else(|| wrong("joined_to", &body, "")))?;
                placing.joined_to.push(id);
            }
            if placing.by.is_none() {
                return Err(Fault::new(
                    "script::option",
                    "`joined_to` does not say what fastens the bodies",
                    "add `by: \"four M10 studs\"`, or whatever holds them",
                ));
            }
        } else if placing.by.is_some() {
            return Err(Fault::new(
                "script::option",
                "`by` does not say what the body is fastened to",
                "add `joined_to: \"name of a body\"`",
            ));
        }
        Ok(placing)
    }

    /// All thicknesses together, mm.
    pub(super) fn cover_mm(&self) -> f64 {
        self.covers.iter().map(|(_, mm)| mm).sum()
    }
}

fn one_or_many(value: &Dynamic) -> Vec<Dynamic> {
    match value.as_array_ref() {
        Ok(list) => list.clone(),
        Err(_) => vec![value.clone()],
    }
}

/// A word that may stand in a scene: not empty, not long, no control characters.
fn word(text: &str) -> Result<&str, &'static str> {
    let text = text.trim();
    if text.is_empty() {
        Err("it is empty")
    } else if text.chars().count() > LONGEST_WORD {
        Err("it is longer than 120 characters")
    } else if text.chars().any(char::is_control) {
        Err("it holds a control character")
    } else {
        Ok(text)
    }
}

fn example(key: &str) -> &'static str {
    match key {
        "role" => "role: \"hot\"",
        "carried_by" => "carried_by: \"engine\"",
        "material" => "material: \"cast iron\"",
        "joined_to" => "joined_to: \"turbo-bracket\"",
        "by" => "by: \"four M10 studs\"",
        "joint" => "joint: \"v-band\"",
        "bent_by" => "bent_by: \"mandrel-rotary\"",
        "hot_to" => "hot_to: 550",
        "mass" => "mass: 27.5",
        "sigma" => "sigma: 1.5",
        "sigma_turn" => "sigma_turn: deg(0.5)",
        "coating" => "coating: 0.2",
        "sheath" => "sheath: 2",
        _ => "wrap: 6",
    }
}
