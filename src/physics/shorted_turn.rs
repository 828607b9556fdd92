//! What one shorted turn does to a coil's inductance and resistance.
//!
//! The turn has the wire's own resistance r and the inductance l of a ring of it, and the coil's flux through it is L/N per
//! ampere. By the two equations of a transformer ΔL/L = −(ω² L l/N²)/(r² + ω² l²) and ΔR = ω² (L/N)² r/(r² + ω² l²).

use super::field::{Section, self_inductance_henry};
use crate::pair::Bench;
use std::f64::consts::{FRAC_PI_4, TAU};

/// One turn of a coil, shorted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ShortedTurn {
    ohm: f64,
    henry: f64,
    flux_henry: f64,
    coil_henry: f64,
}

impl ShortedTurn {
    /// The mean turn of a coil with this inductance.
    pub(crate) fn of(bench: &Bench, coil_henry: f64) -> Self {
        let winding = &bench.winding;
        let wire = &winding.wire;
        let length_m = TAU * winding.mean_radius_m;
        // The round wire as a square of the same area.
        let side_m = FRAC_PI_4.sqrt() * wire.bare_diameter_m;
        let section = Section { mean_radius_m: winding.mean_radius_m, width_m: side_m, depth_m: side_m };
        Self {
            ohm: wire.conductor.resistivity_at_20_celsius_ohm_m() * length_m / wire.conductor_area_m2(),
            henry: self_inductance_henry(&section, 1.0),
            flux_henry: coil_henry / winding.turns,
            coil_henry,
        }
    }

    /// r² + ω² l².
    fn impedance_square(&self, hertz: f64) -> f64 {
        self.ohm.powi(2) + (TAU * hertz * self.henry).powi(2)
    }

    /// Part by which the coil's inductance at the second frequency is less than at the first.
    pub(crate) fn drop_between(&self, [low, high]: [f64; 2]) -> f64 {
        let drop = |hertz: f64| {
            (TAU * hertz * self.flux_henry).powi(2) * self.henry
                / (self.coil_henry * self.impedance_square(hertz))
        };
        drop(high) - drop(low)
    }

    /// What the coil's series resistance gains.
    pub(crate) fn added_ohm(&self, hertz: f64) -> f64 {
        (TAU * hertz * self.flux_henry).powi(2) * self.ohm / self.impedance_square(hertz)
    }
}
