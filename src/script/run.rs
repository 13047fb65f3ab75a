//! Running a script against a copy of a scene.

use std::cell::RefCell;
use std::rc::Rc;
use std::sync::Arc;
use std::thread;

use crate::scene::{Joined, Note, Scene};

use super::ask::{Asked, Asker, line};
use super::changes::Change;
use super::desk::Desk;
use super::error::{ScriptError, ScriptErrors};
use super::explain::explain;
use super::fault::Fault;
use super::host;
use super::options::ScriptOptions;
use super::yaml::{self, YamlFragment};

/// What a script did.
#[derive(Clone, Debug)]
pub struct ScriptRun {
    /// The script.
    pub script: String,
    /// The scene as the script left it.
    pub scene: Scene,
    /// What became of which body; those of kept bodies are findings.
    pub changes: Vec<Change>,
    /// Joints that the script declared.
    pub joined: Vec<Joined>,
    /// Notes that the script left.
    pub notes: Vec<Note>,
    /// Printed lines, in order.
    pub printed: Vec<String>,
    /// Printed lines beyond the limit, which were dropped.
    pub printed_dropped: usize,
    /// Gaps asked for, in order, with their answers.
    pub asked: Vec<Asked>,
    /// Steps of the interpreter that it took.
    pub operations: u64,
    pub(super) fragments: Vec<YamlFragment>,
}

impl ScriptRun {
    /// Changes of kept bodies: factory equipment that the script moved, removed or renamed.
    pub fn kept_disturbed(&self) -> impl Iterator<Item = &Change> {
        self.changes.iter().filter(|change| change.kept)
    }

    /// What the scene's document needs for the new scene to be saved: one fragment a body changed,
    /// then the joints and the notes, in the order in which they are to be spliced in. Lengths are
    /// in the scene's units.
    pub fn yaml_fragments(&self) -> &[YamlFragment] {
        &self.fragments
    }
}

/// Stack of the script's thread. A script's nesting is bounded in calls and expressions; this is
/// what those bounds need at their worst, several times over. Only pages that are used take memory.
const STACK_BYTES: usize = 256 * 1024 * 1024;

/// Runs a script against a copy of a scene.
///
/// `name` is what messages and [`Span`](crate::scene::Span)s call the script: its path from the
/// scene's folder. `ask` answers its questions about gaps, on the calling thread. The same script,
/// scene, answers and options give the same run, on any machine.
///
/// # Errors
/// Where the script is wrong, what about it and what would cure it; the scene is then as it was.
///
/// # Example
/// ```
/// use baywright::scene::{Carrier, Scene, Span};
/// use baywright::motion::Movement;
/// use baywright::script::{run_script, Asker, Gap, ScriptOptions, When};
///
/// struct Nobody;
/// impl Asker for Nobody {
///     fn gap(&self, _: &Scene, _: &str, _: &str, _: When) -> Result<Gap, String> {
///         Err("no gaps here".to_owned())
///     }
/// }
/// let chassis = Carrier {
///     name: "chassis".to_owned(), movement: Movement::still(),
///     freedom_words: Vec::new(), span: Span::default(),
/// };
/// let scene = Scene { carriers: vec![chassis], ..Scene::default() };
/// let script = r#"place("pump", box(80, 60, "2-1/2 in"), at(300, -200, 650), #{role: "pump"});"#;
/// let run = run_script(script, "pump.rhai", &scene, &Nobody, &ScriptOptions::default()).unwrap();
/// assert_eq!(run.scene.bodies[0].name, "pump");
/// assert!(run.scene.bodies[0].candidate);
/// ```
pub fn run_script(
    source: &str,
    name: &str,
    scene: &Scene,
    ask: &dyn Asker,
    options: &ScriptOptions,
) -> Result<ScriptRun, ScriptErrors> {
    let alone = |message: &str, help: &str| ScriptErrors {
        script: name.to_owned(),
        list: vec![ScriptError::without_place(name, &Fault::new("script::fault", message, help))],
        printed: Vec::new(),
    };
    if source.len() > options.script_bytes {
        let fault = Fault::limit("the script is larger than it may be", "script_bytes", options.script_bytes);
        return Err(ScriptErrors {
            script: name.to_owned(),
            list: vec![ScriptError::without_place(name, &fault)],
            printed: Vec::new(),
        });
    }
    let (line, counter) = line();
    let (source, script, scene, options) =
        (source.to_owned(), name.to_owned(), scene.clone(), options.clone());
    let work = move || run_here(&source, Desk::new(scene, &script, options, line));
    // A thread of its own: the depth at which a script fails must not hang on the caller's stack.
    let thread = thread::Builder::new()
        .name("script".to_owned())
        .stack_size(STACK_BYTES)
        .spawn(work)
        .map_err(|error| alone(&format!("no thread could be started: {error}"), "free some memory"))?;
    counter.serve(ask);
    match thread.join() {
        Ok(result) => result.map_err(|errors| *errors),
        Err(_) => Err(alone(
            "the interpreter met a fault of its own",
            "the script is not to blame for that; please report it with the script",
        )),
    }
}

fn run_here(source: &str, desk: Desk) -> Result<ScriptRun, Box<ScriptErrors>> {
    let name = desk.script.clone();
    let desk = Rc::new(RefCell::new(desk));
    desk.borrow_mut().sources.insert(name.clone(), Arc::from(source));
    let engine = host::engine(&desk);
    let result = engine.compile(source).map_err(|error| Box::new(rhai::EvalAltResult::from(error))).and_then(
        |mut ast| {
            ast.set_source(name.as_str());
            engine.run_ast(&ast)
        },
    );
    let mut desk = desk.borrow_mut();
    let printed = std::mem::take(&mut desk.printed);
    if let Err(error) = result {
        let list = vec![explain(&error, &desk)];
        return Err(Box::new(ScriptErrors { script: name, list, printed }));
    }
    let changes = desk.changes();
    let joined = desk.new_joints();
    let fragments = yaml::fragments(&desk, &changes, &joined);
    Ok(ScriptRun {
        script: name,
        changes,
        joined,
        fragments,
        printed,
        printed_dropped: desk.printed_dropped,
        notes: std::mem::take(&mut desk.notes),
        asked: std::mem::take(&mut desk.asked),
        operations: desk.operations,
        scene: Arc::unwrap_or_clone(std::mem::take(&mut desk.scene)),
    })
}
