//! The widest corridor against closed forms, a brute-force grid, and laws.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use baywright::access::{
    AccessError, Analytic, Corridor, CorridorAsk, CorridorSearch, Hand, Obstacles, Outside, Part, Reaches,
    corridor, hand_way,
};
use baywright::space::{Bounds, Direction};
use nalgebra::{Point3, Vector3};

fn bay(half_mm: f64) -> Bounds {
    Bounds { min: Point3::new(-half_mm, -half_mm, -half_mm), max: Point3::new(half_mm, half_mm, half_mm) }
}

fn from_above(half_mm: f64, target: [f64; 3]) -> CorridorAsk {
    let mut ask =
        CorridorAsk::new(Point3::from(target), Outside { bay: bay(half_mm), open: vec![Direction::Up] });
    ask.floor_mm = 0.0;
    ask
}

fn hole(z_mm: (f64, f64), at: [f64; 2], radius_mm: f64) -> Part {
    Part::WallWithHole { z_mm, hole_at: Point3::new(at[0], at[1], 0.0), hole_radius_mm: radius_mm }
}

fn block(min: [f64; 3], max: [f64; 3]) -> Part {
    Part::Block(Bounds { min: Point3::from(min), max: Point3::from(max) })
}

/// What any answer must be, whatever it is: the path is as wide as claimed (sampled every half
/// millimetre, apart from the code that proved it), begins on the open side and touches the point.
fn check_path(world: &dyn Obstacles, ask: &CorridorAsk, found: &Corridor, case: &str) {
    assert!(found.lower_mm <= found.upper_mm, "{case}: {found:?}");
    if found.path.is_empty() {
        assert_eq!(found.lower_mm, 0.0, "{case}");
        return;
    }
    let radius_mm = 0.5 * found.lower_mm;
    for pair in found.path.windows(2) {
        let steps = ((pair[1].at - pair[0].at).norm() / 0.5).ceil().max(1.0) as usize;
        for step in 0..=steps {
            let at = pair[0].at + (pair[1].at - pair[0].at) * (step as f64 / steps as f64);
            let clear_mm = world.clearance_mm(&at);
            assert!(clear_mm >= radius_mm - 1e-9, "{case}: {clear_mm} at {at}, claimed {radius_mm}");
        }
    }
    let (first, last) = (found.path[0].at, found.path[found.path.len() - 1].at);
    assert_eq!(first.z, ask.outside.bay.max.z, "{case}: begins on the open side");
    let end_mm = (last - ask.target).norm();
    assert!(end_mm <= radius_mm + ask.touch_mm + 1e-9, "{case}: ends {end_mm} from the point");
}

#[test]
fn widths_match_closed_forms() {
    let plate =
        |d: f64, thick: f64| Analytic::new().with("plate", hole((0.0, thick), [37.0, -21.0], d / 2.0));
    let cases: Vec<(&str, Analytic, [f64; 3], f64)> = vec![
        ("a hole passes its diameter: 60", plate(60.0, 20.0), [0.0, 0.0, -200.0], 60.0),
        ("a thin plate too: 60", plate(60.0, 1.0), [0.0, 0.0, -200.0], 60.0),
        ("a deep hole too: 41.7", plate(41.7, 150.0), [0.0, 0.0, -200.0], 41.7),
        ("a small one: 12.3", plate(12.3, 8.0), [0.0, 0.0, -200.0], 12.3),
        (
            "a cover of 2 all round takes 4: 56",
            Analytic::new().with_covered("plate", hole((0.0, 20.0), [37.0, -21.0], 30.0), 2.0),
            [0.0, 0.0, -200.0],
            56.0,
        ),
        (
            "a slot passes its width: 33",
            Analytic::new().with("wall", Part::WallWithSlot { z_mm: (0.0, 30.0), y_mm: (-8.0, 25.0) }),
            [0.0, 0.0, -200.0],
            33.0,
        ),
        (
            "of two walls one behind the other the smaller hole rules: 44",
            Analytic::new()
                .with("far", hole((60.0, 80.0), [-60.0, 40.0], 33.0))
                .with("near", hole((-80.0, -70.0), [55.0, 10.0], 22.0)),
            [0.0, 0.0, -200.0],
            44.0,
        ),
        (
            "of a hole and a slot in one wall's place the wider rules: two slots 20 and 26 apart by a bar",
            Analytic::new()
                .with("wall", Part::WallWithSlot { z_mm: (0.0, 10.0), y_mm: (-30.0, 30.0) })
                .with("bar", block([-300.0, -10.0, 0.0], [300.0, 4.0, 10.0])),
            [0.0, 0.0, -200.0],
            26.0,
        ),
        (
            // The ball rests on the rim and dips into the recess by r - sqrt(r^2 - 20^2); it must
            // come within 10 of the floor, so dip 5: r = (20^2 + 5^2) / (2 * 5) = 42.5.
            "a recess 40 wide and 15 deep, touched within 10: 85",
            Analytic::new()
                .with("rim", hole((0.0, 15.0), [0.0, 0.0], 20.0))
                .with("floor", block([-300.0, -300.0, -20.0], [300.0, 300.0, 0.0])),
            [0.0, 0.0, 0.0],
            85.0,
        ),
        (
            "two balls 50 apart less their radii 12 and 9, in a slot that is wide: 29",
            Analytic::new()
                .with("wall", Part::WallWithSlot { z_mm: (-3.0, 3.0), y_mm: (-25.0, 25.0) })
                .with("bar left", block([-300.0, -25.0, -3.0], [-13.0, 25.0, 3.0]))
                .with("bar right", block([16.0, -25.0, -3.0], [300.0, 25.0, 3.0])),
            [0.0, 0.0, -200.0],
            29.0,
        ),
    ];
    for (case, world, target, want_mm) in cases {
        let ask = from_above(250.0, target);
        let found = corridor(&world, &ask).unwrap();
        check_path(&world, &ask, &found, case);
        assert!(found.settled && found.upper_mm - found.lower_mm <= 1.0 + 1e-9, "{case}: {found:?}");
        assert!(
            found.lower_mm <= want_mm + 1e-6 && want_mm <= found.upper_mm + 1e-6,
            "{case}: {} to {}",
            found.lower_mm,
            found.upper_mm
        );
        println!("{case}: {} to {}, {:?}", found.lower_mm, found.upper_mm, found.effort);
    }
}

#[test]
fn a_panel_is_touched_from_the_side_that_is_asked_for() {
    // A panel 4 thick, the point on its lower face, open above: from above a ball touches it through
    // the panel within 10; from below it must pass the hole.
    let world = Analytic::new().with("panel", hole((0.0, 4.0), [120.0, 0.0], 25.0));
    let mut ask = from_above(250.0, [0.0, 0.0, 0.0]);
    assert!(corridor(&world, &ask).unwrap().lower_mm >= 249.0, "from any side");
    ask.from_side = Some(-Vector3::z_axis());
    let below = corridor(&world, &ask).unwrap();
    check_path(&world, &ask, &below, "from below");
    assert!(below.settled && below.lower_mm <= 50.0 && 50.0 <= below.upper_mm, "{below:?}");
    assert!(below.path[below.path.len() - 1].at.z <= 1e-6, "it ends below: {below:?}");
    ask.from_side = Some(Vector3::z_axis());
    assert!(corridor(&world, &ask).unwrap().lower_mm >= 249.0, "from above");
}

#[test]
fn a_finer_tolerance_is_kept() {
    let world = Analytic::new().with("plate", hole((0.0, 20.0), [37.0, -21.0], 30.0));
    for tolerance_mm in [4.0, 1.0, 0.1] {
        let mut ask = from_above(250.0, [0.0, 0.0, -200.0]);
        ask.tolerance_mm = tolerance_mm;
        let found = corridor(&world, &ask).unwrap();
        assert!(found.settled && found.upper_mm - found.lower_mm <= tolerance_mm + 1e-9, "{found:?}");
        assert!(found.lower_mm <= 60.0 + 1e-9 && 60.0 <= found.upper_mm + 1e-9, "{found:?}");
        println!("tolerance {tolerance_mm}: {:?}", found.effort);
    }
}

#[test]
fn shut_open_and_narrowest() {
    let shut = Analytic::new().with("lid", hole((0.0, 10.0), [0.0, 0.0], 0.0));
    let ask = from_above(100.0, [0.0, 0.0, -60.0]);
    let found = corridor(&shut, &ask).unwrap();
    assert_eq!(found.lower_mm, 0.0, "no way");
    assert!(found.settled && found.upper_mm <= 1.0 && found.path.is_empty() && found.narrowest.is_none());
    assert_eq!(found.shut_by, [0], "the lid shuts it");

    let mut coarse = ask.clone();
    coarse.floor_mm = 10.0;
    let below = corridor(&shut, &coarse).unwrap();
    assert!(below.settled && below.lower_mm == 0.0 && below.upper_mm <= 10.0, "under the floor: {below:?}");
    assert!(below.effort.queries <= found.effort.queries, "and no dearer");

    let open = corridor(&Analytic::new(), &ask).unwrap();
    assert!(open.settled && open.upper_mm == f64::INFINITY && open.lower_mm >= 249.0, "{open:?}");

    let world = Analytic::new()
        .with("wall", Part::WallWithSlot { z_mm: (0.0, 10.0), y_mm: (-90.0, 40.0) })
        .with("pipe", block([-300.0, -100.0, 0.0], [300.0, 9.0, 10.0]))
        .with("elsewhere", Part::Ball { center: Point3::new(200.0, 200.0, 200.0), radius_mm: 30.0 });
    let found = corridor(&world, &ask).unwrap();
    let narrowest = found.narrowest.unwrap();
    assert!((narrowest.width_mm - 31.0).abs() < 1.0, "{narrowest:?}");
    assert!((narrowest.at.y - 24.5).abs() < 1.0 && narrowest.at.z.abs() < 20.0, "{narrowest:?}");
    let mut names: Vec<&str> = narrowest.bodies.iter().map(|body| world.name(*body)).collect();
    names.sort_unstable();
    assert_eq!(names, ["pipe", "wall"]);
}

/// A small generator of our own, so that the mazes are the same everywhere.
struct Lots(u64);

impl Lots {
    fn unit(&mut self) -> f64 {
        // Steele, Lea and Flood 2014 (splitmix64); from memory.
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
}

const MAZE_HALF_MM: f64 = 100.0;

fn maze(seed: u64) -> Analytic {
    let mut lots = Lots(seed);
    let mut world = Analytic::new();
    for (i, z) in [50.0, 0.0, -50.0].into_iter().enumerate() {
        if lots.unit() < 0.7 {
            let at = [lots.between(-60.0, 60.0), lots.between(-60.0, 60.0)];
            let radius_mm = lots.between(6.0, 40.0);
            world = world.with(&format!("wall {i}"), hole((z, z + lots.between(2.0, 20.0)), at, radius_mm));
        }
    }
    for i in 0..8 {
        let c = [0, 1, 2].map(|_| lots.between(-90.0, 90.0));
        if c[2] < -75.0 {
            continue; // the point stays free
        }
        let part = if lots.unit() < 0.5 {
            Part::Ball { center: Point3::from(c), radius_mm: lots.between(5.0, 40.0).min(c[2] + 92.0) }
        } else {
            let h = [0, 1, 2].map(|_| lots.between(3.0, 45.0));
            let low = (c[2] - h[2]).max(-85.0);
            block([c[0] - h[0], c[1] - h[1], low], [c[0] + h[0], c[1] + h[1], c[2] + h[2]])
        };
        world = world.with_covered(&format!("thing {i}"), part, if i == 0 { 2.0 } else { 0.0 });
    }
    world
}

fn maze_ask() -> CorridorAsk {
    let mut ask = from_above(MAZE_HALF_MM, [0.0, 0.0, -95.0]);
    ask.touch_mm = 5.0;
    ask.cap_mm = 150.0;
    ask.floor_mm = 4.0;
    ask
}

/// A uniform grid over the bay, told apart from the octree in every respect: nodes, no tree, and a
/// plain flood.
struct Grid {
    n: usize,
    step_mm: f64,
    clear_mm: Vec<f64>,
}

/// Whether the grid asks if a ball surely passes or whether it may pass.
#[derive(Clone, Copy, PartialEq)]
enum Flood {
    Surely,
    Maybe,
}

impl Grid {
    /// Nodes at cell corners for `Surely` (they reach the bay's sides), at cell centres for `Maybe`.
    fn new(world: &dyn Obstacles, cells: usize, flood: Flood) -> Self {
        let step_mm = 2.0 * MAZE_HALF_MM / cells as f64;
        let n = if flood == Flood::Surely { cells + 1 } else { cells };
        let mut grid = Grid { n, step_mm, clear_mm: Vec::with_capacity(n * n * n) };
        for i in 0..n * n * n {
            grid.clear_mm.push(world.clearance_mm(&grid.at(i, flood)));
        }
        grid
    }

    fn at(&self, i: usize, flood: Flood) -> Point3<f64> {
        let shift = if flood == Flood::Surely { 0.0 } else { 0.5 };
        let axis = |k: usize| -MAZE_HALF_MM + self.step_mm * (k as f64 + shift);
        Point3::new(axis(i % self.n), axis(i / self.n % self.n), axis(i / self.n / self.n))
    }

    fn passes(&self, radius_mm: f64, ask: &CorridorAsk, flood: Flood) -> bool {
        let half_diagonal = 0.5 * self.step_mm * 3.0_f64.sqrt();
        let open = |i: usize| {
            self.clear_mm[i] >= radius_mm - if flood == Flood::Maybe { half_diagonal } else { 0.0 }
        };
        let joined = |a: usize, b: usize| {
            flood == Flood::Maybe || 0.5 * (self.clear_mm[a] + self.clear_mm[b] - self.step_mm) >= radius_mm
        };
        let touches = |i: usize| {
            let at = self.at(i, flood);
            let far = match flood {
                Flood::Surely => (at - ask.target).norm(),
                Flood::Maybe => {
                    let half = Vector3::repeat(0.5 * self.step_mm);
                    Bounds { min: at - half, max: at + half }.distance_mm(&ask.target)
                }
            };
            far <= radius_mm + ask.touch_mm
        };
        let (n, plane) = (self.n, self.n * self.n);
        let mut seen = vec![false; n * plane];
        let mut todo: Vec<usize> = (plane * (n - 1)..n * plane).filter(|i| open(*i)).collect();
        todo.iter().for_each(|i| seen[*i] = true);
        while let Some(i) = todo.pop() {
            if touches(i) {
                return true;
            }
            let (x, y, z) = (i % n, i / n % n, i / plane);
            let mut next = Vec::with_capacity(6);
            if x > 0 {
                next.push(i - 1);
            }
            if x + 1 < n {
                next.push(i + 1);
            }
            if y > 0 {
                next.push(i - n);
            }
            if y + 1 < n {
                next.push(i + n);
            }
            if z > 0 {
                next.push(i - plane);
            }
            if z + 1 < n {
                next.push(i + plane);
            }
            for j in next {
                if !seen[j] && open(j) && joined(i, j) {
                    seen[j] = true;
                    todo.push(j);
                }
            }
        }
        false
    }
}

#[test]
fn two_hundred_mazes_agree_with_a_grid() {
    let ask = maze_ask();
    let (mut shut, mut sum_mm, mut queries, mut unsettled) = (0, 0.0, 0, 0);
    for seed in 0..200 {
        let world = maze(seed);
        let found = corridor(&world, &ask).unwrap();
        let case = format!("maze {seed}");
        check_path(&world, &ask, &found, &case);
        unsettled += usize::from(!found.settled);
        let alike = found.upper_mm <= ask.floor_mm || found.upper_mm.is_infinite();
        assert!(
            !found.settled || alike || found.upper_mm - found.lower_mm <= 1.0 + 1e-9,
            "{case}: {found:?}"
        );
        let surely = Grid::new(&world, 20, Flood::Surely);
        let maybe = Grid::new(&world, 20, Flood::Maybe);
        if found.upper_mm.is_finite() {
            let over_mm = 0.5 * found.upper_mm + 1e-9;
            assert!(
                !surely.passes(over_mm, &ask, Flood::Surely),
                "{case}: the grid passes more than {found:?}"
            );
        }
        if found.lower_mm > 0.0 {
            assert!(
                maybe.passes(0.5 * found.lower_mm, &ask, Flood::Maybe),
                "{case}: the grid refutes {found:?}"
            );
        }
        shut += usize::from(found.lower_mm == 0.0);
        sum_mm += found.lower_mm;
        queries += found.effort.queries;
    }
    println!(
        "shut {shut}, mean width {}, mean queries {}, unsettled {unsettled}",
        sum_mm / 200.0,
        queries / 200
    );
    assert!(shut < 60 && sum_mm / 200.0 > 10.0, "the mazes are worth something: {shut} shut, {sum_mm}");
    assert!(unsettled == 0, "{unsettled} of 200 unsettled");
}

#[test]
fn more_or_bigger_obstacles_never_widen_a_corridor() {
    let ask = maze_ask();
    for seed in 1000..1012 {
        let before = corridor(&maze(seed), &ask).unwrap();
        let mut lots = Lots(seed ^ 0xabcd);
        let center =
            Point3::new(lots.between(-80.0, 80.0), lots.between(-80.0, 80.0), lots.between(-40.0, 90.0));
        for radius_mm in [10.0, 30.0] {
            let more = maze(seed).with("more", Part::Ball { center, radius_mm });
            let after = corridor(&more, &ask).unwrap();
            assert!(after.lower_mm <= before.upper_mm + 1e-9, "maze {seed}: {before:?} then {after:?}");
        }
    }
}

#[test]
fn same_question_same_answer() {
    let (world, ask) = (maze(7), maze_ask());
    assert_eq!(corridor(&world, &ask).unwrap(), corridor(&world, &ask).unwrap());
}

#[test]
fn an_arm_goes_straight_where_it_can_and_round_the_corner_where_it_must() {
    let shoulder = Point3::new(-100.0, 0.0, 500.0);
    let ask = from_above(250.0, [60.0, 40.0, -100.0]);
    let straight_mm = (ask.target - shoulder).norm();

    let nothing = Analytic::new();
    let reach = CorridorSearch::new(&nothing, &ask, None).unwrap().reach(&shoulder, 700.0, 95.0).unwrap();
    let length_mm = reach.length_mm.unwrap();
    assert_eq!(reach.reaches, Reaches::Yes);
    assert!(length_mm >= straight_mm - 1e-9 && length_mm < 1.01 * straight_mm, "{length_mm}, {straight_mm}");

    // Through a hole far aside the way is two straight lines, bent near the hole.
    let world = Analytic::new().with("plate", hole((0.0, 2.0), [180.0, 0.0], 30.0));
    let mut search = CorridorSearch::new(&world, &ask, None).unwrap();
    let reach = search.reach(&shoulder, 700.0, 40.0).unwrap();
    let length_mm = reach.length_mm.unwrap();
    let by = |x: f64, z: f64| {
        let at = Point3::new(x, 0.0, z);
        (at - shoulder).norm() + (at - ask.target).norm()
    };
    // At best the ball's centre passes 10 short of the hole's axis; it also rounds the rim.
    assert!(
        length_mm > by(170.0, 1.0) && length_mm < 1.01 * by(180.0, 1.0),
        "{length_mm}: {} {}",
        by(170.0, 1.0),
        by(180.0, 1.0)
    );
    assert_eq!(reach.reaches, Reaches::NotProved, "720 mm or so with an arm of 700: {length_mm}");
    assert_eq!(search.reach(&shoulder, 760.0, 40.0).unwrap().reaches, Reaches::Yes);
    assert_eq!(search.reach(&shoulder, 600.0, 40.0).unwrap().reaches, Reaches::No, "not even straight");
    assert!(search.reach(&shoulder, 760.0, 62.0).unwrap().length_mm.is_none(), "62 through a hole of 60");
    for point in &reach.path {
        assert!(point.width_mm >= 40.0 - 1e-9);
    }
}

#[test]
fn a_free_straight_line_is_taken_whatever_the_widest_way_is() {
    // The widest way to the top of a stick leads straight up; the arm comes from beside, fingers first.
    let world = Analytic::new()
        .with("wall", block([-20.0, -200.0, -250.0], [200.0, -30.0, 60.0]))
        .with("stick", block([-5.0, -5.0, -250.0], [5.0, 5.0, -20.0]));
    let ask = from_above(250.0, [0.0, 0.0, -18.0]);
    let hand = Hand { opening_mm: 95.0, fingers_mm: 80.0, finger_opening_mm: 25.0 };
    let shoulder = Point3::new(-150.0, 300.0, 380.0);
    let straight_mm = (ask.target - shoulder).norm();
    let mut way = hand_way(&world, &ask, None, &hand).unwrap();
    let reach = way.reach(&shoulder, straight_mm + 0.5, 95.0).unwrap();
    assert_eq!(reach.reaches, Reaches::Yes, "{reach:?}, {straight_mm} in a straight line");
    assert!((reach.length_mm.unwrap() - straight_mm).abs() < 1e-9);

    // A sheet over the point stops the fingers however thin it is: the arm goes round it.
    let sheet = block([-60.0, -60.0, 0.0], [60.0, 60.0, 0.3]);
    let world = world.with("sheet", sheet);
    let mut way = hand_way(&world, &ask, None, &hand).unwrap();
    let reach = way.reach(&shoulder, straight_mm + 0.5, 95.0).unwrap();
    assert_eq!(reach.reaches, Reaches::NotProved, "{reach:?}");
    assert!(reach.length_mm.is_none_or(|mm| mm > straight_mm + 1.0), "{reach:?}");
}

#[test]
fn wrong_questions_say_what_is_wrong() {
    let world = Analytic::new().with("block", block([-50.0, -50.0, -50.0], [50.0, 50.0, 50.0]));
    let said = |ask: &CorridorAsk| corridor(&world, ask).unwrap_err().to_string();
    insta::assert_snapshot!(said(&from_above(250.0, [0.0, 0.0, 20.0])),
        @"the point lies 30.0 mm inside `block`; move it to the surface, or list `block` among the bodies taken off first");
    insta::assert_snapshot!(said(&from_above(250.0, [0.0, 0.0, 260.0])),
        @"the point (0.0, 0.0, 260.0) lies 10.0 mm outside the bay; move the point or enlarge the bay's bounds");
    let mut ask = from_above(250.0, [0.0, 0.0, 60.0]);
    ask.outside.open.clear();
    insta::assert_snapshot!(said(&ask), @"no side of the bay is open; name at least one, such as `up`");
    let mut ask = from_above(250.0, [0.0, 0.0, f64::NAN]);
    insta::assert_snapshot!(said(&ask), @"a coordinate of the service point is NaN; it must be finite and within 1 km of the datum");
    ask.target.z = 60.0;
    ask.tolerance_mm = -1.0;
    insta::assert_snapshot!(said(&ask), @"the tolerance, mm, is -1; it must be 0.01 to 100 mm");
    let below = CorridorSearch::new(&world, &from_above(250.0, [0.0, 0.0, 60.0]), None)
        .unwrap()
        .reach(&Point3::new(0.0, 0.0, -400.0), 700.0, 40.0)
        .unwrap_err();
    assert!(matches!(below, AccessError::ShoulderBehind { .. }));
    insta::assert_snapshot!(below.to_string(),
        @"no open side of the bay faces the shoulder at (0.0, 0.0, -400.0); stand elsewhere, or open the side");
    // The same point inside the body that is served is touched from its surface.
    let found = CorridorSearch::new(&world, &from_above(250.0, [0.0, 0.0, 20.0]), Some(0)).unwrap().widest();
    assert!(found.lower_mm >= 249.0, "{found:?}");
}
