//! The network by number: marks and readings without names.

use nalgebra::Point3;

use super::{KnownMark, NetworkError, TapeReading};
use crate::space::Direction;

/// A mark: its name and what is known of it beforehand.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub name: String,
    /// Place and sigma when known; sigma 0 is right by definition.
    pub known: Option<(Point3<f64>, f64)>,
}

/// A taped distance between two marks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub mark: usize,
    pub from: usize,
    pub distance_mm: f64,
    pub sigma_mm: f64,
    pub side: Option<Direction>,
}

impl Edge {
    /// The other end, when `node` is one.
    pub fn other(&self, node: usize) -> Option<usize> {
        if self.mark == node {
            Some(self.from)
        } else if self.from == node {
            Some(self.mark)
        } else {
            None
        }
    }
}

/// The whole network.
#[derive(Clone, Debug)]
pub(super) struct Graph {
    /// Known marks first, in the order given; then taped marks in the order met.
    pub nodes: Vec<Node>,
    /// One a reading, in the order given.
    pub edges: Vec<Edge>,
}

impl Graph {
    /// Numbers marks and readings; refuses what is none.
    pub fn build(known: &[KnownMark], tape: &[TapeReading]) -> Result<Graph, Vec<NetworkError>> {
        let mut faults = Vec::new();
        let mut bad = |mark: &str, what: String| {
            faults.push(NetworkError::BadInput { mark: mark.to_owned(), what });
        };
        let mut nodes: Vec<Node> = Vec::new();
        for mark in known {
            if nodes.iter().any(|node| node.name == mark.name) {
                bad(&mark.name, "known twice; keep one".to_owned());
            }
            if !mark.position.iter().all(|x| x.is_finite())
                || !mark.sigma_mm.is_finite()
                || mark.sigma_mm < 0.0
            {
                bad(&mark.name, "its place and sigma must be finite, sigma zero or above".to_owned());
            }
            nodes.push(Node { name: mark.name.clone(), known: Some((mark.position, mark.sigma_mm)) });
        }
        for reading in tape {
            if !nodes.iter().any(|node| node.name == reading.mark) {
                nodes.push(Node { name: reading.mark.clone(), known: None });
            }
        }
        let find = |name: &str| nodes.iter().position(|node| node.name == name);
        let mut edges = Vec::new();
        for reading in tape {
            let (Some(mark), Some(from)) = (find(&reading.mark), find(&reading.from)) else {
                bad(&reading.from, "it has neither coordinates nor distances of its own".to_owned());
                continue;
            };
            if mark == from {
                bad(&reading.mark, "a distance runs from it to itself; name the other mark".to_owned());
            }
            let above_zero = |x: f64| x.is_finite() && x > 0.0;
            if !above_zero(reading.distance_mm) || !above_zero(reading.sigma_mm) {
                bad(&reading.mark, "distances and their sigmas must be above zero".to_owned());
            }
            let (distance_mm, sigma_mm, side) = (reading.distance_mm, reading.sigma_mm, reading.side);
            edges.push(Edge { mark, from, distance_mm, sigma_mm, side });
        }
        if faults.is_empty() { Ok(Graph { nodes, edges }) } else { Err(faults) }
    }

    /// `A-P`: from which mark to which.
    pub fn reading_name(&self, edge: usize) -> String {
        let Edge { mark, from, .. } = self.edges[edge];
        format!("{}-{}", self.nodes[from].name, self.nodes[mark].name)
    }

    /// Names of marks, as a person lists them: `A, B and C`.
    pub fn list(&self, nodes: &[usize]) -> String {
        listed(nodes.iter().map(|n| self.nodes[*n].name.clone()).collect())
    }
}

/// `A, B and C`.
pub(super) fn listed(names: Vec<String>) -> String {
    match names.as_slice() {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
