//! The convex outline of marks in a plane.

use nalgebra::{Point2, Vector2};

/// The convex hull of points, counter-clockwise; fewer than three corners when they lie on one line.
/// Monotone chain, n log n.
pub(super) fn convex_outline(mut points: Vec<Point2<f64>>) -> Vec<Point2<f64>> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points.dedup();
    if points.len() < 3 {
        return points;
    }
    let mut hull: Vec<Point2<f64>> = Vec::with_capacity(2 * points.len());
    let turns_left = |a: &Point2<f64>, b: &Point2<f64>, c: &Point2<f64>| (b - a).perp(&(c - b)) > 0.0;
    let mut add = |point: Point2<f64>, floor: usize| {
        while hull.len() >= floor + 2 && !turns_left(&hull[hull.len() - 2], &hull[hull.len() - 1], &point) {
            hull.pop();
        }
        hull.push(point);
        hull.len()
    };
    let mut lower = 0;
    for point in &points {
        lower = add(*point, 0);
    }
    for point in points.iter().rev().skip(1) {
        add(*point, lower - 1);
    }
    hull.pop();
    hull
}

/// A convex outline with every edge moved outward by `margin_mm`; corners are cut off square to
/// their middle, so that an acute one does not run far out.
pub(super) fn grown(outline: &[Point2<f64>], margin_mm: f64) -> Vec<Point2<f64>> {
    if margin_mm <= 0.0 || outline.len() < 3 {
        return outline.to_vec();
    }
    let count = outline.len();
    let mut moved = Vec::with_capacity(2 * count);
    for at in 0..count {
        let (from, to) = (outline[at], outline[(at + 1) % count]);
        let along = (to - from).normalize();
        let outward = Vector2::new(along.y, -along.x) * margin_mm;
        moved.push(from + outward);
        moved.push(to + outward);
    }
    convex_outline(moved)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn area(outline: &[Point2<f64>]) -> f64 {
        let count = outline.len();
        (0..count).map(|at| outline[at].coords.perp(&outline[(at + 1) % count].coords)).sum::<f64>() / 2.0
    }

    #[test]
    fn marks_inside_and_on_an_edge_are_no_corners() {
        let points = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0), (2.0, 0.0), (1.0, 1.0), (4.0, 3.0)];
        let outline = convex_outline(points.map(|(x, y)| Point2::new(x, y)).to_vec());
        assert_eq!(outline.len(), 4);
        assert_eq!(area(&outline), 12.0, "counter-clockwise, so positive");
    }

    #[test]
    fn a_margin_moves_every_edge() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(|(x, y)| Point2::new(x, y));
        // 10 x 10, four strips of 10 x 2, four cut corners of 2 x 2 / 2.
        assert!((area(&grown(&square, 2.0)) - (100.0 + 80.0 + 8.0)).abs() < 1e-9);
        assert_eq!(grown(&square, 0.0).len(), 4);
    }

    #[test]
    fn marks_on_a_line_give_no_area() {
        let line = convex_outline((0..5).map(|at| Point2::new(at as f64, 2.0 * at as f64)).collect());
        assert!(line.len() < 3, "{line:?}");
    }
}
