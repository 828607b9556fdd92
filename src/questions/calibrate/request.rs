//! What is asked of a calibration.

use super::adopted::AdoptedLine;
use super::issue::{InputFile, Issue};
use super::readings::Readings;
use crate::numeric::calendar::Day;
use crate::physics::slope::AdoptedFrom;

/// What is asked of a calibration.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Step of both tables. By default the ammeter's resolution decides.
    pub step_ampere: Option<f64>,
    /// The date to print, if any.
    pub date: Option<Day>,
    /// The readings to which the line is fitted, if any.
    pub readings: Option<Readings>,
    /// The line to adopt, whatever the readings say. By default they decide.
    pub adopt: Option<AdoptedFrom>,
    /// Whether the lessons use the ammeter of the readings, in the same place. The file of readings may say so too.
    pub same_ammeter: bool,
    /// Number of samples for the propagation of distributions, if it is wanted.
    pub monte_carlo_samples: Option<u64>,
    /// An older line to compare with.
    pub previous: Option<AdoptedLine>,
    /// The files it is made from, for the certificate.
    pub inputs: Vec<InputFile>,
    /// The statements of the certificate besides the result.
    pub issue: Issue,
}
