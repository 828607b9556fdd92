//! The adopted line of a calibration in the form in which it is kept.

use super::adopted::{AdoptedLine, check};
use super::record::Calibration;
use crate::{Error, Result};

/// The adopted line of a calibration, as its file contains it.
///
/// # Errors
/// The line could not be read back.
pub fn kept_line(calibration: &Calibration) -> Result<AdoptedLine> {
    let unwritten = |reason: String| Error::value(format!("the line cannot be kept: {reason}"));
    let value = serde_json::to_value(calibration).map_err(|error| unwritten(error.to_string()))?;
    let line: AdoptedLine = serde_json::from_value(value).map_err(|error| unwritten(error.to_string()))?;
    check(&line).map_err(unwritten)?;
    Ok(line)
}
