//! Gaps over whole movements. (Skeleton.)

use crate::clearance::{Gap, IndexedShape, gap};
use crate::space::{Length, Pose};

use super::{Freedom, Movement};

/// A solid that rides on a carrier.
#[derive(Clone, Copy, Debug)]
pub struct Rider<'a> {
    /// The solid.
    pub shape: &'a IndexedShape,
    /// Where it stands in the world when its carrier is at rest.
    pub world_from_solid: &'a Pose,
    /// How its carrier moves.
    pub movement: &'a Movement,
}

/// The least gap over two riders' movements, proved to lie in `[lower, upper]`.
#[derive(Clone, Debug, PartialEq)]
pub struct GapOver {
    /// No pose of the movements has a smaller gap.
    pub lower: Length,
    /// The gap at the worst pose found; its witness stands in the world, at that pose.
    pub upper: Gap,
    /// The first rider's freedoms at the worst pose (radians or mm).
    pub fixed_values: Vec<f64>,
    /// The second rider's.
    pub moving_values: Vec<f64>,
    /// Whether `upper - lower` is within the tolerance asked for; false only when the budget ran out.
    pub settled: bool,
}

/// The answer of [`gap_over_under`]; either is proved.
#[derive(Clone, Debug, PartialEq)]
pub enum GapOverUnder {
    /// The gap is at least the limit in every pose.
    Clear {
        /// A proved lower bound, at least the limit.
        at_least: Length,
    },
    /// Somewhere the gap is under the limit; the least gap as [`gap_over`] gives it.
    Under(GapOver),
}

/// The least gap between two riders over all poses of their carriers, as a proved interval no
/// wider than `tolerance`. Riders of one carrier must be asked with a still movement.
pub fn gap_over(fixed: &Rider<'_>, moving: &Rider<'_>, tolerance: Length) -> GapOver {
    search(fixed, moving, f64::INFINITY, tolerance)
}

/// Whether the least gap over the movements is under a limit, and if so what it is.
pub fn gap_over_under(
    fixed: &Rider<'_>,
    moving: &Rider<'_>,
    limit: Length,
    tolerance: Length,
) -> GapOverUnder {
    let over = search(fixed, moving, limit.mm(), tolerance);
    if over.lower >= limit { GapOverUnder::Clear { at_least: over.lower } } else { GapOverUnder::Under(over) }
}

fn search(fixed: &Rider<'_>, moving: &Rider<'_>, limit_mm: f64, tolerance: Length) -> GapOver {
    let split = fixed.movement.freedoms.len();
    let mut search = Search { fixed, moving, split, best: None, looked: 0 };
    let (low, high): (Vec<f64>, Vec<f64>) = search.freedoms().map(|(freedom, _)| freedom.range()).unzip();
    let mut cells = vec![search.look(low, high)];
    loop {
        let best = search.best.as_ref().map_or(f64::INFINITY, |(gap, _)| gap.gap.mm());
        let at = (0..cells.len()).min_by(|a, b| cells[*a].lower_mm.total_cmp(&cells[*b].lower_mm));
        let lower = at.map_or(best, |at| cells[at].lower_mm.min(best));
        let settled = best - lower <= tolerance.mm();
        if settled || lower >= limit_mm || search.looked > BUDGET {
            let (upper, values) = match search.best {
                Some(found) => found,
                None => continue,
            };
            let (fixed_values, moving_values) = values.split_at(split);
            return GapOver {
                lower: Length::from_mm(lower),
                upper,
                fixed_values: fixed_values.to_vec(),
                moving_values: moving_values.to_vec(),
                settled,
            };
        }
        let Some(at) = at else { continue };
        let cell = cells.swap_remove(at);
        let widest = (0..cell.low.len()).max_by(|a, b| (cell.high[*a] - cell.low[*a]).total_cmp(&(cell.high[*b] - cell.low[*b])));
        let Some(widest) = widest else { continue };
        let middle = 0.5 * (cell.low[widest] + cell.high[widest]);
        let (mut high, mut low) = (cell.high.clone(), cell.low.clone());
        high[widest] = middle;
        low[widest] = middle;
        let halves = [search.look(cell.low, high), search.look(low, cell.high)];
        cells.extend(halves);
    }
}

/// A box of freedom values, the gap at its middle and what no pose of it goes under.
struct Cell {
    low: Vec<f64>,
    high: Vec<f64>,
    lower_mm: f64,
}

struct Search<'a> {
    fixed: &'a Rider<'a>,
    moving: &'a Rider<'a>,
    split: usize,
    best: Option<(Gap, Vec<f64>)>,
    looked: usize,
}

const BUDGET: usize = 40_000;

impl Search<'_> {
    fn freedoms(&self) -> impl Iterator<Item = (&Freedom, &Rider<'_>)> {
        let fixed = self.fixed.movement.freedoms.iter().map(|freedom| (freedom, self.fixed));
        fixed.chain(self.moving.movement.freedoms.iter().map(|freedom| (freedom, self.moving)))
    }

    fn look(&mut self, low: Vec<f64>, high: Vec<f64>) -> Cell {
        self.looked += 1;
        let middle: Vec<f64> = low.iter().zip(&high).map(|(a, b)| 0.5 * (a + b)).collect();
        let (fixed_at, moving_at) = middle.split_at(self.split);
        let world_from_fixed = self.fixed.movement.world_from_rest(fixed_at) * self.fixed.world_from_solid;
        let world_from_moving = self.moving.movement.world_from_rest(moving_at) * self.moving.world_from_solid;
        let found = gap(self.fixed.shape, self.moving.shape, &world_from_fixed.inv_mul(&world_from_moving));
        let mut travel = 0.0;
        for ((freedom, rider), (a, b)) in self.freedoms().zip(low.iter().zip(&high)) {
            let half = 0.5 * (b - a);
            travel += match freedom {
                Freedom::Slide { .. } => half,
                Freedom::Turn { axis, .. } => {
                    let bounds = rider.shape.shape().bounds().moved(rider.world_from_solid);
                    let slides: f64 = rider
                        .movement
                        .freedoms
                        .iter()
                        .map(|other| match other {
                            Freedom::Slide { from_mm, to_mm, .. } => from_mm.abs().max(to_mm.abs()),
                            Freedom::Turn { .. } => 0.0,
                        })
                        .sum();
                    let reach = bounds.corners().iter().map(|c| axis.distance(c)).fold(0.0, f64::max) + slides;
                    2.0 * reach * (0.5 * half).sin()
                }
            };
        }
        let lower_mm = found.gap.mm() - travel;
        let world = Gap {
            gap: found.gap,
            witness: crate::clearance::Witness {
                on_fixed: world_from_fixed * found.witness.on_fixed,
                on_moving: world_from_fixed * found.witness.on_moving,
                normal: world_from_fixed * found.witness.normal,
            },
        };
        if self.best.as_ref().is_none_or(|(best, _)| world.gap < best.gap) {
            self.best = Some((world, middle));
        }
        Cell { low, high, lower_mm }
    }
}
