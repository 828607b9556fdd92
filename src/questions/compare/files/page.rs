//! Options side by side on one printable page that needs no network, no script and no colour.

use crate::questions::compare::Comparison;
use crate::questions::compare::words::{
    Row, caution_sentences, need_rows, provenance, questions, rows, verdicts,
};
use std::fmt::Write;

/// Style for A4 and Letter: what is missed is bold and framed, never only coloured.
const STYLE: &str = "\
@page { size: auto; margin: 10mm }\n\
body { font: 8.5pt/1.25 sans-serif; color: #1f242b; max-width: 186mm; margin: 0 auto }\n\
h1 { font-size: 15pt; margin: 0 0 2mm } h2 { font-size: 11pt; margin: 2.5mm 0 0.5mm }\n\
table { border-collapse: collapse; width: 100%; break-inside: avoid }\n\
th, td { border-bottom: 0.3pt solid #888; padding: 0.3mm 1.5mm; text-align: right; vertical-align: top }\n\
th:first-child, td:first-child { text-align: left; font-weight: normal }\n\
td.missed { font-weight: bold; border: 1.2pt solid #1f242b }\n\
figure { margin: 2mm 0; break-inside: avoid } figure svg { width: 100%; height: auto; max-height: 62mm }\n\
ul { margin: 0; padding-left: 5mm; font-size: 8pt } p.from { font-size: 7pt; margin: 1mm 0 }\n";

/// The whole page; `picture` is an SVG document.
pub fn html(record: &Comparison, picture: &str) -> String {
    let mut page = String::new();
    let title = match &record.needs_title {
        Some(needs) => format!("Options against: {needs}"),
        None => "Options side by side".to_owned(),
    };
    page += "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
    // Writing to a String cannot fail.
    let _ = write!(page, "<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n", escaped(&title));
    let _ = writeln!(page, "<h1>{}</h1>", escaped(&title));
    list(&mut page, "Verdict", &verdicts(record));
    page += "<ul>\n";
    for option in &record.options {
        let _ = writeln!(page, "<li><b>{}</b> {}</li>", option.label, escaped(&option.title));
    }
    page += "</ul>\n";
    if !record.needs.is_empty() {
        page += "<h2>Needs</h2>\n";
        table(&mut page, record, need_rows(record));
    }
    page += "<h2>Figures</h2>\n";
    table(&mut page, record, rows(record));
    let svg = picture.find("<svg").map_or("", |start| &picture[start..]);
    let _ = writeln!(page, "<figure>\n{svg}\n</figure>");
    list(&mut page, "To ask before ordering", &questions(record));
    page += "<h2>Notes</h2>\n<ul>\n";
    let cautions = caution_sentences(record);
    for note in record.notes.iter().chain(&cautions).map(String::as_str) {
        let _ = writeln!(page, "<li>{}</li>", escaped(note));
    }
    let _ = write!(page, "</ul>\n<p class=\"from\">{}</p>\n</body>\n</html>\n", escaped(&provenance(record)));
    page
}

/// A list under a heading; nothing where there is nothing to say.
fn list(page: &mut String, heading: &str, items: &[String]) {
    if items.is_empty() {
        return;
    }
    let _ = writeln!(page, "<h2>{heading}</h2>\n<ul>");
    for item in items {
        let _ = writeln!(page, "<li>{}</li>", escaped(item));
    }
    *page += "</ul>\n";
}

fn table(page: &mut String, record: &Comparison, rows: Vec<Row>) {
    *page += "<table>\n<tr><th></th>";
    for option in &record.options {
        let _ = write!(page, "<th>{}</th>", option.label);
    }
    *page += "</tr>\n";
    for row in rows {
        let _ = write!(page, "<tr><td>{}</td>", escaped(&row.name));
        for cell in row.cells {
            let class = if cell.starts_with("MISSED") || cell.starts_with("doubtful") {
                " class=\"missed\""
            } else {
                ""
            };
            let _ = write!(page, "<td{class}>{}</td>", escaped(&cell));
        }
        *page += "</tr>\n";
    }
    *page += "</table>\n";
}

/// Text that a browser shows as it is.
fn escaped(text: &str) -> String {
    crate::units::inert::line(text)
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_with_markup_in_it_stays_text() {
        assert_eq!(escaped("<b> & \"c\""), "&lt;b&gt; &amp; &quot;c&quot;");
    }
}
