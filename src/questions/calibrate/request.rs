//! What is asked of a calibration.

use super::adopted::AdoptedLine;
use super::issue::{InputFile, Issue};
use super::readings::Readings;
use crate::physics::room;
use crate::physics::slope::AdoptedFrom;
use crate::{Error, Result};

/// What is asked of a calibration.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The step of both tables; by default the ammeter's resolution sets them.
    pub step_ampere: Option<f64>,
    /// The date to print, if any.
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

/// A date as `--date` takes it: year-month-day.
pub fn check_date(text: &str) -> Result<String> {
    let wrong = || {
        Error::value_with_hint(
            format!("the date `{text}` is not written year-month-day"),
            "write it like this: --date 2026-03-01",
        )
    };
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return Err(wrong()) };
    let shaped = year.len() == 4 && month.len() == 2 && day.len() == 2;
    let digits = parts.iter().all(|part| part.bytes().all(|byte| byte.is_ascii_digit()));
    if !(shaped && digits) {
        return Err(wrong());
    }
    let (year, month, day) = (year.parse(), month.parse(), day.parse());
    let (Ok(year), Ok(month), Ok(day)) = (year, month, day) else { return Err(wrong()) };
    if room::is_date(year, month, day) {
        Ok(text.into())
    } else {
        Err(Error::value_with_hint(
            format!("there is no date {text}"),
            "write it like this: --date 2026-03-01",
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_real_dates_pass() {
        assert_eq!(check_date("2026-03-01").unwrap(), "2026-03-01");
        for wrong in ["2026-02-30", "26-3-1", "01.03.2026", "", "2026-03-0x", "+026-03-01"] {
            assert!(check_date(wrong).is_err(), "{wrong}");
        }
    }
}
