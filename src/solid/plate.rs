//! A flat plate with holes.

use nalgebra::{Point2, Point3};

use crate::space::{Bounds, Pose};

use super::error::positive;
use super::polygon::{
    Flat, Runs, area_and_centroid, check_rings, convex_parts, region_triangles, signed_area,
};
use super::{Closest, Mesh, MeshKind, Piece, ShapeError, Solid};

/// A flat plate: an outline in the xy plane, with holes, extruded from z = 0 to the thickness.
///
/// Closest point: from inside, of equally near faces a flat one is taken before an edge, the top
/// before the bottom, and of equally near edges the first.
#[derive(Clone, Debug, PartialEq)]
pub struct Plate {
    /// Simple outline, either way round, mm.
    pub outline: Vec<Point2<f64>>,
    /// Simple holes inside the outline that do not meet each other, mm.
    pub holes: Vec<Vec<Point2<f64>>>,
    /// Thickness, mm.
    pub thickness_mm: f64,
}

impl Plate {
    /// A hole of many sides inside a circle, for [`Plate::holes`]: its corners lie on the circle, so
    /// the plate reaches at most `chord_mm` into the true hole and is never short of material.
    pub fn round_hole(center: Point2<f64>, radius_mm: f64, chord_mm: f64) -> Vec<Point2<f64>> {
        super::chord::unit_circle(super::chord::steps(radius_mm, std::f64::consts::TAU, chord_mm))
            .into_iter()
            .map(|(x, y)| Point2::new(center.x + radius_mm * x, center.y + radius_mm * y))
            .collect()
    }

    /// Area of one face, mm^2, holes taken off.
    pub fn face_mm2(&self) -> f64 {
        let holes: f64 = self.holes.iter().map(|hole| signed_area(hole).abs()).sum();
        signed_area(&self.outline).abs() - holes
    }

    /// Each ring and on which side of it the plate lies; the outline first.
    fn rings(&self) -> impl Iterator<Item = (&[Point2<f64>], Runs)> {
        let outline = std::iter::once((self.outline.as_slice(), 1.0));
        let holes = self.holes.iter().map(|hole| (hole.as_slice(), -1.0));
        outline.chain(holes).map(|(ring, sign)| {
            let left = signed_area(ring) * sign >= 0.0;
            (ring, if left { Runs::RegionLeft } else { Runs::RegionRight })
        })
    }

    /// The rings, each run through with the plate on its left.
    fn rings_run_left(&self) -> Vec<Vec<Point2<f64>>> {
        self.rings()
            .map(|(ring, runs)| match runs {
                Runs::RegionLeft => ring.to_vec(),
                Runs::RegionRight => ring.iter().rev().copied().collect(),
            })
            .collect()
    }

    /// The points of the rings at a height, in order.
    fn lifted(points: &[Point2<f64>], z: f64) -> impl Iterator<Item = Point3<f64>> + '_ {
        points.iter().map(move |point| Point3::new(point.x, point.y, z))
    }
}

impl Solid for Plate {
    fn validate(&self) -> Result<(), ShapeError> {
        positive("the plate's thickness", self.thickness_mm)?;
        let mut rings = vec![self.outline.as_slice()];
        rings.extend(self.holes.iter().map(Vec::as_slice));
        check_rings(&rings)
    }

    fn bounds_in(&self, world_from_shape: &Pose) -> Bounds {
        let mut bounds = Bounds::EMPTY;
        for z in [0.0, self.thickness_mm] {
            for corner in Plate::lifted(&self.outline, z) {
                bounds = bounds.with(&(world_from_shape * corner));
            }
        }
        bounds
    }

    fn volume_mm3(&self) -> f64 {
        self.face_mm2() * self.thickness_mm
    }

    fn area_mm2(&self) -> f64 {
        let around: f64 = self
            .rings()
            .map(|(ring, _)| {
                (0..ring.len()).map(|i| (ring[(i + 1) % ring.len()] - ring[i]).norm()).sum::<f64>()
            })
            .sum();
        2.0 * self.face_mm2() + around * self.thickness_mm
    }

    fn center_of_mass(&self) -> Point3<f64> {
        let (mut area, mut moment) = (0.0, nalgebra::Vector2::zeros());
        for (index, (ring, _)) in self.rings().enumerate() {
            let (signed, center) = area_and_centroid(ring);
            let part = if index == 0 { signed.abs() } else { -signed.abs() };
            area += part;
            moment += center.coords * part;
        }
        let center = if area > 0.0 { moment / area } else { moment };
        Point3::new(center.x, center.y, self.thickness_mm / 2.0)
    }

    fn closest(&self, point: &Point3<f64>) -> Closest {
        Flat::of_rings(&Point2::new(point.x, point.y), self.rings()).extruded(point, 0.0, self.thickness_mm)
    }

    /// Exact: the plate's own corners and edges, whatever the chord.
    fn tessellate(&self, _chord_mm: f64) -> Mesh {
        let rings = self.rings_run_left();
        let points: Vec<Point2<f64>> = rings.iter().flatten().copied().collect();
        let count = points.len() as u32;
        let vertices = Plate::lifted(&points, 0.0).chain(Plate::lifted(&points, self.thickness_mm)).collect();
        let mut triangles = Vec::new();
        for [a, b, c] in region_triangles(&rings) {
            triangles.push([a, c, b]);
            triangles.push([count + a, count + b, count + c]);
        }
        let mut first = 0;
        for ring in &rings {
            let around = ring.len() as u32;
            super::lathe::join(first, around, count + first, around, &mut triangles);
            first += around;
        }
        Mesh::new(vertices, triangles, MeshKind::Closed)
    }

    /// Convex prisms that cover the plate exactly and meet only at their faces.
    fn pieces(&self) -> Vec<Piece> {
        let rings = self.rings_run_left();
        let points: Vec<Point2<f64>> = rings.iter().flatten().copied().collect();
        convex_parts(&points, &region_triangles(&rings))
            .into_iter()
            .map(|part| {
                let flat: Vec<Point2<f64>> = part.iter().map(|&index| points[index as usize]).collect();
                Piece::Hull {
                    points: Plate::lifted(&flat, 0.0)
                        .chain(Plate::lifted(&flat, self.thickness_mm))
                        .collect(),
                }
            })
            .collect()
    }
}
