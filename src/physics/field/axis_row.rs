//! The series about one point of the axis, for the points of a row that crosses the axis there at right angles.
//!
//! At θ = 90° the zonal harmonics of [`axis_series`](super::axis_series) turn into two polynomials in ρ²:
//!
//! ```text
//! B_ζ = Σ b_2j P_2j(0) ρ^(2j)        B_ρ/ρ = −Σ b_2j+1/(2j + 2) P'_2j+1(0) ρ^(2j)
//! ```

use super::axis_series::MOST_TERMS;

/// Distances from the axis, in parts of the reach, up to which rows have their own number of terms.
const STEPS: usize = 8;
/// Terms of either polynomial.
const MOST_PAIRS: usize = MOST_TERMS / 2;

/// P_2j(0) and −P'_2j+1(0)/(2j + 2); P_2j(0) = −P_2j−2(0) (2j − 1)/2j and P'_2j+1(0) = (2j + 1) P_2j(0).
const FACTORS: [[f64; 2]; MOST_PAIRS] = {
    let mut factors = [[0.0; 2]; MOST_PAIRS];
    let (mut legendre, mut j) = (1.0, 0);
    while j < MOST_PAIRS {
        let ratio = (2 * j + 1) as f64 / (2 * j + 2) as f64;
        factors[j] = [legendre, -ratio * legendre];
        legendre *= -ratio;
        j += 1;
    }
    factors
};

/// The series about one point of the axis.
#[derive(Debug)]
pub(super) struct AxisRow {
    /// Coefficients of ρ^(2j) in B_ζ and in B_ρ/ρ, ρ in units of the scale; equally many.
    pub axial: Vec<f64>,
    pub radial_over_rho: Vec<f64>,
    pub scale_m: f64,
}

/// Neighbouring rows, and the number of terms that serves all of them at each distance from the axis.
#[derive(Debug)]
pub(super) struct AxisRows {
    pub rows: Vec<AxisRow>,
    /// Largest ρ in units of each row's scale.
    pub ratio: f64,
    /// (ρ/scale)² and the number of terms that serves up to there, rising.
    terms: [(f64, usize); STEPS],
}

impl AxisRows {
    /// From the coefficients b_n scale^n of each row, T, up to an odd n. They are listed term by term, `stride` apart.
    /// The rows serve points up to ρ = `ratio` scale; the terms left out of either component sum to less than the row's
    /// limit, T.
    pub(super) fn new(b: &[f64], stride: usize, scale_m: &[f64], limit_tesla: &[f64], ratio: f64) -> Self {
        let pairs = b.len() / stride / 2;
        let row = |(index, &scale_m): (usize, &f64)| {
            let coefficients = |parity: usize| {
                let term = move |j: usize| b[(2 * j + parity) * stride + index] * FACTORS[j][parity];
                (0..pairs).map(term)
            };
            let inverse = 1.0 / scale_m;
            AxisRow {
                axial: coefficients(0).collect(),
                radial_over_rho: coefficients(1).map(|c| c * inverse).collect(),
                scale_m,
            }
        };
        let mut rows: Vec<AxisRow> = scale_m.iter().enumerate().map(row).collect();
        // The largest coefficients of all rows, over each row's limit.
        let mut largest = [vec![0.0_f64; pairs], vec![0.0_f64; pairs]];
        for (row, limit) in rows.iter().zip(limit_tesla) {
            let inverse = [1.0 / limit, row.scale_m / limit];
            for (list, (coefficients, inverse)) in
                largest.iter_mut().zip([&row.axial, &row.radial_over_rho].into_iter().zip(inverse))
            {
                for (largest, c) in list.iter_mut().zip(coefficients) {
                    *largest = f64::max(*largest, c.abs() * inverse);
                }
            }
        }
        let q: [f64; STEPS] = std::array::from_fn(|step| ratio * (step + 1) as f64 / STEPS as f64);
        let x = q.map(|q| q * q);
        let for_axial = terms_needed(&largest[0], &x, &[1.0; STEPS]);
        let for_radial = terms_needed(&largest[1], &x, &q.map(|q| 1.0 / q));
        let terms = std::array::from_fn(|step| (x[step], for_axial[step].max(for_radial[step])));
        for row in &mut rows {
            row.axial.truncate(terms[STEPS - 1].1);
            row.radial_over_rho.truncate(terms[STEPS - 1].1);
        }
        Self { rows, ratio, terms }
    }

    /// The number of terms that serves up to (ρ/scale)² = `x`; all terms if `x` is beyond the reach.
    #[inline(always)]
    pub(crate) fn terms_at(&self, x: f64) -> usize {
        // Counting needs no branch.
        let beyond = self.terms.iter().filter(|(most, _)| x > *most).count();
        self.terms[beyond.min(STEPS - 1)].1
    }
}

/// The number of leading terms, at least one, of a polynomial with these coefficients for which the rest is less than
/// each `limit` at each `x`.
fn terms_needed(coefficients: &[f64], x: &[f64; STEPS], limit: &[f64; STEPS]) -> [usize; STEPS] {
    let mut power = x.map(|x| x.powi(coefficients.len() as i32 - 1));
    let inverse = x.map(|x| 1.0 / x);
    let mut dropped = [0.0; STEPS];
    let mut needed = [1.0_f64; STEPS];
    // All steps at once, without branches.
    for (count, coefficient) in coefficients.iter().enumerate().rev() {
        for i in 0..STEPS {
            dropped[i] += coefficient * power[i];
            power[i] *= inverse[i];
            let here = if dropped[i] > limit[i] { (count + 1) as f64 } else { 1.0 };
            needed[i] = if needed[i] < here { here } else { needed[i] };
        }
    }
    needed.map(|needed| needed as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_row_leaves_out_is_within_the_limit_at_every_step() {
        // On the axis of one loop of radius 1, height h: b_n = d^n/dz^n of (1 + (z − h)²)^(−3/2)/n!, by its recurrence.
        let (h, terms) = (0.4_f64, 60);
        let c2 = 1.0 + h * h;
        let mut b = vec![c2.powf(-1.5), 3.0 * h / c2 * c2.powf(-1.5)];
        for n in 2..terms {
            let m = n as f64;
            b.push(((2.0 * m + 1.0) * h * b[n - 1] - (m + 1.0) * b[n - 2]) / (m * c2));
        }
        let rows = AxisRows::new(&b, 1, &[1.0], &[1e-10], 0.6);
        let all = &AxisRows::new(&b, 1, &[1.0], &[1e-300], 0.6).rows[0];
        let row = &rows.rows[0];
        assert!(row.axial.len() < 30 && all.axial.len() == 30, "{:?}", rows.terms);
        assert!(rows.terms[0].1 < rows.terms[STEPS - 1].1, "{:?}", rows.terms);
        let sum = |list: &[f64], x: f64| list.iter().rev().fold(0.0, |sum, c| sum * x + c);
        for i in 0..=600 {
            let rho = f64::from(i) * 1e-3;
            let (x, terms) = (rho * rho, rows.terms_at(rho * rho));
            let axial = sum(&row.axial[..terms], x) - sum(&all.axial, x);
            let radial = rho * (sum(&row.radial_over_rho[..terms], x) - sum(&all.radial_over_rho, x));
            assert!(axial.abs() < 1e-10 && radial.abs() < 1e-10, "{rho}: {axial:e} {radial:e}");
        }
        // One term less would break the limit, so no needless terms are taken.
        let (x, terms) = (rows.terms[3].0, rows.terms[3].1 - 1);
        let axial = sum(&row.axial[..terms], x) - sum(&all.axial, x);
        let radial = x.sqrt() * (sum(&row.radial_over_rho[..terms], x) - sum(&all.radial_over_rho, x));
        assert!(axial.abs().max(radial.abs()) > 1e-11, "{axial:e} {radial:e}");
    }
}
