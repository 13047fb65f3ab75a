//! A piece of a solid as the kernels hold it: convex, or a bend.

use std::sync::Arc;

use nalgebra::{Matrix3, Point3, Vector3};

use super::bend;
use super::convex::{BendCore, Convex, Core, Disc, Nearest, nearest};
use crate::solid::Piece;
use crate::space::Pose;

/// One piece, in whatever frame it was last moved to.
#[derive(Clone, Debug)]
pub(crate) enum Part {
    Convex(Convex),
    Bend(BendCore),
}

impl Part {
    pub fn of_piece(piece: &Piece, here_from_piece: &Pose) -> Self {
        let core = match piece {
            Piece::Ball { center, radius_mm } => return Self::ball(here_from_piece * center, *radius_mm),
            Piece::Capsule { from, to, radius_mm } => {
                let core = if from == to {
                    Core::Point(here_from_piece * from)
                } else {
                    Core::Segment([here_from_piece * from, here_from_piece * to])
                };
                return Part::Convex(Convex::new(core, *radius_mm));
            }
            Piece::Block { solid_from_block, half_mm } => {
                let pose = here_from_piece * solid_from_block;
                Core::Block {
                    center: Point3::from(pose.translation.vector),
                    axes: Matrix3::from(pose.rotation.to_rotation_matrix()),
                    half_mm: *half_mm,
                }
            }
            Piece::Frustum { from, to, from_radius_mm, to_radius_mm } => {
                let normal = (to - from).try_normalize(0.0).unwrap_or_else(Vector3::z);
                Core::Discs([
                    Disc { center: *from, normal, radius_mm: *from_radius_mm }.moved(here_from_piece),
                    Disc { center: *to, normal, radius_mm: *to_radius_mm }.moved(here_from_piece),
                ])
            }
            Piece::Arc { center, axis, start, ring_radius_mm, tube_radius_mm, sweep_rad } => {
                let bend = BendCore {
                    center: *center,
                    x: start.into_inner(),
                    y: axis.cross(start),
                    z: axis.into_inner(),
                    ring_mm: *ring_radius_mm,
                    tube_mm: *tube_radius_mm,
                    from_rad: 0.0,
                    to_rad: *sweep_rad,
                };
                return Part::Bend(bend.moved(here_from_piece));
            }
            Piece::Hull { points } => {
                let points: Arc<[Point3<f64>]> = points.as_slice().into();
                Core::Points { points, here_from_points: *here_from_piece }
            }
            Piece::Triangle { corners, thickness_mm } => {
                Self::triangle(corners, *thickness_mm).moved(here_from_piece)
            }
        };
        Part::Convex(Convex::new(core, 0.0))
    }

    #[inline]
    pub fn ball(center: Point3<f64>, radius_mm: f64) -> Self {
        Part::Convex(Convex::new(Core::Point(center), radius_mm))
    }

    fn triangle(corners: &[Point3<f64>; 3], thickness_mm: f64) -> Core {
        let [a, b, c] = corners;
        match (b - a).cross(&(c - a)).try_normalize(1e-300) {
            Some(normal) if thickness_mm > 0.0 => {
                let back = normal * thickness_mm;
                Core::Wedge([*a, *b, *c, a - back, b - back, c - back])
            }
            _ => Core::Triangle(*corners),
        }
    }

    pub fn moved(&self, to_from_here: &Pose) -> Self {
        match self {
            Part::Convex(convex) => Part::Convex(convex.moved(to_from_here)),
            Part::Bend(bend) => Part::Bend(bend.moved(to_from_here)),
        }
    }

    /// Moved without turning.
    pub fn shifted(&self, by: &Vector3<f64>) -> Self {
        match self {
            Part::Convex(convex) => Part::Convex(convex.shifted(by)),
            Part::Bend(bend) => Part::Bend(BendCore { center: bend.center + by, ..*bend }),
        }
    }

    /// The least convex body that holds it.
    pub fn hull(&self) -> Convex {
        match self {
            Part::Convex(convex) => convex.clone(),
            Part::Bend(bend) => Convex::new(Core::Bend(*bend), 0.0),
        }
    }

    /// A point of the solid, well inside where that is easy.
    pub fn anchor(&self) -> Point3<f64> {
        match self {
            Part::Convex(convex) => convex.core.center(),
            Part::Bend(bend) => bend.disc((bend.from_rad + bend.to_rad) / 2.0).center,
        }
    }

    /// How far it reaches along a unit direction, from the origin.
    #[inline]
    pub fn reach(&self, toward: &Vector3<f64>) -> f64 {
        match self {
            Part::Convex(convex) => convex.reach(toward),
            Part::Bend(bend) => bend.support(toward).coords.dot(toward),
        }
    }
}

/// Signed gap between two parts of one frame, or `None` when it is proved to be at least `cutoff_mm`.
///
/// Apart: exact to 1e-10 of the size. Overlapping convex parts: their depth. Overlapping bends: the
/// depth of convex bodies inside them that overlap, so at most the true depth.
#[inline]
pub(crate) fn part_gap(a: &Part, b: &Part, cutoff_mm: f64) -> Option<Nearest> {
    match (a, b) {
        (Part::Convex(a), Part::Convex(b)) => Some(nearest(a, b)).filter(|n| n.gap_mm < cutoff_mm),
        _ => bend::gap(a, b, cutoff_mm),
    }
}
