//! What the reader of a weighing should know.

use super::record::{RoomSource, RunUncertainty, Weighing};
use crate::beam::BeamBench;
use crate::room;
use crate::spec::BeamEdge;

pub(super) fn notes(beams: &BeamBench<'_>, weighing: &Weighing) -> Vec<String> {
    let mut notes = Vec::new();
    match weighing.room_source {
        RoomSource::Runs => {}
        RoomSource::Unknown => notes.push(format!(
            "All runs have one current direction. {}: an axial room field shifts e/m by twice its share of the coils' \
             field. Reverse the current for half the runs, and both are fitted.",
            room::unknown(beams.bench)
        )),
        RoomSource::Spec | RoomSource::Calibration => notes.push(
            "All runs have one current direction: the room's axial field is taken from elsewhere. Reverse the current \
             for half the runs, and it is fitted with e/m."
                .into(),
        ),
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
        notes.push(match weighing.run_standard_uncertainty_coulomb_per_kg {
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
    if let (Some(probability), Some(chi_square)) = (weighing.chi_square_probability, weighing.chi_square)
        && probability < 0.05
    {
        let excess = (chi_square / weighing.degrees_of_freedom as f64).sqrt();
        notes.push(format!(
            "The runs scatter {excess:.1} times as far as their stated uncertainties allow; the part of the uncertainty \
             that comes from the runs would be {excess:.1} times as large by the scatter.",
        ));
    }
    notes
}
