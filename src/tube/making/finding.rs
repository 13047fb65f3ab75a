//! What stands in the way of making a tube.

use std::fmt;

use nalgebra::Point3;

use crate::tube::{LegPlace, PieCuts};

/// A rule of making.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MakingRule {
    /// The radius is under what the bender or the tube's diameter allows.
    LeastRadius,
    /// The radius is tight: it can be bent, with care.
    TightRadius,
    /// The bender has no die for the tube or the radius.
    Die,
    /// Too little straight between two bends for the clamp.
    StraightBetween,
    /// Too little straight before the first bend or after the last, for grip, clamp, bead or boot.
    StraightAtEnd,
    /// The outside of the bend thins too much.
    Thinning,
    /// The outside of the bend is drawn further than the material stretches.
    Elongation,
    /// The wall is too thick for the bender.
    Wall,
    /// The angle is more than the bender reaches.
    Angle,
}

impl MakingRule {
    /// Whether what is asked is the least or the most; a die is asked as it is.
    const fn bound(self) -> &'static str {
        match self {
            MakingRule::Die => "",
            MakingRule::Thinning | MakingRule::Elongation | MakingRule::Wall | MakingRule::Angle => {
                "at most "
            }
            _ => "at least ",
        }
    }

    /// A stable word for programs.
    pub const fn code(self) -> &'static str {
        match self {
            MakingRule::LeastRadius => "least-radius",
            MakingRule::TightRadius => "tight-radius",
            MakingRule::Die => "die",
            MakingRule::StraightBetween => "straight-between",
            MakingRule::StraightAtEnd => "straight-at-end",
            MakingRule::Thinning => "thinning",
            MakingRule::Elongation => "elongation",
            MakingRule::Wall => "wall",
            MakingRule::Angle => "angle",
        }
    }
}

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// It can be made, with care.
    Care,
    /// It cannot be made this way.
    Cannot,
}

/// The nearest that could be made.
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// Bend it to this radius, mm; the corners stay where they are.
    Radius(f64),
    /// The same, but the straights beside it must grow by so much, mm.
    RadiusAndLonger(f64, f64),
    /// Make the straight longer by so much, mm.
    Longer(f64),
    /// Bend it with so much more tube at that end, mm, and cut it off afterwards.
    TrimAfter(f64),
    /// Use a tube of this outside diameter, mm.
    Outside(f64),
    /// Use a wall of this thickness, mm.
    Wall(f64),
    /// Bend it in two steps of half the angle.
    TwoSteps,
    /// Cut it from a stock bend (its name) and weld.
    StockBend(String),
    /// Make it of pie cuts.
    PieCuts(PieCuts),
}

impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remedy::Radius(mm) => write!(f, "bend it to a radius of {mm:.2} mm"),
            Remedy::RadiusAndLonger(mm, by) => {
                write!(f, "bend it to a radius of {mm:.2} mm and move the corners {by:.2} mm apart")
            }
            Remedy::Longer(mm) => write!(f, "make it {mm:.2} mm longer"),
            Remedy::TrimAfter(mm) => write!(f, "bend it with {mm:.2} mm more at that end and cut it off"),
            Remedy::Outside(mm) => write!(f, "use a tube of {mm:.2} mm"),
            Remedy::Wall(mm) => write!(f, "use a wall of {mm:.2} mm"),
            Remedy::TwoSteps => write!(f, "bend it in two steps of half the angle"),
            Remedy::StockBend(name) => write!(f, "cut it from the stock bend `{name}` and weld"),
            Remedy::PieCuts(cuts) => write!(
                f,
                "make it of pie cuts: {} joints of {:.2} deg",
                cuts.joints,
                cuts.joint_rad().to_degrees()
            ),
        }
    }
}

/// A rule of making that a tube breaks, where, and the nearest that could be made.
#[derive(Clone, Debug, PartialEq)]
pub struct MakingFinding {
    /// Which rule.
    pub rule: MakingRule,
    /// How much it weighs.
    pub weight: Weight,
    /// Where along the tube.
    pub place: LegPlace,
    /// From the first end to the middle of that place, along the centreline, mm.
    pub along_mm: f64,
    /// The middle of that place, in the tube's frame.
    pub at: Point3<f64>,
    /// What was found, in `unit`.
    pub found: f64,
    /// What is needed (the least or the most, as the rule says), in `unit`.
    pub needed: f64,
    /// `mm`, `deg` or `%`.
    pub unit: &'static str,
    /// The rule's figure in words, with its source.
    pub because: String,
    /// What could be made instead, the nearest first.
    pub remedies: Vec<Remedy>,
}

impl fmt::Display for MakingFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let verb = match self.weight {
            Weight::Care => "needs care",
            Weight::Cannot => "cannot be made so",
        };
        write!(f, "{} ({:.1} mm along) {verb}: {}", self.place, self.along_mm, self.reason())
    }
}

impl MakingFinding {
    /// What is found and what is asked, why, and what could be made, without the place: for a bend that stands for all
    /// of its kind.
    pub fn reason(&self) -> String {
        let mut said = format!(
            "{:.2} {} where {}{:.2} {} is asked: {}",
            self.found,
            self.unit,
            self.rule.bound(),
            self.needed,
            self.unit,
            self.because
        );
        for (index, remedy) in self.remedies.iter().enumerate() {
            said.push_str(&format!("{} {remedy}", if index == 0 { ";" } else { ", or" }));
        }
        said
    }
}
