//! The reference says what the decoder takes: its tables are the decoder's own lists.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::scene::{Scene, format_reference};

const REFERENCE: &str = include_str!("../docs/scene-format.md");

#[test]
fn the_reference_has_the_keys_that_the_decoder_has() {
    let (_, rest) = REFERENCE.split_once("made from the decoder's own lists -->\n").unwrap();
    let (written, _) = rest.split_once("<!-- end of keys -->").unwrap();
    for (at, (written, made)) in written.lines().zip(format_reference().lines()).enumerate() {
        assert_eq!(written, made, "line {} of the keys", at + 1);
    }
    assert_eq!(written, format_reference());
}

#[test]
fn every_whole_scene_in_the_reference_loads() {
    let mut loaded = 0;
    for block in REFERENCE.split("```yaml\n").skip(1) {
        let text = block.split("```").next().unwrap();
        if text.starts_with("baywright: 1") {
            let folder = tempfile::tempdir().unwrap();
            if let Err(errors) = Scene::load_text(&folder.path().join("bay.yaml"), text) {
                panic!("{errors}");
            }
            loaded += 1;
        }
    }
    assert!(loaded > 0);
}
