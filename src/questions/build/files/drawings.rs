//! The page of drawings: the views at a scale that fits, with what the sheets say beside them as tables and sentences.

use crate::paper::markup::with_own_ids;
use crate::questions::build::BuildPapers;
use crate::questions::build::picture::{PageView, assembly, former, terminals};
use crate::questions::build::words::section::{Section, text_column};
use crate::questions::build::words::winding;

/// All sections of the page.
pub(super) fn sections(record: &BuildPapers) -> Vec<Section> {
    let views = [former::views(record), former::detail_view(record), assembly::view(record)];
    let [face, detail, pair] = &views;
    let picture = |view: &PageView, name: &str| Section::Picture { svg: with_own_ids(&view.svg, name) };
    let holes = former::hole_rows(&record.former).into_iter().map(Vec::from).collect();
    let fact = |name: &str, value: String| (name.to_owned(), value);
    let material = record.former.material.clone().unwrap_or_else(|| "not in the spec".into());
    let facts = vec![
        fact("material", material),
        fact(
            "scales",
            format!("former {}, detail X {}, pair {}; all figures in mm", face.scale, detail.scale, pair.scale),
        ),
        fact("views", record.asked.projection.name().into()),
        fact("general tolerance", former::general_tolerance(record)),
        fact("finish", former::EDGES.into()),
        fact(
            "print",
            "at 100 %; hold a ruler to the check bars. Read the figures rather than measure: former.svg, former.dxf and \
             assembly.svg hold the same at true scale"
                .into(),
        ),
    ];
    let provenance = &record.provenance;
    let block = vec![
        fact("title", provenance.spec_title.clone()),
        fact("parts", "former, two off (face, section A–A, detail X); pair, assembled".into()),
        fact("date", provenance.date.map_or("not stated".into(), |date| date.to_string())),
        fact("made from", format!("{}; spec {}", provenance.program, provenance.spec_digest)),
    ];
    let mut sections = vec![
        Section::Facts { heading: "Title block", facts: block },
        Section::Facts { heading: "Former, two off", facts },
        picture(face, "former"),
        table("Holes", former::ANGLES, holes),
        picture(detail, "detail"),
        Section::List {
            heading: "Pair, assembled",
            items: winding::connection(record)
                .into_iter()
                .chain(["M: marked faces. ( ): cut to fit.".into()])
                .collect(),
        },
        picture(pair, "pair"),
        table("Parts", "Sizes in mm.", assembly::part_rows(record)),
        table("What must be held, and how it is measured", "", assembly::tolerance_rows(record)),
    ];
    if let (Some(plate), Some(view)) = (&record.former.terminals, terminals::view(record)) {
        let mut items = vec![format!("Scale {}.", view.scale)];
        items.extend(terminals::sentences(record, plate));
        sections.push(Section::List { heading: "Terminal plate, two off", items });
        sections.push(picture(&view, "terminals"));
    }
    sections
}

/// A table whose first row holds its headings.
fn table(heading: &str, caption: &str, rows: Vec<Vec<String>>) -> Section {
    let mut rows = rows.into_iter();
    Section::Table {
        heading: heading.into(),
        caption: caption.into(),
        columns: rows.next().unwrap_or_default().iter().map(|name| text_column(name)).collect(),
        rows: rows.collect(),
    }
}
