//! Wrong scenes, one fault each: what is told of them, with place, cause and remedy.
//!
//! `tests/bad/NN-name.yaml` are the scenes; the snapshot holds every message. A change of a message
//! shows there and is read before it is taken.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::{Path, PathBuf};

use baywright::scene::{Scene, SceneErrors};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad")
}

fn bad_scenes() -> Vec<PathBuf> {
    let mut scenes: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect();
    scenes.sort();
    scenes
}

fn errors(path: &Path) -> SceneErrors {
    match Scene::load(path) {
        Ok(_) => panic!("{} loads", path.display()),
        Err(errors) => errors,
    }
}

#[test]
fn every_wrong_scene_is_told_with_place_and_remedy() {
    let mut told = String::new();
    for path in bad_scenes() {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        told.push_str(&format!("{}\n\n", errors(&path)));
        for error in errors(&path).list() {
            let span = error.span();
            assert!(span.line >= 1 && span.column >= 1, "{name}: {error} has no place");
            assert!(!error.remedy().is_empty(), "{name}: {error} has no remedy");
        }
    }
    assert!(!told.contains(&*folder().to_string_lossy()), "a message shows a path of this machine");
    insta::assert_snapshot!(told);
}

#[test]
fn each_has_one_fault_but_those_that_say_so() {
    for path in bad_scenes() {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let count = errors(&path).list().len();
        let several = name.contains("several");
        assert!(if several { count > 4 } else { count == 1 }, "{name}: {count}\n{}", errors(&path));
    }
}
