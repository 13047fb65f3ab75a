//! Any text as a scene: read, or refused with a place, never a panic. Seeds: `tests/bad`, `scenes`, `demo-scenes`.
#![no_main]

use std::path::PathBuf;
use std::sync::OnceLock;

use baywright::scene::Scene;
use libfuzzer_sys::fuzz_target;

static FOLDER: OnceLock<PathBuf> = OnceLock::new();

fuzz_target!(|text: &str| {
    // An empty folder: what the scene names beside itself is missing, which is an answer too.
    let folder = FOLDER.get_or_init(|| {
        let folder = std::env::temp_dir().join("baywright-fuzz-empty");
        std::fs::create_dir_all(&folder).expect("a folder for the scene");
        folder
    });
    let path = folder.join("bay.yaml");
    if let Err(errors) = Scene::load_text(&path, text) {
        let told = errors.to_string();
        assert!(told.contains("bay.yaml"), "no place in {told}");
    }
});
