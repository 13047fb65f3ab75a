//! Random hoses and the shapes that they take at rest.

use baywright::hose::{Hose, Port};
use nalgebra::{Point3, Unit, Vector3};
use serde_json::{Value, json};

use super::dice::Dice;

fn way(dice: &mut Dice, about: &Vector3<f64>) -> Unit<Vector3<f64>> {
    loop {
        let way = dice.vector(1.0);
        if way.norm() > 0.1 && way.angle(about) < 1.6 {
            return Unit::new_normalize(way);
        }
    }
}

/// A hose in an upright plane, everything of it: what a rod without pieces can be solved for.
pub fn upright(dice: &mut Dice, case: usize) -> Value {
    let turn = nalgebra::Rotation3::from_axis_angle(&Vector3::z_axis(), dice.between(-3.1, 3.1));
    let mut within = |about: f64| {
        let angle = about + dice.between(-1.4, 1.4);
        turn * Vector3::new(angle.cos(), 0.0, angle.sin())
    };
    let lean: f64 = if case.is_multiple_of(3) { 0.0 } else { 0.7 };
    let (out, back) = (within(lean), within(lean + std::f64::consts::PI));
    let chord = turn * Vector3::new(lean.cos(), 0.0, lean.sin()) * dice.between(150.0, 450.0);
    let at = Point3::from(dice.vector(300.0));
    let hose = Hose {
        from: Port { at, out: Unit::new_normalize(out) },
        to: Port { at: at + chord, out: Unit::new_normalize(back) },
        clips: Vec::new(),
        length_mm: chord.norm() * dice.between(1.1, 1.7),
        radius_mm: 8.0,
        stiffness_n_mm2: 10f64.powf(dice.between(4.0, 5.5)),
        weight_n_mm: if case.is_multiple_of(4) { 0.0 } else { dice.between(0.001, 0.006) },
        up: Vector3::z_axis(),
    };
    told(&hose, case)
}

/// A hose between two ports that look roughly toward each other, longer than their way by a twentieth up to two thirds;
/// every fourth without weight.
pub fn relaxed(dice: &mut Dice, case: usize) -> Value {
    let chord = dice.vector(1.0).normalize() * dice.between(150.0, 450.0);
    let at = Point3::from(dice.vector(300.0));
    let hose = Hose {
        from: Port { at, out: way(dice, &chord) },
        to: Port { at: at + chord, out: way(dice, &-chord) },
        clips: Vec::new(),
        length_mm: chord.norm() * dice.between(1.05, 1.65),
        radius_mm: 8.0,
        stiffness_n_mm2: 10f64.powf(dice.between(4.0, 5.5)),
        weight_n_mm: if case.is_multiple_of(4) { 0.0 } else { dice.between(0.001, 0.006) },
        up: Vector3::z_axis(),
    };
    told(&hose, case)
}

fn told(hose: &Hose, case: usize) -> Value {
    let found = hose.relaxed();
    json!({
        "case": case,
        "from": hose.from.at.coords.as_slice(), "from_out": hose.from.out.as_slice(),
        "to": hose.to.at.coords.as_slice(), "to_out": hose.to.out.as_slice(),
        "length": hose.length_mm, "stiffness": hose.stiffness_n_mm2, "weight": hose.weight_n_mm,
        "tightest": found.as_ref().ok().map(|rest| rest.tightest().radius_mm),
        "points": found.map(|rest| rest.points.iter().map(|p| [p.x, p.y, p.z]).collect::<Vec<_>>()).ok(),
    })
}
