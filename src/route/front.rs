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

/// The pressure loss, Pa: infinite where the tube does not take the flow, zero where none was asked.
fn loss(route: &Route) -> f64 {
    match (&route.flow, &route.flow_error) {
        (Some(flow), _) => flow.loss_pa,
        (None, Some(_)) => f64::INFINITY,
        (None, None) => 0.0,
    }
}

/// Keeps what nothing kept beats; fewest bends first, then the shortest, then the roomiest. Of any routes at all it
/// keeps one or more: within tolerances three may beat each other in a ring, so each is held against those kept only.
pub(super) fn ranked(mut routes: Vec<Route>) -> Vec<Route> {
    routes.sort_by(|a, b| {
        (a.bends().cmp(&b.bends()))
            .then(a.length_mm.total_cmp(&b.length_mm))
            .then(b.room_mm.total_cmp(&a.room_mm))
    });
    let mut kept: Vec<Route> = Vec::new();
    for route in routes {
        if !kept.iter().any(|other| beats(other, &route) || same(&route, other)) {
            kept.push(route);
        }
    }
    // One that comes later may still beat one before it. It stays itself, so the last is never taken out.
    while let Some(beaten) = (0..kept.len()).find(|at| kept.iter().any(|other| beats(other, &kept[*at]))) {
        kept.remove(beaten);
    }
    kept.truncate(MOST);
    kept
}

fn same(one: &Route, other: &Route) -> bool {
    let (lost, other_lost) = (loss(one), loss(other));
    one.bends() == other.bends()
        && (one.length_mm - other.length_mm).abs() <= SAME.0
        && (one.room_mm - other.room_mm).abs() <= SAME.1
        && (one.preferred_share - other.preferred_share).abs() <= SAME.2
        && (lost == other_lost || (lost - other_lost).abs() <= SAME_LOSS * lost.min(other_lost))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::calc::{Flow, FlowPart, Fluid, flow_loss};
    use crate::route::FitUp;
    use crate::space::Pose;
    use crate::tube::{BendList, ListedBend};

    fn route(bends: usize, length_mm: f64, room_mm: f64) -> Route {
        let bend = ListedBend { straight_mm: 1.0, rotation_rad: 0.0, angle_rad: 1.0, radius_mm: 1.0 };
        let list = BendList { start: Pose::identity(), bends: vec![bend; bends], last_straight_mm: 1.0 };
        let (preferred_share, care) = (1.0, Vec::new());
        Route {
            list,
            length_mm,
            room_mm,
            nearest: None,
            preferred_share,
            flow: None,
            flow_error: None,
            care,
            ends: [FitUp::EXACT; 2],
        }
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

    /// Each beats the next, the last the first: lengths, rooms and shares a little over and under what counts as the same.
    #[test]
    fn of_routes_that_beat_each_other_in_a_ring_one_stays() {
        let ring = [(500.0, 8.075, 0.500), (501.5, 8.15, 0.5075), (500.75, 8.0, 0.515)].map(
            |(length_mm, room_mm, share)| Route { preferred_share: share, ..route(2, length_mm, room_mm) },
        );
        for (one, next) in [(0, 1), (1, 2), (2, 0)] {
            assert!(beats(&ring[one], &ring[next]), "{one} and {next}");
        }
        for order in [[0, 1, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
            let kept = ranked(order.map(|at| ring[at].clone()).to_vec());
            assert_eq!(kept.iter().map(|route| route.length_mm).collect::<Vec<_>>(), [500.75], "{order:?}");
        }
    }

    /// A short roomy route in which the flow chokes is no better than a longer, tighter one that takes it; of two that
    /// choke the better is kept, and of two alike one.
    #[test]
    fn a_route_that_chokes_beats_none_that_takes_the_flow() {
        let parts = [FlowPart::Straight { bore_mm: 40.0, length_mm: 500.0 }];
        let flow = |mass_kg_s| Flow {
            fluid: Fluid::Air,
            mass_kg_s,
            temperature_k: 333.15,
            pressure_pa: 250e3,
            roughness_mm: 0.02,
        };
        let chokes = |length_mm, room_mm| Route {
            flow_error: Some(flow_loss(&parts, &flow(2.0)).unwrap_err()),
            ..route(2, length_mm, room_mm)
        };
        let takes = Route { flow: Some(flow_loss(&parts, &flow(0.2)).unwrap()), ..route(2, 600.0, 5.0) };
        let kept = ranked(vec![chokes(500.0, 9.0), chokes(500.2, 9.0), chokes(550.0, 8.0), takes]);
        assert_eq!(kept.iter().map(|route| route.length_mm).collect::<Vec<_>>(), [500.0, 600.0]);
        assert!(kept[0].flow_error.is_some() && kept[1].flow.is_some());
    }
}
