//! A stand against a vehicle: the same marks on both, and which of them the stand has in the wrong place.

use nalgebra::{Matrix3, Point3, Vector3};
use serde::Serialize;

use super::best_fit::{BestFit, MarkPair, align_best_fit};
use super::error::AlignError;
use crate::space::Pose;
use crate::survey::SurveyTable;
use crate::survey::uncertainty::chi_square_tail;

/// Chance below which a mark counts as moved.
const BEYOND_CHANCE: f64 = 0.001;

/// A mark of the stand against the same mark of a vehicle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarkOff {
    /// Name.
    pub name: String,
    /// Where the stand has it less where the vehicle has it, in the vehicle's axes, the stand laid on the vehicle by the
    /// other marks that agree, mm.
    pub off_mm: Vector3<f64>,
    /// Expanded uncertainty (k = 2) of each part, mm.
    pub expanded_mm: Vector3<f64>,
    /// Whether it is off beyond chance (0.1 %).
    pub moved: bool,
}

/// A stand laid on a vehicle.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StandAgainst {
    /// The rigid movement that carries the stand's axes to the vehicle's.
    pub vehicle_from_stand: Pose,
    /// Marks that both have, in the order of the stand.
    pub marks: Vec<MarkOff>,
    /// Marks that only the stand has.
    pub only_stand: Vec<String>,
    /// Marks that only the vehicle has.
    pub only_vehicle: Vec<String>,
    /// Root mean square of what the marks that agree are off by, mm.
    pub rms_mm: f64,
    /// Whether the marks left can tell which one moved; with three or four they cannot.
    pub tells_which: bool,
}

/// Lays a stand on a vehicle by the marks that both have; those that do not agree with the rest are left out, one by one, and
/// told as moved. At most a third is left out, and never so many that fewer than four remain.
///
/// # Errors
/// [`AlignError`]: fewer than three marks in common, marks nearly on one line, a mirrored survey.
pub fn compare_stand(stand: &SurveyTable, vehicle: &SurveyTable) -> Result<StandAgainst, AlignError> {
    let pairs: Vec<MarkPair> = stand
        .marks
        .iter()
        .filter_map(|mark| {
            let there = vehicle.mark(&mark.name)?;
            Some(MarkPair {
                name: mark.name.clone(),
                survey: mark.position,
                vehicle: there.position,
                // Two marks right by definition are still punched by hand.
                sigma_mm: mark.sigma_mm.hypot(there.sigma_mm).max(1e-3),
            })
        })
        .collect();
    let mut kept: Vec<usize> = (0..pairs.len()).collect();
    let chosen = |kept: &[usize]| -> Vec<MarkPair> { kept.iter().map(|k| pairs[*k].clone()).collect() };
    let mut fit = align_best_fit(&chosen(&kept))?;
    while kept.len() > 4 && pairs.len() - kept.len() < pairs.len() / 3 {
        let (chi_square, free) = scatter(&chosen(&kept), &fit);
        let without: Vec<(f64, usize, BestFit)> = kept
            .iter()
            .filter_map(|out| {
                let fewer: Vec<MarkPair> =
                    kept.iter().filter(|k| *k != out).map(|k| pairs[*k].clone()).collect();
                let next = align_best_fit(&fewer).ok()?;
                Some((scatter(&fewer, &next).0, *out, next))
            })
            .collect();
        let Some((left, out, next)) = without.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)) else { break };
        // What one mark's three coordinates add to the sum of squares.
        let alone = chi_square_tail(chi_square - left, 3.0) < BEYOND_CHANCE / kept.len() as f64;
        if !alone && chi_square_tail(chi_square, free) >= BEYOND_CHANCE {
            break;
        }
        kept.retain(|k| *k != out);
        fit = next;
    }
    let marks = (0..pairs.len()).map(|k| {
        let others: Vec<usize> = kept.iter().copied().filter(|other| *other != k).collect();
        // With three marks there are no others to go by: the fit of all says what it can.
        let by_others = (others.len() >= 3).then(|| align_best_fit(&chosen(&others)).ok()).flatten();
        let by = by_others.as_ref().unwrap_or(&fit);
        let pair = &pairs[k];
        let off_mm = by.alignment.vehicle_from_survey * pair.survey - pair.vehicle;
        let covariance = by.alignment.point_covariance(&pair.vehicle)
            + Matrix3::identity() * (pair.sigma_mm * pair.sigma_mm);
        let squared = covariance.try_inverse().map_or(0.0, |inverse| off_mm.dot(&(inverse * off_mm)));
        MarkOff {
            name: pair.name.clone(),
            off_mm,
            expanded_mm: covariance.diagonal().map(|v| 2.0 * v.max(0.0).sqrt()),
            moved: !kept.contains(&k) || by_others.is_some() && chi_square_tail(squared, 3.0) < BEYOND_CHANCE,
        }
    });
    let marks: Vec<MarkOff> = marks.collect();
    let only = |one: &SurveyTable, other: &SurveyTable| -> Vec<String> {
        one.marks.iter().filter(|m| other.mark(&m.name).is_none()).map(|m| m.name.clone()).collect()
    };
    Ok(StandAgainst {
        vehicle_from_stand: fit.alignment.vehicle_from_survey,
        marks,
        only_stand: only(stand, vehicle),
        only_vehicle: only(vehicle, stand),
        rms_mm: fit.rms_mm,
        tells_which: pairs.len() > 4,
    })
}

/// Sum of squares over sigma, and the degrees of freedom.
fn scatter(pairs: &[MarkPair], fit: &BestFit) -> (f64, f64) {
    let sum = pairs.iter().zip(&fit.residuals_mm).map(|(pair, (_, off))| (off / pair.sigma_mm).powi(2)).sum();
    (sum, 3.0 * pairs.len() as f64 - 6.0)
}

/// How far one mark strays from vehicle to vehicle, each laid on the stand.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MarkSpread {
    /// Name.
    pub name: String,
    /// Vehicles that have it.
    pub vehicles: usize,
    /// Mean place, in the stand's axes.
    pub mean: Point3<f64>,
    /// Standard deviation between vehicles, root mean square over the axes, mm: add it to the sigma of a body that hangs there.
    pub spread_mm: f64,
}

/// The spread of every mark that two vehicles or more have; `laid` holds each vehicle with how the stand was laid on it.
pub fn vehicle_spread(stand: &SurveyTable, laid: &[(&SurveyTable, &StandAgainst)]) -> Vec<MarkSpread> {
    let mut out = Vec::new();
    for mark in &stand.marks {
        let places: Vec<Point3<f64>> = laid
            .iter()
            .filter_map(|(table, against)| {
                Some(against.vehicle_from_stand.inverse() * table.mark(&mark.name)?.position)
            })
            .collect();
        if places.len() < 2 {
            continue;
        }
        let n = places.len() as f64;
        let mean = places.iter().fold(Vector3::zeros(), |sum, p| sum + p.coords) / n;
        let squares: f64 = places.iter().map(|p| (p.coords - mean).norm_squared()).sum();
        out.push(MarkSpread {
            name: mark.name.clone(),
            vehicles: places.len(),
            mean: Point3::from(mean),
            spread_mm: (squares / (n - 1.0) / 3.0).sqrt(),
        });
    }
    out
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use nalgebra::{Isometry3, Translation3, UnitQuaternion};

    use super::*;
    use crate::space::LengthUnit;
    use crate::survey::read_survey_csv;
    use crate::survey::test_noise::Noise;

    fn table(places: &[Point3<f64>], noise: &mut Noise, sigma: f64) -> SurveyTable {
        let mut text = "mark,x,y,z\n".to_owned();
        for (k, place) in places.iter().enumerate() {
            let p = place + noise.vector(sigma);
            text += &format!("J{},{},{},{}\n", k + 1, p.x, p.y, p.z);
        }
        read_survey_csv(&text, "marks.csv", LengthUnit::Millimetre, sigma.max(1e-3)).unwrap()
    }

    fn marks() -> Vec<Point3<f64>> {
        [
            [0.0, -500.0, 0.0],
            [20.0, 480.0, 30.0],
            [900.0, -450.0, 60.0],
            [950.0, 430.0, 0.0],
            [100.0, 0.0, 800.0],
            [1000.0, 60.0, 850.0],
            [500.0, -200.0, 400.0],
            [520.0, 260.0, 420.0],
        ]
        .map(Point3::from)
        .to_vec()
    }

    #[test]
    fn a_bent_jig_is_named_with_how_far_and_the_rest_agree() {
        let mut noise = Noise::new(9);
        let moved = Isometry3::from_parts(
            Translation3::new(140.0, -20.0, 35.0),
            UnitQuaternion::from_euler_angles(0.03, -0.02, 0.5),
        );
        let (mut right, mut alarms) = (0, 0);
        for _ in 0..200 {
            let truth = marks();
            let on_vehicle: Vec<Point3<f64>> = truth.iter().map(|p| moved * p).collect();
            let vehicle = table(&on_vehicle, &mut noise, 1.0);
            let sound = compare_stand(&table(&truth, &mut noise, 1.0), &vehicle).unwrap();
            alarms += usize::from(sound.marks.iter().any(|m| m.moved));
            let mut bent = truth;
            bent[5] += Vector3::new(0.0, 6.0, -9.0);
            let found = compare_stand(&table(&bent, &mut noise, 1.0), &vehicle).unwrap();
            let names: Vec<&str> = found.marks.iter().filter(|m| m.moved).map(|m| m.name.as_str()).collect();
            if names == ["J6"] {
                right += 1;
                // Told in the vehicle's axes, within four standard uncertainties.
                let want = moved * Vector3::new(0.0, 6.0, -9.0);
                let off = found.marks[5].off_mm - want;
                for axis in 0..3 {
                    assert!(off[axis].abs() < 2.0 * found.marks[5].expanded_mm[axis], "{off}");
                }
            }
        }
        assert!(right >= 190, "the bent jig alone was named in {right} of 200");
        assert!(alarms <= 6, "{alarms} of 200 sound stands raised an alarm");
    }

    #[test]
    fn exact_marks_are_off_by_nothing_and_missing_ones_are_told() {
        let mut noise = Noise::new(1);
        let mut stand = table(&marks(), &mut noise, 0.0);
        let vehicle = table(&marks()[..7], &mut noise, 0.0);
        stand.marks.remove(0);
        let found = compare_stand(&stand, &vehicle).unwrap();
        assert!(found.marks.iter().all(|m| !m.moved && m.off_mm.norm() < 1e-9));
        assert_eq!((found.only_stand, found.only_vehicle), (vec!["J8".to_owned()], vec!["J1".to_owned()]));
        stand.marks.truncate(2);
        assert!(matches!(
            compare_stand(&stand, &vehicle),
            Err(AlignError::TooFew { least: 3, given: 2, .. })
        ));
    }

    #[test]
    fn the_spread_between_vehicles_is_that_of_their_places() {
        let mut noise = Noise::new(4);
        let stand = table(&marks(), &mut noise, 0.0);
        let mut squares = 0.0;
        let runs = 60;
        for _ in 0..runs {
            let vehicles: Vec<SurveyTable> = (0..3).map(|_| table(&marks(), &mut noise, 2.0)).collect();
            let laid: Vec<StandAgainst> =
                vehicles.iter().map(|v| compare_stand(&stand, v).unwrap()).collect();
            let both: Vec<(&SurveyTable, &StandAgainst)> = vehicles.iter().zip(&laid).collect();
            let spread = vehicle_spread(&stand, &both);
            squares += spread.iter().map(|s| s.spread_mm.powi(2)).sum::<f64>() / 8.0;
        }
        // Six of 24 coordinates go into laying each vehicle on the stand: (1 - 6 / 24) of 2^2 is left.
        let mean = squares / f64::from(runs);
        assert!((mean - 3.0).abs() < 0.35, "{mean}");
    }
}
