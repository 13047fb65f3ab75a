//! Fits that leave out what does not belong, and say what that was.

use super::{
    BoltPatternFit, BoxFit, CircleFit, ConeFit, CylinderFit, FitError, FitQuality, LineFit, PlaneFit,
    PointFit, Reading, SlotFit, SphereFit, TorusFit,
};

/// Readings of which each is tried as the wrong one; of more, those that stand out most.
const MOST_TRIED: usize = 30;

/// A fitted feature with its evidence.
pub trait Fitted {
    /// The evidence.
    fn quality(&self) -> &FitQuality;
}

macro_rules! fitted {
    ($($kind:ty),*) => { $(impl Fitted for $kind {
        fn quality(&self) -> &FitQuality { &self.quality }
    })* };
}
fitted!(
    PlaneFit,
    PointFit,
    LineFit,
    BoxFit,
    CircleFit,
    SphereFit,
    CylinderFit,
    ConeFit,
    SlotFit,
    TorusFit,
    BoltPatternFit
);

/// A fit and what it was made without.
#[derive(Clone, Debug, PartialEq)]
pub struct LeftOut<F> {
    /// The fit of the readings that are left.
    pub fit: F,
    /// Names of the readings left out, in the order in which they went, each with how far it lies off what the others
    /// say, mm: `P7 lies 3.20 mm off what the others say: left out`.
    pub left_out: Vec<(String, f64)>,
}

impl<F> LeftOut<F> {
    /// What was left out, in words.
    pub fn words(&self) -> Vec<String> {
        let said = |(name, off): &(String, f64)| {
            format!("{name} lies {off:.2} mm off what the others say: left out")
        };
        self.left_out.iter().map(said).collect()
    }
}

/// Fits with `fit`, leaves out the reading that lies beyond chance and without which the rest agrees best, and fits again,
/// until none does, at most a quarter of them.
///
/// Nothing is tried unless the fit itself names readings ([`FitQuality::suspects`]) or its scatter as a whole is beyond chance;
/// so readings that agree are never touched. A fit with few readings to spare cannot tell
/// which is wrong, and then none is left out. Nor is one where two wrong readings of much the same size hide each
/// other, or where the rest without some reading fits nothing: then the scatter tells that something is wrong, and not what.
///
/// # Errors
/// Those of `fit` on all readings.
///
/// # Example
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::survey::{Reading, fit_plane, fit_leaving_out};
/// use nalgebra::Point3;
/// let mut readings: Vec<Reading> = (0..9)
///     .map(|k| Reading::new(format!("P{k}"), Point3::new(f64::from(k % 3) * 100.0, f64::from(k / 3) * 100.0, 0.0), 0.5))
///     .collect();
/// readings[4].point.z = 12.0;
/// let found = fit_leaving_out(&readings, fit_plane).unwrap();
/// assert_eq!(found.words(), ["P4 lies 12.00 mm off what the others say: left out"]);
/// ```
pub fn fit_leaving_out<F: Fitted>(
    readings: &[Reading],
    fit: impl Fn(&[Reading]) -> Result<F, FitError>,
) -> Result<LeftOut<F>, FitError> {
    let mut kept = readings.to_vec();
    let mut here = fit(&kept)?;
    let mut left_out = Vec::new();
    while left_out.len() < readings.len() / 4 {
        let quality = here.quality();
        if quality.suspects.is_empty() && quality.scaling.factor() <= 1.0 {
            break;
        }
        // A gross error bends the fit toward itself: of few readings any may be the wrong one, however little it stands out.
        let size = |i: usize| quality.residuals[i].standardised.map_or(0.0, f64::abs);
        let mut tried: Vec<usize> = (0..kept.len()).collect();
        tried.sort_by(|a, b| size(*b).total_cmp(&size(*a)));
        tried.truncate(MOST_TRIED.max(quality.suspects.len()));
        let mut without = Vec::new();
        for i in tried {
            let mut fewer = kept.clone();
            let out = fewer.remove(i);
            match fit(&fewer) {
                // One reading to spare says nothing of which is wrong.
                Ok(next) if next.quality().spare >= 1 => {
                    without.push((next.quality().chi_square, i, out, fewer, next));
                }
                Ok(_) => {}
                // Nothing checks what hangs on this reading alone: it may be the wrong one, and none can be blamed before it.
                Err(_) => return Ok(LeftOut { fit: here, left_out }),
            }
        }
        without.sort_by(|a, b| a.0.total_cmp(&b.0));
        let runner_up = without.get(1).map(|next| next.0);
        let Some((left, at, out, fewer, next)) = without.into_iter().next() else { break };
        let free = next.quality().degrees_of_freedom.max(1) as f64;
        let scatter = (left / free).max(1.0);
        // 10.83 by chance in 0.1 %; the same between two of which either may be the wrong one.
        let gained = here.quality().chi_square - left > 10.83 * scatter;
        let alone = runner_up.is_none_or(|other| other - left > 10.83 * scatter);
        if !gained || !alone {
            break;
        }
        let off = off_mm(&out, at, &here, &next);
        left_out.push((out.name, off));
        kept = fewer;
        here = next;
    }
    Ok(LeftOut { fit: here, left_out })
}

/// How far reading `at` of the fit with it lies off what the others say: its own residual over the share of it that shows.
fn off_mm<F: Fitted>(out: &Reading, at: usize, with: &F, without: &F) -> f64 {
    let gained = (with.quality().chi_square - without.quality().chi_square).max(0.0);
    let residual = with.quality().residuals[at].residual_mm.abs();
    // The sum of squares falls by residual^2 / (sigma^2 share), and the error is residual / share.
    if residual > 0.0 { gained * out.sigma_mm * out.sigma_mm / residual } else { 0.0 }
}
