//! Random shapes.

use baywright::solid::{
    Ball, Block, Capsule, Cylinder, Frustum, Hull, Mesh, MeshKind, Plate, Shape, TorusArc, Tube,
};
use nalgebra::{Point2, Point3, Vector3};
use serde_json::{Value, json};

use super::dice::Dice;

/// A convex primitive.
pub fn convex(dice: &mut Dice) -> Shape {
    let mut size = |low, high| dice.between(low, high);
    match [0, 1, 2, 3, 4, 5][size(0.0, 6.0) as usize] {
        0 => Shape::Ball(Ball { radius_mm: size(5.0, 50.0) }),
        1 => Shape::Block(Block { size_mm: Vector3::new(size(5.0, 90.0), size(5.0, 90.0), size(5.0, 90.0)) }),
        2 => Shape::Cylinder(Cylinder { radius_mm: size(5.0, 40.0), length_mm: size(5.0, 120.0) }),
        3 => Shape::Capsule(Capsule { radius_mm: size(5.0, 30.0), core_mm: size(0.0, 100.0) }),
        4 => Shape::Frustum(Frustum {
            bottom_radius_mm: size(5.0, 40.0),
            top_radius_mm: size(0.5, 40.0),
            length_mm: size(5.0, 90.0),
        }),
        _ => {
            let count = 8 + size(0.0, 12.0) as usize;
            let points = (0..count).map(|_| Point3::from(dice.vector(45.0))).collect();
            Shape::Hull(Hull::new(points))
        }
    }
}

/// A shape that is not convex.
pub fn bent_or_pierced(dice: &mut Dice) -> Shape {
    match dice.choice(3) {
        0 => {
            let ring = dice.between(40.0, 90.0);
            let sweep_rad = dice.between(0.3, std::f64::consts::TAU);
            Shape::TorusArc(TorusArc {
                ring_radius_mm: ring,
                tube_radius_mm: dice.between(8.0, 35.0),
                sweep_rad,
            })
        }
        1 => {
            let (leg, rise) = (dice.between(120.0, 200.0), dice.between(120.0, 180.0));
            let corners = vec![
                Point3::new(-leg, 0.0, 0.0),
                Point3::origin(),
                Point3::new(0.0, rise, 0.0),
                Point3::new(30.0, rise, dice.between(130.0, 200.0)),
            ];
            let bend = dice.between(40.0, 58.0);
            Shape::Tube(Tube {
                corners,
                bend_radii_mm: vec![bend, bend],
                radius_mm: dice.between(10.0, 35.0),
                wall_mm: None,
            })
        }
        _ => {
            let (a, b) = (dice.between(60.0, 110.0), dice.between(50.0, 90.0));
            // An angle plate, with a square window in its long leg.
            let outline = [[-a, -b], [a, -b], [a, 0.0], [0.0, 0.0], [0.0, b], [-a, b]];
            let (x, y) = (-a * 0.6, -b * 0.55);
            let window = [[x, y], [x + 25.0, y], [x + 25.0, y + 25.0], [x, y + 25.0]];
            let points =
                |list: &[[f64; 2]]| list.iter().map(|[x, y]| Point2::new(*x, *y)).collect::<Vec<_>>();
            Shape::Plate(Plate {
                outline: points(&outline),
                holes: vec![points(&window)],
                thickness_mm: dice.between(2.0, 25.0),
            })
        }
    }
}

/// A closed mesh of four triangles, not too flat.
pub fn tetrahedron(dice: &mut Dice) -> Mesh {
    loop {
        let corners: Vec<Point3<f64>> = (0..4).map(|_| Point3::from(dice.vector(30.0))).collect();
        let volume =
            (corners[1] - corners[0]).cross(&(corners[2] - corners[0])).dot(&(corners[3] - corners[0]));
        if volume > 8000.0 {
            let triangles = vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]];
            return Mesh::new(corners, triangles, MeshKind::Closed);
        }
    }
}

/// A closed mesh with bumps: a ball of latitude rings, its radius waved.
pub fn lumpy(dice: &mut Dice) -> Mesh {
    let (rings, spokes) = (6 + dice.choice(10), 8 + dice.choice(16));
    let (base, wave, lobes) =
        (dice.between(30.0, 70.0), dice.between(0.0, 0.35), 2.0 + dice.choice(4) as f64);
    let mut vertices = vec![Point3::new(0.0, 0.0, base)];
    for ring in 1..rings {
        let polar = std::f64::consts::PI * ring as f64 / rings as f64;
        for spoke in 0..spokes {
            let around = std::f64::consts::TAU * spoke as f64 / spokes as f64;
            let radius = base * (1.0 + wave * (lobes * around).sin() * (2.0 * polar).sin());
            let (s, c) = polar.sin_cos();
            vertices.push(Point3::new(radius * s * around.cos(), radius * s * around.sin(), radius * c));
        }
    }
    vertices.push(Point3::new(0.0, 0.0, -base));
    let at = |ring: usize, spoke: usize| (1 + (ring - 1) * spokes + spoke % spokes) as u32;
    let last = (vertices.len() - 1) as u32;
    let mut triangles = Vec::new();
    for spoke in 0..spokes {
        triangles.push([0, at(1, spoke), at(1, spoke + 1)]);
        triangles.push([last, at(rings - 1, spoke + 1), at(rings - 1, spoke)]);
        for ring in 1..rings - 1 {
            triangles.push([at(ring, spoke), at(ring + 1, spoke), at(ring + 1, spoke + 1)]);
            triangles.push([at(ring, spoke), at(ring + 1, spoke + 1), at(ring, spoke + 1)]);
        }
    }
    Mesh::new(vertices, triangles, MeshKind::Closed)
}

/// A convex shape in words that the judge reads.
pub fn told(shape: &Shape) -> Value {
    match shape {
        Shape::Ball(ball) => json!({"kind": "ball", "radius": ball.radius_mm}),
        Shape::Block(block) => json!({"kind": "block", "size": block.size_mm.as_slice()}),
        Shape::Cylinder(bar) => json!({"kind": "cylinder", "radius": bar.radius_mm, "length": bar.length_mm}),
        Shape::Capsule(bar) => json!({"kind": "capsule", "radius": bar.radius_mm, "core": bar.core_mm}),
        Shape::Frustum(cone) => json!({
            "kind": "frustum", "bottom": cone.bottom_radius_mm, "top": cone.top_radius_mm, "length": cone.length_mm,
        }),
        Shape::Hull(hull) => {
            let points: Vec<[f64; 3]> = hull.points.iter().map(|p| [p.x, p.y, p.z]).collect();
            json!({"kind": "hull", "points": points})
        }
        _ => panic!("not a convex primitive"),
    }
}
