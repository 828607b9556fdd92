//! Place, orientation and instruments against the events, in words.

use super::reservations::Warning;
use crate::paper::page::Page;
use crate::questions::register::places::Stated;
use crate::questions::register::{Overview, PlaceContradiction};

/// The section of all contradictions; none without one.
pub(super) fn places(page: &mut Page, record: &Overview) {
    if record.place_contradictions.is_empty() {
        return;
    }
    page.section("Place, orientation and instruments");
    let told: Vec<String> = record
        .place_contradictions
        .iter()
        .map(|one| {
            let Warning { warning, hint } = place_warning(one);
            format!("{warning}; {hint}")
        })
        .collect();
    page.list(told.iter().map(String::as_str));
}

/// A contradiction, and what to do about it.
pub fn place_warning(of: &PlaceContradiction) -> Warning {
    let name = |what: Stated| match what {
        Stated::Place => "place",
        Stated::Orientation => "orientation",
        Stated::Instruments => "instruments",
    };
    match of {
        PlaceContradiction::WithoutEvent { entry, before, what, was, is } => Warning {
            warning: format!(
                "the {} of entry {entry} is \"{is}\" and that of entry {before} \"{was}\", and no event says so: B0 holds only \
                 for its own place and orientation",
                name(*what)
            ),
            hint: match what {
                Stated::Place => "enter it: register FILE --event moved --note PLACE --date D",
                Stated::Orientation => "enter it: register FILE --event turned --note ORIENTATION --date D",
                Stated::Instruments => "enter it: register FILE --event meter --note METER --date D",
            },
        },
        PlaceContradiction::InSpiteOfEvent { entry, event, kind, what, is } => Warning {
            warning: format!(
                "{} (entry {event}), and the {} stated in entry {entry} {} \"{is}\" as before it, which its certificate prints",
                kind.sentence(),
                name(*what),
                if *what == Stated::Instruments { "are" } else { "is" }
            ),
            hint: match what {
                Stated::Instruments => "correct `instruments` in the spec if they are the old ones",
                Stated::Place | Stated::Orientation => {
                    "correct `conditions` in the spec if it is the old one"
                }
            },
        },
    }
}
