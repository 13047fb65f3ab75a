//! The ranked list: routes of which none is worse in everything than another.

use super::find::Route;

/// Lengths, rooms and shares this near are the same.
const SAME: (f64, f64, f64) = (1.0, 0.1, 0.01);
/// Pressure losses this near, as a share, are the same.
const SAME_LOSS: f64 = 0.005;
/// Most routes that are told.
const MOST: usize = 8;

/// Whether one is at least as good as the other in everything and better in something.
fn beats(one: &Route, other: &Route) -> bool {
    let no_worse = one.bends() <= other.bends()
        && one.length_mm <= other.length_mm + SAME.0
        && one.room_mm >= other.room_mm - SAME.1
        && one.preferred_share >= other.preferred_share - SAME.2
        && loss(one) <= loss(other) * (1.0 + SAME_LOSS);
    let better = one.bends() < other.bends()
        || one.length_mm < other.length_mm - SAME.0
        || one.room_mm > other.room_mm + SAME.1
        || one.preferred_share > other.preferred_share + SAME.2
        || loss(one) < loss(other) * (1.0 - SAME_LOSS);
    no_worse && better
}

/// The pressure loss, Pa; zero where none is known.
fn loss(route: &Route) -> f64 {
    route.flow.as_ref().map_or(0.0, |flow| flow.loss_pa)
}

/// Keeps what nothing beats; fewest bends first, then the shortest, then the roomiest.
pub(super) fn ranked(mut routes: Vec<Route>) -> Vec<Route> {
    routes.sort_by(|a, b| {
        (a.bends().cmp(&b.bends()))
            .then(a.length_mm.total_cmp(&b.length_mm))
            .then(b.room_mm.total_cmp(&a.room_mm))
    });
    let mut kept: Vec<Route> = Vec::new();
    for route in &routes {
        let beaten = routes.iter().any(|other| beats(other, route));
        let again = kept.iter().any(|other| !beats(route, other) && same(route, other));
        if !beaten && !again {
            kept.push(route.clone());
        }
    }
    kept.truncate(MOST);
    kept
}

fn same(one: &Route, other: &Route) -> bool {
    one.bends() == other.bends()
        && (one.length_mm - other.length_mm).abs() <= SAME.0
        && (one.room_mm - other.room_mm).abs() <= SAME.1
        && (one.preferred_share - other.preferred_share).abs() <= SAME.2
        && (loss(one) - loss(other)).abs() <= SAME_LOSS * loss(one)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Pose;
    use crate::tube::{BendList, ListedBend};

    fn route(bends: usize, length_mm: f64, room_mm: f64) -> Route {
        let bend = ListedBend { straight_mm: 1.0, rotation_rad: 0.0, angle_rad: 1.0, radius_mm: 1.0 };
        let list = BendList { start: Pose::identity(), bends: vec![bend; bends], last_straight_mm: 1.0 };
        Route { list, length_mm, room_mm, nearest: None, preferred_share: 1.0, flow: None, care: Vec::new() }
    }

    #[test]
    fn what_is_worse_in_everything_is_dropped_and_the_rest_ranked() {
        let given = vec![
            route(3, 500.0, 9.0),
            route(2, 600.0, 5.0),
            route(2, 610.0, 4.0), // longer and tighter than the one before
            route(2, 650.0, 8.0),
            route(3, 700.0, 8.0),  // more bends, longer and tighter than the one above
            route(2, 600.2, 5.05), // the same within rounding
        ];
        let kept: Vec<(usize, f64)> =
            ranked(given).iter().map(|route| (route.bends(), route.length_mm)).collect();
        assert_eq!(kept, [(2, 600.0), (2, 650.0), (3, 500.0)]);
    }
}
