//! Every fit word of a scene: where the body stands, what it is, what was left out, and what is refused.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fmt::Write as _;

use baywright::report::{fits_json, fits_text};
use baywright::scene::{Body, Scene};
use baywright::solid::Shape;
use nalgebra::{Point3, Vector3};

/// A scene of one survey with exact marks (sigma 0.2) and the bodies given.
fn scene(marks: &[(String, Point3<f64>)], extra: &str, bodies: &str) -> Result<Scene, String> {
    let mut text =
        format!("baywright: 1\nsurveys:\n  s:\n    instrument: probe\n    sigma: 0.2\n{extra}    marks:\n");
    for (name, p) in marks {
        writeln!(text, "      {name}: [{:.6}, {:.6}, {:.6}]", p.x, p.y, p.z).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    Scene::load_text(&folder.path().join("bay.yaml"), &(text + "bodies:\n" + bodies))
        .map_err(|e| e.to_string())
}

fn body<'a>(scene: &'a Scene, name: &str) -> &'a Body {
    scene.body(name).unwrap()
}

fn near(got: Point3<f64>, want: [f64; 3]) {
    assert!((got - Point3::from(want)).norm() < 1e-4, "{got} against {want:?}");
}

fn named(letter: &str, points: impl IntoIterator<Item = [f64; 3]>) -> Vec<(String, Point3<f64>)> {
    points.into_iter().enumerate().map(|(k, p)| (format!("{letter}{}", k + 1), Point3::from(p))).collect()
}

fn list(letter: &str, count: usize) -> String {
    (1..=count).map(|k| format!("{letter}{k}")).collect::<Vec<_>>().join(", ")
}

/// Rings about the z axis: (height, radius), `round` marks on each, turned a little from ring to ring.
fn rings(rings: &[(f64, f64)], round: usize) -> Vec<[f64; 3]> {
    let on = |(at, (z, r)): (usize, &(f64, f64))| -> Vec<[f64; 3]> {
        (0..round)
            .map(|k| {
                let a = std::f64::consts::TAU * (k as f64 / round as f64 + 0.07 * at as f64);
                [r * a.cos(), r * a.sin(), *z]
            })
            .collect()
    };
    rings.iter().enumerate().flat_map(on).collect()
}

#[test]
fn a_cone_is_a_frustum_over_its_marks() {
    // Radius 20 at z = 0, 40 at z = 100.
    let marks = named("K", rings(&[(0.0, 20.0), (50.0, 30.0), (100.0, 40.0)], 4));
    let made = scene(
        &marks,
        "",
        &format!("  k: {{fit: {{cone: {{survey: s, marks: [{}], margin: 10}}}}}}\n", list("K", 12)),
    );
    let made = made.unwrap();
    let Shape::Frustum(frustum) = &*body(&made, "k").shape else { panic!() };
    assert!((frustum.bottom_radius_mm - 18.0).abs() < 1e-4 && (frustum.top_radius_mm - 42.0).abs() < 1e-4);
    assert!((frustum.length_mm - 120.0).abs() < 1e-4);
    near(body(&made, "k").world_from_body * Point3::origin(), [0.0, 0.0, 50.0]);
    assert!((body(&made, "k").world_from_body * Vector3::z()).z > 0.999, "z runs toward the wide end");
}

#[test]
fn a_bend_reaches_over_its_marks() {
    // A pipe of 50 bent at 90 about z through a quarter turn from x to y, four touches at four places.
    let points = (0..16).map(|k| {
        let (along, round) =
            (30f64.to_radians() * f64::from(k / 4), 1.5 * f64::from(k % 4) + 0.3 * f64::from(k / 4));
        let ring = 90.0 + 25.0 * round.cos();
        [ring * along.cos(), ring * along.sin(), 25.0 * round.sin()]
    });
    let marks = named("E", points);
    let bend =
        |keys: &str| format!("  e: {{fit: {{bend: {{survey: s, marks: [{}]{keys}}}}}}}\n", list("E", 16));
    let made = scene(&marks, "", &bend(", margin: 9, axis: up")).unwrap();
    let e = body(&made, "e");
    let Shape::TorusArc(arc) = &*e.shape else { panic!() };
    assert!((arc.ring_radius_mm - 90.0).abs() < 1e-4 && (arc.tube_radius_mm - 25.0).abs() < 1e-4, "{arc:?}");
    // 9 mm along the centreline at each end.
    assert!((arc.sweep_rad - (90f64.to_radians() + 0.2)).abs() < 1e-4, "{}", arc.sweep_rad.to_degrees());
    near(e.world_from_body * Point3::origin(), [0.0; 3]);
    let begin = e.world_from_body * Vector3::x();
    assert!((begin - Vector3::new(0.1f64.cos(), -0.1f64.sin(), 0.0)).norm() < 1e-4, "{begin}");
    assert!((e.world_from_body * Vector3::z()).z > 0.999);
    // A diameter known from the label is taken as it is.
    let made = scene(&marks, "", &bend(", diameter: 52, diameter_sigma: 0.001")).unwrap();
    let Shape::TorusArc(arc) = &*body(&made, "e").shape else { panic!() };
    assert!((arc.tube_radius_mm - 26.0).abs() < 0.05, "{}", arc.tube_radius_mm);
}

#[test]
fn a_slot_is_a_bar_with_round_ends() {
    // Centres 22 apart, 17 wide, in z = 5; the solid 12 up from there.
    let mut points = Vec::new();
    for x in [-9.0, -3.0, 3.0, 9.0] {
        points.extend([[x, 8.5, 5.0], [x, -8.5, 5.0]]);
    }
    for a in [-1.0f64, 0.0, 1.0] {
        points.extend([
            [11.0 + 8.5 * a.cos(), 8.5 * a.sin(), 5.0],
            [-11.0 - 8.5 * a.cos(), 8.5 * a.sin(), 5.0],
        ]);
    }
    let marks = named("L", points);
    let made = scene(
        &marks,
        "",
        &format!("  l: {{fit: {{slot: {{survey: s, marks: [{}], depth: 12, along: up}}}}}}\n", list("L", 14)),
    );
    let made = made.unwrap();
    let bounds = body(&made, "l").shape.bounds_in(&body(&made, "l").world_from_body);
    assert!((bounds.min - Point3::new(-19.5, -8.5, 5.0)).norm() < 1e-3, "{bounds:?}");
    assert!((bounds.max - Point3::new(19.5, 8.5, 17.0)).norm() < 1e-3, "{bounds:?}");
}

#[test]
fn a_flange_stands_on_its_holes() {
    // Four holes on a circle of 80, one not measured; the flange goes down from z = 0.
    let marks = named("H", [[40.0, 0.0, 0.0], [0.0, 40.0, 0.0], [-40.0, 0.0, 0.0]]);
    let bolts = |flange: &str| {
        format!(
            "  f: {{fit: {{bolt_pattern: {{survey: s, marks: [H1, H2, H3], holes: 4, flange: {flange}, thickness: 10, along: down}}}}}}\n"
        )
    };
    let made = scene(&marks, "", &bolts("110")).unwrap();
    let flange = body(&made, "f");
    near(flange.world_from_body * Point3::origin(), [0.0, 0.0, -5.0]);
    assert!(
        matches!(&*flange.shape, Shape::Cylinder(c) if (c.radius_mm - 55.0).abs() < 1e-9 && c.length_mm == 10.0)
    );
    assert!((flange.world_from_body * Vector3::x() - Vector3::x()).norm() < 1e-6);
    let told = scene(&marks, "", &bolts("70")).unwrap_err();
    assert!(told.contains("circle of 80.0 mm, outside a flange of 70.0 mm"), "{told}");
}

#[test]
fn lines_edges_and_points_become_bars_strips_and_balls() {
    let mut marks = named("E", [[0.0, 0.0, 100.0], [150.0, 0.0, 100.0], [300.0, 0.0, 100.0]]);
    marks.extend(named("T", [[5.0, 6.0, 7.0]]));
    let bodies = "  cable: {fit: {line: {survey: s, marks: [E1, E2, E3], diameter: 8, margin: 10}}}
  lip: {fit: {edge: {survey: s, marks: [E1, E2, E3], thickness: 1.2, depth: 40, into: down}}}
  stud: {fit: {point: {survey: s, marks: [T1], diameter: 10}}}
";
    let made = scene(&marks, "", bodies).unwrap();
    let cable = body(&made, "cable");
    near(cable.world_from_body * Point3::origin(), [150.0, 0.0, 100.0]);
    assert!(
        matches!(&*cable.shape, Shape::Cylinder(c) if c.radius_mm == 4.0 && (c.length_mm - 320.0).abs() < 1e-6)
    );
    let lip = body(&made, "lip");
    let bounds = lip.shape.bounds_in(&lip.world_from_body);
    assert!((bounds.min - Point3::new(0.0, -0.6, 60.0)).norm() < 1e-6, "{bounds:?}");
    assert!((bounds.max - Point3::new(300.0, 0.6, 100.0)).norm() < 1e-6, "{bounds:?}");
    // 3 deg about the edge: 2.1 mm sideways at the lower end of the strip, none at the edge.
    let turn = lip.placement.covariance[(3, 3)].sqrt();
    assert!((turn.to_degrees() - 3.0).abs() < 1e-9, "{turn}");
    near(body(&made, "stud").world_from_body * Point3::origin(), [5.0, 6.0, 7.0]);
    assert!((body(&made, "stud").placement.covariance[(0, 0)] - 0.04).abs() < 1e-9);
    let told = scene(
        &marks,
        "",
        "  lip: {fit: {edge: {survey: s, marks: [E1, E2], thickness: 1, depth: 9, into: rearward}}}\n",
    );
    assert!(told.unwrap_err().contains("`into` lies within 10 deg of the edge itself"));
}

/// Marks of ball centres, 3 mm off each surface.
#[test]
fn a_tip_is_taken_off_in_every_word_that_has_a_side() {
    let mut marks = named("E", [[0.0, 0.0, 103.0], [300.0, 0.0, 103.0]]);
    marks.extend(named("K", rings(&[(0.0, 23.0), (50.0, 33.0), (100.0, 43.0)], 4)));
    let bodies = format!(
        "  lip: {{fit: {{edge: {{survey: s, marks: [E1, E2], thickness: 2, depth: 40, into: down}}}}}}
  k: {{fit: {{cone: {{survey: s, marks: [{}]}}}}}}\n",
        list("K", 12)
    );
    let made = scene(&marks, "    tip: 6\n", &bodies).unwrap();
    let lip = body(&made, "lip");
    assert!((lip.shape.bounds_in(&lip.world_from_body).max.z - 100.0).abs() < 1e-6);
    // A ball beside a cone of slope 0.2 touches 3 / cos(11.3 deg) off, square to the axis.
    let Shape::Frustum(frustum) = &*body(&made, "k").shape else { panic!() };
    let off = 3.0 * 1.04f64.sqrt();
    assert!((frustum.bottom_radius_mm - (23.0 - off)).abs() < 1e-4, "{}", frustum.bottom_radius_mm);
    for word in
        ["line: {survey: s, marks: [E1, E2], diameter: 8}", "point: {survey: s, marks: [E1], diameter: 8}"]
    {
        let told = scene(&marks, "    tip: 6\n", &format!("  b: {{fit: {{{word}}}}}\n")).unwrap_err();
        assert!(told.contains("has no side from which a ball tip could be taken off"), "{told}");
    }
}

fn bent() -> Vec<(String, Point3<f64>)> {
    // Legs of 50 mm pipe along x to (300, 0, 0), then along y.
    let ring = |k: usize| {
        let a = std::f64::consts::TAU * (k % 6) as f64 / 6.0 + 0.4 * (k / 6) as f64;
        (25.0 * a.cos(), 25.0 * a.sin())
    };
    let first = (0..12).map(|k| [[40.0, 180.0][k / 6], ring(k).0, ring(k).1]);
    let mut marks = named("A", first);
    marks.extend(named("B", (0..12).map(|k| [300.0 + ring(k).0, [120.0, 260.0][k / 6], ring(k).1])));
    marks
}

#[test]
fn a_bent_tube_runs_through_its_legs() {
    let word = |rest: &str| {
        format!(
            "  p: {{fit: {{tube: {{survey: s, legs: [[{}], [{}]], {rest}}}}}}}\n",
            list("A", 12),
            list("B", 12)
        )
    };
    let made = scene(&bent(), "", &word("bend_radius: 75, margin: 20")).unwrap();
    let Shape::Tube(tube) = &*body(&made, "p").shape else { panic!() };
    assert!((tube.radius_mm - 25.0).abs() < 1e-5);
    near(tube.corners[0], [20.0, 0.0, 0.0]);
    near(tube.corners[1], [300.0, 0.0, 0.0]);
    near(tube.corners[2], [300.0, 280.0, 0.0]);
    assert_eq!(tube.bend_radii_mm, [75.0]);
    let fit = body(&made, "p").fit.as_ref().unwrap();
    assert_eq!((fit.kind.as_str(), fit.spare, fit.residuals.len()), ("tube", 24 - 8, 24));
    assert!(body(&made, "p").placement.covariance.trace() > 0.0);
    let told = scene(&bent(), "", &word("bend_radius: [75, 75]")).unwrap_err();
    assert!(told.contains("2 bend radii for 1 corners"), "{told}");
    let told = scene(&bent(), "", &word("bend_radius: 400")).unwrap_err();
    assert!(told.contains("the fitted legs do not take these bends"), "{told}");
}

#[test]
fn what_was_left_out_is_named() {
    let mut marks = bent();
    // Four touches a ring could not tell which of them is wrong; six can.
    marks[2].1.z -= 4.0;
    let word = |leave: &str| {
        format!(
            "  p: {{fit: {{tube: {{survey: s, legs: [[{}], [{}]], bend_radius: 75{leave}}}}}}}\n",
            list("A", 12),
            list("B", 12)
        )
    };
    let kept = scene(&marks, "", &word("")).unwrap();
    assert!(body(&kept, "p").fit.as_ref().unwrap().left_out.is_empty());
    let made = scene(&marks, "", &word(", leave_out: true")).unwrap();
    let fit = body(&made, "p").fit.as_ref().unwrap();
    assert_eq!(fit.left_out.len(), 1);
    assert_eq!(fit.left_out[0].0, "A3");
    assert_eq!(fit.residuals.len(), 23);
    assert!(fit.residuals.iter().all(|(name, off)| name != "A3" && off.abs() < 1e-3), "{:?}", fit.residuals);
    let Shape::Tube(tube) = &*body(&made, "p").shape else { panic!() };
    near(tube.corners[1], [300.0, 0.0, 0.0]);
    let told = fits_text(&made).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("mark A3 lies"), "{told}");
    assert!(told.contains("off what the others say and was left out: measure it again"), "{told}");
    let json: serde_json::Value = serde_json::from_str(&fits_json(&made)).unwrap();
    assert_eq!(json["fits"][0]["left_out"][0]["mark"], "A3");
}
