//! The scripts that ship: what they build stands where they say.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::script_support;

use baywright::scene::Body;
use baywright::script::{ScriptRun, house_scripts};
use baywright::space::Bounds;
use nalgebra::{Point3, Vector3};
use script_support::{bay, printed, run};

fn ran(source: &str) -> ScriptRun {
    run(source).unwrap_or_else(|errors| panic!("{errors}\n{source}"))
}

/// Distance of a point in vehicle axes from a body's surface, and the outward normal there.
fn surface(body: &Body, point: &Point3<f64>) -> (f64, Vector3<f64>) {
    let closest = body.shape.closest(&body.world_from_body.inverse_transform_point(point));
    (closest.distance_mm, body.world_from_body.rotation * closest.normal.into_inner())
}

/// A point as it is printed: `at(1, 2, 3)`.
fn parsed(text: &str) -> Point3<f64> {
    let numbers: Vec<f64> = text
        .trim_start_matches("at(")
        .trim_end_matches(')')
        .split(", ")
        .map(|number| number.parse().unwrap())
        .collect();
    Point3::new(numbers[0], numbers[1], numbers[2])
}

const TURBO: &str = r#"
    import "house/turbo" as turbo;
    let face = scene.frame("bracket-face");
    let options = #{name: "second-turbo", turbine_clock: deg(15), compressor_clock: deg(40)};
    turbo::place_on(face, deg(CLOCK), options);
    let ports = turbo::ports(face, deg(CLOCK), options);
    for name in ports.keys() {
        print(name); print(ports[name].at); print(ports[name].z_dir * 1000);
    }
"#;

#[test]
fn a_turbo_stands_on_the_face_and_its_ports_are_on_its_skin() {
    for clock in [0, 20, 135] {
        let run = ran(&TURBO.replace("CLOCK", &clock.to_string()));
        let turbo = run.scene.body("second-turbo").unwrap();
        assert_eq!(run.scene.carriers[turbo.carrier].name, "engine");
        assert_eq!(turbo.roles, ["hot"]);
        // The face looks right at y = 260: nothing of the turbo lies behind it.
        let bounds: Bounds = turbo.shape.bounds_in(&turbo.world_from_body);
        assert!((bounds.min.y - 260.0).abs() < 1e-9, "clock {clock}: {bounds:?}");
        let mut names = Vec::new();
        for port in run.printed.chunks(3) {
            let [name, at, out] = port else { panic!("{port:?}") };
            let (at, out) = (parsed(at), parsed(out).coords / 1000.0);
            let (distance, normal) = surface(turbo, &at);
            assert!(distance.abs() < 1e-3, "clock {clock}: {name} is {distance} mm off the skin");
            assert!(normal.dot(&out) > 1.0 - 1e-5, "clock {clock}: {name} looks {out}, the skin {normal}");
            names.push(name.as_str());
        }
        assert_eq!(
            names,
            [
                "compressor_inlet",
                "compressor_outlet",
                "oil_drain",
                "oil_feed",
                "turbine_inlet",
                "turbine_outlet"
            ]
        );
    }
}

/// Closed form: the face's z is +y of the vehicle, its x is +x. The shaft stands 95 above the face; the
/// drain's end is 84 / 2 + 34 = 76 from the shaft and 62 / 2 + 58 / 2 = 60 along it.
#[test]
fn clocking_turns_the_whole_about_the_face_and_the_housings_about_the_shaft() {
    let port = |clock: i32, turbine: i32, compressor: i32, name: &str| {
        let source = format!(
            "import \"house/turbo\" as turbo;
            let options = #{{turbine_clock: deg({turbine}), compressor_clock: deg({compressor})}};
            print(turbo::ports(scene.frame(\"bracket-face\"), deg({clock}), options).{name}.at);"
        );
        parsed(&printed(&source)[0]) - Point3::new(100.0, 260.0, 640.0)
    };
    let near = |got: Vector3<f64>, want: [f64; 3], case: &str| {
        assert!((got - Vector3::from(want)).norm() < 1e-5, "{case}: {got}");
    };
    near(port(0, 0, 0, "oil_drain"), [60.0, 95.0 - 76.0, 0.0], "at clock 0 the drain points at the face");
    // About +y by 90 deg x goes to -z.
    near(port(90, 0, 0, "oil_drain"), [0.0, 95.0 - 76.0, -60.0], "the whole turned a quarter");
    // About the shaft (+x) by 90: the way to the face (-y) goes to -z.
    near(port(0, 90, 0, "oil_drain"), [60.0, 95.0, -76.0], "the centre section turned a quarter");
    near(port(0, 90, 30, "oil_drain"), [60.0, 95.0, -76.0], "the compressor's clock leaves the drain alone");
    // Outlet: 132 along the shaft, 164 / 2 - 58 / 2 = 53 above it, 92 along y of the face, which is -z.
    near(port(0, 0, 0, "compressor_outlet"), [132.0, 95.0 + 53.0, -92.0], "the compressor at 0");
    near(port(0, 0, 180, "compressor_outlet"), [132.0, 95.0 - 53.0, 92.0], "turned half about the shaft");
    near(port(0, 90, 90, "compressor_outlet"), [132.0, 95.0 - 53.0, 92.0], "both clocks add");
    near(port(0, 50, 70, "turbine_outlet"), [-31.0 - 38.0, 95.0, 0.0], "the turbine is fixed by its foot");
}

#[test]
fn own_sizes_and_all_options_of_place_reach_the_turbo() {
    let run = ran(r#"
        import "house/turbo" as turbo;
        turbo::place_on(scene.body("engine-block").face(left), 0, #{
            name: "big", sizes: #{turbine_diameter: "8 in"}, role: ["hot", "turbo"], wrap: 4,
            joined_to: "engine-block", by: "studs"
        });
    "#);
    let big = run.scene.body("big").unwrap();
    assert_eq!((big.roles.len(), big.cover.mm(), big.joined_with(&run)), (2, 4.0, "studs".to_owned()));
    // Shaft 95 off the block's left side (y = -200), the housing's radius 4 in.
    let bounds = big.shape.bounds_in(&big.world_from_body);
    assert!((bounds.min.y - (-200.0 - 95.0 - 101.6)).abs() < 1e-9, "{bounds:?}");
}

trait JoinedWith {
    fn joined_with(&self, run: &ScriptRun) -> String;
}

impl JoinedWith for Body {
    fn joined_with(&self, run: &ScriptRun) -> String {
        run.joined.iter().find(|joint| joint.one == self.name).map(|joint| joint.by.clone()).unwrap()
    }
}

#[test]
fn a_tank_stands_off_the_panel_by_what_was_asked() {
    let run = ran(r#"
        import "house/tank" as tank;
        tank::against("firewall", forward, #{name: "high", stand_off: "1/2 in", aside: 150, above: 40});
        print(tank::cap("firewall", forward, #{stand_off: "1/2 in", aside: 150, above: 40}));
        tank::against("engine-block", up, #{name: "flat", stand_off: 8, role: "coolant"});
        print(tank::cap("engine-block", up, #{stand_off: 8}));
    "#);
    let bounds = |name: &str| {
        let body = run.scene.body(name).unwrap();
        body.shape.bounds_in(&body.world_from_body)
    };
    // The firewall's face is at x = 598.8; 12.7 off it stands the tank's back, 110 deep.
    let high = bounds("high");
    assert!((high.max.x - (598.8 - 12.7)).abs() < 1e-9 && (high.min.x - (598.8 - 12.7 - 110.0)).abs() < 1e-9);
    // Looking at it, rearward, the right hand is the vehicle's left: -y.
    assert!(
        (high.min.y + 150.0 + 110.0).abs() < 1e-9 && (high.max.y + 150.0 - 110.0).abs() < 1e-9,
        "{high:?}"
    );
    // 160 high about 740, the neck 40 more.
    assert!((high.min.z - 660.0).abs() < 1e-9 && (high.max.z - 860.0).abs() < 1e-9, "{high:?}");
    assert_eq!(run.printed[0], "pose(at(531.1, -150, 860)) turned x 0, y 0, z 0 deg");
    // On the block (top at 750): 8 off, 110 deep, the neck upward.
    let flat = bounds("flat");
    assert!((flat.min.z - 758.0).abs() < 1e-9 && (flat.max.z - 908.0).abs() < 1e-9, "{flat:?}");
    assert_eq!(run.scene.body("flat").unwrap().roles, ["coolant"]);
    assert_eq!(run.scene.carriers[run.scene.body("flat").unwrap().carrier].name, "engine");
    assert!(bay().body("flat").is_none());
}

/// No sentence of a house script may stand in the way of its being read: they are plain text within
/// 120 columns, each function told in a line above it.
#[test]
fn house_scripts_tell_what_each_function_does() {
    for script in house_scripts() {
        let lines: Vec<&str> = script.text.lines().collect();
        for (number, line) in lines.iter().enumerate() {
            assert!(line.chars().count() <= 120, "house/{}:{}: {line}", script.name, number + 1);
            if line.starts_with("fn ") {
                assert!(
                    lines[number - 1].starts_with("/// "),
                    "house/{}: nothing is said of `{line}`",
                    script.name
                );
            }
        }
    }
}
