//! Joints of tubes that ride on different carriers: whether they take up the movement and the growth.

use nalgebra::{Point3, Unit, Vector3};

use crate::clearance::distance_under;
use crate::scene::{Body, Joined, Scene};
use crate::space::Length;
use crate::tube::{Demand, JointKind, demand_over, even_growth, joint_size};

use super::growth::{COLD_C, metal_of};
use super::making::lines_of;
use super::pair::Ready;
use super::{Finding, Findings, Place, Verdict};

/// Under this a joint is asked nothing: mm, rad.
const NOTHING: (f64, f64) = (0.05, 0.001);

/// The joint of a rigid tube: where, which way out of the tube, and on what diameter.
struct At {
    at: Point3<f64>,
    out: Unit<Vector3<f64>>,
    outside_mm: f64,
    /// How the joint's end moves when the tube is hot and its other end is held, mm.
    growth: Vector3<f64>,
}

/// Roles of what bends by itself.
const FLEXIBLE: [&str; 3] = ["hose", "harness", "rubber"];

/// Whether a body is a rigid tube of the job: of a metal that is known, or of nothing that is said, and no hose.
fn rigid(body: &Body) -> bool {
    let bends = body.roles.iter().any(|role| FLEXIBLE.contains(&role.as_str()));
    !body.kept && !bends && (body.material.is_none() || metal_of(body).is_some())
}

/// Every joined pair of which one is a rigid tube and that ride on different carriers.
pub(super) fn check(scene: &Scene, ready: &[Ready<'_>], findings: &mut Findings) {
    let find = |name: &str| ready.iter().find(|ready| ready.body.name == name);
    for joined in &scene.joined {
        let (Some(one), Some(other)) = (find(&joined.one), find(&joined.other)) else { continue };
        if one.body.carrier == other.body.carrier {
            continue;
        }
        let tube = [(one, other), (other, one)].into_iter().find_map(|(tube, mate)| {
            let at = rigid(tube.body).then(|| joint_at(tube, mate)).flatten()?;
            Some((tube, mate, at))
        });
        match tube {
            Some((tube, mate, at)) => judge(scene, joined, (tube.body, mate.body), &at, findings),
            None => findings.not_checked.push(format!(
                "whether the joint of `{}` and `{}` takes the movement between `{}` and `{}`: neither is a rigid \
                 tube of the job",
                joined.one,
                joined.other,
                scene.carriers[one.body.carrier].name,
                scene.carriers[other.body.carrier].name
            )),
        }
    }
}

/// The end of a tube that lies nearest to its mate.
fn joint_at(tube: &Ready<'_>, mate: &Ready<'_>) -> Option<At> {
    let mate_from_world = mate.body.world_from_body.inverse();
    let mut best: Option<(f64, At)> = None;
    for (shape, list) in lines_of(tube.body) {
        let growth = match (tube.body.hot_c, metal_of(tube.body)) {
            (Some(hot_c), Some(material)) => even_growth(&list, material, COLD_C, hot_c).ok()?.end,
            _ => Vector3::zeros(),
        };
        for (pose, sign) in [(list.start, -1.0), (list.end(), 1.0)] {
            let at = Point3::from(pose.translation.vector);
            let far = distance_under(&mate.shape, &(mate_from_world * at), Length::from_mm(f64::INFINITY));
            let far_mm = far.map_or(f64::INFINITY, |found| found.distance_mm);
            if best.as_ref().is_none_or(|(best, _)| far_mm < *best) {
                let out = Unit::new_normalize(pose * Vector3::x() * sign);
                let outside_mm = 2.0 * shape.radius_mm;
                best = Some((far_mm, At { at, out, outside_mm, growth: growth * sign }));
            }
        }
    }
    best.map(|(_, at)| at)
}

fn judge(scene: &Scene, joined: &Joined, (tube, mate): (&Body, &Body), at: &At, findings: &mut Findings) {
    let carrier = |body: &Body| &scene.carriers[body.carrier];
    let moved = demand_over(&at.at, &at.out, &carrier(tube).movement, &carrier(mate).movement);
    let asked = moved.with_shift(&at.growth, &at.out);
    let turned_rad = asked.angle_rad.max(asked.twist_rad.abs());
    if asked.offset_mm.max(asked.stretch_mm.abs()) < NOTHING.0 && turned_rad < NOTHING.1 {
        return;
    }
    let pair = format!("`{}` and `{}`", joined.one, joined.other);
    let between = format!("between `{}` and `{}`", carrier(tube).name, carrier(mate).name);
    let (verdict, message) = match joined.joint {
        Some(kind) => match joint_size(kind, at.outside_mm).shortfall(&asked) {
            None => return,
            Some(short) => (Verdict::Short, format!("{pair} move {between}: {short}")),
        },
        None => {
            let would: Vec<&str> = JointKind::ALL
                .into_iter()
                .filter(|kind| joint_size(*kind, at.outside_mm).takes(&asked))
                .map(JointKind::word)
                .collect();
            let words = asked_words(&asked);
            if would.is_empty() {
                let cure = "use two joints, or carry both ends on one carrier";
                (
                    Verdict::Short,
                    format!(
                        "{pair} move {between}: {words}; no single joint here takes that on {:.1} mm ({}); {cure}",
                        at.outside_mm,
                        joint_size(JointKind::Bellows, at.outside_mm).source
                    ),
                )
            } else {
                let cure = format!("say which joint it is: `joint: {}`", would.join("` or `joint: "));
                (Verdict::Undecided, format!("{pair} move {between}: {words}, and no joint is said; {cure}"))
            }
        }
    };
    findings.list.push(Finding {
        code: "joint",
        verdict,
        bodies: vec![joined.one.clone(), joined.other.clone()],
        required: None,
        actual: None,
        at_rest: None,
        uncertainty: None,
        place: Some(Place {
            on_first: at.at,
            on_second: at.at,
            pose: "over all movement".to_owned(),
            values: Vec::new(),
        }),
        rule: format!("joined by {}", joined.by),
        because: "what a joint takes up: our own parametrisation; common practice, no source".to_owned(),
        cure: None,
        message,
        figures: Vec::new(),
        shown: Vec::new(),
    });
}

fn asked_words(asked: &Demand) -> String {
    let twist = if asked.twist_rad.abs() < NOTHING.1 {
        String::new()
    } else {
        format!(", and {:.2} deg of twist", asked.twist_rad.abs().to_degrees())
    };
    format!(
        "the joint is asked for {:.2} deg, {:.2} mm sideways and {:.2} mm along{twist}",
        asked.angle_rad.to_degrees(),
        asked.offset_mm,
        asked.stretch_mm.abs()
    )
}
