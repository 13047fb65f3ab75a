//! From a path to a scene: the file, all it includes, and what every scene knows.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::decode::{Written, document};
use super::error::{Fault, Faults, SceneErrors, nearest};
use super::folder::{Folder, in_words};
use super::read::{LARGEST_DOCUMENT, NotText, Place, Source, text_of, tree_of};
use super::resolve::{Trace, resolve};
use super::{Scene, library};

impl Scene {
    /// Reads a scene, all it includes and all it names, and looks every name up.
    ///
    /// # Errors
    /// Every fault of the document and the files it names, each with its place and remedy.
    ///
    /// # Example
    /// ```no_run
    /// use baywright::scene::Scene;
    /// match Scene::load("van.yaml".as_ref()) {
    ///     Ok(scene) => println!("{} bodies", scene.bodies.len()),
    ///     Err(errors) => eprintln!("{errors}"), // van.yaml:12:9: `shpae` is not a key of a body; ...
    /// }
    /// ```
    pub fn load(path: &Path) -> Result<Scene, SceneErrors> {
        load(path, None).map(|loaded| loaded.scene)
    }

    /// As [`Scene::load`], but with `text` in place of what the file holds; the file itself need not
    /// exist, its folder must.
    ///
    /// # Errors
    /// As [`Scene::load`].
    pub fn load_text(path: &Path, text: &str) -> Result<Scene, SceneErrors> {
        load(path, Some(text)).map(|loaded| loaded.scene)
    }
}

/// A scene with what saving needs to know of it.
pub(crate) struct Loaded {
    /// The scene.
    pub scene: Scene,
    /// How its bodies came by their places.
    pub trace: Trace,
}

/// Files of a scene as they are met.
pub(crate) struct Met<'a> {
    /// The scene's folder.
    pub folder: &'a Folder,
    /// Relative paths, the scene first.
    pub files: std::cell::RefCell<Vec<PathBuf>>,
}

impl Met<'_> {
    /// Notes a file that the scene names.
    pub fn note(&self, relative: &str) {
        let path = PathBuf::from(relative);
        let mut files = self.files.borrow_mut();
        if !files.contains(&path) {
            files.push(path);
        }
    }
}

pub(crate) fn load(path: &Path, text: Option<&str>) -> Result<Loaded, SceneErrors> {
    let faults = Faults::default();
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let unread = |why: String| {
        let faults = Faults::default();
        faults.add(Place::top(&Source::new(&name, "")), Fault::File { path: name.clone(), why });
        faults.settle::<Loaded>(None)
    };
    let folder = match Folder::of(path) {
        Ok(folder) => folder,
        Err(error) => return unread(in_words(&error)),
    };
    let met = Met { folder: &folder, files: std::cell::RefCell::new(vec![PathBuf::from(&name)]) };
    let source = match text {
        Some(text) => Some(Source::new(&name, text.strip_prefix('\u{FEFF}').unwrap_or(text))),
        None => match read_source(path, &name) {
            Ok(source) => Some(source),
            Err(fault) => {
                faults.add(Place::top(&Source::new(&name, "")), fault);
                None
            }
        },
    };
    let mut all: Vec<Written> = Vec::new();
    let mut seen = vec![name.clone()];
    if let Some(source) = source {
        read_into(&source, false, &faults, &met, &mut seen, &mut all);
    }
    let mut facts = Vec::new();
    for (name, text) in library::facts() {
        let source = Source::new(&format!("house:{name}"), text);
        if let Some(root) = tree_of(&source, &faults) {
            facts.push(document(&faults, &root, true));
        }
    }
    // A document that cannot be decoded has no names: to look them up would only tell of its faults again.
    let loaded = if all.is_empty() { None } else { Some(resolve(path, all, facts, &faults, &met)) };
    faults.settle(loaded)
}

fn read_source(path: &Path, name: &str) -> Result<Arc<Source>, Fault> {
    let unreadable = |why: String| Fault::File { path: name.to_owned(), why };
    let about = std::fs::metadata(path).map_err(|error| unreadable(in_words(&error)))?;
    if !about.is_file() {
        return Err(unreadable("it is not a file".to_owned()));
    }
    if about.len() > LARGEST_DOCUMENT {
        return Err(Fault::TooMuch { what: "bytes in one document", limit: LARGEST_DOCUMENT });
    }
    let bytes = std::fs::read(path).map_err(|error| unreadable(in_words(&error)))?;
    match text_of(&bytes) {
        Ok((text, _)) => Ok(Source::new(name, text)),
        Err(NotText::OtherEncoding(found)) => Err(Fault::Encoding { found: found.to_owned() }),
        Err(NotText::BadByte(at)) => {
            let line = bytes[..at].iter().filter(|byte| **byte == b'\n').count() + 1;
            Err(Fault::Encoding { found: format!("not text at byte {at}, line {line}") })
        }
    }
}

/// Decodes a file, what it includes first, so that a rule of its own comes later and wins.
fn read_into(
    source: &Arc<Source>,
    included: bool,
    faults: &Faults,
    met: &Met<'_>,
    seen: &mut Vec<String>,
    all: &mut Vec<Written>,
) {
    let Some(root) = tree_of(source, faults) else { return };
    let written = document(faults, &root, included);
    for path in &written.include {
        let found = match path.text.strip_prefix("house:") {
            Some(name) => match library::find(name) {
                Some(text) => Ok((format!("house:{name}"), Source::new(&format!("house:{name}"), text))),
                None => Err(Fault::UnknownName {
                    what: "file of the built-in library",
                    name: name.to_owned(),
                    nearest: nearest(name, library::names()),
                    known: library::names().map(str::to_owned).collect(),
                }),
            },
            None => met.folder.find(source.name(), &path.text).and_then(|inside| {
                met.note(&inside.relative);
                Ok((inside.relative.clone(), read_source(&inside.full, &inside.relative)?))
            }),
        };
        match found {
            // Two files may both include a third; it is read once, and a ring of includes ends here.
            Ok((name, _)) if seen.contains(&name) => {}
            Ok((name, source)) => {
                seen.push(name);
                if seen.len() > 200 {
                    faults.add(path.place.clone(), Fault::TooMuch { what: "included files", limit: 200 });
                    return;
                }
                read_into(&source, true, faults, met, seen, all);
            }
            Err(fault) => faults.add(path.place.clone(), fault),
        }
    }
    all.push(written);
}
