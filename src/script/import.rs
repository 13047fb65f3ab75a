//! Imports: the house's scripts, and scripts beside the scene inside its folder. Nothing else.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Component, Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use rhai::{Engine, EvalAltResult, Module, ModuleResolver, Position, Scope};

use super::desk::Desk;
use super::fault::Fault;
use super::house;
use super::kind::{did_you_mean, shortened};

/// Imports within imports. Deeper ones are a knot.
const DEEPEST: usize = 4;

/// Finds what a script may import.
pub(super) struct Resolver {
    desk: Rc<RefCell<Desk>>,
    ready: RefCell<BTreeMap<String, Rc<Module>>>,
    under_way: RefCell<Vec<String>>,
}

impl Resolver {
    pub(super) fn new(desk: &Rc<RefCell<Desk>>) -> Self {
        Resolver {
            desk: Rc::clone(desk),
            ready: RefCell::new(BTreeMap::new()),
            under_way: RefCell::new(Vec::new()),
        }
    }

    /// The text of a script and the name by which messages call it.
    fn text(&self, path: &str) -> Result<(String, Arc<str>), Fault> {
        if let Some(name) = path.strip_prefix(house::PREFIX) {
            let names = house::house_scripts().iter().map(|script| script.name);
            let found = house::house_scripts().iter().find(|script| script.name == name);
            return found.map(|script| (path.to_owned(), script.text.into())).ok_or_else(|| {
                let near = did_you_mean(name, names.clone());
                let known: Vec<String> = names.map(|name| format!("`{}{name}`", house::PREFIX)).collect();
                refused(
                    format!("there is no house script `{}`", shortened(path, 60)),
                    format!("{near}there are {}", known.join(" and ")),
                )
            });
        }
        let (folder, most) = {
            let desk = self.desk.borrow();
            (desk.options.folder.clone(), desk.options.script_bytes)
        };
        let Some(folder) = folder else {
            return Err(refused(
                format!("`{}` cannot be imported: this run has no folder of its own", shortened(path, 60)),
                "only `house/...` can be imported here",
            ));
        };
        let relative = tame(path)?;
        let name = relative.to_string_lossy().replace('\\', "/");
        let file = inside(&folder, &relative, &name)?;
        let size = fs::metadata(&file).map_err(|error| unreadable(&name, &error))?;
        if !size.is_file() {
            return Err(refused(format!("`{name}` is not a file"), "import a script"));
        }
        if size.len() > most as u64 {
            return Err(Fault::limit(
                format!("`{name}` is larger than a script may be"),
                "script_bytes",
                most,
            ));
        }
        let bytes = fs::read(&file).map_err(|error| unreadable(&name, &error))?;
        let text = String::from_utf8(bytes)
            .map_err(|_| refused(format!("`{name}` is not UTF-8 text"), "save it as UTF-8"))?;
        if text.len() > most {
            return Err(Fault::limit(
                format!("`{name}` is larger than a script may be"),
                "script_bytes",
                most,
            ));
        }
        Ok((name, text.into()))
    }

    fn load(
        &self,
        engine: &Engine,
        path: &str,
        position: Position,
    ) -> Result<Rc<Module>, Box<EvalAltResult>> {
        let limit = self.desk.borrow().options.imports;
        let (name, text) = self.text(path).map_err(|fault| fault.into_rhai(position))?;
        if let Some(module) = self.ready.borrow().get(&name) {
            return Ok(Rc::clone(module));
        }
        let circle = self.under_way.borrow().iter().position(|loading| *loading == name);
        if let Some(start) = circle {
            let mut names: Vec<String> =
                self.under_way.borrow()[start..].iter().map(|name| format!("`{name}`")).collect();
            names.push(format!("`{name}`"));
            let fault = refused(
                format!("these scripts import each other in a circle: {}", names.join(" imports ")),
                "move what both need into a third script",
            );
            return Err(fault.into_rhai(position));
        }
        if self.ready.borrow().len() >= limit {
            return Err(
                Fault::limit("more scripts are imported than may be", "imports", limit).into_rhai(position)
            );
        }
        if self.under_way.borrow().len() >= DEEPEST {
            let fault = refused(
                format!("`{name}` is an import within imports, {DEEPEST} deep already"),
                "import it from the first script",
            );
            return Err(fault.into_rhai(position));
        }
        self.desk.borrow_mut().sources.insert(name.clone(), Arc::clone(&text));
        self.under_way.borrow_mut().push(name.clone());
        let module = self.module(engine, &name, &text);
        self.under_way.borrow_mut().pop();
        let module =
            Rc::new(module.map_err(|error| EvalAltResult::ErrorInModule(name.clone(), error, position))?);
        self.ready.borrow_mut().insert(name, Rc::clone(&module));
        Ok(module)
    }

    fn module(&self, engine: &Engine, name: &str, text: &str) -> Result<Module, Box<EvalAltResult>> {
        let mut ast = engine.compile(text).map_err(EvalAltResult::from)?;
        ast.set_source(name);
        match name.strip_prefix(house::PREFIX) {
            Some(short) => Ok(house::module(&self.desk, short, ast)),
            None => Module::eval_ast_as_new(Scope::new(), &ast, engine),
        }
    }
}

impl ModuleResolver for Resolver {
    fn resolve(
        &self,
        engine: &Engine,
        _source: Option<&str>,
        path: &str,
        position: Position,
    ) -> Result<Rc<Module>, Box<EvalAltResult>> {
        self.load(engine, path, position)
    }
}

fn refused(message: impl Into<String>, help: impl Into<String>) -> Fault {
    Fault::new("script::import", message, help)
}

fn unreadable(name: &str, error: &std::io::Error) -> Fault {
    refused(
        format!("`{name}` cannot be read: {}", error.kind()),
        "see that the file is there and may be read",
    )
}

/// A relative path of plain names, `.rhai` added when it has no ending.
fn tame(path: &str) -> Result<PathBuf, Fault> {
    let shown = shortened(path, 60);
    let escape = |what: &str| {
        refused(
            format!("`{shown}` cannot be imported: {what}"),
            "import `house/NAME`, or a script in the scene's folder by its path from there: `parts/bracket`",
        )
    };
    if path.is_empty() {
        return Err(escape("it is empty"));
    }
    if path.contains(['\\', ':', '\0']) || path.chars().any(char::is_control) {
        return Err(escape("it holds a character that no script's path needs"));
    }
    let mut tame = PathBuf::new();
    for part in Path::new(path).components() {
        match part {
            Component::Normal(name) => tame.push(name),
            Component::CurDir => {}
            Component::ParentDir => return Err(escape("it leaves the scene's folder")),
            Component::RootDir | Component::Prefix(_) => return Err(escape("it is not relative")),
        }
    }
    match tame.extension().and_then(|ending| ending.to_str()) {
        None => {
            tame.set_extension("rhai");
            Ok(tame)
        }
        Some("rhai") => Ok(tame),
        Some(_) => Err(escape("scripts end in `.rhai`")),
    }
}

/// The file itself, links followed, when it lies inside the folder.
fn inside(folder: &Path, relative: &Path, name: &str) -> Result<PathBuf, Fault> {
    let missing = || {
        let others = beside(folder, relative);
        let near = did_you_mean(name, others.iter().map(String::as_str));
        let list = if others.is_empty() {
            "there are no scripts in that folder".to_owned()
        } else {
            format!("there are {}", others.join(", "))
        };
        refused(
            format!("the scene's folder has no script `{}`", shortened(name, 60)),
            format!("{near}{list}"),
        )
    };
    let home = folder.canonicalize().map_err(|error| unreadable("the scene's folder", &error))?;
    let file = home.join(relative).canonicalize().map_err(|_| missing())?;
    if !file.starts_with(&home) {
        return Err(refused(
            format!("`{}` cannot be imported: it is a link out of the scene's folder", shortened(name, 60)),
            "copy the script into the scene's folder",
        ));
    }
    Ok(file)
}

/// Scripts in the folder where the missing one was looked for, at most twelve.
fn beside(folder: &Path, relative: &Path) -> Vec<String> {
    let parent = relative.parent().unwrap_or(Path::new(""));
    let Ok(entries) = fs::read_dir(folder.join(parent)) else { return Vec::new() };
    let mut names: Vec<String> = entries
        .flatten()
        .take(1_000)
        .map(|entry| parent.join(entry.file_name()))
        .filter(|path| path.extension().is_some_and(|ending| ending == "rhai"))
        .map(|path| path.to_string_lossy().replace('\\', "/"))
        .collect();
    names.sort();
    names.truncate(12);
    names
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn only_plain_relative_paths_are_tame() {
        for (path, want) in [
            ("bracket", "bracket.rhai"),
            ("parts/bracket", "parts/bracket.rhai"),
            ("./parts/bracket.rhai", "parts/bracket.rhai"),
        ] {
            assert_eq!(tame(path).unwrap(), Path::new(want));
        }
        for path in ["", "../x", "a/../../x", "/etc/x", "c:x", "a\\b", "a\0b", "x.yaml", "x.rhai/../../y"] {
            assert!(tame(path).is_err(), "{path:?} must be refused");
        }
    }
}
