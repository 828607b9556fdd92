//! Which build errors are worth holding, and how tightly.

use super::sensitivity::Sensitivity;
use super::wish::Wish;
use crate::questions::words::notes::Told;
use crate::units::{Dimension, display};
use serde::Serialize;

/// The limit for one kind of error.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Hold {
    /// The kind of error, for both coils and every direction.
    pub name: &'static str,
    /// The wish that needs it: `field constant` or `beam deviation`.
    pub wish: &'static str,
    /// The limit that the spec states, in `unit`.
    pub stated_limit: f64,
    /// The limit with which 95 of 100 builds meet the wish if all kinds are held as stated here; the stated limit if
    /// that suffices.
    pub needed_limit: f64,
    /// `m`, `rad`, `turn` or `1`.
    pub unit: &'static str,
    /// Share of this kind in the variance of the wished quantity, at the stated limits.
    pub share_of_variance: f64,
    /// The advice.
    #[serde(skip)]
    pub advice: Advice,
}

/// The advice on one kind of error.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Advice {
    /// None: the design itself misses the wish.
    DesignMisses,
    /// None: the design leaves almost no margin to the wish.
    CannotHelp,
    /// Hold it to the needed limit.
    Tighten,
    /// The stated limit suffices.
    WillDo,
    /// There is no wish; only its share is given.
    ShareOnly,
}

impl Told for Hold {
    fn sentence(&self) -> String {
        let share = format!("{:.0} % of the variance of the {}", 100.0 * self.share_of_variance, self.wish);
        let (name, wish) = (self.name, self.wish);
        let [stated, needed] = [self.stated_limit, self.needed_limit].map(|limit| amount(limit, self.unit));
        match self.advice {
            Advice::DesignMisses => {
                format!("{name}: no tolerance is tight enough, the design itself misses the {wish} wished")
            }
            Advice::CannotHelp => format!(
                "{name}: holding it cannot help, the design itself leaves next to no room under the {wish} wished; it makes \
                 {share}"
            ),
            Advice::Tighten => format!("hold {name} to ±{needed}, not ±{stated}: it makes {share}"),
            Advice::WillDo => format!("{name} within ±{stated} will do: it makes {share}"),
            Advice::ShareOnly => format!("{name} within ±{stated} makes {share}"),
        }
    }
}

/// Nobody can hold a limit below this fraction of the stated one.
const HOPELESS: f64 = 0.05;

/// One kind of error, and the standard uncertainty of the wished quantity from it.
struct Kind {
    name: &'static str,
    unit: &'static str,
    limit: f64,
    contribution: f64,
}

/// The limits for each wish, the largest contribution first.
pub(super) fn hold(sensitivities: &[Sensitivity], nominal: Option<f64>, wish: Wish) -> Vec<Hold> {
    let mut all = Vec::new();
    let constant = kinds(sensitivities, |s| s.field_constant_relative_contribution);
    // Without a wish only the order matters, and it does not depend on the margin.
    let room = wish.field_constant_within_fraction.unwrap_or(f64::INFINITY);
    all.extend(for_one_wish(constant, "field constant", room));
    if let (Some(limit), Some(nominal)) = (wish.beam_deviation, nominal) {
        let beam = kinds(sensitivities, |s| {
            // The growth for one standard uncertainty of the error.
            let growth = s.beam_deviation_growth_at_limit.unwrap_or(0.0);
            if s.limit > 0.0 { growth * s.standard_uncertainty / s.limit } else { 0.0 }
        });
        all.extend(for_one_wish(beam, "beam deviation", limit - nominal.abs()));
    }
    all
}

/// The kinds of error, with coils and directions combined in quadrature.
fn kinds(sensitivities: &[Sensitivity], contribution: impl Fn(&Sensitivity) -> f64) -> Vec<Kind> {
    let mut kinds: Vec<Kind> = Vec::new();
    for sensitivity in sensitivities.iter().filter(|sensitivity| sensitivity.limit > 0.0) {
        let name = match sensitivity.name {
            "offset along x" | "offset along y" => "offset",
            "tilt about x" | "tilt about y" => "tilt",
            name => name,
        };
        let part = contribution(sensitivity);
        match kinds.iter_mut().find(|kind| kind.name == name) {
            Some(kind) => kind.contribution = kind.contribution.hypot(part),
            None => kinds.push(Kind {
                name,
                unit: sensitivity.unit,
                limit: sensitivity.limit,
                contribution: part,
            }),
        }
    }
    kinds.sort_by(|a, b| b.contribution.total_cmp(&a.contribution));
    kinds
}

/// Limits for which twice the combined standard uncertainty equals `room`. The largest contributions are lowered to one
/// common level; the others stay.
fn for_one_wish(kinds: Vec<Kind>, wish: &'static str, room: f64) -> Vec<Hold> {
    let variance: f64 = kinds.iter().map(|kind| kind.contribution.powi(2)).sum();
    let level = common_level(&kinds, 0.5 * room.max(0.0));
    kinds
        .into_iter()
        .filter(|kind| kind.contribution.powi(2) > 1e-4 * variance)
        .map(|kind| {
            let needed = kind.limit * (level / kind.contribution).min(1.0);
            Hold {
                name: kind.name,
                wish,
                stated_limit: kind.limit,
                needed_limit: needed,
                unit: kind.unit,
                share_of_variance: kind.contribution.powi(2) / variance,
                advice: Advice::of(needed, kind.limit, room),
            }
        })
        .collect()
}

/// The level c with Σ min(contribution, c)² = target²; infinite if the whole sum is below.
fn common_level(kinds: &[Kind], target: f64) -> f64 {
    let square = |value: f64| value * value;
    let sum_at = |level: f64| kinds.iter().map(|kind| square(kind.contribution.min(level))).sum::<f64>();
    if sum_at(f64::INFINITY) <= square(target) {
        return f64::INFINITY;
    }
    // Kinds are sorted, largest first. With the first n at the level: n c² + the squares of the others = target².
    let mut rest = sum_at(f64::INFINITY);
    for (n, kind) in kinds.iter().enumerate() {
        rest -= square(kind.contribution);
        let level = ((square(target) - rest) / (n + 1) as f64).max(0.0).sqrt();
        let next = kinds.get(n + 1).map_or(0.0, |kind| kind.contribution);
        if level >= next {
            return level;
        }
    }
    0.0
}

impl Advice {
    /// From the needed and the stated limit, with this margin to the wish.
    fn of(needed: f64, stated: f64, room: f64) -> Self {
        match () {
            () if room <= 0.0 => Self::DesignMisses,
            () if needed < HOPELESS * stated => Self::CannotHelp,
            () if needed < stated => Self::Tighten,
            () if room.is_finite() => Self::WillDo,
            () => Self::ShareOnly,
        }
    }
}

/// A limit for people. It is rounded toward zero to two digits.
fn amount(limit: f64, unit: &str) -> String {
    let rounded = toward_zero(limit);
    match unit {
        "m" => display(rounded, Dimension::Length, 2),
        "rad" => crate::units::fixed(rounded, crate::units::unit::DEGREE, 2),
        "turn" => format!("{rounded} turns"),
        _ => display(rounded, Dimension::Fraction, 2),
    }
}

/// Two significant digits, rounded toward zero; a value that has only two keeps them.
fn toward_zero(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    let digit = 10f64.powf(value.log10().floor() - 1.0);
    (value / digit * (1.0 + 1e-9)).floor() * digit
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(name: &'static str, contribution: f64) -> Kind {
        Kind { name, unit: "m", limit: 0.5e-3, contribution }
    }

    #[test]
    fn held_limits_bring_the_sum_exactly_to_the_wish() {
        let kinds = || vec![kind("spacing", 4.0), kind("mean radius", 3.0), kind("width", 0.5)];
        for room in [2.0, 5.0, 9.0, 10.1] {
            let held = for_one_wish(kinds(), "field constant", room);
            let sum: f64 = held
                .iter()
                .zip([4.0, 3.0, 0.5])
                .map(|(hold, contribution)| (contribution * hold.needed_limit / 0.5e-3).powi(2))
                .sum();
            assert!((2.0 * sum.sqrt() - room.min(2.0 * 25.25f64.sqrt())).abs() < 1e-12, "{room}: {held:?}");
        }
    }

    #[test]
    fn only_the_largest_is_held_where_that_will_do() {
        let held = for_one_wish(vec![kind("spacing", 4.0), kind("width", 1.0)], "field constant", 6.0);
        // 2 √(c² + 1) = 6: c = √8, so 0.5 mm × √8/4 = 0.3535… mm.
        assert_eq!(
            held[0].sentence(),
            "hold spacing to ±0.35 mm, not ±0.50 mm: it makes 94 % of the variance of the field constant"
        );
        assert_eq!(held[1].needed_limit, 0.5e-3);
        assert!(held[1].sentence().starts_with("width within ±0.50 mm will do"), "{}", held[1].sentence());
    }

    #[test]
    fn a_design_that_misses_by_itself_is_told_so() {
        let held = for_one_wish(vec![kind("spacing", 4.0)], "beam deviation", -0.1);
        assert!(held[0].sentence().contains("the design itself misses"), "{}", held[0].sentence());
    }
}
