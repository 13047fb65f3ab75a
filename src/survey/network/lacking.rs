//! What a mark lacks, or what about its lengths cannot be.

use super::NetworkError;
use super::network_graph::{Graph, listed};
use super::null_space::Loose;
use super::sight::{Place, Sight};

/// Lengths that miss by more than this many sigma are impossible, not unlucky.
pub(super) const IMPOSSIBLE_SIGMAS: f64 = 4.0;

/// Two distances that cannot meet, with the shortfall.
pub(super) fn apart(graph: &Graph, node: usize, sights: &[Sight]) -> Option<NetworkError> {
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

/// A mark that readings of several kinds leave free to move.
pub(super) fn could_move(graph: &Graph, loose: &Loose) -> NetworkError {
    let mut need = "could still move without any reading noticing".to_owned();
    if loose.take.is_empty() {
        need += "; add a distance to it from a further mark";
    } else {
        need += &format!("; {} would hold it", taken(graph, &loose.take));
    }
    NetworkError::UnderDetermined { mark: graph.nodes[loose.mark].name.clone(), need }
}

/// `the distance D-P`, `the distances C-P and D-P`.
fn taken(graph: &Graph, take: &[(usize, usize)]) -> String {
    let names = take.iter().map(|(mark, from)| {
        let name = |node: usize| graph.nodes[node].name.as_str();
        format!("{}-{}", name(*from), name(*mark))
    });
    format!("the distance{} {}", if take.len() > 1 { "s" } else { "" }, listed(names.collect()))
}

/// What a mark lacks; `take` are distances that would hold it.
pub(super) fn too_few(
    graph: &Graph,
    active: &[bool],
    places: &[Option<Place>],
    node: usize,
    take: &[(usize, usize)],
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
    if !take.is_empty() {
        need += &format!("; {} would do", taken(graph, take));
    }
    if !waiting.is_empty() {
        need += &format!(
            " ({} {} not placed either)",
            graph.list(&waiting),
            if waiting.len() == 1 { "is" } else { "are" }
        );
    }
    NetworkError::UnderDetermined { mark: graph.nodes[node].name.clone(), need }
}
