//! The page of the folder: its files by kind, and how to add new ones.

use super::frame::{Here, Shared, alert_markup, in_turn, named, page as whole_page, questions_about};
use super::tools::Tools;
use crate::desk::folder::{Entry, Health, Kind, Name, Replaces, ending};
use crate::desk::judged_data;
use crate::desk::refusal::refusal;
use crate::desk::state::State;
use askama::Template;
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use coilwright::paper::markup::escaped;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::time::{SystemTime, UNIX_EPOCH};

/// The list of files.
#[derive(Template)]
#[template(path = "files.html")]
struct Files {
    groups: Vec<Group>,
    more: usize,
    /// What a new file can begin with: names and titles, in groups.
    templates: [(&'static str, Vec<(&'static str, &'static str)>); 2],
    has_menu: bool,
}

struct Group {
    kind: &'static str,
    rows: Vec<Row>,
}

struct Row {
    name: String,
    href: String,
    title: String,
    state: &'static str,
    state_text: String,
    changed: String,
    questions: Vec<(String, &'static str)>,
}

/// What a new file can begin with: name and title in the form, and the text.
type Beginning = (&'static str, &'static str, &'static str);

/// Forms to be filled in: what is needed or usual, and nothing in it. Checking points at every gap.
const BLANK: [Beginning; 8] = [
    ("blank-spec", "a spec", include_str!("../templates/spec.json")),
    ("blank-wishes", "wishes for a winding", include_str!("../templates/wishes.json")),
    (
        "blank-measurements",
        "measurements of a pair or a delivery",
        include_str!("../templates/measurements.json"),
    ),
    ("blank-limits", "a supplier's limits", include_str!("../templates/supplier-limits.json")),
    ("blank-readings", "readings of a calibration", include_str!("../templates/readings.csv")),
    ("blank-runs", "runs of a class", include_str!("../templates/runs.csv")),
    ("blank-warm-up", "a warm-up test", include_str!("../templates/warm-up.csv")),
    ("blank-points", "points of the field", include_str!("../templates/points.csv")),
];

/// Examples of one made-up college.
const EXAMPLES: [Beginning; 10] = [
    ("spec", "a spec", include_str!("../../../coil-specs/window-bench.json")),
    ("quote", "an unfinished quote", include_str!("../../../lab-files/quote-unfinished.json")),
    ("wishes", "wishes", include_str!("../../../lab-files/lessons.json")),
    ("measurements", "measurements of a delivery", include_str!("../../../lab-files/delivery.json")),
    ("cupboard", "measurements of a pair found", include_str!("../../../lab-files/cupboard-pair.json")),
    ("limits", "a supplier's limits", include_str!("../../../lab-files/supplier-limits.json")),
    ("readings", "readings of a calibration", include_str!("../../../lab-files/readings.csv")),
    ("runs", "runs of a class", include_str!("../../../lab-files/runs.csv")),
    ("warm-up", "a warm-up test", include_str!("../../../lab-files/warm-up.csv")),
    ("points", "points of the field", include_str!("../../../lab-files/points.csv")),
];

/// Makes the page.
fn page_of(state: &State) -> Response {
    let (entries, more) = match state.folder.list() {
        Ok(found) => found,
        Err(error) => {
            let reason = format!("The folder cannot be read: {}.", coilwright::error::said_by_system(&error));
            return whole_page(state, "Folder", &Here::at(""), alert_markup(&reason));
        }
    };
    let mut groups: BTreeMap<(usize, &'static str), Vec<Row>> = BTreeMap::new();
    for entry in entries {
        let is_right = is_right(state, &entry);
        let kind = (place_of(&entry.kind), entry.kind.words());
        groups.entry(kind).or_default().push(Row::of(entry, is_right));
    }
    let mut tools = Tools::of(state, "");
    if !groups.is_empty() {
        tools = tools.about(state, &[]);
    }
    let here = Here { tools: Some(tools), ..Here::at("") };
    let groups = groups.into_iter().map(|((_, kind), rows)| Group { kind, rows }).collect();
    let titled = |templates: &[Beginning]| templates.iter().map(|(name, title, _)| (*name, *title)).collect();
    let templates = [("to fill in", titled(&BLANK)), ("examples", titled(&EXAMPLES))];
    match (Files { groups, more, templates, has_menu: has_menu() }).render() {
        Ok(body) => whole_page(state, "Folder", &here, body),
        Err(_) => refusal(StatusCode::INTERNAL_SERVER_ERROR, "The page could not be made."),
    }
}

/// The place of a kind in the list: what one works with first.
fn place_of(kind: &Kind) -> usize {
    match kind {
        Kind::Spec(_) => 0,
        Kind::Quote(_) => 1,
        Kind::Wishes(_) | Kind::Measurements(_) | Kind::SupplierLimits(_) => 2,
        Kind::Table(_) => 3,
        Kind::Register | Kind::Calibration => 4,
        Kind::Page | Kind::Other => 5,
    }
}

/// The page.
pub async fn page(state: Shared) -> Response {
    page_of(&state)
}

impl Row {
    /// `is_right` is known of files that are no documents.
    fn of(entry: Entry, is_right: Option<bool>) -> Self {
        let about = entry.kind.about();
        let of_data = is_right.map(|is_right| if is_right { Health::Right } else { Health::Wrong });
        let (state, state_text) = match about.map(|about| &about.health).or(of_data.as_ref()) {
            Some(Health::Right) => ("right", "right".to_owned()),
            Some(Health::Warnings(1)) => ("warnings", "1 warning".into()),
            Some(Health::Warnings(count)) => ("warnings", format!("{count} warnings")),
            Some(Health::Unfinished) => ("warnings", "unfinished".into()),
            Some(Health::Wrong) => ("wrong", "wrong".into()),
            None => ("", String::new()),
        };
        Self {
            href: format!("/file/{}", crate::desk::address::encoded(entry.name.as_str())),
            title: about.and_then(|about| about.title.clone()).unwrap_or_default(),
            state,
            state_text,
            changed: entry.changed.map(day).unwrap_or_default(),
            questions: questions_about(&entry.name, &entry.kind),
            name: entry.name.to_string(),
        }
    }
}

/// Whether a table, a calibration or a register is right; `None` for other files, and for those too long to be read each
/// time that the folder is shown.
fn is_right(state: &State, entry: &Entry) -> Option<bool> {
    const LONGEST: usize = 1 << 18;
    if !matches!(entry.kind, Kind::Table(_) | Kind::Register | Kind::Calibration) {
        return None;
    }
    let name = entry.name.as_str();
    let (bytes, _) = state.folder.read(&entry.name).ok()?;
    let text = String::from_utf8(bytes).ok().filter(|text| text.len() <= LONGEST && !text.contains('\0'))?;
    let read = match &entry.kind {
        Kind::Table(table) => judged_data::table(name, &text, *table)?,
        Kind::Register => judged_data::register(&text),
        _ => judged_data::calibration(name, &text),
    };
    Some(read.is_right)
}

/// The date in UTC.
pub fn day(time: SystemTime) -> String {
    let seconds = time.duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs());
    let day = coilwright::numeric::calendar::Day::of_number((seconds / 86_400) as i64);
    day.map(|day| day.to_string()).unwrap_or_default()
}

/// The form for a new file.
#[derive(Deserialize)]
pub struct New {
    name: String,
    #[serde(default)]
    template: String,
    #[serde(default)]
    text: String,
}

/// Makes a file from an example or from pasted text.
pub async fn new(state: Shared, Form(new): Form<New>) -> Response {
    let template =
        BLANK.iter().chain(&EXAMPLES).find(|(name, ..)| *name == new.template).map(|(.., text)| *text);
    let text = match (new.text.trim().is_empty(), template) {
        (false, _) => new.text.replace("\r\n", "\n"),
        (true, Some(text)) => text.to_owned(),
        (true, None) => return super::frame::alert("Choose what the file begins with, or paste its text."),
    };
    match write_new(&state, &new.name, text.as_bytes()) {
        Ok(name) => gone_to(&format!("/file/{}?made=new", crate::desk::address::encoded(name.as_str()))),
        Err(reason) => super::frame::alert(&reason),
    }
}

/// Copies a file under a free name.
pub async fn copy(state: Shared, Path(name): Path<String>) -> Response {
    let name = match named(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    let (bytes, _) = match state.folder.read(&name) {
        Ok(found) => found,
        Err(error) => {
            return super::frame::alert(&format!(
                "{name} cannot be read: {}.",
                coilwright::error::said_by_system(&error)
            ));
        }
    };
    let (stem, ending) = name.as_str().rsplit_once('.').unwrap_or((name.as_str(), "json"));
    let free = (2..100).map(|number| format!("{stem} {number}.{ending}")).find(|free| {
        Name::of(free).is_ok_and(|free| state.folder.write(&free, &bytes, &Replaces::Nothing).is_ok())
    });
    match free {
        Some(free) => gone_to(&format!("/file/{}", crate::desk::address::encoded(&free))),
        None => super::frame::alert("No copy could be written."),
    }
}

/// Writes a new file that people write. A name without an ending gets that of the contents. Returns the name, or the
/// reason why the file was not written.
pub fn write_new(state: &State, name: &str, bytes: &[u8]) -> Result<Name, String> {
    let name = name.trim();
    let is_json = bytes.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'{');
    let ended = format!("{name}.{}", if is_json { "json" } else { "csv" });
    let named = match name.contains('.') || name.is_empty() {
        true => Name::of(name),
        false => Name::of(&ended),
    };
    written_as(state, named?, bytes)
}

/// Writes a file that a run made and that is named `made`. It keeps its ending, so that nothing else becomes a page.
pub fn write_kept(state: &State, made: &str, name: &str, bytes: &[u8]) -> Result<Name, String> {
    let name = name.trim();
    let name = if name.contains('.') || name.is_empty() {
        name.to_owned()
    } else {
        format!("{name}.{}", ending(made))
    };
    let name = Name::shown(&name)?;
    if ending(name.as_str()) != ending(made) {
        return Err(format!("The name of this file ends with .{}.", ending(made)));
    }
    written_as(state, name, bytes)
}

fn written_as(state: &State, name: Name, bytes: &[u8]) -> Result<Name, String> {
    match state.folder.write(&name, bytes, &Replaces::Nothing) {
        Ok(_) => Ok(name),
        Err(error) => Err(format!("{name} was not written: {error}.")),
    }
}

/// Puts the folder into the system's menu.
pub async fn menu_entry(state: Shared) -> Response {
    in_turn(&state, |desk| match crate::desk::opening::write_desktop_entry(desk.folder.path()) {
        Ok(path) => Html(format!(
            "<span class=\"told\">The system's menu has it now, under Science or Education. The entry is {}.</span>",
            escaped(&path.display().to_string())
        ))
        .into_response(),
        Err(error) => {
            let hint = error.hint().map(|hint| format!(": {hint}")).unwrap_or_default();
            super::frame::alert(&format!("The menu entry was not written: {error}{hint}."))
        }
    })
    .await
}

/// Whether the system has menus of the kind that entries are written for.
fn has_menu() -> bool {
    cfg!(all(unix, not(target_os = "macos")))
}

/// Sends the browser on to this address.
pub fn gone_to(address: &str) -> Response {
    (StatusCode::OK, [("hx-redirect", address.to_owned())], "").into_response()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::folder::{Contents, Table};
    use coilwright::Document;

    #[test]
    fn a_form_to_fill_in_is_of_its_kind_and_checking_points_at_its_gaps() {
        use Contents::{Document as Of, Table as Rows};
        let kinds = [
            Of(Document::Spec),
            Of(Document::Wishes),
            Of(Document::Measurements),
            Of(Document::SupplierLimits),
            Rows(Table::Readings),
            Rows(Table::Runs),
            Rows(Table::WarmUp),
            Rows(Table::Points),
        ];
        for ((name, _, text), kind) in BLANK.iter().zip(kinds) {
            let ending = if matches!(kind, Of(_)) { "json" } else { "csv" };
            let file = format!("{name}.{ending}");
            assert_eq!(Contents::of(&file, text), kind, "{name}");
            if let Of(document) = kind {
                let problems = crate::desk::judged::Judged::of(&file, text).problems;
                // The size of a wire is looked at once its build is known.
                let gaps = crate::desk::document_form::values(text)
                    .values()
                    .filter(|value| value.is_empty())
                    .count();
                assert!(document != Document::Spec || problems.len() + 1 >= gaps, "{name}: {problems:?}");
                assert!(!problems.is_empty(), "{name}");
            }
        }
    }
}
