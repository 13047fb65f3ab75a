//! Ways in, judged from outside the planner: every way is walked in fine steps and its gaps computed in closed form;
//! puzzles that are shut by construction have none; the same seed gives the same answer on any number of threads.

#[path = "../benches/puzzles/mod.rs"]
mod puzzles;

use std::sync::Arc;
use std::time::Duration;

use baywright::clearance::IndexedShape;
use baywright::solid::{Capsule, Compound, Shape};
use baywright::space::{Bounds, Length, Pose};
use baywright::way_in::{Answer, Ended, Impossible, Obstacle, Options, Way, WayAsk, WayError, way_in};
use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

/// Seeded random numbers (splitmix64: Steele, Lea and Flood 2014, from memory).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    fn point(&mut self, spread: f64) -> Point3<f64> {
        Point3::new(self.roll() * spread, self.roll() * spread, self.roll() * spread)
    }
}

/// A round-ended rod: its ends and its radius.
type Rod = (Point3<f64>, Point3<f64>, f64);

/// Distance of two segments by minimising over one parameter after the other until it stands still, from nine places;
/// a convex problem, so that this converges. Knows nothing of the library.
fn segments_apart(a: &Rod, b: &Rod) -> f64 {
    let on = |p: &Point3<f64>, q: &Point3<f64>, at: &Point3<f64>| {
        let along = q - p;
        let share = ((at - p).dot(&along) / along.norm_squared().max(1e-300)).clamp(0.0, 1.0);
        p + along * share
    };
    // Closed form where both feet lie inside; else one of the four ends is nearest.
    let (u, v, w) = (a.1 - a.0, b.1 - b.0, a.0 - b.0);
    let (uu, uv, vv, uw, vw) = (u.dot(&u), u.dot(&v), v.dot(&v), u.dot(&w), v.dot(&w));
    let det = uu * vv - uv * uv;
    let mut least = f64::INFINITY;
    if det > 1e-9 * uu * vv {
        let (s, t) = ((uv * vw - vv * uw) / det, (uu * vw - uv * uw) / det);
        if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
            least = ((a.0 + u * s) - (b.0 + v * t)).norm();
        }
    }
    for end in [&a.0, &a.1] {
        least = least.min((on(&b.0, &b.1, end) - end).norm());
    }
    for end in [&b.0, &b.1] {
        least = least.min((on(&a.0, &a.1, end) - end).norm());
    }
    least
}

fn gap_mm(bay: &[Rod], body: &[Rod], pose: &Pose) -> f64 {
    let mut least = f64::INFINITY;
    for one in body {
        let moved = (pose * one.0, pose * one.1, one.2);
        for other in bay {
            least = least.min(segments_apart(&moved, other) - moved.2 - other.2);
        }
    }
    least
}

fn shape(rods: &[Rod]) -> IndexedShape {
    let parts = rods
        .iter()
        .map(|(from, to, radius_mm)| {
            // A capsule's core lies along its own z.
            let along = UnitQuaternion::rotation_between(&Vector3::z(), &(to - from)).unwrap_or_default();
            let middle = Translation3::from(nalgebra::center(from, to).coords);
            let core_mm = (to - from).norm();
            let capsule = Capsule { radius_mm: *radius_mm, core_mm };
            (Pose::from_parts(middle, along), Shape::Capsule(capsule))
        })
        .collect();
    IndexedShape::new(Arc::new(Shape::Compound(Compound { parts })))
}

/// Poses between two poses of a way, as its documentation says: the middle straight, the turn even, no point moving
/// more than 0.2 mm from one to the next.
fn walked(way: &Way, reach_mm: f64, mut visit: impl FnMut(&Pose)) {
    let middle = Translation3::from(way.middle.coords);
    for pair in way.poses.windows(2) {
        let (a, b) = (pair[0] * middle, pair[1] * middle);
        let shift = b.translation.vector - a.translation.vector;
        let turn = a.rotation.rotation_to(&b.rotation).scaled_axis();
        let count = ((shift.norm() + turn.norm() * reach_mm) / 0.2).ceil().max(1.0) as usize;
        for i in 0..=count {
            let share = i as f64 / count as f64;
            let rotation = UnitQuaternion::from_scaled_axis(turn * share) * a.rotation;
            let at = Translation3::from(a.translation.vector + shift * share);
            visit(&(Isometry3::from_parts(at, rotation) * middle.inverse()));
        }
    }
}

fn cube(half: f64) -> Bounds {
    Bounds { min: Point3::new(-half, -half, -half), max: Point3::new(half, half, half) }
}

#[test]
fn two_hundred_random_bays_are_entered_without_a_violation_anywhere() {
    let (mut ways, mut kept_mm, mut samples) = (0, f64::INFINITY, 0u64);
    for case in 0..200u64 {
        let mut dice = Dice(case * 7919 + 1);
        let bay: Vec<Rod> = (0..9)
            .map(|_| {
                let at = dice.point(70.0);
                (at, at + dice.point(60.0).coords, 4.0 + 3.0 * (1.0 + dice.roll()))
            })
            .collect();
        let body: Vec<Rod> = vec![
            (Point3::new(-30.0, 0.0, 0.0), Point3::new(30.0, 0.0, 0.0), 4.0),
            (
                Point3::new(30.0, 0.0, 0.0),
                Point3::new(30.0, 25.0 + 10.0 * dice.roll(), 8.0 * dice.roll()),
                4.0,
            ),
        ];
        let room_mm = 1.0 + dice.roll();
        // The first mounted pose about the middle that is free.
        let goal = (0..400)
            .map(|_| {
                let turn = UnitQuaternion::from_euler_angles(
                    3.0 * dice.roll(),
                    3.0 * dice.roll(),
                    3.0 * dice.roll(),
                );
                Isometry3::from_parts(Translation3::from(dice.point(50.0).coords), turn)
            })
            .find(|pose| gap_mm(&bay, &body, pose) > room_mm + 0.3);
        let Some(goal) = goal else { continue };
        let (bay_shape, body_shape) = (shape(&bay), shape(&body));
        let obstacles = [Obstacle {
            shape: bay_shape,
            world_from_obstacle: Pose::identity(),
            room: Length::from_mm(room_mm),
        }];
        let start = Pose::translation(0.0, 0.0, 220.0);
        let ask = WayAsk {
            body: &body_shape,
            obstacles: &obstacles,
            starts: &[start],
            goal,
            room: cube(240.0),
            options: Options {
                seed: case,
                checks: Some(20_000),
                time: Duration::from_secs(600),
                ..Options::default()
            },
        };
        let Answer::Way(way) = way_in(&ask).unwrap() else { continue };
        ways += 1;
        assert_eq!(way.poses.first(), Some(&start), "case {case}");
        assert!((way.poses.last().unwrap().to_homogeneous() - goal.to_homogeneous()).norm() < 1e-9);
        assert!(way.moves().len() + 1 == way.poses.len());
        // The farthest point from the middle is under 60 mm off.
        walked(&way, 60.0, |pose| {
            let gap = gap_mm(&bay, &body, pose);
            samples += 1;
            assert!(gap >= room_mm - 1e-6, "case {case}: {gap} mm of {room_mm} kept");
            kept_mm = kept_mm.min(gap - room_mm);
            assert!(gap - room_mm >= way.spare.mm() - 1e-6, "case {case}: less to spare than told");
        });
    }
    // Nearly all of these bays are open; without that the test would say nothing.
    assert!(ways >= 180, "only {ways} ways");
    assert!(samples > 200_000, "{samples} samples");
    assert!(kept_mm < 1.0, "nothing came near anything: {kept_mm} mm");
}

fn ask_puzzle<T>(puzzle: &puzzles::Puzzle, options: Options<'_>, told: impl FnOnce(&WayAsk<'_>) -> T) -> T {
    let index = |mesh: &baywright::solid::Mesh| IndexedShape::new(Arc::new(Shape::Mesh(mesh.clone())));
    let (fixed, moving) = (index(&puzzle.fixed), index(&puzzle.moving));
    let obstacles =
        [Obstacle { shape: fixed, world_from_obstacle: Pose::identity(), room: Length::from_mm(0.0) }];
    told(&WayAsk {
        body: &moving,
        obstacles: &obstacles,
        starts: &[puzzle.start],
        goal: puzzle.goal,
        room: puzzle.bounds,
        options: Options { step_mm: Some(puzzle.step_mm), ..options },
    })
}

#[test]
fn puzzles_are_sound_and_their_twins_are_never_answered_with_a_way() {
    for puzzle in puzzles::feasible().iter().chain(&puzzles::infeasible()) {
        assert_eq!((puzzle.fixed.open_edges(), puzzle.moving.open_edges()), (0, 0), "{}", puzzle.name);
    }
    for twin in puzzles::infeasible() {
        let options = Options { checks: Some(4000), time: Duration::from_secs(600), ..Options::default() };
        let answer = ask_puzzle(&twin, options, way_in).unwrap();
        match answer {
            Answer::Way(way) => panic!("{}: a way of {} poses", twin.name, way.poses.len()),
            Answer::NoneFound(none) => {
                assert_eq!(none.ended, Ended::Checks, "{}", twin.name);
                assert!(none.apart.mm() > 0.0 && none.stopped_by[0].0 == 0, "{}", twin.name);
            }
            Answer::Impossible(other) => panic!("{}: {other:?}", twin.name),
        }
    }
}

#[test]
fn interlocked_loops_come_apart_the_same_way_on_any_number_of_threads() {
    let puzzle = puzzles::interlocked_loops("wide", 24.0);
    let options = Options { seed: 3, time: Duration::from_secs(600), ..Options::default() };
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| ask_puzzle(&puzzle, options, way_in).unwrap())
    };
    let one = on(1);
    assert!(matches!(one, Answer::Way(_)), "{one:?}");
    assert_eq!(one, on(3));
}

#[test]
fn a_pose_that_is_not_free_is_named_with_its_gap() {
    let rod: Rod = (Point3::new(0.0, -50.0, 0.0), Point3::new(0.0, 50.0, 0.0), 10.0);
    let ball: Rod = (Point3::origin(), Point3::new(0.0, 0.0, 1.0), 5.0);
    let (bay, body) = (shape(&[rod]), shape(&[ball]));
    let far = Pose::translation(100.0, 0.0, 0.0);
    for (case, start, goal, room_mm, want) in [
        ("17 off, 15 of radii", far, Pose::translation(17.0, 0.0, 0.0), 3.0, "goal 2.00"),
        ("start within the rod", Pose::translation(0.0, 20.0, 0.0), far, 0.0, "start"),
    ] {
        let obstacles = [Obstacle {
            shape: bay.clone(),
            world_from_obstacle: Pose::identity(),
            room: Length::from_mm(room_mm),
        }];
        let ask = WayAsk {
            body: &body,
            obstacles: &obstacles,
            starts: &[start],
            goal,
            room: cube(200.0),
            options: Options::default(),
        };
        let got = match way_in(&ask).unwrap() {
            Answer::Impossible(Impossible::GoalNotFree { by: 0, gap }) => format!("goal {:.2}", gap.mm()),
            Answer::Impossible(Impossible::StartNotFree { by: 0, .. }) => "start".to_owned(),
            other => format!("{other:?}"),
        };
        assert_eq!(got, want, "{case}");
    }
}

#[test]
fn what_a_question_lacks_is_said() {
    let body = shape(&[(Point3::origin(), Point3::new(0.0, 0.0, 1.0), 5.0)]);
    let far = Pose::translation(f64::NAN, 0.0, 0.0);
    let here = [Pose::identity()];
    let ask = |starts: &[Pose], goal: Pose, room: Bounds, step_mm: Option<f64>| {
        let options = Options { step_mm, ..Options::default() };
        way_in(&WayAsk { body: &body, obstacles: &[], starts, goal, room, options }).unwrap_err()
    };
    assert_eq!(ask(&[], here[0], cube(1.0), None), WayError::NoStart);
    assert_eq!(ask(&here, far, cube(1.0), None), WayError::NotFinite { what: "the goal" });
    assert_eq!(ask(&here, here[0], cube(-1.0), None), WayError::NoRoom);
    assert_eq!(ask(&here, here[0], cube(1.0), Some(0.0)), WayError::Step { step_mm: 0.0 });
    let empty = shape(&[]);
    let none = way_in(&WayAsk {
        body: &empty,
        obstacles: &[],
        starts: &here,
        goal: here[0],
        room: cube(1.0),
        options: Options::default(),
    });
    assert_eq!(none.unwrap_err(), WayError::NoBody);
}

#[test]
fn a_cancelled_search_says_so_and_how_far_it_came() {
    let cancel = std::sync::atomic::AtomicBool::new(true);
    let twin = puzzles::interlocked_loops("shut", 12.0);
    let options = Options { cancel: Some(&cancel), ..Options::default() };
    let Answer::NoneFound(none) = ask_puzzle(&twin, options, way_in).unwrap() else {
        panic!("an answer from a cancelled search");
    };
    assert_eq!(none.ended, Ended::Cancelled);
    assert!(none.apart.mm() > 50.0 && none.apart.mm() < 500.0, "{}", none.apart.mm());
}

#[test]
fn moves_add_up_to_the_whole_motion() {
    let body = shape(&[(Point3::new(-20.0, 0.0, 0.0), Point3::new(20.0, 0.0, 0.0), 5.0)]);
    let goal = Isometry3::from_parts(
        Translation3::new(40.0, -30.0, -180.0),
        UnitQuaternion::from_scaled_axis(Vector3::new(0.0, 0.0, -0.7)),
    );
    let ask = WayAsk {
        body: &body,
        obstacles: &[],
        starts: &[Pose::identity()],
        goal,
        room: cube(300.0),
        options: Options::default(),
    };
    let Answer::Way(way) = way_in(&ask).unwrap() else { panic!("nothing stands in the way") };
    let moves = way.moves();
    assert_eq!(moves.len(), 1, "straight there: {moves:?}");
    assert_eq!(
        moves[0].words(),
        "lower 180 mm and slide rearward 40 mm and slide to the left 30 mm, and meanwhile turn 40 deg clockwise seen from above"
    );
}
