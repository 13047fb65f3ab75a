//! Features as solids: the one place that knows which solid a fitted feature becomes.

use nalgebra::{Point3, Unit, UnitQuaternion, Vector3};

use super::outline::{convex_outline, grown};
use crate::scene::decode::{FitKind, z_onto};
use crate::solid::{Ball, Block, Compound, Cylinder, Frustum, Plate, Shape, TorusArc, Tube};
use crate::space::Pose;
use crate::survey::{
    BentTubeFit, BoxOptions, ConeFit, FitError, FitOptions, FitPlacement, FitQuality, Fitted, Reading,
    SlotFit, Tip, TorusFit, fit_bent_tube_with, fit_bolt_pattern_with, fit_box_with, fit_circle_with,
    fit_cone_with, fit_cylinder_with, fit_line_with, fit_plane_with, fit_point_with, fit_slot_with,
    fit_sphere_with, fit_torus_with,
};

/// A feature before the datum's share of the uncertainty is added.
pub(super) struct Feature {
    pub shape: Shape,
    pub world_from_body: Pose,
    pub placement: FitPlacement,
    pub quality: FitQuality,
    /// What a person should know besides the quality.
    pub remarks: Vec<String>,
}

impl Fitted for Feature {
    fn quality(&self) -> &FitQuality {
        &self.quality
    }
}

fn unsaid(what: &str, cure: &str) -> FitError {
    FitError::BadOption { what: what.to_owned(), cure: cure.to_owned() }
}

fn in_own_plane(feature: &str) -> FitError {
    FitError::BadOption {
        what: format!(
            "`along` lies within 10 deg of the {feature}'s own plane, so it does not tell which way"
        ),
        cure: "aim it out of that plane".to_owned(),
    }
}

/// Middle and length of what reaches over the readings along an axis.
fn middle(
    point: &Point3<f64>,
    along: &Unit<Vector3<f64>>,
    extent_mm: [f64; 2],
    margin_mm: f64,
) -> (Point3<f64>, f64) {
    let [least, greatest] = extent_mm;
    (point + along.into_inner() * ((least + greatest) / 2.0), greatest - least + 2.0 * margin_mm)
}

/// Fits the readings, all of one body.
pub(super) fn feature(
    kind: &FitKind,
    readings: &[Reading],
    options: FitOptions,
) -> Result<Feature, FitError> {
    let toward = |direction: &Vector3<f64>| Some(Unit::new_normalize(*direction));
    match kind {
        FitKind::Plane { thickness_mm, solid_side, margin_mm } => {
            let options = FitOptions { toward: toward(&-solid_side), ..options };
            let fit = fit_plane_with(readings, &options)?;
            // `toward` settles the sign only; a side that lies in the plane settles nothing.
            if fit.normal.dot(solid_side).abs() < 0.17 {
                return Err(unsaid(
                    "`solid_side` lies within 10 deg of the plane itself, so it does not tell which side",
                    "name the side on which the solid is",
                ));
            }
            let fit = fit.facing(&-solid_side);
            let into = -fit.normal.into_inner();
            let (x, y) = (fit.along.into_inner(), into.cross(&fit.along));
            let flat = readings.iter().map(|reading| {
                let offset = reading.point - fit.point;
                nalgebra::Point2::new(offset.dot(&x), offset.dot(&y))
            });
            let outline = grown(&convex_outline(flat.collect()), *margin_mm);
            Ok(Feature {
                shape: Shape::Plate(Plate { outline, holes: Vec::new(), thickness_mm: *thickness_mm }),
                world_from_body: frame(&fit.point, &x, &y, &into),
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Cylinder { length_mm, margin_mm, along } => {
            let options = FitOptions { toward: along.as_ref().and_then(toward), ..options };
            let fit = fit_cylinder_with(readings, &options)?;
            let [least, greatest] = fit.extent_mm;
            let length = length_mm.unwrap_or(greatest - least + 2.0 * margin_mm);
            if length < 0.1 {
                return Err(unsaid(
                    "the marks lie in one ring round the axis, so they give no length",
                    "add `length`",
                ));
            }
            let center = fit.point + fit.direction.into_inner() * ((least + greatest) / 2.0);
            Ok(Feature {
                shape: Shape::Cylinder(Cylinder { radius_mm: fit.radius_mm, length_mm: length }),
                world_from_body: Pose::from_parts(center.into(), z_onto(&fit.direction)),
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Sphere => {
            let fit = fit_sphere_with(readings, &options)?;
            Ok(Feature {
                shape: Shape::Ball(Ball { radius_mm: fit.radius_mm }),
                world_from_body: Pose::from_parts(fit.center.into(), UnitQuaternion::identity()),
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Circle { depth_mm, along } => {
            let options = FitOptions { toward: toward(along), ..options };
            let fit = fit_circle_with(readings, &options)?;
            if fit.normal.dot(along).abs() < 0.17 {
                return Err(in_own_plane("circle"));
            }
            let axis = if fit.normal.dot(along) < 0.0 { -fit.normal } else { fit.normal };
            let center = fit.center + axis.into_inner() * (depth_mm / 2.0);
            Ok(Feature {
                shape: Shape::Cylinder(Cylinder { radius_mm: fit.radius_mm, length_mm: *depth_mm }),
                world_from_body: Pose::from_parts(center.into(), z_onto(&axis)),
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Box { faces, size_mm } => {
            let options = BoxOptions {
                faces: faces.iter().map(|(mark, faces)| (mark.text.clone(), faces.clone())).collect(),
                known_size_mm: *size_mm,
                tip: options.tip,
            };
            let fit = fit_box_with(readings, &options)?;
            Ok(Feature {
                shape: Shape::Block(Block { size_mm: fit.size_mm }),
                world_from_body: fit.pose,
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Cone { margin_mm, along } => {
            let options = FitOptions { toward: along.as_ref().and_then(toward), ..options };
            cone(fit_cone_with(readings, &options)?, *margin_mm)
        }
        FitKind::Bend { margin_mm, axis } => {
            let options = FitOptions { toward: axis.as_ref().and_then(toward), ..options };
            Ok(bend(fit_torus_with(readings, &options)?, *margin_mm))
        }
        FitKind::Slot { depth_mm, along } => {
            let options = FitOptions { toward: toward(along), ..options };
            slot(fit_slot_with(readings, &options)?, *depth_mm, along)
        }
        FitKind::BoltPattern { holes, flange_mm, thickness_mm, along } => {
            let options = FitOptions { toward: toward(along), ..options };
            let fit = fit_bolt_pattern_with(readings, *holes, &options)?;
            let [x, y, z] = fit.axes;
            if z.dot(along) < 0.17 {
                return Err(in_own_plane("bolt pattern"));
            }
            if flange_mm / 2.0 < fit.radius_mm {
                return Err(FitError::BadOption {
                    what: format!(
                        "the holes lie on a circle of {:.1} mm, outside a flange of {flange_mm:.1} mm",
                        2.0 * fit.radius_mm
                    ),
                    cure: "give `flange` as the outside diameter, or look at the marks".to_owned(),
                });
            }
            Ok(Feature {
                shape: Shape::Cylinder(Cylinder { radius_mm: flange_mm / 2.0, length_mm: *thickness_mm }),
                world_from_body: frame(&(fit.center + z * (thickness_mm / 2.0)), &x, &y, &z),
                placement: fit.placement(),
                remarks: vec![],
                quality: fit.quality,
            })
        }
        FitKind::Line { diameter_mm, margin_mm, along } => {
            let options = FitOptions { toward: along.as_ref().and_then(toward), ..options };
            let fit = fit_line_with(readings, &options)?;
            let (center, length) = middle(&fit.point, &fit.direction, fit.extent_mm, *margin_mm);
            Ok(Feature {
                shape: Shape::Cylinder(Cylinder { radius_mm: diameter_mm / 2.0, length_mm: length }),
                world_from_body: Pose::from_parts(center.into(), z_onto(&fit.direction)),
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Edge { thickness_mm, depth_mm, into, into_sigma_rad, margin_mm } => {
            let off_mm = match options.tip {
                Tip::Point => 0.0,
                Tip::Ball { radius_mm, .. } => radius_mm,
            };
            let mut fit = fit_line_with(readings, &FitOptions { tip: Tip::Point, ..options })?;
            let z = fit.direction.into_inner();
            let across = into.normalize() - z * into.normalize().dot(&z);
            if across.norm() < 0.17 {
                return Err(unsaid(
                    "`into` lies within 10 deg of the edge itself",
                    "name the direction from the edge into the sheet",
                ));
            }
            let x = across.normalize();
            // The ball's centre stands off the edge, outside the sheet.
            fit.point += x * off_mm;
            let (center, length) = middle(&fit.point, &fit.direction, fit.extent_mm, *margin_mm);
            let mut placement = fit.placement();
            // Marks of an edge say nothing of the turn about it; `into` does.
            let turn = z * z.transpose() * into_sigma_rad.powi(2);
            let mut block = placement.covariance.fixed_view_mut::<3, 3>(3, 3);
            block += turn;
            Ok(Feature {
                shape: Shape::Block(Block { size_mm: Vector3::new(*depth_mm, *thickness_mm, length) }),
                world_from_body: frame(&(center + x * (depth_mm / 2.0)), &x, &z.cross(&x), &z),
                placement,
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Point { diameter_mm } => {
            let fit = fit_point_with(readings, &options)?;
            Ok(Feature {
                shape: Shape::Ball(Ball { radius_mm: diameter_mm / 2.0 }),
                world_from_body: Pose::from_parts(fit.point.into(), UnitQuaternion::identity()),
                placement: fit.placement(),
                quality: fit.quality,
                remarks: Vec::new(),
            })
        }
        FitKind::Tube { legs, bend_radii_mm, margin_mm } => {
            let of_leg = |marks: &Vec<String>| -> Vec<Reading> {
                readings.iter().filter(|reading| marks.contains(&reading.name)).cloned().collect()
            };
            let legs: Vec<Vec<Reading>> = legs.iter().map(of_leg).collect();
            tube(fit_bent_tube_with(&legs, &options)?, bend_radii_mm, *margin_mm)
        }
        FitKind::Cloud { .. } => Err(unsaid("a cloud is not fitted", "leave the fit out")),
    }
}

/// The pose whose axes are three unit vectors at right angles, right-handed.
fn frame(origin: &Point3<f64>, x: &Vector3<f64>, y: &Vector3<f64>, z: &Vector3<f64>) -> Pose {
    let turn = nalgebra::Rotation3::from_basis_unchecked(&[*x, *y, *z]);
    Pose::from_parts((*origin).into(), UnitQuaternion::from_rotation_matrix(&turn))
}

fn cone(fit: ConeFit, margin_mm: f64) -> Result<Feature, FitError> {
    let tan = fit.half_angle_rad.tan();
    let [least, greatest] = fit.extent_mm;
    // Towards the narrow end no farther than the tip.
    let low = (least - margin_mm).max(-fit.radius_mm / tan);
    let high = greatest + margin_mm;
    if high - low < 0.1 {
        return Err(unsaid(
            "the marks lie in one ring round the axis, so they give no length",
            "touch it at two places or more along it",
        ));
    }
    Ok(Feature {
        shape: Shape::Frustum(Frustum {
            bottom_radius_mm: fit.radius_at_mm(low).max(0.0),
            top_radius_mm: fit.radius_at_mm(high),
            length_mm: high - low,
        }),
        world_from_body: Pose::from_parts(
            (fit.point + fit.direction.into_inner() * ((low + high) / 2.0)).into(),
            z_onto(&fit.direction),
        ),
        placement: fit.placement(),
        quality: fit.quality,
        remarks: Vec::new(),
    })
}

fn bend(fit: TorusFit, margin_mm: f64) -> Feature {
    let [first, sweep] = fit.arc_rad;
    let margin_rad = margin_mm / fit.ring_radius_mm;
    let whole = std::f64::consts::TAU;
    let sweep_rad = (sweep + 2.0 * margin_rad).min(whole);
    let x = fit.spoke(first - margin_rad);
    let z = fit.axis.into_inner();
    Feature {
        world_from_body: frame(&fit.center, &x, &z.cross(&x), &z),
        placement: fit.placement(),
        shape: Shape::TorusArc(TorusArc {
            ring_radius_mm: fit.ring_radius_mm,
            tube_radius_mm: fit.radius_mm,
            sweep_rad,
        }),
        quality: fit.quality,
        remarks: Vec::new(),
    }
}

fn slot(fit: SlotFit, depth_mm: f64, along: &Vector3<f64>) -> Result<Feature, FitError> {
    let [x, y, z] = fit.axes;
    if z.dot(along) < 0.17 * along.norm() {
        return Err(in_own_plane("slot"));
    }
    let (half, radius_mm) = (fit.centers_apart_mm / 2.0, fit.width_mm / 2.0);
    let end = |at: f64| {
        (Pose::translation(at, 0.0, 0.0), Shape::Cylinder(Cylinder { radius_mm, length_mm: depth_mm }))
    };
    let size_mm = Vector3::new(fit.centers_apart_mm, fit.width_mm, depth_mm);
    Ok(Feature {
        shape: Shape::Compound(Compound {
            parts: vec![(Pose::identity(), Shape::Block(Block { size_mm })), end(-half), end(half)],
        }),
        world_from_body: frame(&(fit.center + z * (depth_mm / 2.0)), &x, &y, &z),
        placement: fit.placement(),
        quality: fit.quality,
        remarks: Vec::new(),
    })
}

fn tube(fit: BentTubeFit, bend_radii_mm: &[f64], margin_mm: f64) -> Result<Feature, FitError> {
    let mut corners = fit.corners.clone();
    let last = corners.len() - 1;
    for (end, inner) in [(0, 1), (last, last - 1)] {
        let out = (fit.corners[end] - fit.corners[inner]).normalize();
        corners[end] += out * margin_mm;
    }
    let shape = Shape::Tube(Tube {
        corners,
        bend_radii_mm: bend_radii_mm.to_vec(),
        radius_mm: fit.radius_mm,
        wall_mm: None,
    });
    if let Err(error) = shape.validate() {
        return Err(FitError::BadOption {
            what: format!("the fitted legs do not take these bends: {error}"),
            cure: "give the bender's radius at the centreline, or add `margin` to short ends".to_owned(),
        });
    }
    Ok(Feature {
        shape,
        world_from_body: Pose::identity(),
        placement: fit.placement(),
        quality: fit.quality,
        remarks: Vec::new(),
    })
}
