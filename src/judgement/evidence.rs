//! How well each hypothesis explains the data, with its size integrated over the physically possible range.
//!
//! With d the whitened data with the fitted quantities projected out, and s a fault's effect treated alike, the
//! likelihood of a fault of size a over that of no fault is exp(a s·d − a² s·s/2), a Gaussian in a about â = s·d/s·s of
//! width σ = 1/√(s·s). Its mean over the prior of a is the Bayes factor. For a uniform prior between low and high:
//!
//! ```text
//! ln BF = â²/2σ² + ln(σ √(2π)/(high − low)) + ln(Φ((high − â)/σ) − Φ((low − â)/σ))
//! ```
//!
//! (Jeffreys 1961, *Theory of Probability*, 3rd ed., 5.2; MacKay 2003, *Information Theory, Inference, and Learning
//! Algorithms*, chapter 28: the factor in front of Φ is the penalty of a fault that could fit many data.) Log-uniform
//! priors and curved effects are integrated by Gauss–Legendre panels about the peak.

use super::data::{Data, Whitened};
use super::fault::{Effect, Fault, Sizes};
use super::normal::ln_between;
use crate::Result;
use crate::numeric::quadrature::gauss_legendre;
use crate::numeric::roots::brent_minimum;
use nalgebra::DVector;
use std::f64::consts::PI;
use std::sync::LazyLock;

/// ln p(data | hypothesis), up to a constant that is common to all hypotheses of the same data.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// For no fault.
    pub none: f64,
    /// For each fault, in the order given.
    pub faults: Vec<FaultEvidence>,
}

/// The evidence for one fault.
#[derive(Clone, Debug)]
pub struct FaultEvidence {
    /// ln p(data | this fault).
    pub ln_evidence: f64,
    /// The size that fits best; zero if the fault does not show in the data. For a linear fault it may lie outside its
    /// range.
    pub size: f64,
    /// Standard uncertainty of that size with all fitted quantities free; infinite if the fault does not show in the
    /// data.
    pub standard_uncertainty: f64,
    /// Decrease of chi-square at the best size.
    pub chi_square_gain: f64,
    /// The effect at the best size, whitened, with the fitted quantities projected out.
    pub(super) signature: DVector<f64>,
}

impl FaultEvidence {
    /// A hypothesis that leaves every datum free has no size, and no signature to share with a fault.
    pub(crate) fn of_anything(ln_evidence: f64) -> Self {
        Self {
            ln_evidence,
            size: 0.0,
            standard_uncertainty: f64::INFINITY,
            chi_square_gain: 0.0,
            signature: DVector::zeros(0),
        }
    }

    /// The same size and signature with another evidence, for example one computed in a state of its own.
    #[must_use]
    pub(crate) fn with_ln_evidence(self, ln_evidence: f64) -> Self {
        Self { ln_evidence, ..self }
    }

    /// The same signature for a fault of size 1 with the evidence of a state of its own, in which chi-square decreases by
    /// `chi_square_gain`; the larger of the two decreases counts.
    #[must_use]
    pub(crate) fn wholly_present(self, ln_evidence: f64, chi_square_gain: f64) -> Self {
        let chi_square_gain = self.chi_square_gain.max(chi_square_gain);
        Self { ln_evidence, chi_square_gain, size: 1.0, ..self }
    }
}

/// Computes the evidence of every fault, and of no fault.
///
/// Refused: a matrix that is not a covariance, empty ranges of sizes, effects on a different number of data.
///
/// ```
/// use coilwright::judgement::{Data, Effect, Fault, Sizes, weigh_faults};
/// // Four readings that should be zero, one of them six standard uncertainties off.
/// let data = Data::independent(&[0.0, 6.0, 0.0, 0.0], &[1.0; 4])?;
/// let fault = Fault {
///     cause: "second reading",
///     effect: Effect::Linear(vec![0.0, 1.0, 0.0, 0.0]),
///     sizes: Sizes::Uniform { low: -50.0, high: 50.0 },
///     prior: 0.1,
///     choices: 4,
/// };
/// let evidence = weigh_faults(&data, &[fault])?;
/// // ln BF = 6²/2 + ln(√(2π)/100).
/// let wanted = 18.0 + ((2.0 * std::f64::consts::PI).sqrt() / 100.0).ln();
/// assert!((evidence.faults[0].ln_evidence - evidence.none - wanted).abs() < 1e-9);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn weigh_faults<C>(data: &Data, faults: &[Fault<'_, C>]) -> Result<Evidence> {
    for fault in faults {
        fault.sizes.checked()?;
    }
    let scales = data.whitened()?;
    let base: Vec<f64> = scales.iter().map(ln_null).collect();
    let fits: Vec<Vec<Fit>> =
        faults.iter().map(|fault| scales.iter().map(|white| Fit::of(fault, white)).collect()).collect();
    // Sizes and signatures are those at the scale that is most probable under the best hypothesis.
    let best_scale = (0..scales.len())
        .max_by(|&i, &j| {
            let best = |k: usize| base[k] + fits.iter().map(|fit| fit[k].ln_bayes_factor).fold(0.0, f64::max);
            best(i).total_cmp(&best(j))
        })
        .unwrap_or(0);
    let faults = fits
        .into_iter()
        .map(|mut fits| {
            let ln_evidence = ln_sum(base.iter().zip(&fits).map(|(base, fit)| base + fit.ln_bayes_factor));
            let Fit { size, standard_uncertainty, chi_square_gain, signature, .. } =
                fits.swap_remove(best_scale);
            FaultEvidence { ln_evidence, size, standard_uncertainty, chi_square_gain, signature }
        })
        .collect();
    Ok(Evidence { none: ln_sum(base.into_iter()), faults })
}

/// What the best of the hypotheses leaves of chi-square if the data's own uncertainties are `times` the stated ones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Unexplained {
    /// Chi-square of the data under the fault that fits best at a size within its range, or under none.
    pub chi_square: f64,
    /// Data less quantities fitted.
    pub degrees_of_freedom: usize,
}

/// Chi-square under the best of all hypotheses, sizes within their ranges, own uncertainties multiplied by `times`.
pub(crate) fn left_unexplained<C>(data: &Data, faults: &[Fault<'_, C>], times: f64) -> Result<Unexplained> {
    let white = data.whitened_at(times)?;
    let gain = faults.iter().map(|fault| Fit::of(fault, &white).gain_within(fault.sizes)).fold(0.0, f64::max);
    Ok(Unexplained {
        chi_square: (white.residuals.norm_squared() - gain).max(0.0),
        degrees_of_freedom: white.degrees_of_freedom(),
    })
}

impl Evidence {
    /// ln of the evidence for all hypotheses together, weighted by their priors: how well these data are explained at
    /// all in the state they were prepared for.
    pub fn total<C>(&self, faults: &[Fault<'_, C>]) -> f64 {
        let shares = faults.iter().map(Fault::prior_of_one);
        let rest = 1.0 - shares.clone().sum::<f64>();
        let terms: Vec<f64> =
            shares.zip(&self.faults).map(|(prior, fault)| prior.ln() + fault.ln_evidence).collect();
        ln_sum(terms.into_iter().chain([rest.ln() + self.none]))
    }

    /// Combines the same faults under several states that exclude each other, each with the ln of its prior weight. The
    /// evidences add; each fault keeps the size and signature of the state that fits it best.
    ///
    /// `None` if there are no states. The states must have the same data. A quantity that is fitted in one state and
    /// not in another needs its prior density in the weight.
    pub(crate) fn of_states(states: Vec<(f64, Self)>) -> Option<Self> {
        let none = ln_sum(states.iter().map(|(weight, state)| weight + state.none));
        let count = states.first()?.1.faults.len();
        let faults = (0..count)
            .map(|i| {
                let at = |(weight, state): &(f64, Self)| weight + state.faults[i].ln_evidence;
                let best = states.iter().max_by(|a, b| at(a).total_cmp(&at(b)))?;
                let ln_evidence = ln_sum(states.iter().map(at));
                Some(FaultEvidence { ln_evidence, ..best.1.faults[i].clone() })
            })
            .collect::<Option<_>>()?;
        Some(Self { none, faults })
    }
}

/// ln Σ exp without overflow; −∞ for no terms.
pub fn ln_sum(terms: impl Iterator<Item = f64> + Clone) -> f64 {
    let largest = terms.clone().fold(f64::NEG_INFINITY, f64::max);
    if largest == f64::NEG_INFINITY {
        return largest;
    }
    largest + terms.map(|term| (term - largest).exp()).sum::<f64>().ln()
}

/// ln of the prior weight of this scale and of the likelihood without fault.
fn ln_null(white: &Whitened) -> f64 {
    white.ln_weight + white.ln_constant - 0.5 * white.residuals.norm_squared()
}

/// One fault at one scale.
struct Fit {
    ln_bayes_factor: f64,
    size: f64,
    standard_uncertainty: f64,
    chi_square_gain: f64,
    signature: DVector<f64>,
}

/// An effect smaller than this at its largest size, in standard uncertainties, counts as invisible in the data.
const INVISIBLE: f64 = 1e-6;

impl Fit {
    fn of<C>(fault: &Fault<'_, C>, white: &Whitened) -> Self {
        match &fault.effect {
            Effect::Linear(effect) => Self::linear(&white.effect(effect), fault.sizes, white),
            Effect::Curved(effect) => Self::curved(|size| white.effect(&effect(size)), fault.sizes, white),
        }
    }

    fn invisible(n: usize) -> Self {
        Self {
            ln_bayes_factor: 0.0,
            size: 0.0,
            standard_uncertainty: f64::INFINITY,
            chi_square_gain: 0.0,
            signature: DVector::zeros(n),
        }
    }

    /// Decrease of chi-square at the size nearest the best one that lies in the range: for a linear fault
    /// (a/â)(2 − a/â) of that at â.
    fn gain_within(&self, sizes: Sizes) -> f64 {
        let nearest = sizes.nearest(self.size);
        let part = if self.size == 0.0 { 0.0 } else { nearest / self.size };
        (self.chi_square_gain * part * (2.0 - part)).max(0.0)
    }

    fn linear(unit: &DVector<f64>, sizes: Sizes, white: &Whitened) -> Self {
        let (along, square) = (unit.dot(&white.residuals), unit.norm_squared());
        let (stretches, falling) = sizes.stretches();
        let largest = stretches.iter().flatten().fold(0.0_f64, |largest, end| largest.max(end.abs()));
        if square.sqrt() * largest < INVISIBLE {
            return Self::invisible(unit.len());
        }
        let (size, deviation) = (along / square, square.sqrt().recip());
        let gain = along * along / square;
        let ln_bayes_factor = if falling {
            let ln = |a: f64| a * along - 0.5 * a * a * square;
            ln_sum(
                stretches
                    .iter()
                    .map(|ends| ln_integral(ln, sizes, *ends, size, deviation))
                    .collect::<Vec<_>>()
                    .into_iter(),
            )
        } else {
            let [low, high] = stretches[0];
            0.5 * gain
                + (deviation * (2.0 * PI).sqrt() / (high - low)).ln()
                + ln_between((low - size) / deviation, (high - size) / deviation)
        };
        Self {
            ln_bayes_factor,
            size,
            standard_uncertainty: deviation,
            chi_square_gain: gain,
            signature: unit * size,
        }
    }

    fn curved(effect: impl Fn(f64) -> DVector<f64>, sizes: Sizes, white: &Whitened) -> Self {
        let square = white.residuals.norm_squared();
        let ln = |size: f64| 0.5 * (square - (&white.residuals - effect(size)).norm_squared());
        let (stretches, falling) = sizes.stretches();
        let peaks: Vec<(f64, f64)> = stretches.iter().map(|ends| peak(&ln, *ends, falling)).collect();
        let ln_bayes_factor = ln_sum(
            stretches
                .iter()
                .zip(&peaks)
                .map(|(ends, (size, deviation))| ln_integral(ln, sizes, *ends, *size, *deviation))
                .collect::<Vec<_>>()
                .into_iter(),
        );
        let best = peaks.iter().max_by(|a, b| ln(a.0).total_cmp(&ln(b.0)));
        let Some(&(size, standard_uncertainty)) = best else { return Self::invisible(white.residuals.len()) };
        let signature = effect(size);
        if signature.norm().is_nan() || signature.norm() < INVISIBLE {
            return Self::invisible(white.residuals.len());
        }
        Self { ln_bayes_factor, size, standard_uncertainty, chi_square_gain: 2.0 * ln(size), signature }
    }
}

/// Points of the scan for the peak of a curved effect.
const SCAN: u32 = 64;

/// The best size between the ends, and its standard uncertainty from the curvature there.
fn peak(ln: &impl Fn(f64) -> f64, [low, high]: [f64; 2], falling: bool) -> (f64, f64) {
    // Sizes over many orders of magnitude are scanned in their logarithm.
    let at = |part: f64| {
        if !falling {
            low + (high - low) * part
        } else if low > 0.0 {
            low * (high / low).powf(part)
        } else {
            high * (low / high).powf(1.0 - part)
        }
    };
    let finite = |size: f64| Some(ln(size)).filter(|value| value.is_finite()).unwrap_or(-1e300);
    let step = f64::from(SCAN).recip();
    let best = (0..=SCAN)
        .map(|i| f64::from(i) * step)
        .max_by(|a, b| finite(at(*a)).total_cmp(&finite(at(*b))))
        .unwrap_or(0.5);
    let found = brent_minimum(|part| -finite(at(part)), (best - step).max(0.0), (best + step).min(1.0), 1e-9);
    let size = at(found.at);
    let h = 1e-4 * (high - low).abs().min(1e2 * size.abs()).max(1e-12 * (high - low));
    let curvature = (2.0 * ln(size) - ln(size + h) - ln(size - h)) / (h * h);
    let deviation = if curvature > 0.0 { curvature.sqrt().recip() } else { high - low };
    (size, deviation)
}

/// Edges of panels about the peak, in standard uncertainties.
const EDGES: [f64; 11] = [-12.0, -6.0, -3.0, -1.5, -0.5, 0.0, 0.5, 1.5, 3.0, 6.0, 12.0];
/// The widest panel in ln size: away from the peak the integrand is 1/size times a smooth function.
const WIDEST: f64 = 1.0;
static RULE: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_legendre(10));

/// ln ∫ prior(a) exp(ln(a)) da over one stretch, in panels about a peak of that width.
fn ln_integral(
    ln: impl Fn(f64) -> f64,
    sizes: Sizes,
    [low, high]: [f64; 2],
    size: f64,
    deviation: f64,
) -> f64 {
    let falling = sizes.stretches().1;
    let sign = if high > 0.0 { 1.0 } else { -1.0 };
    // A falling prior is flat in the logarithm: a = ± e^t.
    let to = |a: f64| if falling { sign * (a.abs()).ln() } else { a };
    let from = |t: f64| if falling { sign * (sign * t).exp() } else { t };
    let (from_t, to_t) = (to(low), to(high));
    let mut edges = vec![from_t];
    for edge in EDGES.iter().map(|edge| size + edge * deviation).filter(|edge| *edge > low && *edge < high) {
        edges.push(to(edge));
    }
    edges.push(to_t);
    let widest = if falling { WIDEST } else { (to_t - from_t) / 8.0 };
    let mut terms = Vec::with_capacity(10 * RULE.len());
    for pair in edges.windows(2) {
        let parts = ((pair[1] - pair[0]) / widest).ceil().max(1.0);
        let half = 0.5 * (pair[1] - pair[0]) / parts;
        if half <= 0.0 {
            continue;
        }
        for part in 0..parts as usize {
            let middle = pair[0] + (2.0 * part as f64 + 1.0) * half;
            for (x, w) in RULE.iter() {
                let a = from(middle + half * x);
                let jacobian = if falling { a.abs().ln() } else { 0.0 };
                let value = ln(a);
                if value.is_finite() {
                    terms.push(value + sizes.ln_density(a) + jacobian + (w * half).ln());
                }
            }
        }
    }
    ln_sum(terms.into_iter())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judgement::Scale;
    use approx::assert_relative_eq;

    fn fault<'a>(effect: Effect<'a>, sizes: Sizes) -> Fault<'a, &'static str> {
        Fault { cause: "fault", effect, sizes, prior: 0.1, choices: 1 }
    }

    const RESIDUALS: [f64; 5] = [0.4, -1.1, 2.3, 0.2, 3.0];
    const UNIT: [f64; 5] = [0.3, 0.1, 0.9, -0.2, 1.4];

    fn data() -> Data {
        Data::independent(&RESIDUALS, &[0.8, 1.0, 1.2, 0.7, 1.0])
            .unwrap()
            .sharing(vec![0.3; 5])
            .fitting(vec![1.0, 1.0, 1.0, 1.0, 2.0])
    }

    /// The mean of the likelihood ratio over the prior by the trapezoidal rule with very many steps.
    fn by_trapezium(sizes: Sizes, effect: impl Fn(f64) -> Vec<f64>) -> f64 {
        let white = &data().whitened().unwrap()[0];
        let square = white.residuals.norm_squared();
        let ratio = |a: f64| {
            (0.5 * (square - (&white.residuals - white.effect(&effect(a))).norm_squared())
                + sizes.ln_density(a))
            .exp()
        };
        sizes
            .stretches()
            .0
            .iter()
            .map(|[low, high]| {
                const STEPS: u32 = 200_000;
                let h = (high - low) / f64::from(STEPS);
                let inner: f64 = (1..STEPS).map(|i| ratio(low + f64::from(i) * h)).sum();
                h * (inner + 0.5 * (ratio(*low) + ratio(*high)))
            })
            .sum()
    }

    #[test]
    fn closed_and_panel_integrals_agree_with_plain_quadrature() {
        let scaled = |a: f64| UNIT.iter().map(|unit| a * unit).collect::<Vec<_>>();
        let bent = |a: f64| UNIT.iter().map(|unit| (1.0 + a * unit).ln() * 3.0).collect::<Vec<_>>();
        for sizes in [
            Sizes::Uniform { low: -20.0, high: 30.0 },
            Sizes::Uniform { low: 4.0, high: 9.0 },
            Sizes::LogUniform { near: 0.05, far: 30.0 },
            Sizes::LogUniform { near: -0.05, far: -30.0 },
            Sizes::LogUniformEitherSign { smallest: 0.1, largest: 20.0 },
        ] {
            let evidence = weigh_faults(&data(), &[fault(Effect::Linear(UNIT.to_vec()), sizes)]).unwrap();
            let got = (evidence.faults[0].ln_evidence - evidence.none).exp();
            assert_relative_eq!(got, by_trapezium(sizes, scaled), max_relative = 1e-6);
            // The same as a curve.
            let evidence = weigh_faults(&data(), &[fault(Effect::Curved(Box::new(scaled)), sizes)]).unwrap();
            let got = (evidence.faults[0].ln_evidence - evidence.none).exp();
            assert_relative_eq!(got, by_trapezium(sizes, scaled), max_relative = 1e-6);
        }
        let sizes = Sizes::Uniform { low: -0.5, high: 4.0 };
        let evidence = weigh_faults(&data(), &[fault(Effect::Curved(Box::new(bent)), sizes)]).unwrap();
        let got = (evidence.faults[0].ln_evidence - evidence.none).exp();
        assert_relative_eq!(got, by_trapezium(sizes, bent), max_relative = 1e-6);
    }

    #[test]
    fn a_scale_estimated_from_the_data_gives_students_t() {
        // One unknown mean over n data, scale with a Jeffreys prior over a wide range: the evidence for a shift of the
        // last datum follows (RSS_0/RSS_a)^(ν/2) integrated over a (Zellner 1971, chapter 3), here by quadrature.
        let residuals = [0.1, -0.3, 0.25, 0.05, -0.1, 1.5];
        let n = residuals.len();
        let sizes = Sizes::Uniform { low: -3.0, high: 3.0 };
        let unit: Vec<f64> = (0..n).map(|i| if i == n - 1 { 1.0 } else { 0.0 }).collect();
        let data = Data::independent(&residuals, &[1.0; 6])
            .unwrap()
            .fitting(vec![1.0; n])
            .scaled(Scale::Unknown { low: 1e-3, high: 1e3 });
        let evidence = weigh_faults(&data, &[fault(Effect::Linear(unit), sizes)]).unwrap();
        let rss = |a: f64| {
            let moved: Vec<f64> =
                residuals.iter().enumerate().map(|(i, r)| if i == n - 1 { r - a } else { *r }).collect();
            let mean = moved.iter().sum::<f64>() / n as f64;
            moved.iter().map(|r| (r - mean).powi(2)).sum::<f64>()
        };
        let nu = (n - 1) as f64;
        let steps = 60_000;
        let h = 6.0 / f64::from(steps);
        let mean_ratio: f64 =
            (0..steps).map(|i| (rss(0.0) / rss(-3.0 + (f64::from(i) + 0.5) * h)).powf(0.5 * nu)).sum::<f64>()
                * h
                / 6.0;
        assert_relative_eq!(
            evidence.faults[0].ln_evidence - evidence.none,
            mean_ratio.ln(),
            max_relative = 1e-4
        );
    }

    #[test]
    fn what_the_data_do_not_see_is_neither_favoured_nor_disfavoured() {
        let sizes = Sizes::Uniform { low: -5.0, high: 5.0 };
        // The effect is the same as that of a fitted quantity.
        let hidden = fault(Effect::Linear(vec![1.0, 1.0, 1.0, 1.0, 2.0]), sizes);
        let evidence = weigh_faults(&data(), &[hidden]).unwrap();
        assert_relative_eq!(evidence.faults[0].ln_evidence, evidence.none, max_relative = 1e-9);
        assert_eq!(evidence.faults[0].standard_uncertainty, f64::INFINITY);
    }

    #[test]
    fn a_size_far_outside_its_range_costs_what_it_should() {
        // â = 40 σ beyond the range: only the edge matters, exp(a·s·d − a²/2) near a = 1.
        let data = Data::independent(&[40.0], &[1.0]).unwrap();
        let sizes = Sizes::Uniform { low: -1.0, high: 1.0 };
        let evidence = weigh_faults(&data, &[fault(Effect::Linear(vec![1.0]), sizes)]).unwrap();
        // By hand: ½ ∫ exp(40 a − a²/2) da over ±1 = ½ e^39.5/39 (1 − 1/39² + ...).
        let wanted = 39.5 - (2.0_f64 * 39.0).ln() - 39.0_f64.powi(-2);
        assert_relative_eq!(evidence.faults[0].ln_evidence - evidence.none, wanted, max_relative = 1e-6);
    }
}
