//! A small invented bay, built by hand, for the viewer's tests: no vehicle has these sizes.
#![allow(dead_code, clippy::unwrap_used)]

use std::sync::Arc;

use baywright::check::{Cure, Finding, Findings, Place, Verdict};
use baywright::motion::{Freedom, Movement};
use baywright::scene::{Body, Carrier, Placement, Scene, Span};
use baywright::solid::{Block, Capsule, Cloud, Mesh, MeshKind, Plate, Shape, TorusArc, Tube};
use baywright::space::{Axis, Length, Pose};
use nalgebra::{Matrix6, Point2, Point3, UnitQuaternion, Vector3};

/// A rectangular block about the origin.
pub fn block(x: f64, y: f64, z: f64) -> Shape {
    Shape::Block(Block { size_mm: Vector3::new(x, y, z) })
}

/// A round bar about the origin, axis z, as a mesh; the radius may vary along it.
pub fn turned(stations: &[(f64, f64)]) -> Shape {
    let n = 64_u32;
    let (mut vertices, mut triangles) = (Vec::new(), Vec::new());
    for (z, radius) in stations {
        for i in 0..n {
            let a = std::f64::consts::TAU * f64::from(i) / f64::from(n);
            vertices.push(Point3::new(radius * a.cos(), radius * a.sin(), *z));
        }
    }
    let rings = stations.len() as u32;
    for ring in 0..rings - 1 {
        for i in 0..n {
            let (a, b) = (ring * n + i, ring * n + (i + 1) % n);
            triangles.extend([[a, b, b + n], [a, b + n, a + n]]);
        }
    }
    let last = (rings - 1) * n;
    for i in 1..n - 1 {
        triangles.extend([[0, i + 1, i], [last, last + i, last + i + 1]]);
    }
    Shape::Mesh(Mesh::new(vertices, triangles, MeshKind::Closed))
}

/// A wavy sheet of scan points, as a cloud.
pub fn scanned_sheet(side: usize, step: f64) -> Shape {
    let half = side as f64 * step / 2.0;
    let points = (0..side * side)
        .map(|i| {
            let (y, z) = ((i % side) as f64 * step - half, (i / side) as f64 * step - half);
            Point3::new(12.0 * (y / 60.0).sin() + 8.0 * (z / 45.0).cos(), y, z)
        })
        .collect();
    Shape::Cloud(Cloud::new(points, 0.6))
}

/// A body of a shape at a place, on the first carrier.
pub fn body(name: &str, shape: Shape, at: Vector3<f64>) -> Body {
    Body {
        name: name.to_owned(),
        shape: Arc::new(shape),
        world_from_body: Pose::translation(at.x, at.y, at.z),
        carrier: 0,
        roles: vec![],
        material: None,
        bent_by: None,
        hot_c: None,
        flow: None,
        mass_kg: None,
        hoist: None,
        hose: None,
        may_move: None,
        kept: false,
        candidate: false,
        cover: Length::ZERO,
        placement: Placement {
            about: Point3::from(at),
            covariance: Matrix6::zeros(),
            surface_mm: 0.0,
            source: None,
            shares: Vec::new(),
            form_mm: None,
        },
        fit: None,
        span: Span::default(),
    }
}

/// A finding about a gap between two bodies at two places, everything at rest.
pub fn finding(verdict: Verdict, bodies: [&str; 2], gap: f64, places: [Point3<f64>; 2]) -> Finding {
    Finding {
        code: "room",
        verdict,
        bodies: bodies.map(str::to_owned).to_vec(),
        required: Some(Length::from_mm(12.0)),
        actual: Some(Length::from_mm(gap)),
        at_rest: None,
        uncertainty: Some(Length::from_mm(1.5)),
        figures: Vec::new(),
        shown: Vec::new(),
        place: Some(Place {
            on_first: places[0],
            on_second: places[1],
            pose: "at rest".into(),
            values: vec![],
        }),
        rule: "hot to panel: 12.0 mm".into(),
        because: "paint and seam sealer stay cool enough".into(),
        cure: None,
        message: String::new(),
    }
}

/// Where two round bars (axis z of each body) come nearest, and the gap between them (in x): the
/// two axes are sampled, which is near enough for a mark in a picture.
fn axes_gap(scene: &Scene, pair: [&str; 2], radii: [f64; 2]) -> [Vector3<f64>; 3] {
    let samples = |name: &str| {
        let pose = scene.body(name).unwrap().world_from_body;
        (-230..=230).map(move |z| pose * Point3::new(0.0, 0.0, f64::from(z))).collect::<Vec<_>>()
    };
    let (one, other) = (samples(pair[0]), samples(pair[1]));
    let pairs = one.iter().flat_map(|a| other.iter().map(move |b| (a, b)));
    let (a, b) = pairs.min_by(|p, q| (p.0 - p.1).norm().total_cmp(&(q.0 - q.1).norm())).unwrap();
    let way = (b - a).normalize();
    let gap = (b - a).norm() - radii[0] - radii[1];
    [a.coords + way * radii[0], b.coords - way * radii[1], Vector3::new(gap, 0.0, 0.0)]
}

/// An engine that rocks about a line along x, a firewall, a cowl, a battery, a hood, a pipe, and
/// a second turbo on trial; with findings of every verdict, made by hand.
pub fn bay() -> (Scene, Findings) {
    let turn = |along, from_rad: f64, to_rad: f64, through: Point3<f64>| Movement {
        freedoms: vec![Freedom::Turn { axis: Axis { through, along }, from_rad, to_rad }],
    };
    let carrier = |name: &str, movement: Movement, word: &str| Carrier {
        name: name.into(),
        freedom_words: if word.is_empty() { vec![] } else { vec![word.into()] },
        movement,
        span: Span::default(),
    };
    let rock = 0.08;
    let carriers = vec![
        carrier("chassis", Movement::still(), ""),
        carrier("engine", turn(Vector3::x_axis(), -rock, rock, Point3::new(0.0, 0.0, -180.0)), "rock"),
        carrier("hood", turn(Vector3::y_axis(), 0.0, 1.1, Point3::new(560.0, 0.0, 420.0)), "hinge"),
    ];
    let mut bodies = Vec::new();
    let mut add = |body: Body| bodies.push(body);
    let kept = |mut b: Body| {
        b.kept = true;
        b
    };
    let on_engine = |mut b: Body| {
        b.carrier = 1;
        b
    };
    let laid = |mut b: Body, roll: f64, pitch: f64, yaw: f64| {
        b.world_from_body.rotation = UnitQuaternion::from_euler_angles(roll, pitch, yaw);
        b
    };
    let quarter = std::f64::consts::FRAC_PI_2;
    let v = Vector3::new;

    add(kept(on_engine(body("engine", block(640.0, 260.0, 400.0), v(0.0, 0.0, 0.0)))));
    add(kept(on_engine(body("cam cover", block(600.0, 170.0, 60.0), v(0.0, 0.0, 230.0)))));
    let pulley = turned(&[(-14.0, 70.0), (14.0, 70.0)]);
    add(kept(on_engine(laid(body("crank pulley", pulley, v(-345.0, 0.0, -120.0)), 0.0, quarter, 0.0))));
    let (y, z) = (550.0, 310.0);
    let ring = |y: f64, z: f64, r: f64| {
        let at = |i: i32| std::f64::consts::TAU * f64::from(i) / 40.0;
        (0..40).map(|i| Point2::new(z + r * at(i).cos(), y + r * at(i).sin())).collect::<Vec<_>>()
    };
    let firewall = Shape::Plate(Plate {
        outline: [(-z, -y), (z, -y), (z, y), (-z, y)].map(|(z, y)| Point2::new(z, y)).to_vec(),
        holes: vec![ring(-330.0, -40.0, 34.0), ring(310.0, 130.0, 48.0)],
        thickness_mm: 12.0,
    });
    // The plate's x is up and its thickness runs rearward.
    let mut firewall = kept(body("firewall", firewall, v(514.0, 0.0, 60.0)));
    firewall.world_from_body.rotation = UnitQuaternion::from_euler_angles(0.0, -quarter, 0.0);
    firewall.world_from_body.rotation *= UnitQuaternion::from_euler_angles(std::f64::consts::PI, 0.0, 0.0);
    add(firewall);
    add(kept(body("cowl", block(170.0, 1100.0, 14.0), v(440.0, 0.0, 377.0))));
    add(kept(body("battery", block(240.0, 175.0, 190.0), v(-180.0, -410.0, 60.0))));
    add(body("battery tray", block(280.0, 210.0, 14.0), v(-180.0, -410.0, -42.0)));
    let rail = block(1100.0, 70.0, 90.0);
    add(kept(body("left rail", rail.clone(), v(0.0, -520.0, -120.0))));
    add(kept(body("right rail", rail, v(0.0, 520.0, -120.0))));
    add(kept(body("radiator", block(50.0, 760.0, 460.0), v(-520.0, 0.0, 20.0))));
    let tank = turned(&[(-70.0, 55.0), (50.0, 55.0), (75.0, 22.0), (95.0, 22.0)]);
    add(kept(body("coolant tank", tank, v(150.0, 430.0, 120.0))));
    let turbo = turned(&[
        (-62.0, 58.0),
        (-20.0, 74.0),
        (6.0, 74.0),
        (24.0, 46.0),
        (40.0, 88.0),
        (74.0, 88.0),
        (92.0, 40.0),
    ]);
    let mut turbo = on_engine(laid(body("second turbo", turbo, v(320.0, 210.0, 275.0)), 0.0, quarter, 0.0));
    turbo.candidate = true;
    turbo.roles = vec!["hot".into()];
    add(turbo);
    let pipe = turned(&[(-230.0, 32.0), (230.0, 32.0)]);
    let mut pipe = on_engine(laid(body("hot pipe", pipe, v(40.0, 212.0, 60.0)), 0.25, quarter, 0.0));
    pipe.candidate = true;
    add(pipe);
    let hose = turned(&[(-300.0, 17.0), (300.0, 17.0)]);
    add(laid(body("heater hose", hose, v(180.0, 232.0, 105.0)), 0.1, quarter, 0.15));
    let pipe = Shape::Tube(Tube {
        corners: vec![
            v(-430.0, 150.0, 330.0),
            v(-430.0, -90.0, 330.0),
            v(-260.0, -230.0, 250.0),
            v(60.0, -230.0, 250.0),
        ]
        .into_iter()
        .map(Point3::from)
        .collect(),
        bend_radii_mm: vec![90.0, 90.0],
        radius_mm: 30.0,
        wall_mm: Some(1.5),
    });
    add(kept(body("charge pipe", pipe, Vector3::zeros())));
    let clip = Shape::TorusArc(TorusArc { ring_radius_mm: 34.0, tube_radius_mm: 4.0, sweep_rad: 5.4 });
    add(laid(body("pipe clip", clip, v(-60.0, -230.0, 250.0)), 0.0, quarter, 0.0));
    let canister = Shape::Capsule(Capsule { radius_mm: 45.0, core_mm: 90.0 });
    add(kept(body("vapour canister", canister, v(260.0, -430.0, 60.0))));
    add(body("left wing, scanned", scanned_sheet(160, 3.2), v(-60.0, -585.0, 120.0)));
    bodies.last_mut().unwrap().world_from_body.rotation =
        UnitQuaternion::from_euler_angles(0.0, 0.0, quarter);

    let scene = Scene { title: "Invented bay for a picture".into(), carriers, bodies, ..Scene::default() };
    let p = Point3::new;
    let pair = ["heater hose", "hot pipe"];
    let [on_hose, on_pipe, overlap] = axes_gap(&scene, pair, [17.0, 32.0]);
    let mut touching =
        finding(Verdict::Touching, pair, overlap.x, [Point3::from(on_hose), Point3::from(on_pipe)]);
    touching.cure = Some(Cure { body: "hot pipe".into(), shift: v(0.0, -15.1, 0.0), proved: true });
    let list = vec![
        touching,
        finding(
            Verdict::Short,
            ["second turbo", "cowl"],
            7.0,
            [p(372.0, 210.0, 363.0), p(372.0, 210.0, 370.0)],
        ),
        finding(
            Verdict::Undecided,
            ["second turbo", "firewall"],
            102.0,
            [p(412.0, 210.0, 275.0), p(514.0, 210.0, 275.0)],
        ),
        finding(
            Verdict::Clear,
            ["battery", "engine"],
            192.0,
            [p(-180.0, -322.0, 60.0), p(-180.0, -130.0, 60.0)],
        ),
    ];
    let not_checked = vec!["what the measured points do not cover".into()];
    (scene, Findings { list, not_checked, ..Findings::default() })
}
