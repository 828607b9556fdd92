//! Several numbers at once: arithmetic on the widest registers of the processor, chosen at run time.
//!
//! A kernel is written once over `Lanes` and runs on AVX-512 (8 numbers), AVX2 (4), NEON (2) or plain scalar code (1).
//! `Lanes::mul_add` rounds once if the set has a fused multiply–add, else twice. Results therefore differ between
//! instruction sets in the last bits only.

use super::lanes_fit::{ATAN_OVER, ATANH_OVER};
use pulp::{Scalar, Simd, WithSimd};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
use std::ops::{Add, Div, Mul, Neg, Sub};
use std::sync::atomic::{AtomicBool, Ordering};

/// Whether [`keep_to_scalar`] was called.
static SCALAR_ONLY: AtomicBool = AtomicBool::new(false);

/// Makes [`InstructionSet::Fastest`] mean [`InstructionSet::Scalar`] in the whole process from now on. Call it before
/// anything is computed. A calculation that names another set keeps it.
pub fn keep_to_scalar() {
    SCALAR_ONLY.store(true, Ordering::Relaxed);
}

/// The instructions a calculation may use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum InstructionSet {
    /// The widest of this processor, unless [`keep_to_scalar`] was called.
    #[default]
    Fastest,
    /// AVX2 with fused multiply–add if the processor has it, else scalar; for comparisons.
    Avx2,
    /// Plain scalar code without fused multiply–add: the same bits on every machine with IEEE 754 arithmetic.
    Scalar,
}

impl InstructionSet {
    /// Runs a kernel.
    pub(crate) fn run<Op: WithSimd>(self, kernel: Op) -> Op::Output {
        match self {
            Self::Fastest if SCALAR_ONLY.load(Ordering::Relaxed) => Self::Scalar.run(kernel),
            Self::Fastest => pulp::Arch::new().dispatch(kernel),
            Self::Avx2 => {
                #[cfg(target_arch = "x86_64")]
                if let Some(simd) = pulp::x86::V3::try_new() {
                    return Simd::vectorize(simd, kernel);
                }
                Simd::vectorize(Scalar::new(), kernel)
            }
            Self::Scalar => Simd::vectorize(Scalar::new(), kernel),
        }
    }
}

/// The most numbers any instruction set handles at once; buffers are padded to a multiple of it.
pub(crate) const WIDEST: usize = 8;

/// Number of registers that kernels take side by side, to hide the latency of the instructions.
pub(crate) const SIDE_BY_SIDE: usize = 2;

/// As many numbers as one register holds.
#[derive(Clone, Copy)]
pub(crate) struct Lanes<S: Simd> {
    simd: S,
    value: S::f64s,
}

impl<S: Simd> Lanes<S> {
    #[inline(always)]
    pub(crate) fn new(simd: S, value: S::f64s) -> Self {
        Self { simd, value }
    }

    #[inline(always)]
    pub(crate) fn splat(simd: S, value: f64) -> Self {
        Self { simd, value: simd.splat_f64s(value) }
    }

    /// The register's content, for storing.
    #[inline(always)]
    pub(crate) fn value(self) -> S::f64s {
        self.value
    }

    /// The same number in every lane.
    #[inline(always)]
    pub(crate) fn all(self, value: f64) -> Self {
        Self::splat(self.simd, value)
    }

    /// self · factor + addend.
    #[inline(always)]
    pub(crate) fn mul_add(self, factor: Self, addend: Self) -> Self {
        Self { value: self.simd.mul_add_e_f64s(self.value, factor.value, addend.value), ..self }
    }

    #[inline(always)]
    pub(crate) fn sqrt(self) -> Self {
        Self { value: self.simd.sqrt_f64s(self.value), ..self }
    }

    #[inline(always)]
    pub(crate) fn abs(self) -> Self {
        Self { value: self.simd.abs_f64s(self.value), ..self }
    }

    #[inline(always)]
    pub(crate) fn max(self, other: Self) -> Self {
        Self { value: self.simd.max_f64s(self.value, other.value), ..self }
    }

    #[inline(always)]
    pub(crate) fn min(self, other: Self) -> Self {
        Self { value: self.simd.min_f64s(self.value, other.value), ..self }
    }

    #[inline(always)]
    pub(crate) fn sum(self) -> f64 {
        self.simd.reduce_sum_f64s(self.value)
    }

    /// `yes` in the lanes where self < other, `no` elsewhere.
    #[inline(always)]
    pub(crate) fn if_less(self, other: Self, yes: Self, no: Self) -> Self {
        let mask = self.simd.less_than_f64s(self.value, other.value);
        Self { value: self.simd.select_f64s(mask, yes.value, no.value), ..self }
    }

    /// The largest of the lanes; meaningless if one is NaN.
    #[inline(always)]
    pub(crate) fn largest(self) -> f64 {
        self.simd.reduce_max_f64s(self.value)
    }

    /// The smallest of the lanes; meaningless if one is NaN.
    #[inline(always)]
    pub(crate) fn smallest(self) -> f64 {
        self.simd.reduce_min_f64s(self.value)
    }

    /// Horner's rule, constant term first.
    #[inline(always)]
    pub(crate) fn polynomial<const N: usize>(self, coefficients: &[f64; N]) -> Self {
        let mut sum = self.all(coefficients[N - 1]);
        for i in (0..N - 1).rev() {
            sum = sum.mul_add(self, self.all(coefficients[i]));
        }
        sum
    }

    /// Natural logarithm of self/other, to 2e-16 absolute or relative, whichever is larger, with a single division.
    /// Both numbers and their quotient must be positive normal numbers.
    ///
    /// Their bit patterns, read as whole numbers, follow log₂ to within 0.0861. The difference of the patterns
    /// therefore gives a k with self/(2^k other) within 2^±0.5861, and ln = k ln 2 + 2 artanh((y − x)/(y + x)) with
    /// y = self, x = 2^k other.
    #[inline(always)]
    pub(crate) fn ln_of_ratio_to(self, other: Self) -> Self {
        const TWO_TO_52: u64 = 0x4330_0000_0000_0000;
        const EXPONENT: u64 = 0xfff0_0000_0000_0000;
        const SIGN: u64 = 1 << 63;
        let (mut y, mut x) = ([0.0; WIDEST], [0.0; WIDEST]);
        S::as_mut_simd_f64s(&mut y).0[0] = self.value;
        S::as_mut_simd_f64s(&mut x).0[0] = other.value;
        let mut k = [0.0; WIDEST];
        for i in 0..S::F64_LANES {
            let shift = y[i].to_bits().wrapping_sub(x[i].to_bits()).wrapping_add(1 << 51) & EXPONENT;
            x[i] = f64::from_bits(x[i].to_bits().wrapping_add(shift));
            k[i] = f64::from_bits(TWO_TO_52 | ((shift ^ SIGN) >> 52)) - (4_503_599_627_370_496.0 + 2048.0);
        }
        let x = Self { value: S::as_simd_f64s(&x).0[0], ..self };
        let k = Self { value: S::as_simd_f64s(&k).0[0], ..self };
        let s = (self - x) / (self + x);
        let twice_artanh = (s + s) * (s * s).polynomial(&ATANH_OVER);
        // ln 2 in two parts, the first with 11 zero bits at its end so that k times it is exact.
        let low = k.mul_add(k.all(1.908_214_929_270_587_7e-10), twice_artanh);
        k.mul_add(k.all(6.931_471_803_691_238_2e-1), low)
    }

    /// Angle of the point (x, self) in (−π, π]; 0 at the origin.
    #[inline(always)]
    pub(crate) fn atan2(self, x: Self) -> Self {
        let (zero, one) = (self.all(0.0), self.all(1.0));
        let (u, v) = (self.abs(), x.abs());
        let (small, large) = (u.min(v), u.max(v));
        // atan q = π/4 + atan((q − 1)/(q + 1)) keeps the argument below √2 − 1.
        let fold = (large * self.all(std::f64::consts::SQRT_2 - 1.0)).if_less(small, one, zero);
        let numerator = zero.if_less(fold, small - large, small);
        let denominator = zero.if_less(fold, small + large, large);
        let q = numerator / zero.if_less(denominator, denominator, one);
        let angle = (q * q).polynomial(&ATAN_OVER).mul_add(q, fold * self.all(FRAC_PI_4));
        let angle = v.if_less(u, self.all(FRAC_PI_2) - angle, angle);
        let angle = x.if_less(zero, self.all(PI) - angle, angle);
        self.if_less(zero, -angle, angle)
    }
}

/// Two polynomials with the same number of terms, constant term first, at the numbers of several registers. They go
/// side by side, which hides the latency of Horner's rule.
#[inline(always)]
pub(crate) fn two_polynomials<S: Simd, const U: usize>(
    one: &[f64],
    other: &[f64],
    x: &[Lanes<S>; U],
) -> ([Lanes<S>; U], [Lanes<S>; U]) {
    let count = one.len();
    let other = &other[..count];
    let mut sums = ([x[0].all(one[count - 1]); U], [x[0].all(other[count - 1]); U]);
    for i in (0..count - 1).rev() {
        let (a, b) = (x[0].all(one[i]), x[0].all(other[i]));
        for (k, &x) in x.iter().enumerate() {
            sums.0[k] = sums.0[k].mul_add(x, a);
            sums.1[k] = sums.1[k].mul_add(x, b);
        }
    }
    sums
}

impl<S: Simd> Add for Lanes<S> {
    type Output = Self;
    #[inline(always)]
    fn add(self, other: Self) -> Self {
        Self { value: self.simd.add_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Sub for Lanes<S> {
    type Output = Self;
    #[inline(always)]
    fn sub(self, other: Self) -> Self {
        Self { value: self.simd.sub_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Mul for Lanes<S> {
    type Output = Self;
    #[inline(always)]
    fn mul(self, other: Self) -> Self {
        Self { value: self.simd.mul_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Div for Lanes<S> {
    type Output = Self;
    #[inline(always)]
    fn div(self, other: Self) -> Self {
        Self { value: self.simd.div_f64s(self.value, other.value), ..self }
    }
}

impl<S: Simd> Neg for Lanes<S> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        Self { value: self.simd.neg_f64s(self.value), ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ln |y/d| and atan2(y, x) of lists y, x and d.
    struct Both<'a>(&'a [f64], &'a [f64], &'a [f64]);

    impl WithSimd for Both<'_> {
        type Output = (Vec<f64>, Vec<f64>);

        #[inline(always)]
        fn with_simd<S: Simd>(self, simd: S) -> Self::Output {
            let mut out = (vec![0.0; self.0.len()], vec![0.0; self.0.len()]);
            let (ln, atan2) = (S::as_mut_simd_f64s(&mut out.0).0, S::as_mut_simd_f64s(&mut out.1).0);
            let (y, x, d) = (S::as_simd_f64s(self.0).0, S::as_simd_f64s(self.1).0, S::as_simd_f64s(self.2).0);
            for i in 0..y.len() {
                let (y, x, d) = (Lanes::new(simd, y[i]), Lanes::new(simd, x[i]), Lanes::new(simd, d[i]));
                ln[i] = y.abs().ln_of_ratio_to(d).value();
                atan2[i] = y.atan2(x).value();
            }
            out
        }
    }

    #[test]
    fn logarithm_and_arc_tangent_agree_with_the_standard_library_over_the_whole_range() {
        let sign = |i: usize| if i.is_multiple_of(3) { -1.0 } else { 1.0 };
        let y: Vec<f64> = (0..8000).map(|i| sign(i) * 10f64.powf((i as f64 - 4000.0) / 137.0)).collect();
        let x: Vec<f64> = (0..8000).map(|i| sign(i / 5) * y[i].abs() * (1.0 + (i as f64).sin())).collect();
        // Quotients from 1e-29 to 1e29, every other one near 1.
        let d: Vec<f64> =
            (0..8000).map(|i| if i % 2 == 0 { 1.0 + (i as f64).cos().abs() } else { x[i].abs() }).collect();
        for set in [InstructionSet::Fastest, InstructionSet::Avx2, InstructionSet::Scalar] {
            let (ln, atan2) = set.run(Both(&y, &x, &d));
            for i in 0..y.len() {
                let wanted = (y[i].abs() / d[i]).ln();
                // The rounding of the quotient itself, in addition to the promised error.
                let allowed = 3e-16 * wanted.abs().max(1.0) + f64::EPSILON;
                assert!((ln[i] - wanted).abs() <= allowed, "{set:?} ln {} {} {wanted}", y[i], d[i]);
                let wanted = y[i].atan2(x[i]);
                assert!((atan2[i] - wanted).abs() <= 7e-16, "{set:?} atan2 {} {} {wanted}", y[i], x[i]);
            }
        }
    }

    #[test]
    fn the_logarithm_near_one_and_the_arc_tangent_at_the_axes_are_exact() {
        let y = [1.0, 1.0 + f64::EPSILON, 0.0, 0.0, 1.0, -1.0, 2.0, 0.5];
        let x = [0.0, 1.0, 1.0, -1.0, 0.0, 0.0, 2.0, -0.5];
        for set in [InstructionSet::Fastest, InstructionSet::Scalar] {
            let (ln, atan2) = set.run(Both(&y, &x, &[1.0; 8]));
            assert_eq!(ln[0], 0.0);
            assert!((ln[1] / f64::EPSILON - 1.0).abs() < 1e-15, "{}", ln[1]);
            for (got, wanted) in atan2.iter().zip(y.iter().zip(x).map(|(y, x)| y.atan2(x))) {
                assert!((got - wanted).abs() < 5e-16, "{got} {wanted}");
            }
        }
    }
}
