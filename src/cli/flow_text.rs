//! A flow as a person types it: `air, 0.3 kg/s, 60 deg C, 250 kPa`.

use crate::calc::{Flow, FlowLimits, Fluid, USUAL_ROUGHNESS_MM, flow_loss};
use crate::space::{Length, LengthUnit};

use super::said::Wrong;

const EXAMPLE: &str =
    "write for example `air, 0.3 kg/s, 60 deg C, 250 kPa` or `880 kg/m3, 0.012 Pa s, 0.1 kg/s, 90 deg C`";

/// What is written behind a figure, what it becomes and by how much it is multiplied; longer ones first.
const UNITS: &[(&str, What, f64)] = &[
    ("kg/s", What::Mass, 1.0),
    ("g/s", What::Mass, 1e-3),
    ("kg/m3", What::Density, 1.0),
    ("mPa s", What::Viscosity, 1e-3),
    ("Pa s", What::Viscosity, 1.0),
    ("deg C", What::Temperature, 1.0),
    ("kPa", What::Pressure, 1e3),
    ("bar", What::Pressure, 1e5),
    ("Pa", What::Pressure, 1.0),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum What {
    Mass,
    Density,
    Viscosity,
    Temperature,
    Pressure,
}

impl What {
    const ALL: [(What, &str); 5] = [
        (What::Mass, "how much flows"),
        (What::Density, "a density"),
        (What::Viscosity, "a viscosity"),
        (What::Temperature, "a temperature"),
        (What::Pressure, "a pressure"),
    ];

    fn word(self) -> &'static str {
        What::ALL.iter().find(|(what, _)| *what == self).map_or("", |(_, word)| word)
    }
}

/// The flow that a text says.
pub(super) fn flow_of_text(text: &str, bare: LengthUnit) -> Result<Flow, Wrong> {
    let mut known: Option<Fluid> = None;
    let mut figures: Vec<(What, f64)> = Vec::new();
    let mut roughness_mm = None;
    for part in text.split(',').map(str::trim) {
        let fluid = match part {
            "air" => Some(Fluid::Air),
            "exhaust" => Some(Fluid::Exhaust),
            "water" => Some(Fluid::Water),
            _ => None,
        };
        if let Some(fluid) = fluid {
            if known.replace(fluid).is_some() {
                return Err(Wrong::new(format!("--flow `{text}` says twice what flows"), EXAMPLE));
            }
            continue;
        }
        if let Some(length) = part.strip_prefix("rough ") {
            let read = Length::parse(length, bare)
                .map_err(|error| Wrong::told("--flow, roughness", error, EXAMPLE))?;
            roughness_mm = Some(read.mm());
            continue;
        }
        let found = UNITS.iter().find_map(|(unit, what, scale)| {
            let figure = part.strip_suffix(unit)?.trim().parse::<f64>().ok()?;
            Some((*what, figure * scale))
        });
        let Some((what, value)) = found else {
            return Err(Wrong::new(
                format!("--flow: `{part}` is neither a fluid nor a figure with its unit"),
                EXAMPLE,
            ));
        };
        if figures.iter().any(|(other, _)| *other == what) {
            return Err(Wrong::new(format!("--flow `{text}` says {} twice", what.word()), EXAMPLE));
        }
        figures.push((what, value));
    }
    let figure = |what: What| figures.iter().find(|(other, _)| *other == what).map(|(_, value)| *value);
    let needed = |what: What| {
        figure(what)
            .ok_or_else(|| Wrong::new(format!("--flow `{text}` does not say {}", what.word()), EXAMPLE))
    };
    let fluid = match known {
        Some(_) if figure(What::Density).or(figure(What::Viscosity)).is_some() => {
            let what = format!("--flow `{text}` names a fluid and gives a density or viscosity of its own");
            return Err(Wrong::new(what, "leave out one of them"));
        }
        Some(fluid) => fluid,
        None if figure(What::Density).or(figure(What::Viscosity)).is_none() => {
            return Err(Wrong::new(format!("--flow `{text}` does not say what flows"), EXAMPLE));
        }
        None => {
            Fluid::Liquid { density_kg_m3: needed(What::Density)?, viscosity_pa_s: needed(What::Viscosity)? }
        }
    };
    let flow = Flow {
        fluid,
        mass_kg_s: needed(What::Mass)?,
        temperature_k: needed(What::Temperature)? + 273.15,
        pressure_pa: if fluid.is_gas() {
            needed(What::Pressure)?
        } else {
            figure(What::Pressure).unwrap_or(0.0)
        },
        roughness_mm: roughness_mm.unwrap_or(USUAL_ROUGHNESS_MM),
    };
    flow_loss(&[], &flow).map_err(|error| Wrong::new(format!("--flow: {error}"), EXAMPLE))?;
    Ok(flow)
}

/// The flow and its limits as a scene's keys.
pub(super) fn flow_keys(flow: &Flow, limits: &FlowLimits, roughness: &str) -> String {
    // A thousand-millionth is kept, as lengths of scenes are.
    let figure = |value: f64| ((value * 1e9).round() / 1e9 + 0.0).to_string();
    let mut keys = vec![match flow.fluid {
        Fluid::Air => "of: air".to_owned(),
        Fluid::Exhaust => "of: exhaust".to_owned(),
        Fluid::Water => "of: water".to_owned(),
        Fluid::Liquid { density_kg_m3, viscosity_pa_s } => {
            format!("density: {}, viscosity: {}", figure(density_kg_m3), figure(viscosity_pa_s))
        }
    }];
    keys.push(format!("kg_per_s: {}", figure(flow.mass_kg_s)));
    keys.push(format!("temperature: {}", figure(flow.temperature_k - 273.15)));
    if flow.pressure_pa > 0.0 {
        keys.push(format!("pressure: {}", figure(flow.pressure_pa / 1e3)));
    }
    keys.push(format!("roughness: {roughness}"));
    keys.extend(limits.loss_pa.map(|pa| format!("most_loss: {}", figure(pa / 1e3))));
    keys.extend(limits.velocity_m_s.map(|most| format!("most_velocity: {}", figure(most))));
    keys.join(", ")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_flow_is_read_in_any_order() {
        let flow =
            flow_of_text("250 kPa, 300 g/s,air , rough 0.05, 60 deg C", LengthUnit::Millimetre).unwrap();
        assert_eq!(flow.fluid, Fluid::Air);
        assert!((flow.mass_kg_s - 0.3).abs() < 1e-12 && (flow.pressure_pa - 250e3).abs() < 1e-6);
        assert!((flow.temperature_k - 333.15).abs() < 1e-9 && flow.roughness_mm == 0.05);
        let oil = flow_of_text("880 kg/m3, 12 mPa s, 0.1 kg/s, 90 deg C", LengthUnit::Millimetre).unwrap();
        assert_eq!(oil.fluid, Fluid::Liquid { density_kg_m3: 880.0, viscosity_pa_s: 0.012 });
    }

    #[test]
    fn what_is_wrong_with_a_flow_is_told() {
        let told = |text: &str| flow_of_text(text, LengthUnit::Millimetre).unwrap_err().to_string();
        for (text, words) in [
            ("air, 0.3 kg/s, 60 deg C", "does not say a pressure"),
            ("air, water, 0.3 kg/s", "says twice what flows"),
            ("air, 0.3, 60 deg C", "`0.3` is neither"),
            ("air, 0.3 kg/s, 0.2 kg/s", "says how much flows twice"),
            ("0.3 kg/s, 60 deg C", "does not say what flows"),
            ("water, 880 kg/m3, 1 kg/s, 20 deg C", "of its own"),
            ("water, 1 kg/s, 120 deg C", "within 0 and 100 deg C"),
            ("air, -1 kg/s, 20 deg C, 101 kPa", "over zero"),
        ] {
            assert!(told(text).contains(words), "{text}: {}", told(text));
        }
    }
}
