//! Every place of a pair, not only the nearest: one with a little more gap may be known much worse.
//!
//! A body that may be turned is known worse the farther from where it is held. So a pair that is clear at its nearest
//! place is asked again in pieces: each body's surface is cut in two, and again, and every piece has its own nearest place,
//! with its own uncertainty, until what a turn can add over a piece cannot change the verdict, or a piece was cut eight times:
//! its nearest place then stands for all of it.

use std::sync::Arc;

use nalgebra::Matrix3;

use crate::clearance::IndexedShape;
use crate::motion::{GapOverUnder, Movement, Rider, gap_over_under};
use crate::space::{Bounds, Length};

use super::Verdict;
use super::pair::{GAP_TOLERANCE, Pair, PairGap, Ready};
use super::uncertainty::{COVERAGE, worst_standard, worst_together};

/// How far a piece's surface may stand off the body's own, mm.
const CHORD_MM: f64 = 0.05;
/// Cuts of one piece at most: 256 pieces of a pair.
const MOST_CUTS: u32 = 8;

/// A piece of a body's surface.
#[derive(Clone)]
struct Piece {
    shape: IndexedShape,
    /// In the body's own frame.
    bounds: Bounds,
    /// Whether it stands for a curved surface by flat facets.
    facetted: bool,
    /// Upper bound on its share of any gap's standard uncertainty, mm.
    worst_mm: f64,
    /// What an error of turn can change over it at most, mm of standard uncertainty.
    turn_mm: f64,
}

impl Piece {
    fn new(ready: &Ready<'_>, shape: IndexedShape, facetted: bool) -> Self {
        let bounds = *shape.bounds();
        let turned = Matrix3::from(ready.body.placement.covariance.fixed_view::<3, 3>(3, 3));
        let turn_rad = turned.symmetric_eigenvalues().max().max(0.0).sqrt();
        let worst_mm = worst_standard(ready.body, &bounds.moved(&ready.body.world_from_body));
        Piece { shape, bounds, facetted, worst_mm, turn_mm: bounds.diagonal_mm() * turn_rad }
    }

    /// Its two halves; `None` where it cannot be cut.
    fn halves(&self, ready: &Ready<'_>) -> Option<Vec<Piece>> {
        let size = self.bounds.size();
        let axis = size.imax();
        let (mut low, mut high) = (self.bounds.grown(1e-6), self.bounds.grown(1e-6));
        let middle = self.bounds.center()[axis];
        (low.max[axis], high.min[axis]) = (middle, middle);
        let is_flat =
            matches!(&**self.shape.shape(), crate::solid::Shape::Mesh(_) | crate::solid::Shape::Cloud(_));
        let half = |bounds: &Bounds| {
            let surface = self.shape.shape().surface_within(bounds, CHORD_MM)?;
            Some(Piece::new(ready, IndexedShape::new(Arc::new(surface)), self.facetted || !is_flat))
        };
        let halves: Vec<Piece> = [low, high].iter().filter_map(half).collect();
        (size[axis] > 1.0 && !halves.is_empty()).then_some(halves)
    }
}

impl Pair<'_> {
    /// For a pair that is clear of `least` at its nearest place: the place where it is not, if there is one.
    ///
    /// What is not bounded: how the uncertainty differs with the direction of the gap within one piece.
    pub(super) fn elsewhere(
        &self,
        nearest: &PairGap,
        least: Length,
        movements: &(Movement, Movement),
    ) -> Option<PairGap> {
        let whole = |ready: &Ready<'_>| Piece::new(ready, ready.shape.clone(), false);
        let (one, other) = (whole(self.first), whole(self.second));
        if self.is_clear(nearest, &one, &other, least, 0) {
            return None;
        }
        let mut open = vec![(one, other, 0u32)];
        let mut worst: Option<PairGap> = None;
        while let Some((one, other, cuts)) = open.pop() {
            let found =
                if cuts == 0 { Some(nearest.clone()) } else { self.gap_of(&one, &other, least, movements) };
            let Some(found) = found else { continue };
            if found.verdict(least) != Verdict::Clear {
                let spare = |gap: &PairGap| (gap.lower - gap.uncertainty).mm();
                if worst.as_ref().is_none_or(|worst| spare(&found) < spare(worst)) {
                    worst = Some(found);
                }
                continue;
            }
            if self.is_clear(&found, &one, &other, least, cuts) {
                continue;
            }
            let first =
                one.turn_mm > other.turn_mm || one.turn_mm == other.turn_mm && one.worst_mm >= other.worst_mm;
            let halves = if first { one.halves(self.first) } else { other.halves(self.second) };
            for half in halves.unwrap_or_default() {
                open.push(if first {
                    (half, other.clone(), cuts + 1)
                } else {
                    (one.clone(), half, cuts + 1)
                });
            }
        }
        worst
    }

    /// Whether all of two pieces is clear, by the least of their gaps.
    fn is_clear(&self, gap: &PairGap, one: &Piece, other: &Piece, least: Length, cuts: u32) -> bool {
        let spare_mm = (gap.lower - least).mm();
        let placements = (&self.first.body.placement, &self.second.body.placement);
        let together =
            |one_mm: f64, other_mm: f64| worst_together((placements.0, one_mm), (placements.1, other_mm));
        let bound_mm = COVERAGE * together(one.worst_mm, other.worst_mm);
        if spare_mm >= bound_mm || cuts >= MOST_CUTS {
            return true;
        }
        // Where errors of place differ with the direction, the nearest places of a few pieces are looked at all the same.
        let turned_mm = COVERAGE * together(one.turn_mm, other.turn_mm);
        cuts >= 3 && spare_mm >= gap.uncertainty.mm() + turned_mm
    }

    fn gap_of(
        &self,
        one: &Piece,
        other: &Piece,
        least: Length,
        movements: &(Movement, Movement),
    ) -> Option<PairGap> {
        let worst = worst_together(
            (&self.first.body.placement, one.worst_mm),
            (&self.second.body.placement, other.worst_mm),
        );
        let off = |piece: &Piece| Length::from_mm(if piece.facetted { CHORD_MM } else { 0.0 });
        let off = off(one) + off(other);
        let need = least + Length::from_mm(COVERAGE * worst);
        let reaches = self.first.reach() + self.second.reach() + self.first.off + self.second.off;
        let limit = need + reaches + off + GAP_TOLERANCE * 2.0;
        let first = Rider {
            shape: &one.shape,
            world_from_solid: &self.first.body.world_from_body,
            movement: &movements.0,
        };
        let second = Rider {
            shape: &other.shape,
            world_from_solid: &self.second.body.world_from_body,
            movement: &movements.1,
        };
        match gap_over_under(&first, &second, limit, GAP_TOLERANCE) {
            GapOverUnder::Clear { .. } => None,
            GapOverUnder::Under(over) => {
                let mut told = self.told(&over);
                told.lower = told.lower - off;
                Some(told)
            }
        }
    }
}
