//! Film strips of ways in: `way-in --film`, and a picture for each step of `order --card`.

use std::path::Path;

use crate::assembly::PartStep;
use crate::scene::Scene;
use crate::space::Length;

use super::said::{Failure, Wrong};

/// What a strip is of.
// A build without the viewer draws none, so it never looks at it.
#[cfg_attr(not(feature = "viewer"), expect(dead_code))]
pub(super) struct Strip<'a> {
    /// The scene with every part where it is mounted.
    pub scene: &'a Scene,
    /// Parts that go in one after the other.
    pub kit: &'a [String],
    /// Bodies taken off first.
    pub without: &'a [String],
    /// Least gap asked for.
    pub gap: Length,
}

/// Refuses, before anything is searched, a name under which no strip can be written, and a build that draws nothing.
pub(super) fn can_write(path: &Path, scene_file: &Path, scene: &Scene) -> Result<(), Failure> {
    if cfg!(not(feature = "viewer")) {
        #[cfg(not(feature = "viewer"))]
        return Err(super::view::without_viewer());
    }
    if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png")) {
        return Err(Wrong::new(
            format!("{} does not end in .png, and PNG is what is written", path.display()),
            "name the file like `film.png`",
        )
        .into());
    }
    if let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir()) {
        let what = format!("there is no folder {} to write into", folder.display());
        return Err(Wrong::new(what, "make it first, or name another").into());
    }
    Ok(super::new_file::is_no_input(path, scene_file, scene)?)
}

#[cfg(not(feature = "viewer"))]
impl Strip<'_> {
    /// This build draws nothing.
    pub fn save(&self, _steps: &[PartStep], _first: usize, _path: &Path) -> Result<(), Failure> {
        Err(super::view::without_viewer())
    }
}

#[cfg(feature = "viewer")]
impl Strip<'_> {
    /// Draws steps, the first of them the `first`th of all, and writes them to a file.
    pub fn save(&self, steps: &[PartStep], first: usize, path: &Path) -> Result<(), Failure> {
        use crate::report::CAUTIONS;
        use crate::view::{BodyWay, FilmOptions, FilmRow, film};

        let ways: Vec<BodyWay> = steps.iter().map(|step| self.way(step)).collect();
        let heading = |at: usize, step: &PartStep| {
            let number = if self.kit.len() > 1 { format!("{}. ", first + at) } else { String::new() };
            let after = match step.after.is_empty() {
                true => String::new(),
                false => format!(", after {}", step.after.join(", ")),
            };
            let moves = step.way.moves().len();
            format!("{number}{}{after}: {moves} move{}", step.part, if moves == 1 { "" } else { "s" })
        };
        let rows: Vec<FilmRow<'_>> = steps
            .iter()
            .zip(&ways)
            .enumerate()
            .map(|(at, (step, way))| FilmRow { scene: self.scene, way, heading: heading(at, step) })
            .collect();
        let parts: Vec<&str> = steps.iter().map(|step| step.part.as_str()).collect();
        let drawn = film(
            &rows,
            &FilmOptions {
                title: format!(
                    "{}: {} {} in",
                    self.scene.title,
                    parts.join(", then "),
                    if parts.len() == 1 { "goes" } else { "go" }
                ),
                notes: self.notes(steps),
                footer: CAUTIONS.iter().map(|caution| (*caution).to_owned()).collect(),
                ..FilmOptions::default()
            },
        )?;
        Ok(drawn.save(path)?)
    }

    fn way(&self, step: &PartStep) -> crate::view::BodyWay {
        let later = self.kit.iter().filter(|name| **name != step.part && !step.after.contains(name));
        crate::view::BodyWay {
            body: step.part.clone(),
            way: step.way.clone(),
            seat_mm: step.seat_mm,
            away: later.chain(self.without).cloned().collect(),
        }
    }

    fn notes(&self, steps: &[PartStep]) -> Vec<String> {
        let seat = match steps.iter().any(|step| step.seat_mm.is_some()) {
            true => " The move on to a seat is not looked at.",
            false => "",
        };
        let mut notes = vec![
            format!(
                "Right, left, forward and rearward are the vehicle's. Every instant of every move is proved to keep {:.1} mm, or \
                 what the report says.{seat}",
                self.gap.mm()
            ),
            "An arrow shows how the part's middle goes, or where it turns how its two ends go; a short way is drawn longer than it is."
                .to_owned(),
        ];
        if !self.without.is_empty() {
            notes.push(format!("Taken off first: {}.", self.without.join(", ")));
        }
        notes
    }
}
