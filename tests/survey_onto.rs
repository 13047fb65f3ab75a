//! `baywright scan A --onto B`: where it lies, what it says of the error, and what is refused.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use nalgebra::{Point3, Translation3, UnitQuaternion, Vector3};

use crate::outside::dice::Dice;

/// A bay of three panels, a pipe and a ball, with scatter of 0.4 mm.
fn bay(dice: &mut Dice) -> Vec<Point3<f64>> {
    let mut points = Vec::new();
    for _ in 0..2_000 {
        let (a, b) = (dice.between(0.0, 600.0), dice.between(0.0, 400.0));
        points.push(Point3::new(a, b, 0.0));
        points.push(Point3::new(a, 0.0, b));
        points.push(Point3::new(0.0, a * 2.0 / 3.0, b));
        let (around, along) = (dice.between(0.0, std::f64::consts::TAU), dice.between(50.0, 350.0));
        points.push(Point3::new(400.0 + 40.0 * around.cos(), along, 200.0 + 40.0 * around.sin()));
        points.push(Point3::new(200.0, 250.0, 120.0) + dice.vector(1.0).normalize() * 70.0);
    }
    points.iter().map(|p| p + Vector3::from_fn(|_, _| dice.normal() * 0.4)).collect()
}

fn write(path: &Path, points: impl Iterator<Item = Point3<f64>>) {
    let mut text = String::new();
    for p in points {
        writeln!(text, "{:.4} {:.4} {:.4}", p.x, p.y, p.z).unwrap();
    }
    fs::write(path, text).unwrap();
}

fn scan(folder: &Path, more: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("baywright")
        .unwrap()
        .current_dir(folder)
        .args(["scan", "moving.xyz", "--onto", "fixed.xyz"])
        .args(more)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn a_scan_is_brought_onto_another_with_its_error_told() {
    let folder = tempfile::tempdir().unwrap();
    let mut dice = Dice::new(11);
    let turn = UnitQuaternion::from_scaled_axis(Vector3::new(0.1, -0.12, 0.15));
    let truth = Translation3::new(60.0, -45.0, 30.0) * turn;
    write(&folder.path().join("fixed.xyz"), bay(&mut dice).into_iter());
    let moving = bay(&mut dice).into_iter().filter(|p| p.x + p.y > 120.0);
    write(&folder.path().join("moving.xyz"), moving.map(|p| truth.inverse() * p));
    let place = "300,200,100";
    let told = |more: &[&str]| -> serde_json::Value {
        let all = [&["--units", "mm", "--cell", "8", "--target", place, "--format", "json"], more].concat();
        let (code, text, said) = scan(folder.path(), &all);
        assert_eq!(code, 0, "{said}");
        serde_json::from_str(&text).unwrap()
    };
    let off = |told: &serde_json::Value| {
        let of = |key: &str| -> Vec<f64> {
            told[key].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
        };
        let (q, t) = (of("quaternion_xyzw"), of("at_mm"));
        let turn = UnitQuaternion::from_quaternion(nalgebra::Quaternion::new(q[3], q[0], q[1], q[2]));
        let found = Translation3::new(t[0], t[1], t[2]) * turn;
        let at = Point3::new(300.0, 200.0, 100.0);
        (found * (truth.inverse() * at) - at).norm()
    };
    let near = told(&[]);
    let stated = near["targets"][0]["uncertainty_mm"].as_f64().unwrap();
    // Some thousands of points with 0.4 mm: the middle is known to hundredths, and the error is of that size.
    assert!(off(&near) < 0.3 && stated > 0.005 && stated < 1.0, "off {}, stated {stated}", off(&near));
    assert!(off(&near) < 2.0 * stated, "off {}, stated {stated}", off(&near));
    assert_eq!(near["settled"], true);
    assert_eq!(near["starts"], 1);
    // A start that is given in another way ends in the same place.
    let other = told(&["--start", "60,-45,30,5,-7,8"]);
    assert!((off(&other) - off(&near)).abs() < 0.05);
    let _ = told(&["--out", "brought"]);
    assert!(folder.path().join("brought/brought.ply").exists());
    let (_, text, _) = scan(folder.path(), &["--units", "mm", "--cell", "8", "--target", place]);
    for words in [
        "brought onto fixed.xyz",
        "settled: ",
        "held worst: ",
        "at (300.0, 200.0, 100.0): U ",
        "do not scatter",
    ] {
        assert!(text.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{words}: {text}");
    }
}

#[test]
fn what_cannot_be_brought_together_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut dice = Dice::new(12);
    let flat = |dice: &mut Dice| -> Vec<Point3<f64>> {
        (0..4_000)
            .map(|_| Point3::new(dice.between(0.0, 400.0), dice.between(0.0, 400.0), 0.3 * dice.normal()))
            .collect()
    };
    write(&folder.path().join("fixed.xyz"), flat(&mut dice).into_iter());
    write(&folder.path().join("moving.xyz"), flat(&mut dice).into_iter());
    let words = |text: &str| text.split_whitespace().filter(|w| *w != "│").collect::<Vec<_>>().join(" ");
    let (code, text, said) = scan(folder.path(), &["--units", "mm", "--cell", "8"]);
    assert_eq!((code, text.as_str()), (2, ""), "{said}");
    assert!(words(&said).contains("the surfaces that both scans share leave open"), "{said}");
    for (more, want) in [
        (&["--units", "mm", "--cell", "400"][..], "too few for a surface"),
        (&["--units", "mm", "--start", "1,2,3"], "expected 6 numbers"),
        (&["--units", "mm", "--search", "--start", "1,2,3,4,5,6"], "cannot be used with"),
        (&["--units", "mm", "--target", "1,2"], "expected 3 numbers"),
        (&["--units", "mm", "--reach=-5"], "reach"),
        (&[], "the unit of the scan is not known"),
    ] {
        let (code, _, said) = scan(folder.path(), more);
        assert_eq!(code, 2, "{more:?}: {said}");
        assert!(words(&said).contains(want), "{more:?}: {said}");
    }
    fs::remove_file(folder.path().join("fixed.xyz")).unwrap();
    let (code, _, said) = scan(folder.path(), &["--units", "mm"]);
    assert_eq!(code, 2);
    assert!(said.contains("fixed.xyz"), "{said}");
}
