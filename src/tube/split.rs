//! Where a tube may be split: places along its straights with room for a joint, and the pieces.

use nalgebra::{Point3, Unit, Vector3};

use super::{BendList, ListedBend, TubeError};

/// Straight tube that must be left for what is fixed to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SplitNeeds {
    /// On either side of the split, mm: what the joint there needs.
    pub joint_mm: f64,
    /// At the tube's own start, mm.
    pub start_mm: f64,
    /// At its own end, mm.
    pub end_mm: f64,
}

/// A place where a tube may be split.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SplitPlace {
    /// Which straight, from 0: the one after that many bends.
    pub straight: usize,
    /// From the tube's start along its centreline, mm.
    pub along_mm: f64,
    /// Where, in the list's frame.
    pub at: Point3<f64>,
    /// Along the tube there, away from its start.
    pub axis: Unit<Vector3<f64>>,
}

/// A straight that is too short to be split.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooShort {
    /// Which straight, from 0.
    pub straight: usize,
    /// Its length, mm.
    pub length_mm: f64,
    /// What it would need, mm.
    pub needed_mm: f64,
}

/// Straights shorter than this are no straights, mm.
const NO_STRAIGHT_MM: f64 = 1e-6;

impl BendList {
    fn straight_mm(&self, straight: usize) -> f64 {
        self.bends.get(straight).map_or(self.last_straight_mm, |bend| bend.straight_mm)
    }

    /// From the start of the tube to that of a straight, mm.
    fn before_mm(&self, straight: usize) -> f64 {
        self.bends[..straight].iter().map(|bend| bend.straight_mm + bend.arc_mm()).sum()
    }

    /// Places along all straights, `every_mm` apart at most, ends of what is allowed included; and the straights on which
    /// there is none. In order along the tube.
    ///
    /// # Errors
    /// As [`BendList::check`].
    ///
    /// # Example
    /// 100 of straight, 20 kept at the end of the tube and 15 on either side of the split: from 15 + 20 to 100 - 15.
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::space::Pose;
    /// use baywright::tube::{BendList, SplitNeeds};
    /// let list = BendList { start: Pose::identity(), bends: Vec::new(), last_straight_mm: 100.0 };
    /// let needs = SplitNeeds { joint_mm: 15.0, start_mm: 20.0, end_mm: 0.0 };
    /// let (places, short) = list.split_places(&needs, 25.0).unwrap();
    /// let along: Vec<f64> = places.iter().map(|place| place.along_mm).collect();
    /// assert_eq!(along, [35.0, 60.0, 85.0]);
    /// assert!(short.is_empty());
    /// ```
    pub fn split_places(
        &self,
        needs: &SplitNeeds,
        every_mm: f64,
    ) -> Result<(Vec<SplitPlace>, Vec<TooShort>), TubeError> {
        self.check()?;
        let (mut places, mut short) = (Vec::new(), Vec::new());
        let last = self.bends.len();
        for straight in 0..=last {
            let length_mm = self.straight_mm(straight);
            let first_mm = needs.joint_mm + if straight == 0 { needs.start_mm } else { 0.0 };
            let kept_mm = needs.joint_mm + if straight == last { needs.end_mm } else { 0.0 };
            let spare_mm = length_mm - first_mm - kept_mm;
            if spare_mm < 0.0 {
                if length_mm > NO_STRAIGHT_MM {
                    short.push(TooShort { straight, length_mm, needed_mm: first_mm + kept_mm });
                }
                continue;
            }
            let steps = (spare_mm / every_mm.max(0.1)).ceil().max(0.0) as usize;
            for step in 0..=steps {
                let share = if steps == 0 { 0.5 } else { step as f64 / steps as f64 };
                let on_straight_mm = first_mm + share * spare_mm;
                let until = BendList {
                    start: self.start,
                    bends: self.bends[..straight].to_vec(),
                    last_straight_mm: on_straight_mm,
                };
                let end = until.end();
                places.push(SplitPlace {
                    straight,
                    along_mm: self.before_mm(straight) + on_straight_mm,
                    at: end.translation.vector.into(),
                    axis: Unit::new_normalize(end * Vector3::x()),
                });
            }
        }
        Ok((places, short))
    }

    /// The pieces of a tube that is split at places in order along it, each end that a split makes drawn back by
    /// `back_mm`. One more than there are places.
    ///
    /// # Errors
    /// A piece that is left without length: [`TubeError::Figure`].
    pub fn split_at(&self, places: &[SplitPlace], back_mm: f64) -> Result<Vec<BendList>, TubeError> {
        let mut pieces = Vec::with_capacity(places.len() + 1);
        // What is left: its start, the bends that it still has, and how much of the next straight is gone.
        let (mut start, mut bend, mut gone_mm) = (self.start, 0, 0.0);
        for place in places {
            let on_straight_mm = place.along_mm - self.before_mm(place.straight);
            let piece = self.part(start, bend, place.straight, gone_mm, on_straight_mm - back_mm);
            piece.check()?;
            let after_mm = on_straight_mm + back_mm;
            let until = BendList {
                start: self.start,
                bends: self.bends[..place.straight].to_vec(),
                last_straight_mm: after_mm,
            };
            (start, bend, gone_mm) = (until.end(), place.straight, after_mm);
            pieces.push(piece);
        }
        let rest = self.part(start, bend, self.bends.len(), gone_mm, self.last_straight_mm);
        rest.check()?;
        pieces.push(rest);
        Ok(pieces)
    }

    /// From a place `gone_mm` along the straight before bend `from` to one `until_mm` along the straight before bend `to`.
    fn part(
        &self,
        start: crate::space::Pose,
        from: usize,
        to: usize,
        gone_mm: f64,
        until_mm: f64,
    ) -> BendList {
        let mut bends: Vec<ListedBend> = self.bends[from..to].to_vec();
        let last_straight_mm = match bends.first_mut() {
            Some(first) => {
                first.straight_mm -= gone_mm;
                until_mm
            }
            None => until_mm - gone_mm,
        };
        BendList { start, bends, last_straight_mm }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::space::Pose;
    use proptest::prelude::*;

    fn list(figures: &[(f64, f64, f64)], last_straight_mm: f64) -> BendList {
        let bend = |&(straight_mm, rotation_rad, angle_rad): &(f64, f64, f64)| ListedBend {
            straight_mm,
            rotation_rad,
            angle_rad,
            radius_mm: 60.0,
        };
        BendList {
            start: Pose::translation(3.0, -4.0, 5.0),
            bends: figures.iter().map(bend).collect(),
            last_straight_mm,
        }
    }

    #[test]
    fn straights_without_room_are_named_with_what_they_lack() {
        let pipe = list(&[(40.0, 0.0, 1.0), (29.0, 0.3, 1.0)], 60.0);
        let needs = SplitNeeds { joint_mm: 15.0, start_mm: 12.0, end_mm: 30.0 };
        let (places, short) = pipe.split_places(&needs, 10.0).unwrap();
        let told: Vec<_> = short.iter().map(|one| (one.straight, one.length_mm, one.needed_mm)).collect();
        // 12 + 15 + 15, then 15 + 15; the last needs 15 + 15 + 30 and has it to the millimetre.
        assert_eq!(told, [(0, 40.0, 42.0), (1, 29.0, 30.0)]);
        assert_eq!(places.len(), 1);
        assert!((places[0].along_mm - (40.0 + 60.0 + 29.0 + 60.0 + 15.0)).abs() < 1e-9);
    }

    proptest! {
        /// Pieces end to end are the tube: the same ends, the same length, the same places in space.
        #[test]
        fn pieces_put_together_are_the_tube(
            turns in proptest::collection::vec((40.0f64..200.0, -3.0f64..3.0, 0.1f64..2.5), 0..4),
            last in 40.0f64..200.0,
            back in 0.0f64..2.0,
            picks in (0.0f64..1.0, 0.0f64..1.0),
        ) {
            let pipe = list(&turns, last);
            let needs = SplitNeeds { joint_mm: 15.0, start_mm: 5.0, end_mm: 5.0 };
            let (places, _) = pipe.split_places(&needs, 20.0).unwrap();
            let pick = |share: f64| (share * places.len() as f64) as usize;
            let (one, other) = (pick(picks.0).min(pick(picks.1)), pick(picks.0).max(pick(picks.1)));
            let mut chosen = vec![places[one]];
            if places[other].along_mm - places[one].along_mm >= 30.0 {
                chosen.push(places[other]);
            }
            let pieces = pipe.split_at(&chosen, back).unwrap();
            prop_assert_eq!(pieces.len(), chosen.len() + 1);
            let sum: f64 = pieces.iter().map(BendList::length_mm).sum();
            prop_assert!((sum + 2.0 * back * chosen.len() as f64 - pipe.length_mm()).abs() < 1e-6);
            prop_assert_eq!(pieces[0].start, pipe.start);
            let end = pieces[pieces.len() - 1].end();
            prop_assert!((end.to_homogeneous() - pipe.end().to_homogeneous()).norm() < 1e-6);
            for (at, place) in chosen.iter().enumerate() {
                let (before, after) = (pieces[at].end(), pieces[at + 1].start);
                let from: Point3<f64> = before.translation.vector.into();
                let to: Point3<f64> = after.translation.vector.into();
                prop_assert!((place.at - from - place.axis.into_inner() * back).norm() < 1e-6);
                prop_assert!((to - place.at - place.axis.into_inner() * back).norm() < 1e-6);
            }
        }
    }
}
