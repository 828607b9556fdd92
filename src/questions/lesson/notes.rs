//! The notes for the person who prepares a lesson.

use crate::physics::beam::BeamBench;
use crate::physics::may_flow::MayFlow;
use crate::questions::words::notes::{SourceNote, Told, on_line, on_may_flow};

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the spec, the line or the largest current.
    Source(SourceNote),
}

impl Told for Note {
    fn sentence(&self) -> String {
        let Self::Source(note) = self;
        note.sentence()
    }
}

/// All notes on a lesson.
pub(super) fn notes(beams: &BeamBench<'_>, largest_ampere: f64, may_flow: MayFlow) -> Vec<Note> {
    let current = on_may_flow("The largest current of the settings", largest_ampere, may_flow);
    on_line(beams).chain(current).map(Note::Source).collect()
}
