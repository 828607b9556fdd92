//! Entering and closing the desk.

use super::frame::Shared;
use crate::desk::address::{decoded, encoded};
use crate::desk::refusal::refusal;
use axum::extract::Query;
use axum::http::{StatusCode, header};
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
        let reason = "This address is used up or too old. Start the desk again for a new one.";
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
