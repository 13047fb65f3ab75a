//! The network by number: marks and readings without names.

use nalgebra::{Point3, Vector3};

use super::{How, KnownMark, NetworkError, NetworkReading};
use crate::space::Direction;

/// A mark: its name and what is known of it beforehand.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub name: String,
    /// Place and sigma when known; sigma 0 is right by definition.
    pub known: Option<(Point3<f64>, f64)>,
    /// Diameter of the round thing whose middle it is, as first read, mm.
    pub diameter_mm: Option<f64>,
    /// Whether a reading says anything of its place; not when only its diameter was taken.
    pub placed: bool,
}

/// What a reading says, by number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Tie {
    /// Straight to `from`; plus this many halves of the mark's diameter.
    Straight { from: usize, halves: f64 },
    /// Square to the plane through three marks.
    Square { panel: [usize; 3] },
    /// Difference along an axis, from a mark or from zero.
    Offset { from: Option<usize>, axis: Vector3<f64> },
    /// Along the line `from` to `to`, and on it.
    Edge { from: usize, to: usize },
    /// No difference in x and y.
    Plumb { from: usize },
    /// The mark's diameter times a factor, plus so much.
    Round { factor: f64, plus_mm: f64 },
}

/// A reading.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub mark: usize,
    pub tie: Tie,
    /// Hook added.
    pub distance_mm: f64,
    /// As read.
    pub read_mm: f64,
    pub sigma_mm: f64,
    pub side: Option<Direction>,
}

impl Edge {
    /// The other end of a plain distance, when `node` is one.
    pub fn other(&self, node: usize) -> Option<usize> {
        let Tie::Straight { from, halves: 0.0 } = self.tie else { return None };
        if self.mark == node {
            Some(from)
        } else if from == node {
            Some(self.mark)
        } else {
            None
        }
    }

    /// The marks that it was measured from.
    pub fn from(&self) -> Vec<usize> {
        match self.tie {
            Tie::Straight { from, .. } | Tie::Plumb { from } => vec![from],
            Tie::Square { panel } => panel.to_vec(),
            Tie::Offset { from, .. } => from.into_iter().collect(),
            Tie::Edge { from, to } => vec![from, to],
            Tie::Round { .. } => Vec::new(),
        }
    }

    /// Every mark whose place it speaks of.
    pub fn nodes(&self) -> Vec<usize> {
        if let Tie::Round { .. } = self.tie {
            return Vec::new();
        }
        let mut nodes = self.from();
        nodes.push(self.mark);
        nodes
    }

    /// Whether it is a plain distance between two marks.
    pub fn plain(&self) -> bool {
        matches!(self.tie, Tie::Straight { halves: 0.0, .. })
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
    pub fn build(known: &[KnownMark], readings: &[NetworkReading]) -> Result<Graph, Vec<NetworkError>> {
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
            let known = Some((mark.position, mark.sigma_mm));
            nodes.push(Node { name: mark.name.clone(), known, diameter_mm: None, placed: true });
        }
        for reading in readings {
            if !nodes.iter().any(|node| node.name == reading.mark) {
                let name = reading.mark.clone();
                nodes.push(Node { name, known: None, diameter_mm: None, placed: false });
            }
        }
        let mut edges = Vec::new();
        for reading in readings {
            match edge(&nodes, reading) {
                Ok(edge) => {
                    if let Tie::Round { factor, plus_mm } = edge.tie {
                        let read = (edge.distance_mm - plus_mm) / factor;
                        nodes[edge.mark].diameter_mm.get_or_insert(read);
                    }
                    edges.push(edge);
                }
                Err((mark, what)) => bad(&mark, what),
            }
        }
        for edge in &edges {
            for node in edge.nodes() {
                nodes[node].placed = true;
            }
            if let Tie::Straight { halves, .. } = edge.tie
                && halves != 0.0
                && nodes[edge.mark].diameter_mm.is_none()
            {
                let what = "a distance to its near or far side needs its diameter; take it across (`diameter`) or round it (`wrap`)";
                bad(&nodes[edge.mark].name, what.to_owned());
            }
        }
        if faults.is_empty() { Ok(Graph { nodes, edges }) } else { Err(faults) }
    }

    /// `A-P`: from which marks to which.
    pub fn reading_name(&self, edge: usize) -> String {
        let Edge { mark, tie, .. } = self.edges[edge];
        let name = |node: usize| self.nodes[node].name.as_str();
        match tie {
            Tie::Straight { from, halves } => {
                let to = ["the near side of ", "", "the far side of "][(halves + 1.0) as usize];
                format!("{}-{to}{}", name(from), name(mark))
            }
            Tie::Square { panel: [a, b, c] } => {
                format!("{} square to {}+{}+{}", name(mark), name(a), name(b), name(c))
            }
            Tie::Offset { from, axis } => {
                let along = Direction::nearest(&axis).word();
                format!("{} {along} from {}", name(mark), from.map_or("zero", name))
            }
            Tie::Edge { from, to } => format!("{} on the edge {}-{}", name(mark), name(from), name(to)),
            Tie::Plumb { from } => format!("{} plumb with {}", name(mark), name(from)),
            Tie::Round { factor, .. } => {
                let what = if factor == 1.0 { "diameter" } else { "wrap" };
                format!("{what} of {}", name(mark))
            }
        }
    }

    /// Names of marks, as a person lists them: `A, B and C`.
    pub fn list(&self, nodes: &[usize]) -> String {
        listed(nodes.iter().map(|n| self.nodes[*n].name.clone()).collect())
    }
}

fn edge(nodes: &[Node], reading: &NetworkReading) -> Result<Edge, (String, String)> {
    let bad = |what: &str| Err((reading.mark.clone(), what.to_owned()));
    let find = |name: &String| {
        let found = nodes.iter().position(|node| node.name == *name);
        found.ok_or_else(|| (name.clone(), "it has neither coordinates nor distances of its own".to_owned()))
    };
    let mark = find(&reading.mark)?;
    let axis = |along: &Direction| along.unit().into_inner();
    let tie = match &reading.how {
        How::Straight { from } => Tie::Straight { from: find(from)?, halves: 0.0 },
        How::Near { from } => Tie::Straight { from: find(from)?, halves: -1.0 },
        How::Far { from } => Tie::Straight { from: find(from)?, halves: 1.0 },
        How::Square { panel: [a, b, c] } => Tie::Square { panel: [find(a)?, find(b)?, find(c)?] },
        How::Offset { from, along } => {
            Tie::Offset { from: from.as_ref().map(find).transpose()?, axis: axis(along) }
        }
        How::Edge { from, to } => Tie::Edge { from: find(from)?, to: find(to)? },
        How::Plumb { from } => Tie::Plumb { from: find(from)? },
        How::Level { from } => Tie::Offset { from: Some(find(from)?), axis: axis(&Direction::Up) },
        How::Diameter => Tie::Round { factor: 1.0, plus_mm: 0.0 },
        How::Wrap { thickness_mm } => {
            let turn = std::f64::consts::PI;
            if !thickness_mm.is_finite() || *thickness_mm < 0.0 {
                return bad("the tape's thickness must be zero or above");
            }
            Tie::Round { factor: turn, plus_mm: turn * thickness_mm }
        }
    };
    let edge = Edge {
        mark,
        tie,
        distance_mm: reading.value_mm + reading.hook_mm,
        read_mm: reading.value_mm,
        sigma_mm: reading.sigma_mm,
        side: reading.side,
    };
    let from = edge.from();
    if from.contains(&mark) {
        return bad("a distance runs from it to itself; name the other mark");
    }
    if (1..from.len()).any(|k| from[..k].contains(&from[k])) {
        return bad("a panel or an edge names one mark twice; name different ones");
    }
    let least = match reading.how {
        // Where below zero says the other side, or on the panel itself, anything goes.
        How::Offset { .. } | How::Level { .. } | How::Plumb { .. } | How::Edge { .. } => f64::NEG_INFINITY,
        How::Square { .. } => -f64::MIN_POSITIVE,
        _ => 0.0,
    };
    let fine = |x: f64| x.is_finite() && x > least;
    let sigma_fine = reading.sigma_mm.is_finite() && reading.sigma_mm > 0.0;
    if !fine(edge.distance_mm) || !fine(reading.value_mm) || !sigma_fine {
        return bad("distances and their sigmas must be above zero");
    }
    if let Tie::Round { plus_mm, .. } = tie
        && edge.distance_mm <= plus_mm
    {
        return bad("its wrap is shorter than the tape's own thickness makes it; read it again");
    }
    Ok(edge)
}

/// `A, B and C`.
pub(super) fn listed(names: Vec<String>) -> String {
    match names.as_slice() {
        [] => "nothing".to_owned(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
