//! Shapes: files read, sizes judged, unions put together.

use std::path::Path;

use nalgebra::Point3;

use super::hoses::hose_shape;
use crate::scene::decode::{PathIn, WrittenShape, cloud_of};
use crate::scene::error::{Fault, Faults};
use crate::scene::load::Met;
use crate::scene::read::Place;
use crate::solid::{Compound, Mesh, MeshKind, Shape, read_mesh, read_points};
use crate::space::Pose;

/// The greatest mesh or cloud file that is read, bytes.
const LARGEST_FILE: u64 = 2 * 1024 * 1024 * 1024;

/// The solid that a shape is, and where its frame stands in the one that `at` and `turn` place.
pub(super) fn shape(
    written: &WrittenShape,
    place: &Place,
    faults: &Faults,
    met: &Met<'_>,
) -> Option<(Shape, Pose)> {
    let (shape, pose) = unjudged(written, faults, met)?;
    match shape.validate() {
        Ok(()) => Some((shape, pose)),
        Err(cause) => {
            faults.add(place.clone(), Fault::Shape { cause });
            None
        }
    }
}

fn unjudged(written: &WrittenShape, faults: &Faults, met: &Met<'_>) -> Option<(Shape, Pose)> {
    match written {
        WrittenShape::Ready(shape, pose) => Some((shape.clone(), *pose)),
        WrittenShape::Mesh { file, open_thickness_mm, solid_side } => {
            let read = mesh(file, faults, met)?;
            let kind = match open_thickness_mm {
                Some(thickness_mm) => MeshKind::Open { thickness_mm: *thickness_mm },
                None => MeshKind::Closed,
            };
            let mesh = Mesh::new(read.vertices, read.triangles, kind);
            let sided = match solid_side {
                Some(side) => mesh.with_solid_side(side),
                None => Ok(mesh),
            };
            let mesh = match sided {
                Ok(mesh) => mesh,
                Err(cause) => {
                    faults.add(file.path.place.clone(), Fault::Shape { cause });
                    return None;
                }
            };
            Some((Shape::Mesh(mesh), Pose::identity()))
        }
        WrittenShape::Cloud { file, radius_mm } => {
            let points = points(file, faults, met)?;
            Some((cloud_of(points, *radius_mm), Pose::identity()))
        }
        WrittenShape::Hose(written) => match written.hose.relaxed() {
            Ok(relaxed) => Some((hose_shape(&relaxed), Pose::identity())),
            Err(cause) => {
                faults.add(written.place.clone(), Fault::Hose { cause });
                None
            }
        },
        WrittenShape::Union(parts) => {
            let made = parts.iter().map(|(written, pose, place)| {
                let (shape, placed_from_part) = shape(written, place, faults, met)?;
                Some((super::poses::local(pose, &Pose::identity()) * placed_from_part, shape))
            });
            let made: Vec<Option<(Pose, Shape)>> = made.collect();
            let parts = made.into_iter().collect::<Option<Vec<_>>>()?;
            Some((Shape::Compound(Compound { parts }), Pose::identity()))
        }
    }
}

fn open(file: &PathIn, faults: &Faults, met: &Met<'_>) -> Option<std::path::PathBuf> {
    let named = &file.path;
    match met.folder.find(named.place.source.name(), &named.text) {
        Ok(inside) => {
            met.note(&inside.relative);
            match inside.full.metadata() {
                Ok(about) if about.len() > LARGEST_FILE => {
                    let fault = Fault::TooMuch { what: "bytes in one file", limit: LARGEST_FILE };
                    faults.add(named.place.clone(), fault);
                    None
                }
                _ => Some(inside.full),
            }
        }
        Err(fault) => {
            faults.add(named.place.clone(), fault);
            None
        }
    }
}

fn mesh(file: &PathIn, faults: &Faults, met: &Met<'_>) -> Option<Mesh> {
    let full = open(file, faults, met)?;
    told(read_mesh(&full, file.unit), file, &full, faults)
}

/// The points of a file, mm.
pub(super) fn points(file: &PathIn, faults: &Faults, met: &Met<'_>) -> Option<Vec<Point3<f64>>> {
    let full = open(file, faults, met)?;
    told(read_points(&full, file.unit), file, &full, faults)
}

fn told<T, E: std::fmt::Display>(
    read: Result<T, E>,
    file: &PathIn,
    full: &Path,
    faults: &Faults,
) -> Option<T> {
    match read {
        Ok(value) => Some(value),
        Err(error) => {
            // The reader knows the file by its path on this machine; the scene by its own.
            let why = error.to_string().replace(&*full.to_string_lossy(), "");
            let why = why.trim_start_matches([',', ':', ' ']).to_owned();
            faults.add(file.path.place.clone(), Fault::BadFile { path: file.path.text.clone(), why });
            None
        }
    }
}
