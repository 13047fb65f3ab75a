//! A bender: what it can bend, and by how much it must overbend.

/// A die of a bender: one tube, one radius.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Die {
    /// Outside diameter of the tube, mm.
    pub outside_mm: f64,
    /// Centreline radius that it bends to, mm.
    pub radius_mm: f64,
}

/// How far a bend opens again when it is let go.
#[derive(Clone, Debug, PartialEq)]
pub struct Springback {
    /// The material it was tried on; `None` for all others.
    pub material: Option<String>,
    /// Share of the angle: 0.02 means that 90 deg must be bent to 91.8.
    pub share: f64,
    /// Besides that, rad.
    pub add_rad: f64,
}

/// A bender and what it asks of a tube. Lengths that grow with the tube are given in outside diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct Bender {
    /// Name.
    pub name: String,
    /// Dies; none means that it bends to any radius (rolls).
    pub dies: Vec<Die>,
    /// Least centreline radius in outside diameters that it bends at all.
    pub least_radius_od: f64,
    /// Radius in outside diameters under which bends need care (mandrel and wiper set well).
    pub tight_radius_od: f64,
    /// Straight between two bends in outside diameters: what the clamp grips.
    pub clamp_od: f64,
    /// Straight before the first bend in outside diameters.
    pub first_od: f64,
    /// Straight after the last bend in outside diameters.
    pub last_od: f64,
    /// Thickest wall, mm.
    pub most_wall_mm: f64,
    /// Greatest angle of one bend, rad.
    pub most_angle_rad: f64,
    /// Greatest share of the wall that may be lost at the outside of a bend.
    pub most_thinning: f64,
    /// Springback by material; the first that fits counts.
    pub springback: Vec<Springback>,
    /// Share of a bend's centreline length that the tube gains by being drawn: so much less stock is cut.
    pub stretch: f64,
    /// Where the figures come from.
    pub source: String,
}

/// Tubes and radii this near (mm) are the same size.
pub(super) const SAME_MM: f64 = 0.3;

impl Bender {
    /// The radii that it bends a tube to, mm, smallest first. Empty when it has no die for that tube, or
    /// when it bends to any radius.
    pub fn radii_mm(&self, outside_mm: f64) -> Vec<f64> {
        let mut radii: Vec<f64> = self
            .dies
            .iter()
            .filter(|die| (die.outside_mm - outside_mm).abs() <= SAME_MM)
            .map(|die| die.radius_mm)
            .collect();
        radii.sort_by(f64::total_cmp);
        radii
    }

    /// The angle to bend to so that it springs back to `angle_rad`, rad.
    pub fn bend_to_rad(&self, angle_rad: f64, material: Option<&str>) -> f64 {
        let fits = |one: &&Springback| one.material.is_none() || one.material.as_deref() == material;
        self.springback
            .iter()
            .find(fits)
            .map_or(angle_rad, |back| angle_rad * (1.0 + back.share) + back.add_rad)
    }

    /// Stock that a bend takes, mm: its centreline length less what it stretches.
    pub fn drawn_arc_mm(&self, arc_mm: f64) -> f64 {
        arc_mm * (1.0 - self.stretch)
    }
}
