//! Inductance, stored energy and force between the coils of a pair.

use super::field;
use super::field::{Assembly, PreparedPair};
use crate::pair::circuit::current_shares;
use crate::pair::{Bench, Connection};
use serde::Serialize;

/// Inductances of a pair.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Inductances {
    /// Self-inductance of coil a and of coil b.
    pub self_henry: [f64; 2],
    /// Mutual inductance, positive if the coils' fields add.
    pub mutual_henry: f64,
    /// Inductance of the pair as connected.
    pub pair_henry: f64,
}

/// Inductances of the coils of a pair.
///
/// In series L = L_a + L_b + 2 M. In parallel L = (L_a L_b − M²)/(L_a + L_b − 2 M), the value an inductance meter shows
/// if the coils' resistances matter little.
pub fn inductances(pair: &PreparedPair) -> Inductances {
    let bench = pair.bench();
    let [a, b] = bench.coils();
    let [winding_a, winding_b] = [&pair.assembly().windings()[0], &pair.assembly().windings()[1]];
    let self_a = field::self_inductance_henry(&winding_a.section, winding_a.turns);
    let self_b = field::self_inductance_henry(&winding_b.section, winding_b.turns);
    let mutual = a.sense * b.sense * field::mutual_inductance_henry(winding_a, winding_b);
    let pair_henry = match bench.connection {
        Connection::Series => self_a + self_b + 2.0 * mutual,
        Connection::Parallel => (self_a * self_b - mutual * mutual) / (self_a + self_b - 2.0 * mutual),
    };
    Inductances { self_henry: [self_a, self_b], mutual_henry: mutual, pair_henry }
}

/// Energy stored in the pair's field at a steady supply current: ½ Σ L_ij I_i I_j, the currents split by resistance.
pub fn stored_energy_joule(bench: &Bench, inductances: &Inductances, current_ampere: f64) -> f64 {
    let [a, b] = current_shares(bench).map(|share| share * current_ampere);
    let [self_a, self_b] = inductances.self_henry;
    0.5 * (self_a * a * a + self_b * b * b) + inductances.mutual_henry * a * b
}

/// Force between the two coils along the axis, per square of the supply's current; positive if they attract.
pub fn axial_force_newton_per_ampere_squared(assembly: &Assembly) -> f64 {
    let [a, b] = [&assembly.windings()[0], &assembly.windings()[1]];
    // If they attract, the force on b points toward a, along −z.
    -field::force_and_torque(b, a).force_newton_per_ampere_squared.z * a.current_share * b.current_share
}
