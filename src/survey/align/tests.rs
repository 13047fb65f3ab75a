#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use nalgebra::{DMatrix, Point3, Unit, UnitQuaternion, Vector3};

use super::best_fit::carry_points;
use super::*;
use crate::space::{Angle, Pose, pose_from_euler};
use crate::survey::test_noise::Noise;
use crate::survey::{Reading, fit_plane, read_survey_csv};

fn close(case: &str, got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{case}: got {got:.12}, want {want:.12} within {tolerance:e}");
}

fn pairs(from: &[[f64; 3]], to: &[[f64; 3]], sigma_mm: f64) -> Vec<MarkPair> {
    from.iter()
        .zip(to)
        .enumerate()
        .map(|(i, (a, b))| MarkPair {
            name: format!("M{i}"),
            survey: Point3::from(*a),
            vehicle: Point3::from(*b),
            sigma_mm,
        })
        .collect()
}

const A: [[f64; 3]; 4] = [[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [0.0, 100.0, 0.0], [0.0, 0.0, 50.0]];

#[test]
fn turn_of_umeyamas_example_needs_the_determinant_guard() {
    // Source: Umeyama, IEEE PAMI 13 (1991) 376-380, worked example: -33.6901 degrees; rigid values by numpy SVD.
    let from = DMatrix::from_row_slice(3, 2, &[0.0, 0.0, 1.0, 0.0, 0.0, 2.0]);
    let to = DMatrix::from_row_slice(3, 2, &[0.0, 0.0, -1.0, 0.0, 0.0, 2.0]);
    let carried = carry_points(&from, &to, &[1.0; 3]).unwrap();
    close("angle", carried.turn[(1, 0)].atan2(carried.turn[(0, 0)]).to_degrees(), -33.690_067, 1e-5);
    close("shift x", carried.shift[0], -0.980_483_6, 1e-7);
    close("shift y", carried.shift[1], 0.296_866_5, 1e-7);
    let moved = &from * carried.turn.transpose();
    let error: f64 = (0..3)
        .map(|i| (0..2).map(|j| (moved[(i, j)] + carried.shift[j] - to[(i, j)]).powi(2)).sum::<f64>() / 3.0)
        .sum();
    close("mean squared error", error, 0.619_755_0, 1e-7);
    close("without the guard it is a mirror", carried.unguarded.determinant(), -1.0, 1e-12);
}

#[test]
fn exact_marks_give_the_exact_pose() {
    // Source: scipy `Rotation.from_euler('ZYX', [30, 10, -20])`.
    let b = [
        [250.0, -40.0, 15.0],
        [335.286853, 9.240388, -2.364818],
        [197.871942, 38.410209, -18.682409],
        [248.515221, -21.110696, 61.270829],
    ];
    let fit = align_best_fit(&pairs(&A, &b, 1.0)).unwrap();
    let truth = pose_from_euler(
        Vector3::new(250.0, -40.0, 15.0),
        Angle::from_deg(-20.0),
        Angle::from_deg(10.0),
        Angle::from_deg(30.0),
    );
    close("turn", fit.alignment.vehicle_from_survey.rotation.angle_to(&truth.rotation), 0.0, 1e-8);
    close(
        "shift",
        (fit.alignment.vehicle_from_survey.translation.vector - truth.translation.vector).norm(),
        0.0,
        1e-6,
    );
    let q = fit.alignment.vehicle_from_survey.rotation;
    let sign = q.w.signum();
    for (got, want) in [(q.i, -0.189_307_9), (q.j, 0.038_134_6), (q.k, 0.268_535_8), (q.w, 0.943_714_4)] {
        close("quaternion", sign * got, want, 1e-7);
    }
}

#[test]
fn scattered_marks_give_the_least_squares_pose() {
    // Source: scipy `Rotation.align_vectors` on centred points.
    let b = [
        [250.3, -40.2, 15.1],
        [335.187, 9.44, -2.665],
        [198.072, 38.51, -18.482],
        [248.115, -21.211, 61.271],
    ];
    let fit = align_best_fit(&pairs(&A, &b, 0.3)).unwrap();
    let turn = fit.alignment.vehicle_from_survey.rotation.to_rotation_matrix().into_inner();
    let want = [
        [0.8524721, -0.5219538, -0.0292496],
        [0.4931627, 0.7843651, 0.3762472],
        [-0.1734413, -0.3351651, 0.9260575],
    ];
    for (i, row) in want.iter().enumerate() {
        for (j, want) in row.iter().enumerate() {
            close("turn", turn[(i, j)], *want, 1e-6);
        }
    }
    let shift = fit.alignment.vehicle_from_survey.translation.vector;
    close("shift", (shift - Vector3::new(250.021_162_2, -40.006_534_5, 14.945_440_0)).norm(), 0.0, 1e-6);
    close("root mean square", fit.rms_mm, 0.355_735_8, 1e-6);
    for ((_, got), want) in fit.residuals_mm.iter().zip([0.37292, 0.30743, 0.27379, 0.44458]) {
        close("residual", *got, want, 1e-5);
    }
    close("expected: root of (1 - 2/4) 3 sigma^2", fit.expected_rms_mm, (0.5f64 * 3.0).sqrt() * 0.3, 1e-12);
}

#[test]
fn error_elsewhere_is_that_of_fitzpatrick_west_and_maurer() {
    // Source: IEEE TMI 17 (1998) 694-702 (formula from memory); closed form.
    let marks = [[50.0, 50.0, 0.0], [-50.0, 50.0, 0.0], [50.0, -50.0, 0.0], [-50.0, -50.0, 0.0]];
    let sigma = 1.0 / 3f64.sqrt();
    let fit = align_best_fit(&pairs(&marks, &marks, sigma)).unwrap();
    for (place, want) in
        [([0.0, 0.0, 0.0], 0.5), ([0.0, 0.0, 100.0], 0.957_427_1), ([100.0, 0.0, 0.0], 0.866_025_4)]
    {
        let place = Point3::from(place);
        let points: Vec<Point3<f64>> = marks.iter().map(|p| Point3::from(*p)).collect();
        close("formula", expected_target_error_mm(&points, 1.0, &place).unwrap(), want, 1e-6);
        close("covariance", fit.target_sigma_mm(&place), want, 1e-6);
    }
    assert_eq!(
        expected_target_error_mm(&[Point3::origin(), Point3::new(1.0, 0.0, 0.0)], 1.0, &Point3::origin()),
        None
    );
}

#[test]
fn marks_that_fix_nothing_or_mirror_are_refused() {
    let line: Vec<[f64; 3]> = (0..4).map(|i| [100.0 * f64::from(i), 20.0 * f64::from(i), 0.0]).collect();
    // Turned at best, each mark is off by twice its share of the least spread: root of 4 * 1078.2 / 4.
    let mirrored = A.map(|p| [p[0], -p[1], p[2]]);
    let twice =
        vec![pairs(&A, &A, 1.0)[0].clone(), pairs(&A, &A, 1.0)[0].clone(), pairs(&A, &A, 1.0)[1].clone()];
    for (case, set, want) in [
        (
            "collinear",
            pairs(&line, &line, 1.0),
            "the marks lie nearly on one line, about which the survey could turn; add a mark well off that line",
        ),
        (
            "two",
            pairs(&A[..2], &A[..2], 1.0),
            "the datum point set needs at least 3 different marks, 2 given; name 1 more",
        ),
        (
            "repeated",
            twice,
            "the datum point set names `M0` and `M0`, which are the same mark; name different marks, well apart",
        ),
        (
            "mirror",
            pairs(&A, &mirrored, 1.0),
            "the marks fit far better as a mirror image (0.0 mm) than turned (32.8 mm): left and right are swapped, or an axis has the wrong sign; put that right in the survey",
        ),
    ] {
        assert_eq!(align_best_fit(&set).unwrap_err().to_string(), want, "{case}");
    }
}

/// Datum marks of a stand in vehicle axes: D1 D2 D3 on the floor plane z = 0, D1 D2 along the vehicle.
fn datum(
    survey_from_vehicle: &Pose,
    noise: &mut Noise,
    sigma_mm: f64,
) -> (DatumPlane, DatumLine, DatumOrigin) {
    let mut at = |name: &str, p: [f64; 3]| {
        Reading::new(name, survey_from_vehicle * Point3::from(p) + noise.vector(sigma_mm), sigma_mm)
    };
    let d1 = at("D1", [0.0, 0.0, 0.0]);
    let d2 = at("D2", [1200.0, 0.0, 0.0]);
    let d3 = at("D3", [100.0, 700.0, 0.0]);
    let d4 = at("D4", [1100.0, 650.0, 0.0]);
    let high = at("F1", [500.0, 300.0, 900.0]);
    let plane = DatumPlane {
        marks: vec![d1.clone(), d2.clone(), d3, d4],
        normal: Vector3::z_axis(),
        at_mm: Some(0.0),
        side: DatumSide::Toward(high),
    };
    let line = DatumLine { marks: vec![d1.clone(), d2], along: Vector3::x_axis(), at_mm: None };
    (plane, line, DatumOrigin { mark: d1, at: Point3::origin() })
}

#[test]
fn exact_datum_gives_the_exact_pose_whichever_way_the_survey_lies() {
    let mut noise = Noise::new(2);
    for case in 0..20 {
        let turn = UnitQuaternion::from_scaled_axis(noise.vector(1.5));
        let survey_from_vehicle = Pose::from_parts(noise.vector(1000.0).into(), turn);
        let (plane, line, origin) = datum(&survey_from_vehicle, &mut noise, 0.0);
        let aligned = align_three_two_one(&plane, &line, &origin).unwrap();
        let place = Point3::new(640.0, -120.0, 480.0);
        let back = aligned.vehicle_from_survey * (survey_from_vehicle * place);
        assert!((back - place).norm() < 1e-9, "case {case}: {back}");
        assert_eq!(aligned.covariance.norm(), 0.0, "marks without error give a pose without error");
        assert!(aligned.remarks.is_empty(), "{:?}", aligned.remarks);
    }
}

#[test]
fn pose_covariance_is_that_of_repetition() {
    let mut noise = Noise::new(9);
    let survey_from_vehicle = pose_from_euler(
        Vector3::new(300.0, -200.0, 90.0),
        Angle::from_deg(12.0),
        Angle::from_deg(-8.0),
        Angle::from_deg(70.0),
    );
    let place = Point3::new(640.0, -120.0, 480.0);
    let (mut seen, mut stated) = (Vector3::zeros(), Vector3::zeros());
    for _ in 0..300 {
        let (plane, line, origin) = datum(&survey_from_vehicle, &mut noise, 1.5);
        let aligned = align_three_two_one(&plane, &line, &origin).unwrap();
        let off = aligned.vehicle_from_survey * (survey_from_vehicle * place) - place;
        seen += off.component_mul(&off) / 300.0;
        stated += aligned.point_covariance(&place).diagonal() / 300.0;
    }
    for axis in 0..3 {
        let ratio = seen[axis] / stated[axis];
        assert!((0.75..1.25).contains(&ratio), "axis {axis}: seen {}, stated {}", seen[axis], stated[axis]);
    }
}

#[test]
fn datum_marks_carry_no_error_where_they_define_the_axes() {
    let text = "mark,x,y,z\nD1,0,0,0\nD2,1200,0,0\nD3,100,700,0\nP,600,300,500\nQ,620,300,500\n";
    let table = read_survey_csv(text, "stand.csv", crate::space::LengthUnit::Millimetre, 1.5).unwrap();
    let mark = |name: &str| Reading::of_mark(table.mark(name).unwrap());
    let plane = DatumPlane {
        marks: vec![mark("D1"), mark("D2"), mark("D3")],
        normal: Vector3::z_axis(),
        at_mm: Some(0.0),
        side: DatumSide::SurveyAxes,
    };
    let line = DatumLine { marks: vec![mark("D1"), mark("D2")], along: Vector3::x_axis(), at_mm: None };
    let origin = DatumOrigin { mark: mark("D1"), at: Point3::origin() };
    let aligned = align_three_two_one(&plane, &line, &origin).unwrap();
    let carried = aligned.carry(&table);
    let own = |name: &str| carried.mark(name).unwrap().covariance;
    close("D1 is the origin", own("D1").norm(), 0.0, 1e-6);
    close("D2 lies on the plane and the line", own("D2")[(1, 1)] + own("D2")[(2, 2)], 0.0, 1e-6);
    close("D2 along the line: two tapes' worth", own("D2")[(0, 0)], 2.0 * 2.25, 1e-6);
    assert!(own("P")[(2, 2)] > 2.25, "a mark apart from the datum gets its own error and the datum's");
    // What P and Q share cancels in their difference: 20 mm apart, they differ by their own readings.
    let joint = carried.covariance_of(["P", "Q"]).unwrap();
    let difference = joint[(2, 2)] + joint[(5, 5)] - 2.0 * joint[(2, 5)];
    close("difference of neighbours", difference, 2.0 * 2.25, 0.02);
    assert_eq!(carried.mark("P").unwrap().sigma_mm, 1.5, "fits weigh by the reading alone");
    let readings = carried.readings(["D1", "D2", "P"]).unwrap();
    let fit = fit_plane(&readings).unwrap().placement();
    let wide = aligned.widen(&fit);
    assert!((wide.covariance - fit.covariance).trace() > 0.0);
}

#[test]
fn datums_that_fix_nothing_are_refused_with_the_cure() {
    let mut noise = Noise::new(1);
    let (plane, line, origin) = datum(&Pose::identity(), &mut noise, 0.0);
    let m = |name: &str, p: [f64; 3]| Reading::new(name, Point3::from(p), 1.0);
    let with_marks = |marks: Vec<Reading>| DatumPlane { marks, ..plane.clone() };
    let with_line = |marks: Vec<Reading>| DatumLine { marks, ..line.clone() };
    let d = |k: usize| plane.marks[k].clone();
    let cases: Vec<(&str, DatumPlane, DatumLine, &str)> = vec![
        (
            "two marks for the plane",
            with_marks(vec![d(0), d(1)]),
            line.clone(),
            "the datum plane needs at least 3 different marks, 2 given; name 1 more",
        ),
        (
            "a mark named twice",
            with_marks(vec![d(0), d(1), d(0)]),
            line.clone(),
            "the datum plane names `D1` and `D1`, which are the same mark; name different marks, well apart",
        ),
        (
            "collinear",
            with_marks(vec![m("A", [0.0, 0.0, 0.0]), m("B", [500.0, 0.0, 0.0]), m("C", [1000.0, 2.0, 0.0])]),
            line.clone(),
            "the datum plane's marks A, B, C lie nearly on one line, about which the survey could turn; replace one by a mark well off that line",
        ),
        (
            "a line square to the plane",
            plane.clone(),
            with_line(vec![d(0), m("T", [0.0, 0.0, 600.0])]),
            "the datum line stands nearly square to the datum plane (0 deg from its normal), so nothing says how the survey is turned; take a line that runs along the plane",
        ),
        (
            "directions that are not square",
            plane.clone(),
            DatumLine { along: Unit::new_normalize(Vector3::new(1.0, 0.0, 0.5)), ..line.clone() },
            "the plane's normal and the line's direction are 63.4 deg apart; give the line a direction that lies in the plane, square to its normal",
        ),
        (
            "a side that the survey's axes do not tell",
            DatumPlane { normal: Vector3::x_axis(), side: DatumSide::SurveyAxes, ..plane.clone() },
            DatumLine { along: Vector3::y_axis(), ..line.clone() },
            "the survey's own axes do not tell on which side of the datum plane `rearward` is: its normal stands 90 deg to it; name a mark that lies off the plane on that side (`toward`)",
        ),
        (
            "toward a mark in the plane",
            DatumPlane { side: DatumSide::Toward(m("E", [300.0, 300.0, 4.0])), ..plane.clone() },
            line.clone(),
            "mark `E` lies only 4.0 mm off the datum plane, too little to tell its sides apart; name a mark well off the plane",
        ),
        (
            "one name, two places",
            plane.clone(),
            with_line(vec![d(0), m("D2", [900.0, 0.0, 0.0])]),
            "datum mark `D2` stands at two places; give each mark its own name",
        ),
    ];
    for (case, plane, line, want) in cases {
        assert_eq!(align_three_two_one(&plane, &line, &origin).unwrap_err().to_string(), want, "{case}");
    }
}

#[test]
fn a_bent_datum_is_remarked_on() {
    let mut noise = Noise::new(1);
    let (mut plane, line, origin) = datum(&Pose::identity(), &mut noise, 0.0);
    for mark in &mut plane.marks {
        mark.sigma_mm = 0.5;
    }
    plane.marks[3].point.z += 20.0;
    let line = DatumLine { marks: plane.marks[..2].to_vec(), ..line };
    let origin = DatumOrigin { mark: plane.marks[0].clone(), ..origin };
    let aligned = align_three_two_one(&plane, &line, &origin).unwrap();
    assert!(aligned.remarks.iter().any(|r| r.starts_with("datum mark D4 lies ")), "{:?}", aligned.remarks);
}

#[test]
fn the_predicted_error_at_a_place_is_that_of_many_measurings() {
    // Five marks of different sigma; the place is far outside them, where the error is several times theirs.
    let marks = [
        ([0.0, -500.0, 0.0], 1.0),
        ([0.0, 500.0, 20.0], 1.5),
        ([800.0, -450.0, 60.0], 0.7),
        ([800.0, 480.0, 0.0], 2.0),
        ([300.0, 0.0, 350.0], 1.0),
    ];
    let place = Point3::new(1400.0, 200.0, 900.0);
    let mut noise = Noise::new(31);
    let (mut square, mut stated) = (0.0, 0.0);
    for _ in 0..4000 {
        let pairs: Vec<MarkPair> = marks
            .iter()
            .enumerate()
            .map(|(k, (at, sigma_mm))| MarkPair {
                name: format!("M{k}"),
                survey: Point3::from(*at) + noise.vector(*sigma_mm),
                vehicle: Point3::from(*at),
                sigma_mm: *sigma_mm,
            })
            .collect();
        let fit = align_best_fit(&pairs).unwrap();
        square += (fit.alignment.vehicle_from_survey * place - place).norm_squared();
        stated += (fit.target_sigma_mm(&place) / fit.scale).powi(2);
    }
    let ratio = (square / stated).sqrt();
    // 4000 tries know a root mean square to about 1 %.
    assert!((ratio - 1.0).abs() < 0.04, "the error is {ratio} times the predicted one");
}
