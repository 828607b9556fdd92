//! Compares what a maker states of a finished pair with what follows from the winding that the same maker states.

use crate::files::spec::Quote;
use crate::pair::{Bench, StatedByMaker};
use crate::physics::heat::HeatedPair;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::pair::CEILING_CELSIUS;
use crate::physics::test_limits::OF_RISE;
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
    /// Largest field at the centre, at the current stated for it.
    LargestField,
    /// Voltage that the largest field takes, at the pair's terminals with the copper warm: anywhere between 20 °C and its
    /// thermal class.
    Voltage,
    /// Rise of the hottest surface above a room of 20 °C, at that current and after the time stated.
    SurfaceRise,
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
    const ALL: [Self; 8] = [
        Self::CopperMass,
        Self::Resistance,
        Self::FieldConstant,
        Self::InnerDiameter,
        Self::OuterDiameter,
        Self::LargestField,
        Self::Voltage,
        Self::SurfaceRise,
    ];

    /// The dimension.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::CopperMass => Dimension::Mass,
            Self::Resistance => Dimension::Resistance,
            Self::FieldConstant => Dimension::FieldConstant,
            Self::InnerDiameter | Self::OuterDiameter => Dimension::Length,
            Self::LargestField => Dimension::FluxDensity,
            Self::Voltage => Dimension::Voltage,
            Self::SurfaceRise => Dimension::TemperatureDifference,
        }
    }

    fn stated(self, by: &StatedByMaker) -> Option<f64> {
        match self {
            Self::CopperMass => by.conductor_mass_kg,
            Self::Resistance => by.resistance_ohm,
            Self::FieldConstant => by.field_constant_tesla_per_ampere,
            Self::InnerDiameter => by.inner_diameter_m,
            Self::OuterDiameter => by.outer_diameter_m,
            Self::LargestField => by.largest_field_tesla,
            Self::Voltage => by.largest_field_voltage_volt,
            Self::SurfaceRise => by.hottest_surface_celsius.map(|celsius| celsius - STATED_ROOM_CELSIUS),
        }
    }

    /// Half a unit of the last digit stated.
    fn half_unit(self, half_units: &StatedByMaker) -> f64 {
        let half = match self {
            Self::SurfaceRise => half_units.hottest_surface_celsius,
            _ => self.stated(half_units),
        };
        half.unwrap_or(0.0)
    }

    /// Largest relative difference that lead-outs and an ordinary build explain (common practice, no source). Wire
    /// drawn to 1 % varies resistance and mass by 2 % (IEC 60317-0-1).
    const fn allowed(self) -> f64 {
        match self {
            Self::CopperMass | Self::Resistance => 0.10,
            Self::FieldConstant => 0.03,
            Self::InnerDiameter | Self::OuterDiameter => 0.015,
            Self::LargestField => 0.03,
            Self::Voltage => 0.10,
            Self::SurfaceRise => 0.10,
        }
    }
}

/// The room of a maker's temperatures.
const STATED_ROOM_CELSIUS: f64 = 20.0;
/// Thermal class of wire where none is stated (IEC 60085: 105, 120, 130, 155 °C and more).
const USUAL_CLASS_CELSIUS: f64 = 155.0;

/// One pair that a quote may mean, with the figures of it that are known.
pub(super) struct PairAsQuoted<'a> {
    pub(super) bench: &'a Bench,
    pub(super) field_constant_tesla_per_ampere: Option<f64>,
    pub(super) conductor_mass_kg: Option<f64>,
    /// Half a unit of the last digit stated of the largest field's current.
    pub(super) half_unit_ampere: f64,
}

impl PairAsQuoted<'_> {
    /// Smallest and largest value that the winding gives a property. `None` if it rests on something that is not known.
    fn follows(&self, property: Property) -> Option<[f64; 2]> {
        let coil = &self.bench.coils()[0];
        let constant = self.field_constant_tesla_per_ampere.map(f64::abs);
        match property {
            Property::CopperMass => self.conductor_mass_kg.map(|mass| [mass; 2]),
            Property::Resistance => Some(self.ohm_at_20_celsius()),
            Property::FieldConstant => constant.map(|constant| [constant; 2]),
            Property::InnerDiameter => Some([2.0 * coil.mean_radius_m - coil.depth_m; 2]),
            Property::OuterDiameter => Some([2.0 * coil.mean_radius_m + coil.depth_m; 2]),
            Property::LargestField => {
                let [least, most] = self.ampere()?;
                Some([constant? * least, constant? * most])
            }
            Property::Voltage => {
                let wire = &self.bench.winding.wire;
                let hottest = wire.thermal_class_celsius.unwrap_or(USUAL_CLASS_CELSIUS);
                let warmth = wire.conductor.resistance_coefficient_per_kelvin() * (hottest - 20.0);
                let ([least, most], [coils, all]) = (self.ampere()?, self.ohm_at_20_celsius());
                Some([coils * least, all * (1.0 + warmth) * most])
            }
            Property::SurfaceRise => {
                let [least, most] = self.ampere()?;
                let rises =
                    [(1.0 - OF_RISE) * self.rise_kelvin(least)?, (1.0 + OF_RISE) * self.rise_kelvin(most)?];
                Some(rises)
            }
        }
    }

    /// Smallest and largest current that the digits stated for the largest field may mean.
    fn ampere(&self) -> Option<[f64; 2]> {
        let stated = self.bench.stated.as_ref()?.largest_field_current_ampere?;
        Some([(stated - self.half_unit_ampere).max(0.0), stated + self.half_unit_ampere])
    }

    /// Resistance of the pair at 20 °C by its wire, without and with the leads: a maker may mean either.
    fn ohm_at_20_celsius(&self) -> [f64; 2] {
        let wire = &self.bench.winding.wire;
        let per_metre = wire.conductor.resistivity_at_20_celsius_ohm_m() / wire.conductor_area_m2();
        let [a, b] = self.bench.coils().map(|coil| per_metre * TAU * coil.mean_radius_m * coil.turns);
        let coils = self.bench.connection.of_two_ohm(a, b);
        [coils, coils + self.bench.lead_resistance_ohm.unwrap_or(0.0)]
    }

    /// Rise of the hottest surface above a room of 20 °C at a current, after the time that the maker states or in the
    /// steady state. A pair that runs away counts as one at the ceiling of the model.
    fn rise_kelvin(&self, current_ampere: f64) -> Option<f64> {
        let stated = self.bench.stated.as_ref().filter(|stated| stated.hottest_surface_celsius.is_some())?;
        let heated = HeatedPair::of(self.bench).ok()?.in_room(STATED_ROOM_CELSIUS);
        let drive = Drive::held(current_ampere);
        let celsius = heated.hottest_surface_celsius_after(&drive, stated.hottest_surface_after_s).ok()?;
        Some(celsius.unwrap_or(CEILING_CELSIUS) - STATED_ROOM_CELSIUS)
    }
}

/// What follows for one pair, in the order of [`Property::ALL`]; `None` for what is not known of it.
pub(super) struct Follows([Option<[f64; 2]>; Property::ALL.len()]);

impl Follows {
    pub(super) fn of(pair: &PairAsQuoted) -> Self {
        Self(Property::ALL.map(|property| pair.follows(property)))
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
        let each: Vec<[f64; 2]> = pairs.iter().map(|it| it.0[at]).collect::<Option<_>>()?;
        let end = |end: usize| each.iter().map(|ends| Some(ends[end])).collect::<Vec<_>>();
        let (least, most) = (hull(&end(0))?[0], hull(&end(1))?[1]);
        let half_unit = property.half_unit(&quote.half_units);
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
