//! Replaces the reader of workbooks if the library is built without the feature `sheets`.

use super::sheet::Sheet;
use crate::{Error, Result};
use std::io::Read;
use std::path::Path;

/// A workbook that this build cannot open.
pub(super) enum Workbook {}

impl Workbook {
    /// Always an error: this build cannot read workbooks.
    pub(crate) fn open(path: &Path, _reader: impl Read) -> Result<Self> {
        Err(Error::Unusable {
            path: path.into(),
            reason: "it is a workbook, and this build reads none".into(),
            hint: Some("save the sheet as CSV, or build the library with its feature `sheets`".into()),
        })
    }

    /// The names of its sheets.
    pub(crate) fn sheet_names(&self) -> Vec<String> {
        match *self {}
    }

    /// One sheet.
    pub(crate) fn sheet(&mut self, _path: &Path, _name: &str) -> Result<Sheet> {
        match *self {}
    }
}
