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
    pub(super) const ALL: [Self; 8] = [
        Self::LargestField,
        Self::Current,
        Self::Voltage,
        Self::Room,
        Self::BeamDeviation,
        Self::SurfaceTemperature,
        Self::Cost,
        Self::Delivery,
    ];
}
