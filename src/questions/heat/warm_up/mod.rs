//! A warm-up test: voltage and current over time, the copper's temperature by resistance, and the factors on the model
//! that make it agree.

mod least_squares;
pub mod notes;
mod point;
mod readings;
mod rows;

pub use point::{WarmUpPoint, temperature_by_resistance_celsius};
pub use readings::WarmUpTest;

use crate::pair::Bench;
use crate::physics::heat::pair::HeatedPair;
use crate::questions::words::notes::{as_sentences, on_sheet};
use crate::{Error, Result};
use least_squares::{Free, Least, Run};
use notes::{Factor, Note};
use serde::Serialize;

/// A factor known no better than this is not used.
const USELESS_RELATIVE_UNCERTAINTY: f64 = 0.3;

/// Uncertainty of the assumption that room and cold coils have the same temperature; it is named in the notes.
const ROOM_STANDARD_UNCERTAINTY_KELVIN: f64 = 0.5;

/// Relative uncertainty of the predicted heat capacity, used if the test does not determine it: formers and glue are
/// known to about a tenth (common practice, no source).
const HEAT_CAPACITY_STANDARD_UNCERTAINTY: f64 = 0.1;

/// The model fitted to a warm-up test.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct WarmUpFit {
    /// Number of rows read.
    pub rows: usize,
    /// Time from the first row to the last.
    pub duration_s: f64,
    /// Temperature of the air during the test, and of the coils before it.
    pub room_temperature_celsius: f64,
    /// Factor on the surface coefficients.
    pub surface_coefficient_factor: f64,
    /// Its standard uncertainty, from the scatter about the fit and 0.5 K in the room's temperature.
    pub surface_coefficient_factor_standard_uncertainty: f64,
    /// Whether the test determines that factor. If not, it is 1, with the uncertainty of the prediction.
    pub surface_coefficient_from_test: bool,
    /// Factor on the heat capacities.
    pub heat_capacity_factor: f64,
    /// Its standard uncertainty, from the scatter about the fit.
    pub heat_capacity_factor_standard_uncertainty: f64,
    /// Whether the test determines that factor. If not, it is 1, with the uncertainty of the prediction.
    pub heat_capacity_from_test: bool,
    /// Resistance of the pair without leads at the room's temperature, from the fit.
    pub cold_resistance_ohm: f64,
    /// Its standard uncertainty, from the scatter about the fit.
    pub cold_resistance_standard_uncertainty_ohm: f64,
    /// The constant k of the resistance method.
    pub resistance_constant_celsius: f64,
    /// Mean copper temperature by resistance at the last reading.
    pub final_temperature_celsius: f64,
    /// Its rise above the room.
    pub final_rise_kelvin: f64,
    /// Root mean square of test minus model.
    pub rms_residual_kelvin: f64,
    /// Number of readings, or groups of them, minus that of fitted parameters.
    pub degrees_of_freedom: usize,
    /// Test and model.
    pub points: Vec<WarmUpPoint>,
    /// Notes on the test.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

impl WarmUpTest {
    /// Fits surface coefficient, heat capacity and cold resistance to the test.
    ///
    /// The model is driven by the measured current, linear between readings. The Gauss–Newton method minimises the sum
    /// of squares of measured over modelled resistance, minus one. The standard uncertainties come from the scatter
    /// about the fit, that of the surface factor also from 0.5 K in the room's temperature. A constant relative error
    /// of a meter cancels in the ratio.
    ///
    /// A factor that the test does not determine is held at 1, so no limit depends on it. Fails, naming the row, if a
    /// row does not belong to the others or if the model does not describe the test.
    pub fn fit(&self, bench: &Bench, predicted: &HeatedPair) -> Result<WarmUpFit> {
        let rooms: Vec<f64> = self.readings.iter().filter_map(|reading| reading.room_celsius).collect();
        let room_celsius = match rooms.len() {
            0 => predicted.room_celsius,
            count => rooms.iter().sum::<f64>() / count as f64,
        };
        let run = Run::new(predicted.in_room(room_celsius), self.blocks(), bench.winding.wire.conductor);
        run.refuse_cooling()?;
        let mut notes = self.notes(&run, rooms.is_empty());
        let (fit, free) = self.determined(&run, &mut notes)?;
        let last = fit.points.last().copied().unwrap_or(WarmUpPoint {
            time_s: 0.0,
            resistance_ohm: 0.0,
            temperature_celsius: room_celsius,
            model_temperature_celsius: room_celsius,
        });
        let squares =
            fit.points.iter().map(|p| (p.temperature_celsius - p.model_temperature_celsius).powi(2));
        Ok(WarmUpFit {
            rows: self.readings.len(),
            duration_s: run.blocks.last().map_or(0.0, |b| b.time_s)
                - run.blocks.first().map_or(0.0, |b| b.time_s),
            room_temperature_celsius: room_celsius,
            surface_coefficient_factor: fit.factors[0],
            surface_coefficient_factor_standard_uncertainty: if free.surface {
                let room =
                    ROOM_STANDARD_UNCERTAINTY_KELVIN / (last.temperature_celsius - room_celsius).max(1.0);
                fit.deviation[0].hypot(room) * fit.factors[0]
            } else {
                0.5 * crate::physics::heat::accuracy::SURFACE_ACCURACY
            },
            surface_coefficient_from_test: free.surface,
            heat_capacity_factor: fit.factors[1],
            heat_capacity_factor_standard_uncertainty: if free.capacity {
                fit.deviation[1] * fit.factors[1]
            } else {
                HEAT_CAPACITY_STANDARD_UNCERTAINTY
            },
            heat_capacity_from_test: free.capacity,
            cold_resistance_ohm: fit.cold_ohm,
            cold_resistance_standard_uncertainty_ohm: fit.deviation[2] * fit.cold_ohm,
            resistance_constant_celsius: run.conductor.rise_by_resistance_constant_celsius(),
            final_temperature_celsius: last.temperature_celsius,
            final_rise_kelvin: last.temperature_celsius - room_celsius,
            rms_residual_kelvin: (squares.sum::<f64>() / fit.points.len() as f64).sqrt(),
            degrees_of_freedom: fit.degrees_of_freedom,
            points: fit.points,
            notes,
        })
    }

    /// The fit with those factors free that the test determines. The others are held at 1 and noted.
    ///
    /// The test determines a factor if its relative standard uncertainty is below 0.3 and, for the surface coefficient,
    /// its value is between 0.2 and 5. A heat capacity determined to be outside 0.15 to 7 is an error.
    fn determined(&self, run: &Run, notes: &mut Vec<Note>) -> Result<(Least, Free)> {
        let useful = |deviation: f64| deviation < USELESS_RELATIVE_UNCERTAINTY;
        let mut free = Free { surface: true, capacity: true };
        let mut fit = match run.least_squares(free) {
            Err(error @ Error::NotConverged { .. }) => {
                return Err(self.row_that_spoils(run).unwrap_or(error));
            }
            fit => fit?,
        };
        self.refuse_unlike_the_model(run, &fit, free)?;
        if !(useful(fit.deviation[0]) && (0.2..5.0).contains(&fit.factors[0])) {
            notes.push(Note::Held {
                factor: Factor::SurfaceCoefficient,
                value: fit.factors[0],
                relative_uncertainty: fit.deviation[0],
            });
            free.surface = false;
            fit = run.least_squares(free)?;
        }
        if useful(fit.deviation[1]) && !(0.15..7.0).contains(&fit.factors[1]) {
            return Err(Error::value_with_hint(
                format!(
                    "the warm-up test asks for {:.3} times the coils' heat capacity, which no such coils have",
                    fit.factors[1]
                ),
                "check the units of time, voltage and current, and that the spec describes these coils",
            ));
        }
        if !useful(fit.deviation[1]) {
            if !free.surface {
                return Err(Error::value_with_hint(
                    "the warm-up test fixes neither the surface coefficient nor the heat capacity",
                    "take 20 rows from switching on until the voltage is steady, at a current that warms the coils by 20 K or \
                     more; without `--warm-up` the model's own values are used",
                ));
            }
            notes.push(Note::Held {
                factor: Factor::HeatCapacity,
                value: fit.factors[1],
                relative_uncertainty: fit.deviation[1],
            });
            free.capacity = false;
            fit = run.least_squares(free)?;
        }
        // A factor that is held may leave a fit that no longer describes the test.
        self.refuse_unlike_the_model(run, &fit, free)?;
        Ok((fit, free))
    }

    fn notes(&self, run: &Run, room_from_spec: bool) -> Vec<Note> {
        let mut notes = Vec::from_iter(on_sheet("warm-up rows", self.sheet.as_deref()).map(Note::Source));
        if room_from_spec {
            notes.push(Note::RoomOfSpec { celsius: run.pair.room_celsius });
        }
        let duration = run.blocks.last().map_or(0.0, |b| b.time_s);
        let gap = self
            .readings
            .windows(2)
            .map(|pair| (pair[1].time_s - pair[0].time_s, pair[0].time_s))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((length, at)) = gap
            && length > 0.25 * duration
        {
            notes.push(Note::Gap { length_s: length, from_s: at });
        }
        let expected = run.coils_ohm([run.pair.room_celsius; 2]);
        let ratio = run.resistance_ohm(&run.blocks[0]) / expected;
        if !(0.8..1.25).contains(&ratio) {
            notes.push(Note::FirstResistance { ratio });
        }
        notes
    }
}

#[cfg(test)]
mod tests {
    use super::readings::MOST_BLOCKS;
    use super::*;
    use crate::constants::Conductor;
    use crate::pair::Connection;
    use crate::physics::heat::circuit::Drive;
    use crate::physics::heat::example;
    use crate::physics::heat::transient::ThermalState;
    use crate::questions::words::notes::Told;
    use approx::assert_relative_eq;

    /// A test as the model with the given factors would give it, with a ripple in the voltage.
    fn synthetic(surface: f64, capacity: f64, cold: f64, ripple: f64, minutes: usize, each: f64) -> String {
        let mut pair = HeatedPair::of(&example::bench()).unwrap().with_factors(surface, capacity);
        for ohm in &mut pair.circuit.coil_at_20_celsius_ohm {
            *ohm *= cold;
        }
        let drive = |time: f64| Drive::held(2.2 - 0.1 * (time / 7200.0));
        let span = minutes as f64 * 60.0;
        let run = pair.follow(&drive, &ThermalState::uniform(22.0), span, None).unwrap();
        let mut text = String::from("time_min,voltage_V,current_A\n");
        let rows = (minutes as f64 / each) as usize;
        for row in 0..=rows {
            let time = row as f64 * each * 60.0;
            let celsius = run.state_at(time).mean_celsius;
            let current = drive(time).current_ampere();
            let wave = 1.0 + ripple * (row as f64 * 2.3).sin();
            let volt = current * pair.circuit.total_ohm(celsius) * wave;
            text.push_str(&format!("{},{volt},{current}\n", time / 60.0));
        }
        text
    }

    fn fitted(text: &str) -> Result<WarmUpFit> {
        let bench = example::bench();
        let pair = HeatedPair::of(&bench).unwrap();
        WarmUpTest::from_text("w.csv", text)?.fit(&bench, &pair)
    }

    #[test]
    fn rise_by_resistance_follows_the_standards_formula() {
        // θ₂ − θa = (R₂ − R₁)/R₁ (k + θ₁) + θ₁ − θa, IEC 60034-1 with k = 234.5 (copper), 225 (aluminium) (from memory).
        for (conductor, k) in [(Conductor::Copper, 234.5), (Conductor::Aluminium, 225.0)] {
            for (r1, r2, t1, ta) in [(8.1, 9.7, 21.0, 23.5), (1.0, 1.0, 18.0, 18.0), (2.0, 3.1, 25.0, 24.0)] {
                let expected: f64 = (r2 - r1) / r1 * (k + t1) + t1 - ta;
                let found = temperature_by_resistance_celsius(conductor, r2 / r1, t1) - ta;
                assert_relative_eq!(found, expected, max_relative = 1e-12, epsilon = 1e-12);
            }
        }
        // The model's own α = 0.00393/K agrees within 0.02 % of the rise.
        let ratio = Conductor::Copper.resistance_ratio(82.0) / Conductor::Copper.resistance_ratio(22.0);
        let found = temperature_by_resistance_celsius(Conductor::Copper, ratio, 22.0);
        assert!((found - 82.0).abs() < 2e-4 * 60.0, "{found} °C");
    }

    #[test]
    fn a_fit_finds_the_factors_that_made_the_test() {
        let fit = fitted(&synthetic(1.17, 0.88, 1.013, 0.0, 150, 5.0)).unwrap();
        assert_relative_eq!(fit.surface_coefficient_factor, 1.17, max_relative = 1e-3);
        assert_relative_eq!(fit.heat_capacity_factor, 0.88, max_relative = 1e-3);
        assert!(fit.rms_residual_kelvin < 0.02, "{} K", fit.rms_residual_kelvin);
        assert!(fit.surface_coefficient_from_test);
        assert!(fit.notes.iter().any(|note| note.sentence().contains("room_temperature_degC")));
        let last = fit.points.last().unwrap();
        assert!((last.temperature_celsius - last.model_temperature_celsius).abs() < 0.02);
    }

    #[test]
    fn a_rippled_test_finds_them_within_its_own_uncertainty() {
        let fit = fitted(&synthetic(0.9, 1.1, 1.0, 0.002, 120, 2.5)).unwrap();
        let off =
            (fit.surface_coefficient_factor - 0.9) / fit.surface_coefficient_factor_standard_uncertainty;
        assert!(off.abs() < 3.0, "{off} standard uncertainties");
        let off = (fit.heat_capacity_factor - 1.1) / fit.heat_capacity_factor_standard_uncertainty;
        assert!(off.abs() < 3.0, "{off} standard uncertainties");
        assert!(fit.surface_coefficient_factor_standard_uncertainty < 0.03);
        // A ripple of 0.2 % with rms 0.14 % is 0.36 K.
        assert_relative_eq!(fit.rms_residual_kelvin, 0.36, max_relative = 0.25);
    }

    #[test]
    fn a_test_too_short_for_the_surfaces_says_so_and_keeps_the_prediction() {
        let fit = fitted(&synthetic(1.3, 1.1, 1.0, 0.001, 6, 0.5)).unwrap();
        assert!(!fit.surface_coefficient_from_test);
        assert_eq!(fit.surface_coefficient_factor, 1.0);
        assert!(
            fit.notes.iter().any(|note| note.sentence().contains("does not fix the surface coefficient"))
        );
        assert!((fit.heat_capacity_factor - 1.1).abs() < 0.1, "{}", fit.heat_capacity_factor);
    }

    #[test]
    fn a_logger_with_thousands_of_rows_is_averaged_and_a_parallel_pair_is_followed_too() {
        let fit = fitted(&synthetic(1.1, 1.0, 1.0, 0.01, 120, 0.04)).unwrap();
        assert_eq!(fit.rows, 3001);
        assert!(fit.points.len() <= MOST_BLOCKS);
        assert_relative_eq!(fit.surface_coefficient_factor, 1.1, max_relative = 0.01);
        let mut bench = example::bench();
        bench.connection = Connection::Parallel;
        let pair = HeatedPair::of(&bench).unwrap();
        let text = "time_s,voltage_V,current_A\n0,8.2,4\n600,8.6,4\n1800,9.0,4\n3600,9.3,4\n7200,9.4,4\n";
        let fit = WarmUpTest::from_text("w.csv", text).unwrap().fit(&bench, &pair).unwrap();
        assert!(fit.final_rise_kelvin > 20.0 && fit.final_rise_kelvin < 60.0, "{} K", fit.final_rise_kelvin);
    }

    #[test]
    fn bad_tests_are_refused_with_the_line_and_the_remedy() {
        let head = "time_min,voltage_V,current_A\n";
        for (rows, expected) in [
            ("0,18,2\n", "w.csv: a warm-up test of 1 row cannot be fitted"),
            ("0,18,2\n5,18.4,2\n9,18.9,2\n", "a warm-up test of 3 rows cannot be fitted"),
            ("0,18,2\n5,18.4,2\n4,18.9,2\n9,19,2\n", "w.csv, line 4: the time falls from 300 s to 240 s"),
            ("0,18,2\n5,18.4,2\n5,18.9,2\n9,19,2\n", "w.csv, line 4: the time 300 s occurs twice"),
            ("0,18,2\n5,,2\n9,18.9,2\n10,19,2\n", "w.csv, line 3: `voltage_V` is not filled in"),
            ("0,18,2\n5,18.4,0\n9,18.9,2\n10,19,2\n", "w.csv, line 3: 18.4 V at 0 A gives no resistance"),
            ("0,18,2\n5,0,2\n9,18.9,2\n10,19,2\n", "w.csv, line 3: 0 V at 2 A gives no resistance"),
            ("0,18,2\n5,-18,2\n9,18.9,2\n10,19,2\n", "w.csv, line 3: -18 V at 2 A gives no resistance"),
            (
                "-1,18,2\n5,18,2\n9,18.9,2\n10,19,2\n",
                "w.csv, line 2: the time is -60 s, before switching on at 0 s",
            ),
            (
                "0,18,1.8\n5,18.4,180\n9,18.9,1.8\n10,19,1.8\n",
                "w.csv, line 3: 18.4 V at 180 A is 0.102 ohm, 0.010 times the median of the table",
            ),
            ("0,18,1.8\n5,1.84,1.8\n9,18.9,1.8\n10,19,1.8\n", "w.csv, line 3: 1.84 V at 1.8 A is"),
            (
                "0,18,1.8\n5,18000,1.8\n9,18.9,1.8\n10,19,1.8\n",
                "w.csv, line 3: `voltage_V` is 18 kV, and -1000 V to 1000 V is allowed",
            ),
            ("", "cannot read w.csv: it has a heading and no rows"),
            (
                "0,20,2\n5,19,2\n9,18.5,2\n20,18,2\n",
                "the resistance does not rise: 10.0000 ohm at 0 s, 9.0000 ohm at 1200 s",
            ),
        ] {
            let error = fitted(&format!("{head}{rows}")).expect_err(rows).to_string();
            assert!(error.contains(expected), "{rows}: {error}");
        }
        // Seconds written under a heading of minutes.
        let late = format!("{head}0,18,2\n600,18.4,2\n1800,18.9,2\n3600,19.8,2\n");
        let error = fitted(&late).expect_err("minutes for seconds");
        assert_eq!(error.to_string(), "w.csv, line 4: the time is 30 h, and a test of up to 24 h is allowed");
    }

    #[test]
    fn a_gap_and_an_unlikely_resistance_are_noted() {
        let text = "time_min,voltage_V,current_A,room_temperature_degC\n0,9,2,21\n5,9.2,2,21.2\n10,9.35,2,21.3\n80,9.9,2,21.5\n\
                    90,9.91,2,21.4\n";
        let fit = fitted(text).unwrap();
        assert!(
            fit.notes.iter().any(|note| note.sentence().contains("no reading for 70 min after 10 min")),
            "{:?}",
            fit.notes
        );
        assert!(
            fit.notes.iter().any(|note| note.sentence().contains("times what the spec gives")),
            "{:?}",
            fit.notes
        );
        assert_relative_eq!(fit.room_temperature_celsius, 21.28, max_relative = 1e-12);
    }
}
