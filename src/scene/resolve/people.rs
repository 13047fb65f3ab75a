//! Standing places with their reach.

use nalgebra::Vector3;

use super::names::Names;
use crate::scene::StandingPlace;
use crate::scene::decode::{ReachSize, WrittenReach, WrittenStanding};
use crate::space::Length;

/// A standing person's eye over the shoulder, mm: about 205 for men, 195 for women (Pheasant, British adults, 50th percentile;
/// from memory). Leaning over a wing makes it less.
const EYE_OVER_SHOULDER_MM: f64 = 200.0;

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
            eye: place.eye.unwrap_or(place.shoulder? + Vector3::new(0.0, 0.0, EYE_OVER_SHOULDER_MM)),
            reach: Length::from_mm(reach_mm),
            span: place.name.place.span(),
        })
    };
    written.iter().filter_map(place).collect()
}
