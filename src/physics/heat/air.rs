//! Properties of dry air at one standard atmosphere, as natural convection needs them.

use crate::constants::{GRAVITY_M_PER_S2, ZERO_CELSIUS_KELVIN};

/// Properties of dry air at 101 325 Pa and one temperature.
///
/// Viscosity and conductivity are the formulas of the *U.S. Standard Atmosphere, 1976* (NOAA, equations 51 and 53),
/// density is the ideal gas of 287.053 J/(kg K), and the specific heat is 1005.6 + 5e-4 (T − 273.15)² J/(kg K), fitted
/// here to the reference equations of Lemmon and others (2000, 2004) to 0.1 %. From 0 °C to 200 °C each of them lies
/// within 1.3 % of those equations; see `air_agrees_with_the_reference_equations`. Height above sea level and humidity
/// are neglected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Air {
    /// Thermal conductivity.
    pub conductivity_watt_per_m_kelvin: f64,
    /// Kinematic viscosity.
    pub kinematic_viscosity_m2_per_s: f64,
    /// Thermal diffusivity.
    pub diffusivity_m2_per_s: f64,
    /// Volume expansion, 1/T for an ideal gas.
    pub expansion_per_kelvin: f64,
}

const PRESSURE_PASCAL: f64 = 101_325.0;
const GAS_CONSTANT_JOULE_PER_KG_KELVIN: f64 = 287.053;

impl Air {
    /// Air at an absolute temperature in kelvin.
    pub(crate) fn at_kelvin(kelvin: f64) -> Self {
        // μ = 1.458e-6 T^(3/2) / (T + 110.4)
        let viscosity_pascal_s = 1.458e-6 * kelvin * kelvin.sqrt() / (kelvin + 110.4);
        // k = 2.64638e-3 T^(3/2) / (T + 245.4 · 10^(−12/T))
        let conductivity =
            2.646_38e-3 * kelvin * kelvin.sqrt() / (kelvin + 245.4 * 10f64.powf(-12.0 / kelvin));
        let specific_heat_joule_per_kg_kelvin = 1005.6 + 5e-4 * (kelvin - ZERO_CELSIUS_KELVIN).powi(2);
        let density_kg_per_m3 = PRESSURE_PASCAL / (GAS_CONSTANT_JOULE_PER_KG_KELVIN * kelvin);
        Self {
            conductivity_watt_per_m_kelvin: conductivity,
            kinematic_viscosity_m2_per_s: viscosity_pascal_s / density_kg_per_m3,
            diffusivity_m2_per_s: conductivity / (density_kg_per_m3 * specific_heat_joule_per_kg_kelvin),
            expansion_per_kelvin: 1.0 / kelvin,
        }
    }

    /// Prandtl number ν/α.
    pub(crate) fn prandtl(&self) -> f64 {
        self.kinematic_viscosity_m2_per_s / self.diffusivity_m2_per_s
    }

    /// Rayleigh number g β |ΔT| L³ / (ν α).
    pub(crate) fn rayleigh(&self, difference_kelvin: f64, length_m: f64) -> f64 {
        GRAVITY_M_PER_S2 * self.expansion_per_kelvin * difference_kelvin.abs() * length_m.powi(3)
            / (self.kinematic_viscosity_m2_per_s * self.diffusivity_m2_per_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn air_agrees_with_the_reference_equations() {
        // T in K, conductivity in W/(m K), viscosity in Pa s, density in kg/m³, specific heat in J/(kg K), from
        // CoolProp 8.0 at 101 325 Pa: E. W. Lemmon, R. T. Jacobsen, S. G. Penoncello, D. G. Friend, J. Phys. Chem.
        // Ref. Data 29, 331 (2000); E. W. Lemmon, R. T. Jacobsen, Int. J. Thermophys. 25, 21 (2004).
        let table = [
            (273.15, 0.024360475, 1.7218406e-5, 1.29306562, 1005.6844),
            (293.15, 0.025873828, 1.8205675e-5, 1.20457518, 1006.1440),
            (313.15, 0.027354267, 1.9165234e-5, 1.12744970, 1006.9206),
            (333.15, 0.028804069, 2.0099059e-5, 1.05962669, 1008.0231),
            (373.15, 0.031619889, 2.1896473e-5, 0.94586903, 1011.2331),
            (423.15, 0.035000700, 2.4026904e-5, 0.83399501, 1017.1288),
            (473.15, 0.038248617, 2.6046119e-5, 0.74580962, 1024.9655),
        ];
        for (kelvin, conductivity, viscosity, density, specific_heat) in table {
            let air = Air::at_kelvin(kelvin);
            approx::assert_relative_eq!(
                air.conductivity_watt_per_m_kelvin,
                conductivity,
                max_relative = 0.011
            );
            approx::assert_relative_eq!(
                air.kinematic_viscosity_m2_per_s,
                viscosity / density,
                max_relative = 0.0131
            );
            approx::assert_relative_eq!(
                air.diffusivity_m2_per_s,
                conductivity / (density * specific_heat),
                max_relative = 0.0131
            );
            approx::assert_relative_eq!(
                air.prandtl(),
                viscosity * specific_heat / conductivity,
                max_relative = 0.024
            );
        }
    }
}
