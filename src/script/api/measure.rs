//! Lengths, angles, points, directions.

use nalgebra::{Point3, Unit, Vector3};
use rhai::Dynamic;

use crate::script::book::{Call, Chapter, Entry, Prop, Style};
use crate::script::fault::Fault;
use crate::script::kind::{Kind, describe, did_you_mean, shortened};
use crate::script::values::{AngleValue, Heading, Spot};

type Answer = Result<Dynamic, Fault>;

/// The chapter.
pub(in crate::script) const CHAPTER: Chapter = Chapter {
    title: "Measures",
    entries: &[
        Entry {
            name: "length",
            style: Style::Function,
            params: &[("written", Kind::Length)],
            optional: 0,
            returns: "a number",
            says: "a length as the shop writes it, as a number in the scene's units: `length(\"2-1/2 in\")`",
            run: |call| Ok(call.shown(call.length(0)?)),
        },
        Entry {
            name: "mm",
            style: Style::Function,
            params: &[("millimetres", Kind::Number)],
            optional: 0,
            returns: "a number",
            says: "that many millimetres, in the scene's units",
            run: |call| Ok(call.shown(call.number(0)?)),
        },
        Entry {
            name: "inches",
            style: Style::Function,
            params: &[("inches", Kind::Number)],
            optional: 0,
            returns: "a number",
            says: "that many inches, in the scene's units",
            run: |call| Ok(call.shown(call.number(0)? * 25.4)),
        },
        Entry {
            name: "deg",
            style: Style::Function,
            params: &[("degrees", Kind::Number)],
            optional: 0,
            returns: "an angle",
            says: "that many degrees",
            run: |call| Ok(Dynamic::from(AngleValue { rad: call.number(0)?.to_radians() })),
        },
        Entry {
            name: "angle",
            style: Style::Function,
            params: &[("written", Kind::Angle)],
            optional: 0,
            returns: "an angle",
            says: "an angle as the shop writes it: `angle(\"1/4 turn\")`",
            run: |call| Ok(Dynamic::from(AngleValue { rad: call.angle(0)? })),
        },
        Entry {
            name: "at",
            style: Style::Function,
            params: &[("x", Kind::Length), ("y", Kind::Length), ("z", Kind::Length)],
            optional: 0,
            returns: "a point",
            says: "the point of those coordinates: x rearward, y right, z up",
            run: |call| spot(Point3::new(call.length(0)?, call.length(1)?, call.length(2)?)),
        },
        Entry {
            name: "dir",
            style: Style::Function,
            params: &[("x", Kind::Number), ("y", Kind::Number), ("z", Kind::Number)],
            optional: 0,
            returns: "a direction",
            says: "the direction of those parts; how long they are does not matter",
            run: direction_of_parts,
        },
        Entry {
            name: "distance",
            style: Style::Function,
            params: &[("from", Kind::Point), ("to", Kind::Point)],
            optional: 0,
            returns: "a number",
            says: "how far two points are apart",
            run: |call| Ok(call.shown((call.point(1)? - call.point(0)?).norm())),
        },
        Entry {
            name: "midway",
            style: Style::Function,
            params: &[("from", Kind::Point), ("to", Kind::Point)],
            optional: 0,
            returns: "a point",
            says: "the point halfway between two",
            run: |call| spot(nalgebra::center(&call.point(0)?, &call.point(1)?)),
        },
        Entry {
            name: "options_from",
            style: Style::Function,
            params: &[("given", Kind::Map), ("usual", Kind::Map)],
            optional: 0,
            returns: "a map",
            says: "the usual map with what is given in its stead; a key that the usual map lacks is an error",
            run: options_from,
        },
    ],
};

/// Properties of a point.
pub(in crate::script) const POINT: &[Prop<Spot>] = &[
    Prop {
        name: "x",
        returns: "a number",
        says: "rearward",
        get: |desk, spot| Ok(desk.reader().shown(spot.at.x).into()),
    },
    Prop {
        name: "y",
        returns: "a number",
        says: "to the vehicle's right",
        get: |desk, spot| Ok(desk.reader().shown(spot.at.y).into()),
    },
    Prop {
        name: "z",
        returns: "a number",
        says: "up",
        get: |desk, spot| Ok(desk.reader().shown(spot.at.z).into()),
    },
    Prop {
        name: "far",
        returns: "a number",
        says: "how far it is from the origin; of a step, how long it is",
        get: |desk, spot| Ok(desk.reader().shown(spot.at.coords.norm()).into()),
    },
];

/// Properties of a direction.
pub(in crate::script) const DIRECTION: &[Prop<Heading>] = &[
    Prop {
        name: "x",
        returns: "a number",
        says: "its part rearward; the three parts squared sum to 1",
        get: |_, heading| Ok(heading.unit.x.into()),
    },
    Prop {
        name: "y",
        returns: "a number",
        says: "its part to the right",
        get: |_, heading| Ok(heading.unit.y.into()),
    },
    Prop { name: "z", returns: "a number", says: "its part up", get: |_, heading| Ok(heading.unit.z.into()) },
    Prop {
        name: "word",
        returns: "a text",
        says: "its name when it is one of the six, else empty",
        get: |_, heading| Ok(heading.word().unwrap_or("").into()),
    },
];

/// Properties of an angle.
pub(in crate::script) const ANGLE: &[Prop<AngleValue>] = &[
    Prop {
        name: "deg",
        returns: "a number",
        says: "in degrees",
        get: |_, angle| Ok(angle.rad.to_degrees().into()),
    },
    Prop { name: "sin", returns: "a number", says: "its sine", get: |_, angle| Ok(angle.rad.sin().into()) },
    Prop { name: "cos", returns: "a number", says: "its cosine", get: |_, angle| Ok(angle.rad.cos().into()) },
    Prop {
        name: "tan",
        returns: "a number",
        says: "its tangent",
        get: |_, angle| Ok(angle.rad.tan().into()),
    },
];

fn spot(at: Point3<f64>) -> Answer {
    Ok(Dynamic::from(Spot { at }))
}

fn direction_of_parts(call: &Call) -> Answer {
    let parts = Vector3::new(call.number(0)?, call.number(1)?, call.number(2)?);
    Unit::try_new(parts, 1e-9).filter(|unit| unit.iter().all(|part| part.is_finite())).map_or_else(
        || {
            Err(call.refuse(
                0,
                "three noughts have no direction",
                "one part must differ from 0: `dir(1, 0, 1)`",
            ))
        },
        |unit| Ok(Dynamic::from(Heading { unit })),
    )
}

fn options_from(call: &Call) -> Answer {
    let (given, mut usual) = (call.map(0)?, call.map(1)?);
    for (key, value) in given {
        if !usual.contains_key(&key) {
            let names: Vec<&str> = usual.keys().map(|key| key.as_str()).collect();
            let near = did_you_mean(&key, names.iter().copied());
            return Err(Fault::new(
                "script::option",
                format!(
                    "there is no option `{}` here; it is given {}",
                    shortened(&key, 40),
                    describe(&value)
                ),
                format!("{near}there are {}", names.join(", ")),
            )
            .at_argument(0));
        }
        usual.insert(key, value);
    }
    Ok(Dynamic::from_map(usual))
}
