//! One question: its form, and the run that a filled form begins.

use super::frame::{Shared, alert, page as whole_page};
use crate::desk::address::encoded;
use crate::desk::folder::Entry;
use crate::desk::forms::{Field, Filled, Input, Question, Suits};
use crate::desk::refusal::refusal;
use crate::desk::runs::NotBegun;
use crate::desk::session::PAGE_HEADER;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::Response;

/// The page of a question.
#[derive(Template)]
#[template(path = "ask.html")]
struct Ask<'a> {
    question: &'a Question,
    /// What must be filled in, and what may be.
    needed: Vec<Shown<'a>>,
    more: Vec<Shown<'a>>,
    /// Whether an option that need not be filled in is.
    is_open: bool,
    /// Whether the form is whole, so that it can be answered at once.
    is_whole: bool,
}

/// One field as it is shown.
struct Shown<'a> {
    field: &'a Field,
    /// What is filled in.
    values: Vec<&'a str>,
    files: Vec<Choice>,
}

struct Choice {
    name: String,
    /// The file's title, where it has one.
    title: String,
    suits: bool,
    is_chosen: bool,
}

impl Shown<'_> {
    fn lines(&self) -> String {
        self.values.join("\n")
    }

    fn value(&self) -> &str {
        self.values.first().copied().unwrap_or_default()
    }

    fn kind(&self) -> &'static str {
        match self.field.input {
            Input::File { .. } if self.field.may_be_new => "file-or-new",
            Input::File { .. } => "file",
            Input::Files { .. } => "files",
            Input::NewFile => "new",
            Input::Switch => "switch",
            Input::Choice(_) => "choice",
            Input::Lines => "lines",
            Input::Text { .. } => "text",
        }
    }

    fn shown(&self) -> &str {
        match &self.field.input {
            Input::Text { shown } => shown,
            Input::NewFile => "name.json",
            _ => "",
        }
    }

    fn choices(&self) -> &[(String, String)] {
        match &self.field.input {
            Input::Choice(choices) => choices,
            _ => &[],
        }
    }
}

/// The page, with what the address fills in.
pub async fn page(
    state: Shared,
    Path(command): Path<String>,
    Query(filled): Query<Vec<(String, String)>>,
) -> Response {
    let Some(question) = state.questions.find(&command) else {
        return super::missing(&state, "There is no such question.");
    };
    let entries = state.folder.list().map(|(entries, _)| entries).unwrap_or_default();
    let shown: Vec<Shown> = question.fields.iter().map(|field| shown(field, &filled, &entries)).collect();
    let is_whole = shown
        .iter()
        .all(|it| !it.field.needed || !it.values.is_empty() || it.files.iter().any(|file| file.is_chosen));
    let (needed, more): (Vec<_>, Vec<_>) = shown.into_iter().partition(|it| is_first(it.field));
    let is_open = more.iter().any(|it| !it.values.is_empty());
    let body = Ask { question, needed, more, is_open, is_whole }.render();
    let path = format!("ask/{command}{}", query(&filled));
    match body {
        Ok(body) => whole_page(&state, question.title, &path, body),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// Files come first, and whatever must be filled in.
fn is_first(field: &Field) -> bool {
    field.needed
        || matches!(field.input, Input::File { .. } | Input::Files { .. })
        || matches!(field.id.as_str(), "current" | "gun_voltage" | "with_room")
}

fn shown<'a>(field: &'a Field, filled: &'a Filled, entries: &[Entry]) -> Shown<'a> {
    let values: Vec<&str> = filled
        .iter()
        .filter(|(id, value)| *id == field.id && !value.is_empty())
        .map(|(_, value)| value.as_str())
        .collect();
    let suits = match field.input {
        Input::File { suits } | Input::Files { suits } => Some(suits),
        _ => None,
    };
    Shown {
        files: suits.map(|suits| choices(field, suits, &values, entries)).unwrap_or_default(),
        field,
        values,
    }
}

/// The files that suit come first. Where only one can be meant it is chosen.
fn choices(field: &Field, suits: Suits, values: &[&str], entries: &[Entry]) -> Vec<Choice> {
    let mut files: Vec<Choice> = entries
        .iter()
        .map(|entry| Choice {
            name: entry.name.to_string(),
            title: entry.kind.about().and_then(|about| about.title.clone()).unwrap_or_default(),
            suits: suits.suit(&entry.kind),
            is_chosen: values.contains(&entry.name.as_str()),
        })
        .collect();
    files.sort_by_key(|file| (!file.suits, file.title.is_empty()));
    let only = files.iter().filter(|file| file.suits).count() == 1;
    if let Some(first) = files.first_mut().filter(|_| only && field.needed && values.is_empty()) {
        first.is_chosen = true;
    }
    files
}

/// Begins a run. Where the form is not right, says what is wrong with it.
pub async fn ask(
    state: Shared,
    Path(command): Path<String>,
    headers: HeaderMap,
    Form(filled): Form<Vec<(String, String)>>,
) -> Response {
    let Some(question) = state.questions.find(&command) else {
        return refusal(StatusCode::NOT_FOUND, "There is no such question.");
    };
    let call = match question.call(&filled) {
        Ok(call) => call,
        Err(wrong) => return alert(&format!("{}: {}", wrong.label, wrong.reason)),
    };
    let page = headers.get(PAGE_HEADER).and_then(|page| page.to_str().ok()).unwrap_or_default();
    match state.runs.begin(call, &command, page, question.has_files, &state.folder) {
        Ok(run) => super::result::shown(&state, &run, &query(&filled)).await,
        Err(NotBegun(reason)) => alert(&reason),
    }
}

/// The part of an address that fills the form so again.
fn query(filled: &Filled) -> String {
    let pairs: Vec<String> = filled
        .iter()
        .filter(|(_, value)| !value.trim().is_empty())
        .map(|(id, value)| format!("{}={}", encoded(id), encoded(value)))
        .collect();
    if pairs.is_empty() { String::new() } else { format!("?{}", pairs.join("&")) }
}
