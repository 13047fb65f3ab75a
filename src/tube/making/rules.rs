//! A tube asked of a bender, rule by rule.

use nalgebra::Point3;

use super::bender::{Bender, SAME_MM};
use super::finding::{MakingFinding, MakingRule, Remedy, Weight};
use super::stock_bend::StockBend;
use super::wall::{outer_strain, outer_wall_mm, radius_for_thinning_mm};
use crate::tube::{BendList, LegPlace, PieCuts, TubeError};

/// What a tube is made from and with.
#[derive(Clone, Copy, Debug)]
pub struct Making<'a> {
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Wall, mm; `None` for a bar, whose wall cannot thin.
    pub wall_mm: Option<f64>,
    /// Share by which the material stretches before it tears; `None` when it is not known.
    pub elongation: Option<f64>,
    /// The bender.
    pub bender: &'a Bender,
    /// Straight that the joint at the start needs (bead, boot, clamp), mm; counted with the bender's own.
    pub start_needs_mm: f64,
    /// Straight that the joint at the end needs, mm.
    pub end_needs_mm: f64,
    /// Tube left on at the start while it is bent and cut off afterwards, mm: the bender may hold it there.
    pub start_extra_mm: f64,
    /// Tube left on at the end, mm.
    pub end_extra_mm: f64,
    /// Stock bends at hand, as an alternative.
    pub stock_bends: &'a [StockBend],
}

/// A bend's joints of pie cuts turn by no more than this, rad: `common practice, no source`.
const PIE_JOINT_RAD: f64 = 15.0 * std::f64::consts::PI / 180.0;
/// Least tube left at the inside of a pie cut, mm: `common practice, no source`.
const PIE_INSIDE_MM: f64 = 5.0;

/// The same corners with another radius at one bend: straights beside it change by the change of setback,
/// and may come out negative.
pub fn with_radius(list: &BendList, bend: usize, radius_mm: f64) -> BendList {
    let mut out = list.clone();
    let before = out.bends[bend].setback_mm();
    out.bends[bend].radius_mm = radius_mm;
    let grows = out.bends[bend].setback_mm() - before;
    out.bends[bend].straight_mm -= grows;
    match out.bends.get_mut(bend + 1) {
        Some(next) => next.straight_mm -= grows,
        None => out.last_straight_mm -= grows,
    }
    out
}

/// Every rule of making that a tube breaks, along the tube from its first end; an empty list means that it
/// can be made as it stands.
///
/// # Errors
/// A tube that cannot be at all: [`BendList::check_body`].
pub fn check_making(list: &BendList, making: &Making<'_>) -> Result<Vec<MakingFinding>, TubeError> {
    list.check_body(making.outside_mm)?;
    let mut findings = Findings { list, making, out: Vec::new() };
    for index in 0..list.bends.len() {
        findings.straight(index);
        findings.radius(index);
        findings.wall(index);
        findings.angle(index);
    }
    findings.straight(list.bends.len());
    Ok(findings.out)
}

struct Findings<'a> {
    list: &'a BendList,
    making: &'a Making<'a>,
    out: Vec<MakingFinding>,
}

impl Findings<'_> {
    /// The middle of a leg: how far along, and where.
    fn middle(&self, place: LegPlace) -> (f64, Point3<f64>) {
        let (until, straight) = match place {
            LegPlace::Straight(after) => (after, true),
            LegPlace::Bend(number) => (number - 1, false),
        };
        let mut along: f64 =
            self.list.bends[..until].iter().map(|bend| bend.straight_mm + bend.arc_mm()).sum();
        along += match (straight, self.list.bends.get(until)) {
            (true, Some(bend)) => bend.straight_mm / 2.0,
            (true, None) => self.list.last_straight_mm / 2.0,
            (false, Some(bend)) => bend.straight_mm + bend.arc_mm() / 2.0,
            (false, None) => 0.0,
        };
        let at = self.list.centreline().map_or_else(|_| Point3::origin(), |line| line.point_at(along));
        (along, at)
    }

    #[allow(clippy::too_many_arguments)]
    fn add(
        &mut self,
        rule: MakingRule,
        weight: Weight,
        place: LegPlace,
        found: f64,
        needed: f64,
        unit: &'static str,
        because: String,
        remedies: Vec<Remedy>,
    ) {
        let (along_mm, at) = self.middle(place);
        let finding =
            MakingFinding { rule, weight, place, along_mm, at, found, needed, unit, because, remedies };
        self.out.push(finding);
    }

    /// Straight that is asked of a leg: between bends the clamp's, at an end the grip's or the joint's.
    fn asked_mm(&self, leg: usize) -> f64 {
        let (making, outside) = (self.making, self.making.outside_mm);
        let last = self.list.bends.len();
        match leg {
            0 if last == 0 => making.start_needs_mm.max(making.end_needs_mm),
            0 => (making.bender.first_od * outside - making.start_extra_mm).max(making.start_needs_mm),
            leg if leg == last => {
                (making.bender.last_od * outside - making.end_extra_mm).max(making.end_needs_mm)
            }
            _ => making.bender.clamp_od * outside,
        }
    }

    /// What another radius at a bend asks of its corners: how much longer the legs beside it must be.
    fn lacks_mm(&self, bend: usize, radius_mm: f64) -> f64 {
        let list = with_radius(self.list, bend, radius_mm);
        let straight =
            |leg: usize| list.bends.get(leg).map_or(list.last_straight_mm, |bend| bend.straight_mm);
        [bend, bend + 1].into_iter().map(|leg| self.asked_mm(leg) - straight(leg)).fold(0.0, f64::max)
    }

    /// Radii that could be bent from `least_mm` on, those that fit the corners first.
    fn radius_remedies(&self, bend: usize, least_mm: f64) -> Vec<Remedy> {
        let (making, outside) = (self.making, self.making.outside_mm);
        let least_mm = least_mm.max(making.bender.least_radius_od * outside);
        let radii = making.bender.radii_mm(outside);
        let mut choices: Vec<f64> = if making.bender.dies.is_empty() {
            vec![least_mm]
        } else {
            radii.into_iter().filter(|radius| *radius >= least_mm - 1e-9).collect()
        };
        let own = self.list.bends[bend].radius_mm;
        choices.sort_by(|a, b| (a - own).abs().total_cmp(&(b - own).abs()));
        let mut remedies: Vec<Remedy> = choices
            .into_iter()
            .take(2)
            .map(|radius| {
                let lacks = self.lacks_mm(bend, radius);
                if lacks <= 1e-9 { Remedy::Radius(radius) } else { Remedy::RadiusAndLonger(radius, lacks) }
            })
            .collect();
        remedies.sort_by_key(|remedy| matches!(remedy, Remedy::RadiusAndLonger(..)));
        remedies.extend(self.welded(bend));
        remedies
    }

    /// Ways to the very bend that need no bender.
    fn welded(&self, bend: usize) -> Vec<Remedy> {
        let (making, bend) = (self.making, &self.list.bends[bend]);
        let mut remedies = Vec::new();
        let stock = making.stock_bends.iter().find(|one| {
            (one.outside_mm - making.outside_mm).abs() <= SAME_MM
                && (one.radius_mm - bend.radius_mm).abs() <= SAME_MM
                && one.angle_rad >= bend.angle_rad
        });
        remedies.extend(stock.map(|one| Remedy::StockBend(one.name.clone())));
        let cuts = PieCuts::new(bend.angle_rad, bend.radius_mm, making.outside_mm, PIE_JOINT_RAD);
        if making.wall_mm.is_some() && cuts.weldable(PIE_INSIDE_MM) {
            remedies.push(Remedy::PieCuts(cuts));
        }
        remedies
    }

    fn radius(&mut self, index: usize) {
        let (making, outside) = (self.making, self.making.outside_mm);
        let (bender, place) = (making.bender, LegPlace::Bend(index + 1));
        let radius = self.list.bends[index].radius_mm;
        let (least, tight) = (bender.least_radius_od * outside, bender.tight_radius_od * outside);
        if radius < least - 1e-6 {
            let because =
                format!("at least {:.2} x the diameter ({})", bender.least_radius_od, bender.source);
            let remedies = self.radius_remedies(index, least);
            self.add(MakingRule::LeastRadius, Weight::Cannot, place, radius, least, "mm", because, remedies);
            return;
        }
        if !bender.dies.is_empty() {
            let radii = bender.radii_mm(outside);
            if radii.is_empty() {
                let off = |die: &&super::Die| (die.outside_mm - outside).abs();
                let nearest = bender.dies.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
                let nearest_mm = nearest.map_or(outside, |die| die.outside_mm);
                let because = format!("no die of {} takes this diameter ({})", bender.name, bender.source);
                let mut remedies = vec![Remedy::Outside(nearest_mm)];
                remedies.extend(self.welded(index));
                self.add(
                    MakingRule::Die,
                    Weight::Cannot,
                    place,
                    outside,
                    nearest_mm,
                    "mm",
                    because,
                    remedies,
                );
                return;
            }
            let off = |die: &f64| (die - radius).abs();
            if let Some(nearest) = radii.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b)))
                && off(&nearest) > SAME_MM
            {
                let because = format!("the nearest die of {} for it ({})", bender.name, bender.source);
                let remedies = self.radius_remedies(index, 0.0);
                self.add(MakingRule::Die, Weight::Cannot, place, radius, nearest, "mm", because, remedies);
            }
        }
        if radius < tight - 1e-6 {
            let because = format!(
                "under {:.2} x the diameter it wants mandrel and wiper set well ({})",
                bender.tight_radius_od, bender.source
            );
            let remedies = self.radius_remedies(index, tight);
            self.add(MakingRule::TightRadius, Weight::Care, place, radius, tight, "mm", because, remedies);
        }
    }

    fn wall(&mut self, index: usize) {
        let (making, outside) = (self.making, self.making.outside_mm);
        let (bender, place) = (making.bender, LegPlace::Bend(index + 1));
        let radius = self.list.bends[index].radius_mm;
        if let Some(wall) = making.wall_mm {
            let share = 1.0 - outer_wall_mm(wall, outside, radius) / wall;
            if share > bender.most_thinning + 1e-9 {
                let because = format!(
                    "of the wall at the outside of the bend, t R / (R + D/2), may be lost ({})",
                    bender.source
                );
                let remedies =
                    self.radius_remedies(index, radius_for_thinning_mm(outside, bender.most_thinning));
                let (found, most) = (100.0 * share, 100.0 * bender.most_thinning);
                self.add(MakingRule::Thinning, Weight::Cannot, place, found, most, "%", because, remedies);
            }
            if wall > bender.most_wall_mm + 1e-9 {
                let because = format!("the thickest wall of {} ({})", bender.name, bender.source);
                let most = bender.most_wall_mm;
                let remedies = vec![Remedy::Wall(most)];
                self.add(MakingRule::Wall, Weight::Cannot, place, wall, most, "mm", because, remedies);
            }
        }
        if let Some(most) = making.elongation {
            let strain = outer_strain(outside, radius);
            if strain > most + 1e-9 {
                let because = "the most that the material stretches; the outermost fibre is drawn D / 2R \
                               (geometry)"
                    .to_owned();
                let remedies = self.radius_remedies(index, outside / (2.0 * most));
                let (found, most) = (100.0 * strain, 100.0 * most);
                self.add(MakingRule::Elongation, Weight::Cannot, place, found, most, "%", because, remedies);
            }
        }
    }

    fn angle(&mut self, index: usize) {
        let bender = self.making.bender;
        let angle = self.list.bends[index].angle_rad;
        if angle > bender.most_angle_rad + 1e-9 {
            let because = format!("the most that {} bends at once ({})", bender.name, bender.source);
            let (found, most) = (angle.to_degrees(), bender.most_angle_rad.to_degrees());
            let mut remedies = vec![Remedy::TwoSteps];
            remedies.extend(self.welded(index));
            let place = LegPlace::Bend(index + 1);
            self.add(MakingRule::Angle, Weight::Cannot, place, found, most, "deg", because, remedies);
        }
    }

    fn straight(&mut self, leg: usize) {
        let count = self.list.bends.len();
        let found = self.list.bends.get(leg).map_or(self.list.last_straight_mm, |bend| bend.straight_mm);
        let needed = self.asked_mm(leg);
        if found >= needed - 1e-6 {
            return;
        }
        let (making, bender, short) = (self.making, self.making.bender, needed - found);
        let (place, inner) = (LegPlace::Straight(leg), leg > 0 && leg < count);
        if inner {
            // Smaller bends on both sides leave more straight between the same corners.
            let mut remedies: Vec<Remedy> = bender
                .radii_mm(making.outside_mm)
                .into_iter()
                .rev()
                .find(|radius| self.leaves_enough(leg, *radius))
                .map(Remedy::Radius)
                .into_iter()
                .collect();
            remedies.push(Remedy::Longer(short));
            remedies.extend(self.welded(leg));
            let because = format!("what the clamp grips between two bends ({})", bender.source);
            let rule = MakingRule::StraightBetween;
            self.add(rule, Weight::Cannot, place, found, needed, "mm", because, remedies);
            return;
        }
        let joint = if leg == 0 { making.start_needs_mm } else { making.end_needs_mm };
        let for_joint = joint >= needed;
        let mut remedies = vec![Remedy::Longer(short)];
        if !for_joint {
            remedies.insert(0, Remedy::TrimAfter(short));
        }
        let because = if for_joint {
            "what the joint at this end needs straight".to_owned()
        } else {
            format!("what the bender holds at this end ({})", bender.source)
        };
        self.add(MakingRule::StraightAtEnd, Weight::Cannot, place, found, needed, "mm", because, remedies);
    }

    /// Whether one smaller radius at both bends of a straight makes it long enough.
    fn leaves_enough(&self, leg: usize, radius_mm: f64) -> bool {
        let (before, after) = (&self.list.bends[leg - 1], &self.list.bends[leg]);
        if radius_mm > before.radius_mm || radius_mm > after.radius_mm {
            return false;
        }
        let list = with_radius(&with_radius(self.list, leg - 1, radius_mm), leg, radius_mm);
        list.bends[leg].straight_mm >= self.asked_mm(leg) - 1e-9
    }
}
