//! All marks at once by weighted least squares.

use nalgebra::{DMatrix, Point3, Vector3};

use super::network_graph::Graph;
use crate::survey::levenberg::{Evaluation, Minimum, minimise};

/// The adjustment: which marks may move, and what each component of the residuals is.
pub(super) struct Adjustment {
    /// First of three columns of each mark; `None` for a mark right by definition.
    pub columns: Vec<Option<usize>>,
    /// The minimum; its state is every mark's place.
    pub minimum: Minimum<Vec<Point3<f64>>>,
    /// For each component: the reading, or `None` for a coordinate known beforehand.
    pub readings: Vec<Option<usize>>,
}

/// Adjusts every mark from `start`, with the readings that are `active`. Known coordinates with a
/// sigma take part as readings of their own.
pub(super) fn adjust(graph: &Graph, active: &[bool], start: Vec<Point3<f64>>) -> Adjustment {
    let mut columns = Vec::with_capacity(graph.nodes.len());
    let mut count = 0;
    for node in &graph.nodes {
        let free = !matches!(node.known, Some((_, sigma)) if sigma == 0.0);
        columns.push(free.then_some(count));
        count += if free { 3 } else { 0 };
    }
    let mut readings: Vec<Option<usize>> =
        (0..graph.edges.len()).filter(|edge| active[*edge]).map(Some).collect();
    let known: Vec<(usize, Point3<f64>, f64)> = graph
        .nodes
        .iter()
        .enumerate()
        .filter_map(|(n, node)| node.known.map(|(place, sigma)| (n, place, sigma)))
        .filter(|(_, _, sigma)| *sigma > 0.0)
        .collect();
    readings.extend(std::iter::repeat_n(None, 3 * known.len()));
    let evaluate = |places: &Vec<Point3<f64>>| {
        let mut builder = Evaluation::builder(count);
        let mut row = vec![0.0; count];
        for (i, edge) in graph.edges.iter().enumerate().filter(|(i, _)| active[*i]) {
            row.fill(0.0);
            let between = places[edge.mark] - places[edge.from];
            let away = between.try_normalize(1e-300).unwrap_or_else(Vector3::x);
            for (node, sign) in [(edge.mark, 1.0), (edge.from, -1.0)] {
                if let Some(column) = columns[node] {
                    for axis in 0..3 {
                        row[column + axis] = sign * away[axis];
                    }
                }
            }
            builder.reading(i, edge.sigma_mm, between.norm() - edge.distance_mm, away, &row);
        }
        for (node, place, sigma) in &known {
            for axis in 0..3 {
                row.fill(0.0);
                if let Some(column) = columns[*node] {
                    row[column + axis] = 1.0;
                }
                builder.known(*sigma, places[*node][axis] - place[axis], &row);
            }
        }
        builder.done()
    };
    let step = |places: &Vec<Point3<f64>>, change: &nalgebra::DVector<f64>| {
        let moved = places.iter().zip(&columns).map(|(place, column)| match column {
            Some(c) => place + Vector3::new(change[*c], change[c + 1], change[c + 2]),
            None => *place,
        });
        moved.collect()
    };
    let minimum = minimise(start, evaluate, step);
    Adjustment { columns, minimum, readings }
}

impl Adjustment {
    /// Covariance over every mark, three rows each, from that of the free columns.
    pub fn spread_out(&self, cofactor: &DMatrix<f64>) -> DMatrix<f64> {
        let n = self.columns.len();
        DMatrix::from_fn(3 * n, 3 * n, |i, j| match (self.columns[i / 3], self.columns[j / 3]) {
            (Some(a), Some(b)) => cofactor[(a + i % 3, b + j % 3)],
            _ => 0.0,
        })
    }

    /// The mark that could move most without any reading noticing.
    pub fn loosest(&self) -> Option<usize> {
        let jacobian = &self.minimum.evaluation.jacobian;
        let eigen = (jacobian.transpose() * jacobian).symmetric_eigen();
        let direction = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
        let share = |column: usize| direction.rows(column, 3).norm();
        (0..self.columns.len())
            .filter_map(|node| self.columns[node].map(|column| (node, share(column))))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(node, _)| node)
    }
}
