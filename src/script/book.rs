//! The book of all functions and properties that a script may use.
//!
//! Registration, error messages and the table in `docs/scripting.md` all come from these entries,
//! so that none of them can say what another does not.

use std::cell::RefCell;
use std::fmt::Write as _;
use std::rc::Rc;

use rhai::{Dynamic, Engine, EvalAltResult, NativeCallContext};

use crate::scene::Span;

use super::api;
use super::desk::Desk;
use super::fault::Fault;
use super::kind::{Kind, Reader, describe};
use super::values::{AngleValue, BodyView, BoundsValue, Form, Heading, SceneView, Spot, Stand};

/// One function.
pub(super) struct Entry {
    pub(super) name: &'static str,
    /// Written `receiver.name(...)` in the book; a method's receiver is its first parameter.
    pub(super) style: Style,
    pub(super) params: &'static [(&'static str, Kind)],
    /// How many of the last parameters may be left out.
    pub(super) optional: usize,
    pub(super) returns: &'static str,
    pub(super) says: &'static str,
    pub(super) run: fn(&Call) -> Result<Dynamic, Fault>,
}

/// How a function is usually written; both ways work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Style {
    Function,
    Method,
}

/// One property of a type.
pub(super) struct Prop<T> {
    pub(super) name: &'static str,
    pub(super) returns: &'static str,
    pub(super) says: &'static str,
    pub(super) get: fn(&Desk, &T) -> Result<Dynamic, Fault>,
}

/// A named part of the book.
pub(super) struct Chapter {
    pub(super) title: &'static str,
    pub(super) entries: &'static [Entry],
}

/// One call on its way.
pub(super) struct Call {
    pub(super) entry: &'static Entry,
    pub(super) values: Vec<Dynamic>,
    pub(super) desk: Rc<RefCell<Desk>>,
    pub(super) span: Span,
    pub(super) reader: Reader,
}

impl Entry {
    /// `pose.turned(about, by)`.
    pub(super) fn signature(&self) -> String {
        let (receiver, params) = match (self.style, self.params) {
            (Style::Method, [(receiver, _), rest @ ..]) => (format!("{receiver}."), rest),
            (_, params) => (String::new(), params),
        };
        let must = params.len().saturating_sub(self.optional);
        let mut text = format!("{receiver}{}(", self.name);
        for (index, (name, _)) in params.iter().enumerate() {
            let comma = if index > 0 { ", " } else { "" };
            let optional = if index >= must { "?" } else { "" };
            let _ = write!(text, "{comma}{name}{optional}");
        }
        text.push(')');
        text
    }
}

/// Everything that has a title, in the book's order.
pub(super) fn chapters() -> [&'static Chapter; 6] {
    [
        &api::measure::CHAPTER,
        &api::stand::CHAPTER,
        &api::form::CHAPTER,
        &api::look::CHAPTER,
        &api::act::CHAPTER,
        &api::gaps::CHAPTER,
    ]
}

/// Every function.
pub(super) fn entries() -> impl Iterator<Item = &'static Entry> {
    chapters().into_iter().flat_map(|chapter| chapter.entries)
}

/// Names of properties of a type by its word.
pub(super) fn property_names(type_word: &str) -> Vec<&'static str> {
    property_rows().into_iter().filter(|(on, ..)| *on == type_word).map(|(_, name, ..)| name).collect()
}

type Row = (&'static str, &'static str, &'static str, &'static str);

fn property_rows() -> Vec<Row> {
    fn rows<T>(on: &'static str, props: &'static [Prop<T>]) -> impl Iterator<Item = Row> {
        props.iter().map(move |prop| (on, prop.name, prop.returns, prop.says))
    }
    rows("scene", api::look::SCENE)
        .chain(rows("body", api::look::BODY))
        .chain(rows("pose", api::stand::POSE))
        .chain(rows("point", api::measure::POINT))
        .chain(rows("direction", api::measure::DIRECTION))
        .chain(rows("angle", api::measure::ANGLE))
        .chain(rows("shape", api::form::SHAPE))
        .chain(rows("bounds", api::look::BOUNDS))
        .collect()
}

impl Call {
    /// Whether an optional argument was given.
    pub(super) fn given(&self, index: usize) -> bool {
        index < self.values.len()
    }

    fn value(&self, index: usize, kind: Kind) -> Result<&Dynamic, Fault> {
        debug_assert_eq!(
            self.entry.params.get(index).map(|(_, kind)| *kind),
            Some(kind),
            "`{}` reads parameter {index} as something else than its entry says",
            self.entry.name
        );
        self.values.get(index).ok_or_else(|| {
            Fault::new(
                "script::argument",
                format!("`{}` lacks an argument", self.entry.name),
                format!("write `{}`", self.entry.signature()),
            )
        })
    }

    fn read<T>(
        &self,
        index: usize,
        kind: Kind,
        read: impl FnOnce(Reader, &Dynamic) -> Result<T, String>,
    ) -> Result<T, Fault> {
        let value = self.value(index, kind)?;
        read(self.reader, value).map_err(|reason| self.wrong(index, kind, value, &reason))
    }

    fn wrong(&self, index: usize, kind: Kind, value: &Dynamic, reason: &str) -> Fault {
        let name = self.entry.params.get(index).map_or("", |(name, _)| name);
        let reason = if reason.is_empty() { String::new() } else { format!(": {reason}") };
        let message = format!(
            "`{}` takes {} as `{name}`; it is given {}{reason}",
            self.entry.name,
            kind.words(),
            describe(value)
        );
        let help = format!("write `{}`; {} is {}", self.entry.signature(), kind.words(), kind.forms());
        Fault::new("script::argument", message, help).at_argument(index)
    }

    /// Refuses an argument that is of the right kind.
    pub(super) fn refuse(&self, index: usize, message: impl Into<String>, help: impl Into<String>) -> Fault {
        Fault::new("script::argument", message, help).at_argument(index)
    }

    pub(super) fn number(&self, index: usize) -> Result<f64, Fault> {
        self.read(index, Kind::Number, Reader::number)
    }
    pub(super) fn length(&self, index: usize) -> Result<f64, Fault> {
        self.read(index, Kind::Length, Reader::length)
    }
    pub(super) fn angle(&self, index: usize) -> Result<f64, Fault> {
        self.read(index, Kind::Angle, Reader::angle)
    }
    pub(super) fn text(&self, index: usize) -> Result<String, Fault> {
        self.read(index, Kind::Text, Reader::text)
    }
    pub(super) fn direction(&self, index: usize) -> Result<nalgebra::Unit<nalgebra::Vector3<f64>>, Fault> {
        self.read(index, Kind::Direction, Reader::direction)
    }
    pub(super) fn point(&self, index: usize) -> Result<nalgebra::Point3<f64>, Fault> {
        self.read(index, Kind::Point, Reader::point)
    }
    pub(super) fn pose(&self, index: usize) -> Result<Stand, Fault> {
        self.read(index, Kind::Pose, Reader::pose)
    }
    pub(super) fn place(&self, index: usize) -> Result<Stand, Fault> {
        self.read(index, Kind::Where, Reader::place)
    }
    pub(super) fn shape(&self, index: usize) -> Result<Form, Fault> {
        self.read(index, Kind::Shape, Reader::shape)
    }
    pub(super) fn shapes(&self, index: usize) -> Result<Vec<Form>, Fault> {
        self.read(index, Kind::Shapes, |reader, value| reader.list(value, Reader::shape))
    }
    pub(super) fn points(&self, index: usize) -> Result<Vec<nalgebra::Point3<f64>>, Fault> {
        self.read(index, Kind::Points, |reader, value| reader.list(value, Reader::point))
    }
    pub(super) fn outline(&self, index: usize) -> Result<Vec<nalgebra::Point2<f64>>, Fault> {
        self.read(index, Kind::Outline, |reader, value| reader.list(value, Reader::flat_point))
    }
    pub(super) fn outlines(&self, index: usize) -> Result<Vec<Vec<nalgebra::Point2<f64>>>, Fault> {
        self.read(index, Kind::Outlines, |reader, value| {
            reader.list(value, |reader, outline| reader.list(outline, Reader::flat_point))
        })
    }
    /// The number of a body, by name or view; it is there.
    pub(super) fn body(&self, index: usize) -> Result<usize, Fault> {
        let value = self.value(index, Kind::Body)?;
        self.desk.borrow().body_id(value).map_err(|fault| match fault {
            Some(fault) => fault.at_argument(index),
            None => self.wrong(index, Kind::Body, value, ""),
        })
    }
    pub(super) fn map(&self, index: usize) -> Result<rhai::Map, Fault> {
        self.read(index, Kind::Map, |_, value| {
            value.as_map_ref().map(|map| map.clone()).map_err(|_| String::new())
        })
    }

    /// A length for the script: a number in the scene's units.
    pub(super) fn shown(&self, mm: f64) -> Dynamic {
        Dynamic::from_float(self.reader.shown(mm))
    }
}

type Answer = Result<Dynamic, Box<EvalAltResult>>;

fn run_entry(
    entry: &'static Entry,
    desk: &Rc<RefCell<Desk>>,
    context: &NativeCallContext<'_>,
    values: Vec<Dynamic>,
) -> Answer {
    let position = context.call_position();
    let (span, reader) = {
        let desk = desk.borrow();
        (desk.span_of(context), desk.reader())
    };
    let values = values.into_iter().map(Dynamic::flatten).collect();
    let call = Call { entry, values, desk: Rc::clone(desk), span, reader };
    (entry.run)(&call).map_err(|fault| fault.into_rhai(position))
}

macro_rules! register_arity {
    ($engine:ident, $entry:ident, $desk:ident, $($value:ident)*) => {{
        let desk = Rc::clone($desk);
        $engine.register_fn($entry.name, move |context: NativeCallContext<'_>, $($value: Dynamic),*| -> Answer {
            run_entry($entry, &desk, &context, vec![$($value),*])
        });
    }};
}

/// Registers every function and property.
pub(super) fn register(engine: &mut Engine, desk: &Rc<RefCell<Desk>>) {
    for entry in entries() {
        for count in entry.params.len() - entry.optional..=entry.params.len() {
            match count {
                0 => register_arity!(engine, entry, desk,),
                1 => register_arity!(engine, entry, desk, a),
                2 => register_arity!(engine, entry, desk, a b),
                3 => register_arity!(engine, entry, desk, a b c),
                4 => register_arity!(engine, entry, desk, a b c d),
                _ => register_arity!(engine, entry, desk, a b c d e),
            }
        }
    }
    register_type::<SceneView>(engine, desk, "scene", api::look::SCENE);
    register_type::<BodyView>(engine, desk, "body", api::look::BODY);
    register_type::<Stand>(engine, desk, "pose", api::stand::POSE);
    register_type::<Spot>(engine, desk, "point", api::measure::POINT);
    register_type::<Heading>(engine, desk, "direction", api::measure::DIRECTION);
    register_type::<AngleValue>(engine, desk, "angle", api::measure::ANGLE);
    register_type::<Form>(engine, desk, "shape", api::form::SHAPE);
    register_type::<BoundsValue>(engine, desk, "bounds", api::look::BOUNDS);
}

fn register_type<T: Clone + 'static>(
    engine: &mut Engine,
    desk: &Rc<RefCell<Desk>>,
    word: &'static str,
    props: &'static [Prop<T>],
) {
    engine.register_type_with_name::<T>(word);
    for prop in props {
        let desk = Rc::clone(desk);
        let get = prop.get;
        engine.register_get(prop.name, move |context: NativeCallContext<'_>, value: &mut T| -> Answer {
            get(&desk.borrow(), value).map_err(|fault| fault.into_rhai(context.call_position()))
        });
    }
}

/// The table of all functions and properties, in Markdown: what `docs/scripting.md` shows.
///
/// # Example
/// ```
/// assert!(baywright::script::reference_table().contains("| `pose.turned(about, by)` |"));
/// ```
pub fn reference_table() -> String {
    let mut text = String::new();
    for chapter in chapters() {
        let _ = write!(
            text,
            "### {}\n\n| function | takes | gives | what it does |\n|---|---|---|---|\n",
            chapter.title
        );
        for entry in chapter.entries {
            let takes: Vec<String> =
                entry.params.iter().map(|(name, kind)| format!("`{name}`: {}", kind.words())).collect();
            let _ = writeln!(
                text,
                "| `{}` | {} | {} | {} |",
                entry.signature(),
                if takes.is_empty() { "nothing".to_owned() } else { takes.join(", ") },
                entry.returns,
                entry.says
            );
        }
        text.push('\n');
    }
    text.push_str("### Properties\n\n| property | gives | what it is |\n|---|---|---|\n");
    for (on, name, returns, says) in property_rows() {
        let _ = writeln!(text, "| `{on}.{name}` | {returns} | {says} |");
    }
    text.push_str("\n### Options of `place`\n\n| option | takes | what it means |\n|---|---|---|\n");
    for option in super::placing::OPTIONS {
        let _ = writeln!(text, "| `{}` | {} | {} |", option.name, option.takes, option.says);
    }
    text
}
