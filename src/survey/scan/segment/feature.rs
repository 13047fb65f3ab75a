//! A feature that was found: its fit, and the evidence.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::survey::{
    CylinderFit, FitError, FitOptions, FitPlacement, PlaneFit, Reading, SphereFit, fit_cylinder_with,
    fit_plane_with, fit_sphere_with,
};

use super::super::PointCloud;
use super::surface::Surface;

/// Points that are fitted, evenly chosen. Errors of a scan's neighbouring points are alike: more points would promise a
/// certainty that they do not give.
const FITTED: usize = 400;

/// What was fitted. Residuals are those of the points chosen for the fit.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FeatureShape {
    /// A plane; its normal is on the side to which its points' normals face.
    Plane(PlaneFit),
    /// A cylinder.
    Cylinder(CylinderFit),
    /// A sphere.
    Sphere(SphereFit),
}

/// A feature of a scan.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScanFeature {
    /// What was fitted, to a few hundred of the points.
    pub shape: FeatureShape,
    /// Numbers of all its points, in order.
    #[serde(skip)]
    pub points: Vec<u32>,
    /// Root mean square distance of all its points, mm.
    pub rms_mm: f64,
    /// What its points enclose in its own frame, mm: along, across (plane: [`PlaneFit::frame`]), or along the axis from the
    /// fit's point (cylinder); least and greatest of each. Empty for a sphere.
    pub extent_mm: Vec<[f64; 2]>,
    /// How much of its round a cylinder's points cover, rad.
    pub round_rad: Option<f64>,
}

impl FeatureShape {
    pub(super) fn surface(&self) -> Surface {
        match self {
            FeatureShape::Plane(fit) => Surface::Plane { point: fit.point, normal: fit.normal },
            FeatureShape::Cylinder(fit) => {
                Surface::Cylinder { point: fit.point, direction: fit.direction, radius_mm: fit.radius_mm }
            }
            FeatureShape::Sphere(fit) => Surface::Sphere { center: fit.center, radius_mm: fit.radius_mm },
        }
    }

    /// `plane`, `cylinder` or `sphere`.
    pub fn word(&self) -> &'static str {
        match self {
            FeatureShape::Plane(_) => "plane",
            FeatureShape::Cylinder(_) => "cylinder",
            FeatureShape::Sphere(_) => "sphere",
        }
    }

    /// How well a body made from it is placed.
    pub fn placement(&self) -> FitPlacement {
        match self {
            FeatureShape::Plane(fit) => fit.placement(),
            FeatureShape::Cylinder(fit) => fit.placement(),
            FeatureShape::Sphere(fit) => fit.placement(),
        }
    }
}

/// Fits a surface's kind to its points, from where they are found to lie.
pub(super) fn fitted(
    cloud: &PointCloud,
    surface: &Surface,
    indices: &[u32],
) -> Result<FeatureShape, FitError> {
    let every = indices.len().div_ceil(FITTED).max(1);
    let chosen: Vec<u32> = indices.iter().copied().step_by(every).collect();
    let sigma_mm = scatter_mm(cloud, surface, &chosen);
    let readings: Vec<Reading> = chosen
        .iter()
        .map(|&index| Reading::new(format!("point {index}"), cloud.points[index as usize], sigma_mm))
        .collect();
    let mut options = FitOptions::default();
    match surface {
        Surface::Plane { normal, .. } => {
            let facing: Vector3<f64> = indices.iter().map(|&index| cloud.normals[index as usize]).sum();
            options.toward = Some(if normal.dot(&facing) < 0.0 { -*normal } else { *normal });
            fit_plane_with(&readings, &options).map(FeatureShape::Plane)
        }
        Surface::Cylinder { direction, .. } => {
            options.toward = Some(if direction[direction.iamax()] < 0.0 { -*direction } else { *direction });
            fit_cylinder_with(&readings, &options).map(FeatureShape::Cylinder)
        }
        Surface::Sphere { .. } => fit_sphere_with(&readings, &options).map(FeatureShape::Sphere),
    }
}

/// Standard deviation of the distances, from their median, mm; above zero.
fn scatter_mm(cloud: &PointCloud, surface: &Surface, indices: &[u32]) -> f64 {
    let mut off: Vec<f64> =
        indices.iter().map(|&index| surface.distance_mm(&cloud.points[index as usize]).abs()).collect();
    if off.is_empty() {
        return 1.0;
    }
    let middle = off.len() / 2;
    // 1.4826 is 1 over the 75th percentile of a normal distribution.
    (1.4826 * *off.select_nth_unstable_by(middle, f64::total_cmp).1).max(1e-6)
}

/// The feature with what its points enclose.
pub(super) fn described(cloud: &PointCloud, shape: FeatureShape, points: Vec<u32>) -> ScanFeature {
    let surface = shape.surface();
    let places = || points.iter().map(|&index| cloud.points[index as usize]);
    let sum: f64 = places().map(|at| surface.distance_mm(&at).powi(2)).sum();
    let rms_mm = (sum / points.len().max(1) as f64).sqrt();
    let range = |along: &dyn Fn(&Point3<f64>) -> f64| {
        places().fold([f64::INFINITY, f64::NEG_INFINITY], |[least, most], at| {
            let here = along(&at);
            [least.min(here), most.max(here)]
        })
    };
    let (extent_mm, round_rad) = match &shape {
        FeatureShape::Plane(fit) => {
            let along = range(&|at| (at - fit.point).dot(&fit.along));
            let across = range(&|at| (at - fit.point).dot(&fit.across));
            (vec![along, across], None)
        }
        FeatureShape::Cylinder(fit) => {
            let [u, v] = fit.square;
            let round = round_rad(places().map(|at| {
                let q = at - fit.point;
                q.dot(&v).atan2(q.dot(&u))
            }));
            (vec![range(&|at| (at - fit.point).dot(&fit.direction))], Some(round))
        }
        FeatureShape::Sphere(_) => (Vec::new(), None),
    };
    ScanFeature { shape, points, rms_mm, extent_mm, round_rad }
}

/// How much of the round has points, in steps of 5 degrees.
fn round_rad(angles: impl Iterator<Item = f64>) -> f64 {
    const STEPS: usize = 72;
    let mut seen = [false; STEPS];
    for angle in angles {
        let step = (angle / std::f64::consts::TAU + 0.5) * STEPS as f64;
        seen[(step as usize).min(STEPS - 1)] = true;
    }
    seen.iter().filter(|seen| **seen).count() as f64 / STEPS as f64 * std::f64::consts::TAU
}
