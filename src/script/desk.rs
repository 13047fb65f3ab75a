//! The desk on which a script works: its copy of the scene, and what it has spent.

use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;
use std::time::Instant;

use nalgebra::{Matrix6, Vector6};
use rhai::{Dynamic, NativeCallContext};

use crate::scene::{Body, Joined, Note, Placement, RuleSide, Scene, Span};
use crate::space::{Length, Pose};

use super::ask::{Asked, Line};
use super::changes::{Change, Deed};
use super::fault::Fault;
use super::kind::{Reader, did_you_mean};
use super::options::ScriptOptions;
use super::placing::Placing;
use super::values::{Base, BodyView, Form, Stand};

/// What is known of a body besides what the scene says.
#[derive(Clone, Debug)]
pub(super) struct Track {
    /// Survives renaming; never used twice.
    pub(super) id: usize,
    /// Index in the first scene.
    pub(super) origin: Option<usize>,
    /// The last call that touched it.
    pub(super) span: Option<Span>,
    /// How it was placed, when it was.
    pub(super) placing: Option<Placing>,
    /// What it was placed on, when that is known.
    pub(super) on: Option<Rc<Base>>,
}

/// A body of the first scene that was removed.
struct Gone {
    origin: usize,
    span: Span,
    service: Vec<String>,
}

/// The desk.
pub(super) struct Desk {
    pub(super) options: ScriptOptions,
    /// Name of the script that was started.
    pub(super) script: String,
    /// The scene as it is now.
    pub(super) scene: Arc<Scene>,
    first: Arc<Scene>,
    /// One a body, in the order of the scene's.
    pub(super) tracks: Vec<Track>,
    gone: Vec<Gone>,
    next_id: usize,
    /// Names of removed bodies with the place of the removal.
    removed_names: Vec<(usize, String, Span)>,
    pub(super) line: Line,
    pub(super) asked: Vec<Asked>,
    pub(super) notes: Vec<Note>,
    pub(super) printed: Vec<String>,
    pub(super) printed_dropped: usize,
    printed_bytes: usize,
    placed: usize,
    shape_parts: usize,
    pub(super) operations: u64,
    started: Instant,
    /// Calls into the house's scripts that are under way, outermost first.
    pub(super) frames: Vec<Span>,
    /// Texts of all scripts read, by name.
    pub(super) sources: BTreeMap<String, Arc<str>>,
}

/// Longest name of a body.
const LONGEST_NAME: usize = 64;

impl Desk {
    pub(super) fn new(scene: Scene, script: &str, options: ScriptOptions, line: Line) -> Self {
        let scene = Arc::new(scene);
        let tracks: Vec<Track> = (0..scene.bodies.len())
            .map(|index| Track { id: index, origin: Some(index), span: None, placing: None, on: None })
            .collect();
        Desk {
            options,
            script: script.to_owned(),
            first: Arc::clone(&scene),
            next_id: tracks.len(),
            tracks,
            scene,
            gone: Vec::new(),
            removed_names: Vec::new(),
            line,
            asked: Vec::new(),
            notes: Vec::new(),
            printed: Vec::new(),
            printed_dropped: 0,
            printed_bytes: 0,
            placed: 0,
            shape_parts: 0,
            operations: 0,
            started: Instant::now(),
            frames: Vec::new(),
            sources: BTreeMap::new(),
        }
    }

    pub(super) fn reader(&self) -> Reader {
        Reader { units: self.options.units }
    }

    /// Where a call stands in the user's own scripts: a call inside a house script counts where
    /// the house was called.
    pub(super) fn span_of(&self, context: &NativeCallContext<'_>) -> Span {
        self.frames.first().cloned().unwrap_or_else(|| self.own_span_of(context))
    }

    /// Where a call stands, be it in a house script.
    pub(super) fn own_span_of(&self, context: &NativeCallContext<'_>) -> Span {
        let position = context.call_position();
        Span {
            file: context.call_source().unwrap_or(&self.script).to_owned(),
            line: position.line().unwrap_or(0),
            column: position.position().unwrap_or(0),
        }
    }

    /// Counts one step of the interpreter; says why the run must end.
    pub(super) fn step(&mut self) -> Option<Fault> {
        self.operations += 1;
        if self.operations > self.options.operations {
            return Some(Fault::limit(
                "the script takes more steps than it may: perhaps a loop has no end",
                "operations",
                self.options.operations,
            ));
        }
        if self.operations.is_multiple_of(64) { self.out_of_time() } else { None }
    }

    /// Says when the time is up.
    pub(super) fn out_of_time(&self) -> Option<Fault> {
        let limit = self.options.time?;
        (self.started.elapsed() > limit).then(|| {
            Fault::limit("the script takes longer than it may", "time", format!("{} s", limit.as_secs_f64()))
        })
    }

    /// Counts the parts of a shape about to be made.
    pub(super) fn spend_parts(&mut self, parts: usize) -> Result<(), Fault> {
        self.shape_parts = self.shape_parts.saturating_add(parts);
        if self.shape_parts > self.options.shape_parts {
            return Err(Fault::limit(
                "the script makes more shapes, or larger ones, than it may",
                "shape_parts",
                self.options.shape_parts,
            ));
        }
        Ok(())
    }

    /// Keeps a printed line.
    pub(super) fn print(&mut self, line: String) {
        let most_bytes = self.options.printed_lines.saturating_mul(200);
        if self.printed.len() >= self.options.printed_lines || self.printed_bytes + line.len() > most_bytes {
            self.printed_dropped += 1;
        } else {
            self.printed_bytes += line.len();
            self.printed.push(line);
        }
    }

    /// The index of a body that is there.
    pub(super) fn index(&self, id: usize) -> Result<usize, Fault> {
        self.tracks.iter().position(|track| track.id == id).ok_or_else(|| {
            let gone = self.removed_names.iter().find(|(gone, ..)| *gone == id);
            let (name, span) = gone.map_or(("?", Span::default()), |(_, name, span)| (name, span.clone()));
            Fault::new(
                "script::unknown_body",
                format!("body `{name}` was removed at {}:{}", span.file, span.line),
                "use it before it is removed",
            )
        })
    }

    /// A body that is there.
    pub(super) fn body(&self, id: usize) -> Result<&Body, Fault> {
        let index = self.index(id)?;
        self.scene
            .bodies
            .get(index)
            .ok_or_else(|| Fault::new("script::fault", "a body was lost", "report it"))
    }

    /// The number of the body that a value means; `Err(None)` when it cannot mean a body.
    pub(super) fn body_id(&self, value: &Dynamic) -> Result<usize, Option<Fault>> {
        if let Some(view) = value.read_lock::<BodyView>() {
            return self.index(view.id).map(|_| view.id).map_err(Some);
        }
        let name = value.as_immutable_string_ref().map_err(|_| None)?;
        self.body_named(&name).map_err(Some)
    }

    /// The number of the body of a name.
    pub(super) fn body_named(&self, name: &str) -> Result<usize, Fault> {
        if let Some(index) = self.scene.bodies.iter().position(|body| body.name == name) {
            return Ok(self.tracks[index].id);
        }
        if let Some((_, _, span)) = self.removed_names.iter().rev().find(|(_, gone, _)| gone == name) {
            return Err(Fault::new(
                "script::unknown_body",
                format!("body `{name}` was removed at {}:{}", span.file, span.line),
                "use it before it is removed",
            ));
        }
        let names = self.scene.bodies.iter().map(|body| body.name.as_str());
        let near = did_you_mean(name, names.clone());
        Err(Fault::new(
            "script::unknown_body",
            format!("the scene has no body `{}`", super::kind::shortened(name, 60)),
            format!("{near}{}", listed("its bodies are", names)),
        ))
    }

    /// The index of a carrier.
    pub(super) fn carrier_named(&self, name: &str) -> Result<usize, Fault> {
        self.scene.carriers.iter().position(|carrier| carrier.name == name).ok_or_else(|| {
            let names = self.scene.carriers.iter().map(|carrier| carrier.name.as_str());
            let near = did_you_mean(name, names.clone());
            Fault::new(
                "script::unknown_carrier",
                format!("the scene has no carrier `{}`", super::kind::shortened(name, 60)),
                format!("{near}{}", listed("its carriers are", names)),
            )
        })
    }

    /// The name of a carrier by index.
    pub(super) fn carrier_name(&self, index: usize) -> Option<&str> {
        self.scene.carriers.get(index).map(|carrier| carrier.name.as_str())
    }

    fn free_name(&self, name: &str) -> Result<(), Fault> {
        let refuse = |message: String, help: &str| Err(Fault::new("script::name", message, help));
        let shown = super::kind::shortened(name, 40);
        if name == "any" {
            return refuse(
                "`any` cannot name a body: in a rule it means every body".to_owned(),
                "take another name",
            );
        }
        if name.is_empty() || name.trim() != name || name.contains("  ") {
            return refuse(
                format!(
                    "`{shown}` cannot name a body: it is empty or has blanks at its ends or two together"
                ),
                "write a name such as `second-turbo`",
            );
        }
        if name.chars().count() > LONGEST_NAME {
            return refuse(
                format!("`{shown}` cannot name a body: it is longer than 64 characters"),
                "shorten it",
            );
        }
        if let Some(odd) = name.chars().find(|c| !(c.is_alphanumeric() || " -_.".contains(*c))) {
            return refuse(
                format!("`{shown}` cannot name a body: it holds `{}`", odd.escape_debug()),
                "use letters, digits, blanks and - _ .",
            );
        }
        if !name.chars().any(char::is_alphanumeric) {
            return refuse(
                format!("`{shown}` cannot name a body: it has no letter or digit"),
                "write a name such as `second-turbo`",
            );
        }
        if self.scene.frames.iter().any(|frame| frame.name == name) {
            return refuse(
                format!("the scene has a frame `{name}` already, and frames and bodies share their names"),
                "take another name",
            );
        }
        if self.scene.bodies.iter().any(|body| body.name == name) {
            return refuse(
                format!("the scene has a body `{name}` already"),
                "take another name, or `move_body` the one that is there",
            );
        }
        Ok(())
    }

    /// Places a candidate.
    pub(super) fn place(
        &mut self,
        name: &str,
        form: &Form,
        stand: &Stand,
        placing: Placing,
        span: Span,
    ) -> Result<BodyView, Fault> {
        self.free_name(name).map_err(|fault| fault.at_argument(0))?;
        if self.placed >= self.options.bodies {
            return Err(Fault::limit(
                "the script places more bodies than it may",
                "bodies",
                self.options.bodies,
            ));
        }
        let carrier = match placing.carried_by.as_deref().or(stand.carried_by.as_deref()) {
            Some(carrier) => self.carrier_named(carrier).map_err(|fault| fault.at_argument(3))?,
            // `chassis` is the first by the scene's promise.
            None => 0,
        };
        let joined: Vec<String> = placing
            .joined_to
            .iter()
            .map(|id| self.body(*id).map(|body| body.name.clone()))
            .collect::<Result<_, _>>()?;
        let body = Body {
            name: name.to_owned(),
            shape: Arc::clone(&form.shape),
            world_from_body: stand.world_from_it,
            carrier,
            roles: placing.roles.clone(),
            material: placing.material.clone(),
            bent_by: placing.bent_by.clone(),
            hot_c: placing.hot_c,
            flow: None,
            mass_kg: placing.mass_kg,
            hoist: None,
            hose: None,
            kept: false,
            may_move: None,
            candidate: true,
            cover: Length::from_mm(placing.cover_mm()),
            placement: placed_on(stand, &placing),
            fit: None,
            span: span.clone(),
        };
        let scene = Arc::make_mut(&mut self.scene);
        scene.bodies.push(body);
        for other in joined {
            scene.joined.push(Joined {
                one: name.to_owned(),
                other,
                by: placing.by.clone().unwrap_or_default(),
                joint: placing.joint,
                span: span.clone(),
            });
        }
        let id = self.next_id;
        self.next_id += 1;
        self.placed += 1;
        let on = stand.on.clone();
        self.tracks.push(Track { id, origin: None, span: Some(span), placing: Some(placing), on });
        Ok(BodyView { id })
    }

    /// Whether something bends tubes by this name.
    pub(super) fn bends(&self, name: &str) -> bool {
        name == "stock" || self.scene.benders.iter().any(|bender| bender.name == name)
    }

    /// Refuses a role that no rule could mean: a misspelt one would ask for no room at all.
    pub(super) fn role_known(&self, role: &str) -> Result<(), Fault> {
        // A scene built by hand may list none: then any will do.
        if self.scene.roles.is_empty() || self.scene.roles.iter().any(|known| known == role) {
            return Ok(());
        }
        let near = did_you_mean(role, self.scene.roles.iter().map(String::as_str));
        Err(Fault::new(
            "script::unknown_role",
            format!("the scene has no role `{role}`"),
            format!(
                "{near}its roles are {}; add your own under `roles:` in the scene",
                self.scene.roles.join(", ")
            ),
        ))
    }

    /// What a body was placed on, while that is in the scene by that name and stands where it stood.
    pub(super) fn base_of(&self, body: &Body) -> Option<&Base> {
        let index = self.scene.bodies.iter().position(|other| other.name == body.name)?;
        let base = self.tracks.get(index)?.on.as_deref()?;
        let there = match self.scene.body(&base.name) {
            Some(other) if other.name != body.name => other.world_from_body,
            Some(_) => return None,
            None => self.scene.frames.iter().find(|frame| frame.name == base.name)?.world_from_frame,
        };
        same_place(&there, &base.world_from_base).then_some(base)
    }

    /// Stands a body elsewhere. What is known of its place goes with it, turned as it is turned;
    /// it no longer stands where it was measured, so it no longer shares a survey's errors.
    pub(super) fn move_body(&mut self, id: usize, stand: &Stand, span: Span) -> Result<(), Fault> {
        let index = self.index(id)?;
        let scene = Arc::make_mut(&mut self.scene);
        let body = &mut scene.bodies[index];
        if let Some(placing) = &self.tracks[index].placing {
            body.world_from_body = stand.world_from_it;
            body.placement = placed_on(stand, placing);
            let track = &mut self.tracks[index];
            track.span = Some(span);
            track.on = stand.on.clone();
            return Ok(());
        }
        let there_from_here = stand.world_from_it * body.world_from_body.inverse();
        body.world_from_body = stand.world_from_it;
        body.placement.about = there_from_here * body.placement.about;
        let turn = there_from_here.rotation.to_rotation_matrix();
        let mut both = Matrix6::zeros();
        both.fixed_view_mut::<3, 3>(0, 0).copy_from(turn.matrix());
        both.fixed_view_mut::<3, 3>(3, 3).copy_from(turn.matrix());
        body.placement.covariance = both * body.placement.covariance * both.transpose();
        body.placement.source = None;
        body.fit = None;
        self.tracks[index].span = Some(span);
        Ok(())
    }

    /// Takes a body out, with the joints and service points that name it.
    pub(super) fn remove_body(&mut self, id: usize, span: Span) -> Result<(), Fault> {
        let index = self.index(id)?;
        let scene = Arc::make_mut(&mut self.scene);
        let body = scene.bodies.remove(index);
        scene.joined.retain(|joined| joined.one != body.name && joined.other != body.name);
        let mut service = Vec::new();
        scene.service.retain(|point| {
            let stays = point.body != body.name;
            if !stays {
                service.push(point.name.clone());
            }
            stays
        });
        for point in &mut scene.service {
            point.without.retain(|name| *name != body.name);
        }
        let track = self.tracks.remove(index);
        if let Some(origin) = track.origin {
            self.gone.push(Gone { origin, span: span.clone(), service });
        }
        self.removed_names.push((id, body.name, span));
        Ok(())
    }

    /// Gives a body another name; rules, joints and service points follow.
    pub(super) fn rename_body(&mut self, id: usize, name: &str, span: Span) -> Result<(), Fault> {
        self.free_name(name).map_err(|fault| fault.at_argument(1))?;
        let index = self.index(id)?;
        let scene = Arc::make_mut(&mut self.scene);
        let old = std::mem::replace(&mut scene.bodies[index].name, name.to_owned());
        let follow = |text: &mut String| {
            if *text == old {
                name.clone_into(text);
            }
        };
        for rule in &mut scene.rules {
            for side in [&mut rule.one, &mut rule.other] {
                if let RuleSide::Body(body) = side {
                    follow(body);
                }
            }
        }
        for joined in &mut scene.joined {
            follow(&mut joined.one);
            follow(&mut joined.other);
        }
        for point in &mut scene.service {
            follow(&mut point.body);
            point.without.iter_mut().for_each(follow);
        }
        self.tracks[index].span = Some(span);
        Ok(())
    }

    /// Declares two bodies fastened.
    pub(super) fn join(&mut self, one: usize, other: usize, by: &str, span: Span) -> Result<(), Fault> {
        let (one, other) = (self.body(one)?.name.clone(), self.body(other)?.name.clone());
        // Joints are counted with bodies: each is a few words.
        if self.scene.joined.len() >= self.first.joined.len() + self.options.bodies * 2 {
            return Err(Fault::limit(
                "the script joins more bodies than it may",
                "bodies",
                self.options.bodies,
            ));
        }
        let joined = Joined { one, other, by: by.to_owned(), joint: None, span };
        Arc::make_mut(&mut self.scene).joined.push(joined);
        Ok(())
    }

    /// Leaves a remark in the scene.
    pub(super) fn note(&mut self, text: &str) -> Result<(), Fault> {
        if self.notes.len() >= self.options.notes {
            return Err(Fault::limit(
                "the script leaves more notes than it may",
                "notes",
                self.options.notes,
            ));
        }
        let note = Note {
            author: self.options.author.clone().unwrap_or_else(|| format!("script {}", self.script)),
            date: self.options.date.clone().unwrap_or_default(),
            text: text.to_owned(),
        };
        Arc::make_mut(&mut self.scene).notes.push(note.clone());
        self.notes.push(note);
        Ok(())
    }

    /// Joints that the first scene did not have.
    pub(super) fn new_joints(&self) -> Vec<Joined> {
        // Removal only drops, renaming keeps the order: what the script added is at the end, and
        // is known by its place of writing.
        self.scene
            .joined
            .iter()
            .filter(|joined| self.sources.contains_key(&joined.span.file))
            .cloned()
            .collect()
    }

    /// Whether the first scene made a body, of this name now, from marks of a survey.
    pub(super) fn first_body_was_fitted(&self, name: &str) -> bool {
        let track = self.tracks.iter().zip(&self.scene.bodies).find(|(_, body)| body.name == name);
        let origin = track.and_then(|(track, _)| track.origin);
        origin.is_some_and(|origin| self.first.bodies[origin].fit.is_some())
    }

    /// What became of each body, the first scene's in their order, then the new ones.
    pub(super) fn changes(&self) -> Vec<Change> {
        let mut changes = Vec::new();
        for (origin, before) in self.first.bodies.iter().enumerate() {
            if let Some(gone) = self.gone.iter().find(|gone| gone.origin == origin) {
                changes.push(Change {
                    body: before.name.clone(),
                    deed: Deed::Removed { service: gone.service.clone() },
                    kept: before.kept,
                    span: gone.span.clone(),
                });
                continue;
            }
            let Some(index) = self.tracks.iter().position(|track| track.origin == Some(origin)) else {
                continue;
            };
            let after = &self.scene.bodies[index];
            let Some(span) = self.tracks[index].span.clone() else { continue };
            let change =
                |deed| Change { body: after.name.clone(), deed, kept: before.kept, span: span.clone() };
            if after.name != before.name {
                changes.push(change(Deed::Renamed { from: before.name.clone() }));
            }
            if !same_place(&before.world_from_body, &after.world_from_body) {
                changes.push(change(Deed::Moved { from: before.world_from_body, to: after.world_from_body }));
            }
        }
        for (track, body) in self.tracks.iter().zip(&self.scene.bodies) {
            if track.origin.is_none() {
                changes.push(Change {
                    body: body.name.clone(),
                    deed: Deed::Added,
                    kept: false,
                    span: track.span.clone().unwrap_or_default(),
                });
            }
        }
        changes
    }
}

/// Whether a body stands where it stood, to a millionth of a millimetre over a metre.
fn same_place(before: &Pose, after: &Pose) -> bool {
    let shift = (before.translation.vector - after.translation.vector).norm();
    shift <= 1e-6 && before.rotation.angle_to(&after.rotation) <= 1e-9
}

/// `its bodies are a, b, c and 12 more`.
fn listed<'a>(lead: &str, names: impl Iterator<Item = &'a str> + Clone) -> String {
    let count = names.clone().count();
    if count == 0 {
        return "there are none".to_owned();
    }
    let shown: Vec<&str> = names.take(12).collect();
    let more = if count > shown.len() { format!(" and {} more", count - shown.len()) } else { String::new() };
    format!("{lead} {}{more}", shown.join(", "))
}

/// How well a candidate is placed: as well as what it was placed on, and its own share on top.
fn placed_on(stand: &Stand, placing: &Placing) -> Placement {
    let about = stand.world_from_it * nalgebra::Point3::origin();
    let (shift, turn) = (placing.sigma_mm.powi(2), placing.sigma_turn_rad.powi(2));
    let own = Matrix6::from_diagonal(&Vector6::new(shift, shift, shift, turn, turn, turn));
    match &stand.on {
        None => Placement { covariance: own, ..Placement::exact(about) },
        Some(base) => Placement {
            about,
            covariance: base.placement.covariance_at(&about) + own,
            surface_mm: 0.0,
            source: base.placement.source.clone(),
            shares: base.placement.shares_at(&about),
            form_mm: None,
        },
    }
}
