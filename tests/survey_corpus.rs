//! Survey files as people leave them: the good ones give what they were made from, the bad ones
//! say what is wrong, and no mutilation of either brings the reader down.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::path::PathBuf;

use baywright::space::LengthUnit;
use baywright::survey::{SurveyTable, read_survey_bytes};
use nalgebra::Point3;
use proptest::prelude::*;

fn corpus(name: &str) -> Vec<u8> {
    fs::read(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corpus/surveys").join(name)).unwrap()
}

fn read(name: &str) -> SurveyTable {
    read_survey_bytes(&corpus(name), name, LengthUnit::Inch, 1.5).unwrap_or_else(|e| panic!("{e}"))
}

/// What the invented bay was made from, mm.
const TRUTH: [(&str, [f64; 3]); 6] = [
    ("F1", [210.0, 140.0, 420.0]),
    ("F2", [205.0, 610.0, 430.0]),
    ("F3", [230.0, 380.0, 640.0]),
    ("B1", [900.0, 120.0, 380.0]),
    ("B2", [1010.0, 240.0, 385.0]),
    ("N1", [640.0, 520.0, 560.0]),
];

#[test]
fn a_bay_taped_in_sixteenths_comes_out_within_its_uncertainty() {
    let table = read("taped-bay.csv");
    let network = table.network.as_ref().unwrap();
    assert!(network.suspects.is_empty(), "{:?}", network.suspects);
    for (name, truth) in TRUTH {
        let mark = table.mark(name).unwrap();
        let off = mark.position - Point3::from(truth);
        let squared = off.dot(&(mark.covariance.try_inverse().unwrap() * off));
        assert!(
            squared < 16.27,
            "{name} is {:.1} mm off, squared {squared:.1} (chi-square 0.1 % is 16.27)",
            off.norm()
        );
    }
}

#[test]
fn a_misread_distance_is_named_and_does_no_harm() {
    let table = read("taped-bay-misread.csv");
    let network = table.network.as_ref().unwrap();
    assert_eq!(network.suspects.len(), 1, "{:?}", network.suspects);
    insta::assert_snapshot!(network.suspects[0].message, @"D5-B2 is about 101 mm long: misread? 100 mm off is a usual slip");
    assert!(network.suspects[0].dropped);
    for (name, truth) in TRUTH {
        let mark = table.mark(name).unwrap();
        let off = mark.position - Point3::from(truth);
        assert!(off.norm() < 4.0 * mark.covariance.trace().sqrt(), "{name} is {:.1} mm off", off.norm());
    }
}

#[test]
fn bad_files_say_what_where_and_what_to_do() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/corpus/surveys/bad");
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let mut all = String::new();
    for name in &names {
        let errors = read_survey_bytes(&corpus(&format!("bad/{name}")), name, LengthUnit::Millimetre, 1.5)
            .map(|_| ())
            .expect_err(name);
        all += &format!("{errors}\n");
    }
    insta::assert_snapshot!(all);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_mutilated_file_brings_the_reader_down(
        which in 0usize..4,
        cuts in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0u8..4), 1..12),
    ) {
        let names = ["taped-bay.csv", "taped-bay-misread.csv", "bad/many-faults.csv", "bad/impossible-lengths.csv"];
        let mut bytes = corpus(names[which]);
        for (at, byte, kind) in cuts {
            if bytes.is_empty() {
                break;
            }
            let at = at.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                2 => { bytes.remove(at); }
                _ => {
                    let piece: Vec<u8> = bytes[at..(at + usize::from(byte)).min(bytes.len())].to_vec();
                    bytes.splice(at..at, piece);
                }
            }
        }
        match read_survey_bytes(&bytes, "mutilated.csv", LengthUnit::Inch, 1.5) {
            Ok(table) => {
                for mark in &table.marks {
                    prop_assert!(mark.position.iter().all(|x| x.is_finite()), "{} is nowhere", mark.name);
                    prop_assert!(mark.covariance.iter().all(|x| x.is_finite()), "{} is known anyhow", mark.name);
                }
            }
            Err(errors) => {
                prop_assert!(!errors.errors.is_empty());
                prop_assert!(errors.errors.iter().all(|e| e.line >= 1 && e.column >= 1));
            }
        }
    }
}
