#![allow(clippy::unwrap_used)]

use nalgebra::{Point3, Vector3};
use proptest::prelude::*;
use rayon::ThreadPoolBuilder;

use super::test_bay::bay_scan;
use super::{
    Crop, NormalOptions, OutlierRule, PointCloud, PointTree, ScanError, VoxelGrid, crop, estimate_normals,
    face_neighbours, face_viewpoint, guess_units, without_outliers,
};
use crate::space::{Bounds, LengthUnit};

fn thinned(points: &[Point3<f64>], voxel_mm: f64) -> PointCloud {
    let mut grid = VoxelGrid::new(voxel_mm).unwrap();
    grid.add(&PointCloud::new(points.to_vec())).unwrap();
    grid.finish()
}

fn any_points() -> impl Strategy<Value = Vec<Point3<f64>>> {
    prop::collection::vec(prop::array::uniform3(-50.0..50.0f64), 1..400)
        .prop_map(|all| all.into_iter().map(Point3::from).collect())
}

proptest! {
    #[test]
    fn each_cell_gives_the_mean_of_its_points(points in any_points(), voxel in 0.7..30.0f64) {
        let thin = thinned(&points, voxel);
        let cell = |p: &Point3<f64>| [0, 1, 2].map(|k| (p[k] / voxel).floor() as i64);
        let mut cells: std::collections::BTreeMap<[i64; 3], (Vector3<f64>, f64)> = Default::default();
        for point in &points {
            let entry = cells.entry(cell(point)).or_insert((Vector3::zeros(), 0.0));
            entry.0 += point.coords;
            entry.1 += 1.0;
        }
        prop_assert_eq!(thin.points.len(), cells.len());
        let mut means: Vec<Vector3<f64>> = cells.values().map(|(sum, count)| sum / *count).collect();
        for point in &thin.points {
            let nearest = means.iter().position(|mean| (mean - point.coords).norm() < 1e-5 * voxel);
            prop_assert!(nearest.is_some(), "{} is no mean", point);
            means.swap_remove(nearest.unwrap());
        }
    }

    #[test]
    fn thinning_is_the_same_in_any_order(points in any_points(), voxel in 0.7..30.0f64) {
        let mut turned = points.clone();
        turned.reverse();
        // The first point only sets where numbers start; what is thinned does not change.
        prop_assert_eq!(thinned(&points, voxel), thinned(&turned, voxel));
    }

    #[test]
    fn a_crop_and_its_opposite_share_a_cloud(points in any_points(), low in prop::array::uniform3(-40.0..0.0f64), size in 1.0..60.0f64) {
        let cloud = PointCloud::new(points);
        let min = Point3::from(low);
        let bounds = Bounds { min, max: min + Vector3::repeat(size) };
        let (inside, outside) = (crop(&cloud, &[Crop::InBox(bounds)]), crop(&cloud, &[Crop::OutsideBox(bounds)]));
        prop_assert_eq!(inside.points.len() + outside.points.len(), cloud.points.len());
        prop_assert!(inside.points.iter().all(|p| bounds.contains(p)));
        let sides = [Vector3::x_axis(), -Vector3::x_axis()];
        let halves = sides.map(|toward| crop(&cloud, &[Crop::HalfSpace { point: min, toward }]).points.len());
        prop_assert_eq!(halves[0] + halves[1], cloud.points.len());
    }
}

#[test]
fn the_same_bytes_at_one_thread_and_at_four() {
    let points: Vec<Point3<f64>> = bay_scan(60_000, 1.0, 3).into_iter().map(|(p, _)| p).collect();
    let work = || {
        let thin = thinned(&points, 8.0);
        let tree = PointTree::new(&thin.points);
        let normals = estimate_normals(&thin.points, &tree, &NormalOptions::default()).unwrap();
        let rule = OutlierRule::Distance { neighbours: 8, deviations: 1.0 };
        let kept = without_outliers(&thin.points, &tree, rule).unwrap();
        (thin, normals, kept)
    };
    let at = |threads| ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(work);
    assert!(at(1) == at(4));
}

#[test]
fn a_point_a_million_cells_away_is_refused_not_folded() {
    let mut grid = VoxelGrid::new(0.001).unwrap();
    let far = PointCloud::new(vec![Point3::origin(), Point3::new(0.0, 2000.0, 0.0)]);
    assert!(matches!(grid.add(&far), Err(ScanError::TooFar { .. })));
    assert!(matches!(VoxelGrid::new(0.0), Err(ScanError::BadOption { .. })));
}

#[test]
fn normals_of_a_ball_point_at_its_middle_and_face_as_told() {
    let mut dice = super::test_bay::Dice::new(5);
    let points: Vec<Point3<f64>> =
        (0..3000).map(|_| Point3::from(dice.direction().into_inner() * 100.0)).collect();
    let tree = PointTree::new(&points);
    let found = estimate_normals(&points, &tree, &NormalOptions::default()).unwrap();
    for (normal, point) in found.normals.iter().zip(&points) {
        assert!(normal.dot(&point.coords).abs() > 99.0, "{normal} at {point}");
    }
    let mut out = found.normals.clone();
    face_neighbours(&points, &tree, &mut out, 8);
    assert!(out.iter().zip(&points).all(|(n, p)| n.dot(&p.coords) > 0.0));
    let mut inward = found.normals;
    face_viewpoint(&points, &mut inward, &Point3::origin());
    assert!(inward.iter().zip(&points).all(|(n, p)| n.dot(&p.coords) < 0.0));
}

#[test]
fn specks_in_the_air_go_and_the_surface_stays() {
    let mut points: Vec<Point3<f64>> =
        (0..2500).map(|k| Point3::new(f64::from(k % 50) * 2.0, f64::from(k / 50) * 2.0, 0.0)).collect();
    let specks = [[20.0, 20.0, 30.0], [60.0, 50.0, -25.0], [150.0, 50.0, 0.0]].map(Point3::from);
    points.extend(specks);
    let tree = PointTree::new(&points);
    for rule in [
        OutlierRule::Distance { neighbours: 8, deviations: 3.0 },
        OutlierRule::Count { radius_mm: 5.0, least: 4 },
    ] {
        let kept = without_outliers(&points, &tree, rule).unwrap();
        assert_eq!(kept, (0..2500).collect::<Vec<u32>>(), "{rule:?}");
    }
    let two = &points[..2];
    let rule = OutlierRule::Distance { neighbours: 8, deviations: 3.0 };
    assert!(matches!(without_outliers(two, &PointTree::new(two), rule), Err(ScanError::TooFew { .. })));
}

#[test]
fn units_are_guessed_from_the_size() {
    for (case, diagonal, want) in [
        ("a bay in millimetres", 2000.0, Some(LengthUnit::Millimetre)),
        ("a bay in metres", 2.0, Some(LengthUnit::Metre)),
        ("a bay in inches", 75.0, Some(LengthUnit::Inch)),
        ("a bracket in millimetres: 250 cm would be rarer", 250.0, Some(LengthUnit::Millimetre)),
        ("a town", 1e7, None),
        ("a point", 0.0, None),
    ] {
        assert_eq!(guess_units(diagonal).first().map(|guess| guess.unit), want, "{case}");
    }
}
