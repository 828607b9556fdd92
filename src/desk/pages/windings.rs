//! Choosing a winding from a search: the picture of the front, in which windings can be clicked, and the chosen one
//! with its numbers.

use super::frame::{Shared, alert, in_turn};
use crate::desk::runs::{Answer, Run};
use askama::Template;
use axum::extract::Path;
use axum::response::{Html, IntoResponse, Response};
use coilwright::questions::size::files::spec_name;
use coilwright::questions::size::picture::front_places;
use coilwright::questions::size::{Choice, Front, words};
use serde::Deserialize;

/// Name of the front's picture among a run's files.
pub const FRONT: &str = "front.svg";
/// Name of the search's record among a run's files.
const RECORD: &str = "size.json";

/// The parts of a search's record that are used here.
#[derive(Deserialize)]
struct Found {
    title: String,
    best: Vec<Choice>,
    along_front: Vec<Choice>,
    front: Vec<Front>,
}

/// The windings, one of them chosen.
#[derive(Template)]
#[template(path = "windings.html")]
struct Windings<'a> {
    run: &'a str,
    sheet: [f64; 2],
    headings: Vec<&'static str>,
    rows: Vec<Row>,
    chosen: usize,
    facts: Vec<(&'static str, String)>,
    spec: String,
    /// Whether the chosen winding is in the picture.
    is_drawn: bool,
}

/// A winding: its number, its place and the place of its number in the picture, and its cells in the table.
struct Row {
    number: usize,
    place: Option<[[f64; 2]; 2]>,
    cells: Vec<String>,
}

/// Smallest distance between numbers in the picture, in points.
const APART: f64 = 25.0;

/// Places for the numbers at which none hides another: each at its winding's place, or as far to the right of it as
/// necessary.
fn apart(places: &[Option<[f64; 2]>]) -> Vec<Option<[[f64; 2]; 2]>> {
    let mut taken: Vec<[f64; 2]> = Vec::new();
    let mut free = |place: [f64; 2]| {
        let mut shown = place;
        while let Some(other) =
            taken.iter().find(|it| (it[0] - shown[0]).hypot(it[1] - shown[1]) < APART - 1e-6).copied()
        {
            // Moves right by at least a little each time, so that the loop ends.
            let up = (other[1] - shown[1]).abs().min(APART);
            shown[0] = other[0] + (APART * APART - up * up).sqrt().max(1.0);
        }
        taken.push(shown);
        [place, shown]
    };
    places.iter().map(|place| place.map(&mut free)).collect()
}

/// Markup of the windings that a search found. `chosen` is the number of the chosen one, counted from 1. `None` if
/// there are no windings.
pub fn markup(run: &Run, answer: &Answer, chosen: usize) -> Option<String> {
    if run.question != "size" || answer.status != Some(0) {
        return None;
    }
    let found: Found = serde_json::from_slice(&run.read(RECORD).ok()?).ok()?;
    let drawn = front_places(&found.title, &found.front, &found.best, &found.along_front);
    let choices: Vec<Choice> = found.best.into_iter().chain(found.along_front).collect();
    let choice = choices.get(chosen.checked_sub(1)?)?;
    let (headings, cells) = words::cells(&choices);
    let numbered = (1..).zip(apart(&drawn.places)).zip(cells);
    let rows = numbered.map(|((number, place), cells)| Row { number, place, cells }).collect();
    let windings = Windings {
        run: &run.id,
        sheet: drawn.sheet,
        headings,
        rows,
        chosen,
        facts: words::facts(choice),
        spec: spec_name(chosen),
        is_drawn: drawn.places[chosen - 1].is_some(),
    };
    windings.render().ok()
}

/// The windings with another one chosen.
pub async fn part(state: Shared, Path((run, number)): Path<(String, usize)>) -> Response {
    let gone = "The answer is not kept any more: ask again.";
    let Some(run) = state.runs.find(&run) else { return alert(gone) };
    let Some(answer) = run.answer() else { return alert(gone) };
    in_turn(&state, move |_| match markup(&run, &answer, number) {
        Some(markup) => Html(markup).into_response(),
        None => alert("There is no such winding."),
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_at_one_place_stand_side_by_side_and_hide_no_other() {
        let mut places = vec![Some([100.0, 50.0]); 8];
        places.extend([None, Some([112.0, 60.0]), Some([400.0, 90.0])]);
        let shown = apart(&places);
        assert_eq!(shown[0], Some([[100.0, 50.0]; 2]));
        assert_eq!((shown[8], shown[10]), (None, Some([[400.0, 90.0]; 2])));
        let centres: Vec<[f64; 2]> = shown.iter().flatten().map(|[_, shown]| *shown).collect();
        for (at, one) in centres.iter().enumerate() {
            for other in &centres[..at] {
                assert!((one[0] - other[0]).hypot(one[1] - other[1]) > APART - 1e-3, "{centres:?}");
            }
        }
        // Each number stands at its own winding's place.
        assert!(shown.iter().zip(&places).all(|(shown, place)| shown.map(|it| it[0]) == *place));
    }
}
