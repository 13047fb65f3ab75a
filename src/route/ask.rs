//! What is asked of a route.

use nalgebra::{Point3, Unit, Vector3};

use crate::calc::Flow;
use crate::clearance::IndexedShape;
use crate::motion::Movement;
use crate::space::{Bounds, Pose};
use crate::tube::{Bender, StockBend};

/// How far off its port a tube's end may lie: a joint is fitted up by hand, and ports are measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitUp {
    /// The middle of the tube's end off the port's, mm.
    pub offset_mm: f64,
    /// Between the tube's way and the port's, rad.
    pub angle_rad: f64,
}

impl FitUp {
    /// To rounding.
    pub const EXACT: FitUp = FitUp { offset_mm: 0.0, angle_rad: 0.0 };

    /// Whether an end that lies so far off will do.
    pub(super) fn takes(&self, off: &FitUp) -> bool {
        off.offset_mm <= self.offset_mm.max(EXACT_MM) && off.angle_rad <= self.angle_rad.max(EXACT_MM)
    }
}

/// What counts as exact, mm and rad: rounding, no fit-up.
pub(super) const EXACT_MM: f64 = 1e-6;

/// Where a tube begins or ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Port {
    /// The middle of the tube's end, mm.
    pub at: Point3<f64>,
    /// Out of the port, the way the tube leaves it; both ports' directions point into the tube.
    pub out: Unit<Vector3<f64>>,
    /// Straight tube that the joint there needs, mm; what the bender needs is counted beside it, not added.
    pub straight_mm: f64,
    /// How far off a straight tube, or one of one bend, may end here. Tubes of more bends end exactly.
    pub fit_up: FitUp,
}

/// The tube to be routed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RouteTube {
    /// Outside diameter of the metal, mm.
    pub outside_mm: f64,
    /// Wall, mm; `None` for a bar.
    pub wall_mm: Option<f64>,
    /// Thickness of wrap and coating over it, mm.
    pub cover_mm: f64,
    /// Share by which the material stretches before it tears; `None` when it is not known.
    pub elongation: Option<f64>,
}

impl RouteTube {
    /// Radius with wrap and coating, mm.
    pub(super) fn covered_radius_mm(&self) -> f64 {
        self.outside_mm / 2.0 + self.cover_mm
    }
}

/// What makes the bends.
#[derive(Clone, Copy, Debug)]
pub enum Maker<'a> {
    /// A bender: any angle up to its most.
    Bender {
        /// The bender.
        bender: &'a Bender,
        /// Tube left on at the start while bending and cut off afterwards, mm.
        start_extra_mm: f64,
        /// The same at the end.
        end_extra_mm: f64,
    },
    /// Bends bought ready made and welded.
    Stock {
        /// The set.
        set: &'a [StockBend],
        /// Whether bends may be cut to a smaller angle; otherwise each bend has an angle of the set.
        cut: bool,
        /// Straight tube between two bends and at the ends, mm: room for a weld.
        between_mm: f64,
    },
}

/// How an obstacle moves.
#[derive(Clone, Debug, PartialEq)]
pub enum Ride {
    /// On the tube's own carrier: against the tube it stands still.
    WithTube,
    /// On another carrier, with this movement.
    Own(Movement),
}

/// A body that the tube must keep clear of.
#[derive(Clone, Debug)]
pub struct Obstacle {
    /// Its name.
    pub name: String,
    /// Its shape.
    pub shape: IndexedShape,
    /// Where it stands with its carrier at rest.
    pub world_from_solid: Pose,
    /// Least gap to the tube's wrap, mm; what covers the obstacle itself is to be added here.
    pub required_mm: f64,
    /// How it moves.
    pub ride: Ride,
    /// Whether the tube is joined to it: the tube's very ends (the straight that the port needs, and at least
    /// the tube's own radius) are then not asked.
    pub joined: bool,
}

/// A question for a route.
#[derive(Clone, Debug)]
pub struct RouteAsk<'a> {
    /// Where the tube begins.
    pub start: Port,
    /// Where it ends.
    pub end: Port,
    /// The tube.
    pub tube: RouteTube,
    /// What bends it.
    pub maker: Maker<'a>,
    /// The movement of the tube's own carrier.
    pub movement: Movement,
    /// What it must keep clear of.
    pub obstacles: Vec<Obstacle>,
    /// Boxes that no part of the tube may enter, in the tube's frame.
    pub forbidden: Vec<Bounds>,
    /// Boxes in which it should run where it can, in the tube's frame.
    pub preferred: Vec<Bounds>,
    /// What flows through it from start to end; then each route says what that costs, and a route that costs less is
    /// better in that.
    pub flow: Option<Flow>,
    /// Most bends that a route may have.
    pub most_bends: usize,
}
