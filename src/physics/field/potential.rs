//! The vector potential of circular filaments, from which flux linkage is computed.
//!
//! In the symbols of [`filament`](super::filament), with no cancellation and exact on the axis:
//!
//! ```text
//! A_φ = 2 μ0 I a² ρ DD(m)/(α + β)³
//! ```
//!
//! Source: Maxwell, Treatise vol. 2, art. 701, M = 2πρ A_φ in K and E, after one descending Landen step; checked against
//! the 18-digit inductances of `tests/data/inductance.csv` in the tests of `mutual.rs`.

use super::filament::{AxialPoints, Filament};
use crate::constants::MU_0;
use crate::numeric::elliptic::kk_and_dd;
use crate::numeric::lanes::{InstructionSet, Lanes};
use pulp::{Simd, WithSimd};

/// Adds A_φ of filaments, T m, to `potential`, one number for each of the padded `points`.
pub(super) fn add_potential(
    potential: &mut [f64],
    points: &AxialPoints,
    filaments: &[Filament],
    set: InstructionSet,
) {
    debug_assert_eq!(potential.len(), points.rho_m.len());
    set.run(Add { potential, points, filaments });
}

struct Add<'a> {
    potential: &'a mut [f64],
    points: &'a AxialPoints,
    filaments: &'a [Filament],
}

impl WithSimd for Add<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let rho = S::as_simd_f64s(&self.points.rho_m).0;
        let zeta = S::as_simd_f64s(&self.points.zeta_m).0;
        let potential = S::as_mut_simd_f64s(self.potential).0;
        for ((&rho, &zeta), potential) in rho.iter().zip(zeta).zip(potential) {
            let (rho, zeta) = (Lanes::new(simd, rho), Lanes::new(simd, zeta));
            let mut sum = Lanes::new(simd, *potential);
            for filament in self.filaments {
                sum = sum + of_one(simd, filament, rho, zeta);
            }
            *potential = sum.value();
        }
    }
}

#[inline(always)]
fn of_one<S: Simd>(simd: S, filament: &Filament, rho: Lanes<S>, zeta: Lanes<S>) -> Lanes<S> {
    let splat = |value: f64| Lanes::splat(simd, value);
    let a = filament.radius_m;
    let zeta = zeta - splat(filament.height_m);
    let (d, e) = (splat(a) - rho, splat(a) + rho);
    let zeta2 = zeta * zeta;
    let (alpha, beta) = (d.mul_add(d, zeta2).sqrt(), e.mul_add(e, zeta2).sqrt());
    let inverse = splat(1.0) / (alpha + beta);
    let r2 = inverse * inverse;
    let k = splat(4.0 * a) * rho * r2;
    let kc = splat(2.0) * (alpha * beta).sqrt() * inverse;
    let (_, dd) = kk_and_dd(k * k, kc);
    splat(2.0 * MU_0 * filament.current_ampere * a * a) * rho * r2 * inverse * dd
}
