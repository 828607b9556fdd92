//! A reading as it is judged.

use super::record::LimitsFrom;
use super::subject::Subject;
use crate::files::spec::MeasuredValue;
use crate::judgement::limit::Limits;

/// A reading with the spec's value and limits.
pub(super) struct Reading {
    pub(super) subject: Subject,
    pub(super) value: MeasuredValue,
    pub(super) expected: Option<f64>,
    pub(super) limits: Limits,
    pub(super) limits_from: LimitsFrom,
}
