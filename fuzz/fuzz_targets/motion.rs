//! Any text as a file of ways in: read, or refused with words, never a panic; what is read is finite and turns are turns.
//! Seeds: what `way-in` and `order` write with `--format json`.
#![no_main]

use baywright::report::read_motion;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    match read_motion(text) {
        Ok(file) => {
            assert!(!file.parts.is_empty());
            for part in &file.parts {
                assert!(part.way.poses.len() >= 2 && part.way.middle.iter().all(|value| value.is_finite()));
                for pose in &part.way.poses {
                    assert!(pose.translation.vector.iter().all(|value| value.is_finite()));
                    assert!((pose.rotation.norm() - 1.0).abs() < 1e-5);
                }
                // Moves and their words hold whatever the figures are.
                for one in part.way.moves() {
                    assert!(!one.words().is_empty());
                }
            }
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
});
