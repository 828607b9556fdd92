//! Unknowns and options of an integration.

use nalgebra::SVector;

/// The unknowns of a system of `N` first-order equations.
pub type State<const N: usize> = SVector<f64, N>;

/// Accuracy and step limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Error allowed in one step, relative to each unknown.
    pub relative_tolerance: f64,
    /// Error allowed in one step, in the unknowns' own unit; scale the unknowns to about 1.
    pub absolute_tolerance: f64,
    /// Longest step.
    pub longest_step: f64,
    /// Steps allowed, rejected ones included.
    pub step_limit: u32,
}

impl Options {
    /// The same tolerance, relative and absolute, for unknowns scaled to about 1.
    pub fn with_tolerance(tolerance: f64) -> Self {
        Self {
            relative_tolerance: tolerance,
            absolute_tolerance: tolerance,
            longest_step: f64::INFINITY,
            step_limit: 100_000,
        }
    }
}
