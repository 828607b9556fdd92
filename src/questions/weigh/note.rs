//! One note to the reader of a weighing: its numbers and its sentence.

use crate::physics::room::Unknown;
use crate::questions::words::notes::{SourceNote, Told, room_unknown};
use crate::units::{Dimension, display, fixed, length, unit};

/// At most this many runs are named one by one.
const NAMED_RUNS: usize = 6;

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the files.
    Source(SourceNote),
    /// Runs whose circle does not fit the bulb on either side of the gun.
    TooLargeACircle {
        /// The largest radius that fits.
        largest_m: f64,
        /// Each run's name and radius.
        runs: Vec<(String, f64)>,
    },
    /// Runs with more current than the supply gives, beyond the ammeter's error.
    TooMuchCurrent {
        /// The supply's limit.
        limit_ampere: f64,
        /// Each run's name and current.
        runs: Vec<(String, f64)>,
    },
    /// One current direction, and nothing is known of the room's field.
    OneDirectionRoomUnknown {
        /// Why.
        unknown: Unknown,
        /// The uncertainty assumed for it.
        standard_uncertainty_tesla: f64,
    },
    /// One current direction, and the room's field is known from elsewhere.
    OneDirection,
    /// The ammeter's place is not stated where it matters.
    AmmeterPlaceUnknown,
    /// Rows without a radius.
    WithoutCircle {
        /// How many.
        rows: usize,
    },
    /// Runs for which the tube is taken as turned half round.
    TubeTurned {
        /// How many.
        turned: usize,
        /// Of how many.
        runs: usize,
    },
    /// No radius uncertainty is stated.
    ScatterOnly {
        /// Whether enough runs are left over to show the scatter.
        known: bool,
    },
    /// The middle or the inner edge of the glow is read, not its outer edge.
    InnerEdge,
    /// The runs scatter more than stated.
    ExcessScatter {
        /// By this factor.
        factor: f64,
    },
}

impl Told for Note {
    fn sentence(&self) -> String {
        match self {
            Self::Source(note) => note.sentence(),
            Self::TooLargeACircle { largest_m, runs } => format!(
                "The largest circle that fits the bulb has a radius of {}; beyond it: {}. Diameters may stand under \
                 the heading of a radius, the heading's unit may be wrong, or the spec may have another tube.",
                length(*largest_m, 1),
                runs_named(runs, |radius_m| length(radius_m, 1))
            ),
            Self::TooMuchCurrent { limit_ampere, runs } => {
                let amperes = |ampere| display(ampere, Dimension::Current, 3);
                format!(
                    "The supply of the spec gives at most {}; beyond it: {}. Columns may be swapped, the heading's \
                     unit may be wrong, or another supply was used.",
                    amperes(*limit_ampere),
                    runs_named(runs, amperes)
                )
            }
            Self::OneDirectionRoomUnknown { unknown, standard_uncertainty_tesla } => format!(
                "All runs have one current direction. {}: an axial room field shifts e/m by twice its share of the \
                 coils' field, and {} (standard) is counted for it. Reverse the current for half the runs, and both are \
                 fitted.",
                room_unknown(*unknown),
                fixed(*standard_uncertainty_tesla, unit::MICROTESLA, 0)
            ),
            Self::OneDirection => {
                "All runs have one current direction: the room's axial field is taken from elsewhere. Reverse the \
                 current for half the runs, and it is fitted with e/m."
                    .into()
            }
            Self::AmmeterPlaceUnknown => {
                "The spec does not say whether the ammeter stands before or after the reversal of the current. For e/m \
                 its digits are counted as before it, for the room's field as after it: the worse of the two each time. \
                 Write `ammeter.position`."
                    .into()
            }
            Self::WithoutCircle { rows } => format!(
                "{rows} rows of the table have no radius, because the beam strikes the glass there; they are passed \
                 over."
            ),
            Self::TubeTurned { turned, runs } => format!(
                "{turned} of {runs} runs bend to the side where the circle would leave the bulb; for them the tube is \
                 taken as turned half round the line along which the gun points."
            ),
            Self::ScatterOnly { known: true } => {
                "No radius uncertainty is stated; one common uncertainty is taken from the scatter of the runs, so \
                 there is no chi-square. Give `radius_uncertainty_mm` or `reading.radius_uncertainty`."
                    .into()
            }
            Self::ScatterOnly { known: false } => {
                "No radius uncertainty is stated and no run is left over to show the scatter, so the result has no \
                 uncertainty. Give `radius_uncertainty_mm`, or more runs."
                    .into()
            }
            Self::InnerEdge => {
                "The spec says that the glow is read inside its outer edge. The electrons there have lost energy to the \
                 gas: their circle is smaller, and e/m comes out high by twice that share of the radius."
                    .into()
            }
            Self::ExcessScatter { factor } => format!(
                "The runs scatter {factor:.1} times as far as their stated uncertainties say; the part of the uncertainty \
                 that comes from the runs is multiplied by that, the Birge ratio (Birge 1932)."
            ),
        }
    }
}

/// `A07 with 64.0 mm, line 5 with 66.0 mm and 4 more`.
fn runs_named(runs: &[(String, f64)], value: impl Fn(f64) -> String) -> String {
    let named: Vec<String> =
        runs.iter().take(NAMED_RUNS).map(|(name, si)| format!("{name} with {}", value(*si))).collect();
    match runs.len().saturating_sub(NAMED_RUNS) {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}
