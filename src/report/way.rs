//! Ways in, told: text, JSON, poses as CSV.

use std::fmt::Write as _;
use std::time::Duration;

use nalgebra::Vector3;
use serde::Serialize;

use crate::assembly::Cage;
use crate::scene::Scene;
use crate::space::{Length, Pose};
use crate::way_in::{Answer, Ended, Impossible, Move, Way, seat_words};

use super::{CAUTIONS, json_text};

/// Name and version of the document of a way in.
pub const WAY_FORMAT: &str = "baywright-way-in/1";

/// What is told.
#[derive(Clone, Debug)]
pub struct WayReport<'a> {
    /// The scene.
    pub scene: &'a Scene,
    /// The body that is worked in.
    pub body: &'a str,
    /// Least gap asked for.
    pub gap: Length,
    /// Seed.
    pub seed: u64,
    /// Time allowed.
    pub time: Duration,
    /// Bodies taken off first.
    pub without: &'a [String],
    /// Names of the obstacles, as the answer numbers them.
    pub names: &'a [String],
    /// What must be known about how the question was put.
    pub remarks: &'a [String],
    /// The last move on to the seat, mm, not looked at.
    pub seat_mm: Option<Vector3<f64>>,
    /// The answer.
    pub answer: &'a Answer,
    /// Proof that the body is caged in, where one was found: then that is the answer.
    pub cage: Option<&'a Cage>,
}

pub(super) const NOT_LOOKED_AT: &str = "Not looked at: whether hands and tools get there, weight, what bends (hoses, wires), the measurements' uncertainty.";

impl WayReport<'_> {
    fn name(&self, obstacle: usize) -> &str {
        self.names.get(obstacle).map_or("?", String::as_str)
    }

    fn why(&self, impossible: &Impossible) -> String {
        let told = |by: usize, gap: Length| {
            let name = self.name(by);
            if gap.mm() <= 0.0 {
                format!("overlaps or touches `{name}`")
            } else {
                format!("is {:.2} mm from `{name}`, less than is to be kept", gap.mm())
            }
        };
        match impossible {
            Impossible::GoalNotFree { by, gap } => {
                format!("the mounted pose is not free: it {}", told(*by, *gap))
            }
            Impossible::StartNotFree { by, gap } => format!("the start is not free: it {}", told(*by, *gap)),
        }
    }
}

/// Behind "none was found", where the search was not through.
pub(super) const fn cut_words(cut_short: bool, cancelled: bool) -> &'static str {
    match (cut_short, cancelled) {
        (_, true) => " before the search was ended early",
        (true, false) => " before the time was up",
        (false, false) => "",
    }
}

/// The answer for a person.
pub fn way_text(report: &WayReport<'_>) -> String {
    let mut text = String::new();
    let body = report.body;
    // Writing to a String cannot fail.
    match report.answer {
        Answer::NoneFound(_) if report.cage.is_some() => {
            let why = report.cage.map(Cage::words).unwrap_or_default();
            let _ = writeln!(text, "`{body}` does not go in, and this is proved: {why}.");
        }
        Answer::Way(way) => {
            let moves = way.moves();
            let _ = writeln!(
                text,
                "`{body}` goes in: {}, every instant proved to keep its gaps.\n",
                if moves.len() == 1 { "1 move".to_owned() } else { format!("{} moves", moves.len()) }
            );
            text.push_str(&moves_text(way, report.seat_mm.as_ref(), "  "));
            let _ = writeln!(
                text,
                "\nGap kept: {:.1} mm unless said otherwise below; on top of that {:.1} mm to spare everywhere.",
                report.gap.mm(),
                way.spare.mm()
            );
        }
        Answer::NoneFound(none) => {
            let why = match none.ended {
                Ended::Time => format!("within {:.0} s", report.time.as_secs_f64()),
                Ended::Checks => "within the number of poses allowed".to_owned(),
                Ended::Cancelled => "before the search was ended early".to_owned(),
                Ended::Memory => "within the memory allowed".to_owned(),
            };
            let _ = writeln!(
                text,
                "No way in for `{body}` was found {why}. That does not prove that there is none.\n"
            );
            let _ = writeln!(
                text,
                "The nearest that the way from outside came to the way from the mounted pose is {:.1} mm (shift and turn).",
                none.apart.mm()
            );
            if !none.stopped_by.is_empty() {
                let _ = writeln!(text, "Stopped by:");
            }
            for (by, share) in none.stopped_by.iter().take(5) {
                let _ = writeln!(text, "  {:>3.0} % {}", 100.0 * share, report.name(*by));
            }
            let _ = writeln!(
                text,
                "\nTry more --time, another --from, --without what comes off, or a smaller --gap."
            );
        }
        Answer::Impossible(impossible) => {
            let _ =
                writeln!(text, "`{body}` does not go in, and this is proved: {}.", report.why(impossible));
        }
    }
    for remark in report.remarks {
        let _ = writeln!(text, "Note: {remark}.");
    }
    for name in report.without {
        let _ = writeln!(text, "Note: `{name}` is taken off first.");
    }
    let _ = writeln!(text, "Seed {}. {NOT_LOOKED_AT}\n", report.seed);
    for caution in CAUTIONS {
        let _ = writeln!(text, "{caution}");
    }
    text
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    title: &'a str,
    body: &'a str,
    answer: &'static str,
    gap_mm: f64,
    seed: u64,
    without: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    spare_mm: Option<f64>,
    poses: Vec<PoseJson>,
    /// Of the body's frame: goes straight between two poses.
    #[serde(skip_serializing_if = "Option::is_none")]
    middle_mm: Option<[f64; 3]>,
    moves: Vec<MoveJson>,
    seat_mm: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    why: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    apart_mm: Option<f64>,
    stopped_by: Vec<StopJson<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ended: Option<&'static str>,
    remarks: &'a [String],
    not_checked: [&'static str; 1],
    cautions: [&'static str; 4],
}

#[derive(Serialize)]
pub(super) struct PoseJson {
    at_mm: [f64; 3],
    /// Unit quaternion.
    turn_xyzw: [f64; 4],
}

#[derive(Serialize)]
pub(super) struct MoveJson {
    words: String,
    slide_mm: [f64; 3],
    turn_axis_deg: [f64; 3],
    about_mm: [f64; 3],
}

#[derive(Serialize)]
struct StopJson<'a> {
    body: &'a str,
    share: f64,
}

pub(super) fn three(v: &Vector3<f64>) -> [f64; 3] {
    [v.x, v.y, v.z]
}

pub(super) fn pose_json(pose: &Pose) -> PoseJson {
    let q = pose.rotation.coords;
    PoseJson { at_mm: three(&pose.translation.vector), turn_xyzw: [q.x, q.y, q.z, q.w] }
}

/// The moves of a way, for programs.
pub(super) fn moves_json(way: &Way) -> Vec<MoveJson> {
    let told = |one: &Move| MoveJson {
        words: one.words(),
        slide_mm: three(&one.slide_mm),
        turn_axis_deg: three(&one.turn_rad.map(f64::to_degrees)),
        about_mm: three(&one.middle.coords),
    };
    way.moves().iter().map(told).collect()
}

/// One pose as columns.
pub(super) fn pose_csv(pose: &Pose) -> String {
    let PoseJson { at_mm: [x, y, z], turn_xyzw: [a, b, c, d] } = pose_json(pose);
    format!("{x:.9},{y:.9},{z:.9},{a:.12},{b:.12},{c:.12},{d:.12}")
}

/// A way as numbered lines, its seat the last.
pub(super) fn moves_text(way: &Way, seat_mm: Option<&Vector3<f64>>, indent: &str) -> String {
    let mut text = String::new();
    let moves = way.moves();
    for (at, one) in moves.iter().enumerate() {
        let _ = writeln!(text, "{indent}{:>2}. {}", at + 1, one.words());
    }
    if let Some(seat) = seat_mm {
        let _ = writeln!(text, "{indent}{:>2}. {}", moves.len() + 1, seat_words(seat));
    }
    text
}

/// The answer for programs.
pub fn way_json(report: &WayReport<'_>) -> String {
    let mut document = Document {
        format: WAY_FORMAT,
        title: &report.scene.title,
        body: report.body,
        answer: "",
        gap_mm: report.gap.mm(),
        seed: report.seed,
        without: report.without,
        spare_mm: None,
        poses: Vec::new(),
        middle_mm: None,
        moves: Vec::new(),
        seat_mm: report.seat_mm.as_ref().map(three),
        why: None,
        apart_mm: None,
        stopped_by: Vec::new(),
        ended: None,
        remarks: report.remarks,
        not_checked: [NOT_LOOKED_AT],
        cautions: CAUTIONS,
    };
    match report.answer {
        Answer::NoneFound(_) if report.cage.is_some() => {
            document.answer = "impossible";
            document.why = report.cage.map(Cage::words);
        }
        Answer::Way(way) => {
            document.answer = "way";
            document.spare_mm = Some(way.spare.mm());
            document.poses = way.poses.iter().map(pose_json).collect();
            document.middle_mm = Some(three(&way.middle.coords));
            document.moves = moves_json(way);
        }
        Answer::NoneFound(none) => {
            document.answer = "none found";
            document.poses = none.closest.iter().map(pose_json).collect();
            document.ended = Some(match none.ended {
                Ended::Time => "time",
                Ended::Checks => "poses",
                Ended::Cancelled => "early",
                Ended::Memory => "memory",
            });
            document.apart_mm = Some(none.apart.mm());
            let stop = |(by, share): &(usize, f64)| StopJson { body: report.name(*by), share: *share };
            document.stopped_by = none.stopped_by.iter().map(stop).collect();
        }
        Answer::Impossible(impossible) => {
            document.answer = "impossible";
            document.why = Some(report.why(impossible));
        }
    }
    json_text(&document)
}

/// Poses of a way, one a line: place of the body's frame, mm, and unit quaternion. Only the head where there is none.
pub fn way_csv(report: &WayReport<'_>) -> String {
    let mut text = "x_mm,y_mm,z_mm,qx,qy,qz,qw\n".to_owned();
    if let Answer::Way(way) = report.answer {
        for pose in &way.poses {
            let _ = writeln!(text, "{}", pose_csv(pose));
        }
    }
    text
}
