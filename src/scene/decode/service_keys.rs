//! The lists of keys of what is done at service points.

use super::keys::{Key, KeyTable, may, must};

const BODY: Key = must("body", "name of a body", "dipstick", "The body served; it is no obstacle to itself.");
const ON: Key = may(
    "on",
    "name of a body or frame",
    "vehicle axes",
    "filler-neck",
    "What `at`, and an `along` that is no word of the vehicle, are measured in.",
);
const FACE: Key = may(
    "at",
    "point",
    "the middle of the body's face toward `along`",
    "[640, -210, 905]",
    "Middle of the cap, filler or grip.",
);
const SEAT: Key = may(
    "at",
    "point",
    "the middle of the body's face away from `along`",
    "[410, 285, 640]",
    "The fastener's seat, on its axis.",
);
const AXIS: Key = must(
    "along",
    "direction",
    "up",
    "The fastener's axis, from its seat toward the tool; it has no default.",
);
const SIZE: Key = must("size", "length", "13", "Width across flats.");
const TOOL: Key = may(
    "tool",
    "name or list of tools",
    "every one of the set that fits",
    "[ratchet-3-8]",
    "Tools that may be used.",
);
const TURN_OF: Key =
    may("turn", "angle", "the tool's click", "60 deg", "Least swing, when the job asks for more.");
const TORQUE: Key = may(
    "torque",
    "`true` or `false`",
    "`false`",
    "true",
    "It must be tightened with a tool that measures torque.",
);

/// A look.
pub(crate) const SEE: KeyTable = KeyTable {
    title: "a thing to see",
    intro: "A round flat target, looked at from the eyes of the standing places, or by a mirror.",
    keys: &[
        BODY,
        FACE,
        ON,
        may("along", "direction", "`up`", "up", "Out of the face that is looked at."),
        may("radius", "length", "10", "16", "Radius of the target."),
        may("share", "number, above 0 to 1", "0.5", "0.8", "Least part of it that must be seen."),
        may(
            "mirror",
            "a mirror",
            "none",
            "{at: [640, -100, 900], normal: left}",
            "A mirror that may be held there.",
        ),
    ],
};

/// A mirror.
pub(crate) const MIRROR: KeyTable = KeyTable {
    title: "a mirror",
    intro: "A flat round mirror, in vehicle axes.",
    keys: &[
        must("at", "point", "[640, -100, 900]", "Its middle."),
        must("normal", "direction", "left", "Out of its face."),
        may("radius", "length", "25", "25", "Its radius."),
    ],
};

/// A touch.
pub(crate) const TOUCH: KeyTable = KeyTable {
    title: "a touch",
    intro: "",
    keys: &[
        BODY,
        may("at", "point", "the middle of the body", "[640, -210, 905]", "The point to touch."),
        ON,
    ],
};

/// A turn of a cap.
pub(crate) const TURN: KeyTable = KeyTable {
    title: "a cap to turn",
    intro: "",
    keys: &[
        BODY,
        FACE,
        ON,
        may("along", "direction", "`up`", "up", "The cap's axis, away from the body."),
        may("grip_radius", "length", "75", "45", "Radius that the hand needs free about the axis."),
        may("grip_height", "length", "60", "60", "Height that it needs free above the point."),
        may(
            "swing",
            "angle",
            "none: room all round",
            "60 deg",
            "The hand is then a bar from the axis to the grip radius, and must have this arc free.",
        ),
    ],
};

/// A pull.
pub(crate) const PULL: KeyTable = KeyTable {
    title: "a thing to pull",
    intro: "",
    keys: &[
        BODY,
        FACE,
        ON,
        may("along", "direction", "`up`", "up", "Which way it is pulled."),
        must("length", "length", "300", "How far straight, until it is out or may be bent aside."),
        may("hand_radius", "length", "47.5", "47.5", "Radius of the hand on it: half an opening of 95."),
    ],
};

/// A pour.
pub(crate) const POUR: KeyTable = KeyTable {
    title: "a pour",
    intro: "",
    keys: &[
        BODY,
        FACE,
        ON,
        may("along", "direction", "`up`", "up", "The spout's line, away from the body."),
        may(
            "spout_radius",
            "length",
            "25",
            "25",
            "Radius of the spout or funnel's neck, with what holds it.",
        ),
        may("spout_length", "length", "250", "250", "Length that must be free above the filler."),
        may("container_radius", "length", "90", "90", "Radius of the container held beyond the spout."),
        may("container_height", "length", "300", "300", "Its height; 0 for none."),
        may(
            "tilt",
            "angle",
            "none",
            "90 deg",
            "How far the container must lean aside, to be brought up full and poured from; free all the way from there to upright over the spout, to one side at least.",
        ),
    ],
};

/// A plug.
pub(crate) const PLUG: KeyTable = KeyTable {
    title: "a plug",
    intro: "The body is the connector's loose half.",
    keys: &[
        BODY,
        FACE,
        ON,
        may("along", "direction", "`up`", "left", "Which way it is pulled."),
        may("pull", "length", "30", "30", "How far until it is free."),
        may("thumb", "length", "25", "25", "Thickness of finger and thumb on two opposite sides of it."),
    ],
};

/// A fastener.
pub(crate) const WRENCH: KeyTable = KeyTable {
    title: "a fastener to turn",
    intro: "The body is its head or nut. Heights of a tool are measured from the seat.",
    keys: &[BODY, SEAT, ON, AXIS, SIZE, TOOL, TURN_OF, TORQUE],
};

/// A clamp's nut.
pub(crate) const CLAMP: KeyTable = KeyTable {
    title: "a clamp to turn",
    intro: "The body is the nut or screw of a V-band or hose clamp; the tool goes on along its axis.",
    keys: &[BODY, SEAT, ON, AXIS, SIZE, TOOL, TURN_OF, TORQUE],
};

/// A lift-out.
pub(crate) const LIFT_OUT: KeyTable = KeyTable {
    title: "a lift-out",
    intro: "",
    keys: &[
        BODY,
        may("along", "direction", "`up`", "up", "Which way it comes out, in vehicle axes."),
        must("travel", "length", "260", "How far until it is free."),
        may("room", "length", "0", "5", "Least gap on the way."),
    ],
};
