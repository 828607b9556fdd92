//! Which windings would do, best first?
//!
//! The search covers every winding in whole layers with the allowed wires, radii, sections, spacings and connections. A
//! winding is skipped if a bound proves that it misses a limit by more than half of it. The others are judged with the
//! exact centre field, and with the deviation's series (`deviations`) and the heating model (`thermal`) interpolated
//! between nodes, their copper as warm as at the end of the time. For the windings shown, series and heating model
//! themselves are evaluated. Neither the windings judged nor the figures computed for them depend on a limit: relaxing
//! one never removes a winding.

mod between;
mod deviations;
#[cfg(feature = "paper")]
pub mod files;
mod impasse;
mod judge;
#[cfg(feature = "paper")]
pub mod picture;
mod record;
mod relaxation;
mod search;
mod sentences;
mod space;
mod telling;
mod thermal;
mod wishes;
#[cfg(feature = "paper")]
pub mod words;

use crate::numeric::calendar::Day;
pub use judge::Wish;
pub use record::{
    Choice, Conflict, Front, FrontPoint, Gain, NearMiss, Reason, Relaxation, RelaxedLimit, Sizing,
};
pub use space::{Looked, Practice};
pub(crate) use wishes::{fields_needed, wished_holding};

use crate::Result;
use crate::files::spec::{Prefer, Wanted};
use crate::pair::{Bench, SourceFile};
use crate::physics::field::{PreparedPair, SampledRegion};
use crate::physics::safety::SafetyFigures;
use judge::{Bulb, Judge};
use search::Preference;
use space::Space;
use telling::Teller;
use thermal::HeatTable;
use wishes::Wishes;

/// Judging a winding stops if it misses a limit by more than this fraction.
const PATIENCE: f64 = 0.5;

/// Number of steps that [`sizing`] reports, for a progress bar.
pub fn steps(wanted: &Wanted) -> Result<u64> {
    let passes = if wanted.prefer == Prefer::Balanced { 2 } else { 1 };
    Ok(passes * search::steps(&Space::of(wanted, wanted.search()?)?))
}

/// Searches for windings that meet the wishes. `date` is printed; `advance` is called with the number of steps done.
///
/// # Errors
/// The wishes have no `search`; they state neither `largest_field` nor a tube with gun voltage and beam radius; nothing
/// fits the ranges; or a surface limit is not above the room's temperature.
pub fn sizing(wanted: &Wanted, date: Option<Day>, advance: impl Fn(u64) + Sync) -> Result<Sizing> {
    let space = Space::of(wanted, wanted.search()?)?;
    let (largest_field_tesla, smallest_field_tesla) = fields_needed(wanted)?;
    let wishes = Wishes::of(wanted);
    let region = region_of(wanted)?;
    let mut judge = judge_of(&wishes, &space, largest_field_tesla)?;
    let mut preference = Preference { prefer: wanted.prefer, least: [0.0; 3] };
    if wanted.prefer == Prefer::Balanced {
        let by_mass = Preference { prefer: Prefer::CopperMass, ..preference };
        preference.least = search::search(&space, region.as_ref(), &judge, &by_mass, &advance).least;
    }
    let found = search::search(&space, region.as_ref(), &judge, &preference, &advance);
    let teller = Teller { wishes: &wishes, space: &space, region: region.as_ref() };
    let best = teller.best(&found, &preference)?;
    // If the models refuse every winding that the search accepts, nothing is feasible.
    let feasible = if best.is_empty() { 0 } else { found.feasible };
    let along = teller.along_front(&found, &best)?;
    let benches: Vec<Bench> = best.iter().chain(&along).map(|(winding, _)| teller.bench(winding)).collect();
    judge.patience = f64::INFINITY;
    let conflict = match feasible {
        0 => Some(teller.conflict(&judge, &preference)?),
        _ => None,
    };
    Ok(Sizing {
        source: SourceFile::of(&wanted.title, &wanted.digest),
        date,
        prefer: wanted.prefer,
        largest_field_tesla,
        smallest_field_tesla,
        held: wished_holding(Some(wanted)),
        copper_temperature_celsius: best.first().and_then(|(_, choice)| choice.copper_temperature_celsius),
        searched: found.searched,
        feasible,
        surface_limit_celsius: wishes.surface_limit_celsius,
        looked: space.looked(),
        near_misses: teller.near_misses(&found, best.first().map(|(winding, _)| winding), &preference)?,
        front: teller.front(&found),
        conflict,
        notes: wishes::notes(wanted),
        safety: benches.first().map(|bench| SafetyFigures::of(&PreparedPair::of(bench))),
        along_front: along.into_iter().map(|(_, choice)| choice).collect(),
        benches,
        best: best.into_iter().map(|(_, choice)| choice).collect(),
    })
}

/// The region of the beam; `None` if no beam is stated and none is needed.
fn region_of(wanted: &Wanted) -> Result<Option<SampledRegion>> {
    let tube = wanted.tube_with_beam();
    let region = tube.as_ref().ok().and_then(SampledRegion::of_beam);
    if wanted.beam_deviation.is_some() || wanted.prefer == Prefer::Uniformity {
        tube?;
    }
    Ok(region)
}

fn judge_of(wishes: &Wishes, space: &Space, largest_field_tesla: f64) -> Result<Judge> {
    let wanted = wishes.wanted;
    let surface_limit_kelvin = wishes.surface_limit_kelvin()?;
    let radii = &space.mean_radii_m;
    let ranges = [[radii[0], radii[radii.len() - 1]], space.width_m, space.depth_m];
    Ok(Judge {
        largest_field_tesla,
        bulb: wanted.bulb().ok().map(|bulb| Bulb {
            radius_m: bulb.radius_m + wanted.clearance_m,
            glass_m: bulb.radius_m,
            centre_rho_m: bulb.centre_m.xy().norm(),
            centre_z_m: bulb.centre_m.z.abs(),
        }),
        wall_m: wanted.former.as_ref().and_then(|former| former.wall_m).unwrap_or(0.0),
        current_limit_ampere: wanted.supply.and_then(|supply| supply.current_limit_ampere),
        voltage_limit_volt: wanted.supply.and_then(|supply| supply.voltage_limit_volt),
        lead_resistance_ohm: wanted.lead_resistance_ohm.unwrap_or(0.0),
        room_celsius: wishes.room_celsius,
        surface_limit_kelvin,
        heat: HeatTable::of(wishes, ranges)?,
        beam_deviation: wanted.beam_deviation,
        patience: PATIENCE,
    })
}

#[cfg(test)]
mod relaxed_wishes;

#[cfg(test)]
mod tests {
    use super::wishes::spec_winding;
    use super::*;
    use crate::Error;
    use crate::error::Refused;
    use crate::files::spec::wanted_from_text;
    use crate::pair::circuit;
    use crate::physics::build_error;
    use crate::physics::field::Assembly;
    use crate::physics::field::{Deviation, Section};
    use crate::physics::heat::HeatedPair;
    use crate::physics::heat::circuit::Drive;
    use crate::questions::uniformity;
    use nalgebra::Vector3;

    fn wanted(change: impl Fn(&str) -> String) -> Wanted {
        let text = r#"{
            "title": "Small search",
            "tube": { "bulb_radius": "74 mm", "gun_exit": ["44 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0], "gun_voltage": ["90 V", "280 V"], "beam_radius": ["30 mm", "48 mm"] },
            "clearance": "5 mm",
            "supply": { "voltage_limit": "15 V", "current_limit": "5 A" },
            "beam_deviation": "0.9 %",
            "time_at_largest_current": "25 min",
            "surface_temperature_limit": "55 degC",
            "room": { "temperature": "21 degC" },
            "search": {
                "mean_radius": ["150 mm", "150.2 mm"], "width": ["16 mm", "22 mm"], "depth": ["10 mm", "18 mm"],
                "spacing": "radius", "connection": ["series", "parallel"],
                "wires": [{ "size": "AWG 18", "build": "heavy" }, { "size": "0.9 mm", "build": "grade 2" }, { "size": "1.12 mm", "build": "grade 1" }]
            },
            "prefer": "copper mass"
        }"#;
        wanted_from_text("wishes.json", &change(text)).unwrap()
    }

    /// Every winding of a small space, judged by the exact models without anything from the search.
    fn brute_force(wanted: &Wanted) -> (u64, Option<Bench>) {
        let search = wanted.search().unwrap();
        let space = Space::of(wanted, search).unwrap();
        let wishes = Wishes::of(wanted);
        let field = fields_needed(wanted).unwrap().0;
        let mut best: Option<(f64, f64, Bench)> = None;
        let mut feasible = 0;
        for wire in &space.wires {
            for radius in &space.mean_radii_m {
                for turns_per_layer in space::turns_per_layer(wire, search.width_m) {
                    for layers in space::layers(wire, search.depth_m) {
                        for connection in &search.connections {
                            let [width_m, depth_m] = space::wound_section_m(wire, turns_per_layer, layers);
                            let section = Section { mean_radius_m: *radius, width_m, depth_m };
                            let turns = f64::from(turns_per_layer * layers);
                            let spec = spec_winding(turns, Some([layers, turns_per_layer]), wire.clone());
                            let bench = wishes.bench(&section, *radius, *connection, spec);
                            if let Some((mass, power)) = exact(wanted, &bench, field) {
                                feasible += 1;
                                if best.as_ref().is_none_or(|(m, p, _)| (mass, power) < (*m, *p)) {
                                    best = Some((mass, power, bench));
                                }
                            }
                        }
                    }
                }
            }
        }
        (feasible, best.map(|(_, _, bench)| bench))
    }

    /// Mass and power of a bench that meets the wishes.
    fn exact(wanted: &Wanted, bench: &Bench, field: f64) -> Option<(f64, f64)> {
        let tube = bench.tube_with_beam().unwrap();
        let inner = bench.winding.mean_radius_m - 0.5 * bench.winding.depth_m;
        let room = inner.hypot(0.5 * (bench.spacing_m - bench.winding.width_m));
        if room < tube.bulb_radius_m.unwrap() + wanted.clearance_m {
            return None;
        }
        let assembly = Assembly::of(bench);
        let current = field / build_error::field_constant_tesla_per_ampere(&assembly);
        let supply = wanted.supply.unwrap();
        let [most_ampere, most_volt] =
            [supply.current_limit_ampere, supply.voltage_limit_volt].map(Option::unwrap);
        let pair = HeatedPair::of(bench).unwrap();
        let carried = pair.carried(&Drive::held(current), wished_holding(Some(wanted))).unwrap()?;
        if current > most_ampere || carried.moment.currents.supply_volt > most_volt {
            return None;
        }
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        let worst = uniformity::over_beam(&deviation, &tube).unwrap().worst_deviation.abs();
        if worst > wanted.beam_deviation.unwrap() {
            return None;
        }
        let hot = carried.moment.hottest_surface_celsius();
        if hot > wanted.surface_temperature_limit_celsius.unwrap() {
            return None;
        }
        let coil = bench.nominal_coil();
        let mass = 2.0
            * circuit::wire_length_m(&bench.winding, &coil)
            * bench.winding.wire.conductor_area_m2()
            * bench.winding.wire.conductor.density_kg_per_m3();
        Some((mass, carried.coils_watt()))
    }

    #[test]
    fn brute_force_on_a_small_space_finds_the_same_best_and_as_many_that_do() {
        for change in [
            (|text: &str| text.to_owned()) as fn(&str) -> String,
            // Without a time the steady state is used.
            |text: &str| text.replace("\"time_at_largest_current\": \"25 min\",", ""),
            |text: &str| text.replace("\"15 V\"", "\"13 V\"").replace("0.9 %", "0.8 %"),
        ] {
            let wanted = wanted(change);
            let found = sizing(&wanted, None, |_| {}).unwrap();
            let (feasible, best) = brute_force(&wanted);
            assert!(found.searched > 300, "{}", found.searched);
            // The search interpolates the heating model: a few windings at the very limit may be counted differently.
            let difference = found.feasible.abs_diff(feasible);
            assert!(difference * 20 <= feasible, "{} for {feasible}", found.feasible);
            let best = best.unwrap();
            let ours = found.benches.into_iter().next().unwrap();
            assert_eq!(
                (ours.winding.turns, ours.winding.mean_radius_m, ours.winding.wire.name, ours.connection),
                (best.winding.turns, best.winding.mean_radius_m, best.winding.wire.name, best.connection)
            );
        }
    }

    #[test]
    fn the_result_is_the_same_whatever_the_thread_count() {
        let wanted = wanted(|text| text.replace("\"copper mass\"", "\"balanced\""));
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| serde_json::to_string(&sizing(&wanted, None, |_| {}).unwrap()).unwrap())
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn each_preference_is_best_at_its_own() {
        let of = |prefer: &str| {
            let wanted = wanted(|text| text.replace("\"copper mass\"", &format!("\"{prefer}\"")));
            sizing(&wanted, None, |_| {}).unwrap().best.into_iter().next().unwrap()
        };
        let (mass, power, uniform) = (of("copper mass"), of("power"), of("uniformity"));
        assert!(mass.conductor_mass_kg < power.conductor_mass_kg && power.power_watt < mass.power_watt);
        let deviation = |choice: &Choice| choice.worst_beam_deviation.unwrap().abs();
        assert!(deviation(&uniform) <= deviation(&mass).min(deviation(&power)));
    }

    #[test]
    fn wishes_that_fight_are_named_with_the_nearest_that_can_be_had() {
        // At a low voltage, little copper cannot carry the current without getting hot.
        let wanted = wanted(|text| text.replace("\"15 V\"", "\"2 V\"").replace("\"5 A\"", "\"1.2 A\""));
        let found = sizing(&wanted, None, |_| {}).unwrap();
        assert_eq!((found.feasible, found.best.len()), (0, 0));
        let conflict = found.conflict.unwrap();
        assert!(!conflict.unmet_alone.is_empty() || !conflict.pairs.is_empty(), "{conflict:?}");
        assert!(conflict.nearest.is_some() && !conflict.nearest_misses.is_empty());
        assert!(conflict.reasons.iter().any(|it| matches!(it, Reason::Relaxing { .. })));
    }

    #[test]
    fn impossible_searches_are_refused_with_what_is_allowed() {
        let refused = |change: fn(&str) -> String| sizing(&wanted(change), None, |_| {}).unwrap_err();
        let error = refused(|text| text.replace("[\"16 mm\", \"22 mm\"]", "[\"0.1 mm\", \"0.2 mm\"]"));
        assert!(error.to_string().contains("no wire fits"), "{error}");
        let error = refused(|text| text.replace("\"55 degC\"", "\"20 degC\""));
        let Error::Refused(Refused::SurfaceLimitBelowRoom { limit_celsius, room_celsius }) = error else {
            panic!("{error}");
        };
        assert_eq!((limit_celsius, room_celsius), (20.0, 21.0));
        let error = refused(|text| text.replace("\"gun_voltage\": [\"90 V\", \"280 V\"], ", ""));
        assert!(error.hint().unwrap().contains("largest_field"), "{error}");
    }

    #[test]
    fn a_range_of_a_million_radii_is_looked_at_in_round_steps() {
        let wanted = wanted(|text| text.replace("[\"150 mm\", \"150.2 mm\"]", "[\"1 mm\", \"10 m\"]"));
        let found = sizing(&wanted, None, |_| {}).unwrap();
        assert!(found.looked.mean_radii <= 43 && found.searched > 0);
    }
}
