//! The errors that readings state as shared, and the effect of each on every reading.

use super::reading::{Reading, Share};
use super::readings::Readings;
use crate::{Error, Result};
use serde::Serialize;

/// Most shared errors in one file. Each is one more unknown of the fit.
const MOST: usize = 20;

/// The quantity to which a shared error belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum SharedQuantity {
    /// The currents read.
    Current,
    /// The fields read.
    Field,
}

/// A reading's part in a shared error.
type ShareOf = fn(&Reading) -> Option<&Share>;

/// One error that readings share.
pub(super) struct Group<'a> {
    pub quantity: SharedQuantity,
    /// Its name in the readings. Empty if the file has one error for all.
    pub by: &'a str,
    /// Effect of one standard uncertainty of it on each reading, in A or T; zero if the reading does not have the
    /// error.
    pub uncertainties: Vec<f64>,
}

impl Group<'_> {
    /// Number of readings that have the error.
    pub(super) fn members(&self) -> usize {
        self.uncertainties.iter().filter(|uncertainty| **uncertainty > 0.0).count()
    }
}

/// The errors that these readings share: those of the current first, each kind in the order of the file.
pub(super) fn groups(readings: &Readings) -> Result<Vec<Group<'_>>> {
    let mut groups: Vec<Group> = Vec::new();
    let quantities: [(SharedQuantity, ShareOf); 2] = [
        (SharedQuantity::Current, |reading| reading.current_shared.as_ref()),
        (SharedQuantity::Field, |reading| reading.field_shared.as_ref()),
    ];
    for (quantity, share) in quantities {
        for (place, reading) in readings.readings.iter().enumerate() {
            let Some(share) = share(reading) else { continue };
            let known = groups.iter().position(|group| group.quantity == quantity && group.by == share.by);
            match known {
                Some(group) => groups[group].uncertainties[place] = share.standard_uncertainty,
                None if groups.len() == MOST => return Err(too_many(readings, reading)),
                None => {
                    let mut uncertainties = vec![0.0; readings.readings.len()];
                    uncertainties[place] = share.standard_uncertainty;
                    groups.push(Group { quantity, by: &share.by, uncertainties });
                }
            }
        }
    }
    Ok(groups)
}

fn too_many(readings: &Readings, reading: &Reading) -> Error {
    Error::in_table(
        &readings.path,
        readings.sheet.as_deref(),
        reading.line,
        format!("this is the {}st error that readings are said to share, and {MOST} can be fitted", MOST + 1),
        Some(
            "an error of one reading alone belongs into its own uncertainty; leave `field_shared_by` empty there"
                .into(),
        ),
    )
}
