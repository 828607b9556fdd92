//! Compass search: the largest value of a smooth function near a good start, without derivatives.

/// The result of a search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Largest<const N: usize> {
    /// The place of the largest value found.
    pub at: [f64; N],
    /// The value there.
    pub value: f64,
    /// Number of evaluations.
    pub evaluations: usize,
    /// Whether the steps became small enough at a finite value. If not, the value grows without bound or is NaN.
    pub settled: bool,
}

/// Most rounds: a climb that still goes on has no maximum within reach.
const MOST_ROUNDS: usize = 10_000;

/// Climbs from `start` in steps of `step` along each coordinate. The steps are halved whenever none of them climbs,
/// until they are below `tolerance` times the first ones. Every trial point is clamped to `bounds` (pairs low, high;
/// infinite if there is none).
///
/// At a smooth interior maximum the value found is short by about (tolerance × step)² times half the curvature. A NaN
/// never counts as larger. An infinite value ends the climb, and so do ten thousand rounds; `settled` is then false.
pub(crate) fn climb<const N: usize>(
    mut value_at: impl FnMut(&[f64; N]) -> f64,
    start: [f64; N],
    step: [f64; N],
    bounds: [[f64; 2]; N],
    tolerance: f64,
) -> Largest<N> {
    let clamp = |mut x: [f64; N]| {
        for (value, [low, high]) in x.iter_mut().zip(bounds) {
            *value = value.clamp(low, high);
        }
        x
    };
    let start = clamp(start);
    let mut best = Largest { at: start, value: value_at(&start), evaluations: 1, settled: false };
    let mut scale = 1.0;
    for _ in 0..MOST_ROUNDS {
        if scale <= tolerance || best.value == f64::INFINITY {
            best.settled = best.value.is_finite();
            break;
        }
        let before = best.value;
        for i in 0..N {
            for sign in [1.0, -1.0] {
                let mut trial = best.at;
                trial[i] += sign * scale * step[i];
                let trial = clamp(trial);
                if trial == best.at {
                    continue;
                }
                let value = value_at(&trial);
                best.evaluations += 1;
                if value > best.value {
                    (best.at, best.value) = (trial, value);
                    break;
                }
            }
        }
        // A smaller gain does not count as a climb; otherwise the search would crawl along a flat ridge.
        let climbed = best.value - before > 1e-14 * before.abs();
        if !climbed {
            scale *= 0.5;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: [[f64; 2]; 2] = [[f64::NEG_INFINITY, f64::INFINITY]; 2];

    #[test]
    fn it_finds_the_top_of_a_tilted_hill() {
        let hill = |x: &[f64; 2]| -(x[0] - 1.0).powi(2) - 2.0 * (x[0] + x[1]).powi(2);
        let top = climb(hill, [0.0, 0.0], [0.3, 0.3], FREE, 1e-6);
        assert!((top.at[0] - 1.0).abs() < 1e-5 && (top.at[1] + 1.0).abs() < 1e-5, "{top:?}");
        assert!(top.value > -1e-10);
    }

    #[test]
    fn it_stops_at_a_bound() {
        let top = climb(|x: &[f64; 1]| x[0], [0.2], [0.5], [[0.0, 1.0]], 1e-9);
        assert_eq!((top.at, top.value), ([1.0], 1.0));
    }

    #[test]
    fn an_infinite_value_ends_the_climb() {
        let pole = |x: &[f64; 1]| if x[0] > 0.5 { f64::INFINITY } else { x[0] };
        let top = climb(pole, [0.0], [0.1], [[0.0, 1.0]], 1e-9);
        assert_eq!((top.value, top.settled), (f64::INFINITY, false));
        let pit = |x: &[f64; 1]| if x[0] < 0.05 { f64::NEG_INFINITY } else { -(x[0] - 0.3).powi(2) };
        let top = climb(pit, [0.0], [0.1], [[0.0, 1.0]], 1e-9);
        assert!(top.settled && (top.at[0] - 0.3).abs() < 1e-6, "{top:?}");
        let nowhere = climb(|_: &[f64; 1]| f64::NAN, [0.0], [0.1], [[0.0, 1.0]], 1e-9);
        assert!(nowhere.value.is_nan() && !nowhere.settled);
    }

    #[test]
    fn a_slope_without_a_top_ends_after_so_many_rounds() {
        let top = climb(|x: &[f64; 1]| x[0], [0.0], [1.0], [[0.0, f64::INFINITY]], 1e-9);
        assert!(!top.settled && top.evaluations <= 1 + 2 * MOST_ROUNDS, "{top:?}");
    }

    #[test]
    fn a_value_that_is_no_number_is_never_the_largest() {
        let top =
            climb(|x: &[f64; 1]| if x[0] > 0.5 { f64::NAN } else { x[0] }, [0.0], [0.1], [[0.0, 1.0]], 1e-9);
        assert!(top.value <= 0.5 && top.value > 0.4999);
    }
}
