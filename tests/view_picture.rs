//! Pictures drawn off-screen, judged by their pixels.
//!
//! On a machine without any graphics adapter each test prints why and passes over; every other
//! failure fails.
#![cfg(feature = "viewer")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::view_scene;

use baywright::check::{Findings, Verdict};
use baywright::scene::Scene;
use baywright::space::Length;
use baywright::view::{
    InFront, Picture, PictureOptions, Shading, ViewError, ViewFrom, picture, verdict_shade,
};
use nalgebra::{Point3, Vector3};

use view_scene::{bay, block, body, finding};

/// The picture, or `None` where nothing can draw.
fn drawn(scene: &Scene, findings: &Findings, options: &PictureOptions) -> Option<Picture> {
    match picture(scene, findings, options) {
        Ok(picture) => Some(picture),
        Err(ViewError::NoAdapter { cause }) => {
            println!("skipped, no graphics adapter: {cause}");
            None
        }
        Err(error) => panic!("{error}"),
    }
}

fn small() -> PictureOptions {
    PictureOptions { width: 640, height: 480, ..PictureOptions::default() }
}

/// Hue, degrees, and saturation, 0 to 1, of a colour.
fn hue([r, g, b]: [u8; 3]) -> (f64, f64) {
    let [r, g, b] = [r, g, b].map(|c| f64::from(c) / 255.0);
    let (hi, lo) = (r.max(g).max(b), r.min(g).min(b));
    let spread = hi - lo;
    let hue = if spread == 0.0 {
        0.0
    } else if hi == r {
        60.0 * ((g - b) / spread).rem_euclid(6.0)
    } else if hi == g {
        60.0 * ((b - r) / spread + 2.0)
    } else {
        60.0 * ((r - g) / spread + 4.0)
    };
    (hue, if hi == 0.0 { 0.0 } else { spread / hi })
}

fn pixel_of(picture: &Picture, at: &Point3<f64>) -> [u8; 3] {
    let [x, y] = picture.camera.project(at).expect("in front of the eye");
    picture.pixel(x as u32, y as u32).expect("inside the picture")
}

/// A block in each of the ways a body can look, apart from each other, all facing the front.
fn row_of_blocks() -> (Scene, Findings) {
    let at = |y: f64| Vector3::new(0.0, y, 0.0);
    let mut scene = Scene { title: "a row of blocks, invented".into(), ..Scene::default() };
    for (i, name) in ["on trial", "kept", "other", "touched", "short", "unsure", "clear"].iter().enumerate() {
        let mut body = body(name, block(80.0, 80.0, 80.0), at(-300.0 + 100.0 * i as f64));
        body.candidate = *name == "on trial";
        body.kept = *name == "kept";
        scene.bodies.push(body);
    }
    let about = |verdict, name: &str, y: f64, gap: f64| {
        let places = [Point3::new(-40.0, y, -80.0), Point3::new(-40.0, y, -80.0 - gap)];
        finding(verdict, [name, "on trial"], gap, places)
    };
    let list = vec![
        about(Verdict::Touching, "touched", 0.0, -3.0),
        about(Verdict::Short, "short", 100.0, 4.0),
        about(Verdict::Undecided, "unsure", 200.0, 9.0),
        about(Verdict::Clear, "clear", 300.0, 60.0),
    ];
    (scene, Findings { list, ..Findings::default() })
}

#[test]
fn every_body_has_its_colour_where_it_is() {
    let (scene, findings) = row_of_blocks();
    let options = PictureOptions { from: Some(ViewFrom::Front), marks: 0, width: 1000, ..small() };
    let Some(picture) = drawn(&scene, &findings, &options) else { return };
    for (name, want) in [
        ("on trial", Some([0x56, 0xB4, 0xE9])),
        ("kept", None),
        ("other", None),
        ("touched", Some(verdict_shade(Verdict::Touching).channels())),
        ("short", Some(verdict_shade(Verdict::Short).channels())),
        ("unsure", Some(verdict_shade(Verdict::Undecided).channels())),
        ("clear", None), // a clear finding leaves its bodies quiet
    ] {
        let body = scene.body(name).unwrap();
        // A little below the middle, where no label's dot is.
        let at = body.world_from_body * Point3::new(-40.0, 12.0, -22.0);
        let got = pixel_of(&picture, &at);
        let (got_hue, got_saturation) = hue(got);
        match want {
            Some(want) => {
                let (want_hue, _) = hue(want);
                let apart = (got_hue - want_hue + 180.0).rem_euclid(360.0) - 180.0;
                assert!(apart.abs() < 8.0, "{name}: {got:?} is not of the hue of {want:?}");
                assert!(got_saturation > 0.25, "{name}: {got:?} is washed out");
            }
            None => assert!(got_saturation < 0.12, "{name}: {got:?} should be grey"),
        }
    }
    let grey = |name: &str| {
        let at = scene.body(name).unwrap().world_from_body * Point3::new(-40.0, 12.0, -22.0);
        i32::from(pixel_of(&picture, &at)[1])
    };
    assert!(grey("kept") < grey("other") - 20, "kept is darker than other");
}

#[test]
fn the_picture_is_as_large_as_asked_and_mostly_scene() {
    let (scene, findings) = bay();
    let Some(picture) = drawn(&scene, &findings, &small()) else { return };
    assert_eq!((picture.width, picture.height), (640, 480));
    assert_eq!(picture.rgb.len(), 640 * 480 * 3);

    let decoded = image::load_from_memory(&picture.png().unwrap()).unwrap().into_rgb8();
    assert_eq!(decoded.as_raw(), &picture.rgb, "the PNG holds the same pixels");

    // Share of the scene's area that is background.
    let area = picture.camera.area;
    let background = picture.pixel(area.width as u32 - 3, 2).unwrap();
    let (w, h) = (area.width as u32, area.height as u32);
    let empty = (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
    let empty = empty.filter(|(x, y)| picture.pixel(*x, *y) == Some(background)).count();
    let share = empty as f64 / f64::from(w * h);
    assert!((0.15..0.75).contains(&share), "background covers {share:.2} of the scene's part");
}

#[test]
fn the_same_scene_gives_the_same_bytes() {
    let (scene, findings) = bay();
    let options = PictureOptions { focus: Some(1), ..small() };
    let Some(one) = drawn(&scene, &findings, &options) else { return };
    let Some(two) = drawn(&scene, &findings, &options) else { return };
    assert!(one.png().unwrap() == two.png().unwrap());
}

#[test]
fn a_carriers_value_moves_what_it_carries_and_nothing_else() {
    let (scene, findings) = bay();
    let from = Some(ViewFrom::Above);
    let at_rest = PictureOptions { from, marks: 0, ..small() };
    let rocked =
        PictureOptions { values: vec![("engine".into(), vec![4.0_f64.to_radians()])], ..at_rest.clone() };
    let Some(rest) = drawn(&scene, &findings, &at_rest) else { return };
    let Some(rock) = drawn(&scene, &findings, &rocked) else { return };
    assert!(rock.caption[1].contains("engine rock +4.0 deg"), "{}", rock.caption[1]);
    assert!(rest.caption[1].contains("at rest"), "{}", rest.caption[1]);
    // The engine's top corner: 4 degrees about a line 380 mm below it move it 26.5 mm sideways.
    let engine = scene.body("engine").unwrap();
    let top = engine.world_from_body * Point3::new(0.0, 130.0, 200.0);
    let engine_shade = pixel_of(&rest, &(top - Vector3::y() * 12.0));
    let moved_away = pixel_of(&rock, &(top - Vector3::y() * 12.0));
    assert_ne!(engine_shade, moved_away, "the engine stood here and has rocked away");
}

#[test]
fn a_focus_flies_to_the_place_and_clears_the_way() {
    let (scene, findings) = bay();
    let Some(picture) = drawn(&scene, &findings, &PictureOptions { focus: Some(2), ..small() }) else {
        return;
    };
    let place = findings.list[1].place.as_ref().unwrap();
    let area = picture.camera.area;
    for end in [&place.on_first, &place.on_second] {
        let [x, y] = picture.camera.project(end).unwrap();
        assert!((x - area.width / 2.0).abs() < area.width / 4.0, "{x} across");
        assert!((y - area.height / 2.0).abs() < area.height / 4.0, "{y} down");
    }
    let look = |name: &str| {
        let i = scene.bodies.iter().position(|b| b.name == name).unwrap();
        picture.looks[i]
    };
    assert_eq!(look("cowl").verdict, Some(Verdict::Short));
    assert_eq!(look("battery").verdict, None, "only the finding's own bodies are coloured");
    assert!(picture.caption.iter().any(|line| line.contains("second turbo to cowl: gap 7.0 mm")));
}

#[test]
fn hidden_is_gone_and_faded_shows_what_is_behind() {
    let mut scene = Scene::default();
    let mut behind = body("behind", block(60.0, 60.0, 60.0), Vector3::new(100.0, 0.0, 0.0));
    behind.candidate = true;
    scene.bodies.push(behind);
    scene.bodies.push(body("screen", block(10.0, 200.0, 200.0), Vector3::zeros()));
    let findings = Findings::default();
    let seen = |hidden: bool, faded: bool| {
        let name = |yes: bool| if yes { vec!["screen".to_owned()] } else { vec![] };
        let from = Some(ViewFrom::Front);
        let in_front = InFront::Solid;
        let options = PictureOptions { from, hidden: name(hidden), faded: name(faded), in_front, ..small() };
        let picture = drawn(&scene, &findings, &options)?;
        // Off the middle: the candidate's label points there.
        Some(hue(pixel_of(&picture, &Point3::new(70.0, 15.0, -18.0))))
    };
    let (Some(solid), Some(hidden), Some(faded)) = (seen(false, false), seen(true, false), seen(false, true))
    else {
        return;
    };
    assert!(solid.1 < 0.12, "the screen is grey: {solid:?}");
    assert!((190.0..215.0).contains(&hidden.0) && hidden.1 > 0.4, "sky blue is seen: {hidden:?}");
    assert!((190.0..215.0).contains(&faded.0), "and shows through: {faded:?}");
    assert!(faded.1 > 0.15 && faded.1 < hidden.1, "but paler: {faded:?} against {hidden:?}");
}

#[test]
fn a_cut_takes_away_what_is_nearer() {
    let mut scene = Scene::default();
    let mut inside = body("inside", block(60.0, 60.0, 60.0), Vector3::new(100.0, 0.0, 0.0));
    inside.candidate = true;
    scene.bodies.push(inside);
    scene.bodies.push(body("screen", block(10.0, 200.0, 200.0), Vector3::zeros()));
    let cut_at = Some(Length::from_mm(20.0));
    let options = PictureOptions { from: Some(ViewFrom::Front), cut_at, ..small() };
    let Some(picture) = drawn(&scene, &Findings::default(), &options) else { return };
    let (hue, saturation) = hue(pixel_of(&picture, &Point3::new(70.0, 15.0, -18.0)));
    assert!((190.0..215.0).contains(&hue) && saturation > 0.4, "hue {hue}, saturation {saturation}");
    assert!(picture.caption[1].contains("cut at x 20.0 mm"), "{}", picture.caption[1]);
}

#[test]
fn wrong_options_say_what_is_right() {
    let (scene, findings) = bay();
    let said = |options: PictureOptions| picture(&scene, &findings, &options).unwrap_err().to_string();
    let all = [
        said(PictureOptions { width: 20, ..small() }),
        said(PictureOptions { hidden: vec!["batery".into()], ..small() }),
        said(PictureOptions { faded: vec!["flux capacitor".into()], ..small() }),
        said(PictureOptions { focus: Some(9), ..small() }),
        said(PictureOptions { focus: Some(0), ..small() }),
        said(PictureOptions { cut_at: Some(Length::ZERO), ..small() }),
        said(PictureOptions { values: vec![("engine".into(), vec![1.0])], ..small() }),
        said(PictureOptions { hidden: scene.bodies.iter().map(|b| b.name.clone()).collect(), ..small() }),
        picture(&Scene::default(), &findings, &small()).unwrap_err().to_string(),
    ];
    insta::assert_snapshot!(all.join("\n"), @r"
    a picture of 20 x 480 pixels cannot be drawn; each side must be 320 to 8192
    there is no body `batery` in the scene; did you mean `battery`?
    there is no body `flux capacitor` in the scene
    there is no finding 9; the check gave 4, counted from 1
    there is no finding 0; the check gave 4, counted from 1
    a cut needs a view along an axis; `quarter-right` looks across them
    carrier `engine`: rock +57.3 deg is outside its range, -4.6 deg to +4.6 deg
    nothing to show: every body is hidden
    nothing to show: the scene has no body
    ");
}

#[test]
fn looks_fade_only_what_was_asked_or_is_in_the_way() {
    let (scene, findings) = bay();
    let options = PictureOptions { faded: vec!["firewall".into()], in_front: InFront::Solid, ..small() };
    let Some(picture) = drawn(&scene, &findings, &options) else { return };
    for (body, look) in scene.bodies.iter().zip(&picture.looks) {
        let want = if body.name == "firewall" { Shading::Faded } else { Shading::Solid };
        assert_eq!(look.shading, want, "{}", body.name);
    }
}

#[test]
fn what_hides_a_candidate_or_a_mark_is_drawn_faint_and_named() {
    let mut scene = Scene::default();
    let mut part = body("part", block(60.0, 60.0, 60.0), Vector3::new(100.0, 0.0, 0.0));
    part.candidate = true;
    scene.bodies.push(part);
    scene.bodies.push(body("screen", block(10.0, 200.0, 200.0), Vector3::new(0.0, 0.0, 0.0)));
    scene.bodies.push(body("beside", block(60.0, 60.0, 60.0), Vector3::new(0.0, 300.0, 0.0)));
    let options = PictureOptions { from: Some(ViewFrom::Front), ..small() };
    let Some(picture) = drawn(&scene, &Findings::default(), &options) else { return };
    let shadings: Vec<Shading> = picture.looks.iter().map(|look| look.shading).collect();
    assert_eq!(shadings, [Shading::Solid, Shading::Faded, Shading::Solid]);
    assert!(picture.caption.iter().any(|line| line.contains("Drawn faint, being in front: screen.")));
    let from_behind = PictureOptions { from: Some(ViewFrom::Rear), ..small() };
    let Some(picture) = drawn(&scene, &Findings::default(), &from_behind) else { return };
    assert!(picture.looks.iter().all(|look| look.shading == Shading::Solid), "nothing stands behind it");
}

/// Draws the invented bay from every side into a folder named by `BAYWRIGHT_PICTURES`, for a
/// person to look at. Nothing is asserted, so it is no test of its own and runs only when asked.
#[test]
#[ignore = "draws pictures for a person to look at"]
fn album() {
    let Some(folder) = std::env::var_os("BAYWRIGHT_PICTURES").map(std::path::PathBuf::from) else { return };
    let (scene, findings) = bay();
    let full = PictureOptions::default();
    let mut shots: Vec<(String, PictureOptions)> = ViewFrom::ALL
        .iter()
        .map(|v| (v.word().to_owned(), PictureOptions { from: Some(*v), ..full.clone() }))
        .collect();
    for number in 1..=findings.list.len() {
        shots.push((format!("focus-{number}"), PictureOptions { focus: Some(number), ..full.clone() }));
    }
    shots.push(("small".into(), small()));
    for (name, options) in shots {
        let started = std::time::Instant::now();
        match picture(&scene, &findings, &options) {
            Ok(picture) => picture.save(&folder.join(format!("{name}.png"))).unwrap(),
            Err(error) => println!("{name}: {error}"),
        }
        println!("{name}: {:.2} s", started.elapsed().as_secs_f64());
    }
}
