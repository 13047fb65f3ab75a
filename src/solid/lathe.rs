//! Meshes of things turned about z.

use std::f64::consts::PI;

use nalgebra::Point3;

use super::chord::{steps, unit_circle};
use super::{Mesh, MeshKind};

/// Turns a profile of (radius, z), bottom to top, about z. It starts and ends on the axis.
///
/// `widest_mm` is the radius whose chord error counts. Points on the axis become one vertex.
pub(super) fn turned(profile: &[(f64, f64)], widest_mm: f64, chord_mm: f64) -> Mesh {
    let circle = unit_circle(steps(widest_mm, 2.0 * PI, chord_mm));
    let count = circle.len() as u32;
    let mut vertices = Vec::new();
    let mut triangles = Vec::new();
    // First vertex of the ring below, and how many it has: one on the axis.
    let mut below: Option<(u32, u32)> = None;
    for (index, &(radius, z)) in profile.iter().enumerate() {
        let first = vertices.len() as u32;
        let ring = if radius <= 0.0 { 1 } else { count };
        // A cone's own tip needs no second point beside the one on the axis.
        if ring == 1 && index > 0 && profile[index - 1] == (radius, z) {
            continue;
        }
        if ring == 1 {
            vertices.push(Point3::new(0.0, 0.0, z));
        } else {
            vertices.extend(circle.iter().map(|(x, y)| Point3::new(radius * x, radius * y, z)));
        }
        if let Some((under, under_ring)) = below {
            join(under, under_ring, first, ring, &mut triangles);
        }
        below = Some((first, ring));
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A ball cut in half and drawn apart along z by `core_mm`; not drawn apart, a ball.
pub(super) fn round_ends(radius_mm: f64, core_mm: f64, chord_mm: f64) -> Mesh {
    // The sagittas along and across add up at the middle of a facet, so each gets half.
    let quarter = steps(radius_mm, PI, chord_mm / 2.0).div_ceil(2).max(2);
    let mut profile = Vec::with_capacity(2 * quarter + 2);
    for step in 0..=2 * quarter {
        let (sin, cos) = (PI * step as f64 / (2 * quarter) as f64).sin_cos();
        let radius = if step == 0 || step == 2 * quarter { 0.0 } else { radius_mm * sin };
        let lift = if step <= quarter { -core_mm / 2.0 } else { core_mm / 2.0 };
        if step == quarter {
            profile.push((radius_mm, -core_mm / 2.0));
            if core_mm > 0.0 {
                profile.push((radius_mm, core_mm / 2.0));
            }
        } else {
            profile.push((radius, lift - radius_mm * cos));
        }
    }
    turned(&profile, radius_mm, chord_mm / 2.0)
}

/// Triangles between two rings of equal count, or a ring and a point, counter-clockwise from outside.
pub(super) fn join(under: u32, under_ring: u32, over: u32, over_ring: u32, triangles: &mut Vec<[u32; 3]>) {
    let count = under_ring.max(over_ring);
    for i in 0..count {
        let next = (i + 1) % count;
        if under_ring == 1 && over_ring > 1 {
            triangles.push([under, over + next, over + i]);
        } else if over_ring == 1 && under_ring > 1 {
            triangles.push([under + i, under + next, over]);
        } else if under_ring > 1 {
            triangles.push([under + i, under + next, over + next]);
            triangles.push([under + i, over + next, over + i]);
        }
    }
}
