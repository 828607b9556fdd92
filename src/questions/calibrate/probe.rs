//! The field meter's gain: the error that scales everything it shows.
//!
//! It shows (1 + g) B, so that the slope and B0 of one fit are too large by the same factor:
//!
//! ```text
//! dk/dg = −k,   dB0/dg = −B0,   u²(B0) gains (B0 u(g))²,   cov(k, B0) gains k B0 u²(g)
//! ```
//!
//! A slope computed from the geometry holds no g, and the ammeter's gain does not scale B0.

use crate::pair::{Bench, Distribution};

/// u(g) of the bench's field meter; `None` where the spec does not state its accuracy of reading.
pub(super) fn gain_standard_uncertainty(bench: &Bench) -> Option<f64> {
    let limit = bench.field_meter.and_then(|meter| meter.accuracy_of_reading)?;
    Some(Distribution::Rectangular.standard_uncertainty(limit))
}
