//! What is not answered.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use coilwright::paper::markup::escaped;

/// One sentence with a status: what was asked is not done.
pub fn refusal(status: StatusCode, reason: &str) -> Response {
    let body = format!(
        "<!doctype html><html lang=\"en\"><title>Not done</title><p role=\"alert\">{}</p></html>\n",
        escaped(reason)
    );
    (status, [(header::CONTENT_TYPE, "text/html; charset=utf-8")], body).into_response()
}
