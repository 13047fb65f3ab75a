//! The question: which point, from where, how exactly.

use nalgebra::{Point3, Unit, Vector3};

use crate::access::{AccessError, Outside};

/// Which point must be reached, from where, and how exactly its corridor's width is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct CorridorAsk {
    /// The point to be touched, in the world, mm.
    pub target: Point3<f64>,
    /// The ball has arrived when its surface is within this of the point, mm; at least 1. A hand
    /// is no ball: its fingers stretch this far before it.
    pub touch_mm: f64,
    /// The ball must arrive on this side: its centre before the plane through the point that this
    /// direction stands on. Without it a ball may touch the point from behind a thin panel.
    pub from_side: Option<Unit<Vector3<f64>>>,
    /// Where the hand comes from.
    pub outside: Outside,
    /// Widths over this are all alike, mm: the answer says `at least` and stops.
    pub cap_mm: f64,
    /// Widths under this are of no use to anybody and all alike, mm: once it is proved that nothing
    /// wider passes, the search stops. Narrow places cost the most to tell apart.
    pub floor_mm: f64,
    /// The proved interval of the width is no wider than this, mm.
    pub tolerance_mm: f64,
    /// Most questions asked of the obstacles; when they are spent, the interval stays as wide as it is.
    pub budget: usize,
}

impl CorridorAsk {
    /// The usual: touched within 10 mm, widths over 250 mm alike and under 10 mm, to 1 mm.
    pub fn new(target: Point3<f64>, outside: Outside) -> Self {
        CorridorAsk {
            target,
            touch_mm: 10.0,
            from_side: None,
            outside,
            cap_mm: 250.0,
            floor_mm: 10.0,
            tolerance_mm: 1.0,
            budget: 400_000,
        }
    }

    /// # Errors
    /// Every number in its range, the bay a box, the target in it.
    pub(super) fn validate(&self) -> Result<(), AccessError> {
        AccessError::finite_point("a coordinate of the service point", &self.target)?;
        AccessError::in_range("the touch distance, mm,", self.touch_mm, 1.0..=1000.0, "1 to 1000 mm")?;
        AccessError::in_range(
            "the greatest width of interest, mm,",
            self.cap_mm,
            2.0..=5000.0,
            "2 to 5000 mm",
        )?;
        AccessError::in_range(
            "the least width of interest, mm,",
            self.floor_mm,
            0.0..=self.cap_mm,
            "0 mm to the cap",
        )?;
        AccessError::in_range("the tolerance, mm,", self.tolerance_mm, 0.01..=100.0, "0.01 to 100 mm")?;
        self.outside.validate()?;
        let beyond = self.outside.bay.distance_mm(&self.target);
        if beyond > 0.0 {
            return Err(AccessError::PointOutsideBay {
                x: self.target.x,
                y: self.target.y,
                z: self.target.z,
                beyond: crate::space::Length::from_mm(beyond),
            });
        }
        Ok(())
    }
}
