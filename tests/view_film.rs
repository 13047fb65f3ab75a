//! Film strips and playback: what is drawn is where the way says that it is.
//!
//! On a machine without any graphics adapter each test that draws prints why and passes over; every other failure fails.
#![cfg(feature = "viewer")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use crate::view_scene;

use baywright::check::Findings;
use baywright::scene::Scene;
use baywright::space::{Angle, Length, Pose, pose_from_euler};
use baywright::view::{
    BodyWay, Film, FilmOptions, FilmRow, Moving, PictureOptions, Playback, Tile, ViewError, ViewFrom, film,
    picture,
};
use baywright::way_in::{Effort, Way};
use nalgebra::{Point3, Vector3};

use view_scene::{block, body};

/// Half sides of the part, mm.
const HALF: [f64; 3] = [50.0, 30.0, 20.0];

/// A floor, a post, and a part that stands on the floor.
fn tray() -> Scene {
    let at = |x, y, z| Vector3::new(x, y, z);
    let mut part = body("part", block(2.0 * HALF[0], 2.0 * HALF[1], 2.0 * HALF[2]), at(0.0, 0.0, HALF[2]));
    part.candidate = true;
    let mut floor = body("floor", block(600.0, 500.0, 10.0), at(0.0, 0.0, -5.0));
    floor.kept = true;
    let post = body("post", block(30.0, 30.0, 60.0), at(200.0, 150.0, 30.0));
    Scene { title: "a tray, invented".into(), bodies: vec![part, floor, post], ..Scene::default() }
}

fn way(name: &str, poses: Vec<Pose>) -> BodyWay {
    let way = Way { poses, middle: Point3::origin(), spare: Length::ZERO, effort: Effort::default() };
    BodyWay { body: name.into(), way, seat_mm: None, away: vec![] }
}

/// Down from above, round by 50 degrees as it goes forward, and back and to the right into place.
fn three_moves() -> BodyWay {
    let pose = |x: f64, y: f64, z: f64, turn_deg: f64| {
        let still = Angle::from_deg(0.0);
        pose_from_euler(Vector3::new(x, y, z), still, still, Angle::from_deg(turn_deg))
    };
    way(
        "part",
        vec![
            pose(-150.0, -160.0, 330.0, 0.0),
            pose(-150.0, -160.0, 60.0, 0.0),
            pose(40.0, -150.0, 60.0, 50.0),
            pose(0.0, 0.0, HALF[2], 0.0),
        ],
    )
}

fn row<'a>(scene: &'a Scene, way: &'a BodyWay) -> FilmRow<'a> {
    FilmRow { scene, way, heading: way.body.clone() }
}

fn small() -> FilmOptions {
    FilmOptions {
        tile_width: 400,
        tile_height: 320,
        columns: 3,
        title: "a strip".into(),
        ..FilmOptions::default()
    }
}

/// The strip, or `None` where nothing can draw.
fn drawn(rows: &[FilmRow<'_>]) -> Option<Film> {
    match film(rows, &small()) {
        Ok(film) => Some(film),
        Err(ViewError::NoAdapter { cause }) => {
            println!("skipped, no graphics adapter: {cause}");
            None
        }
        Err(error) => panic!("{error}"),
    }
}

/// Hue in degrees, saturation and value, 0 to 1.
fn hsv([r, g, b]: [u8; 3]) -> [f64; 3] {
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
    [hue, if hi == 0.0 { 0.0 } else { spread / hi }, hi]
}

/// The colour of a body on its way: the blue of Okabe and Ito, 0072B2, lit or in shade, and not their sky blue, 56B4E9.
fn on_its_way(pixel: [u8; 3]) -> bool {
    let [hue, saturation, value] = hsv(pixel);
    (195.0..215.0).contains(&hue) && saturation > 0.65 && value < 0.82
}

/// The colour of a candidate: their sky blue.
fn candidate(pixel: [u8; 3]) -> bool {
    let [hue, saturation, value] = hsv(pixel);
    (190.0..215.0).contains(&hue) && (0.25..0.65).contains(&saturation) && value > 0.82
}

/// The pixel at which a place of the scene falls in a tile.
fn pixel_of(film: &Film, tile: &Tile, at: &Point3<f64>) -> [u8; 3] {
    let [x, y] = tile.camera.project(at).expect("in front of the eye");
    let area = tile.camera.area;
    assert!((0.0..area.width).contains(&x) && (0.0..area.height).contains(&y), "{at} falls outside its tile");
    film.pixel(tile.corner[0] + x as u32, tile.corner[1] + y as u32).expect("inside the strip")
}

/// Places on the part's top, off its middle where an arrow may lie.
fn on_top(pose: &Pose) -> Vec<Point3<f64>> {
    let share = [(-0.75, -0.7), (-0.75, 0.7), (0.75, -0.7), (0.75, 0.7), (0.4, 0.75), (-0.4, -0.75)];
    share.iter().map(|(x, y)| pose * Point3::new(x * HALF[0], y * HALF[1], HALF[2])).collect()
}

#[test]
fn in_each_tile_the_part_is_where_its_move_ends_and_pale_where_it_begins() {
    let (scene, way) = (tray(), three_moves());
    let Some(film) = drawn(&[row(&scene, &way)]) else { return };
    assert_eq!(film.tiles.len(), 3);
    let moves = way.way.moves();
    for (tile, step) in film.tiles.iter().zip(&moves) {
        assert_eq!(tile.words, step.words(), "the words are the report's");
        let count = |pose: &Pose, test: fn([u8; 3]) -> bool| {
            on_top(pose).iter().filter(|at| test(pixel_of(&film, tile, at))).count()
        };
        let number = tile.number;
        let there: Vec<[u8; 3]> = on_top(&step.to).iter().map(|at| pixel_of(&film, tile, at)).collect();
        assert!(count(&step.to, on_its_way) >= 4, "move {number}: {there:?}");
        assert_eq!(count(&step.from, on_its_way), 0, "move {number}: it is solid where it began");
        // Pale: of its hue, and well under its saturation.
        let pale = |pixel: [u8; 3]| {
            let [hue, saturation, _] = hsv(pixel);
            (190.0..225.0).contains(&hue) && (0.06..0.6).contains(&saturation)
        };
        assert!(count(&step.from, pale) >= 4, "move {number}: {} of 6 are pale", count(&step.from, pale));
    }
}

#[test]
fn what_hides_the_part_is_faint_and_what_is_away_is_not_there() {
    let (mut scene, mut way) = (tray(), three_moves());
    scene.bodies.push(body("roof", block(400.0, 400.0, 6.0), Vector3::new(0.0, 0.0, 130.0)));
    let mut lid = body("lid", block(120.0, 120.0, 40.0), Vector3::new(150.0, -120.0, 20.0));
    lid.candidate = true;
    scene.bodies.push(lid);
    // The roof is far over the way's beginning in no tile: it stands before the part once that is under it.
    way.way.poses.remove(0);
    let Some(there) = drawn(&[row(&scene, &way)]) else { return };
    assert!(there.tiles.iter().all(|tile| tile.faint == ["roof"]), "{:?}", there.tiles[0].faint);
    let last = |film: &Film| film.tiles.last().unwrap().clone();
    let part = on_top(&last(&there).ends[1]);
    let bluish = |pixel: [u8; 3]| (190.0..225.0).contains(&hsv(pixel)[0]) && hsv(pixel)[1] > 0.25;
    let shows = part.iter().filter(|at| bluish(pixel_of(&there, &last(&there), at))).count();
    assert!(shows >= 4, "the part shows through the roof: {shows} of 6");
    let coloured = |film: &Film, test: fn([u8; 3]) -> bool| {
        let tile = last(film);
        let (w, h) = (tile.camera.area.width as u32, tile.camera.area.height as u32);
        let all = (0..h).flat_map(|y| (0..w).map(move |x| (x, y)));
        all.filter(|(x, y)| film.pixel(tile.corner[0] + x, tile.corner[1] + y).is_some_and(test)).count()
    };
    way.away = vec!["lid".into(), "roof".into()];
    let Some(away) = drawn(&[row(&scene, &way)]) else { return };
    assert!(away.tiles.iter().all(|tile| tile.faint.is_empty()));
    // The lid stands beside the part: in sight where it is there at all.
    let mut beside = way.clone();
    beside.away = vec!["roof".into()];
    let Some(beside) = drawn(&[row(&scene, &beside)]) else { return };
    let (with, without) = (coloured(&beside, candidate), coloured(&away, candidate));
    assert!(with > without + 200, "{with} pixels of a candidate with the lid, {without} without");
}

#[test]
fn parts_stand_one_under_the_other_and_a_seat_is_a_move_of_its_own() {
    let scene = tray();
    let first = three_moves();
    let mut second =
        way("post", vec![Pose::translation(200.0, 150.0, 300.0), Pose::translation(200.0, 150.0, 32.0)]);
    second.seat_mm = Some(Vector3::new(0.0, 0.0, -2.0));
    let Some(film) = drawn(&[row(&scene, &first), row(&scene, &second)]) else { return };
    let told: Vec<(usize, usize, [u32; 2])> =
        film.tiles.iter().map(|tile| (tile.row, tile.number, [tile.corner[0], tile.corner[1]])).collect();
    let (top, under) = (told[0].2[1], told[3].2[1]);
    assert_eq!(
        told,
        [(0, 1, [0, top]), (0, 2, [400, top]), (0, 3, [800, top]), (1, 1, [0, under]), (1, 2, [400, under])]
    );
    assert!(under > top + 320 && film.height > under + 320 && film.width == 1200);
    assert_eq!(film.rgb.len(), film.width as usize * film.height as usize * 3);
    assert_eq!(film.tiles[4].words, "on to its seat: (0.0, 0.0, -2.0) mm (not looked at)");
    let [from, to] = film.tiles[4].ends;
    assert_eq!(to.translation.vector - from.translation.vector, Vector3::new(0.0, 0.0, -2.0));
    let again = drawn(&[row(&scene, &first), row(&scene, &second)]).unwrap();
    assert!(film.png().unwrap() == again.png().unwrap(), "the same ways give the same bytes");
}

#[test]
fn playback_goes_from_outside_to_the_mounted_pose_body_by_body() {
    let scene = tray();
    // 300 mm, then 100 mm: the second body begins at three quarters.
    let down =
        |x: f64, y: f64, z: f64, by: f64| vec![Pose::translation(x, y, z + by), Pose::translation(x, y, z)];
    let mut first = way("part", down(0.0, 0.0, HALF[2], 300.0));
    first.away = vec!["floor".into()];
    let second = way("post", down(200.0, 150.0, 30.0, 100.0));
    let playback = Playback::new(&scene, &[first, second]).unwrap();
    for (share, body, height_mm, words) in [
        (-1.0, "part", 320.0, "lower 300 mm"),
        (0.0, "part", 320.0, "lower 300 mm"),
        (0.375, "part", 170.0, "lower 300 mm"),
        (0.75, "part", 20.0, "lower 300 mm"),
        (0.875, "post", 80.0, "lower 100 mm"),
        (1.0, "post", 30.0, "lower 100 mm"),
        (7.0, "post", 30.0, "lower 100 mm"),
    ] {
        let (seen, now) = playback.scene_at(&scene, share);
        assert_eq!(
            (now.body.as_str(), now.words.as_str(), now.number, now.of),
            (body, words, 1, 1),
            "at {share}"
        );
        let pose = seen.body(body).unwrap().world_from_body;
        assert!((pose.translation.z - height_mm).abs() < 1e-9, "at {share}: {pose}");
        let there: Vec<&str> = seen.bodies.iter().map(|body| body.name.as_str()).collect();
        // The second is not there before its turn, the first is where it is mounted after its own.
        let want: &[&str] = if body == "part" { &["part"] } else { &["part", "floor", "post"] };
        assert_eq!(there, want, "at {share}");
    }
    assert_eq!(playback.moves(), 2);
}

#[test]
fn a_picture_at_a_share_of_the_way_shows_the_part_there_and_nowhere_else() {
    let (scene, way) = (tray(), three_moves());
    let playback = Playback::new(&scene, std::slice::from_ref(&way)).unwrap();
    let (seen, now) = playback.scene_at(&scene, 0.3);
    let moving = Some(Moving { body: now.body.clone(), told: now.told(), words: now.words.clone() });
    // From above: from the usual side it would hang before its own place.
    let from = Some(ViewFrom::Above);
    let options = PictureOptions { width: 480, height: 400, from, moving, ..PictureOptions::default() };
    let drawn = match picture(&seen, &Findings::default(), &options) {
        Ok(picture) => picture,
        Err(ViewError::NoAdapter { cause }) => return println!("skipped, no graphics adapter: {cause}"),
        Err(error) => panic!("{error}"),
    };
    let count = |pose: &Pose| {
        let place = |at: &Point3<f64>| drawn.camera.project(at).unwrap();
        let seen = |[x, y]: [f64; 2]| drawn.pixel(x as u32, y as u32).is_some_and(on_its_way);
        on_top(pose).iter().map(place).filter(|at| seen(*at)).count()
    };
    let here = seen.body("part").unwrap().world_from_body;
    // A third of the way down: 0.3 of all travel lies in the first move, of 270 mm.
    assert_eq!(now.number, 1);
    let there = on_top(&here).into_iter().map(|at| drawn.camera.project(&at).unwrap());
    let there: Vec<_> = there.map(|[x, y]| drawn.pixel(x as u32, y as u32)).collect();
    assert!(count(&here) >= 4, "{there:?}");
    assert_eq!(count(&scene.body("part").unwrap().world_from_body), 0, "it is not mounted yet");
    assert_eq!(drawn.caption[0], "a tray, invented: part, move 1 of 3");
    assert_eq!(drawn.caption[2], "lower 270 mm");
}

#[test]
fn what_cannot_be_shown_is_told() {
    let scene = tray();
    let said = |way: BodyWay| film(&[row(&scene, &way)], &small()).unwrap_err().to_string();
    let here = Pose::translation(0.0, 0.0, HALF[2]);
    let many = (0..200).map(|n| Pose::translation(0.0, 0.0, f64::from(n))).collect();
    let tiny = FilmOptions { tile_width: 20, ..small() };
    let some = three_moves();
    let mut lost = three_moves();
    lost.away = vec!["lid".into()];
    let all = [
        said(way("prat", vec![here, here])),
        said(way("part", vec![here])),
        said(way("part", many)),
        film(&[], &small()).unwrap_err().to_string(),
        film(&[row(&scene, &some)], &tiny).unwrap_err().to_string(),
        Playback::new(&scene, &[way("prat", vec![here, here])]).unwrap_err().to_string(),
        Playback::new(&scene, &[lost]).unwrap_err().to_string(),
        Playback::new(&scene, &[]).unwrap_err().to_string(),
    ];
    insta::assert_snapshot!(all.join("\n"), @r"
    there is no body `prat` in the scene; did you mean `part`?
    there is no way in to be shown for part
    the strip would have 199 pictures, one a move; 96 at most are drawn
    there is no way in to be shown for anything
    a picture of 20 x 320 pixels cannot be drawn; each side must be 320 to 2048
    there is no body `prat` in the scene; did you mean `part`?
    there is no body `lid` in the scene
    there is no way in to be shown for anything
    ");
}
