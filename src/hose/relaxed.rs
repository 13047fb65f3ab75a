//! A hose at rest.

use nalgebra::{Point3, Unit, Vector3};

/// The middle line of a hose at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Relaxed {
    /// Nodes, from port to port, mm.
    pub points: Vec<Point3<f64>>,
    /// Where it is held: the number of the node, and the way that it goes through it there.
    pub holds: Vec<(usize, Unit<Vector3<f64>>)>,
    /// Outer radius, mm.
    pub radius_mm: f64,
    /// Against the weight.
    pub up: Unit<Vector3<f64>>,
}

/// Where a hose is bent most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TightestBend {
    /// Radius of its middle line there, mm; infinite for a straight one.
    pub radius_mm: f64,
    /// Where.
    pub at: Point3<f64>,
}

/// Where a hose falls least on the way that something should drain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fall {
    /// Angle below the level there, radians; negative where it climbs.
    pub least_rad: f64,
    /// Where.
    pub at: Point3<f64>,
}

impl Relaxed {
    /// Length along the nodes, mm.
    pub fn length_mm(&self) -> f64 {
        self.points.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
    }

    /// The tightest bend: at a node, of the circle that touches the middles of the pieces beside it; where it is held, of the
    /// circle that leaves by the hold's own way and meets the far end of the piece beside it.
    pub fn tightest(&self) -> TightestBend {
        let first = self.points.first().copied().unwrap_or_else(Point3::origin);
        let mut tightest = TightestBend { radius_mm: f64::INFINITY, at: first };
        let mut met = |radius_mm: f64, at: Point3<f64>| {
            if radius_mm < tightest.radius_mm {
                tightest = TightestBend { radius_mm, at };
            }
        };
        for (number, three) in self.points.windows(3).enumerate() {
            if self.holds.iter().any(|(node, _)| *node == number + 1) {
                continue;
            }
            let (one, two): (Vector3<f64>, Vector3<f64>) = (three[1] - three[0], three[2] - three[1]);
            let angle = one.angle(&two);
            met(one.norm().min(two.norm()) / (2.0 * (angle / 2.0).tan()).max(1e-300), three[1]);
        }
        for (node, way) in &self.holds {
            for piece in [node.checked_sub(1).map(|before| (before, *node)), Some((*node, node + 1))] {
                let Some((Some(from), Some(to))) =
                    piece.map(|(from, to)| (self.points.get(from), self.points.get(to)))
                else {
                    continue;
                };
                let step = to - from;
                // Past a right angle a circle would turn back; it is at least as tight as half the piece.
                let angle = step.angle(way).min(std::f64::consts::FRAC_PI_2);
                met(step.norm() / (2.0 * angle.sin()).max(1e-300), self.points[*node]);
            }
        }
        tightest
    }

    /// Where it falls least from its first port to its last: a drain must fall all the way.
    pub fn fall(&self) -> Fall {
        let first = self.points.first().copied().unwrap_or_else(Point3::origin);
        let mut fall = Fall { least_rad: f64::INFINITY, at: first };
        let pieces =
            self.points.windows(2).map(|pair| (pair[1] - pair[0], nalgebra::center(&pair[0], &pair[1])));
        let held =
            self.holds.iter().filter_map(|(node, way)| Some((way.into_inner(), *self.points.get(*node)?)));
        for (step, at) in pieces.chain(held) {
            let step: Vector3<f64> = step;
            let rise = step.dot(&self.up);
            let below = (-rise).atan2((step - self.up.into_inner() * rise).norm());
            if below < fall.least_rad {
                fall = Fall { least_rad: below, at };
            }
        }
        fall
    }

    /// How far its middle line sinks below the lower of its ends, mm; zero when it does not.
    pub fn sag_mm(&self) -> f64 {
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else { return 0.0 };
        let height = |p: &Point3<f64>| p.coords.dot(&self.up);
        let lowest = self.points.iter().map(height).fold(f64::INFINITY, f64::min);
        (height(first).min(height(last)) - lowest).max(0.0)
    }
}
