//! Bays with a planted tube, and bays without a way: made from a seed, the same on every machine. All invented.
//!
//! A planted bay has a tube that can be made and is proved clear over the whole movement; then bodies of all sorts are
//! set about it, as near as its room allows, and walls with a hole where it goes through. The finder gets the two
//! ports and the bodies, never the tube. In a bay without a way the start port stands in a closed box, or a plate
//! stands nearer before it than the least straight.

#![allow(dead_code)] // the bench tells of the planted tube, the tests need not

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use baywright::clearance::{IndexedShape, touches};
use baywright::motion::{Freedom, GapOverUnder, Movement, Rider, gap_over_under};
use baywright::route::{FitUp, Maker, Obstacle, Port, Ride, RouteAsk, RouteTube};
use baywright::solid::{Ball, Block, Capsule, Cylinder, Shape, Solid, TorusArc};
use baywright::space::{Axis, Length, Pose};
use baywright::tube::{BendList, Bender, Die, ListedBend, Making, Weight, check_making};
use nalgebra::{Point3, Translation3, Unit, UnitQuaternion, Vector3};

/// Whole-number chance: the same on every machine (the mixer of Steele, Lea and Flood 2014, from memory).
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        // Mixed once, or a seed's figures would be its neighbour's, one place on.
        Dice(Dice(seed).next())
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    fn way(&mut self) -> Unit<Vector3<f64>> {
        loop {
            let v = Vector3::new(self.within(-1.0, 1.0), self.within(-1.0, 1.0), self.within(-1.0, 1.0));
            if (0.1..=1.0).contains(&v.norm()) {
                return Unit::new_normalize(v);
            }
        }
    }

    fn turn(&mut self) -> UnitQuaternion<f64> {
        let way = self.way();
        UnitQuaternion::from_axis_angle(&way, self.within(0.0, PI))
    }
}

/// An invented bender: dies of one and a half diameters.
pub fn bender() -> Bender {
    let dies = [38.1, 50.8, 63.5, 76.2].map(|d| Die { outside_mm: d, radius_mm: 1.5 * d }).to_vec();
    Bender {
        name: "invented".to_owned(),
        dies,
        least_radius_od: 1.0,
        tight_radius_od: 1.5,
        clamp_od: 1.0,
        first_od: 1.5,
        last_od: 1.0,
        most_wall_mm: 3.2,
        most_angle_rad: PI,
        most_thinning: 0.34,
        springback: Vec::new(),
        stretch: 0.0,
        source: "invented".to_owned(),
    }
}

/// A bay, and the tube that was planted in it.
pub struct Bay {
    pub start: Port,
    pub end: Port,
    pub tube: RouteTube,
    pub movement: Movement,
    pub obstacles: Vec<Obstacle>,
    pub planted: BendList,
    pub planted_room_mm: f64,
}

impl Bay {
    pub fn ask<'a>(&self, bender: &'a Bender) -> RouteAsk<'a> {
        RouteAsk {
            start: self.start.clone(),
            end: self.end.clone(),
            tube: self.tube,
            maker: Maker::Bender { bender, start_extra_mm: 0.0, end_extra_mm: 0.0 },
            movement: self.movement.clone(),
            obstacles: self.obstacles.clone(),
            forbidden: Vec::new(),
            preferred: Vec::new(),
            flow: None,
            most_bends: 5,
        }
    }
}

/// A tube that can be made, between two ports not too far apart.
fn planted(dice: &mut Dice, bender: &Bender, tube: &RouteTube) -> BendList {
    let d = tube.outside_mm;
    loop {
        let count = 2 + dice.below(3);
        let bends: Vec<ListedBend> = (0..count)
            .map(|bend| ListedBend {
                straight_mm: if bend == 0 { 1.5 * d } else { d } + dice.within(2.0, 130.0),
                rotation_rad: dice.within(0.0, TAU),
                angle_rad: dice.within(25.0, 105.0).to_radians(),
                radius_mm: 1.5 * d,
            })
            .collect();
        let at = Translation3::new(
            dice.within(300.0, 700.0),
            dice.within(-250.0, 250.0),
            dice.within(500.0, 800.0),
        );
        let list = BendList {
            start: Pose::from_parts(at, dice.turn()),
            bends,
            last_straight_mm: d + dice.within(2.0, 100.0),
        };
        let making = Making {
            outside_mm: d,
            wall_mm: tube.wall_mm,
            elongation: None,
            bender,
            start_needs_mm: 0.0,
            end_needs_mm: 0.0,
            start_extra_mm: 0.0,
            end_extra_mm: 0.0,
            stock_bends: &[],
        };
        let Ok(findings) = check_making(&list, &making) else { continue };
        let apart = (list.end().translation.vector - list.start.translation.vector).norm();
        let wide = list.check_body(d + 2.0 * tube.cover_mm + 20.0).is_ok();
        if findings.iter().all(|one| one.weight != Weight::Cannot) && wide && apart > 2.0 * d {
            return list;
        }
    }
}

fn body(dice: &mut Dice) -> Shape {
    let size = |dice: &mut Dice| dice.within(40.0, 200.0);
    match dice.below(6) {
        0 => Shape::Ball(Ball { radius_mm: dice.within(20.0, 90.0) }),
        1 | 2 => Shape::Block(Block { size_mm: Vector3::new(size(dice), size(dice), size(dice)) }),
        3 => Shape::Cylinder(Cylinder {
            radius_mm: dice.within(10.0, 80.0),
            length_mm: dice.within(30.0, 300.0),
        }),
        4 => {
            Shape::Capsule(Capsule { radius_mm: dice.within(8.0, 30.0), core_mm: dice.within(100.0, 400.0) })
        }
        _ => {
            let arc = TorusArc {
                ring_radius_mm: dice.within(60.0, 120.0),
                tube_radius_mm: dice.within(10.0, 40.0),
                sweep_rad: dice.within(1.0, TAU),
            };
            Shape::Mesh(arc.tessellate(0.5))
        }
    }
}

fn rock(dice: &mut Dice) -> Movement {
    let axis = Axis {
        through: Point3::new(500.0, dice.within(-40.0, 40.0), dice.within(380.0, 460.0)),
        along: Vector3::x_axis(),
    };
    Movement {
        freedoms: vec![
            Freedom::Turn { axis, from_rad: -2f64.to_radians(), to_rad: 3f64.to_radians() },
            Freedom::Slide { along: Vector3::z_axis(), from_mm: -5.0, to_mm: 4.0 },
        ],
    }
}

/// Whether the planted tube has so much room to a body over all movement.
fn leaves(planted: &IndexedShape, movement: &Movement, obstacle: &Obstacle, more_mm: f64) -> bool {
    if touches(&obstacle.shape, planted, &obstacle.world_from_solid.inverse()) {
        return false;
    }
    let (still, identity) = (Movement::still(), Pose::identity());
    let (theirs, ours) = match &obstacle.ride {
        Ride::WithTube => (&still, &still),
        Ride::Own(own) => (own, movement),
    };
    let fixed =
        Rider { shape: &obstacle.shape, world_from_solid: &obstacle.world_from_solid, movement: theirs };
    let moving = Rider { shape: planted, world_from_solid: &identity, movement: ours };
    let limit = Length::from_mm(obstacle.required_mm + more_mm);
    matches!(gap_over_under(&fixed, &moving, limit, Length::from_mm(0.05)), GapOverUnder::Clear { .. })
}

/// A bay of some 50 bodies with a planted tube; every third has an engine that rocks.
pub fn planted_bay(seed: u64) -> Bay {
    let mut dice = Dice::new(seed);
    let bender = bender();
    let outside_mm = [50.8, 63.5, 76.2][dice.below(3)];
    let cover_mm = if dice.below(2) == 0 { 3.0 } else { 0.0 };
    let tube = RouteTube { outside_mm, wall_mm: Some(1.65), cover_mm, elongation: None };
    let list = planted(&mut dice, &bender, &tube);
    let room_mm = dice.within(4.0, 12.0);
    let covered_mm = outside_mm / 2.0 + cover_mm;
    let solid = list.corners().unwrap().tube(covered_mm, None);
    let solid = IndexedShape::new(Arc::new(Shape::Tube(solid)));
    let moves = seed.is_multiple_of(3);
    let engine = rock(&mut dice);
    let on_engine = moves && dice.below(2) == 0;
    let movement = if on_engine { engine.clone() } else { Movement::still() };
    let line = list.centreline().unwrap();
    let length = line.length_mm();
    let mut obstacles: Vec<Obstacle> = Vec::new();
    let ride = |dice: &mut Dice| {
        let same = dice.below(3) > 0;
        match (moves && !same, on_engine) {
            (false, _) => Ride::WithTube,
            (true, true) => Ride::Own(Movement::still()),
            (true, false) => Ride::Own(engine.clone()),
        }
    };
    // Walls with a hole, across a straight or a bend of the tube.
    for _ in 0..2 {
        let at = line.point_at(dice.within(0.25, 0.75) * length);
        let ahead = line.point_at(dice.within(0.25, 0.75) * length);
        let along = Unit::try_new(ahead - at, 1.0).unwrap_or_else(Vector3::x_axis);
        let turn = UnitQuaternion::rotation_between(&Vector3::x(), &along).unwrap_or_default();
        let half = covered_mm + dice.within(1.05, 1.6) * room_mm + 8.0;
        let (side, thick) = (350.0, 4.0);
        let wall_ride = ride(&mut dice);
        let mut wall = Vec::new();
        for (y, z) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            let wide = if y == 0.0 { 2.0 * half } else { side - half };
            let high = if y == 0.0 { side - half } else { 2.0 * side };
            let middle = (side + half) / 2.0;
            let pose =
                Pose::from_parts(at.coords.into(), turn) * Pose::translation(0.0, y * middle, z * middle);
            wall.push(Obstacle {
                name: format!("wall {}", obstacles.len() + wall.len()),
                shape: IndexedShape::new(Arc::new(Shape::Block(Block {
                    size_mm: Vector3::new(thick, wide, high),
                }))),
                world_from_solid: pose,
                required_mm: 5.0,
                ride: wall_ride.clone(),
                joined: false,
            });
        }
        if wall.iter().all(|one| leaves(&solid, &movement, one, room_mm)) {
            obstacles.extend(wall);
        }
    }
    // Bodies about it, each pushed toward the tube as far as its room allows.
    let mut tries = 0;
    while obstacles.len() < 50 && tries < 400 {
        tries += 1;
        let required_mm = [0.0, 5.0, 12.0, 25.0][dice.below(4)];
        let near = line.point_at(dice.within(0.0, 1.0) * length);
        let way = dice.way();
        let mut one = Obstacle {
            name: format!("body {tries}"),
            shape: IndexedShape::new(Arc::new(body(&mut dice))),
            world_from_solid: Pose::identity(),
            required_mm,
            ride: ride(&mut dice),
            joined: false,
        };
        let turn = dice.turn();
        let mut placed = None;
        for step in 0..9 {
            let far = 330.0 - 35.0 * f64::from(step);
            one.world_from_solid = Pose::from_parts((near.coords + way.into_inner() * far).into(), turn);
            if leaves(&solid, &movement, &one, room_mm) {
                placed = Some(one.clone());
            } else if placed.is_some() {
                break;
            }
        }
        obstacles.extend(placed);
    }
    let (start, end) = (list.start, list.end());
    let port = |at: Vector3<f64>, out: Vector3<f64>| Port {
        at: at.into(),
        out: Unit::new_normalize(out),
        straight_mm: 0.0,
        fit_up: FitUp::EXACT,
    };
    Bay {
        start: port(start.translation.vector, start * Vector3::x()),
        end: port(end.translation.vector, -(end * Vector3::x())),
        tube,
        movement,
        obstacles,
        planted: list,
        planted_room_mm: room_mm,
    }
}

/// A bay without a way, by construction.
pub fn closed_bay(seed: u64) -> Bay {
    let mut bay = planted_bay(seed);
    let mut dice = Dice::new(seed ^ 0xC105ED);
    let start = Pose::from_parts(
        bay.start.at.coords.into(),
        UnitQuaternion::rotation_between(&Vector3::x(), &bay.start.out).unwrap_or_default(),
    );
    let plate = |name: &str, at: Vector3<f64>, size_mm: Vector3<f64>| Obstacle {
        name: name.to_owned(),
        shape: IndexedShape::new(Arc::new(Shape::Block(Block { size_mm }))),
        world_from_solid: start * Pose::translation(at.x, at.y, at.z),
        required_mm: 2.0,
        ride: Ride::WithTube,
        joined: false,
    };
    if seed.is_multiple_of(2) {
        // A box about the start port that does not hold the end port: the end port looks at it from without.
        let apart = (bay.end.at - bay.start.at).norm();
        let half = (0.45 * apart / 3f64.sqrt()).min(dice.within(200.0, 400.0));
        let long = 2.0 * half + 8.0;
        for axis in 0..3 {
            for side in [-1.0, 1.0] {
                let (mut at, mut size) = (Vector3::zeros(), Vector3::repeat(long));
                at[axis] = side * half;
                size[axis] = 4.0;
                // The port looks out of the plate behind it.
                if axis == 0 && side < 0.0 {
                    at[axis] = -bay.tube.outside_mm;
                }
                bay.obstacles.push(plate(&format!("lid {axis} {side}"), at, size));
            }
        }
    } else {
        // Every tube of a bender starts with a straight of 1.5 diameters: a plate stands nearer than that.
        let near = dice.within(0.7, 1.3) * bay.tube.outside_mm;
        let at = Vector3::new(near, 0.0, 0.0);
        bay.obstacles.push(plate("lid", at, Vector3::new(3.0, 400.0, 400.0)));
    }
    bay
}
