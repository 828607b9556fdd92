//! What a reader must know of a warm-up test: each note with its numbers, and its sentence.

use crate::questions::words::notes::{SourceNote, Told};

/// One note.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// On the table.
    Source(SourceNote),
    /// The table states no room temperature.
    RoomOfSpec {
        /// The spec's, or what is taken for it.
        celsius: f64,
    },
    /// No reading for a long time.
    Gap {
        /// How long.
        length_s: f64,
        /// From when.
        from_s: f64,
    },
    /// The first resistance is not that of the spec's cold coils.
    FirstResistance {
        /// Over what the spec gives.
        ratio: f64,
    },
    /// A factor is held at 1.
    Held {
        /// Which.
        factor: Factor,
        /// What the test would give.
        value: f64,
        /// Its relative standard uncertainty.
        relative_uncertainty: f64,
    },
}

/// A factor of the model that a test may fix.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Factor {
    /// Of the heat that the surfaces give off.
    SurfaceCoefficient,
    /// Of the coils' heat capacity.
    HeatCapacity,
}

impl Told for Note {
    fn sentence(&self) -> String {
        match self {
            Self::Source(note) => note.sentence(),
            Self::RoomOfSpec { celsius } => format!(
                "The table has no column `room_temperature_degC`: {celsius} °C taken for the room and the cold coils."
            ),
            Self::Gap { length_s, from_s } => format!(
                "There is no reading for {:.0} min after {:.0} min: the current is taken to go straight across.",
                length_s / 60.0,
                from_s / 60.0
            ),
            Self::FirstResistance { ratio } => format!(
                "The first resistance is {ratio:.2} times what the spec gives for cold coils: is it the whole pair, \
                 and were the coils at room temperature?"
            ),
            Self::Held { factor, value, relative_uncertainty } => {
                let percent = 100.0 * relative_uncertainty.min(9.99);
                match factor {
                    Factor::SurfaceCoefficient => format!(
                        "The test does not fix the surface coefficient (factor {value:.2}, standard uncertainty \
                         {percent:.0} %): it is too short or too unsteady. The factor is held at 1; go on until the \
                         voltage stands for half an hour."
                    ),
                    Factor::HeatCapacity => format!(
                        "The test does not fix the heat capacity (factor {value:.2}, standard uncertainty \
                         {percent:.0} %): it has too few rows while the coils warm. The factor is held at 1; read every \
                         minute or two at first."
                    ),
                }
            }
        }
    }
}
