//! Polynomials for the logarithm and the arc tangent.
//!
//! Written by `src/numeric/fit_kernels.py`; constant term first. The tests of `lanes.rs` re-derive the errors.

/// atanh(√x)/√x for 0 ≤ x ≤ 0.2006²; relative error 5.8e-17.
pub(crate) const ATANH_OVER: [f64; 8] = [
    1.0,
    0.3333333333333347,
    0.19999999999660587,
    0.14285714420414491,
    0.11111091102112526,
    0.09092320410263857,
    0.07641479402505658,
    0.07562618145882001,
];

/// atan(√x)/√x for 0 ≤ x ≤ (√2 − 1)²; relative error 7.1e-18.
pub(crate) const ATAN_OVER: [f64; 12] = [
    1.0,
    -0.3333333333333333,
    0.1999999999999552,
    -0.14285714284666542,
    0.11111111015256361,
    -0.09090904578123903,
    0.07692183190826087,
    -0.06664511447381948,
    0.0585814891280221,
    -0.0508544973794026,
    0.03923165829558719,
    -0.01917688711906226,
];
