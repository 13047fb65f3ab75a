//! A round tube along a bent centreline.

use std::f64::consts::{PI, TAU};

use nalgebra::{Point3, Unit, Vector3};

use crate::space::{Bounds, Pose};

use super::bend::flat_end_from_inside;
use super::centreline::{Centreline, Leg};
use super::closest::NOISE_MM;
use super::error::{finite, positive};
use super::{Bend, Closest, Mesh, Piece, Ring, ShapeError, Solid, TubePlace, sweep};

/// Under this turn (radians) a corner is straight, and its radius is not used.
const STRAIGHT_RAD: f64 = 1e-9;
/// Within this of half a turn a corner cannot be bent: its setback grows without end.
const FOLDED_RAD: f64 = 1e-6;

/// A round tube along a bent centreline, square-cut ends; as an obstacle it is solid to its outside.
///
/// `corners` are the centreline's ends and its theoretical corners; `bend_radii_mm[i]` is the
/// centreline radius at `corners[i + 1]` (so there are `corners.len() - 2` of them). A corner that
/// does not turn is no bend, whatever its radius.
///
/// Closest point: from the middle of a bend, away from the bend's centre; from the middle of a
/// straight, a fixed direction across it. From inside, an end is taken only when it is nearer than the
/// side. A tube that runs into itself gives a depth that is a lower bound there.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    /// Ends and theoretical corners in order, mm.
    pub corners: Vec<Point3<f64>>,
    /// Centreline radius at each inner corner, mm.
    pub bend_radii_mm: Vec<f64>,
    /// Outside radius, mm.
    pub radius_mm: f64,
    /// Wall thickness, mm; `None` for a solid bar. Counts for mass only.
    pub wall_mm: Option<f64>,
}

/// An end, or a corner that turns.
struct Corner {
    place: TubePlace,
    at: Point3<f64>,
    turn_rad: f64,
    radius_mm: f64,
    setback_mm: f64,
}

impl Tube {
    /// The middle of the tube as straights and bends. Straights of zero length vanish.
    ///
    /// # Errors
    /// Whatever is wrong with the tube: see [`Solid::validate`].
    ///
    /// # Example
    /// One right angle of 76.2 mm centreline radius: 123.8 + 76.2 pi/2 + 73.8.
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::solid::Tube;
    /// use nalgebra::Point3;
    /// let tube = Tube {
    ///     corners: vec![Point3::origin(), Point3::new(200.0, 0.0, 0.0), Point3::new(200.0, 150.0, 0.0)],
    ///     bend_radii_mm: vec![76.2],
    ///     radius_mm: 25.4,
    ///     wall_mm: Some(1.65),
    /// };
    /// let line = tube.centreline().unwrap();
    /// assert_eq!(line.legs.len(), 3);
    /// assert!((line.length_mm() - 317.2946801).abs() < 1e-6);
    /// ```
    pub fn centreline(&self) -> Result<Centreline, ShapeError> {
        self.check_numbers()?;
        let corners = self.turning_corners()?;
        self.check_legs(&corners)?;
        let mut legs = Vec::new();
        let mut at = corners[0].at;
        for index in 1..corners.len() {
            let (last, corner) = (&corners[index - 1], &corners[index]);
            let before = Unit::new_normalize(corner.at - last.at);
            let until = corner.at - before.into_inner() * corner.setback_mm;
            if (until - at).norm() > NOISE_MM {
                legs.push(Leg::Straight { from: at, to: until });
            }
            if let Some(next) = corners.get(index + 1) {
                let after = Unit::new_normalize(next.at - corner.at);
                let bend = bend_at(&until, &before, &after, corner);
                at = bend.point_at(bend.sweep_rad);
                legs.push(Leg::Bend(bend));
            }
        }
        Ok(Centreline { legs })
    }

    /// Inner radius, mm; zero for a solid bar.
    pub fn inner_radius_mm(&self) -> f64 {
        self.wall_mm.map_or(0.0, |wall| self.radius_mm - wall)
    }

    /// Area of the metal in a square cut, mm^2.
    pub fn section_mm2(&self) -> f64 {
        PI * (self.radius_mm.powi(2) - self.inner_radius_mm().powi(2))
    }

    /// The centreline, or no leg at all for a tube that cannot be.
    fn line(&self) -> Centreline {
        self.centreline().unwrap_or_default()
    }

    fn check_numbers(&self) -> Result<(), ShapeError> {
        positive("the tube's outside radius", self.radius_mm)?;
        if let Some(wall_mm) = self.wall_mm {
            positive("the tube's wall", wall_mm)?;
            if wall_mm >= self.radius_mm {
                return Err(ShapeError::WallTooThick { wall_mm, radius_mm: self.radius_mm });
            }
        }
        let corners = self.corners.len();
        if corners < 2 {
            return Err(ShapeError::TooFew { what: "corners of the tube", found: corners, needed: 2 });
        }
        finite("corner", &self.corners)?;
        if self.bend_radii_mm.len() != corners - 2 {
            let found = self.bend_radii_mm.len();
            return Err(ShapeError::BendCount { corners, needed: corners - 2, found });
        }
        for (first, pair) in self.corners.windows(2).enumerate() {
            if (pair[1] - pair[0]).norm() <= NOISE_MM {
                return Err(ShapeError::RepeatedPoint { what: Ring::Corners, first, second: first + 1 });
            }
        }
        Ok(())
    }

    /// The ends, and the corners that turn: a bend's setback may reach past those that do not.
    fn turning_corners(&self) -> Result<Vec<Corner>, ShapeError> {
        let end = |place, at| Corner { place, at, turn_rad: 0.0, radius_mm: 0.0, setback_mm: 0.0 };
        let mut corners = vec![end(TubePlace::Start, self.corners[0])];
        for (index, triple) in self.corners.windows(3).enumerate() {
            let (before, after) = (triple[1] - triple[0], triple[2] - triple[1]);
            let turn_rad = before.cross(&after).norm().atan2(before.dot(&after));
            if turn_rad > STRAIGHT_RAD {
                corners.push(self.corner(index + 1, turn_rad)?);
            }
        }
        corners.push(end(TubePlace::End, self.corners[self.corners.len() - 1]));
        Ok(corners)
    }

    fn corner(&self, index: usize, turn_rad: f64) -> Result<Corner, ShapeError> {
        let place = TubePlace::Bend(index);
        let radius_mm = self.bend_radii_mm[index - 1];
        if turn_rad > PI - FOLDED_RAD {
            return Err(ShapeError::FoldedCorner { bend: place });
        }
        positive("a bend's centreline radius", radius_mm)?;
        if radius_mm < self.radius_mm {
            return Err(ShapeError::BendTooTight {
                bend: place,
                bend_radius_mm: radius_mm,
                tube_radius_mm: self.radius_mm,
            });
        }
        let setback_mm = radius_mm * (turn_rad / 2.0).tan();
        Ok(Corner { place, at: self.corners[index], turn_rad, radius_mm, setback_mm })
    }

    fn check_legs(&self, corners: &[Corner]) -> Result<(), ShapeError> {
        let length = |leg: usize| (corners[leg + 1].at - corners[leg].at).norm();
        for leg in 0..corners.len() - 1 {
            let (from, to) = (&corners[leg], &corners[leg + 1]);
            let (length_mm, needed_mm) = (length(leg), from.setback_mm + to.setback_mm);
            if needed_mm <= length_mm + NOISE_MM {
                continue;
            }
            // What this leg gives its bends together, and what the legs on either side leave each.
            let mut largest_radius_mm = length_mm / (from.tangent() + to.tangent());
            if leg > 0 {
                let room = length(leg - 1) - corners[leg - 1].setback_mm;
                largest_radius_mm = largest_radius_mm.min(room / from.tangent());
            }
            if leg + 2 < corners.len() {
                let room = length(leg + 1) - corners[leg + 2].setback_mm;
                largest_radius_mm = largest_radius_mm.min(room / to.tangent());
            }
            return Err(ShapeError::LegTooShort {
                from: from.place,
                to: to.place,
                length_mm,
                needed_mm,
                short_mm: needed_mm - length_mm,
                largest_radius_mm,
                tube_radius_mm: self.radius_mm,
            });
        }
        Ok(())
    }
}

impl Corner {
    fn tangent(&self) -> f64 {
        (self.turn_rad / 2.0).tan()
    }
}

fn bend_at(
    from: &Point3<f64>,
    before: &Unit<Vector3<f64>>,
    after: &Unit<Vector3<f64>>,
    corner: &Corner,
) -> Bend {
    let axis = Unit::new_normalize(before.cross(after));
    // From the arc's centre to its first point: away from where the tube turns to.
    let start = Unit::new_normalize(before.cross(&axis));
    let radius_mm = corner.radius_mm;
    Bend { center: from - start.into_inner() * radius_mm, axis, start, radius_mm, sweep_rad: corner.turn_rad }
}

impl Solid for Tube {
    fn validate(&self) -> Result<(), ShapeError> {
        self.centreline().map(|_| ())
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        self.line()
            .legs
            .iter()
            .fold(Bounds::EMPTY, |bounds, leg| bounds.union(&leg.bounds_in(world_from_shape, self.radius_mm)))
    }

    /// The wall's volume, or the bar's: section times developed length (Pappus).
    fn volume_mm3(&self) -> f64 {
        self.section_mm2() * self.line().length_mm()
    }

    fn area_mm2(&self) -> f64 {
        TAU * self.radius_mm * (self.line().length_mm() + self.radius_mm)
    }

    fn center_of_mass(&self) -> Point3<f64> {
        let line = self.line();
        let (mut sum, mut total) = (Vector3::zeros(), 0.0);
        for leg in &line.legs {
            let center = match leg {
                Leg::Straight { from, to } => nalgebra::center(from, to),
                Leg::Bend(bend) => bend.center_of_mass(self.radius_mm, self.inner_radius_mm()),
            };
            sum += center.coords * leg.length_mm();
            total += leg.length_mm();
        }
        Point3::from(if total > 0.0 { sum / total } else { sum })
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        let line = self.line();
        let nearest = line
            .legs
            .iter()
            .map(|leg| leg.closest(point, self.radius_mm))
            .fold(Closest::NOWHERE, Closest::nearer);
        let (Some(first), Some(last)) = (line.legs.first(), line.legs.last()) else {
            return nearest;
        };
        if nearest.distance_mm >= 0.0 {
            return nearest;
        }
        let length = last.length_mm();
        [(first.point_at(0.0), -first.tangent_at(0.0)), (last.point_at(length), last.tangent_at(length))]
            .into_iter()
            .map(|(center, outward)| flat_end_from_inside(point, &center, outward, self.radius_mm))
            .fold(nearest, |nearest, end| if end.distance_mm > nearest.distance_mm { end } else { nearest })
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        sweep::round_bar(&self.line(), self.radius_mm, sweep::Ends::Capped, chord_mm)
    }

    fn pieces(&self) -> Vec<Piece> {
        self.line().legs.iter().map(|leg| leg.piece(self.radius_mm)).collect()
    }
}
