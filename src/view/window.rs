//! The window: the scene to walk around in.

use std::time::Instant;

use kiss3d::event::{Action, Key, WindowEvent};
use kiss3d::window::Window;

use crate::assembly::hood_open;
use crate::check::{Finding, Findings, Place, Verdict};
use crate::clearance::{IndexedShape, gap};
use crate::scene::Scene;
use crate::space::Length;

use super::camera::{Area, Camera, HALF_ANGLE_RAD, Projection};
use super::caption::{self, Caption};
use super::direction::ViewFrom;
use super::error::ViewError;
use super::guard::guarded;
use super::lens::{Held, Lens};
use super::look::{Look, Shading};
use super::overlay::Strip;
use super::palette::{ON_ITS_WAY, ON_ITS_WAY_WORD};
use super::panel::{self, Wish};
use super::picture::{Around, Sights, close_view, finding_at, overlay, whole_view};
use super::playback::{self, Playback};
use super::player::Player;
use super::stage::{Cast, Stage, draw_lines, prepare};
use super::stance::Stance;

/// How a window opens.
#[derive(Clone, Debug)]
pub struct WindowOptions {
    /// Width, in the desktop's points.
    pub width: u32,
    /// Height, in the desktop's points.
    pub height: u32,
    /// The number of a finding, from 1, to fly to at once.
    pub focus: Option<usize>,
    /// Close after this many frames; `None` stays open until it is closed by hand.
    pub frames: Option<usize>,
    /// Ways in of this scene, to be run along by a slider; the hood then stands open at first.
    pub motion: Option<Playback>,
}

impl Default for WindowOptions {
    fn default() -> Self {
        WindowOptions { width: 1440, height: 900, focus: None, frames: None, motion: None }
    }
}

/// Opens a window on a scene and returns when it is closed.
///
/// # Errors
/// As [`open_window_with`].
pub fn open_window(scene: &Scene, findings: &Findings) -> Result<(), ViewError> {
    open_window_with(scene, findings, &WindowOptions::default())
}

/// Opens a window on a scene, with options; call it on the main thread, as desktops require.
///
/// # Errors
/// [`ViewError::NoDisplay`] where there is no desktop, [`ViewError::NoAdapter`] where nothing
/// can draw, [`ViewError::Nothing`] for a scene without bodies, and a focus that isn't there.
pub fn open_window_with(
    scene: &Scene,
    findings: &Findings,
    options: &WindowOptions,
) -> Result<(), ViewError> {
    if scene.bodies.is_empty() {
        return Err(ViewError::Nothing { why: "the scene has no body" });
    }
    if let Some(number) = options.focus {
        finding_at(findings, number)?;
    }
    if cfg!(target_os = "linux") {
        let named = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        if !named("DISPLAY") && !named("WAYLAND_DISPLAY") {
            return Err(ViewError::NoDisplay { cause: "neither DISPLAY nor WAYLAND_DISPLAY is set".into() });
        }
    }
    let title = format!("{} - Baywright", caption::title(scene));
    let opened = guarded(|| pollster::block_on(Window::new_with_size(&title, options.width, options.height)));
    let mut window = opened.map_err(|cause| {
        if cause.contains("adapter") || cause.contains("device") {
            ViewError::NoAdapter { cause }
        } else {
            ViewError::NoDisplay { cause }
        }
    })?;
    let run = guarded(|| Desk::new(scene, findings, &mut window, options).run(&mut window, options));
    run.map_err(|cause| ViewError::Renderer { doing: "drawing the window", cause })
}

/// How long a flight takes, seconds.
const FLIGHT_S: f64 = 0.35;

/// While a way in runs, what hides the part is looked for in every so manyth frame.
const CLEARED_EVERY: u32 = 12;

/// What the window shows and what the person chose.
pub(super) struct Desk<'a> {
    pub scene: &'a Scene,
    pub findings: &'a Findings,
    pub stance: Stance,
    /// Index of the finding picked.
    pub picked: Option<usize>,
    /// What the person chose for each body.
    pub chosen: Vec<Shading>,
    /// How the bodies that stand in the way of the finding picked are shown.
    in_the_way: Vec<(usize, Shading)>,
    pub labels: bool,
    pub help: bool,
    /// The gap of the finding picked, as the bodies stand now.
    pub gap_now: Option<Length>,
    /// Ways in to be run along.
    pub player: Option<Player>,
    last_frame: Option<Instant>,
    cast: Cast,
    looks: Vec<Look>,
    stage: Stage,
    lens: Lens,
    flight: Option<(Camera, Camera, Instant)>,
    /// Places on bodies at which they are named (bodies' own frames), marks that are hidden, and
    /// for what they were found.
    sights: Sights,
    seen_for: Option<(Camera, Vec<Look>, Stance, f64)>,
    /// What the last frame was seen with, to tell when the hand rests.
    last_camera: Option<Camera>,
    indexed: Vec<Option<IndexedShape>>,
}

impl<'a> Desk<'a> {
    fn new(scene: &'a Scene, findings: &'a Findings, window: &mut Window, options: &WindowOptions) -> Self {
        prepare(window);
        window.rebind_close_key(None);
        let rest = Stance::rest(scene);
        let open = || rest.clone().with(scene, &hood_open(scene)).ok();
        let stance = options.motion.as_ref().and_then(|_| open()).unwrap_or_else(|| rest.clone());
        let player = options.motion.clone().map(Player::new);
        let mut cast = Cast::of(scene, &stance);
        let mut looks = Look::of_all(scene, findings, None);
        if let Some(player) = &player {
            put(&player.now(), &mut cast, &mut looks);
        }
        let stage = Stage::of(&cast);
        let (size, area) = sizes(window);
        let camera = whole_view(&cast, &looks, ViewFrom::default(), size, area);
        let mut desk = Desk {
            scene,
            findings,
            stance,
            picked: None,
            chosen: vec![Shading::Solid; scene.bodies.len()],
            in_the_way: Vec::new(),
            labels: true,
            help: false,
            gap_now: None,
            player,
            last_frame: None,
            cast,
            looks,
            stage,
            lens: Lens::new(camera, Held::ByHand),
            flight: None,
            sights: Sights::default(),
            seen_for: None,
            last_camera: None,
            indexed: vec![None; scene.bodies.len()],
        };
        if let Some(number) = options.focus {
            desk.grant(Wish::Pick(number - 1));
            if let Some((_, there, _)) = desk.flight.take() {
                desk.lens.camera = there;
            }
        }
        desk
    }

    fn run(&mut self, window: &mut Window, options: &WindowOptions) {
        let (mut left, mut frame) = (options.frames, 0_u32);
        loop {
            if left == Some(0) {
                return;
            }
            left = left.map(|n| n - 1);
            if self.keys(window) == Going::Closed {
                return;
            }
            let now = Instant::now();
            let before = self.last_frame.replace(now);
            if let (Some(player), Some(before)) = (&mut self.player, before) {
                player.pass(now - before);
            }
            self.fly();
            self.fit(window);
            frame = frame.wrapping_add(1);
            if frame.is_multiple_of(CLEARED_EVERY) && self.player.as_ref().is_some_and(Player::running) {
                self.clear_sight();
            }
            self.dress();
            self.settle();
            let lines = self.cast.lines(&self.looks, &self.lens.camera);
            draw_lines(window, &lines, 1.3 * window.scale_factor());
            let overlay = self.overlay(window.scale_factor());
            let mut wishes = Vec::new();
            window.draw_ui(|ctx| {
                overlay.paint(ctx);
                wishes = panel::show(ctx, self);
            });
            for wish in wishes {
                self.grant(wish);
            }
            if !pollster::block_on(window.render_3d(&mut self.stage.root, &mut self.lens)) {
                return;
            }
        }
    }

    /// The picture follows the window's size; depth planes follow the eye.
    fn fit(&mut self, window: &Window) {
        let (size, area) = sizes(window);
        let camera = &mut self.lens.camera;
        (camera.size_px, camera.area) = (size, area);
        let corners = self.cast.corners(|i| self.looks[i].shading != Shading::Hidden);
        *camera = camera.with_depth_of(&corners);
    }

    fn fly(&mut self) {
        if std::mem::take(&mut self.lens.moved) {
            self.flight = None;
        }
        let Some((from, to, started)) = self.flight else { return };
        let share = started.elapsed().as_secs_f64() / FLIGHT_S;
        let eased = share * share * (3.0 - 2.0 * share);
        self.lens.camera = from.toward(&to, if share >= 1.0 { 1.0 } else { eased });
        self.flight = (share < 1.0).then_some((from, to, started));
    }

    /// Poses, colours and lights as they are now.
    fn dress(&mut self) {
        self.cast.stand(self.scene, &self.stance);
        let focus = self.picked.and_then(|i| self.findings.list.get(i));
        self.looks = Look::of_all(self.scene, self.findings, focus);
        for (look, chosen) in self.looks.iter_mut().zip(&self.chosen) {
            look.shading = *chosen;
        }
        for (i, shading) in &self.in_the_way {
            if self.looks[*i].shading == Shading::Solid {
                self.looks[*i].shading = *shading;
            }
        }
        if let Some(player) = &self.player {
            put(&player.now(), &mut self.cast, &mut self.looks);
        }
        self.stage.dress(&self.cast, &self.looks);
        self.stage.light(&self.lens.camera);
    }

    /// What takes long is done when the hand rests: where bodies are named, and how large the
    /// points of clouds are drawn.
    fn settle(&mut self) {
        let camera = self.lens.camera;
        let running = self.player.as_ref().is_some_and(Player::running);
        if (self.last_camera.replace(camera) != Some(camera) || running) && self.seen_for.is_some() {
            return;
        }
        if self.cast.stones_misfit(&camera) {
            self.cast.fit_stones(&camera);
            self.stage.refit_stones(&self.cast);
        }
        self.clear_sight();
        let share = self.player.as_ref().map_or(0.0, Player::share);
        let now = (camera, self.looks.clone(), self.stance.clone(), share);
        if self.seen_for.as_ref() == Some(&now) {
            return;
        }
        let around = if self.picked.is_some() { Around::Quiet } else { Around::Named };
        let marked = self.marked();
        let mut sights = Sights::of(self.scene, &self.cast, &self.looks, &camera, &marked, around);
        for (at, pose) in sights.anchors.iter_mut().zip(&self.cast.world_from_body) {
            *at = at.map(|at| pose.inverse() * at);
        }
        self.sights = sights;
        self.seen_for = Some(now);
    }

    /// What hides the body on its way steps back, unless a finding is looked at.
    fn clear_sight(&mut self) {
        let Some(player) = self.player.as_ref().filter(|_| self.picked.is_none()) else { return };
        let mut looks = self.looks.clone();
        for (i, _) in &self.in_the_way {
            looks[*i].shading = self.chosen[*i];
        }
        let moving = Some(player.now().moving);
        let hiding = self.cast.in_front(self.scene, &looks, &self.lens.camera, &[], moving);
        self.in_the_way = hiding.into_iter().map(|i| (i, Shading::Faded)).collect();
    }

    /// The findings marked: the one picked, or the worst.
    fn marked(&self) -> Vec<(usize, &'a Finding)> {
        let numbered = self.findings.list.iter().enumerate().map(|(i, f)| (i + 1, f));
        match self.picked {
            Some(picked) => numbered.filter(|(n, _)| *n == picked + 1).collect(),
            None => numbered.filter(|(_, f)| f.verdict > Verdict::Clear).take(6).collect(),
        }
    }

    fn overlay(&self, scale: f64) -> super::overlay::Overlay {
        let camera = self.in_points(scale);
        let mut sights = self.sights.clone();
        for (at, pose) in sights.anchors.iter_mut().zip(&self.cast.world_from_body) {
            *at = at.map(|at| pose * at);
        }
        let mut overlay =
            overlay(self.scene, &self.looks, &sights, &camera, &self.marked(), Caption::default());
        overlay.strip = Strip::Absent;
        overlay.scale = 1.0;
        if !self.labels {
            overlay.labels.clear();
        }
        overlay
    }

    /// The camera over a window measured in the desktop's points, in which text is drawn.
    fn in_points(&self, scale: f64) -> Camera {
        let mut camera = self.lens.camera;
        camera.size_px = camera.size_px.map(|v| v / scale);
        let area = camera.area;
        camera.area = Area {
            left: area.left / scale,
            top: area.top / scale,
            width: area.width / scale,
            height: area.height / scale,
        };
        camera
    }

    /// Does what the person asked for.
    fn grant(&mut self, wish: Wish) {
        match wish {
            Wish::Pick(index) => {
                self.picked = Some(index);
                if let Ok((_, place)) = finding_at(self.findings, index + 1) {
                    self.stand_at(place);
                }
                self.measure();
                self.dress();
                self.fly_to_picked();
            }
            Wish::Next(step) => {
                let count = self.findings.list.len();
                if count > 0 {
                    let at = match self.picked {
                        Some(at) => (at + count).saturating_add_signed(step) % count,
                        None => 0,
                    };
                    self.grant(Wish::Pick(at));
                }
            }
            Wish::Whole => {
                self.picked = None;
                self.in_the_way.clear();
                self.gap_now = None;
                self.dress();
                self.fly_from(ViewFrom::default());
            }
            Wish::From(view) => self.fly_from(view),
            Wish::Rest => {
                self.stance = Stance::rest(self.scene);
                self.measure();
            }
            Wish::Worst => {
                if let Some(Ok((_, place))) = self.picked.map(|i| finding_at(self.findings, i + 1)) {
                    self.stand_at(place);
                    self.measure();
                }
            }
            Wish::Moved => self.measure(),
            Wish::Perspective => {
                let camera = &mut self.lens.camera;
                let half = camera.mm_per_px(&camera.target) * camera.area.height / 2.0;
                match camera.projection {
                    Projection::Perspective { .. } => {
                        camera.projection = Projection::Parallel { half_height_mm: half };
                    }
                    Projection::Parallel { .. } => {
                        camera.projection = Projection::Perspective { half_angle_rad: HALF_ANGLE_RAD };
                        camera.distance_mm = half / HALF_ANGLE_RAD.tan();
                    }
                }
            }
            Wish::Play => {
                if let Some(player) = &mut self.player {
                    player.press();
                }
            }
            Wish::Labels => self.labels = !self.labels,
            Wish::Help => self.help = !self.help,
        }
    }

    fn stand_at(&mut self, place: &Place) {
        // A place that doesn't fit this scene leaves the carriers as they are.
        if let Ok(stance) = Stance::rest(self.scene).with(self.scene, &place.values) {
            self.stance = stance;
        }
    }

    fn fly_from(&mut self, view: ViewFrom) {
        let here = self.lens.camera;
        let there = whole_view(&self.cast, &self.looks, view, here.size_px, here.area);
        self.flight = Some((here, there, Instant::now()));
    }

    fn fly_to_picked(&mut self) {
        self.in_the_way.clear();
        let Some(Ok((finding, place))) = self.picked.map(|i| finding_at(self.findings, i + 1)) else {
            return;
        };
        self.dress();
        let here = self.lens.camera;
        let whole = whole_view(&self.cast, &self.looks, ViewFrom::default(), here.size_px, here.area);
        let (there, blocking) = close_view(self.scene, &self.cast, &self.looks, finding, place, None, &whole);
        self.in_the_way = blocking;
        self.flight = Some((here, there, Instant::now()));
    }

    /// The gap of the finding picked, wrap and coating on, as the bodies stand now.
    fn measure(&mut self) {
        self.gap_now = None;
        let Some(finding) = self.picked.and_then(|i| self.findings.list.get(i)) else { return };
        let [one, other] = finding.bodies.as_slice() else { return };
        let index = |name: &str| self.scene.bodies.iter().position(|b| b.name == *name);
        let (Some(one), Some(other)) = (index(one), index(other)) else { return };
        for i in [one, other] {
            let shape = &self.scene.bodies[i].shape;
            self.indexed[i].get_or_insert_with(|| IndexedShape::new(shape.clone()));
        }
        let (Some(a), Some(b)) = (&self.indexed[one], &self.indexed[other]) else { return };
        let pose = |i: usize| self.stance.world_from_body(self.scene, &self.scene.bodies[i]);
        let bare = guarded(|| gap(a, b, &(pose(one).inverse() * pose(other)))).ok();
        let cover = self.scene.bodies[one].cover + self.scene.bodies[other].cover;
        self.gap_now = bare.map(|bare| bare.gap - cover);
    }

    fn keys(&mut self, window: &Window) -> Going {
        let mut wishes = Vec::new();
        for event in window.events().iter() {
            let WindowEvent::Key(key, Action::Press, _) = event.value else { continue };
            wishes.push(match key {
                Key::Escape if self.help => Wish::Help,
                Key::Escape => return Going::Closed,
                Key::Down | Key::J => Wish::Next(1),
                Key::Up | Key::K => Wish::Next(-1),
                Key::Space => Wish::Whole,
                Key::Key1 => Wish::From(ViewFrom::ALL[0]),
                Key::Key2 => Wish::From(ViewFrom::ALL[1]),
                Key::Key3 => Wish::From(ViewFrom::ALL[2]),
                Key::Key4 => Wish::From(ViewFrom::ALL[3]),
                Key::Key5 => Wish::From(ViewFrom::ALL[4]),
                Key::Key6 => Wish::From(ViewFrom::ALL[5]),
                Key::Key7 => Wish::From(ViewFrom::ALL[6]),
                Key::R => Wish::Rest,
                Key::W => Wish::Worst,
                Key::P => Wish::Perspective,
                Key::L => Wish::Labels,
                Key::G => Wish::Play,
                Key::H | Key::F1 => Wish::Help,
                _ => continue,
            });
        }
        for wish in wishes {
            self.grant(wish);
        }
        Going::On
    }
}

/// Puts what is on its way where it is, and hides what is not there.
fn put(now: &playback::Instant, cast: &mut Cast, looks: &mut [Look]) {
    for (body, place) in &now.places {
        match place {
            Some(pose) => cast.world_from_body[*body] = *pose,
            None => looks[*body].shading = Shading::Hidden,
        }
    }
    (looks[now.moving].shade, looks[now.moving].what) = (ON_ITS_WAY, ON_ITS_WAY_WORD);
}

#[derive(PartialEq, Eq)]
enum Going {
    On,
    Closed,
}

/// The window's size in pixels, and the part of it that the panel leaves free.
fn sizes(window: &Window) -> ([f64; 2], Area) {
    let (width, height) = (f64::from(window.width().max(1)), f64::from(window.height().max(1)));
    let panel = (f64::from(panel::WIDTH) * window.scale_factor()).min(width * 0.6);
    ([width, height], Area { left: panel, top: 0.0, width: width - panel, height })
}
