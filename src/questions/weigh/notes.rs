//! The notes to the reader of a weighing.

use super::Runs;
use super::note::Note;
use super::record::{RoomSource, RunUncertainty, Weighing};
use crate::pair::BeamEdge;
use crate::physics::beam::BeamBench;
use crate::physics::room;
use crate::questions::words::notes::{on_bulb, on_line, on_meters, on_sheet};

/// The notes on a weighing.
pub(super) fn notes(beams: &BeamBench<'_>, runs: &Runs, weighing: &Weighing) -> Vec<Note> {
    let mut notes = Vec::from_iter(on_line(beams).map(Note::Source));
    notes.extend(too_large_a_circle(beams, weighing));
    notes.extend(too_much_current(beams, weighing));
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    match outcome.room_source {
        RoomSource::Runs => {}
        RoomSource::Unknown => notes.push(Note::OneDirectionRoomUnknown {
            unknown: room::unknown(beams.bench()),
            standard_uncertainty_tesla: outcome.room_axial_standard_uncertainty_tesla.unwrap_or(0.0),
        }),
        RoomSource::Spec | RoomSource::Calibration => notes.push(Note::OneDirection),
    }
    if ammeters_place_matters(beams, weighing) {
        notes.push(Note::AmmeterPlaceUnknown);
    }
    if runs.without_circle > 0 {
        notes.push(Note::WithoutCircle { rows: runs.without_circle });
    }
    let turned = weighing.runs.iter().filter(|run| run.tube_turned).count();
    if turned > 0 {
        notes.push(Note::TubeTurned { turned, runs: weighing.runs.len() });
    }
    if weighing.run_uncertainty == RunUncertainty::Scatter {
        notes.push(Note::ScatterOnly { known: outcome.run_standard_uncertainty_coulomb_per_kg.is_some() });
    }
    if beams.bench().reading.is_some_and(|reading| reading.edge != BeamEdge::Outer) {
        notes.push(Note::InnerEdge);
    }
    notes.extend(on_meters(beams.bench()).into_iter().chain(on_bulb(beams)).map(Note::Source));
    let factor = weighing.without_suspects.as_ref().unwrap_or(outcome).scatter_factor;
    if factor > 1.0 {
        notes.push(Note::ExcessScatter { factor });
    }
    notes.extend(on_sheet("runs", runs.sheet.as_deref()).map(Note::Source));
    notes
}

/// Whether the ammeter's place is not stated although the result depends on it through the meter's last digits.
fn ammeters_place_matters(beams: &BeamBench<'_>, weighing: &Weighing) -> bool {
    let counted = beams.bench().ammeter.is_some_and(|meter| meter.digits_limit() > 0.0);
    counted && weighing.ammeter_position.is_none() && weighing.outcome.room_source == RoomSource::Runs
}

fn too_large_a_circle(beams: &BeamBench<'_>, weighing: &Weighing) -> Option<Note> {
    let largest_m = beams.tube.largest_radius_in_bulb_either_way_m()?;
    let radii = weighing.runs.iter().map(|run| (run.name(), run.radius_m));
    let runs: Vec<_> = radii.filter(|(_, radius_m)| *radius_m > largest_m).collect();
    (!runs.is_empty()).then_some(Note::TooLargeACircle { largest_m, runs })
}

fn too_much_current(beams: &BeamBench<'_>, weighing: &Weighing) -> Option<Note> {
    let limit_ampere = beams.bench().supply?.current_limit_ampere?;
    let open = |ampere: f64| beams.bench().ammeter.map_or(0.0, |meter| meter.limit_of_error(ampere));
    let currents = weighing.runs.iter().map(|run| (run.name(), run.current_ampere));
    let beyond = currents.filter(|(_, ampere)| ampere.abs() - open(*ampere) > limit_ampere * (1.0 + 1e-9));
    let runs: Vec<_> = beyond.collect();
    (!runs.is_empty()).then_some(Note::TooMuchCurrent { limit_ampere, runs })
}
