//! Settling which of two mirror places is meant.

use nalgebra::Point3;

use super::NetworkError;
use super::lacking::IMPOSSIBLE_SIGMAS;
use super::network_graph::Graph;
use super::sight::{Sight, cost, plane_of, refine};
use crate::space::Direction;

/// A place is ruled out when its sum of squares is worse by this much (five sigma).
pub(super) const RULED_OUT: f64 = 25.0;
/// Candidates followed in search of a second place.
const RIVALS: usize = 6;

/// The better of the places at which the distances agree best, and the best one apart from it.
pub(super) fn with_rival(
    sights: &[Sight],
    one: Point3<f64>,
    candidates: &[Point3<f64>],
) -> (Point3<f64>, Option<Point3<f64>>) {
    let (through, normal) = plane_of(sights);
    let mirrored = one - normal * (2.0 * (one - through).dot(&normal));
    let mut order: Vec<&Point3<f64>> = candidates.iter().collect();
    order.sort_by(|a, b| cost(sights, a).total_cmp(&cost(sights, b)));
    let apart = |place: &Point3<f64>| (place - one).norm() > 1e-6 * sights[0].distance_mm;
    let rival = std::iter::once(&mirrored)
        .chain(order.into_iter().take(RIVALS))
        .map(|start| refine(sights, *start))
        .filter(|place| apart(place))
        .min_by(|a, b| cost(sights, a).total_cmp(&cost(sights, b)));
    match rival {
        Some(rival) if cost(sights, &rival) < cost(sights, &one) => (rival, Some(one)),
        rival => (one, rival),
    }
}

/// Which of two places is meant: by the distances, else by the side.
pub(super) fn choose(
    graph: &Graph,
    node: usize,
    sights: &[Sight],
    one: Point3<f64>,
    other: Option<Point3<f64>>,
) -> Result<Point3<f64>, NetworkError> {
    let mark = graph.nodes[node].name.clone();
    let mut sides: Vec<Direction> = sights
        .iter()
        .filter(|s| graph.edges[s.edge].mark == node)
        .filter_map(|s| graph.edges[s.edge].side)
        .collect();
    sides.dedup();
    // Only one place: a side is not needed, but must not be plainly wrong.
    let beyond = |side: &&Direction| {
        sights.iter().all(|s| side.unit().dot(&(one - s.anchor)) < -IMPOSSIBLE_SIGMAS * s.sigma_mm)
    };
    let ruled_out = other.is_none_or(|other| cost(sights, &other) - cost(sights, &one) > RULED_OUT);
    if ruled_out && let Some(side) = sides.iter().find(beyond) {
        let against = "its distances put it on the other side of every mark it was measured from".to_owned();
        return Err(NetworkError::SideContradicted { mark, side: side.word(), against });
    }
    let Some(other) = other else { return Ok(one) };
    let apart = one - other;
    let (word_one, word_other) = (Direction::nearest(&apart).word(), Direction::nearest(&-apart).word());
    let Some(side) = sides.first().copied() else {
        if ruled_out {
            return Ok(one);
        }
        let mut plane: Vec<usize> = sights.iter().map(|s| s.node).collect();
        plane.sort_unstable();
        plane.dedup();
        return Err(NetworkError::Mirror {
            mark,
            plane: format!("the plane of {}", graph.list(&plane)),
            apart_mm: apart.norm(),
            one: word_one,
            other: word_other,
        });
    };
    if let Some(opposite) = sides.iter().find(|s| s.unit().dot(&side.unit()) < -0.5) {
        let against = format!("another of its readings says `{}`", opposite.word());
        return Err(NetworkError::SideContradicted { mark, side: side.word(), against });
    }
    // The side that tells most clearly counts.
    let tells = |side: &Direction| side.unit().dot(&apart) / apart.norm();
    let side = sides.iter().copied().max_by(|a, b| tells(a).abs().total_cmp(&tells(b).abs())).unwrap_or(side);
    let along = tells(&side);
    if along.abs() < 0.2 {
        if ruled_out {
            return Ok(one);
        }
        return Err(NetworkError::SideDoesNotTell {
            mark,
            side: side.word(),
            one: word_one,
            other: word_other,
        });
    }
    if along > 0.0 {
        Ok(one)
    } else if ruled_out {
        let against = format!("its distances put it `{word_one}`");
        Err(NetworkError::SideContradicted { mark, side: side.word(), against })
    } else {
        Ok(other)
    }
}
