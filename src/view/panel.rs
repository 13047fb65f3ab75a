//! The panel at the left of the window: findings, movements, bodies, help.

use kiss3d::egui;
use kiss3d::egui::{Align, Color32, CornerRadius, Frame, Layout, Margin, RichText, Sense, Stroke, Ui, vec2};

use crate::motion::Freedom;

use super::caption;
use super::direction::ViewFrom;
use super::look::Shading;
use super::overlay::{colour, verdict_help};
use super::palette::{FAINT, INK, PAPER, Shade, verdict_shade};
use super::stance::word_of;
use super::window::Desk;

/// How wide the panel is, points.
pub(super) const WIDTH: f32 = 348.0;

/// What a person asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Wish {
    /// Fly to a finding, by index.
    Pick(usize),
    /// To the next finding (1) or the one before (-1).
    Next(isize),
    /// See everything.
    Whole,
    /// From a standard place.
    From(ViewFrom),
    /// Every carrier at rest.
    Rest,
    /// The worst pose of the finding picked.
    Worst,
    /// A slider moved.
    Moved,
    /// The way in runs or stops.
    Play,
    /// With perspective or without.
    Perspective,
    /// Names of bodies shown or not.
    Labels,
    /// Help shown or not.
    Help,
}

/// Every key and what it does, for the help and the documentation.
pub(super) const KEYS: [(&str, &str); 13] = [
    ("drag, left button", "turn round the middle"),
    ("drag, right or middle button", "slide across"),
    ("wheel", "nearer, farther, at the pointer"),
    ("Down, Up (or J, K)", "next finding, finding before"),
    ("Space", "the whole bay, nothing picked"),
    ("1 to 7", "from front, rear, left, right, above, quarter-left, quarter-right"),
    ("P", "with perspective, or to scale"),
    ("R", "carriers at rest"),
    ("W", "worst pose of the finding picked"),
    ("L", "names of bodies"),
    ("G", "run along the way in, or stop there (with --motion)"),
    ("H or F1", "this help"),
    ("Escape", "close"),
];

/// Shows the panel and gives what was asked for in it.
pub(super) fn show(ctx: &egui::Context, desk: &mut Desk<'_>) -> Vec<Wish> {
    style(ctx);
    let mut wishes = Vec::new();
    let height = ctx.content_rect().height();
    egui::Area::new(egui::Id::new("panel"))
        .fixed_pos(egui::Pos2::ZERO)
        .order(egui::Order::Middle)
        .movable(false)
        .fade_in(false)
        .constrain(false)
        .show(ctx, |ui| {
            Frame::new()
                .fill(colour(PAPER))
                .stroke(Stroke::new(1.0, colour(FAINT)))
                .inner_margin(Margin::same(14))
                .show(ui, |ui| {
                    ui.set_width(WIDTH - 28.0);
                    ui.set_height(height - 28.0);
                    contents(ui, desk, &mut wishes);
                });
        });
    if desk.help {
        help(ctx, &mut wishes);
    }
    wishes
}

fn style(ctx: &egui::Context) {
    ctx.all_styles_mut(|style| {
        style.visuals = egui::Visuals::light();
        style.visuals.override_text_color = Some(colour(INK));
        style.visuals.selection.bg_fill = Color32::from_rgb(0xDD, 0xE6, 0xEE);
        style.visuals.selection.stroke = Stroke::new(1.0, colour(INK));
        style.spacing.item_spacing = vec2(8.0, 5.0);
        style.spacing.slider_width = 190.0;
        for (kind, size) in [
            (egui::TextStyle::Body, 14.0),
            (egui::TextStyle::Button, 14.0),
            (egui::TextStyle::Small, 12.0),
            (egui::TextStyle::Heading, 17.0),
        ] {
            style.text_styles.insert(kind, egui::FontId::proportional(size));
        }
    });
}

fn contents(ui: &mut Ui, desk: &mut Desk<'_>, wishes: &mut Vec<Wish>) {
    ui.label(RichText::new(caption::title(desk.scene)).heading());
    ui.label(faint(&caption::tally(desk.findings)));
    ui.horizontal(|ui| {
        for (word, wish) in [("whole bay", Wish::Whole), ("names", Wish::Labels), ("help", Wish::Help)] {
            if ui.button(word).clicked() {
                wishes.push(wish);
            }
        }
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(faint("from"));
        for view in ViewFrom::ALL {
            if ui.small_button(view.word()).clicked() {
                wishes.push(Wish::From(view));
            }
        }
    });
    ui.separator();
    findings(ui, desk, wishes);
    ui.separator();
    egui::ScrollArea::vertical().id_salt("below").auto_shrink([false, false]).show(ui, |ui| {
        way_in(ui, desk, wishes);
        movements(ui, desk, wishes);
        bodies(ui, desk);
    });
}

fn findings(ui: &mut Ui, desk: &Desk<'_>, wishes: &mut Vec<Wish>) {
    let room = ui.available_height();
    if desk.findings.list.is_empty() {
        ui.label("No findings: no rule names a pair of these bodies.");
        return;
    }
    egui::ScrollArea::vertical().id_salt("findings").max_height(room * 0.42).auto_shrink([false, true]).show(
        ui,
        |ui| {
            for (i, finding) in desk.findings.list.iter().enumerate() {
                let fill =
                    if desk.picked == Some(i) { Color32::from_rgb(0xDD, 0xE6, 0xEE) } else { colour(PAPER) };
                let row = Frame::new()
                    .fill(fill)
                    .corner_radius(CornerRadius::same(4))
                    .inner_margin(Margin::symmetric(5, 3))
                    .show(ui, |ui| {
                        ui.horizontal_top(|ui| {
                            disc(ui, i + 1, verdict_shade(finding.verdict));
                            ui.vertical(|ui| {
                                ui.set_width(ui.available_width());
                                ui.spacing_mut().item_spacing.y = 1.0;
                                let amount = caption::amount_words(finding);
                                ui.label(RichText::new(finding.bodies.join(" to ")));
                                ui.label(faint(&match amount.is_empty() {
                                    true => format!("{}: {}", finding.verdict.word(), finding.message),
                                    false => format!("{}: {amount}", finding.verdict.word()),
                                }));
                            });
                        });
                    });
                let row = row.response.interact(Sense::click());
                if row.hovered() {
                    ui.ctx().set_cursor_icon(egui::CursorIcon::PointingHand);
                }
                if row.clicked() {
                    wishes.push(Wish::Pick(i));
                }
            }
        },
    );
    if let Some(finding) = desk.picked.and_then(|i| desk.findings.list.get(i)) {
        Frame::new()
            .stroke(Stroke::new(1.5, colour(verdict_shade(finding.verdict))))
            .corner_radius(CornerRadius::same(4))
            .inner_margin(Margin::same(7))
            .show(ui, |ui| {
                ui.set_width(ui.available_width());
                if let Some(gap) = desk.gap_now {
                    let words = if gap.mm() < 0.0 {
                        format!("as it stands now: overlap {}", gap.abs())
                    } else {
                        format!("as it stands now: gap {gap}")
                    };
                    ui.label(RichText::new(words).strong());
                }
                if let Some(place) = &finding.place {
                    ui.label(faint(&format!("worst {}", place.pose)));
                }
                if !finding.because.is_empty() {
                    ui.label(faint(&format!("why: {}", finding.because)));
                }
                if let Some(cure) = &finding.cure {
                    let s = cure.shift;
                    let how = if cure.proved { "would clear it" } else { "would clear this gap" };
                    ui.label(faint(&format!(
                        "moving {} by {:+.1}, {:+.1}, {:+.1} mm (rearward, right, up) {how}",
                        cure.body, s.x, s.y, s.z
                    )));
                }
            });
    }
}

fn way_in(ui: &mut Ui, desk: &mut Desk<'_>, wishes: &mut Vec<Wish>) {
    let Some(player) = &mut desk.player else { return };
    let now = player.now();
    ui.horizontal(|ui| {
        ui.label(RichText::new("way in").strong());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if ui.small_button(if player.running() { "stop" } else { "run" }).clicked() {
                wishes.push(Wish::Play);
            }
        });
    });
    ui.label(faint(&now.told()));
    ui.label(faint(&now.words));
    let mut shown = player.share() * 100.0;
    let slider = egui::Slider::new(&mut shown, 0.0..=100.0)
        .suffix(" %")
        .fixed_decimals(0)
        .clamping(egui::SliderClamping::Always);
    if ui.add(slider).changed() {
        player.set(shown / 100.0);
    }
    ui.add_space(6.0);
}

fn movements(ui: &mut Ui, desk: &mut Desk<'_>, wishes: &mut Vec<Wish>) {
    if desk.scene.carriers.iter().all(|c| c.movement.freedoms.is_empty()) {
        return;
    }
    ui.horizontal(|ui| {
        ui.label(RichText::new("movement").strong());
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            if desk.picked.is_some() && ui.small_button("worst pose").clicked() {
                wishes.push(Wish::Worst);
            }
            if ui.small_button("at rest").clicked() {
                wishes.push(Wish::Rest);
            }
        });
    });
    for (index, carrier) in desk.scene.carriers.iter().enumerate() {
        for (i, freedom) in carrier.movement.freedoms.iter().enumerate() {
            let (from, to) = freedom.range();
            let (scale, unit) = match freedom {
                Freedom::Turn { .. } => (1.0_f64.to_radians(), " deg"),
                Freedom::Slide { .. } => (1.0, " mm"),
            };
            let values = desk.stance.of_mut(index);
            let Some(value) = values.get_mut(i) else { continue };
            let mut shown = *value / scale;
            ui.label(faint(&format!("{}, {}", carrier.name, word_of(carrier, i))));
            let slider = egui::Slider::new(&mut shown, from / scale..=to / scale)
                .suffix(unit)
                .fixed_decimals(1)
                .clamping(egui::SliderClamping::Always);
            if ui.add(slider).changed() {
                *value = (shown * scale).clamp(from, to);
                wishes.push(Wish::Moved);
            }
        }
    }
    ui.add_space(6.0);
}

fn bodies(ui: &mut Ui, desk: &mut Desk<'_>) {
    ui.label(RichText::new("bodies").strong());
    for (body, chosen) in desk.scene.bodies.iter().zip(&mut desk.chosen) {
        ui.horizontal(|ui| {
            let word = match chosen {
                Shading::Solid => "solid",
                Shading::Sheer | Shading::Faded => "faded",
                Shading::Hidden => "hidden",
            };
            let button = egui::Button::new(RichText::new(word).small()).min_size(vec2(52.0, 18.0));
            if ui.add(button).on_hover_text("solid, faded or hidden").clicked() {
                *chosen = match chosen {
                    Shading::Solid => Shading::Faded,
                    Shading::Sheer | Shading::Faded => Shading::Hidden,
                    Shading::Hidden => Shading::Solid,
                };
            }
            let (shade, what) = super::palette::body_shade(body);
            swatch(ui, shade);
            ui.add(egui::Label::new(&body.name).truncate());
            if what != "other" {
                ui.label(faint(what));
            }
        });
    }
}

fn help(ctx: &egui::Context, wishes: &mut Vec<Wish>) {
    egui::Window::new("Help")
        .collapsible(false)
        .resizable(false)
        .anchor(egui::Align2::CENTER_CENTER, vec2(WIDTH / 2.0, 0.0))
        .show(ctx, |ui| {
            egui::Grid::new("keys").num_columns(2).spacing(vec2(18.0, 6.0)).show(ui, |ui| {
                for (key, does) in KEYS {
                    ui.label(RichText::new(key).strong());
                    ui.label(does);
                    ui.end_row();
                }
            });
            ui.separator();
            for (shade, words) in verdict_help() {
                ui.horizontal(|ui| {
                    swatch(ui, shade);
                    ui.label(words);
                });
            }
            ui.separator();
            ui.set_max_width(520.0);
            ui.label(faint(
                "What is shown is as good as the measurements behind it. Before anything is run, check on \
                 the vehicle itself: hot parts, fuel, coolant under pressure and moving belts hurt people.",
            ));
            if ui.button("close").clicked() {
                wishes.push(Wish::Help);
            }
        });
}

fn faint(words: &str) -> RichText {
    RichText::new(words).size(12.5).color(colour(FAINT))
}

fn swatch(ui: &mut Ui, shade: Shade) {
    let (rect, _) = ui.allocate_exact_size(vec2(12.0, 12.0), Sense::hover());
    let edge = Stroke::new(0.9, colour(INK));
    ui.painter().rect(rect, 1.5, colour(shade), edge, egui::StrokeKind::Middle);
}

fn disc(ui: &mut Ui, number: usize, shade: Shade) {
    let (rect, _) = ui.allocate_exact_size(vec2(24.0, 24.0), Sense::hover());
    ui.painter().circle(rect.center(), 11.0, colour(shade), Stroke::new(1.2, colour(INK)));
    let size = if number < 100 { 13.0 } else { 9.5 };
    ui.painter().text(
        rect.center(),
        egui::Align2::CENTER_CENTER,
        number,
        egui::FontId::proportional(size),
        colour(INK),
    );
}
