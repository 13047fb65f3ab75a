//! Access among solids: corridors through shapes, which bodies are asked, and what a bay costs.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::sync::Arc;

use baywright::access::{
    Analytic, Bodies, CorridorAsk, CorridorSearch, Obstacles, Outside, Part, Served, StandingBody, corridor,
};
use baywright::clearance::IndexedShape;
use baywright::solid::{Ball, Block, Capsule, Cylinder, Plate, Shape, Tube};
use baywright::space::{Angle, Bounds, Direction, Pose, pose_from_euler};
use nalgebra::{Point2, Point3, Vector3};

fn body(name: &str, shape: Shape, world_from_body: Pose, cover_mm: f64) -> StandingBody {
    StandingBody {
        name: name.to_string(),
        shape: IndexedShape::new(Arc::new(shape)),
        world_from_body,
        cover_mm,
    }
}

fn block(name: &str, min: [f64; 3], max: [f64; 3]) -> StandingBody {
    let bounds = Bounds { min: Point3::from(min), max: Point3::from(max) };
    let at = bounds.center();
    body(name, Shape::Block(Block { size_mm: bounds.size() }), Pose::translation(at.x, at.y, at.z), 0.0)
}

fn ask(half_mm: f64, target: [f64; 3]) -> CorridorAsk {
    let half = Vector3::repeat(half_mm);
    let bay = Bounds { min: Point3::from(-half), max: Point3::from(half) };
    CorridorAsk::new(Point3::from(target), Outside { bay, open: vec![Direction::Up] })
}

fn ring(sides: usize, radius_mm: f64) -> Vec<Point2<f64>> {
    (0..sides)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / sides as f64).sin_cos();
            Point2::new(radius_mm * cos, radius_mm * sin)
        })
        .collect()
}

#[test]
fn a_hole_in_a_plate_passes_its_inscribed_circle() {
    let outline = [(-400.0, -400.0), (400.0, -400.0), (400.0, 400.0), (-400.0, 400.0)];
    let sides = 24;
    let plate = Shape::Plate(Plate {
        outline: outline.iter().map(|(x, y)| Point2::new(*x, *y)).collect(),
        holes: vec![ring(sides, 35.0)],
        thickness_mm: 3.0,
    });
    // Tilted by 20 deg about x: the width is the same; the plate still closes the bay off.
    let tilt =
        pose_from_euler(Vector3::new(30.0, 20.0, 10.0), Angle::from_deg(20.0), Angle::ZERO, Angle::ZERO);
    let bodies = Bodies::new(vec![body("plate", plate, tilt, 1.5)]).unwrap();
    let found = corridor(&bodies.obstacles(&[]).unwrap(), &ask(250.0, [0.0, 0.0, -200.0])).unwrap();
    let want_mm = 2.0 * (35.0 * (std::f64::consts::PI / sides as f64).cos() - 1.5);
    assert!(found.settled && found.upper_mm - found.lower_mm <= 1.0 + 1e-9);
    assert!(found.lower_mm <= want_mm + 1e-6 && want_mm <= found.upper_mm + 1e-6, "{want_mm}: {found:?}");
    println!("plate: {} to {}, {:?}", found.lower_mm, found.upper_mm, found.effort);
}

#[test]
fn a_box_with_a_slot_is_the_same_as_solids_and_as_closed_forms() {
    let walls =
        [([-200.0, -200.0, -20.0], [200.0, -15.0, 0.0]), ([-200.0, 22.0, -20.0], [200.0, 200.0, 0.0])];
    let solids: Vec<StandingBody> =
        walls.iter().enumerate().map(|(i, (min, max))| block(&format!("wall {i}"), *min, *max)).collect();
    let mut forms = Analytic::new();
    for (i, (min, max)) in walls.iter().enumerate() {
        let bounds = Bounds { min: Point3::from(*min), max: Point3::from(*max) };
        forms = forms.with(&format!("wall {i}"), Part::Block(bounds));
    }
    let ask = ask(200.0, [0.0, 0.0, -150.0]);
    let bodies = Bodies::new(solids).unwrap();
    let by_solids = corridor(&bodies.obstacles(&[]).unwrap(), &ask).unwrap();
    let by_forms = corridor(&forms, &ask).unwrap();
    for found in [&by_solids, &by_forms] {
        assert!(found.lower_mm <= 37.0 && 37.0 <= found.upper_mm, "22 + 15: {found:?}");
    }
    let mut makers = by_solids.narrowest.unwrap().bodies;
    makers.sort_unstable();
    assert_eq!(makers, [0, 1]);
}

/// An invented bay: blocks, bars, rods and hoses at random, the same every time.
fn cluttered(count: usize, seed: u64) -> Vec<StandingBody> {
    let mut state = seed;
    let mut unit = move || {
        // Knuth's MMIX multiplier and increment; from memory.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut list = Vec::new();
    while list.len() < count {
        let at = Vector3::new(1000.0 * unit() - 500.0, 1000.0 * unit() - 500.0, 600.0 * unit() - 300.0);
        if at.norm() < 150.0 {
            continue; // the service point stays free
        }
        let turn = |u: f64| Angle::from_deg(360.0 * u);
        let pose = pose_from_euler(at, turn(unit()), turn(unit()), turn(unit()));
        let size = 35.0 + 45.0 * unit();
        let shape = match list.len() % 5 {
            0 => Shape::Block(Block { size_mm: Vector3::new(2.0 * size, size, 1.5 * size) }),
            1 => Shape::Cylinder(Cylinder { radius_mm: 0.7 * size, length_mm: 3.0 * size }),
            2 => Shape::Capsule(Capsule { radius_mm: 0.4 * size, core_mm: 5.0 * size }),
            3 => Shape::Ball(Ball { radius_mm: size }),
            _ => Shape::Tube(Tube {
                corners: vec![
                    Point3::new(-4.0 * size, 0.0, 0.0),
                    Point3::origin(),
                    Point3::new(2.0 * size, 3.0 * size, 0.0),
                ],
                bend_radii_mm: vec![size],
                radius_mm: 0.3 * size,
                wall_mm: Some(1.0),
            }),
        };
        let cover_mm = if list.len() % 7 == 0 { 3.0 } else { 0.0 };
        list.push(body(&format!("thing {}", list.len()), shape, pose, cover_mm));
    }
    list
}

fn bay_ask() -> CorridorAsk {
    let bay = Bounds { min: Point3::new(-550.0, -550.0, -350.0), max: Point3::new(550.0, 550.0, 350.0) };
    CorridorAsk::new(Point3::origin(), Outside { bay, open: vec![Direction::Up] })
}

#[test]
fn the_tree_forgets_no_body() {
    let bodies = Bodies::new(cluttered(60, 3)).unwrap();
    let all = bodies.obstacles(&[]).unwrap();
    let mut near = Vec::new();
    for i in 0..400 {
        let share = |k: u32| f64::from(i * k % 401) / 400.0 - 0.5;
        let at = Point3::new(1600.0 * share(1), 1600.0 * share(57), 1000.0 * share(193));
        let one_by_one: Vec<f64> = bodies
            .list()
            .iter()
            .map(|body| {
                let local = body.world_from_body.inverse() * at;
                body.shape.shape().closest(&local).distance_mm - body.cover_mm
            })
            .collect();
        let least = one_by_one.iter().copied().fold(f64::INFINITY, f64::min);
        assert!((all.clearance_mm(&at) - least).abs() < 1e-9, "at {at}");
        all.near(&at, 120.0, 40.0, &mut near);
        for (body, clear_mm) in one_by_one.iter().enumerate() {
            let must = *clear_mm < 120.0 && *clear_mm <= least + 40.0;
            assert!(!must || near.iter().any(|near| near.body == body), "body {body} at {at}");
        }
        for seen in &near {
            let local = bodies.list()[seen.body].world_from_body.inverse() * seen.point;
            let off_mm = bodies.list()[seen.body].shape.shape().closest(&local).distance_mm;
            assert!(off_mm.abs() < 1e-6, "a witness lies on its body: {off_mm}");
        }
    }
}

#[test]
fn the_served_body_counts_as_told() {
    // A cup with its point at the bottom: walls 30 apart, 120 deep.
    let list = vec![
        block("floor", [-60.0, -60.0, -10.0], [60.0, 60.0, 0.0]),
        block("west", [-60.0, -60.0, 0.0], [-15.0, 60.0, 120.0]),
        block("east", [15.0, -60.0, 0.0], [60.0, 60.0, 120.0]),
    ];
    let bodies = Bodies::new(list).unwrap();
    let mut ask = ask(200.0, [0.0, 0.0, 0.0]);
    ask.outside.open = vec![Direction::Up];
    ask.from_side = Some(Vector3::z_axis());
    let width = |served, body: usize, without: &[usize]| {
        let world = bodies.obstacles_at(&ask.target, body, served, without).unwrap();
        CorridorSearch::new(&world, &ask, Some(body)).unwrap().widest()
    };
    let shut = width(Served::Obstacle, 0, &[]);
    assert!(shut.lower_mm <= 30.0 && 30.0 <= shut.upper_mm, "{shut:?}");
    let without_east = width(Served::Obstacle, 0, &[2]);
    // A ball against floor and west wall: its centre is r from each, 15 from the point
    // to the wall, so (r - 15)^2 + r^2 = (r + 10)^2 and r = 25 + sqrt(500).
    let corner_mm = 2.0 * (25.0 + 500.0_f64.sqrt());
    assert!(
        without_east.lower_mm <= corner_mm + 1e-6 && corner_mm <= without_east.upper_mm,
        "{without_east:?}"
    );
    // West and east served and opened near the point only: the mouth still rules.
    let opened = width(Served::OpenWithin { within_mm: 40.0 }, 1, &[]);
    assert!(opened.upper_mm >= shut.lower_mm && opened.upper_mm < 40.0, "{opened:?}");
    let absent = width(Served::Absent, 1, &[]);
    assert!(absent.lower_mm > 60.0, "{absent:?}");
}

#[test]
fn a_cluttered_bay_is_settled() {
    let bodies = Bodies::new(cluttered(150, 11)).unwrap();
    let world = bodies.obstacles(&[]).unwrap();
    let start = std::time::Instant::now();
    let found = corridor(&world, &bay_ask()).unwrap();
    println!(
        "150 bodies: {} to {}, {:?}, {:?}",
        found.lower_mm,
        found.upper_mm,
        found.effort,
        start.elapsed()
    );
    assert!(found.settled, "{found:?}");
    assert!(found.lower_mm > 20.0 && found.upper_mm < 250.0, "the clutter matters: {found:?}");
    let narrowest = found.narrowest.unwrap();
    assert!(!narrowest.bodies.is_empty() && narrowest.width_mm <= found.upper_mm + 1e-9);
    for pair in found.path.windows(2) {
        for step in 0..=20 {
            let at = pair[0].at + (pair[1].at - pair[0].at) * (f64::from(step) / 20.0);
            assert!(world.clearance_mm(&at) >= 0.5 * found.lower_mm - 1e-9);
        }
    }
}
