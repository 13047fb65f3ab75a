//! Shapes.

use std::sync::Arc;

use nalgebra::{Point3, Rotation3, UnitQuaternion, Vector3};
use rhai::Dynamic;

use crate::script::book::{Call, Chapter, Entry, Prop, Style};
use crate::script::fault::Fault;
use crate::script::kind::Kind;
use crate::script::values::{BoundsValue, Form};
use crate::solid::{Ball, Block, Capsule, Compound, Cylinder, Frustum, Hull, Plate, Shape, TorusArc, Tube};
use crate::space::Pose;

type Answer = Result<Dynamic, Fault>;

/// The chapter.
pub(in crate::script) const CHAPTER: Chapter = Chapter {
    title: "Shapes",
    entries: &[
        Entry {
            name: "box",
            style: Style::Function,
            params: &[("x", Kind::Length), ("y", Kind::Length), ("z", Kind::Length)],
            optional: 0,
            returns: "a shape",
            says: "a box about the origin, its edges along the axes",
            run: |call| {
                let size_mm = Vector3::new(call.length(0)?, call.length(1)?, call.length(2)?);
                made(call, Shape::Block(Block { size_mm }))
            },
        },
        Entry {
            name: "ball",
            style: Style::Function,
            params: &[("diameter", Kind::Length)],
            optional: 0,
            returns: "a shape",
            says: "a ball about the origin",
            run: |call| made(call, Shape::Ball(Ball { radius_mm: call.length(0)? / 2.0 })),
        },
        Entry {
            name: "cylinder",
            style: Style::Function,
            params: &[("diameter", Kind::Length), ("length", Kind::Length)],
            optional: 0,
            returns: "a shape",
            says: "a round bar with flat ends along z, about the origin",
            run: |call| {
                made(
                    call,
                    Shape::Cylinder(Cylinder {
                        radius_mm: call.length(0)? / 2.0,
                        length_mm: call.length(1)?,
                    }),
                )
            },
        },
        Entry {
            name: "rod",
            style: Style::Function,
            params: &[("diameter", Kind::Length), ("from", Kind::Point), ("to", Kind::Point)],
            optional: 0,
            returns: "a shape",
            says: "a round bar with flat ends from one point to another",
            run: rod,
        },
        Entry {
            name: "capsule",
            style: Style::Function,
            params: &[("diameter", Kind::Length), ("length", Kind::Length)],
            optional: 0,
            returns: "a shape",
            says: "a round bar with round ends along z, about the origin; `length` is over all",
            run: |call| {
                let (diameter, length) = (call.length(0)?, call.length(1)?);
                if length < diameter {
                    return Err(call.refuse(
                        1,
                        "`capsule` is shorter than it is thick",
                        "its length counts both round ends; at least the diameter",
                    ));
                }
                made(call, Shape::Capsule(Capsule { radius_mm: diameter / 2.0, core_mm: length - diameter }))
            },
        },
        Entry {
            name: "cone",
            style: Style::Function,
            params: &[
                ("bottom_diameter", Kind::Length),
                ("top_diameter", Kind::Length),
                ("length", Kind::Length),
            ],
            optional: 0,
            returns: "a shape",
            says: "a round bar that narrows along z, about the origin",
            run: |call| {
                made(
                    call,
                    Shape::Frustum(Frustum {
                        bottom_radius_mm: call.length(0)? / 2.0,
                        top_radius_mm: call.length(1)? / 2.0,
                        length_mm: call.length(2)?,
                    }),
                )
            },
        },
        Entry {
            name: "bend",
            style: Style::Function,
            params: &[("diameter", Kind::Length), ("bend_radius", Kind::Length), ("by", Kind::Angle)],
            optional: 0,
            returns: "a shape",
            says: "a bent round bar: its middle line runs about z from the x axis on, `bend_radius` away",
            run: |call| {
                made(
                    call,
                    Shape::TorusArc(TorusArc {
                        tube_radius_mm: call.length(0)? / 2.0,
                        ring_radius_mm: call.length(1)?,
                        sweep_rad: call.angle(2)?,
                    }),
                )
            },
        },
        Entry {
            name: "plate",
            style: Style::Function,
            params: &[("outline", Kind::Outline), ("thickness", Kind::Length), ("holes", Kind::Outlines)],
            optional: 1,
            returns: "a shape",
            says: "a flat plate: the outline in x and y, from z = 0 up to the thickness",
            run: |call| {
                let holes = if call.given(2) { call.outlines(2)? } else { Vec::new() };
                let (outline, thickness_mm) = (call.outline(0)?, call.length(1)?);
                made(call, Shape::Plate(Plate { outline, holes, thickness_mm }))
            },
        },
        Entry {
            name: "tube",
            style: Style::Function,
            params: &[
                ("diameter", Kind::Length),
                ("points", Kind::Points),
                ("bend_radius", Kind::Length),
                ("wall", Kind::Length),
            ],
            optional: 1,
            returns: "a shape",
            says: "a round tube: its middle line through ends and theoretical corners, each bent to the radius",
            run: tube,
        },
        Entry {
            name: "hull",
            style: Style::Function,
            params: &[("points", Kind::Points)],
            optional: 0,
            returns: "a shape",
            says: "the least solid without hollows about the points",
            run: |call| made(call, Shape::Hull(Hull::new(call.points(0)?))),
        },
        Entry {
            name: "union",
            style: Style::Function,
            params: &[("shapes", Kind::Shapes)],
            optional: 0,
            returns: "a shape",
            says: "all of them as one",
            run: |call| {
                let shapes = call.shapes(0)?;
                if shapes.is_empty() {
                    return Err(call.refuse(
                        0,
                        "`union` is given no shapes",
                        "name at least one: `union([ball(20)])`",
                    ));
                }
                let total: usize = shapes.iter().map(|form| parts(&form.shape)).sum();
                call.desk.borrow_mut().spend_parts(total)?;
                let parts = shapes.iter().flat_map(|form| standing(&form.shape, &Pose::identity())).collect();
                Ok(Dynamic::from(Form { shape: Arc::new(Shape::Compound(Compound { parts })) }))
            },
        },
        Entry {
            name: "put",
            style: Style::Method,
            params: &[("shape", Kind::Shape), ("where", Kind::Where)],
            optional: 0,
            returns: "a shape",
            says: "the shape standing there: for the parts of a union",
            run: |call| {
                let (form, stand) = (call.shape(0)?, call.place(1)?);
                call.desk.borrow_mut().spend_parts(parts(&form.shape))?;
                let parts = standing(&form.shape, &stand.world_from_it);
                Ok(Dynamic::from(Form { shape: Arc::new(Shape::Compound(Compound { parts })) }))
            },
        },
    ],
};

/// Properties of a shape.
pub(in crate::script) const SHAPE: &[Prop<Form>] = &[
    Prop {
        name: "bounds",
        returns: "bounds",
        says: "in the shape's own axes",
        get: |_, form| Ok(Dynamic::from(BoundsValue { bounds: form.shape.bounds() })),
    },
    Prop {
        name: "litres",
        returns: "a number",
        says: "its volume in litres; where parts of a union overlap, counted twice",
        get: |_, form| Ok((form.shape.volume_mm3() / 1e6).into()),
    },
];

/// How much of the shape budget a shape takes: about the numbers that it consists of.
fn parts(shape: &Shape) -> usize {
    match shape {
        Shape::Plate(plate) => 1 + plate.outline.len() + plate.holes.iter().map(Vec::len).sum::<usize>(),
        Shape::Tube(tube) => 1 + tube.corners.len(),
        Shape::Hull(hull) => 1 + hull.points.len(),
        Shape::Mesh(mesh) => 1 + mesh.vertices.len() + mesh.triangles.len(),
        Shape::Cloud(cloud) => 1 + cloud.points.len(),
        Shape::Compound(compound) => compound.parts.iter().map(|(_, part)| parts(part)).sum(),
        _ => 1,
    }
}

/// The parts of a shape put somewhere. Unions never hold unions, so that nothing can nest deep.
fn standing(shape: &Shape, there_from_shape: &Pose) -> Vec<(Pose, Shape)> {
    match shape {
        Shape::Compound(compound) => compound
            .parts
            .iter()
            .flat_map(|(pose, part)| standing(part, &(there_from_shape * pose)))
            .collect(),
        simple => vec![(*there_from_shape, simple.clone())],
    }
}

/// Checks a shape and hands it over.
fn made(call: &Call, shape: Shape) -> Answer {
    call.desk.borrow_mut().spend_parts(parts(&shape))?;
    if let Err(error) = shape.validate() {
        let message = format!("`{}` cannot be made: {error}", call.entry.name);
        return Err(Fault::new("script::shape", message, format!("write `{}`", call.entry.signature())));
    }
    Ok(Dynamic::from(Form { shape: Arc::new(shape) }))
}

fn rod(call: &Call) -> Answer {
    let (from, to) = (call.point(1)?, call.point(2)?);
    let along = to - from;
    let length_mm = along.norm();
    if length_mm < 1e-6 {
        return Err(call.refuse(2, "`rod` starts and ends at one point", "its ends must differ"));
    }
    let bar = Shape::Cylinder(Cylinder { radius_mm: call.length(0)? / 2.0, length_mm });
    if let Err(error) = bar.validate() {
        let message = format!("`rod` cannot be made: {error}");
        return Err(Fault::new("script::shape", message, format!("write `{}`", call.entry.signature())));
    }
    call.desk.borrow_mut().spend_parts(1)?;
    // Straight down there is no least turn: a round bar does not care which way it goes about.
    let turn = Rotation3::rotation_between(&Vector3::z(), &along)
        .unwrap_or_else(|| Rotation3::from_axis_angle(&Vector3::x_axis(), std::f64::consts::PI));
    let middle: Point3<f64> = nalgebra::center(&from, &to);
    let pose = Pose::from_parts(middle.into(), UnitQuaternion::from_rotation_matrix(&turn));
    Ok(Dynamic::from(Form { shape: Arc::new(Shape::Compound(Compound { parts: vec![(pose, bar)] })) }))
}

fn tube(call: &Call) -> Answer {
    let corners = call.points(1)?;
    if corners.len() < 2 {
        return Err(call.refuse(
            1,
            format!("`tube` has {} point{}", corners.len(), if corners.len() == 1 { "" } else { "s" }),
            "give its two ends at least, and the corners between them",
        ));
    }
    let bend_radii_mm = vec![call.length(2)?; corners.len() - 2];
    let wall_mm = if call.given(3) { Some(call.length(3)?) } else { None };
    made(call, Shape::Tube(Tube { corners, bend_radii_mm, radius_mm: call.length(0)? / 2.0, wall_mm }))
}
