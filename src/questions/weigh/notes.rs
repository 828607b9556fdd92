//! What the reader of a weighing should know.

use super::Runs;
use super::record::{RoomSource, RunUncertainty, Weighing};
use crate::pair::BeamEdge;
use crate::physics::beam::BeamBench;
use crate::physics::room;
use crate::units::{Dimension, display, fixed, length, unit};

pub(super) fn notes(beams: &BeamBench<'_>, runs: &Runs, weighing: &Weighing) -> Vec<String> {
    let mut notes: Vec<String> =
        [beams.note_on_line(), too_large_a_circle(beams, weighing), too_much_current(beams, weighing)]
            .into_iter()
            .flatten()
            .collect();
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    match outcome.room_source {
        RoomSource::Runs => {}
        RoomSource::Unknown => notes.push(format!(
            "All runs have one current direction. {}: an axial room field shifts e/m by twice its share of the coils' \
             field, and {} (standard) is counted for it. Reverse the current for half the runs, and both are fitted.",
            room::unknown(beams.bench),
            fixed(outcome.room_axial_standard_uncertainty_tesla.unwrap_or(0.0), unit::MICROTESLA, 0)
        )),
        RoomSource::Spec | RoomSource::Calibration => notes.push(
            "All runs have one current direction: the room's axial field is taken from elsewhere. Reverse the current \
             for half the runs, and it is fitted with e/m."
                .into(),
        ),
    }
    notes.extend(ammeters_place(beams, weighing));
    if runs.without_circle > 0 {
        notes.push(format!(
            "{} rows of the table have no radius, because the beam strikes the glass there; they are passed over.",
            runs.without_circle
        ));
    }
    let turned = weighing.runs.iter().filter(|run| run.tube_turned).count();
    if turned > 0 {
        notes.push(format!(
            "{turned} of {} runs bend to the side where the circle would leave the bulb; for them the tube is taken as \
             turned half round the line along which the gun points.",
            weighing.runs.len()
        ));
    }
    if weighing.run_uncertainty == RunUncertainty::Scatter {
        notes.push(match outcome.run_standard_uncertainty_coulomb_per_kg {
            Some(_) => "No radius uncertainty is stated; one common uncertainty is taken from the scatter of the runs, \
                        so there is no chi-square. Give `radius_uncertainty_mm` or `reading.radius_uncertainty`."
                .into(),
            None => "No radius uncertainty is stated and no run is left over to show the scatter, so the result has no \
                     uncertainty. Give `radius_uncertainty_mm`, or more runs."
                .to_owned(),
        });
    }
    if let Some(edge) = beams.bench.reading.map(|reading| reading.edge)
        && edge != BeamEdge::Outer
    {
        notes.push(
            "The spec says that not the outer edge of the glow is read. What lies inside has lost energy to the gas: its \
             circle is smaller, and e/m comes out high by twice that share of the radius."
                .into(),
        );
    }
    notes.extend(beams.note_on_meters());
    notes.extend(beams.note_without_bulb());
    if let (Some(probability), Some(chi_square)) = (outcome.chi_square_probability, outcome.chi_square)
        && probability < 0.05
    {
        let excess = (chi_square / outcome.degrees_of_freedom as f64).sqrt();
        notes.push(format!(
            "The runs scatter {excess:.1} times as far as their stated uncertainties allow; the part of the uncertainty \
             that comes from the runs would be {excess:.1} times as large by the scatter.",
        ));
    }
    notes
}

/// What is assumed of an ammeter whose place is not stated, where it matters: its zero, or its digits.
fn ammeters_place(beams: &BeamBench<'_>, weighing: &Weighing) -> Option<String> {
    let counted = beams.bench.ammeter.is_some_and(|meter| meter.digits_limit() > 0.0);
    let unstated = weighing.ammeter_position.is_none() && weighing.outcome.room_source == RoomSource::Runs;
    (counted && unstated).then(|| {
        "The spec does not say whether the ammeter stands before or after the reversal of the current. For e/m its digits \
         are counted as before it, for the room's field as after it: the worse of the two each time. Write \
         `ammeter.position`."
            .into()
    })
}

/// So many runs are named one by one.
const NAMED_RUNS: usize = 6;

/// Runs whose circle does not fit the bulb on either side of the gun.
fn too_large_a_circle(beams: &BeamBench<'_>, weighing: &Weighing) -> Option<String> {
    let largest_m = beams.tube.largest_radius_in_bulb_either_way_m()?;
    let radii = weighing.runs.iter().map(|run| (run.name(), run.radius_m));
    let runs =
        runs_named(radii.filter(|(_, radius_m)| *radius_m > largest_m), |radius_m| length(radius_m, 1))?;
    Some(format!(
        "The largest circle that fits the bulb has a radius of {}; beyond it: {runs}. Diameters may stand under the \
         heading of a radius, the heading's unit may be wrong, or the spec may have another tube.",
        length(largest_m, 1)
    ))
}

/// Runs with more current than the supply gives, the ammeter's error allowed for.
fn too_much_current(beams: &BeamBench<'_>, weighing: &Weighing) -> Option<String> {
    let limit_ampere = beams.bench.supply?.current_limit_ampere?;
    let open = |ampere: f64| beams.bench.ammeter.map_or(0.0, |meter| meter.limit_of_error(ampere));
    let currents = weighing.runs.iter().map(|run| (run.name(), run.current_ampere));
    let beyond = currents.filter(|(_, ampere)| ampere.abs() - open(*ampere) > limit_ampere * (1.0 + 1e-9));
    let runs = runs_named(beyond, |ampere| display(ampere, Dimension::Current, 3))?;
    Some(format!(
        "The supply of the spec gives at most {}; beyond it: {runs}. Columns may be swapped, the heading's unit may be \
         wrong, or another supply was used.",
        display(limit_ampere, Dimension::Current, 3)
    ))
}

/// `A07 with 64.0 mm, line 5 with 66.0 mm and 4 more`; none where there is no run.
fn runs_named(found: impl Iterator<Item = (String, f64)>, value: impl Fn(f64) -> String) -> Option<String> {
    let named: Vec<String> = found.map(|(name, si)| format!("{name} with {}", value(si))).collect();
    match named.len() {
        0 => None,
        count if count <= NAMED_RUNS => Some(named.join(", ")),
        count => Some(format!("{} and {} more", named[..NAMED_RUNS].join(", "), count - NAMED_RUNS)),
    }
}
