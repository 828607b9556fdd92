//! Days of the Gregorian calendar, counted and added to.

use std::fmt::{Display, Formatter};

/// A day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day {
    year: i32,
    month: u8,
    day: u8,
}

/// The mean length of a Gregorian year: 146097 days in 400 years.
pub const DAYS_IN_A_YEAR: f64 = 146_097.0 / 400.0;

impl Day {
    /// `None` if the calendar does not have the day, or its year has more than four digits.
    pub fn new(year: i32, month: u8, day: u8) -> Option<Self> {
        let exists = (0..=9999).contains(&year) && (1..=days_in_month(year, month)).contains(&day);
        exists.then_some(Self { year, month, day })
    }

    /// The day written `2026-03-01`; `None` for anything else.
    pub fn parse(text: &str) -> Option<Self> {
        let parts: Vec<&str> = text.split('-').collect();
        let [year, month, day] = parts[..] else { return None };
        let shaped = [(year, 4), (month, 2), (day, 2)]
            .iter()
            .all(|(part, length)| part.len() == *length && part.bytes().all(|byte| byte.is_ascii_digit()));
        if !shaped {
            return None;
        }
        Self::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?)
    }

    /// Its year.
    pub const fn year(self) -> i32 {
        self.year
    }

    /// Its month, 1 to 12.
    pub const fn month(self) -> u8 {
        self.month
    }

    /// Its number in the month.
    pub const fn day(self) -> u8 {
        self.day
    }

    /// Days in its month.
    pub(crate) fn days_in_month(self) -> u8 {
        days_in_month(self.year, self.month)
    }

    /// Days since 1970-01-01, negative before.
    ///
    /// Years are counted from March, so that the leap day comes last: month m of that year, m = 0 for March, starts on day
    /// ⌊(153 m + 2)/5⌋ of it.
    pub fn number(self) -> i64 {
        let month = i64::from(self.month);
        let year = i64::from(self.year) - i64::from(month <= 2);
        let from_march = (month + 9) % 12;
        let day_of_year = (153 * from_march + 2) / 5 + i64::from(self.day) - 1;
        365 * year + year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400) + day_of_year
            - DAYS_TO_1970
    }

    /// The day with this number; `None` outside the years 0 to 9999.
    pub fn of_number(number: i64) -> Option<Self> {
        let guess = 1970 + (number as f64 / DAYS_IN_A_YEAR).floor() as i64;
        // The mean year is off by at most two days, so the year is the guess or a neighbour.
        let year = (guess - 1..=guess + 1).rev().find_map(|year| {
            Self::new(i32::try_from(year).ok()?, 1, 1).filter(|first| first.number() <= number)
        })?;
        let mut left = number - year.number();
        for month in 1..=12 {
            let days = i64::from(days_in_month(year.year, month));
            if left < days {
                return Self::new(year.year, month, u8::try_from(left + 1).ok()?);
            }
            left -= days;
        }
        None
    }

    /// The year with the elapsed fraction: 2026.5 in the middle of 2026.
    pub fn decimal_year(self) -> f64 {
        let start = |year| Self::new(year, 1, 1).map(Self::number);
        let first = start(self.year).unwrap_or_default();
        let days = start(self.year + 1).map_or(365, |next| next - first);
        f64::from(self.year) + (self.number() - first) as f64 / days as f64
    }

    /// Years from an earlier day to this one.
    pub fn years_since(self, earlier: Self) -> f64 {
        (self.number() - earlier.number()) as f64 / DAYS_IN_A_YEAR
    }

    /// The day this many months later: the same number in its month, or the month's last day.
    pub fn months_later(self, months: u32) -> Option<Self> {
        let months = i64::from(self.year) * 12 + i64::from(self.month) - 1 + i64::from(months);
        let (year, month) = (i32::try_from(months.div_euclid(12)).ok()?, months.rem_euclid(12) as u8 + 1);
        Self::new(year, month, self.day.min(days_in_month(year, month)))
    }

    /// The day this many days later.
    pub fn days_later(self, days: i64) -> Option<Self> {
        Self::of_number(self.number().checked_add(days)?)
    }
}

/// Days from the start of March of the year 0 to 1970-01-01.
const DAYS_TO_1970: i64 = 719_468;

fn days_in_month(year: i32, month: u8) -> u8 {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u8::from(leap),
        _ => 0,
    }
}

impl Display for Day {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl serde::Serialize for Day {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> serde::Deserialize<'de> for Day {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).ok_or_else(|| serde::de::Error::custom("not a day written year-month-day"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::parse(text).unwrap()
    }

    #[test]
    fn days_are_counted_from_1970_and_back() {
        // `date -u -d 2026-03-01 +%s` is 1772323200, and so on; divided by 86400.
        for (text, number) in
            [("1970-01-01", 0), ("2026-03-01", 20_513), ("2000-02-29", 11_016), ("1969-12-31", -1)]
        {
            assert_eq!(day(text).number(), number, "{text}");
        }
        for number in (-719_000..2_900_000).step_by(97) {
            assert_eq!(Day::of_number(number).unwrap().number(), number);
        }
        for text in ["2025-12-31", "2026-01-01", "2024-12-31", "1900-01-01", "9999-12-31", "0000-01-01"] {
            assert_eq!(Day::of_number(day(text).number()).unwrap().to_string(), text);
        }
    }

    #[test]
    fn a_month_later_is_never_in_the_month_after() {
        assert_eq!(day("2026-01-31").months_later(1), Some(day("2026-02-28")));
        assert_eq!(day("2024-02-29").months_later(12), Some(day("2025-02-28")));
        assert_eq!(day("2026-11-15").months_later(14), Some(day("2028-01-15")));
        assert_eq!(day("9999-11-15").months_later(2), None);
        assert_eq!(day("2026-12-31").days_later(1), Some(day("2027-01-01")));
    }

    #[test]
    fn only_real_days_pass() {
        for wrong in ["2026-02-30", "26-3-1", "01.03.2026", "", "2026-03-0x", "+026-03-01", "2026-03-01-"] {
            assert_eq!(Day::parse(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn four_hundred_years_are_four_hundred() {
        assert_eq!(day("2370-05-06").years_since(day("1970-05-06")), 400.0);
        assert_eq!(day("2024-07-02").decimal_year(), 2024.5);
    }
}
