//! A pipe as pieces: the scene with the pieces in its place.

use std::sync::Arc;

use nalgebra::{Point3, Unit, Vector3};

use crate::clearance::{IndexedShape, gap};
use crate::scene::{Body, Joined, Scene, Span};
use crate::solid::{Compound, Cylinder, Shape, Tube};
use crate::space::Pose;
use crate::tube::{BendList, CornerLine, JointKind, JointSize, SplitPlace, TubeError, joint_size};

use super::clamp::world_from_joint;
use super::error::AssemblyError;

/// Ends that a split makes are drawn back by this, mm: what the joint draws together is not looked at.
pub(super) const BACK_MM: f64 = 0.5;

/// The tube of a body, and its line in the body's frame.
pub(super) fn tube_of(body: &Body) -> Result<(Tube, BendList), AssemblyError> {
    let Shape::Tube(tube) = &*body.shape else {
        return Err(AssemblyError::NoTube { body: body.name.clone() });
    };
    let list = CornerLine::of_tube(tube).bend_list()?;
    Ok((tube.clone(), list))
}

/// Names of the pieces of a body.
pub(super) fn piece_name(body: &str, at: usize) -> String {
    format!("{body}/{}", at + 1)
}

/// The solid of a piece: its tube, and half of the joint at each end that a split made.
fn piece_shape(
    tube: &Tube,
    list: &BendList,
    split_start: bool,
    split_end: bool,
    size: &JointSize,
) -> Result<Shape, TubeError> {
    let corners = list.corners()?;
    let bare = corners.tube(tube.radius_mm, tube.wall_mm);
    let half_mm = (size.length_mm / 2.0 - BACK_MM).max(0.5);
    let half = |at: Point3<f64>, inward: Vector3<f64>| {
        let middle = at + inward * (half_mm / 2.0);
        let pose = world_from_joint(&middle, &Unit::new_normalize(inward));
        (pose, Shape::Cylinder(Cylinder { radius_mm: size.joint_mm / 2.0, length_mm: half_mm }))
    };
    let mut parts = vec![(Pose::identity(), Shape::Tube(bare))];
    let at = |pose: &Pose| Point3::from(pose.translation.vector);
    if split_start {
        parts.push(half(at(&list.start), list.start * Vector3::x()));
    }
    if split_end {
        let end = list.end();
        parts.push(half(at(&end), -(end * Vector3::x())));
    }
    Ok(Shape::Compound(Compound { parts }))
}

/// The scene with a pipe in pieces, as [`super::find_breaks`] makes them, broken at places given by straight (from 0) and length
/// along the pipe (mm), in order along it.
///
/// # Errors
/// A name that is no body, a body that is no tube, places that are not on it.
pub fn broken_scene(
    scene: &Scene,
    body: &str,
    joint: JointKind,
    places: &[(usize, f64)],
) -> Result<Scene, AssemblyError> {
    let body = scene.body(body).ok_or_else(|| AssemblyError::NoBody { body: body.to_owned() })?;
    let (tube, list) = tube_of(body)?;
    let size = joint_size(joint, 2.0 * tube.radius_mm);
    let mut last = (0, 0.0);
    let mut split = Vec::with_capacity(places.len());
    for &(straight, along_mm) in places {
        let out = || AssemblyError::NoPlace {
            body: body.name.clone(),
            straight: straight.saturating_add(1),
            along_mm,
        };
        if straight > list.bends.len()
            || straight < last.0
            || !(along_mm > last.1 && along_mm < list.length_mm())
        {
            return Err(out());
        }
        last = (straight, along_mm);
        // Splitting asks for straight and length only.
        split.push(SplitPlace { straight, along_mm, at: Point3::origin(), axis: Vector3::x_axis() });
    }
    let lists = list.split_at(&split, BACK_MM)?;
    Ok(in_pieces(scene, body, &tube, &lists, &size)?.0)
}

/// The scene with a pipe's pieces in its place, named `pipe/1`, `pipe/2` from its start; what the pipe was joined to is
/// joined to the piece that is nearest.
pub(super) fn in_pieces(
    scene: &Scene,
    body: &Body,
    tube: &Tube,
    lists: &[BendList],
    size: &JointSize,
) -> Result<(Scene, Vec<String>), AssemblyError> {
    let count = lists.len();
    let mut pieces = Vec::with_capacity(count);
    for (at, list) in lists.iter().enumerate() {
        let shape = piece_shape(tube, list, at > 0, at + 1 < count, size)?;
        // A piece weighs its share; where the whole was to be lifted is no point of a piece.
        let share = shape.volume_mm3() / body.shape.volume_mm3();
        let mass_kg = body.mass_kg.map(|kg| kg * share.min(1.0));
        let name = piece_name(&body.name, at);
        pieces.push(Body { name, shape: Arc::new(shape), mass_kg, hoist: None, ..body.clone() });
    }
    let names: Vec<String> = pieces.iter().map(|piece| piece.name.clone()).collect();
    let mut split = scene.clone();
    let trees: Vec<IndexedShape> =
        pieces.iter().map(|piece| IndexedShape::new(piece.shape.clone())).collect();
    for joined in &mut split.joined {
        let mate = match (joined.one == body.name, joined.other == body.name) {
            (true, _) => joined.other.clone(),
            (_, true) => joined.one.clone(),
            _ => continue,
        };
        let Some(mate) = scene.body(&mate) else { continue };
        let mate_tree = IndexedShape::new(mate.shape.clone());
        let relative = mate.world_from_body.inv_mul(&body.world_from_body);
        let nearest = (0..count).min_by(|a, b| {
            let off = |at: usize| gap(&mate_tree, &trees[at], &relative).gap.mm();
            off(*a).total_cmp(&off(*b))
        });
        let own = names[nearest.unwrap_or(0)].clone();
        if joined.one == body.name { joined.one = own } else { joined.other = own }
    }
    for pair in names.windows(2) {
        split.joined.push(Joined {
            one: pair[0].clone(),
            other: pair[1].clone(),
            by: size.kind.word().to_owned(),
            joint: Some(size.kind),
            span: Span::default(),
        });
    }
    let at = split.bodies.iter().position(|one| one.name == body.name).unwrap_or(split.bodies.len());
    split.bodies.retain(|one| one.name != body.name);
    split.bodies.splice(at..at, pieces);
    Ok((split, names))
}
