//! A document while it is edited. Its form and its text follow each other.

use super::checked;
use super::frame::{Shared, facts_markup, in_turn, lines, named};
use crate::desk::document_form::{can_be_read, form, values, with_field, without_item};
use crate::desk::folder::{Contents, Table};
use crate::desk::judged::Judged;
use crate::desk::live::{self, Misset, Set};
use crate::desk::state::State;
use askama::Template;
use axum::extract::Path;
use axum::response::{IntoResponse, Response};
use axum::{Form, Json};
use coilwright::Document;
use coilwright::error::ProblemRecord;
use coilwright::files::spec;
use coilwright::pair::Bench;
use coilwright::paper::{CanvasSteps, Figure};
use coilwright::questions::map::Detail;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Longest text for which a form is kept up to date, in bytes. A spec with every part filled in has about three
/// thousand.
pub const LONGEST_IN_A_FORM: usize = 32 << 10;

/// Told above the fields of a text that cannot be read.
const UNREAD: &str = "The text of the file cannot be read as it stands, so the fields are locked and nothing in it is changed \
                      by them. Mend the text at the place that is told, or undo.";
/// Told above the fields of a text that is too long for them.
const TOO_LONG: &str = "The text of the file is too long for a form: change it in the text.";
/// Told at a field whose place in the text holds something else than one value.
const NOT_IN_A_FIELD: &str = "the text has something here that a field cannot hold: change it in the text";

/// Value of `see` if the beam is looked at.
pub const BEAM: &str = "beam";

/// A part of a form as markup, with its nested parts.
#[derive(Template)]
#[template(path = "part.html")]
struct Shown<'a> {
    part: &'a crate::desk::document_form::Part,
    inner: Vec<String>,
    is_whole: bool,
}

/// The form of a document as markup, and a number that changes when the form gets other fields.
pub fn markup(kind: Document, text: &str) -> (String, String) {
    let form = form(kind, text);
    (shown(&form, true), form.shape().to_string())
}

fn shown(part: &crate::desk::document_form::Part, is_whole: bool) -> String {
    let inner = part.parts.iter().map(|part| shown(part, false)).collect();
    Shown { part, inner, is_whole }.render().unwrap_or_default()
}

/// What the page sends while the user types.
#[derive(Clone, Default, Deserialize)]
pub struct Typed {
    text: String,
    /// Pointer of the changed field. Empty if the text was edited.
    #[serde(default)]
    pointer: String,
    #[serde(default)]
    value: String,
    /// Pointer of the item of a list that is to be removed. Empty if none is.
    #[serde(default)]
    removes: String,
    /// The shape of the form that the page has.
    #[serde(default)]
    shape: String,
    /// Not empty if the data sheet is open.
    #[serde(default)]
    sheet: String,
    /// What is looked at: `beam`, or else the map.
    #[serde(default)]
    see: String,
    /// Not empty while a slider is held.
    #[serde(default)]
    dragged: String,
    #[serde(default)]
    gun_voltage: String,
    #[serde(default)]
    current: String,
    #[serde(default)]
    gun_tilt: String,
    /// The spec whose pair the readings of a table are fitted for.
    #[serde(default)]
    spec: String,
}

/// What the page shows in return.
#[derive(Default, Serialize)]
pub struct Seen {
    /// The text with the field's value in it.
    text: String,
    /// What is wrong with the document, as markup.
    checked: String,
    /// Why the fields cannot show the text, as a sentence. Empty if they do.
    unread: &'static str,
    /// The form as markup, with its shape, if the text asks for other fields than the page has.
    form: Option<(String, String)>,
    /// The value of each field, by its pointer.
    values: BTreeMap<String, String>,
    /// What is wrong with each field, by its pointer.
    wrong: BTreeMap<String, String>,
    /// What is unusual about each field, by its pointer.
    odd: BTreeMap<String, String>,
    /// The picture as SVG. Empty if the spec is not complete, or while a slider is held.
    picture: String,
    /// The picture as steps for a canvas, while a slider is held.
    steps: Option<CanvasSteps>,
    /// Whether the document is a correct spec, which has a picture and a data sheet.
    is_whole: bool,
    /// Which part of the plane the picture shows where. `None` if the field cannot be asked for in it.
    layout: Option<serde_json::Value>,
    /// The data sheet as markup, if it was asked for.
    sheet: String,
    /// The page about the beam as markup, if the beam is looked at.
    beam: String,
    /// The line fitted to the readings of a table, as markup.
    fit: String,
}

/// Takes what was typed and answers with the result.
pub async fn typed(state: Shared, Path(name): Path<String>, Form(typed): Form<Typed>) -> Response {
    let name = match named(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    in_turn(&state, move |desk| {
        let fits = Contents::of(name.as_str(), &typed.text) == Contents::Table(Table::Readings);
        let mut seen = seen(name.as_str(), Typed { spec: String::new(), ..typed.clone() });
        if fits {
            seen.fit(desk, name.as_str(), &typed.spec);
        }
        Json(seen).into_response()
    })
    .await
}

impl Seen {
    /// Fits a line to the readings of the text, for the pair of this spec in the folder.
    fn fit(&mut self, state: &State, name: &str, spec: &str) {
        if spec.is_empty() {
            return;
        }
        let bench = super::held::bench_of(state, spec);
        match bench {
            Err(reason) => drop(self.wrong.insert("spec".into(), reason)),
            // What is wrong with a reading is told with the rest of the table.
            Ok(bench) => match live::fit_of(&bench, name, &self.text) {
                Ok((picture, facts)) => (self.picture, self.fit) = (picture, facts_markup(&facts)),
                Err(reason) => self.fit = super::frame::alert_markup(&reason),
            },
        }
    }
}

fn seen(name: &str, typed: Typed) -> Seen {
    if typed.text.len() > LONGEST_IN_A_FORM {
        // A text this long gets no form and is only checked.
        let checked = checked::of_file(name, &typed.text);
        let unread = if typed.shape.is_empty() { "" } else { TOO_LONG };
        return Seen { text: typed.text, checked, unread, ..Seen::default() };
    }
    let kind = match Contents::of(name, &typed.text) {
        Contents::Document(kind) => kind,
        // A form whose last value was emptied is still a form.
        Contents::Other if !typed.shape.is_empty() => Document::Spec,
        _ => {
            let checked = checked::of_file(name, &typed.text);
            return Seen { values: values(&typed.text), text: typed.text, checked, ..Seen::default() };
        }
    };
    let changed = match (typed.removes.as_str(), typed.pointer.as_str()) {
        ("", "") => None,
        ("", pointer) => Some(with_field(kind, &typed.text, pointer, &typed.value)),
        (item, _) => Some(without_item(kind, &typed.text, item)),
    };
    let is_refused = matches!(changed, Some(None));
    let text = changed.flatten().unwrap_or(typed.text);
    let is_read = can_be_read(&text);
    let form = is_read.then(|| form(kind, &text)).filter(|form| form.shape().to_string() != typed.shape);
    let judged = Judged::of(name, &text);
    let bench = judged.bench.as_deref();
    let with_sheet = bench.filter(|_| !typed.sheet.is_empty());
    let set = (typed.see == BEAM).then_some(Set {
        gun_voltage: typed.gun_voltage,
        current: typed.current,
        gun_tilt: typed.gun_tilt,
    });
    let is_dragged = !typed.dragged.is_empty();
    let detail = if is_dragged { Detail::Sketch } else { Detail::Coarse };
    let (picture, sheet) = rayon::join(
        || bench.map(|bench| pictured(bench, set.as_ref(), detail)).unwrap_or_default(),
        || with_sheet.map(|bench| lines(&live::sheet_of(bench))),
    );
    let mut wrong = errors(&text, &judged.problems);
    wrong.extend(picture.misset.map(|misset| (misset.field.to_owned(), misset.reason)));
    if is_refused && is_read {
        wrong.insert(typed.pointer, NOT_IN_A_FIELD.into());
    }
    Seen {
        unread: if is_read { "" } else { UNREAD },
        form: form.map(|form| (shown(&form, true), form.shape().to_string())),
        values: values(&text),
        odd: warnings(&text, &judged.problems),
        wrong,
        checked: checked::markup(&judged),
        is_whole: bench.is_some(),
        picture: picture.figure.as_ref().filter(|_| !is_dragged).map(Figure::svg).unwrap_or_default(),
        steps: picture.figure.filter(|_| is_dragged).map(|figure| figure.canvas_steps()),
        layout: picture.layout,
        beam: picture.beam,
        sheet: sheet.unwrap_or_default(),
        fit: String::new(),
        text,
    }
}

/// What is drawn of a bench.
#[derive(Default)]
struct Pictured {
    figure: Option<Figure>,
    layout: Option<serde_json::Value>,
    beam: String,
    misset: Option<Misset>,
}

/// Draws the beam at a setting, or the map if there is no setting.
fn pictured(bench: &Bench, set: Option<&Set>, detail: Detail) -> Pictured {
    match set.map(|set| live::beam_of(bench, set)) {
        Some(Ok((figure, text))) => Pictured { figure, beam: lines(&text), ..Pictured::default() },
        Some(Err(misset)) => Pictured { misset: Some(misset), ..Pictured::default() },
        None => live::map_of(bench, detail).map_or_else(Pictured::default, |drawn| Pictured {
            figure: Some(drawn.figure),
            layout: Some(drawn.layout),
            ..Pictured::default()
        }),
    }
}

/// The errors, by the fields that they belong to, without those of fields that are still empty.
pub fn errors(text: &str, problems: &[ProblemRecord]) -> BTreeMap<String, String> {
    let mut wrong = at_fields(text, problems.iter().filter(|problem| problem.severity == "error"), "");
    let written = values(text);
    wrong.retain(|pointer, _| !is_empty(&written, pointer));
    wrong
}

/// The warnings, and what is still empty, by the fields that they belong to.
pub fn warnings(text: &str, problems: &[ProblemRecord]) -> BTreeMap<String, String> {
    let mut odd =
        at_fields(text, problems.iter().filter(|problem| problem.severity != "error"), "Look again: ");
    let written = values(text);
    let wrong = at_fields(text, problems.iter().filter(|problem| problem.severity == "error"), "");
    let empty = wrong.into_keys().filter(|pointer| is_empty(&written, pointer));
    odd.extend(empty.map(|pointer| (pointer, "Still empty.".into())));
    odd
}

/// Whether a field is there with nothing in it, as in a file to fill in.
fn is_empty(written: &BTreeMap<String, String>, pointer: &str) -> bool {
    written.get(pointer).is_some_and(String::is_empty)
}

fn at_fields<'a>(
    text: &str,
    problems: impl Iterator<Item = &'a ProblemRecord>,
    opening: &str,
) -> BTreeMap<String, String> {
    let told = problems.filter_map(|problem| {
        let pointer = spec::pointer_at(text, problem.line, problem.column)?;
        let hint = problem.hint.as_ref().map(|hint| format!(" ({hint})")).unwrap_or_default();
        Some((pointer, format!("{opening}{}{hint}", problem.message)))
    });
    told.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BENCH: &str = include_str!("../../../coil-specs/window-bench.json");

    fn typing(pointer: &str, value: &str) -> Seen {
        seen(
            "pair.json",
            Typed {
                text: BENCH.into(),
                pointer: pointer.into(),
                value: value.into(),
                sheet: "on".into(),
                ..Typed::default()
            },
        )
    }

    #[test]
    fn a_field_changes_text_picture_and_sheet() {
        let before = typing("", "");
        assert_eq!(before.text, BENCH);
        assert!(before.picture.starts_with("<svg") && before.wrong.is_empty(), "{:?}", before.wrong);
        let after = typing("/spacing", "170 mm");
        assert_eq!(after.values["/spacing"], "170 mm");
        assert!(after.picture != before.picture && after.sheet != before.sheet);
    }

    #[test]
    fn a_held_slider_gets_the_picture_as_steps_for_a_canvas() {
        for see in ["", BEAM] {
            let held = Typed {
                text: BENCH.into(),
                see: see.into(),
                dragged: "on".into(),
                gun_voltage: "200 V".into(),
                current: "1.4 A".into(),
                gun_tilt: "0 deg".into(),
                ..Typed::default()
            };
            let seen = seen("pair.json", held);
            assert!(seen.picture.is_empty() && seen.steps.is_some() && seen.is_whole, "{see}");
        }
        assert!(typing("", "").steps.is_none());
    }

    #[test]
    fn the_beam_follows_bench_and_setting() {
        let beam = |pointer: &str, value: &str, current: &str| {
            let typed = Typed {
                text: BENCH.into(),
                pointer: pointer.into(),
                value: value.into(),
                see: BEAM.into(),
                gun_voltage: "200 V".into(),
                current: current.into(),
                gun_tilt: "0 deg".into(),
                ..Typed::default()
            };
            seen("pair.json", typed)
        };
        let before = beam("", "", "1.4 A");
        assert!(before.picture.starts_with("<svg") && before.layout.is_none() && !before.beam.is_empty());
        assert_ne!(beam("/winding/turns", "140", "1.4 A").picture, before.picture);
        assert_ne!(beam("", "", "1.5 A").picture, before.picture);
        let wrong = beam("", "", "a lot");
        assert!(wrong.picture.is_empty() && wrong.wrong["current"].contains("a lot"), "{:?}", wrong.wrong);
    }

    #[test]
    fn what_is_wrong_stands_at_its_field_and_its_line() {
        // What is still empty, as in a file to fill in, is not wrong yet.
        let empty = seen(
            "pair.json",
            Typed { text: BENCH.replace("\"spacing\": \"160 mm\"", "\"spacing\": \"\""), ..Typed::default() },
        );
        assert!(empty.wrong.is_empty() && empty.odd["/spacing"] == "Still empty.", "{:?}", empty.wrong);
        assert!(!empty.is_whole && !empty.checked.is_empty());
        let wrong = typing("/spacing", "170");
        assert!(wrong.wrong["/spacing"].contains("unit"), "{:?}", wrong.wrong);
        assert!(wrong.checked.contains("data-line=") && wrong.picture.is_empty());
    }

    #[test]
    fn the_form_grows_with_a_list_and_is_locked_by_a_text_that_cannot_be_read() {
        let ask = |text: &str, pointer: &str, value: &str, shape: &str| {
            let (pointer, value) = (pointer.to_owned(), value.to_owned());
            seen(
                "wishes.json",
                Typed { text: text.into(), pointer, value, shape: shape.into(), ..Typed::default() },
            )
        };
        let wishes = include_str!("../../../lab-files/lessons.json");
        let (_, shape) = markup(Document::Wishes, wishes);
        assert!(ask(wishes, "/clearance", "7 mm", &shape).form.is_none());
        let more = ask(wishes, "/search/connection/2", "series", &shape);
        let (form, _) = more.form.unwrap();
        assert!(form.contains("data-pointer=\"/search/connection/3\""));
        let locked = ask("{ \"title\": \"x\",", "/spacing", "1 mm", "");
        assert!(!locked.unread.is_empty() && locked.form.is_none() && locked.text == "{ \"title\": \"x\",");
        let long = format!("{{ \"title\": \"{}\" }}", "x".repeat(LONGEST_IN_A_FORM));
        assert!(!ask(&long, "/spacing", "1 mm", "1").unread.is_empty());
        assert!(ask("{}", "/spacing", "1 mm", "1").text.contains("1 mm"));
        assert!(ask("{ \"winding\": 3 }", "/winding/turns", "150", "").wrong.contains_key("/winding/turns"));
    }

    #[test]
    fn the_form_of_an_example_escapes_what_people_write() {
        let text = BENCH.replace("Saltmarsh College, window bench", "<b>\\\"x\\\"");
        let (form, _) = markup(Document::Spec, &text);
        assert!(form.contains("&lt;b&gt;&quot;x&quot;") && !form.contains("<b>"));
    }
}
