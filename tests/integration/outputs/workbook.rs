//! A workbook as text: every cell with its place, its value and its formula.

use regex::Regex;
use std::fmt::Write as _;
use std::io::{Cursor, Read};

/// One line per cell, one heading per sheet, in the order of the workbook.
pub fn cells_as_text(workbook: &[u8]) -> String {
    let mut archive = zip::ZipArchive::new(Cursor::new(workbook)).unwrap();
    let mut part = |name: &str| {
        let mut text = String::new();
        archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        text
    };
    let strings: Vec<String> = pattern("(?s)<si>(.*?)</si>")
        .captures_iter(&part("xl/sharedStrings.xml"))
        .map(|item| {
            let runs = pattern("(?s)<t[^>]*>(.*?)</t>");
            runs.captures_iter(&item[1]).map(|run| unescaped(&run[1])).collect()
        })
        .collect();
    let book = part("xl/workbook.xml");
    let mut text = String::new();
    for (index, sheet) in pattern("<sheet name=\"([^\"]*)\"").captures_iter(&book).enumerate() {
        writeln!(text, "sheet {}", unescaped(&sheet[1])).unwrap();
        let cells = part(&format!("xl/worksheets/sheet{}.xml", index + 1));
        for cell in pattern("(?s)<c r=\"([A-Z]+[0-9]+)\"([^>/]*)>(.*?)</c>").captures_iter(&cells) {
            let inside = |tag: &str| {
                pattern(&format!("(?s)<{tag}[^>]*>(.*?)</{tag}>"))
                    .captures(&cell[3])
                    .map(|found| unescaped(&found[1]))
            };
            let value = inside("v").unwrap_or_default();
            let value = match cell[2].contains("t=\"s\"") {
                true => strings[value.parse::<usize>().unwrap()].replace('\n', "\\n"),
                false => value,
            };
            let formula = inside("f").map(|formula| format!(" = {formula}")).unwrap_or_default();
            writeln!(text, "{}: {value}{formula}", &cell[1]).unwrap();
        }
    }
    text
}

fn pattern(text: &str) -> Regex {
    Regex::new(text).unwrap()
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}
