//! What is written and drawn over a tile of a film strip, and the bands of words between the tiles.
//!
//! Lines are broken by a count of letters, not by the painter, so that heights are known before anything is drawn.

use kiss3d::egui;
use kiss3d::egui::{Align2, Color32, Rect, Stroke, StrokeKind, pos2, vec2};

use super::camera::Camera;
use super::overlay::{Brush, Label, Taken, colour, point, rect_of};
use super::palette::{BACKGROUND, FAINT, INK, KEPT, ON_ITS_WAY, PAPER, PLAIN, SKY_BLUE, Shade};

/// Letters are so wide on the whole, in their height: measured generously on the font in use, so that lines never run over.
const LETTER: f64 = 0.55;

/// Height of a line, in its letters' height.
const LEADING: f64 = 1.4;

/// Words under a tile: their height, pixels.
const WORDS_PX: f64 = 17.0;

/// Room left of the words for the move's number, pixels.
const NUMBER_PX: f64 = 52.0;

/// Breaks words into lines that are no wider than so many pixels.
fn lines(words: &str, width_px: f64, letter_px: f64) -> Vec<String> {
    let most = (width_px / (letter_px * LETTER)).max(8.0) as usize;
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn tile_lines(words: &str, width_px: f64) -> Vec<String> {
    lines(words, width_px - NUMBER_PX - 14.0, WORDS_PX)
}

/// How high the words under tiles of a width are: room for the longest of them, pixels.
pub(super) fn tile_words_px(told: &[String], width_px: f64) -> u32 {
    let most = told.iter().map(|words| tile_lines(words, width_px).len()).max().unwrap_or(1).max(2);
    (most as f64 * WORDS_PX * LEADING + 20.0).ceil() as u32
}

/// A way that a place of the part goes, in pixels.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Arrow {
    pub line: Vec<[f64; 2]>,
}

/// An arrow is drawn at least this long, pixels.
const LEAST_ARROW_PX: f64 = 34.0;

impl Arrow {
    /// Along a line; one that is short is drawn out backwards from its end. `None` where it goes nowhere in the picture.
    pub(super) fn of(line: Vec<[f64; 2]>) -> Option<Self> {
        let (from, to) = (*line.first()?, *line.last()?);
        let length: f64 =
            line.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1])).sum();
        if length >= LEAST_ARROW_PX {
            return Some(Arrow { line });
        }
        let off = [to[0] - from[0], to[1] - from[1]];
        let far = off[0].hypot(off[1]);
        if far < 0.25 {
            return None;
        }
        let drawn = off.map(|v| v / far * LEAST_ARROW_PX);
        Some(Arrow { line: vec![[to[0] - drawn[0], to[1] - drawn[1]], to] })
    }
}

/// All that is drawn over a tile.
#[derive(Clone, Debug, Default)]
pub(super) struct TileOverlay {
    pub camera: Option<Camera>,
    pub number: usize,
    pub words: String,
    pub arrows: Vec<Arrow>,
    pub labels: Vec<Label>,
}

impl TileOverlay {
    pub(super) fn paint(&self, ctx: &egui::Context) {
        let Some(camera) = &self.camera else { return };
        let painter = ctx.layer_painter(egui::LayerId::background());
        let area = rect_of(&camera.area);
        let small = Brush::new(painter.clone(), 0.8);
        let mut taken = Taken::new(area.shrink(4.0));
        let size = vec2(164.0, 88.0);
        taken.add(small.axes_at(camera, pos2(size.x / 2.0 + 4.0, area.bottom() - size.y / 2.0 - 4.0), size));
        for arrow in &self.arrows {
            taken.add(draw_arrow(&painter, arrow));
        }
        let brush = Brush::new(painter.clone(), 1.0);
        for label in &self.labels {
            brush.label(label, &mut taken);
        }
        let [width, height] = camera.size_px.map(|v| v as f32);
        let words = Rect::from_min_max(pos2(0.0, area.bottom()), pos2(width, height));
        painter.rect_filled(words, 0.0, colour(PAPER));
        let centre = pos2(NUMBER_PX as f32 / 2.0 + 2.0, words.top() + 26.0);
        painter.circle(centre, 17.0, colour(ON_ITS_WAY), Stroke::new(1.2, colour(INK)));
        let size = if self.number < 100 { 18.0 } else { 12.0 };
        painter.text(
            centre,
            Align2::CENTER_CENTER,
            self.number,
            egui::FontId::proportional(size),
            colour(PAPER),
        );
        let font = egui::FontId::proportional(WORDS_PX as f32);
        for (at, line) in tile_lines(&self.words, camera.size_px[0]).iter().enumerate() {
            let y = words.top() + 14.0 + (at as f64 * WORDS_PX * LEADING) as f32;
            painter.text(pos2(NUMBER_PX as f32, y), Align2::LEFT_TOP, line, font.clone(), colour(INK));
        }
        let edge = Stroke::new(1.0, colour(FAINT));
        let whole = Rect::from_min_max(pos2(0.0, 0.0), pos2(width, height));
        painter.rect_stroke(whole, 0.0, edge, StrokeKind::Inside);
        painter.hline(words.x_range(), words.top(), edge);
    }
}

/// A line with a light rim and a head; gives the room that it takes.
fn draw_arrow(painter: &egui::Painter, arrow: &Arrow) -> Rect {
    let line: Vec<egui::Pos2> = arrow.line.iter().copied().map(point).collect();
    let Some(tip) = line.last().copied() else { return Rect::NOTHING };
    // The head points the way of the last stretch that is long enough to have one.
    let from = line.iter().rev().copied().find(|at| (*at - tip).length() > 9.0).unwrap_or(line[0]);
    let along = (tip - from).normalized();
    let side = vec2(-along.y, along.x);
    let neck = tip - along * 15.0;
    let shaft: Vec<egui::Pos2> =
        line.iter().copied().filter(|at| (*at - tip).length() > 12.0).chain([neck]).collect();
    let head =
        |wide: f32, long: f32| vec![tip + along * (long - 15.0), neck + side * wide, neck - side * wide];
    for (width, wide, long, shade) in [(7.0, 11.5, 20.0, PAPER), (3.2, 8.0, 16.0, INK)] {
        painter.add(egui::Shape::line(shaft.clone(), Stroke::new(width, colour(shade))));
        painter.add(egui::Shape::convex_polygon(head(wide, long), colour(shade), Stroke::NONE));
    }
    Rect::from_points(&line).expand(6.0)
}

/// A line of words in a band.
#[derive(Clone, Debug)]
pub(super) struct BandLine {
    words: String,
    letter_px: f64,
    shade: Shade,
}

impl BandLine {
    /// For cautions and notes.
    pub(super) fn small(words: &str) -> Self {
        BandLine { words: words.to_owned(), letter_px: 14.0, shade: INK }
    }
}

/// Words across the whole strip.
#[derive(Clone, Debug)]
pub(super) struct Band {
    lines: Vec<BandLine>,
    /// Whether the legend stands under the words.
    legend: bool,
    ground: Shade,
}

const BAND_MARGIN_PX: f64 = 10.0;
const LEGEND_PX: f64 = 30.0;

impl Band {
    /// Lines broken to a width.
    pub(super) fn of(told: Vec<BandLine>, width_px: f64) -> Self {
        let broken = told.iter().flat_map(|line| {
            lines(&line.words, width_px - 36.0, line.letter_px)
                .into_iter()
                .map(|words| BandLine { words, ..line.clone() })
        });
        Band { lines: broken.collect(), legend: false, ground: PAPER }
    }

    /// The head of a strip.
    pub(super) fn head(title: &str, notes: &[String], width_px: f64) -> Self {
        let first = BandLine { words: title.to_owned(), letter_px: 23.0, shade: INK };
        let notes = notes.iter().map(|words| BandLine { shade: FAINT, ..BandLine::small(words) });
        Band { legend: true, ..Band::of(std::iter::once(first).chain(notes).collect(), width_px) }
    }

    /// The line over a part's tiles.
    pub(super) fn heading(words: &str, width_px: f64) -> Self {
        let line = BandLine { words: words.to_owned(), letter_px: 18.0, shade: INK };
        Band { ground: BACKGROUND, ..Band::of(vec![line], width_px) }
    }

    /// Height, pixels; 0 for one with nothing in it.
    pub(super) fn height_px(&self) -> u32 {
        if self.lines.is_empty() && !self.legend {
            return 0;
        }
        let words: f64 = self.lines.iter().map(|line| line.letter_px * LEADING).sum();
        let legend = if self.legend { LEGEND_PX } else { 0.0 };
        (words + legend + 2.0 * BAND_MARGIN_PX).ceil() as u32
    }

    pub(super) fn paint(&self, ctx: &egui::Context) {
        let painter = ctx.layer_painter(egui::LayerId::background());
        painter.rect_filled(Rect::EVERYTHING, 0.0, colour(self.ground));
        let (left, mut y) = (18.0, BAND_MARGIN_PX as f32);
        for line in &self.lines {
            let font = egui::FontId::proportional(line.letter_px as f32);
            painter.text(pos2(left, y), Align2::LEFT_TOP, &line.words, font, colour(line.shade));
            y += (line.letter_px * LEADING) as f32;
        }
        if self.legend {
            legend(&painter, pos2(left, y + LEGEND_PX as f32 / 2.0));
        }
    }
}

fn legend(painter: &egui::Painter, at: egui::Pos2) {
    let mut x = at.x;
    let pale = ON_ITS_WAY.mixed(BACKGROUND, 0.75);
    for (shade, words) in [
        (ON_ITS_WAY, "where the move ends"),
        (pale, "where it begins, and between"),
        (SKY_BLUE, "candidate"),
        (KEPT, "kept, must stay"),
        (PLAIN, "other"),
    ] {
        let rect = Rect::from_center_size(pos2(x + 7.0, at.y), vec2(14.0, 14.0));
        painter.rect(rect, 1.5, colour(shade), Stroke::new(0.9, colour(INK)), StrokeKind::Middle);
        let font = egui::FontId::proportional(14.0);
        let told = painter.text(pos2(x + 21.0, at.y), Align2::LEFT_CENTER, words, font, colour(INK));
        x = told.right() + 20.0;
    }
    let rect = Rect::from_center_size(pos2(x + 7.0, at.y), vec2(14.0, 14.0));
    let ghost = Color32::from_rgb(0xE2, 0xE4, 0xE7);
    painter.rect(rect, 1.5, ghost, Stroke::new(0.9, colour(FAINT)), StrokeKind::Middle);
    let font = egui::FontId::proportional(14.0);
    painter.text(pos2(x + 21.0, at.y), Align2::LEFT_CENTER, "faint: stands before it", font, colour(INK));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_keep_them_all() {
        let words =
            "lower 180 mm and slide rearward 40 mm, and meanwhile turn 40 deg clockwise seen from above";
        let broken = lines(words, 30.0 * 17.0 * LETTER, 17.0);
        assert_eq!(broken.join(" "), words);
        assert!(broken.iter().all(|line| line.chars().count() <= 30), "{broken:?}");
        assert_eq!(broken.len(), 4, "{broken:?}");
        assert!(lines("", 100.0, 17.0).is_empty());
    }

    #[test]
    fn a_short_arrow_is_drawn_out_backwards_and_keeps_its_tip_and_its_way() {
        let long = vec![[0.0, 0.0], [0.0, 50.0]];
        assert_eq!(Arrow::of(long.clone()).map(|arrow| arrow.line), Some(long));
        let short =
            Arrow::of(vec![[100.0, 100.0], [103.0, 104.0]]).map(|arrow| arrow.line).unwrap_or_default();
        let want = [[103.0 - 0.6 * LEAST_ARROW_PX, 104.0 - 0.8 * LEAST_ARROW_PX], [103.0, 104.0]];
        for (got, want) in short.iter().zip(want) {
            assert!((got[0] - want[0]).abs() < 1e-9 && (got[1] - want[1]).abs() < 1e-9, "{short:?}");
        }
        assert_eq!(Arrow::of(vec![[5.0, 5.0], [5.0, 5.1]]), None, "straight at the eye");
    }
}
