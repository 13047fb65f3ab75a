//! What is looked for.

use super::super::ScanError;

/// Kinds of feature that are looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FeatureKinds {
    /// Planes.
    pub planes: bool,
    /// Cylinders.
    pub cylinders: bool,
    /// Spheres.
    pub spheres: bool,
}

impl Default for FeatureKinds {
    fn default() -> Self {
        FeatureKinds { planes: true, cylinders: true, spheres: true }
    }
}

/// What is looked for, and how closely points must lie on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SegmentOptions {
    /// Kinds.
    pub kinds: FeatureKinds,
    /// How far a point may lie off a feature, mm; `None`: three times the scatter found among neighbours.
    pub tolerance_mm: Option<f64>,
    /// How far a normal may be off the feature's, rad. Normals of a rough scan are off by several degrees.
    pub angle_rad: f64,
    /// Points of one feature may be so far apart, mm; `None`: four times the usual distance between neighbours.
    pub gap_mm: Option<f64>,
    /// The fewest points that make a feature.
    pub least_points: usize,
    /// Least and greatest radius of cylinders and spheres, mm.
    pub radius_mm: [f64; 2],
    /// The most features that are taken.
    pub most_features: usize,
    /// What the draws start from: the same seed gives the same features.
    pub seed: u64,
}

impl Default for SegmentOptions {
    fn default() -> Self {
        SegmentOptions {
            kinds: FeatureKinds::default(),
            tolerance_mm: None,
            angle_rad: 20f64.to_radians(),
            gap_mm: None,
            least_points: 300,
            radius_mm: [4.0, 400.0],
            most_features: 60,
            seed: 1,
        }
    }
}

impl SegmentOptions {
    pub(super) fn check(&self) -> Result<(), ScanError> {
        if let Some(tolerance) = self.tolerance_mm {
            ScanError::positive("the tolerance of a feature", tolerance)?;
        }
        if let Some(gap) = self.gap_mm {
            ScanError::positive("the gap within a feature", gap)?;
        }
        ScanError::positive("the least radius", self.radius_mm[0])?;
        ScanError::positive("the greatest radius less the least", self.radius_mm[1] - self.radius_mm[0])?;
        if !(self.angle_rad > 0.0 && self.angle_rad < std::f64::consts::FRAC_PI_2) {
            return Err(ScanError::BadOption {
                what: format!("the angle between normals is {} rad", self.angle_rad),
                cure: "give an angle between 0 and 90 degrees, 20 say",
            });
        }
        if self.least_points < 10 {
            return Err(ScanError::BadOption {
                what: format!("a feature of {} points", self.least_points),
                cure: "ask for at least 10 points a feature: fewer are found anywhere",
            });
        }
        Ok(())
    }
}
