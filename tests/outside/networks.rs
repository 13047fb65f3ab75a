//! Random networks of tape, square, height, plumb, edge and wrap readings.

use baywright::space::Direction;
use baywright::survey::{How, KnownMark, NetworkOptions, NetworkReading, solve_readings};
use nalgebra::Point3;
use serde_json::{Value, json};

use super::dice::Dice;

/// One case: the marks known beforehand, the readings by name, the truth that they scatter about, and our places,
/// diameters and covariance. `None` when a reading was left out or the scatter scaled: scipy knows neither.
pub fn case(dice: &mut Dice, number: usize) -> Option<Value> {
    let known: Vec<KnownMark> =
        [[0.0, 0.0, 0.0], [0.0, 600.0, 20.0], [30.0, 0.0, 500.0], [900.0, 40.0, 0.0], [850.0, 560.0, 480.0]]
            .iter()
            .enumerate()
            .map(|(k, at)| KnownMark {
                name: format!("D{k}"),
                position: Point3::from(*at),
                sigma_mm: if number.is_multiple_of(2) { 0.0 } else { 0.8 },
            })
            .collect();
    let sigma = dice.between(0.3, 2.0);
    let mut any = |low: f64, high: f64| {
        Point3::new(dice.between(200.0, 700.0), dice.between(120.0, 480.0), dice.between(low, high))
    };
    let (p, q, pipe) = (any(150.0, 250.0), any(250.0, 400.0), any(300.0, 420.0));
    let top = Point3::new(p.x, p.y, p.z + 150.0);
    let on = p + (q - p) * 0.35;
    let diameter = 63.5;
    let at = |name: usize| known[name].position;
    let mut readings: Vec<(usize, How, f64)> = Vec::new();
    for d in 0..5 {
        let from = format!("D{d}");
        readings.push((0, How::Straight { from: from.clone() }, (p - at(d)).norm()));
        readings.push((4, How::Near { from }, (pipe - at(d)).norm() - diameter / 2.0));
    }
    let from = |name: &str| name.to_owned();
    readings.push((4, How::Far { from: from("D4") }, (pipe - at(4)).norm() + diameter / 2.0));
    readings.push((4, How::Wrap { thickness_mm: 0.3 }, std::f64::consts::PI * (diameter + 0.3)));
    readings.push((4, How::Diameter, diameter));
    readings.push((1, How::Straight { from: from("D0") }, (q - at(0)).norm()));
    readings.push((1, How::Straight { from: from("D3") }, (q - at(3)).norm()));
    readings.push((1, How::Straight { from: from("P") }, (q - p).norm()));
    readings.push((1, How::Offset { from: Some(from("P")), along: Direction::Up }, q.z - p.z));
    let normal = (at(1) - at(0)).cross(&(at(2) - at(0))).normalize();
    let panel = [from("D0"), from("D1"), from("D2")];
    readings.push((1, How::Square { panel }, normal.dot(&(q - at(0))).abs()));
    readings.push((2, How::Plumb { from: from("P") }, 0.0));
    readings.push((2, How::Offset { from: None, along: Direction::Up }, top.z));
    readings.push((2, How::Straight { from: from("Q") }, (top - q).norm()));
    readings.push((3, How::Edge { from: from("P"), to: from("Q") }, 0.35 * (q - p).norm()));
    readings.push((3, How::Straight { from: from("D2") }, (on - at(2)).norm()));
    let names = ["P", "Q", "T", "E", "R"];
    let readings: Vec<NetworkReading> = readings
        .into_iter()
        .map(|(mark, how, value)| {
            let noise = if how.has_length() { dice.normal() * sigma } else { 0.0 };
            NetworkReading {
                mark: names[mark].to_owned(),
                how,
                value_mm: value + noise,
                hook_mm: 0.0,
                sigma_mm: sigma,
                side: None,
                line: 0,
            }
        })
        .collect();
    let solution = solve_readings(&known, &readings, &NetworkOptions::default())
        .unwrap_or_else(|errors| panic!("network case {number}: {errors:?}"));
    if solution.scale != 1.0 || solution.suspects.iter().any(|suspect| suspect.dropped) {
        return None;
    }
    let told: Vec<Value> = readings
        .iter()
        .map(|reading| {
            let (kind, more) = match &reading.how {
                How::Straight { .. } => ("straight", 0.0),
                How::Near { .. } => ("straight", -0.5),
                How::Far { .. } => ("straight", 0.5),
                How::Square { .. } => ("square", 0.0),
                How::Offset { .. } => ("up", 0.0),
                How::Edge { .. } => ("edge", 0.0),
                How::Plumb { .. } => ("plumb", 0.0),
                How::Level { .. } => ("up", 0.0),
                How::Diameter => ("diameter", 0.0),
                How::Wrap { thickness_mm } => ("wrap", *thickness_mm),
            };
            json!({"mark": reading.mark, "kind": kind, "from": reading.how.from(), "more": more, "value": reading.value_mm})
        })
        .collect();
    let truth = [p, q, top, on, pipe].map(|at| [at.x, at.y, at.z]);
    let marks: Vec<Value> = solution
        .marks
        .iter()
        .map(|mark| json!({"name": mark.name, "at": mark.position.coords.as_slice()}))
        .collect();
    let n = solution.covariance.nrows();
    let rows: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| solution.covariance[(i, j)]).collect()).collect();
    let stand: Vec<Value> = known
        .iter()
        .map(|m| json!({"name": m.name, "at": m.position.coords.as_slice(), "sigma": m.sigma_mm}))
        .collect();
    Some(json!({
        "case": number, "sigma": sigma, "known": stand, "readings": told, "names": names, "truth": truth,
        "diameter": [diameter, solution.rounds[0].diameter_mm, solution.rounds[0].sigma_mm],
        "marks": marks, "covariance": rows, "chi_square": solution.chi_square,
    }))
}
