//! The result of checking a document, as its page shows it.

use crate::desk::judged::{Judged, Standing};
use askama::Template;
use coilwright::error::ProblemRecord;

/// The result of checking a text.
#[derive(Template)]
#[template(path = "checked.html")]
struct Checked<'a> {
    verdict: String,
    problems: &'a [ProblemRecord],
}

/// Markup that says whether a document is right and what is wrong with it.
pub fn markup(judged: &Judged) -> String {
    let verdict = match &judged.standing {
        Standing::Right if judged.problems.is_empty() => "Right.".to_owned(),
        Standing::Right => "Right, with doubts:".into(),
        Standing::Unfinished => {
            "Not finished: “Compare” takes it as it is, and asks for what is missing.".into()
        }
        Standing::Wrong(_) if !judged.problems.is_empty() => "Wrong:".into(),
        Standing::Wrong(reason) => format!("Wrong: {reason}"),
    };
    Checked { verdict, problems: &judged.problems }.render().unwrap_or_default()
}
