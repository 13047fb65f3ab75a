//! Bodies from marks: the one place that knows how a fitted feature becomes a solid.

use nalgebra::{DMatrix, Matrix6, Point3};

use super::feature::{Feature, feature};
use super::names::Names;
use super::poses::Placed;
use super::shapes;
use super::surveys::Aligned;
use crate::scene::decode::{FitKind, Named, WrittenFit, cloud_of};
use crate::scene::error::{Fault, Faults};
use crate::scene::load::Met;
use crate::scene::{FitEvidence, Share};
use crate::solid::Shape;
use crate::space::Pose;
use crate::survey::fit::{ProbeSide, ReadingResidual, Scaling};
use crate::survey::{
    FitOptions, FitPlacement, LeftOut, Reading, SharedMoves, Tip, fit_leaving_out, with_growth,
};

/// A body made from marks.
pub(super) struct Fitted {
    /// Its shape.
    pub shape: Shape,
    /// Where it stands; the carrier is set by whoever carries it.
    pub placed: Placed,
    /// Standard uncertainty of its surface, mm.
    pub surface_mm: f64,
    /// Its form alone, when its radius errs along with its place.
    pub form_mm: Option<f64>,
    /// What is known of the fit; `None` for a cloud, where nothing is fitted.
    pub evidence: Option<FitEvidence>,
}

/// Makes the body that a fit describes.
pub(super) fn fitted(
    name: &str,
    written: &WrittenFit,
    surveys: &[Option<Aligned<'_>>],
    survey_names: &Names<'_>,
    faults: &Faults,
    met: &Met<'_>,
) -> Option<Fitted> {
    let survey = surveys[survey_names.find(&written.survey)?].as_ref()?;
    if let Some(FitKind::Cloud { radius_mm }) = &written.kind {
        return cloud(written, survey, *radius_mm, faults, met);
    }
    let names = survey.mark_names(faults);
    let indices: Vec<Option<usize>> = written.marks.iter().map(|mark| names.find(mark)).collect();
    let mut indices: Vec<usize> = indices.into_iter().collect::<Option<_>>()?;
    let kind = written.kind.as_ref()?;
    let readings: Vec<Reading> =
        indices.iter().map(|at| Reading::of_mark(&survey.table.marks[*at])).collect();
    let joint = own_covariance(written, survey);
    let options = FitOptions {
        tip: tip(written, survey),
        known_radius_mm: written.known_radius_mm,
        reading_covariance: None,
        toward: None,
    };
    let of_these = |readings: &[Reading]| {
        let reading_covariance = joint.as_ref().map(|joint| part_of(joint, &written.marks, readings));
        feature(kind, readings, FitOptions { reading_covariance, ..options.clone() })
    };
    let made = if written.leave_out {
        fit_leaving_out(&readings, of_these)
    } else {
        of_these(&readings).map(|fit| LeftOut { fit, left_out: Vec::new() })
    };
    let LeftOut { fit: feature, left_out } = match made {
        Ok(made) => made,
        Err(error) => {
            faults.add(written.place.clone(), Fault::Reading { what: "this fit", why: error.to_string() });
            return None;
        }
    };
    let kept = |at: &usize| !left_out.iter().any(|(name, _)| *name == survey.table.marks[*at].name);
    indices.retain(kept);
    let joint = joint.map(|joint| {
        let kept: Vec<Reading> = readings
            .iter()
            .zip(&written.marks)
            .filter(|(_, mark)| !left_out.iter().any(|(name, _)| *name == mark.text))
            .map(|(reading, _)| reading.clone())
            .collect();
        part_of(&joint, &written.marks, &kept)
    });
    let placement = &feature.placement;
    let (covariance, shares) = shared(name, written, survey, &indices, placement, &joint);
    let residuals =
        feature.quality.residuals.iter().map(|residual| (residual.name.clone(), residual.residual_mm));
    Some(Fitted {
        evidence: Some(FitEvidence {
            kind: kind.word().to_owned(),
            survey: written.survey.text.clone(),
            residuals: residuals.collect(),
            rms_mm: feature.quality.rms_mm,
            spare: feature.quality.spare,
            remarks: remarks(&feature, &left_out),
            left_out,
        }),
        placed: Placed {
            world_from_this: feature.world_from_body,
            world_from_on: Pose::identity(),
            carrier: 0,
            about: placement.about,
            covariance,
            source: Some(written.survey.text.clone()),
            shares,
        },
        surface_mm: placement.surface_mm,
        form_mm: placement.growth.as_ref().map(|growth| growth.form_mm),
        shape: feature.shape,
    })
}

/// How well a fitted body is placed, and what of that others may share: every error of the survey's readings, through its own marks
/// and through the datum's; and what is the body's alone, which only those that stand on it share.
fn shared(
    name: &str,
    written: &WrittenFit,
    survey: &Aligned<'_>,
    marks: &[usize],
    fit: &FitPlacement,
    joint: &Option<DMatrix<f64>>,
) -> (Matrix6<f64>, Vec<Share>) {
    let readings = survey.root().moves_of(fit, marks, &survey.own, survey.alignment.as_ref());
    // The fit's covariance less what came from its readings: what was known beforehand, what they leave open.
    let each = |at: usize| survey.own.marks[marks[at / 3]].sigma_mm;
    let response = with_growth(fit);
    let own = match joint {
        Some(joint) => &response * joint * response.transpose(),
        None => {
            let spread =
                DMatrix::from_fn(7, response.ncols(), |row, column| response[(row, column)] * each(column));
            &spread * spread.transpose()
        }
    };
    let mut whole = DMatrix::zeros(7, 7);
    whole.view_mut((0, 0), (6, 6)).copy_from(&fit.covariance);
    if let Some(growth) = &fit.growth {
        whole.view_mut((0, 6), (6, 1)).copy_from(&growth.with_moves);
        whole.view_mut((6, 0), (1, 6)).copy_from(&growth.with_moves.transpose());
        whole[(6, 6)] = growth.variance;
    }
    let rest = whole - own;
    let eigen = ((&rest + rest.transpose()) / 2.0).symmetric_eigen();
    let greatest = fit.covariance.symmetric_eigenvalues().max();
    let mut root = DMatrix::zeros(7, 7);
    for k in 0..7 {
        if eigen.eigenvalues[k] > 1e-9 * greatest {
            let column = eigen.eigenvectors.column(k) * eigen.eigenvalues[k].sqrt();
            root.set_column(k, &column);
        }
    }
    let alone = SharedMoves::from_columns(&root);
    let mut covariance = readings.covariance() + alone.covariance();
    if survey.alignment.is_none() && joint.is_none() {
        // Nothing is shared but by bodies of the same marks: the fit's own figure, to the last digit.
        covariance = fit.covariance;
    }
    let mut shares = vec![Share { source: format!("survey {}", written.survey.text), moves: readings }];
    if !alone.errors.is_empty() {
        shares.push(Share { source: format!("fit of {name}"), moves: alone });
    }
    (covariance, shares)
}

/// What a person should know of a fit's readings.
fn remarks(feature: &Feature, left_out: &[(String, f64)]) -> Vec<String> {
    let quality = &feature.quality;
    let mut said: Vec<String> = left_out
        .iter()
        .map(|(name, off)| {
            format!("mark {name} lies {off:.2} mm off what the others say and was left out: measure it again")
        })
        .collect();
    said.extend(feature.remarks.iter().cloned());
    said.extend(quality.suspect_words().iter().map(|words| format!("mark {words}: measure it again")));
    if let Scaling::ScaledUp { factor } = quality.scaling {
        let worst = quality.residuals.iter().max_by(|a, b| {
            let size = |residual: &ReadingResidual| residual.standardised.map_or(0.0, f64::abs);
            size(a).total_cmp(&size(b))
        });
        let which = match worst {
            Some(worst) if said.is_empty() => format!(
                "; one may be misread, {} first of all, but so few marks cannot tell which: take more",
                worst.name
            ),
            _ => String::new(),
        };
        said.push(format!(
            "its marks scatter {factor:.1} times as far as their sigma explains, so its uncertainty is scaled up by \
             as much{which}"
        ));
    }
    said
}

/// The joint covariance of some of the marks, three rows a reading.
fn part_of(joint: &DMatrix<f64>, marks: &[Named], readings: &[Reading]) -> DMatrix<f64> {
    let place = |at: usize| {
        let name = &readings[at / 3].name;
        3 * marks.iter().position(|mark| mark.text == *name).unwrap_or(0) + at % 3
    };
    let places: Vec<usize> = (0..3 * readings.len()).map(place).collect();
    DMatrix::from_fn(places.len(), places.len(), |i, j| joint[(places[i], places[j])])
}

fn tip(written: &WrittenFit, survey: &Aligned<'_>) -> Tip {
    if survey.tip_radius_mm == 0.0 {
        return Tip::Point;
    }
    let side = if written.from_inside { ProbeSide::Inside } else { ProbeSide::Outside };
    Tip::Ball { radius_mm: survey.tip_radius_mm, side }
}

/// What the readings share with each other, without the datum's part, turned into vehicle axes;
/// `None` when they are independent.
fn own_covariance(written: &WrittenFit, survey: &Aligned<'_>) -> Option<DMatrix<f64>> {
    survey.own.network.as_ref()?;
    let own = survey.own.covariance_of(written.marks.iter().map(|mark| mark.text.as_str()))?;
    let Some(alignment) = &survey.alignment else { return Some(own) };
    let turn = alignment.vehicle_from_survey.rotation.to_rotation_matrix();
    let mut whole = DMatrix::zeros(own.nrows(), own.ncols());
    for at in 0..written.marks.len() {
        whole.view_mut((3 * at, 3 * at), (3, 3)).copy_from(turn.matrix());
    }
    Some(&whole * own * whole.transpose())
}

fn cloud(
    written: &WrittenFit,
    survey: &Aligned<'_>,
    radius_mm: f64,
    faults: &Faults,
    met: &Met<'_>,
) -> Option<Fitted> {
    let Some(file) = &survey.scan else {
        let why = "this survey has no scan file; its `instrument` must be `scan` and its `file` a PLY, STL or OBJ file";
        faults.add(written.survey.place.clone(), Fault::Reading { what: "this cloud", why: why.into() });
        return None;
    };
    let mut points = shapes::points(file, faults, met)?;
    let vehicle_from_survey =
        survey.alignment.as_ref().map_or_else(Pose::identity, |made| made.vehicle_from_survey);
    for point in &mut points {
        *point = vehicle_from_survey * *point;
    }
    let shape = cloud_of(points, radius_mm);
    if let Err(cause) = shape.validate() {
        faults.add(written.place.clone(), Fault::Shape { cause });
        return None;
    }
    let about = survey.alignment.as_ref().map_or_else(Point3::origin, |alignment| alignment.about);
    let still = FitPlacement {
        about,
        covariance: Matrix6::zeros(),
        surface_mm: 0.0,
        response: DMatrix::zeros(6, 0),
        growth: None,
    };
    let readings = survey.root().moves_of(&still, &[], &survey.own, survey.alignment.as_ref());
    let covariance = readings.covariance();
    Some(Fitted {
        shape,
        placed: Placed {
            world_from_this: Pose::identity(),
            world_from_on: Pose::identity(),
            carrier: 0,
            about,
            covariance,
            source: Some(written.survey.text.clone()),
            shares: vec![Share { source: format!("survey {}", written.survey.text), moves: readings }],
        },
        // A point of a scan strays from the surface by the instrument's own scatter.
        surface_mm: survey.sigma_mm,
        form_mm: None,
        evidence: None,
    })
}
