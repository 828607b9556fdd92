//! What a maker states of a finished pair, held against what follows from the winding that the same maker states.

use crate::pair::{Bench, Connection, StatedByMaker};
use crate::units::Dimension;
use serde::Serialize;
use std::f64::consts::TAU;

/// A property of the finished pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Property {
    /// Mass of the conductor of both coils.
    CopperMass,
    /// Resistance of the pair as it is connected, at 20 °C.
    Resistance,
    /// Field at the centre per ampere.
    FieldConstant,
    /// Inner diameter of the winding.
    InnerDiameter,
    /// Outer diameter of the winding.
    OuterDiameter,
}

/// A property that is stated and follows from the winding as something else.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Contradiction {
    /// The property.
    pub property: Property,
    /// What is stated, SI.
    pub stated_si: f64,
    /// What follows from the winding, SI.
    pub follows_si: f64,
}

impl Property {
    const ALL: [Self; 5] =
        [Self::CopperMass, Self::Resistance, Self::FieldConstant, Self::InnerDiameter, Self::OuterDiameter];

    /// The dimension.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::CopperMass => Dimension::Mass,
            Self::Resistance => Dimension::Resistance,
            Self::FieldConstant => Dimension::FieldConstant,
            Self::InnerDiameter | Self::OuterDiameter => Dimension::Length,
        }
    }

    fn stated(self, by: &StatedByMaker) -> Option<f64> {
        match self {
            Self::CopperMass => by.conductor_mass_kg,
            Self::Resistance => by.resistance_ohm,
            Self::FieldConstant => by.field_constant_tesla_per_ampere,
            Self::InnerDiameter => by.inner_diameter_m,
            Self::OuterDiameter => by.outer_diameter_m,
        }
    }

    fn follows(self, bench: &Bench, field_constant: f64, mass_kg: f64) -> f64 {
        let coil = &bench.coils()[0];
        match self {
            Self::CopperMass => mass_kg,
            Self::Resistance => pair_ohm_by_wire(bench),
            Self::FieldConstant => field_constant.abs(),
            Self::InnerDiameter => 2.0 * coil.mean_radius_m - coil.depth_m,
            Self::OuterDiameter => 2.0 * coil.mean_radius_m + coil.depth_m,
        }
    }

    /// The largest difference that rounding, lead-outs and an ordinary build explain, as a part of the value (common practice,
    /// no source). Wire drawn to 1 % makes 2 % of the resistance and of the mass (IEC 60317-0-1).
    const fn allowed(self) -> f64 {
        match self {
            Self::CopperMass | Self::Resistance => 0.10,
            Self::FieldConstant => 0.03,
            Self::InnerDiameter | Self::OuterDiameter => 0.015,
        }
    }
}

/// Resistance of the pair at 20 °C from wire, turns and radii.
fn pair_ohm_by_wire(bench: &Bench) -> f64 {
    let wire = &bench.winding.wire;
    let per_metre = wire.conductor.resistivity_at_20_celsius_ohm_m() / wire.conductor_area_m2();
    let [a, b] = bench.coils().map(|coil| per_metre * TAU * coil.mean_radius_m * coil.turns);
    match bench.connection {
        Connection::Series => a + b,
        Connection::Parallel => a * b / (a + b),
    }
}

/// Every property of a bench that is stated and follows from its winding as something else.
pub(super) fn contradictions(bench: &Bench, field_constant: f64, mass_kg: f64) -> Vec<Contradiction> {
    let Some(stated) = &bench.stated else { return Vec::new() };
    let held = |property: Property| {
        let stated_si = property.stated(stated)?;
        let follows_si = property.follows(bench, field_constant, mass_kg);
        let apart = (stated_si / follows_si - 1.0).abs() > property.allowed();
        apart.then_some(Contradiction { property, stated_si, follows_si })
    };
    Property::ALL.into_iter().filter_map(held).collect()
}
