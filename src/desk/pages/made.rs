//! The files that runs made. What a program or a user wrote is shown in a place of its own, from which nothing of the
//! desk can be reached.

use super::frame::{Shared, in_turn};
use crate::desk::address::encoded;
use crate::desk::folder::{Folder, Name};
use crate::desk::refusal::refusal;
use crate::desk::runs::Run;
use axum::Form;
use axum::extract::{Path, Query};
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use coilwright::error::said_by_system;
use coilwright::paper::markup::escaped;
use serde::Deserialize;
use std::io::{Cursor, ErrorKind, Write};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// What a picture or a paper may do: show itself.
const PAPER: &str = "sandbox allow-modals; default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'";
/// What the page of a lesson may do: run, in an origin of its own, and load nothing. Its own policy is stricter still.
const LESSON: &str = "sandbox allow-scripts allow-modals allow-downloads; default-src 'none'; script-src 'unsafe-inline'; \
                      style-src 'unsafe-inline'; img-src data: blob:; frame-ancestors 'self'";

/// What a run printed, as its archive holds it.
const PRINTED: &str = "answer.txt";
/// Files of the folder in one archive at most, and their length together in bytes.
const MOST_PACKED: usize = 500;
const LONGEST_PACKED: usize = 64 << 20;
/// Files of one run in one archive, their length together in bytes.
const LONGEST_RUN_PACKED: usize = 256 << 20;

/// One file.
pub async fn file(state: Shared, Path((run, name)): Path<(String, String)>) -> Response {
    let Some(run) = state.runs.find(&run) else {
        return super::missing(&state, "The answer is not kept any more: ask again.");
    };
    let Ok(bytes) = run.read(&name) else {
        return super::missing(&state, "There is no such file.");
    };
    let shown = |kind: &'static str, policy: &'static str, bytes| {
        ([(header::CONTENT_TYPE, kind), (header::CONTENT_SECURITY_POLICY, policy)], bytes).into_response()
    };
    match name.rsplit('.').next().unwrap_or_default() {
        "svg" => shown("image/svg+xml", PAPER, bytes),
        "html" if name == "lesson.html" => shown("text/html; charset=utf-8", LESSON, bytes),
        "html" => shown("text/html; charset=utf-8", PAPER, bytes),
        "png" => shown("image/png", PAPER, bytes),
        _ => attached(&name, bytes),
    }
}

/// A file to be kept, never shown.
pub fn attached(name: &str, bytes: Vec<u8>) -> Response {
    let plain: String = name
        .chars()
        .map(|it| if it.is_ascii_alphanumeric() || "-_.".contains(it) { it } else { '_' })
        .collect();
    let disposition = format!("attachment; filename=\"{plain}\"; filename*=UTF-8''{}", encoded(name));
    let headers = [
        (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CONTENT_SECURITY_POLICY, "sandbox; default-src 'none'".into()),
    ];
    (headers, bytes).into_response()
}

/// All files of a run in one archive.
pub async fn archive(state: Shared, Path(run): Path<String>) -> Response {
    let Some(run) = state.runs.find(run.trim_end_matches(".zip")) else {
        return refusal(StatusCode::NOT_FOUND, "The answer is not kept any more: ask again.");
    };
    let name = format!("{}.zip", run.question);
    in_turn(&state, move |_| match packed(&run) {
        Ok(bytes) => attached(&name, bytes),
        Err(error) if error.kind() == ErrorKind::FileTooLarge => {
            let most = LONGEST_RUN_PACKED >> 20;
            let reason = format!("The files are longer than {most} MiB together: download them one by one.");
            refusal(StatusCode::PAYLOAD_TOO_LARGE, &reason)
        }
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The archive could not be made."),
    })
    .await
}

fn packed(run: &Run) -> std::io::Result<Vec<u8>> {
    let printed = run.answer().map(|answer| answer.text.clone()).unwrap_or_default();
    let mut files = vec![(PRINTED.to_owned(), printed.into_bytes())];
    let mut length = 0;
    for name in run.files() {
        let bytes = run.read(&name)?;
        length += bytes.len();
        if length > LONGEST_RUN_PACKED {
            return Err(ErrorKind::FileTooLarge.into());
        }
        files.push((name, bytes));
    }
    zipped(&files)
}

/// These files in one archive.
fn zipped(files: &[(String, Vec<u8>)]) -> std::io::Result<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive.start_file(name.as_str(), SimpleFileOptions::default())?;
        archive.write_all(bytes)?;
    }
    Ok(archive.finish()?.into_inner())
}

/// Files of the folder in one archive: those that the address names, or all that the desk shows.
pub async fn pack(state: Shared, Query(asked): Query<Vec<(String, String)>>) -> Response {
    in_turn(&state, move |desk| match packed_of(&desk.folder, &asked) {
        Ok(bytes) => attached("files.zip", bytes),
        Err(reason) => refusal(StatusCode::NOT_FOUND, &format!("The files cannot be packed: {reason}.")),
    })
    .await
}

fn packed_of(folder: &Folder, asked: &[(String, String)]) -> Result<Vec<u8>, String> {
    let system = |error: std::io::Error| said_by_system(&error);
    let names: Vec<Name> = match asked {
        [] => folder.list().map_err(system)?.0.into_iter().map(|entry| entry.name).collect(),
        _ => asked.iter().filter_map(|(_, name)| Name::of(name).ok()).collect(),
    };
    if names.len() > MOST_PACKED {
        return Err(format!("they are {} files, and {MOST_PACKED} go into one archive", names.len()));
    }
    let mut files = Vec::new();
    let mut length = 0;
    for name in names {
        let (bytes, _) = folder.read(&name).map_err(system)?;
        length += bytes.len();
        if length > LONGEST_PACKED {
            return Err(format!("they are longer than {} MiB together", LONGEST_PACKED >> 20));
        }
        files.push((name.to_string(), bytes));
    }
    zipped(&files).map_err(system)
}

/// The name that a file is kept under.
#[derive(Deserialize)]
pub struct Kept {
    name: String,
}

/// Puts a file into the folder, under a name that is free.
pub async fn keep(
    state: Shared,
    Path((run, name)): Path<(String, String)>,
    Form(kept): Form<Kept>,
) -> Response {
    let bytes = state.runs.find(&run).and_then(|run| run.read(&name).ok());
    match bytes {
        Some(bytes) => match super::files::write_new(&state, &kept.name, &bytes) {
            Ok(name) => Html(kept_markup(&name)).into_response(),
            Err(reason) => super::frame::alert(&reason),
        },
        None => refusal(StatusCode::NOT_FOUND, "The answer is not kept any more: ask again."),
    }
}

fn kept_markup(name: &Name) -> String {
    let (address, name) = (encoded(name.as_str()), escaped(name.as_str()));
    format!("<span role=\"status\">Kept in the folder as <a href=\"/file/{address}\">{name}</a>.</span>")
}
