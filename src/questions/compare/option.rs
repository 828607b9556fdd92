//! The figures of one complete pair.

use super::question::Question;
use super::record::PairOption;
use super::uncertainty::{Figures, standard_uncertainties};
use crate::files::spec::Wanted;
use crate::pair::{Bench, Supply};
use crate::physics::beam;
use crate::physics::beam::Electron;
use crate::physics::field::Assembly;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::expansion::WarmField;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::{Carried, HeatedPair, HeldFor, Limits};
use crate::physics::safety::SafetyFigures;
use crate::questions::sheet;
use crate::questions::sheet::Sheet;
use crate::questions::size::wished_holding;
use crate::{Error, Result};

/// The bench with tube, supply and room of the needs. A supply limit that the needs leave out stays the bench's own.
pub(super) fn asked_alike(bench: &Bench, needs: Option<&Wanted>) -> Bench {
    let mut asked = bench.clone();
    let Some(needs) = needs else { return asked };
    if needs.tube.is_some() {
        asked.tube.clone_from(&needs.tube);
    }
    if let Some(needed) = needs.supply {
        let own = asked.supply;
        asked.supply = Some(Supply {
            voltage_limit_volt: needed.voltage_limit_volt.or(own.and_then(|own| own.voltage_limit_volt)),
            current_limit_ampere: needed
                .current_limit_ampere
                .or(own.and_then(|own| own.current_limit_ampere)),
            ..needed
        });
    }
    if let (Some(room), Some(celsius)) =
        (&mut asked.room, needs.room.as_ref().and_then(|room| room.temperature_celsius))
    {
        room.temperature_celsius = Some(celsius);
    } else if asked.room.is_none() {
        asked.room.clone_from(&needs.room);
    }
    asked
}

/// The figures of one complete pair, computed as for all others. Name and verdict are still missing.
pub(super) fn option(bench: &Bench, field_needed: Option<f64>, needs: Option<&Wanted>) -> Result<PairOption> {
    let heated = HeatedPair::of(bench)?;
    let held_for = wished_holding(needs);
    let limit = |of: fn(&Supply) -> Option<f64>| bench.supply.as_ref().and_then(of);
    let (sheet, largest_current) = rayon::join(
        || sheet::sheet(bench, &sheet::Request::default()),
        || {
            heated.largest_held_ampere(
                limit(|supply| supply.current_limit_ampere),
                limit(|supply| supply.voltage_limit_volt),
                held_for,
            )
        },
    );
    let (sheet, largest_current) = (sheet?, largest_current?);
    let constant = sheet.field_constant_tesla_per_ampere;
    let largest_field = largest_current.map(|current| current * constant.abs());
    let working = field_needed.map(|field| field / constant.abs()).or(largest_current);
    let coils = bench.coils();
    let carried_s = needs.and_then(|needs| needs.time_at_largest_current_s);
    // If no time is wished, surface and drift are those of the steady state, and the voltage is that at switching on.
    let for_ever = carried_s.map_or(HeldFor::Ever, HeldFor::Seconds);
    let after_the_time = || -> Result<_> {
        let mut followed = Followed { heated: &heated, known: Vec::new() };
        let Some(current) = working else { return Ok((None, None, None)) };
        let held = Drive::held(current);
        let surface =
            followed.carried(&held, for_ever)?.map(|carried| carried.moment.hottest_surface_celsius());
        let warm = followed.carried(&held, held_for)?;
        let drive = heated.circuit.drive(bench.supply.as_ref(), current, heated.room_celsius);
        let field = WarmField::of(bench, heated.room_celsius);
        let drift = followed
            .carried(&drive, for_ever)?
            .and_then(|carried| field.drift_fraction(&heated.circuit, &drive, &carried.state));
        Ok((surface, warm, drift))
    };
    let (carried, (continuous, charge_to_mass_bias_fraction)) =
        rayon::join(after_the_time, || (continuous(bench, &heated, &sheet, needs), bias_over_beam(bench)));
    let (surface, warm, drift) = carried?;
    let figures = Figures {
        field_constant_tesla_per_ampere: constant,
        largest_field_tesla: largest_field,
        voltage_limited: largest_current
            .zip(limit(|supply| supply.current_limit_ampere))
            .is_none_or(|(largest, limit)| largest < limit * (1.0 - 1e-6)),
        working_current_ampere: working,
        voltage_volt: warm.map(|warm| warm.moment.currents.supply_volt),
        copper_celsius: warm.map(|warm| warm.copper_celsius()),
        surface_celsius: surface,
        worst_at_m: sheet.beam.map(|beam| beam.worst_at_m),
        room_celsius: heated.room_celsius,
    };
    Ok(PairOption {
        field_constant_tesla_per_ampere: Some(constant),
        field_constant_standard_uncertainty_tesla_per_ampere: sheet
            .field_constant_standard_uncertainty_tesla_per_ampere,
        largest_current_ampere: largest_current,
        largest_field_tesla: largest_field,
        smallest_beam_radius_m: smallest_beam_radius_m(bench, largest_field)?,
        largest_beam_radius_m: bench.tube_with_gun().ok().and_then(|tube| tube.largest_radius_in_bulb_m(1.0)),
        worst_beam_deviation: sheet.beam.map(|beam| beam.worst_deviation),
        charge_to_mass_bias_fraction,
        working_current_ampere: working,
        copper_temperature_celsius: warm.map(|warm| warm.copper_celsius()),
        voltage_volt: warm.map(|warm| warm.moment.currents.supply_volt),
        power_watt: warm.map(|warm| warm.moment.currents.supply_volt * warm.moment.currents.supply_ampere),
        continuous_current_ampere: Some(continuous.continuous_current_ampere),
        limited_by: Some(continuous.limited_by),
        continuous_field_tesla: Some(continuous.continuous_current_ampere * constant.abs()),
        warm_up_drift_fraction: drift,
        surface_temperature_celsius: surface,
        conductor_mass_kg: Some(sheet.conductor_mass_kg),
        is_voltage_limited: figures.voltage_limited,
        mean_radius_m: Some(bench.winding.mean_radius_m),
        section_width_m: Some(bench.winding.width_m),
        section_depth_m: Some(bench.winding.depth_m),
        spacing_m: Some(bench.spacing_m),
        outer_diameter_m: coils.iter().map(|coil| 2.0 * coil.mean_radius_m + coil.depth_m).reduce(f64::max),
        overall_length_m: Some(bench.spacing_m + 0.5 * (coils[0].width_m + coils[1].width_m)),
        room_for_bulb_m: bench.tube.as_ref().map(|tube| bench.room_for_bulb_m(&tube.bulb_centre_m)),
        missing: missing_parts(bench),
        standard_uncertainties: standard_uncertainties(bench, &figures),
        safety: SafetyFigures {
            reliable_continuous_current_ampere: Some(
                sheet.continuous_current_range_ampere[0].min(continuous.continuous_current_ampere),
            ),
            caution_distance_m: sheet.caution_distance_m,
        },
        questions: bench
            .build_tolerance
            .is_none_or(|tolerance| !tolerance.not_stated.is_empty())
            .then_some(Question::BuildTolerance)
            .into_iter()
            .collect(),
        ..PairOption::without_figures(&bench.title, &bench.digest)
    })
}

/// The limits of the continuous current, including the needs' surface temperature.
fn continuous(bench: &Bench, heated: &HeatedPair, sheet: &Sheet, needs: Option<&Wanted>) -> Limits {
    match needs.and_then(|needs| needs.surface_temperature_limit_celsius) {
        None => sheet.heating.clone(),
        own_surface_celsius => {
            let temperatures = TemperatureLimits { own_surface_celsius, ..TemperatureLimits::of(bench) };
            heated.limits(&temperatures, bench.supply.as_ref())
        }
    }
}

/// Parts that the bench lacks and some figure needs.
fn missing_parts(bench: &Bench) -> Vec<&'static str> {
    let part = |error: Option<Error>| match error {
        Some(Error::MissingPart { part, .. }) => Some(part),
        _ => None,
    };
    let mut parts: Vec<_> = [
        part(bench.current_limit_ampere().err()),
        part(bench.voltage_limit_volt().err()),
        part(bench.bulb().err()),
        part(bench.tube_with_beam().err()),
        part(bench.gun_voltage_volt().err()),
    ]
    .into_iter()
    .flatten()
    .collect();
    parts.dedup();
    parts
}

fn smallest_beam_radius_m(bench: &Bench, largest_field: Option<f64>) -> Result<Option<[f64; 2]>> {
    let voltages = bench.gun_voltage_volt().ok();
    let (Some([low, high]), Some(field)) = (voltages, largest_field) else { return Ok(None) };
    Ok(Some([
        Electron::after(low)?.radius_in_uniform_field_m(field),
        Electron::after(high)?.radius_in_uniform_field_m(field),
    ]))
}

fn bias_over_beam(bench: &Bench) -> Option<[f64; 2]> {
    let tube = bench.tube_with_beam().ok()?;
    let [smallest, largest] = tube.beam_radius_m?;
    let assembly = Assembly::of(bench);
    let biases: Vec<f64> = [smallest, 0.5 * (smallest + largest), largest]
        .into_iter()
        .filter_map(|radius| beam::effective_field_ratio(&assembly, &tube, radius).ok())
        .map(|ratio| ratio * ratio - 1.0)
        .collect();
    let low = biases.iter().copied().fold(f64::INFINITY, f64::min);
    let high = biases.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (biases.len() == 3).then_some([low, high])
}

/// The pair followed in time; each answer is computed once.
struct Followed<'a> {
    heated: &'a HeatedPair,
    known: Vec<(Drive, HeldFor, Option<Carried>)>,
}

impl Followed<'_> {
    /// [`HeatedPair::carried`].
    fn carried(&mut self, drive: &Drive, held_for: HeldFor) -> Result<Option<Carried>> {
        let same = |known: &&(Drive, HeldFor, Option<Carried>)| (&known.0, known.1) == (drive, held_for);
        if let Some((_, _, carried)) = self.known.iter().find(same) {
            return Ok(*carried);
        }
        let carried = self.heated.carried(drive, held_for)?;
        self.known.push((*drive, held_for, carried));
        Ok(carried)
    }
}
