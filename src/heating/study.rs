//! The whole answer to "how much current, for how long, how hot": one record.

use super::circuit::Drive;
use super::duty::Duty;
use super::expansion::WarmField;
use super::limits::{Limits, TemperatureLimits};
use super::materials::{ASSUMED_WALL_M, TouchMaterial, former_material};
use super::pack::WirePack;
use super::pair::{CEILING_CELSIUS, HeatedPair, SteadyPair};
use super::section::Side;
use super::transient::{Moment, ThermalState, Transient};
use super::warm_up::{WarmUpFit, WarmUpTest};
use crate::numeric::roots::brent_root;
use crate::provenance::Provenance;
use crate::spec::{Bench, Cheeks, Model, Regulation, Supply};
use crate::{Error, Result};
use serde::Serialize;

/// How far the heat given off by the surfaces may differ from the correlations: 15 %, the middle of 10 % to 20 %.
pub const SURFACE_ACCURACY: f64 = 0.15;
/// Moments in a curve.
const CURVE_POINTS: usize = 120;

/// What is asked.
#[derive(Clone, Debug, Default)]
pub struct HeatRequest {
    /// Ignore `as_built`.
    pub nominal: bool,
    /// The current at switch-on; the supply's limit where none is given.
    pub current_ampere: Option<f64>,
    /// Switch on and off.
    pub duty: Option<Duty>,
    /// A warm-up test to fit the model to.
    pub warm_up: Option<WarmUpTest>,
    /// A surface temperature of one's own beside the standards'.
    pub surface_limit_celsius: Option<f64>,
    /// A date to print.
    pub date: Option<String>,
}

/// Everything about the heat of a pair.
#[derive(Clone, Debug, Serialize)]
pub struct HeatStudy {
    /// What the answer rests on.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// Air and walls of the room.
    pub room_temperature_celsius: f64,
    /// The largest current that no limit forbids, for as long as one likes.
    pub continuous_current_ampere: f64,
    /// What it would be with surfaces that give off 15 % less and 15 % more, or within the warm-up test's uncertainty
    /// (k = 2).
    pub continuous_current_range_ampere: [f64; 2],
    /// The limit that binds.
    pub limited_by: String,
    /// Each limit on its own.
    pub limits: Vec<super::Limit>,
    /// The current past which there is no steady state below 500 °C.
    pub critical_current_ampere: f64,
    /// What the surface coefficients were multiplied by: 1, or the warm-up test's.
    pub surface_coefficient_factor: f64,
    /// What the heat capacities were multiplied by: 1, or the warm-up test's.
    pub heat_capacity_factor: f64,
    /// Resistance at the supply's terminals with the copper at room temperature.
    pub cold_resistance_ohm: f64,
    /// Heat capacity of both coils, formers included.
    pub heat_capacity_joule_per_kelvin: f64,
    /// The wire pack of one coil.
    pub wire_pack: WirePack,
    /// The sides of coil a.
    pub surfaces: Vec<SurfaceRecord>,
    /// What happens at the current asked for.
    #[serde(flatten)]
    pub at_current: Option<AtCurrent>,
    /// From current to steady temperature and allowed time.
    pub table: Vec<TableRow>,
    /// On and off for ever.
    pub duty: Option<DutyRecord>,
    /// What the warm-up test says.
    pub warm_up: Option<WarmUpFit>,
    /// What had to be assumed, and what the numbers do not hold.
    pub assumptions: Vec<String>,
}

/// One side of a coil.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SurfaceRecord {
    /// Which side.
    pub name: &'static str,
    /// Its area.
    pub area_m2: f64,
    /// Its emissivity towards the room.
    pub emissivity: f64,
    /// Resistance of the former's wall before it; null where it is bare.
    pub wall_kelvin_per_watt: Option<f64>,
    /// How it feels to the hand.
    pub touch: TouchMaterial,
}

/// What happens at one setting of the supply.
#[derive(Clone, Debug, Serialize)]
pub struct AtCurrent {
    /// The current at switch-on.
    pub current_ampere: f64,
    /// What the supply holds.
    pub supply_holds: &'static str,
    /// Mean of the hotter winding; null where there is no steady state below 500 °C.
    pub steady_mean_temperature_celsius: Option<f64>,
    /// The same with surfaces that give off 15 % more and 15 % less, or within the warm-up test's uncertainty.
    pub steady_mean_temperature_range_celsius: [Option<f64>; 2],
    /// The hottest place in a winding.
    pub steady_hot_spot_temperature_celsius: Option<f64>,
    /// The hottest surface.
    pub steady_surface_temperature_celsius: Option<f64>,
    /// Which surface that is.
    pub hottest_surface: Option<&'static str>,
    /// Each side of the hotter coil, in the order of `surfaces`.
    pub steady_side_temperatures_celsius: Option<[f64; 4]>,
    /// The current in the steady state.
    pub steady_current_ampere: Option<f64>,
    /// The voltage at the supply's terminals in the steady state.
    pub steady_voltage_volt: Option<f64>,
    /// Heat made in both coils at switch-on.
    pub cold_power_watt: f64,
    /// Heat made in both coils in the steady state.
    pub steady_power_watt: Option<f64>,
    /// Time to 1 − 1/e of the final rise.
    pub time_constant_s: Option<f64>,
    /// Time from cold to the first temperature limit; null if never.
    pub time_to_limit_s: Option<f64>,
    /// Which limit that is.
    pub time_to_limit_by: Option<String>,
    /// Time after switching off in which the rise falls to 1/e, from the end of the curve.
    pub cooling_time_constant_s: Option<f64>,
    /// Time after switching off until no surface is above the limit for a minute's touch; 0 if none ever was.
    pub cool_to_touch_s: Option<f64>,
    /// Centre field in the steady state over that at switch-on, minus 1; null without a steady state or a field.
    pub field_drift_fraction: Option<f64>,
    /// The part of it from windings and former growing, the current held.
    pub field_drift_by_expansion_fraction: Option<f64>,
    /// Heat made minus heat given off minus heat stored, over heat made, at the end of the curve.
    pub energy_balance_fraction: f64,
    /// From switching on to the steady state, or to 500 °C.
    pub curve: Vec<CurvePoint>,
    /// After switching off.
    pub cooling: Vec<CurvePoint>,
}

/// The hotter coil at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Since switching on, or off.
    pub time_s: f64,
    /// Mean of the winding.
    pub mean_temperature_celsius: f64,
    /// The hottest place in the winding.
    pub hot_spot_temperature_celsius: f64,
    /// The hottest surface.
    pub surface_temperature_celsius: f64,
    /// Through the ammeter.
    pub current_ampere: f64,
    /// At the supply's terminals.
    pub voltage_volt: f64,
    /// Centre field over that at switch-on, minus 1; null without a field.
    pub field_drift_fraction: Option<f64>,
}

/// One current, held for ever or for the allowed time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TableRow {
    /// The current, held whatever voltage it takes.
    pub current_ampere: f64,
    /// Mean of the hotter winding; null where there is no steady state below 500 °C.
    pub steady_mean_temperature_celsius: Option<f64>,
    /// The hottest place in a winding.
    pub steady_hot_spot_temperature_celsius: Option<f64>,
    /// The hottest surface.
    pub steady_surface_temperature_celsius: Option<f64>,
    /// At the supply's terminals.
    pub steady_voltage_volt: Option<f64>,
    /// Time from cold to the first temperature limit; null if never.
    pub allowed_s: Option<f64>,
}

/// What happens under duty.
#[derive(Clone, Debug, Serialize)]
pub struct DutyRecord {
    /// Switched on.
    pub on_s: f64,
    /// Switched off.
    pub off_s: f64,
    /// The largest current, held while on, that keeps to the temperature limits; null where none was found.
    pub current_ampere: Option<f64>,
    /// The limit that binds then.
    pub limited_by: Option<String>,
    /// Highest mean of a winding at the current asked for; null where the pair runs away.
    pub peak_mean_temperature_celsius: Option<f64>,
    /// Hottest place.
    pub peak_hot_spot_temperature_celsius: Option<f64>,
    /// Hottest surface.
    pub peak_surface_temperature_celsius: Option<f64>,
    /// Lowest mean.
    pub lowest_mean_temperature_celsius: Option<f64>,
    /// One cycle at the current asked for.
    pub cycle: Vec<CurvePoint>,
}

/// Answers the request for a bench.
pub fn study(bench: &Bench, request: &HeatRequest) -> Result<HeatStudy> {
    let model = if request.nominal { Model::Nominal } else { Model::AsBuilt };
    let predicted = HeatedPair::of(bench, model)?;
    let warm_up = request.warm_up.as_ref().map(|test| test.fit(bench, &predicted)).transpose()?;
    let (surface_factor, capacity_factor, doubt) = match &warm_up {
        Some(fit) => (
            fit.surface_coefficient_factor,
            fit.heat_capacity_factor,
            2.0 * fit.surface_coefficient_factor_standard_uncertainty / fit.surface_coefficient_factor,
        ),
        None => (1.0, 1.0, SURFACE_ACCURACY),
    };
    let pair = predicted.with_factors(surface_factor, capacity_factor);
    // A test that hardly fixes the factor leaves a wide range, but not a negative one.
    let doubt = doubt.min(0.9);
    let bounds = [1.0 - doubt, 1.0 + doubt].map(|factor| pair.with_factors(factor, 1.0));
    let mut temperatures = TemperatureLimits::of(bench);
    temperatures.own_surface_celsius = request.surface_limit_celsius;
    let supply = bench.supply.as_ref();
    let limits = pair.limits(&temperatures, supply);
    let range = bounds.each_ref().map(|bound| bound.limits(&temperatures, supply).continuous_current_ampere);

    let asked = match request.current_ampere {
        Some(current) if !current.is_finite() => {
            return Err(Error::value(format!("a current of {current} A is no number")));
        }
        Some(current) => Some(current.abs()),
        None => supply.map(|supply| supply.current_limit_ampere),
    };
    let context = Context {
        pair: &pair,
        bounds: &bounds,
        field: WarmField::of(bench, model, pair.room_celsius),
        temperatures: &temperatures,
    };
    let drive = |current| pair.circuit.drive(supply, current, pair.room_celsius);
    let at_current = asked.map(|current| context.at_current(current, &drive(current), supply)).transpose()?;
    let duty = request
        .duty
        .map(|duty| context.duty(&duty, asked.map(drive), limits.continuous_current_ampere))
        .transpose()?;
    let table = context.table(&limits, supply)?;
    Ok(HeatStudy {
        provenance: Provenance::of(bench, request.date.as_deref()),
        model,
        room_temperature_celsius: pair.room_celsius,
        continuous_current_ampere: limits.continuous_current_ampere,
        continuous_current_range_ampere: range,
        limited_by: limits.limited_by,
        limits: limits.limits,
        critical_current_ampere: limits.critical_current_ampere,
        surface_coefficient_factor: surface_factor,
        heat_capacity_factor: capacity_factor,
        cold_resistance_ohm: pair.circuit.total_ohm([pair.room_celsius; 2]),
        heat_capacity_joule_per_kelvin: pair.heat_capacity_joule_per_kelvin(),
        wire_pack: pair.coils[0].pack,
        surfaces: surfaces(&pair),
        at_current,
        table,
        duty,
        warm_up,
        assumptions: assumptions(bench, &pair, &temperatures),
    })
}

/// What the parts of the study share.
struct Context<'a> {
    pair: &'a HeatedPair,
    bounds: &'a [HeatedPair; 2],
    field: WarmField,
    temperatures: &'a TemperatureLimits,
}

impl Context<'_> {
    fn at_current(&self, current_ampere: f64, drive: &Drive, supply: Option<&Supply>) -> Result<AtCurrent> {
        let pair = self.pair;
        let room = pair.room_celsius;
        let steady = pair.steady(drive);
        let heating = pair.warm_up(drive, steady.as_ref())?;
        let end_s = if current_ampere > 0.0 { heating.end_time_s() } else { pair.rough_time_constant_s() };
        let off = Drive { current_ampere: 0.0, voltage_volt: f64::INFINITY };
        let hot = heating.end_state();
        let cooling_s = 5.0 * pair.rough_time_constant_s();
        let cooling = pair.follow(&|_| off, &hot, cooling_s, None)?;

        let cold = ThermalState::uniform(room);
        let cold_moment = pair.moment(drive, &cold);
        let cold_tesla = self.field_unless_cancelled(&cold_moment, &cold);
        let drift = |state: &ThermalState, drive: &Drive| {
            let currents = pair.circuit.currents(drive, state.mean_celsius);
            cold_tesla.map(|cold| self.field.centre_tesla(&currents, state) / cold - 1.0)
        };
        let settled = steady.as_ref().map(ThermalState::of_steady);
        let limit = pair.time_to_limit(drive, self.temperatures)?;
        let hotter =
            steady.as_ref().map(|steady| &steady.coils[hotter_coil(&ThermalState::of_steady(steady))]);
        let hottest_side = hotter.map(|coil| {
            let sides = Side::ALL.into_iter().zip(coil.surface_celsius);
            sides.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(Side::Outer, |(side, _)| side).name()
        });
        let ampere = |steady: &SteadyPair, coil: usize| steady.currents.coil_ampere[coil];
        let power = |steady: &SteadyPair| -> f64 {
            let ohm = |coil: usize| pair.circuit.coil_ohm(coil, steady.coils[coil].mean_celsius);
            (0..2).map(|coil| ampere(steady, coil).powi(2) * ohm(coil)).sum()
        };
        let made = heating.heat_made_joule(end_s);
        let balance = made - heating.heat_given_joule(end_s) - pair.stored_joule(&heating.state_at(end_s));
        let held = Drive { current_ampere, voltage_volt: f64::INFINITY };
        Ok(AtCurrent {
            current_ampere,
            supply_holds: match supply.map(|supply| supply.regulation) {
                Some(Regulation::Voltage) => "voltage",
                _ => "current",
            },
            steady_mean_temperature_celsius: steady.map(|steady| steady.hottest_mean_celsius()),
            steady_mean_temperature_range_celsius: [1, 0]
                .map(|bound| self.bounds[bound].steady(drive).map(|steady| steady.hottest_mean_celsius())),
            steady_hot_spot_temperature_celsius: steady.map(|steady| steady.hot_spot_celsius()),
            steady_surface_temperature_celsius: steady.map(|steady| steady.hottest_surface_celsius()),
            hottest_surface: hottest_side.filter(|_| current_ampere > 0.0),
            steady_side_temperatures_celsius: hotter.map(|coil| coil.surface_celsius),
            steady_current_ampere: settled
                .map(|state| pair.circuit.currents(drive, state.mean_celsius).supply_ampere),
            steady_voltage_volt: settled
                .map(|state| pair.circuit.currents(drive, state.mean_celsius).supply_volt),
            cold_power_watt: cold_moment.made_watt.iter().sum(),
            steady_power_watt: steady.as_ref().map(power),
            time_constant_s: steady.as_ref().and_then(|steady| {
                self.time_to_fraction(&heating, room, steady.hottest_mean_celsius(), -f64::exp_m1(-1.0))
            }),
            time_to_limit_s: limit.map(|(time, _)| time),
            time_to_limit_by: limit.map(|(_, limit)| self.temperatures.name(limit)),
            cooling_time_constant_s: self.time_to_fraction(
                &cooling,
                hot.mean_celsius[0].max(hot.mean_celsius[1]),
                room,
                -f64::exp_m1(-1.0),
            ),
            cool_to_touch_s: self.cool_to_touch(&off, &hot)?,
            field_drift_fraction: settled.and_then(|state| drift(&state, drive)),
            field_drift_by_expansion_fraction: settled.and_then(|state| {
                let currents = pair.circuit.currents(&held, cold.mean_celsius);
                let before = self.field.centre_tesla(&currents, &cold);
                cold_tesla.map(|_| self.field.centre_tesla(&currents, &state) / before - 1.0)
            }),
            energy_balance_fraction: if made > 0.0 { balance / made } else { 0.0 },
            curve: self.curve(&heating, end_s, drive, &|state| drift(state, drive)),
            cooling: self.curve(&cooling, cooling_s, &off, &|_| None),
        })
    }

    /// The field at switch-on; none where there is none to compare with.
    fn field_unless_cancelled(&self, moment: &Moment, state: &ThermalState) -> Option<f64> {
        let tesla = self.field.centre_tesla(&moment.currents, state);
        let size = self.field.centre_size_tesla(&moment.currents, state);
        (tesla.abs() > 1e-3 * size && size > 0.0).then_some(tesla)
    }

    /// When the hotter winding has gone a fraction of the way between two temperatures.
    fn time_to_fraction(&self, run: &Transient, from: f64, to: f64, fraction: f64) -> Option<f64> {
        let goal = from + fraction * (to - from);
        let hotter = |time| {
            let state = run.state_at(time);
            state.mean_celsius[0].max(state.mean_celsius[1]) - goal
        };
        let found = brent_root(hotter, 0.0, run.end_time_s(), 1e-3);
        (from != to && found.converged()).then_some(found.at)
    }

    /// How long after switching off a surface stays too hot for a minute's touch.
    fn cool_to_touch(&self, off: &Drive, hot: &ThermalState) -> Result<Option<f64>> {
        let pair = self.pair;
        let excess = |moment: &Moment, state: &ThermalState| {
            pair.excess_kelvin(
                self.temperatures,
                super::limits::TemperatureLimit::TouchForAMinute,
                moment,
                state,
            )
        };
        if excess(&pair.moment(off, hot), hot) <= 0.0 {
            return Ok(Some(0.0));
        }
        let cooled = |moment: &Moment, state: &ThermalState| -excess(moment, state);
        let run = pair.follow(&|_| *off, hot, 50.0 * pair.rough_time_constant_s(), Some(&cooled))?;
        Ok(run.stopped_early().then(|| run.end_time_s()))
    }

    fn curve(
        &self,
        run: &Transient,
        end_s: f64,
        drive: &Drive,
        drift: &dyn Fn(&ThermalState) -> Option<f64>,
    ) -> Vec<CurvePoint> {
        (0..=CURVE_POINTS)
            .map(|index| {
                let time_s = end_s * index as f64 / CURVE_POINTS as f64;
                let state = run.state_at(time_s);
                self.point(time_s, drive, &state, drift(&state))
            })
            .collect()
    }

    fn point(
        &self,
        time_s: f64,
        drive: &Drive,
        state: &ThermalState,
        field_drift_fraction: Option<f64>,
    ) -> CurvePoint {
        let moment = self.pair.moment(drive, state);
        let hotter = hotter_coil(state);
        CurvePoint {
            time_s,
            mean_temperature_celsius: state.mean_celsius[hotter],
            hot_spot_temperature_celsius: moment.coils[hotter].hot_spot_celsius(),
            surface_temperature_celsius: moment
                .coils
                .iter()
                .flat_map(|coil| coil.surface_celsius)
                .fold(f64::NEG_INFINITY, f64::max),
            current_ampere: moment.currents.supply_ampere,
            voltage_volt: moment.currents.supply_volt,
            field_drift_fraction,
        }
    }

    fn table(&self, limits: &Limits, supply: Option<&Supply>) -> Result<Vec<TableRow>> {
        let top = match supply {
            Some(supply) => supply.current_limit_ampere,
            None => 2.0 * limits.continuous_current_ampere,
        };
        currents_up_to(top)
            .into_iter()
            .map(|current_ampere| {
                let drive = Drive { current_ampere, voltage_volt: f64::INFINITY };
                let steady = self.pair.steady(&drive);
                Ok(TableRow {
                    current_ampere,
                    steady_mean_temperature_celsius: steady.map(|steady| steady.hottest_mean_celsius()),
                    steady_hot_spot_temperature_celsius: steady.map(|steady| steady.hot_spot_celsius()),
                    steady_surface_temperature_celsius: steady.map(|steady| steady.hottest_surface_celsius()),
                    steady_voltage_volt: steady.map(|steady| steady.currents.supply_volt),
                    allowed_s: self.pair.time_to_limit(&drive, self.temperatures)?.map(|(time, _)| time),
                })
            })
            .collect()
    }

    fn duty(&self, duty: &Duty, drive: Option<Drive>, continuous_ampere: f64) -> Result<DutyRecord> {
        let allowed = self.pair.duty_current(duty, self.temperatures, continuous_ampere)?;
        let off = Drive { current_ampere: 0.0, voltage_volt: f64::INFINITY };
        let cycle = match &drive {
            Some(drive) => self.pair.periodic(drive, duty)?.map(|cycle| {
                cycle
                    .moments()
                    .into_iter()
                    .map(|(time, on, state)| self.point(time, if on { drive } else { &off }, &state, None))
                    .collect::<Vec<_>>()
            }),
            None => None,
        };
        let most = |of: fn(&CurvePoint) -> f64| {
            cycle.as_ref().map(|cycle| cycle.iter().map(of).fold(f64::NEG_INFINITY, f64::max))
        };
        Ok(DutyRecord {
            on_s: duty.on_s,
            off_s: duty.off_s,
            current_ampere: allowed.map(|(current, _)| current),
            limited_by: allowed.map(|(_, limit)| self.temperatures.name(limit)),
            peak_mean_temperature_celsius: most(|point| point.mean_temperature_celsius),
            peak_hot_spot_temperature_celsius: most(|point| point.hot_spot_temperature_celsius),
            peak_surface_temperature_celsius: most(|point| point.surface_temperature_celsius),
            lowest_mean_temperature_celsius: most(|point| -point.mean_temperature_celsius).map(|low| -low),
            cycle: cycle.unwrap_or_default(),
        })
    }
}

fn hotter_coil(state: &ThermalState) -> usize {
    usize::from(state.mean_celsius[1] > state.mean_celsius[0])
}

/// Eight to sixteen round currents, the last one `top` itself.
fn currents_up_to(top: f64) -> Vec<f64> {
    if top <= 0.0 {
        return Vec::new();
    }
    let decade = 10f64.powf((top / 10.0).log10().floor());
    let step = [1.0, 2.0, 2.5, 5.0, 10.0]
        .into_iter()
        .map(|multiple| multiple * decade)
        .find(|step| top / step <= 16.0)
        .unwrap_or(10.0 * decade);
    let mut currents: Vec<f64> = (1..)
        .map(|index| f64::from(index) * step)
        .take_while(|current| *current < top * (1.0 - 1e-9))
        .collect();
    currents.push(top);
    currents
}

fn surfaces(pair: &HeatedPair) -> Vec<SurfaceRecord> {
    pair.coils[0]
        .faces
        .iter()
        .map(|face| SurfaceRecord {
            name: face.side.name(),
            area_m2: face.surface.area_m2,
            emissivity: face.surface.emissivity,
            wall_kelvin_per_watt: face.wall.map(|wall| wall.resistance_kelvin_per_watt),
            touch: face.surface.touch,
        })
        .collect()
}

fn assumptions(bench: &Bench, pair: &HeatedPair, temperatures: &TemperatureLimits) -> Vec<String> {
    let mut said = Vec::new();
    if bench.room.as_ref().and_then(|room| room.temperature_celsius).is_none() {
        said.push(format!("The spec gives no `room.temperature`: {} °C taken.", pair.room_celsius));
    }
    match &bench.former {
        None => said.push(
            "The spec has no `former`: the winding is taken to stand free, bare on all four sides.".into(),
        ),
        Some(former) => {
            let (material, known) = former_material(&former.material);
            if !known {
                said.push(format!(
                    "The former's material \"{}\" is not in the list: {} W/(m K), {} kg/m³ and emissivity {} taken.",
                    former.material,
                    material.conductivity_watt_per_m_kelvin,
                    material.density_kg_per_m3,
                    material.emissivity
                ));
            }
            if former.wall_m.is_none() {
                said.push(format!(
                    "The spec gives no `former.wall`: {} mm taken for floor and cheeks.",
                    ASSUMED_WALL_M * 1e3
                ));
            }
            if former.cheeks == Cheeks::One {
                said.push("The one cheek is taken to be on the side away from the other coil.".into());
            }
        }
    }
    if bench.winding.surface_emissivity.is_none() {
        said.push("The spec gives no `winding.surface_emissivity`: 0.9 taken, as of enamel or tape.".into());
    }
    if temperatures.class_assumed {
        said.push(format!(
            "The spec gives no `winding.wire.thermal_class`: {} °C taken, the lowest of enamelled wire.",
            temperatures.thermal_class_celsius
        ));
    }
    if bench.supply.is_none() {
        said.push("The spec has no `supply`: a current is held whatever voltage it takes.".into());
    }
    let pack = &pair.coils[0].pack;
    let [low, high] = pack.published_range_watt_per_m_kelvin;
    said.push(format!(
        "Across the wires {:.2} W/(m K), Hashin and Shtrikman's lower bound for this fill; published windings lie between \
         {low} and {high} W/(m K). The hot spot moves with it, the surfaces do not.",
        pack.conductivity_watt_per_m_kelvin
    ));
    said.push(
        "Still air, coils free on all sides, nothing laid over them; the bulb, the stand, heat carried off by the \
         leads and one coil's warm air rising past the other are left out."
            .into(),
    );
    said.push(format!(
        "A steady state is sought up to a mean of {CEILING_CELSIUS} °C, where neither enamel nor solder is left."
    ));
    said
}
