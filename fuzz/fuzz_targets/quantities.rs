//! Any text as a length and as an angle: a finite value or an error that says what to write, never a panic.
#![no_main]

use baywright_lower::space::{Angle, Length, LengthUnit};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    for unit in [LengthUnit::Millimetre, LengthUnit::Inch] {
        match Length::parse(text, unit) {
            Ok(length) => assert!(length.mm().is_finite()),
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }
    match Angle::parse(text) {
        Ok(angle) => assert!(angle.rad().is_finite()),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
