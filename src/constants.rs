//! Physical constants and material data, each with its source and year.

/// Vacuum magnetic permeability, N/A² (CODATA 2022; standard uncertainty 2.0e-16).
pub const MU_0: f64 = 1.256_637_061_27e-6;
/// Speed of light in vacuum, m/s (exact).
pub const SPEED_OF_LIGHT_M_PER_S: f64 = 299_792_458.0;
/// Elementary charge, C (exact since 2019).
pub const ELEMENTARY_CHARGE_COULOMB: f64 = 1.602_176_634e-19;
/// Electron mass, kg (CODATA 2022; standard uncertainty 2.8e-40).
pub const ELECTRON_MASS_KG: f64 = 9.109_383_713_9e-31;
/// Electron charge-to-mass ratio as a magnitude, C/kg (CODATA 2022).
pub const ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG: f64 = 1.758_820_008_38e11;
/// Standard uncertainty of [`ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG`], C/kg (CODATA 2022).
pub const ELECTRON_CHARGE_TO_MASS_UNCERTAINTY_COULOMB_PER_KG: f64 = 55.0;
/// Stefan–Boltzmann constant, W/(m² K⁴) (CODATA 2022, exact to the digits given).
pub const STEFAN_BOLTZMANN_WATT_PER_M2_K4: f64 = 5.670_374_419_184_431e-8;
/// Standard acceleration of free fall, m/s² (CODATA 2022, exact by convention).
pub const GRAVITY_M_PER_S2: f64 = 9.806_65;
/// 0 °C in kelvin (exact by definition).
pub const ZERO_CELSIUS_KELVIN: f64 = 273.15;
/// The temperature that wire tables and conductor data refer to, °C.
pub const REFERENCE_TEMPERATURE_CELSIUS: f64 = 20.0;
/// Flux density above which carriers of active implants should be warned, T. Source: ICNIRP 2009 guidance
/// on static fields, Directive 2013/35/EU Annex II table B4 (from memory).
pub const IMPLANT_CAUTION_TESLA: f64 = 0.5e-3;

/// What a conductor is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Conductor {
    /// Annealed copper.
    Copper,
    /// Annealed aluminium.
    Aluminium,
}

impl Conductor {
    /// Volume resistivity at 20 °C, Ω·m. Copper: 1/58 Ω·mm²/m, IEC 60028 (1925). Aluminium: 0.0280 Ω·mm²/m,
    /// annealed, IEC 60121 (1960) (from memory).
    pub(crate) const fn resistivity_at_20_celsius_ohm_m(self) -> f64 {
        match self {
            Self::Copper => 1e-6 / 58.0,
            Self::Aluminium => 0.0280e-6,
        }
    }

    /// Temperature coefficient of resistance at 20 °C and constant mass, 1/K. Copper: 0.00393, IEC 60028 (1925).
    /// Aluminium: 0.00407, IEC 60121 (1960) (from memory).
    pub(crate) const fn resistance_coefficient_per_kelvin(self) -> f64 {
        match self {
            Self::Copper => 0.003_93,
            Self::Aluminium => 0.004_07,
        }
    }

    /// Density at 20 °C, kg/m³. Copper: 8890, IEC 60028 (1925). Aluminium: 2703, IEC 60121 (1960) (from memory).
    pub const fn density_kg_per_m3(self) -> f64 {
        match self {
            Self::Copper => 8890.0,
            Self::Aluminium => 2703.0,
        }
    }

    /// Resistance at `celsius` over resistance at 20 °C: 1 + α (t − 20 °C).
    pub fn resistance_ratio(self, celsius: f64) -> f64 {
        1.0 + self.resistance_coefficient_per_kelvin() * (celsius - REFERENCE_TEMPERATURE_CELSIUS)
    }

    /// The trade's word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Copper => "copper",
            Self::Aluminium => "aluminium",
        }
    }

    /// Specific heat near 20 °C to 100 °C, J/(kg K). Copper 388, aluminium 905: means over that range (from memory).
    pub(crate) const fn specific_heat_joule_per_kg_kelvin(self) -> f64 {
        match self {
            Self::Copper => 388.0,
            Self::Aluminium => 905.0,
        }
    }

    /// Thermal conductivity near 50 °C, W/(m K): copper 395, aluminium 235 (from memory).
    pub(crate) const fn thermal_conductivity_watt_per_m_kelvin(self) -> f64 {
        match self {
            Self::Copper => 395.0,
            Self::Aluminium => 235.0,
        }
    }

    /// Linear thermal expansion, 1/K: copper 17e-6, aluminium 23e-6 (from memory).
    pub(crate) const fn linear_expansion_per_kelvin(self) -> f64 {
        match self {
            Self::Copper => 17e-6,
            Self::Aluminium => 23e-6,
        }
    }

    /// The constant k of rise by resistance, (θ₂ + k)/(θ₁ + k) = R₂/R₁, in °C: copper 234.5, aluminium 225
    /// (IEC 60034-1; from memory). 1/α − 20 °C from the resistance data here is 234.45 and 225.70.
    pub(crate) const fn rise_by_resistance_constant_celsius(self) -> f64 {
        match self {
            Self::Copper => 234.5,
            Self::Aluminium => 225.0,
        }
    }
}

/// First day, inclusive, that the built-in models hold for (WMM2020, then WMM2025 from 2025-01-01).
pub const MAGNETIC_MODEL_VALID_FROM: &str = "2020-01-01";

/// Last day, inclusive, that the built-in models hold for.
pub const MAGNETIC_MODEL_VALID_UNTIL: &str = "2029-12-31";

/// The years of these dates.
pub const MAGNETIC_MODEL_YEARS: std::ops::RangeInclusive<i32> = 2020..=2029;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_constants_agree_with_each_other_to_their_last_digits() {
        // e/m from e and m: CODATA 2022 values agree to 1.1e-12.
        let ratio = ELEMENTARY_CHARGE_COULOMB / ELECTRON_MASS_KG;
        approx::assert_relative_eq!(ratio, ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, max_relative = 3e-11);
        // sigma = 2 pi^5 k^4 / (15 h^3 c^2), from the exact SI values of k and h.
        let (k, h) = (1.380_649e-23_f64, 6.626_070_15e-34_f64);
        let sigma = 2.0 * std::f64::consts::PI.powi(5) * k.powi(4)
            / (15.0 * h.powi(3) * SPEED_OF_LIGHT_M_PER_S.powi(2));
        approx::assert_relative_eq!(sigma, STEFAN_BOLTZMANN_WATT_PER_M2_K4, max_relative = 1e-14);
    }
}
