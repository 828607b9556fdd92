//! The correction that turns the centre field into the field a beam circle feels.

use super::notes::Note;
use super::table::{smallest_step, stepped};
use crate::error::Refused;
use crate::pair::Tube;
use crate::physics::beam::{
    CurrentDirection, effective_field_ratio, effective_field_ratio_towards, first_order_effective_field_ratio,
};
use crate::physics::field::{Assembly, PreparedPair};
use crate::questions::words::notes::left_out;
use crate::{Error, Result};
use rayon::prelude::*;
use serde::Serialize;

/// Most rows of the correction table.
const ROWS: usize = 14;

/// The effective field of one beam circle over the centre field: B(I, r) = k I × ratio.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct BeamCorrection {
    /// Half the distance from the gun exit to the opposite crossing.
    pub read_radius_m: f64,
    /// From the integrated orbit.
    pub effective_field_ratio: f64,
    /// From the sine-weighted half circle: the first-order check of the orbit.
    pub first_order_effective_field_ratio: f64,
    /// With the current reversed. `None` if the beam does not come round then.
    pub reversed: Option<ReversedCorrection>,
}

impl BeamCorrection {
    /// Relative error of e/m if the centre field is used: ratio² − 1.
    pub fn charge_to_mass_bias_fraction(&self) -> f64 {
        self.effective_field_ratio.powi(2) - 1.0
    }
}

/// The effective field of a beam circle with the current reversed, which lies on the other side of the gun.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ReversedCorrection {
    /// From the integrated orbit.
    pub effective_field_ratio: f64,
    /// Whether the tube must be turned by half a turn, because the bulb would not hold the circle otherwise.
    pub tube_turned: bool,
}

/// The table over the spec's beam radii, for either direction of the current. Empty if the spec states no gun or no
/// radii.
///
/// The second value holds a note for each part that the spec lacks and for each circle that cannot be followed.
pub(crate) fn beam_corrections(pair: &PreparedPair) -> (Vec<BeamCorrection>, Vec<Note>) {
    let assembly = pair.assembly();
    let tube = pair.bench().tube_with_beam();
    let mut notes = Vec::from_iter(left_out("the beam-radius correction is", &tube).map(Note::Source));
    let mut table = Vec::new();
    let Ok(tube) = tube else { return (table, notes) };
    let Some([smallest, largest]) = tube.beam_radius_m else { return (table, notes) };
    let of_radius = |read_radius_m: f64| -> Result<BeamCorrection> {
        Ok(BeamCorrection {
            read_radius_m,
            effective_field_ratio: effective_field_ratio(assembly, &tube, read_radius_m)?,
            first_order_effective_field_ratio: first_order_effective_field_ratio(
                assembly,
                &tube,
                read_radius_m,
            )?,
            reversed: reversed(assembly, &tube, read_radius_m),
        })
    };
    let radii = radii(smallest, largest);
    let corrections: Vec<_> = radii.par_iter().map(|radius| of_radius(*radius)).collect();
    let mut failed = Vec::new();
    for (read_radius_m, correction) in radii.into_iter().zip(corrections) {
        failed.push((read_radius_m, correction.as_ref().err().map(why)));
        table.extend(correction);
    }
    notes.extend(not_corrected(&failed));
    (table, notes)
}

/// Why there is no correction, in words that do not name the radius.
fn why(error: &Error) -> String {
    match error {
        Error::NotConverged { what, .. } => format!("{what} did not converge"),
        Error::Refused(Refused::BeamDoesNotComeRound { .. }) => {
            "the beam does not come round in this field".into()
        }
        other => other.to_string(),
    }
}

/// Notes on the radii without a correction, one for each run of neighbouring radii with the same reason. `radii` holds
/// the radii in the order of the table, each with the reason if it has no correction.
fn not_corrected(radii: &[(f64, Option<String>)]) -> Vec<Note> {
    radii
        .chunk_by(|(_, one), (_, next)| one == next)
        .filter_map(|alike| {
            let (first, last) = (alike.first()?, alike.last()?);
            Some(Note::NoBeamCorrection { read_radius_m: [first.0, last.0], why: first.1.clone()? })
        })
        .collect()
}

fn reversed(assembly: &Assembly, tube: &Tube, read_radius_m: f64) -> Option<ReversedCorrection> {
    let (tube, tube_turned) = tube.as_it_holds(-read_radius_m);
    effective_field_ratio_towards(CurrentDirection::Negative, assembly, &tube, read_radius_m)
        .ok()
        .map(|effective_field_ratio| ReversedCorrection { effective_field_ratio, tube_turned })
}

/// The smallest and the largest radius, and round numbers of millimetres between.
fn radii(smallest: f64, largest: f64) -> Vec<f64> {
    let step = smallest_step(1e-3, largest - smallest, ROWS - 2);
    let apart = 1e-3 * step;
    let mut radii = vec![smallest];
    radii.extend(
        stepped(step, largest).filter(|radius| *radius > smallest + apart && *radius < largest - apart),
    );
    if largest > smallest {
        radii.push(largest);
    }
    radii
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{Bench, StatedTube};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    #[test]
    fn neighbouring_radii_without_a_correction_for_one_reason_share_a_sentence() {
        let stray = |read_radius_m| why(&Refused::BeamDoesNotComeRound { radius_m: read_radius_m }.into());
        let lost =
            |best| why(&Error::NotConverged { what: "the effective field", best, error_estimate: 1.0 });
        let notes = not_corrected(&[
            (0.025, Some(lost(1e-3))),
            (0.03, Some(lost(2e-3))),
            (0.04, None),
            (0.05, Some(lost(3e-3))),
            (0.06, Some(stray(0.06))),
            (0.09, Some(stray(0.09))),
        ]);
        let told: Vec<String> = notes.iter().map(Note::sentence).collect();
        assert_eq!(
            told,
            [
                "No beam-radius correction for radii of 25 mm to 30 mm: the effective field did not converge.",
                "No beam-radius correction for a radius of 50 mm: the effective field did not converge.",
                "No beam-radius correction for radii of 60 mm to 90 mm: the beam does not come round in this field.",
            ]
        );
        assert!(not_corrected(&[(0.025, None), (0.09, None)]).is_empty());
    }

    #[test]
    fn round_radii_lie_between_the_ends_of_the_range() {
        let radii = radii(0.026, 0.05);
        assert_eq!((radii[0], *radii.last().unwrap()), (0.026, 0.05));
        assert!(radii.len() <= ROWS && radii.windows(2).all(|pair| pair[0] < pair[1]), "{radii:?}");
        assert!(radii.contains(&0.03), "{radii:?}");
        assert_eq!(crate::questions::calibrate::beam_correction::radii(0.04, 0.04), [0.04]);
    }

    #[test]
    fn two_independent_ways_to_the_effective_field_agree_to_second_order() {
        // The integrated orbit against the sine-weighted half circle: they differ by the square of the deviation.
        let mut bench = Bench::thin_pair();
        bench.tube = Some(StatedTube::from(Tube {
            bulb_radius_m: Some(0.08),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.046, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: Some([0.026, 0.05]),
        }));
        let (table, notes) = beam_corrections(&PreparedPair::of(&bench));
        assert!(notes.is_empty() && table.len() > 5);
        for row in &table {
            let deviation = 1.0 - row.effective_field_ratio;
            assert!(deviation > 0.0 && deviation < 0.01, "{row:?}");
            // The worst local deviation is some ten times the effective one; its square bounds the difference.
            assert_relative_eq!(
                row.effective_field_ratio,
                row.first_order_effective_field_ratio,
                epsilon = (10.0 * deviation).powi(2)
            );
        }
        // The bulb holds the other side's circles only with the tube turned, and then it is the same circle mirrored.
        for row in &table {
            let reversed = row.reversed.unwrap();
            assert!(reversed.tube_turned);
            assert_relative_eq!(
                reversed.effective_field_ratio,
                row.effective_field_ratio,
                max_relative = 1e-10
            );
        }
        // The published series: deviation in the mid-plane is −(54/125)(ρ/R)⁴ to leading order, so a circle about
        // the centre itself would have it everywhere; the smallest circle here must stay below its worst point's.
        let worst = 54.0 / 125.0 * (0.046f64 / 0.15).powi(4);
        assert!(1.0 - table[0].effective_field_ratio < worst);
    }

    #[test]
    fn from_a_gun_off_the_middle_the_two_directions_differ() {
        let mut bench = Bench::thin_pair();
        bench.tube = Some(StatedTube::from(Tube {
            bulb_radius_m: Some(0.08),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.012, -0.02, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: Some([0.025, 0.03]),
        }));
        let (table, _) = beam_corrections(&PreparedPair::of(&bench));
        for row in &table {
            let reversed = row.reversed.unwrap();
            assert!(!reversed.tube_turned);
            // On the other side the circle reaches farther out, where the field is weaker.
            assert!(reversed.effective_field_ratio < row.effective_field_ratio - 1e-4, "{row:?}");
        }
    }
}
