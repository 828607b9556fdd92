//! The answer sheet for the teacher: expected readings, what mistakes look like, what the class should get, and a time
//! plan.

use super::on_paper::{LessonOnPaper, Words, calibrated_slope, provenance};
use crate::Result;
use crate::paper::markup::rendered;
use crate::questions::lesson::words::{Quantities, WordTable, caution_lines};
use crate::questions::lesson::{Lesson, LessonSetting, Note};
use crate::questions::words::notes::SourceNote;
use askama::Template;

/// Minutes for each part of the lesson: common practice, no source.
const PLAN: [(u32, &str); 6] = [
    (5, "answers_time_0"),
    (8, "answers_time_1"),
    (25, "answers_time_2"),
    (7, "answers_time_3"),
    (12, "answers_time_4"),
    (3, "answers_time_5"),
];
/// Coverage factor of the limits printed beside an expected reading: about 95 % of the readings lie within.
const COVERAGE: f64 = 2.0;
/// Sizes of the example mistakes.
const EDGE_M: f64 = 1e-3;
const MISREAD_DIAMETER_M: f64 = 5e-3;
const VOLTMETER_VOLT: f64 = 5.0;
const AMMETER_AMPERE: f64 = 0.05;

/// What the sheet shows. The template escapes every text.
#[derive(Template)]
#[template(path = "lesson/files/answers.html")]
struct Answers<'a> {
    w: Words<'a>,
    title: &'a str,
    class_lines: Vec<String>,
    columns: Vec<&'a str>,
    rows: Vec<Vec<String>>,
    mistakes_about: String,
    mistakes: Vec<(String, String)>,
    plan: Vec<(u32, &'a str)>,
    cautions: Vec<String>,
    provenance: String,
}

/// The sheet as HTML.
pub(super) fn html(on_paper: &LessonOnPaper) -> Result<String> {
    let LessonOnPaper { lesson, words, .. } = on_paper;
    let quantity = Quantities(words);
    let middle = &lesson.settings[lesson.settings.len() / 2 / 2 * 2];
    let apparent = middle.expected.apparent_charge_to_mass_coulomb_per_kg;
    let columns = [
        "sheet_column_v",
        "sheet_column_i",
        "sheet_column_tube",
        "sheet_column_d",
        "answers_limits",
        "answers_by_hand",
    ];
    let sheet = Answers {
        w: Words(words),
        title: &lesson.provenance.spec_title,
        class_lines: class_lines(lesson, words),
        columns: columns.iter().map(|key| words.of_key(key)).collect(),
        rows: lesson.settings.iter().map(|one| row(one, words)).collect(),
        mistakes_about: words.say(
            "answers_mistakes_about",
            &[
                ("volt", &quantity.volt(middle.gun_voltage_volt)),
                ("ampere", &quantity.ampere(middle.current_ampere)),
                ("value", &quantity.charge_to_mass(apparent)),
            ],
        ),
        mistakes: mistakes(lesson, middle, words),
        plan: PLAN.iter().map(|(minutes, key)| (*minutes, words.of_key(key))).collect(),
        cautions: caution_lines(lesson, words),
        provenance: provenance(lesson),
    };
    rendered(&sheet, "answers")
}

fn row(one: &LessonSetting, words: &WordTable) -> Vec<String> {
    let expected = &one.expected;
    let millimetre = |metre: f64| words.number(metre * 1e3, 1);
    let reach = COVERAGE * expected.scale_diameter_standard_uncertainty_m;
    let [low, high] = [-reach, reach].map(|part| millimetre(expected.scale_diameter_m + part));
    vec![
        words.number(one.gun_voltage_volt, 0),
        words.number(one.current_ampere, 2),
        if one.tube_turned { words.of_key("sheet_turned").to_owned() } else { String::new() },
        millimetre(expected.scale_diameter_m),
        format!("{low} – {high}"),
        words.number(expected.apparent_charge_to_mass_coulomb_per_kg / 1e11, 3),
    ]
}

/// Smallest, mean and largest value.
fn spread(values: &[f64]) -> [f64; 3] {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    [least, mean, values.iter().copied().fold(f64::NEG_INFINITY, f64::max)]
}

fn class_lines(lesson: &Lesson, words: &WordTable) -> Vec<String> {
    let quantity = Quantities(words);
    let all = &lesson.settings;
    let accepted = lesson.constants.accepted_charge_to_mass_coulomb_per_kg;
    let apparent = |one: &LessonSetting| one.expected.apparent_charge_to_mass_coulomb_per_kg;
    let [low, mean, high] = spread(&all.iter().map(apparent).collect::<Vec<_>>());
    let other_line = lesson.notes.iter().find_map(|note| match note {
        Note::Source(SourceNote::OtherLine(line)) => Some(words.say(
            "answers_other_line",
            &[
                ("made_for", &line.made_for_title),
                ("made_for_digest", &line.made_for_digest),
                ("title", &line.title),
                ("digest", &line.digest),
            ],
        )),
        _ => None,
    });
    let line = lesson.line.slope.uncertainty.zip(calibrated_slope(lesson, words));
    let line = line.map(|(known, [slope, uncertainty])| {
        let factor = words.number(known.coverage_factor, 1);
        let said = [("slope", &*slope), ("uncertainty", &*uncertainty), ("factor", &*factor)];
        words.say("answers_line", &said)
    });
    let mut lines: Vec<String> = line.into_iter().chain(other_line).collect();
    lines.push(words.say(
        "answers_class",
        &[
            ("low", &words.number(low / 1e11, 3)),
            ("high", &quantity.charge_to_mass(high)),
            ("mean", &quantity.charge_to_mass(mean)),
            ("off", &quantity.percent(mean / accepted - 1.0)),
            ("accepted", &quantity.charge_to_mass(accepted)),
        ],
    ));
    let mean_bias = |sign: f64| {
        let of_sign: Vec<f64> = all
            .iter()
            .filter(|one| one.current_ampere * sign > 0.0)
            .map(|one| one.expected.bias_fraction)
            .collect();
        (!of_sign.is_empty()).then(|| quantity.percent(spread(&of_sign)[1]))
    };
    if let (Some(forward), Some(backward)) = (mean_bias(1.0), mean_bias(-1.0)) {
        lines.push(words.say("answers_class_directions", &[("forward", &forward), ("backward", &backward)]));
    }
    let corrected: Vec<f64> = all.iter().filter_map(|one| one.expected.corrected_bias_fraction).collect();
    if !corrected.is_empty() {
        let [low, _, high] = spread(&corrected).map(|fraction| quantity.percent(fraction));
        lines.push(words.say("answers_class_corrected", &[("low", &low), ("high", &high)]));
    }
    let own = |one: &LessonSetting| {
        2.0 * one.expected.scale_diameter_standard_uncertainty_m / one.expected.scale_diameter_m
    };
    let [_, typical, _] = spread(&all.iter().map(own).collect::<Vec<_>>());
    let percent = format!("{} %", words.number(100.0 * typical, 1));
    lines.push(words.say("answers_class_one", &[("percent", &percent)]));
    lines
}

/// Each mistake, and the e/m it leads to at one setting.
fn mistakes(lesson: &Lesson, one: &LessonSetting, words: &WordTable) -> Vec<(String, String)> {
    let quantity = Quantities(words);
    let expected = &one.expected;
    let apparent = expected.apparent_charge_to_mass_coulomb_per_kg;
    let value = |factor: f64| quantity.charge_to_mass(apparent * factor);
    let percent = |factor: f64| {
        let percent = quantity.percent(factor - 1.0);
        words.say("answers_percent", &[("value", &value(factor)), ("percent", &percent)])
    };
    let times = |factor: f64, written: &str| {
        words.say("answers_times", &[("value", &value(factor)), ("factor", written)])
    };
    let said = |key: &str| words.of_key(key).to_owned();
    let radius = 0.5 * expected.scale_diameter_m;
    let magnification = lesson.reading.magnification;
    let mut mistakes = vec![
        (said("answers_mistake_diameter"), times(0.25, "¼")),
        (said("answers_mistake_radius"), times(4.0, "4")),
    ];
    if magnification != 1.0 {
        let name =
            words.say("answers_mistake_parallax", &[("magnification", &words.number(magnification, 4))]);
        mistakes.push((name, percent(magnification.powi(-2))));
    }
    let alone = (radius / (radius + 0.5 * MISREAD_DIAMETER_M)).powi(2);
    let field = lesson.line.slope.tesla_per_ampere.abs() * one.current_ampere.abs();
    let axial = lesson.room_tesla.map_or(lesson.room_known.standard_uncertainty_tesla, |[.., axial]| axial);
    let both = 2.0 * (axial / field).abs();
    mistakes.extend([
        (said("answers_mistake_edge"), percent((radius / (radius - EDGE_M)).powi(2))),
        (
            said("answers_mistake_misread"),
            words.say("answers_alone", &[("percent", &quantity.percent(alone - 1.0))]),
        ),
        (said("answers_mistake_volt"), percent(1.0 + VOLTMETER_VOLT / one.gun_voltage_volt)),
        (said("answers_mistake_ampere"), percent((1.0 + AMMETER_AMPERE / one.current_ampere.abs()).powi(-2))),
        (
            words.say("answers_mistake_direction", &[("field", &words.number(axial * 1e6, 0))]),
            words.say("answers_both", &[("percent", &format!("{} %", words.number(100.0 * both, 1)))]),
        ),
        (said("answers_mistake_milli"), said("answers_powers")),
    ]);
    mistakes
}
