//! The result of checking a file, as its page shows it.

use crate::desk::folder::Contents;
use crate::desk::judged::{Judged, Standing};
use crate::desk::judged_data;
use askama::Template;
use coilwright::error::ProblemRecord;

/// The result of checking a text.
#[derive(Template)]
#[template(path = "checked.html")]
struct Checked<'a> {
    verdict: String,
    problems: &'a [ProblemRecord],
}

/// Markup that says whether the text of a file is right, whatever kind of file it is.
pub fn of_file(name: &str, text: &str) -> String {
    let read = match Contents::of(name, text) {
        Contents::Document(_) => return markup(&Judged::of(name, text)),
        Contents::Calibration => judged_data::calibration(name, text),
        Contents::Words => judged_data::words(name, text),
        Contents::Register => judged_data::register(text),
        Contents::Table(table) => match judged_data::table(name, text, table) {
            Some(read) => read,
            None => {
                return unjudged(
                    "Not checked here: no line of it is a heading that the desk knows. Readings of a calibration have current_A \
                     and field_mT, runs of a class gun_voltage_V, current_A and radius_mm, a warm-up test time_min, voltage_V and \
                     current_A, points x_mm, y_mm and z_mm; “I (A)” or “Current in A” will do as well.",
                );
            }
        },
        Contents::Other => return unjudged("Not checked here: its keys do not say what kind of file it is."),
    };
    Checked { verdict: read.verdict, problems: &read.problems }.render().unwrap_or_default()
}

fn unjudged(verdict: &str) -> String {
    Checked { verdict: verdict.into(), problems: &[] }.render().unwrap_or_default()
}

/// Markup that says whether a document is right and what is wrong with it.
pub fn markup(judged: &Judged) -> String {
    let verdict = match &judged.standing {
        Standing::Right if judged.problems.is_empty() => "Right.".to_owned(),
        Standing::Right => "Right, with doubts:".into(),
        Standing::Unfinished(needed) => format!(
            "Not finished: a whole spec still needs {}. “Compare” takes it as a quote as it is, and asks for what is missing.",
            needed.join(", ")
        ),
        Standing::Wrong(_) if !judged.problems.is_empty() => "Wrong:".into(),
        Standing::Wrong(reason) => format!("Wrong: {reason}"),
    };
    Checked { verdict, problems: &judged.problems }.render().unwrap_or_default()
}
