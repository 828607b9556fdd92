//! The style sheet, the scripts and the icon, which are part of the program.

use crate::desk::refusal::refusal;
use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};

/// One of these files, by name.
pub async fn asset(Path(name): Path<String>) -> Response {
    let (kind, text) = match name.as_str() {
        "desk.css" => ("text/css; charset=utf-8", include_str!("../assets/desk.css")),
        "desk.js" => ("text/javascript; charset=utf-8", include_str!("../assets/desk.js")),
        "htmx.js" => ("text/javascript; charset=utf-8", include_str!("../assets/htmx-4.0.1.min.js")),
        "icon.svg" => ("image/svg+xml", include_str!("../assets/icon.svg")),
        _ => return refusal(StatusCode::NOT_FOUND, "There is no such file."),
    };
    ([(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, "max-age=600")], text).into_response()
}
