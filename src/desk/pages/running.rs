//! The runs under way, listed on every page: so that none is forgotten, and each can be stopped from anywhere.

use crate::desk::runs::{AFTER_A_LOOK, AFTER_A_POLL, Run};
use crate::desk::state::State;
use askama::Template;
use axum::extract::{Query, State as Shared};
use axum::response::{Html, IntoResponse, Response};
use std::sync::Arc;
use std::time::Duration;

/// The list. It fetches itself anew as long as a run is under way.
#[derive(Template)]
#[template(path = "running.html")]
struct Running {
    rows: Vec<Row>,
    /// The query that names the listed runs, so that the list can say which are done. Empty if none is under way.
    ids: String,
}

struct Row {
    id: String,
    title: &'static str,
    age: String,
    step: String,
    is_over: bool,
}

/// The list for a page. Empty if there is nothing to list, apart from the run that the page itself shows.
pub fn of_page(state: &State, shown: Option<&str>) -> String {
    let runs = state.runs.under_way();
    let runs: Vec<_> = runs.into_iter().filter(|run| Some(run.id.as_str()) != shown).collect();
    if runs.is_empty() { String::new() } else { markup(state, &runs, AFTER_A_LOOK) }
}

/// The list anew, with the runs that it held before.
pub async fn part(
    Shared(state): Shared<Arc<State>>,
    Query(before): Query<Vec<(String, String)>>,
) -> Response {
    let runs: Vec<_> = before.iter().filter_map(|(_, id)| state.runs.find(id)).collect();
    Html(markup(&state, &runs, AFTER_A_POLL)).into_response()
}

/// The list as markup. A page that lists a run follows it for that long.
fn markup(state: &State, runs: &[Arc<Run>], followed: Duration) -> String {
    let is_under_way = runs.iter().any(|run| !run.is_done());
    let rows = runs.iter().map(|run| {
        run.keep_up(followed);
        Row {
            title: state.questions.find(&run.question).map_or("Run", |question| question.title),
            age: run.age(),
            step: run.watch().borrow().step().unwrap_or_default(),
            is_over: run.is_done(),
            id: run.id.clone(),
        }
    });
    let ids: Vec<String> = runs.iter().map(|run| format!("run={}", run.id)).collect();
    let running =
        Running { rows: rows.collect(), ids: if is_under_way { ids.join("&") } else { String::new() } };
    running.render().unwrap_or_default()
}
