//! Lengths and angles as a shop writes them, against published conversions; poses against closed forms.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::space::*;
use nalgebra::{Point3, Vector3};
use proptest::prelude::*;

fn mm(text: &str) -> f64 {
    Length::parse(text, LengthUnit::Millimetre).unwrap_or_else(|error| panic!("{error}")).mm()
}

/// Source: the inch is 25.4 mm exactly (international inch of 1959; NIST SP 811, appendix B).
#[test]
fn inches_are_exact() {
    for (text, want_mm) in [
        ("1 in", 25.4),
        ("1/16 in", 1.5875),
        ("3/16 in", 4.7625),
        ("5/16 in", 7.9375),
        ("7/16 in", 11.1125),
        ("9/16 in", 14.2875),
        ("11/16 in", 17.4625),
        ("13/16 in", 20.6375),
        ("15/16 in", 23.8125),
        ("2 1/2 in", 63.5),
        ("2-1/2 in", 63.5),
        ("2.5 in", 63.5),
        ("2 1/2\"", 63.5),
        ("2-1/8\"", 53.975),
        ("14 3/16 in", 360.3625),
        ("7 ft 2 in", 2184.4),
        ("7' 2\"", 2184.4),
        ("7' 2-1/2\"", 2197.1),
        ("5'-6\"", 1676.4),
        ("-1/2 in", -12.7),
        ("\u{2212}1/2 in", -12.7),
        ("3 in.", 76.2),
        ("76.2 mm", 76.2),
        ("76.2", 76.2),
        (".5", 0.5),
        ("7.62 cm", 76.2),
        ("1e3", 1000.0),
        ("0.0762 m", 76.2),
    ] {
        assert_eq!(mm(text), want_mm, "{text}");
    }
    assert_eq!(
        Length::parse("2 1/2", LengthUnit::Inch).unwrap().mm(),
        63.5,
        "a bare number takes the unit given"
    );
    assert_eq!(
        Length::parse("7 ft 2", LengthUnit::Millimetre).unwrap().mm(),
        2184.4,
        "the rest of feet is inches"
    );
}

#[test]
fn angles() {
    for (text, want_deg) in [
        ("35 deg", 35.0),
        ("22.5\u{b0}", 22.5),
        ("1/4 turn", 90.0),
        ("90", 90.0),
        ("-7 1/2 deg", -7.5),
        ("30 arcmin", 0.5),
    ] {
        let got = Angle::parse(text).unwrap().deg();
        assert!((got - want_deg).abs() < 1e-12, "{text}: {got}");
    }
    assert!((Angle::parse("0.5 rad").unwrap().rad() - 0.5).abs() < 1e-15);
}

#[test]
fn what_is_no_quantity_is_said() {
    let said = |text: &str| Length::parse(text, LengthUnit::Millimetre).unwrap_err().to_string();
    insta::assert_snapshot!(said(""), @r#"nothing stands where a length is due; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(said("about 3 in"), @r#"`about` in `about 3 in` is not a number; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(said("3 furlongs"), @"`furlongs` in `3 furlongs` is not a unit of length; use mm, cm, m, in or ft");
    insta::assert_snapshot!(said("1/0 in"), @"`1/0 in` divides by zero");
    insta::assert_snapshot!(said("3 mm 2 in"), @"`3 mm 2 in` mixes units; only feet and inches go together: `7 ft 2 in`");
    insta::assert_snapshot!(said("1,000 mm"), @r#"`1,000` in `1,000 mm` is not a number; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(said("1e999 mm"), @"`1e999 mm` is not a finite number");
    insta::assert_snapshot!(said("3 in -"), @r#"`-` in `3 in -` is not a number; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(said("--3 in"), @r#"`-3` in `--3 in` is not a number; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(said("1/2/3 in"), @r#"`/3` in `1/2/3 in` is not a number; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(said("nan"), @r#"`nan` in `nan` is not a number; write `76.2 mm`, `3 in`, `2-1/8"`, `14 3/16 in` or `7 ft 2 in`"#);
    insta::assert_snapshot!(Angle::parse("3 mm").unwrap_err(), @"`mm` in `3 mm` is not a unit of angle; use deg, rad, arcmin or turn");
}

#[test]
fn shown_without_a_minus_before_nothing() {
    for (value, shown, decimals) in [
        (-0.04, "0.0 mm", 1),
        (-0.5, "0 mm", 0),
        (0.0, "0.00 mm", 2),
        (-0.06, "-0.1 mm", 1),
        (12.7, "12.700 mm", 3),
    ] {
        assert_eq!(format!("{:.decimals$}", Length::from_mm(value)), shown);
        assert_eq!(format!("{:.decimals$}", Angle::from_deg(value)), shown.replace("mm", "deg"));
    }
}

/// Source: closed form, 2 sin(1.5 deg) 360.5551 and the turned point.
#[test]
fn a_turn_moves_a_point() {
    let z = Axis { through: Point3::origin(), along: Vector3::z_axis() };
    let at = Point3::new(200.0, 300.0, 0.0);
    let turned = pose_of_turn(&z, Angle::from_deg(3.0)) * at;
    assert!((turned - Point3::new(184.0251201, 310.0560517, 0.0)).norm() < 1e-6);
    assert!(((turned - at).norm() - 18.8764659).abs() < 1e-6);
    // The same turn about a line elsewhere, seen from there.
    let away = Vector3::new(10.0, -20.0, 30.0);
    let elsewhere = Axis { through: Point3::from(away), along: Vector3::z_axis() };
    let there = pose_of_turn(&elsewhere, Angle::from_deg(3.0)) * (at + away);
    assert!((there - away - turned.coords).coords.norm() < 1e-9);
}

proptest! {
    #[test]
    fn a_length_reads_back_as_shown(mm in -1e7_f64..1e7, decimals in 0_usize..9) {
        let shown = format!("{:.decimals$}", Length::from_mm(mm));
        let again = Length::parse(&shown, LengthUnit::Inch).unwrap().mm();
        prop_assert!((again - mm).abs() <= 0.5000001 * 10_f64.powi(-(decimals as i32)) + 1e-9, "{} {}", mm, shown);
        prop_assert_eq!(format!("{:.decimals$}", Length::from_mm(again)), shown);
    }

    #[test]
    fn an_angle_reads_back_as_shown(deg in -720.0_f64..720.0, decimals in 0_usize..9) {
        let shown = format!("{:.decimals$}", Angle::from_deg(deg));
        let again = Angle::parse(&shown).unwrap().deg();
        prop_assert!((again - deg).abs() <= 0.5000001 * 10_f64.powi(-(decimals as i32)) + 1e-9, "{} {}", deg, shown);
    }

    #[test]
    fn a_mixed_number_is_its_sum(whole in 0_u32..400, above in 1_u32..64, power in 1_u32..7) {
        let below = 1_u32 << power;
        let want = (f64::from(whole) + f64::from(above) / f64::from(below)) * 25.4;
        for text in [format!("{whole} {above}/{below} in"), format!("{whole}-{above}/{below}\""), format!("{whole} {above} / {below} inches")] {
            prop_assert!((mm(&text) - want).abs() <= 1e-12 * want.max(1.0), "{}", text);
        }
        prop_assert_eq!(mm(&format!("-{whole}-{above}/{below} in")), -mm(&format!("{whole}-{above}/{below} in")));
    }

    #[test]
    fn no_text_panics(text in "[-0-9 /.'\"a-z°″′−+,e]{0,16}") {
        let _ = (Length::parse(&text, LengthUnit::Inch), Angle::parse(&text));
    }

    #[test]
    fn bounds_after_a_turn_hold_every_corner(at in prop::array::uniform3(-1e3_f64..1e3), size in prop::array::uniform3(0.0_f64..1e3), turn in prop::array::uniform3(-4.0_f64..4.0)) {
        let min = Point3::from(at);
        let bounds = Bounds { min, max: min + Vector3::from(size) };
        let pose = pose_from_euler(Vector3::from(at), Angle::from_rad(turn[0]), Angle::from_rad(turn[1]), Angle::from_rad(turn[2]));
        let corners = bounds.corners().map(|corner| pose * corner);
        let exact = Bounds::of_points(&corners);
        let moved = bounds.moved(&pose);
        prop_assert!((exact.min - moved.min).norm() < 1e-9 && (exact.max - moved.max).norm() < 1e-9);
    }
}
