//! The field at one point of a pair. The point is chosen with the mouse in the picture, or by typed coordinates.

use super::frame::{Shared, alert, alert_markup, in_turn, named};
use crate::desk::address::encoded;
use crate::desk::folder::{Folder, Name};
use crate::desk::judged::Judged;
use crate::desk::live;
use askama::Template;
use axum::Form;
use axum::extract::{Path, Query};
use axum::response::{Html, IntoResponse, Response};
use coilwright::files::out::csv::NumberFormat;
use coilwright::pair::Bench;
use coilwright::physics::field::{Assembly, Deviation};
use coilwright::physics::room;
use coilwright::questions::field::words::{FieldValue, RowFormat, at_a_point, opening, rows};
use coilwright::questions::map::Detail;
use coilwright::units::{Dimension, parse};
use nalgebra::Vector3;

/// Names and values of a form.
type Asked = Vec<(String, String)>;

/// The fields of a point with their first values. The current is that of "Field at points".
const FIELDS: [(&str, &str); 4] = [("x", "0 mm"), ("y", "0 mm"), ("z", "0 mm"), ("current", "1 A")];
/// Options of the question that also apply here.
const KEPT: [&str; 2] = ["nominal", "with_room"];

/// The part of a page that asks for a point.
#[derive(Template)]
#[template(path = "field_at.html")]
struct Part {
    address: String,
    /// Which part of the plane the picture shows where, as JSON. `None` if the part has no picture.
    layout: Option<String>,
    picture: Option<String>,
    described: &'static str,
    fields: Vec<(&'static str, String)>,
    kept: Asked,
    told: String,
}

/// The field at the point.
#[derive(Template)]
#[template(path = "field_at_told.html")]
struct Told {
    facts: Vec<(&'static str, String)>,
    row: String,
}

/// The part beside the answer of `uniformity`, as markup that fetches it separately. `None` for other questions.
pub fn beside(question: &str, words: &[String]) -> Option<String> {
    if question != "uniformity" {
        return None;
    }
    let spec = words.iter().skip(1).find(|word| !word.starts_with("--"))?;
    let options = words.iter().filter_map(|word| {
        let (option, value) = word.strip_prefix("--")?.split_once('=').unwrap_or((&word[2..], "on"));
        let option = option.replace('-', "_");
        let counts = KEPT.contains(&option.as_str()) || option == "current";
        counts.then(|| format!("{option}={}", encoded(value)))
    });
    let query: Vec<String> = options.collect();
    Some(format!(
        "<div hx-get=\"/do/at/{}?{}\" hx-trigger=\"load\" hx-swap=\"outerHTML\"></div>",
        encoded(spec),
        query.join("&amp;")
    ))
}

/// The part for a page that has its own picture, which follows what is typed.
pub fn without_picture(name: &Name) -> String {
    let fields = FIELDS.map(|(id, value)| (id, value.to_owned())).into();
    let address = encoded(name.as_str());
    let part = Part {
        address,
        layout: None,
        picture: None,
        described: "",
        fields,
        kept: Vec::new(),
        told: String::new(),
    };
    part.render().unwrap_or_default()
}

/// The part with its picture.
pub async fn part(state: Shared, Path(name): Path<String>, Query(asked): Query<Asked>) -> Response {
    looked(state, name, asked, |name, bench, asked| {
        let layout = live::map_of(bench, Detail::Coarse);
        let fields = FIELDS.map(|(id, value)| (id, said(asked, id).unwrap_or(value).to_owned()));
        let kept = asked.iter().filter(|(id, _)| KEPT.contains(&id.as_str())).cloned().collect();
        let part = Part {
            address: encoded(name.as_str()),
            layout: layout.as_ref().map(|drawn| drawn.layout.to_string()),
            picture: layout.map(|drawn| format!("data:image/svg+xml,{}", encoded(&drawn.figure.svg()))),
            described: live::MAP_SHOWS,
            fields: fields.into(),
            kept,
            told: field_told(bench, asked).unwrap_or_else(|reason| alert_markup(&reason)),
        };
        part.render().unwrap_or_default()
    })
    .await
}

/// The field at the point asked for.
pub async fn told(state: Shared, Path(name): Path<String>, Form(asked): Form<Asked>) -> Response {
    looked(state, name, asked, |_, bench, asked| {
        field_told(bench, asked).unwrap_or_else(|reason| alert_markup(&reason))
    })
    .await
}

/// Computes something for the pair asked for, away from the server's own threads.
async fn looked(
    state: Shared,
    name: String,
    asked: Asked,
    make: impl FnOnce(&Name, &Bench, &Asked) -> String + Send + 'static,
) -> Response {
    let name = match named(&name) {
        Ok(name) => name,
        Err(refused) => return *refused,
    };
    in_turn(&state, move |desk| match bench_of(&desk.folder, &name, &asked) {
        Ok(bench) => Html(make(&name, &bench, &asked)).into_response(),
        Err(reason) => alert(&reason),
    })
    .await
}

/// The pair of the text that is being typed or, if there is none, of the file.
fn bench_of(folder: &Folder, name: &Name, asked: &Asked) -> Result<Bench, String> {
    let text = match said(asked, "text") {
        Some(text) => text.to_owned(),
        None => {
            let (bytes, _) = folder.read(name).map_err(|error| {
                format!("{name} cannot be read: {}.", coilwright::error::said_by_system(&error))
            })?;
            String::from_utf8_lossy(&bytes).into_owned()
        }
    };
    let bench =
        Judged::of(name.as_str(), &text).bench.ok_or("The spec is not whole, so it has no field yet.")?;
    Ok(if said(asked, "nominal").is_some() { bench.as_designed() } else { *bench })
}

fn said<'a>(asked: &'a Asked, id: &str) -> Option<&'a str> {
    asked.iter().find(|(key, value)| key == id && !value.trim().is_empty()).map(|(_, value)| value.as_str())
}

/// The field at the point as markup, computed in the same steps as `field`. The error says which field of the form is
/// wrong.
fn field_told(bench: &Bench, asked: &Asked) -> Result<String, String> {
    let quantity = |(id, usual): (&str, &str), dimension| {
        parse(said(asked, id).unwrap_or(usual), dimension)
            .map_err(|wrong| format!("{id}: {} ({})", wrong.message, wrong.hint))
    };
    let [x, y, z] = [FIELDS[0], FIELDS[1], FIELDS[2]].map(|field| quantity(field, Dimension::Length));
    let point = Vector3::new(x?, y?, z?);
    let current = quantity(FIELDS[3], Dimension::Current)?;
    let room = match said(asked, "with_room") {
        Some(_) => room::required_field_tesla(bench).map_err(|error| error.to_string())?,
        None => Vector3::zeros(),
    };
    let assembly = Assembly::of(bench);
    let per_ampere = assembly.field_per_ampere_at(&[point])[0];
    let value =
        FieldValue { field_tesla: room::whole_field_tesla(&per_ampere, current, &room), error_tesla: None };
    let compared = (current != 0.0).then(|| Deviation::new(&assembly, room / current).ok()).flatten();
    let deviation = compared.map(|centre| centre.of(&per_ampere));
    let format = RowFormat::Csv(NumberFormat::Point);
    let mut row = opening(format, false, None);
    row.extend_from_slice(&rows(format, &[point], &[value]));
    let row = String::from_utf8_lossy(&row).trim_end().to_owned();
    let told = Told { facts: at_a_point(&value, deviation), row };
    told.render().map_err(|error| error.to_string())
}
