#![allow(clippy::unwrap_used)]

use nalgebra::Point3;
use proptest::prelude::*;

use super::PointTree;

/// Small whole numbers: many points at one place, many at one distance.
fn points() -> impl Strategy<Value = Vec<Point3<f64>>> {
    let coordinate = -6i8..7;
    prop::collection::vec((coordinate.clone(), coordinate.clone(), coordinate), 0..300).prop_map(|all| {
        all.into_iter().map(|(x, y, z)| Point3::new(f64::from(x), f64::from(y), f64::from(z) * 0.5)).collect()
    })
}

/// All points by distance, then number.
fn by_distance(points: &[Point3<f64>], at: &Point3<f64>) -> Vec<(f64, u32)> {
    let mut all: Vec<(f64, u32)> =
        points.iter().zip(0..).map(|(p, k)| ((p - at).norm_squared(), k)).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    all
}

proptest! {
    #[test]
    fn the_tree_finds_what_looking_at_every_point_finds(
        points in points(), x in -8.0..8.0f64, y in -8.0..8.0f64, count in 1usize..20, radius in 0.0..9.0f64
    ) {
        let tree = PointTree::new(&points);
        for at in [Point3::new(x, y, 0.5), Point3::new(x.round(), y.round(), 1.0)] {
            let mut all = by_distance(&points, &at);
            all.retain(|(d, _)| *d <= radius * radius);
            let nearest = tree.nearest(&at, radius).map(|n| (n.distance_sq, n.index));
            // A bound that is met exactly may be left out by rounding of its square.
            if all.first().is_none_or(|(d, _)| *d < radius * radius * 0.999) {
                prop_assert_eq!(nearest, all.first().copied());
            }
            let (alone, others_sq) = tree.nearest_and_others(&at, radius);
            prop_assert_eq!(alone.map(|n| (n.distance_sq, n.index)), nearest);
            // What is not told is at least so far off; a second within reach is told exactly.
            let second = all.get(1).map_or(f64::INFINITY, |(d, _)| *d);
            prop_assert_eq!(others_sq, second.min(radius * radius));
            let mut several = Vec::new();
            tree.several(&at, count, radius, &mut several);
            let several: Vec<(f64, u32)> = several.iter().map(|n| (n.distance_sq, n.index)).collect();
            prop_assert_eq!(&several[..], &all[..count.min(all.len())]);
            let mut within = Vec::new();
            tree.within(&at, radius, usize::MAX, &mut within);
            within.sort_unstable();
            let mut numbers: Vec<u32> = all.iter().map(|(_, k)| *k).collect();
            numbers.sort_unstable();
            prop_assert_eq!(within, numbers);
        }
    }
}
