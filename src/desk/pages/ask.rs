//! The page of a question: its form, and the run that a filled form starts.

use super::frame::{Here, Shared, alert, page as whole_page, query};
use super::tools::Tools;
use crate::desk::address::encoded;
use crate::desk::folder::{Entry, Kind};
use crate::desk::forms::{Field, Filled, Input, Question, Suits, typed};
use crate::desk::live::Set;
use crate::desk::refusal::refusal;
use crate::desk::runs::{Asked, NotBegun, Run};
use crate::desk::session::PAGE_HEADER;
use crate::desk::state::State;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{Html, IntoResponse, Response};

/// The page of a question.
#[derive(Template)]
#[template(path = "ask.html")]
struct Ask<'a> {
    question: &'a Question,
    /// Fields that must be filled in or are shown first, then the other ones.
    needed: Vec<Shown<'a>>,
    more: Vec<Shown<'a>>,
    /// Whether any of the other fields is filled in.
    is_open: bool,
    /// Whether everything needed is filled in, so that the question can be answered at once.
    is_whole: bool,
    /// Chosen files that this form has no field for. They are kept for the next form.
    carried: Vec<&'a (String, String)>,
    /// Address and link text of the bench's page, where everything can be moved while the answer is watched.
    bench: Option<(String, &'static str)>,
    /// Earlier results of this question.
    results: Vec<Kept>,
    /// For “Heat”: the largest current of the slider.
    most_ampere: Option<String>,
}

impl Ask<'_> {
    /// Whether the runs of a table are listed to be ticked.
    fn ticks_runs(&self) -> bool {
        self.question.command == "weigh"
    }

    /// Whether files may be dropped on the page.
    fn takes_files(&self) -> bool {
        self.question.command == "compare"
    }
}

/// An earlier result: its number, when it was asked for, the command, and the names of its files.
struct Kept {
    id: String,
    age: String,
    command: String,
    files: Vec<String>,
}

impl Kept {
    fn of(run: &Run) -> Self {
        Self { id: run.id.clone(), age: run.age(), command: typed(&run.words), files: run.files() }
    }
}

/// Largest number of earlier results that are listed.
const MOST_RESULTS: usize = 12;

/// A field as it is shown.
struct Shown<'a> {
    field: &'a Field,
    /// The values filled in.
    values: Vec<&'a str>,
    files: Vec<Choice>,
}

struct Choice {
    name: String,
    /// Title of the file; empty if it has none.
    title: String,
    suits: bool,
    is_chosen: bool,
}

impl Shown<'_> {
    /// The chosen files, with the name of the field.
    fn chosen(&self) -> Vec<(String, String)> {
        let chosen = self.files.iter().filter(|file| file.is_chosen);
        chosen.map(|file| (self.field.id.clone(), file.name.clone())).collect()
    }

    fn lines(&self) -> String {
        self.values.join("\n")
    }

    fn value(&self) -> &str {
        self.values.first().copied().unwrap_or_default()
    }

    /// Whether the folder has files that hardly suit this field.
    fn has_unlikely_files(&self) -> bool {
        self.files.iter().any(|file| !file.suits)
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

/// The page, filled in from the address.
pub async fn page(
    state: Shared,
    Path(command): Path<String>,
    Query(filled): Query<Vec<(String, String)>>,
) -> Response {
    let Some(question) = state.questions.find(&command) else {
        return super::missing(&state, "There is no such question.");
    };
    let entries = state.folder.list().map(|(entries, _)| entries).unwrap_or_default();
    // The day of a certificate or an entry is today's unless another one is meant.
    let mut filled = filled;
    let has = |id: &str| filled.iter().any(|(key, value)| key == id && !value.is_empty());
    // A check without a register takes no date.
    let is_undated = needs_date(&command) && !has("date") && (command != "check" || has("register"));
    let is_unset = command == "orbit" && !has("gun_voltage") && !has("current");
    if is_undated {
        filled.push(("date".into(), super::files::day(std::time::SystemTime::now())));
    }
    if is_unset {
        filled.extend(usual_setting(&state, question, &filled, &entries));
    }
    let shown: Vec<Shown> = question.fields.iter().map(|field| shown(field, &filled, &entries)).collect();
    let is_whole = shown
        .iter()
        .all(|it| !it.field.needed || !it.values.is_empty() || it.files.iter().any(|file| file.is_chosen));
    // The files in the form with their fields, including those chosen because only one suits.
    let mut chosen: Vec<(String, String)> = shown.iter().flat_map(Shown::chosen).collect();
    let carried: Vec<_> = filled.iter().filter(|(id, _)| is_carried(&state, question, id)).collect();
    chosen.extend(carried.iter().map(|pair| (*pair).clone()));
    let is_shown_first = |it: &Shown| is_first(it.field) || (it.field.id == "date" && needs_date(&command));
    let (needed, more): (Vec<_>, Vec<_>) = shown.into_iter().partition(is_shown_first);
    let is_open = more.iter().any(|it| !it.values.is_empty());
    let bench = spec_of(&chosen).and_then(|spec| moved_on_the_bench(&command, spec));
    let most_ampere = (command == "heat").then(|| super::held::most_ampere(&state, spec_of(&chosen)));
    let answered = state.runs.answered(&command);
    let results = answered.iter().take(MOST_RESULTS).map(|run| Kept::of(run)).collect();
    let body =
        Ask { question, needed, more, is_open, is_whole, carried, bench, results, most_ampere }.render();
    // The form as it stands: what the address says, and the files that were chosen because no other suits.
    let mut whole = filled.clone();
    whole.extend(chosen.iter().filter(|pair| !filled.contains(pair)).cloned());
    let (path, tools) = offered(&state, question, &whole, &chosen);
    let here = Here { path, chosen, tools: Some(tools), shows: None };
    match body {
        Ok(body) => whole_page(&state, question.title, &here, body),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// The address of a question's page with its form filled so, and what the page offers.
fn offered(state: &State, question: &Question, filled: &Filled, chosen: &Filled) -> (String, Tools) {
    let path = format!("ask/{}{}", question.command, query(filled));
    let names: Vec<String> = chosen.iter().map(|(_, name)| name.clone()).collect();
    let mut tools = Tools::of(state, &path);
    if !names.is_empty() {
        tools = tools.about(state, &names);
    }
    let has = |id: &str| filled.iter().any(|(key, value)| key == id && !value.trim().is_empty());
    let is_whole = question.fields.iter().all(|field| !field.needed || has(&field.id));
    let words = question.call(filled).ok().filter(|_| is_whole).map(|call| call.words);
    let words = words.map(|words| super::result::command_of(&words, question.has_files));
    let help = || vec![question.command.clone(), "--help".into()];
    (path, tools.by(&words.unwrap_or_else(help)))
}

/// What the page offers while its form is being filled in.
pub async fn tools(
    state: Shared,
    Path(command): Path<String>,
    Form(filled): Form<Vec<(String, String)>>,
) -> Response {
    let Some(question) = state.questions.find(&command) else {
        return refusal(StatusCode::NOT_FOUND, "There is no such question.");
    };
    let is_chosen = |pair: &&(String, String)| !pair.1.is_empty() && state.questions.is_file(&pair.0);
    let chosen: Vec<_> = filled.iter().filter(is_chosen).cloned().collect();
    Html(offered(&state, question, &filled, &chosen).1.markup()).into_response()
}

/// Whether a field chooses a file in some other form but is not in this one.
fn is_carried(state: &State, question: &Question, id: &str) -> bool {
    question.fields.iter().all(|field| field.id != id) && state.questions.is_file(id)
}

/// A setting of the beam to begin with, for the spec that the form starts with.
fn usual_setting(
    state: &State,
    question: &Question,
    filled: &Filled,
    entries: &[Entry],
) -> Vec<(String, String)> {
    let field = question.fields.iter().find(|field| field.id == "spec");
    let chosen = field.map(|field| shown(field, filled, entries).chosen()).unwrap_or_default();
    let bench = spec_of(&chosen).and_then(|spec| super::held::bench_of(state, spec).ok());
    let set = bench.filter(|bench| bench.tube_with_beam().is_ok()).map(|bench| Set::usual(&bench));
    set.map(|set| vec![("gun_voltage".into(), set.gun_voltage), ("current".into(), set.current)])
        .unwrap_or_default()
}

/// Whether the question writes a certificate or an entry of a register, which bears a date.
fn needs_date(command: &str) -> bool {
    matches!(command, "calibrate" | "register" | "check")
}

fn spec_of(chosen: &[(String, String)]) -> Option<&str> {
    chosen.iter().find(|(id, _)| id == "spec").map(|(_, name)| name.as_str())
}

/// Address and link text of the page on which everything on the bench can be moved while this question's answer is
/// watched. `None` for other questions.
fn moved_on_the_bench(command: &str, spec: &str) -> Option<(String, &'static str)> {
    let (see, words) = match command {
        "uniformity" | "map" => ("map", "Move coils, tube and beam and watch the lines move"),
        "orbit" => ("beam", "Move everything on the bench and watch the beam"),
        _ => return None,
    };
    Some((format!("/file/{}?see={see}", encoded(spec)), words))
}

/// Whether a field is among those shown first: needed fields, files, and a few others.
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

/// The files offered by a field, suitable ones first. If the field is needed and only one file suits, that one is
/// chosen.
fn choices(field: &Field, suits: Suits, values: &[&str], entries: &[Entry]) -> Vec<Choice> {
    let mut files: Vec<Choice> = entries
        .iter()
        .filter(|entry| entry.kind != Kind::Page)
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

/// Starts a run. If the form is wrong, says what is wrong with it.
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
    let again = query(&filled);
    let asked = Asked { question: &command, page, again: &again, has_files: question.has_files };
    match state.runs.begin(call, &asked, &state.folder) {
        Ok(run) => super::result::shown(&state, &run, &again).await,
        Err(NotBegun(reason)) => alert(&reason),
    }
}
