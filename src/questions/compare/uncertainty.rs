//! Standard uncertainties of the figures compared with needs.

use super::record::StandardUncertainties;
use crate::numeric::random::SampleGenerator;
use crate::pair::Bench;
use crate::physics::build_error;
use crate::physics::build_error::drawn::Builder;
use crate::physics::field::Assembly;
use crate::physics::test_limits::OF_RISE;
use nalgebra::Vector3;

/// Relative standard uncertainty of a temperature rise: the model's allowance is taken as expanded (k = 2).
const STANDARD_OF_RISE: f64 = 0.5 * OF_RISE;
/// Relative standard uncertainty of a resistance computed from the wire: bare diameter within ±1 % (IEC 60317-0-1),
/// rectangular.
const OF_RESISTANCE_BY_WIRE: f64 = 0.02 / 1.732_050_807_568_877_2;
/// Relative standard uncertainty of a resistance stated in the spec (common practice, no source).
const OF_STATED_RESISTANCE: f64 = 0.005;

/// The figures of an option that are compared with the needs.
pub(super) struct Figures {
    pub(super) field_constant_tesla_per_ampere: f64,
    pub(super) largest_field_tesla: Option<f64>,
    /// Whether the supply's voltage, not its current, limits the largest field.
    pub(super) voltage_limited: bool,
    pub(super) working_current_ampere: Option<f64>,
    pub(super) voltage_volt: Option<f64>,
    pub(super) copper_celsius: Option<f64>,
    pub(super) surface_celsius: Option<f64>,
    pub(super) worst_at_m: Option<[f64; 3]>,
    pub(super) room_celsius: f64,
}

pub(super) fn standard_uncertainties(bench: &Bench, figures: &Figures) -> StandardUncertainties {
    let tolerance = bench.tolerance_or_ordinary();
    let toleranced = Bench { build_tolerance: Some(tolerance), ..bench.clone() };
    let constant = build_error::field_constant_standard_uncertainty_tesla_per_ampere(&toleranced)
        .map_or(0.0, |u| u / figures.field_constant_tesla_per_ampere.abs());
    let stated = bench.coils().iter().all(|coil| coil.resistance.is_some());
    let resistance = if stated { OF_STATED_RESISTANCE } else { OF_RESISTANCE_BY_WIRE };
    let alpha = bench.winding.wire.conductor.resistance_coefficient_per_kelvin();
    let warmth = figures
        .copper_celsius
        .map_or(0.0, |celsius| alpha * STANDARD_OF_RISE * (celsius - figures.room_celsius));
    // The heat grows as the square of the current that the field needs, and in proportion to the resistance.
    let rise = STANDARD_OF_RISE.hypot(2.0 * constant).hypot(resistance);
    StandardUncertainties {
        largest_field_tesla: figures.largest_field_tesla.map(|field| {
            field * if figures.voltage_limited { constant.hypot(resistance).hypot(warmth) } else { constant }
        }),
        working_current_ampere: figures.working_current_ampere.map(|current| current * constant),
        voltage_volt: figures.voltage_volt.map(|volt| volt * constant.hypot(resistance).hypot(warmth)),
        room_for_bulb_m: of_room(&toleranced),
        worst_beam_deviation: figures.worst_at_m.map(|at| of_deviation(&toleranced, Vector3::from(at))),
        surface_temperature_kelvin: figures
            .surface_celsius
            .map(|celsius| rise * (celsius - figures.room_celsius).max(0.0)),
    }
}

/// Number of random pairs for the room, and the rank of the one in forty that leaves least room.
const DRAWN: usize = 1_000;
const ONE_IN_FORTY: usize = DRAWN / 40;
/// The seed of every draw, so that the same question has the same answer.
const SEED: u64 = 20_260_901;

/// Standard uncertainty of the room for the bulb: half of the shortfall that one in forty pairs within the build
/// tolerance exceeds. The nearer coil counts, and a coil off its place or tilted comes nearer on one side, so most
/// pairs leave less room than nominal.
fn of_room(bench: &Bench) -> f64 {
    let Some(centre_m) = bench.tube.as_ref().map(|tube| tube.bulb_centre_m) else { return 0.0 };
    let Ok(builder) = Builder::new(bench) else { return 0.0 };
    let mut built = bench.clone();
    let mut rooms: Vec<f64> = (0..DRAWN as u64)
        .map(|sample| {
            let pair = builder.draw(&mut SampleGenerator::new(SEED, sample));
            built.spacing_m = pair.spacing_m;
            built.set_coils(pair.coils);
            built.room_for_bulb_m(&centre_m)
        })
        .collect();
    rooms.sort_unstable_by(f64::total_cmp);
    0.5 * (bench.room_for_bulb_m(&centre_m) - rooms[ONE_IN_FORTY]).max(0.0)
}

/// Standard uncertainty, from the build tolerance, of the deviation at one place.
fn of_deviation(bench: &Bench, at_m: Vector3<f64>) -> f64 {
    let deviation = |assembly: &Assembly| {
        let [centre, there] = [Vector3::zeros(), at_m].map(|point| assembly.field_once_per_ampere(&point));
        there.dot(&centre) / centre.norm_squared() - 1.0
    };
    build_error::build_errors(bench, deviation).map_or(f64::NAN, |errors| build_error::combined(&errors))
}
