//! A spec as it is being changed: its picture and its numbers, at once.

use coilwright::pair::Bench;
use coilwright::physics::field::Assembly;
use coilwright::questions::map::picture::picture;
use coilwright::questions::map::{MappedField, Plane, Request, field_map};
use coilwright::questions::sheet;

/// What a spec looks like.
pub struct Live {
    /// The pair in section, with the uniformity of its field, as an SVG.
    pub picture: String,
    /// The data sheet, as text.
    pub sheet: String,
}

/// The picture and the sheet of a bench, as far as it has what they need.
pub fn of(bench: &Bench) -> Live {
    let (picture, sheet) =
        rayon::join(|| drawn(bench), || sheet::sheet(bench, None).map(|record| sheet::words::text(&record)));
    Live { picture: picture.unwrap_or_default(), sheet: sheet.unwrap_or_else(|error| error.to_string()) }
}

fn drawn(bench: &Bench) -> coilwright::Result<String> {
    let assembly = Assembly::of(bench);
    let request = Request { field: MappedField::PerAmpere, date: None };
    let map = field_map(bench, &assembly, &request)?;
    Ok(picture(&map, Plane::Axial, bench, &assembly).svg())
}
