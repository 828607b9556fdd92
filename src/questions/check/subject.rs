//! The subject of a reading: the pair, one coil, a field, a surface, the position of the coils, the insulation.

use crate::physics::build_error::CoilName;
use crate::units::Dimension;
use serde::Serialize;

/// The subject of a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Subject {
    /// The pair.
    Pair(Quantity),
    /// One coil alone.
    Coil(CoilName, CoilQuantity),
    /// The wound section, from both of its diameters: of one coil, or of the pair in the mean.
    Section(Option<CoilName>, SectionQuantity),
    /// Both coils together, connected otherwise than for a lesson.
    Both(BothQuantity),
    /// The field along the axis at a point.
    Field {
        /// Which entry of the file, counted from 0.
        entry: usize,
        /// The point.
        at_m: [f64; 3],
        /// The current.
        current_ampere: f64,
    },
    /// The hottest surface.
    Surface {
        /// The current held.
        current_ampere: f64,
        /// How long it was held.
        after_s: f64,
    },
    /// The voltage at the pair's terminals.
    Voltage {
        /// The current held.
        current_ampere: f64,
        /// How long it was held.
        after_s: f64,
    },
    /// Largest less smallest distance of the coils round the rim.
    SpacingDifference {
        /// Diameter of the circle of places.
        across_m: f64,
    },
    /// Step from rim to rim along the axis.
    RimStep,
    /// Drop of a coil's inductance between two frequencies.
    InductanceDrop {
        /// The coil.
        coil: CoilName,
        /// The lower and the higher frequency.
        hertz: [f64; 2],
    },
    /// The insulation.
    Insulation {
        /// The test voltage.
        test_volt: f64,
    },
}

impl Subject {
    /// Its key in the file of measurements.
    pub fn key(self) -> String {
        match self {
            Self::Pair(quantity) => quantity.key().into(),
            Self::Coil(CoilName::A, quantity) => format!("coil_a.{}", quantity.key()),
            Self::Coil(CoilName::B, quantity) => format!("coil_b.{}", quantity.key()),
            Self::Section(None, quantity) => quantity.key().into(),
            Self::Section(Some(CoilName::A), quantity) => format!("coil_a.{}", quantity.key()),
            Self::Section(Some(CoilName::B), quantity) => format!("coil_b.{}", quantity.key()),
            Self::Both(quantity) => quantity.key().into(),
            Self::Field { entry, .. } => format!("fields[{entry}]"),
            Self::Surface { .. } => "surface_temperature".into(),
            Self::Voltage { .. } => "warm_voltage".into(),
            Self::SpacingDifference { .. } => "spacing_difference".into(),
            Self::RimStep => "rim_step".into(),
            Self::InductanceDrop { coil: CoilName::A, .. } => "coil_a.inductance_drop".into(),
            Self::InductanceDrop { coil: CoilName::B, .. } => "coil_b.inductance_drop".into(),
            Self::Insulation { .. } => "insulation_resistance".into(),
        }
    }

    /// The dimension of its value.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Pair(quantity) => quantity.dimension(),
            Self::Coil(_, quantity) => quantity.dimension(),
            Self::Section(..) | Self::SpacingDifference { .. } | Self::RimStep => Dimension::Length,
            Self::Both(_) => Dimension::Inductance,
            Self::Field { .. } => Dimension::FluxDensity,
            Self::Surface { .. } => Dimension::Temperature,
            Self::Voltage { .. } => Dimension::Voltage,
            Self::InductanceDrop { .. } => Dimension::Fraction,
            Self::Insulation { .. } => Dimension::Resistance,
        }
    }

    /// The dimension of a difference of two values.
    pub fn dimension_of_difference(self) -> Dimension {
        match self.dimension() {
            Dimension::Temperature => Dimension::TemperatureDifference,
            other => other,
        }
    }
}

/// Quantities that can be measured on a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Resistance of the pair as connected.
    ResistanceOhm,
    /// Field at the centre per ampere.
    FieldTeslaPerAmpere,
    /// Inductance of the pair as connected.
    InductanceHenry,
    /// Mass of the conductor of both coils.
    ConductorMassKg,
    /// Wire diameter over the enamel.
    OverallWireDiameterM,
    /// Inner diameter of the wound copper.
    InnerDiameterM,
    /// Outer diameter of the wound copper.
    OuterDiameterM,
    /// Width of the wound copper.
    WidthM,
    /// Distance between the centre planes of the coils.
    SpacingM,
}

impl Quantity {
    /// Number of quantities.
    pub const COUNT: usize = 9;
    /// Every quantity, in the order of the report.
    pub const ALL: [Self; Self::COUNT] = [
        Self::ResistanceOhm,
        Self::FieldTeslaPerAmpere,
        Self::InductanceHenry,
        Self::ConductorMassKg,
        Self::OverallWireDiameterM,
        Self::InnerDiameterM,
        Self::OuterDiameterM,
        Self::WidthM,
        Self::SpacingM,
    ];

    /// Its key in the file of measurements.
    pub const fn key(self) -> &'static str {
        match self {
            Self::ResistanceOhm => "resistance",
            Self::FieldTeslaPerAmpere => "field",
            Self::InductanceHenry => "inductance",
            Self::ConductorMassKg => "mass",
            Self::OverallWireDiameterM => "overall_wire_diameter",
            Self::InnerDiameterM => "inner_diameter",
            Self::OuterDiameterM => "outer_diameter",
            Self::WidthM => "width",
            Self::SpacingM => "spacing",
        }
    }

    /// The dimension of its value.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::ResistanceOhm => Dimension::Resistance,
            Self::FieldTeslaPerAmpere => Dimension::FieldConstant,
            Self::InductanceHenry => Dimension::Inductance,
            Self::ConductorMassKg => Dimension::Mass,
            Self::OverallWireDiameterM
            | Self::InnerDiameterM
            | Self::OuterDiameterM
            | Self::WidthM
            | Self::SpacingM => Dimension::Length,
        }
    }
}

/// Quantities of both coils that tell how they stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BothQuantity {
    /// Inductance in series with one coil reversed.
    OpposedInductanceHenry,
    /// Mutual inductance.
    MutualInductanceHenry,
}

impl BothQuantity {
    /// Its key in the file of measurements.
    pub const fn key(self) -> &'static str {
        match self {
            Self::OpposedInductanceHenry => "opposed_inductance",
            Self::MutualInductanceHenry => "mutual_inductance",
        }
    }
}

/// Quantities of a section that follow from its two diameters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SectionQuantity {
    /// Radius of the middle of the section: a quarter of the sum of both diameters.
    MeanRadiusM,
    /// Its extent along the radius: half the difference.
    DepthM,
}

impl SectionQuantity {
    /// Both.
    pub const ALL: [Self; 2] = [Self::MeanRadiusM, Self::DepthM];

    /// Its key, below the coil's.
    pub const fn key(self) -> &'static str {
        match self {
            Self::MeanRadiusM => "mean_radius",
            Self::DepthM => "depth",
        }
    }
}

/// Quantities that can be measured on one coil alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CoilQuantity {
    /// Its turns.
    Turns,
    /// Its resistance.
    ResistanceOhm,
    /// Inner diameter of its wound copper.
    InnerDiameterM,
    /// Outer diameter of its wound copper.
    OuterDiameterM,
    /// Width of its wound copper.
    WidthM,
    /// Its own inductance.
    InductanceHenry,
    /// Mass of its conductor.
    ConductorMassKg,
    /// Displacement of its centre from its nominal position, along x.
    OffsetXM,
    /// Displacement of its centre from its nominal position, along y.
    OffsetYM,
    /// Its tilt about x.
    TiltXRad,
    /// Its tilt about y.
    TiltYRad,
}

impl CoilQuantity {
    /// Number of quantities.
    pub const COUNT: usize = 11;
    /// Every quantity, in the order of the report.
    pub const ALL: [Self; Self::COUNT] = [
        Self::Turns,
        Self::ResistanceOhm,
        Self::InnerDiameterM,
        Self::OuterDiameterM,
        Self::WidthM,
        Self::InductanceHenry,
        Self::ConductorMassKg,
        Self::OffsetXM,
        Self::OffsetYM,
        Self::TiltXRad,
        Self::TiltYRad,
    ];

    /// Its key in the file of measurements, below the coil's.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Turns => "turns",
            Self::ResistanceOhm => "resistance",
            Self::InnerDiameterM => "inner_diameter",
            Self::OuterDiameterM => "outer_diameter",
            Self::WidthM => "width",
            Self::InductanceHenry => "inductance",
            Self::ConductorMassKg => "mass",
            Self::OffsetXM => "offset_x",
            Self::OffsetYM => "offset_y",
            Self::TiltXRad => "tilt_x",
            Self::TiltYRad => "tilt_y",
        }
    }

    /// The dimension of its value.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::TiltXRad | Self::TiltYRad => Dimension::Angle,
            Self::Turns => Dimension::Number,
            Self::ResistanceOhm => Dimension::Resistance,
            Self::InductanceHenry => Dimension::Inductance,
            Self::ConductorMassKg => Dimension::Mass,
            Self::InnerDiameterM | Self::OuterDiameterM | Self::WidthM | Self::OffsetXM | Self::OffsetYM => {
                Dimension::Length
            }
        }
    }
}
