//! What flows through a tube, and what it may cost.

use super::Cx;
use super::keys::{KeyTable, may, must, one_of};
use super::table::Table;
use super::value::{choice, extent, number};
use crate::calc::{Flow, FlowLimits, Fluid, USUAL_ROUGHNESS_MM};
use crate::scene::TubeFlow;
use crate::scene::error::Fault;
use crate::scene::read::Node;

const WHAT: &str = "`of`, `density`";

/// Absolute zero, deg C.
const ZERO_K_C: f64 = 273.15;

/// A flow.
pub(crate) const FLOW: KeyTable = KeyTable {
    title: "a flow",
    intro: "What flows through a tube from its first end to its last, and what that may cost. The check gives velocity and pressure loss as screening figures; pressures are absolute.",
    keys: &[
        one_of(WHAT, "of", "`air`, `exhaust` or `water`", "air", "What flows."),
        one_of(
            WHAT,
            "density",
            "number",
            "880",
            "Density of another liquid, kg/m3; its `viscosity` with it.",
        ),
        may(
            "viscosity",
            "number",
            "that of what flows",
            "0.012",
            "Viscosity of another liquid at its temperature, Pa s.",
        ),
        must("kg_per_s", "number", "0.30", "How much flows, kg/s."),
        must("temperature", "number", "60", "Temperature, deg C; the same all along."),
        may(
            "pressure",
            "number",
            "none; a gas must have it",
            "250",
            "Absolute pressure where the tube begins, kPa.",
        ),
        may("roughness", "length", "0.02 mm", "0.045", "Roughness of the wall."),
        may("most_loss", "number", "not asked", "5", "Greatest loss of pressure, kPa."),
        may("most_velocity", "number", "not asked", "100", "Greatest velocity, m/s."),
    ],
};

pub(super) fn flow(cx: &Cx<'_>, node: &Node) -> Option<TubeFlow> {
    let table = Table::open(cx, node, &FLOW)?;
    let figure = |key: &str| table.get(key).map(|node| number(cx, node, &format!("`{key}`")));
    let density = figure("density");
    let viscosity = figure("viscosity");
    let fluid = match table.get("of") {
        Some(of) => {
            table.exclude(
                cx,
                "of",
                "viscosity",
                "delete `viscosity`: that of air, exhaust and water is known",
            );
            match choice(cx, of, "`of`", &["air", "exhaust", "water"])?.as_str() {
                "air" => Fluid::Air,
                "exhaust" => Fluid::Exhaust,
                _ => Fluid::Water,
            }
        }
        None => {
            if viscosity.is_none() {
                cx.add(
                    node.real(),
                    Fault::FlowNeeds {
                        what: "`viscosity`",
                        remedy: "add the liquid's viscosity in Pa s, such as `viscosity: 0.012`",
                    },
                );
            }
            Fluid::Liquid { density_kg_m3: density??, viscosity_pa_s: viscosity?? }
        }
    };
    // Temperatures may be under zero: a plain figure, read as such.
    let temperature_k = celsius(cx, table.get("temperature")?)? + ZERO_K_C;
    let pressure_kpa = figure("pressure");
    if fluid.is_gas() && pressure_kpa.is_none() {
        cx.add(
            node.real(),
            Fault::FlowNeeds {
                what: "`pressure`",
                remedy: "add the absolute pressure where the tube begins, in kPa: open air is near 101",
            },
        );
        return None;
    }
    let roughness_mm = match table.get("roughness") {
        Some(node) => extent(cx, node, "`roughness`")?,
        None => USUAL_ROUGHNESS_MM,
    };
    let limit = |key: &str, scale: f64| match figure(key) {
        Some(value) => value.map(|value| Some(value * scale)),
        None => Some(None),
    };
    let limits = FlowLimits { loss_pa: limit("most_loss", 1e3)?, velocity_m_s: limit("most_velocity", 1.0)? };
    let mass_kg_s = figure("kg_per_s")??;
    let pressure_pa = match pressure_kpa {
        Some(kpa) => kpa? * 1e3,
        None => 0.0,
    };
    let flow = Flow { fluid, mass_kg_s, temperature_k, pressure_pa, roughness_mm };
    // A tube without parts asks nothing but whether the flow itself can be.
    if let Err(cause) = crate::calc::flow_loss(&[], &flow) {
        cx.add(node.real(), Fault::Flow { cause });
        return None;
    }
    Some(TubeFlow { flow, limits })
}

fn celsius(cx: &Cx<'_>, node: &Node) -> Option<f64> {
    let text = node.real().scalar().map(str::trim).unwrap_or_default();
    match text.parse::<f64>() {
        Ok(value) if value.is_finite() => Some(value),
        _ => {
            let fault = Fault::WrongKind {
                what: "`temperature`".to_owned(),
                found: super::table::told(node.real()),
                expected: "a number, deg C",
                example: "`60`",
            };
            cx.add(node.real(), fault);
            None
        }
    }
}
