//! e/m and the electron's mass from the class's runs.
//!
//! Each run's field is that of the calibration line at its current, times the effective field ratio of its circle from
//! the integrated orbit, plus the room's field. Then e/m follows from (B r)² = 2 V/(e/m) + V²/c². The uncertainties of
//! one run alone (its radius, the last digits of its meters) give the weights and chi-square. Those shared by all runs
//! (slope, meter errors, room, scale) are added once and do not shrink with the number of runs.
//!
//! `radius` and `diameter` of a run are as read on the scale, parallax included; `radius_in_beam_plane` is not.

mod conclude;
mod course;
#[cfg(feature = "paper")]
pub mod files;
mod finding;
mod fit;
mod hypotheses;
mod judge;
mod note;
mod notes;
mod outcome;
#[cfg(feature = "paper")]
pub mod picture;
mod prepared;
mod record;
mod request;
mod room;
mod runs;
mod scene;
mod several;
mod shared;
mod shift;
#[cfg(test)]
mod tests;
#[cfg(feature = "paper")]
pub mod words;

pub use finding::{Candidate, Cause, Conclusion, Detail, Finding, Measure, MixUp, Suspect, Visible};
pub use note::Note;
pub use record::{Evaluation, RoomSource, RunResult, RunUncertainty, SharedPart, Weighing};
pub use request::Request;
pub use runs::{RadiusPlace, Run, Runs};

use crate::Result;
use crate::error::Refused;
use crate::pair::Provenance;
use crate::physics::beam::BeamBench;
use fit::fit;
use outcome::reduce;
use prepared::Prepared;
pub(crate) use room::KnownRoom;

/// Reduces the runs.
///
/// Errors, with the row: a radius that the bulb cannot hold, a voltage used up by the offset, a circle that the field
/// cannot make, or a radius uncertainty that only some runs state.
pub fn weigh(beams: &BeamBench<'_>, runs: &Runs, request: &Request) -> Result<Weighing> {
    if let Some(fraction) = request.scale_uncertainty_fraction
        && !(0.0..1.0).contains(&fraction)
    {
        return Err(Refused::ScaleUncertainty { fraction }.into());
    }
    let (prepared, room) = prepared(beams, runs)?;
    let all = reduce(beams, &prepared, &room, request)?;
    let course = course::course(beams, &prepared, &room, request, &all.outcome)?;
    let others = course.without_suspects.as_ref().unwrap_or(&all);
    let findings = conclude::findings(beams, &prepared, &course, others)?;
    let room_axial_tesla = others.fitted.room_axial_tesla;
    let mut reduced = prepared.results(&all.fitted, all.scatter, room_axial_tesla)?;
    for misread in &course.misread {
        reduced[misread.place].stands_out = true;
    }
    let mut weighing = Weighing {
        provenance: Provenance::of(beams.bench(), request.date),
        safety: beams.safety(),
        model: beams.bench().model,
        line: beams.line.clone(),
        outcome: all.outcome,
        run_uncertainty: prepared.uncertainty,
        spec_room_axial_tesla: beams.room_tesla.map(|field| field.z),
        stated_room_standard_uncertainty_tesla: room.stated.then_some(room.standard_uncertainty_tesla),
        scale_magnification: prepared.magnification,
        scale_offset_m: beams.bench().reading.map_or(0.0, |reading| reading.scale_offset_m),
        ammeter_position: beams.bench().ammeter_position,
        left_out: runs.left_out.clone(),
        runs: reduced,
        conclusion: course.conclusion(),
        without_suspects: course.without_suspects.map(|without| without.outcome),
        nothing_probability: course.last.judgement.none,
        findings,
        would_have_been_found: course.last.visible,
        notes: Vec::new(),
    };
    weighing.notes = notes::notes(beams, runs, &weighing);
    Ok(weighing)
}

/// The runs in the beam plane, with what is known of the room.
///
/// If the runs determine the room's axial field, the circles are followed first without it and then once more in it. It
/// changes their shape by its share of the field times the field's deviation, some 1e-4 of e/m.
fn prepared<'a>(beams: &BeamBench<'_>, runs: &'a Runs) -> Result<(Prepared<'a>, KnownRoom)> {
    let stated = KnownRoom::of(beams, false);
    let prepared = Prepared::of(beams, runs, stated.axial_tesla)?;
    if !prepared.has_both_directions() {
        return Ok((prepared, stated));
    }
    let room = KnownRoom::of(beams, true);
    let found = fit(&prepared.points(&shift::Shift::none())?, room.in_fit())?.room_axial_tesla;
    // A field as large as this comes from swapped columns, and no circle is followed in it.
    let followed = if found.abs() < prepared.smallest_field_tesla() * 0.5 {
        Prepared::of(beams, runs, found)?
    } else {
        prepared
    };
    Ok((followed, room))
}
