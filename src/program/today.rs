//! The day of this machine's clock. It decides only what is refused, never an output.

use coilwright::numeric::calendar::Day;
use coilwright::{Error, Result};
use std::time::{SystemTime, UNIX_EPOCH};

/// Today by the clock of this machine, in UTC.
pub fn today() -> Result<Day> {
    of_clock(seconds_of_clock())
}

/// Seconds since the start of 1970 by the clock of this machine.
fn seconds_of_clock() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs())
}

/// The day of a clock that shows so many seconds since the start of 1970.
fn of_clock(seconds: u64) -> Result<Day> {
    Day::of_number((seconds / 86_400) as i64).ok_or_else(|| {
        Error::value_with_hint(
            "this machine's clock shows no date",
            "say which day is meant with --date 2026-03-01",
        )
    })
}

/// Local time is at most 14 hours ahead of UTC.
const SECONDS_AHEAD: u64 = 14 * 3600;

/// The day of this version of the program: a clock that shows an earlier one is wrong.
const DAY_OF_VERSION: (i32, u8, u8) = (2026, 11, 29);

/// Whether a day has begun nowhere on earth. No day up to that of this version is still to come, whatever the clock shows.
pub fn is_still_to_come(day: Day) -> Result<bool> {
    let (year, month, of_month) = DAY_OF_VERSION;
    let is_past = Day::new(year, month, of_month).is_some_and(|version| day <= version);
    Ok(!is_past && day > of_clock(seconds_of_clock() + SECONDS_AHEAD)?)
}

/// Refuses to enter a day that is still to come: an entry is never changed afterwards.
///
/// # Errors
/// It is still to come, and `allowed` is false.
pub fn check_entered_day(day: Option<Day>, allowed: bool) -> Result<()> {
    let Some(day) = day.filter(|_| !allowed) else { return Ok(()) };
    match is_still_to_come(day)? {
        false => Ok(()),
        true => Err(Error::value_with_hint(
            format!(
                "the day {day} is still to come: by this machine's clock it is {}; nothing was entered",
                today()?
            ),
            "look at --date: an entry is never changed afterwards. If the clock is wrong: --later-than-today",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_begins_where_local_time_is_fourteen_hours_ahead() {
        let day = Day::parse("2026-11-30").unwrap();
        let midnight = (day.number() * 86_400) as u64;
        let first = |before_midnight_s: u64| of_clock(midnight - before_midnight_s + SECONDS_AHEAD).unwrap();
        // At 07:59 UTC of the day before no place has begun it; at 10:00 UTC the first place does.
        assert!(day > first(16 * 3600 + 60));
        assert!(day > first(14 * 3600 + 1));
        assert_eq!(first(14 * 3600), day);
    }
}
