//! A tube's parts in turn.

use super::friction::friction_factor;
use super::local::{bend_loss, change_loss};
use super::{FlowError, Fluid};

/// Roughness of a drawn or welded clean tube, mm: between drawn (0.0015) and commercial steel (0.045), Moody 1944
/// (from memory). Old exhaust with soot is rougher.
pub const USUAL_ROUGHNESS_MM: f64 = 0.02;

/// By what share the friction of a real wall may be off: White, *Fluid Mechanics*, ch. 6 (from memory).
pub(super) const FRICTION_SPREAD: f64 = 0.15;
/// By what share losses of bends and changes of bore may be off: of the published formulae that the tests hold ours to,
/// the farthest lies 36 in a hundred off.
pub(super) const LOCAL_SPREAD: f64 = 0.40;
/// Mach number over which the figures are too low to go by: `common practice, no source`.
const FAST: f64 = 0.3;

/// A flow that a tube is asked to take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Flow {
    /// What flows.
    pub fluid: Fluid,
    /// How much, kg/s.
    pub mass_kg_s: f64,
    /// Absolute temperature, K; the same all along.
    pub temperature_k: f64,
    /// Absolute pressure where the tube begins, Pa; counts for gases only.
    pub pressure_pa: f64,
    /// Roughness of the wall, mm.
    pub roughness_mm: f64,
}

/// A part of a tube as the flow sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FlowPart {
    /// Straight tube.
    Straight {
        /// Bore, mm.
        bore_mm: f64,
        /// Length, mm.
        length_mm: f64,
    },
    /// A bend.
    Bend {
        /// Bore, mm.
        bore_mm: f64,
        /// Radius of the centreline, mm.
        radius_mm: f64,
        /// Angle, rad.
        angle_rad: f64,
    },
    /// A change of bore: a cone, or, of no length, a step.
    Change {
        /// Bore before, mm.
        from_mm: f64,
        /// Bore after, mm.
        to_mm: f64,
        /// Length, mm.
        length_mm: f64,
    },
}

/// By what each figure is multiplied, all the same way: as taken, or as little or as much loss as it may well be.
#[derive(Clone, Copy, Debug)]
struct Odds {
    friction: f64,
    local: f64,
    /// Of the specific volume of what flows.
    fluid: f64,
}

impl Odds {
    const TAKEN: Odds = Odds { friction: 1.0, local: 1.0, fluid: 1.0 };

    /// `way` is -1 for the least loss, 1 for the most. A friction factor answers to viscosity by its share at most.
    fn of(fluid: &Fluid, way: f64) -> Odds {
        let fluid = 1.0 + way * fluid.spread();
        Odds { friction: (1.0 + way * FRICTION_SPREAD) * fluid, local: 1.0 + way * LOCAL_SPREAD, fluid }
    }
}

/// What a flow may cost; `None` is not asked.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FlowLimits {
    /// Greatest loss of pressure, Pa.
    pub loss_pa: Option<f64>,
    /// Greatest velocity, m/s.
    pub velocity_m_s: Option<f64>,
}

impl FlowLimits {
    fn keep(&self, loss_pa: f64, velocity_m_s: f64) -> bool {
        self.loss_pa.is_none_or(|most| loss_pa <= most)
            && self.velocity_m_s.is_none_or(|most| velocity_m_s <= most)
    }
}

/// What a flow comes to: screening figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowLoss {
    /// Loss of total pressure (static and velocity head) from one end to the other, Pa.
    pub loss_pa: f64,
    /// The least and the most that it may well be, Pa: friction off by 15 in a hundred, bends and changes of bore by
    /// 40, and what is not known of the fluid, all the same way. The most is infinite where the flow then chokes.
    pub within_pa: [f64; 2],
    /// How much of it the walls' friction is, Pa.
    pub friction_pa: f64,
    /// How much of it bends are beyond their friction, Pa.
    pub bends_pa: f64,
    /// How much of it changes of bore are, Pa.
    pub changes_pa: f64,
    /// Greatest velocity, m/s.
    pub velocity_m_s: f64,
    /// The least and the most that it may well be, m/s, as `within_pa`.
    pub velocity_within_m_s: [f64; 2],
    /// Greatest Mach number; `None` for a liquid.
    pub mach: Option<f64>,
    /// Least Reynolds number.
    pub reynolds: f64,
    /// Density where the tube begins, kg/m^3.
    pub density_kg_m3: f64,
}

impl FlowPart {
    fn bores(&self) -> [f64; 2] {
        match *self {
            FlowPart::Straight { bore_mm, .. } | FlowPart::Bend { bore_mm, .. } => [bore_mm; 2],
            FlowPart::Change { from_mm, to_mm, .. } => [from_mm, to_mm],
        }
    }

    fn scaled(&self, scale: f64) -> FlowPart {
        let mut part = *self;
        match &mut part {
            FlowPart::Straight { bore_mm, .. } | FlowPart::Bend { bore_mm, .. } => *bore_mm *= scale,
            FlowPart::Change { from_mm, to_mm, .. } => {
                *from_mm *= scale;
                *to_mm *= scale;
            }
        }
        part
    }
}

impl FlowLoss {
    /// What is to be said besides the figures, in sentences.
    pub fn said(&self) -> Vec<String> {
        let mut said = Vec::new();
        if self.within_pa[1].is_infinite() {
            said.push(
                "With as much friction and loss in bends as there may well be, it chokes: so near to choking the loss is \
                 not known"
                    .to_owned(),
            );
        }
        if let Some(mach) = self.mach.filter(|mach| *mach > FAST) {
            said.push(format!(
                "Mach {mach:.2} is over 0.3: the gas thins as it goes, and the true loss is likely greater"
            ));
        }
        if self.reynolds < 4000.0 {
            said.push(format!(
                "Reynolds number {:.0} is under 4000: the losses of bends are those of turbulent flow and may be off by more",
                self.reynolds
            ));
        }
        said
    }

    /// Whether it keeps to limits at the most that it may well be.
    pub fn keeps(&self, limits: &FlowLimits) -> bool {
        limits.keep(self.within_pa[1], self.velocity_within_m_s[1])
    }
}

/// Pressure loss and velocity of a flow through a tube's parts, in order.
///
/// Straights and bends: friction by Colebrook-White, bends by [`bend_loss`]; a gas expands at constant temperature:
/// p1^2 - p2^2 = G^2 R T (K + 2 ln(p1 / p2)), solved exactly in each part. Changes of bore: a loss in velocity heads
/// of the narrower bore. What it may well be is reckoned in the same way with all figures at their ends. Not counted:
/// what goes on before and after the tube, bends that influence each other, pulses of an engine, heat, height. Time
/// grows with the parts.
///
/// # Errors
/// [`FlowError`]: figures that cannot be, a bore that chokes by the figures as taken; the error says whether the flow
/// may pass none the less.
///
/// # Source
/// Isothermal flow with friction: any text on gas dynamics; the form is that of Rennels & Hudson, *Pipe Flow* (2012).
pub fn flow_loss(parts: &[FlowPart], flow: &Flow) -> Result<FlowLoss, FlowError> {
    check(parts, flow)?;
    let least = run(parts, flow, Odds::of(&flow.fluid, -1.0));
    let mut found = run(parts, flow, Odds::TAKEN).map_err(|mut error| {
        if let FlowError::Chokes { may_lose_pa, .. } = &mut error {
            *may_lose_pa = least.as_ref().ok().map(|found| found.loss_pa);
        }
        error
    })?;
    let [lost, fast] = least.map_or([found.loss_pa, found.velocity_m_s], |l| [l.loss_pa, l.velocity_m_s]);
    let [lost_most, fastest] = run(parts, flow, Odds::of(&flow.fluid, 1.0))
        .map_or([f64::INFINITY; 2], |most| [most.loss_pa, most.velocity_m_s]);
    found.within_pa = [lost, lost_most];
    found.velocity_within_m_s = [fast, fastest];
    Ok(found)
}

/// One run along the tube; the spreads are left open.
fn run(parts: &[FlowPart], flow: &Flow, odds: Odds) -> Result<FlowLoss, FlowError> {
    let temperature = flow.temperature_k;
    let viscosity = flow.fluid.viscosity_pa_s(temperature);
    let thick = |pressure: f64| flow.fluid.density_kg_m3(temperature, pressure) / odds.fluid;
    let sound = flow.fluid.sound_m_s(temperature);
    let mut pressure = flow.pressure_pa;
    let mut out = FlowLoss {
        loss_pa: 0.0,
        within_pa: [0.0; 2],
        velocity_within_m_s: [0.0; 2],
        friction_pa: 0.0,
        bends_pa: 0.0,
        changes_pa: 0.0,
        velocity_m_s: 0.0,
        mach: sound.map(|_| 0.0),
        reynolds: f64::INFINITY,
        density_kg_m3: thick(pressure),
    };
    for (index, part) in parts.iter().enumerate() {
        let [from_mm, to_mm] = part.bores();
        let narrow_mm = from_mm.min(to_mm);
        let chokes = || FlowError::Chokes {
            part: index + 1,
            bore_mm: narrow_mm,
            would_do_mm: bore_at_mach_mm(flow, FAST),
            may_lose_pa: None,
        };
        let [before, after, narrow] = [from_mm, to_mm, narrow_mm].map(|bore| flux(flow, bore));
        let reynolds = narrow * narrow_mm * 1e-3 / viscosity;
        out.reynolds =
            out.reynolds.min(flux(flow, from_mm.max(to_mm)) * from_mm.max(to_mm) * 1e-3 / viscosity);
        let factor = friction_factor(reynolds, flow.roughness_mm / narrow_mm);
        // Velocity heads of friction, of bends, of changes.
        let [f, l] = [odds.friction, odds.local];
        let heads = match *part {
            FlowPart::Straight { bore_mm, length_mm } => [f * factor * length_mm / bore_mm, 0.0, 0.0],
            FlowPart::Bend { bore_mm, radius_mm, angle_rad } => {
                let share = radius_mm / bore_mm;
                [f * factor * angle_rad * share, l * bend_loss(factor, share, angle_rad), 0.0]
            }
            FlowPart::Change { from_mm, to_mm, length_mm } => {
                [0.0, 0.0, l * change_loss(from_mm, to_mm, length_mm)]
            }
        };
        let all: f64 = heads.iter().sum();
        let density = thick(pressure);
        let head_before = before * before / (2.0 * density);
        let (next, loss) = match (flow.fluid.gas(), part) {
            (None, _) => {
                let loss = all * narrow * narrow / (2.0 * density);
                (pressure + head_before - after * after / (2.0 * density) - loss, loss)
            }
            (Some((r, _)), FlowPart::Change { .. }) => {
                // Total pressure p + G^2 R T / 2p, less the loss at the density before: a quadratic in p.
                let square = after * after * r * odds.fluid * temperature;
                let loss = all * narrow * narrow / (2.0 * density);
                let total = pressure + head_before - loss;
                let under = total * total - 2.0 * square;
                if under <= 0.0 || total <= 0.0 {
                    return Err(chokes());
                }
                ((total + under.sqrt()) / 2.0, loss)
            }
            (Some((r, _)), _) => {
                let s = before * before * r * odds.fluid * temperature;
                let next = expanded(pressure, s, all).ok_or_else(chokes)?;
                // A straight or a bend has one bore.
                let head_after = s / (2.0 * next);
                (next, (pressure + head_before - next - head_after).max(0.0))
            }
        };
        pressure = next;
        let thinned = thick(pressure);
        let fastest = (before / density).max(after / thinned);
        out.velocity_m_s = out.velocity_m_s.max(fastest);
        if let (Some(sound), Some(mach)) = (sound, &mut out.mach) {
            *mach = mach.max(fastest / sound);
            if *mach > 1.0 {
                return Err(chokes());
            }
        }
        if all > 0.0 {
            out.friction_pa += loss * heads[0] / all;
            out.bends_pa += loss * heads[1] / all;
            out.changes_pa += loss * heads[2] / all;
        }
    }
    out.loss_pa = out.friction_pa + out.bends_pa + out.changes_pa;
    Ok(out)
}

/// The least bore with which a flow keeps to limits at the most that it may well cost, all bores grown alike and the
/// line kept, mm of the first part's bore; `None` when neither four times the bore nor twice the tightest bend's radius
/// would do, or nothing is asked.
///
/// # Errors
/// As [`flow_loss`], but for choking.
pub fn least_bore_mm(parts: &[FlowPart], flow: &Flow, limits: &FlowLimits) -> Result<Option<f64>, FlowError> {
    check(parts, flow)?;
    let first = parts.first().map_or(0.0, |part| part.bores()[0]);
    let most_odds = Odds::of(&flow.fluid, 1.0);
    let does = |scale: f64| -> bool {
        let grown: Vec<FlowPart> = parts.iter().map(|part| part.scaled(scale)).collect();
        // The most that it may well cost is all that counts here.
        check(&grown, flow).is_ok()
            && run(&grown, flow, most_odds).is_ok_and(|found| limits.keep(found.loss_pa, found.velocity_m_s))
    };
    // A bend's radius stays, and must stay half the bore or more.
    let most = parts.iter().fold(4.0f64, |most, part| match *part {
        FlowPart::Bend { bore_mm, radius_mm, .. } => most.min(2.0 * radius_mm / bore_mm * (1.0 - 1e-12)),
        _ => most,
    });
    let (mut low, mut high) = (0.25, most);
    if !does(high) || *limits == FlowLimits::default() {
        return Ok(None);
    }
    if does(low) {
        return Ok(Some(first * low));
    }
    for _ in 0..50 {
        let middle = (low + high) / 2.0;
        if does(middle) { high = middle } else { low = middle }
    }
    Ok(Some(first * high))
}

fn check(parts: &[FlowPart], flow: &Flow) -> Result<(), FlowError> {
    let figure = |what, value: f64, wanted, fine: bool| {
        if value.is_finite() && fine { Ok(()) } else { Err(FlowError::Figure { what, value, wanted }) }
    };
    flow.fluid.check(flow.temperature_k)?;
    figure("the mass flow", flow.mass_kg_s, "over zero, kg/s", flow.mass_kg_s > 0.0)?;
    if flow.fluid.is_gas() {
        figure("the absolute pressure", flow.pressure_pa, "over zero, Pa", flow.pressure_pa > 0.0)?;
    }
    figure("the roughness", flow.roughness_mm, "zero or more, mm", flow.roughness_mm >= 0.0)?;
    let mut last: Option<f64> = None;
    for (index, part) in parts.iter().enumerate() {
        let [from_mm, to_mm] = part.bores();
        for bore in [from_mm, to_mm] {
            figure("a bore", bore, "over zero, mm", bore > 0.0)?;
            let rough = flow.roughness_mm < bore / 10.0;
            figure("the roughness", flow.roughness_mm, "under a tenth of the bore", rough)?;
        }
        match *part {
            FlowPart::Straight { length_mm, .. } | FlowPart::Change { length_mm, .. } => {
                figure("a length", length_mm, "zero or more, mm", length_mm >= 0.0)?;
            }
            FlowPart::Bend { bore_mm, radius_mm, angle_rad } => {
                let fine = radius_mm >= bore_mm / 2.0;
                figure("a bend's radius", radius_mm, "half the bore or more, mm", fine)?;
                let fine = angle_rad > 0.0 && angle_rad <= std::f64::consts::PI + 1e-9;
                figure("a bend's angle", angle_rad, "over 0 and up to pi, rad", fine)?;
            }
        }
        if let Some(ends_mm) = last.filter(|last| (last - from_mm).abs() > 1e-6) {
            return Err(FlowError::BoresDiffer { after: index + 1, ends_mm, begins_mm: from_mm });
        }
        last = Some(to_mm);
    }
    Ok(())
}

/// Mass flow over area, kg/(m^2 s).
fn flux(flow: &Flow, bore_mm: f64) -> f64 {
    let bore = bore_mm * 1e-3;
    flow.mass_kg_s / (std::f64::consts::PI * bore * bore / 4.0)
}

/// The pressure after a part of `heads` velocity heads, at constant temperature: the subsonic root of
/// p1^2 - p2^2 = s (heads + 2 ln(p1 / p2)), where s = G^2 R T. `None` when it chokes before.
pub(super) fn expanded(pressure: f64, s: f64, heads: f64) -> Option<f64> {
    let left = |next: f64| pressure * pressure - next * next - s * (heads + 2.0 * (pressure / next).ln());
    // Between the choking pressure sqrt s and the pressure before, what is left falls from above zero to under it.
    let (mut low, mut high) = (s.sqrt(), pressure);
    if low >= high || left(low) < 0.0 {
        return None;
    }
    for _ in 0..200 {
        let middle = (low + high) / 2.0;
        if middle <= low || middle >= high {
            break;
        }
        if left(middle) >= 0.0 { low = middle } else { high = middle }
    }
    Some((low + high) / 2.0)
}

/// The bore in which a gas begins at a Mach number, mm; zero for a liquid.
fn bore_at_mach_mm(flow: &Flow, mach: f64) -> f64 {
    let Some(sound) = flow.fluid.sound_m_s(flow.temperature_k) else { return 0.0 };
    let density = flow.fluid.density_kg_m3(flow.temperature_k, flow.pressure_pa);
    let area = flow.mass_kg_s / (density * mach * sound);
    (4.0 * area / std::f64::consts::PI).sqrt() * 1e3
}
