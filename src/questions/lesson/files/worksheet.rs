//! The worksheet for pupils: two pages, A4 or Letter.

use super::on_paper::{LessonOnPaper, Words, calibrated_slope, provenance, slope_millitesla};
use super::sketch;
use crate::Result;
use crate::pair::BeamEdge;
use crate::paper::markup::rendered;
use crate::questions::lesson::words::{Quantities, WordTable, caution_lines};
use crate::questions::lesson::{Lesson, LessonSetting};
use askama::Template;

/// What the sheet shows. The template escapes every text.
#[derive(Template)]
#[template(path = "lesson/files/worksheet.html")]
struct Worksheet<'a> {
    w: Words<'a>,
    title: &'a str,
    bench: String,
    wiring: String,
    axes: String,
    symbol_b: String,
    symbol_r: String,
    reading: Vec<String>,
    reversing: Vec<&'a str>,
    steps: Vec<&'a str>,
    example: String,
    columns: Vec<&'a str>,
    rows: Vec<SheetRow>,
    cautions: Vec<String>,
    provenance: String,
}

/// One row of the blank table. `starts_pair` draws a line above it, between one pair of current directions and the
/// next.
struct SheetRow {
    cells: Vec<String>,
    starts_pair: bool,
}

/// The sheet as HTML.
pub(super) fn html(on_paper: &LessonOnPaper) -> Result<String> {
    let LessonOnPaper { lesson, words, .. } = on_paper;
    let any_turned = lesson.settings.iter().any(|one| one.tube_turned);
    let mut reversing = vec!["sheet_reverse_why", "sheet_reverse_how"];
    reversing.extend(any_turned.then_some("sheet_reverse_tube"));
    let steps = ["check", "warm", "current", "read", "reverse", "down", "compute"].map(|step| match step {
        "check" => "sheet_step_check",
        "warm" => "sheet_step_warm",
        "current" => "sheet_step_current",
        "read" => "sheet_step_read",
        "reverse" => "sheet_step_reverse",
        "down" => "sheet_step_down",
        _ => "sheet_step_compute",
    });
    let mut columns = vec!["sheet_column_v", "sheet_column_i"];
    columns.extend(any_turned.then_some("sheet_column_tube"));
    columns.extend(["sheet_column_d", "sheet_column_b", "sheet_column_r", "sheet_column_s"]);
    let of_keys = |keys: &[&'static str]| keys.iter().map(|key| words.of_key(key)).collect::<Vec<_>>();
    let sheet = Worksheet {
        w: Words(words),
        title: &lesson.provenance.spec_title,
        bench: sketch::bench(lesson, words),
        wiring: sketch::wiring(lesson, lesson.connection, words),
        axes: sketch::axes(lesson, words),
        symbol_b: symbol_b(lesson, words),
        symbol_r: symbol_r(lesson, words),
        reading: reading(lesson, words),
        reversing: of_keys(&reversing),
        steps: of_keys(&steps),
        example: example(lesson, words),
        columns: of_keys(&columns),
        rows: rows(&lesson.settings, any_turned, words),
        cautions: caution_lines(lesson, words),
        provenance: provenance(lesson),
    };
    rendered(&sheet, "worksheet")
}

/// A number to four significant digits.
fn four(words: &WordTable, value: f64) -> String {
    let decimals = (3 - value.abs().log10().floor() as i32).clamp(0, 8) as usize;
    words.number(value, decimals)
}

fn symbol_b(lesson: &Lesson, words: &WordTable) -> String {
    let k = slope_millitesla(lesson);
    if let Some([slope, uncertainty]) = calibrated_slope(lesson, words) {
        return words.say(
            "sheet_symbol_b_calibrated",
            &[("slope", &slope), ("uncertainty", &uncertainty), ("slope_tesla", &words.number(k * 1e-3, 7))],
        );
    }
    words.say("sheet_symbol_b", &[("slope", &four(words, k)), ("slope_tesla", &words.number(k * 1e-3, 7))])
}

fn symbol_r(lesson: &Lesson, words: &WordTable) -> String {
    match lesson.reading.magnification {
        1.0 => words.of_key("sheet_symbol_r_plain").to_owned(),
        other => words.say("sheet_symbol_r", &[("magnification", &words.number(other, 4))]),
    }
}

fn reading(lesson: &Lesson, words: &WordTable) -> Vec<String> {
    let place = match lesson.reading.camera_distance_m {
        None => words.of_key("sheet_read_where_plain").to_owned(),
        Some(distance) => {
            let distance = format!("{} cm", words.number(distance * 100.0, 0));
            words.say("sheet_read_where", &[("distance", &distance)])
        }
    };
    let edge = match lesson.reading.edge.unwrap_or_default() {
        BeamEdge::Outer => "sheet_read_edge_outer",
        BeamEdge::Middle => "sheet_read_edge_middle",
        BeamEdge::Inner => "sheet_read_edge_inner",
    };
    vec![place, words.of_key("sheet_read_scale").to_owned(), words.of_key(edge).to_owned()]
}

/// The worked example, computed from the rounded readings that the sheet prints.
fn example(lesson: &Lesson, words: &WordTable) -> String {
    let one = &lesson.example;
    let diameter_mm = (one.expected.scale_diameter_m * 2e3).round() / 2.0;
    let radius_mm = diameter_mm / 2.0 / lesson.reading.magnification;
    let ampere = one.current_ampere.abs();
    let field_millitesla = slope_millitesla(lesson) * ampere;
    let square = (field_millitesla * radius_mm * 1e-6).powi(2);
    let quantity = Quantities(words);
    words.say(
        "sheet_example",
        &[
            ("volt", &quantity.volt(one.gun_voltage_volt)),
            ("ampere", &quantity.ampere(one.current_ampere)),
            ("diameter", &quantity.millimetre(diameter_mm * 1e-3)),
            ("slope", &four(words, slope_millitesla(lesson))),
            ("ampere_plain", &quantity.ampere(ampere)),
            ("field", &four(words, field_millitesla)),
            ("radius", &words.number(radius_mm, 2)),
            ("square", &words.number(square * 1e9, 3)),
            ("volt_plain", &words.number(one.gun_voltage_volt, 0)),
            ("result", &words.number(2.0 * one.gun_voltage_volt / square / 1e11, 3)),
        ],
    )
}

fn rows(settings: &[LessonSetting], any_turned: bool, words: &WordTable) -> Vec<SheetRow> {
    let mut rows = Vec::with_capacity(settings.len());
    let mut before: Option<&LessonSetting> = None;
    for one in settings {
        let mut cells = vec![words.number(one.gun_voltage_volt, 0), words.number(one.current_ampere, 2)];
        if any_turned {
            cells.push(if one.tube_turned { words.of_key("sheet_turned").to_owned() } else { String::new() });
        }
        cells.extend(std::iter::repeat_n(String::new(), 4));
        let reverses = before.is_some_and(|before| before.current_ampere == -one.current_ampere);
        rows.push(SheetRow { cells, starts_pair: !reverses });
        before = Some(one);
    }
    rows
}
