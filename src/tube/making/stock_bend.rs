//! Bends bought ready made, cut to the angle and welded.

use super::bender::SAME_MM;
use crate::tube::{BendList, TubeError};

/// A ready-made mandrel bend with straight legs.
#[derive(Clone, Debug, PartialEq)]
pub struct StockBend {
    /// Name.
    pub name: String,
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Wall, mm.
    pub wall_mm: f64,
    /// Centreline radius, mm.
    pub radius_mm: f64,
    /// Angle, rad.
    pub angle_rad: f64,
    /// Straight on either side of it, mm.
    pub leg_mm: f64,
    /// Where the figures come from.
    pub source: String,
}

/// How one bend is cut from stock.
#[derive(Clone, Debug, PartialEq)]
pub struct StockChoice {
    /// Number of the bend, from 1.
    pub bend: usize,
    /// Name of the stock bend.
    pub stock: String,
    /// What is cut off its angle, rad; zero when it is used whole.
    pub cut_off_rad: f64,
    /// Leg left on it before the bend, mm; none on a side that is cut into the bend.
    pub leg_before_mm: f64,
    /// Leg left on it after the bend, mm.
    pub leg_after_mm: f64,
}

/// A tube welded up of stock bends and straight tube.
#[derive(Clone, Debug, PartialEq)]
pub struct StockPlan {
    /// A stock bend for each bend.
    pub bends: Vec<StockChoice>,
    /// Straight tube to fill in before each bend and after the last, mm; zero where legs reach.
    pub fills_mm: Vec<f64>,
    /// Number of welds.
    pub welds: usize,
}

/// Bends turn within this of each other, rad: a tenth of a degree cannot be cut.
const SAME_RAD: f64 = 0.1 * std::f64::consts::PI / 180.0;

/// Makes a tube of stock bends: for each bend the set's one of the same diameter, radius and wall (when the tube's is known)
/// with the least to cut off. A bend that is cut keeps one leg, on the side with the longer straight.
///
/// # Errors
/// The number (from 1) of the first bend for which the set has nothing, with the radius that comes nearest
/// for its diameter and angle, if any; or what is wrong with the tube.
pub fn plan_from_stock(
    list: &BendList,
    outside_mm: f64,
    wall_mm: Option<f64>,
    set: &[StockBend],
) -> Result<Result<StockPlan, (usize, Option<f64>)>, TubeError> {
    list.check()?;
    let count = list.bends.len();
    let straight = |leg: usize| {
        if leg < count { list.bends[leg].straight_mm } else { list.last_straight_mm }
    };
    let mut left: Vec<f64> = (0..=count).map(straight).collect();
    let mut bends = Vec::with_capacity(count);
    for (index, bend) in list.bends.iter().enumerate() {
        let fits = |one: &&StockBend| {
            (one.outside_mm - outside_mm).abs() <= SAME_MM
                && wall_mm.is_none_or(|wall_mm| (one.wall_mm - wall_mm).abs() <= SAME_MM)
                && one.angle_rad >= bend.angle_rad - SAME_RAD
        };
        let near = |one: &&StockBend| (one.radius_mm - bend.radius_mm).abs();
        let found = set
            .iter()
            .filter(fits)
            .filter(|one| near(one) <= SAME_MM)
            .min_by(|a, b| a.angle_rad.total_cmp(&b.angle_rad));
        let Some(stock) = found else {
            let nearest = set.iter().filter(fits).min_by(|a, b| near(a).total_cmp(&near(b)));
            return Ok(Err((index + 1, nearest.map(|one| one.radius_mm))));
        };
        let cut_off_rad = (stock.angle_rad - bend.angle_rad).max(0.0);
        let whole = cut_off_rad <= SAME_RAD;
        let keep_before = whole || left[index] >= left[index + 1];
        let keep_after = whole || !keep_before;
        let mut take = |leg: usize, keep: bool| {
            let taken = if keep { stock.leg_mm.min(left[leg]) } else { 0.0 };
            left[leg] -= taken;
            taken
        };
        let (leg_before_mm, leg_after_mm) = (take(index, keep_before), take(index + 1, keep_after));
        bends.push(StockChoice {
            bend: index + 1,
            stock: stock.name.clone(),
            cut_off_rad: if whole { 0.0 } else { cut_off_rad },
            leg_before_mm,
            leg_after_mm,
        });
    }
    let fills = left.iter().filter(|mm| **mm > 1e-9).count();
    // Every part but the first is welded on.
    let welds = (fills + count).saturating_sub(1);
    Ok(Ok(StockPlan { bends, fills_mm: left, welds }))
}
