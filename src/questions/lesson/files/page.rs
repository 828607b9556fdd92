//! The lesson page: one HTML file that contains its data, style and script. Its content security policy forbids loading
//! anything.

use super::on_paper::{LessonOnPaper, Words};
use crate::pair::AxisPosition;
use crate::paper::markup::rendered;
use crate::questions::lesson::Lesson;
use crate::questions::lesson::words::{Quantities, WordTable, caution_lines};
use crate::questions::words::origin::on_page;
use crate::units::{inert, scientific};
use crate::{Error, Result};
use askama::Template;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

const STYLE: &str = include_str!("../page/style.css");
/// The script, in the order in which the files build on each other. Those before drawing.js do not touch the document.
const SCRIPT: [&str; 12] = [
    "\"use strict\";\n",
    include_str!("../page/format.js"),
    include_str!("../page/field.js"),
    include_str!("../page/orbit.js"),
    include_str!("../page/reduce.js"),
    include_str!("../page/causes.js"),
    include_str!("../page/runs_file.js"),
    include_str!("../page/drawing.js"),
    concat!(include_str!("../page/plot.js"), include_str!("../page/bench_panel.js")),
    include_str!("../page/class_table.js"),
    include_str!("../page/after_panel.js"),
    include_str!("../page/page.js"),
];

/// Lowest and highest gun voltage of the slider, as factors on the ends of the tube's range.
const VOLTAGE_BEYOND: [f64; 2] = [0.6, 1.2];
/// Range of gun voltage and largest current of the sliders if the spec does not state them: common practice, no source.
const USUAL_VOLT: [f64; 2] = [100.0, 300.0];
const USUAL_AMPERE: f64 = 3.0;
/// Largest gun tilt of the slider, degrees.
const TILT_DEGREES: f64 = 20.0;

/// A slider with its number field.
struct Control {
    name: &'static str,
    label: String,
    about: Option<String>,
    low: String,
    high: String,
    step: String,
    start: String,
}

/// What the page shows before its script runs. The template escapes every text.
#[derive(Template)]
#[template(path = "lesson/page/page.html")]
struct Page<'a> {
    w: Words<'a>,
    title: String,
    style: &'static str,
    style_digest: String,
    script: String,
    script_digest: String,
    front_caption: &'a str,
    above_caption: &'a str,
    controls: Vec<Control>,
    causes: Vec<Control>,
    room_known: bool,
    room_label: &'a str,
    settings: Vec<String>,
    cautions: Vec<String>,
    about: Vec<String>,
    provenance: String,
    data: String,
}

/// The data that the script reads.
#[derive(Serialize)]
struct Data<'a> {
    words: BTreeMap<&'a str, &'a str>,
    lesson: &'a Lesson,
}

/// The page as HTML.
pub(super) fn html(on_paper: &LessonOnPaper) -> Result<String> {
    let LessonOnPaper { lesson, words, .. } = on_paper;
    let horizontal = lesson.axis == AxisPosition::Horizontal;
    let [front, above] = if horizontal { ["front_view", "above_view"] } else { ["along_view", "side_view"] };
    let script = SCRIPT.concat();
    let page = Page {
        w: Words(words),
        title: words.say("title", &[("bench", &lesson.provenance.spec_title)]),
        style: STYLE,
        style_digest: digest(STYLE),
        script_digest: digest(&script),
        script,
        front_caption: words.of_key(front),
        above_caption: words.of_key(above),
        controls: controls(lesson, words),
        causes: causes(words),
        room_known: lesson.room_tesla.is_some(),
        room_label: words.of_key(if lesson.room_tesla.is_some() {
            "room_switch"
        } else {
            "room_unknown_switch"
        }),
        settings: lesson
            .settings
            .iter()
            .map(|one| {
                let quantity = Quantities(words);
                format!("{}, {}", quantity.volt(one.gun_voltage_volt), quantity.ampere(one.current_ampere))
            })
            .collect(),
        cautions: caution_lines(lesson, words),
        about: about(lesson, words),
        provenance: on_page(&lesson.provenance),
        data: embedded(&Data { words: words.of_page(), lesson })?,
    };
    rendered(&page, "page")
}

/// JSON that is safe inside a script element: no character of it can end the element or be taken for markup.
fn embedded(data: &impl Serialize) -> Result<String> {
    let text = serde_json::to_string(data)
        .map_err(|error| Error::value(format!("cannot write the lesson as JSON: {error}")))?;
    let text = inert::json(&text);
    Ok(text.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026"))
}

/// SHA-256 in base 64, as a content security policy names a script.
fn digest(text: &str) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let bytes = Sha256::digest(text.as_bytes());
    let mut out = String::with_capacity(44);
    for three in bytes.chunks(3) {
        let padded = [three[0], three.get(1).copied().unwrap_or(0), three.get(2).copied().unwrap_or(0)];
        let bits = u32::from_be_bytes([0, padded[0], padded[1], padded[2]]);
        for place in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * place)) as usize & 63];
            out.push(if place > three.len() { '=' } else { letter.into() });
        }
    }
    out
}

/// The sliders of the bench.
fn controls(lesson: &Lesson, words: &WordTable) -> Vec<Control> {
    let first = &lesson.settings[0];
    let [low, high] = lesson
        .tube
        .gun_voltage_volt
        .map_or(USUAL_VOLT, |[low, high]| [low * VOLTAGE_BEYOND[0], high * VOLTAGE_BEYOND[1]]);
    let offset = lesson.tube.gun_voltage_offset_volt;
    let low = (low / 10.0).floor() * 10.0;
    let low = if low > offset { low } else { (offset / 10.0).floor() * 10.0 + 10.0 };
    let high = (high / 10.0).ceil() * 10.0;
    let largest = lesson.settings.iter().map(|one| one.current_ampere.abs()).fold(0.0, f64::max);
    let limit = lesson.current_limit_ampere.unwrap_or((1.5 * largest).max(USUAL_AMPERE));
    let limit = (limit * 100.0).floor() / 100.0;
    let control = |name, key: &str, [low, high, step, start]: [f64; 4]| Control {
        name,
        label: words.of_key(key).to_owned(),
        about: None,
        low: low.to_string(),
        high: high.to_string(),
        step: step.to_string(),
        start: start.to_string(),
    };
    vec![
        control("gun-voltage", "gun_voltage", [low, high, 1.0, first.gun_voltage_volt]),
        Control {
            about: Some(words.of_key("minus_is_reversed").to_owned()),
            ..control("coil-current", "current", [-limit, limit, 0.01, first.current_ampere])
        },
        control("gun-tilt", "tilt", [-TILT_DEGREES, TILT_DEGREES, 0.5, 0.0]),
    ]
}

/// The sliders for the causes that move e/m.
fn causes(words: &WordTable) -> Vec<Control> {
    let control = |(name, key, reach, step): (&'static str, &str, f64, f64)| Control {
        name,
        label: words.of_key(key).to_owned(),
        about: None,
        low: (-reach).to_string(),
        high: reach.to_string(),
        step: step.to_string(),
        start: "0".into(),
    };
    [
        ("cause-voltmeter", "cause_voltmeter", 10.0, 0.5),
        ("cause-parallax", "cause_parallax", 60.0, 1.0),
        ("cause-room", "cause_room", 80.0, 1.0),
        ("cause-edge", "cause_edge", 4.0, 0.1),
    ]
    .map(control)
    .into()
}

/// The lines about this page: its spec, its accuracy and what is assumed.
fn about(lesson: &Lesson, words: &WordTable) -> Vec<String> {
    let from = &lesson.provenance;
    let error = scientific(lesson.field.largest_difference_fraction, 2);
    let mut lines = vec![
        words.say(
            "about_spec",
            &[("program", &from.program), ("title", &from.spec_title), ("digest", &from.spec_digest)],
        ),
        words.say("about_field", &[("digest", &from.spec_digest), ("error", &error)]),
    ];
    lines.extend(from.date.map(|date| words.say("about_date", &[("date", &date.to_string())])));
    let said = |key: &str| words.of_key(key).to_owned();
    lines.extend(lesson.room_tesla.is_none().then(|| said("about_room_unknown")));
    lines.extend(lesson.tube.bulb_assumed.then(|| said("about_bulb_assumed")));
    lines.extend([said("about_estimator"), said("about_network")]);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digest_is_that_of_the_published_test_vector() {
        // FIPS 180-2, B.1: SHA-256 of "abc" is ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad.
        assert_eq!(digest("abc"), "ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0=");
    }

    #[test]
    fn data_in_a_script_element_holds_no_markup() {
        let text = embedded(&"</script><!-- & \u{2028}").unwrap();
        assert_eq!(text, "\"\\u003c/script\\u003e\\u003c!-- \\u0026 \\u2028\"");
    }
}
