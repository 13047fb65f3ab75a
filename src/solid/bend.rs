//! An arc of a circle in space, and the round bar that follows it.

use std::f64::consts::TAU;

use nalgebra::{Point3, Unit, Vector3};

use crate::space::Pose;

use super::closest::NOISE_MM;
use super::{Closest, Piece};

/// A centreline's arc: part of a circle, run through right-handed about its axis.
#[derive(Clone, Debug, PartialEq)]
pub struct Bend {
    /// Centre of the circle.
    pub center: Point3<f64>,
    /// Axis of the circle.
    pub axis: Unit<Vector3<f64>>,
    /// From the centre toward the arc's first point; perpendicular to `axis`.
    pub start: Unit<Vector3<f64>>,
    /// Radius of the centreline, mm.
    pub radius_mm: f64,
    /// Sweep, radians, over 0 to 2 pi.
    pub sweep_rad: f64,
}

/// Where along a bend a thing lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct BendSection {
    /// From 0 to the sweep.
    pub(super) angle_rad: f64,
    /// Whether it lies beside the arc and not beyond one of its ends.
    pub(super) beside: bool,
}

impl Bend {
    /// Length of the centreline, mm: radius times sweep.
    pub fn length_mm(&self) -> f64 {
        self.radius_mm * self.sweep_rad
    }

    /// Unit vector from the centre toward the centreline at an angle from the start.
    pub fn radius_at(&self, angle_rad: f64) -> Unit<Vector3<f64>> {
        let (sin, cos) = angle_rad.sin_cos();
        Unit::new_unchecked(self.start.into_inner() * cos + self.axis.cross(&self.start) * sin)
    }

    /// The centreline's point at an angle from the start.
    pub fn point_at(&self, angle_rad: f64) -> Point3<f64> {
        self.center + self.radius_at(angle_rad).into_inner() * self.radius_mm
    }

    /// Where the centreline heads at an angle from the start.
    pub fn tangent_at(&self, angle_rad: f64) -> Unit<Vector3<f64>> {
        Unit::new_unchecked(self.axis.cross(&self.radius_at(angle_rad)))
    }

    /// The same bend seen from another frame.
    pub fn moved(&self, to_from_here: &Pose) -> Self {
        Bend {
            center: to_from_here * self.center,
            axis: to_from_here * self.axis,
            start: to_from_here * self.start,
            ..self.clone()
        }
    }

    /// The bent bar, as the clearance kernel sees it.
    pub(super) fn piece(&self, tube_radius_mm: f64) -> Piece {
        Piece::Arc {
            center: self.center,
            axis: self.axis,
            start: self.start,
            ring_radius_mm: self.radius_mm,
            tube_radius_mm,
            sweep_rad: self.sweep_rad,
        }
    }

    /// Centre of mass of the bent bar or, with an inner radius, of the bent tube.
    ///
    /// Material farther from the axis has the longer way round, so a section's centre lies at
    /// R + (r^2 + ri^2) / 4R; the sweep takes it to sin(a/2) / (a/2) of that (closed form).
    pub(super) fn center_of_mass(&self, radius_mm: f64, inner_radius_mm: f64) -> Point3<f64> {
        let spread_sq = radius_mm.powi(2) + inner_radius_mm.powi(2);
        let section = self.radius_mm + spread_sq / (4.0 * self.radius_mm);
        let half = self.sweep_rad / 2.0;
        self.center + self.radius_at(half).into_inner() * (section * half.sin() / half)
    }

    /// The section nearest to a direction from the centre. A direction along the axis, and one
    /// exactly between the ends on the far side, take the start.
    pub(super) fn section_toward(&self, offset: &Vector3<f64>) -> BendSection {
        let across = self.axis.cross(&self.start).dot(offset);
        let along = self.start.dot(offset);
        let mut angle_rad = across.atan2(along);
        // Not under zero by rounding: a point of the first disc's plane belongs to the arc.
        let slack = 1e-12 + NOISE_MM / self.radius_mm.max(NOISE_MM);
        if angle_rad < -slack {
            angle_rad += TAU;
        }
        if angle_rad <= self.sweep_rad + slack {
            return BendSection { angle_rad: angle_rad.min(self.sweep_rad).max(0.0), beside: true };
        }
        if TAU - angle_rad < slack {
            return BendSection { angle_rad: 0.0, beside: true };
        }
        let end = if angle_rad - self.sweep_rad < TAU - angle_rad { self.sweep_rad } else { 0.0 };
        BendSection { angle_rad: end, beside: false }
    }
}

/// Nearest point of the round side of a bar whose centreline passes `core`; the point lies in the
/// section through `core`. `fallback` is the direction taken for a point on the centreline.
pub(super) fn round_side(
    point: &Point3<f64>,
    core: &Point3<f64>,
    radius_mm: f64,
    fallback: Unit<Vector3<f64>>,
) -> Closest {
    let offset = point - core;
    let from_core = offset.norm();
    let normal = if from_core > NOISE_MM { Unit::new_unchecked(offset / from_core) } else { fallback };
    Closest { point: core + normal.into_inner() * radius_mm, distance_mm: from_core - radius_mm, normal }
}

/// Nearest point of a flat end; the distance is not signed (zero or more). `outward` is the end's
/// outward normal.
pub(super) fn flat_end(
    point: &Point3<f64>,
    center: &Point3<f64>,
    outward: Unit<Vector3<f64>>,
    radius_mm: f64,
) -> Closest {
    let offset = point - center;
    let across = offset - outward.into_inner() * offset.dot(&outward);
    let from_axis = across.norm();
    let on_disc =
        if from_axis <= radius_mm { center + across } else { center + across * (radius_mm / from_axis) };
    Closest::outside(point, on_disc, outward)
}

/// A flat end seen from inside: how deep the point lies behind it.
pub(super) fn flat_end_from_inside(
    point: &Point3<f64>,
    center: &Point3<f64>,
    outward: Unit<Vector3<f64>>,
    radius_mm: f64,
) -> Closest {
    let end = flat_end(point, center, outward, radius_mm);
    Closest { distance_mm: -end.distance_mm, normal: outward, ..end }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarter() -> Bend {
        Bend {
            center: Point3::origin(),
            axis: Vector3::z_axis(),
            start: Vector3::x_axis(),
            radius_mm: 76.2,
            sweep_rad: TAU / 4.0,
        }
    }

    /// Source: closed forms; distance to a 90 degree arc of 76.2 mm centreline radius.
    #[test]
    fn distance_to_the_centreline_of_a_bend() {
        for (case, point, want_mm) in [
            ("inside the sector: hypot(hypot(100,100) - 76.2, 20)", [100.0, 100.0, 20.0], 68.2189512),
            ("beyond the end: to the end point (76.2, 0)", [100.0, -30.0, 0.0], 38.2941249),
        ] {
            let point = Point3::from(point);
            let bend = quarter();
            let section = bend.section_toward(&point.coords);
            let got = (point - bend.point_at(section.angle_rad)).norm();
            assert!((got - want_mm).abs() < 1e-6, "{case}: got {got} mm, want {want_mm} mm");
        }
    }

    #[test]
    fn sections_at_the_ends_are_beside_the_arc() {
        let bend = quarter();
        assert!(bend.section_toward(&Vector3::new(1.0, -1e-17, 0.0)).beside);
        assert!(bend.section_toward(&Vector3::new(-1e-17, 1.0, 0.0)).beside);
        assert!(!bend.section_toward(&Vector3::new(1.0, -1e-3, 0.0)).beside);
        assert_eq!(
            bend.section_toward(&Vector3::new(-1.0, -1.0, 0.0)).angle_rad,
            0.0,
            "a tie takes the start"
        );
    }
}
