//! The scene that `new` writes loads and means what it says.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::scene::{Scene, new_scene_text};

#[test]
fn the_starter_loads_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bay.yaml");
    std::fs::write(&path, new_scene_text()).unwrap();
    let scene = match Scene::load(&path) {
        Ok(scene) => scene,
        Err(errors) => panic!("{errors}"),
    };
    assert_eq!(scene.bodies.len(), 6);
    let neck = scene.body("filler-neck").unwrap();
    let fit = neck.fit.as_ref().unwrap();
    assert_eq!((fit.kind.as_str(), fit.spare), ("cylinder", 1));
    let turbo = scene.body("second-turbo").unwrap();
    assert_eq!(scene.carriers[turbo.carrier].name, "engine", "carried as the block that its frame stands on");
    // The mount is on the block's right face, 140 right of its middle; the turbo's middle is 40 further.
    let at = turbo.world_from_body.translation.vector;
    assert!((at - nalgebra::Vector3::new(450.0, 180.0, 480.0)).norm() < 1e-9, "{at}");
}
