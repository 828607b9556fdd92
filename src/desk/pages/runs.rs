//! The runs of a class as a list with check boxes: what is not ticked is left out.

use super::frame::{Shared, alert, in_turn};
use crate::desk::folder::Name;
use crate::desk::state::State;
use askama::Template;
use axum::extract::Query;
use axum::response::{Html, IntoResponse, Response};
use coilwright::error::said_by_system;
use coilwright::questions::weigh::Runs;

/// The list.
#[derive(Template)]
#[template(path = "runs.html")]
struct Ticks {
    /// Name of each run, and whether it counts.
    runs: Vec<(String, bool)>,
}

/// The runs of the table that the form names, as far as it can be read here.
pub async fn part(state: Shared, Query(filled): Query<Vec<(String, String)>>) -> Response {
    in_turn(&state, move |desk| match ticks(desk, &filled) {
        Ok(markup) => Html(markup).into_response(),
        Err(reason) => alert(&reason),
    })
    .await
}

fn ticks(state: &State, filled: &[(String, String)]) -> Result<String, String> {
    let said = |id: &str| filled.iter().find(|(key, _)| key == id).map_or("", |(_, value)| value.as_str());
    let is_text =
        |name: &str| [".csv", ".tsv", ".txt"].iter().any(|it| name.to_ascii_lowercase().ends_with(it));
    let file = said("runs");
    // The runs of a workbook are named in “without” by hand.
    if !is_text(file) {
        return Ok(String::new());
    }
    let name = Name::of(file)?;
    let read = state.folder.read(&name);
    let (bytes, _) = read.map_err(|error| format!("{name} cannot be read: {}", said_by_system(&error)))?;
    let runs = Runs::from_text(file, &String::from_utf8_lossy(&bytes)).map_err(|error| error.to_string())?;
    let left_out: Vec<&str> = said("without").lines().map(str::trim).collect();
    let mut ticked: Vec<(String, bool)> = Vec::new();
    for run in &runs.runs {
        let name = run.name();
        if ticked.iter().all(|(known, _)| *known != name) {
            ticked.push((name.clone(), !left_out.contains(&name.as_str())));
        }
    }
    Ticks { runs: ticked }.render().map_err(|error| error.to_string())
}
