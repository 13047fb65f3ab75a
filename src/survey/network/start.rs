//! Placing marks one after another, and settling which of two mirror places is meant.
//!
//! What comes out is a start for the adjustment of the whole, not the answer.

use nalgebra::{Matrix3, Point3, Vector3};

use super::NetworkError;
use super::network_graph::{Graph, listed};
use super::trilaterate::{Trilateration, trilaterate};
use crate::space::Direction;
use crate::survey::levenberg::{Evaluation, minimise};

/// A place is ruled out when its sum of squares is worse by this much (five sigma).
const RULED_OUT: f64 = 25.0;
/// No reading counts for more than this many sigma: one misread distance must not rule out the truth.
const WORST_SIGMAS: f64 = 10.0;
/// Lengths that miss by more than this many sigma are impossible, not unlucky.
const IMPOSSIBLE_SIGMAS: f64 = 4.0;
/// Triples of distances tried at most for one mark.
const MOST_TRIPLES: usize = 200;
/// Candidates followed in search of a second place.
const RIVALS: usize = 6;

/// A distance to a mark that stands already.
#[derive(Clone, Copy, Debug)]
struct Sight {
    edge: usize,
    node: usize,
    anchor: Point3<f64>,
    distance_mm: f64,
    /// The tape's sigma and the anchor's together.
    sigma_mm: f64,
}

/// Places every mark, using only the readings that are `active`.
pub(super) fn place_all(graph: &Graph, active: &[bool]) -> Result<Vec<Point3<f64>>, Vec<NetworkError>> {
    let mut places: Vec<Option<(Point3<f64>, f64)>> = graph.nodes.iter().map(|node| node.known).collect();
    loop {
        let waiting: Vec<usize> = (0..places.len()).filter(|n| places[*n].is_none()).collect();
        if waiting.is_empty() {
            return Ok(places.into_iter().flatten().map(|(place, _)| place).collect());
        }
        let mut moved = false;
        let mut faults = Vec::new();
        // The mark with the most distances first: it has the least left to chance.
        let mut order: Vec<(usize, Vec<Sight>)> =
            waiting.iter().map(|n| (*n, sights(graph, active, &places, *n))).collect();
        order.sort_by_key(|(node, sights)| (usize::MAX - sights.len(), *node));
        for (node, sights) in &order {
            match place_one(graph, *node, sights) {
                Ok(place) => {
                    places[*node] = Some(place);
                    moved = true;
                    break;
                }
                Err(fault) => faults.push(fault(graph, active, &places, *node)),
            }
        }
        if !moved {
            faults.sort_by_key(|fault| graph.nodes.iter().position(|node| node.name == fault.mark()));
            return Err(faults);
        }
    }
}

fn sights(graph: &Graph, active: &[bool], places: &[Option<(Point3<f64>, f64)>], node: usize) -> Vec<Sight> {
    graph
        .edges
        .iter()
        .enumerate()
        .filter(|(i, _)| active[*i])
        .filter_map(|(edge, reading)| {
            let other = reading.other(node)?;
            let (anchor, sigma) = places[other]?;
            let sigma_mm = reading.sigma_mm.hypot(sigma);
            Some(Sight { edge, node: other, anchor, distance_mm: reading.distance_mm, sigma_mm })
        })
        .collect()
}

/// Makes a fault once it is known that nothing more can be placed.
type Fault = Box<dyn Fn(&Graph, &[bool], &[Option<(Point3<f64>, f64)>], usize) -> NetworkError>;

fn place_one(graph: &Graph, node: usize, sights: &[Sight]) -> Result<(Point3<f64>, f64), Fault> {
    let mut anchors: Vec<usize> = sights.iter().map(|s| s.node).collect();
    anchors.sort_unstable();
    anchors.dedup();
    if anchors.len() < 3 {
        return Err(Box::new(too_few));
    }
    let triples = triples(sights);
    if triples.is_empty() {
        return Err(Box::new(too_few));
    }
    let redundant = anchors.len() > 3;
    if !redundant && let Some(fault) = apart(graph, node, sights) {
        return Err(Box::new(move |_, _, _, _| fault.clone()));
    }
    let candidates: Vec<Point3<f64>> = triples
        .iter()
        .flat_map(|[a, b, c]| {
            let anchors = [sights[*a].anchor, sights[*b].anchor, sights[*c].anchor];
            let lengths = [sights[*a].distance_mm, sights[*b].distance_mm, sights[*c].distance_mm];
            match trilaterate(&anchors, lengths) {
                Trilateration::Two(one, other) => vec![one, other],
                Trilateration::Short { in_plane, .. } => vec![in_plane],
                Trilateration::Collinear => vec![],
            }
        })
        .collect();
    let Some(first) = candidates.iter().min_by(|a, b| cost(sights, a).total_cmp(&cost(sights, b))) else {
        return Err(Box::new(too_few));
    };
    let one = refine(sights, *first);
    let (one, other) = with_rival(sights, one, &candidates);
    if !redundant {
        let worst = sights
            .iter()
            .max_by(|a, b| (miss(a, &one) / a.sigma_mm).abs().total_cmp(&(miss(b, &one) / b.sigma_mm).abs()));
        if let Some(worst) = worst
            && (miss(worst, &one) / worst.sigma_mm).abs() > IMPOSSIBLE_SIGMAS
        {
            let fault = NetworkError::Impossible {
                mark: graph.nodes[node].name.clone(),
                why: format!(
                    "even the nearest place misses {} by {:.1} mm",
                    graph.reading_name(worst.edge),
                    miss(worst, &one).abs()
                ),
                again: listed(sights.iter().map(|s| graph.reading_name(s.edge)).collect()),
            };
            return Err(Box::new(move |_, _, _, _| fault.clone()));
        }
    }
    if let (_, Some(known_to_mm)) = certainty(sights, &one) {
        let fault = NetworkError::Flat {
            mark: graph.nodes[node].name.clone(),
            plane: graph.list(&anchors),
            known_to_mm,
        };
        return Err(Box::new(move |_, _, _, _| fault.clone()));
    }
    let chosen = choose(graph, node, sights, one, other)
        .map_err(|fault| -> Fault { Box::new(move |_, _, _, _| fault.clone()) })?;
    let (sigma, _) = certainty(sights, &chosen);
    Ok((chosen, sigma))
}

/// The better of the places at which the distances agree best, and the best one apart from it.
fn with_rival(
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
fn choose(
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

fn miss(sight: &Sight, place: &Point3<f64>) -> f64 {
    (place - sight.anchor).norm() - sight.distance_mm
}

/// Sum of squares over sigma, no reading counting for more than [`WORST_SIGMAS`].
fn cost(sights: &[Sight], place: &Point3<f64>) -> f64 {
    sights.iter().map(|s| (miss(s, place) / s.sigma_mm).powi(2).min(WORST_SIGMAS * WORST_SIGMAS)).sum()
}

fn evaluate(sights: &[Sight], place: &Point3<f64>) -> Evaluation {
    let mut builder = Evaluation::builder(3);
    for sight in sights {
        let away = (place - sight.anchor).try_normalize(1e-300).unwrap_or_else(Vector3::x);
        builder.known(sight.sigma_mm, miss(sight, place), &[away.x, away.y, away.z]);
    }
    builder.done()
}

fn refine(sights: &[Sight], start: Point3<f64>) -> Point3<f64> {
    minimise(
        start,
        |place| evaluate(sights, place),
        |place, step| place + Vector3::new(step[0], step[1], step[2]),
    )
    .state
}

/// Plane of the marks measured from, least squares: a point and the normal.
fn plane_of(sights: &[Sight]) -> (Point3<f64>, Vector3<f64>) {
    let middle = sights.iter().fold(Vector3::zeros(), |sum, s| sum + s.anchor.coords) / sights.len() as f64;
    let scatter = sights.iter().fold(Matrix3::zeros(), |sum, s| {
        let q = s.anchor.coords - middle;
        sum + q * q.transpose()
    });
    let eigen = scatter.symmetric_eigen();
    (Point3::from(middle), eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned())
}

/// How well a placed mark is known, mm; and, where a straight-line estimate no longer holds because
/// the mark lies in the plane of its anchors, how well instead.
fn certainty(sights: &[Sight], place: &Point3<f64>) -> (f64, Option<f64>) {
    let jacobian = evaluate(sights, place).jacobian;
    let normal: Matrix3<f64> = (jacobian.transpose() * jacobian).fixed_view::<3, 3>(0, 0).into_owned();
    let least = normal.symmetric_eigen().eigenvalues.min().max(0.0);
    let worst_variance = 1.0 / least.max(1e-300);
    let n = sights.len() as f64;
    let distance = sights.iter().map(|s| s.distance_mm).sum::<f64>() / n;
    let sigma = sights.iter().map(|s| s.sigma_mm).sum::<f64>() / n;
    // Moving by s square to a tape of length d changes it by s^2 / 2d: when that is as much as
    // the tape's sigma, slopes no longer tell how far the mark may be off.
    let weak = worst_variance > distance * sigma / 3.0;
    (worst_variance.sqrt().min(distance), weak.then(|| (2.0 * distance * sigma).sqrt()))
}

/// Triples of sights with marks not on one line, those that span the widest triangle first.
fn triples(sights: &[Sight]) -> Vec<[usize; 3]> {
    let n = sights.len().min(24);
    let mut found = Vec::new();
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                let (p, q, r) = (sights[a].anchor, sights[b].anchor, sights[c].anchor);
                let area = (q - p).cross(&(r - p)).norm();
                let longest = (q - p).norm().max((r - p).norm()).max((r - q).norm());
                // Thinner than a hundredth of its length, a triangle is a line to a tape.
                if area > 0.01 * longest * longest {
                    found.push((area, [a, b, c]));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(MOST_TRIPLES).map(|(_, triple)| triple).collect()
}

/// Two distances that cannot meet, with the shortfall.
fn apart(graph: &Graph, node: usize, sights: &[Sight]) -> Option<NetworkError> {
    let (mut why, mut again) = (Vec::new(), Vec::new());
    for (i, a) in sights.iter().enumerate() {
        for b in &sights[i + 1..] {
            let between = (a.anchor - b.anchor).norm();
            let (from_a, from_b) = (graph.reading_name(a.edge), graph.reading_name(b.edge));
            let marks = graph.list(&[a.node, b.node]);
            let sum = a.distance_mm + b.distance_mm;
            let short = between - sum;
            let over = (a.distance_mm - b.distance_mm).abs() - between;
            let allowed = IMPOSSIBLE_SIGMAS * a.sigma_mm.hypot(b.sigma_mm);
            if short > allowed {
                why.push(format!(
                    "{from_a} and {from_b} together reach {sum:.1} mm, {short:.1} mm short of the {between:.1} mm between {marks}"
                ));
            } else if over > allowed {
                why.push(format!(
                    "{from_a} and {from_b} differ by {over:.1} mm more than the {between:.1} mm between {marks}"
                ));
            } else {
                continue;
            }
            for name in [from_a, from_b] {
                if !again.contains(&name) {
                    again.push(name);
                }
            }
        }
    }
    let mark = graph.nodes[node].name.clone();
    (!why.is_empty()).then(|| NetworkError::Impossible { mark, why: why.join(", "), again: listed(again) })
}

/// What a mark lacks.
fn too_few(
    graph: &Graph,
    active: &[bool],
    places: &[Option<(Point3<f64>, f64)>],
    node: usize,
) -> NetworkError {
    let (mut standing, mut waiting) = (Vec::new(), Vec::new());
    for (i, edge) in graph.edges.iter().enumerate() {
        if active[i]
            && let Some(other) = edge.other(node)
        {
            let list = if places[other].is_some() { &mut standing } else { &mut waiting };
            if !list.contains(&other) {
                list.push(other);
            }
        }
    }
    let mut need = match standing.as_slice() {
        [] => {
            "has no distance to a placed mark and needs three, from marks that are not on one line".to_owned()
        }
        [one] => format!(
            "has a distance to {} only; it needs two more, from marks off each other's line",
            graph.nodes[*one].name
        ),
        [_, _] => {
            format!("needs one more distance, best from a mark off the line of {}", graph.list(&standing))
        }
        _ => format!(
            "needs one more distance, from a mark off the line on which {} lie",
            graph.list(&standing)
        ),
    };
    if !waiting.is_empty() {
        need += &format!(
            " ({} {} not placed either)",
            graph.list(&waiting),
            if waiting.len() == 1 { "is" } else { "are" }
        );
    }
    NetworkError::UnderDetermined { mark: graph.nodes[node].name.clone(), need }
}
