//! Narrowing the interval: does a ball of this radius pass, and of that?

use nalgebra::Point3;

use crate::access::outside::axis_of;
use crate::access::{AccessError, Near, Obstacles};
use crate::space::{Bounds, Direction, Length};

use super::climb::{Climb, climb};
use super::end::End;
use super::field::{Field, Spot};
use super::prove::{Bend, bent, least, segment};
use super::pull::{Pull, length_mm, taut};
use super::tree::Tree;
use super::walk::{Part, Route, WalkAsk, Walker, on_side};
use super::{Corridor, CorridorAsk, CorridorPoint, Effort, Narrowest};

/// Where the way's entry may slide to, given the entry found and the next corner.
pub(in crate::access) type EntrySlide<'a> = &'a dyn Fn(&Point3<f64>, &Point3<f64>) -> Point3<f64>;

/// Most walks past one run of doubtful boxes before the whole way is looked at again.
const PART_ROUNDS: usize = 100;

/// A search for corridors to one point; its boxes serve every question asked of it.
pub struct CorridorSearch<'a> {
    pub(in crate::access) ask: CorridorAsk,
    /// How deep the point lies in what is opened or served: the ball touches it from farther.
    touch_mm: f64,
    /// The body that the point may lie in.
    served: Option<usize>,
    slack_mm: f64,
    field: Field<'a>,
    tree: Tree,
    walker: Walker,
}

/// Whether a ball passes.
pub(super) enum Passes {
    /// Along this way, from the open side to the point: proved to `slack_mm` under the radius.
    Along(Vec<Spot>),
    /// No; the obstacles round the widest opening that is too narrow.
    No(Vec<usize>),
    /// Too close to call with boxes of a useful size.
    Undecided,
    /// The budget is spent.
    Spent,
}

/// The widest corridor to a point, in one call; see [`CorridorSearch`] for more than one question.
///
/// # Errors
/// A number out of its range, a point outside the bay or inside an obstacle, no open side.
///
/// # Example
/// A 60 mm hole in a plate that closes the bay off lets a 60 mm ball through, whatever the plate's
/// thickness:
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::access::{Analytic, CorridorAsk, Outside, Part, corridor};
/// use baywright::space::{Bounds, Direction};
/// use nalgebra::Point3;
/// let hole_at = Point3::new(40.0, -30.0, 0.0);
/// let plate = Part::WallWithHole { z_mm: (0.0, 20.0), hole_at, hole_radius_mm: 30.0 };
/// let bay = Bounds { min: Point3::new(-300.0, -300.0, -300.0), max: Point3::new(300.0, 300.0, 300.0) };
/// let outside = Outside { bay, open: vec![Direction::Up] };
/// let found = corridor(
///     &Analytic::new().with("plate", plate),
///     &CorridorAsk::new(Point3::new(0.0, 0.0, -200.0), outside),
/// )?;
/// assert!(found.lower_mm <= 60.0 && 60.0 <= found.upper_mm);
/// assert!(found.settled && found.upper_mm - found.lower_mm <= 1.0);
/// # Ok::<(), baywright::access::AccessError>(())
/// ```
pub fn corridor(obstacles: &dyn Obstacles, ask: &CorridorAsk) -> Result<Corridor, AccessError> {
    Ok(CorridorSearch::new(obstacles, ask, None)?.widest())
}

impl<'a> CorridorSearch<'a> {
    /// Looks at the bay coarsely. The point may lie inside `served` (a body's number), and is then
    /// touched at its surface: the depth counts as touched from that much farther.
    ///
    /// # Errors
    /// A number out of its range, a point outside the bay or inside another obstacle, no open side.
    pub fn new(
        obstacles: &'a dyn Obstacles,
        ask: &CorridorAsk,
        served: Option<usize>,
    ) -> Result<Self, AccessError> {
        ask.validate()?;
        let mut field = Field::new(obstacles, ask.cap_mm + 50.0);
        let mut depth_mm = 0.0_f64;
        field.look(&ask.target, f64::INFINITY);
        for near in field.seen.iter().filter(|near| near.clearance_mm < 0.0) {
            if served == Some(near.body) {
                depth_mm = depth_mm.max(-near.clearance_mm);
            } else if -near.clearance_mm > ask.touch_mm {
                return Err(AccessError::PointInside {
                    body: obstacles.name(near.body).to_string(),
                    depth: Length::from_mm(-near.clearance_mm),
                });
            }
        }
        let tree = Tree::new(&ask.outside.bay, &mut field);
        Ok(CorridorSearch {
            ask: ask.clone(),
            touch_mm: ask.touch_mm + depth_mm,
            served,
            slack_mm: 0.25 * ask.tolerance_mm,
            field,
            tree,
            walker: Walker::default(),
        })
    }

    /// What it has cost so far.
    pub fn effort(&self) -> Effort {
        Effort { queries: self.field.queries, boxes: self.tree.cells.len(), walks: self.walker.walks }
    }

    /// The widest corridor.
    pub fn widest(&mut self) -> Corridor {
        let cap_mm = 0.5 * self.ask.cap_mm;
        // A hair less than asked, so that rounding does not keep the loop from ending.
        let within_mm = 0.5 * self.ask.tolerance_mm * (1.0 - 1e-6);
        let is_within = |lower_mm: f64, upper_mm: f64| upper_mm - lower_mm <= within_mm * (1.0 + 5e-7);
        let (mut lower_mm, mut upper_mm, mut tried_mm) = (0.0_f64, cap_mm, 0.0_f64);
        let (mut refuted, mut stuck) = (false, false);
        let mut way: Vec<Spot> = Vec::new();
        let mut narrowest = None;
        let mut shut_by = Vec::new();
        let sides = self.ask.outside.open.clone();
        let floor_mm = 0.5 * self.ask.floor_mm;
        while !is_within(lower_mm, upper_mm) && upper_mm > floor_mm {
            let from_mm = lower_mm.max(tried_mm);
            let radius_mm = if upper_mm - from_mm > 4.0 * within_mm {
                0.5 * (from_mm + upper_mm)
            } else if stuck {
                from_mm + self.slack_mm
            } else {
                (from_mm + within_mm).min(upper_mm)
            }
            .max(floor_mm.min(upper_mm));
            if radius_mm > upper_mm || (refuted && radius_mm >= upper_mm) {
                break;
            }
            match self.passes(radius_mm, &sides, &|_| 0.0) {
                Passes::Along(found) => {
                    let (found, least_mm, at) = self.widened(found, radius_mm - self.slack_mm);
                    if least_mm > lower_mm {
                        lower_mm = least_mm;
                        way = found;
                        narrowest = Some(at);
                    } else {
                        // Proved, but by less than is already known: nothing more to gain here.
                        tried_mm = tried_mm.max(radius_mm);
                    }
                }
                Passes::No(bodies) => {
                    upper_mm = radius_mm;
                    refuted = true;
                    shut_by = bodies;
                }
                Passes::Undecided => {
                    stuck = true;
                    tried_mm = radius_mm;
                }
                Passes::Spent => break,
            }
        }
        let way = self.tidied(way, lower_mm);
        Corridor {
            lower_mm: 2.0 * lower_mm,
            upper_mm: if refuted { 2.0 * upper_mm.max(lower_mm) } else { f64::INFINITY },
            settled: is_within(lower_mm, upper_mm) || upper_mm <= floor_mm,
            length_mm: length_mm(way.iter().map(|spot| &spot.at)),
            path: points(&way),
            narrowest: narrowest.map(|spot| self.narrowest(&spot)),
            shut_by,
            effort: self.effort(),
        }
    }

    /// Whether a ball of a radius passes; leaving at a place costs what `leave` says.
    pub(super) fn passes(
        &mut self,
        radius_mm: f64,
        sides: &[Direction],
        leave: &dyn Fn(&Point3<f64>) -> f64,
    ) -> Passes {
        let ask = WalkAsk {
            target: self.ask.target,
            touch_mm: radius_mm + self.touch_mm,
            from_side: self.ask.from_side,
            radius_mm,
            good_mm: radius_mm - 0.25 * self.slack_mm,
            sides,
            leave,
        };
        loop {
            if self.field.queries > self.ask.budget {
                return Passes::Spent;
            }
            let route = match self.walker.walk(&self.tree, &ask, None) {
                Ok(route) => route,
                Err(closed) => {
                    return Passes::No(closed.widest.map_or(Vec::new(), |cell| self.round(cell)));
                }
            };
            let split = match self.first_doubtful(&route, ask.good_mm) {
                Some((first, last)) => self.settle(&ask, &route, first, last),
                None => match self.proved(&route, radius_mm) {
                    Ok(way) => return Passes::Along(way),
                    Err(cells) => self.split(&cells),
                },
            };
            if !split {
                return Passes::Undecided;
            }
        }
    }

    /// The first run of doubtful boxes on a route: where it begins and ends.
    fn first_doubtful(&mut self, route: &Route, good_mm: f64) -> Option<(usize, usize)> {
        let first = (0..route.cells.len()).find(|i| !self.good(route.cells[*i], good_mm))?;
        let mut last = first;
        while last + 1 < route.cells.len() && !self.good(route.cells[last + 1], good_mm) {
            last += 1;
        }
        Some((first, last))
    }

    /// Splits a run of doubtful boxes, and again what it becomes, until the way past it is good or
    /// closed nearby. False when boxes would become too small.
    fn settle(&mut self, ask: &WalkAsk<'_>, route: &Route, first: usize, last: usize) -> bool {
        let window = route.cells[first..=last]
            .iter()
            .fold(Bounds::EMPTY, |all, cell| all.union(&self.tree.bounds(*cell)));
        let part = Part {
            window: window.grown(0.5 * window.size().max()),
            first: first.checked_sub(1).map(|i| route.cells[i]),
            last: route.cells.get(last + 1).copied(),
        };
        if !self.split(&route.cells[first..=last]) {
            return false;
        }
        for _ in 0..PART_ROUNDS {
            let Ok(passage) = self.walker.walk(&self.tree, ask, Some(part)) else { return true };
            let mut doubtful = passage.cells;
            doubtful.retain(|cell| !self.good(*cell, ask.good_mm));
            if doubtful.is_empty() || self.field.queries > self.ask.budget {
                return true;
            }
            if !self.split(&doubtful) {
                return false;
            }
        }
        true
    }

    /// Splits boxes; false when one is too small for that to be of use.
    fn split(&mut self, cells: &[u32]) -> bool {
        if cells.iter().any(|cell| self.tree.half(*cell).norm() < self.slack_mm / 8.0) {
            return false;
        }
        for cell in cells {
            self.tree.split(*cell, &mut self.field);
        }
        true
    }

    /// Whether a box has a place clear enough; looks for one once.
    fn good(&mut self, cell: u32, good_mm: f64) -> bool {
        let known = &self.tree.cells[cell as usize];
        if known.best.clear_mm >= good_mm || known.climbed {
            return known.best.clear_mm >= good_mm;
        }
        let (start, bounds) = (known.best, self.tree.bounds(cell));
        let how = Climb {
            step_mm: 0.5 * self.tree.half(cell).norm(),
            least_step_mm: 0.125 * self.slack_mm,
            enough_mm: good_mm + self.slack_mm,
            known: self.tree.witnesses(cell),
        };
        let best = climb(&mut self.field, start, &how, |at| bounds.nearest(&at));
        let cell = &mut self.tree.cells[cell as usize];
        cell.best = best;
        cell.climbed = true;
        best.clear_mm >= good_mm
    }

    /// A proved way through a chain of good boxes, from the open side to the point; or the boxes
    /// to split.
    fn proved(&mut self, route: &Route, radius_mm: f64) -> Result<Vec<Spot>, Vec<u32>> {
        let floor_mm = radius_mm - self.slack_mm;
        let (Some(&inner), Some(&outer)) = (route.cells.first(), route.cells.last()) else {
            return Err(Vec::new());
        };
        let bay = self.ask.outside.bay;
        let keep = |at: Point3<f64>| bay.nearest(&at);
        let Some(side) = route.side else { return Err(Vec::new()) };
        let out = self.leaving(outer, side, floor_mm).ok_or(vec![outer])?;
        let mut way = vec![out];
        let how = Bend { floor_mm, slack_mm: self.slack_mm, depth: 3 };
        let mut before = (out, outer);
        for &cell in route.cells.iter().rev() {
            let spot = self.tree.cells[cell as usize].best;
            if !bent(&mut self.field, &before.0, &spot, &how, &keep, &mut way) {
                return Err(self.larger(before.1, cell));
            }
            before = (spot, cell);
        }
        let end = self.arriving(inner, floor_mm).ok_or(vec![inner])?;
        if !bent(&mut self.field, &before.0, &end, &how, &keep, &mut way) {
            return Err(vec![inner]);
        }
        Ok(way)
    }

    fn larger(&self, a: u32, b: u32) -> Vec<u32> {
        let (size_a, size_b) = (self.tree.half(a).norm(), self.tree.half(b).norm());
        if a == b || size_a > 1.5 * size_b {
            vec![a]
        } else if size_b > 1.5 * size_a {
            vec![b]
        } else {
            vec![a, b]
        }
    }

    /// A place on the bay's side from which a box is entered.
    fn leaving(&mut self, cell: u32, side: Direction, floor_mm: f64) -> Option<Spot> {
        let (axis, at_max) = axis_of(side);
        let from = self.tree.cells[cell as usize].best.at;
        let out = on_side(&self.tree, cell, axis, at_max, &from);
        let mut plane = self.tree.bounds(cell);
        plane.min[axis] = out[axis];
        plane.max[axis] = out[axis];
        self.improved(cell, out, floor_mm, |at| plane.nearest(&at))
    }

    /// A place where the ball touches the point.
    fn arriving(&mut self, cell: u32, floor_mm: f64) -> Option<Spot> {
        let keep = self.touching(floor_mm);
        let from = keep(self.tree.cells[cell as usize].best.at);
        self.improved(cell, from, floor_mm, keep)
    }

    /// Brings a place to where a ball touches the point: near enough, on the right side, in the bay.
    fn touching(&self, radius_mm: f64) -> impl Fn(Point3<f64>) -> Point3<f64> + use<> {
        let (target, bay, side) = (self.ask.target, self.ask.outside.bay, self.ask.from_side);
        let within_mm = radius_mm + self.touch_mm;
        move |at| {
            let mut at = bay.nearest(&at);
            if let Some(side) = side {
                let behind_mm = |at: &Point3<f64>| (target - at).dot(&side);
                for _ in 0..4 {
                    at = bay.nearest(&(at + side.into_inner() * behind_mm(&at).max(0.0)));
                }
                if behind_mm(&at) > 1e-9 {
                    return target;
                }
            }
            // The bay and the side are convex and hold the target, so the nearer place is there too.
            let off = at - target;
            let distance = off.norm();
            if distance > within_mm { target + off * (within_mm / distance) } else { at }
        }
    }

    fn improved(
        &mut self,
        cell: u32,
        start: Point3<f64>,
        floor_mm: f64,
        keep: impl Fn(Point3<f64>) -> Point3<f64>,
    ) -> Option<Spot> {
        let start = self.field.spot(start);
        let how = Climb {
            step_mm: (0.5 * self.tree.half(cell).norm()).max(self.slack_mm),
            least_step_mm: 0.0625 * self.slack_mm,
            enough_mm: floor_mm + self.slack_mm,
            known: self.tree.witnesses(cell),
        };
        let spot = climb(&mut self.field, start, &how, keep);
        (spot.clear_mm >= floor_mm).then_some(spot)
    }

    /// The same way with its narrowest places pushed aside while that widens it; the radius it is
    /// proved for, and where it is narrowest. It is already proved for `floor_mm`.
    fn widened(&mut self, mut way: Vec<Spot>, floor_mm: f64) -> (Vec<Spot>, f64, Spot) {
        let close_mm = 0.5 * self.slack_mm;
        let mut now = least(&mut self.field, &way, close_mm);
        now.sure_mm = now.sure_mm.max(floor_mm);
        let bay = self.ask.outside.bay;
        for _ in 0..12 {
            let narrow = now.at;
            let how = Climb {
                step_mm: (0.25 * narrow.clear_mm).max(self.slack_mm),
                least_step_mm: 0.25 * self.slack_mm,
                enough_mm: f64::INFINITY,
                known: &[],
            };
            let mut next = way.clone();
            let last = next.len() - 1;
            let corner = (0..next.len()).find(|i| next[*i].at == narrow.at);
            let moved = if corner == Some(last) {
                let keep = self.touching(now.sure_mm);
                climb(&mut self.field, narrow, &how, keep)
            } else if corner == Some(0) {
                let side = self.side_of(&narrow.at);
                climb(&mut self.field, narrow, &how, |at| side.nearest(&at))
            } else {
                climb(&mut self.field, narrow, &how, |at| bay.nearest(&at))
            };
            match corner {
                Some(i) => next[i] = moved,
                None => next.insert(now.after + 1, moved),
            }
            let then = least(&mut self.field, &next, close_mm);
            if then.sure_mm <= now.sure_mm + 0.1 * self.slack_mm {
                break;
            }
            (way, now) = (next, then);
        }
        (way, now.sure_mm.max(0.0), now.at)
    }

    /// The open side that a place lies on, as a flat box.
    fn side_of(&self, at: &Point3<f64>) -> Bounds {
        let mut side = self.ask.outside.bay;
        for open in &self.ask.outside.open {
            let (axis, at_max) = axis_of(*open);
            let plane = if at_max { side.max[axis] } else { side.min[axis] };
            if at[axis] == plane {
                side.min[axis] = plane;
                side.max[axis] = plane;
                break;
            }
        }
        side
    }

    /// The way pulled taut where it has room to spare; still proved for the same radius.
    fn tidied(&mut self, way: Vec<Spot>, floor_mm: f64) -> Vec<Spot> {
        if way.is_empty() {
            return way;
        }
        let least_mm = 0.5 * self.slack_mm;
        taut(&mut self.field, &way, &Pull { floor_mm, rounds: 3, least_mm, slide: None, arrive: None })
    }

    /// A way that is proved for a radius, the cheapest first found.
    pub(in crate::access) fn taut_way(
        &mut self,
        radius_mm: f64,
        sides: &[Direction],
        leave: &dyn Fn(&Point3<f64>) -> f64,
        slide: EntrySlide<'_>,
    ) -> Option<Vec<CorridorPoint>> {
        let Passes::Along(way) = self.passes(radius_mm + self.slack_mm, sides, leave) else {
            return None;
        };
        let entry = way.first()?.at;
        let slide = |next: &Point3<f64>| slide(&entry, next);
        let end = self.end(radius_mm);
        let arrive = |before: &Point3<f64>| end.toward(before);
        let how = Pull {
            floor_mm: radius_mm,
            rounds: 40,
            least_mm: 0.5 * self.slack_mm,
            slide: Some(&slide),
            arrive: Some(&arrive),
        };
        Some(points(&taut(&mut self.field, &way, &how)))
    }

    /// The straight way of a ball from an entry toward the point, where it is proved clear; shorter by what the ball need not go.
    pub(in crate::access) fn straight_way(
        &mut self,
        entry: &Point3<f64>,
        radius_mm: f64,
    ) -> Option<Vec<CorridorPoint>> {
        let at = self.end(radius_mm).toward(entry)?;
        let (first, last) = (self.field.spot(*entry), self.field.spot(at));
        segment(&mut self.field, &first, &last, radius_mm, 0.5 * self.slack_mm).ok()?;
        Some(points(&[first, last]))
    }

    fn end(&self, radius_mm: f64) -> End<'a> {
        End {
            obstacles: self.field.obstacles,
            served: self.served,
            target: self.ask.target,
            from_side: self.ask.from_side,
            within_mm: radius_mm + self.touch_mm,
        }
    }

    fn narrowest(&mut self, spot: &Spot) -> Narrowest {
        let spread_mm = 0.05 * spot.clear_mm.max(0.0) + self.ask.tolerance_mm;
        self.field.look(&spot.at, spread_mm);
        let bodies =
            numbers(self.field.seen.iter().filter(|near| near.clearance_mm <= spot.clear_mm + spread_mm));
        Narrowest { at: spot.at, width_mm: 2.0 * spot.clear_mm, bodies }
    }

    /// The obstacles round a box, the nearest first.
    fn round(&mut self, cell: u32) -> Vec<usize> {
        let spot = self.tree.cells[cell as usize].best;
        let spread_mm =
            0.05 * spot.clear_mm.max(0.0) + self.ask.tolerance_mm + 2.0 * self.tree.half(cell).norm();
        self.field.look(&spot.at, spread_mm);
        numbers(self.field.seen.iter().filter(|near| near.clearance_mm <= spot.clear_mm + spread_mm))
    }
}

fn numbers<'n>(near: impl Iterator<Item = &'n Near>) -> Vec<usize> {
    let mut bodies = Vec::new();
    for near in near {
        if !bodies.contains(&near.body) {
            bodies.push(near.body);
        }
    }
    bodies
}

fn points(way: &[Spot]) -> Vec<CorridorPoint> {
    way.iter().map(|spot| CorridorPoint { at: spot.at, width_mm: 2.0 * spot.clear_mm }).collect()
}
