//! What is drawn over the scene in flat: marks, labels, legend, axes, scale bar, strip of words.
//!
//! [`Overlay`] is plain data in pixels; [`Overlay::paint`] is the only part that knows the painter.

use kiss3d::egui;
use kiss3d::egui::{Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Vec2, pos2, vec2};

use crate::check::Verdict;

use super::camera::{Area, Camera, Projection};
use super::caption::Caption;
use super::palette::{self, FAINT, INK, PAPER, SKY_BLUE, Shade, VERDICTS, verdict_meaning, verdict_shade};
use super::way::Way;

/// A finding marked in the picture.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Mark {
    pub number: usize,
    pub verdict: Verdict,
    /// Where its two places fall, pixels.
    pub ends: [[f64; 2]; 2],
    /// `touching, overlap 3.1 mm`.
    pub words: String,
}

/// A body named in the picture.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Label {
    pub at: [f64; 2],
    pub shade: Shade,
    pub words: String,
}

/// Whether the strip of words and the legend are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Strip {
    Drawn,
    Absent,
}

/// All that is drawn over the scene.
#[derive(Clone, Debug)]
pub(super) struct Overlay {
    /// Size of a point of text in pixels, for 12 to 16 pixel text.
    pub scale: f64,
    pub camera: Camera,
    pub caption: Caption,
    pub strip: Strip,
    pub marks: Vec<Mark>,
    pub labels: Vec<Label>,
    /// What the finding in focus was judged by.
    pub ways: Vec<Way>,
}

/// How large text is in a picture of a size: as on a page that is 1200 wide or 800 high.
pub(super) fn text_scale(width: f64, height: f64) -> f64 {
    (width / 1200.0).min(height / 760.0).clamp(0.72, 4.0)
}

/// How high the strip of words is for some rows, pixels.
pub(super) fn strip_height(scale: f64, rows: usize) -> f64 {
    let words = 14.0 + 24.0 + 19.0 + 20.0 * rows as f64 + 10.0;
    (words.max(LEGEND_HEIGHT) * scale).round()
}

const LEGEND_HEIGHT: f64 = 12.0 + 20.0 + 4.0 * 20.0 + 10.0;
const LEGEND_WIDTH: f32 = 268.0;

/// The length of a scale bar, mm, and in pixels: the roundest between 90 and 230 points long.
pub(super) fn scale_bar(mm_per_px: f64, scale: f64) -> Option<(f64, f64)> {
    let lengths = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0];
    lengths
        .into_iter()
        .map(|mm| (mm, mm / mm_per_px))
        .find(|(_, px)| (90.0 * scale..=230.0 * scale).contains(px))
}

impl Overlay {
    /// Paints everything.
    pub(super) fn paint(&self, ctx: &egui::Context) {
        let painter = ctx.layer_painter(egui::LayerId::background());
        let s = self.scale as f32;
        let brush = Brush::new(painter, s);
        let area = rect_of(&self.camera.area);
        let mut taken = Taken::new(area.shrink(4.0 * s));
        taken.rects.push(brush.axes(&self.camera, area));
        if let Projection::Parallel { .. } = self.camera.projection {
            taken.rects.extend(brush.scale_bar(&self.camera, area));
        }
        for way in &self.ways {
            brush.way_lines(way, area);
        }
        for mark in &self.marks {
            taken.rects.push(brush.mark_line(mark));
        }
        for mark in &self.marks {
            brush.mark_chip(mark, &mut taken);
        }
        for way in &self.ways {
            brush.way_words(way, &mut taken);
        }
        for label in &self.labels {
            brush.label(label, &mut taken);
        }
        if self.strip == Strip::Drawn {
            let [width, height] = self.camera.size_px.map(|v| v as f32);
            brush.strip(Rect::from_min_max(pos2(0.0, area.bottom()), pos2(width, height)), &self.caption);
        }
    }
}

/// Where text stands already, so that more doesn't cover it.
pub(super) struct Taken {
    area: Rect,
    rects: Vec<Rect>,
}

impl Taken {
    /// Nothing taken yet of an area.
    pub(super) fn new(area: Rect) -> Self {
        Taken { area, rects: Vec::new() }
    }

    /// Something stands there.
    pub(super) fn add(&mut self, rect: Rect) {
        self.rects.push(rect);
    }

    /// A free place for something of a size near a point, or the nearest one tried. Ways that
    /// lead out of the picture's middle come first, so that text covers little of the scene, and
    /// those along `aside` last.
    fn place(&mut self, at: Pos2, size: Vec2, s: f32, aside: Vec2) -> Rect {
        let out = at - self.area.center();
        let out = vec2(out.x / self.area.width(), out.y / self.area.height()) + vec2(0.0, -0.05);
        let mut ways = [
            (0.8, -0.8),
            (-0.8, -0.8),
            (0.8, 0.8),
            (-0.8, 0.8),
            (0.0, -1.0),
            (0.0, 1.0),
            (1.0, 0.0),
            (-1.0, 0.0),
        ];
        ways.sort_by(|a, b| {
            let along =
                |w: &(f32, f32)| w.0 * out.x + w.1 * out.y - 0.4 * (w.0 * aside.x + w.1 * aside.y).abs();
            along(b).total_cmp(&along(a))
        });
        let reaches = [34.0, 52.0, 76.0, 106.0, 140.0, 180.0, 230.0];
        let rects = reaches.into_iter().flat_map(|reach| {
            ways.into_iter().map(move |(x, y)| {
                let middle = at + vec2(x * (reach * s + size.x / 2.0), y * (reach * s + size.y / 2.0));
                Rect::from_center_size(middle, size)
            })
        });
        let free = |r: &Rect| {
            self.area.contains_rect(*r) && self.rects.iter().all(|t| !t.expand(3.0 * s).intersects(*r))
        };
        let within =
            Rect::from_center_size(at.clamp(self.area.min + size / 2.0, self.area.max - size / 2.0), size);
        let rect = rects.into_iter().find(free).unwrap_or(within);
        self.rects.push(rect);
        rect
    }
}

/// Draws with letters of a size.
pub(super) struct Brush {
    painter: Painter,
    s: f32,
}

impl Brush {
    /// `scale` is the size of a point of text in pixels.
    pub(super) fn new(painter: Painter, scale: f32) -> Self {
        Brush { painter, s: scale }
    }

    fn font(&self, points: f32) -> FontId {
        FontId::proportional(points * self.s)
    }

    fn mark_line(&self, mark: &Mark) -> Rect {
        let s = self.s;
        let [a, b] = mark.ends.map(point);
        let fill = colour(verdict_shade(mark.verdict));
        let middle = a + (b - a) / 2.0;
        if (b - a).length() > 16.0 * s {
            self.painter.line_segment([a, b], Stroke::new(6.0 * s, colour(PAPER)));
            self.painter.line_segment([a, b], Stroke::new(4.5 * s, colour(INK)));
            self.painter.line_segment([a, b], Stroke::new(2.5 * s, fill));
            for end in [a, b] {
                self.painter.circle(end, 5.0 * s, fill, Stroke::new(1.5 * s, colour(INK)));
            }
        } else {
            self.painter.circle_stroke(middle, 12.0 * s, Stroke::new(5.0 * s, colour(INK)));
            self.painter.circle_stroke(middle, 12.0 * s, Stroke::new(2.5 * s, fill));
            self.painter.line_segment([a, b], Stroke::new(2.0 * s, fill));
            self.painter.circle(middle, 3.0 * s, fill, Stroke::new(1.0 * s, colour(INK)));
        }
        Rect::from_two_pos(a, b).expand(14.0 * s)
    }

    fn way_lines(&self, way: &Way, area: Rect) {
        let s = self.s;
        let painter = self.painter.with_clip_rect(area);
        let dark = Color32::from_rgba_unmultiplied(INK.red, INK.green, INK.blue, 120);
        let points = |line: &Vec<[f64; 2]>| line.iter().copied().map(point).collect::<Vec<Pos2>>();
        for line in &way.thin {
            painter.add(egui::Shape::line(points(line), Stroke::new(1.1 * s, dark)));
        }
        for line in &way.strong {
            painter.add(egui::Shape::line(points(line), Stroke::new(4.6 * s, colour(PAPER))));
            painter.add(egui::Shape::line(points(line), Stroke::new(2.2 * s, colour(INK))));
        }
    }

    fn way_words(&self, way: &Way, taken: &mut Taken) {
        let s = self.s;
        let at = point(way.at);
        if !taken.area.contains(at) {
            return;
        }
        let words = self.painter.layout_no_wrap(way.words.clone(), self.font(13.0), colour(INK));
        let rect = taken.place(at, words.size() + vec2(12.0 * s, 6.0 * s), s, Vec2::ZERO);
        let from = rect.clamp(at);
        self.painter.line_segment([from, at], Stroke::new(1.0 * s, colour(INK)));
        self.painter.circle_filled(at, 2.6 * s, colour(INK));
        self.painter.rect(
            rect,
            3.0 * s,
            colour(PAPER),
            Stroke::new(1.0 * s, colour(INK)),
            StrokeKind::Middle,
        );
        self.painter.galley(rect.min + vec2(6.0 * s, 3.0 * s), words, colour(INK));
    }

    /// A number in the verdict's colour and its words beside it, with a line to the place.
    fn mark_chip(&self, mark: &Mark, taken: &mut Taken) {
        let s = self.s;
        let [a, b] = mark.ends.map(point);
        let middle = a + (b - a) / 2.0;
        let words = self.painter.layout_no_wrap(mark.words.clone(), self.font(14.0), colour(INK));
        let disc = 11.0 * s;
        let size = vec2(words.size().x + 2.0 * disc + 16.0 * s, (words.size().y + 8.0 * s).max(2.0 * disc));
        let rect = taken.place(middle, size, s, (b - a).normalized());
        let from = rect.clamp(middle);
        self.painter.line_segment([from, middle], Stroke::new(3.2 * s, colour(PAPER)));
        self.painter.line_segment([from, middle], Stroke::new(1.4 * s, colour(INK)));
        self.painter.rect(
            rect,
            rect.height() / 2.0,
            colour(PAPER),
            Stroke::new(1.2 * s, colour(INK)),
            StrokeKind::Middle,
        );
        let centre = pos2(rect.left() + rect.height() / 2.0, rect.center().y);
        self.disc(centre, rect.height() / 2.0, mark.number, mark.verdict);
        let at = pos2(centre.x + rect.height() / 2.0 + 6.0 * s, rect.center().y - words.size().y / 2.0);
        self.painter.galley(at, words, colour(INK));
    }

    fn disc(&self, centre: Pos2, radius: f32, number: usize, verdict: Verdict) {
        let edge = Stroke::new(1.2 * self.s, colour(INK));
        self.painter.circle(centre, radius, colour(verdict_shade(verdict)), edge);
        let size = if number < 100 { 13.0 } else { 9.5 };
        self.painter.text(centre, Align2::CENTER_CENTER, number, self.font(size), colour(INK));
    }

    pub(super) fn label(&self, label: &Label, taken: &mut Taken) {
        let s = self.s;
        let at = point(label.at);
        if !taken.area.contains(at) {
            return;
        }
        let words = self.painter.layout_no_wrap(label.words.clone(), self.font(12.5), colour(INK));
        let swatch = 9.0 * s;
        let size = words.size() + vec2(swatch + 17.0 * s, 6.0 * s);
        let rect = taken.place(at, size, s * 0.6, Vec2::ZERO);
        let from = rect.clamp(at);
        self.painter.line_segment([from, at], Stroke::new(1.0 * s, colour(FAINT)));
        self.painter.circle_filled(at, 2.2 * s, colour(FAINT));
        let paper = Color32::from_rgba_unmultiplied(PAPER.red, PAPER.green, PAPER.blue, 225);
        self.painter.rect(rect, 3.0 * s, paper, Stroke::new(0.8 * s, colour(FAINT)), StrokeKind::Middle);
        self.swatch(pos2(rect.left() + 6.0 * s + swatch / 2.0, rect.center().y), swatch, label.shade);
        let at = pos2(rect.left() + swatch + 11.0 * s, rect.center().y - words.size().y / 2.0);
        self.painter.galley(at, words, colour(INK));
    }

    fn swatch(&self, middle: Pos2, side: f32, shade: Shade) {
        let rect = Rect::from_center_size(middle, Vec2::splat(side));
        let edge = Stroke::new(0.9 * self.s, colour(INK));
        self.painter.rect(rect, 1.5 * self.s, colour(shade), edge, StrokeKind::Middle);
    }

    /// Which way the vehicle's axes run, in words; an axis along the sight is a dot.
    fn axes(&self, camera: &Camera, area: Rect) -> Rect {
        let s = self.s;
        let middle = pos2(area.left() + 118.0 * s, area.bottom() - 70.0 * s);
        self.axes_at(camera, middle, vec2(214.0, 124.0) * s)
    }

    /// The same about a place, on paper of a size.
    pub(super) fn axes_at(&self, camera: &Camera, middle: Pos2, size: Vec2) -> Rect {
        let s = self.s;
        let [right, up, back] = camera.axes();
        let named = [
            (nalgebra::Vector3::x(), "rearward"),
            (nalgebra::Vector3::y(), "right"),
            (nalgebra::Vector3::z(), "up"),
        ];
        let mut axes = named.map(|(axis, word)| {
            (back.dot(&axis), vec2(right.dot(&axis) as f32, -up.dot(&axis) as f32), word)
        });
        axes.sort_by(|a, b| a.0.total_cmp(&b.0));
        let backing = Rect::from_center_size(middle - vec2(0.0, 4.0 * s), size);
        self.backing(backing);
        let mut words_at: Vec<Rect> = Vec::new();
        for (_, way, _) in &axes {
            words_at.push(Rect::from_center_size(middle + *way * 36.0 * s, Vec2::splat(5.0 * s)));
        }
        let across: Vec2 = axes.iter().map(|a| a.1).fold(Vec2::ZERO, |sum, way| sum + way);
        for (depth, way, word) in axes {
            if way.length() < 0.12 {
                let stroke = Stroke::new(1.6 * s, colour(INK));
                self.painter.circle(middle, 5.0 * s, colour(PAPER), stroke);
                let (word, toward) = if depth > 0.0 { (word, "to you") } else { (word, "away") };
                if depth > 0.0 {
                    self.painter.circle_filled(middle, 2.0 * s, colour(INK));
                } else {
                    let d = 3.0 * s;
                    self.painter.line_segment([middle - vec2(d, d), middle + vec2(d, d)], stroke);
                    self.painter.line_segment([middle - vec2(d, -d), middle + vec2(d, -d)], stroke);
                }
                // Where the other two axes don't run.
                let (x, anchor) = if across.x > 0.0 { (-9.0, 0) } else { (9.0, 1) };
                let (y, below) = if across.y > 0.0 { (-9.0, 0) } else { (9.0, 1) };
                let anchor = match (anchor, below) {
                    (0, 0) => Align2::RIGHT_BOTTOM,
                    (0, _) => Align2::RIGHT_TOP,
                    (_, 0) => Align2::LEFT_BOTTOM,
                    _ => Align2::LEFT_TOP,
                };
                let words = format!("{word}, {toward}");
                self.painter.text(middle + vec2(x, y) * s, anchor, words, self.font(12.5), colour(INK));
                continue;
            }
            let tip = middle + way * 38.0 * s;
            self.painter.arrow(middle, tip - middle, Stroke::new(2.0 * s, colour(INK)));
            let at = middle + way * 38.0 * s + way.normalized() * 6.0 * s;
            let lean = way.normalized();
            let anchor = match (lean.x, lean.y) {
                (x, _) if x > 0.5 => Align2::LEFT_CENTER,
                (x, _) if x < -0.5 => Align2::RIGHT_CENTER,
                (_, y) if y > 0.0 => Align2::CENTER_TOP,
                _ => Align2::CENTER_BOTTOM,
            };
            // Two axes may run the same way on the page: the second word then steps aside.
            let words = self.painter.layout_no_wrap(word.to_owned(), self.font(12.5), colour(INK));
            let mut rect = anchor.anchor_size(at, words.size());
            while words_at.iter().any(|taken| taken.intersects(rect)) {
                rect = rect.translate(vec2(0.0, 3.0 * s));
            }
            words_at.push(rect);
            self.painter.galley(rect.min, words, colour(INK));
        }
        backing
    }

    /// Quiet paper under text that stands on the scene.
    fn backing(&self, rect: Rect) {
        let paper = Color32::from_rgba_unmultiplied(
            palette::BACKGROUND.red,
            palette::BACKGROUND.green,
            palette::BACKGROUND.blue,
            200,
        );
        self.painter.rect_filled(rect, 8.0 * self.s, paper);
    }

    fn scale_bar(&self, camera: &Camera, area: Rect) -> Option<Rect> {
        let s = self.s;
        let (mm, px) = scale_bar(camera.mm_per_px(&camera.target), f64::from(s))?;
        let right = pos2(area.right() - 26.0 * s, area.bottom() - 24.0 * s);
        let left = right - vec2(px as f32, 0.0);
        let stroke = Stroke::new(2.0 * s, colour(INK));
        self.backing(Rect::from_min_max(left - vec2(10.0, 26.0) * s, right + vec2(10.0, 10.0) * s));
        self.painter.line_segment([left, right], stroke);
        for end in [left, right] {
            self.painter.line_segment([end - vec2(0.0, 5.0 * s), end + vec2(0.0, 5.0 * s)], stroke);
        }
        let above = left + (right - left) / 2.0 - vec2(0.0, 6.0 * s);
        self.painter.text(above, Align2::CENTER_BOTTOM, format!("{mm} mm"), self.font(13.0), colour(INK));
        Some(Rect::from_two_pos(left, right).expand(24.0 * s))
    }

    /// The strip of words: title, how it is seen, findings; the legend at the right.
    fn strip(&self, rect: Rect, caption: &Caption) {
        let s = self.s;
        self.painter.rect_filled(rect, 0.0, colour(PAPER));
        self.painter.hline(rect.x_range(), rect.top(), Stroke::new(1.2 * s, colour(INK)));
        let legend = rect.width() > (LEGEND_WIDTH + 330.0) * s;
        let left = rect.left() + 18.0 * s;
        let right = rect.right() - if legend { (LEGEND_WIDTH + 24.0) * s } else { 18.0 * s };
        let line = |y: f32, indent: f32, words: &str, size: f32, shade: Shade| {
            let mut job =
                egui::text::LayoutJob::simple_singleline(words.to_owned(), self.font(size), colour(shade));
            job.wrap.max_width = right - left - indent * s;
            job.wrap.max_rows = 1;
            job.wrap.break_anywhere = true;
            let galley = self.painter.layout_job(job);
            self.painter.galley(pos2(left + indent * s, y - galley.size().y / 2.0), galley, colour(shade));
        };
        let mut y = rect.top() + (14.0 + 11.0) * s;
        line(y, 0.0, &caption.title, 17.0, INK);
        y += 22.0 * s;
        line(y, 0.0, &caption.note, 12.5, FAINT);
        y += 21.0 * s;
        if let Some(words) = &caption.moving {
            let mut job =
                egui::text::LayoutJob::simple(words.clone(), self.font(14.0), colour(INK), right - left);
            job.wrap.max_rows = 3;
            let galley = self.painter.layout_job(job);
            self.painter.galley(pos2(left, y - 8.0 * s), galley, colour(INK));
        }
        for row in &caption.rows {
            self.disc(pos2(left + 9.0 * s, y), 8.5 * s, row.number, row.verdict);
            line(y, 26.0, &format!("{}: {}", row.verdict.word(), row.words), 14.0, INK);
            y += 20.0 * s;
        }
        if legend {
            self.legend(
                pos2(rect.right() - LEGEND_WIDTH * s, rect.top() + 12.0 * s),
                caption.moving.is_some(),
            );
        }
    }

    fn legend(&self, at: Pos2, moving: bool) {
        let s = self.s;
        let verdicts = VERDICTS.map(|v| (verdict_shade(v), v.word()));
        let bodies = [
            (SKY_BLUE, "candidate, on trial"),
            (palette::KEPT, "kept, must stay"),
            (palette::PLAIN, "other"),
            (palette::ON_ITS_WAY, palette::ON_ITS_WAY_WORD),
        ];
        let bodies = &bodies[..if moving { 4 } else { 3 }];
        for (x, heading, entries) in [(0.0, "verdict", &verdicts[..]), (112.0, "body", bodies)] {
            let left = at.x + x * s;
            let y = at.y + 10.0 * s;
            self.painter.text(pos2(left, y), Align2::LEFT_CENTER, heading, self.font(12.5), colour(FAINT));
            for (i, (shade, word)) in entries.iter().enumerate() {
                let y = at.y + (30.0 + 20.0 * i as f32) * s;
                self.swatch(pos2(left + 6.5 * s, y), 13.0 * s, *shade);
                let at = pos2(left + 20.0 * s, y);
                self.painter.text(at, Align2::LEFT_CENTER, word, self.font(13.5), colour(INK));
            }
        }
    }
}

/// Verdict words with what they mean, for a window's help.
pub(super) fn verdict_help() -> [(Shade, String); 4] {
    VERDICTS.map(|v| (verdict_shade(v), format!("{}: {}", v.word(), verdict_meaning(v))))
}

/// A colour of the palette as the painter has it.
pub(super) fn colour(shade: Shade) -> Color32 {
    Color32::from_rgb(shade.red, shade.green, shade.blue)
}

pub(super) fn point(at: [f64; 2]) -> Pos2 {
    pos2(at[0] as f32, at[1] as f32)
}

pub(super) fn rect_of(area: &Area) -> Rect {
    Rect::from_min_size(pos2(area.left as f32, area.top as f32), vec2(area.width as f32, area.height as f32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_bar_is_round_and_neither_short_nor_long() {
        for (case, mm_per_px, want) in [
            ("a whole bay, 1.5 m over 1500 px: 100 px", 1.0, Some((100.0, 100.0))),
            ("half a metre over 1500 px: 50 mm is 150 px", 1.0 / 3.0, Some((50.0, 150.0))),
            ("a close-up, 30 mm over 1500 px: 2 mm is 100 px", 0.02, Some((2.0, 100.0))),
            ("nothing round fits a scene of kilometres", 1000.0, None),
        ] {
            let got = scale_bar(mm_per_px, 1.0).map(|(mm, px)| (mm, (px * 1e6).round() / 1e6));
            assert_eq!(got, want, "{case}");
        }
    }

    #[test]
    fn a_strip_holds_its_rows_and_its_legend() {
        assert!(strip_height(1.0, 0) >= LEGEND_HEIGHT);
        assert!(strip_height(1.0, 6) > strip_height(1.0, 4));
        assert_eq!(strip_height(2.0, 4), 2.0 * strip_height(1.0, 4));
    }
}
