//! Answers that refuse a request.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use coilwright::paper::markup::escaped;

/// An error status with one sentence.
pub fn refusal(status: StatusCode, reason: &str) -> Response {
    let body = format!(
        "<!doctype html><html lang=\"en\"><title>Not done</title><p role=\"alert\">{}</p></html>\n",
        escaped(reason)
    );
    (status, [(header::CONTENT_TYPE, "text/html; charset=utf-8")], body).into_response()
}
