//! Poses: where things stand.

use nalgebra::{Isometry3, Point3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};
use rhai::Dynamic;

use crate::script::book::{Call, Chapter, Entry, Prop, Style};
use crate::script::fault::Fault;
use crate::script::kind::Kind;
use crate::script::values::{Heading, Spot, Stand};

type Answer = Result<Dynamic, Fault>;

/// The chapter.
pub(in crate::script) const CHAPTER: Chapter = Chapter {
    title: "Poses",
    entries: &[
        Entry {
            name: "pose",
            style: Style::Function,
            params: &[("where", Kind::Where)],
            optional: 1,
            returns: "a pose",
            says: "stands at the point, unturned; without one, at the origin",
            run: |call| {
                let stand = if call.given(0) { call.place(0)? } else { Stand::at_origin() };
                Ok(Dynamic::from(stand))
            },
        },
        Entry {
            name: "turned",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("about", Kind::Direction), ("by", Kind::Angle)],
            optional: 0,
            returns: "a pose",
            says: "turned where it stands about a direction of the vehicle, right-handed",
            run: |call| {
                let about = call.direction(1)?;
                let turn = UnitQuaternion::from_axis_angle(&about, call.angle(2)?);
                changed(call, |pose| Isometry3::from_parts(pose.translation, turn * pose.rotation))
            },
        },
        Entry {
            name: "spun",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("by", Kind::Angle)],
            optional: 0,
            returns: "a pose",
            says: "turned about its own z: clocking",
            run: |call| own_turn(call, Vector3::z_axis(), 1),
        },
        Entry {
            name: "turned_own",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("axis", Kind::Text), ("by", Kind::Angle)],
            optional: 0,
            returns: "a pose",
            says: "turned about its own `\"x\"`, `\"y\"` or `\"z\"`",
            run: |call| {
                let axis = match call.text(1)?.as_str() {
                    "x" => Vector3::x_axis(),
                    "y" => Vector3::y_axis(),
                    "z" => Vector3::z_axis(),
                    other => {
                        let message = format!("`turned_own` turns about `x`, `y` or `z`, not `{other}`");
                        return Err(call.refuse(
                            1,
                            message,
                            "for a direction of the vehicle write `turned(up, deg(30))`",
                        ));
                    }
                };
                own_turn(call, axis, 2)
            },
        },
        Entry {
            name: "shifted",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("x", Kind::Length), ("y", Kind::Length), ("z", Kind::Length)],
            optional: 0,
            returns: "a pose",
            says: "shifted along its own axes",
            run: |call| {
                let step = Translation3::new(call.length(1)?, call.length(2)?, call.length(3)?);
                changed(call, |pose| pose * step)
            },
        },
        Entry {
            name: "raised",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("by", Kind::Length)],
            optional: 0,
            returns: "a pose",
            says: "shifted along its own z: off a face by a stand-off",
            run: |call| {
                let step = Translation3::new(0.0, 0.0, call.length(1)?);
                changed(call, |pose| pose * step)
            },
        },
        Entry {
            name: "moved",
            style: Style::Method,
            params: &[("pose", Kind::Where), ("toward", Kind::Direction), ("by", Kind::Length)],
            optional: 0,
            returns: "a pose, of a point a point",
            says: "shifted along a direction of the vehicle",
            run: |call| {
                let step = Translation3::from(call.direction(1)?.into_inner() * call.length(2)?);
                let stand = call.place(0)?;
                let moved = step * stand.world_from_it;
                if call.values[0].is::<Stand>() {
                    return Ok(Dynamic::from(Stand { world_from_it: moved, ..stand }));
                }
                Ok(Dynamic::from(Spot { at: moved * Point3::origin() }))
            },
        },
        Entry {
            name: "aimed",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("toward", Kind::Direction)],
            optional: 0,
            returns: "a pose",
            says: "turned where it stands, by the least turn, until its own z heads that way",
            run: |call| {
                let toward = call.direction(1)?;
                changed(call, |pose| {
                    let z = pose.rotation * Vector3::z_axis();
                    // Straight back there is no least turn: then about its own x.
                    let turn = UnitQuaternion::rotation_between_axis(&z, &toward).unwrap_or_else(|| {
                        UnitQuaternion::from_axis_angle(
                            &(pose.rotation * Vector3::x_axis()),
                            std::f64::consts::PI,
                        )
                    });
                    Isometry3::from_parts(pose.translation, turn * pose.rotation)
                })
            },
        },
        Entry {
            name: "then",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("next", Kind::Where)],
            optional: 0,
            returns: "a pose",
            says: "the next pose or point taken in the axes of this one",
            run: |call| {
                let next = call.place(1)?.world_from_it;
                changed(call, |pose| pose * next)
            },
        },
        Entry {
            name: "point",
            style: Style::Method,
            params: &[("pose", Kind::Pose), ("x", Kind::Length), ("y", Kind::Length), ("z", Kind::Length)],
            optional: 0,
            returns: "a point",
            says: "a point given in its own axes, in those of the vehicle",
            run: |call| {
                let local = Point3::new(call.length(1)?, call.length(2)?, call.length(3)?);
                Ok(Dynamic::from(Spot { at: call.pose(0)?.world_from_it * local }))
            },
        },
    ],
};

/// Properties of a pose.
pub(in crate::script) const POSE: &[Prop<Stand>] = &[
    Prop {
        name: "at",
        returns: "a point",
        says: "where it stands",
        get: |_, stand| Ok(Dynamic::from(Spot { at: stand.world_from_it * Point3::origin() })),
    },
    Prop {
        name: "x_dir",
        returns: "a direction",
        says: "where its own x heads",
        get: |_, stand| heading(stand, Vector3::x_axis()),
    },
    Prop {
        name: "y_dir",
        returns: "a direction",
        says: "where its own y heads",
        get: |_, stand| heading(stand, Vector3::y_axis()),
    },
    Prop {
        name: "z_dir",
        returns: "a direction",
        says: "where its own z heads",
        get: |_, stand| heading(stand, Vector3::z_axis()),
    },
    Prop {
        name: "carried_by",
        returns: "a text",
        says: "the carrier of the frame or body that it was taken from, else empty",
        get: |_, stand| Ok(stand.carried_by.clone().unwrap_or_default().into()),
    },
];

impl Stand {
    pub(in crate::script) fn at_origin() -> Self {
        Stand { world_from_it: Isometry3::identity(), carried_by: None, on: None }
    }

    /// Turns about x, y and z in degrees, in that order about the vehicle's axes, such that
    /// `pose_from_euler` gives the pose back within 1e-8 rad.
    pub(in crate::script) fn turns_deg(&self) -> [f64; 3] {
        let turn = self.world_from_it.rotation.to_rotation_matrix();
        let m = turn.matrix();
        // Through atan2 throughout: near y = 90 deg an arc sine would lose half the digits. x is
        // taken from what z leaves, so that the two agree when neither is sharp.
        let level = m.m11.hypot(m.m21);
        let z = if level > 1e-9 { m.m21.atan2(m.m11) } else { 0.0 };
        let (sin, cos) = z.sin_cos();
        let x = (sin * m.m13 - cos * m.m23).atan2(cos * m.m22 - sin * m.m12);
        let y = (-m.m31).atan2(level);
        [x, y, z].map(f64::to_degrees)
    }
}

fn changed(call: &Call, change: impl FnOnce(&Isometry3<f64>) -> Isometry3<f64>) -> Answer {
    let mut stand = call.pose(0)?;
    stand.world_from_it = change(&stand.world_from_it);
    stand.world_from_it.rotation.renormalize();
    Ok(Dynamic::from(stand))
}

fn own_turn(call: &Call, axis: Unit<Vector3<f64>>, angle: usize) -> Answer {
    let turn = Rotation3::from_axis_angle(&axis, call.angle(angle)?);
    changed(call, |pose| pose * UnitQuaternion::from_rotation_matrix(&turn))
}

fn heading(stand: &Stand, own: Unit<Vector3<f64>>) -> Answer {
    Ok(Dynamic::from(Heading {
        unit: Unit::new_normalize((stand.world_from_it.rotation * own).into_inner()),
    }))
}
