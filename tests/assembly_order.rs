//! Orders of assembly and breaks of a pipe, on bays made so that the answer is known.

use std::sync::Arc;
use std::time::{Duration, Instant};

use baywright::assembly::{
    BreakAsk, ComeOutAsk, Look, MASS_LIMIT_KG, OrderAsk, OrderFound, Outcome, Seen, Shapes, Side, caged,
    find_breaks, find_order, find_order_with_breaks, must_come_out,
};
use baywright::clearance::{IndexedShape, gap};
use baywright::scene::Scene;
use baywright::space::{Length, Pose};
use baywright::tube::JointKind;
use baywright::way_in::Way;
use nalgebra::{Isometry3, Translation3, UnitQuaternion};
use proptest::prelude::*;

fn load(text: &str) -> Scene {
    let folder = tempfile::tempdir().unwrap();
    Scene::load_text(&folder.path().join("bay.yaml"), text).unwrap_or_else(|errors| panic!("{errors}"))
}

fn look<'a>() -> Look<'a> {
    Look {
        mass_limit_kg: MASS_LIMIT_KG,
        gap: Length::from_mm(2.0),
        sides: vec![Side::Above],
        seed: 1,
        until: Instant::now() + Duration::from_secs(600),
        cancel: None,
    }
}

fn ordered(scene: &Scene, levels: usize) -> OrderFound {
    let kit: Vec<String> =
        scene.bodies.iter().filter(|body| body.candidate).map(|body| body.name.clone()).collect();
    let (shapes, look) = (Shapes::of(scene), look());
    find_order(&OrderAsk {
        scene,
        shapes: &shapes,
        kit: &kit,
        without: &[],
        look: &look,
        levels,
        explain: true,
    })
    .unwrap()
}

/// Poses on a way, no farther apart than 2 mm of travel of a point 150 mm from the middle.
fn walked(way: &Way, mut visit: impl FnMut(&Pose)) {
    let middle = Translation3::from(way.middle.coords);
    for pair in way.poses.windows(2) {
        let (a, b) = (pair[0] * middle, pair[1] * middle);
        let shift = b.translation.vector - a.translation.vector;
        let turn = a.rotation.rotation_to(&b.rotation).scaled_axis();
        let count = ((shift.norm() + turn.norm() * 150.0) / 2.0).ceil().max(1.0) as usize;
        for i in 0..=count {
            let share = i as f64 / count as f64;
            let rotation = UnitQuaternion::from_scaled_axis(turn * share) * a.rotation;
            let at = Translation3::from(a.translation.vector + shift * share);
            visit(&(Isometry3::from_parts(at, rotation) * middle.inverse()));
        }
    }
}

/// Every step of an order walked again: it touches nothing that is mounted by then.
fn verify(scene: &Scene, found: &OrderFound) {
    let kit: Vec<&str> =
        scene.bodies.iter().filter(|body| body.candidate).map(|body| body.name.as_str()).collect();
    let stuck: Vec<&str> = found.stuck.iter().map(|stuck| stuck.part.as_str()).collect();
    let mut mounted: Vec<&str> = stuck;
    for step in &found.steps {
        let moving = IndexedShape::new(scene.body(&step.part).unwrap().shape.clone());
        for body in &scene.bodies {
            if body.name == step.part
                || kit.contains(&body.name.as_str()) && !mounted.contains(&body.name.as_str())
            {
                continue;
            }
            let fixed = IndexedShape::new(Arc::clone(&body.shape));
            walked(&step.way, |pose| {
                let apart = gap(&fixed, &moving, &(body.world_from_body.inverse() * pose)).gap.mm();
                assert!(apart >= 1.999, "`{}` comes within {apart} mm of `{}`", step.part, body.name);
            });
        }
        mounted.push(&step.part);
    }
}

const TRAY: &str = "baywright: 1\ntitle: a tray, invented\nunits: mm\nbodies:\n  \
    floor: {shape: {box: [700, 300, 10]}, at: [0, 0, -8]}\n";

/// A link: a square ring of 12 mm bars, 120 outside, about its middle; flat in x-z or in x-y.
fn link(name: &str, x: f64, y: f64, z: f64, upright: bool) -> String {
    let parts: Vec<String> = [(0.0, 54.0, true), (0.0, -54.0, true), (54.0, 0.0, false), (-54.0, 0.0, false)]
        .into_iter()
        .map(|(along, across, lies)| {
            let (dx, dc) = if lies { (120.0, 12.0) } else { (12.0, 120.0) };
            let (size, at) = if upright {
                (format!("[{dx}, 12, {dc}]"), format!("[{along}, 0, {across}]"))
            } else {
                (format!("[{dx}, {dc}, 12]"), format!("[{along}, {across}, 0]"))
            };
            format!("{{shape: {{box: {size}}}, at: {at}}}")
        })
        .collect();
    format!("  {name}: {{shape: {{union: [{}]}}, at: [{x}, {y}, {z}], candidate: true}}\n", parts.join(", "))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 5, ..ProptestConfig::default() })]
    /// Stacks of plates in any order of naming, beside two links of a chain: each plate comes after the one below it, the
    /// links are named as an interlock and nothing else is, and every way keeps its gap when walked again.
    #[test]
    fn small_kits_with_a_known_interlock(heights in proptest::collection::vec(1usize..4, 2), shuffle in 0u64..1000) {
        let mut parts = Vec::new();
        for (stack, height) in heights.iter().enumerate() {
            for level in 0..*height {
                let at = format!("[{}, {}, {}]", -250 + 160 * stack as i64, 0, 10 + 24 * level as i64);
                parts.push(format!("  s{stack}-{level}: {{shape: {{box: [100, 100, 18]}}, at: {at}, candidate: true}}\n"));
            }
        }
        // The upright link stands through the middle of the lying one.
        parts.push(link("lying", 190.0, 0.0, 90.0, false));
        parts.push(link("upright", 244.0, 0.0, 90.0, true));
        let count = parts.len() as u64;
        let mut text = TRAY.to_owned();
        for i in 0..count {
            let left = parts.len() as u64;
            text.push_str(&parts.remove(((shuffle * (i + 3) * 7919) % left) as usize));
        }
        let scene = load(&text);
        let found = ordered(&scene, 1);
        let mut rings = found.interlocks.clone();
        rings.iter_mut().for_each(|ring| ring.sort());
        prop_assert_eq!(rings, vec![vec!["lying".to_owned(), "upright".to_owned()]]);
        prop_assert_eq!(found.stuck.len(), 2);
        prop_assert!(found.stuck.iter().all(|stuck| stuck.alone && stuck.proof.is_none()));
        let place = |name: &str| found.steps.iter().position(|step| step.part == name).unwrap();
        for (stack, height) in heights.iter().enumerate() {
            for level in 1..*height {
                let (upper, lower) = (format!("s{stack}-{level}"), format!("s{stack}-{}", level - 1));
                prop_assert!(place(&upper) > place(&lower));
            }
        }
        verify(&scene, &found);
    }
}

/// A covered channel, 310 long, 160 wide and 60 high inside; its lid is open over the middle 160. A rod of 300 in it
/// cannot get either end under the opening: pitched by at most asin(40 / 300) and yawed by at most asin(140 / 300) it is
/// still over 262 long in x, and ends beyond both edges of the opening (closed form).
fn channel(extra: &str) -> String {
    format!(
        "baywright: 1\ntitle: a covered channel, invented\nunits: mm\nbodies:\n\
         \x20 floor: {{shape: {{box: [320, 170, 5]}}, at: [0, 0, -2.5]}}\n\
         \x20 front: {{shape: {{box: [5, 170, 60]}}, at: [-157.5, 0, 30]}}\n\
         \x20 rear: {{shape: {{box: [5, 170, 60]}}, at: [157.5, 0, 30]}}\n\
         \x20 left: {{shape: {{box: [320, 5, 60]}}, at: [0, -82.5, 30]}}\n\
         \x20 right: {{shape: {{box: [320, 5, 60]}}, at: [0, 82.5, 30]}}\n\
         \x20 lid-front: {{shape: {{box: [80, 170, 5]}}, at: [-120, 0, 62.5]}}\n\
         \x20 lid-rear: {{shape: {{box: [80, 170, 5]}}, at: [120, 0, 62.5]}}\n\
         \x20 rod: {{shape: {{tube: {{diameter: 20, wall: 1.5, points: [[-150, 0, 30], [150, 0, 30]], bend_radius: 30}}}}, candidate: true{extra}}}\n"
    )
}

#[test]
fn a_rod_that_cannot_go_in_whole_goes_in_as_two() {
    let scene = load(&channel(""));
    let whole = ordered(&scene, 2);
    assert_eq!((whole.steps.len(), whole.stuck.len()), (0, 1), "{whole:?}");
    assert!(!whole.stuck[0].alone && whole.interlocks.is_empty());
    let (shapes, look) = (Shapes::of(&scene), look());
    let ask = BreakAsk {
        scene: &scene,
        shapes: &shapes,
        body: scene.body("rod").unwrap(),
        without: &[],
        joint: JointKind::VBand,
        most_pieces: 2,
        look: &look,
    };
    let found = find_breaks(&ask).unwrap();
    let won = found.won.as_ref().unwrap_or_else(|| panic!("{:?}", found.tried));
    let tried = &found.tried[won.tried];
    assert_eq!(tried.outcome, Outcome::Won);
    assert_eq!(won.pieces, ["rod/1", "rod/2"]);
    // Closed form: the joint is 44 across, 30 above the floor: 8 of room.
    assert!((tried.clamps[0].room_mm - 8.0).abs() < 1e-6, "{:?}", tried.clamps[0]);
    let tool = tried.clamps[0].tool.as_ref().unwrap();
    assert!(tool.along.z > 0.5, "a tool through the opening comes from above: {tool:?}");
    // The pieces together are the rod but for what is drawn back at the joint.
    assert!((tried.lengths_mm.iter().sum::<f64>() - 299.0).abs() < 1e-9);
    // Under the lid no tool gets at the screw.
    assert!(found.tried.iter().any(|tried| matches!(tried.outcome, Outcome::NoTool { place: 0 })));
    let mut pieces = won.scene.clone();
    for body in &mut pieces.bodies {
        body.candidate = won.pieces.contains(&body.name);
    }
    // All but the other piece, to which less than the gap is left at the joint.
    for step in &won.found.steps {
        let moving = IndexedShape::new(pieces.body(&step.part).unwrap().shape.clone());
        for body in pieces.bodies.iter().filter(|body| !body.candidate) {
            let fixed = IndexedShape::new(body.shape.clone());
            walked(&step.way, |pose| {
                let apart = gap(&fixed, &moving, &(body.world_from_body.inverse() * pose)).gap.mm();
                assert!(apart >= 1.999, "`{}` comes within {apart} mm of `{}`", step.part, body.name);
            });
        }
    }
}

#[test]
fn a_sheath_counts_where_a_joint_is_to_have_room() {
    // The floor has a sheath of 5: of the 8 of room that the joint has above it, 3 are left.
    let text = channel("").replace("at: [0, 0, -2.5]}", "at: [0, 0, -2.5], sheath: 5}");
    let scene = load(&text);
    let (shapes, look) = (Shapes::of(&scene), look());
    let ask = BreakAsk {
        scene: &scene,
        shapes: &shapes,
        body: scene.body("rod").unwrap(),
        without: &[],
        joint: JointKind::VBand,
        most_pieces: 2,
        look: &look,
    };
    let found = find_breaks(&ask).unwrap();
    let room_mm = found.tried.iter().map(|tried| tried.clamps[0].room_mm).fold(0.0, f64::max);
    assert!((room_mm - 3.0).abs() < 1e-6, "{room_mm}");
}

#[test]
fn a_pipe_that_does_not_go_in_whole_is_two_parts_of_the_order() {
    let block =
        "\x20 block: {shape: {box: [20, 20, 20]}, at: [0, 60, 60], candidate: true}\n".replace("\\x20", " ");
    let scene = load(&format!("{}{block}", channel("")));
    let (shapes, look) = (Shapes::of(&scene), look());
    let kit = ["rod".to_owned(), "block".to_owned()];
    let ask = OrderAsk {
        scene: &scene,
        shapes: &shapes,
        kit: &kit,
        without: &[],
        look: &look,
        levels: 2,
        explain: true,
    };
    let whole = find_order(&ask).unwrap();
    assert_eq!(whole.stuck.iter().map(|stuck| stuck.part.as_str()).collect::<Vec<_>>(), ["rod"]);
    let broken = find_order_with_breaks(&ask, JointKind::VBand, 2).unwrap();
    assert!(broken.found.stuck.is_empty(), "{:?}", broken.found.stuck);
    let mut parts: Vec<&str> = broken.found.steps.iter().map(|step| step.part.as_str()).collect();
    parts.sort_unstable();
    assert_eq!(parts, ["block", "rod/1", "rod/2"]);
    assert!(broken.scene.body("rod").is_none() && broken.broken[0].1.won.is_some());
}

#[test]
fn a_break_that_leaves_what_no_bender_makes_says_so() {
    let bent = channel(", bent_by: stock").replace(
        "points: [[-150, 0, 30], [150, 0, 30]], bend_radius: 30",
        "points: [[-150, -20, 30], [40, -20, 30], [40, 60, 30]], bend_radius: 31",
    );
    let scene = load(&bent);
    let (shapes, look) = (Shapes::of(&scene), look());
    let ask = BreakAsk {
        scene: &scene,
        shapes: &shapes,
        body: scene.body("rod").unwrap(),
        without: &[],
        joint: JointKind::VBand,
        most_pieces: 2,
        look: &look,
    };
    let found = find_breaks(&ask).unwrap();
    assert!(found.won.is_none());
    let made = found.tried.iter().filter(|tried| matches!(&tried.outcome, Outcome::Making { why } if why.contains("no stock bend makes bend 1")));
    assert!(made.count() > 0, "{:?}", found.tried);
}

/// A chamber whose only opening is a square window in its lid, and a ball of 40 in it.
fn chamber(window: f64, gap: f64) -> (Scene, Length) {
    let bar = (300.0 - window) / 2.0;
    let off = (window + bar) / 2.0;
    let text = format!(
        "baywright: 1\ntitle: a chamber, invented\nunits: mm\nbodies:\n\
         \x20 floor: {{shape: {{box: [300, 300, 5]}}, at: [0, 0, -2.5]}}\n\
         \x20 front: {{shape: {{box: [5, 300, 105]}}, at: [-147.5, 0, 52.5]}}\n\
         \x20 rear: {{shape: {{box: [5, 300, 105]}}, at: [147.5, 0, 52.5]}}\n\
         \x20 left: {{shape: {{box: [300, 5, 105]}}, at: [0, -147.5, 52.5]}}\n\
         \x20 right: {{shape: {{box: [300, 5, 105]}}, at: [0, 147.5, 52.5]}}\n\
         \x20 lid-front: {{shape: {{box: [{bar}, 300, 5]}}, at: [-{off}, 0, 102.5]}}\n\
         \x20 lid-rear: {{shape: {{box: [{bar}, 300, 5]}}, at: [{off}, 0, 102.5]}}\n\
         \x20 lid-left: {{shape: {{box: [{window}, {bar}, 5]}}, at: [0, -{off}, 102.5]}}\n\
         \x20 lid-right: {{shape: {{box: [{window}, {bar}, 5]}}, at: [0, {off}, 102.5]}}\n\
         \x20 part: {{shape: {{box: [40, 40, 90]}}, at: [60, 40, 50], candidate: true}}\n"
    );
    (load(&text), Length::from_mm(gap))
}

#[test]
fn an_opening_one_millimetre_too_small_is_proved_and_one_that_is_not_never_is() {
    // A block of 40 holds a ball of 40; with a gap of g the window must be over 40 + 2 g (closed form).
    for (window, gap, want) in
        [(39.0, 0.0, true), (44.9, 3.0, true), (46.5, 3.0, false), (41.0, 0.0, false), (120.0, 3.0, false)]
    {
        let (scene, gap) = chamber(window, gap);
        let seen = Seen::by(&scene, &Shapes::of(&scene), scene.body("part").unwrap(), &[], gap);
        let cage = caged(&seen, &[seen.outside(Side::Above)]);
        assert_eq!(cage.is_some(), want, "window {window}, gap {gap}: {cage:?}");
        if let Some(cage) = cage {
            assert!((cage.ball_mm - 40.0).abs() < 0.01, "{cage:?}");
            assert!(cage.opening_mm >= window - 2.0 * gap.mm() - 1e-6 && cage.opening_mm < 40.0, "{cage:?}");
            assert!(cage.by.iter().any(|by| by.starts_with("lid-")), "{cage:?}");
        }
    }
}

#[test]
fn what_must_come_out_is_counted_and_no_more_of_it() {
    // The lowest of a stack of three, another stack beside it.
    let mut text = TRAY.to_owned();
    for (name, x, z) in
        [("low", 0, 10), ("middle", 0, 34), ("top", 0, 58), ("other", 200, 10), ("over", 200, 34)]
    {
        text.push_str(&format!(
            "  {name}: {{shape: {{box: [100, 100, 18]}}, at: [{x}, 0, {z}], candidate: true}}\n"
        ));
    }
    for side in [-1, 1] {
        text.push_str(&format!(
            "  wall{}: {{shape: {{box: [600, 10, 100]}}, at: [50, {}, 50]}}\n",
            side + 1,
            side * 60
        ));
        text.push_str(&format!(
            "  end{}: {{shape: {{box: [10, 130, 100]}}, at: [{}, 0, 50]}}\n",
            side + 1,
            side * 60
        ));
    }
    let scene = load(&text);
    let parts: Vec<String> = ["other", "over", "middle", "top"].map(str::to_owned).into();
    let (shapes, look) = (Shapes::of(&scene), look());
    let ask = ComeOutAsk { scene: &scene, shapes: &shapes, parts: &parts, look: &look };
    let found = must_come_out(&ask, "low", None).unwrap();
    assert!(found.reached);
    assert_eq!(found.out, ["top", "middle"]);
    assert_eq!(
        found.ways.unwrap().steps.iter().map(|step| step.part.as_str()).collect::<Vec<_>>(),
        ["middle", "top"]
    );
    let top = must_come_out(&ask, "top", None).unwrap();
    assert!(top.reached && top.out.is_empty() && top.ways.is_none());
}

#[test]
fn what_sits_flush_between_walls_slides_out_along_them() {
    let scene = load(
        "baywright: 1\ntitle: a spacer, invented\nunits: mm\nbodies:\n\
         \x20 wall-a: {shape: {box: [10, 200, 200]}, at: [-55, 0, 0]}\n\
         \x20 wall-b: {shape: {box: [10, 200, 200]}, at: [55, 0, 0]}\n\
         \x20 spacer: {shape: {box: [100, 40, 40]}, at: [0, 0, 0], candidate: true}\n\
         joined:\n\
         \x20 - {bodies: [spacer, wall-a], by: one bolt}\n\
         \x20 - {bodies: [spacer, wall-b], by: one bolt}\n",
    );
    assert_eq!(ordered(&scene, 1).steps.len(), 1);
    let spacer = scene.body("spacer").unwrap();
    let seen = Seen::by(&scene, &Shapes::of(&scene), spacer, &[], Length::from_mm(2.0));
    assert!(seen.blocked().is_none());
    assert!(seen.remarks.iter().any(|remark| remark.contains("sits flush")), "{:?}", seen.remarks);
}

#[test]
fn what_sits_flush_in_a_channel_leaves_by_its_open_end_alone() {
    let channel = |end: &str| {
        load(&format!(
            "baywright: 1\ntitle: a channel, invented\nunits: mm\nbodies:\n\
             \x20 wall-a: {{shape: {{box: [10, 200, 60]}}, at: [-55, 0, 0]}}\n\
             \x20 wall-b: {{shape: {{box: [10, 200, 60]}}, at: [55, 0, 0]}}\n\
             \x20 floor: {{shape: {{box: [100, 200, 10]}}, at: [0, 0, -25]}}\n\
             \x20 lid: {{shape: {{box: [100, 200, 10]}}, at: [0, 0, 25]}}\n\
             \x20 back: {{shape: {{box: [120, 10, 80]}}, at: [0, -105, 0]}}\n{end}\
             \x20 slide: {{shape: {{box: [100, 100, 40]}}, at: [0, -50, 0], candidate: true}}\n\
             joined:\n\
             \x20 - {{bodies: [slide, wall-a], by: one bolt}}\n\x20 - {{bodies: [slide, wall-b], by: one bolt}}\n\
             \x20 - {{bodies: [slide, floor], by: one bolt}}\n\x20 - {{bodies: [slide, lid], by: one bolt}}\n\
             \x20 - {{bodies: [slide, back], by: one bolt}}\n"
        ))
    };
    let found = ordered(&channel(""), 1);
    assert_eq!(found.steps.len(), 1, "{found:?}");
    let shut = channel("\x20 front: {shape: {box: [120, 10, 80]}, at: [0, 105, 0]}\n");
    assert!(ordered(&shut, 1).steps.is_empty());
}

#[test]
fn something_small_goes_round_a_wide_lid() {
    // The lid reaches 300 mm to either side; the body is 50 mm wide.
    let scene = load(
        "baywright: 1\ntitle: a lid, invented\nunits: mm\nbodies:\n\
         \x20 lid: {shape: {box: [800, 600, 10]}, at: [400, 0, 500]}\n\
         \x20 post: {shape: {box: [50, 50, 100]}, at: [400, 0, 100], candidate: true}\n",
    );
    assert_eq!(ordered(&scene, 3).steps.len(), 1);
}
