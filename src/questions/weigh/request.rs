//! The request of a weighing, besides its runs.

use crate::numeric::calendar::Day;

/// The request, besides the runs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Request {
    /// Standard uncertainty of the scale itself, as a fraction of the radius: the same for all runs.
    pub scale_uncertainty_fraction: Option<f64>,
    /// The date to print, if any.
    pub date: Option<Day>,
}
