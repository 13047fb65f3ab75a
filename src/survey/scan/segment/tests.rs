#![allow(clippy::unwrap_used)]

use nalgebra::{Point3, Vector3};
use rayon::ThreadPoolBuilder;

use super::super::test_bay::{Patch, bay_scan, patches};
use super::super::{NormalOptions, PointCloud, PointTree, ScanError, VoxelGrid, estimate_normals};
use super::{FeatureShape, SegmentOptions, Segmented, segment};

fn prepared(points: Vec<Point3<f64>>, voxel_mm: f64) -> (PointCloud, PointTree) {
    let mut grid = VoxelGrid::new(voxel_mm).unwrap();
    grid.add(&PointCloud::new(points)).unwrap();
    let mut cloud = grid.finish();
    let tree = PointTree::new(&cloud.points);
    cloud.normals = estimate_normals(&cloud.points, &tree, &NormalOptions::default()).unwrap().normals;
    (cloud, tree)
}

fn bay() -> (PointCloud, PointTree) {
    prepared(bay_scan(500_000, 0.4, 11).into_iter().map(|(p, _)| p).collect(), 6.0)
}

fn found(cloud: &PointCloud, tree: &PointTree, seed: u64) -> Segmented {
    segment(cloud, tree, &SegmentOptions { seed, least_points: 150, ..SegmentOptions::default() }).unwrap()
}

/// Whether a feature is this patch of the bay, to within 0.5 mm and a third of a degree.
fn is_patch(shape: &FeatureShape, patch: &Patch) -> bool {
    let same = |a: &Vector3<f64>, b: &Vector3<f64>| a.cross(b).norm() < 0.006;
    match (shape, patch) {
        (FeatureShape::Plane(fit), Patch::Flat { corner, edges: [a, b] }) => {
            let middle = corner + (a + b) / 2.0;
            same(&fit.normal, &a.cross(b).normalize())
                && fit.distance_mm(&middle).abs() < 0.5
                && (fit.point - middle).norm() < 0.5 * (a.norm() + b.norm())
        }
        (FeatureShape::Cylinder(fit), Patch::Round { from, along, radius_mm, .. }) => {
            let middle = from + along / 2.0;
            same(&fit.direction, &along.normalize())
                && (fit.radius_mm - radius_mm).abs() < 0.5
                && (middle - fit.point).cross(&fit.direction).norm() < 0.5
        }
        (FeatureShape::Sphere(fit), Patch::Ball { center, radius_mm }) => {
            (fit.center - center).norm() < 0.5 && (fit.radius_mm - radius_mm).abs() < 0.5
        }
        _ => false,
    }
}

#[test]
fn every_surface_of_the_bay_is_found_where_it_is() {
    let (cloud, tree) = bay();
    let found = found(&cloud, &tree, 1);
    for (number, patch) in patches().iter().enumerate() {
        let count = found.features.iter().filter(|feature| is_patch(&feature.shape, patch)).count();
        assert_eq!(count, 1, "patch {number}, {patch:?}");
    }
    assert_eq!(found.features.len(), patches().len());
    // Each point belongs to one feature or to what is left.
    let mut all: Vec<u32> = found.features.iter().flat_map(|f| f.points.iter().copied()).collect();
    all.extend(&found.left);
    all.sort_unstable();
    assert_eq!(all, (0..cloud.points.len() as u32).collect::<Vec<u32>>());
    assert!(
        found.left.len() * 10 < cloud.points.len(),
        "{} of {} left",
        found.left.len(),
        cloud.points.len()
    );
}

#[test]
fn same_seed_same_features_at_any_number_of_threads() {
    let (cloud, tree) = prepared(bay_scan(150_000, 0.4, 12).into_iter().map(|(p, _)| p).collect(), 10.0);
    let at = |threads: usize| {
        ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(|| found(&cloud, &tree, 7))
    };
    assert!(at(1) == at(3));
}

#[test]
fn scattered_points_hold_no_feature() {
    let mut dice = super::super::test_bay::Dice::new(2);
    let points: Vec<Point3<f64>> =
        (0..20_000).map(|_| Point3::new(dice.uniform(), dice.uniform(), dice.uniform()) * 500.0).collect();
    let (cloud, tree) = prepared(points, 2.0);
    let options = SegmentOptions { tolerance_mm: Some(1.0), ..SegmentOptions::default() };
    let found = segment(&cloud, &tree, &options).unwrap();
    assert_eq!(
        found.features.len(),
        0,
        "{:?}",
        found.features.iter().map(|f| f.points.len()).collect::<Vec<_>>()
    );
    assert_eq!(found.left.len(), cloud.points.len());
}

#[test]
fn two_plates_of_one_plane_are_two_features() {
    let plate = |at: f64| {
        (0..3600).map(move |k| Point3::new(at + f64::from(k % 60) * 2.0, f64::from(k / 60) * 2.0, 5.0))
    };
    let (cloud, tree) = prepared(plate(0.0).chain(plate(300.0)).collect(), 1.0);
    let options = SegmentOptions { tolerance_mm: Some(0.5), ..SegmentOptions::default() };
    let found = segment(&cloud, &tree, &options).unwrap();
    let sizes: Vec<usize> = found.features.iter().map(|f| f.points.len()).collect();
    assert_eq!(sizes, [3600, 3600]);
}

#[test]
fn options_that_contradict_themselves_are_refused() {
    let (cloud, tree) = prepared(bay_scan(3000, 1.0, 1).into_iter().map(|(p, _)| p).collect(), 20.0);
    for options in [
        SegmentOptions { tolerance_mm: Some(-1.0), ..SegmentOptions::default() },
        SegmentOptions { radius_mm: [50.0, 20.0], ..SegmentOptions::default() },
        SegmentOptions { angle_rad: 2.0, ..SegmentOptions::default() },
        SegmentOptions { least_points: 2, ..SegmentOptions::default() },
    ] {
        assert!(matches!(segment(&cloud, &tree, &options), Err(ScanError::BadOption { .. })), "{options:?}");
    }
    let bare = PointCloud::new(cloud.points.clone());
    assert!(matches!(segment(&bare, &tree, &SegmentOptions::default()), Err(ScanError::BadOption { .. })));
    let many = SegmentOptions { least_points: 100_000, ..SegmentOptions::default() };
    assert!(matches!(segment(&cloud, &tree, &many), Err(ScanError::TooFew { .. })));
}
