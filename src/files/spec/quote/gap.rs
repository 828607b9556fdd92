//! What a quote may leave out.

use serde::Serialize;

/// Something that every pair has and a quote may leave out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum Gap {
    /// Mean radius of the winding.
    #[serde(rename = "winding.mean_radius")]
    MeanRadius,
    /// Width of the section, along the axis.
    #[serde(rename = "winding.width")]
    Width,
    /// Depth of the section, along the radius.
    #[serde(rename = "winding.depth")]
    Depth,
    /// Turns of a coil.
    #[serde(rename = "winding.turns")]
    Turns,
    /// The wire, or only the thickness of its enamel.
    #[serde(rename = "winding.wire")]
    Wire,
    /// Spacing of the coils.
    #[serde(rename = "spacing")]
    Spacing,
    /// Whether the coils are in series or in parallel. A spec without it is in series; a quote is asked.
    #[serde(rename = "connection")]
    Connection,
}

impl Gap {
    /// Number of kinds that every spec states.
    pub(crate) const NEEDED: usize = 6;

    /// The key in the file.
    pub const fn key(self) -> &'static str {
        match self {
            Self::MeanRadius => "winding.mean_radius",
            Self::Width => "winding.width",
            Self::Depth => "winding.depth",
            Self::Turns => "winding.turns",
            Self::Wire => "winding.wire",
            Self::Spacing => "spacing",
            Self::Connection => "connection",
        }
    }

    /// Whether a spec cannot do without it.
    pub(crate) fn is_needed(self) -> bool {
        self != Self::Connection
    }
}

/// Something that an offer may leave blank, and on which warmth or voltage of its pair depends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub enum Blank {
    /// Resistance of the leads.
    #[serde(rename = "leads.resistance")]
    Leads,
    /// What fills the winding between the wires.
    #[serde(rename = "winding.filling")]
    GapFilling,
    /// Thermal class of the enamel.
    #[serde(rename = "winding.wire.thermal_class")]
    ThermalClass,
    /// Material of the former.
    #[serde(rename = "former.material")]
    FormerMaterial,
}

impl Blank {
    pub(super) const ALL: [Self; 4] =
        [Self::Leads, Self::GapFilling, Self::ThermalClass, Self::FormerMaterial];

    /// The key in the file.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Leads => "leads.resistance",
            Self::GapFilling => "winding.filling",
            Self::ThermalClass => "winding.wire.thermal_class",
            Self::FormerMaterial => "former.material",
        }
    }
}
