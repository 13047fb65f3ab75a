//! Ways written by `way-in` and `order` are read back to the last bit; what is no such file is refused with its place.

use std::time::Duration;

use baywright::assembly::{OrderFound, PartStep};
use baywright::report::{MotionError, OrderReport, WayReport, order_json, read_motion, way_json};
use baywright::scene::Scene;
use baywright::space::{Length, Pose};
use baywright::way_in::{Answer, Way};
use nalgebra::{Point3, UnitQuaternion, Vector3};
use proptest::prelude::*;

fn bits(way: &Way) -> Vec<u64> {
    let pose = |pose: &Pose| {
        let turn = pose.rotation.coords;
        pose.translation.vector.iter().chain(turn.iter()).map(|value| value.to_bits()).collect::<Vec<_>>()
    };
    way.poses.iter().flat_map(pose).chain(way.middle.iter().map(|value| value.to_bits())).collect()
}

fn any_way() -> impl Strategy<Value = Way> {
    let three = || prop::array::uniform3(-3000.0..3000.0f64);
    let pose = (three(), prop::array::uniform3(-3.0..3.0f64)).prop_map(|(at, turn)| {
        Pose::from_parts(Vector3::from(at).into(), UnitQuaternion::from_scaled_axis(Vector3::from(turn)))
    });
    (prop::collection::vec(pose, 2..12), three()).prop_map(|(poses, middle)| Way {
        poses,
        middle: Point3::from(middle),
        spare: Length::from_mm(0.1),
        effort: Default::default(),
    })
}

fn written(way: &Way, seat_mm: Option<Vector3<f64>>) -> String {
    let scene = Scene { title: "a tray, invented".to_owned(), ..Scene::default() };
    way_json(&WayReport {
        scene: &scene,
        body: "pump",
        gap: Length::from_mm(3.0),
        seed: 1,
        time: Duration::from_secs(1),
        without: &["lid".to_owned()],
        names: &[],
        remarks: &[],
        seat_mm,
        answer: &Answer::Way(way.clone()),
        cage: None,
    })
}

proptest! {
    #[test]
    fn a_way_is_read_as_it_was_written_to_the_last_bit(way in any_way(), other in any_way(), seat in any::<bool>()) {
        let seat_mm = seat.then(|| Vector3::new(0.0, 1.0 / 3.0, -4.0));
        let read = read_motion(&written(&way, seat_mm)).unwrap();
        prop_assert_eq!(&read.without, &["lid".to_owned()]);
        prop_assert_eq!((read.parts.len(), &read.parts[0].body[..], read.parts[0].seat_mm), (1, "pump", seat_mm));
        prop_assert_eq!(bits(&read.parts[0].way), bits(&way));
        prop_assert_eq!(read.parts[0].way.spare, way.spare);
        let step = |part: &str, way: &Way, after: &[&str]| PartStep {
            part: part.to_owned(),
            way: way.clone(),
            seat_mm,
            remarks: Vec::new(),
            after: after.iter().map(|name| (*name).to_owned()).collect(),
        };
        let found = OrderFound {
            steps: vec![step("pipe/1", &way, &[]), step("pipe/2", &other, &["pipe/1"])],
            stuck: Vec::new(),
            interlocks: Vec::new(),
            tries: 2,
            cut_short: false,
            cancelled: false,
        };
        let scene = Scene::default();
        let report =
            OrderReport { scene: &scene, gap: Length::from_mm(3.0), seed: 1, without: &[], found: &found, broken: &[] };
        let read = read_motion(&order_json(&report)).unwrap();
        prop_assert_eq!(read.parts.len(), 2);
        prop_assert_eq!(&read.parts[1].after, &["pipe/1".to_owned()]);
        prop_assert_eq!((bits(&read.parts[0].way), bits(&read.parts[1].way)), (bits(&way), bits(&other)));
    }

    #[test]
    fn a_file_that_was_cut_or_spoilt_is_read_or_refused_never_a_panic(
        way in any_way(), cut in 0.0..1.0f64, at in 0.0..1.0f64, with in any::<u8>()
    ) {
        let text = written(&way, None);
        let cut = (text.len() as f64 * cut) as usize;
        prop_assert!(read_motion(&text[..cut]).is_err());
        let mut bytes = text.into_bytes();
        let at = (bytes.len() as f64 * at) as usize;
        bytes[at] = with;
        if let Ok(text) = String::from_utf8(bytes)
            && let Ok(file) = read_motion(&text)
        {
            prop_assert!(file.parts[0].way.poses.iter().all(|pose| (pose.rotation.norm() - 1.0).abs() < 1e-5));
        }
    }
}

#[test]
fn a_refusal_names_the_key_or_the_place_and_what_was_expected() {
    let way = Way {
        poses: vec![Pose::translation(0.0, 0.0, 100.0), Pose::identity()],
        middle: Point3::origin(),
        spare: Length::from_mm(0.0),
        effort: Default::default(),
    };
    let whole = written(&way, None);
    for (case, from, to, want) in [
        ("no JSON", "{\n", "\n\n  nothing", "line 3, column 4: "),
        (
            "another document",
            "baywright-way-in/1",
            "baywright-findings/1",
            "`format` is `baywright-findings/1`; ways are in",
        ),
        ("no way", "\"answer\": \"way\"", "\"answer\": \"none found\"", "its answer is `none found`"),
        (
            "a turn that is none",
            "0.0,\n        1.0\n      ]",
            "0.0,\n        2.0\n      ]",
            "`poses[0].turn_xyzw`: it is 2.000000 long",
        ),
        ("a place out of this world", "100.0", "1e12", "`poses[0].at_mm`: no plain number of millimetres"),
        ("a word for a number", "100.0", "\"high\"", "expected f64"),
        ("no middle", "\"middle_mm\"", "\"midle_mm\"", "`middle_mm`: it is not there"),
    ] {
        assert!(whole.contains(from), "{case}: {whole}");
        let error = read_motion(&whole.replacen(from, to, 1)).unwrap_err();
        assert!(error.to_string().contains(want), "{case}: {error}");
        assert!(miette::Diagnostic::help(&error).is_some(), "{case}");
    }
    // A list without end is counted, not believed.
    let pose = "{\"at_mm\": [0, 0, 0], \"turn_xyzw\": [0, 0, 0, 1]},".repeat(100_001);
    let long = format!(
        "{{\"format\": \"baywright-way-in/1\", \"answer\": \"way\", \"body\": \"pump\", \"middle_mm\": [0, 0, 0], \"poses\": [{}]}}",
        pose.trim_end_matches(',')
    );
    let error = read_motion(&long).unwrap_err();
    assert!(matches!(&error, MotionError::Value { key, .. } if key == "poses"), "{error}");
}
