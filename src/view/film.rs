//! A film strip of a way in: one tile a move, with the move's words under it; several parts one under the other.
//!
//! All tiles of a part are seen from the same side, so that right stays right from tile to tile. Leaves to others: what is
//! written and drawn over a tile (`tile`), where the way comes from (`way_in`).

use std::path::Path;

use kiss3d::window::{CanvasSetup, NumSamples, OffscreenSurface};

use crate::scene::Scene;
use crate::space::Pose;

use super::camera::{Area, Camera, HALF_ANGLE_RAD, Projection};
use super::error::ViewError;
use super::film_plan::RowPlan;
use super::guard::guarded;
use super::lens::{Held, Lens};
use super::picture::lost;
use super::playback::BodyWay;
use super::stage::{Stage, prepare};
use super::tile::{Band, BandLine};

/// Tiles of a strip at most.
const MOST_TILES: usize = 96;

/// How a film strip is drawn.
#[derive(Clone, Debug)]
pub struct FilmOptions {
    /// Width of a tile, pixels, 320 to 2048.
    pub tile_width: u32,
    /// Height of a tile without its words, pixels, 320 to 2048.
    pub tile_height: u32,
    /// Tiles side by side at most.
    pub columns: usize,
    /// Over all of it.
    pub title: String,
    /// What must be known of it, under the title.
    pub notes: Vec<String>,
    /// Under all of it, such as cautions.
    pub footer: Vec<String>,
}

impl Default for FilmOptions {
    /// Tiles of 640 x 480 pixels, three side by side.
    fn default() -> Self {
        FilmOptions {
            tile_width: 640,
            tile_height: 480,
            columns: 3,
            title: String::new(),
            notes: Vec::new(),
            footer: Vec::new(),
        }
    }
}

/// One part of a strip.
#[derive(Clone, Debug)]
pub struct FilmRow<'a> {
    /// The scene with the part where it is mounted.
    pub scene: &'a Scene,
    /// The part and its way.
    pub way: &'a BodyWay,
    /// Over its tiles: `1. hot-pipe/2, after hot-pipe/1`.
    pub heading: String,
}

/// One move in a strip.
#[derive(Clone, Debug)]
pub struct Tile {
    /// Which part, from 0.
    pub row: usize,
    /// Which of its moves, from 1.
    pub number: usize,
    /// Where its upper left corner is in the strip, pixels.
    pub corner: [u32; 2],
    /// Where things of the scene fall in the tile, pixels from its upper left corner.
    pub camera: Camera,
    /// Where the part is when the move begins and when it ends: world_from_body.
    pub ends: [Pose; 2],
    /// The words under it.
    pub words: String,
    /// Bodies drawn faint because they hide the part.
    pub faint: Vec<String>,
}

/// A film strip that was drawn.
#[derive(Clone, Debug)]
pub struct Film {
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// Rows from the top, red, green, blue, a byte each, sRGB.
    pub rgb: Vec<u8>,
    /// Its tiles, in order.
    pub tiles: Vec<Tile>,
}

impl Film {
    /// The colour of a pixel, x right and y down from the upper left; `None` outside.
    pub fn pixel(&self, x: u32, y: u32) -> Option<[u8; 3]> {
        if x >= self.width {
            return None;
        }
        let at = (y as usize * self.width as usize + x as usize) * 3;
        self.rgb.get(at..at + 3).map(|p| [p[0], p[1], p[2]])
    }

    /// As a PNG file's bytes. The same strip gives the same bytes.
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

/// Draws ways in as a film strip, without a window: the hood open, everything else at rest.
///
/// In each tile the part stands solid where the move ends, and pale where it begins and between. An arrow shows how its middle
/// goes, or where it turns how its two ends go; a short way is drawn longer. What hides the part is drawn faint.
///
/// # Errors
/// [`ViewError::NoAdapter`] on a machine that cannot draw; a body that is not in its scene; a way without moves; more than
/// 96 moves; tiles of a size that cannot be drawn.
pub fn film(rows: &[FilmRow<'_>], options: &FilmOptions) -> Result<Film, ViewError> {
    let (width, height) = (options.tile_width, options.tile_height);
    let (least, most) = (320, 2048);
    if [width, height].iter().any(|side| !(least..=most).contains(side)) {
        return Err(ViewError::Size { width, height, least, most });
    }
    let plans = rows.iter().map(|row| RowPlan::of(row, options)).collect::<Result<Vec<_>, _>>()?;
    let count = plans.iter().map(|plan| plan.tiles.len()).sum();
    match count {
        0 => return Err(ViewError::NoWay { body: "anything".to_owned() }),
        1..=MOST_TILES => {}
        _ => return Err(ViewError::LongStrip { count, most: MOST_TILES }),
    }
    // The renderer keeps its state by thread: one of its own leaves nothing behind.
    std::thread::scope(|scope| {
        let builder = std::thread::Builder::new().name("film".into());
        match builder.spawn_scoped(scope, || draw(plans, options)).map(std::thread::ScopedJoinHandle::join) {
            Ok(Ok(film)) => film,
            Ok(Err(_)) => Err(lost("drawing", "its thread stopped")),
            Err(cause) => Err(lost("starting", cause)),
        }
    })
}

/// Pixels of a strip as they come, row by row of what stands beside each other.
struct Sheet {
    width: u32,
    height: u32,
    rgb: Vec<u8>,
}

impl Sheet {
    /// More height, white.
    fn grow(&mut self, height: u32) {
        self.height += height;
        self.rgb.resize(self.width as usize * self.height as usize * 3, 0xFF);
    }

    /// Lays a picture down with its upper left corner somewhere; what hangs over is cut off.
    fn lay(&mut self, rgb: &[u8], width: u32, corner: [u32; 2]) {
        let wide = width.min(self.width.saturating_sub(corner[0])) as usize * 3;
        for (y, line) in rgb.chunks_exact(width as usize * 3).enumerate() {
            let from = ((corner[1] as usize + y) * self.width as usize + corner[0] as usize) * 3;
            if let Some(to) = self.rgb.get_mut(from..from + wide) {
                to.copy_from_slice(&line[..wide]);
            }
        }
    }
}

fn draw(plans: Vec<RowPlan>, options: &FilmOptions) -> Result<Film, ViewError> {
    let setup = CanvasSetup { samples: NumSamples::Four, vsync: false, ..CanvasSetup::default() };
    let first = (options.tile_width, options.tile_height);
    let surface = guarded(|| pollster::block_on(OffscreenSurface::with_setup(first.0, first.1, setup)));
    let mut surface = surface.map_err(|cause| ViewError::NoAdapter { cause })?;
    guarded(|| strip(&mut surface, plans, options)).map_err(|cause| lost("drawing the strip", cause))?
}

fn strip(
    surface: &mut OffscreenSurface,
    plans: Vec<RowPlan>,
    options: &FilmOptions,
) -> Result<Film, ViewError> {
    prepare(surface.window_mut());
    let columns = plans.iter().map(|plan| plan.tiles.len()).max().unwrap_or(1);
    let columns = columns.clamp(1, options.columns.max(1)) as u32;
    // One tile alone leaves room for the words of the head.
    let width = (columns * options.tile_width).max(960);
    let mut sheet = Sheet { width, height: 0, rgb: Vec::new() };
    let mut tiles = Vec::new();
    let head = Band::head(&options.title, &options.notes, f64::from(width));
    lay_band(surface, &mut sheet, &head)?;
    for (row, mut plan) in plans.into_iter().enumerate() {
        lay_band(surface, &mut sheet, &Band::heading(&plan.heading, f64::from(width)))?;
        let high = options.tile_height + plan.words_px;
        let mut stage = Stage::of(&plan.cast);
        for (at, tile) in plan.tiles.clone().into_iter().enumerate() {
            let column = at as u32 % columns;
            if column == 0 {
                sheet.grow(high);
            }
            let corner = [column * options.tile_width, sheet.height - high];
            let rgb = shot(surface, (options.tile_width, high), |surface| {
                plan.stand(&tile);
                if plan.cast.stones_misfit(&tile.camera) {
                    plan.cast.fit_stones(&tile.camera);
                    stage.refit_stones(&plan.cast);
                }
                stage.dress(&plan.cast, &tile.looks);
                stage.light(&tile.camera);
                plan.draw_lines(surface.window_mut(), &tile);
                surface.draw_ui(|ctx| tile.overlay.paint(ctx));
                let mut lens = Lens::new(tile.camera, Held::Still);
                pollster::block_on(surface.render_3d(&mut stage.root, &mut lens));
            })?;
            sheet.lay(&rgb, options.tile_width, corner);
            tiles.push(Tile {
                row,
                number: tile.number,
                corner,
                camera: tile.camera,
                ends: tile.ends,
                words: tile.words,
                faint: tile.faint,
            });
        }
    }
    let footer = options.footer.iter().map(|words| BandLine::small(words));
    lay_band(surface, &mut sheet, &Band::of(footer.collect(), f64::from(width)))?;
    Ok(Film { width: sheet.width, height: sheet.height, rgb: sheet.rgb, tiles })
}

/// One picture of a size.
fn shot(
    surface: &mut OffscreenSurface,
    size: (u32, u32),
    paint: impl FnOnce(&mut OffscreenSurface),
) -> Result<Vec<u8>, ViewError> {
    surface.resize(size.0, size.1);
    paint(surface);
    let image = surface.snap_image();
    if image.dimensions() != size {
        return Err(lost("drawing", format!("it gave {:?} pixels for {size:?}", image.dimensions())));
    }
    Ok(image.into_raw())
}

fn lay_band(surface: &mut OffscreenSurface, sheet: &mut Sheet, band: &Band) -> Result<(), ViewError> {
    let high = band.height_px();
    if high == 0 {
        return Ok(());
    }
    let wide = sheet.width;
    let area = Area { left: 0.0, top: 0.0, width: f64::from(wide), height: f64::from(high) };
    let nothing = Camera {
        target: nalgebra::Point3::origin(),
        toward_eye: nalgebra::Vector3::x_axis(),
        distance_mm: 1000.0,
        up: nalgebra::Vector3::z_axis(),
        projection: Projection::Perspective { half_angle_rad: HALF_ANGLE_RAD },
        near_mm: 1.0,
        far_mm: 2000.0,
        size_px: [area.width, area.height],
        area,
    };
    let rgb = shot(surface, (wide, high), |surface| {
        let mut root = kiss3d::scene::SceneNode3d::empty();
        surface.draw_ui(|ctx| band.paint(ctx));
        pollster::block_on(surface.render_3d(&mut root, &mut Lens::new(nothing, Held::Still)));
    })?;
    let top = sheet.height;
    sheet.grow(high);
    sheet.lay(&rgb, wide, [0, top]);
    Ok(())
}
