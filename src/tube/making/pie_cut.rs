//! Bends made of straight segments, mitred and welded.

/// A bend of pie cuts: mitred joints that each turn by the same angle, all touching the bend's arc.
///
/// The joints' planes halve the angle between neighbours, so that both cuts of a joint are the same ellipse.
/// Between two joints lies a whole segment; the tube's own straights reach past the bend's tangent points to
/// the first and last joints, half a segment each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PieCuts {
    /// Angle of the whole bend, rad.
    pub angle_rad: f64,
    /// Centreline radius to which the segments are tangent at their middles, mm.
    pub radius_mm: f64,
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Number of welded joints, one or more; there are `joints - 1` whole segments.
    pub joints: usize,
}

impl PieCuts {
    /// The fewest joints that turn by no more than `most_rad` each. (15 deg and under flows well and is
    /// usual: `common practice, no source`.)
    pub fn new(angle_rad: f64, radius_mm: f64, outside_mm: f64, most_rad: f64) -> Self {
        let joints = ((angle_rad / most_rad - 1e-9).ceil() as usize).max(1);
        PieCuts { angle_rad, radius_mm, outside_mm, joints }
    }

    /// How far each joint turns, rad; each face is cut off square by half of it.
    pub fn joint_rad(&self) -> f64 {
        self.angle_rad / self.joints as f64
    }

    /// Length of a whole segment at the inside, the centreline and the outside of the bend, mm:
    /// 2 (R -/+ D/2) tan(joint / 2).
    ///
    /// # Example
    /// A right angle of 76.2 mm radius in 76.2 mm tube with five joints (closed form).
    /// ```
    /// # extern crate baywright_lower as baywright;
    /// use baywright::tube::PieCuts;
    /// let cuts = PieCuts { angle_rad: 1.5707963267948966, radius_mm: 76.2, outside_mm: 76.2, joints: 5 };
    /// let [inside, middle, outside] = cuts.segment_mm();
    /// assert!((inside - 12.0689).abs() < 1e-4 && (middle - 24.1378).abs() < 1e-4 && (outside - 36.2067).abs() < 1e-4);
    /// ```
    pub fn segment_mm(&self) -> [f64; 3] {
        let twice = 2.0 * (self.joint_rad() / 2.0).tan();
        [-0.5, 0.0, 0.5].map(|side| (self.radius_mm + side * self.outside_mm) * twice)
    }

    /// Centreline length from tangent point to tangent point, mm: the joints' segments and the two halves
    /// that belong to the straights.
    pub fn centreline_mm(&self) -> f64 {
        self.joints as f64 * self.segment_mm()[1]
    }

    /// The inside of the bend must leave some tube to weld: whether a whole segment has at least `least_mm`
    /// there. A bend of one joint has no whole segment.
    pub fn weldable(&self, least_mm: f64) -> bool {
        self.joints < 2 || self.segment_mm()[0] >= least_mm
    }
}
