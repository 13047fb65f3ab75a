//! The items of two leaves.
//!
//! Where two surfaces come nearest, the pairs round about are nearly as near, and boxes cannot tell them
//! apart. A direction can: along the line of the least gap found so far most of them stand farther apart than
//! that gap, and to see it takes one product a corner.

use nalgebra::{Point3, Vector3};

use super::super::convex::{Nearest, on_triangle};
use super::super::index::Slice;
use super::Found;
use super::item::{Moved, item_gap, triangle_gap};
use super::pair::{Leaves, Pair};

/// A direction in both frames, along which items are told apart.
#[derive(Clone, Copy, Debug)]
pub(super) struct Facing {
    /// Unit, in the first solid's frame, from the first to the second.
    pub of_a: Vector3<f64>,
    of_b: Vector3<f64>,
    shift_mm: f64,
}

impl Facing {
    #[inline]
    pub fn new(pair: &Pair<'_>, of_a: Vector3<f64>) -> Self {
        Facing { of_a, of_b: pair.turn.tr_mul(&of_a), shift_mm: of_a.dot(&pair.shift) }
    }

    /// How far the first solid's points reach.
    #[inline]
    fn reach(&self, points: &[Point3<f64>]) -> f64 {
        points.iter().fold(f64::NEG_INFINITY, |most, p| most.max(self.of_a.dot(&p.coords)))
    }

    /// Where the second solid's points begin.
    #[inline]
    fn begin(&self, points: &[Point3<f64>]) -> f64 {
        points.iter().fold(f64::INFINITY, |least, p| least.min(self.of_b.dot(&p.coords))) + self.shift_mm
    }
}

/// The best of a leaf so far.
struct Best {
    limit_mm: f64,
    found: Option<Found>,
}

impl Best {
    #[inline]
    fn take(&mut self, nearest: Nearest, items: (u32, u32)) {
        self.limit_mm = nearest.gap_mm;
        self.found = Some(Found { nearest, items });
    }
}

/// A ball beside something that has no thickness.
enum Ball {
    Beyond,
    Meeting,
    Apart { gap_mm: f64, normal: Vector3<f64> },
}

#[inline]
fn ball_apart(offset: &Vector3<f64>, radius_mm: f64, limit_mm: f64) -> Ball {
    let (far_sq, reach) = (offset.norm_squared(), limit_mm + radius_mm);
    if far_sq >= reach * reach {
        return Ball::Beyond;
    }
    let far = far_sq.sqrt();
    if far > radius_mm {
        Ball::Apart { gap_mm: far - radius_mm, normal: offset / far }
    } else {
        Ball::Meeting
    }
}

impl Pair<'_> {
    /// The least gap under `limit_mm` between the items of two leaves.
    ///
    /// `facing` tells most pairs apart; it need not be the direction of anything.
    #[inline]
    pub fn leaf(&self, leaves: Leaves, limit_mm: f64, facing: Option<&Facing>) -> Option<Found> {
        let ((start_a, count_a), (start_b, count_b)) = leaves;
        match (self.a.store.slice(start_a, count_a), self.b.store.slice(start_b, count_b)) {
            (Slice::Triangles(ones), Slice::Triangles(twos)) => {
                self.triangles((ones, start_a), (twos, start_b), limit_mm, facing)
            }
            (Slice::Triangles(ones), Slice::Balls(twos, radius_mm)) => {
                self.triangles_and_balls((ones, start_a), (twos, start_b, radius_mm), limit_mm, facing)
            }
            (Slice::Balls(ones, radius_mm), Slice::Triangles(twos)) => {
                self.balls_and_triangles((ones, start_a, radius_mm), (twos, start_b), limit_mm, facing)
            }
            _ => self.any(leaves, limit_mm),
        }
    }

    fn any(&self, ((start_a, count_a), (start_b, count_b)): Leaves, limit_mm: f64) -> Option<Found> {
        let (a, b) = (&self.a.store, &self.b.store);
        let mut best: Option<Found> = None;
        let mut limit = limit_mm;
        for j in start_b..start_b + count_b {
            let item_b = Moved::of(b.item(j), self.a_from_b);
            for i in start_a..start_a + count_a {
                if let Some(nearest) = item_gap(a.item(i), &item_b, limit) {
                    limit = nearest.gap_mm;
                    best = Some(Found { nearest, items: (i, j) });
                    if limit <= 0.0 {
                        return best;
                    }
                }
            }
        }
        best
    }

    #[inline]
    fn triangles(
        &self,
        (ones, start_a): (&[[Point3<f64>; 3]], u32),
        (twos, start_b): (&[[Point3<f64>; 3]], u32),
        limit_mm: f64,
        facing: Option<&Facing>,
    ) -> Option<Found> {
        let mut best: Option<Found> = None;
        let mut limit = limit_mm;
        for (j, two) in twos.iter().enumerate() {
            let begin = facing.map_or(f64::NEG_INFINITY, |facing| facing.begin(two));
            let mut moved: Option<[Point3<f64>; 3]> = None;
            for (i, one) in ones.iter().enumerate() {
                if facing.is_some_and(|facing| begin - facing.reach(one) >= limit) {
                    continue;
                }
                let there = moved.get_or_insert_with(|| two.map(|p| self.moved(&p)));
                if let Some(nearest) = triangle_gap(one, there, limit) {
                    limit = nearest.gap_mm;
                    best = Some(Found { nearest, items: (start_a + i as u32, start_b + j as u32) });
                    if limit <= 0.0 {
                        return best;
                    }
                }
            }
        }
        best
    }

    fn triangles_and_balls(
        &self,
        (ones, start_a): (&[[Point3<f64>; 3]], u32),
        (twos, start_b, radius_mm): (&[Point3<f64>], u32, f64),
        limit_mm: f64,
        facing: Option<&Facing>,
    ) -> Option<Found> {
        let mut best = Best { limit_mm, found: None };
        for (j, two) in twos.iter().enumerate() {
            let begin = facing.map_or(f64::NEG_INFINITY, |facing| facing.begin(&[*two]) - radius_mm);
            let there = self.moved(two);
            for (i, one) in ones.iter().enumerate() {
                if facing.is_some_and(|facing| begin - facing.reach(one) >= best.limit_mm) {
                    continue;
                }
                let items = (start_a + i as u32, start_b + j as u32);
                let on_a = on_triangle(&there, one);
                match ball_apart(&(there - on_a), radius_mm, best.limit_mm) {
                    Ball::Beyond => {}
                    Ball::Meeting => return self.item_pair(items, best.limit_mm).or(best.found),
                    Ball::Apart { gap_mm, normal } => {
                        let on_b = there - normal * radius_mm;
                        best.take(Nearest { gap_mm, on_a, on_b, normal }, items);
                    }
                }
            }
        }
        best.found
    }

    fn balls_and_triangles(
        &self,
        (ones, start_a, radius_mm): (&[Point3<f64>], u32, f64),
        (twos, start_b): (&[[Point3<f64>; 3]], u32),
        limit_mm: f64,
        facing: Option<&Facing>,
    ) -> Option<Found> {
        let mut best = Best { limit_mm, found: None };
        for (j, two) in twos.iter().enumerate() {
            let begin = facing.map_or(f64::NEG_INFINITY, |facing| facing.begin(two) - radius_mm);
            let there = two.map(|p| self.moved(&p));
            for (i, one) in ones.iter().enumerate() {
                if facing.is_some_and(|facing| begin - facing.reach(&[*one]) >= best.limit_mm) {
                    continue;
                }
                let items = (start_a + i as u32, start_b + j as u32);
                let on_b = on_triangle(one, &there);
                match ball_apart(&(on_b - one), radius_mm, best.limit_mm) {
                    Ball::Beyond => {}
                    Ball::Meeting => return self.item_pair(items, best.limit_mm).or(best.found),
                    Ball::Apart { gap_mm, normal } => {
                        let on_a = one + normal * radius_mm;
                        best.take(Nearest { gap_mm, on_a, on_b, normal }, items);
                    }
                }
            }
        }
        best.found
    }

    /// Two items by the general kernel, which knows how deep they meet.
    fn item_pair(&self, items: (u32, u32), limit_mm: f64) -> Option<Found> {
        let two = Moved::of(self.b.store.item(items.1), self.a_from_b);
        item_gap(self.a.store.item(items.0), &two, limit_mm).map(|nearest| Found { nearest, items })
    }

    /// How far apart two leaves stand along a direction, mm; minus infinity where that is not looked into.
    pub fn leaves_along(&self, leaves: Leaves, facing: &Facing) -> f64 {
        let ((start_a, count_a), (start_b, count_b)) = leaves;
        let reach = match self.a.store.slice(start_a, count_a) {
            Slice::Triangles(list) => facing.reach(list.as_flattened()),
            Slice::Balls(list, radius_mm) => facing.reach(list) + radius_mm,
            Slice::Mixed => f64::INFINITY,
        };
        let begin = match self.b.store.slice(start_b, count_b) {
            Slice::Triangles(list) => facing.begin(list.as_flattened()),
            Slice::Balls(list, radius_mm) => facing.begin(list) - radius_mm,
            Slice::Mixed => f64::NEG_INFINITY,
        };
        begin - reach
    }
}
