//! Compares what a maker states of a finished pair with what follows from the winding that the same maker states.

use crate::files::spec::Quote;
use crate::pair::{Bench, StatedByMaker};
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

/// A stated property that differs from the value that follows from the winding.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Contradiction {
    /// The property.
    pub property: Property,
    /// What is stated, SI.
    pub stated_si: f64,
    /// What follows from the winding, SI; if gaps leave a range, the end nearest to the stated value.
    pub follows_si: f64,
    /// Smallest and largest of what follows, if gaps or leads leave a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub follows_within_si: Option<[f64; 2]>,
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

    /// What follows for one pair. The resistance is given without and with the leads: a maker may mean either.
    fn follows(self, bench: &Bench, field_constant: f64, mass_kg: f64) -> [f64; 2] {
        let coil = &bench.coils()[0];
        match self {
            Self::CopperMass => [mass_kg; 2],
            Self::Resistance => {
                let coils = pair_ohm_by_wire(bench);
                [coils, coils + bench.lead_resistance_ohm.unwrap_or(0.0)]
            }
            Self::FieldConstant => [field_constant.abs(); 2],
            Self::InnerDiameter => [2.0 * coil.mean_radius_m - coil.depth_m; 2],
            Self::OuterDiameter => [2.0 * coil.mean_radius_m + coil.depth_m; 2],
        }
    }

    /// Largest relative difference that lead-outs and an ordinary build explain (common practice, no source). Wire
    /// drawn to 1 % varies resistance and mass by 2 % (IEC 60317-0-1).
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
    bench.connection.of_two_ohm(a, b)
}

/// What follows for one pair, in the order of [`Property::ALL`].
pub(super) struct Follows([[f64; 2]; Property::ALL.len()]);

impl Follows {
    pub(super) fn of(bench: &Bench, field_constant: f64, mass_kg: f64) -> Self {
        Self(Property::ALL.map(|property| property.follows(bench, field_constant, mass_kg)))
    }
}

/// The stated properties that contradict the winding: the stated value, with its tolerance and half a unit of its last
/// digit, lies outside the whole range that follows for the pairs a quote may mean. `hull` gives smallest and largest
/// of values, one for each pair. It gives `None` if they depend on a trial value; such values contradict nothing.
pub(super) fn contradictions(
    quote: &Quote,
    pairs: &[&Follows],
    hull: impl Fn(&[Option<f64>]) -> Option<[f64; 2]>,
) -> Vec<Contradiction> {
    let held = |(at, property): (usize, Property)| {
        let stated_si = property.stated(&quote.stated)?;
        let end = |end: usize| pairs.iter().map(|it| Some(it.0[at][end])).collect::<Vec<_>>();
        let (least, most) = (hull(&end(0))?[0], hull(&end(1))?[1]);
        if !(least..=most).contains(&least) {
            return None;
        }
        let half_unit = property.stated(&quote.half_units).unwrap_or(0.0);
        let nearest = stated_si.clamp(least, most);
        let off = (stated_si - nearest).abs() - half_unit;
        (off > property.allowed() * nearest).then_some(Contradiction {
            property,
            stated_si,
            follows_si: nearest,
            follows_within_si: (most > least).then_some([least, most]),
        })
    };
    Property::ALL.into_iter().enumerate().filter_map(held).collect()
}
