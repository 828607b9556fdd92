//! The files that `build` writes: drawings, cutting file and sheets.

mod arrangement;
mod cutting;
mod drawings;
mod page;

use super::{BuildPapers, picture, words};
use crate::questions::files::{FileRow, FileTable};

/// Name of the drawing that there is only where a plate has room.
const TERMINALS: &str = "terminals.svg";

/// The table of files.
pub fn files() -> FileTable<(), BuildPapers> {
    FileTable(vec![
        FileRow::text("former.svg", "drawing of one former, true scale in millimetres", |record| {
            Ok(picture::former::svg(record))
        }),
        FileRow::text(
            "former.dxf",
            "its flat parts for a laser cutter: layers cut, engrave, dimensions",
            |record| Ok(cutting::dxf(record)),
        ),
        FileRow::text(
            "assembly.svg",
            "drawing of the pair put together, true scale in millimetres",
            |record| Ok(picture::assembly::svg(record)),
        ),
        FileRow::each(
            TERMINALS,
            "drawing of the plates for the sockets",
            |()| vec![TERMINALS.to_owned()],
            |record| {
                let drawing = picture::terminals::svg(record);
                Ok(drawing.into_iter().map(|svg| (TERMINALS.to_owned(), svg)).collect())
            },
        ),
        FileRow::text(
            "drawings.html",
            "all drawings reduced to pages of A4 or Letter, to print",
            page::drawings,
        ),
        FileRow::text(
            "winding-sheet.html",
            "the winding layer by layer, to print once for each coil",
            page::winding,
        ),
        FileRow::text("order-list.html", "what to order, to print", page::order),
        FileRow::csv("order-list.csv", "the same for a spreadsheet", |record, format| {
            Some(words::order::csv(record, format))
        }),
        FileRow::text(
            "test-sheet.html",
            "what to measure before the coils go on the bench, to print",
            page::test,
        ),
        FileRow::json("build.json", "everything, for scripts"),
    ])
}
