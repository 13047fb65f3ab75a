//! Any bytes as a survey file, readings of every kind included: a table or errors with places, never a panic; what is
//! placed is finite, and so is how well. Seeds: `tests/corpus/surveys`, `demo-scenes`.
#![no_main]

use baywright_lower::space::LengthUnit;
use baywright_lower::survey::read_survey_bytes;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for unit in [LengthUnit::Millimetre, LengthUnit::Inch] {
        match read_survey_bytes(bytes, "fuzzed.csv", unit, 1.5) {
            Ok(table) => {
                for mark in &table.marks {
                    assert!(mark.position.iter().all(|value| value.is_finite()), "{mark:?}");
                    assert!(mark.covariance.iter().all(|value| value.is_finite()), "{mark:?}");
                    assert!((0..3).all(|axis| mark.covariance[(axis, axis)] >= 0.0), "{mark:?}");
                }
            }
            Err(errors) => {
                assert!(!errors.errors.is_empty());
                assert!(errors.errors.iter().all(|error| error.line > 0 && !error.to_string().is_empty()));
            }
        }
    }
});
