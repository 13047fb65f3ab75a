//! Service as a scene tells it: where people stand, which tools there are, what must be done where.

use nalgebra::{Point3, Unit, Vector3};

use crate::space::{Angle, Length};

use super::model::Span;

/// Where a person stands, with the reach of an arm.
#[derive(Clone, Debug, PartialEq)]
pub struct StandingPlace {
    /// Name: `left wing`, `front`.
    pub name: String,
    /// Shoulder, vehicle axes, mm.
    pub shoulder: Point3<f64>,
    /// Eye, vehicle axes, mm.
    pub eye: Point3<f64>,
    /// Shoulder to grip, mm.
    pub reach: Length,
    /// Where it is written.
    pub span: Span,
}

/// How a tool gets onto a fastener.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToolEntry {
    /// Along the fastener's axis: a socket, a ring, a key.
    Along,
    /// Across it, along its own lever: an open jaw.
    Side,
}

/// A tool of a tool set, for several sizes of fastener.
#[derive(Clone, Debug, PartialEq)]
pub struct ServiceTool {
    /// Name.
    pub name: String,
    /// Widths across flats that it comes in, mm.
    pub fits_mm: Vec<f64>,
    /// Metal round the hexagon's corners, mm.
    pub wall_mm: f64,
    /// Height of the socket, ring or jaw over the fastener's seat, mm.
    pub head_mm: f64,
    /// Length and radius of a straight shank above it (an extension); 0 long for none, mm.
    pub shank_mm: (f64, f64),
    /// Height and radius of what turns the shank (a ratchet's head); 0 high for none, mm.
    pub drive_mm: (f64, f64),
    /// The lever: height of its middle line over the seat, length from the axis, radius, mm; none for what is
    /// turned by its top.
    pub lever_mm: Option<(f64, f64, f64)>,
    /// Turn after which it takes a new hold.
    pub click: Angle,
    /// How far all above the head may lean off the fastener's axis, about the head's top; 0 for a straight tool.
    pub lean: Angle,
    /// How far the lever's end may be raised from square to its axis; 0 for a fixed head.
    pub lever_rise: Angle,
    /// How it gets on.
    pub entry: ToolEntry,
    /// How far it travels until it is off, mm.
    pub off_mm: f64,
    /// Whether it measures torque.
    pub torque: bool,
    /// Where the figures come from.
    pub source: String,
}

/// A fastener that is turned with a tool.
#[derive(Clone, Debug, PartialEq)]
pub struct WrenchJob {
    /// Width across flats.
    pub size: Length,
    /// Tools that may be used; empty: every one of the set that fits.
    pub tools: Vec<String>,
    /// Least swing, when the job asks for more than the tool's own click.
    pub turn: Option<Angle>,
    /// Whether it must be tightened with a tool that measures torque.
    pub torque: bool,
}

/// A mirror that a person may use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SceneMirror {
    /// Its middle, vehicle axes, mm.
    pub at: Point3<f64>,
    /// Out of its face.
    pub normal: Unit<Vector3<f64>>,
    /// Its radius.
    pub radius: Length,
}

/// What must be done at a service point.
#[derive(Clone, Debug, PartialEq)]
pub enum ServiceKind {
    /// An eye must see it.
    See {
        /// Radius of the round target.
        radius: Length,
        /// Least share of it that must be seen, 0 to 1.
        share: f64,
        /// A mirror that may be used besides the bare eye.
        mirror: Option<SceneMirror>,
    },
    /// A finger or hand must get there.
    Touch,
    /// A cap must be gripped and turned: a free cylinder about its axis, or an arc for the hand.
    Turn {
        /// Radius that the gripping hand needs free about the axis, mm.
        grip_radius: Length,
        /// Free height above the cap along the axis, mm.
        grip_height: Length,
        /// When the hand need not go all round: the arc over which its bar, from the axis to the grip radius, must
        /// be free.
        swing: Option<Angle>,
    },
    /// Something is pulled out along a straight line by a hand: a dipstick.
    Pull {
        /// How far.
        length: Length,
        /// Radius of the hand on it.
        hand_radius: Length,
    },
    /// A spout must be held above and poured from.
    Pour {
        /// Free radius about the spout's line.
        spout_radius: Length,
        /// Free length of the spout's line above the filler.
        spout_length: Length,
        /// Radius of the container held above the spout.
        container_radius: Length,
        /// Height of the container; zero for none.
        container_height: Length,
        /// How far the container must lean aside, when it must.
        tilt: Option<Angle>,
    },
    /// A connector is pulled straight off, held by finger and thumb.
    Plug {
        /// How far.
        pull: Length,
        /// Thickness of finger and thumb on either side.
        thumb: Length,
    },
    /// A fastener is turned with a tool.
    Wrench(WrenchJob),
    /// A clamp's nut is turned with a tool.
    Clamp(WrenchJob),
    /// The body must come out along a straight line.
    LiftOut {
        /// How far until it is free.
        travel: Length,
        /// Least gap on the way.
        room: Length,
    },
}

/// What a person must see, touch, turn, pull, pour into, unplug, unscrew or lift out.
#[derive(Clone, Debug, PartialEq)]
pub struct ServicePoint {
    /// Name.
    pub name: String,
    /// What must be done.
    pub kind: ServiceKind,
    /// The body served; it is no obstacle to itself.
    pub body: String,
    /// The point, vehicle axes at rest, mm.
    pub at: Point3<f64>,
    /// Axis of the cap, spout or fastener, out of the face that is looked at, or direction of the lift; away from the
    /// body.
    pub along: Unit<Vector3<f64>>,
    /// Least opening (diameter) that the corridor to the point must have.
    pub opening: Length,
    /// Where the opening size comes from.
    pub opening_source: String,
    /// Standing places from which it may be reached; empty means any.
    pub from: Vec<String>,
    /// Bodies taken off first (an engine cover, say); no obstacles.
    pub without: Vec<String>,
    /// Where it is written.
    pub span: Span,
}

impl ServiceTool {
    /// Whether it comes in the fastener's size and is one of those that may be used.
    pub fn may_do(&self, job: &WrenchJob) -> bool {
        const SAME_MM: f64 = 0.05;
        let named = job.tools.is_empty() || job.tools.contains(&self.name);
        let fits = self.fits_mm.iter().any(|mm| (mm - job.size.mm()).abs() < SAME_MM);
        named && fits && (self.torque || !job.torque)
    }
}
