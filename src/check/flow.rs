//! What a tube's flow costs: velocity, Mach number and pressure loss as screening figures, against what is allowed.

use crate::calc::{FlowError, FlowLoss, flow_loss, least_bore_mm};
use crate::route::flow_parts;
use crate::scene::{Body, Scene, TubeFlow};
use crate::solid::Tube;
use crate::tube::BendList;

use super::making::lines_of;
use super::{Finding, Findings, Verdict};

/// Where the figures come from, and that they are no more than they are.
const BECAUSE: &str = "screening figures: friction by Colebrook-White (good to 15 %), bends by a published formula (40 %); steady flow \
     at one temperature, nothing of what lies before and after the tube";

/// A finding for each tube that says what flows through it.
pub(super) fn check(scene: &Scene, findings: &mut Findings) {
    for body in &scene.bodies {
        let Some(asked) = &body.flow else { continue };
        let tubes = lines_of(body);
        if tubes.is_empty() {
            findings.not_checked.push(format!("flow: `{}` says `flow`, but its shape is no tube", body.name));
        }
        let many = tubes.len() > 1;
        for (index, (tube, list)) in tubes.iter().enumerate() {
            let name = if many { format!("{}, tube {}", body.name, index + 1) } else { body.name.clone() };
            match bore_mm(tube) {
                Some(bore_mm) => findings.list.push(judged(body, &name, list, bore_mm, asked)),
                None => findings.not_checked.push(format!(
                    "flow: the wall of `{name}` is not given, so that its bore is not known; add `wall` to its tube"
                )),
            }
        }
    }
}

/// The bore of a tube; `None` without a wall.
pub fn bore_mm(tube: &Tube) -> Option<f64> {
    tube.wall_mm.map(|wall| 2.0 * (tube.radius_mm - wall))
}

fn judged(body: &Body, name: &str, list: &BendList, bore_mm: f64, asked: &TubeFlow) -> Finding {
    let parts = flow_parts(list, bore_mm);
    let (verdict, message) = match flow_loss(&parts, &asked.flow) {
        Err(error @ FlowError::Chokes { may_lose_pa, .. }) => {
            let may_do = may_lose_pa.is_some_and(|lost| asked.limits.loss_pa.is_none_or(|most| lost <= most));
            let verdict = if may_do { Verdict::Undecided } else { Verdict::Short };
            (verdict, format!("`{name}`: {error}"))
        }
        Err(error) => (Verdict::Undecided, format!("`{name}`: {error}")),
        Ok(found) => {
            let verdict = verdict(&found, asked);
            let mut message = format!("`{name}`, bore {bore_mm:.1} mm: {}", flow_words(&found));
            message.push_str(&limits_words(asked));
            if verdict != Verdict::Clear
                && let Ok(Some(bore)) = least_bore_mm(&parts, &asked.flow, &asked.limits)
            {
                message.push_str(&format!(
                    "; a bore of {:.1} mm would do on this line",
                    (bore * 10.0).ceil() / 10.0
                ));
            }
            for said in found.said() {
                message.push_str(&format!(". {said}"));
            }
            (verdict, message)
        }
    };
    Finding {
        code: "flow",
        verdict,
        bodies: vec![body.name.clone()],
        required: None,
        actual: None,
        at_rest: None,
        uncertainty: None,
        place: None,
        rule: "a tube takes its flow".to_owned(),
        because: BECAUSE.to_owned(),
        cure: None,
        message,
        figures: Vec::new(),
        shown: Vec::new(),
    }
}

/// By ISO 14253-1, as for gaps: what may lie on either side of what is allowed is undecided. So is a flow that may
/// choke: its loss has no upper end.
fn verdict(found: &FlowLoss, asked: &TubeFlow) -> Verdict {
    let against = |[low, high]: [f64; 2], most: Option<f64>| match most {
        Some(most) if low > most => Verdict::Short,
        Some(most) if high > most => Verdict::Undecided,
        None if high.is_infinite() => Verdict::Undecided,
        _ => Verdict::Clear,
    };
    let loss = against(found.within_pa, asked.limits.loss_pa);
    let velocity = against(found.velocity_within_m_s, asked.limits.velocity_m_s);
    match (loss, velocity) {
        (Verdict::Short, _) | (_, Verdict::Short) => Verdict::Short,
        (Verdict::Undecided, _) | (_, Verdict::Undecided) => Verdict::Undecided,
        _ => Verdict::Clear,
    }
}

/// A velocity whose spread is wider than this share of it is told with its ends.
const WIDE: f64 = 0.01;

/// The figures in words: `41.7 m/s, Mach 0.11, loses 1.24 kPa (0.98 to 1.50)`.
pub fn flow_words(found: &FlowLoss) -> String {
    let mach = found.mach.map_or_else(String::new, |mach| format!(", Mach {mach:.2}"));
    let kpa = |pa: f64| if pa.is_finite() { format!("{:.2}", pa / 1e3) } else { "choking".to_owned() };
    let speed = |m_s: f64| if m_s.is_finite() { format!("{m_s:.1}") } else { "choking".to_owned() };
    let [slow, fast] = found.velocity_within_m_s;
    let wide = fast - slow > WIDE * found.velocity_m_s;
    let speeds = if wide { format!(" (within {} to {})", speed(slow), speed(fast)) } else { String::new() };
    format!(
        "{} m/s{speeds}{mach}, loses {} kPa (within {} to {})",
        speed(found.velocity_m_s),
        kpa(found.loss_pa),
        kpa(found.within_pa[0]),
        kpa(found.within_pa[1])
    )
}

fn limits_words(asked: &TubeFlow) -> String {
    let limits = &asked.limits;
    let said: Vec<String> = [
        limits.loss_pa.map(|pa| format!("{:.2} kPa", pa / 1e3)),
        limits.velocity_m_s.map(|most| format!("{most:.1} m/s")),
    ]
    .into_iter()
    .flatten()
    .collect();
    if said.is_empty() { String::new() } else { format!("; allowed {}", said.join(" and ")) }
}
