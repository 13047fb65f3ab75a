//! What a bender or a set of stock bends lets a tube do.

use std::f64::consts::PI;

use super::{Maker, RouteAsk, RouteError};
use crate::space::Pose;
use crate::tube::{
    BendList, Bender, ListedBend, Making, Remedy, StockBend, Weight, check_making, plan_from_stock,
};

/// Corners of more than this are not sought: their setback grows without end.
const MOST_CORNER_RAD: f64 = 150.0 * PI / 180.0;

/// Angles of bends.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Angles {
    /// Any up to the most.
    Any,
    /// These only, smallest first.
    Set(Vec<f64>),
}

/// What bends may be.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Bending {
    /// Centreline radii, smallest first, mm.
    pub radii_mm: Vec<f64>,
    /// Straight between two bends, mm.
    pub between_mm: f64,
    /// Straight before the first bend, mm.
    pub first_mm: f64,
    /// Straight after the last bend, mm.
    pub last_mm: f64,
    /// Greatest angle of a bend, rad.
    pub most_rad: f64,
    /// Which angles.
    pub angles: Angles,
}

impl Bending {
    pub fn of(ask: &RouteAsk<'_>) -> Result<Self, RouteError> {
        let outside = ask.tube.outside_mm;
        let ends = [ask.start.straight_mm, ask.end.straight_mm];
        match ask.maker {
            Maker::Bender { bender, start_extra_mm, end_extra_mm } => {
                let mut radii = bender.radii_mm(outside);
                if bender.dies.is_empty() {
                    // Rolls: from the least that all rules let pass, in steps of half a diameter.
                    radii = (0..8).map(|i| (bender.least_radius_od + 0.5 * f64::from(i)) * outside).collect();
                }
                let mut why = Vec::new();
                let fits = |radius: &f64| match cannot(ask, *radius) {
                    None => true,
                    Some(reason) => {
                        why.push(format!("at a centreline radius of {radius:.2} mm, {reason}"));
                        false
                    }
                };
                let mut radii_mm: Vec<f64> = radii.iter().copied().filter(fits).collect();
                if radii.is_empty() {
                    why.extend(cannot(ask, (bender.least_radius_od * outside).max(outside)));
                }
                if radii_mm.is_empty() {
                    return Err(RouteError::NoRadius { outside_mm: outside, why: why.join("; ") });
                }
                radii_mm.truncate(if bender.dies.is_empty() { 2 } else { 3 });
                Ok(Bending {
                    radii_mm,
                    between_mm: bender.clamp_od * outside,
                    first_mm: (bender.first_od * outside - start_extra_mm).max(ends[0]),
                    last_mm: (bender.last_od * outside - end_extra_mm).max(ends[1]),
                    most_rad: bender.most_angle_rad.min(MOST_CORNER_RAD),
                    angles: Angles::Any,
                })
            }
            Maker::Stock { set, cut, between_mm } => {
                let as_thick = |one: &&StockBend| {
                    ask.tube.wall_mm.is_none_or(|wall_mm| (one.wall_mm - wall_mm).abs() <= 0.3)
                };
                let as_wide: Vec<_> =
                    set.iter().filter(|one| (one.outside_mm - outside).abs() <= 0.3).collect();
                let fits: Vec<_> = as_wide.iter().copied().filter(as_thick).collect();
                let mut radii_mm: Vec<f64> = fits.iter().map(|one| one.radius_mm).collect();
                radii_mm.sort_by(f64::total_cmp);
                radii_mm.dedup_by(|a, b| (*a - *b).abs() < 0.3);
                radii_mm.retain(|radius| *radius >= outside / 2.0);
                if radii_mm.is_empty() {
                    let mut sizes: Vec<f64> = set.iter().map(|one| one.outside_mm).collect();
                    sizes.sort_by(|a, b| (a - outside).abs().total_cmp(&(b - outside).abs()));
                    let why = match sizes.first() {
                        Some(_) if !as_wide.is_empty() => {
                            let mut walls: Vec<f64> = as_wide.iter().map(|one| one.wall_mm).collect();
                            walls.sort_by(f64::total_cmp);
                            walls.dedup();
                            let walls: Vec<String> = walls.iter().map(|wall| format!("{wall:.2}")).collect();
                            format!("stock bends of that diameter have a wall of {} mm", walls.join(" or "))
                        }
                        Some(near) => format!("the nearest stock bends are of {near:.2} mm"),
                        None => "the set of stock bends is empty".to_owned(),
                    };
                    return Err(RouteError::NoRadius { outside_mm: outside, why });
                }
                let mut angles: Vec<f64> = fits.iter().map(|one| one.angle_rad).collect();
                angles.sort_by(f64::total_cmp);
                angles.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
                let most = angles.last().copied().unwrap_or(0.0);
                angles.retain(|angle| *angle <= MOST_CORNER_RAD);
                if angles.is_empty() && !cut {
                    let why = "all stock bends are of more than 150 deg; allow cutting them".to_owned();
                    return Err(RouteError::NoRadius { outside_mm: outside, why });
                }
                let angles = if cut { Angles::Any } else { Angles::Set(angles) };
                let most_rad = most.min(MOST_CORNER_RAD);
                Ok(Bending {
                    radii_mm,
                    between_mm,
                    first_mm: between_mm.max(ends[0]),
                    last_mm: between_mm.max(ends[1]),
                    most_rad,
                    angles,
                })
            }
        }
    }
}

/// What stands in the way of bending this tube to a radius at all: asked of one plain bend with straight to spare.
fn cannot(ask: &RouteAsk<'_>, radius_mm: f64) -> Option<String> {
    let far = 100.0 * ask.tube.outside_mm;
    let bend = ListedBend { straight_mm: far, rotation_rad: 0.0, angle_rad: 0.5, radius_mm };
    let list = BendList { start: Pose::identity(), bends: vec![bend], last_straight_mm: far };
    let Maker::Bender { bender, start_extra_mm, end_extra_mm } = ask.maker else {
        return broken(ask, &list).err();
    };
    match check_making(&list, &making(ask, bender, start_extra_mm, end_extra_mm)) {
        Err(error) => Some(error.to_string()),
        // The bend that was tried stands for all: its place and its angle say nothing to anyone.
        Ok(findings) => findings.into_iter().find(|one| one.weight == Weight::Cannot).map(|mut one| {
            let all = one.remedies.len();
            one.remedies.retain(|remedy| !matches!(remedy, Remedy::PieCuts(_) | Remedy::StockBend(_)));
            let welded =
                if one.remedies.len() < all { "; bends could be pie cuts or ready-made" } else { "" };
            one.reason() + welded
        }),
    }
}

/// What can be made with care only, in sentences.
pub(super) fn care(ask: &RouteAsk<'_>, list: &BendList) -> Vec<String> {
    let Maker::Bender { bender, start_extra_mm, end_extra_mm } = ask.maker else { return Vec::new() };
    let findings = check_making(list, &making(ask, bender, start_extra_mm, end_extra_mm));
    findings.unwrap_or_default().iter().map(ToString::to_string).collect()
}

fn making<'a>(ask: &RouteAsk<'_>, bender: &'a Bender, start_extra_mm: f64, end_extra_mm: f64) -> Making<'a> {
    Making {
        outside_mm: ask.tube.outside_mm,
        wall_mm: ask.tube.wall_mm,
        elongation: ask.tube.elongation,
        bender,
        start_needs_mm: ask.start.straight_mm,
        end_needs_mm: ask.end.straight_mm,
        start_extra_mm,
        end_extra_mm,
        stock_bends: &[],
    }
}

/// Whether the maker can make the tube, by every rule of making that there is.
pub(super) fn broken(ask: &RouteAsk<'_>, list: &BendList) -> Result<(), String> {
    match ask.maker {
        Maker::Bender { bender, start_extra_mm, end_extra_mm } => {
            let making = making(ask, bender, start_extra_mm, end_extra_mm);
            let findings = check_making(list, &making).map_err(|error| error.to_string())?;
            match findings.iter().find(|one| one.weight == Weight::Cannot) {
                Some(finding) => Err(finding.to_string()),
                None => Ok(()),
            }
        }
        Maker::Stock { set, cut, between_mm } => {
            list.check_body(ask.tube.outside_mm).map_err(|error| error.to_string())?;
            let plan = plan_from_stock(list, ask.tube.outside_mm, ask.tube.wall_mm, set)
                .map_err(|error| error.to_string())?;
            let plan = plan.map_err(|(bend, _)| format!("no stock bend makes bend {bend}"))?;
            if let Some(bend) = plan.bends.iter().find(|one| !cut && one.cut_off_rad > 0.0) {
                return Err(format!("bend {} would have to be cut", bend.bend));
            }
            let count = list.bends.len();
            for leg in 0..=count {
                let straight = list.bends.get(leg).map_or(list.last_straight_mm, |bend| bend.straight_mm);
                let port = match leg {
                    0 => ask.start.straight_mm,
                    leg if leg == count => ask.end.straight_mm,
                    _ => 0.0,
                };
                let needed = between_mm.max(port);
                if straight < needed - 1e-6 {
                    return Err(format!("straight {leg} is {straight:.2} mm where {needed:.2} is asked"));
                }
            }
            Ok(())
        }
    }
}
