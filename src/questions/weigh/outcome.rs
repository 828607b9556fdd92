//! e/m with its uncertainty from one set of runs, computed in the same way with and without suspect runs.

use super::fit::{Fitted, RoomAxial, fit};
use super::prepared::Prepared;
use super::record::{Evaluation, RoomSource, RunUncertainty};
use super::room::KnownRoom;
use super::shift::Shift;
use super::{Request, shared};
use crate::Result;
use crate::constants::{ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB};
use crate::judgement::agreement::birge;
use crate::pair::{AmmeterPosition, Distribution};
use crate::physics::beam::BeamBench;

/// An outcome with its fit.
pub(super) struct Reduced {
    pub outcome: Evaluation,
    pub fitted: Fitted,
    pub scatter: Option<f64>,
}

/// Fits e/m, and adds the shared uncertainties.
pub(super) fn reduce(
    beams: &BeamBench<'_>,
    prepared: &Prepared<'_>,
    room: &KnownRoom,
    request: &Request,
) -> Result<Reduced> {
    let fitted = fit(&prepared.points(&Shift::none())?, room.in_fit())?;
    let scatter = prepared.scatter(&fitted);
    let chi_square = (prepared.uncertainty == RunUncertainty::Stated).then_some(fitted.chi_square);
    let degrees_of_freedom = fitted.degrees_of_freedom;
    // Runs that scatter more than they state count by their scatter, as in a calibration.
    let excess =
        chi_square.filter(|_| degrees_of_freedom > 0).map(|chi_square| birge(chi_square, degrees_of_freedom));
    let excess = excess.transpose()?;
    let factor = excess.map_or(1.0, |excess| excess.factor);
    let run_u = scatter.map(|scatter| fitted.uncertainty * scatter * factor);
    let shared = shared::parts(beams, prepared, room, request, fitted.charge_to_mass)?;
    let shared_u = shared.iter().map(|part| part.contribution_coulomb_per_kg.powi(2)).sum::<f64>().sqrt();
    let whole = run_u.map(|run_u| run_u.hypot(shared_u));
    let q = fitted.charge_to_mass;
    let mass = ELEMENTARY_CHARGE_COULOMB / q;
    let outcome = Evaluation {
        number_of_runs: prepared.len(),
        charge_to_mass_coulomb_per_kg: q,
        charge_to_mass_standard_uncertainty_coulomb_per_kg: whole,
        run_standard_uncertainty_coulomb_per_kg: run_u,
        shared_standard_uncertainty_coulomb_per_kg: shared_u,
        shared,
        accepted_charge_to_mass_coulomb_per_kg: ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG,
        difference_fraction: q / ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG - 1.0,
        difference_in_standard_uncertainties: whole
            .map(|whole| (q - ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG) / whole)
            .filter(|difference| difference.is_finite()),
        electron_mass_kg: mass,
        electron_mass_standard_uncertainty_kg: whole.map(|whole| mass * whole / q),
        accepted_electron_mass_kg: ELECTRON_MASS_KG,
        chi_square,
        degrees_of_freedom,
        chi_square_probability: excess.map(|excess| excess.probability),
        scatter_factor: factor,
        room_source: room.source,
        room_axial_tesla: fitted.room_axial_tesla,
        room_axial_standard_uncertainty_tesla: match room.source {
            RoomSource::Runs => {
                fitted.room_axial_uncertainty_tesla.zip(scatter).map(|(uncertainty, scatter)| {
                    (uncertainty * scatter * factor).hypot(ammeter_zero_tesla(beams))
                })
            }
            _ => Some(room.standard_uncertainty_tesla),
        },
        centre_field_charge_to_mass_coulomb_per_kg: fit(
            &prepared.centre_field_points(),
            RoomAxial::Held(0.0),
        )
        .ok()
        .map(|fitted| fitted.charge_to_mass),
    };
    Ok(Reduced { outcome, fitted, scatter })
}

/// Standard uncertainty k δ that the ammeter's zero adds to a room field found by reversing the current. A meter before
/// the reversal adds nothing. If its place is not stated, the worse case counts.
pub(super) fn ammeter_zero_tesla(beams: &BeamBench<'_>) -> f64 {
    match (beams.bench().ammeter, beams.bench().ammeter_position) {
        (None, _) | (_, Some(AmmeterPosition::BeforeReversal)) => 0.0,
        (Some(meter), _) => {
            let digits_ampere = Distribution::Rectangular.standard_uncertainty(meter.digits_limit());
            beams.line.slope.tesla_per_ampere.abs() * digits_ampere
        }
    }
}
