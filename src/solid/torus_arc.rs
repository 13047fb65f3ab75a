//! A bent round bar with flat ends.

use std::f64::consts::{PI, TAU};

use nalgebra::{Point3, Vector3};

use crate::space::{Bounds, Pose};

use super::bend::{flat_end, flat_end_from_inside, round_side};
use super::centreline::{Centreline, Leg};
use super::error::positive;
use super::{Bend, Closest, Mesh, Piece, ShapeError, Solid, TubePlace, extent, sweep};

/// A bent round bar with flat ends: a disc swept about the z axis from angle 0 (on +x) to `sweep_rad`.
///
/// Closest point: of the round side and the ends the side is taken where they are equally near; from
/// the centreline the side is met away from the z axis, and from the z axis at the start of the sweep.
#[derive(Clone, Debug, PartialEq)]
pub struct TorusArc {
    /// Radius of the centreline about z, mm; greater than or equal to `tube_radius_mm`.
    pub ring_radius_mm: f64,
    /// Radius of the disc, mm.
    pub tube_radius_mm: f64,
    /// Sweep, radians, over 0 to 2 pi; 2 pi is a whole ring.
    pub sweep_rad: f64,
}

impl TorusArc {
    fn bend(&self) -> Bend {
        Bend {
            center: Point3::origin(),
            axis: Vector3::z_axis(),
            start: Vector3::x_axis(),
            radius_mm: self.ring_radius_mm,
            sweep_rad: self.sweep_rad,
        }
    }

    /// Whether it closes on itself and so has no ends.
    pub fn is_whole_ring(&self) -> bool {
        self.sweep_rad >= TAU - 1e-12
    }
}

impl Solid for TorusArc {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the bend's centreline radius", self.ring_radius_mm)?;
        positive("the bend's tube radius", self.tube_radius_mm)?;
        if self.ring_radius_mm < self.tube_radius_mm {
            return Err(ShapeError::BendTooTight {
                bend: TubePlace::Bend(1),
                bend_radius_mm: self.ring_radius_mm,
                tube_radius_mm: self.tube_radius_mm,
            });
        }
        if !(self.sweep_rad > 0.0 && self.sweep_rad <= TAU + 1e-12) {
            return Err(ShapeError::Sweep { sweep_deg: self.sweep_rad.to_degrees() });
        }
        Ok(())
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        extent::of_bend(&self.bend().moved(world_from_shape), self.tube_radius_mm)
    }

    fn volume_mm3(&self) -> f64 {
        PI * self.tube_radius_mm.powi(2) * self.ring_radius_mm * self.sweep_rad
    }

    fn area_mm2(&self) -> f64 {
        let ends = if self.is_whole_ring() { 0.0 } else { TAU * self.tube_radius_mm.powi(2) };
        TAU * self.tube_radius_mm * self.ring_radius_mm * self.sweep_rad + ends
    }

    fn center_of_mass(&self) -> Point3<f64> {
        self.bend().center_of_mass(self.tube_radius_mm, 0.0)
    }

    /// Every disc's distance grows with the angle from the point's own half-plane, so the nearest
    /// disc is the one there, or that of the nearer end.
    fn closest(&self, point: &Point3<f64>) -> Closest {
        let (bend, radius) = (self.bend(), self.tube_radius_mm);
        let ends = [(0.0, -1.0), (self.sweep_rad, 1.0)].map(|(angle, sign)| {
            let outward = bend.tangent_at(angle);
            (angle, bend.point_at(angle), if sign < 0.0 { -outward } else { outward })
        });
        let section = bend.section_toward(&point.coords);
        if !section.beside && !self.is_whole_ring() {
            let (_, center, outward) = ends[usize::from(section.angle_rad > 0.0)];
            return flat_end(point, &center, outward, radius);
        }
        let core = bend.point_at(section.angle_rad);
        let side = round_side(point, &core, radius, bend.radius_at(section.angle_rad));
        if side.distance_mm >= 0.0 || self.is_whole_ring() {
            return side;
        }
        ends.iter().fold(side, |nearest, (_, center, outward)| {
            let end = flat_end_from_inside(point, center, *outward, radius);
            if end.distance_mm > nearest.distance_mm { end } else { nearest }
        })
    }

    fn tessellate(&self, chord_mm: f64) -> Mesh {
        let line = Centreline { legs: vec![Leg::Bend(self.bend())] };
        let ends = if self.is_whole_ring() { sweep::Ends::Joined } else { sweep::Ends::Capped };
        sweep::round_bar(&line, self.tube_radius_mm, ends, chord_mm)
    }

    fn pieces(&self) -> Vec<Piece> {
        vec![self.bend().piece(self.tube_radius_mm)]
    }
}
