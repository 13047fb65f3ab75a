//! What an eye sees: straight lines, or lines by a mirror, past obstacles.
//!
//! Along a line the clearance at a place proves that much of the line free, so a line is seen,
//! blocked, or grazes something so closely that it cannot be told.

use nalgebra::{Point3, Unit, Vector3};

use super::room::across;
use super::{AccessError, Obstacles};

/// Lines to a round target are neighbours when their ends are no farther apart than so many times its radius by the root of
/// their number: evenly spread points lie some 1.9 of it apart (hexagons of the same area).
const NEXT: f64 = 2.5;
/// Nearer to an obstacle than this a line grazes it, mm.
const GRAZE_MM: f64 = 0.05;

/// Whether a line is free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SightLine {
    /// Proved free; the least clearance at the places looked at, mm.
    Seen {
        /// mm.
        least_mm: f64,
    },
    /// It passes something by less than 0.05 mm: not told apart from blocked.
    Grazes {
        /// Number of the obstacle.
        body: usize,
        /// Where.
        at: Point3<f64>,
    },
    /// It meets an obstacle.
    Blocked {
        /// Number of the obstacle.
        body: usize,
        /// Where it is met.
        at: Point3<f64>,
    },
}

/// A flat round mirror.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mirror {
    /// Its middle.
    pub at: Point3<f64>,
    /// Out of its face.
    pub normal: Unit<Vector3<f64>>,
    /// Its radius, mm.
    pub radius_mm: f64,
}

/// How much of a round target an eye sees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Lines tried, spread evenly over the target.
    pub lines: usize,
    /// Lines proved free.
    pub seen: usize,
    /// Lines that graze something.
    pub grazing: usize,
    /// Lines proved free of which all neighbours are: an edge passes between lines, and which side of it what lies
    /// between belongs to is not told apart.
    pub inside: usize,
    /// Lines that are not blocked, or of which a neighbour is not.
    pub fringe: usize,
}

impl Sight {
    /// Share of the lines proved free, 0 to 1.
    pub fn share(&self) -> f64 {
        self.of(self.seen)
    }

    /// The least share that the lines speak for: 0 to 1. What is finer than the lines' spacing may be missed.
    pub fn least_share(&self) -> f64 {
        self.of(self.inside)
    }

    /// The greatest share that the lines leave open, 0 to 1, grazing lines included. What is finer than the lines' spacing may
    /// be missed.
    pub fn most_share(&self) -> f64 {
        self.of(self.fringe)
    }

    fn of(&self, lines: usize) -> f64 {
        if self.lines == 0 { 0.0 } else { lines as f64 / self.lines as f64 }
    }
}

/// Whether the straight line from an eye to a point is free, up to `short_mm` before the point (it
/// usually lies on a surface).
pub fn sight_line(
    obstacles: &dyn Obstacles,
    eye: &Point3<f64>,
    point: &Point3<f64>,
    short_mm: f64,
) -> SightLine {
    let line = point - eye;
    let length_mm = (line.norm() - short_mm).max(0.0);
    let Some(along) = Unit::try_new(line, 1e-12) else {
        return SightLine::Seen { least_mm: obstacles.clearance_mm(eye) };
    };
    let mut near = Vec::new();
    let (mut walked_mm, mut least_mm) = (0.0, f64::INFINITY);
    let mut grazed = None;
    loop {
        let at = eye + along.into_inner() * walked_mm;
        obstacles.near(&at, f64::INFINITY, 0.0, &mut near);
        let Some(first) = near.first() else {
            return SightLine::Seen { least_mm };
        };
        let clear_mm = first.clearance_mm;
        if clear_mm <= 0.0 {
            return SightLine::Blocked { body: first.body, at };
        }
        least_mm = least_mm.min(clear_mm);
        if clear_mm < GRAZE_MM && grazed.is_none() {
            grazed = Some(SightLine::Grazes { body: first.body, at });
        }
        if walked_mm >= length_mm {
            return grazed.unwrap_or(SightLine::Seen { least_mm });
        }
        walked_mm = (walked_mm + clear_mm.max(GRAZE_MM)).min(length_mm);
    }
}

/// Whether the line from an eye by a mirror to a point is free; none when the mirror does not show
/// the point to the eye at all.
pub fn mirror_line(
    obstacles: &dyn Obstacles,
    eye: &Point3<f64>,
    mirror: &Mirror,
    point: &Point3<f64>,
    short_mm: f64,
) -> Option<SightLine> {
    let height = |at: &Point3<f64>| (at - mirror.at).dot(&mirror.normal);
    let (eye_mm, point_mm) = (height(eye), height(point));
    if eye_mm <= 0.0 || point_mm <= 0.0 {
        return None;
    }
    // Straight from the eye's image behind the mirror to the point.
    let image = eye - mirror.normal.into_inner() * (2.0 * eye_mm);
    let at = image + (point - image) * (eye_mm / (eye_mm + point_mm));
    if (at - mirror.at).norm() > mirror.radius_mm {
        return None;
    }
    let first = sight_line(obstacles, eye, &at, 0.0);
    let second = sight_line(obstacles, &at, point, short_mm);
    Some(match (first, second) {
        (SightLine::Blocked { .. }, _) => first,
        (_, SightLine::Blocked { .. }) => second,
        (SightLine::Grazes { .. }, _) => first,
        (_, SightLine::Grazes { .. }) => second,
        (SightLine::Seen { least_mm: a }, SightLine::Seen { least_mm: b }) => {
            SightLine::Seen { least_mm: a.min(b) }
        }
    })
}

/// How much of a round flat target an eye sees, directly or by a mirror: one line to each of
/// `lines` points spread evenly over it (a sunflower's seeds). A target that faces away is not seen.
///
/// # Errors
/// A number out of its range.
#[allow(clippy::too_many_arguments)]
pub fn seen_share(
    obstacles: &dyn Obstacles,
    eye: &Point3<f64>,
    mirror: Option<&Mirror>,
    target: &Point3<f64>,
    normal: &Unit<Vector3<f64>>,
    radius_mm: f64,
    lines: usize,
    short_mm: f64,
) -> Result<Sight, AccessError> {
    AccessError::finite_point("a coordinate of the eye", eye)?;
    AccessError::in_range("the target's radius, mm,", radius_mm, 0.0..=5000.0, "0 to 5000 mm")?;
    AccessError::in_range("the number of lines", lines as f64, 1.0..=1e6, "1 to a million")?;
    AccessError::in_range("the distance to stop short, mm,", short_mm, 0.0..=1000.0, "0 to 1000 mm")?;
    let x = across(normal);
    let y = normal.cross(&x);
    let golden_rad = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    // Whether each line is seen, and whether it is not blocked.
    type Line = (Point3<f64>, bool, bool);
    let mut told: Vec<Line> = Vec::with_capacity(lines);
    for i in 0..lines {
        let radius = radius_mm * ((i as f64 + 0.5) / lines as f64).sqrt();
        let (sin, cos) = (golden_rad * i as f64).sin_cos();
        let point = target + x.into_inner() * (radius * cos) + y * (radius * sin);
        let line = match mirror {
            None => ((eye - point).dot(normal) > 0.0).then(|| sight_line(obstacles, eye, &point, short_mm)),
            Some(mirror) => ((mirror.at - point).dot(normal) > 0.0)
                .then(|| mirror_line(obstacles, eye, mirror, &point, short_mm))
                .flatten(),
        };
        let seen = matches!(line, Some(SightLine::Seen { .. }));
        told.push((point, seen, seen || matches!(line, Some(SightLine::Grazes { .. }))));
    }
    let next_mm = NEXT * radius_mm / (lines as f64).sqrt();
    let beside = |at: &Point3<f64>, is: &dyn Fn(&Line) -> bool| {
        told.iter().any(|other| is(other) && (other.0 - at).norm() <= next_mm)
    };
    let count = |is: &dyn Fn(&Line) -> bool| told.iter().filter(|one| is(one)).count();
    let seen = count(&|one| one.1);
    Ok(Sight {
        lines,
        seen,
        grazing: count(&|one| one.2) - seen,
        inside: if seen == lines { lines } else { count(&|one| !beside(&one.0, &|other| !other.1)) },
        fringe: if seen == 0 && !told.iter().any(|one| one.2) {
            0
        } else {
            count(&|one| beside(&one.0, &|other| other.2))
        },
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::access::{Analytic, Part};
    use crate::space::Bounds;

    #[test]
    fn seen_blocked_and_round_the_corner() {
        let ball = Part::Ball { center: Point3::new(0.0, 0.0, 50.0), radius_mm: 10.0 };
        let world = Analytic::new().with("ball", ball);
        let eye = Point3::new(0.0, 0.0, 100.0);
        for (case, point, seen) in [
            ("behind the ball", [0.0, 0.0, 0.0], false),
            ("outside the tangent, which is at 2 * 10 * 5 / sqrt(24) = 20.41", [20.6, 0.0, 0.0], true),
            ("just inside it", [20.3, 0.0, 0.0], false),
        ] {
            let line = sight_line(&world, &eye, &Point3::from(point), 0.0);
            assert_eq!(matches!(line, SightLine::Seen { .. }), seen, "{case}: {line:?}");
            assert_eq!(matches!(line, SightLine::Blocked { .. }), !seen, "{case}: {line:?}");
        }
        let mirror = Mirror { at: Point3::new(60.0, 0.0, 50.0), normal: -Vector3::x_axis(), radius_mm: 8.0 };
        let by_mirror = mirror_line(&world, &eye, &mirror, &Point3::origin(), 0.0);
        assert!(matches!(by_mirror, Some(SightLine::Seen { .. })), "{by_mirror:?}");
        let turned = Mirror { normal: Vector3::x_axis(), ..mirror };
        assert_eq!(mirror_line(&world, &eye, &turned, &Point3::origin(), 0.0), None);
    }

    #[test]
    fn half_a_target_behind_a_straight_edge() {
        // The edge of the block stands midway between a far eye's axis and the target: half is seen.
        let block = Bounds { min: Point3::new(-500.0, -500.0, 40.0), max: Point3::new(0.0, 500.0, 60.0) };
        let world = Analytic::new().with("block", Part::Block(block));
        let eye = Point3::new(0.0, 0.0, 1.0e5);
        let sight =
            seen_share(&world, &eye, None, &Point3::origin(), &Vector3::z_axis(), 30.0, 400, 0.0).unwrap();
        assert!((sight.share() - 0.5).abs() < 0.02, "{sight:?}");
        // Half the area is seen (symmetry): the margin holds it, however few the lines.
        for (lines, shift_mm) in [(61, 0.0), (61, 1.3), (61, -1.3), (100, 2.0), (400, 0.4)] {
            let (at, up) = (Point3::new(shift_mm, 0.0, 0.0), Vector3::z_axis());
            let sight = seen_share(&world, &eye, None, &at, &up, 30.0, lines, 0.0).unwrap();
            // Segment of a circle on the seen side of a straight line, shift off its middle.
            let off: f64 = shift_mm / 30.0;
            let want = 1.0 - (off.acos() - off * (1.0 - off * off).sqrt()) / std::f64::consts::PI;
            assert!(sight.least_share() < want && want < sight.most_share(), "{want} {sight:?}");
            assert!(sight.least_share() > 0.1 && sight.most_share() < 0.9, "{sight:?}");
        }
        let away =
            seen_share(&world, &eye, None, &Point3::origin(), &-Vector3::z_axis(), 30.0, 40, 0.0).unwrap();
        assert_eq!((away.seen, away.fringe), (0, 0), "it faces away");
    }

    #[test]
    fn a_line_that_grazes_is_not_seen_and_may_be() {
        // Two plates 0.06 apart: the line between them passes both at 0.03, nearer than is told apart.
        let slab = |min: f64, max: f64| {
            Part::Block(Bounds { min: Point3::new(min, -9.0, 40.0), max: Point3::new(max, 9.0, 60.0) })
        };
        let world = Analytic::new().with("one", slab(-90.0, -0.03)).with("other", slab(0.03, 90.0));
        let (eye, up) = (Point3::new(0.0, 0.0, 100.0), Vector3::z_axis());
        let sight = seen_share(&world, &eye, None, &Point3::origin(), &up, 0.0, 1, 0.0).unwrap();
        assert_eq!((sight.seen, sight.grazing, sight.inside, sight.fringe), (0, 1, 0, 1));
    }
}
