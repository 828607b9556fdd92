//! The wire pack as one material: conductivity across the wires, heat capacity.

use crate::constants::Conductor;
use crate::pair::materials::{
    ENAMEL_CONDUCTIVITY_WATT_PER_M_KELVIN, ENAMEL_DENSITY_KG_PER_M3, ENAMEL_SPECIFIC_HEAT_JOULE_PER_KG_KELVIN,
};
use crate::pair::{Filling, Wire};
use serde::Serialize;
use std::f64::consts::PI;

/// Conductivity of still air between the wires near 50 °C, W/(m K) (Lemmon and others 2004).
const AIR_CONDUCTIVITY_WATT_PER_M_KELVIN: f64 = 0.028;
/// Conductivities across the wires measured in the literature on impregnated windings, W/(m K) (Staton & Boglietti
/// 2008; Simpson, Wrobel & Mellor 2013; from memory).
const VARNISHED_RANGE: [f64; 2] = [0.3, 1.0];
/// Conductivities across the wires measured in the literature on windings without varnish, W/(m K) (from memory).
const UNVARNISHED_RANGE: [f64; 2] = [0.06, 0.15];

/// The winding's section as one material.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WirePack {
    /// Conductor area over section area.
    pub conductor_fraction: f64,
    /// Enamel area over section area.
    pub enamel_fraction: f64,
    /// Conductivity across the wires.
    pub conductivity_watt_per_m_kelvin: f64,
    /// Range of published measurements on such windings.
    pub published_range_watt_per_m_kelvin: [f64; 2],
    /// Heat capacity of the section per metre of circumference and per kelvin.
    pub heat_capacity_joule_per_m_kelvin: f64,
}

impl WirePack {
    /// The pack of `turns` wires in a section of `section_m2`.
    ///
    /// The conductivity is the lower bound of Hashin and Shtrikman for cylinders in a matrix, taken twice: copper in
    /// its enamel, then the enamelled wire in air or varnish. No arrangement of the same parts that conducts equally in
    /// both directions conducts less. A winding in layers does not conduct equally in both, and gaps wider than the
    /// section allows for, or a loose last layer, conduct worse. Use `worst_watt_per_m_kelvin` for limits that
    /// must be safe.
    pub fn of(wire: &Wire, turns: f64, section_m2: f64, filling: Filling) -> Self {
        let conductor_fraction = (turns * circle_m2(wire.bare_diameter_m) / section_m2).min(1.0);
        // The spec's reader refuses a winding that does not fit; the cap prevents a fraction over 1 for other callers.
        let wire_fraction =
            (turns * circle_m2(wire.overall_diameter_m) / section_m2).min(0.9069).max(conductor_fraction);
        let filling_conductivity = match filling {
            Filling::Air => AIR_CONDUCTIVITY_WATT_PER_M_KELVIN,
            Filling::Varnish => ENAMEL_CONDUCTIVITY_WATT_PER_M_KELVIN,
        };
        let enamelled_wire = cylinders_in_matrix(
            wire.conductor.thermal_conductivity_watt_per_m_kelvin(),
            ENAMEL_CONDUCTIVITY_WATT_PER_M_KELVIN,
            conductor_fraction / wire_fraction,
        );
        let conductivity = cylinders_in_matrix(enamelled_wire, filling_conductivity, wire_fraction);
        let enamel_fraction = wire_fraction - conductor_fraction;
        let resin_fraction = match filling {
            Filling::Air => enamel_fraction,
            Filling::Varnish => 1.0 - conductor_fraction,
        };
        Self {
            conductor_fraction,
            enamel_fraction,
            conductivity_watt_per_m_kelvin: conductivity,
            published_range_watt_per_m_kelvin: match filling {
                Filling::Air => UNVARNISHED_RANGE,
                Filling::Varnish => VARNISHED_RANGE,
            },
            heat_capacity_joule_per_m_kelvin: heat_capacity_joule_per_m_kelvin(
                wire.conductor,
                conductor_fraction * section_m2,
                resin_fraction * section_m2,
            ),
        }
    }

    /// The smaller of the computed conductivity and the lowest published one of such windings.
    pub(crate) fn worst_watt_per_m_kelvin(&self) -> f64 {
        self.conductivity_watt_per_m_kelvin.min(self.published_range_watt_per_m_kelvin[0])
    }
}

/// Heat capacity of a wire, conductor and enamel, per metre and per kelvin.
pub(crate) fn wire_joule_per_m_kelvin(wire: &Wire) -> f64 {
    let conductor_m2 = circle_m2(wire.bare_diameter_m);
    heat_capacity_joule_per_m_kelvin(
        wire.conductor,
        conductor_m2,
        circle_m2(wire.overall_diameter_m) - conductor_m2,
    )
}

fn heat_capacity_joule_per_m_kelvin(conductor: Conductor, conductor_m2: f64, resin_m2: f64) -> f64 {
    conductor_m2 * conductor.density_kg_per_m3() * conductor.specific_heat_joule_per_kg_kelvin()
        + resin_m2 * ENAMEL_DENSITY_KG_PER_M3 * ENAMEL_SPECIFIC_HEAT_JOULE_PER_KG_KELVIN
}

fn circle_m2(diameter_m: f64) -> f64 {
    0.25 * PI * diameter_m * diameter_m
}

/// k_m [(1 + f) k_c + (1 − f) k_m] / [(1 − f) k_c + (1 + f) k_m]: cylinders of conductivity k_c filling the fraction
/// f of a matrix k_m, heat flowing across them.
///
/// Z. Hashin, S. Shtrikman, J. Appl. Phys. 33, 3125 (1962), in two dimensions: the lower bound for k_c > k_m, and
/// exact for coated cylinders of every size.
fn cylinders_in_matrix(cylinder: f64, matrix: f64, fraction: f64) -> f64 {
    matrix * ((1.0 + fraction) * cylinder + (1.0 - fraction) * matrix)
        / ((1.0 - fraction) * cylinder + (1.0 + fraction) * matrix)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn cylinders_in_resin_conduct_as_hashin_and_shtrikman_say() {
        // Copper 400 in resin 0.2 and in air 0.026 W/(m K), computed from the formula of 1962 with 30 digits.
        for (fraction, resin, air) in [
            (0.4, 0.4662227401365074, 0.06066),
            (0.5, 0.599201198202696, 0.07799),
            (0.6, 0.7985029940119762, 0.104),
            (0.7, 1.1302310121322916, 0.1473),
        ] {
            assert_relative_eq!(cylinders_in_matrix(400.0, 0.2, fraction), resin, max_relative = 1e-13);
            assert_relative_eq!(cylinders_in_matrix(400.0, 0.026, fraction), air, max_relative = 5e-4);
        }
        // No cylinders, and nothing but cylinders.
        assert_eq!(cylinders_in_matrix(400.0, 0.2, 0.0), 0.2);
        assert_relative_eq!(cylinders_in_matrix(400.0, 0.2, 1.0), 400.0, max_relative = 1e-13);
    }

    #[test]
    fn a_real_winding_lies_where_the_literature_has_measured() {
        let wire = Wire {
            name: None,
            conductor: Conductor::Copper,
            bare_diameter_m: 0.95e-3,
            overall_diameter_m: 1.041e-3,
            thermal_class_celsius: None,
        };
        for filling in [Filling::Air, Filling::Varnish] {
            let pack = WirePack::of(&wire, 160.0, 21e-3 * 8.5e-3, filling);
            let [low, high] = pack.published_range_watt_per_m_kelvin;
            let found = pack.conductivity_watt_per_m_kelvin;
            assert!((low..=1.5 * high).contains(&found), "{filling:?}: {found} W/(m K)");
        }
    }

    #[test]
    fn a_heat_capacity_is_mostly_the_copper() {
        let wire = Wire {
            name: None,
            conductor: Conductor::Copper,
            bare_diameter_m: 1e-3,
            overall_diameter_m: 1.06e-3,
            thermal_class_celsius: None,
        };
        let pack = WirePack::of(&wire, 100.0, 130e-6, Filling::Air);
        // 100 wires of 1 mm: 78.54 mm² of copper, 8890 kg/m³ × 388 J/(kg K) = 270.9 J/(m K), and a little enamel.
        let copper = 78.5398e-6 * 8890.0 * 388.0;
        assert!(pack.heat_capacity_joule_per_m_kelvin > copper);
        assert_relative_eq!(pack.heat_capacity_joule_per_m_kelvin, copper, max_relative = 0.07);
    }
}
