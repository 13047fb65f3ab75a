//! How a tube grows when it gets hot.

use nalgebra::{Point3, Vector3};

use super::{BendList, TubeError, TubeMaterial};

/// A stretch of a tube at one temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HotStretch<'a> {
    /// From the first end along the centreline, mm.
    pub from_mm: f64,
    /// Where it ends, mm.
    pub to_mm: f64,
    /// Its material.
    pub material: &'a TubeMaterial,
    /// Mean temperature of the metal there, deg C.
    pub hot_c: f64,
}

/// What growth does to the last end when the first is held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Growth {
    /// How the last end moves, mm, if it is free: the growth vector. It must be taken up by joints or bending.
    pub end: Vector3<f64>,
    /// How much longer the centreline gets, mm.
    pub length_mm: f64,
    /// Whether every temperature lies within its material's table.
    pub within_table: bool,
}

/// Growth of a tube that was cold all over, the first end held and the last free.
///
/// Every stretch grows in all directions alike, so it pushes its end by its own share of the straight line
/// between its ends: the whole of an evenly hot tube moves its end along the line from end to end, whatever way the
/// tube takes. Nothing is said about bending by unevenly hot sides.
///
/// # Errors
/// A list that cannot be.
///
/// # Example
/// Legs of 300 mm and 400 mm at 18e-6 / K, 600 K hotter: the end moves by (3.24, 4.32) mm (see the tests).
pub fn growth(list: &BendList, cold_c: f64, stretches: &[HotStretch<'_>]) -> Result<Growth, TubeError> {
    let line = list.centreline()?;
    let length = line.length_mm();
    let mut out = Growth { end: Vector3::zeros(), length_mm: 0.0, within_table: true };
    for stretch in stretches {
        let share = stretch.material.growth_share(cold_c, stretch.hot_c);
        let (from, to) = (stretch.from_mm.clamp(0.0, length), stretch.to_mm.clamp(0.0, length));
        let (start, end): (Point3<f64>, Point3<f64>) = (line.point_at(from), line.point_at(to));
        out.end += (end - start) * share;
        out.length_mm += (to - from) * share;
        out.within_table &= stretch.material.covers(stretch.hot_c);
    }
    Ok(out)
}

/// [`growth`] of a tube of one material at one temperature.
///
/// # Errors
/// A list that cannot be.
pub fn even_growth(
    list: &BendList,
    material: &TubeMaterial,
    cold_c: f64,
    hot_c: f64,
) -> Result<Growth, TubeError> {
    let whole = HotStretch { from_mm: 0.0, to_mm: list.length_mm(), material, hot_c };
    growth(list, cold_c, &[whole])
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::tube::CornerLine;

    const EVEN: TubeMaterial = TubeMaterial {
        name: "even",
        expansion: &[(1000.0, 18.0)],
        expansion_source: "invented",
        elongation: 0.4,
    };

    /// Source: closed form; an L of 300 and 400 mm acts along the line between its ends.
    #[test]
    fn an_angle_grows_along_the_line_between_its_ends() {
        let corners = [[0.0, 0.0, 0.0], [300.0, 0.0, 0.0], [300.0, 400.0, 0.0]];
        let points = corners.iter().map(|p| Point3::from(*p)).collect();
        let list = CornerLine { points, radii_mm: vec![80.0] }.bend_list().unwrap();
        let grown = even_growth(&list, &EVEN, 20.0, 620.0).unwrap();
        assert!((grown.end - Vector3::new(3.24, 4.32, 0.0)).norm() < 1e-9, "{grown:?}");
        assert!((grown.end.norm() - 5.40).abs() < 1e-9);
        assert!((grown.length_mm - list.length_mm() * 18e-6 * 600.0).abs() < 1e-9);
        // Two stretches that together are the whole give the same.
        let part = |from_mm, to_mm| HotStretch { from_mm, to_mm, material: &EVEN, hot_c: 620.0 };
        let parts = growth(&list, 20.0, &[part(0.0, 222.0), part(222.0, list.length_mm())]).unwrap();
        assert!((parts.end - grown.end).norm() < 1e-9);
    }

    /// Source: ASME BPVC II-D (2001) table TE-1, group 1, column C: 3.7, 5.7 and 9.0 in per 100 ft from 70 to 500,
    /// 700 and 1000 deg F, printed to a tenth.
    #[test]
    fn carbon_steel_grows_as_the_code_says() {
        let steel = TubeMaterial::find("mild-steel").unwrap();
        for (hot_f, inches) in [(500.0, 3.7), (700.0, 5.7), (1000.0, 9.0)] {
            let hot_c = (hot_f - 32.0) / 1.8;
            let got = steel.growth_share(70.0f64 / 1.8 - 32.0 / 1.8, hot_c) * 1200.0;
            assert!((got - inches).abs() < 0.1, "{hot_f}: {got} in against {inches}");
        }
    }

    /// Source: closed form alpha L dT with the table's figures: 321 at 18.9e-6 over 580 K and 600 mm.
    #[test]
    fn growth_from_the_table() {
        let steel = TubeMaterial::find("stainless-321").unwrap();
        assert!((steel.growth_share(20.0, 600.0) * 600.0 - 6.5772).abs() < 1e-9);
        // Halfway between two figures.
        assert!((steel.mean_expansion_per_k(350.0) - 17.75e-6).abs() < 1e-12);
        assert!(steel.covers(1000.0) && !steel.covers(1001.0));
        assert!(TubeMaterial::find("wood").is_none());
    }
}
