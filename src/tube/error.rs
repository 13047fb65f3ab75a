//! Why a tube cannot be.

use crate::solid::{ShapeError, TubePlace};

/// Why a tube cannot be: what, where along it, and the nearest that can.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TubeError {
    /// A figure is not finite, or negative where it may not be.
    #[error("{what} at {place} is {value}; it must be {wanted}")]
    Figure {
        /// Which figure.
        what: &'static str,
        /// Where along the tube.
        place: TubePlace,
        /// What it was.
        value: f64,
        /// What would do.
        wanted: &'static str,
    },
    /// A bend that does not bend.
    #[error("{place} has an angle of 0 deg; leave the bend out and add its straight to the next one")]
    ZeroAngle {
        /// Which bend.
        place: TubePlace,
    },
    /// A bend that turns the other way.
    #[error(
        "{place} has an angle of {angle_deg:.4} deg; write {:.4} deg and add 180 deg to its rotation \
         and to that of the bend after it", -angle_deg
    )]
    NegativeAngle {
        /// Which bend.
        place: TubePlace,
        /// What it was.
        angle_deg: f64,
    },
    /// More than half a turn in one bend.
    #[error("{place} has an angle of {angle_deg:.4} deg; one bend has at most 180 deg: write it as two")]
    AngleTooGreat {
        /// Which bend.
        place: TubePlace,
        /// What it was.
        angle_deg: f64,
    },
    /// A centreline radius under half the outside diameter.
    #[error(
        "{place} has a centreline radius of {radius_mm:.3} mm, under half the outside diameter of \
         {outside_mm:.3} mm: its inside would fold over; the least that can be is {least_mm:.3} mm"
    )]
    RadiusUnderHalf {
        /// Which bend.
        place: TubePlace,
        /// Its centreline radius.
        radius_mm: f64,
        /// The tube's outside diameter, across the bend.
        outside_mm: f64,
        /// Half of that.
        least_mm: f64,
    },
    /// A leg is shorter than the setbacks of the bends at its ends.
    #[error(
        "the leg from {from} to {to} is {leg_mm:.3} mm, but its bends' setbacks take {setbacks_mm:.3} mm; \
         make it at least {setbacks_mm:.3} mm"
    )]
    LegUnderSetbacks {
        /// Where the leg starts.
        from: TubePlace,
        /// Where it ends.
        to: TubePlace,
        /// From corner to corner.
        leg_mm: f64,
        /// What the bends take of it.
        setbacks_mm: f64,
    },
    /// The corners do not make a tube.
    #[error(transparent)]
    Corners(#[from] ShapeError),
    /// The direction to bend toward is the one the tube already has.
    #[error(
        "{place} is told to turn {toward}, but the tube already runs along that line there; name a \
         direction across it"
    )]
    TurnAlongItself {
        /// Which bend.
        place: TubePlace,
        /// The direction in words.
        toward: String,
    },
    /// The first bend is told to turn from the plane of a bend before it.
    #[error("{place} is the first and has no plane before it to go on from; say which way: `turn up`")]
    NoPlaneYet {
        /// Which bend.
        place: TubePlace,
    },
    /// A phrase of a spoken tube is not understood.
    #[error("phrase {number}, `{phrase}`: {why}; write for example `{example}`")]
    Phrase {
        /// Place in the list, from 1.
        number: usize,
        /// What it was.
        phrase: String,
        /// What stands in the way.
        why: String,
        /// A phrase that works.
        example: &'static str,
    },
    /// The tube runs into itself.
    #[error(
        "the tube runs into itself: {one} and {other} overlap by {depth_mm:.3} mm near ({x_mm:.1}, \
         {y_mm:.1}, {z_mm:.1}); move them at least {depth_mm:.3} mm apart"
    )]
    SelfCrossing {
        /// The earlier leg.
        one: LegPlace,
        /// The later one.
        other: LegPlace,
        /// How deep.
        depth_mm: f64,
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
        /// Where, mm.
        z_mm: f64,
    },
    /// An end looks away from what it is to meet.
    #[error(
        "{end} of the tube looks {off_deg:.2} deg away from its port's axis; {}",
        if *off_deg > 90.0 { "the port faces away from it: turn the port's axis round, or bring the tube \
         round with one more bend".to_owned() }
        else { format!("bend {off_deg:.2} deg more toward the port, or use a joint that takes that angle") }
    )]
    EndFacesAway {
        /// Which end.
        end: TubePlace,
        /// Between the end's outward direction and the direction into the port.
        off_deg: f64,
    },
    /// A section has no inside, or is no section.
    #[error("{what} of {found_mm} mm: {remedy}")]
    Section {
        /// What is wrong.
        what: &'static str,
        /// The figure.
        found_mm: f64,
        /// What would do.
        remedy: &'static str,
    },
    /// A piece that is not round along a bend.
    #[error(
        "piece {piece} is oval and bent; bend it round and flatten the straights, or make the bend of pie cuts"
    )]
    BentOval {
        /// Which piece, from 1.
        piece: usize,
    },
    /// Two pieces that meet have different sections.
    #[error("piece {} ends in {ends}, but piece {after} starts with {starts}; put a transition between them", after - 1)]
    SectionsDiffer {
        /// The later piece, from 1.
        after: usize,
        /// What the earlier ends in.
        ends: String,
        /// What the later starts with.
        starts: String,
    },
    /// A tube of no piece.
    #[error("the tube has no piece; give it at least one")]
    NoPiece,
    /// Measured points do not tell a tube.
    #[error("{what}; {remedy}")]
    Measured {
        /// What is wrong, with the points' numbers.
        what: String,
        /// What would do.
        remedy: &'static str,
    },
}

/// A leg of the centreline as a person counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LegPlace {
    /// The straight after bend n; 0 for the first straight.
    Straight(usize),
    /// A bend, from 1.
    Bend(usize),
}

impl std::fmt::Display for LegPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            LegPlace::Straight(0) => write!(f, "the first straight"),
            LegPlace::Straight(after) => write!(f, "the straight after bend {after}"),
            LegPlace::Bend(number) => write!(f, "bend {number}"),
        }
    }
}
