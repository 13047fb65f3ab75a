//! Standing places with their reach.

use super::names::Names;
use crate::scene::StandingPlace;
use crate::scene::decode::{ReachSize, WrittenReach, WrittenStanding};
use crate::space::Length;

/// The standing places.
pub(super) fn standing(
    written: &[WrittenStanding],
    reaches: &[WrittenReach],
    names: &Names<'_>,
) -> Vec<StandingPlace> {
    let place = |place: &WrittenStanding| {
        let reach_mm = match &place.reach {
            ReachSize::Length(mm) => *mm,
            ReachSize::Named(name) => reaches[names.find(name)?].length_mm,
        };
        Some(StandingPlace {
            name: place.name.text.clone(),
            shoulder: place.shoulder?,
            reach: Length::from_mm(reach_mm),
            span: place.name.place.span(),
        })
    };
    written.iter().filter_map(place).collect()
}
