//! The runs as data for a judgement: radii minus the model's, with all uncertainties that exist without any fault.

use super::Request;
use super::fit::{Point, RoomAxial, fit};
use super::hypotheses::{About, Hypothesis, LEVEL_OFF, effect_of, hypotheses};
use super::prepared::Prepared;
use super::record::RunUncertainty;
use super::room::KnownRoom;
use super::shift::Shift;
use crate::Result;
use crate::constants::ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG;
use crate::judgement::{Data, Fault, Scale, priors};
use crate::pair::{AmmeterPosition, Distribution};
use crate::physics::beam::BeamBench;

/// Relative standard uncertainty of the bench model, expressed as one of the radius: rounding of the spec's dimensions
/// where no tolerance is stated (common practice, no source).
const MODEL_FRACTION: f64 = 1e-3;
/// Standard deviation of an unstated room field: earth and steel (common practice, no source).
const ROOM_FOUND_TESLA: f64 = 40e-6;
/// Stated uncertainties may be too small by up to this factor.
const TOO_SMALL_BY: f64 = 4.0;
/// If none is stated, the radii scatter by a tenth of 1 mm to five times 1 mm.
const SCATTER: [f64; 2] = [0.1, 5.0];

/// ln of the prior density in ln θ of an e/m that is off.
fn level_ln_density(off: f64) -> f64 {
    let [smallest, largest] = LEVEL_OFF;
    -(2.0 * off.abs().clamp(smallest, largest) * (largest / smallest).ln()).ln()
}

/// One of the states that exclude each other.
pub(super) struct State {
    pub about: About,
    /// Whether e/m is free; otherwise it is the accepted one within the shared errors.
    pub level_off: bool,
    /// Whether there is an unstated room field.
    pub room_found: bool,
    /// ln of the prior weight of this room, times the prior density of a free e/m at the value found.
    pub ln_weight: f64,
}

/// The inputs of the data.
pub(super) struct Scene<'a> {
    pub beams: &'a BeamBench<'a>,
    pub prepared: &'a Prepared<'a>,
    pub points: Vec<Point>,
    pub room: &'a KnownRoom,
    pub request: &'a Request,
}

impl Scene<'_> {
    /// The states that exclude each other; the last leaves most open.
    pub(super) fn states(&self) -> Result<Vec<State>> {
        let room_tesla = self.room.axial_tesla;
        let free = fit(&self.points, RoomAxial::Held(room_tesla))?.charge_to_mass.sqrt().recip();
        let accepted = ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG.sqrt().recip();
        let rooms: &[(bool, f64)] = if self.finds_room() {
            &[(false, 1.0 - priors::ROOM_FIELD_UNSTATED), (true, priors::ROOM_FIELD_UNSTATED)]
        } else {
            &[(false, 1.0)]
        };
        let levels = [(false, accepted, 0.0), (true, free, level_ln_density((free / accepted).ln()))];
        let state =
            |(level_off, theta, ln_level): (bool, f64, f64), (room_found, weight): (bool, f64)| State {
                about: About { theta, room_tesla },
                level_off,
                room_found,
                ln_weight: ln_level + weight.ln(),
            };
        Ok(levels.into_iter().flat_map(|level| rooms.iter().map(move |room| state(level, *room))).collect())
    }

    /// Whether the runs determine a room field that nothing states.
    pub(crate) fn finds_room(&self) -> bool {
        self.prepared.has_both_directions() && !self.room.stated
    }

    /// The faults that these runs can show. With `through`, the slope of each effect is taken at the given size of its
    /// fault.
    pub(super) fn faults(&self, about: About, through: Option<&[f64]>) -> Vec<Fault<'static, Hypothesis>> {
        let (count, position) = (self.points.len(), self.beams.bench().ammeter_position);
        let all = hypotheses(count, self.prepared.has_both_directions(), self.room.stated, position);
        let places = all.iter().filter(|one| matches!(one, Hypothesis::AmmeterZero(_))).count();
        let fault = |(i, one): (usize, &Hypothesis)| {
            let size = through.map_or(one.small(), |sizes| one.bounded(sizes[i]));
            one.fault(self.prepared, &self.points, about, size, places)
        };
        all.iter().enumerate().map(fault).collect()
    }

    /// Radii minus the model's, with all their uncertainties in this state.
    pub(super) fn data(&self, state: &State) -> Result<Data> {
        let about = state.about;
        let model: Vec<f64> =
            self.points.iter().map(|point| point.model_m(about.theta, about.room_tesla)).collect();
        let residuals: Vec<f64> =
            self.points.iter().zip(&model).map(|(point, model)| point.radius_m - model).collect();
        let own: Vec<f64> = self.points.iter().map(|point| point.uncertainty_m).collect();
        let mut data = Data::independent(&residuals, &own)?.scaled(match self.prepared.uncertainty {
            RunUncertainty::Stated => {
                Scale::Doubtful { probability: priors::UNCERTAINTIES_TOO_SMALL, up_to: TOO_SMALL_BY }
            }
            RunUncertainty::Scatter => Scale::Unknown { low: SCATTER[0], high: SCATTER[1] },
        });
        data = if state.level_off {
            data.fitting(model)
        } else {
            let fraction = self.shared_fraction();
            data.sharing(model.into_iter().map(|radius| fraction * radius).collect())
        };
        for shift in self.shared_shifts(state) {
            if let Some(effect) = effect_of(self.prepared, &self.points, about, &shift) {
                data = data.sharing(effect);
            }
        }
        Ok(data)
    }

    /// Relative standard uncertainty of the radius from factors common to all runs.
    fn shared_fraction(&self) -> f64 {
        let rectangular = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
        let line = &self.beams.line;
        let slope = line.slope.standard_uncertainty().unwrap_or(0.0) / line.slope.tesla_per_ampere.abs();
        let current = self.beams.bench().ammeter.map_or(0.0, |meter| rectangular(meter.gain_limit()));
        // r is proportional to √V.
        let voltage = 0.5 * self.beams.bench().voltmeter.map_or(0.0, |meter| rectangular(meter.gain_limit()));
        let scale = self.request.scale_uncertainty_fraction.unwrap_or(0.0);
        [slope, current, voltage, scale, MODEL_FRACTION].iter().map(|u| u * u).sum::<f64>().sqrt()
    }

    /// One standard uncertainty of each stated error that affects different runs differently.
    fn shared_shifts(&self, state: &State) -> Vec<Shift> {
        use AmmeterPosition::{AfterReversal, BeforeReversal};
        let rectangular = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
        let bench = self.beams.bench();
        let digits_volt = bench.voltmeter.map_or(0.0, |meter| rectangular(meter.digits_limit()));
        let offset_volt = self.beams.tube.gun_voltage_offset_volt.map_or(0.0, |[_, u]| u);
        let digits_ampere = bench.ammeter.map_or(0.0, |meter| rectangular(meter.digits_limit()));
        let position = bench.ammeter_position;
        let room_tesla = if state.room_found {
            ROOM_FOUND_TESLA
        } else if self.room.stated || !self.prepared.has_both_directions() {
            self.room.standard_uncertainty_tesla
        } else {
            0.0
        };
        let mut shifts = vec![
            Shift { voltage_volt: digits_volt.hypot(offset_volt), ..Shift::none() },
            Shift { room_tesla, ..Shift::none() },
        ];
        if position != Some(AfterReversal) {
            shifts.push(Shift { current_size_ampere: digits_ampere, ..Shift::none() });
        }
        if position != Some(BeforeReversal) {
            shifts.push(Shift { current_ampere: digits_ampere, ..Shift::none() });
        }
        shifts
    }
}
