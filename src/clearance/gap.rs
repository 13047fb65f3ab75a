//! The questions one may ask of two solids.

use std::fmt;
use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use super::contained::contained;
use super::convex::Nearest;
use super::index::{Index, SharedIndex};
use super::parting::{CONTACT_MM, depth};
use super::walk::{Found, Outcome, least_gap, meeting};
use crate::solid::{Piece, Shape};
use crate::space::{Bounds, Length, Pose};

/// A shape with the tree that makes its gaps fast. Built once a body; cheap to clone.
#[derive(Clone)]
pub struct IndexedShape {
    shape: Arc<Shape>,
    bounds: Bounds,
    pub(crate) index: SharedIndex,
}

impl fmt::Debug for IndexedShape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let items = self.index.store.item_count();
        f.debug_struct("IndexedShape").field("items", &items).finish_non_exhaustive()
    }
}

impl IndexedShape {
    /// Builds the tree: about half a microsecond a triangle on one core; large meshes use all cores.
    ///
    /// The shape must be one that [`Shape::validate`] accepts. A closed mesh may be wound either way
    /// round: its volume's sign decides which side is inside.
    pub fn new(shape: Arc<Shape>) -> Self {
        let index = Arc::new(Index::of_shape(&shape));
        IndexedShape { bounds: shape.bounds(), shape, index }
    }

    /// A solid given by its pieces alone, for those who have no shape for it; triangles count as
    /// surface without an inside. [`Self::shape`] then is an empty compound.
    pub fn of_pieces(pieces: &[Piece]) -> Self {
        let shape = Arc::new(Shape::Compound(crate::solid::Compound { parts: Vec::new() }));
        let bounds =
            pieces.iter().fold(Bounds::EMPTY, |all, piece| all.union(&piece.bounds_in(&Pose::identity())));
        IndexedShape { shape, bounds, index: Arc::new(Index::of_pieces(pieces)) }
    }

    /// The shape it was built from.
    pub fn shape(&self) -> &Arc<Shape> {
        &self.shape
    }

    /// Bounds of the solid in its own frame: looked up, where the shape itself would have to go through its points.
    pub fn bounds(&self) -> &Bounds {
        &self.bounds
    }

    /// How many convex pieces, bends or points it is made of.
    pub fn piece_count(&self) -> usize {
        self.index.store.item_count()
    }

    /// Bytes that the items and the tree hold.
    pub fn bytes(&self) -> usize {
        self.index.bytes()
    }
}

/// Where a gap is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Witness {
    /// On the fixed solid's surface, fixed frame.
    pub on_fixed: Point3<f64>,
    /// On the moving solid's surface, fixed frame.
    pub on_moving: Point3<f64>,
    /// The direction in which the moving solid is pushed to widen the gap, fixed frame.
    pub normal: Unit<Vector3<f64>>,
}

/// A signed gap and where it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Negative is overlap depth: moving the moving solid along the normal by it just parts them.
    pub gap: Length,
    /// Where.
    pub witness: Witness,
}

/// The answer of [`gap_under`]; either is proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GapUnder {
    /// The gap is at least the limit.
    Clear {
        /// A proved lower bound, at least the limit.
        at_least: Length,
    },
    /// The gap is under the limit.
    Under(Gap),
}

impl Gap {
    pub(crate) fn of(nearest: &Nearest) -> Self {
        Gap {
            gap: Length::from_mm(nearest.gap_mm),
            witness: Witness {
                on_fixed: nearest.on_a,
                on_moving: nearest.on_b,
                normal: Unit::try_new(nearest.normal, 1e-300).unwrap_or_else(Vector3::z_axis),
            },
        }
    }
}

/// The signed gap between two solids; the witness is in the fixed one's frame.
///
/// Apart: the distance, exact to about 1e-10 of the solids' size. Overlapping, and inside a closed
/// mesh is overlapping: minus the shortest move found that parts them. That is the true depth when
/// both are convex; otherwise it is an upper bound on the depth, and for every smaller travel
/// along the witness's normal the solids do still overlap. A solid without pieces is infinitely far.
///
/// # Example
/// A 100 x 60 x 40 block and a ball of radius 10 whose centre is 5 above its top:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::clearance::{IndexedShape, gap};
/// use baywright::solid::Piece;
/// use baywright::space::Pose;
/// use nalgebra::{Point3, Vector3};
/// let half_mm = Vector3::new(50.0, 30.0, 20.0);
/// let block = IndexedShape::of_pieces(&[Piece::Block { solid_from_block: Pose::identity(), half_mm }]);
/// let ball = IndexedShape::of_pieces(&[Piece::Ball { center: Point3::origin(), radius_mm: 10.0 }]);
/// let found = gap(&block, &ball, &Pose::translation(0.0, 0.0, 25.0));
/// assert!((found.gap.mm() + 5.0).abs() < 1e-12); // 5 deep
/// ```
pub fn gap(fixed: &IndexedShape, moving: &IndexedShape, fixed_from_moving: &Pose) -> Gap {
    Gap::of(
        &signed(&fixed.index, &moving.index, fixed_from_moving, f64::INFINITY).unwrap_or_else(|_| nowhere()),
    )
}

/// Whether the gap is under a limit, and if so what it is.
///
/// Far cheaper than [`gap`] when the solids are farther apart than the limit.
pub fn gap_under(
    fixed: &IndexedShape,
    moving: &IndexedShape,
    fixed_from_moving: &Pose,
    limit: Length,
) -> GapUnder {
    // Contact itself is under no limit that is not above zero, but has to be looked for.
    let search = limit.mm().max(CONTACT_MM);
    match signed(&fixed.index, &moving.index, fixed_from_moving, search) {
        Ok(nearest) if nearest.gap_mm < limit.mm() => GapUnder::Under(Gap::of(&nearest)),
        Ok(nearest) => GapUnder::Clear { at_least: Length::from_mm(nearest.gap_mm) },
        Err(at_least_mm) => GapUnder::Clear { at_least: Length::from_mm(at_least_mm) },
    }
}

/// The answer of [`apart_under`]; each is proved.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ApartUnder {
    /// They overlap, or touch.
    Meeting,
    /// They are apart, by less than the limit.
    Under(Gap),
    /// The gap is at least the limit.
    Clear {
        /// A proved lower bound, at least the limit.
        at_least: Length,
    },
}

/// As [`gap_under`], but does not ask how deep solids overlap: by far the dearest question there is.
pub fn apart_under(
    fixed: &IndexedShape,
    moving: &IndexedShape,
    fixed_from_moving: &Pose,
    limit: Length,
) -> ApartUnder {
    let (a, b) = (&*fixed.index, &*moving.index);
    let outcome = least_gap(a, b, fixed_from_moving, limit.mm().max(CONTACT_MM));
    if matches!(outcome, Outcome::Meeting(_)) || contained(a, b, fixed_from_moving) {
        return ApartUnder::Meeting;
    }
    match outcome {
        Outcome::Apart(found) if found.nearest.gap_mm < limit.mm() => {
            ApartUnder::Under(Gap::of(&found.nearest))
        }
        Outcome::Apart(found) => ApartUnder::Clear { at_least: Length::from_mm(found.nearest.gap_mm) },
        Outcome::Beyond { at_least_mm } => ApartUnder::Clear { at_least: Length::from_mm(at_least_mm) },
        Outcome::Meeting(_) => ApartUnder::Meeting,
    }
}

/// Whether two solids overlap or touch (within 1e-9 mm).
pub fn touches(fixed: &IndexedShape, moving: &IndexedShape, fixed_from_moving: &Pose) -> bool {
    meeting(&fixed.index, &moving.index, fixed_from_moving, CONTACT_MM)
        || contained(&fixed.index, &moving.index, fixed_from_moving)
}

/// The signed gap when it is under `limit_mm`, else a proved lower bound.
pub(crate) fn signed(a: &Index, b: &Index, a_from_b: &Pose, limit_mm: f64) -> Result<Nearest, f64> {
    judged(a, b, a_from_b, least_gap(a, b, a_from_b, limit_mm))
}

/// The signed gap that a search without a limit came to.
pub(crate) fn signed_from(a: &Index, b: &Index, a_from_b: &Pose, outcome: Outcome) -> Nearest {
    judged(a, b, a_from_b, outcome).unwrap_or_else(|_| nowhere())
}

/// A search's outcome, with overlap and what lies inside counted.
fn judged(a: &Index, b: &Index, a_from_b: &Pose, outcome: Outcome) -> Result<Nearest, f64> {
    match outcome {
        Outcome::Meeting(found) => Ok(depth(a, b, a_from_b, &found)),
        Outcome::Apart(found) if contained(a, b, a_from_b) => Ok(depth(a, b, a_from_b, &found)),
        Outcome::Apart(found) => Ok(found.nearest),
        Outcome::Beyond { .. } if contained(a, b, a_from_b) => {
            let found = Found { nearest: nowhere(), items: (0, 0) };
            Ok(depth(a, b, a_from_b, &found))
        }
        Outcome::Beyond { at_least_mm } => Err(at_least_mm),
    }
}

fn nowhere() -> Nearest {
    Nearest { gap_mm: f64::INFINITY, on_a: Point3::origin(), on_b: Point3::origin(), normal: Vector3::z() }
}
