//! A scene as a command sees it: loaded, and fitted out by a script when one is named.

use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};

use crate::check::{CheckOptions, Checker, Findings};
use crate::scene::Scene;
use crate::script::{ScriptOptions, ScriptRun, run_script};

use super::asker::CheckAsker;
use super::said::{Failure, Wrong, aside};
use super::today::today;

/// The scene, and a script to run on it first.
#[derive(Debug, clap::Args)]
pub(super) struct SceneArgs {
    /// The scene file (YAML).
    pub scene: PathBuf,
    /// Run this script on the scene first; the scene file is left as it is.
    #[arg(long, value_name = "SCRIPT")]
    pub script: Option<PathBuf>,
}

/// A scene ready to be asked about.
pub(super) struct FittedOut {
    /// As the file has it.
    pub before: Scene,
    /// What the script did, when there was one.
    pub script: Option<ScriptRun>,
    /// Keeps the trees that the script's questions built.
    pub checker: Checker,
}

impl FittedOut {
    /// Loads the scene and runs the script.
    pub fn load(scene: &Path, script: Option<&Path>) -> Result<Self, Failure> {
        let before = Scene::load(scene)?;
        let checker = RefCell::new(Checker::new());
        let script = match script {
            None => None,
            Some(path) => {
                let source = fs::read_to_string(path).map_err(|error| {
                    let why = if path.is_dir() { "it is a folder".to_owned() } else { error.to_string() };
                    Wrong::new(
                        format!("the script {} could not be read: {why}", path.display()),
                        "give the path of a script in Rhai, UTF-8 text",
                    )
                })?;
                let folder = scene.parent().filter(|folder| !folder.as_os_str().is_empty());
                let folder = folder.unwrap_or(Path::new("."));
                // Named from the scene's folder, so that a shared scene gives the same words anywhere.
                let name = path.strip_prefix(folder).unwrap_or(path).display().to_string();
                let options = ScriptOptions {
                    units: before.units,
                    folder: Some(folder.to_path_buf()),
                    date: Some(today()),
                    ..ScriptOptions::default()
                };
                let run = run_script(&source, &name, &before, &CheckAsker(&checker), &options)?;
                for line in &run.printed {
                    aside(line);
                }
                if run.printed_dropped > 0 {
                    aside(&format!(
                        "({} more lines printed by the script were dropped)",
                        run.printed_dropped
                    ));
                }
                Some(run)
            }
        };
        Ok(FittedOut { before, script, checker: checker.into_inner() })
    }

    /// The scene with what the script placed.
    pub fn scene(&self) -> &Scene {
        self.script.as_ref().map_or(&self.before, |run| &run.scene)
    }

    /// All findings, kept equipment compared with the scene before the script when there was one.
    pub fn check(&mut self, options: &CheckOptions) -> Findings {
        match &self.script {
            Some(run) => self.checker.check(&run.scene, Some(&self.before), options),
            None => self.checker.check(&self.before, None, options),
        }
    }
}
