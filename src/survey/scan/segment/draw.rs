//! Candidates from a few points near each other and their normals.

use nalgebra::{Point3, Unit, Vector3};

use super::super::PointCloud;
use super::super::tree::PointTree;
use super::chance::Chance;
use super::options::SegmentOptions;
use super::surface::{Nearness, Surface};

/// Where candidates are drawn from.
pub(super) struct Draw<'a> {
    pub(super) cloud: &'a PointCloud,
    pub(super) tree: &'a PointTree,
    /// Whether a point belongs to no feature yet.
    pub(super) free: &'a [bool],
    /// Usual distance between neighbours, mm.
    pub(super) spacing_mm: f64,
    pub(super) options: &'a SegmentOptions,
    pub(super) near: Nearness,
}

/// Steps of the distance between the points of a draw, each twice the one before.
const SCALES: usize = 7;

impl Draw<'_> {
    /// A candidate through `first`, or none: most draws fail, and soon.
    pub(super) fn candidate(&self, first: u32, chance: &mut Chance) -> Option<Surface> {
        let kinds = self.options.kinds;
        // Cylinders are drawn more often: a pair of points that makes one is rarer.
        let mut choices = [0u8; 4];
        let mut count = 0;
        for (wanted, kind) in
            [(kinds.planes, 0), (kinds.cylinders, 1), (kinds.cylinders, 1), (kinds.spheres, 2)]
        {
            if wanted {
                choices[count] = kind;
                count += 1;
            }
        }
        if count == 0 {
            return None;
        }
        let kind = choices[chance.below(count)];
        let scale_mm = self.spacing_mm * (4 << chance.below(SCALES)) as f64;
        let (a, na) = self.at(first);
        let (b, nb) = self.at(self.near_by(&a, scale_mm, chance)?);
        let (c, nc) = self.at(self.near_by(&a, scale_mm, chance)?);
        let surface = match kind {
            0 => plane(&a, &b, &c)?,
            1 => cylinder(&a, &na, &b, &nb)?,
            _ => sphere(&a, &na, &b, &nb)?,
        };
        if let Surface::Cylinder { radius_mm, .. } | Surface::Sphere { radius_mm, .. } = surface
            && !(self.options.radius_mm[0]..=self.options.radius_mm[1]).contains(&radius_mm)
        {
            return None;
        }
        // Two normals place a round thing worse than its points do: it is polished later.
        let wide = Nearness { tolerance_mm: 3.0 * self.near.tolerance_mm, ..self.near };
        [(a, na), (b, nb), (c, nc)]
            .iter()
            .all(|(at, normal)| surface.holds(at, normal, &wide))
            .then_some(surface)
    }

    fn at(&self, index: u32) -> (Point3<f64>, Vector3<f64>) {
        (self.cloud.points[index as usize], self.cloud.normals[index as usize])
    }

    /// A free point about so far away, in a random direction.
    fn near_by(&self, at: &Point3<f64>, scale_mm: f64, chance: &mut Chance) -> Option<u32> {
        let z = 2.0 * chance.uniform() - 1.0;
        let angle = std::f64::consts::TAU * chance.uniform();
        let r = (1.0 - z * z).sqrt();
        let aim = at + Vector3::new(r * angle.cos(), r * angle.sin(), z) * scale_mm;
        let found = self.tree.nearest(&aim, 0.8 * scale_mm)?.index;
        self.free[found as usize].then_some(found)
    }
}

fn plane(a: &Point3<f64>, b: &Point3<f64>, c: &Point3<f64>) -> Option<Surface> {
    let normal = (b - a).cross(&(c - a));
    // Not on one line: more than about 6 degrees.
    let long = (b - a).norm() * (c - a).norm();
    let normal = (normal.norm() > 0.1 * long).then(|| Unit::new_normalize(normal))?;
    Some(Surface::Plane { point: *a, normal })
}

/// The axis is square to both normals; seen along it the normals meet in the middle.
fn cylinder(a: &Point3<f64>, na: &Vector3<f64>, b: &Point3<f64>, nb: &Vector3<f64>) -> Option<Surface> {
    let axis = na.cross(nb);
    // Less than about 9 degrees apart says nothing of the axis.
    let direction = (axis.norm() > 0.15).then(|| Unit::new_normalize(axis))?;
    let flat = |v: Vector3<f64>| v - direction.into_inner() * v.dot(&direction);
    let middle = meeting(a, na, &(a + flat(b - a)), nb)?;
    let radius_mm = 0.5 * ((middle - a).norm() + flat(middle - b).norm());
    Some(Surface::Cylinder { point: middle, direction, radius_mm })
}

fn sphere(a: &Point3<f64>, na: &Vector3<f64>, b: &Point3<f64>, nb: &Vector3<f64>) -> Option<Surface> {
    let center = meeting(a, na, b, nb)?;
    let radius_mm = 0.5 * ((center - a).norm() + (center - b).norm());
    Some(Surface::Sphere { center, radius_mm })
}

/// Midway between two lines where they come nearest.
fn meeting(a: &Point3<f64>, na: &Vector3<f64>, b: &Point3<f64>, nb: &Vector3<f64>) -> Option<Point3<f64>> {
    let cosine = na.dot(nb);
    let square = 1.0 - cosine * cosine;
    if square < 0.02 {
        return None;
    }
    let between = b - a;
    let (along_a, along_b) = (between.dot(na), between.dot(nb));
    let on_a = a + na * ((along_a - cosine * along_b) / square);
    let on_b = b + nb * ((cosine * along_a - along_b) / square);
    Some(nalgebra::center(&on_a, &on_b))
}
