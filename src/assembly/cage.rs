//! Proof that a body does not come out: a ball inside it does not.
//!
//! A ball that lies in the body goes wherever the body goes. If no ball of its size gets from where it is mounted to
//! outside all obstacles, each grown by the gap that must be kept to it, then the body does not either, however it turns.
//! The widest way of a ball is a proved upper bound of `access`. Where the ball gets out nothing is said: the body may
//! still not.

use nalgebra::{Point3, Vector3};

use crate::access::{Bodies, CorridorAsk, Outside, StandingBody, corridor};
use crate::clearance::{IndexedShape, closest};
use crate::space::{Bounds, Direction, Pose};

use super::seen::Seen;

/// Why a body is caged in.
#[derive(Clone, Debug, PartialEq)]
pub struct Cage {
    /// Diameter of a ball inside the body, mm.
    pub ball_mm: f64,
    /// Its middle where the body is mounted, vehicle axes.
    pub at: Point3<f64>,
    /// No ball of a greater diameter gets from there to outside with the gaps kept: proved, mm.
    pub opening_mm: f64,
    /// Bodies round the widest opening that is too narrow.
    pub by: Vec<String>,
}

/// Smaller balls are not worth the search, mm.
const LEAST_BALL_MM: f64 = 4.0;
/// How closely the opening is told from the ball, mm.
const TOLERANCE_MM: f64 = 0.1;
/// Most questions asked of the obstacles.
const BUDGET: usize = 60_000;
/// Points along each axis of the body's box at which a ball is tried first.
const ALONG: usize = 9;

/// The largest ball found inside a body: middle in its frame, and radius, mm.
fn ball_inside(body: &IndexedShape) -> Option<(Point3<f64>, f64)> {
    let bounds = *body.bounds();
    if bounds.is_empty() {
        return None;
    }
    let size = bounds.max - bounds.min;
    let depth = |at: &Point3<f64>| -closest(body, at).distance_mm;
    let mut best = (bounds.center(), depth(&bounds.center()));
    for i in 0..ALONG.pow(3) {
        let share = |digit: usize| (digit % ALONG) as f64 + 0.5;
        let shares = Vector3::new(share(i), share(i / ALONG), share(i / ALONG / ALONG)) / ALONG as f64;
        let at = bounds.min + size.component_mul(&shares);
        let deep = depth(&at);
        if deep > best.1 {
            best = (at, deep);
        }
    }
    // Uphill from the best of them.
    let mut step_mm = size.amax() / (2.0 * ALONG as f64);
    for _ in 0..60 {
        let around = (0..6).map(|way| {
            let mut off = Vector3::zeros();
            off[way / 2] = if way % 2 == 0 { step_mm } else { -step_mm };
            best.0 + off
        });
        let next = around.map(|at| (at, depth(&at))).max_by(|a, b| a.1.total_cmp(&b.1));
        match next {
            Some(next) if next.1 > best.1 + 1e-9 => best = next,
            _ => step_mm *= 0.6,
        }
        if step_mm < 1e-4 {
            break;
        }
    }
    (best.1 > 0.0).then_some(best)
}

/// Whether a body is caged in at its mounted pose by what stands round it; `None` says nothing.
///
/// `starts` are the poses outside from which it would come: where the ball at one of them lies within the box about all
/// obstacles, nothing is proved.
pub fn caged(seen: &Seen, starts: &[Pose]) -> Option<Cage> {
    let (middle, radius_mm) = ball_inside(&seen.body)?;
    // A hair less than what was found, for rounding.
    let ball_mm = 2.0 * (radius_mm - 1e-6);
    if ball_mm < LEAST_BALL_MM {
        return None;
    }
    let at = seen.goal * middle;
    let list = seen.obstacles.iter().zip(&seen.names).map(|(obstacle, name)| StandingBody {
        name: name.clone(),
        shape: obstacle.shape.clone(),
        world_from_body: obstacle.world_from_obstacle,
        cover_mm: obstacle.room.mm(),
    });
    let bodies = Bodies::new(list.collect()).ok()?;
    let count = bodies.list().len();
    let bay =
        (0..count).fold(Bounds::EMPTY, |all, body| all.union(&bodies.bounds_of(body))).grown(ball_mm + 1.0);
    // A body that stands half outside is not caged, and this proof is of no use where it starts inside the box.
    if bay.is_empty()
        || bay.distance_mm(&at) > 0.0
        || starts.iter().any(|start| bay.distance_mm(&(start * middle)) <= 0.0)
    {
        return None;
    }
    let open = vec![
        Direction::Up,
        Direction::Down,
        Direction::Forward,
        Direction::Rearward,
        Direction::Left,
        Direction::Right,
    ];
    let ask = CorridorAsk {
        touch_mm: 1.0,
        cap_mm: ball_mm.max(2.0),
        floor_mm: (ball_mm - TOLERANCE_MM).max(0.0),
        tolerance_mm: TOLERANCE_MM,
        budget: BUDGET,
        ..CorridorAsk::new(at, Outside { bay, open })
    };
    let obstacles = bodies.obstacles(&[]).ok()?;
    let found = corridor(&obstacles, &ask).ok()?;
    (found.upper_mm < ball_mm).then(|| Cage {
        ball_mm,
        at,
        opening_mm: found.upper_mm,
        by: found.shut_by.iter().filter_map(|by| seen.names.get(*by).cloned()).collect(),
    })
}

impl Cage {
    /// The proof in words.
    pub fn words(&self) -> String {
        let by: Vec<String> = self.by.iter().take(4).map(|by| format!("`{by}`")).collect();
        let by = if by.is_empty() { String::new() } else { format!(", shut by {}", by.join(", ")) };
        format!(
            "a ball of {:.2} mm lies in it, and with the gaps kept no ball of more than {:.2} mm gets from there to outside, \
             whichever way{by}",
            self.ball_mm, self.opening_mm
        )
    }
}
