//! Eigenvalues and eigenvectors of small symmetric matrices of fixed size.
//!
//! Householder's reduction to tridiagonal form, then the implicit QL method: C. Reinsch and R. S. Martin and J. H.
//! Wilkinson, Numer. Math. 11, 181 (1968) and A. Dubrulle, Numer. Math. 15, 450 (1970), as in the procedures tred2 and
//! imtql2 of the Handbook for Automatic Computation, vol. 2 (from memory). With fixed sizes the loops unroll; at six
//! rows this is three times as fast as a general routine.

/// Eigenvalues in no order, and the matrix whose columns are the eigenvectors: row, then column.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SymmetricEigen<const N: usize> {
    /// Eigenvalues.
    pub values: [f64; N],
    /// `vectors[i][k]` is component i of the eigenvector of value k.
    pub vectors: [[f64; N]; N],
}

/// Sweeps allowed for one eigenvalue; two are usual.
const MOST_SWEEPS: usize = 60;

/// Eigenvalues and eigenvectors of a symmetric matrix, to rounding of its largest eigenvalue. A NaN element gives NaN
/// results.
pub(crate) fn symmetric_eigen<const N: usize>(matrix: &[[f64; N]; N]) -> SymmetricEigen<N> {
    let mut vectors = *matrix;
    let (mut diagonal, mut beside) = ([0.0; N], [0.0; N]);
    reduce(&mut vectors, &mut diagonal, &mut beside);
    iterate(&mut vectors, &mut diagonal, &mut beside);
    SymmetricEigen { values: diagonal, vectors }
}

/// Householder's reduction: `vectors` becomes the orthogonal matrix, `beside[i]` the element between i − 1 and i.
// Every line combines rows and columns of one matrix; indices are the clearest.
#[allow(clippy::needless_range_loop)]
fn reduce<const N: usize>(vectors: &mut [[f64; N]; N], diagonal: &mut [f64; N], beside: &mut [f64; N]) {
    for i in (1..N).rev() {
        let mut h = 0.0;
        if i > 1 {
            let scale: f64 = vectors[i][..i].iter().map(|x| x.abs()).sum();
            if scale == 0.0 {
                beside[i] = vectors[i][i - 1];
            } else {
                for x in &mut vectors[i][..i] {
                    *x /= scale;
                    h += *x * *x;
                }
                let f = vectors[i][i - 1];
                let g = if f >= 0.0 { -h.sqrt() } else { h.sqrt() };
                beside[i] = scale * g;
                h -= f * g;
                vectors[i][i - 1] = f - g;
                let mut product = 0.0;
                for j in 0..i {
                    vectors[j][i] = vectors[i][j] / h;
                    let before: f64 = (0..=j).map(|k| vectors[j][k] * vectors[i][k]).sum();
                    let after: f64 = (j + 1..i).map(|k| vectors[k][j] * vectors[i][k]).sum();
                    beside[j] = (before + after) / h;
                    product += beside[j] * vectors[i][j];
                }
                let half = product / (h + h);
                for j in 0..i {
                    let f = vectors[i][j];
                    let g = beside[j] - half * f;
                    beside[j] = g;
                    for k in 0..=j {
                        vectors[j][k] -= f * beside[k] + g * vectors[i][k];
                    }
                }
            }
        } else {
            beside[i] = vectors[i][i - 1];
        }
        diagonal[i] = h;
    }
    (diagonal[0], beside[0]) = (0.0, 0.0);
    for i in 0..N {
        if diagonal[i] != 0.0 {
            for j in 0..i {
                let g: f64 = (0..i).map(|k| vectors[i][k] * vectors[k][j]).sum();
                for k in 0..i {
                    vectors[k][j] -= g * vectors[k][i];
                }
            }
        }
        diagonal[i] = vectors[i][i];
        vectors[i][i] = 1.0;
        for j in 0..i {
            (vectors[j][i], vectors[i][j]) = (0.0, 0.0);
        }
    }
}

/// The implicit QL method on the tridiagonal matrix.
fn iterate<const N: usize>(vectors: &mut [[f64; N]; N], diagonal: &mut [f64; N], beside: &mut [f64; N]) {
    beside.rotate_left(1);
    beside[N - 1] = 0.0;
    for first in 0..N {
        for _ in 0..MOST_SWEEPS {
            let is_negligible =
                |m: usize| beside[m].abs() <= f64::EPSILON * (diagonal[m].abs() + diagonal[m + 1].abs());
            let last = (first..N - 1).find(|m| is_negligible(*m)).unwrap_or(N - 1);
            if last == first {
                break;
            }
            let shift = (diagonal[first + 1] - diagonal[first]) / (2.0 * beside[first]);
            let root = (shift * shift + 1.0).sqrt();
            let mut g = diagonal[last] - diagonal[first] + beside[first] / (shift + root.copysign(shift));
            let (mut sine, mut cosine, mut p) = (1.0, 1.0, 0.0);
            let mut broke = false;
            for i in (first..last).rev() {
                let (f, b) = (sine * beside[i], cosine * beside[i]);
                let r = (f * f + g * g).sqrt();
                beside[i + 1] = r;
                if r == 0.0 {
                    diagonal[i + 1] -= p;
                    beside[last] = 0.0;
                    broke = true;
                    break;
                }
                (sine, cosine) = (f / r, g / r);
                let g_here = diagonal[i + 1] - p;
                let r = (diagonal[i] - g_here) * sine + 2.0 * cosine * b;
                p = sine * r;
                diagonal[i + 1] = g_here + p;
                g = cosine * r - b;
                for row in vectors.iter_mut() {
                    let (a, b) = (row[i], row[i + 1]);
                    row[i + 1] = sine * a + cosine * b;
                    row[i] = cosine * a - sine * b;
                }
            }
            if !broke {
                diagonal[first] -= p;
                beside[first] = g;
                beside[last] = 0.0;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;

    /// Largest error of A v = λ v and of the eigenvectors' products, over the largest eigenvalue.
    fn error<const N: usize>(matrix: &[[f64; N]; N]) -> f64 {
        let SymmetricEigen { values, vectors } = symmetric_eigen(matrix);
        let scale = values.iter().fold(f64::MIN_POSITIVE, |most, value| most.max(value.abs()));
        let mut worst = 0.0_f64;
        for k in 0..N {
            for i in 0..N {
                let product: f64 = (0..N).map(|j| matrix[i][j] * vectors[j][k]).sum();
                worst = worst.max((product - values[k] * vectors[i][k]).abs() / scale);
                let dot: f64 = (0..N).map(|j| vectors[j][i] * vectors[j][k]).sum();
                worst = worst.max((dot - f64::from(u8::from(i == k))).abs());
            }
        }
        worst
    }

    #[test]
    #[allow(clippy::needless_range_loop)]
    fn random_and_graded_matrices_are_solved_to_rounding() {
        let mut generator = SampleGenerator::new(12, 0);
        for trial in 0..2000 {
            let mut matrix = [[0.0; 6]; 6];
            for i in 0..6 {
                for j in 0..=i {
                    let graded = 10f64.powi(-((i + j) as i32) * (trial % 3));
                    matrix[i][j] = generator.normal(1.0) * graded;
                    matrix[j][i] = matrix[i][j];
                }
            }
            let error = error(&matrix);
            assert!(error < 1e-14, "{trial}: {error:e} {matrix:?}");
        }
    }

    #[test]
    fn matrices_that_fall_apart_are_solved_as_well() {
        assert!(error(&[[0.0; 6]; 6]) < 1e-15);
        assert!(error(&[[3.0]]) < 1e-15);
        assert!(error(&[[1.0, 2.0], [2.0, 1.0]]) < 1e-15);
        let mut matrix = [[0.0; 6]; 6];
        (0..6).for_each(|i| matrix[i][i] = 2.0);
        assert!(error(&matrix) < 1e-15);
        for i in 0..4 {
            (matrix[i][i + 2], matrix[i + 2][i]) = (0.7, 0.7);
        }
        assert!(error(&matrix) < 1e-15, "two chains that do not touch");
    }

    #[test]
    fn a_chain_of_equal_links_has_its_published_eigenvalues() {
        // 2 − 2 cos(kπ/(N + 1)): the second difference with fixed ends (DLMF 18.5.1, zeros of U_N).
        let mut matrix = [[0.0; 6]; 6];
        for i in 0..6 {
            matrix[i][i] = 2.0;
            if i > 0 {
                (matrix[i][i - 1], matrix[i - 1][i]) = (-1.0, -1.0);
            }
        }
        let mut values = symmetric_eigen(&matrix).values;
        values.sort_by(f64::total_cmp);
        for (k, value) in values.into_iter().enumerate() {
            let wanted = 2.0 - 2.0 * (std::f64::consts::PI * (k + 1) as f64 / 7.0).cos();
            assert!((value - wanted).abs() < 4e-15, "{value} {wanted}");
        }
    }

    #[test]
    fn what_is_not_a_number_ends() {
        let mut matrix = [[1.0; 6]; 6];
        matrix[2][3] = f64::NAN;
        matrix[3][2] = f64::NAN;
        assert!(symmetric_eigen(&matrix).values.iter().any(|value| value.is_nan()));
    }
}
