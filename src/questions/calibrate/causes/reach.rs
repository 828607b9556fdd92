//! The size that a fault needs to change the slope by as much as was found.

use super::hypotheses::CalibrationFault;
use super::points::Points;
use crate::judgement::Effect;
use crate::numeric::roots::brent_root;

/// Sizes tried within the range of a fault whose effect is curved.
const STEPS: usize = 48;

/// The size at which a fault changes the slope by `relative_change`. A linear effect is scaled, whatever the fault's
/// range. A curved one, such as that of a tilt, is searched within its range: `None` if the fault cannot change the
/// slope that much, or changes it the other way.
pub(super) fn size_for(fault: &CalibrationFault<'_>, points: &Points, relative_change: f64) -> Option<f64> {
    let predicted = points.each(|point| point.predicted_tesla);
    let square: f64 = predicted.iter().map(|tesla| tesla * tesla).sum();
    let change = |effect: &[f64]| effect.iter().zip(&predicted).map(|(e, p)| e * p).sum::<f64>() / square;
    match &fault.effect {
        Effect::Linear(effect) => {
            let size = relative_change / change(effect);
            size.is_finite().then_some(size)
        }
        Effect::Curved(effect) => {
            let [low, high] = fault.sizes.ends();
            let at = |step: usize| low + (high - low) * step as f64 / STEPS as f64;
            let beyond = |size: f64| change(&effect(size)) - relative_change;
            (0..STEPS).find_map(|step| {
                let (from, to) = (at(step), at(step + 1));
                (beyond(from) * beyond(to) <= 0.0).then(|| brent_root(beyond, from, to, 1e-9 * high.abs()).at)
            })
        }
    }
}
