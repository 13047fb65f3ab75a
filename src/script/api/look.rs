//! Looking at the scene.

use std::rc::Rc;
use std::sync::Arc;

use nalgebra::Point3;
use rhai::{Array, Dynamic};

use crate::scene::Body;
use crate::script::book::{Call, Chapter, Entry, Prop, Style};
use crate::script::desk::Desk;
use crate::script::face::{FaceError, face};
use crate::script::fault::Fault;
use crate::script::kind::{Kind, did_you_mean, shortened};
use crate::script::values::{Base, BodyView, BoundsValue, Form, SceneView, Spot, Stand};
use crate::space::{Direction, Pose};

type Answer = Result<Dynamic, Fault>;

/// The chapter.
pub(in crate::script) const CHAPTER: Chapter = Chapter {
    title: "The scene",
    entries: &[
        Entry {
            name: "body",
            style: Style::Method,
            params: &[("scene", Kind::Scene), ("name", Kind::Body)],
            optional: 0,
            returns: "a body",
            says: "the body of that name",
            run: |call| Ok(Dynamic::from(BodyView { id: call.body(1)? })),
        },
        Entry {
            name: "has_body",
            style: Style::Method,
            params: &[("scene", Kind::Scene), ("name", Kind::Text)],
            optional: 0,
            returns: "true or false",
            says: "whether there is a body of that name",
            run: |call| {
                let name = call.text(1)?;
                Ok(call.desk.borrow().scene.body(&name).is_some().into())
            },
        },
        Entry {
            name: "bodies_of_role",
            style: Style::Method,
            params: &[("scene", Kind::Scene), ("role", Kind::Text)],
            optional: 0,
            returns: "a list of bodies",
            says: "the bodies that have that role, in the scene's order",
            run: |call| {
                let role = call.text(1)?;
                bodies(&call.desk.borrow(), |body| body.roles.contains(&role))
            },
        },
        Entry {
            name: "frame",
            style: Style::Method,
            params: &[("scene", Kind::Scene), ("name", Kind::Text)],
            optional: 0,
            returns: "a pose",
            says: "where the frame of that name stands; a bracket's face, say",
            run: frame,
        },
        Entry {
            name: "face",
            style: Style::Method,
            params: &[("body", Kind::Body), ("toward", Kind::Direction)],
            optional: 0,
            returns: "a pose",
            says: "in the middle of the face that looks that way, z outward, x along the edge nearest to up (on a face that looks up or down: to rearward)",
            run: body_face,
        },
    ],
};

/// Properties of the scene.
pub(in crate::script) const SCENE: &[Prop<SceneView>] = &[
    Prop {
        name: "title",
        returns: "a text",
        says: "what the scene is of",
        get: |desk, _| Ok(desk.scene.title.as_str().into()),
    },
    Prop {
        name: "bodies",
        returns: "a list of bodies",
        says: "all bodies, in the scene's order",
        get: |desk, _| bodies(desk, |_| true),
    },
    Prop {
        name: "frames",
        returns: "a list of texts",
        says: "the names of the frames",
        get: |desk, _| texts(desk, desk.scene.frames.iter().map(|frame| frame.name.as_str())),
    },
    Prop {
        name: "carriers",
        returns: "a list of texts",
        says: "the names of the carriers",
        get: |desk, _| texts(desk, desk.scene.carriers.iter().map(|carrier| carrier.name.as_str())),
    },
];

/// Properties of a body.
pub(in crate::script) const BODY: &[Prop<BodyView>] = &[
    Prop {
        name: "name",
        returns: "a text",
        says: "its name",
        get: |desk, view| Ok(desk.body(view.id)?.name.as_str().into()),
    },
    Prop {
        name: "at",
        returns: "a point",
        says: "where its own origin stands",
        get: |desk, view| {
            Ok(Dynamic::from(Spot { at: desk.body(view.id)?.world_from_body * Point3::origin() }))
        },
    },
    Prop {
        name: "pose",
        returns: "a pose",
        says: "where it stands",
        get: |desk, view| stand(desk, desk.body(view.id)?),
    },
    Prop {
        name: "shape",
        returns: "a shape",
        says: "its shape",
        get: |desk, view| Ok(Dynamic::from(Form { shape: Arc::clone(&desk.body(view.id)?.shape) })),
    },
    Prop {
        name: "roles",
        returns: "a list of texts",
        says: "its roles, the main one first",
        get: |desk, view| texts(desk, desk.body(view.id)?.roles.iter().map(String::as_str)),
    },
    Prop {
        name: "material",
        returns: "a text",
        says: "what it is made of, else empty",
        get: |desk, view| Ok(desk.body(view.id)?.material.clone().unwrap_or_default().into()),
    },
    Prop {
        name: "carried_by",
        returns: "a text",
        says: "its carrier",
        get: |desk, view| Ok(desk.carrier_name(desk.body(view.id)?.carrier).unwrap_or("").into()),
    },
    Prop {
        name: "kept",
        returns: "true or false",
        says: "whether it is factory equipment that must stay",
        get: |desk, view| Ok(desk.body(view.id)?.kept.into()),
    },
    Prop {
        name: "candidate",
        returns: "true or false",
        says: "whether a script placed it",
        get: |desk, view| Ok(desk.body(view.id)?.candidate.into()),
    },
    Prop {
        name: "cover",
        returns: "a number",
        says: "thickness of wrap, coating and sheath together",
        get: |desk, view| Ok(desk.reader().shown(desk.body(view.id)?.cover.mm()).into()),
    },
    Prop {
        name: "bounds",
        returns: "bounds",
        says: "in vehicle axes, cover left out",
        get: |desk, view| Ok(Dynamic::from(BoundsValue { bounds: bounds_of(desk.body(view.id)?) })),
    },
    Prop {
        name: "top",
        returns: "a number",
        says: "height of its highest point",
        get: |desk, view| Ok(desk.reader().shown(bounds_of(desk.body(view.id)?).max.z).into()),
    },
    Prop {
        name: "bottom",
        returns: "a number",
        says: "height of its lowest point",
        get: |desk, view| Ok(desk.reader().shown(bounds_of(desk.body(view.id)?).min.z).into()),
    },
];

/// Properties of bounds.
pub(in crate::script) const BOUNDS: &[Prop<BoundsValue>] = &[
    Prop {
        name: "min",
        returns: "a point",
        says: "the corner most forward, left and down",
        get: |_, value| Ok(Dynamic::from(Spot { at: value.bounds.min })),
    },
    Prop {
        name: "max",
        returns: "a point",
        says: "the corner most rearward, right and up",
        get: |_, value| Ok(Dynamic::from(Spot { at: value.bounds.max })),
    },
    Prop {
        name: "middle",
        returns: "a point",
        says: "halfway between them",
        get: |_, value| Ok(Dynamic::from(Spot { at: value.bounds.center() })),
    },
    Prop {
        name: "size",
        returns: "a point",
        says: "how long, wide and high",
        get: |_, value| Ok(Dynamic::from(Spot { at: value.bounds.size().into() })),
    },
];

fn bounds_of(body: &Body) -> crate::space::Bounds {
    body.shape.bounds_in(&body.world_from_body)
}

fn bodies(desk: &Desk, wanted: impl Fn(&Body) -> bool) -> Answer {
    let list: Array = desk
        .tracks
        .iter()
        .zip(&desk.scene.bodies)
        .filter(|(_, body)| wanted(body))
        .map(|(track, _)| Dynamic::from(BodyView { id: track.id }))
        .collect();
    short_enough(desk, list)
}

fn texts<'a>(desk: &Desk, texts: impl Iterator<Item = &'a str>) -> Answer {
    short_enough(desk, texts.map(|text| Dynamic::from(text.to_owned())).collect())
}

fn short_enough(desk: &Desk, list: Array) -> Answer {
    if list.len() > desk.options.list_entries {
        return Err(Fault::limit(
            "the list is longer than one may be",
            "list_entries",
            desk.options.list_entries,
        ));
    }
    Ok(list.into())
}

fn stand(desk: &Desk, body: &Body) -> Answer {
    Ok(Dynamic::from(on_body(desk, body, body.world_from_body)))
}

/// A pose taken from a body: it rides with it, and is known no better.
fn on_body(desk: &Desk, body: &Body, world_from_it: Pose) -> Stand {
    let base = Base {
        name: body.name.clone(),
        world_from_base: body.world_from_body,
        placement: body.placement.clone(),
    };
    let carried_by = desk.carrier_name(body.carrier).map(str::to_owned);
    Stand { world_from_it, carried_by, on: Some(Rc::new(base)) }
}

fn frame(call: &Call) -> Answer {
    let name = call.text(1)?;
    let desk = call.desk.borrow();
    let Some(frame) = desk.scene.frames.iter().find(|frame| frame.name == name) else {
        let names: Vec<&str> = desk.scene.frames.iter().map(|frame| frame.name.as_str()).collect();
        let help = if names.is_empty() {
            "the scene names no frames; add `frames:` to it, or take `scene.body(\"name\").face(up)`"
                .to_owned()
        } else {
            let shown: Vec<&str> = names.iter().copied().take(12).collect();
            format!("{}its frames are {}", did_you_mean(&name, names), shown.join(", "))
        };
        let message = format!("the scene has no frame `{}`", shortened(&name, 60));
        return Err(Fault::new("script::unknown_frame", message, help).at_argument(1));
    };
    let carried_by = desk.carrier_name(frame.carrier).map(str::to_owned);
    let on = Some(Rc::new(Base {
        name: frame.name.clone(),
        world_from_base: frame.world_from_frame,
        placement: frame.placement.clone(),
    }));
    Ok(Dynamic::from(Stand { world_from_it: frame.world_from_frame, carried_by, on }))
}

fn body_face(call: &Call) -> Answer {
    let (id, toward) = (call.body(0)?, call.direction(1)?);
    let desk = call.desk.borrow();
    let body = desk.body(id)?;
    match face(&body.shape, &body.world_from_body, &toward) {
        Ok(world_from_it) => {
            Ok(Dynamic::from(on_body(&desk, body, world_from_it)))
        }
        Err(FaceError::Round { looks }) => {
            let ways: Vec<&str> = looks.iter().map(|way| Direction::nearest(way).word()).collect();
            Err(call.refuse(
                1,
                format!("`{}` is round there: it has no flat face that way", body.name),
                format!("its flat ends look about {}", ways.join(" and ")),
            ))
        }
        Err(FaceError::None { kind }) => Err(call.refuse(
            0,
            format!("`{}` is {kind}, which has no faces to name", body.name),
            "faces are those of boxes, plates and bars; for this body name a frame in the scene, or take its `.bounds`",
        )),
    }
}
