//! Judges whether a winding meets the wishes, and by how much it misses them.

use super::deviations::DeviationRow;
use super::space::SpacingRow;
use super::thermal::{Heat, HeatRow, HeatTable, Rises};
use crate::constants::MU_0;
use crate::pair::{Connection, Wire};
use crate::physics::field::Section;
use crate::physics::heat::pack::wire_joule_per_m_kelvin;
use serde::Serialize;
use std::cell::OnceCell;
use std::f64::consts::TAU;

/// The wishes, in the order in which they are judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Wish {
    /// Bulb and clearance fit between the coils.
    Clearance,
    /// The current for the largest field does not exceed the supply's.
    CurrentLimit,
    /// The voltage at the largest current does not exceed the supply's.
    VoltageLimit,
    /// No surface gets too hot by the end of the time at the largest current.
    SurfaceTemperature,
    /// The deviation over the beam is small enough.
    BeamDeviation,
}

impl Wish {
    /// Every wish, in the order in which they are judged.
    pub const ALL: [Self; 5] = [
        Self::Clearance,
        Self::CurrentLimit,
        Self::VoltageLimit,
        Self::SurfaceTemperature,
        Self::BeamDeviation,
    ];

    /// Its name for people.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Clearance => "clearance",
            Self::CurrentLimit => "supply current",
            Self::VoltageLimit => "supply voltage",
            Self::SurfaceTemperature => "surface temperature",
            Self::BeamDeviation => "beam deviation",
        }
    }
}

/// The fraction by which each wish is missed, in the order of [`Wish::ALL`]; 0 or less if it is met or not wished.
pub(super) type Misses = [f64; 5];

/// One judged winding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Winding {
    /// Index of its wire.
    pub wire: usize,
    pub connection: Connection,
    pub turns_per_layer: u32,
    pub layers: u32,
    pub section: Section,
    pub spacing_m: f64,
    pub field_constant_tesla_per_ampere: f64,
    pub current_ampere: f64,
    pub voltage_volt: f64,
    pub power_watt: f64,
    pub conductor_mass_kg: f64,
    pub worst_beam_deviation: f64,
    /// Rise of the hottest surface above the room; zero if nothing is held for any time.
    pub surface_kelvin: f64,
    pub misses: Misses,
}

impl Winding {
    /// Whether every wish is met.
    pub(crate) fn meets_everything(&self) -> bool {
        self.misses.iter().all(|miss| *miss <= 0.0)
    }

    /// The wish missed, if it is the only one.
    pub(crate) fn only_miss(&self) -> Option<(Wish, f64)> {
        let mut missed = Wish::ALL.into_iter().zip(self.misses).filter(|(_, miss)| *miss > 0.0);
        let first = missed.next()?;
        missed.next().is_none().then_some(first)
    }

    pub(super) fn turns(&self) -> u32 {
        self.turns_per_layer * self.layers
    }
}

/// A winding before it is judged.
#[derive(Clone, Copy)]
pub(super) struct Draft<'a> {
    pub wire_number: usize,
    pub wire: &'a Wire,
    pub turns_per_layer: u32,
    pub layers: u32,
    pub section: Section,
}

/// The figures that depend only on section and spacing. The most expensive ones are computed when first needed.
pub(super) struct SectionFigures<'a> {
    row: &'a Row<'a>,
    clearance_miss: f64,
    tesla_per_ampere_turn: f64,
    spacing_m: f64,
    spacing_number: usize,
    rises: OnceCell<Rises>,
    worst_beam_deviation: OnceCell<f64>,
}

/// Shared by the sections of one mean radius and width.
pub(super) struct Row<'a> {
    pub spacing: SpacingRow<'a>,
    /// `None` if nothing is to be held for any time.
    pub heat: Option<HeatRow>,
    /// `None` without a beam.
    pub deviation: Option<DeviationRow<'a>>,
}

/// The limits and tables for judging a winding.
pub(super) struct Judge {
    pub largest_field_tesla: f64,
    pub bulb: Option<Bulb>,
    pub wall_m: f64,
    pub current_limit_ampere: Option<f64>,
    pub voltage_limit_volt: Option<f64>,
    pub lead_resistance_ohm: f64,
    pub room_celsius: f64,
    /// Largest rise of a surface above the room.
    pub surface_limit_kelvin: Option<f64>,
    pub heat: Option<HeatTable>,
    pub beam_deviation: Option<f64>,
    /// Judging stops at a second miss, or at one larger than this. Infinite: never stop.
    pub patience: f64,
}

/// The bulb with its clearance.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bulb {
    /// Radius with clearance.
    pub radius_m: f64,
    /// Radius without clearance.
    pub glass_m: f64,
    pub centre_rho_m: f64,
    pub centre_z_m: f64,
}

impl Judge {
    /// The fraction by which one section misses the clearance, whatever its wire.
    pub(crate) fn clearance_miss(&self, section: &Section, spacing_m: f64) -> f64 {
        let gap = spacing_m - section.width_m - 2.0 * self.wall_m;
        if gap <= 0.0 || section.depth_m >= 1.9 * section.mean_radius_m {
            return f64::INFINITY;
        }
        let Some(bulb) = self.bulb else { return 0.0 };
        let inner = section.mean_radius_m - 0.5 * section.depth_m - self.wall_m - bulb.centre_rho_m;
        let aside = 0.5 * gap - bulb.centre_z_m;
        let distance = inner.max(0.0).hypot(aside.max(0.0));
        // If the bulb itself does not fit, no smaller clearance helps.
        if distance > bulb.glass_m { bulb.radius_m / distance - 1.0 } else { f64::INFINITY }
    }

    /// The figures that depend only on section and spacing, not on the connection.
    pub(super) fn figures<'a>(
        &self,
        row: &'a Row<'a>,
        section: &Section,
        spacing_number: usize,
    ) -> SectionFigures<'a> {
        let spacing_m = row.spacing.spacing_m(section.depth_m, spacing_number);
        SectionFigures {
            row,
            clearance_miss: self.clearance_miss(section, spacing_m),
            tesla_per_ampere_turn: centre_tesla_per_ampere_turn(section, spacing_m),
            spacing_m,
            spacing_number,
            rises: OnceCell::new(),
            worst_beam_deviation: OnceCell::new(),
        }
    }

    /// Judges one winding; `None` if it misses more than `patience` allows.
    pub(super) fn judge(
        &self,
        draft: &Draft,
        figures: &SectionFigures,
        connection: Connection,
    ) -> Option<Winding> {
        let mut trial = Trial { misses: [0.0; 5], missed: 0, patience: self.patience };
        let section = draft.section;
        trial.note(0, figures.clearance_miss)?;
        let turns = f64::from(draft.turns_per_layer * draft.layers);
        let share = share_of(connection);
        let constant = turns * share * figures.tesla_per_ampere_turn;
        let current = self.largest_field_tesla / constant;
        trial.note(1, self.current_limit_ampere.map_or(0.0, |limit| current / limit - 1.0))?;
        let wire = draft.wire;
        let coil_ohm = wire.conductor.resistivity_at_20_celsius_ohm_m() * TAU * section.mean_radius_m * turns
            / wire.conductor_area_m2();
        let coil_ampere = share * current;
        // In series the voltages of the coils add; in parallel they are equal.
        let voltage_at = |celsius: f64| {
            coil_ampere * coil_ohm * wire.conductor.resistance_ratio(celsius) * 2.0 * share
                + current * self.lead_resistance_ohm
        };
        let voltage_miss = |volt: f64| self.voltage_limit_volt.map_or(0.0, |limit| volt / limit - 1.0);
        // Warm copper needs at least the cold voltage, so a hopeless winding is dropped early.
        trial.bears(voltage_miss(voltage_at(self.room_celsius)))?;
        // A coil's own current, and so its heat, is the same in series and in parallel.
        let rises = figures
            .rises
            .get_or_init(|| self.rises(draft, figures.row, coil_ampere * coil_ampere * coil_ohm));
        let copper_celsius = self.room_celsius + rises.copper_kelvin;
        trial.note(2, voltage_miss(voltage_at(copper_celsius)))?;
        trial.note(3, self.surface_limit_kelvin.map_or(0.0, |limit| rises.surface_kelvin / limit - 1.0))?;
        let worst = *figures.worst_beam_deviation.get_or_init(|| match &figures.row.deviation {
            Some(row) => {
                row.worst(section.depth_m, &figures.row.spacing, figures.spacing_number, figures.spacing_m)
            }
            None => 0.0,
        });
        trial.note(4, self.beam_deviation.map_or(0.0, |limit| worst.abs() / limit - 1.0))?;
        Some(Winding {
            wire: draft.wire_number,
            connection,
            turns_per_layer: draft.turns_per_layer,
            layers: draft.layers,
            section,
            spacing_m: figures.spacing_m,
            field_constant_tesla_per_ampere: constant,
            current_ampere: current,
            voltage_volt: voltage_at(copper_celsius),
            power_watt: 2.0
                * coil_ampere
                * coil_ampere
                * coil_ohm
                * wire.conductor.resistance_ratio(copper_celsius),
            conductor_mass_kg: 2.0 * coil_conductor_kg(wire, turns, section.mean_radius_m),
            worst_beam_deviation: worst,
            surface_kelvin: rises.surface_kelvin,
            misses: trial.misses,
        })
    }

    /// Rise of copper and surface by the end of the time.
    fn rises(&self, draft: &Draft, row: &Row, coil_watt_at_20_celsius: f64) -> Rises {
        let (Some(table), Some(row)) = (&self.heat, &row.heat) else {
            return Rises { copper_kelvin: 0.0, surface_kelvin: 0.0 };
        };
        let wire = draft.wire;
        let turns = f64::from(draft.turns_per_layer * draft.layers);
        table.warming(row, draft.section.depth_m).rises(&Heat {
            coil_watt_at_20_celsius,
            coefficient_per_kelvin: wire.conductor.resistance_coefficient_per_kelvin(),
            winding_joule_per_kelvin: wire_joule_per_m_kelvin(wire)
                * TAU
                * draft.section.mean_radius_m
                * turns,
        })
    }

    /// Lower bound of the turns of any winding that misses the current limit by no more than `patience`, if its
    /// conductors lie between the two radii and at least `aside_m` from the centre along the axis.
    pub(crate) fn fewest_turns(
        &self,
        inner_radius_m: f64,
        outer_radius_m: f64,
        aside_m: f64,
        share: f64,
    ) -> f64 {
        let Some(limit) = self.current_limit_ampere else { return 0.0 };
        let most = most_tesla_per_ampere_turn(inner_radius_m, outer_radius_m, aside_m);
        self.largest_field_tesla / (most * share * limit * (1.0 + self.patience))
    }

    /// Whether a wire is too thin for the voltage limit by more than `patience`, for any number of turns: the voltage
    /// depends only on ρ, the mean turn, the ampere-turns and the wire's area.
    pub(crate) fn too_thin(&self, wire: &Wire, mean_radius_m: f64, bounds: [f64; 3], share: f64) -> bool {
        let Some(limit) = self.voltage_limit_volt else { return false };
        let [inner, outer, aside] = bounds;
        let ampere_turns = self.largest_field_tesla / most_tesla_per_ampere_turn(inner, outer, aside);
        let volt_per_turn_ampere = wire.conductor.resistivity_at_20_celsius_ohm_m()
            * wire.conductor.resistance_ratio(self.room_celsius)
            * TAU
            * mean_radius_m
            / wire.conductor_area_m2();
        2.0 * share * volt_per_turn_ampere * ampere_turns > limit * (1.0 + self.patience)
    }
}

struct Trial {
    misses: Misses,
    missed: u32,
    patience: f64,
}

impl Trial {
    fn note(&mut self, wish: usize, miss: f64) -> Option<()> {
        // NaN meets nothing.
        let miss = if miss.is_nan() { f64::INFINITY } else { miss };
        self.bears(miss)?;
        self.misses[wish] = miss;
        self.missed += u32::from(miss > 0.0);
        Some(())
    }

    /// `Some` if the judgement continues after a miss of this size or more.
    fn bears(&self, miss: f64) -> Option<()> {
        let over = miss > 0.0 && (self.missed > 0 || miss > self.patience);
        (!self.patience.is_finite() || !over).then_some(())
    }
}

/// Share of the supply's current in each coil.
pub(super) const fn share_of(connection: Connection) -> f64 {
    match connection {
        Connection::Series => 1.0,
        Connection::Parallel => 0.5,
    }
}

/// Mass of the conductor of one coil.
fn coil_conductor_kg(wire: &Wire, turns: f64, mean_radius_m: f64) -> f64 {
    TAU * mean_radius_m * turns * wire.conductor_area_m2() * wire.conductor.density_kg_per_m3()
}

/// Field at the centre of a pair per ampere-turn of each coil. With J = 1/(w d) it is mu0 J [z ln((a2 + √(a2² +
/// z²))/(a1 + √(a1² + z²)))] between z = (s − w)/2 and (s + w)/2: twice the field of one thick solenoid on its axis (D.
/// B. Montgomery, *Solenoid Magnet Design*, 1969, ch. 1).
pub(super) fn centre_tesla_per_ampere_turn(section: &Section, spacing_m: f64) -> f64 {
    let (a1, a2) =
        (section.mean_radius_m - 0.5 * section.depth_m, section.mean_radius_m + 0.5 * section.depth_m);
    let antiderivative =
        |z: f64| z * ((a2 + (a2 * a2 + z * z).sqrt()) / (a1 + (a1 * a1 + z * z).sqrt())).ln();
    let (near, far) = (0.5 * (spacing_m - section.width_m), 0.5 * (spacing_m + section.width_m));
    MU_0 * (antiderivative(far) - antiderivative(near)) / (section.width_m * section.depth_m)
}

/// Upper bound of the field at the centre per ampere-turn of each coil, for radii in a range and at least `aside_m`
/// from the centre along the axis: mu0 a²/(a² + h²)^(3/2) falls with h and has its maximum over a at a = √2 h.
fn most_tesla_per_ampere_turn(inner_radius_m: f64, outer_radius_m: f64, aside_m: f64) -> f64 {
    let h = aside_m.max(0.0);
    let a = (2f64.sqrt() * h).clamp(inner_radius_m.min(outer_radius_m), outer_radius_m);
    MU_0 * a * a / a.hypot(h).powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::PairSeries;

    #[test]
    fn the_closed_form_of_the_centre_field_is_that_of_the_series() {
        for (width_m, depth_m) in [(0.02, 0.01), (0.04, 0.04), (0.01, 0.05), (1e-3, 1e-3)] {
            let section = Section { mean_radius_m: 0.17, width_m, depth_m };
            let series = PairSeries::of(&section, 0.172, 0.05, 1e-13).unwrap();
            approx::assert_relative_eq!(
                centre_tesla_per_ampere_turn(&section, 0.172),
                series.centre_tesla_per_ampere_turn(),
                max_relative = 1e-11
            );
        }
    }

    #[test]
    fn no_section_makes_more_than_its_bound() {
        for (width_m, depth_m) in [(0.02, 0.01), (0.04, 0.04), (0.01, 0.05), (0.1, 0.1)] {
            for spacing_m in [0.12, 0.17, 0.3] {
                let section = Section { mean_radius_m: 0.17, width_m, depth_m };
                let bound = most_tesla_per_ampere_turn(
                    0.17 - 0.5 * depth_m,
                    0.17 + 0.5 * depth_m,
                    0.5 * (spacing_m - width_m),
                );
                assert!(centre_tesla_per_ampere_turn(&section, spacing_m) <= bound);
            }
        }
    }
}
