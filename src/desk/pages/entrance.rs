//! Coming in and ending.

use super::frame::Shared;
use crate::desk::address::{decoded, encoded};
use crate::desk::refusal::refusal;
use axum::extract::Query;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use coilwright::paper::markup::escaped;
use serde::Deserialize;

/// What the opened address says.
#[derive(Deserialize)]
pub struct Entering {
    #[serde(default)]
    token: String,
    #[serde(default)]
    page: String,
}

/// Exchanges the token for the cookie. The next page is asked for by this one, not by a redirection: a strict cookie does
/// not come with a redirection that began elsewhere.
pub async fn enter(state: Shared, Query(entering): Query<Entering>) -> Response {
    if !state.session.enter(&entering.token) {
        let reason = "This address is used up or too old. Start the desk again for a new one.";
        return refusal(StatusCode::FORBIDDEN, reason);
    }
    let (path, query) = entering.page.split_once('?').unwrap_or((&entering.page, ""));
    // The address may have been copied from the desk, and then parts of it stand in per cent already.
    let again = |part: &str| encoded(&decoded(part));
    let part = |part: &str| if decoded(part).contains(['/', '\\']) { encoded(part) } else { again(part) };
    let path = path.split('/').map(part).filter(|part| !matches!(part.as_str(), "" | "." | ".."));
    let path: Vec<String> = path.collect();
    // The query has its own separators; everything else in it is put in per cent.
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

/// Ends the desk, after this answer.
pub async fn quit(state: Shared) -> Response {
    let state = std::sync::Arc::clone(&state);
    tokio::spawn(async move {
        tokio::time::sleep(std::time::Duration::from_millis(200)).await;
        state.end.notify_one();
    });
    Html("<p class=\"told\" role=\"status\">The desk is closed. This window may be closed too.</p>")
        .into_response()
}
