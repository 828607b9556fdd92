//! The wish for the builds.

use serde::Serialize;

/// The wish for the finished pair.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Wish {
    /// Largest relative difference of the field constant from the computed one.
    pub field_constant_within_fraction: Option<f64>,
    /// Largest size of the deviation over the beam.
    pub beam_deviation: Option<f64>,
}
