//! Tight places: gaps of one side that a thin part of the other must pass.
//!
//! Where two walls face each other across free space there is a gap; where they face each other through material
//! there is a neck. A way through a narrow place brings a neck into a gap and across it. So poses that do are good
//! places to grow from, found without any search: from every facet a ray goes out along its normal, and one goes in.

use std::sync::Arc;

use nalgebra::{Isometry3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};

use super::bay::{Asked, Bay};
use super::dice::Dice;
use crate::clearance::{IndexedShape, distance_under, ray};
use crate::solid::Shape;
use crate::space::{Length, Pose};

/// Two points of a surface that face each other.
#[derive(Clone, Copy, Debug)]
struct Facing {
    middle: Point3<f64>,
    along: Unit<Vector3<f64>>,
    width_mm: f64,
}

/// Gaps and necks of both sides; the body's own from its middle, the others in the world.
#[derive(Clone, Debug, Default)]
pub(super) struct Tight {
    body_gaps: Vec<Facing>,
    body_necks: Vec<Facing>,
    bay_gaps: Vec<Facing>,
    bay_necks: Vec<Facing>,
    /// Rays cast so far.
    rays: usize,
}

/// Facets that rays may be cast from.
#[derive(Clone, Debug)]
pub(super) struct Facets<'a> {
    body: Surface<'a>,
    bay: Vec<Surface<'a>>,
    /// Facets of all obstacles.
    count: usize,
    most_mm: f64,
}

#[derive(Clone, Debug)]
struct Surface<'a> {
    shape: &'a IndexedShape,
    to_from_shape: Pose,
    mesh: Arc<Shape>,
}

/// Walls face each other when their normals are within this of the line between them (cosine).
const SQUARE: f64 = 0.8;

impl<'a> Facets<'a> {
    pub fn of(bay: &Bay<'a>) -> Self {
        let mover = bay.mover;
        let surface = |shape: &'a IndexedShape, to_from_shape: Pose| Surface {
            shape,
            to_from_shape,
            mesh: match &**shape.shape() {
                Shape::Mesh(_) | Shape::Cloud(_) => shape.shape().clone(),
                other => {
                    Arc::new(Shape::Mesh(other.tessellate(0.02 * other.bounds().diagonal_mm().max(1.0))))
                }
            },
        };
        let standing: Vec<Surface<'a>> =
            bay.standing.iter().map(|one| surface(one.shape, one.world_from_obstacle)).collect();
        let count = standing.iter().map(Surface::count).sum();
        Facets {
            body: surface(&mover.shape, mover.world_from_body(&Pose::identity())),
            bay: standing,
            count,
            most_mm: 2.0 * mover.reach_mm,
        }
    }
}

impl Surface<'_> {
    fn count(&self) -> usize {
        match &*self.mesh {
            Shape::Mesh(mesh) => mesh.triangles.len(),
            _ => 0,
        }
    }

    /// Casts two rays from a point of a facet.
    fn look(
        &self,
        facet: usize,
        most_mm: f64,
        dice: &mut Dice,
        gaps: &mut Vec<Facing>,
        necks: &mut Vec<Facing>,
    ) {
        let Shape::Mesh(mesh) = &*self.mesh else { return };
        let [a, b, c] = mesh.corners(facet);
        let Some(out) = Unit::try_new((b - a).cross(&(c - a)), 1e-12) else { return };
        let (mut u, mut v) = (dice.share(), dice.share());
        if u + v > 1.0 {
            (u, v) = (1.0 - u, 1.0 - v);
        }
        let from = a + (b - a) * u + (c - a) * v;
        for (toward, outside, into) in [(out, true, gaps), (-out, false, necks)] {
            if let Some((end, normal)) = cast(self.shape, &from, &toward, outside, most_mm)
                && normal.dot(&toward).abs() > SQUARE
            {
                into.push(Facing {
                    middle: self.to_from_shape * nalgebra::center(&from, &end),
                    along: self.to_from_shape * toward,
                    width_mm: (end - from).norm(),
                });
            }
        }
    }
}

/// Places in an order that comes near none of its neighbours and leaves none out.
fn shuffled(place: usize, count: usize) -> usize {
    let golden = (count as f64 * 0.618_033_988_749_895) as usize | 1;
    let mut step = golden.max(1);
    while gcd(step, count) != 1 {
        step += 1;
    }
    ((place as u128 * step as u128) % count as u128) as usize
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}

impl Tight {
    /// Casts some more rays: from every facet once, then again from elsewhere on it. A facet that faces something
    /// across a gap is a rare find, and is looked at from a few more of its points.
    pub fn look(&mut self, facets: &Facets<'_>, rays: usize, dice: &mut Dice) {
        for _ in 0..rays {
            self.rays += 1;
            let body = self.rays.is_multiple_of(4);
            let (gaps, necks) = if body {
                (&mut self.body_gaps, &mut self.body_necks)
            } else {
                (&mut self.bay_gaps, &mut self.bay_necks)
            };
            let count = if body { facets.body.count() } else { facets.count };
            if count == 0 {
                continue;
            }
            let mut facet = shuffled(if body { self.rays / 4 } else { self.rays - self.rays / 4 }, count);
            let mut surface = &facets.body;
            if !body {
                for other in &facets.bay {
                    surface = other;
                    if facet < other.count() {
                        break;
                    }
                    facet -= other.count();
                }
            }
            let before = gaps.len();
            surface.look(facet, facets.most_mm, dice, gaps, necks);
            if gaps.len() > before {
                let mut spare = Vec::new();
                (0..3).for_each(|_| surface.look(facet, facets.most_mm, dice, gaps, &mut spare));
            }
        }
    }

    /// How thin the body is where it is thin, mm: a tenth of the rays through it are shorter. `None` when it has no
    /// inside, or hardly any.
    pub fn thin_mm(facets: &Facets<'_>, dice: &mut Dice) -> Option<f64> {
        let count = facets.body.count();
        let (mut gaps, mut necks) = (Vec::new(), Vec::new());
        for ray in 0..count.min(160) {
            facets.body.look(shuffled(ray, count), facets.most_mm, dice, &mut gaps, &mut necks);
        }
        let mut widths: Vec<f64> = necks.iter().map(|neck| neck.width_mm).collect();
        widths.sort_by(f64::total_cmp);
        (widths.len() >= 16).then(|| widths[widths.len() / 10])
    }

    /// A pose that has a neck in a gap, not known to be free.
    pub fn pose(&self, dice: &mut Dice) -> Option<Pose> {
        let (one, other) = (
            !self.bay_gaps.is_empty() && !self.body_necks.is_empty(),
            !self.body_gaps.is_empty() && !self.bay_necks.is_empty(),
        );
        let outward = one && (!other || dice.share() < 0.5);
        let (gaps, necks) =
            if outward { (&self.bay_gaps, &self.body_necks) } else { (&self.body_gaps, &self.bay_necks) };
        if gaps.is_empty() || necks.is_empty() {
            return None;
        }
        let (gap, neck) = (&gaps[dice.below(gaps.len())], &necks[dice.below(necks.len())]);
        if neck.width_mm >= gap.width_mm || dice.share() > (neck.width_mm / gap.width_mm).powi(2) {
            return None;
        }
        let (of_bay, of_body) = if outward { (gap, neck) } else { (neck, gap) };
        let onto = Rotation3::rotation_between(&of_body.along, &of_bay.along).unwrap_or_else(|| {
            Rotation3::from_axis_angle(&perpendicular(&of_bay.along), std::f64::consts::PI)
        });
        let spin = Rotation3::from_axis_angle(&of_bay.along, std::f64::consts::TAU * dice.share());
        let turn = UnitQuaternion::from_rotation_matrix(&(spin * onto));
        let slack = of_bay.along.into_inner() * (0.5 * (gap.width_mm - neck.width_mm) * dice.either());
        // Along the walls it may stand elsewhere than where the ray went.
        let off = dice.in_ball() * (0.5 * gap.width_mm * dice.share());
        let off = off - of_bay.along.into_inner() * off.dot(&of_bay.along);
        let at = of_bay.middle.coords + slack + off - turn * of_body.middle.coords;
        Some(Isometry3::from_parts(Translation3::from(at), turn))
    }

    /// Free poses in tight places, at most `most` of `tries`.
    pub fn free(
        &self,
        bay: &Bay<'_>,
        margin_mm: f64,
        tries: usize,
        most: usize,
        dice: &mut Dice,
        asked: &mut Asked,
    ) -> Vec<Pose> {
        let mut free = Vec::new();
        for _ in 0..tries {
            if free.len() >= most {
                break;
            }
            if let Some(pose) = self.pose(dice)
                && bay.stopped(&pose, margin_mm, asked).is_none()
            {
                free.push(pose);
            }
        }
        free
    }
}

fn perpendicular(to: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
    let other = if to.x.abs() < 0.8 { Vector3::x() } else { Vector3::y() };
    Unit::new_normalize(to.cross(&other))
}

/// Where a ray from a surface meets the surface again, and the normal there.
fn cast(
    shape: &IndexedShape,
    from: &Point3<f64>,
    toward: &Unit<Vector3<f64>>,
    outside: bool,
    most_mm: f64,
) -> Option<(Point3<f64>, Unit<Vector3<f64>>)> {
    if matches!(**shape.shape(), Shape::Mesh(_)) {
        // Off the facet that it comes from, so as not to meet that.
        let off = from + toward.into_inner() * (1e-6 * most_mm);
        return ray(shape, &off, toward, Length::from_mm(most_mm)).map(|hit| (hit.point, hit.normal));
    }
    march(shape, from, toward, outside, most_mm)
}

/// The same for solids whose inside is known: by steps as long as the distance allows.
fn march(
    shape: &IndexedShape,
    from: &Point3<f64>,
    toward: &Unit<Vector3<f64>>,
    outside: bool,
    most_mm: f64,
) -> Option<(Point3<f64>, Unit<Vector3<f64>>)> {
    let near_mm = 1e-3 * most_mm;
    let mut far_mm = 2.0 * near_mm;
    let mut left = false;
    for _ in 0..48 {
        let at = from + toward.into_inner() * far_mm;
        let found = distance_under(shape, &at, Length::from_mm(most_mm - far_mm))?;
        let off_mm = found.distance_mm.abs();
        if off_mm > near_mm && (found.distance_mm > 0.0) != outside {
            return None;
        }
        if off_mm < near_mm && left {
            return Some((at, found.normal));
        }
        left |= off_mm > 2.0 * near_mm;
        far_mm += off_mm.max(0.5 * near_mm);
        if far_mm > most_mm {
            return None;
        }
    }
    None
}
