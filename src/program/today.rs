//! The day of this machine's clock. It decides only what is refused, never an output.

use coilwright::numeric::calendar::Day;
use coilwright::{Error, Result};
use std::time::{SystemTime, UNIX_EPOCH};

/// Today by the clock of this machine, in UTC.
pub fn today() -> Result<Day> {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    Day::of_number((seconds / 86_400) as i64).ok_or_else(|| {
        Error::value_with_hint(
            "this machine's clock shows no date",
            "say which day is meant with --date 2026-03-01",
        )
    })
}

/// The day of this version of the program: a clock that shows an earlier one is wrong.
const DAY_OF_VERSION: (i32, u8, u8) = (2026, 11, 29);

/// Whether a day has begun nowhere on earth: local time is at most 14 hours ahead of UTC. No day up to that of this
/// version is still to come, whatever the clock shows.
pub fn is_still_to_come(day: Day) -> Result<bool> {
    let (year, month, of_month) = DAY_OF_VERSION;
    let is_past = Day::new(year, month, of_month).is_some_and(|version| day <= version);
    Ok(!is_past && today()?.days_later(1).is_none_or(|tomorrow| day > tomorrow))
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
