//! The pair after a current was held for a time, while both are moved on the page of “Heat”.

use super::frame::{Shared, alert, facts_markup, in_turn};
use crate::desk::folder::Name;
use crate::desk::judged::Judged;
use crate::desk::state::State;
use axum::Form;
use axum::response::{Html, IntoResponse, Response};
use coilwright::error::said_by_system;
use coilwright::pair::Bench;
use coilwright::questions::heat::held;
use coilwright::questions::heat::words::held_facts;
use coilwright::units::{Dimension, parse};
use serde::Deserialize;

/// End of the current's slider where the spec states no limit of the supply, ampere.
const USUAL_AMPERE: f64 = 5.0;

/// What is moved, and of which pair.
#[derive(Deserialize)]
pub struct Moved {
    #[serde(default)]
    spec: String,
    #[serde(default)]
    nominal: String,
    current: String,
    time: String,
}

/// The end of the current's slider: the supply's limit.
pub fn most_ampere(state: &State, spec: Option<&str>) -> String {
    let bench = spec.and_then(|spec| bench_of(state, spec).ok());
    let limit = bench.and_then(|bench| bench.supply?.current_limit_ampere);
    format!("{:.2}", limit.unwrap_or(USUAL_AMPERE))
}

/// The pair after that time.
pub async fn part(state: Shared, Form(moved): Form<Moved>) -> Response {
    in_turn(&state, move |desk| match told(desk, &moved) {
        Ok(markup) => Html(markup).into_response(),
        Err(reason) => alert(&reason),
    })
    .await
}

fn told(state: &State, moved: &Moved) -> Result<String, String> {
    if moved.spec.is_empty() {
        return Err("Choose a spec.".into());
    }
    let bench = bench_of(state, &moved.spec)?;
    let bench = if moved.nominal.is_empty() { bench } else { bench.as_designed() };
    let quantity = |name: &str, text: &str, dimension| {
        parse(text, dimension).map_err(|wrong| format!("{name}: {} ({})", wrong.message, wrong.hint))
    };
    let current_ampere = quantity("current", &moved.current, Dimension::Current)?;
    let time_s = quantity("time", &moved.time, Dimension::Time)?;
    let held = held(&bench, current_ampere, time_s).map_err(|error| error.to_string())?;
    Ok(facts_markup(&held_facts(held.as_ref())))
}

/// The pair of a spec in the folder.
pub fn bench_of(state: &State, spec: &str) -> Result<Bench, String> {
    let name = Name::of(spec)?;
    let read = state.folder.read(&name);
    let (bytes, _) = read.map_err(|error| format!("{name} cannot be read: {}", said_by_system(&error)))?;
    let judged = Judged::of(name.as_str(), &String::from_utf8_lossy(&bytes));
    judged.bench.map(|bench| *bench).ok_or_else(|| format!("{name} is no spec that is right and whole"))
}
