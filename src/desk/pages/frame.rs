//! The frame around every page, and what the pages share.

use super::tools::Tools;
use crate::desk::address::encoded;
use crate::desk::folder::{Kind, Name, Table};
use crate::desk::forms::{Filled, GROUPS, Titled};
use crate::desk::refusal::refusal;
use crate::desk::state::State;
use askama::Template;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use coilwright::paper::markup::escaped;
use std::sync::Arc;

/// The state as handlers receive it.
pub type Shared = axum::extract::State<Arc<State>>;

/// The frame around every page.
#[derive(Template)]
#[template(path = "layout.html")]
struct Layout<'a> {
    title: &'a str,
    folder: String,
    /// What is to be told about the folder, if it is not where it was.
    moved: &'static str,
    page_token: String,
    groups: Vec<NavGroup>,
    body: String,
    tools: Option<String>,
    /// The runs under way, as markup.
    running: String,
}

/// A page: its address, the files that it is about, and what it offers.
pub struct Here {
    /// The address, without the leading slash.
    pub path: String,
    /// The files with the fields that choose them. Every other question starts with these files.
    pub chosen: Vec<(String, String)>,
    pub tools: Option<Tools>,
    /// The run that the page itself shows.
    pub shows: Option<String>,
}

impl Here {
    /// A page that is about no file.
    pub fn at(path: &str) -> Self {
        Self { path: path.into(), chosen: Vec::new(), tools: None, shows: None }
    }
}

struct NavGroup {
    title: &'static str,
    links: Vec<NavLink>,
}

struct NavLink {
    title: &'static str,
    href: String,
    is_here: bool,
}

/// A whole page around `body`, which is markup already.
pub fn page(state: &State, title: &str, here: &Here, body: String) -> Response {
    let Ok(page_token) = state.session.page_token() else {
        return refusal(StatusCode::INTERNAL_SERVER_ERROR, "The system gives no random numbers.");
    };
    let place = here.path.split('?').next().unwrap_or_default();
    let chosen = query(&here.chosen);
    let groups = GROUPS
        .iter()
        .map(|group| NavGroup {
            title: group.title,
            links: group
                .questions
                .iter()
                .map(|question| NavLink {
                    title: question.title,
                    href: format!("/ask/{}{chosen}", question.command),
                    is_here: place == format!("ask/{}", question.command),
                })
                .collect(),
        })
        .collect();
    let folder = state.folder.path().display().to_string();
    let tools = here.tools.as_ref().map(Tools::markup);
    let running = super::running::of_page(state, here.shows.as_deref());
    let moved = state.folder.whereabouts().sentence().unwrap_or_default();
    rendered(&Layout { title, folder, moved, page_token, groups, body, tools, running })
}

/// The query that fills a form with these values again.
pub fn query(filled: &Filled) -> String {
    let pairs: Vec<String> = filled
        .iter()
        .filter(|(_, value)| !value.trim().is_empty())
        .map(|(id, value)| format!("{}={}", encoded(id), encoded(value)))
        .collect();
    if pairs.is_empty() { String::new() } else { format!("?{}", pairs.join("&")) }
}

/// The page shown in place of one that does not exist.
pub fn missing(state: &State, reason: &str) -> Response {
    let mut response = page(state, "Not there", &Here::at(""), alert_markup(reason));
    *response.status_mut() = StatusCode::NOT_FOUND;
    response
}

/// A rendered page, or part of a page.
pub fn rendered(template: &impl Template) -> Response {
    match template.render() {
        Ok(text) => Html(text).into_response(),
        // Writing to a string fails only if memory runs out.
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// Makes an answer that takes processor time or waits for the disk. It is made away from the server's own threads, a
/// few at a time. The permit is held until the work is done, even if nobody waits for the answer any more.
pub async fn in_turn(state: &Shared, make: impl FnOnce(&State) -> Response + Send + 'static) -> Response {
    let desk = Arc::clone(state);
    let Ok(turn) = Arc::clone(&state.turns).acquire_owned().await else {
        return refusal(StatusCode::SERVICE_UNAVAILABLE, "The desk is ending.");
    };
    let made = tokio::task::spawn_blocking(move || {
        let made = make(&desk);
        drop(turn);
        made
    });
    made.await.unwrap_or_else(|_| refusal(StatusCode::INTERNAL_SERVER_ERROR, "The answer could not be made."))
}

/// A refusal shown within a page, in place of what was asked for.
pub fn alert(reason: &str) -> Response {
    Html(alert_markup(reason)).into_response()
}

pub fn alert_markup(reason: &str) -> String {
    format!("<p class=\"alert\" role=\"alert\">{}</p>", escaped(reason))
}

/// Escapes a text of several lines and keeps its line breaks.
pub fn lines(text: &str) -> String {
    text.split('\n').map(escaped).collect::<Vec<_>>().join("\n")
}

/// Escapes a text for a field in which it is edited: every character is preserved.
pub fn exact(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('\r', "&#13;")
}

/// Names with values, as markup.
#[derive(Template)]
#[template(
    ext = "html",
    source = "<dl class=\"facts\">{% for fact in facts %}<dt>{{ fact.0 }}</dt><dd>{{ fact.1 }}</dd>{% endfor %}</dl>"
)]
struct Facts<'a> {
    facts: &'a [(&'static str, String)],
}

/// Names with values, as markup.
pub fn facts_markup(facts: &[(&'static str, String)]) -> String {
    Facts { facts }.render().unwrap_or_default()
}

/// Checks a file name from an address.
pub fn named(text: &str) -> Result<Name, Box<Response>> {
    Name::of(text).map_err(|reason| Box::new(refusal(StatusCode::BAD_REQUEST, &reason)))
}

/// Checks the name of a file to be shown, which may be a page or a picture.
pub fn named_to_show(text: &str) -> Result<Name, Box<Response>> {
    Name::shown(text).map_err(|reason| Box::new(refusal(StatusCode::BAD_REQUEST, &reason)))
}

/// The field that chooses a file of this kind, and the questions that a user would ask about it.
fn asked_about(kind: &Kind) -> Option<(&'static str, &'static [&'static str])> {
    Some(match kind {
        Kind::Spec(_) => {
            ("spec", &["sheet", "map", "heat", "calibrate", "orbit", "lesson", "build", "accept"])
        }
        Kind::Quote(_) => ("quotes", &["compare"]),
        Kind::Wishes(_) => ("wanted", &["size", "tender"]),
        Kind::Measurements(_) => ("measured", &["identify", "accept", "check"]),
        Kind::SupplierLimits(_) => ("supplier_limits", &["accept"]),
        Kind::Calibration => ("calibration", &["weigh", "orbit"]),
        Kind::Register => ("register", &["register"]),
        Kind::Table(Table::Readings) => ("readings", &["calibrate"]),
        Kind::Table(Table::Runs) => ("runs", &["weigh"]),
        Kind::Table(Table::WarmUp) => ("warm_up", &["heat"]),
        Kind::Table(Table::Points) => ("points", &["field"]),
        Kind::Table(Table::Result | Table::Unknown) | Kind::Page | Kind::Other => return None,
    })
}

/// A file with the field that chooses it. Empty if no single field does.
pub fn chosen_as(name: &Name, kind: &Kind) -> Vec<(String, String)> {
    asked_about(kind).map(|(field, _)| (field.to_owned(), name.to_string())).into_iter().collect()
}

/// Address and title of each question that a user would ask about a file of this kind.
pub fn questions_about(name: &Name, kind: &Kind) -> Vec<(String, &'static str)> {
    // A workbook may be a quote, the form of what was ordered, or measurements; what it holds is told where it is read.
    let is_workbook = [".xlsx", ".ods"].iter().any(|ending| name.as_str().to_lowercase().ends_with(ending));
    let fields = match asked_about(kind) {
        Some(asked) => vec![asked],
        None if is_workbook && *kind == Kind::Table(Table::Unknown) => {
            vec![("quotes", &["compare"][..]), ("spec", &["accept"]), ("measured", &["identify"])]
        }
        None => return Vec::new(),
    };
    let titled = GROUPS.iter().flat_map(|group| group.questions);
    let of = |titled: &Titled| {
        let field = fields.iter().find(|(_, commands)| commands.contains(&titled.command))?.0;
        let address = format!("/ask/{}?{field}={}", titled.command, encoded(name.as_str()));
        Some((address, titled.title))
    };
    titled.filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::folder::{About, Health};
    use crate::desk::forms::{Input, Questions};

    #[test]
    fn every_question_offered_beside_a_file_has_a_field_for_it() {
        let questions = Questions::of(&crate::program::definitions());
        let about = || About { title: None, health: Health::Right };
        let kinds = [
            Kind::Spec(about()),
            Kind::Quote(about()),
            Kind::Wishes(about()),
            Kind::Measurements(about()),
            Kind::SupplierLimits(about()),
            Kind::Calibration,
            Kind::Register,
            Kind::Table(Table::Readings),
            Kind::Table(Table::Runs),
            Kind::Table(Table::WarmUp),
            Kind::Table(Table::Points),
        ];
        let kinds = kinds.map(|kind| ("a b.json", kind)).into_iter();
        for (file, kind) in kinds.chain([("a b.xlsx", Kind::Table(Table::Unknown))]) {
            let offered = questions_about(&Name::of(file).unwrap(), &kind);
            assert!(!offered.is_empty(), "{kind:?}");
            for (address, title) in offered {
                let (command, filled) = address.strip_prefix("/ask/").unwrap().split_once('?').unwrap();
                let field = filled.strip_suffix(&format!("={}", encoded(file))).unwrap();
                let question = questions.find(command).unwrap();
                let field = question.fields.iter().find(|it| it.id == field);
                let field = field.unwrap_or_else(|| panic!("{title}: {filled}"));
                // The form then shows the file among those that suit.
                let (Input::File { suits } | Input::Files { suits }) = field.input else { panic!("{title}") };
                assert!(suits.suit(&kind), "{title}: {filled}");
            }
        }
    }
}
