//! How well each figure that a need is held against is known.

use super::record::StandardUncertainties;
use crate::pair::{Bench, BuildTolerance};
use crate::physics::build_error;
use crate::physics::field::{Assembly, Deviation};
use nalgebra::Vector3;

/// Relative standard uncertainty of a temperature rise: the heating model is good to 10 to 20 %, and 20 % is taken as
/// expanded (k = 2).
const OF_RISE: f64 = 0.10;
/// The same of a resistance that follows from the wire: bare diameter within ±1 % (IEC 60317-0-1), rectangular.
const OF_RESISTANCE_BY_WIRE: f64 = 0.02 / 1.732_050_807_568_877_2;
/// The same of a resistance that the spec states (common practice, no source).
const OF_STATED_RESISTANCE: f64 = 0.005;

/// The figures of an option that the needs are held against.
pub(super) struct Figures {
    pub(super) field_constant_tesla_per_ampere: f64,
    pub(super) largest_field_tesla: Option<f64>,
    /// Whether the supply's voltage, not its current, ends the largest field.
    pub(super) voltage_limited: bool,
    pub(super) working_current_ampere: Option<f64>,
    pub(super) voltage_volt: Option<f64>,
    pub(super) copper_celsius: Option<f64>,
    pub(super) surface_celsius: Option<f64>,
    pub(super) worst_at_m: Option<[f64; 3]>,
    pub(super) room_celsius: f64,
}

pub(super) fn standard_uncertainties(bench: &Bench, figures: &Figures) -> StandardUncertainties {
    let tolerance = bench.build_tolerance.unwrap_or(BuildTolerance::ORDINARY);
    let toleranced = Bench { build_tolerance: Some(tolerance), ..bench.clone() };
    let constant = build_error::field_constant_standard_uncertainty_tesla_per_ampere(&toleranced)
        .map_or(0.0, |u| u / figures.field_constant_tesla_per_ampere.abs());
    let stated = bench.coils().iter().all(|coil| coil.resistance.is_some());
    let resistance = if stated { OF_STATED_RESISTANCE } else { OF_RESISTANCE_BY_WIRE };
    let alpha = bench.winding.wire.conductor.resistance_coefficient_per_kelvin();
    let warmth =
        figures.copper_celsius.map_or(0.0, |celsius| alpha * OF_RISE * (celsius - figures.room_celsius));
    // Heat grows as the square of the current that the field needs, and with the resistance.
    let rise = OF_RISE.hypot(2.0 * constant).hypot(resistance);
    let of = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    StandardUncertainties {
        largest_field_tesla: figures.largest_field_tesla.map(|field| {
            field * if figures.voltage_limited { constant.hypot(resistance).hypot(warmth) } else { constant }
        }),
        working_current_ampere: figures.working_current_ampere.map(|current| current * constant),
        voltage_volt: figures.voltage_volt.map(|volt| volt * constant.hypot(resistance).hypot(warmth)),
        room_for_bulb_m: of(tolerance.mean_radius_m)
            .hypot(0.5 * of(tolerance.depth_m))
            .hypot(0.5 * of(tolerance.spacing_m))
            .hypot(0.5 * of(tolerance.width_m)),
        worst_beam_deviation: figures.worst_at_m.map(|at| of_deviation(&toleranced, Vector3::from(at))),
        surface_temperature_kelvin: figures
            .surface_celsius
            .map(|celsius| rise * (celsius - figures.room_celsius).max(0.0)),
    }
}

/// What the build tolerance makes of the deviation at one place.
fn of_deviation(bench: &Bench, at_m: Vector3<f64>) -> f64 {
    let deviation =
        |assembly: &Assembly| Deviation::new(assembly, Vector3::zeros()).map_or(f64::NAN, |it| it.at(&at_m));
    build_error::build_errors(bench, deviation).map_or(f64::NAN, |errors| build_error::combined(&errors))
}
