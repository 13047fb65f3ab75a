//! The reference says what the decoder takes: its tables are the decoder's own lists.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::scene::{Scene, format_reference};
use baywright::solid::Shape;

const REFERENCE: &str = include_str!("../docs/scene-format.md");

#[test]
fn the_reference_has_the_keys_that_the_decoder_has() {
    let (before, rest) = REFERENCE.split_once("made from the decoder's own lists -->\n").unwrap();
    let (written, after) = rest.split_once("<!-- end of keys -->").unwrap();
    if std::env::var_os("UPDATE_EXPECTED").is_some() {
        let (begin, end) = ("made from the decoder's own lists -->\n", "<!-- end of keys -->");
        let whole = [before, begin, &format_reference(), end, after].concat();
        std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/docs/scene-format.md"), whole).unwrap();
        return;
    }
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

#[test]
fn the_same_pipe_told_three_ways_is_the_same_pipe() {
    let text =
        include_str!("../docs/tubes.md").split("```yaml\n").nth(1).unwrap().split("```").next().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let scene =
        Scene::load_text(&folder.path().join("bay.yaml"), text).unwrap_or_else(|errors| panic!("{errors}"));
    let tubes: Vec<_> = scene
        .bodies
        .iter()
        .map(|body| match &*body.shape {
            Shape::Tube(tube) => tube.clone(),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(tubes.len(), 3);
    for tube in &tubes {
        assert_eq!(tube.bend_radii_mm, [95.25]);
        for (got, want) in tube.corners.iter().zip(&tubes[0].corners) {
            assert!((got - want).norm() < 1e-9, "{got} against {want}");
        }
    }
}
