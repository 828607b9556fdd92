//! How well the heating model knows what it assumes.

/// How far the heat given off by the surfaces may differ from the correlations: 15 %, the middle of 10 % to 20 %.
pub const SURFACE_ACCURACY: f64 = 0.15;
