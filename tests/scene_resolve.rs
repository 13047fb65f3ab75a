//! What a scene means once it is read: places, carriers, uncertainty, fits, rules, service points.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::common::load;

use std::path::Path;

use approx::assert_relative_eq;
use baywright::motion::Freedom;
use baywright::scene::{Body, RuleSide, Scene, ServiceKind};
use baywright::solid::Shape;
use nalgebra::{Point3, Vector3};

fn body<'a>(scene: &'a Scene, name: &str) -> &'a Body {
    scene.body(name).unwrap()
}

fn at(body: &Body) -> Point3<f64> {
    body.world_from_body * Point3::origin()
}

#[test]
fn poses_chain_and_carriers_follow() {
    let scene = load(
        "baywright: 1
carriers: {engine: {rock: {through: [0, 0, 0], along: rearward, forward: 3, reverse: 2}}}
frames:
  face: {on: block, at: [0, 100, 0], turn: {x: -90}}
bodies:
  block: {shape: {box: [10, 10, 10]}, at: [1000, 0, 0], turn: {z: 90}, carried_by: engine}
  part: {shape: {box: [1, 1, 1]}, on: face, at: [5, 0, 7]}
  parked: {shape: {box: [1, 1, 1]}, on: face, carried_by: chassis}
  straight: {shape: {box: [1, 1, 1]}, at: 
    [1 in, 2-1/2 in, 7 ft 2 in]}
",
    );
    // Block turned 90 about z: its y is -x of the vehicle. Face: 100 along it: (900, 0, 0).
    // The face is turned -90 about the block's x: its z is the block's y (-x of the vehicle), its x the
    // block's x (y of the vehicle). So the part: 7 along -x, 5 along y.
    assert_relative_eq!(at(body(&scene, "part")), Point3::new(893.0, 5.0, 0.0), epsilon = 1e-9);
    assert_eq!(
        scene.carriers[body(&scene, "part").carrier].name,
        "engine",
        "through the frame, from the block"
    );
    assert_eq!(body(&scene, "parked").carrier, 0, "given, so not inherited");
    assert_relative_eq!(at(body(&scene, "straight")), Point3::new(25.4, 63.5, 2184.4), epsilon = 1e-9);
}

#[test]
fn an_axis_aims_z_in_the_vehicle_or_in_what_it_stands_on() {
    let scene = load(
        "baywright: 1
frames: {tilted: {turn: {y: 90}}}
bodies:
  word: {shape: {cylinder: {diameter: 2, length: 9}}, on: tilted, axis: right}
  local: {shape: {cylinder: {diameter: 2, length: 9}}, on: tilted, axis: -x}
  triple: {shape: {cylinder: {diameter: 2, length: 9}}, axis: [3, 0, 4]}
",
    );
    for (name, want) in [
        ("word", Vector3::y()),
        // The frame is turned 90 about y: its x is -z of the vehicle, so -x is z.
        ("local", Vector3::z()),
        ("triple", Vector3::new(0.6, 0.0, 0.8)),
    ] {
        let z = body(&scene, name).world_from_body * Vector3::z();
        assert_relative_eq!(z, want, epsilon = 1e-12);
    }
}

#[test]
fn from_and_to_place_a_round_bar() {
    let scene = load(
        "baywright: 1
bodies:
  rod: {shape: {cylinder: {diameter: 8, from: [10, 0, 0], to: [10, 30, 40]}}, at: [0, 0, 100]}
  pin: {shape: {capsule: {radius: 3, from: [0, 0, 0], to: [0, 0, -20]}}}
  cup: {shape: {cone: {bottom_diameter: 40, top_diameter: 0, from: [0, 0, 0], to: [60, 0, 0]}}}
",
    );
    let rod = body(&scene, "rod");
    assert_relative_eq!(at(rod), Point3::new(10.0, 15.0, 120.0), epsilon = 1e-12);
    assert!(matches!(&*rod.shape, Shape::Cylinder(bar) if bar.length_mm == 50.0 && bar.radius_mm == 4.0));
    let end = rod.world_from_body * Point3::new(0.0, 0.0, 25.0);
    assert_relative_eq!(end, Point3::new(10.0, 30.0, 140.0), epsilon = 1e-9);
    let pin = body(&scene, "pin");
    assert_relative_eq!(
        pin.world_from_body * Point3::new(0.0, 0.0, 10.0),
        Point3::new(0.0, 0.0, -20.0),
        epsilon = 1e-12
    );
    let tip = body(&scene, "cup").world_from_body * Point3::new(0.0, 0.0, 30.0);
    assert_relative_eq!(tip, Point3::new(60.0, 0.0, 0.0), epsilon = 1e-9);
}

#[test]
fn covers_add_up_and_uncertainty_is_carried_to_what_stands_on_it() {
    let scene = load(
        "baywright: 1
bodies:
  block: {shape: {box: [10, 10, 10]}, sigma: 3, sigma_turn: 0.5 rad arc}
"
        .replace("0.5 rad arc", "0.01 rad")
        .as_str(),
    );
    assert_eq!(body(&scene, "block").placement.covariance[(0, 0)], 9.0);
    let scene = load(
        "baywright: 1
bodies:
  block: {shape: {box: [10, 10, 10]}, sigma: 3, sigma_turn: 0.01 rad, sigma_surface: 0.5}
  part: {shape: {box: [1, 1, 1]}, on: block, at: [200, 0, 0], sigma: 4, wrap: 6, coating: 0.2, sheath: 1}
",
    );
    let part = body(&scene, "part");
    assert_relative_eq!(part.cover.mm(), 7.2, epsilon = 1e-12);
    let covariance = &part.placement.covariance;
    // Along x: 3 and 4 in quadrature. Along y and z also 200 mm times 0.01 rad = 2 mm.
    assert_relative_eq!(covariance[(0, 0)], 25.0, epsilon = 1e-9);
    assert_relative_eq!(covariance[(1, 1)], 29.0, epsilon = 1e-9);
    assert_relative_eq!(covariance[(2, 2)], 29.0, epsilon = 1e-9);
    assert_relative_eq!(covariance[(5, 5)], 1e-4, epsilon = 1e-12);
    assert_eq!(part.placement.about, at(part));
    assert_eq!(part.placement.surface_mm, 0.0, "a surface's own error stays with it");
    assert_eq!(body(&scene, "block").placement.surface_mm, 0.5);
}

#[test]
fn a_carrier_rocks_about_its_axis_and_is_bounced_with_it() {
    let scene = load(
        "baywright: 1
carriers:
  engine:
    rock: {through: [900, 0, 420], along: rearward, forward: 3 deg, reverse: 2 deg}
    bounce: {up: 4, down: 6}
  hood: {hinge: {through: [1450, 0, 1010], along: right, from: -1, to: 60 deg}}
  jack: {lift: {along: up, travel: 300}}
  still:
",
    );
    assert_eq!(scene.carriers[0].name, "chassis");
    let engine = &scene.carriers[1];
    assert_eq!(engine.freedom_words, ["bounce", "rock"]);
    let [Freedom::Slide { from_mm, to_mm, .. }, Freedom::Turn { from_rad, to_rad, .. }] =
        &engine.movement.freedoms[..]
    else {
        panic!("{:?}", engine.movement)
    };
    assert_eq!((*from_mm, *to_mm), (-6.0, 4.0));
    assert_relative_eq!(from_rad.to_degrees(), -2.0, epsilon = 1e-12);
    assert_relative_eq!(to_rad.to_degrees(), 3.0, epsilon = 1e-12);
    // A point 100 right of the axis, rocked 3 deg right-handed about rearward (it rises), then bounced 4 up.
    let moved = engine.movement.world_from_rest(&[4.0, *to_rad]) * Point3::new(0.0, 100.0, 420.0);
    let (sin, cos) = 3f64.to_radians().sin_cos();
    assert_relative_eq!(moved, Point3::new(0.0, 100.0 * cos, 420.0 + 100.0 * sin + 4.0), epsilon = 1e-9);
    assert_eq!(scene.carriers[2].freedom_words, ["hinge"]);
    assert_eq!(scene.carriers[3].movement.freedoms[0].range(), (0.0, 300.0));
    assert!(scene.carriers[4].movement.freedoms.is_empty());
}

#[test]
fn fits_make_bodies_where_the_marks_are() {
    // Marks exactly on: a wall x = 900, seen from the front; a bar of radius 20 about (0, 0) along z
    // from 0 to 60; a ball of radius 10 about (500, 0, 0); a ring of radius 30 in z = 200; a box of
    // 200 x 100 x 60 about the origin.
    let scene = load(
        "baywright: 1
surveys:
  s:
    instrument: probe
    sigma: 0.2
    marks:
      W1: [900, -100, 0]
      W2: [900, 100, 0]
      W3: [900, 100, 80]
      W4: [900, -100, 80]
      W5: [900, 0, 40]
      C1: [20, 0, 0]
      C2: [0, 20, 0]
      C3: [-20, 0, 0]
      C4: [0, -20, 0]
      C5: [12, 16, 60]
      C6: [-12, 16, 60]
      C7: [-16, -12, 60]
      S1: [510, 0, 0]
      S2: [490, 0, 0]
      S3: [500, 10, 0]
      S4: [500, 0, 10]
      S5: [500, -6, -8]
      R1: [30, 0, 200]
      R2: [0, 30, 200]
      R3: [-30, 0, 200]
      R4: [0, -30, 200]
      B1: [50, 20, 30]
      B2: [-60, 20, 30]
      B3: [10, -30, 30]
      B4: [-40, 50, 5]
      B5: [60, 50, -9]
      B6: [100, 8, 4]
bodies:
  wall: {fit: {plane: {survey: s, marks: [W1, W2, W3, W4, W5], thickness: 2, solid_side: rearward, margin: 10}}}
  bar: {fit: {cylinder: {survey: s, marks: [C1, C2, C3, C4, C5, C6, C7], along: up, margin: 5}}}
  ball: {fit: {sphere: {survey: s, marks: [S1, S2, S3, S4, S5]}}}
  cup: {fit: {circle: {survey: s, marks: [R1, R2, R3, R4], depth: 40, along: down}}}
  case: {fit: {box: {survey: s, faces: {up: [B1, B2, B3], right: [B4, B5], rearward: B6}, size_x: 200, size_y: 100, size_z: 60}}}
  on-wall: {shape: {box: [2, 2, 2]}, on: wall, at: [0, 0, -1]}
",
    );
    let wall = body(&scene, "wall");
    let Shape::Plate(plate) = &*wall.shape else { panic!("{:?}", wall.shape) };
    assert_relative_eq!(plate.face_mm2(), 200.0 * 80.0 + 2.0 * 10.0 * 280.0 + 4.0 * 50.0, epsilon = 1e-6);
    for (z, x) in [(0.0, 900.0), (2.0, 902.0)] {
        let corner = wall.world_from_body * Point3::new(plate.outline[0].x, plate.outline[0].y, z);
        assert_relative_eq!(corner.x, x, epsilon = 1e-9);
    }
    let fit = wall.fit.as_ref().unwrap();
    assert_eq!(
        (fit.kind.as_str(), fit.survey.as_str(), fit.spare, fit.residuals.len()),
        ("plane", "s", 2, 5)
    );
    // Five readings of 0.2 mm: the plane's place is known to 0.2 / sqrt(5) amid them.
    assert_relative_eq!(wall.placement.covariance[(0, 0)], 0.04 / 5.0, max_relative = 1e-6);
    assert_eq!(wall.placement.source.as_deref(), Some("s"));

    let bar = body(&scene, "bar");
    assert!(
        matches!(&*bar.shape, Shape::Cylinder(c) if (c.radius_mm - 20.0).abs() < 1e-6 && (c.length_mm - 70.0).abs() < 1e-6)
    );
    assert_relative_eq!(at(bar), Point3::new(0.0, 0.0, 30.0), epsilon = 1e-6);
    assert!((bar.world_from_body * Vector3::z()).z > 0.999);
    let ball = body(&scene, "ball");
    assert_relative_eq!(at(ball), Point3::new(500.0, 0.0, 0.0), epsilon = 1e-6);
    let cup = body(&scene, "cup");
    assert_relative_eq!(at(cup), Point3::new(0.0, 0.0, 180.0), epsilon = 1e-6);
    let case = body(&scene, "case");
    assert_relative_eq!(at(case), Point3::origin(), epsilon = 1e-6);
    assert!(
        matches!(&*case.shape, Shape::Block(block) if (block.size_mm - Vector3::new(200.0, 100.0, 60.0)).norm() < 1e-6)
    );
    let on_wall = body(&scene, "on-wall");
    assert_relative_eq!(at(on_wall).x, 899.0, epsilon = 1e-9);
    assert_eq!(on_wall.placement.source.as_deref(), Some("s"), "it shares the wall's error");
    assert_relative_eq!(
        on_wall.placement.covariance[(0, 0)],
        wall.placement.covariance[(0, 0)],
        max_relative = 1e-6
    );
}

#[test]
fn a_survey_in_axes_of_its_own_is_brought_into_the_vehicle_s() {
    // The survey stands turned 90 deg about z and shifted: survey (x, y, z) is vehicle (100 - y, 200 + x, z).
    let text = |align: &str| {
        format!(
            "baywright: 1
surveys:
  s:
    instrument: tape
    sigma: 1
    marks: {{D1: [0, 0, 0], D2: [0, -500, 0], D3: [400, 0, 0], T: [10, 20, 30], O: [0, 0, 90]}}
    align: {align}
bodies:
  wall: {{fit: {{plane: {{survey: s, marks: [D1, D2, D3], thickness: 2, solid_side: down}}}}}}
"
        )
    };
    for align in [
        "{plane: {marks: [D1, D2, D3], normal: up, at: 0, toward: O}, line: {marks: [D1, D2], along: rearward}, origin: {mark: D1, at: [100, 200, 0]}}",
        "{points: {D1: [100, 200, 0], D2: [600, 200, 0], D3: [100, 600, 0]}}",
    ] {
        let scene = load(&text(align));
        let survey = &scene.surveys[0];
        let (_, at, sigma) = survey.marks.iter().find(|(name, ..)| name == "T").unwrap();
        assert_relative_eq!(*at, Point3::new(80.0, 210.0, 30.0), epsilon = 1e-6);
        assert!(*sigma > 1.0, "the datum adds its share: {sigma}");
    }
}

#[test]
fn rules_come_from_the_library_then_from_the_scene_and_sides_are_bodies_before_roles() {
    let scene = load(
        "baywright: 1
include: [house:rules/common]
bodies: {hose: {shape: {box: [1, 1, 1]}, role: hot}}
rules:
  - {between: [hose, hot], least: 5, because: it rubs}
  - {between: [any, battery], least: 1 in, because: it rubs}
",
    );
    let own = &scene.rules[scene.rules.len() - 2..];
    assert_eq!(own[0].one, RuleSide::Body("hose".into()), "a body of that name comes before the role");
    assert_eq!(own[0].other, RuleSide::Role("hot".into()));
    assert_eq!((&own[1].one, own[1].least.mm()), (&RuleSide::Any, 25.4));
    let house = &scene.rules[0];
    assert_eq!(house.span.file, "house:rules/common");
    assert!(scene.rules.iter().rev().skip(2).all(|rule| rule.because.contains("common practice, no source")));
    assert_eq!(scene.files, [Path::new("bay.yaml")], "the library is no file of the scene");
}

#[test]
fn service_points_find_their_place_and_their_opening() {
    let scene = load(
        "baywright: 1
people:
  reaches: {own: {length: 2 ft, source: measured}}
  standing: {front: {shoulder: [0, 0, 1200], reach: own}, side: {shoulder: [0, 1, 2], reach: 700 mm}}
openings: {hand-bare: {diameter: 90, source: measured}}
bodies:
  cap: {shape: {cylinder: {diameter: 60, length: 20}}, at: [100, 0, 500], axis: right}
  cover: {shape: {box: [1, 1, 1]}}
service:
  look: {touch: {body: cap}, without: cover}
  open: {turn: {body: cap, along: right, grip_radius: 45, grip_height: 60}, from: [front]}
  fill: {pour: {body: cap, at: [0, 0, 10], on: cap, along: z, spout_radius: 25, spout_length: 250}}
  out: {lift-out: {body: cap, travel: 300}}
  reach-in: {touch: {body: cap}, opening: 4 in}
",
    );
    let point = |name: &str| scene.service.iter().find(|point| point.name == name).unwrap();
    assert_eq!(point("look").opening.mm(), 90.0, "the scene's own size replaces the library's");
    assert_eq!(point("look").at, Point3::new(100.0, 0.0, 500.0));
    assert_eq!(point("look").without, ["cover"]);
    assert_relative_eq!(point("open").at, Point3::new(100.0, 10.0, 500.0), epsilon = 1e-9);
    assert_eq!(point("open").opening.mm(), 125.0);
    assert!(point("open").opening_source.contains("from memory"), "{}", point("open").opening_source);
    assert_relative_eq!(point("fill").at, Point3::new(100.0, 10.0, 500.0), epsilon = 1e-9);
    assert_relative_eq!(point("fill").along.into_inner(), Vector3::y(), epsilon = 1e-12);
    assert_eq!(point("fill").opening.mm(), 50.0);
    assert!(
        matches!(&point("out").kind, ServiceKind::LiftOut { travel, room } if travel.mm() == 300.0 && room.mm() == 0.0)
    );
    assert_relative_eq!(point("reach-in").opening.mm(), 101.6, epsilon = 1e-9);
    assert_relative_eq!(scene.standing[0].reach.mm(), 609.6, epsilon = 1e-9);
    assert_eq!(scene.standing[1].reach.mm(), 700.0);
}

#[test]
fn includes_are_read_once_and_name_files_beside_themselves() {
    let folder = tempfile::tempdir().unwrap();
    let write = |path: &str, text: &str| {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    };
    write(
        "bay.yaml",
        "\u{FEFF}baywright: 1\r\nunits: in\r\ninclude: [parts/a.yaml, parts/b.yaml]\r\nbodies:\r\n  one: {shape: {sphere: {radius: 1}}}\r\n",
    );
    write(
        "parts/a.yaml",
        "units: cm\ninclude: [b.yaml, a.yaml]\nbodies: {two: {shape: {sphere: {radius: 1}}}}\n",
    );
    write("parts/b.yaml", "bodies: {three: {shape: {mesh: {file: wedge.obj, units: cm}}}}\n");
    write("parts/wedge.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n");
    let scene = Scene::load(&folder.path().join("bay.yaml")).unwrap_or_else(|errors| panic!("{errors}"));
    let names: Vec<&str> = scene.bodies.iter().map(|body| body.name.as_str()).collect();
    assert_eq!(names, ["three", "two", "one"], "what is included comes first, each file once");
    let radius = |name: &str| match &*scene.body(name).unwrap().shape {
        Shape::Ball(ball) => ball.radius_mm,
        shape => panic!("{shape:?}"),
    };
    assert_eq!((radius("one"), radius("two")), (25.4, 10.0), "each file has its own units");
    assert_relative_eq!(scene.body("three").unwrap().shape.volume_mm3(), 1000.0 / 6.0, epsilon = 1e-9);
    let files: Vec<String> = scene.files.iter().map(|file| file.to_string_lossy().into_owned()).collect();
    assert_eq!(files, ["bay.yaml", "parts/a.yaml", "parts/b.yaml", "parts/wedge.obj"]);
    assert_eq!(scene.body("three").unwrap().span.file, "parts/b.yaml");
    assert_eq!((scene.body("one").unwrap().span.line, scene.body("one").unwrap().span.column), (5, 3));
}

#[cfg(unix)]
#[test]
fn a_link_that_leaves_the_folder_is_refused_and_one_that_stays_is_not() {
    let (folder, outside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    std::fs::write(outside.path().join("secret.yaml"), "bodies: {}\n").unwrap();
    std::fs::write(folder.path().join("real.yaml"), "bodies: {}\n").unwrap();
    std::os::unix::fs::symlink(outside.path().join("secret.yaml"), folder.path().join("out.yaml")).unwrap();
    std::os::unix::fs::symlink("real.yaml", folder.path().join("in.yaml")).unwrap();
    let load = |name: &str| {
        Scene::load_text(&folder.path().join("bay.yaml"), &format!("baywright: 1\ninclude: [{name}]\n"))
    };
    load("in.yaml").unwrap();
    let errors = load("out.yaml").unwrap_err();
    insta::assert_snapshot!(errors, @"bay.yaml:2:11: `out.yaml` is refused: it is a link that leaves the scene's folder; put the file in the scene's folder and name it like `parts/bracket.stl`");
}

#[test]
fn every_file_of_the_library_loads_and_every_figure_names_its_source() {
    let scene = load(
        "baywright: 1\ninclude: [house:rules/common, house:openings, house:materials, house:roles, house:people/reach]\n",
    );
    assert!(scene.rules.len() > 20);
    assert!(scene.materials.iter().all(|material| !material.source.is_empty()));
    assert!(scene.roles.iter().any(|role| role == "hot"));
    for rule in &scene.rules {
        for side in [&rule.one, &rule.other] {
            assert!(
                matches!(side, RuleSide::Any)
                    || matches!(side, RuleSide::Role(role) if scene.roles.contains(role))
            );
        }
    }
    // Values of the sources named in the files: NUREG-0700 rev. 3 table 11.4 (677 mm), dimension 25 of
    // the on-line anthropometry (P5 British men 610 mm).
    let scene = load(
        "baywright: 1\npeople: {standing: {a: {shoulder: [0, 0, 0], reach: women-p5-functional}, b: {shoulder: [0, 0, 0], reach: men-p5-grip}}}\n",
    );
    assert_eq!((scene.standing[0].reach.mm(), scene.standing[1].reach.mm()), (677.0, 610.0));
}

#[test]
fn a_long_chain_of_frames_ends_no_stack() {
    let mut text = String::from("baywright: 1\nframes:\n  f0: {at: [1, 0, 0]}\n");
    for at in 1..20_000 {
        text.push_str(&format!("  f{at}: {{on: f{}, at: [0.001, 0, 0]}}\n", at - 1));
    }
    let scene = load(&text);
    let last = scene.frames.last().unwrap().world_from_frame.translation.x;
    assert_relative_eq!(last, 1.0 + 19.999, epsilon = 1e-6);
}

#[test]
fn faults_draw_their_place() {
    let folder = tempfile::tempdir().unwrap();
    let errors = Scene::load_text(
        &folder.path().join("bay.yaml"),
        "baywright: 1\nbodies:\n  tank: {shape: {box: [1, 2, 3]}, rloe: hot}\n",
    )
    .unwrap_err();
    insta::assert_snapshot!(baywright::report::fault_text(&errors.list()[0], false));
}
