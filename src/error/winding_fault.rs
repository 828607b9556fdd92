//! Dimensions with which no pair of coils can be wound.

use std::fmt;

/// What is wrong with the dimensions of a winding, its wire or its spacing. SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum WindingFault {
    /// A quantity that is not a finite number above zero, with its unit; a unit is empty for a count.
    NotPositive {
        /// Its name.
        quantity: &'static str,
        /// The value found.
        value: f64,
        /// Its SI unit.
        unit: &'static str,
    },
    /// The section reaches the axis.
    NoBore {
        /// Depth of the section.
        depth_m: f64,
        /// Radius of its middle.
        mean_radius_m: f64,
    },
    /// The wire is no thicker over its enamel than without.
    WireDiameters {
        /// Diameter without enamel.
        bare_m: f64,
        /// Diameter over the enamel.
        overall_m: f64,
    },
    /// The stated layers hold fewer turns than there are.
    TooFewPlaces {
        /// Turns.
        turns: f64,
        /// Turns that the layers hold.
        places: f64,
    },
    /// The turns do not fit the section.
    TurnsDoNotFit {
        /// Turns.
        turns: f64,
        /// Width and depth that they need.
        needed_m: [f64; 2],
        /// Width and depth of the section.
        section_m: [f64; 2],
    },
    /// The two coils overlap.
    CoilsOverlap {
        /// Width of each coil's section.
        width_m: f64,
        /// Distance between their middles.
        spacing_m: f64,
    },
}

impl fmt::Display for WindingFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mm = |metre: f64| crate::units::display(metre, crate::units::Dimension::Length, 4);
        match self {
            Self::NotPositive { quantity, value, unit: "" } => {
                write!(f, "the {quantity} are {value}, and they must be finite and above 0")
            }
            Self::NotPositive { quantity, value, unit } => {
                write!(f, "the {quantity} is {value} {unit}, and it must be finite and above 0 {unit}")
            }
            Self::NoBore { depth_m, mean_radius_m } => write!(
                f,
                "a section {} deep at a mean radius of {} leaves no bore",
                mm(*depth_m),
                mm(*mean_radius_m)
            ),
            Self::WireDiameters { bare_m, overall_m } => {
                write!(f, "the wire is {} over its enamel and {} without", mm(*overall_m), mm(*bare_m))
            }
            Self::TooFewPlaces { turns, places } => {
                write!(f, "the layers hold {places} turns, not {turns}")
            }
            Self::TurnsDoNotFit { turns, needed_m: [width, depth], section_m: [wide, deep] } => write!(
                f,
                "{turns} turns need a section {} wide and {} deep, and it is {} wide and {} deep",
                mm(*width),
                mm(*depth),
                mm(*wide),
                mm(*deep)
            ),
            Self::CoilsOverlap { width_m, spacing_m } => {
                write!(f, "the coils overlap: they are {} wide and {} apart", mm(*width_m), mm(*spacing_m))
            }
        }
    }
}
