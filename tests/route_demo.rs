//! The demo's pipe made by hand, and the routes that are found for its ports: bends, length and room.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::cell::RefCell;
use std::path::Path;

use assert_cmd::Command;
use baywright::check::{Checker, Poses, ShapeStore, route_obstacles, tubes_in};
use baywright::clearance::IndexedShape;
use baywright::motion::{Movement, Rider, gap_over};
use baywright::route::Ride;
use baywright::scene::Scene;
use baywright::script::{Asker, Gap, ScriptOptions, When, run_script};
use baywright::space::{Length, Pose};
use baywright::tube::CornerLine;

const VAN: &str = "demo-scenes/van";

struct Asks(RefCell<Checker>);

impl Asker for Asks {
    fn gap(&self, scene: &Scene, first: &str, second: &str, when: When) -> Result<Gap, String> {
        let poses = if matches!(when, When::AtRest) { Poses::Rest } else { Poses::Movement };
        let gap = self.0.borrow_mut().pair_gap(scene, first, second, poses).ok_or("no two bodies")?;
        Ok(Gap {
            gap: gap.lower,
            on_first: gap.place.on_first,
            on_second: gap.place.on_second,
            pose: gap.place.pose,
        })
    }
}

/// What every body leaves the demo's own hot pipe over what is asked of a route there, by the proof over the whole movement and
/// not by the finder: the least of all that it is not joined to. Bends, length (mm), room (mm).
fn by_hand() -> (usize, f64, f64) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(VAN);
    let before = Scene::load(&folder.join("scene.yaml")).unwrap();
    let source = std::fs::read_to_string(folder.join("scripts/second-position.rhai")).unwrap();
    let options = ScriptOptions {
        units: before.units,
        folder: Some(folder.clone()),
        date: Some("2026-03-20".to_owned()),
        ..ScriptOptions::default()
    };
    let asks = Asks(RefCell::new(Checker::new()));
    let scene = run_script(&source, "scripts/second-position.rhai", &before, &asks, &options).unwrap().scene;
    let pipe = scene.body("hot-pipe").unwrap();
    let mut tubes = Vec::new();
    tubes_in(&pipe.shape, &pipe.world_from_body, &mut tubes);
    let [(world_from_tube, tube)] = tubes.as_slice() else { panic!("the hot pipe is one tube") };
    let list = CornerLine::of_tube(tube).bend_list().unwrap();
    let joined: Vec<String> = scene
        .joined
        .iter()
        .filter(|pair| pair.one == "hot-pipe" || pair.other == "hot-pipe")
        .map(|pair| if pair.one == "hot-pipe" { pair.other.clone() } else { pair.one.clone() })
        .collect();
    let mut store = ShapeStore::default();
    let obstacles = route_obstacles(&scene, pipe, &["hot-pipe".to_owned()], &joined, &mut store);
    let shape = IndexedShape::new(std::sync::Arc::new(baywright::solid::Shape::Tube(tube.clone())));
    let own = scene.carriers[pipe.carrier].movement.clone();
    let still = Movement::still();
    let mut room_mm = f64::INFINITY;
    for one in obstacles.iter().filter(|one| !one.joined) {
        let (theirs, ours): (&Movement, &Movement) = match &one.ride {
            Ride::WithTube => (&still, &still),
            Ride::Own(theirs) => (theirs, &own),
        };
        let stands: Pose = *world_from_tube;
        let fixed = Rider { shape: &one.shape, world_from_solid: &one.world_from_solid, movement: theirs };
        let moving = Rider { shape: &shape, world_from_solid: &stands, movement: ours };
        let gap = gap_over(&fixed, &moving, Length::from_mm(0.02));
        room_mm = room_mm.min(gap.lower.mm() - one.required_mm - pipe.cover.mm());
    }
    (list.bends.len(), list.length_mm(), room_mm)
}

/// Some route is at least as good in all three as the pipe that was made by hand. Room is a proved bound of 0.02 mm's width
/// on both sides.
#[test]
fn a_route_of_the_demo_is_as_good_as_the_pipe_made_by_hand_in_all_three() {
    let (bends, length_mm, room_mm) = by_hand();
    assert!(bends >= 1 && length_mm > 100.0 && room_mm > 0.0, "{bends} {length_mm} {room_mm}");
    let mut command = Command::cargo_bin("baywright").unwrap();
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    let (scene, script) = (format!("{VAN}/scene.yaml"), format!("{VAN}/scripts/second-position.rhai"));
    command.args([
        "route",
        &scene,
        "--script",
        &script,
        "--instead-of",
        "hot-pipe",
        "--stock",
        "--format",
        "json",
    ]);
    let out = String::from_utf8(command.output().unwrap().stdout).unwrap();
    let found: serde_json::Value = serde_json::from_str(&out).unwrap();
    let told: Vec<(usize, f64, f64)> = found["routes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            let figure = |key: &str| one[key].as_f64().unwrap();
            (one["bends"].as_array().unwrap().len(), figure("length_mm"), figure("room_mm"))
        })
        .collect();
    let as_good =
        |one: &&(usize, f64, f64)| one.0 <= bends && one.1 <= length_mm + 1e-6 && one.2 >= room_mm - 0.02;
    assert!(told.iter().any(|one| as_good(&one)), "{told:?} against {bends} {length_mm} {room_mm}");
}
