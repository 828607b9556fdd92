//! The page of one file: its form and text, what is wrong with it, and the questions to ask about it.

use super::frame::{
    Here, Shared, alert, alert_markup, chosen_as, in_turn, named, named_to_show, page as whole_page,
    questions_about,
};
use super::tools::Tools;
use crate::desk::folder::{Health, Kind, Name, Replaces, Table, Tag, Unwritten};
use crate::desk::judged::Judged;
use crate::desk::live::Set;
use crate::desk::refusal::refusal;
use crate::desk::state::State;
use askama::Template;
use axum::body::Bytes;
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use coilwright::Document;
use coilwright::error::said_by_system;
use serde::Deserialize;
use std::time::{Duration, UNIX_EPOCH};

/// Most lines of a text that are seen at once.
const MOST_ROWS: usize = 40;

/// The page of a file.
#[derive(Template)]
#[template(path = "file.html")]
struct File {
    address: String,
    /// The contents that a save has replaced: when, the link to open them, and the address that restores them.
    earlier: Vec<(String, String, String)>,
    /// Links that download the file, and that open it if it is a page.
    download: String,
    opened: String,
    kind: &'static str,
    /// The text. `None` if the file is not text that is edited.
    text: Option<String>,
    /// Lines of the text that are seen at once.
    rows: usize,
    /// Whether the file is a page or a picture.
    is_page: bool,
    /// Whether the text is only shown: that of a register, which is never edited.
    is_fixed: bool,
    tag: String,
    questions: Vec<(String, &'static str)>,
    checked: String,
    /// The form as markup; empty if the file has none. With it the form's shape.
    form: String,
    shape: String,
    /// How the beam of a spec is shown. `None` for other files.
    beam: Option<Beam>,
    /// The part that asks for a point of the field, as markup.
    field_at: String,
    /// For readings of a calibration: the specs whose pair they may be fitted for, and whether each is chosen. `None`
    /// for other files.
    fits: Option<Vec<(String, bool)>>,
}

/// How a spec's picture starts: with the beam or the map, and the beam's setting.
struct Beam {
    is_seen: bool,
    /// Name, label and value of each setting.
    settings: [(&'static str, &'static str, String); 3],
}

impl Beam {
    fn of(text: &str, name: &str, is_seen: bool) -> Self {
        let set = match Judged::of(name, text).bench {
            Some(bench) => Set::usual(&bench),
            None => Set { gun_voltage: "200 V".into(), current: "1 A".into(), gun_tilt: "0 deg".into() },
        };
        let settings = [
            ("gun_voltage", "gun voltage", set.gun_voltage),
            ("current", "coil current", set.current),
            ("gun_tilt", "gun tilt", set.gun_tilt),
        ];
        Self { is_seen, settings }
    }
}

/// The query of the address: what to look at.
#[derive(Default, Deserialize)]
pub struct Looked {
    #[serde(default)]
    see: String,
}

/// The page.
pub async fn page(state: Shared, Path(name): Path<String>, Query(looked): Query<Looked>) -> Response {
    match named_to_show(&name) {
        Ok(name) => {
            in_turn(&state, move |desk| page_of(desk, &name, looked.see == super::typing::BEAM)).await
        }
        Err(refused) => *refused,
    }
}

fn page_of(state: &State, name: &Name, is_beam: bool) -> Response {
    let (bytes, tag) = match state.folder.read(name) {
        Ok(found) => found,
        Err(error) => {
            let reason = format!("{name} cannot be read: {}.", said_by_system(&error));
            let mut response = whole_page(state, name.as_str(), &Here::at(""), alert_markup(&reason));
            *response.status_mut() = StatusCode::NOT_FOUND;
            return response;
        }
    };
    let kind = Kind::of(name.as_str(), &bytes);
    let text = String::from_utf8(bytes).ok().filter(|text| kind != Kind::Page && !text.contains('\0'));
    let document = kind.document().zip(text.as_deref());
    let (form, shape) = document.map(|(kind, text)| super::typing::markup(kind, text)).unwrap_or_default();
    let checked = text.as_deref().map(|text| super::checked::of_file(name.as_str(), text));
    let spec = document.filter(|(kind, _)| *kind == Document::Spec);
    let beam = spec.map(|(_, text)| Beam::of(text, name.as_str(), is_beam));
    let address = crate::desk::address::encoded(name.as_str());
    let path = format!("file/{address}{}", if is_beam { "?see=beam" } else { "" });
    let here = Here {
        chosen: chosen_as(name, &kind),
        tools: Some(tools(state, name, &kind, &path)),
        path,
        shows: None,
    };
    let file = File {
        earlier: earlier_of(state, name),
        kind: kind.words(),
        download: state.session.keyed(&format!("/bytes/{address}")),
        opened: state.session.keyed(&format!("/kept/{address}")),
        is_page: kind == Kind::Page,
        is_fixed: kind == Kind::Register,
        rows: text.as_deref().map_or(0, |text| text.lines().count() + 2).clamp(8, MOST_ROWS),
        text,
        tag: tag.to_string(),
        questions: questions_about(name, &kind),
        checked: checked.unwrap_or_default(),
        form,
        shape,
        field_at: if beam.is_some() { super::field_at::without_picture(name) } else { String::new() },
        beam,
        fits: matches!(kind, Kind::Table(Table::Readings)).then(|| specs(state)),
        address: address.clone(),
    };
    match file.render() {
        Ok(body) => whole_page(state, name.as_str(), &here, body),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// The specs of the folder that are right; an only one is chosen.
fn specs(state: &State) -> Vec<(String, bool)> {
    let entries = state.folder.list().map(|(entries, _)| entries).unwrap_or_default();
    let is_spec = |kind: &Kind| {
        matches!(kind, Kind::Spec(_)) && kind.about().is_some_and(|about| about.health != Health::Wrong)
    };
    let specs: Vec<String> =
        entries.iter().filter(|entry| is_spec(&entry.kind)).map(|entry| entry.name.to_string()).collect();
    let is_only = specs.len() == 1;
    specs.into_iter().map(|name| (name, is_only)).collect()
}

fn tools(state: &State, name: &Name, kind: &Kind, path: &str) -> Tools {
    let tools = Tools::of(state, path).about(state, &[name.to_string()]);
    match kind {
        Kind::Register => tools.by(&["register".into(), name.to_string()]),
        _ if kind.document().is_some() => tools.by(&["check".into(), name.to_string()]),
        _ => tools,
    }
}

/// Most earlier contents that are listed.
const MOST_EARLIER: usize = 20;

fn earlier_of(state: &State, name: &Name) -> Vec<(String, String, String)> {
    let address = crate::desk::address::encoded(name.as_str());
    let times = state.folder.earlier(name).into_iter().take(MOST_EARLIER);
    let row = |time: u64| {
        let at = UNIX_EPOCH + Duration::from_millis(time);
        let (hour, minute) = (time / 3_600_000 % 24, time / 60_000 % 60);
        let when = format!("{} {hour:02}:{minute:02} UTC", super::files::day(at));
        let opened = state.session.keyed(&format!("/earlier/{address}/{time}"));
        (when, opened, format!("/do/restore/{address}/{time}"))
    };
    times.map(row).collect()
}

/// Earlier contents of a file, as a download.
pub async fn earlier(state: Shared, Path((name, time)): Path<(String, u64)>) -> Response {
    let name = match named(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    match state.folder.read_earlier(&name, time) {
        Ok(bytes) => super::made::attached(name.as_str(), bytes),
        Err(error) => {
            refusal(StatusCode::NOT_FOUND, &format!("They cannot be read: {}.", said_by_system(&error)))
        }
    }
}

/// Puts earlier contents of a file in the place of the present ones, which are kept.
pub async fn restore(state: Shared, Path((name, time)): Path<(String, u64)>) -> Response {
    let name = match named(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    let read = state.folder.read_earlier(&name, time).and_then(|then| Ok((then, state.folder.read(&name)?)));
    let (then, (_, tag)) = match read {
        Ok(read) => read,
        Err(error) => return alert(&format!("{name} was not restored: {}.", said_by_system(&error))),
    };
    match state.folder.write(&name, &then, &Replaces::Seen(tag)) {
        Ok(_) => super::files::gone_to(&format!("/file/{}", crate::desk::address::encoded(name.as_str()))),
        Err(error) => alert(&format!("{name} was not restored: {error}.")),
    }
}

/// The file itself, as a download.
pub async fn bytes(state: Shared, Path(name): Path<String>) -> Response {
    let name = match named_to_show(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    match state.folder.read(&name) {
        Ok((bytes, _)) => super::made::attached(name.as_str(), bytes),
        Err(error) => {
            refusal(StatusCode::NOT_FOUND, &format!("{name} cannot be read: {}.", said_by_system(&error)))
        }
    }
}

/// Writes the text. `If-Match` carries the tag of the contents that the writer has seen; `If-None-Match: *` asks for a
/// new file.
pub async fn save(state: Shared, Path(name): Path<String>, headers: HeaderMap, body: Bytes) -> Response {
    let name = match named(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    let said = |header: header::HeaderName| headers.get(header).and_then(|value| value.to_str().ok());
    let replaces = match (said(header::IF_MATCH), said(header::IF_NONE_MATCH)) {
        (Some(tag), None) => Replaces::Seen(Tag::said(tag)),
        (None, Some("*")) => Replaces::Nothing,
        _ => return refusal(StatusCode::PRECONDITION_REQUIRED, "Say what the file is to replace."),
    };
    let (desk, file) = (std::sync::Arc::clone(&state), name.clone());
    let written = tokio::task::spawn_blocking(move || desk.folder.write(&file, &body, &replaces)).await;
    match written {
        Ok(Ok(tag)) => {
            let told = state.folder.whereabouts().sentence().unwrap_or_default();
            ([(header::ETAG, format!("\"{tag}\""))], told).into_response()
        }
        Ok(Err(Unwritten::Taken | Unwritten::Changed)) => {
            // The page shows both versions: the writer's stays in it, and the other one comes with this answer.
            let there = state.folder.read(&name);
            let (bytes, tag) = there.unwrap_or_else(|_| (Vec::new(), Tag::of(b"")));
            let headers = [
                (header::ETAG, format!("\"{tag}\"")),
                (header::CONTENT_TYPE, "text/plain; charset=utf-8".into()),
            ];
            (StatusCode::PRECONDITION_FAILED, headers, String::from_utf8_lossy(&bytes).into_owned())
                .into_response()
        }
        Ok(Err(error)) => {
            let mut response = alert(&format!("{name} was not written: {error}."));
            *response.status_mut() = match error {
                Unwritten::Gone => StatusCode::NOT_FOUND,
                Unwritten::NoFolder => StatusCode::GONE,
                Unwritten::TooLarge => StatusCode::PAYLOAD_TOO_LARGE,
                Unwritten::NoRoom => StatusCode::INSUFFICIENT_STORAGE,
                _ => StatusCode::FORBIDDEN,
            };
            response
        }
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The file was not written."),
    }
}
