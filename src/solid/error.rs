//! Why a shape cannot be.

use std::fmt;

/// Why a shape cannot be; says what is wrong, where, and what would do.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ShapeError {
    /// A size that must be above zero is not, or is not finite.
    #[error("{what} is {value_mm} mm; it must be above zero and finite")]
    Size {
        /// Which size.
        what: &'static str,
        /// What it was.
        value_mm: f64,
    },
    /// A size that may be zero is negative, or is not finite.
    #[error("{what} is {value_mm} mm; it must be zero or more, and finite")]
    NegativeSize {
        /// Which size.
        what: &'static str,
        /// What it was.
        value_mm: f64,
    },
    /// Both ends of a cone have no radius.
    #[error("both radii of the cone are zero; at least one must be above zero")]
    ConeWithoutRadius,
    /// A coordinate is infinite or not a number.
    #[error("{what} {index} has a coordinate that is not a finite number")]
    NotFinite {
        /// Which list: `point`, `corner`, `vertex`, `outline point`.
        what: &'static str,
        /// Place in that list, from 0.
        index: usize,
    },
    /// A list is too short.
    #[error("{found} {what} given; at least {needed} are needed")]
    TooFew {
        /// What is listed.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many there must be.
        needed: usize,
    },
    /// Two neighbours in a list of points are the same point.
    #[error("points {first} and {second} (from 0) of {what} are the same; leave one out")]
    RepeatedPoint {
        /// Which list.
        what: Ring,
        /// The earlier one.
        first: usize,
        /// The later one.
        second: usize,
    },
    /// The points of a hull lie in one plane, on one line or in one place.
    #[error(
        "the hull's points lie within {thickness_mm:.1e} mm of one plane, so it has no inside; \
         give it a point off that plane, or use a plate"
    )]
    FlatHull {
        /// How thick the hull is.
        thickness_mm: f64,
    },
    /// An outline or hole crosses or touches itself.
    #[error("{ring} meets itself at ({x_mm:.3}, {y_mm:.3}): edges {first} and {second} (from 0)")]
    SelfCrossing {
        /// Which ring.
        ring: Ring,
        /// One edge, from its point of the same number to the next.
        first: usize,
        /// The other.
        second: usize,
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
    /// Two rings of a plate cross or touch.
    #[error("{first} and {second} meet at ({x_mm:.3}, {y_mm:.3}); move them apart or make them one ring")]
    RingsMeet {
        /// One ring.
        first: Ring,
        /// The other.
        second: Ring,
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
    /// A hole lies outside the outline.
    #[error("hole {hole} (from 0) lies outside the outline")]
    HoleOutside {
        /// Which hole.
        hole: usize,
    },
    /// A hole lies within another.
    #[error("hole {inner} (from 0) lies within hole {outer}; leave it out")]
    HoleInHole {
        /// The one within.
        inner: usize,
        /// The one around it.
        outer: usize,
    },
    /// A bend is tighter than the tube is thick, so its inner side would fold over.
    #[error(
        "{bend} has a centreline radius of {bend_radius_mm} mm, under the tube's own radius of \
         {tube_radius_mm} mm: the inside of the bend would fold over; the least that can be is {tube_radius_mm} mm"
    )]
    BendTooTight {
        /// Which bend.
        bend: TubePlace,
        /// Its centreline radius.
        bend_radius_mm: f64,
        /// The tube's outside radius.
        tube_radius_mm: f64,
    },
    /// A sweep is not over 0 and up to a full turn.
    #[error("the sweep is {sweep_deg} deg; it must be above 0 and at most 360 deg")]
    Sweep {
        /// What it was.
        sweep_deg: f64,
    },
    /// A tube has not one bend radius for each inner corner.
    #[error("{corners} corners need {needed} bend radii, one for each but the ends; {found} given")]
    BendCount {
        /// How many corners.
        corners: usize,
        /// How many radii they need.
        needed: usize,
        /// How many there are.
        found: usize,
    },
    /// A wall fills the tube.
    #[error(
        "a wall of {wall_mm} mm does not fit in a tube of {radius_mm} mm outside radius; \
         for a solid bar leave the wall out"
    )]
    WallTooThick {
        /// The wall.
        wall_mm: f64,
        /// The tube's outside radius.
        radius_mm: f64,
    },
    /// Two bends, or a bend and an end, need more length than lies between them.
    #[error(
        "from {from} to {to} is {length_mm:.3} mm, but the bends take up {needed_mm:.3} mm: \
         {short_mm:.3} mm short; {}", radius_that_fits(*largest_radius_mm, *tube_radius_mm, *short_mm)
    )]
    LegTooShort {
        /// Where the leg starts.
        from: TubePlace,
        /// Where it ends.
        to: TubePlace,
        /// From corner to corner.
        length_mm: f64,
        /// What the bends' setbacks add up to.
        needed_mm: f64,
        /// The difference.
        short_mm: f64,
        /// Largest centreline radius that fits when every bend of this leg has it and all others stay.
        largest_radius_mm: f64,
        /// The tube's outside radius, the least that a bend may have.
        tube_radius_mm: f64,
    },
    /// A tube turns straight back on itself.
    #[error(
        "at {bend} the tube turns straight back (180 deg at one corner); use two corners, twice the bend's radius apart"
    )]
    FoldedCorner {
        /// Which bend.
        bend: TubePlace,
    },
    /// A triangle names a vertex that is not there.
    #[error("triangle {triangle} (from 0) names vertex {index}, but there are {vertices} vertices")]
    IndexOutOfRange {
        /// Which triangle.
        triangle: usize,
        /// The index.
        index: u32,
        /// How many vertices there are.
        vertices: usize,
    },
    /// A mesh has no surface.
    #[error("the mesh has no triangle of any area")]
    NoSurface,
    /// A patch whose triangles do not face one side of it.
    #[error(
        "of the surface, {away:.0} % faces away from the side named as solid and {toward:.0} % toward it: that does not \
         tell which way its triangles are wound; name a side that the patch has, or wind its triangles alike"
    )]
    SideUnclear {
        /// Share of the area that faces away, %.
        away: f64,
        /// Share that faces toward it, %.
        toward: f64,
    },
    /// A mesh is called closed and is not.
    #[error(
        "the mesh is called closed, but {edges} of its edges are not shared by two triangles that run \
         opposite ways; mend it, or treat it as open with a thickness"
    )]
    OpenEdges {
        /// How many.
        edges: usize,
    },
    /// A closed mesh is turned outside in.
    #[error("the mesh is inside out: its volume is {volume_mm3:.3} mm3; turn its triangles over")]
    InsideOut {
        /// The negative volume.
        volume_mm3: f64,
    },
    /// A part of a compound cannot be.
    #[error("part {part} (from 0): {cause}")]
    Part {
        /// Which part.
        part: usize,
        /// Why.
        cause: Box<ShapeError>,
    },
    /// Compounds within compounds without end.
    #[error("compounds lie more than {limit} deep; put the parts into one compound")]
    TooDeep {
        /// The limit.
        limit: usize,
    },
}

/// A ring of a plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ring {
    /// The outline.
    Outline,
    /// A hole, from 0.
    Hole(usize),
    /// A tube's corners, which make a line and not a ring.
    Corners,
}

impl fmt::Display for Ring {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Ring::Outline => write!(f, "the outline"),
            Ring::Hole(hole) => write!(f, "hole {hole}"),
            Ring::Corners => write!(f, "the centreline"),
        }
    }
}

/// A place on a tube as a person counts along it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TubePlace {
    /// The first end.
    Start,
    /// A bend, counted from 1; bend n lies at `corners[n]`.
    Bend(usize),
    /// The last end.
    End,
}

impl fmt::Display for TubePlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TubePlace::Start => write!(f, "the start"),
            TubePlace::Bend(number) => write!(f, "bend {number}"),
            TubePlace::End => write!(f, "the end"),
        }
    }
}

fn radius_that_fits(largest_mm: f64, tube_radius_mm: f64, short_mm: f64) -> String {
    if largest_mm >= tube_radius_mm {
        // Rounded down: the radius shown must itself fit.
        let shown = (largest_mm * 1000.0).floor() / 1000.0;
        format!("a bend radius of up to {shown:.3} mm fits")
    } else {
        format!("no bend of this tube fits there; move the corners {short_mm:.3} mm further apart")
    }
}

/// A size that must be above zero and finite.
pub(super) fn positive(what: &'static str, value_mm: f64) -> Result<(), ShapeError> {
    if value_mm.is_finite() && value_mm > 0.0 { Ok(()) } else { Err(ShapeError::Size { what, value_mm }) }
}

/// A size that must be zero or more and finite.
pub(super) fn not_negative(what: &'static str, value_mm: f64) -> Result<(), ShapeError> {
    if value_mm.is_finite() && value_mm >= 0.0 {
        Ok(())
    } else {
        Err(ShapeError::NegativeSize { what, value_mm })
    }
}

/// Coordinates that must all be finite.
pub(super) fn finite<const D: usize>(
    what: &'static str,
    points: &[nalgebra::OPoint<f64, nalgebra::Const<D>>],
) -> Result<(), ShapeError> {
    match points.iter().position(|point| !point.iter().all(|value| value.is_finite())) {
        Some(index) => Err(ShapeError::NotFinite { what, index }),
        None => Ok(()),
    }
}
