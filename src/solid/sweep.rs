//! Meshes of a disc swept along a centreline.

use std::f64::consts::TAU;

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use super::centreline::{Centreline, Leg};
use super::chord::{steps, unit_circle};
use super::lathe::join;
use super::{Mesh, MeshKind};

/// What becomes of the two ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ends {
    /// Each gets a flat cap.
    Capped,
    /// The last section is the first again: a whole ring.
    Joined,
}

/// A section of the bar: its middle and the directions of the circle's two axes.
#[derive(Clone, Copy)]
struct Section {
    center: Point3<f64>,
    across: [Vector3<f64>; 2],
}

/// The mesh of a round bar along a centreline.
///
/// The sections turn with each bend and not about the bar, so that facets are flat trapezoids; their
/// error is at most the section's own sagitta plus that of the bend's outer side, half the chord each.
pub(super) fn round_bar(line: &Centreline, radius_mm: f64, ends: Ends, chord_mm: f64) -> Mesh {
    let sections = sections(line, radius_mm, chord_mm / 2.0);
    let circle = unit_circle(steps(radius_mm, TAU, chord_mm / 2.0));
    let count = circle.len() as u32;
    let rings = match ends {
        Ends::Capped => sections.len(),
        Ends::Joined => sections.len().saturating_sub(1),
    };
    let mut vertices = Vec::with_capacity(rings * circle.len() + 2);
    for section in &sections[..rings] {
        vertices.extend(circle.iter().map(|(x, y)| {
            section.center + section.across[0] * (x * radius_mm) + section.across[1] * (y * radius_mm)
        }));
    }
    let mut triangles = Vec::new();
    for ring in 1..rings as u32 {
        join((ring - 1) * count, count, ring * count, count, &mut triangles);
    }
    let last = (rings as u32).saturating_sub(1) * count;
    match (ends, sections.first(), sections.last()) {
        (Ends::Capped, Some(start), Some(end)) => {
            let tip = vertices.len() as u32;
            vertices.push(start.center);
            vertices.push(end.center);
            join(tip, 1, 0, count, &mut triangles);
            join(last, count, tip + 1, 1, &mut triangles);
        }
        (Ends::Joined, ..) => join(last, count, 0, count, &mut triangles),
        _ => {}
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

fn sections(line: &Centreline, radius_mm: f64, sagitta_mm: f64) -> Vec<Section> {
    let mut sections: Vec<Section> = Vec::new();
    for leg in &line.legs {
        let mut section = match sections.last() {
            Some(last) => *last,
            None => {
                let first = first_section(leg);
                sections.push(first);
                first
            }
        };
        match leg {
            Leg::Straight { to, .. } => {
                section.center = *to;
                sections.push(section);
            }
            Leg::Bend(bend) => {
                let count = steps(bend.radius_mm + radius_mm, bend.sweep_rad, sagitta_mm);
                let start = section;
                for step in 1..=count {
                    let angle = bend.sweep_rad * step as f64 / count as f64;
                    let turn = Rotation3::from_axis_angle(&bend.axis, angle);
                    sections.push(Section {
                        center: bend.point_at(angle),
                        across: start.across.map(|axis| turn * axis),
                    });
                }
            }
        }
    }
    sections
}

/// Right-handed about the direction of travel, so that rings run counter-clockwise seen from ahead.
fn first_section(leg: &Leg) -> Section {
    let (center, along, first) = match leg {
        Leg::Straight { from, to } => {
            let along = (to - from).try_normalize(0.0).unwrap_or_else(Vector3::z);
            (*from, along, perpendicular(&along).into_inner())
        }
        Leg::Bend(bend) => (bend.point_at(0.0), bend.tangent_at(0.0).into_inner(), bend.start.into_inner()),
    };
    Section { center, across: [first, along.cross(&first)] }
}

/// Some unit vector perpendicular to a unit vector: away from the axis it lies least along.
pub(super) fn perpendicular(along: &Vector3<f64>) -> Unit<Vector3<f64>> {
    let mut least = Vector3::zeros();
    least[along.iamin()] = 1.0;
    Unit::new_normalize(least - along * along.dot(&least))
}
