//! The needs that options are compared with.

/// A need: what it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NeedKind {
    /// The largest field.
    LargestField,
    /// The current for that field.
    Current,
    /// The voltage for that field.
    Voltage,
    /// Room for the bulb.
    Room,
    /// Mean radius of the design.
    MeanRadius,
    /// Width of the section of the design.
    SectionWidth,
    /// Depth of the section of the design.
    SectionDepth,
    /// Spacing of the design.
    Spacing,
    /// Deviation over the beam.
    BeamDeviation,
    /// Temperature of the hottest surface.
    SurfaceTemperature,
    /// All that is to pay.
    Cost,
    /// From order to delivery.
    Delivery,
}

impl NeedKind {
    pub(super) const ALL: [Self; 12] = [
        Self::LargestField,
        Self::Current,
        Self::Voltage,
        Self::Room,
        Self::MeanRadius,
        Self::SectionWidth,
        Self::SectionDepth,
        Self::Spacing,
        Self::BeamDeviation,
        Self::SurfaceTemperature,
        Self::Cost,
        Self::Delivery,
    ];

    /// Whether it is a size of the design. What a quote says of it is exact.
    pub(super) const fn is_size(self) -> bool {
        matches!(self, Self::MeanRadius | Self::SectionWidth | Self::SectionDepth | Self::Spacing)
    }
}
