//! Laws that every shape keeps: signed distance, meshes within their chord, least boxes, pieces.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::TAU;

use baywright::solid::*;
use baywright::space::{Bounds, Pose};
use nalgebra::{Point2, Point3, Translation3, UnitQuaternion, Vector3};
use proptest::prelude::*;

/// A shape of one of sixteen makes; every one is valid whatever the numbers (each 0 to 1).
fn shape(make: usize, n: &[f64; 12]) -> Shape {
    let size = |i: usize| 5.0 + 60.0 * n[i];
    match make {
        0 => Shape::Ball(Ball { radius_mm: size(0) }),
        1 => Shape::Block(Block { size_mm: Vector3::new(size(0), size(1), size(2)) }),
        2 => Shape::Cylinder(Cylinder { radius_mm: size(0), length_mm: size(1) }),
        3 => Shape::Capsule(Capsule { radius_mm: size(0), core_mm: 60.0 * n[1] }),
        4 => Shape::Frustum(Frustum {
            bottom_radius_mm: size(0),
            top_radius_mm: 60.0 * n[1],
            length_mm: size(2),
        }),
        5 => Shape::Frustum(Frustum { bottom_radius_mm: 0.0, top_radius_mm: size(1), length_mm: size(2) }),
        6 => Shape::TorusArc(TorusArc {
            tube_radius_mm: size(0),
            ring_radius_mm: size(0) * (1.0 + 2.0 * n[1]),
            sweep_rad: 0.05 + (TAU - 0.06) * n[2],
        }),
        7 => Shape::TorusArc(TorusArc {
            tube_radius_mm: size(0),
            ring_radius_mm: size(0) * (1.0 + n[1]),
            sweep_rad: TAU,
        }),
        8 | 9 => {
            // A star about the origin, with a hole in its middle; the star's reach is 30 at least.
            let count = 5 + (n[0] * 8.0) as usize;
            let outline = (0..count)
                .map(|i| {
                    let (sin, cos) = (TAU * i as f64 / count as f64).sin_cos();
                    let reach = 30.0 + 50.0 * n[1 + i % 11];
                    Point2::new(reach * cos, reach * sin)
                })
                .collect();
            let hole = Plate::round_hole(Point2::origin(), 4.0 + 4.0 * n[3], 0.5);
            Shape::Plate(Plate {
                outline,
                holes: if make == 8 { vec![hole] } else { vec![] },
                thickness_mm: size(2) / 4.0,
            })
        }
        10 => {
            let at = |i: usize| 120.0 * n[i];
            Shape::Tube(Tube {
                corners: vec![
                    Point3::origin(),
                    Point3::new(150.0 + at(0), 0.0, 0.0),
                    Point3::new(150.0 + at(1), 150.0 + at(2), 0.0),
                    Point3::new(150.0 + at(3), 150.0 + at(4), 150.0 + at(5)),
                ],
                bend_radii_mm: vec![20.0 + 10.0 * n[6], 20.0 + 10.0 * n[7]],
                radius_mm: 8.0 + 12.0 * n[8],
                wall_mm: None,
            })
        }
        11 => Shape::Hull(Hull::new(
            (0..14)
                .map(|i| {
                    Point3::new(80.0 * n[i % 12], 70.0 * n[(5 * i + 1) % 12], 60.0 * n[(7 * i * i + 2) % 12])
                })
                .chain([
                    Point3::origin(),
                    Point3::new(30.0, 0.0, 0.0),
                    Point3::new(0.0, 30.0, 0.0),
                    Point3::new(0.0, 0.0, 30.0),
                ])
                .collect(),
        )),
        12 => Shape::Mesh(shape(4, n).tessellate(2.0)),
        13 => {
            // A strip of skin, folded.
            let vertices = (0..6)
                .map(|i| Point3::new(20.0 * f64::from(i / 2), 30.0 * f64::from(i % 2), 20.0 * n[i as usize]))
                .collect();
            let triangles = vec![[0, 2, 1], [1, 2, 3], [2, 4, 3], [3, 4, 5]];
            Shape::Mesh(Mesh::new(vertices, triangles, MeshKind::Open { thickness_mm: 1.0 + 9.0 * n[7] }))
        }
        14 => Shape::Cloud(Cloud::new(
            (0..12)
                .map(|i| Point3::new(60.0 * n[i], 60.0 * n[(i + 3) % 12], 60.0 * n[(5 * i + 7) % 12]))
                .collect(),
            3.0 + 9.0 * n[2],
        )),
        _ => Shape::Compound(Compound {
            parts: vec![
                (pose(&[n[0], n[1], n[2], n[3], n[4], n[5]]), shape(2, n)),
                (pose(&[n[6], n[7], n[8], n[9], n[10], n[11]]), shape(6, n)),
                (pose(&[n[3], n[7], n[1], n[9], n[2], n[4]]), shape(1, n)),
            ],
        }),
    }
}

const MAKES: usize = 16;

fn pose(n: &[f64; 6]) -> Pose {
    let at = Translation3::new(80.0 * n[0] - 40.0, 80.0 * n[1] - 40.0, 80.0 * n[2] - 40.0);
    let turn = UnitQuaternion::from_euler_angles(TAU * n[3], TAU * n[4], TAU * n[5]);
    Pose::from_parts(at, turn)
}

fn numbers() -> impl Strategy<Value = [f64; 12]> {
    prop::array::uniform12(0.0_f64..1.0)
}

fn around(shape: &Shape, n: &[f64; 3]) -> Point3<f64> {
    let bounds = shape.bounds().grown(25.0);
    bounds.min + bounds.size().component_mul(&Vector3::from(*n))
}

fn unit3() -> impl Strategy<Value = [f64; 3]> {
    prop::array::uniform3(0.0_f64..1.0)
}

/// Whether a shape's own answers leave its depth a lower bound only (parts that overlap).
fn has_overlaps(make: usize) -> bool {
    matches!(make, 13..)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn signed_distance_is_a_distance(make in 0..MAKES, n in numbers(), places in prop::collection::vec((unit3(), unit3()), 12)) {
        let shape = shape(make, &n);
        shape.validate().unwrap();
        for (one, other) in places {
            let (p, q) = (around(&shape, &one), around(&shape, &other));
            let (at_p, at_q) = (shape.closest(&p), shape.closest(&q));
            prop_assert!(((p - at_p.point).norm() - at_p.distance_mm.abs()).abs() < 1e-9);
            prop_assert!((at_p.normal.norm() - 1.0).abs() < 1e-12);
            // No two points differ more in distance than they lie apart.
            prop_assert!((at_p.distance_mm - at_q.distance_mm).abs() <= (p - q).norm() + 1e-9);
            // The normal leads from the surface to the point, or from a point inside to the surface.
            let along = at_p.point + at_p.normal.into_inner() * at_p.distance_mm;
            prop_assert!((along - p).norm() < 1e-7, "{at_p:?} from {p}");
            if !has_overlaps(make) {
                let again = shape.closest(&at_p.point).distance_mm;
                prop_assert!(again.abs() < 1e-7, "the surface point lies {again} mm off the surface");
                // Just outside it is outside, just inside it is inside.
                let out = shape.closest(&(at_p.point + at_p.normal.into_inner() * 1e-4)).distance_mm;
                prop_assert!(out > 0.0, "{out}");
            }
        }
    }

    #[test]
    fn a_mesh_lies_within_its_chord(make in 0..MAKES, n in numbers(), chord_power in -2.0_f64..0.5, places in prop::collection::vec((0.0_f64..1.0, unit3(), unit3()), 40)) {
        let chord_mm = 10_f64.powf(chord_power);
        let shape = shape(make, &n);
        let mesh = shape.tessellate(chord_mm);
        prop_assert_eq!(mesh.kind, MeshKind::Closed);
        prop_assert_eq!(mesh.open_edges(), 0);
        for (pick, weights, place) in places {
            // From the mesh to the shape: any point of any facet, its middle more often.
            let corners = mesh.corners((pick * mesh.triangles.len() as f64) as usize);
            let sum = weights.iter().sum::<f64>().max(1e-9);
            let on_facet = Point3::from((0..3).map(|i| corners[i].coords * (weights[i] / sum)).sum::<Vector3<f64>>());
            let off = shape.closest(&on_facet).distance_mm;
            // Where parts overlap, a facet of one lies within another.
            let allowed = if has_overlaps(make) { off <= chord_mm } else { off.abs() <= chord_mm };
            prop_assert!(allowed || off.abs() < 1e-9, "a facet lies {off} mm off, {chord_mm} mm allowed");
            // From the shape to the mesh.
            let p = around(&shape, &place);
            let near = shape.closest(&p);
            let gap = mesh.closest(&near.point).distance_mm;
            let allowed = if has_overlaps(make) { gap <= chord_mm } else { gap.abs() <= chord_mm };
            prop_assert!(allowed || gap.abs() < 1e-9, "the mesh lies {gap} mm off, {chord_mm} mm allowed");
            // Which side is which: the winding of the mesh against the shape's own sign.
            if near.distance_mm.abs() > chord_mm * 1.001 {
                prop_assert_eq!(mesh.inside(&p), near.distance_mm < 0.0, "{} {}", p, near.distance_mm);
            }
        }
    }

    #[test]
    fn bounds_hold_the_shape_and_no_more(make in 0..MAKES, n in numbers(), m in prop::array::uniform6(0.0_f64..1.0)) {
        let (shape, world_from_shape) = (shape(make, &n), pose(&m));
        let bounds = shape.bounds_in(&world_from_shape);
        let mesh = shape.tessellate(0.01).moved(&world_from_shape);
        let of_mesh = Bounds::of_points(&mesh.vertices);
        // Vertices lie on the shape or, on the inner side of a bend, no farther off than the chord.
        for axis in 0..3 {
            for (case, inner, outer) in [
                ("least", bounds.min[axis], of_mesh.min[axis]),
                ("greatest", -bounds.max[axis], -of_mesh.max[axis]),
            ] {
                prop_assert!(outer >= inner - 1e-9, "{case} {axis}: the mesh reaches {} mm out", inner - outer);
                prop_assert!(outer <= inner + 0.011, "{case} {axis}: {} mm too wide", outer - inner);
            }
        }
        let here = shape.bounds();
        let there = shape.bounds_in(&Pose::identity());
        prop_assert!((here.min - there.min).norm() < 1e-9 && (here.max - there.max).norm() < 1e-9);
    }

    #[test]
    fn mass_agrees_with_a_fine_mesh(make in 0..MAKES, n in numbers()) {
        let shape = shape(make, &n);
        let chord_mm = 0.002;
        let mesh = shape.tessellate(chord_mm);
        // The mesh may lose or gain a skin of the chord's thickness.
        let skin = shape.area_mm2() * chord_mm * 1.1 + 1e-6;
        prop_assert!((mesh.volume_mm3() - shape.volume_mm3()).abs() < skin);
        // Skins count one side only, and their meshes have edges and backs.
        prop_assert!(make == 13 || (mesh.area_mm2() / shape.area_mm2() - 1.0).abs() < 0.002);
        let reach = shape.bounds().diagonal_mm();
        let off = (mesh.center_of_mass() - shape.center_of_mass()).norm();
        prop_assert!(off < 2.0 * reach * skin / shape.volume_mm3() + 1e-9, "{off} mm");
    }

    /// A point lies in the solid just when it lies in a piece, the clearance kernel's view.
    #[test]
    fn pieces_make_up_the_solid(make in 0..MAKES, n in numbers(), places in prop::collection::vec(unit3(), 30)) {
        let shape = shape(make, &n);
        let pieces: Vec<Shape> = shape.pieces().iter().map(as_shape).collect();
        let bounds = shape.pieces().iter().fold(Bounds::EMPTY, |all, piece| all.union(&piece.bounds_in(&Pose::identity())));
        prop_assert!((bounds.min - shape.bounds().min).norm() < 1e-8 && (bounds.max - shape.bounds().max).norm() < 1e-8);
        for place in places {
            let p = around(&shape, &place);
            let whole = shape.closest(&p).distance_mm;
            let least = pieces.iter().map(|piece| piece.closest(&p).distance_mm).fold(f64::INFINITY, f64::min);
            if make == 12 {
                // A closed mesh's pieces are its surface.
                prop_assert!((least - whole.abs()).abs() < 1e-9);
            } else if whole > 0.0 || least > 0.0 {
                prop_assert!((least - whole).abs() < 1e-7, "pieces {least} mm, whole {whole} mm");
            } else {
                prop_assert!(least >= whole - 1e-7, "a piece is deeper than the whole");
            }
        }
    }
}

/// A piece as a shape, by way of a compound that stands where the piece stands.
fn as_shape(piece: &Piece) -> Shape {
    let along = |from: &Point3<f64>, to: &Point3<f64>| {
        let turn = UnitQuaternion::rotation_between(&Vector3::z(), &(to - from))
            .unwrap_or_else(|| UnitQuaternion::from_axis_angle(&Vector3::x_axis(), TAU / 2.0));
        Pose::from_parts(Translation3::from(nalgebra::center(from, to).coords), turn)
    };
    let placed = |pose: Pose, shape: Shape| Shape::Compound(Compound { parts: vec![(pose, shape)] });
    match piece.clone() {
        Piece::Ball { center, radius_mm } => {
            placed(Pose::translation(center.x, center.y, center.z), Shape::Ball(Ball { radius_mm }))
        }
        Piece::Capsule { from, to, radius_mm } => {
            placed(along(&from, &to), Shape::Capsule(Capsule { radius_mm, core_mm: (to - from).norm() }))
        }
        Piece::Block { solid_from_block, half_mm } => {
            placed(solid_from_block, Shape::Block(Block { size_mm: half_mm * 2.0 }))
        }
        Piece::Frustum { from, to, from_radius_mm, to_radius_mm } => placed(
            along(&from, &to),
            Shape::Frustum(Frustum {
                bottom_radius_mm: from_radius_mm,
                top_radius_mm: to_radius_mm,
                length_mm: (to - from).norm(),
            }),
        ),
        Piece::Arc { center, axis, start, ring_radius_mm, tube_radius_mm, sweep_rad } => {
            let turn = nalgebra::Rotation3::from_basis_unchecked(&[
                start.into_inner(),
                axis.cross(&start),
                axis.into_inner(),
            ]);
            placed(
                Pose::from_parts(
                    Translation3::from(center.coords),
                    UnitQuaternion::from_rotation_matrix(&turn),
                ),
                Shape::TorusArc(TorusArc { ring_radius_mm, tube_radius_mm, sweep_rad }),
            )
        }
        Piece::Hull { points } => Shape::Hull(Hull::new(points)),
        Piece::Triangle { corners, thickness_mm } => {
            Shape::Mesh(Mesh::new(corners.to_vec(), vec![[0, 1, 2]], MeshKind::Open { thickness_mm }))
        }
    }
}
