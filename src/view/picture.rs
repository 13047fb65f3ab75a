//! A picture without a window.

use std::path::Path;

use kiss3d::window::{CanvasSetup, NumSamples, OffscreenSurface};
use nalgebra::Point3;

use crate::check::{Finding, Findings, Place, Shown, Verdict};
use crate::scene::Scene;
use crate::space::Length;

use super::camera::{Area, Camera, HALF_ANGLE_RAD, Projection, ViewProjection};
use super::caption::{self, Caption, Row};
use super::direction::ViewFrom;
use super::error::ViewError;
use super::guard::guarded;
use super::lens::{Held, Lens};
use super::look::{Look, Shading};
use super::overlay::{Label, Mark, Overlay, Strip, strip_height, text_scale};
use super::palette::{ON_ITS_WAY, ON_ITS_WAY_WORD};
use super::sight::{Seen, best_direction};
use super::stage::{Cast, Stage, draw_lines, prepare};
use super::stance::Stance;
use super::way::ways;

/// Least and greatest side of a picture, pixels.
const SIDES: (u32, u32) = (320, 8192);

/// How a picture is drawn.
#[derive(Clone, Debug)]
pub struct PictureOptions {
    /// Width, pixels, 320 to 8192.
    pub width: u32,
    /// Height, pixels, 320 to 8192.
    pub height: u32,
    /// From where; `None` is a quarter view from the side on which the marks are, or with a focus the side
    /// from which it shows best.
    pub from: Option<ViewFrom>,
    /// The number of a finding, from 1, to fly to: its place fills the picture, its bodies carry
    /// its colour, and what stands in the way is faded.
    pub focus: Option<usize>,
    /// Carriers and the values (radians or mm) of their freedoms; those not named are at rest, or
    /// with a focus at the finding's worst pose.
    pub values: Vec<(String, Vec<f64>)>,
    /// Bodies not drawn.
    pub hidden: Vec<String>,
    /// Bodies through which one sees.
    pub faded: Vec<String>,
    /// Cut away what is nearer than this along the axis that the view looks along (x for front
    /// and rear, y for left and right, z for above), vehicle axes.
    pub cut_at: Option<Length>,
    /// How many findings are marked when there is no focus; `clear` ones never are.
    pub marks: usize,
    /// What becomes of bodies that hide a candidate or a mark when there is no focus.
    pub in_front: InFront,
    /// A body that is on its way in: then the picture is about it, and not about candidates and findings.
    pub moving: Option<Moving>,
}

/// A body that is on its way in.
#[derive(Clone, Debug)]
pub struct Moving {
    /// Its name.
    pub body: String,
    /// Where on its way it is, for the title: `pump, move 2 of 3`.
    pub told: String,
    /// What it does, for the strip of words.
    pub words: String,
}

/// What becomes of bodies that stand in front of what a picture is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum InFront {
    /// They are drawn faint, and named in the caption.
    #[default]
    Faint,
    /// They are drawn like all others.
    Solid,
}

impl Default for PictureOptions {
    /// 1600 x 1000 pixels, a quarter view of everything at rest, the four worst findings marked.
    fn default() -> Self {
        PictureOptions {
            width: 1600,
            height: 1000,
            from: None,
            focus: None,
            values: Vec::new(),
            hidden: Vec::new(),
            faded: Vec::new(),
            cut_at: None,
            marks: 4,
            in_front: InFront::Faint,
            moving: None,
        }
    }
}

/// A picture that was drawn.
#[derive(Clone, Debug)]
pub struct Picture {
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// Rows from the top, red, green, blue, a byte each, sRGB.
    pub rgb: Vec<u8>,
    /// Where things of the scene fall in it.
    pub camera: Camera,
    /// The strip's words, a line each: title, how it is seen, findings.
    pub caption: Vec<String>,
    /// Each body's look, in the scene's order.
    pub looks: Vec<Look>,
}

impl Picture {
    /// The colour of a pixel, x right and y down from the upper left; `None` outside.
    pub fn pixel(&self, x: u32, y: u32) -> Option<[u8; 3]> {
        if x >= self.width {
            return None;
        }
        let at = (y as usize * self.width as usize + x as usize) * 3;
        self.rgb.get(at..at + 3).map(|p| [p[0], p[1], p[2]])
    }

    /// As a PNG file's bytes. The same picture gives the same bytes.
    ///
    /// # Errors
    /// [`ViewError::Encode`].
    pub fn png(&self) -> Result<Vec<u8>, ViewError> {
        super::save::png(&self.rgb, self.width, self.height)
    }

    /// Writes a PNG, whole or not at all.
    ///
    /// # Errors
    /// [`ViewError::Write`] when the folder is missing, full or closed.
    pub fn save(&self, path: &Path) -> Result<(), ViewError> {
        super::save::write_whole(path, &self.png()?)
    }
}

/// Draws a scene and what was found in it, without a window.
///
/// Findings are marked at their worst place. That place is where it is at the finding's worst
/// pose; without a focus the bodies stand as `options.values` says, so a mark may hang off them.
///
/// The same input gives the same pixels on the same machine and driver; another driver may
/// shade a pixel otherwise.
///
/// # Errors
/// [`ViewError::NoAdapter`] on a machine that cannot draw; names, numbers and sizes that don't
/// fit; nothing to show.
pub fn picture(scene: &Scene, findings: &Findings, options: &PictureOptions) -> Result<Picture, ViewError> {
    let plan = Plan::of(scene, findings, options)?;
    // The renderer keeps its state by thread: one of its own leaves nothing behind.
    std::thread::scope(|scope| {
        let drawing = std::thread::Builder::new().name("picture".into()).spawn_scoped(scope, || plan.draw());
        match drawing.map(std::thread::ScopedJoinHandle::join) {
            Ok(Ok(picture)) => picture,
            Ok(Err(_)) => Err(lost("drawing", "its thread stopped")),
            Err(cause) => Err(lost("starting", cause)),
        }
    })
}

pub(super) fn lost(doing: &'static str, cause: impl ToString) -> ViewError {
    ViewError::Renderer { doing, cause: cause.to_string() }
}

/// The finding of a number counted from 1, with its place.
pub(super) fn finding_at(findings: &Findings, number: usize) -> Result<(&Finding, &Place), ViewError> {
    let count = findings.list.len();
    let finding = number
        .checked_sub(1)
        .and_then(|i| findings.list.get(i))
        .ok_or(ViewError::UnknownFinding { asked: number, count })?;
    match &finding.place {
        Some(place) => Ok((finding, place)),
        None => Err(ViewError::NoPlace { asked: number, message: finding.message.clone() }),
    }
}

/// Index of a body by name.
pub(super) fn body_index(scene: &Scene, name: &str) -> Result<usize, ViewError> {
    scene.bodies.iter().position(|b| b.name == name).ok_or_else(|| {
        let near = scene.bodies.iter().map(|b| (strsim::damerau_levenshtein(&b.name, name), &b.name)).min();
        ViewError::UnknownBody {
            name: name.to_owned(),
            nearest: near.filter(|(far, _)| *far <= 1 + name.len() / 3).map(|(_, n)| n.clone()),
        }
    })
}

/// Whether candidates that no marked finding concerns are named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Around {
    Named,
    Quiet,
}

/// For each body that is named where it is seen, a place on it; the rest have none.
fn anchors(
    scene: &Scene,
    cast: &Cast,
    looks: &[Look],
    camera: &Camera,
    around: Around,
) -> Vec<Option<Point3<f64>>> {
    let mut left = 14;
    let bodies = scene.bodies.iter().zip(looks).enumerate();
    bodies
        .map(|(i, (body, look))| {
            let moving = look.what == ON_ITS_WAY_WORD;
            let told = look.verdict.is_some() || moving || (body.candidate && around == Around::Named);
            let shown = matches!(look.shading, Shading::Solid | Shading::Sheer);
            let anchor = if told && shown && left > 0 { cast.seen_at(i, looks, camera) } else { None };
            left -= usize::from(anchor.is_some());
            anchor
        })
        .collect()
}

/// What is known of what hides what: [`anchors`] of bodies, and which marks hang over something
/// that hides their place.
#[derive(Clone, Debug, Default)]
pub(super) struct Sights {
    pub anchors: Vec<Option<Point3<f64>>>,
    /// Numbers of findings.
    pub hidden: Vec<usize>,
}

impl Sights {
    pub(super) fn of(
        scene: &Scene,
        cast: &Cast,
        looks: &[Look],
        camera: &Camera,
        marked: &[(usize, &Finding)],
        around: Around,
    ) -> Self {
        let blocked = |place: &Point3<f64>| {
            (0..scene.bodies.len())
                .any(|i| looks[i].shading == Shading::Solid && cast.hides(i, place, camera))
        };
        let hidden = marked.iter().filter(|(_, finding)| {
            finding.place.as_ref().is_some_and(|p| blocked(&p.on_first) && blocked(&p.on_second))
        });
        let hidden = hidden.map(|(number, _)| *number).collect();
        Sights { anchors: anchors(scene, cast, looks, camera, around), hidden }
    }
}

/// Marks and labels of what a camera sees.
pub(super) fn overlay(
    scene: &Scene,
    looks: &[Look],
    sights: &Sights,
    camera: &Camera,
    marked: &[(usize, &Finding)],
    caption: Caption,
) -> Overlay {
    let [width, height] = camera.size_px;
    let marks = marked
        .iter()
        .filter_map(|(number, finding)| {
            let place = finding.place.as_ref()?;
            let ends = [camera.project(&place.on_first)?, camera.project(&place.on_second)?];
            let amount = finding.actual.map(|gap| match gap.mm() {
                mm if mm < 0.0 => format!(", overlap {}", gap.abs()),
                _ => format!(", {gap}"),
            });
            let hidden = if sights.hidden.contains(number) { ", hidden behind" } else { "" };
            let words = format!("{}{}{hidden}", finding.verdict.word(), amount.unwrap_or_default());
            Some(Mark { number: *number, verdict: finding.verdict, ends, words })
        })
        .collect();
    let labels = scene
        .bodies
        .iter()
        .zip(looks)
        .zip(&sights.anchors)
        .filter_map(|((body, look), anchor)| {
            let at = camera.project(&(*anchor)?)?;
            let words = match look.what {
                "other" => body.name.clone(),
                what => format!("{} ({what})", body.name),
            };
            Some(Label { at, shade: look.shade, words })
        })
        .collect();
    // With several findings marked, the ways of all would be a tangle.
    let ways = match marked {
        [(_, finding)] => ways(finding, camera),
        _ => Vec::new(),
    };
    let scale = text_scale(width, height);
    Overlay { scale, camera: *camera, caption, strip: Strip::Drawn, marks, labels, ways }
}

/// A camera that sees the whole of what is shown.
pub(super) fn whole_view(
    cast: &Cast,
    looks: &[Look],
    from: ViewFrom,
    size_px: [f64; 2],
    area: Area,
) -> Camera {
    let corners = cast.corners(|i| looks[i].shading != Shading::Hidden);
    let camera = Camera {
        target: Point3::origin(),
        toward_eye: from.toward_eye(),
        distance_mm: 1000.0,
        up: from.up(),
        projection: match from.projection() {
            ViewProjection::Perspective => Projection::Perspective { half_angle_rad: HALF_ANGLE_RAD },
            ViewProjection::Parallel => Projection::Parallel { half_height_mm: 500.0 },
        },
        near_mm: 1.0,
        far_mm: 1e4,
        size_px,
        area,
    };
    camera.framing(&corners, 0.07)
}

/// A picture of a hand's way shows at least so much about the point, mm.
const HAND_MM: f64 = 180.0;

/// A camera that sees the place of a finding, and how the bodies that stand in its way are shown.
pub(super) fn close_view(
    scene: &Scene,
    cast: &Cast,
    looks: &[Look],
    finding: &Finding,
    place: &Place,
    from: Option<ViewFrom>,
    whole: &Camera,
) -> (Camera, Vec<(usize, Shading)>) {
    let seen = |i: usize| Seen { drawable: &cast.drawables[i], world_from_body: cast.world_from_body[i] };
    let concerned = |i: &usize| finding.bodies.contains(&scene.bodies[*i].name);
    let shown: Vec<usize> =
        (0..scene.bodies.len()).filter(|i| looks[*i].shading != Shading::Hidden).collect();
    let (pair, others): (Vec<usize>, Vec<usize>) = shown.iter().copied().partition(concerned);
    let ends = [place.on_first, place.on_second];

    let toward_eye = match from {
        Some(from) => from.toward_eye(),
        None => {
            let of = |list: &[usize]| list.iter().map(|i| seen(*i)).collect::<Vec<_>>();
            // From the side of the vehicle on which it is.
            let on_left = ends[0].y < whole.target.y;
            let usual = if on_left { ViewFrom::QuarterLeft } else { ViewFrom::QuarterRight };
            best_direction(&ends, &of(&pair), &of(&others), &usual.toward_eye())
        }
    };
    // Room for the gap and enough of its surroundings to know the place again.
    let sizes = pair.iter().filter_map(|i| Some(cast.drawables[*i].bounds?.diagonal_mm()));
    let smaller = sizes.fold(f64::INFINITY, f64::min);
    let smaller = if smaller.is_finite() { smaller } else { 200.0 };
    let gap = (ends[1] - ends[0]).norm();
    let reach = (1.6 * gap).max(0.45 * smaller).clamp(40.0, 700.0);
    // A hand's way and a lever's fan are in the picture as far as they are near.
    let fans = finding.shown.iter().flat_map(|shown| match shown {
        Shown::Fan { rim, .. } => rim.as_slice(),
        Shown::Corridor { .. } | Shown::Sight { .. } => &[],
    });
    let wide = fans.map(|at| 1.15 * (at - ends[0]).norm()).fold(0.0, f64::max);
    let hand =
        if finding.shown.iter().any(|shown| matches!(shown, Shown::Corridor { .. })) { HAND_MM } else { 0.0 };
    let reach = reach.max(wide.min(500.0)).max(hand);
    let middle = nalgebra::center(&ends[0], &ends[1]);

    let mut camera = *whole;
    camera.toward_eye = toward_eye;
    camera.up = from.map_or(nalgebra::Vector3::z_axis(), ViewFrom::up);
    camera.target = middle;
    let half_angle_rad = HALF_ANGLE_RAD;
    let parallel = from.is_some_and(|f| f.projection() == ViewProjection::Parallel);
    (camera.projection, camera.distance_mm) = if parallel {
        (Projection::Parallel { half_height_mm: reach }, whole.distance_mm)
    } else {
        (Projection::Perspective { half_angle_rad }, reach / half_angle_rad.tan())
    };
    let corners = cast.corners(|i| looks[i].shading != Shading::Hidden);
    camera = camera.with_depth_of(&corners);

    let in_the_way = |i: &usize| {
        let seen = seen(*i);
        ends.iter().chain([&middle]).any(|end| seen.blocks(end, &camera.sight_at(end)))
    };
    // The finding's own bodies are never faded away: the place inside shows through them.
    let shading = |i: usize| if concerned(&i) { Shading::Sheer } else { Shading::Faded };
    let blocking = shown.into_iter().filter(in_the_way).map(|i| (i, shading(i))).collect();
    (camera, blocking)
}

/// The quarter view from the side of the vehicle on which the marks are; the left when there are none.
fn nearer_quarter(marked: &[(usize, &Finding)]) -> ViewFrom {
    let places = marked.iter().filter_map(|(_, finding)| finding.place.as_ref());
    let toward_right: f64 = places.map(|place| place.on_first.y).sum();
    if toward_right > 0.0 { ViewFrom::QuarterRight } else { ViewFrom::QuarterLeft }
}

/// Which bodies are drawn faint, in words for the caption.
fn faint_words(scene: &Scene, faint: &[usize]) -> String {
    let names: Vec<&str> = faint.iter().map(|i| scene.bodies[*i].name.as_str()).collect();
    match names.as_slice() {
        [] => String::new(),
        [rest @ .., last] if rest.len() < 3 => {
            let joined = if rest.is_empty() { String::new() } else { rest.join(", ") + " and " };
            format!(" Drawn faint, being in front: {joined}{last}.")
        }
        [one, two, rest @ ..] => {
            format!(" Drawn faint, being in front: {one}, {two} and {} more.", rest.len())
        }
        [_] => String::new(),
    }
}

/// Everything known before anything is drawn.
struct Plan {
    cast: Cast,
    looks: Vec<Look>,
    camera: Camera,
    overlay: Overlay,
    size: (u32, u32),
}

impl Plan {
    fn of(scene: &Scene, findings: &Findings, options: &PictureOptions) -> Result<Self, ViewError> {
        let size = (options.width, options.height);
        let (least, most) = SIDES;
        if [size.0, size.1].iter().any(|side| !(least..=most).contains(side)) {
            return Err(ViewError::Size { width: size.0, height: size.1, least, most });
        }
        let focus = options.focus.map(|number| finding_at(findings, number)).transpose()?;
        let mut stance = Stance::rest(scene);
        if let Some((_, place)) = focus {
            stance = stance.with(scene, &place.values)?;
        }
        let stance = stance.with(scene, &options.values)?;

        let mut looks = Look::of_all(scene, findings, focus.map(|(finding, _)| finding));
        for (names, shading) in [(&options.faded, Shading::Faded), (&options.hidden, Shading::Hidden)] {
            for name in names {
                looks[body_index(scene, name)?].shading = shading;
            }
        }
        if looks.iter().all(|look| look.shading == Shading::Hidden) {
            let why = if scene.bodies.is_empty() { "the scene has no body" } else { "every body is hidden" };
            return Err(ViewError::Nothing { why });
        }
        let moving = options.moving.as_ref().map(|moving| body_index(scene, &moving.body)).transpose()?;
        if let Some(moving) = moving {
            looks[moving].shade = ON_ITS_WAY;
            looks[moving].what = ON_ITS_WAY_WORD;
        }
        let mut cast = Cast::of(scene, &stance);

        let marked: Vec<(usize, &Finding)> = match options.focus.zip(focus) {
            Some((number, (finding, _))) => vec![(number, finding)],
            None => {
                let numbered = findings.list.iter().enumerate().map(|(i, f)| (i + 1, f));
                numbered.filter(|(_, f)| f.verdict > Verdict::Clear).take(options.marks).collect()
            }
        };
        let size_px = [f64::from(size.0), f64::from(size.1)];
        let strip = strip_height(text_scale(size_px[0], size_px[1]), marked.len()).min(size_px[1] * 0.5);
        let area = Area { left: 0.0, top: 0.0, width: size_px[0], height: size_px[1] - strip };

        let from = options.from.unwrap_or_else(|| match moving {
            Some(moving) => {
                // From the side of the vehicle to which it belongs.
                let all = cast.corners(|_| true);
                let middle = all.iter().map(|at| at.y).sum::<f64>() / all.len().max(1) as f64;
                let at = cast.world_from_body[moving]
                    * cast.drawables[moving].bounds.map_or(Point3::origin(), |b| b.center());
                if at.y > middle { ViewFrom::QuarterRight } else { ViewFrom::QuarterLeft }
            }
            None => nearer_quarter(&marked),
        });
        let mut camera = whole_view(&cast, &looks, from, size_px, area);
        let mut view_words = format!("from {}", from.word());
        if let Some((finding, place)) = focus {
            let blocking;
            (camera, blocking) = close_view(scene, &cast, &looks, finding, place, options.from, &camera);
            for (i, shading) in blocking {
                looks[i].shading = shading;
            }
            if options.from.is_none() {
                view_words = "from where it shows best".to_owned();
            }
        }
        let faint = match (focus, options.in_front) {
            (None, InFront::Faint) => cast.in_front(scene, &looks, &camera, &marked, moving),
            _ => Vec::new(),
        };
        for i in &faint {
            looks[*i].shading = Shading::Faded;
        }
        if let Some(cut) = options.cut_at {
            let (axis, sign) = from
                .axis()
                .filter(|_| focus.is_none() || options.from.is_some())
                .ok_or(ViewError::CutAcross { view: from.word() })?;
            camera.near_mm = sign * (camera.eye()[axis] - cut.mm());
            view_words += &format!(", cut at {} {cut}", ["x", "y", "z"][axis]);
        }

        cast.fit_stones(&camera);

        let lens = match camera.projection {
            Projection::Perspective { .. } => "in perspective, no scale",
            Projection::Parallel { .. } => "to scale across the view",
        };
        let mut note = format!("Seen {view_words}, {lens}; {}.", stance.words(scene));
        note += &faint_words(scene, &faint);
        match findings.not_checked.len() {
            0 => {}
            1 => note += " One matter not checked.",
            n => note += &format!(" {n} matters not checked."),
        }
        let rows = marked.iter().map(|(number, finding)| Row {
            number: *number,
            verdict: finding.verdict,
            words: caption::finding_words(finding),
        });
        let told = match &options.moving {
            Some(moving) => moving.told.clone(),
            None => caption::tally(findings),
        };
        let caption = Caption {
            title: format!("{}: {told}", caption::title(scene)),
            note,
            rows: rows.collect(),
            moving: options.moving.as_ref().map(|moving| moving.words.clone()),
        };
        let around = if focus.is_some() { Around::Quiet } else { Around::Named };
        let sights = Sights::of(scene, &cast, &looks, &camera, &marked, around);
        let overlay = overlay(scene, &looks, &sights, &camera, &marked, caption);
        Ok(Plan { cast, looks, camera, overlay, size })
    }

    fn draw(self) -> Result<Picture, ViewError> {
        let (width, height) = self.size;
        let surface = guarded(|| {
            let setup = CanvasSetup { samples: NumSamples::Four, vsync: false, ..CanvasSetup::default() };
            pollster::block_on(OffscreenSurface::with_setup(width, height, setup))
        });
        let mut surface = surface.map_err(|cause| ViewError::NoAdapter { cause })?;
        let rgb = guarded(|| {
            prepare(surface.window_mut());
            let mut stage = Stage::of(&self.cast);
            stage.dress(&self.cast, &self.looks);
            stage.light(&self.camera);
            let mut lens = Lens::new(self.camera, Held::Still);
            let lines = self.cast.lines(&self.looks, &self.camera);
            draw_lines(surface.window_mut(), &lines, 1.35 * self.overlay.scale);
            surface.draw_ui(|ctx| self.overlay.paint(ctx));
            pollster::block_on(surface.render_3d(&mut stage.root, &mut lens));
            let image = surface.snap_image();
            (image.dimensions(), image.into_raw())
        });
        let (drawn, rgb) = rgb.map_err(|cause| lost("drawing", cause))?;
        if drawn != self.size {
            return Err(lost("drawing", format!("it gave {drawn:?} pixels for {:?}", self.size)));
        }
        Ok(Picture {
            width,
            height,
            rgb,
            camera: self.camera,
            caption: self.overlay.caption.lines(),
            looks: self.looks,
        })
    }
}
