//! The accuracy of the heating model's assumptions.

/// Limit of the difference between the heat given off by the surfaces and the correlations: 15 %, the middle of 10 % to
/// 20 %.
pub(crate) const SURFACE_ACCURACY: f64 = 0.15;
