//! Entering and closing the desk.

use super::frame::Shared;
use crate::desk::address::{decoded, encoded};
use crate::desk::beside::{IS_USED, NEW_TOKEN, PROOF_HEADER};
use crate::desk::refusal::refusal;
use crate::desk::state::State;
use axum::extract::Query;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use coilwright::paper::markup::escaped;
use serde::Deserialize;

/// The query of the opened address.
#[derive(Deserialize)]
pub struct Entering {
    #[serde(default)]
    token: String,
    #[serde(default)]
    page: String,
}

/// Exchanges the token for the cookie. This answer is a page that goes on to the next one, not a redirect: a strict
/// cookie is not sent with a redirect that began on another site.
pub async fn enter(state: Shared, Query(entering): Query<Entering>) -> Response {
    if !state.session.enter(&entering.token) {
        let reason = "This address is used up or too old. Open the desk again from the system's menu, or with `coilwright \
                      desk` and the folder: the desk that runs is found again.";
        return refusal(StatusCode::FORBIDDEN, reason);
    }
    let (path, query) = entering.page.split_once('?').unwrap_or((&entering.page, ""));
    // The address may have been copied from the desk, and parts of it may then be percent-encoded already.
    let again = |part: &str| encoded(&decoded(part));
    let part = |part: &str| if decoded(part).contains(['/', '\\']) { encoded(part) } else { again(part) };
    let path = path.split('/').map(part).filter(|part| !matches!(part.as_str(), "" | "." | ".."));
    let path: Vec<String> = path.collect();
    // The separators of the query stay; everything else in it is percent-encoded.
    let query: Vec<String> = query
        .split('&')
        .filter(|pair| !pair.is_empty())
        .map(|pair| pair.split('=').map(again).collect::<Vec<_>>().join("="))
        .collect();
    let query = if query.is_empty() { String::new() } else { format!("?{}", query.join("&")) };
    let next = escaped(&format!("/{}{query}", path.join("/")));
    let body = format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>The desk</title><link rel=\"icon\" href=\"data:,\">\
         <meta http-equiv=\"refresh\" content=\"0;url={next}\"></head><body><p><a href=\"{next}\">To the desk</a></p></body></html>\n"
    );
    ([(header::SET_COOKIE, state.session.cookie())], Html(body)).into_response()
}

/// A new one-time token for a second call on the same folder.
pub async fn token(state: Shared, headers: HeaderMap) -> Response {
    match (asker(&state, NEW_TOKEN, &headers), state.session.new_token()) {
        (Some(number), Ok(token)) => state.bond.answer(number, &token).into_response(),
        _ => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The system gives no random numbers."),
    }
}

/// Whether the token that was given last is used.
pub async fn used(state: Shared, headers: HeaderMap) -> Response {
    let said = if state.session.is_entered() { "yes" } else { "no" };
    match asker(&state, IS_USED, &headers) {
        Some(number) => state.bond.answer(number, said).into_response(),
        None => refusal(StatusCode::FORBIDDEN, "Only a second call of the same user asks here."),
    }
}

fn asker<'a>(state: &State, address: &str, headers: &'a HeaderMap) -> Option<&'a str> {
    state.bond.number(address, headers.get(PROOF_HEADER)?.to_str().ok()?)
}

/// Ends the desk after this answer is sent.
pub async fn quit(state: Shared) -> Response {
    let state = std::sync::Arc::clone(&state);
    tokio::spawn(async move {
        tokio::time::sleep(std::time::Duration::from_millis(200)).await;
        state.end.notify_one();
    });
    Html("<p class=\"told\" role=\"status\">The desk is closed. This window may be closed too.</p>")
        .into_response()
}
