//! Refuses rows that do not belong to the others, and fits that do not describe their test, and names the row.
//!
//! A wrong decimal point in one row bends the whole fit, and with it the time for which a current is allowed. So there
//! are three checks: each row's resistance against the others before the fit, the fit without each row after the fit,
//! and the fit as a whole.

use super::WarmUpTest;
use super::least_squares::{Free, Least, Run};
use super::readings::WarmUpReading;
use crate::numeric::student::two_sided_quantile;
use crate::units::{Dimension, brief};
use crate::{Error, Result};

/// Largest ratio of a row's resistance to the median of all, either way. Copper at the highest class of enamel, 240 °C,
/// has 1.87 times its resistance at 20 °C: α = 0.00393/K.
const WIDEST_RESISTANCE_RATIO: f64 = 2.0;
/// Largest distance of the room temperature from its own median: no laboratory's air varies more during a test (common
/// practice, no source).
const WIDEST_ROOM_KELVIN: f64 = 10.0;
/// Probability that a sound row is refused, over all rows together.
const FALSE_ALARM: f64 = 1e-3;
/// A row is not refused if it deviates by less than this or than [`SMALL_PART_OF_RISE`]: the last digit of 1.80 A alone
/// is 1.4 K.
const SMALL_KELVIN: f64 = 3.0;
/// That threshold as a fraction of the rise.
const SMALL_PART_OF_RISE: f64 = 0.05;
/// A fit whose scatter is a larger fraction of the rise than this does not describe its test.
const LARGEST_SCATTER_PART: f64 = 0.1;

impl WarmUpTest {
    /// Refuses a row whose resistance or room temperature cannot belong to the same test as the others.
    pub(super) fn refuse_unlike_rows(&self) -> Result<()> {
        let ohm = |reading: &WarmUpReading| reading.voltage_volt / reading.current_ampere;
        let middle_ohm = median(self.readings.iter().map(ohm).collect());
        let rooms: Vec<f64> = self.readings.iter().filter_map(|reading| reading.room_celsius).collect();
        let middle_room = median(rooms);
        for reading in &self.readings {
            let ratio = ohm(reading) / middle_ohm;
            if !(1.0 / WIDEST_RESISTANCE_RATIO..=WIDEST_RESISTANCE_RATIO).contains(&ratio) {
                return Err(self.row(
                    reading,
                    format!(
                        "{} at {} is {:.3} ohm, {ratio:.3} times the median of the table, {middle_ohm:.3} ohm: no \
                         warming changes copper so much",
                        brief(reading.voltage_volt, Dimension::Voltage),
                        brief(reading.current_ampere, Dimension::Current),
                        ohm(reading)
                    ),
                    "look for a slipped decimal point in this row, or leave the row out",
                ));
            }
            if let Some(room) = reading.room_celsius
                && (room - middle_room).abs() > WIDEST_ROOM_KELVIN
            {
                return Err(self.row(
                    reading,
                    format!(
                        "the room is at {room} °C, and the median of the table is {middle_room} °C: up to \
                         {WIDEST_ROOM_KELVIN} K either side is allowed"
                    ),
                    "look for a slipped decimal point in this row, or repeat the test in a steadier room",
                ));
            }
        }
        Ok(())
    }

    /// Refuses a fit that one row spoils, and one whose scatter is too large a fraction of the rise.
    ///
    /// The test for one row: S is the sum of squares of the fit, S' that of the fit without the row. If the row is like
    /// the others, F = (S − S')/(S'/(ν − 1)) is the square of a Student-distributed number with ν − 1 degrees of
    /// freedom (R. D. Cook and S. Weisberg, *Residuals and Influence in Regression*, Chapman and Hall 1982, section
    /// 2.2.2, from memory). The probability is divided by the number of rows, after Bonferroni.
    pub(super) fn refuse_unlike_the_model(&self, run: &Run, fit: &Least, free: Free) -> Result<()> {
        let off = |fit: &Least, index: usize| {
            let point = &fit.points[index];
            point.temperature_celsius - point.model_temperature_celsius
        };
        let weighted = |index: usize| off(fit, index).abs() * run.blocks[index].rows.sqrt();
        let Some(worst) = (0..fit.points.len()).max_by(|a, b| weighted(*a).total_cmp(&weighted(*b))) else {
            return Ok(());
        };
        let rise = fit
            .points
            .iter()
            .map(|point| point.model_temperature_celsius - run.pair.room_celsius)
            .fold(0.0, f64::max);
        let freedom = fit.degrees_of_freedom.saturating_sub(1) as f64;
        if freedom >= 1.0 && off(fit, worst).abs() > 0.5 * SMALL_KELVIN {
            let without = run.without(worst).least_squares(free)?;
            let f = (fit.square - without.square) / (without.square / freedom);
            let limit = two_sided_quantile(1.0 - FALSE_ALARM / fit.points.len() as f64, freedom)?;
            let apart = off(&without, worst);
            if f > limit * limit && apart.abs() > SMALL_KELVIN.max(SMALL_PART_OF_RISE * rise) {
                let reading = self.farthest_in(run, worst, apart);
                return Err(self.row(
                    &reading,
                    format!(
                        "{} at {} is {:.0} K {} the fit of the other rows, which scatter by {:.1} K about it",
                        brief(reading.voltage_volt, Dimension::Voltage),
                        brief(reading.current_ampere, Dimension::Current),
                        apart.abs(),
                        if apart > 0.0 { "above" } else { "below" },
                        rms_kelvin(&without, Some(worst))
                    ),
                    "look for a wrong digit in this row, or leave the row out",
                ));
            }
        }
        let rms = rms_kelvin(fit, None);
        if rms > SMALL_KELVIN.max(LARGEST_SCATTER_PART * rise) {
            let reading = self.farthest_in(run, worst, off(fit, worst));
            return Err(self.row(
                &reading,
                format!(
                    "the model does not describe this test: it is off by {rms:.1} K rms in a rise of {rise:.0} K, and most \
                     in this row, by {:.1} K",
                    off(fit, worst)
                ),
                "look for wrong digits here and in its neighbours, check the unit of the time, and that the spec describes \
                 these coils",
            ));
        }
        Ok(())
    }

    /// The refusal of the row farthest from the prediction, for a test on which no fit converges.
    pub(super) fn row_that_spoils(&self, run: &Run) -> Option<Error> {
        let predicted = run.unfitted().ok()?;
        let off = |index: usize| {
            let point = &predicted.points[index];
            point.temperature_celsius - point.model_temperature_celsius
        };
        let worst = (0..predicted.points.len()).max_by(|a, b| off(*a).abs().total_cmp(&off(*b).abs()))?;
        Some(self.row(
            &self.farthest_in(run, worst, off(worst)),
            format!(
                "the model cannot be fitted to this test; this row is farthest from what was predicted, by {:.0} K",
                off(worst).abs()
            ),
            "look for wrong digits here and in its neighbours, check the unit of the time, and that the spec describes \
             these coils",
        ))
    }

    /// Of the rows averaged in a block, the one that pulls the mean most.
    fn farthest_in(&self, run: &Run, block: usize, apart: f64) -> WarmUpReading {
        let from = run.blocks[block].line;
        let to = run.blocks.get(block + 1).map_or(u64::MAX, |next| next.line);
        let pull = |reading: &&WarmUpReading| run.resistance_ohm(reading) * apart.signum();
        self.readings
            .iter()
            .filter(|reading| (from..to).contains(&reading.line))
            .max_by(|a, b| pull(a).total_cmp(&pull(b)))
            .copied()
            .unwrap_or(run.blocks[block])
    }

    fn row(&self, reading: &WarmUpReading, message: String, hint: &str) -> Error {
        Error::in_table(&self.path, self.sheet.as_deref(), reading.line, message, Some(hint.into()))
    }
}

/// Root mean square of test minus model, of all points but one.
fn rms_kelvin(fit: &Least, but: Option<usize>) -> f64 {
    let squares = fit
        .points
        .iter()
        .enumerate()
        .filter(|(index, _)| Some(*index) != but)
        .map(|(_, point)| (point.temperature_celsius - point.model_temperature_celsius).powi(2));
    let count = fit.points.len() - usize::from(but.is_some());
    (squares.sum::<f64>() / count.max(1) as f64).sqrt()
}

/// The median; NaN if there are no values.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec;
    use crate::physics::heat::HeatedPair;
    use crate::questions::heat::warm_up::WarmUpFit;
    use crate::questions::words::notes::Told;

    fn of_the_window_bench(rows: &[(f64, f64, f64)]) -> Result<WarmUpFit> {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");
        let bench = spec::read_bench(std::path::Path::new(path)).unwrap();
        let pair = HeatedPair::of(&bench).unwrap();
        let mut text = String::from("time_min,voltage_V,current_A\n");
        for (minutes, volt, ampere) in rows {
            text.push_str(&format!("{minutes},{volt},{ampere}\n"));
        }
        WarmUpTest::from_text("w.csv", &text)?.fit(&bench, &pair)
    }

    /// The example of `lab-files`.
    fn sound() -> Vec<(f64, f64, f64)> {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/warm-up.csv");
        std::fs::read_to_string(path)
            .unwrap()
            .lines()
            .skip(1)
            .map(|line| {
                let cells: Vec<f64> =
                    line.split(';').map(|cell| cell.replace(',', ".").parse().unwrap()).collect();
                (cells[0], cells[1], cells[2])
            })
            .collect()
    }

    #[test]
    fn a_slipped_decimal_in_any_row_of_a_warm_up_test_is_refused_and_its_row_named() {
        assert!(of_the_window_bench(&sound()).is_ok());
        for index in 0..sound().len() {
            for factor in [0.1, 10.0, 100.0] {
                let mut volts = sound();
                volts[index].1 *= factor;
                let mut amperes = sound();
                amperes[index].2 *= factor;
                for rows in [volts, amperes] {
                    let said = of_the_window_bench(&rows).expect_err("a slipped decimal").to_string();
                    assert!(said.starts_with(&format!("w.csv, line {}: ", index + 2)), "{factor}: {said}");
                    let told = ["times the median of the table", "is allowed"];
                    assert!(told.iter().any(|why| said.contains(why)), "{said}");
                }
            }
        }
    }

    #[test]
    fn exchanged_digits_in_a_warm_up_row_are_refused_and_the_row_named() {
        // 16,18 V as 18,16 V, 15,85 V as 18,55 V, and 1,80 A as 1,08 A.
        for (index, volt, ampere) in [(8, 18.16, 1.8), (6, 18.55, 1.8), (3, 15.26, 1.08), (13, 15.64, 1.8)] {
            let mut rows = sound();
            (rows[index].1, rows[index].2) = (volt, ampere);
            let said = of_the_window_bench(&rows).expect_err("exchanged digits").to_string();
            assert!(said.starts_with(&format!("w.csv, line {}: ", index + 2)), "{said}");
        }
    }

    #[test]
    fn a_warm_up_test_that_no_coils_give_is_refused() {
        let saw =
            [(0.0, 14.8), (10.0, 17.0), (20.0, 14.9), (30.0, 17.2), (40.0, 15.0), (50.0, 17.1), (60.0, 15.1)];
        let rows: Vec<_> = saw.iter().map(|(minutes, volt)| (*minutes, *volt, 1.8)).collect();
        let said = of_the_window_bench(&rows).expect_err("a saw").to_string();
        assert!(said.starts_with("w.csv, line "), "{said}");
    }

    #[test]
    fn a_heat_capacity_that_the_test_does_not_fix_is_not_used() {
        // No rows between the first and the settled end: the speed of warming is unknown.
        let mut rows = vec![(0.0, 14.8, 1.8)];
        rows.extend([300.0, 310.0, 320.0, 330.0, 340.0, 350.0].map(|minutes| (minutes, 16.55, 1.8)));
        let fit = of_the_window_bench(&rows).unwrap_or_else(|error| panic!("{error}"));
        assert!(
            !fit.heat_capacity_from_test,
            "{} ± {}",
            fit.heat_capacity_factor, fit.heat_capacity_factor_standard_uncertainty
        );
        assert_eq!(fit.heat_capacity_factor, 1.0);
        assert!(
            fit.notes.iter().any(|note| note.sentence().contains("does not fix the heat capacity")),
            "{:?}",
            fit.notes
        );
    }

    #[test]
    fn a_room_temperature_with_a_slipped_decimal_is_refused() {
        let table = "time_min,voltage_V,current_A,room_temperature_degC\n0,14.8,1.8,21.4\n5,15.05,1.8,2.14\n10,15.26,1.8,21.5\n20,15.59,1.8,21.4\n";
        let said = WarmUpTest::from_text("w.csv", table).unwrap_err().to_string();
        assert!(said.starts_with("w.csv, line 3: the room is at 2.14 °C"), "{said}");
    }
}
