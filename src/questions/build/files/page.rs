//! The printed sheets, as HTML pages for A4 or Letter without script, network or colour. A browser that supports CSS
//! margin boxes prints "page n of N" at the foot.

use crate::Result;
use crate::paper::markup::rendered;
use crate::questions::build::words;
use crate::questions::build::words::section::{Column, ColumnKind, Section};
use crate::questions::build::{BuildPapers, picture};
use crate::questions::words::origin::on_page;
use askama::Template;

/// What a sheet shows. The template escapes every text.
#[derive(Template)]
#[template(path = "build/files/sheet.html")]
struct Sheet {
    kind: &'static str,
    title: String,
    program: String,
    digest: String,
    fill: Vec<&'static str>,
    sections: Vec<Section>,
    notes: Vec<String>,
    cautions: Vec<String>,
    sign: Vec<String>,
    provenance: String,
}

/// The winding sheet, for the person at the winder.
pub(super) fn winding(record: &BuildPapers) -> Result<String> {
    let picture = picture::connection::svg(record);
    let sections = words::winding::sections(record, picture);
    let fill = vec!["Coil (a or b)", "Reel or lot of the wire", "Winding, °C", "Wire Ø measured, mm"];
    render(record, "Winding sheet", fill, sections, "Wound by")
}

/// The drawings, for a printer of the office.
pub(super) fn drawings(record: &BuildPapers) -> Result<String> {
    let fill = vec!["Order or job", "Label of the pair"];
    render(record, "Drawings", fill, super::drawings::sections(record), "Made by")
}

/// The order list, for the office.
pub(super) fn order(record: &BuildPapers) -> Result<String> {
    let fill = vec!["Order number", "Cost centre", "Needed by"];
    render(record, "Order list", fill, words::order::sections(record), "Ordered by")
}

/// The test sheet, for the finished pair.
pub(super) fn test(record: &BuildPapers) -> Result<String> {
    let fill = vec!["Label of the pair", "Room, °C", "Meters used (serial numbers)"];
    render(record, "Test sheet", fill, words::test::sections(record), "Tested by (name, signature)")
}

fn render(
    record: &BuildPapers,
    kind: &'static str,
    fill: Vec<&'static str>,
    sections: Vec<Section>,
    signer: &str,
) -> Result<String> {
    let provenance = &record.provenance;
    let date = provenance.date.as_ref().map_or("Date".into(), |date| format!("Date (papers of {date})"));
    let sheet = Sheet {
        kind,
        title: provenance.spec_title.clone(),
        program: provenance.program.clone(),
        digest: provenance.spec_digest.clone(),
        fill,
        sections,
        notes: words::notes(record),
        cautions: words::cautions(record),
        sign: vec![signer.into(), date, "Checked by".into()],
        provenance: on_page(provenance),
    };
    rendered(&sheet, &kind.to_lowercase())
}

/// The CSS class of a column.
fn class(column: &Column) -> &'static str {
    match column.kind {
        ColumnKind::Text => "text",
        ColumnKind::Number => "number",
        ColumnKind::Blank => "blank",
    }
}
