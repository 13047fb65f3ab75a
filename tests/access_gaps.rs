//! Room, swing, tool and lift-out among solids, against closed forms.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::sync::Arc;

use baywright::access::{
    Bodies, Lean, Lever, LiftOutAsk, StandingBody, Swing, SwingAsk, Tool, ToolAsk, ToolFit, lift_out,
    pour_room, swing, tool_on_axis, turn_room,
};
use baywright::clearance::{IndexedShape, gap};
use baywright::solid::{Ball, Block, Capsule, Piece, Shape, TorusArc};
use baywright::space::{Angle, Axis, Bounds, Pose, pose_of_turn};
use nalgebra::{Point3, UnitQuaternion, Vector3};

fn ball(name: &str, at: [f64; 3], radius_mm: f64, cover_mm: f64) -> StandingBody {
    StandingBody {
        name: name.to_string(),
        shape: IndexedShape::new(Arc::new(Shape::Ball(Ball { radius_mm }))),
        world_from_body: Pose::translation(at[0], at[1], at[2]),
        cover_mm,
    }
}

fn block(name: &str, min: [f64; 3], max: [f64; 3]) -> StandingBody {
    let bounds = Bounds { min: Point3::from(min), max: Point3::from(max) };
    let at = bounds.center();
    StandingBody {
        name: name.to_string(),
        shape: IndexedShape::new(Arc::new(Shape::Block(Block { size_mm: bounds.size() }))),
        world_from_body: Pose::translation(at.x, at.y, at.z),
        cover_mm: 0.0,
    }
}

fn z_axis() -> Axis {
    Axis { through: Point3::origin(), along: Vector3::z_axis() }
}

#[test]
fn room_about_a_cap_and_over_a_filler() {
    let bodies = Bodies::new(vec![
        ball("near", [80.0, 0.0, 30.0], 10.0, 2.0),
        ball("far", [0.0, 300.0, 30.0], 10.0, 0.0),
    ])
    .unwrap();
    let room = turn_room(&bodies, &[], &z_axis(), 45.0, 60.0, 100.0).unwrap();
    assert!((room.gap_mm - 23.0).abs() < 1e-6, "80 - 45 - 10 - 2 of cover: {room:?}");
    assert_eq!(room.nearest.unwrap().body, 0);
    let room = turn_room(&bodies, &[0], &z_axis(), 45.0, 60.0, 100.0).unwrap();
    assert!(room.gap_mm == 100.0 && room.nearest.is_none(), "nothing under the limit: {room:?}");
    let room = pour_room(&bodies, &[], &z_axis(), 25.0, 250.0, 100.0).unwrap();
    assert!((room.gap_mm - 43.0).abs() < 1e-6, "80 - 25 - 10 - 2: {room:?}");
    // Sideways: the axis along x meets the ball's side 30 above it: 30 - 25 - 10 - 2 = -7.
    let sideways = Axis { through: Point3::origin(), along: Vector3::x_axis() };
    let room = pour_room(&bodies, &[], &sideways, 25.0, 250.0, 100.0).unwrap();
    assert!((room.gap_mm + 7.0).abs() < 1e-6, "overlap of 7: {room:?}");
    assert!(turn_room(&bodies, &[], &z_axis(), -1.0, 60.0, 100.0).is_err());
}

/// A round-ended lever along +x from the axis: core 150, radius 5.
fn lever() -> (IndexedShape, Pose) {
    let lever = IndexedShape::new(Arc::new(Shape::Capsule(Capsule { radius_mm: 5.0, core_mm: 150.0 })));
    let turn = UnitQuaternion::rotation_between(&Vector3::z(), &Vector3::x()).unwrap();
    (lever, Pose::from_parts(Vector3::new(75.0, 0.0, 0.0).into(), turn))
}

fn lever_swing(bodies: &Bodies, room_mm: f64) -> Swing {
    let (lever, world_from_lever) = lever();
    swing(&SwingAsk {
        bodies,
        without: &[],
        lever: &lever,
        world_from_lever,
        axis: z_axis(),
        from_rad: 0.0,
        to_rad: std::f64::consts::TAU,
        room_mm,
        tolerance_rad: Angle::from_deg(0.01).rad(),
    })
    .unwrap()
}

#[test]
fn swing_arcs_match_closed_forms_to_a_tenth_of_a_degree() {
    let at = |distance_mm: f64, deg: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        [distance_mm * cos, distance_mm * sin, 0.0]
    };
    let tip = |distance_mm: f64, touch_mm: f64| {
        let cos = (150.0_f64.powi(2) + distance_mm.powi(2) - touch_mm.powi(2)) / (300.0 * distance_mm);
        cos.acos().to_degrees()
    };
    let side = (25.0_f64 / 100.0).asin().to_degrees();
    let side_room = (28.0_f64 / 100.0).asin().to_degrees();
    let wall = (55.0_f64 / 150.0).asin().to_degrees();
    let cases = [
        (
            "side of the lever: asin(25/100)",
            vec![ball("b", at(100.0, 60.0), 20.0, 0.0)],
            0.0,
            vec![(60.0 + side, 420.0 - side)],
        ),
        (
            "3 of room: asin(28/100)",
            vec![ball("b", at(100.0, 60.0), 20.0, 0.0)],
            3.0,
            vec![(60.0 + side_room, 420.0 - side_room)],
        ),
        (
            "3 of cover: the same",
            vec![ball("b", at(100.0, 60.0), 20.0, 3.0)],
            0.0,
            vec![(60.0 + side_room, 420.0 - side_room)],
        ),
        (
            "tip: law of cosines",
            vec![ball("b", at(165.0, 200.0), 20.0, 0.0)],
            0.0,
            vec![(200.0 + tip(165.0, 25.0), 560.0 - tip(165.0, 25.0))],
        ),
        (
            "two balls make two arcs",
            vec![ball("a", at(100.0, 60.0), 20.0, 0.0), ball("b", at(100.0, 180.0), 20.0, 0.0)],
            0.0,
            vec![(60.0 + side, 180.0 - side), (180.0 + side, 420.0 - side)],
        ),
        (
            "a flat wall 60 away: asin((60 - 5) / 150)",
            vec![block("wall", [-400.0, 60.0, -50.0], [400.0, 90.0, 50.0])],
            0.0,
            vec![(180.0 - wall, 360.0 + wall)],
        ),
        ("nothing near: all round", vec![ball("b", at(300.0, 10.0), 20.0, 0.0)], 0.0, vec![(0.0, 360.0)]),
    ];
    for (case, list, room_mm, want) in cases {
        let count = list.len();
        let found = lever_swing(&Bodies::new(list).unwrap(), room_mm);
        assert_eq!(found.arcs.len(), want.len(), "{case}: {found:?}");
        for (arc, (from_deg, to_deg)) in found.arcs.iter().zip(want) {
            let got = (arc.from_rad.to_degrees(), arc.to_rad.to_degrees());
            assert!(
                got.0 >= from_deg - 1e-6
                    && got.0 < from_deg + 0.1
                    && got.1 <= to_deg + 1e-6
                    && got.1 > to_deg - 0.1,
                "{case}: {got:?}, want {from_deg} to {to_deg}"
            );
            assert_eq!(arc.stopped_to.is_some(), count > 0 && to_deg - from_deg < 360.0, "{case}");
        }
    }
}

#[test]
fn a_swing_past_a_bend_and_a_plate_agrees_with_gaps_at_every_quarter_of_a_degree() {
    let bend = Shape::TorusArc(TorusArc {
        ring_radius_mm: 90.0,
        tube_radius_mm: 12.0,
        sweep_rad: Angle::from_deg(120.0).rad(),
    });
    // Its middle line dips through the lever's plane; the plate's top lies 4 under it, so that the bar
    // of radius 5 scrapes along it by 1 without its middle line ever coming near.
    let tilt = UnitQuaternion::from_axis_angle(&Vector3::x_axis(), 0.3);
    let pipe = StandingBody {
        name: "pipe".to_string(),
        shape: IndexedShape::new(Arc::new(bend)),
        world_from_body: Pose::from_parts(Vector3::new(20.0, 25.0, -8.0).into(), tilt),
        cover_mm: 1.5,
    };
    let bodies =
        Bodies::new(vec![pipe, block("plate", [-160.0, -160.0, -30.0], [-20.0, -60.0, -4.0])]).unwrap();
    let found = lever_swing(&bodies, 0.0);
    let (bar, world_from_lever) = lever();
    let (mut free, mut blocked) = (0, 0);
    for step in 0..1440 {
        let angle = Angle::from_deg(0.25 * f64::from(step));
        let pose = pose_of_turn(&z_axis(), angle) * world_from_lever;
        let gap_mm = bodies
            .list()
            .iter()
            .map(|body| gap(&body.shape, &bar, &body.world_from_body.inv_mul(&pose)).gap.mm() - body.cover_mm)
            .fold(f64::INFINITY, f64::min);
        let within = found.arcs.iter().any(|arc| {
            [0.0, std::f64::consts::TAU]
                .iter()
                .any(|turn| (arc.from_rad..=arc.to_rad).contains(&(angle.rad() + turn)))
        });
        if within {
            free += 1;
            assert!(gap_mm > -1e-9, "called free at {} deg: {gap_mm}", angle.deg());
        } else {
            blocked += 1;
            // 155 of lever and 0.01 deg of tolerance.
            assert!(gap_mm < 0.03, "called blocked at {} deg: {gap_mm}", angle.deg());
        }
    }
    assert!(free > 300 && blocked > 300, "{free} free, {blocked} blocked");
}

#[test]
fn a_ratchet_works_with_room_for_a_click_and_no_longer_without() {
    let tool = Tool {
        name: "ratchet with a 13 mm socket".to_string(),
        sections_mm: vec![(0.0, 30.0, 10.0), (30.0, 55.0, 16.0)],
        lever: Some(Lever { height_mm: 42.0, length_mm: 180.0, radius_mm: 12.0, rise: Angle::ZERO }),
        click: Angle::from_deg(360.0 / 72.0),
        lean: None,
    };
    let try_in = |list: Vec<StandingBody>| {
        let bodies = Bodies::new(list).unwrap();
        let ask = ToolAsk {
            bodies: &bodies,
            without: &[],
            tool: &tool,
            axis: z_axis(),
            off_mm: 25.0,
            room_mm: 1.0,
        };
        tool_on_axis(&ask).unwrap()
    };
    let free = try_in(vec![]);
    assert!(free.works && free.rises_mm == 25.0 && free.swing.unwrap().arcs.len() == 1);
    // A lid 70 above the seat: the head (top at 55) rises 15 less 1 of room, not 25.
    let lid = try_in(vec![block("lid", [-300.0, -300.0, 70.0], [300.0, 300.0, 80.0])]);
    assert!(!lid.works && (lid.rises_mm - 14.0).abs() < 0.02, "{lid:?}");
    // A wall 14 from the axis is nearer than the head's 16: it does not sit.
    let wall = try_in(vec![block("wall", [14.0, -300.0, -10.0], [40.0, 300.0, 100.0])]);
    assert!(!wall.works && wall.seated.gap_mm == 0.0 && wall.seated.nearest.is_some(), "{wall:?}");
    // Two walls 40 apart that stand clear of the head: the lever fits between, and turns
    // asin((20 - 13) / 180) either way of the middle.
    let channel = try_in(vec![
        block("east", [20.0, -300.0, -10.0], [60.0, 300.0, 100.0]),
        block("west", [-60.0, -300.0, -10.0], [-20.0, 300.0, 100.0]),
    ]);
    let sweep_deg = channel.swing.as_ref().unwrap().widest().unwrap().sweep_rad().to_degrees();
    let want_deg = 2.0 * (7.0_f64 / 180.0).asin().to_degrees();
    assert!((sweep_deg - want_deg).abs() < 0.1, "{sweep_deg}, want {want_deg}");
    assert!(!channel.works, "4.46 deg is less than a click of 5: it can be put on but not turned");
}

/// A ratchet whose shank leans from its joint, 28 above the seat.
fn bent(lean: Option<(f64, f64)>, rise_deg: f64) -> Tool {
    Tool {
        name: "bent".to_string(),
        sections_mm: vec![(1.0, 28.0, 10.0), (28.0, 90.0, 8.5), (90.0, 122.0, 16.0)],
        lever: Some(Lever {
            height_mm: 106.0,
            length_mm: 180.0,
            radius_mm: 12.0,
            rise: Angle::from_deg(rise_deg),
        }),
        click: Angle::from_deg(5.0),
        lean: lean.map(|(by, toward)| Lean {
            at_mm: 28.0,
            by: Angle::from_deg(by),
            toward: Angle::from_deg(toward),
        }),
    }
}

fn fit(bodies: &Bodies, tool: &Tool) -> ToolFit {
    tool_on_axis(&ToolAsk { bodies, without: &[], tool, axis: z_axis(), off_mm: 5.0, room_mm: 0.0 }).unwrap()
}

#[test]
fn a_shank_leant_from_a_wall_clears_it_as_plane_geometry_says() {
    // Its face 12 from the axis, from 60 up: nearer than the head of 16.
    let bodies = Bodies::new(vec![block("wall", [12.0, -400.0, 60.0], [40.0, 400.0, 400.0])]).unwrap();
    let straight = fit(&bodies, &bent(None, 0.0));
    assert!(!straight.works && straight.seated.gap_mm == 0.0, "{straight:?}");
    // Angles are counted from where the tool's zero lies; the wall is at +x.
    let zero = Tool::zero(&z_axis());
    let away_deg = 180.0 - zero.y.atan2(zero.x).to_degrees();
    let leant = fit(&bodies, &bent(Some((15.0, away_deg)), 0.0));
    // The wall's lower edge (12, 60), measured square from the shank's side line, which starts from (8.5 cos, 28 +
    // 8.5 sin) and leans by 15 degrees: elementary geometry.
    let (sin, cos) = 15.0_f64.to_radians().sin_cos();
    let edge = (12.0 - 8.5 * cos) * cos + (60.0 - 28.0 - 8.5 * sin) * sin;
    assert!((leant.seated.gap_mm - edge).abs() < 1e-6, "{} want {edge}", leant.seated.gap_mm);
    assert!(leant.works && leant.turns_about.along.x < 0.0, "{leant:?}");
    // Leant the other way it goes further into the wall.
    let into = fit(&bodies, &bent(Some((15.0, away_deg + 180.0)), 0.0));
    assert!(into.seated.gap_mm == 0.0 && into.swing.is_none() && !into.works, "{into:?}");
}

#[test]
fn a_raised_lever_clears_a_kerb_from_the_angle_that_plane_geometry_gives() {
    // A kerb all round, its inner faces 60 from the axis, its top 114: above the lever's middle line of 106.
    let kerb = |name: &str, x: [f64; 2], y: [f64; 2]| block(name, [x[0], y[0], 0.0], [x[1], y[1], 114.0]);
    let bodies = Bodies::new(vec![
        kerb("e", [60.0, 300.0], [-300.0, 300.0]),
        kerb("w", [-300.0, -60.0], [-300.0, 300.0]),
        kerb("n", [-60.0, 60.0], [60.0, 300.0]),
        kerb("s", [-60.0, 60.0], [-300.0, -60.0]),
    ])
    .unwrap();
    // The edge (60, 114) is 12 from the line through (0, 106) that rises by a: (106 + 60 tan a - 114) cos a = 12.
    let clears = |deg: f64| (60.0 * deg.to_radians().tan() - 8.0) * deg.to_radians().cos() >= 12.0;
    for deg in [0.0, 12.0, 18.5, 19.5, 30.0, 60.0] {
        let found = fit(&bodies, &bent(None, deg));
        let whole = found
            .swing
            .as_ref()
            .unwrap()
            .widest()
            .is_some_and(|arc| arc.sweep_rad() > std::f64::consts::TAU - 1e-9);
        assert_eq!(whole, clears(deg), "{deg}: {found:?}");
    }
    assert!(!clears(18.5) && clears(19.5));
}

#[test]
fn arcs_of_a_bent_tool_agree_with_gaps_of_its_bar() {
    for (case, at) in
        [[110.0, 40.0, 95.0], [-60.0, 90.0, 150.0], [30.0, -120.0, 180.0]].into_iter().enumerate()
    {
        let bodies = Bodies::new(vec![ball("b", at, 25.0, 1.0)]).unwrap();
        for (lean, rise) in [(Some((15.0, 45.0)), 0.0), (None, 40.0), (Some((30.0, 200.0)), 20.0)] {
            let tool = bent(lean, rise);
            let found = fit(&bodies, &tool);
            let Some(swing) = &found.swing else { continue };
            let lever = tool.lever.unwrap();
            for step in 0..360 {
                let angle = Angle::from_deg(f64::from(step));
                let [from, to] = [0.0, lever.length_mm].map(|out| lever.at(&found.turns_about, angle, out));
                let bar = IndexedShape::of_pieces(&[Piece::Capsule { from, to, radius_mm: lever.radius_mm }]);
                let body = &bodies.list()[0];
                let gap_mm = gap(&body.shape, &bar, &body.world_from_body.inverse()).gap.mm() - body.cover_mm;
                let within = swing.arcs.iter().any(|arc| {
                    [0.0, std::f64::consts::TAU]
                        .iter()
                        .any(|turn| (arc.from_rad..=arc.to_rad).contains(&(angle.rad() + turn)))
                });
                // 192 of lever and 0.05 deg of tolerance.
                assert!(if within { gap_mm > -1e-9 } else { gap_mm < 0.2 }, "{case} {lean:?}: {gap_mm}");
                let tip = (to - found.turns_about.through).dot(&found.turns_about.along);
                assert!((tip - 106.0 - 180.0 * rise.to_radians().sin()).abs() < 1e-9, "{tip}");
            }
        }
    }
}

#[test]
fn a_battery_lifts_until_something_is_met() {
    let battery = || block("battery", [-90.0, -130.0, 0.0], [90.0, 130.0, 190.0]);
    let tray = || block("tray", [-100.0, -140.0, -10.0], [100.0, 140.0, 0.0]);
    let wall = || block("wall", [94.0, -200.0, 0.0], [120.0, 200.0, 400.0]);
    let pipe = || block("pipe", [60.0, -200.0, 220.0], [80.0, 200.0, 240.0]);
    let lift = |list: Vec<StandingBody>, room_mm: f64, seats: &[usize]| {
        let bodies = Bodies::new(list).unwrap();
        lift_out(&LiftOutAsk {
            bodies: &bodies,
            body: 0,
            without: &[],
            seats,
            along: Vector3::z_axis(),
            travel_mm: 260.0,
            room_mm: &[room_mm],
            tolerance_mm: 0.01,
        })
        .unwrap()
    };
    let out = lift(vec![battery(), tray(), wall()], 3.0, &[1]);
    assert!(out.stops.is_empty() && out.free_mm == 260.0, "{out:?}");
    assert!(out.least_gap_mm >= 3.0 && out.least_gap_mm <= 4.0 + 1e-9, "94 - 90, proved: {out:?}");
    let out = lift(vec![battery(), tray(), wall()], 5.0, &[1]);
    assert_eq!(out.stops.len(), 1, "{out:?}");
    assert!((out.stops[0].gap_lower_mm - 4.0).abs() < 0.02 && out.stops[0].free_mm == 0.0, "{out:?}");
    let out = lift(vec![battery(), tray(), wall(), pipe()], 3.0, &[1]);
    assert_eq!(out.stops.iter().map(|stop| stop.body).collect::<Vec<_>>(), [3]);
    assert!((out.free_mm - 27.0).abs() < 0.02, "220 - 190 - 3: {out:?}");
    assert!(out.stops[0].gap_upper_mm < 0.0, "the pipe is in the way, not only near: {out:?}");
    let out = lift(vec![battery(), tray(), wall()], 3.0, &[]);
    assert_eq!(out.stops[0].body, 1, "a tray that is no seat touches");
}
