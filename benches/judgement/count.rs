//! What is counted of judged cases, and the sizes of faults in standard uncertainties.

use nalgebra::{DMatrix, DVector};

/// What was said of one case.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// Probabilities told, in the order in which they are told, each with whether it is about what was planted.
    pub findings: Vec<(f64, bool)>,
    /// Every class's probability, told or not, with whether it is right.
    pub stated: Vec<(f64, bool)>,
}

impl Said {
    pub fn accuses(&self) -> bool {
        !self.findings.is_empty()
    }

    fn right_at(&self) -> Option<usize> {
        self.findings.iter().position(|(_, right)| *right)
    }

    fn wrong_above_half(&self) -> bool {
        self.findings.iter().any(|(probability, right)| *probability > 0.5 && !right)
    }
}

/// Shares of cases with a planted fault.
#[derive(Clone, Copy, Debug)]
pub struct Shares {
    pub cases: usize,
    pub first: f64,
    pub first_two: f64,
    pub wrong: f64,
}

impl Shares {
    pub fn of(cases: &[Said]) -> Self {
        let share = |wanted: &dyn Fn(&Said) -> bool| share(cases.iter().map(wanted));
        Self {
            cases: cases.len(),
            first: share(&|said| said.right_at() == Some(0)),
            first_two: share(&|said| said.right_at().is_some_and(|place| place < 2)),
            wrong: share(&Said::wrong_above_half),
        }
    }
}

/// Share of cases that are so.
pub fn share(cases: impl ExactSizeIterator<Item = bool>) -> f64 {
    let count = cases.len();
    cases.filter(|so| *so).count() as f64 / count.max(1) as f64
}

/// Stated probabilities of one tenth beside how often they were right.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tenth {
    pub count: usize,
    pub stated: f64,
    pub right: f64,
}

/// Stated probabilities by tenths.
pub fn tenths<'a>(cases: impl Iterator<Item = &'a Said>) -> [Tenth; 10] {
    let mut tenths = [Tenth::default(); 10];
    for (probability, right) in cases.flat_map(|said| &said.stated) {
        let tenth = &mut tenths[((probability * 10.0) as usize).min(9)];
        tenth.count += 1;
        tenth.stated += probability;
        tenth.right += f64::from(u8::from(*right));
    }
    for tenth in &mut tenths {
        tenth.stated /= tenth.count.max(1) as f64;
        tenth.right /= tenth.count.max(1) as f64;
    }
    tenths
}

/// A size that data determine: with what a unit of it does (`effect`), independent scatter (`own`), errors that data
/// share (`shared`, one standard uncertainty each), and what is fitted whatever the fault (`free`).
///
/// σ = 1/√(sᵀPs), P = V⁻¹ − V⁻¹F(FᵀV⁻¹F)⁻¹FᵀV⁻¹, V = diag(own²) + Σ shared sharedᵀ.
pub fn standard_uncertainty(effect: &[f64], own: &[f64], shared: &[Vec<f64>], free: &[Vec<f64>]) -> f64 {
    let n = own.len();
    let mut covariance = DMatrix::from_diagonal(&DVector::from_iterator(n, own.iter().map(|u| u * u)));
    for effect in shared {
        let effect = DVector::from_column_slice(effect);
        covariance += &effect * effect.transpose();
    }
    let lower = covariance.cholesky().expect("a covariance").unpack();
    let white = |effect: &[f64]| {
        let effect = DVector::from_column_slice(effect);
        lower.solve_lower_triangular(&effect).expect("a covariance")
    };
    let mut rest = white(effect);
    let mut base: Vec<DVector<f64>> = Vec::new();
    for effect in free {
        let mut free = white(effect);
        let length = free.norm();
        base.iter().for_each(|known| free -= known * known.dot(&free));
        if free.norm() > 1e-9 * length {
            base.push(free.normalize());
        }
    }
    base.iter().for_each(|known| rest -= known * known.dot(&rest));
    rest.norm().recip()
}
