//! Finds the unpacked size of a workbook by unpacking it without storing it, because the archive's own figures may be
//! false on purpose.

use std::io::{Cursor, Read};
use zip::ZipArchive;

/// Most bytes that the parts of a workbook may unpack to together. A full sheet of a million cells takes about forty
/// bytes for each.
const MOST_BYTES: u64 = 96 << 20;
/// Most parts of a workbook; each sheet, picture and style is one.
const MOST_PARTS: usize = 4096;

/// The program that wrote the workbook.
pub(super) enum Kind {
    Xlsx,
    /// With the unpacked part that contains all its sheets.
    Ods {
        content: Vec<u8>,
    },
}

/// The kind of a workbook that unpacks to an acceptable size; otherwise a message and a hint.
pub(super) fn check(bytes: &[u8]) -> Result<Kind, (String, &'static str)> {
    const AGAIN: &str = "open it in a spreadsheet program and save it again, or save the sheet as CSV";
    let damaged = |error: zip::result::ZipError| (format!("the workbook is damaged: {error}"), AGAIN);
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(damaged)?;
    if archive.len() > MOST_PARTS {
        let reason = format!("it is an archive of {} files, not a workbook", archive.len());
        return Err((reason, AGAIN));
    }
    let mut left = MOST_BYTES;
    let mut is_xlsx = false;
    let mut content = None;
    for part in 0..archive.len() {
        let mut part = archive.by_index(part).map_err(damaged)?;
        let name = part.name().map_err(damaged)?.trim_start_matches('/').to_ascii_lowercase();
        is_xlsx |= name == "xl/workbook.xml";
        let mut limited = part.by_ref().take(left + 1);
        let read = if name == "content.xml" {
            let mut text = Vec::new();
            let read = limited.read_to_end(&mut text).map(|read| read as u64);
            content = Some(text);
            read
        } else {
            std::io::copy(&mut limited, &mut std::io::sink())
        };
        let read = read.map_err(|error| (format!("the workbook is damaged: {error}"), AGAIN))?;
        if read > left {
            let reason = format!("the workbook unpacks to more than {} MiB", MOST_BYTES >> 20);
            return Err((reason, "save the sheet as CSV"));
        }
        left -= read;
    }
    match (is_xlsx, content) {
        (true, _) => Ok(Kind::Xlsx),
        (false, Some(content)) => Ok(Kind::Ods { content }),
        (false, None) => {
            Err(("it is an archive, but no .xlsx or .ods workbook".into(), "save the sheet as CSV"))
        }
    }
}
