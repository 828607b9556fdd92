//! Compares what a maker states of a finished pair with what follows from the winding that the same maker states.

use super::bounds::{LOOSEST, NESTED_PITCH};
use crate::files::spec::{Gap, Quote};
use crate::pair::circuit::wire_length_m;
use crate::pair::{Bench, Coil, Connection, STATED_ROOM_CELSIUS, StatedByMaker};
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::pair::CEILING_CELSIUS;
use crate::physics::heat::{HeatedPair, HeldFor};
use crate::physics::test_limits::OF_RISE;
use crate::units::Dimension;
use serde::Serialize;

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
    /// Length of the wire in both coils: the stated resistance and mass together give it whatever the wire.
    WireLength,
    /// Depth of the winding: half the difference of the stated diameters.
    Depth,
    /// Turns of a coil, compared with those that the section takes with this wire.
    TurnsOfSection,
    /// Resistance of the pair as it is connected, compared with those measured of its coils.
    MeasuredResistance,
    /// Turns of a finished coil, compared with those quoted.
    BuiltTurns,
    /// Mean radius of a finished coil, compared with the one quoted.
    BuiltRadius,
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
    /// The coil, `a` or `b`, if it is about one of two finished coils.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coil: Option<&'static str>,
}

impl Property {
    const ALL: [Self; 14] = [
        Self::CopperMass,
        Self::Resistance,
        Self::FieldConstant,
        Self::InnerDiameter,
        Self::OuterDiameter,
        Self::LargestField,
        Self::Voltage,
        Self::SurfaceRise,
        Self::WireLength,
        Self::Depth,
        Self::TurnsOfSection,
        Self::MeasuredResistance,
        Self::BuiltTurns,
        Self::BuiltRadius,
    ];

    /// The dimension.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::CopperMass => Dimension::Mass,
            Self::Resistance | Self::MeasuredResistance => Dimension::Resistance,
            Self::FieldConstant => Dimension::FieldConstant,
            Self::InnerDiameter
            | Self::OuterDiameter
            | Self::WireLength
            | Self::Depth
            | Self::BuiltRadius => Dimension::Length,
            Self::TurnsOfSection | Self::BuiltTurns => Dimension::Number,
            Self::LargestField => Dimension::FluxDensity,
            Self::Voltage => Dimension::Voltage,
            Self::SurfaceRise => Dimension::TemperatureDifference,
        }
    }

    /// Whether it is not stated itself but computed from what is.
    pub const fn is_derived(self) -> bool {
        matches!(self, Self::WireLength | Self::Depth)
    }

    /// The stated value as a range of half a unit of its last digit either way.
    fn stated(self, quote: &Quote) -> Option<[f64; 2]> {
        let with_half = |of: fn(&StatedByMaker) -> Option<f64>| {
            of(&quote.stated).map(|stated| [stated, of(&quote.half_units).unwrap_or(0.0)])
        };
        match self {
            Self::CopperMass => with_half(|by| by.conductor_mass_kg),
            Self::Resistance | Self::MeasuredResistance => with_half(|by| by.resistance_ohm),
            Self::FieldConstant => with_half(|by| by.field_constant_tesla_per_ampere),
            Self::InnerDiameter => with_half(|by| by.inner_diameter_m),
            Self::OuterDiameter => with_half(|by| by.outer_diameter_m),
            Self::LargestField => with_half(|by| by.largest_field_tesla),
            Self::Voltage => with_half(|by| by.largest_field_voltage_volt),
            Self::SurfaceRise => {
                let [celsius, half] = with_half(|by| by.hottest_surface_celsius)?;
                Some([celsius - STATED_ROOM_CELSIUS, half])
            }
            Self::WireLength => {
                let ([ohm, of_ohm], [kg, of_kg]) =
                    (with_half(|by| by.resistance_ohm)?, with_half(|by| by.conductor_mass_kg)?);
                if quote.gaps.contains(&Gap::Connection) {
                    // The resistance does not tell the length unless the connection is known.
                    return None;
                }
                let winding = &quote.winding;
                let factor = if winding.parallel { 4.0 } else { 1.0 };
                let conductor = winding.conductor;
                // R = ρ L/A and m = δ L A, of both coils in series: L² = R m/(ρ δ).
                let per = conductor.resistivity_at_20_celsius_ohm_m() * conductor.density_kg_per_m3();
                let length = (factor * ohm * kg / per).sqrt();
                Some([length, 0.5 * length * (of_ohm / ohm + of_kg / kg)])
            }
            Self::Depth => {
                let ([outer, of_outer], [inner, of_inner]) =
                    (with_half(|by| by.outer_diameter_m)?, with_half(|by| by.inner_diameter_m)?);
                Some([0.5 * (outer - inner), 0.5 * (of_outer + of_inner)])
            }
            Self::TurnsOfSection => quote.winding.turns.map(|turns| [turns, 0.0]),
            // These belong to finished coils, not to the quote as a whole: see [`PairAsQuoted::built`].
            Self::BuiltTurns | Self::BuiltRadius => None,
        }
    }

    /// Largest relative difference that lead-outs and an ordinary build explain (common practice, no source). Wire
    /// drawn to 1 % varies resistance and mass by 2 % (IEC 60317-0-1).
    const fn allowed(self) -> f64 {
        match self {
            // A mass may include enamel and binding.
            Self::CopperMass => 0.10,
            // The next stock size changes it by 10 % and more.
            Self::Resistance | Self::MeasuredResistance => 0.05,
            Self::FieldConstant | Self::LargestField => 0.03,
            Self::InnerDiameter | Self::OuterDiameter => 0.015,
            Self::Voltage | Self::WireLength => 0.05,
            Self::SurfaceRise => 0.10,
            Self::Depth | Self::TurnsOfSection => 0.20,
            Self::BuiltTurns | Self::BuiltRadius => 0.0,
        }
    }
}

/// Thermal class of wire where none is stated (IEC 60085: 105, 120, 130, 155 °C and more).
const USUAL_CLASS_CELSIUS: f64 = 155.0;
/// The temperature to which warm resistances of windings are usually referred (common practice, no source).
const REFERENCE_CELSIUS: f64 = 75.0;

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
                let ([least, most], [coils, all]) = (self.ampere()?, self.ohm_at_20_celsius());
                let wire = &self.bench.winding.wire;
                let class = wire.thermal_class_celsius.unwrap_or(USUAL_CLASS_CELSIUS);
                // A maker may state the voltage for copper as warm as its enamel allows. If a surface temperature is
                // stated beside it, the copper is assumed to be no warmer than this current makes it, or than the usual
                // reference temperature of windings.
                let has_surface =
                    self.bench.stated.as_ref().is_some_and(|it| it.hottest_surface_celsius.is_some());
                let rise = self.copper_rise_kelvin(most).filter(|_| has_surface);
                let warm = rise.map_or(class, |rise| REFERENCE_CELSIUS.max(20.0 + (1.0 + OF_RISE) * rise));
                let ratio = wire.conductor.resistance_ratio(warm.min(class));
                Some([coils * least, all * ratio * most])
            }
            Property::WireLength => {
                let [a, b] = self.bench.coils().map(|coil| wire_length_m(&self.bench.winding, &coil));
                Some([a + b; 2])
            }
            Property::Depth => Some([coil.depth_m; 2]),
            Property::TurnsOfSection => {
                let winding = &self.bench.winding;
                let each = winding.wire.overall_diameter_m.powi(2);
                let most = winding.width_m * winding.depth_m / each;
                Some([most / LOOSEST, most / NESTED_PITCH])
            }
            Property::MeasuredResistance => {
                let at_20 = |coil: &Coil| {
                    let measured = coil.resistance?;
                    let wire = &self.bench.winding.wire;
                    Some(measured.ohm / wire.conductor.resistance_ratio(measured.at_celsius))
                };
                let [a, b] = self.bench.coils();
                let coils = self.bench.connection.of_two_ohm(at_20(&a)?, at_20(&b)?);
                Some([coils, coils + self.bench.lead_resistance_ohm.unwrap_or(0.0)])
            }
            Property::BuiltTurns | Property::BuiltRadius => None,
            Property::SurfaceRise => {
                let [least, most] = self.ampere()?;
                let rises =
                    [(1.0 - OF_RISE) * self.rise_kelvin(least)?, (1.0 + OF_RISE) * self.rise_kelvin(most)?];
                Some(rises)
            }
        }
    }

    /// Smallest and largest current of the largest field: that stated with its digits, or else that which the field takes.
    fn ampere(&self) -> Option<[f64; 2]> {
        let stated = self.bench.stated.as_ref()?;
        if let Some(ampere) = stated.largest_field_current_ampere {
            return Some([(ampere - self.half_unit_ampere).max(0.0), ampere + self.half_unit_ampere]);
        }
        let ampere = stated.largest_field_tesla? / self.field_constant_tesla_per_ampere?.abs();
        let off = Property::LargestField.allowed() * ampere;
        Some([ampere - off, ampere + off])
    }

    /// Rise of the mean of the hotter winding after it has carried a current for ever.
    fn copper_rise_kelvin(&self, current_ampere: f64) -> Option<f64> {
        let heated = HeatedPair::of(self.bench).ok()?.in_room(STATED_ROOM_CELSIUS);
        let carried = heated.carried(&Drive::held(current_ampere), HeldFor::Ever).ok()?;
        Some(carried.map_or(CEILING_CELSIUS, |carried| carried.copper_celsius()) - STATED_ROOM_CELSIUS)
    }

    /// Turns and mean radius of a finished coil that lie outside what is quoted, each with twice its tolerance.
    fn built(&self) -> Vec<Contradiction> {
        let (winding, tolerance) = (&self.bench.winding, self.bench.tolerance_or_ordinary());
        let held = |name, property, quoted: f64, tolerance: f64, built: f64| {
            let within = [quoted - 2.0 * tolerance, quoted + 2.0 * tolerance];
            let nearest = built.clamp(within[0], within[1]);
            ((built - nearest).abs() > 1e-9 * quoted).then_some(Contradiction {
                property,
                stated_si: built,
                follows_si: nearest,
                follows_within_si: Some(within),
                coil: Some(name),
            })
        };
        let of = |(name, coil): (&'static str, &Coil)| {
            let radius = held(
                name,
                Property::BuiltRadius,
                winding.mean_radius_m,
                tolerance.mean_radius_m,
                coil.mean_radius_m,
            );
            let turns = held(name, Property::BuiltTurns, winding.turns, tolerance.turns, coil.turns);
            turns.into_iter().chain(radius).collect::<Vec<_>>()
        };
        ["a", "b"].into_iter().zip(self.bench.as_built.iter().flatten()).flat_map(of).collect()
    }

    /// Resistance of the pair at 20 °C by its wire, without and with the leads: a maker may mean either.
    fn ohm_at_20_celsius(&self) -> [f64; 2] {
        let wire = &self.bench.winding.wire;
        let per_metre = wire.conductor.resistivity_at_20_celsius_ohm_m() / wire.conductor_area_m2();
        let [a, b] = self.bench.coils().map(|coil| per_metre * wire_length_m(&self.bench.winding, &coil));
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
pub(super) struct Follows {
    each: [Option<[f64; 2]>; Property::ALL.len()],
    /// What finished coils contradict.
    built: Vec<Contradiction>,
    connection: Connection,
}

impl Follows {
    pub(super) fn of(pair: &PairAsQuoted) -> Self {
        Self {
            each: Property::ALL.map(|property| pair.follows(property)),
            built: pair.built(),
            connection: pair.bench.connection,
        }
    }
}

/// The stated properties that contradict the winding: the stated value, with its tolerance and half a unit of its last
/// digit, lies outside the range that follows for the pairs a quote may mean, in series and in parallel. `hull` gives
/// smallest and largest of values, one for each pair. It gives `None` if they depend on a trial value; such values
/// contradict nothing.
pub(super) fn contradictions(
    quote: &Quote,
    pairs: &[&Follows],
    hull: impl Fn(&[Option<f64>]) -> Option<[f64; 2]>,
) -> Vec<Contradiction> {
    let held = |(at, property): (usize, Property)| {
        let [stated_si, half_unit] = property.stated(quote)?;
        let each: Vec<[f64; 2]> = pairs.iter().map(|it| it.each[at]).collect::<Option<_>>()?;
        let end = |end: usize| each.iter().map(|ends| Some(ends[end])).collect::<Vec<_>>();
        hull(&end(0)).and(hull(&end(1)))?;
        // Between the values of the two connections there is nothing.
        let of_one = |connection: Connection| {
            let ends = pairs.iter().zip(&each).filter(move |(it, _)| it.connection == connection);
            ends.map(|(_, ends)| *ends).reduce(|all, one| [all[0].min(one[0]), all[1].max(one[1])])
        };
        let off_by = |ends: &[f64; 2]| (stated_si - stated_si.clamp(ends[0], ends[1])).abs();
        let of_each = [Connection::Series, Connection::Parallel].into_iter().filter_map(of_one);
        let [least, most] = of_each.min_by(|one, other| off_by(one).total_cmp(&off_by(other)))?;
        let nearest = stated_si.clamp(least, most);
        let off = (stated_si - nearest).abs() - half_unit;
        (off > property.allowed() * nearest).then_some(Contradiction {
            property,
            stated_si,
            follows_si: nearest,
            follows_within_si: (most > least).then_some([least, most]),
            coil: None,
        })
    };
    // A finished coil contradicts an offer if it does so whatever fills the gaps.
    let built = pairs.split_first().into_iter().flat_map(|(first, others)| {
        let of_all = |it: &&Contradiction| {
            others.iter().all(|other| {
                other.built.iter().any(|other| (other.property, other.coil) == (it.property, it.coil))
            })
        };
        first.built.iter().filter(of_all).copied()
    });
    Property::ALL.into_iter().enumerate().filter_map(held).chain(built).collect()
}
