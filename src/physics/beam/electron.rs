//! An electron accelerated by the gun voltage.

use crate::Result;
use crate::constants::{ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB, SPEED_OF_LIGHT_M_PER_S};
use crate::error::Refused;
use std::f64::consts::TAU;

/// The largest gun voltage accepted; the tubes modelled here do not reach it.
pub(crate) const LARGEST_GUN_VOLTAGE_VOLT: f64 = 100e3;

/// Energy, momentum and speed of an electron; a magnetic field changes none of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Electron {
    /// The voltage that accelerated it from rest.
    pub voltage_volt: f64,
    /// e V.
    pub kinetic_energy_joule: f64,
    /// p c = √(T² + 2 T m c²).
    pub momentum_kg_m_per_s: f64,
    /// v = p / (γ m).
    pub speed_m_per_s: f64,
    /// γ = 1 + T/(m c²).
    pub lorentz_factor: f64,
}

impl Electron {
    /// The electron accelerated from rest by `voltage_volt`, which must be above 0 and at most 100 kV.
    ///
    /// T = e V, p = √(T² + 2 T m c²)/c, γ = 1 + T/(m c²), v = p/(γ m), with e, m, c of CODATA 2022. Exact to
    /// rounding: `tests/data/beam.csv` holds the values of 15-digit arithmetic.
    ///
    /// ```
    /// let electron = coilwright::physics::beam::Electron::after(100.0)?;
    /// assert!((electron.speed_m_per_s / 5.9301e6 - 1.0).abs() < 1e-5); // about 2 % of the speed of light
    /// # Ok::<(), coilwright::Error>(())
    /// ```
    pub fn after(voltage_volt: f64) -> Result<Self> {
        if !(voltage_volt > 0.0 && voltage_volt <= LARGEST_GUN_VOLTAGE_VOLT) {
            return Err(
                Refused::BeamVoltage { volt: voltage_volt, most_volt: LARGEST_GUN_VOLTAGE_VOLT }.into()
            );
        }
        let kinetic_energy_joule = ELEMENTARY_CHARGE_COULOMB * voltage_volt;
        let rest_energy_joule = ELECTRON_MASS_KG * SPEED_OF_LIGHT_M_PER_S * SPEED_OF_LIGHT_M_PER_S;
        let momentum_kg_m_per_s = (kinetic_energy_joule * (kinetic_energy_joule + 2.0 * rest_energy_joule))
            .sqrt()
            / SPEED_OF_LIGHT_M_PER_S;
        let lorentz_factor = 1.0 + kinetic_energy_joule / rest_energy_joule;
        Ok(Self {
            voltage_volt,
            kinetic_energy_joule,
            momentum_kg_m_per_s,
            speed_m_per_s: momentum_kg_m_per_s / (lorentz_factor * ELECTRON_MASS_KG),
            lorentz_factor,
        })
    }

    /// Magnetic rigidity p/e in T·m: field times radius of a circle across the field.
    pub fn rigidity_tesla_m(&self) -> f64 {
        self.momentum_kg_m_per_s / ELEMENTARY_CHARGE_COULOMB
    }

    /// Radius p/(e B) of the circle across a uniform field; infinite at zero field.
    pub fn radius_in_uniform_field_m(&self, field_tesla: f64) -> f64 {
        self.rigidity_tesla_m() / field_tesla.abs()
    }

    /// Time 2π γ m/(e B) of one turn in a uniform field, for any direction of motion; infinite at zero field.
    pub(crate) fn period_in_uniform_field_s(&self, field_tesla: f64) -> f64 {
        TAU * self.radius_in_uniform_field_m(field_tesla) / self.speed_m_per_s
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn speed_radius_and_period_agree_with_the_published_formulae_to_twelve_digits() {
        // Source: tests/data/beam.csv, relativistic formulae with CODATA 2022 in 15 digits.
        let mut rows = 0;
        for line in include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/beam.csv")).lines().skip(2)
        {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            let electron = Electron::after(cells[0]).unwrap();
            assert_relative_eq!(electron.radius_in_uniform_field_m(cells[1]), cells[3], max_relative = 1e-12);
            assert_relative_eq!(electron.speed_m_per_s, cells[6], max_relative = 1e-12);
            assert_relative_eq!(
                electron.period_in_uniform_field_s(-cells[1]),
                cells[7],
                max_relative = 1e-12
            );
            rows += 1;
        }
        assert_eq!(rows, 36);
    }

    #[test]
    fn the_plasma_formulary_gives_the_same_radius_and_frequency_to_its_three_digits() {
        // NRL Plasma Formulary, "Fundamental plasma parameters": r_e = 2.38 √T/B cm (T in eV, v = √(T/m)),
        // f_ce = 2.80e6 B Hz, B in gauss.
        let slow = Electron::after(1e-3).unwrap();
        // Its velocity is √(T/m), that of `Electron` √(2T/m).
        let radius_cm = 100.0 * slow.radius_in_uniform_field_m(1e-4) / 2f64.sqrt();
        assert_relative_eq!(radius_cm, 2.38 * 1e-3f64.sqrt(), max_relative = 0.003);
        assert_relative_eq!(1.0 / slow.period_in_uniform_field_s(1e-4), 2.80e6, max_relative = 0.001);
    }

    #[test]
    fn voltages_that_make_no_beam_are_refused() {
        for voltage in [0.0, -100.0, f64::NAN, f64::INFINITY, 1e6] {
            assert!(Electron::after(voltage).is_err(), "{voltage}");
        }
    }
}
