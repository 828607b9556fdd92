//! A spec as it is being changed: its picture and its numbers, at once.

use coilwright::pair::Bench;
use coilwright::physics::field::Assembly;
use coilwright::questions::map::picture::picture;
use coilwright::questions::map::{Plane, Request, field_map};
use coilwright::questions::sheet;

/// The pair in section, with the uniformity of its field, as an SVG; empty where the bench lacks what it needs.
pub fn picture_of(bench: &Bench) -> String {
    let assembly = Assembly::of(bench);
    let request = Request::default();
    let map = field_map(bench, &assembly, &request);
    map.map(|map| picture(&map, Plane::Axial, bench, &assembly).svg()).unwrap_or_default()
}

/// The data sheet as text, or why there is none.
pub fn sheet_of(bench: &Bench) -> String {
    sheet::sheet(bench, None).map_or_else(|error| error.to_string(), |record| sheet::words::text(&record))
}
