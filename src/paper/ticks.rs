//! Round numbers for the ticks of an axis.

/// Round numbers in a range, and the decimals that they need.
#[derive(Clone, Debug, PartialEq)]
pub struct Ticks {
    /// The numbers in rising order.
    pub values: Vec<f64>,
    /// Decimals needed to tell the numbers apart.
    pub decimals: usize,
}

impl Ticks {
    /// Multiples of 1, 2 or 5 times a power of ten within the range, about `wanted` of them.
    ///
    /// ```
    /// use coilwright::paper::Ticks;
    /// let ticks = Ticks::within([0.0, 3.0], 6);
    /// assert_eq!(ticks.values, [0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0]);
    /// assert_eq!(ticks.label(0.5), "0.5");
    /// ```
    pub fn within([low, high]: [f64; 2], wanted: usize) -> Self {
        let span = high - low;
        // Written so that a NaN span is caught as well. The only tick is then `low`, if that is finite.
        if !(span > 0.0 && span.is_finite()) {
            return Self { values: vec![low].into_iter().filter(|v| v.is_finite()).collect(), decimals: 3 };
        }
        let rough = span / wanted.max(1) as f64;
        let power = rough.log10().floor();
        let lead = rough / 10f64.powf(power);
        let (digit, carry) = match lead {
            lead if lead <= 1.4 => (1.0, 0.0),
            lead if lead <= 3.2 => (2.0, 0.0),
            lead if lead <= 7.1 => (5.0, 0.0),
            _ => (1.0, 1.0),
        };
        let exponent = (power + carry) as i32;
        // Whole multiples are divided by a whole power of ten, so that 0.3 is exactly the double written that way.
        let value = |multiple: f64| {
            if exponent < 0 {
                multiple * digit / 10f64.powi(-exponent)
            } else {
                multiple * digit * 10f64.powi(exponent)
            }
        };
        let step = value(1.0);
        let first = (low / step - 1e-9).ceil();
        let last = (high / step + 1e-9).floor();
        let count = (last - first).clamp(0.0, 1000.0) as usize;
        let values = (0..=count).map(|i| value(first + i as f64) + 0.0).collect();
        Self { values, decimals: (-exponent).clamp(0, 15) as usize }
    }

    /// A number as the label of a tick, with a true minus sign.
    pub fn label(&self, value: f64) -> String {
        let text = format!("{value:.*}", self.decimals);
        match text.strip_prefix('-') {
            Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.into(),
            Some(rest) => format!("−{rest}"),
            None => text,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside_whatever_the_range() {
        for range in [[-0.2, 0.2], [1e-9, 7e-9], [-3e6, 4.5e7], [0.99, 1.01], [-7.0, -6.9]] {
            let ticks = Ticks::within(range, 6);
            assert!((4..=13).contains(&ticks.values.len()), "{range:?}: {ticks:?}");
            let span = range[1] - range[0];
            assert!(
                ticks.values.iter().all(|v| *v >= range[0] - 1e-6 * span && *v <= range[1] + 1e-6 * span)
            );
        }
    }

    #[test]
    fn labels_tell_neighbours_apart_and_zero_has_no_sign() {
        let ticks = Ticks::within([-0.025, 0.025], 5);
        let labels: Vec<_> = ticks.values.iter().map(|v| ticks.label(*v)).collect();
        assert_eq!(labels, ["−0.02", "−0.01", "0.00", "0.01", "0.02"]);
    }

    #[test]
    fn a_range_without_width_still_answers() {
        assert_eq!(Ticks::within([2.0, 2.0], 5).values, [2.0]);
        assert!(Ticks::within([f64::NAN, 1.0], 5).values.is_empty());
    }
}
