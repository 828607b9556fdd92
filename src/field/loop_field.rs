//! The field of one circular filament.

use crate::constants::MU_0;

/// Radial and axial field per ampere of a filament of radius `a` at (ρ, ζ), T/A.
pub(super) fn loop_field_per_ampere(a: f64, rho: f64, zeta: f64) -> (f64, f64) {
    let (d, e) = (a - rho, a + rho);
    let (alpha2, beta2) = (d * d + zeta * zeta, e * e + zeta * zeta);
    let product = alpha2 * beta2;
    let r2 = 1.0 / (alpha2 + beta2 + 2.0 * product.sqrt());
    let m = (4.0 * a * rho * r2).powi(2);
    // Arithmetic–geometric mean: KK = 2K/π, tau = 2(1 − E/K)/m.
    let (mut x, mut y) = (1.0, (1.0 - m).max(0.0).sqrt());
    let (mut weight, mut sum) = (1.0, 1.0);
    let mut c2_over_m = 1.0;
    for _ in 0..8 {
        let c = 0.5 * (x - y);
        let next = 0.5 * (x + y);
        y = (x * y).sqrt();
        // c² in units of m, with c_{n+1} = c_n²/(4 a_{n+1}).
        c2_over_m = c2_over_m * c2_over_m * m / (16.0 * next * next);
        x = next;
        weight *= 2.0;
        sum += weight * c2_over_m;
        if c.abs() < 1e-9 {
            break;
        }
    }
    let kk = 1.0 / x;
    let tau = sum;
    let f = MU_0 * a * a * kk * r2.sqrt() / product;
    let radial = f * rho * zeta * (2.0 - (alpha2 + beta2) * r2 * tau);
    let axial = f * (zeta * zeta + d * e + 2.0 * rho * rho * r2 * tau * (zeta * zeta - d * e));
    (radial, axial)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loop_agrees_with_the_25_digit_table_away_from_the_wire() {
        // Source: tests/data/loop_field_mpmath.csv, 90-digit arithmetic, closed form checked by quadrature.
        let mut rows = 0;
        for line in include_str!("../../tests/data/loop_field_mpmath.csv").lines().skip(2) {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |i: usize| cells[i].parse::<f64>().unwrap();
            if cells[0] == "near_wire" {
                continue;
            }
            let (radial, axial) = loop_field_per_ampere(1.0, number(1), number(2));
            let error = (radial - number(5)).hypot(axial - number(6)) / number(5).hypot(number(6));
            assert!(error < 2e-15, "{line}: relative error {error:e}");
            rows += 1;
        }
        assert!(rows > 50);
    }
}
