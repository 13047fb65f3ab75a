//! An invented bay for the tests of scripts, and an asker whose answers can be worked out by hand.
#![allow(dead_code)]

use std::sync::Arc;

use baywright::motion::{Freedom, Movement};
use baywright::scene::{
    Body, Carrier, Frame, Joined, Placement, RoomRule, RuleSide, Scene, ServiceKind, ServicePoint, Span,
};
use baywright::script::{Asker, Gap, ScriptErrors, ScriptOptions, ScriptRun, When, run_script};
use baywright::solid::{Block, Cylinder, Plate, Shape};
use baywright::space::{Angle, Axis, Bounds, Length, Pose, pose_from_euler};
use nalgebra::{Matrix6, Point2, Point3, Vector3, Vector6};

/// Where something of the scene is written: not in a script.
fn written(line: usize) -> Span {
    Span { file: "bay.yaml".to_owned(), line, column: 3 }
}

fn body(name: &str, shape: Shape, pose: Pose, carrier: usize, role: &str, kept: bool) -> Body {
    Body {
        name: name.to_owned(),
        shape: Arc::new(shape),
        world_from_body: pose,
        carrier,
        roles: vec![role.to_owned()],
        material: None,
        bent_by: None,
        hot_c: None,
        flow: None,
        mass_kg: None,
        hoist: None,
        hose: None,
        may_move: None,
        kept,
        candidate: false,
        cover: Length::ZERO,
        placement: Placement {
            about: pose * Point3::origin(),
            covariance: Matrix6::from_diagonal(&Vector6::new(1.0, 4.0, 9.0, 0.0, 0.0, 0.0)),
            surface_mm: 0.5,
            source: Some("stand".to_owned()),
            shares: Vec::new(),
            form_mm: None,
        },
        fit: None,
        span: written(10),
    }
}

/// An invented bay: a firewall at x = 600 that looks forward, an engine block with a bracket and its
/// face, a battery with a service point, a round filler.
pub fn bay() -> Scene {
    let carrier = |name: &str, movement| Carrier {
        name: name.to_owned(),
        movement,
        freedom_words: Vec::new(),
        span: written(2),
    };
    let rock = Freedom::Turn {
        axis: Axis { through: Point3::new(0.0, 0.0, 400.0), along: Vector3::x_axis() },
        from_rad: -0.05,
        to_rad: 0.05,
    };
    let firewall = Plate {
        outline: [[-500.0, -700.0], [500.0, -700.0], [500.0, 700.0], [-500.0, 700.0]]
            .map(Point2::from)
            .into(),
        holes: Vec::new(),
        thickness_mm: 1.2,
    };
    // The plate's z looks forward, its x up.
    let upright =
        pose_from_euler(Vector3::new(600.0, 0.0, 700.0), Angle::ZERO, Angle::from_deg(-90.0), Angle::ZERO);
    let block = |x, y, z| Shape::Block(Block { size_mm: Vector3::new(x, y, z) });
    let at = Pose::translation;
    let bracket_face =
        pose_from_euler(Vector3::new(100.0, 260.0, 640.0), Angle::from_deg(-90.0), Angle::ZERO, Angle::ZERO);
    Scene {
        title: "invented van".to_owned(),
        carriers: vec![
            carrier("chassis", Movement::still()),
            carrier("engine", Movement { freedoms: vec![rock] }),
        ],
        frames: vec![Frame {
            name: "bracket-face".to_owned(),
            world_from_frame: bracket_face,
            carrier: 1,
            placement: Placement::exact(Point3::new(100.0, 260.0, 640.0)),
            span: written(5),
        }],
        bodies: vec![
            body("firewall", Shape::Plate(firewall), upright, 0, "panel", true),
            body("engine-block", block(600.0, 400.0, 500.0), at(0.0, 0.0, 500.0), 1, "engine", true),
            body("turbo-bracket", block(120.0, 40.0, 120.0), at(100.0, 240.0, 640.0), 1, "bracket", false),
            body("battery-left", block(242.0, 175.0, 190.0), at(300.0, -520.0, 700.0), 0, "battery", true),
            body(
                "filler",
                Shape::Cylinder(Cylinder { radius_mm: 25.0, length_mm: 80.0 }),
                at(-300.0, 500.0, 900.0),
                0,
                "filler",
                true,
            ),
        ],
        rules: vec![RoomRule {
            one: RuleSide::Body("battery-left".to_owned()),
            other: RuleSide::Role("hot".to_owned()),
            least: Length::from_mm(50.0),
            because: "batteries age in heat".to_owned(),
            span: written(30),
        }],
        joined: vec![Joined {
            one: "turbo-bracket".to_owned(),
            other: "engine-block".to_owned(),
            by: "three M10 screws".to_owned(),
            joint: None,
            span: written(40),
        }],
        service: vec![ServicePoint {
            name: "battery-left-out".to_owned(),
            kind: ServiceKind::LiftOut { travel: Length::from_mm(260.0), room: Length::from_mm(5.0) },
            body: "battery-left".to_owned(),
            at: Point3::new(300.0, -520.0, 795.0),
            along: Vector3::z_axis(),
            opening: Length::from_mm(95.0),
            opening_source: "invented".to_owned(),
            from: Vec::new(),
            without: Vec::new(),
            span: written(50),
        }],
        ..Scene::default()
    }
}

/// Answers for unturned boxes: the distance between them in closed form, covers taken off.
pub struct BoxAsker;

impl Asker for BoxAsker {
    fn gap(&self, scene: &Scene, first: &str, second: &str, when: When) -> Result<Gap, String> {
        let bounds = |name: &str| {
            let body = scene.body(name).ok_or("no such body")?;
            let Shape::Block(block) = &*body.shape else { return Err(format!("`{name}` is no box")) };
            let (at, half) = (body.world_from_body * Point3::origin(), block.size_mm / 2.0);
            Ok((Bounds { min: at - half, max: at + half }, body.cover.mm()))
        };
        let ((one, one_cover), (other, other_cover)) = (bounds(first)?, bounds(second)?);
        let on_first = one.nearest(&other.center());
        // What rock takes is made up: a test sees which question was asked.
        let taken = if when == When::OverMovement { 7.0 } else { 0.0 };
        Ok(Gap {
            gap: Length::from_mm(one.gap_mm(&other) - one_cover - other_cover - taken),
            on_first,
            on_second: other.nearest(&on_first),
            pose: "at rest".to_owned(),
        })
    }
}

/// Runs a script in the bay with the usual options.
pub fn run(source: &str) -> Result<ScriptRun, ScriptErrors> {
    run_with(source, &ScriptOptions::default())
}

/// Runs a script in the bay.
pub fn run_with(source: &str, options: &ScriptOptions) -> Result<ScriptRun, ScriptErrors> {
    run_script(source, "try.rhai", &bay(), &BoxAsker, options)
}

/// What a script prints that must run.
pub fn printed(source: &str) -> Vec<String> {
    match run(source) {
        Ok(run) => run.printed,
        Err(errors) => panic!("{errors}\n{source}"),
    }
}

/// The message in one line of a script that must not run.
pub fn refused(source: &str) -> String {
    match run(source) {
        Ok(run) => panic!("it ran and printed {:?}", run.printed),
        Err(errors) => errors.list[0].one_line(),
    }
}
