//! Random bays as glTF files, with where everything stands by our own reckoning.

use std::path::Path;
use std::sync::Arc;

use baywright::report::{GltfOptions, GltfPart, gltf_of};
use baywright::scene::{Body, Scene};
use baywright::solid::Shape;
use baywright::space::Pose;
use baywright::way_in::Way;
use nalgebra::Point3;
use serde_json::{Value, json};

use super::dice::Dice;
use super::{pose_json, shapes};

const BAY: &str = r#"
baywright: 1
title: invented, random
units: mm
carriers:
  engine:
    rock: {through: [200, 30, 400], along: [1, 0.2, 0.1], forward: 6 deg, reverse: 3 deg}
bodies:
  seed: {shape: {box: [10, 10, 10]}, carried_by: engine}
"#;

const CHORD_MM: f64 = 0.05;

/// Writes `gltf-CASE.glb` into a folder; what it must hold.
pub fn bay(dice: &mut Dice, case: usize, folder: &Path) -> Value {
    let mut scene = Scene::load_text(Path::new("bay.yaml"), BAY).unwrap_or_else(|errors| panic!("{errors}"));
    let seed = scene.bodies.remove(0);
    let mut told = Vec::new();
    for number in 0..8 {
        let shape = match number % 3 {
            0 => shapes::convex(dice),
            1 => shapes::bent_or_pierced(dice),
            _ => Shape::Mesh(shapes::lumpy(dice)),
        };
        let world_from_body = dice.pose(800.0);
        let bounds = shape.bounds_in(&world_from_body);
        let name = format!("body-{number}");
        told.push(json!({
            "name": name, "volume": shape.volume_mm3(), "area": shape.area_mm2(),
            "low": bounds.min.coords.as_slice(), "high": bounds.max.coords.as_slice(),
        }));
        let carrier = if number < 3 { seed.carrier } else { 0 };
        scene.bodies.push(Body { name, shape: Arc::new(shape), world_from_body, carrier, ..seed.clone() });
    }
    // The second rides on the engine, the fifth on nothing.
    let mut parts = Vec::new();
    let mut ways = Vec::new();
    for number in [1, 4] {
        let body = &scene.bodies[number];
        let mut poses: Vec<Pose> = (0..3 + dice.choice(4)).map(|_| dice.pose(900.0)).collect();
        poses.push(body.world_from_body);
        let middle = Point3::from(dice.vector(80.0));
        let way = Way { poses, middle, spare: Default::default(), effort: Default::default() };
        let middles: Vec<Value> = way.moves().iter().map(|leg| pose_json(&leg.at(0.5))).collect();
        let ends: Vec<Value> = way.poses.iter().map(pose_json).collect();
        ways.push(json!({"body": body.name, "poses": ends, "half_way": middles}));
        parts.push(GltfPart { body: body.name.clone(), way, seat_mm: None, away: Vec::new() });
    }
    let engine = &scene.carriers[seed.carrier].movement;
    let (low, high) = engine.freedoms[0].range();
    let rocked =
        |value: f64| pose_json(&(engine.world_from_rest(&[value]) * scene.bodies[0].world_from_body));
    let rock =
        json!({"body": "body-0", "high": rocked(high), "half": rocked(high / 2.0), "low": rocked(low)});
    let gltf = gltf_of(&scene, &parts, &GltfOptions { chord_mm: CHORD_MM }).unwrap();
    let file = format!("gltf-{case}.glb");
    std::fs::write(folder.join(&file), &gltf.glb).unwrap();
    json!({
        "case": case, "glb": file, "chord": CHORD_MM, "bodies": told, "ways": ways, "rock": rock,
        "stray": gltf.stray_mm,
    })
}
