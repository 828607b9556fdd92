//! What every page has around it, and what pages share.

use crate::desk::address::encoded;
use crate::desk::folder::{Kind, Name};
use crate::desk::forms::GROUPS;
use crate::desk::refusal::refusal;
use crate::desk::state::State;
use askama::Template;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use coilwright::paper::markup::escaped;
use std::sync::Arc;

/// The state as handlers take it.
pub type Shared = axum::extract::State<Arc<State>>;

/// What every page has around it.
#[derive(Template)]
#[template(path = "layout.html")]
struct Layout<'a> {
    title: &'a str,
    /// Where the page is, without the leading slash.
    path: &'a str,
    folder: String,
    page_token: String,
    groups: Vec<NavGroup>,
    body: String,
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

/// A whole page around this body, which is markup already.
pub fn page(state: &State, title: &str, path: &str, body: String) -> Response {
    let Ok(page_token) = state.session.page_token() else {
        return refusal(StatusCode::INTERNAL_SERVER_ERROR, "The system gives no random numbers.");
    };
    let here = path.split('?').next().unwrap_or_default();
    let groups = GROUPS
        .iter()
        .map(|group| NavGroup {
            title: group.title,
            links: group
                .questions
                .iter()
                .map(|question| NavLink {
                    title: question.title,
                    href: format!("/ask/{}", question.command),
                    is_here: here == format!("ask/{}", question.command),
                })
                .collect(),
        })
        .collect();
    let folder = state.folder.path().display().to_string();
    rendered(&Layout { title, path, folder, page_token, groups, body })
}

/// The page in place of one that is not there.
pub fn missing(state: &State, reason: &str) -> Response {
    let mut response = page(state, "Not there", "", alert_markup(reason));
    *response.status_mut() = StatusCode::NOT_FOUND;
    response
}

/// A page or a part of one.
pub fn rendered(template: &impl Template) -> Response {
    match template.render() {
        Ok(text) => Html(text).into_response(),
        // Writing into a text fails only where memory does.
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// The same within a page, in place of what was asked for.
pub fn alert(reason: &str) -> Response {
    Html(alert_markup(reason)).into_response()
}

pub fn alert_markup(reason: &str) -> String {
    format!("<p class=\"alert\" role=\"alert\">{}</p>", escaped(reason))
}

/// A text of several lines as markup: harmless, its lines kept.
pub fn lines(text: &str) -> String {
    text.split('\n').map(escaped).collect::<Vec<_>>().join("\n")
}

/// A text as the markup of a place where it is edited: every character stays what it is.
pub fn exact(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('\r', "&#13;")
}

/// A name from an address.
pub fn named(text: &str) -> Result<Name, Box<Response>> {
    Name::of(text).map_err(|reason| Box::new(refusal(StatusCode::BAD_REQUEST, &reason)))
}

/// The questions that one would ask about a file of this kind: the address and the title of each.
pub fn questions_about(name: &Name, kind: &Kind) -> Vec<(String, &'static str)> {
    let (field, commands): (&str, &[&str]) = match kind {
        Kind::Spec(_) => ("spec", &["sheet", "map", "heat", "calibrate", "orbit", "lesson", "build"]),
        Kind::Quote(_) => ("quotes", &["compare"]),
        Kind::Wishes(_) => ("wanted", &["size", "tender"]),
        Kind::Measurements(_) => ("measured", &["identify", "accept", "check"]),
        Kind::SupplierLimits(_) => ("supplier_limits", &["accept"]),
        Kind::Calibration => ("calibration", &["weigh", "orbit"]),
        Kind::Register => ("register", &["register"]),
        Kind::Table | Kind::Other => return Vec::new(),
    };
    let titled = GROUPS.iter().flat_map(|group| group.questions);
    titled
        .filter(|titled| commands.contains(&titled.command))
        .map(|titled| (format!("/ask/{}?{field}={}", titled.command, encoded(name.as_str())), titled.title))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::folder::{About, Health};
    use crate::desk::forms::Questions;

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
        ];
        for kind in kinds {
            let offered = questions_about(&Name::of("a b.json").unwrap(), &kind);
            assert!(!offered.is_empty(), "{kind:?}");
            for (address, title) in offered {
                let (command, filled) = address.strip_prefix("/ask/").unwrap().split_once('?').unwrap();
                let field = filled.strip_suffix("=a%20b.json").unwrap();
                let question = questions.find(command).unwrap();
                assert!(question.fields.iter().any(|it| it.id == field), "{title}: {field}");
            }
        }
    }
}
