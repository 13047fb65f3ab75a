//! Routes: closed forms, planted and closed bays, and every route judged again by dense sampling.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::f64::consts::PI;
use std::sync::Arc;

use baywright::calc::{Flow, Fluid, flow_loss, friction_factor};
use baywright::clearance::{IndexedShape, closest};
use baywright::motion::{Freedom, Movement};
use baywright::route::{
    FitUp, Maker, Obstacle, Port, Ride, Route, RouteAsk, RouteTube, Seat, find_routes, flow_parts,
};
use baywright::solid::{Ball, Block, Shape};
use baywright::space::{Bounds, Pose};
use baywright::tube::{Bender, Die, Making, StockBend, Weight, check_making};
use nalgebra::{Point3, Unit, Vector3};
use proptest::prelude::*;

use crate::route_bays::{bender, closed_bay, planted_bay};

const TUBE: RouteTube = RouteTube { outside_mm: 50.8, wall_mm: Some(1.65), cover_mm: 0.0, elongation: None };

fn port(at: [f64; 3], out: [f64; 3]) -> Port {
    let out = Unit::new_normalize(Vector3::from(out));
    Port { at: Point3::from(at), out, straight_mm: 0.0, fit_up: FitUp::EXACT }
}

fn block(name: &str, at: [f64; 3], size: [f64; 3], required_mm: f64) -> Obstacle {
    Obstacle {
        name: name.to_owned(),
        shape: IndexedShape::new(Arc::new(Shape::Block(Block { size_mm: Vector3::from(size) }))),
        world_from_solid: Pose::translation(at[0], at[1], at[2]),
        required_mm,
        ride: Ride::WithTube,
        joined: false,
    }
}

fn ask<'a>(maker: Maker<'a>, start: Port, end: Port, obstacles: Vec<Obstacle>) -> RouteAsk<'a> {
    RouteAsk {
        start,
        end,
        tube: TUBE,
        maker,
        movement: Movement::still(),
        obstacles,
        forbidden: Vec::new(),
        preferred: Vec::new(),
        flow: None,
        most_bends: 5,
    }
}

macro_rules! by_bender {
    ($bender:expr) => {
        Maker::Bender { bender: $bender, start_extra_mm: 0.0, end_extra_mm: 0.0 }
    };
}

/// Every value of a movement's freedoms on a grid.
fn poses(movement: &Movement, steps: u32) -> Vec<Pose> {
    let mut all = vec![Vec::new()];
    for freedom in &movement.freedoms {
        let (low, high) = freedom.range();
        all = all
            .into_iter()
            .flat_map(|before: Vec<f64>| {
                (0..=steps).map(move |i| {
                    let value = low + (high - low) * f64::from(i) / f64::from(steps);
                    before.iter().copied().chain([value]).collect()
                })
            })
            .collect();
    }
    all.iter().map(|values| movement.world_from_rest(values)).collect()
}

/// The least room of a route by brute force: the tube's line every 3 mm and the rims of its ends, against every
/// obstacle at a grid of poses. Shares nothing with the finder but the distance of a point from a solid.
fn sampled_room(asked: &RouteAsk<'_>, route: &Route) -> f64 {
    let radius = asked.tube.outside_mm / 2.0 + asked.tube.cover_mm;
    let line = route.list.centreline().unwrap();
    let length = line.length_mm();
    // Points and how thick the tube is about each.
    let steps = (length / 3.0).ceil();
    let mut points: Vec<(Point3<f64>, f64)> = (0..=steps as usize)
        .map(|i| length * i as f64 / steps)
        .filter(|mm| *mm >= radius && *mm <= length - radius)
        .map(|mm| (line.point_at(mm), radius))
        .collect();
    for end in [route.list.start, route.list.end()] {
        for i in 0..24 {
            let (sin, cos) = (f64::from(i) * PI / 12.0).sin_cos();
            points.push((end * Point3::new(0.0, radius * cos, radius * sin), 0.0));
        }
    }
    let mut least = f64::INFINITY;
    for obstacle in &asked.obstacles {
        let pairs: Vec<Pose> = match &obstacle.ride {
            Ride::WithTube => vec![obstacle.world_from_solid.inverse()],
            Ride::Own(own) => poses(own, 6)
                .iter()
                .flat_map(|theirs| {
                    poses(&asked.movement, 6)
                        .into_iter()
                        .map(move |ours| (theirs * obstacle.world_from_solid).inverse() * ours)
                })
                .collect(),
        };
        for pose in &pairs {
            for (point, thick) in &points {
                let gap = closest(&obstacle.shape, &(pose * point)).distance_mm - thick;
                least = least.min(gap - obstacle.required_mm);
            }
        }
    }
    least
}

/// Whatever is claimed of a route, asked again.
fn judged(asked: &RouteAsk<'_>, route: &Route) {
    let list = &route.list;
    // It runs from port to port.
    let (start, end) = (list.start, list.end());
    for (port, pose, sign, told) in
        [(&asked.start, start, 1.0, &route.ends[0]), (&asked.end, end, -1.0, &route.ends[1])]
    {
        let off_mm = (pose.translation.vector - port.at.coords).norm();
        let off_rad = 2.0 * ((pose * Vector3::x() * sign - port.out.into_inner()).norm() / 2.0).asin();
        assert!(
            (off_mm - told.offset_mm).abs() < 1e-9 && (off_rad - told.angle_rad).abs() < 1e-7,
            "{told:?}"
        );
        let taken = if route.bends() < 2 { port.fit_up } else { FitUp::EXACT };
        assert!(off_mm <= taken.offset_mm.max(1e-6) && off_rad <= taken.angle_rad.max(1.1e-6), "{told:?}");
    }
    // It can be made.
    if let Maker::Bender { bender, start_extra_mm, end_extra_mm } = asked.maker {
        let making = Making {
            outside_mm: asked.tube.outside_mm,
            wall_mm: asked.tube.wall_mm,
            elongation: asked.tube.elongation,
            bender,
            start_needs_mm: asked.start.straight_mm,
            end_needs_mm: asked.end.straight_mm,
            start_extra_mm,
            end_extra_mm,
            stock_bends: &[],
        };
        let findings = check_making(list, &making).unwrap();
        assert!(findings.iter().all(|one| one.weight != Weight::Cannot), "{findings:?}");
    }
    // Its figures are true.
    assert!((route.length_mm - list.length_mm()).abs() < 1e-9);
    assert!(route.room_mm >= 0.0);
    let sampled = sampled_room(asked, route);
    // Sampling sees no less than the proof, and where the proof names an obstacle, not much more.
    assert!(sampled >= route.room_mm - 0.03, "{sampled} sampled, {} proved", route.room_mm);
}

#[test]
fn plain_ports_have_the_tubes_of_closed_form() {
    let bender = bender();
    let radius = 76.2;
    for (case, start, end, bends, length) in [
        (
            "face to face, 400 apart",
            port([0.0; 3], [1.0, 0.0, 0.0]),
            port([400.0, 0.0, 0.0], [-1.0, 0.0, 0.0]),
            0,
            400.0,
        ),
        (
            "a right angle of legs 300 and 400: 700 - 2 R + R pi / 2",
            port([0.0; 3], [1.0, 0.0, 0.0]),
            port([300.0, 400.0, 0.0], [0.0, -1.0, 0.0]),
            1,
            700.0 - 2.0 * radius + radius * PI / 2.0,
        ),
        (
            "60 deg of legs 300 and 300: 600 - 2 R tan 30 + R pi / 3",
            port([0.0; 3], [1.0, 0.0, 0.0]),
            port([450.0, 300.0 * (PI / 3.0).sin(), 0.0], [-0.5, -(PI / 3.0).sin(), 0.0]),
            1,
            600.0 - 2.0 * radius * (PI / 6.0).tan() + radius * PI / 3.0,
        ),
    ] {
        let asked = ask(by_bender!(&bender), start, end, Vec::new());
        let answer = find_routes(&asked).unwrap();
        let first = &answer.routes[0];
        assert_eq!(first.bends(), bends, "{case}");
        assert!((first.length_mm - length).abs() < 1e-6, "{case}: {} against {length}", first.length_mm);
        answer.routes.iter().for_each(|route| judged(&asked, route));
    }
}

/// A tube between two parallel ports that are offset sideways: with two equal bends of angle A the offset is
/// 2 R (1 - cos A) + L sin A (closed form), L being the straight between.
#[test]
fn an_offset_is_bridged_by_two_bends_of_one_angle() {
    let bender = bender();
    let asked = ask(
        by_bender!(&bender),
        port([0.0; 3], [1.0, 0.0, 0.0]),
        port([600.0, 150.0, 0.0], [-1.0, 0.0, 0.0]),
        Vec::new(),
    );
    let answer = find_routes(&asked).unwrap();
    let route = &answer.routes[0];
    assert_eq!(route.bends(), 2);
    let bends = &route.list.bends;
    assert!((bends[0].angle_rad - bends[1].angle_rad).abs() < 1e-9);
    let a = bends[0].angle_rad;
    let offset = 2.0 * 76.2 * (1.0 - a.cos()) + bends[1].straight_mm * a.sin();
    assert!((offset - 150.0).abs() < 1e-6, "{offset}");
    // The straight way is 618.5 long; no tube is shorter, and a good one is not much longer.
    assert!(route.length_mm > 600f64.hypot(150.0) && route.length_mm < 640.0, "{}", route.length_mm);
}

fn fitted(mut port: Port, offset_mm: f64, angle_deg: f64) -> Port {
    port.fit_up = FitUp { offset_mm, angle_rad: angle_deg.to_radians() };
    port
}

/// Two measured ports never lie on one line. What both joints take, 0.5 mm and 0.5 deg each, bridges over 400 mm between parallel
/// ports 2 x 0.5 + 400 tan 0.5 deg = 4.49 mm (closed form) and no more; and the tube says how far off it is.
#[test]
fn ports_that_nearly_face_each_other_get_the_straight_tube() {
    let bender = bender();
    let leaning = 0.1f64.to_radians();
    let facing = |aside: f64, lean: f64, fit: (f64, f64)| {
        let start = fitted(port([0.0; 3], [1.0, 0.0, 0.0]), fit.0, fit.1);
        let end = fitted(port([400.0, aside, 0.0], [-lean.cos(), lean.sin(), 0.0]), fit.0, fit.1);
        ask(by_bender!(&bender), start, end, Vec::new())
    };
    for (case, aside, lean, fit, straight) in [
        ("0.2 mm and 0.1 deg off", 0.2, leaning, (0.5, 0.5), true),
        ("the same, to be exact", 0.2, leaning, (0.0, 0.0), false),
        ("the same, more than is taken", 0.2, leaning, (0.05, 0.02), false),
        ("4.4 mm to the side", 4.4, 0.0, (0.5, 0.5), true),
        ("4.6 mm to the side", 4.6, 0.0, (0.5, 0.5), false),
        // Through both places but for 1 mm over 400: 1 deg less 0.143 is left at one end.
        ("1 deg in place", 0.0, 1f64.to_radians(), (0.5, 0.87), true),
        ("1 deg in place, and 0.84 is taken", 0.0, 1f64.to_radians(), (0.5, 0.84), false),
        ("exactly face to face", 0.0, 0.0, (0.0, 0.0), true),
    ] {
        let asked = facing(aside, lean, fit);
        let answer = find_routes(&asked).unwrap();
        let first = answer.routes.first();
        assert_eq!(first.is_some_and(|route| route.bends() == 0), straight, "{case}: {first:?}");
        if let Some(route) = first.filter(|_| straight) {
            judged(&asked, route);
            let off: f64 = route.ends.iter().map(|end| end.offset_mm).sum();
            let turned: f64 = route.ends.iter().map(|end| end.angle_rad).sum();
            assert!(off <= 2.0 * fit.0 + 1e-6 && turned >= lean - 1e-9, "{case}: {:?}", route.ends);
            assert_eq!(off + turned > 1e-6, aside + lean > 0.0, "{case}: {:?}", route.ends);
        }
    }
    // A joint that takes more is asked for more: the coupler's end, not the weld's.
    let mut asked = facing(2.0, 0.0, (0.5, 0.1));
    asked.end = fitted(asked.end, 2.0, 2.0);
    let route = find_routes(&asked).unwrap().routes[0].clone();
    assert_eq!(route.bends(), 0);
    judged(&asked, &route);
    assert!(route.ends[1].offset_mm > 2.0 * route.ends[0].offset_mm, "{:?}", route.ends);
}

/// Axes that pass each other 0.3 mm apart cross as far as joints are concerned; 3 mm apart they do not, for 1 mm and what 0.1 deg
/// is over legs of 300 are less.
#[test]
fn ports_whose_axes_nearly_cross_get_the_tube_of_one_bend() {
    let bender = bender();
    for (apart, fit, one) in [(0.3, (0.5, 0.5), true), (0.3, (0.0, 0.0), false), (3.0, (0.5, 0.1), false)] {
        let start = fitted(port([0.0; 3], [1.0, 0.0, 0.0]), fit.0, fit.1);
        let end = fitted(port([300.0, 300.0, apart], [0.0, -1.0, 0.0]), fit.0, fit.1);
        let asked = ask(by_bender!(&bender), start, end, Vec::new());
        let answer = find_routes(&asked).unwrap();
        let first = answer.routes.first();
        assert_eq!(first.is_some_and(|route| route.bends() == 1), one, "{apart} {fit:?}: {first:?}");
        answer.routes.iter().for_each(|route| judged(&asked, route));
    }
}

/// A body in the way of the straight is in its way however the tube is tilted, and one beside it is seen by the tilted tube.
#[test]
fn a_tilted_tube_is_proved_where_it_is() {
    let bender = bender();
    let start = fitted(port([0.0; 3], [1.0, 0.0, 0.0]), 0.5, 0.5);
    let end = fitted(port([400.0, 4.0, 0.0], [-1.0, 0.0, 0.0]), 0.5, 0.5);
    let mut asked = ask(by_bender!(&bender), start, end, Vec::new());
    // Its line passes y = 2 in the middle; the face at 2 + 25.4 + 5 leaves 5 there, and half its length tilted takes some more.
    asked.obstacles = vec![block("beside", [200.0, 42.4, 0.0], [40.0, 20.0, 40.0], 3.0)];
    let route = find_routes(&asked).unwrap().routes[0].clone();
    assert_eq!(route.bends(), 0);
    judged(&asked, &route);
    assert!((route.room_mm - 1.85).abs() < 0.15, "{}", route.room_mm);
    asked.obstacles = vec![block("beside", [200.0, 42.4, 0.0], [40.0, 20.0, 40.0], 6.0)];
    assert!(find_routes(&asked).unwrap().routes.iter().all(|route| route.bends() > 0));
}

/// Seeds of which the finder knows nothing; the bench runs fifty and tells how many it finds, and how soon.
#[test]
fn planted_bays_have_routes_and_they_are_true() {
    let bender = bender();
    for seed in 0..5 {
        let bay = planted_bay(seed);
        let asked = bay.ask(&bender);
        let answer = find_routes(&asked).unwrap();
        assert!(!answer.routes.is_empty(), "bay {seed}: {:?}", answer.near);
        for route in &answer.routes {
            judged(&asked, route);
        }
        // Ranked, and none worse than another in everything.
        for (one, other) in answer.routes.iter().zip(&answer.routes[1..]) {
            assert!(one.bends() <= other.bends());
            let better = one.bends() < other.bends() || one.length_mm < other.length_mm;
            assert!(better && (other.room_mm > one.room_mm || other.length_mm < one.length_mm), "bay {seed}");
        }
    }
}

#[test]
fn closed_bays_have_none_and_the_lid_is_named() {
    let bender = bender();
    for seed in 0..4 {
        let bay = closed_bay(seed);
        let answer = find_routes(&bay.ask(&bender)).unwrap();
        assert!(answer.routes.is_empty(), "bay {seed} has no way, but {:?} is claimed", answer.routes);
        let named = answer.near.iter().flat_map(|near| &near.blockers);
        assert!(named.into_iter().any(|one| one.name.starts_with("lid")), "bay {seed}: {:?}", answer.near);
    }
}

/// Brute force knows a tube that is blocked: without that every check above could be blind.
#[test]
fn sampling_sees_a_body_that_stands_in_a_route() {
    let bender = bender();
    let start = port([0.0; 3], [1.0, 0.0, 0.0]);
    let end = port([600.0, 150.0, 0.0], [-1.0, 0.0, 0.0]);
    let mut asked = ask(by_bender!(&bender), start, end, Vec::new());
    let route = find_routes(&asked).unwrap().routes[0].clone();
    asked.obstacles = vec![block("late", [300.0, 75.0, 60.0], [40.0, 40.0, 40.0], 5.0)];
    // The tube's line passes 40 under the block's face: 40 - 25.4 - 5 = 9.6 of room; then 15 nearer.
    let room = sampled_room(&asked, &route);
    assert!((room - 9.6).abs() < 2.0, "{room}");
    asked.obstacles = vec![block("late", [300.0, 75.0, 45.0], [40.0, 40.0, 40.0], 5.0)];
    assert!(sampled_room(&asked, &route) < -3.0);
    let around = find_routes(&asked).unwrap();
    assert!(!around.routes.is_empty());
    around.routes.iter().for_each(|route| judged(&asked, route));
}

/// A body that is far off at rest and in the way at an end of its movement.
#[test]
fn what_moves_into_the_way_is_avoided() {
    let bender = bender();
    let (start, end) = (port([0.0; 3], [1.0, 0.0, 0.0]), port([600.0, 0.0, 0.0], [-1.0, 0.0, 0.0]));
    let mut asked = ask(by_bender!(&bender), start, end, Vec::new());
    assert_eq!(find_routes(&asked).unwrap().routes[0].bends(), 0);
    let mut hood = block("hood", [300.0, 0.0, 200.0], [60.0, 400.0, 20.0], 10.0);
    let slide = Freedom::Slide { along: Vector3::z_axis(), from_mm: -190.0, to_mm: 0.0 };
    hood.ride = Ride::Own(Movement { freedoms: vec![slide] });
    asked.obstacles = vec![hood];
    let answer = find_routes(&asked).unwrap();
    assert!(!answer.routes.is_empty(), "{:?}", answer.near);
    for route in &answer.routes {
        assert!(route.bends() >= 2);
        judged(&asked, route);
    }
}

#[test]
fn forbidden_boxes_are_not_entered_and_preferred_ones_are() {
    let bender = bender();
    let (start, end) = (port([0.0; 3], [1.0, 0.0, 0.0]), port([700.0, 0.0, 0.0], [-1.0, 0.0, 0.0]));
    let mut asked = ask(by_bender!(&bender), start, end, Vec::new());
    let zone = Bounds { min: Point3::new(330.0, -60.0, -60.0), max: Point3::new(370.0, 60.0, 60.0) };
    asked.forbidden = vec![zone];
    let answer = find_routes(&asked).unwrap();
    assert!(!answer.routes.is_empty());
    for route in &answer.routes {
        let line = route.list.centreline().unwrap();
        for i in 0..700 {
            let point = line.point_at(line.length_mm() * f64::from(i) / 699.0);
            assert!(zone.distance_mm(&point) >= 25.4 - 1e-6);
        }
        assert!(route.nearest.as_deref() == Some("forbidden box 1") || route.room_mm > 1.0);
    }
    // The same way round, over or under: where it should run decides.
    for up in [1.0, -1.0] {
        let (low, high): (f64, f64) = if up > 0.0 { (20.0, 300.0) } else { (-300.0, -20.0) };
        asked.preferred =
            vec![Bounds { min: Point3::new(50.0, -150.0, low), max: Point3::new(650.0, 150.0, high) }];
        let answer = find_routes(&asked).unwrap();
        let best = answer.routes.iter().map(|route| route.preferred_share).fold(0.0, f64::max);
        assert!(best > 0.35, "{up}: {best}");
    }
}

/// Ready-made bends that are not cut: every bend has an angle of the set.
#[test]
fn whole_stock_bends_keep_their_angles() {
    let bend = |deg: f64| StockBend {
        name: format!("bend {deg}"),
        outside_mm: 50.8,
        wall_mm: 1.65,
        radius_mm: 76.2,
        angle_rad: deg.to_radians(),
        leg_mm: 100.0,
        source: "invented".to_owned(),
    };
    let set = [bend(45.0), bend(90.0)];
    let maker = Maker::Stock { set: &set, cut: false, between_mm: 10.0 };
    for (start, end) in [
        (port([0.0; 3], [1.0, 0.0, 0.0]), port([500.0, 160.0, 0.0], [-1.0, 0.0, 0.0])),
        (port([0.0; 3], [1.0, 0.0, 0.0]), port([420.0, 300.0, 180.0], [0.0, 0.0, -1.0])),
    ] {
        let asked = ask(maker, start, end, vec![block("post", [250.0, 60.0, 0.0], [30.0, 30.0, 30.0], 5.0)]);
        let answer = find_routes(&asked).unwrap();
        assert!(!answer.routes.is_empty(), "{:?}", answer.near);
        for route in &answer.routes {
            judged(&asked, route);
            for bend in &route.list.bends {
                let off = set.iter().map(|one| (one.angle_rad - bend.angle_rad).abs()).fold(1.0, f64::min);
                assert!(off < 1e-7, "{} deg", bend.angle_rad.to_degrees());
            }
        }
    }
}

/// A port on a body's own face: declared joined, the body does not see the tube's very end.
#[test]
fn a_joined_body_spares_the_end_and_nothing_else() {
    let bender = bender();
    let start = port([0.0; 3], [1.0, 0.0, 0.0]);
    let end = port([500.0, 200.0, 0.0], [-1.0, 0.0, 0.0]);
    let mut housing = block("housing", [-50.0, 0.0, 0.0], [100.0, 120.0, 120.0], 0.0);
    let mut asked = ask(by_bender!(&bender), start, end, vec![housing.clone()]);
    let alone = find_routes(&asked).unwrap();
    assert!(alone.routes.is_empty() && alone.near[0].blockers[0].name == "housing", "{:?}", alone.near);
    assert_eq!(alone.seats, [Seat { port: "start", body: "housing".to_owned() }]);
    housing.joined = true;
    asked.obstacles = vec![housing.clone()];
    assert!(!find_routes(&asked).unwrap().routes.is_empty());
    // A joined body in the middle of the way is in the way.
    let mut wall = block("wall", [250.0, 100.0, 0.0], [20.0, 3000.0, 3000.0], 0.0);
    wall.joined = true;
    asked.obstacles = vec![housing, wall];
    assert!(find_routes(&asked).unwrap().routes.is_empty());
}

#[test]
fn wrong_questions_say_what_would_do() {
    let bender = bender();
    let (start, end) = (port([0.0; 3], [1.0, 0.0, 0.0]), port([600.0, 0.0, 0.0], [-1.0, 0.0, 0.0]));
    let good = ask(by_bender!(&bender), start, end, Vec::new());
    let told = |change: &dyn Fn(&mut RouteAsk<'_>)| {
        let mut asked = good.clone();
        change(&mut asked);
        find_routes(&asked).unwrap_err().to_string()
    };
    insta::assert_snapshot!(told(&|asked| asked.tube.outside_mm = 0.0), @"the outside diameter is 0; it must be over zero");
    insta::assert_snapshot!(told(&|asked| asked.tube.wall_mm = Some(30.0)), @"the wall is 30; it must be over zero and under half the diameter");
    insta::assert_snapshot!(told(&|asked| asked.end.at = asked.start.at), @"the two ports lie 0.000 mm apart: there is no tube between them; set them further apart");
    insta::assert_snapshot!(told(&|asked| asked.tube.outside_mm = 57.0), @"nothing here bends a tube of 57.00 mm: 57.00 mm where 50.80 mm is asked: no die of invented takes this diameter (invented); use a tube of 50.80 mm; bends could be pie cuts or ready-made");
    insta::assert_snapshot!(told(&|asked| asked.tube.elongation = Some(0.2)), @"nothing here bends a tube of 50.80 mm: at a centreline radius of 76.20 mm, 33.33 % where at most 20.00 % is asked: the most that the material stretches; the outermost fibre is drawn D / 2R (geometry); bends could be pie cuts or ready-made");
    insta::assert_snapshot!(told(&|asked| asked.start.at.x = f64::NAN), @"a port's place or direction is NaN; it must be finite");
}

#[test]
fn the_same_question_has_the_same_answer_at_any_number_of_threads() {
    let bender = bender();
    let bay = planted_bay(13);
    let asked = bay.ask(&bender);
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| find_routes(&asked).unwrap())
    };
    let one = with(1);
    assert!(!one.routes.is_empty());
    assert_eq!(one, with(4));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 3, ..ProptestConfig::default() })]
    /// Every route that is returned is clear by dense sampling, ends in its ports and can be made.
    #[test]
    fn every_route_is_true(seed in 1_000u64..1_000_000) {
        let bender = bender();
        let bay = planted_bay(seed);
        let asked = bay.ask(&bender);
        for route in &find_routes(&asked).unwrap().routes {
            judged(&asked, route);
        }
    }
}

/// A passage with two corners: a ball in the outside of the first lets only a wide bend by, and the leg between is too
/// short for two wide ones. Setbacks of 127, of 76.2 and 50.8 of clamp are 254 of its 275; twice 127 would be 304.8.
#[test]
fn one_route_may_take_two_radii() {
    let both = {
        let mut both = bender();
        both.dies.push(Die { outside_mm: 50.8, radius_mm: 127.0 });
        both
    };
    let wall = |name: &str, x: [f64; 2], y: [f64; 2]| {
        let at = [(x[0] + x[1]) / 2.0, (y[0] + y[1]) / 2.0, 0.0];
        block(name, at, [x[1] - x[0], y[1] - y[0], 200.0], 0.0)
    };
    let plate = |name: &str, z: f64| block(name, [300.0, 140.0, z], [1400.0, 1400.0, 20.0], 0.0);
    let mut obstacles = vec![
        wall("under the first leg", [-300.0, 326.4], [-300.0, -26.4]),
        wall("over the first leg", [-300.0, 170.0], [26.4, 600.0]),
        wall("left of the second", [170.0, 273.6], [127.0, 600.0]),
        wall("right of the second", [326.4, 900.0], [-300.0, 195.0]),
        wall("under the third", [380.0, 900.0], [195.0, 248.6]),
        wall("over the third", [273.6, 900.0], [301.4, 600.0]),
        plate("floor", -36.4),
        plate("lid", 36.4),
    ];
    let mut ball = block("ball", [300.0, 0.0, 0.0], [1.0; 3], 0.0);
    ball.shape = IndexedShape::new(Arc::new(Shape::Ball(Ball { radius_mm: 18.0 })));
    obstacles.push(ball);
    fn through<'a>(bender: &'a Bender, obstacles: &[Obstacle]) -> RouteAsk<'a> {
        let (start, end) = (port([0.0; 3], [1.0, 0.0, 0.0]), port([600.0, 275.0, 0.0], [-1.0, 0.0, 0.0]));
        let mut asked = ask(by_bender!(bender), start, end, obstacles.to_vec());
        asked.most_bends = 2;
        asked
    }
    let mixed = through(&both, &obstacles);
    let answer = find_routes(&mixed).unwrap();
    assert!(!answer.routes.is_empty(), "{:?}", answer.near);
    for route in &answer.routes {
        let radii: Vec<f64> = route.list.bends.iter().map(|bend| bend.radius_mm).collect();
        assert!((radii[0] - 127.0).abs() < 1e-6 && (radii[1] - 76.2).abs() < 1e-6, "{radii:?}");
        judged(&mixed, route);
    }
    // With one die there is none.
    for only in [76.2, 127.0] {
        let mut one = both.clone();
        one.dies.retain(|die| (die.radius_mm - only).abs() < 0.1);
        assert_eq!(find_routes(&through(&one, &obstacles)).unwrap().routes, [], "{only}");
    }
}

/// Of two routes the one that costs less pressure is kept for it, and its figure is that of its own line.
#[test]
fn what_flows_is_told_for_each_route() {
    let bender = bender();
    let mut asked = planted_bay(4).ask(&bender);
    asked.flow = Some(Flow {
        fluid: Fluid::Air,
        mass_kg_s: 0.1,
        temperature_k: 330.0,
        pressure_pa: 200e3,
        roughness_mm: 0.02,
    });
    let answer = find_routes(&asked).unwrap();
    assert!(!answer.routes.is_empty());
    let bore = asked.tube.outside_mm - 2.0 * asked.tube.wall_mm.unwrap();
    for route in &answer.routes {
        let found = route.flow.unwrap();
        let again = flow_loss(&flow_parts(&route.list, bore), &asked.flow.unwrap()).unwrap();
        assert_eq!(found, again);
        // Friction of the whole line alone: f L / D of velocity heads at the start, a little more as the gas thins.
        let head = found.density_kg_m3 * found.velocity_m_s.powi(2) / 2.0;
        let friction = friction_factor(found.reynolds, 0.02 / bore) * route.length_mm / bore * head;
        assert!((found.friction_pa / friction - 1.0).abs() < 0.03, "{found:?} {friction}");
        assert!(found.bends_pa > 0.0);
    }
    asked.flow = None;
    assert!(find_routes(&asked).unwrap().routes.iter().all(|route| route.flow.is_none()));
}

#[test]
fn ports_that_look_away_from_each_other_are_told_so() {
    let bender = bender();
    let mut asked = ask(
        by_bender!(&bender),
        port([0.0; 3], [-1.0, 0.0, 0.0]),
        port([400.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
        Vec::new(),
    );
    asked.most_bends = 1;
    let answer = find_routes(&asked).unwrap();
    assert!(answer.routes.is_empty());
    insta::assert_snapshot!(answer.near[0].refused.as_deref().unwrap(), @"no chain of bends reaches from port to port; the start port looks 180 deg away from the other: turn its direction round if it points into the port, or turn the port toward the other; more than 1 bends may be needed");
    // With bends enough it goes round.
    asked.most_bends = 4;
    assert!(!find_routes(&asked).unwrap().routes.is_empty());
}
