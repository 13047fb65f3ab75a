//! A hose at rest.

use nalgebra::{Point3, Unit, Vector3};

/// The middle line of a hose at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Relaxed {
    /// Nodes, from port to port, mm.
    pub points: Vec<Point3<f64>>,
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
    pub(super) fn new(points: Vec<Point3<f64>>, radius_mm: f64, up: Unit<Vector3<f64>>) -> Self {
        Relaxed { points, radius_mm, up }
    }

    /// Length along the nodes, mm.
    pub fn length_mm(&self) -> f64 {
        self.points.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum()
    }

    /// The tightest bend: at a node, of the circle that touches the middles of the pieces beside it.
    pub fn tightest(&self) -> TightestBend {
        let first = self.points.first().copied().unwrap_or_else(Point3::origin);
        let mut tightest = TightestBend { radius_mm: f64::INFINITY, at: first };
        for three in self.points.windows(3) {
            let (one, two): (Vector3<f64>, Vector3<f64>) = (three[1] - three[0], three[2] - three[1]);
            let angle = one.angle(&two);
            let radius_mm = one.norm().min(two.norm()) / (2.0 * (angle / 2.0).tan()).max(1e-300);
            if radius_mm < tightest.radius_mm {
                tightest = TightestBend { radius_mm, at: three[1] };
            }
        }
        tightest
    }

    /// Where it falls least from its first port to its last: a drain must fall all the way.
    pub fn fall(&self) -> Fall {
        let first = self.points.first().copied().unwrap_or_else(Point3::origin);
        let mut fall = Fall { least_rad: f64::INFINITY, at: first };
        for pair in self.points.windows(2) {
            let step: Vector3<f64> = pair[1] - pair[0];
            let rise = step.dot(&self.up);
            let below = (-rise).atan2((step - self.up.into_inner() * rise).norm());
            if below < fall.least_rad {
                fall = Fall { least_rad: below, at: nalgebra::center(&pair[0], &pair[1]) };
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
