//! Quantities with units, and the cautions with their figures, in the language of a word table.

use super::WordTable;
use super::table::{CAUTIONS, DEFER_KEY};
use crate::physics::heat::AllowedTime;
use crate::questions::lesson::Lesson;
use crate::questions::words::cautions::Caution;

/// Formats quantities in the language of a table.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Quantities<'a>(pub &'a WordTable);

impl Quantities<'_> {
    /// A voltage in whole volts.
    pub(crate) fn volt(&self, volt: f64) -> String {
        format!("{} V", self.0.number(volt, 0))
    }

    /// A current to 0.01 A.
    pub(crate) fn ampere(&self, ampere: f64) -> String {
        format!("{} A", self.0.number(ampere, 2))
    }

    /// A current limit, rounded down to 0.01 A so that the printed value is safe.
    pub(crate) fn ampere_at_most(&self, ampere: f64) -> String {
        self.ampere((ampere * 100.0 + 1e-9).floor() / 100.0)
    }

    /// A length in millimetres to 0.1 mm.
    pub(crate) fn millimetre(&self, metre: f64) -> String {
        format!("{} mm", self.0.number(metre * 1e3, 1))
    }

    /// A fraction in percent, with a sign.
    pub(crate) fn percent(&self, fraction: f64) -> String {
        let sign = if fraction > 0.0 { "+" } else { "" };
        format!("{sign}{} %", self.0.number(100.0 * fraction, 1))
    }

    /// e/m in 10¹¹ C/kg.
    pub(crate) fn charge_to_mass(&self, coulomb_per_kg: f64) -> String {
        format!("{} × 10¹¹ C/kg", self.0.number(coulomb_per_kg / 1e11, 3))
    }
}

/// A time limit, rounded down: whole minutes, or seconds below two minutes.
fn minutes_or_seconds(words: &WordTable, seconds: f64) -> String {
    match seconds < 120.0 {
        true => format!("{} s", words.number(seconds.floor(), 0)),
        false => format!("{} min", words.number((seconds / 60.0).floor(), 0)),
    }
}

/// The cautions in the language of the table, with this bench's figures. The last line says who decides.
pub(crate) fn caution_lines(lesson: &Lesson, words: &WordTable) -> Vec<String> {
    let mut lines: Vec<String> = CAUTIONS
        .iter()
        .map(|(key, caution)| format!("{}{}", words.of_key(key), figures(*caution, lesson, words)))
        .collect();
    lines.push(words.of_key(DEFER_KEY).to_owned());
    lines
}

/// The sentences with this bench's figures that follow a caution, each with a leading space.
fn figures(caution: Caution, lesson: &Lesson, words: &WordTable) -> String {
    let quantity = Quantities(words);
    let say = |key: &str, figures: &[(&str, &str)]| format!(" {}", words.say(key, figures));
    match caution {
        Caution::GunVoltage => lesson.tube.gun_voltage_volt.map_or(String::new(), |[low, high]| {
            say("caution_voltage", &[("low", &quantity.volt(low)), ("high", &quantity.volt(high))])
        }),
        Caution::HotCoils => {
            let continuous = lesson
                .safety
                .reliable_continuous_current_ampere
                .map(|current| say("caution_continuous", &[("current", &quantity.ampere_at_most(current))]));
            let each = |row: &AllowedTime| {
                let (current, time) =
                    (quantity.ampere_at_most(row.current_ampere), minutes_or_seconds(words, row.time_s));
                words.say("caution_minutes_each", &[("current", &current), ("time", &time)])
            };
            // Three rows: a third of the way, two thirds of the way and all the way to the supply's limit.
            let third = lesson.allowed_times.len() / 3;
            let rows = (1..=3).filter_map(|i| lesson.allowed_times.get((i * third).checked_sub(1)?));
            let list: Vec<String> = rows.map(each).collect();
            let above = (!list.is_empty()).then(|| say("caution_minutes", &[("list", &list.join(", "))]));
            let supply = lesson
                .current_limit_ampere
                .map(|limit| say("caution_supply", &[("limit", &quantity.ampere(limit))]));
            let setting = lesson.largest_setting_time.map(|row| {
                let time = minutes_or_seconds(words, row.time_s);
                say("caution_setting", &[("current", &quantity.ampere(row.current_ampere)), ("time", &time)])
            });
            [continuous, above, setting, supply].into_iter().flatten().collect()
        }
        Caution::Implants => lesson.safety.caution_distance_m.map_or(String::new(), |distance| {
            let distance = format!("{} m", words.number((distance * 10.0 - 1e-9).ceil() / 10.0, 1));
            say("caution_distance", &[("distance", &distance)])
        }),
        _ => String::new(),
    }
}
