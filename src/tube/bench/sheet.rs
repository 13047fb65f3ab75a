//! The bend table and everything beside it.

use crate::tube::{BendList, Bender, Section, TubeError, outer_wall_mm};

/// What the bench works with.
#[derive(Clone, Copy, Debug)]
pub struct BenchOptions<'a> {
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Wall, mm; `None` for a solid bar.
    pub wall_mm: Option<f64>,
    /// Density of the material, kg/m^3, when it is known.
    pub density_kg_m3: Option<f64>,
    /// Name of the material, by which the bender's springback is chosen.
    pub material: Option<&'a str>,
    /// The bender; without one, bends neither spring back nor stretch.
    pub bender: Option<&'a Bender>,
    /// Left on at the start and cut off after bending, mm.
    pub start_extra_mm: f64,
    /// Left on at the end, mm.
    pub end_extra_mm: f64,
}

/// One bend, as the table has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BenchRow {
    /// Number, from 1.
    pub number: usize,
    /// Straight before the bend, between tangent points, mm: how far to feed. Of the first, what is left on at the
    /// start included.
    pub straight_mm: f64,
    /// Turn of the plane since the last bend, rad; zero for the first.
    pub rotation_rad: f64,
    /// Angle of the finished bend, rad.
    pub angle_rad: f64,
    /// Angle to bend to so that it springs back to that, rad.
    pub bend_to_rad: f64,
    /// Centreline radius, mm.
    pub radius_mm: f64,
    /// From tangent point to theoretical corner, mm.
    pub setback_mm: f64,
    /// Centreline length of the bend, mm.
    pub arc_mm: f64,
    /// Where the bend starts on the straight stock, from its cut end, mm, stretch taken off.
    pub mark_from_mm: f64,
    /// Where it ends on it, mm.
    pub mark_to_mm: f64,
    /// Wall left at the outside of the bend, mm.
    pub outer_wall_mm: Option<f64>,
}

/// All that is needed to cut and bend a tube.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchSheet {
    /// Bends in order.
    pub rows: Vec<BenchRow>,
    /// Straight after the last bend, what is left on at the end included, mm.
    pub last_straight_mm: f64,
    /// Centreline length of the finished tube, mm.
    pub centreline_mm: f64,
    /// Length to cut without stretch, mm: the finished tube and what is left on at both ends.
    pub cut_unstretched_mm: f64,
    /// Length to cut, mm: what the bends stretch is taken off.
    pub cut_mm: f64,
    /// Weight of the finished tube, kg, when the density is known.
    pub weight_kg: Option<f64>,
    /// Volume of its metal, mm^3.
    pub metal_mm3: f64,
    /// Volume inside it, mm^3.
    pub inside_mm3: f64,
}

/// Makes the table. The first rotation is how the tube is clocked in the machine, which is free: it is zero.
///
/// # Errors
/// A list or section that cannot be.
///
/// # Example
/// A right angle of 76.2 mm between straights of 123.8 and 73.8 mm, by a bender that stretches by a twentieth:
/// the cut length is 123.8 + 0.95 x 119.695 + 73.8 (see the tests).
pub fn bench_sheet(list: &BendList, options: &BenchOptions<'_>) -> Result<BenchSheet, TubeError> {
    let section = Section::Round { outside_mm: options.outside_mm };
    section.check(options.wall_mm)?;
    list.check_body(options.outside_mm)?;
    let list = list.canonical();
    let mut at_mm = options.start_extra_mm;
    let drawn = |arc: f64| options.bender.map_or(arc, |bender| bender.drawn_arc_mm(arc));
    let mut rows = Vec::with_capacity(list.bends.len());
    for (index, bend) in list.bends.iter().enumerate() {
        at_mm += bend.straight_mm;
        let mark_from_mm = at_mm;
        at_mm += drawn(bend.arc_mm());
        let to = |bender: &Bender| bender.bend_to_rad(bend.angle_rad, options.material);
        rows.push(BenchRow {
            number: index + 1,
            straight_mm: bend.straight_mm + if index == 0 { options.start_extra_mm } else { 0.0 },
            rotation_rad: bend.rotation_rad,
            angle_rad: bend.angle_rad,
            bend_to_rad: options.bender.map_or(bend.angle_rad, to),
            radius_mm: bend.radius_mm,
            setback_mm: bend.setback_mm(),
            arc_mm: bend.arc_mm(),
            mark_from_mm,
            mark_to_mm: at_mm,
            outer_wall_mm: options
                .wall_mm
                .map(|wall| outer_wall_mm(wall, options.outside_mm, bend.radius_mm)),
        });
    }
    let centreline_mm = list.length_mm();
    let inside_mm2 = options.wall_mm.map_or(0.0, |wall| section.inset(wall).area_mm2());
    let metal_mm3 = (section.area_mm2() - inside_mm2) * centreline_mm;
    let lead_mm = if rows.is_empty() { options.start_extra_mm } else { 0.0 };
    Ok(BenchSheet {
        rows,
        last_straight_mm: lead_mm + list.last_straight_mm + options.end_extra_mm,
        centreline_mm,
        cut_unstretched_mm: options.start_extra_mm + centreline_mm + options.end_extra_mm,
        cut_mm: at_mm + list.last_straight_mm + options.end_extra_mm,
        // 1 kg/m^3 is 1e-9 kg/mm^3.
        weight_kg: options.density_kg_m3.map(|density| density * 1e-9 * metal_mm3),
        metal_mm3,
        inside_mm3: inside_mm2 * centreline_mm,
    })
}
