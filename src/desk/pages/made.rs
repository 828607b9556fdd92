//! The files made by runs. A file that a program or a user wrote is shown in a sandbox from which nothing of the desk
//! can be reached.

use super::frame::{Shared, in_turn, named_to_show};
use crate::desk::address::encoded;
use crate::desk::folder::{Folder, Name, ending};
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

/// Policy for a picture or a paper: it may be shown and nothing else.
const PAPER: &str = "sandbox allow-modals; default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'self'";
/// Policy for a lesson's page: it may run in an origin of its own and load nothing. The page's own policy is stricter
/// still.
const LESSON: &str = "sandbox allow-scripts allow-modals allow-downloads; default-src 'none'; script-src 'unsafe-inline'; \
                      style-src 'unsafe-inline'; img-src data: blob:; frame-ancestors 'self'";

/// Name of the printed text in a run's archive.
const PRINTED: &str = "answer.txt";
/// Largest number of the folder's files in one archive, and their largest total length in bytes.
const MOST_PACKED: usize = 500;
const LONGEST_PACKED: usize = 64 << 20;
/// Largest total length of a run's files in one archive, in bytes.
const LONGEST_RUN_PACKED: usize = 256 << 20;

/// A file of a run.
pub async fn file(state: Shared, Path((run, name)): Path<(String, String)>) -> Response {
    let Some(run) = state.runs.find(&run) else {
        return super::missing(&state, "The answer is not kept any more: ask again.");
    };
    let Ok(bytes) = run.read(&name) else {
        return super::missing(&state, "There is no such file.");
    };
    in_a_sandbox(&name, bytes)
}

/// A page or picture that was kept in the folder.
pub async fn kept(state: Shared, Path(name): Path<String>) -> Response {
    let name = match named_to_show(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    match state.folder.read(&name) {
        Ok((bytes, _)) => in_a_sandbox(name.as_str(), bytes),
        Err(error) => super::missing(&state, &format!("{name} cannot be read: {}.", said_by_system(&error))),
    }
}

/// A page or picture, shown where nothing of the desk can be reached; anything else as a download.
fn in_a_sandbox(name: &str, bytes: Vec<u8>) -> Response {
    let shown = |kind: &'static str, policy: &'static str, bytes| {
        ([(header::CONTENT_TYPE, kind), (header::CONTENT_SECURITY_POLICY, policy)], bytes).into_response()
    };
    match ending(name).as_str() {
        "svg" => shown("image/svg+xml", PAPER, bytes),
        "html" if is_lesson(&bytes) => shown("text/html; charset=utf-8", LESSON, bytes),
        "html" => shown("text/html; charset=utf-8", PAPER, bytes),
        "png" => shown("image/png", PAPER, bytes),
        _ => attached(name, bytes),
    }
}

/// Whether a page is that of a lesson, whatever its name: before anything else it states the policy of such a page, by
/// which only the script of the stated digest runs.
fn is_lesson(bytes: &[u8]) -> bool {
    const POLICY: &str =
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'sha256-";
    let text = String::from_utf8_lossy(bytes);
    let policy = text.find(POLICY);
    policy.is_some_and(|at| {
        ["<script", "<body", "<style"].iter().all(|tag| text.find(tag).is_none_or(|it| it > at))
    })
}

/// A file as a download; it is never shown in the browser.
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

/// All files of a run as one archive.
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

/// These files as one archive.
fn zipped(files: &[(String, Vec<u8>)]) -> std::io::Result<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive.start_file(name.as_str(), SimpleFileOptions::default())?;
        archive.write_all(bytes)?;
    }
    Ok(archive.finish()?.into_inner())
}

/// Files of the folder as one archive: those named in the address, or all that the desk shows.
pub async fn pack(state: Shared, Query(asked): Query<Vec<(String, String)>>) -> Response {
    in_turn(&state, move |desk| match packed_of(&desk.folder, &asked) {
        Ok(bytes) => attached("files.zip", bytes),
        Err(reason) => refusal(StatusCode::NOT_FOUND, &format!("The files cannot be packed: {reason}.")),
    })
    .await
}

fn packed_of(folder: &Folder, asked: &[(String, String)]) -> Result<Vec<u8>, String> {
    let system = |error: std::io::Error| said_by_system(&error);
    // The link's own key is no file.
    let asked: Vec<_> = asked.iter().filter(|(id, _)| id == "file").collect();
    let names: Vec<Name> = match asked.as_slice() {
        [] => folder.list().map_err(system)?.0.into_iter().map(|entry| entry.name).collect(),
        _ => asked.iter().filter_map(|(_, name)| Name::shown(name).ok()).collect(),
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

/// The name under which a file is kept.
#[derive(Deserialize)]
pub struct Kept {
    name: String,
}

/// Saves a run's file in the folder under a free name.
pub async fn keep(
    state: Shared,
    Path((run, name)): Path<(String, String)>,
    Form(kept): Form<Kept>,
) -> Response {
    let bytes = state.runs.find(&run).and_then(|run| run.read(&name).ok());
    match bytes {
        Some(bytes) => match super::files::write_kept(&state, &name, &kept.name, &bytes) {
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
