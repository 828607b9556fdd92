//! What is asked of a calibration.

use super::adopted::AdoptedLine;
use super::issue::{InputFile, Issue};
use super::readings::Readings;
use crate::numeric::calendar::Day;
use crate::physics::slope::AdoptedFrom;
use crate::{Error, Result};

/// What is asked of a calibration.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The step of both tables; by default the ammeter's resolution sets them.
    pub step_ampere: Option<f64>,
    /// The date to print, if any, written year-month-day.
    pub date: Option<String>,
    /// What to fit the line to, if anything.
    pub readings: Option<Readings>,
    /// Which line to adopt, whatever the readings say; by default they decide.
    pub adopt: Option<AdoptedFrom>,
    /// Whether the lessons use the ammeter of the readings, in the same place; the readings may say so too.
    pub same_ammeter: bool,
    /// How many samples to propagate the distributions with, if at all.
    pub monte_carlo_samples: Option<u64>,
    /// An older line to compare with.
    pub previous: Option<AdoptedLine>,
    /// The files it is made from, for the certificate.
    pub inputs: Vec<InputFile>,
    /// What the certificate states beside the result.
    pub issue: Issue,
}

/// The day that a date as `--date` takes it names: year-month-day.
///
/// # Errors
/// It is not written so, or there is no such day.
pub fn check_date(text: &str) -> Result<Day> {
    let hint = "write it like this: --date 2026-03-01";
    let is_shaped = text.len() == 10
        && text.bytes().enumerate().all(|(at, byte)| match at {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    match Day::parse(text) {
        Some(day) if day.year() > 0 => Ok(day),
        _ if is_shaped => Err(Error::value_with_hint(format!("there is no date {text}"), hint)),
        _ => Err(Error::value_with_hint(
            format!("the date `{}` is not written year-month-day", crate::units::shortened(text)),
            hint,
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_real_dates_pass() {
        assert_eq!(check_date("2026-03-01").unwrap().to_string(), "2026-03-01");
        for wrong in ["2026-02-30", "26-3-1", "01.03.2026", "", "2026-03-0x", "0000-01-01", "+026-03-01"] {
            assert!(check_date(wrong).is_err(), "{wrong}");
        }
    }
}
