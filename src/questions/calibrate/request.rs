//! What is asked of a calibration.

use super::adopted::AdoptedLine;
use super::issue::{InputFile, Issue};
use super::readings::Readings;
use crate::numeric::calendar::Day;
use crate::physics::slope::AdoptedFrom;

/// What is asked of a calibration.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The step of both tables; by default the ammeter's resolution sets them.
    pub step_ampere: Option<f64>,
    /// The date to print, if any.
    pub date: Option<Day>,
    /// What to fit the line to, if anything.
    pub readings: Option<Readings>,
    /// Which line to adopt, whatever the readings say; by default they decide.
    pub adopt: Option<AdoptedFrom>,
    /// Whether the lessons use the ammeter of the readings, in the same place; the readings may say so too.
    pub same_ammeter: bool,
    /// How many samples to propagate the distributions with, if at all.
    pub monte_carlo_samples: Option<u64>,
    /// An older line to compare with.
    pub previous: Option<AdoptedLine>,
    /// The files it is made from, for the certificate.
    pub inputs: Vec<InputFile>,
    /// What the certificate states beside the result.
    pub issue: Issue,
}
