//! What is asked of the builds.

use serde::Serialize;

/// What the finished pair should meet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Wish {
    /// Largest difference of the field constant from the computed one, over the constant.
    pub field_constant_within_fraction: Option<f64>,
    /// Largest size of the deviation over the beam.
    pub beam_deviation: Option<f64>,
}
