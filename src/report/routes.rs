//! Routes told: the ranked list, the bend list of one, or what stands in the way.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::bench::{BenchPiece, BenchUnit, bench_text, piece_json, said_with_lists};
use super::json::json_text;
use super::table::{Set, item, table, wrapped};
use crate::calc::{FlowError, FlowLoss};
use crate::route::{NearRoute, Route, RouteAnswer};

/// Name and version of the routes document.
const ROUTES_FORMAT: &str = "baywright-routes/1";

/// What a search came to, with what was asked.
#[derive(Clone, Debug)]
pub struct RouteReport<'a> {
    /// From where to where and in what, in one sentence.
    pub asked: String,
    /// What was found.
    pub answer: &'a RouteAnswer,
    /// The route that is told in full: its number from 1, and its bend list.
    pub picked: Option<(usize, BenchPiece<'a>)>,
    /// Whether preferred boxes were given: then their share is told.
    pub preferred: bool,
    /// Whether a flow was given: then what it costs is told.
    pub flow: bool,
    /// What comes first, in a sentence.
    pub ranked: &'static str,
}

/// What is not looked at by a search for routes.
const NOT_LOOKED_AT: &str = "Not looked at: whether the tube can be worked in past its neighbours, whether hands and \
    tools still get where they must (`baywright check` with the route saved says that), heat and the tube's own growth in it, strength.";

/// What is said of a flow's figures.
const OF_FLOW: &str = "Velocity and loss are screening figures: friction by Colebrook-White is good to some 15 %, bends to \
    40 %; steady flow at one temperature, nothing of what lies before and after the tube.";

/// For people, 80 columns. Ends with a line break.
pub fn routes_text(report: &RouteReport<'_>) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    let _ = writeln!(out, "{}\n", wrapped(&report.asked, 2));
    if report.answer.routes.is_empty() {
        let _ = writeln!(out, "{}\n", wrapped("none found; that is no proof that there is none", 0));
        for near in &report.answer.near {
            let _ = writeln!(out, "{}", item("-", 2, &near_words(near)));
            for one in &near.blockers {
                let at = one.at;
                let words = format!(
                    "`{}`: {:.1} mm short near ({:.0}, {:.0}, {:.0})",
                    one.name, one.short_mm, at.x, at.y, at.z
                );
                let _ = writeln!(out, "    {}", item("-", 2, &words).replace('\n', "\n    "));
            }
        }
        for seat in &report.answer.seats {
            let words = format!(
                "the {} port sits on `{1}`, which so stands in every way: if the tube is to be joined to it, say --joined-to {1}",
                seat.port, seat.body
            );
            let _ = writeln!(out, "\n{}", wrapped(&words, 0));
        }
        let _ = writeln!(out, "\n{}", wrapped(NOT_LOOKED_AT, 0));
        return out;
    }
    let mut heads = vec![
        ("#", Set::Right),
        ("bends", Set::Right),
        ("length mm", Set::Right),
        ("room mm", Set::Right),
        ("least room to", Set::Left),
    ];
    if report.flow {
        heads.insert(4, ("loss kPa", Set::Right));
        heads.insert(5, ("m/s", Set::Right));
    }
    if report.preferred {
        heads.insert(4, ("preferred", Set::Right));
    }
    let rows: Vec<Vec<String>> = report
        .answer
        .routes
        .iter()
        .enumerate()
        .map(|(at, route)| {
            let nearest = route.nearest.clone().unwrap_or_else(|| "nothing near".to_owned());
            let more = if route.nearest.is_none() { "over " } else { "" };
            let mut row = vec![
                (at + 1).to_string(),
                route.bends().to_string(),
                format!("{:.1}", route.length_mm),
                // Never told as more than is proved.
                format!("{more}{:.1}", (route.room_mm * 10.0).floor() / 10.0),
                nearest,
            ];
            if report.flow {
                let told = |what: fn(&FlowLoss) -> String| match (&route.flow, &route.flow_error) {
                    (Some(flow), _) => what(flow),
                    (None, Some(FlowError::Chokes { .. })) => "chokes".to_owned(),
                    _ => "none".to_owned(),
                };
                row.insert(4, told(|flow| format!("{:.2}", flow.loss_pa / 1e3)));
                row.insert(5, told(|flow| format!("{:.0}", flow.velocity_m_s)));
            }
            if report.preferred {
                row.insert(4, format!("{:.0} %", 100.0 * route.preferred_share));
            }
            row
        })
        .collect();
    let _ = writeln!(out, "{}\n", table(&heads, heads.len() - 1, &rows));
    let room = "Room is what every gap has left over what the rules ask and the measurements leave open, through all \
                movement: proved.";
    let _ = writeln!(out, "{}", wrapped(&format!("{room} {}", report.ranked), 0));
    if report.flow {
        let mut said: Vec<String> =
            report.answer.routes.iter().flat_map(|route| &route.flow).flat_map(FlowLoss::said).collect();
        said.truncate(1);
        let refused = report.answer.routes.iter().find_map(|route| route.flow_error.as_ref());
        said.extend(refused.map(|error| format!("Of a route without figures: {error}.")));
        let _ = writeln!(out, "{}", wrapped(&format!("{OF_FLOW} {}", said.join(" ")), 0));
    }
    for (at, route) in report.answer.routes.iter().enumerate() {
        if let Some(words) = ends_words(route) {
            let _ = writeln!(out, "{}", wrapped(&format!("Route {} {words}", at + 1), 0));
        }
    }
    let _ = writeln!(out, "{}\n", wrapped(NOT_LOOKED_AT, 0));
    if let Some((number, piece)) = &report.picked {
        let _ = writeln!(out, "route {number} in full");
        out.push_str(&bench_text(std::slice::from_ref(piece), BenchUnit::Millimetre));
    }
    out
}

/// How far off its ports a route ends; `None` when it ends in them exactly.
fn ends_words(route: &Route) -> Option<String> {
    let [start, end] = route.ends.map(|off| {
        let exact = off.offset_mm <= 1e-6 && off.angle_rad <= 1e-6;
        (!exact).then(|| format!("{:.2} mm and {:.2} deg", off.offset_mm, off.angle_rad.to_degrees()))
    });
    let told = match (start, end) {
        (None, None) => return None,
        (Some(start), None) => format!("starts {start} off its port"),
        (None, Some(end)) => format!("ends {end} off its port"),
        (Some(start), Some(end)) => format!("starts {start} off its port and ends {end} off"),
    };
    Some(format!("{told}: its joints are to take that (--fit-up)."))
}

fn near_words(near: &NearRoute) -> String {
    let mut said = format!("a way of {} bends and {:.0} mm", near.bends, near.length_mm);
    if near.rule_short_mm > 0.0 {
        said.push_str(&format!(", {:.1} mm short of the straight that bending needs", near.rule_short_mm));
    }
    if let Some(why) = &near.refused {
        said.push_str(&format!(": {why}"));
    }
    said
}

/// For programs: millimetres and degrees, unrounded.
pub fn routes_json(report: &RouteReport<'_>) -> String {
    let cautions: Vec<&str> = said_with_lists().collect();
    json_text(&json!({
        "format": ROUTES_FORMAT,
        "asked": report.asked,
        "routes": report.answer.routes.iter().map(route_json).collect::<Vec<_>>(),
        "seats": report.answer.seats.iter().map(|seat| json!({"port": seat.port, "body": seat.body})).collect::<Vec<_>>(),
        "near": report.answer.near.iter().map(near_json).collect::<Vec<_>>(),
        "picked": report.picked.as_ref().map(|(number, piece)| json!({"route": number, "tube": piece_json(piece)})),
        "not_looked_at": NOT_LOOKED_AT,
        "cautions": cautions,
    }))
}

fn route_json(route: &Route) -> Value {
    let corners = route.list.corners().map(|line| line.points).unwrap_or_default();
    let bends: Vec<Value> = route
        .list
        .bends
        .iter()
        .map(|bend| {
            json!({
                "straight_mm": bend.straight_mm,
                "rotation_deg": bend.rotation_rad.to_degrees(),
                "angle_deg": bend.angle_rad.to_degrees(),
                "radius_mm": bend.radius_mm,
            })
        })
        .collect();
    json!({
        "bends": bends,
        "last_straight_mm": route.list.last_straight_mm,
        "length_mm": route.length_mm,
        "room_mm": route.room_mm,
        "nearest": route.nearest,
        "preferred_share": route.preferred_share,
        "care": route.care,
        "ends": route.ends.map(|off| json!({"offset_mm": off.offset_mm, "angle_deg": off.angle_rad.to_degrees()})),
        "flow": route.flow.as_ref().map(flow_json),
        "flow_error": route.flow_error.as_ref().map(ToString::to_string),
        "corners_mm": corners.iter().map(|point| [point.x, point.y, point.z]).collect::<Vec<_>>(),
    })
}

/// Screening figures, in SI units.
pub(super) fn flow_json(flow: &FlowLoss) -> Value {
    json!({
        "loss_pa": flow.loss_pa,
        "within_pa": flow.within_pa,
        "friction_pa": flow.friction_pa,
        "bends_pa": flow.bends_pa,
        "velocity_m_s": flow.velocity_m_s,
        "velocity_within_m_s": flow.velocity_within_m_s,
        "mach": flow.mach,
        "reynolds": flow.reynolds,
        "density_kg_m3": flow.density_kg_m3,
        "said": flow.said(),
        "kind": "screening",
    })
}

fn near_json(near: &NearRoute) -> Value {
    let blockers: Vec<Value> = near
        .blockers
        .iter()
        .map(|one| json!({"body": one.name, "short_mm": one.short_mm, "at_mm": [one.at.x, one.at.y, one.at.z]}))
        .collect();
    json!({
        "bends": near.bends,
        "length_mm": near.length_mm,
        "rule_short_mm": near.rule_short_mm,
        "refused": near.refused,
        "blockers": blockers,
    })
}
