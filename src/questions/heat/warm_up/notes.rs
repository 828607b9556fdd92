//! Notes on a warm-up test, each with its numbers and its sentence.

use crate::questions::words::notes::{SourceNote, Told};

/// One note.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// About the table.
    Source(SourceNote),
    /// The table states no room temperature.
    RoomOfSpec {
        /// The spec's temperature, or the one assumed.
        celsius: f64,
    },
    /// No reading for a long time.
    Gap {
        /// Its length.
        length_s: f64,
        /// Its start.
        from_s: f64,
    },
    /// The first resistance differs from that of the spec's cold coils.
    FirstResistance {
        /// The first resistance over that of the spec.
        ratio: f64,
    },
    /// A factor is held at 1.
    Held {
        /// The factor.
        factor: Factor,
        /// Its value from the test.
        value: f64,
        /// Its relative standard uncertainty.
        relative_uncertainty: f64,
    },
}

/// A factor of the model that a test may determine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Factor {
    /// On the heat given off by the surfaces.
    SurfaceCoefficient,
    /// On the heat capacity of the coils.
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
