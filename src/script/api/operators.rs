//! What `+`, `-`, `*`, `/` and `==` mean for points, directions and angles, and how values print.

use std::cell::RefCell;
use std::rc::Rc;

use nalgebra::{Point3, Vector3};
use rhai::{Dynamic, Engine, EvalAltResult, FLOAT, FUNC_TO_DEBUG, FUNC_TO_STRING, INT, NativeCallContext};

use crate::script::desk::Desk;
use crate::script::fault::Fault;
use crate::script::kind::Reader;
use crate::script::values::{AngleValue, BodyView, BoundsValue, Form, Heading, SceneView, Spot, Stand, Tidy};

/// Registers them.
pub(in crate::script) fn register_operators(engine: &mut Engine, desk: &Rc<RefCell<Desk>>) {
    points(engine);
    directions(engine, desk.borrow().reader());
    angles(engine);
    words(engine, desk);
}

fn points(engine: &mut Engine) {
    fn scaled(spot: Spot, by: f64) -> Spot {
        Spot { at: Point3::from(spot.at.coords * by) }
    }
    engine
        .register_fn("+", |a: Spot, b: Spot| Spot { at: a.at + b.at.coords })
        .register_fn("-", |a: Spot, b: Spot| Spot { at: Point3::from(a.at - b.at) })
        .register_fn("-", |a: Spot| scaled(a, -1.0))
        .register_fn("*", |a: Spot, by: FLOAT| scaled(a, by))
        .register_fn("*", |a: Spot, by: INT| scaled(a, by as f64))
        .register_fn("*", |by: FLOAT, a: Spot| scaled(a, by))
        .register_fn("*", |by: INT, a: Spot| scaled(a, by as f64))
        .register_fn("/", |a: Spot, by: FLOAT| scaled(a, 1.0 / by))
        .register_fn("/", |a: Spot, by: INT| scaled(a, 1.0 / by as f64))
        .register_fn("==", |a: Spot, b: Spot| a == b)
        .register_fn("!=", |a: Spot, b: Spot| a != b);
}

/// A direction times a length is a step.
fn directions(engine: &mut Engine, reader: Reader) {
    let step = move |heading: &Heading, by: &Dynamic, context: &NativeCallContext<'_>| {
        let mm = reader.length(by).map_err(|reason| {
            let message = format!("a direction is multiplied by a length; `{by}` is none: {reason}");
            Fault::new("script::type", message, "write `up * 25` or `up * \"1 in\"`")
                .into_rhai(context.call_position())
        })?;
        Ok::<Spot, Box<EvalAltResult>>(Spot { at: Point3::from(heading.unit.into_inner() * mm) })
    };
    engine
        .register_fn("*", move |context: NativeCallContext<'_>, a: Heading, by: FLOAT| {
            step(&a, &by.into(), &context)
        })
        .register_fn("*", move |context: NativeCallContext<'_>, a: Heading, by: INT| {
            step(&a, &by.into(), &context)
        })
        .register_fn("*", move |context: NativeCallContext<'_>, a: Heading, by: &str| {
            step(&a, &by.into(), &context)
        })
        .register_fn("*", move |context: NativeCallContext<'_>, by: FLOAT, a: Heading| {
            step(&a, &by.into(), &context)
        })
        .register_fn("*", move |context: NativeCallContext<'_>, by: INT, a: Heading| {
            step(&a, &by.into(), &context)
        })
        .register_fn("-", |a: Heading| Heading { unit: -a.unit })
        .register_fn("==", |a: Heading, b: Heading| a == b)
        .register_fn("!=", |a: Heading, b: Heading| a != b);
}

fn angles(engine: &mut Engine) {
    fn turned(rad: f64) -> AngleValue {
        AngleValue { rad }
    }
    engine
        .register_fn("+", |a: AngleValue, b: AngleValue| turned(a.rad + b.rad))
        .register_fn("-", |a: AngleValue, b: AngleValue| turned(a.rad - b.rad))
        .register_fn("-", |a: AngleValue| turned(-a.rad))
        .register_fn("*", |a: AngleValue, by: FLOAT| turned(a.rad * by))
        .register_fn("*", |a: AngleValue, by: INT| turned(a.rad * by as f64))
        .register_fn("*", |by: FLOAT, a: AngleValue| turned(a.rad * by))
        .register_fn("*", |by: INT, a: AngleValue| turned(a.rad * by as f64))
        .register_fn("/", |a: AngleValue, by: FLOAT| turned(a.rad / by))
        .register_fn("/", |a: AngleValue, by: INT| turned(a.rad / by as f64))
        .register_fn("/", |a: AngleValue, b: AngleValue| a.rad / b.rad)
        .register_fn("==", |a: AngleValue, b: AngleValue| a == b)
        .register_fn("!=", |a: AngleValue, b: AngleValue| a != b)
        .register_fn("<", |a: AngleValue, b: AngleValue| a.rad < b.rad)
        .register_fn("<=", |a: AngleValue, b: AngleValue| a.rad <= b.rad)
        .register_fn(">", |a: AngleValue, b: AngleValue| a.rad > b.rad)
        .register_fn(">=", |a: AngleValue, b: AngleValue| a.rad >= b.rad);
}

/// How values print.
fn words(engine: &mut Engine, desk: &Rc<RefCell<Desk>>) {
    fn shows<T: Clone + 'static>(
        engine: &mut Engine,
        desk: &Rc<RefCell<Desk>>,
        words: impl Fn(&Desk, &T) -> String + Clone + 'static,
    ) {
        for name in [FUNC_TO_STRING, FUNC_TO_DEBUG] {
            let (desk, words) = (Rc::clone(desk), words.clone());
            engine.register_fn(name, move |value: &mut T| words(&desk.borrow(), value));
        }
    }
    fn spot(reader: Reader, at: &Vector3<f64>) -> String {
        let [x, y, z] = [at.x, at.y, at.z].map(|mm| Tidy(reader.shown(mm)));
        format!("at({x}, {y}, {z})")
    }
    shows(engine, desk, |_, angle: &AngleValue| angle.to_string());
    shows(engine, desk, |_, heading: &Heading| heading.to_string());
    shows(engine, desk, |desk, value: &Spot| spot(desk.reader(), &value.at.coords));
    shows(engine, desk, |desk, stand: &Stand| {
        let [x, y, z] = stand.turns_deg().map(Tidy);
        let at = spot(desk.reader(), &stand.world_from_it.translation.vector);
        format!("pose({at}) turned x {x}, y {y}, z {z} deg")
    });
    shows(engine, desk, |desk, value: &BoundsValue| {
        let (min, max) = (&value.bounds.min.coords, &value.bounds.max.coords);
        format!("{} to {}", spot(desk.reader(), min), spot(desk.reader(), max))
    });
    shows(engine, desk, |desk, form: &Form| {
        let size = spot(desk.reader(), &form.shape.bounds().size());
        format!("a shape {} over all", size.trim_start_matches("at"))
    });
    shows(engine, desk, |desk, view: &BodyView| {
        desk.body(view.id).map_or_else(|_| "a removed body".to_owned(), |body| format!("body {}", body.name))
    });
    shows(engine, desk, |desk, _: &SceneView| format!("scene {}", desk.scene.title));
    for name in [FUNC_TO_STRING, FUNC_TO_DEBUG] {
        engine.register_fn(name, |fault: &mut Fault| fault.message.clone());
    }
}
