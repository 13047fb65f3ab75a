//! What flows: density, viscosity, speed of sound.

use super::FlowError;

/// Specific gas constant of dry air, J/(kg K): U.S. Standard Atmosphere 1976.
const AIR_R: f64 = 287.052_87;
/// Ratio of specific heats of air near 20 deg C.
const AIR_GAMMA: f64 = 1.4;
/// Specific gas constant of exhaust, J/(kg K): its mean molar mass is that of air within some two in a hundred
/// (from memory).
const EXHAUST_R: f64 = 288.0;
/// Ratio of specific heats of hot exhaust (from memory).
const EXHAUST_GAMMA: f64 = 1.33;

/// What flows through a tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fluid {
    /// Dry air, an ideal gas.
    Air,
    /// Exhaust of an engine: an ideal gas with air's viscosity. Good to some 5 in a hundred (from memory).
    Exhaust,
    /// Water, 0 to 100 deg C.
    Water,
    /// A liquid whose figures are given at its temperature.
    Liquid {
        /// Density, kg/m^3.
        density_kg_m3: f64,
        /// Dynamic viscosity, Pa s.
        viscosity_pa_s: f64,
    },
}

impl Fluid {
    /// Whether it is a gas: then pressure counts, and there is a speed of sound.
    pub fn is_gas(&self) -> bool {
        matches!(self, Fluid::Air | Fluid::Exhaust)
    }

    /// Specific gas constant and ratio of specific heats; `None` for a liquid.
    pub(super) fn gas(&self) -> Option<(f64, f64)> {
        match self {
            Fluid::Air => Some((AIR_R, AIR_GAMMA)),
            Fluid::Exhaust => Some((EXHAUST_R, EXHAUST_GAMMA)),
            Fluid::Water | Fluid::Liquid { .. } => None,
        }
    }

    /// Density, kg/m^3, at an absolute temperature and pressure; pressure counts for gases only.
    ///
    /// # Source
    /// Gases: p / (R T). Water: Kell, J. Chem. Eng. Data 20 (1975) 97 (coefficients from memory; the tests hold it
    /// to table values).
    pub fn density_kg_m3(&self, temperature_k: f64, pressure_pa: f64) -> f64 {
        match (self, self.gas()) {
            (_, Some((r, _))) => pressure_pa / (r * temperature_k),
            (Fluid::Liquid { density_kg_m3, .. }, _) => *density_kg_m3,
            _ => {
                let t = temperature_k - 273.15;
                let over = 999.83952
                    + t * (16.945176
                        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))));
                over / (1.0 + 16.879850e-3 * t)
            }
        }
    }

    /// Dynamic viscosity, Pa s, at an absolute temperature.
    ///
    /// # Source
    /// Air: Sutherland's formula as in U.S. Standard Atmosphere 1976, eq. 51. Water: the short formula of IAPWS
    /// SR6-08 for 0.1 MPa (from memory; the tests hold it to the published 1.0016 mPa s at 20 deg C).
    pub fn viscosity_pa_s(&self, temperature_k: f64) -> f64 {
        match self {
            Fluid::Air | Fluid::Exhaust => 1.458e-6 * temperature_k.powf(1.5) / (temperature_k + 110.4),
            Fluid::Liquid { viscosity_pa_s, .. } => *viscosity_pa_s,
            Fluid::Water => {
                let t = temperature_k / 300.0;
                1e-6 * (280.68 * t.powf(-1.9)
                    + 511.45 * t.powf(-7.7)
                    + 61.131 * t.powf(-19.6)
                    + 0.45903 * t.powf(-40.0))
            }
        }
    }

    /// Speed of sound of an ideal gas, m/s; `None` for a liquid.
    pub fn sound_m_s(&self, temperature_k: f64) -> Option<f64> {
        self.gas().map(|(r, gamma)| (gamma * r * temperature_k).sqrt())
    }

    /// By what share its own figures may be off.
    pub(super) fn spread(&self) -> f64 {
        if *self == Fluid::Exhaust { 0.05 } else { 0.0 }
    }

    pub(super) fn check(&self, temperature_k: f64) -> Result<(), FlowError> {
        let figure = |what, value: f64, wanted, fine: bool| {
            if value.is_finite() && fine { Ok(()) } else { Err(FlowError::Figure { what, value, wanted }) }
        };
        match self {
            Fluid::Liquid { density_kg_m3, viscosity_pa_s } => {
                figure("the density", *density_kg_m3, "over zero, kg/m3", *density_kg_m3 > 0.0)?;
                figure("the viscosity", *viscosity_pa_s, "over zero, Pa s", *viscosity_pa_s > 0.0)
            }
            Fluid::Water => {
                let degrees = temperature_k - 273.15;
                let fine = (-1e-9..=100.0 + 1e-9).contains(&degrees);
                figure("the temperature of water", degrees, "within 0 and 100 deg C", fine)
            }
            Fluid::Air | Fluid::Exhaust => {
                let degrees = temperature_k - 273.15;
                let fine = (-100.0..=1300.0).contains(&degrees);
                figure("the temperature of the gas", degrees, "within -100 and 1300 deg C", fine)
            }
        }
    }
}
