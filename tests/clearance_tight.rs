//! All of a surface that is too near: areas by closed forms.

use std::f64::consts::PI;
use std::sync::Arc;

use baywright::clearance::{IndexedShape, TightPatch, all_under, gap};
use baywright::solid::{Ball, Block, Cloud, Cylinder, Shape};
use baywright::space::{Length, Pose};
use nalgebra::{Isometry3, Point3, Vector3};

use crate::common::{Dice, torus_mesh};

fn index(shape: Shape) -> IndexedShape {
    IndexedShape::new(Arc::new(shape))
}

fn block(x: f64, y: f64, z: f64) -> IndexedShape {
    index(Shape::Block(Block { size_mm: Vector3::new(x, y, z) }))
}

fn under(a: &IndexedShape, b: &IndexedShape, pose: &Pose, limit: f64, resolution: f64) -> Vec<TightPatch> {
    all_under(a, b, pose, Length::from_mm(limit), Length::from_mm(resolution))
}

#[test]
fn areas_are_those_of_the_formulas() {
    let plate = block(200.0, 200.0, 4.0);
    let over = |z: f64| Pose::translation(0.0, 0.0, 2.0 + z);
    // A ball of radius 20 whose middle is 23 up, limit 5: the disc of radius sqrt(25² - 23²).
    let ball = index(Shape::Ball(Ball { radius_mm: 20.0 }));
    // A block of 60 x 40, 3 up, limit 5: its shadow, with a rim sqrt(5² - 3²) = 4 wide, rounded at the corners.
    let rim = 60.0 * 40.0 + 2.0 * 4.0 * (60.0 + 40.0) + PI * 16.0;
    for (case, moving, pose, want) in [
        ("ball", &ball, over(23.0), PI * (25.0f64.powi(2) - 23.0f64.powi(2))),
        ("block", &block(60.0, 40.0, 10.0), over(8.0), rim),
    ] {
        for resolution in [4.0, 1.0, 0.25] {
            let found = under(&plate, moving, &pose, 5.0, resolution);
            assert_eq!(found.len(), 1, "{case}");
            let off = (found[0].area_mm2 - want).abs();
            assert!(off <= found[0].doubtful_mm2, "{case} at {resolution}: {} of {want}", found[0].area_mm2);
            assert!(off < 0.1 * resolution * want, "{case} at {resolution}: {} of {want}", found[0].area_mm2);
            let least = gap(&plate, moving, &pose).gap.mm();
            let told = found[0].least.mm();
            assert!(told >= least - 1e-9 && told < least + resolution, "{case}: {told} {least}");
        }
    }
    assert!(under(&plate, &ball, &over(26.0), 5.0, 1.0).is_empty());
}

#[test]
fn two_feet_are_two_stretches_the_nearer_first() {
    let plate = block(200.0, 200.0, 4.0);
    let foot = |x: f64, up: f64| {
        let pose = Pose::translation(x, 0.0, up);
        baywright::solid::Piece::Block { solid_from_block: pose, half_mm: Vector3::new(10.0, 10.0, 10.0) }
    };
    let feet = IndexedShape::of_pieces(&[foot(-50.0, 15.0), foot(50.0, 14.0)]);
    let found = under(&plate, &feet, &Pose::identity(), 5.0, 1.0);
    assert_eq!(found.len(), 2);
    assert!((found[0].least.mm() - 2.0).abs() < 0.1 && found[0].bounds.min.x > 30.0, "{:?}", found[0].least);
    assert!((found[1].least.mm() - 3.0).abs() < 0.1 && found[1].bounds.max.x < -30.0, "{:?}", found[1].least);
}

#[test]
fn cells_are_under_the_limit_and_what_is_under_is_in_a_cell() {
    let mut dice = Dice::new(71);
    let mesh = torus_mesh(50.0, 15.0, 60, 30);
    let torus = index(Shape::Mesh(mesh.clone()));
    let bar = index(Shape::Cylinder(Cylinder { radius_mm: 10.0, length_mm: 120.0 }));
    let mut asked = 0;
    for round in 0..30 {
        let pose = Isometry3::from_parts((dice.vector(60.0)).into(), dice.turn());
        let found = under(&torus, &bar, &pose, 6.0, 1.0);
        let far = |p: &Point3<f64>| bar.shape().closest(&(pose.inverse() * p)).distance_mm;
        for cell in found.iter().flat_map(|patch| &patch.cells) {
            let [a, b, c] = cell.corners;
            let middle = Point3::from((a.coords + b.coords + c.coords) / 3.0);
            assert!((far(&middle) - cell.gap.mm()).abs() < 1e-9, "{round}");
            for p in [a, b, c, middle].iter().filter(|_| cell.whole) {
                assert!(far(p) < 6.0 + 1e-9, "{round}: a corner of a whole cell is {} off", far(p));
            }
            asked += 1;
        }
        // Corners of the mesh that are under, by more than the resolution, lie in some patch.
        for vertex in mesh.vertices.iter().filter(|p| far(p) < 5.0) {
            let held = found
                .iter()
                .flat_map(|patch| &patch.cells)
                .any(|cell| crate::common::point_triangle_mm(vertex, &cell.corners) < 1e-9);
            assert!(held, "{round}: {vertex} is {} off and in no cell", far(vertex));
        }
    }
    assert!(asked > 1000, "{asked} cells");
}

#[test]
fn points_of_a_cloud_are_taken_singly() {
    let points = (0..20).map(|i| Point3::new(f64::from(i) * 10.0, 0.0, 0.0)).collect();
    let cloud = index(Shape::Cloud(Cloud::new(points, 0.5)));
    let found = under(&cloud, &block(55.0, 10.0, 10.0), &Pose::translation(100.0, 0.0, 12.5), 8.0, 12.0);
    // 12.5 - 5 - 0.5 = 7 above those under it; the next ones are 2.5 beyond its edge: under 8 too.
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].cells.len(), 7, "{:?}", found[0].bounds);
    assert_eq!(found[0].area_mm2, 0.0);
    assert!((found[0].least.mm() - 7.0).abs() < 1e-9);
}
