//! A run as its page shows it: on its way, and answered.

use super::{Desk, alert_markup, refusal};
use crate::desk::State;
use crate::desk::guard::encoded;
use crate::desk::runs::{Answer, Run, Stage};
use askama::Template;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{Html, IntoResponse, Response};
use futures_util::stream::{self, Stream};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;

/// An answer is waited for so long before progress is shown.
const PATIENCE: Duration = Duration::from_millis(250);

/// A run that is not done.
#[derive(Template)]
#[template(path = "under_way.html")]
struct UnderWay<'a> {
    id: &'a str,
}

/// A run that is done.
#[derive(Template)]
#[template(path = "answered.html")]
struct Answered<'a> {
    id: &'a str,
    /// What it printed, cut into sections: the heading and the text of each.
    sections: Vec<(String, String)>,
    told: &'a str,
    status: &'static str,
    /// The address of each, and what it shows.
    pictures: Vec<(String, String)>,
    files: Vec<FileRow>,
    command: String,
    again: String,
}

struct FileRow {
    name: String,
    href: String,
    /// Whether the browser shows it, in a place of its own.
    is_page: bool,
    /// Whether the folder could use it.
    can_be_kept: bool,
}

/// The run as it stands; a short one is answered at once.
pub async fn shown(state: &State, run: &Arc<Run>, again: &str) -> Response {
    let mut watch = run.watch();
    let done = watch.wait_for(|stage| !matches!(stage, Stage::Waiting | Stage::Working(_)));
    // Whether it is done is looked at below.
    drop(tokio::time::timeout(PATIENCE, done).await);
    Html(markup(state, run, again)).into_response()
}

/// The same, asked for by number.
pub async fn fragment(state: Desk, Path(id): Path<String>) -> Response {
    match state.runs.find(&id) {
        Some(run) => Html(markup(&state, &run, "")).into_response(),
        None => refusal(StatusCode::NOT_FOUND, "The answer is not kept any more: ask again."),
    }
}

/// Stops a run.
pub async fn stop(state: Desk, Path(id): Path<String>) -> Response {
    if let Some(run) = state.runs.find(&id) {
        run.stop();
    }
    Html("<p class=\"told\" role=\"status\">Stopped.</p>").into_response()
}

/// Tells how far a run is, until it is done.
pub async fn progress(state: Desk, Path(id): Path<String>) -> Response {
    let Some(run) = state.runs.find(&id) else {
        return refusal(StatusCode::NOT_FOUND, "The answer is not kept any more: ask again.");
    };
    Sse::new(events(run.watch())).keep_alive(KeepAlive::default()).into_response()
}

/// One event a change; the last is `done`.
fn events(watch: watch::Receiver<Stage>) -> impl Stream<Item = Result<Event, Infallible>> {
    stream::unfold(Some(watch), |watch| async {
        let mut watch = watch?;
        let stage = watch.borrow_and_update().clone();
        let event = match stage {
            Stage::Waiting => Event::default().event("step").data("waiting for its turn"),
            Stage::Working(None) => Event::default().event("step").data("working"),
            Stage::Working(Some(it)) => {
                let percent = (100.0 * it.done as f64 / it.of.max(1) as f64).min(100.0);
                Event::default().event("step").data(format!("{percent:.0} %, {}", it.doing))
            }
            _ => return Some((Ok(Event::default().event("done").data("done")), None)),
        };
        let more = watch.changed().await.is_ok();
        Some((Ok(event), more.then_some(watch)))
    })
}

fn markup(state: &State, run: &Run, again: &str) -> String {
    let stage = run.watch().borrow().clone();
    match stage {
        Stage::Waiting | Stage::Working(_) => UnderWay { id: &run.id }.render().unwrap_or_default(),
        Stage::Stopped => "<p class=\"told\" role=\"status\">Stopped.</p>".into(),
        Stage::Failed(reason) => alert_markup(&reason),
        Stage::Answered(answer) => answered(state, run, &answer, again),
    }
}

fn answered(state: &State, run: &Run, answer: &Answer, again: &str) -> String {
    let has_files = state.questions.find(&run.question).is_some_and(|question| question.has_files);
    let ends = |name: &str, ending: &str| name.to_ascii_lowercase().ends_with(ending);
    let files = answer.files.iter().map(|name| FileRow {
        href: format!("/made/{}/{}", run.id, encoded(name)),
        is_page: ends(name, ".html") || ends(name, ".svg"),
        can_be_kept: crate::desk::folder::Name::of(name).is_ok(),
        name: name.clone(),
    });
    let pictures = answer.files.iter().filter(|name| ends(name, ".svg"));
    Answered {
        id: &run.id,
        sections: sections(&answer.text),
        told: answer.told.trim(),
        status: match answer.status {
            Some(0) => "done",
            _ => "failed",
        },
        pictures: pictures
            .map(|name| (format!("/made/{}/{}", run.id, encoded(name)), pictured(name)))
            .collect(),
        files: files.collect(),
        command: super::ask::command_of(&run.words, has_files),
        again: format!("ask/{}{again}", run.question),
    }
    .render()
    .unwrap_or_default()
}

/// What a picture shows, by its name, for who cannot see it.
fn pictured(name: &str) -> String {
    format!("picture: {}", name.trim_end_matches(".svg").replace('-', " "))
}

/// The text of a page in sections: a heading is a line with a line of hyphens or equals signs below it.
fn sections(text: &str) -> Vec<(String, String)> {
    let mut sections = vec![(String::new(), String::new())];
    let lines: Vec<&str> = text.lines().collect();
    let is_rule =
        |line: &str| line.len() > 2 && (line.chars().all(|it| it == '-') || line.chars().all(|it| it == '='));
    let mut at = 0;
    while at < lines.len() {
        match lines.get(at + 1).filter(|below| is_rule(below) && !lines[at].trim().is_empty()) {
            Some(_) => {
                sections.push((lines[at].trim().to_owned(), String::new()));
                at += 2;
            }
            None => {
                if let Some((_, body)) = sections.last_mut() {
                    *body += lines[at];
                    *body += "\n";
                }
                at += 1;
            }
        }
    }
    sections.retain(|(heading, body)| !heading.is_empty() || !body.trim().is_empty());
    sections.iter_mut().for_each(|(_, body)| *body = body.trim_matches('\n').to_owned());
    sections
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_cut_at_its_headings_and_nothing_is_lost() {
        let text = "Pair\n====\nfirst  1\n\nCautions\n--------\n- hot\n\n- x\n";
        let cut = sections(text);
        assert_eq!(cut, [("Pair".into(), "first  1".into()), ("Cautions".into(), "- hot\n\n- x".into())]);
        assert_eq!(sections("a\n---\n").len(), 1);
        assert_eq!(sections("x_m,y_m\n0,0\n"), [(String::new(), "x_m,y_m\n0,0".to_owned())]);
    }
}
