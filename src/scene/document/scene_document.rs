//! The document and its edits.

use std::path::{Path, PathBuf};

use super::EditError;
use super::flow::{figure, flow, quoted};
use super::splice::Spliced;
use crate::scene::error::{Faults, nearest};
use crate::scene::folder::in_words;
use crate::scene::load::{Loaded, load};
use crate::scene::read::{Node, NodeKind, Source, text_of, tree_of};
use crate::scene::{Joined, Note, Scene, write_whole};
use crate::space::{LengthUnit, Pose};

/// A scene file being edited. It always loads: an edit that would not is refused and nothing changes.
///
/// # Example
/// ```
/// use baywright::scene::SceneDocument;
/// use baywright::space::Pose;
/// let text = "baywright: 1\nbodies:\n  tank: {shape: {box: [200, 90, 150]}, at: [0, 0, 0]} # new\n";
/// let mut document = SceneDocument::from_text("bay.yaml".as_ref(), text).unwrap();
/// document.set_body_pose("tank", &Pose::translation(10.0, 0.0, 2.5)).unwrap();
/// assert!(document.text().contains("at: [10, 0, 2.5]} # new"));
/// ```
pub struct SceneDocument {
    path: PathBuf,
    text: String,
    is_marked: bool,
    loaded: Loaded,
}

impl SceneDocument {
    /// Opens a scene file.
    ///
    /// # Errors
    /// Every fault of the scene.
    pub fn open(path: &Path) -> Result<Self, EditError> {
        let loaded = load(path, None)?;
        let unread = |why: String| EditError::Write { path: path.display().to_string(), why };
        let bytes = std::fs::read(path).map_err(|error| unread(in_words(&error)))?;
        let (text, is_marked) = text_of(&bytes).map_err(|_| unread("it changed while it was read".into()))?;
        Ok(SceneDocument { path: path.to_path_buf(), text: text.to_owned(), is_marked, loaded })
    }

    /// A document of a text that need not be in a file yet; the folder of `path` is where its files are.
    ///
    /// # Errors
    /// Every fault of the scene.
    pub fn from_text(path: &Path, text: &str) -> Result<Self, EditError> {
        let loaded = load(path, Some(text))?;
        let (text, is_marked) = match text.strip_prefix('\u{FEFF}') {
            Some(rest) => (rest, true),
            None => (text, false),
        };
        Ok(SceneDocument { path: path.to_path_buf(), text: text.to_owned(), is_marked, loaded })
    }

    /// The text as it stands.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The scene that the text makes.
    pub fn scene(&self) -> &Scene {
        &self.loaded.scene
    }

    /// Sets where a body stands, in vehicle axes with carriers at rest: writes its `at` and `turn`,
    /// in what it stands `on` and in the units of the file.
    ///
    /// # Errors
    /// [`EditError`]: the body is not in this file, readings place it, or its text is shared.
    pub fn set_body_pose(&mut self, name: &str, world_from_body: &Pose) -> Result<(), EditError> {
        self.own_body(name)?;
        let trace = self.loaded.trace.bodies.iter().find(|trace| trace.name == name).cloned();
        let Some(trace) = trace else { return Err(self.unknown(name)) };
        if trace.is_fitted {
            return Err(EditError::Fitted { name: name.to_owned() });
        }
        let on_from_placed =
            trace.world_from_on.inverse() * world_from_body * trace.placed_from_body.inverse();
        let (x, y, z) = on_from_placed.rotation.euler_angles();
        let at = on_from_placed.translation.vector;
        if ![at.x, at.y, at.z, x, y, z].iter().all(|value| value.is_finite()) {
            return Err(EditError::NotFinite { name: name.to_owned() });
        }
        let path = ["bodies", name];
        let spliced = self.spliced()?;
        let unit = unit_of(spliced.root());
        let length = |mm: f64| figure(mm / unit.mm(), decimals(unit));
        let at = format!("[{}, {}, {}]", length(at.x), length(at.y), length(at.z));
        let angles: Vec<String> = [("x", x), ("y", y), ("z", z)]
            .into_iter()
            .map(|(axis, angle)| (axis, figure(angle.to_degrees(), 10)))
            .filter(|(_, angle)| angle != "0")
            .map(|(axis, angle)| format!("{axis}: {angle}"))
            .collect();
        let mut spliced = spliced.set(&path, "at", &at)?;
        if spliced.at(&path)?.get("axis").is_some() {
            spliced = spliced.remove(&path, "axis")?;
        }
        match (angles.is_empty(), spliced.at(&path)?.get("turn").is_some()) {
            (true, true) => spliced = spliced.remove(&path, "turn")?,
            (false, _) => spliced = spliced.set(&path, "turn", &format!("{{{}}}", angles.join(", ")))?,
            (true, false) => {}
        }
        self.take(spliced.text)
    }

    /// Sets how far the marks of a survey stray from vehicle to vehicle, mm: its key `spread`, in the units of the file.
    ///
    /// # Errors
    /// [`EditError`]: no such survey in this file, or a mark that it does not have.
    pub fn set_survey_spread(&mut self, survey: &str, by_mark: &[(String, f64)]) -> Result<(), EditError> {
        let surveys = &self.loaded.scene.surveys;
        if !surveys.iter().any(|one| one.name == survey) {
            let nearest = nearest(survey, surveys.iter().map(|one| one.name.as_str()));
            return Err(EditError::UnknownSurvey { name: survey.to_owned(), nearest });
        }
        let spliced = self.spliced()?;
        let unit = unit_of(spliced.root());
        // A hundredth of a mm is finer than any spread is known.
        let figure = |mm: f64| figure((mm * 100.0).round() / 100.0 / unit.mm(), decimals(unit));
        let each: Vec<String> =
            by_mark.iter().map(|(mark, mm)| format!("{}: {}", quoted(mark), figure(*mm))).collect();
        let spliced = spliced.set(&["surveys", survey], "spread", &format!("{{{}}}", each.join(", ")))?;
        self.take(spliced.text)
    }

    /// Adds bodies after the others. `yaml` maps names to bodies, as under `bodies`; its comments stay.
    ///
    /// # Errors
    /// [`EditError`]: the fragment is no such map, a name is taken, or the scene does not load with it.
    pub fn add_body(&mut self, yaml: &str) -> Result<(), EditError> {
        let faults = Faults::default();
        let root = tree_of(&Source::new("the fragment", yaml), &faults);
        let root = faults.settle(root)?;
        let NodeKind::Map(entries, _) = &root.kind else { return Err(EditError::Fragment) };
        for entry in entries {
            let scene = &self.loaded.scene;
            let taken = scene.bodies.iter().any(|body| body.name == entry.key)
                || scene.frames.iter().any(|frame| frame.name == entry.key);
            if taken {
                return Err(EditError::Taken { name: entry.key.clone() });
            }
        }
        let in_one_line = flow(&root);
        let is_flow = yaml.trim_start().starts_with('{');
        let lines = if is_flow {
            let each = entries.iter().map(|entry| format!("{}: {}", quoted(&entry.key), flow(&entry.value)));
            each.collect::<Vec<_>>().join("\n")
        } else {
            dedented(yaml)
        };
        let spliced = self.spliced()?.add_under("bodies", &lines, &in_one_line)?;
        self.take(spliced.text)
    }

    /// Takes a body out, and with it what would name it in vain: joined pairs, rules by its name,
    /// service points of it. Tells what went along. Things that stand on it refuse the edit.
    ///
    /// # Errors
    /// [`EditError`].
    pub fn remove_body(&mut self, name: &str) -> Result<Vec<String>, EditError> {
        self.own_body(name)?;
        let mut spliced = self.spliced()?.remove(&["bodies"], name)?;
        let mut along = Vec::new();
        while let Some((path, key, told)) = reference(spliced.root(), name) {
            let path: Vec<&str> = path.iter().map(String::as_str).collect();
            spliced = match key {
                Key::Item(at) => spliced.remove_item(&path, at)?,
                Key::Entry(key) => spliced.remove(&path, &key)?,
            };
            along.push(told);
        }
        self.take(spliced.text)?;
        Ok(along)
    }

    /// Adds a remark after the others.
    ///
    /// # Errors
    /// [`EditError`]: the date is no day, or a text is empty.
    pub fn add_note(&mut self, note: &Note) -> Result<(), EditError> {
        let item = format!(
            "{{author: {}, date: {}, text: {}}}",
            quoted(&note.author),
            quoted(&note.date),
            quoted(&note.text)
        );
        let spliced = self.spliced()?.add_under("notes", &format!("- {item}"), &format!("[{item}]"))?;
        self.take(spliced.text)
    }

    /// Adds a joined pair after the others.
    ///
    /// # Errors
    /// [`EditError`]: a body is unknown.
    pub fn add_joined(&mut self, pair: &Joined) -> Result<(), EditError> {
        let kind = pair.joint.map_or_else(String::new, |kind| format!(", joint: {}", kind.word()));
        let (one, other, by) = (quoted(&pair.one), quoted(&pair.other), quoted(&pair.by));
        let item = format!("{{bodies: [{one}, {other}], by: {by}{kind}}}");
        let spliced = self.spliced()?.add_under("joined", &format!("- {item}"), &format!("[{item}]"))?;
        self.take(spliced.text)
    }

    /// Writes the text to the file that it was opened from, whole or not at all.
    ///
    /// # Errors
    /// [`EditError::Write`].
    pub fn save(&self) -> Result<(), EditError> {
        self.save_to(&self.path)
    }

    /// Writes the text to another file, whole or not at all. What the scene names must be beside it.
    ///
    /// # Errors
    /// [`EditError::Faults`] when it does not load from there, else [`EditError::Write`].
    pub fn save_as(&mut self, path: &Path) -> Result<(), EditError> {
        let loaded = load(path, Some(&self.text))?;
        self.save_to(path)?;
        self.loaded = loaded;
        self.path = path.to_path_buf();
        Ok(())
    }

    fn save_to(&self, path: &Path) -> Result<(), EditError> {
        let mut bytes = Vec::with_capacity(self.text.len() + 3);
        if self.is_marked {
            bytes.extend_from_slice("\u{FEFF}".as_bytes());
        }
        bytes.extend_from_slice(self.text.as_bytes());
        write_whole(path, &bytes)
            .map_err(|error| EditError::Write { path: path.display().to_string(), why: in_words(&error) })
    }

    fn spliced(&self) -> Result<Spliced, EditError> {
        let name = self.path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        Spliced::new(&name, self.text.clone())
    }

    /// Takes a new text when it loads.
    fn take(&mut self, text: String) -> Result<(), EditError> {
        self.loaded = load(&self.path, Some(&text))?;
        self.text = text;
        Ok(())
    }

    fn unknown(&self, name: &str) -> EditError {
        let names = self.loaded.scene.bodies.iter().map(|body| body.name.as_str());
        EditError::UnknownBody { name: name.to_owned(), nearest: nearest(name, names) }
    }

    /// Makes sure that a body is written in this very file.
    fn own_body(&self, name: &str) -> Result<(), EditError> {
        let Some(body) = self.loaded.scene.body(name) else { return Err(self.unknown(name)) };
        let own = self.loaded.scene.files.first().map(|file| file.to_string_lossy().into_owned());
        if own.as_deref() != Some(&body.span.file) {
            let (file, line) = (body.span.file.clone(), body.span.line);
            return Err(EditError::Elsewhere { name: name.to_owned(), file, line });
        }
        Ok(())
    }
}

fn unit_of(root: &Node) -> LengthUnit {
    root.get("units")
        .and_then(|entry| entry.value.scalar())
        .and_then(LengthUnit::from_word)
        .unwrap_or(LengthUnit::Millimetre)
}

/// Decimals that keep a millionth of a millimetre.
fn decimals(unit: LengthUnit) -> usize {
    match unit {
        LengthUnit::Millimetre => 6,
        LengthUnit::Centimetre => 7,
        LengthUnit::Inch => 8,
        LengthUnit::Metre | LengthUnit::Foot => 9,
    }
}

fn dedented(text: &str) -> String {
    let blank = |line: &str| line.len() - line.trim_start_matches(' ').len();
    let least = text.lines().filter(|line| !line.trim().is_empty()).map(blank).min().unwrap_or(0);
    let lines: Vec<&str> = text.lines().map(|line| line.get(least..).unwrap_or("")).collect();
    lines.join("\n").trim_matches('\n').to_owned()
}

enum Key {
    Item(usize),
    Entry(String),
}

/// The first place of a document that names a body which is gone: path, key, and what to tell.
fn reference(root: &Node, name: &str) -> Option<(Vec<String>, Key, String)> {
    let path = |keys: &[&str]| keys.iter().map(|key| key.to_string()).collect::<Vec<_>>();
    let holds = |node: &Node| match &node.real().kind {
        NodeKind::List(items, _) => items.iter().position(|item| item.scalar() == Some(name)),
        _ => (node.scalar() == Some(name)).then_some(0),
    };
    for (list, key, word) in [("joined", "bodies", "joined pair"), ("rules", "between", "room rule")] {
        let Some(entry) = root.get(list) else { continue };
        let NodeKind::List(items, _) = &entry.value.real().kind else { continue };
        for (at, item) in items.iter().enumerate() {
            if let Some(pair) = item.get(key)
                && holds(&pair.value).is_some()
            {
                return Some((path(&[list]), Key::Item(at), format!("{word} {}", flow(&pair.value))));
            }
        }
    }
    let NodeKind::Map(points, _) = &root.get("service")?.value.real().kind else { return None };
    for point in points {
        for kind in ["touch", "turn", "pour", "lift-out"] {
            let body = point.value.get(kind).and_then(|entry| entry.value.get("body").cloned());
            if body.is_some_and(|body| body.value.scalar() == Some(name)) {
                let told = format!("service point {}", point.key);
                return Some((path(&["service"]), Key::Entry(point.key.clone()), told));
            }
        }
        if let Some(without) = point.value.get("without")
            && let Some(at) = holds(&without.value)
        {
            let told = format!("`without` of service point {}", point.key);
            return Some(match &without.value.real().kind {
                NodeKind::List(..) => (path(&["service", &point.key, "without"]), Key::Item(at), told),
                _ => (path(&["service", &point.key]), Key::Entry("without".to_owned()), told),
            });
        }
    }
    None
}
