#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use nalgebra::Point3;

use super::*;
use crate::space::Direction;
use crate::survey::test_noise::Noise;

fn known(name: &str, at: [f64; 3]) -> KnownMark {
    KnownMark { name: name.to_owned(), position: Point3::from(at), sigma_mm: 0.0 }
}

fn tape(mark: &str, from: &str, distance_mm: f64) -> TapeReading {
    TapeReading {
        mark: mark.to_owned(),
        from: from.to_owned(),
        distance_mm,
        sigma_mm: 1.0,
        side: None,
        line: 0,
    }
}

fn corner() -> Vec<KnownMark> {
    vec![known("A", [0.0, 0.0, 0.0]), known("B", [600.0, 0.0, 0.0]), known("C", [0.0, 400.0, 0.0])]
}

fn solved(solution: &NetworkSolution, name: &str) -> Point3<f64> {
    solution.marks.iter().find(|m| m.name == name).unwrap().position
}

fn only(errors: Vec<NetworkError>) -> NetworkError {
    assert_eq!(errors.len(), 1, "{errors:?}");
    errors.into_iter().next().unwrap()
}

#[test]
fn three_lengths_give_two_mirror_places() {
    // Closed form: x = (d1^2 - d2^2 + a^2) / 2a and so on.
    for (case, anchors, lengths, want) in [
        (
            "given as lengths",
            [[0.0, 0.0, 0.0], [400.0, 0.0, 0.0], [100.0, 300.0, 0.0]],
            [315.2776554, 373.3630941, 312.0897307],
            [150.0, 120.0, 250.0],
        ),
        (
            "round lengths",
            [[0.0, 0.0, 0.0], [600.0, 0.0, 0.0], [0.0, 400.0, 0.0]],
            [500.0, 460.0, 420.0],
            [332.0, 292.0, 233.478050],
        ),
    ] {
        for (side, sign) in [(Direction::Up, 1.0), (Direction::Down, -1.0)] {
            let names = ["A", "B", "C"];
            let marks: Vec<KnownMark> = names.iter().zip(anchors).map(|(n, at)| known(n, at)).collect();
            let mut readings: Vec<TapeReading> =
                names.iter().zip(lengths).map(|(n, d)| tape("P", n, d)).collect();
            readings[1].side = Some(side);
            let solution = solve_network(&marks, &readings).unwrap();
            let want = Point3::new(want[0], want[1], sign * want[2]);
            let got = solved(&solution, "P");
            assert!((got - want).norm() < 1e-4, "{case}, {}: {got}", side.word());
            assert_eq!(solution.spare, 0);
        }
    }
}

#[test]
fn four_lengths_are_fitted_as_scipy_does() {
    // Source: scipy 1.17.1 `least_squares`; standard errors are root of the diagonal of the inverse of J^T J.
    let mut marks = vec![known("A", [0.0; 3]), known("B", [800.0, 0.0, 0.0]), known("C", [0.0, 600.0, 0.0])];
    marks.push(known("D", [0.0, 0.0, 500.0]));
    let readings: Vec<TapeReading> = [("A", 391.51), ("B", 558.02), ("C", 523.02), ("D", 501.49)]
        .iter()
        .map(|(n, d)| tape("P", n, *d))
        .collect();
    let solution = solve_network(&marks, &readings).unwrap();
    let got = solved(&solution, "P");
    assert!((got - Point3::new(300.892_989_6, 199.473_001_5, 151.483_008_2)).norm() < 1e-6, "{got}");
    assert!((solution.chi_square - 0.372_128_2).abs() < 1e-6, "{}", solution.chi_square);
    let covariance = solution.marks[4].covariance;
    for (axis, want) in [0.70685, 0.97013, 1.17063].into_iter().enumerate() {
        let got = covariance[(axis, axis)].sqrt();
        assert!((got - want).abs() < 1e-4, "axis {axis}: {got}");
    }
    assert_eq!(solution.spare, 1);
    assert!(solution.converged && solution.suspects.is_empty());
}

#[test]
fn networks_without_an_answer_say_which_reading_gives_one() {
    let d = |mark: &str, from: &str, distance: f64, side: Option<Direction>| TapeReading {
        side,
        ..tape(mark, from, distance)
    };
    let mut on_line = corner();
    on_line[2].position = Point3::new(300.0, 0.0, 0.0);
    let three = |side| vec![d("P", "A", 500.0, side), d("P", "B", 460.0, None), d("P", "C", 420.0, None)];
    let flat = vec![tape("P", "A", 360.56), tape("P", "B", 360.56), tape("P", "C", 360.56)];
    let cases: Vec<(&str, Vec<KnownMark>, Vec<TapeReading>, &str)> = vec![
        (
            "spheres 1 and 2 are 600 - 200 - 200 mm short of meeting",
            corner(),
            vec![tape("P", "A", 200.0), tape("P", "B", 200.0), tape("P", "C", 300.0)],
            "no place fits the distances of mark `P`: A-P and B-P together reach 400.0 mm, 200.0 mm short of the 600.0 mm between A and B, B-P and C-P together reach 500.0 mm, 221.1 mm short of the 721.1 mm between B and C; measure A-P, B-P and C-P again",
        ),
        (
            "one sphere inside another",
            corner(),
            vec![tape("P", "A", 900.0), tape("P", "B", 250.0), tape("P", "C", 800.0)],
            "no place fits the distances of mark `P`: A-P and B-P differ by 50.0 mm more than the 600.0 mm between A and B; measure A-P and B-P again",
        ),
        (
            "two distances",
            corner(),
            vec![tape("P", "A", 500.0), tape("P", "B", 460.0)],
            "mark `P` needs one more distance, best from a mark off the line of A and B; the distance C-P would do",
        ),
        (
            "one distance",
            corner(),
            vec![tape("P", "B", 460.0)],
            "mark `P` has a distance to B only; it needs two more, from marks off each other's line; the distances A-P and C-P would do",
        ),
        (
            "three marks on one line",
            on_line,
            vec![tape("P", "A", 400.0), tape("P", "B", 460.0), tape("P", "C", 300.0)],
            "mark `P` needs one more distance, from a mark off the line on which A, B and C lie",
        ),
        (
            "no side",
            corner(),
            three(None),
            "mark `P` may lie on either side of the plane of A, B and C, 467.0 mm apart: write `up` or `down` under `side`, or take one more distance from a mark off that plane",
        ),
        (
            "a side along the plane",
            corner(),
            three(Some(Direction::Left)),
            "side `left` does not tell the two places of mark `P` apart, for they differ mostly `up` and `down`: write one of these",
        ),
        (
            "in the plane of its anchors",
            corner(),
            flat,
            "mark `P` lies nearly in the plane of A, B and C, which leaves its distance from that plane known to about 27 mm only; add a distance to it from a mark well off that plane",
        ),
    ];
    for (case, marks, readings, want) in cases {
        let got = only(solve_network(&marks, &readings).unwrap_err());
        assert_eq!(got.to_string(), want, "{case}");
    }
}

#[test]
fn every_mark_without_an_answer_is_named() {
    let readings =
        [tape("P", "A", 500.0), tape("P", "B", 460.0), tape("Q", "P", 100.0), tape("Q", "A", 450.0)];
    let errors: Vec<String> =
        solve_network(&corner(), &readings).unwrap_err().iter().map(ToString::to_string).collect();
    let want = [
        (
            "mark `P` needs one more distance, best from a mark off the line of A and B",
            " (Q is not placed either)",
        ),
        (
            "mark `Q` has a distance to A only; it needs two more, from marks off each other's line",
            " (P is not placed either)",
        ),
    ];
    assert_eq!(errors.len(), want.len(), "{errors:?}");
    for (error, (start, end)) in errors.iter().zip(want) {
        assert!(error.starts_with(start) && error.ends_with(end), "{error}");
    }
    // Two movements are free, so two further distances are named in all, wherever they are told.
    let named: usize = errors
        .iter()
        .map(|e| e.matches("B-Q").count() + e.matches("C-P").count() + e.matches("C-Q").count())
        .sum();
    assert_eq!(named, 2, "{errors:?}");
}

#[test]
fn sides_that_contradict_are_refused() {
    let mut marks = corner();
    marks.push(known("D", [100.0, 100.0, 500.0]));
    let truth = Point3::new(300.0, 200.0, 150.0);
    let mut readings: Vec<TapeReading> =
        marks.iter().map(|m| tape("P", &m.name, (truth - m.position).norm())).collect();
    assert!(
        (solved(&solve_network(&marks, &readings).unwrap(), "P") - truth).norm() < 1e-6,
        "a fourth mark off the plane needs no side"
    );
    for (case, place, side, want) in [
        (
            "below every mark, said to be up",
            [300.0, 200.0, -150.0],
            Direction::Up,
            "its distances put it on the other side of every mark it was measured from",
        ),
        (
            "among the marks a side says nothing that distances do not",
            [300.0, 200.0, 150.0],
            Direction::Down,
            "",
        ),
    ] {
        let place = Point3::from(place);
        for (reading, mark) in readings.iter_mut().zip(&marks) {
            reading.distance_mm = (place - mark.position).norm();
        }
        readings[0].side = Some(side);
        match solve_network(&marks, &readings) {
            Ok(solution) => {
                assert_eq!(want, "", "{case}");
                assert!((solved(&solution, "P") - place).norm() < 1e-6, "{case}");
            }
            Err(errors) => assert_eq!(
                only(errors).to_string(),
                format!(
                    "mark `P` is said to lie `{}`, but {want}; correct the side or the distances",
                    side.word()
                ),
                "{case}"
            ),
        }
    }
    let mut readings = readings[..3].to_vec();
    readings[0].side = Some(Direction::Down);
    readings[1].side = Some(Direction::Up);
    let error = only(solve_network(&marks, &readings).unwrap_err());
    assert!(error.to_string().contains("another of its readings says"), "{error}");
}

/// A bay of known corner marks and taped marks, every taped mark measured from `from` others.
struct Bay {
    known: Vec<KnownMark>,
    truth: Vec<(String, Point3<f64>)>,
    tape: Vec<TapeReading>,
}

fn bay(noise: &mut Noise, marks: usize, from: usize, sigma_mm: f64) -> Bay {
    let corners = [
        [0.0, -600.0, 0.0],
        [0.0, 600.0, 0.0],
        [1200.0, -600.0, 0.0],
        [1200.0, 600.0, 0.0],
        [100.0, 0.0, 800.0],
        [1100.0, 50.0, 900.0],
    ];
    let known: Vec<KnownMark> =
        corners.iter().enumerate().map(|(i, at)| known(&format!("D{}", i + 1), *at)).collect();
    let mut places: Vec<(String, Point3<f64>)> = known.iter().map(|m| (m.name.clone(), m.position)).collect();
    let mut tape = Vec::new();
    for i in 0..marks {
        let at = Point3::new(
            1000.0 * noise.uniform() + 100.0,
            1000.0 * noise.uniform() - 500.0,
            500.0 * noise.uniform() + 150.0,
        );
        let name = format!("M{}", i + 1);
        let mut order: Vec<usize> = (0..places.len()).collect();
        for k in (1..order.len()).rev() {
            order.swap(k, (noise.uniform() * (k + 1) as f64) as usize);
        }
        // At least two of the marks that are known, so that nothing hangs in the air.
        order.sort_by_key(|k| usize::from(*k >= 6));
        let mut chosen: Vec<usize> = order[..from.min(4)].to_vec();
        let rest: Vec<usize> = order[from.min(4)..].to_vec();
        chosen.extend(rest.iter().rev().take(from - chosen.len()));
        for k in chosen {
            let distance = (at - places[k].1).norm() + sigma_mm * noise.normal();
            tape.push(TapeReading { sigma_mm, ..super::tests::tape(&name, &places[k].0, distance) });
        }
        places.push((name, at));
    }
    Bay { known, truth: places.split_off(6), tape }
}

#[test]
fn whole_network_recovers_the_truth_as_well_as_it_says() {
    let mut noise = Noise::new(77);
    let (mut inside, mut count) = (0, 0);
    for case in 0..40 {
        let bay = bay(&mut noise, 5, 5, 1.5);
        let solution = solve_network(&bay.known, &bay.tape).unwrap_or_else(|e| panic!("case {case}: {e:?}"));
        for (name, truth) in &bay.truth {
            let mark = solution.marks.iter().find(|m| m.name == *name).unwrap();
            let off = mark.position - truth;
            // Squared in units of its own covariance: below 7.815 in 95 of 100 cases (chi-square, 3 degrees).
            let squared = off.dot(&(mark.covariance.try_inverse().unwrap() * off));
            assert!(squared < 40.0, "case {case}, {name}: {squared}, off {off}");
            inside += usize::from(squared < 7.815);
            count += 1;
        }
    }
    let share = inside as f64 / count as f64;
    assert!((0.91..=0.99).contains(&share), "{inside} of {count} within the 95 % ellipsoid");
}

#[test]
fn marks_taped_from_each_other_share_errors() {
    let mut marks = corner();
    marks.push(known("D", [100.0, 100.0, 500.0]));
    let p = Point3::new(300.0, 200.0, 150.0);
    let q = Point3::new(320.0, 260.0, 180.0);
    let mut readings: Vec<TapeReading> =
        marks.iter().map(|m| tape("P", &m.name, (p - m.position).norm())).collect();
    readings.extend(
        [("P", p), ("A", marks[0].position), ("D", marks[3].position)]
            .map(|(n, at)| tape("Q", n, (q - at).norm())),
    );
    readings.push(tape("Q", "B", (q - marks[1].position).norm()));
    let solution = solve_network(&marks, &readings).unwrap();
    assert!((solved(&solution, "Q") - q).norm() < 1e-6);
    let shared = solution.covariance.fixed_view::<3, 3>(12, 15).norm();
    assert!(shared > 0.01, "{shared}");
    assert_eq!(
        solution.covariance.fixed_view::<12, 12>(0, 0).norm(),
        0.0,
        "marks right by definition have no error"
    );
}

#[test]
fn known_marks_with_a_sigma_are_adjusted_and_hand_theirs_on() {
    let soft: Vec<KnownMark> = corner().into_iter().map(|m| KnownMark { sigma_mm: 2.0, ..m }).collect();
    let mut readings = vec![tape("P", "A", 500.0), tape("P", "B", 460.0), tape("P", "C", 420.0)];
    readings[0].side = Some(Direction::Up);
    let hard = solve_network(&corner(), &readings).unwrap();
    let moved = solve_network(&soft, &readings).unwrap();
    assert!((solved(&hard, "P") - solved(&moved, "P")).norm() < 1e-6, "no spare reading, no change");
    assert!(moved.marks[3].covariance.trace() > hard.marks[3].covariance.trace() + 3.0);
    // A diagonal between known marks is a reading like any other.
    readings.push(tape("B", "C", 724.0));
    let checked = solve_network(&soft, &readings).unwrap();
    assert_eq!(checked.spare, 1);
    let diagonal = (solved(&checked, "B") - solved(&checked, "C")).norm();
    // Closed form: along the diagonal the marks know it to 2 root 2 mm, the tape to 1 mm.
    let stated = 720_f64.hypot(0.0).max((600.0f64.powi(2) + 400.0f64.powi(2)).sqrt());
    let want = (stated / 8.0 + 724.0) / (1.0 / 8.0 + 1.0);
    assert!((diagonal - want).abs() < 0.01, "{diagonal}, want {want}");
}

#[test]
fn a_misread_distance_is_named_dropped_and_does_no_harm() {
    let mut noise = Noise::new(42);
    let mut bay = bay(&mut noise, 4, 6, 1.0);
    bay.tape[8].distance_mm += 100.0;
    let name = format!("{}-{}", bay.tape[8].from, bay.tape[8].mark);
    let solution = solve_network(&bay.known, &bay.tape).unwrap();
    assert_eq!(solution.suspects.len(), 1, "{:?}", solution.suspects);
    let suspect = &solution.suspects[0];
    assert!(suspect.dropped && suspect.reading == Some(8));
    assert!((suspect.error_mm - 100.0).abs() < 6.0, "{}", suspect.error_mm);
    assert!(
        suspect.message.starts_with(&format!("{name} is about "))
            && suspect.message.ends_with(" mm long: misread? 100 mm off is a usual slip"),
        "{}",
        suspect.message
    );
    assert_eq!(solution.residuals[8].standardised, None);
    for (name, truth) in &bay.truth {
        assert!((solved(&solution, name) - truth).norm() < 8.0);
    }
}

/// One distance in each of 150 bays is wrong by so many sigma: how many are flagged, how many have
/// the wrong one dropped.
fn planted(seed: u64, from: usize, sigmas: f64) -> (usize, usize) {
    let mut noise = Noise::new(seed);
    let (mut flagged, mut wrongly) = (0, 0);
    for _ in 0..150 {
        let mut bay = bay(&mut noise, 3, from, 1.5);
        let at = (noise.uniform() * bay.tape.len() as f64) as usize;
        bay.tape[at].distance_mm += sigmas * 1.5;
        match solve_network(&bay.known, &bay.tape) {
            Ok(solution) => {
                let suspects = &solution.suspects;
                flagged += usize::from(suspects.iter().any(|s| sigmas == 0.0 || s.reading == Some(at)));
                wrongly += usize::from(suspects.iter().any(|s| s.dropped && s.reading != Some(at)));
            }
            Err(errors) => {
                flagged += usize::from(errors.iter().any(|e| matches!(e, NetworkError::Disagree { .. })));
            }
        }
    }
    (flagged, wrongly)
}

#[test]
fn planted_errors_are_flagged_and_clean_networks_left_alone() {
    let (alarms, _) = planted(500, 5, 0.0);
    assert!(alarms <= 7, "{alarms} of 150 clean networks raised an alarm");
    for (from, sigmas, least) in [(5, 10.0, 135), (5, 20.0, 140), (6, 10.0, 143), (6, 20.0, 145)] {
        let (flagged, wrongly) = planted(501, from, sigmas);
        assert!(flagged >= least, "{from} distances, {sigmas} sigma: {flagged} of 150 flagged");
        assert!(wrongly <= 4, "{from} distances, {sigmas} sigma: the wrong one dropped in {wrongly} of 150");
    }
}

#[test]
fn one_spare_reading_tells_that_something_is_wrong_but_not_what() {
    let mut marks = corner();
    marks.push(known("D", [100.0, 100.0, 500.0]));
    let truth = Point3::new(300.0, 200.0, 150.0);
    let mut readings: Vec<TapeReading> =
        marks.iter().map(|m| tape("P", &m.name, (truth - m.position).norm())).collect();
    readings[1].distance_mm += 6.0;
    let solution = solve_network(&marks, &readings).unwrap();
    assert!(
        solution.suspects.len() > 1 && solution.suspects.iter().all(|s| !s.dropped),
        "{:?}",
        solution.suspects
    );
    assert!(solution.scale > 1.0);
    readings[1].distance_mm += 94.0;
    let error = only(solve_network(&marks, &readings).unwrap_err());
    assert!(matches!(error, NetworkError::Disagree { .. }), "{error}");
}

#[test]
fn input_that_is_none_is_refused() {
    let bad = |readings: &[TapeReading]| only(solve_network(&corner(), readings).unwrap_err()).to_string();
    assert_eq!(bad(&[tape("P", "Z", 1.0)]), "mark `Z`: it has neither coordinates nor distances of its own");
    assert_eq!(
        bad(&[tape("P", "P", 1.0)]),
        "mark `P`: a distance runs from it to itself; name the other mark"
    );
    assert_eq!(bad(&[tape("P", "A", f64::NAN)]), "mark `P`: distances and their sigmas must be above zero");
}
