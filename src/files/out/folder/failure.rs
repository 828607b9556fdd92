//! Messages for failed writes.

use crate::Error;
use crate::error::said_by_system;
use std::io;
use std::io::ErrorKind;
use std::path::Path;

/// The message for a failed write, with a hint.
pub(super) fn write_error(path: &Path, error: &io::Error) -> Error {
    let elsewhere = "choose another place";
    let (reason, hint) = match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => (
            "no space is left there",
            format!("free some space, or {elsewhere}; no part of the file was kept"),
        ),
        ErrorKind::FileTooLarge => {
            ("the file would be larger than is allowed there", format!("write less, or {elsewhere}"))
        }
        ErrorKind::PermissionDenied => {
            ("permission denied", format!("{elsewhere}, one that you may write to"))
        }
        ErrorKind::ReadOnlyFilesystem => ("nothing can be written on that disk", elsewhere.to_owned()),
        ErrorKind::NotFound => ("nothing can be made there", elsewhere.to_owned()),
        ErrorKind::NotADirectory => ("a file is where a folder should be", elsewhere.to_owned()),
        ErrorKind::AlreadyExists if path.is_dir() => {
            ("a folder of that name is in the way", elsewhere.to_owned())
        }
        ErrorKind::AlreadyExists => ("a file of that name is in the way", elsewhere.to_owned()),
        _ => {
            return Error::Write {
                path: path.to_owned(),
                reason: said_by_system(error),
                hint: Some(format!("nothing was written; {elsewhere} if this happens again")),
            };
        }
    };
    Error::Write { path: path.to_owned(), reason: reason.into(), hint: Some(hint) }
}
