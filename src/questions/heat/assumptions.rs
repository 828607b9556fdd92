//! Assumptions for missing keys of the spec, and effects that the model leaves out, each with its numbers and its
//! sentence.

use crate::pair::materials::{ASSUMED_WALL_M, former_material};
use crate::pair::{Bench, Cheeks};
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::pack::WirePack;
use crate::physics::heat::pair::{CEILING_CELSIUS, HeatedPair};
use crate::questions::words::notes::{SourceNote, Told, on_growth};

/// One assumption.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Assumption {
    /// About thermal expansion.
    Source(SourceNote),
    /// No room temperature is stated.
    RoomTemperature {
        /// The one taken.
        celsius: f64,
    },
    /// No former is stated.
    NoFormer,
    /// The former's material is not stated or not known.
    FormerMaterial {
        /// As stated.
        stated: Option<String>,
        /// The conductivity taken.
        conductivity_watt_per_m_kelvin: f64,
        /// The density taken.
        density_kg_per_m3: f64,
        /// The emissivity taken.
        emissivity: f64,
    },
    /// The thickness of the former's walls is not stated.
    FormerWall,
    /// The side of a single cheek is not stated.
    OneCheek,
    /// The winding's emissivity is not stated.
    Emissivity,
    /// The thermal class is not stated.
    ThermalClass {
        /// The class taken.
        celsius: f64,
    },
    /// No supply is stated.
    NoSupply,
    /// The supply's voltage limit is not stated.
    NoVoltageLimit,
    /// The supply's current limit is not stated.
    NoCurrentLimit,
    /// The thermal conductivity of the winding across its wires.
    Pack(WirePack),
    /// Effects of the coils' surroundings that are left out.
    StillAir,
    /// The highest temperature of a steady state.
    Ceiling,
}

impl Told for Assumption {
    fn sentence(&self) -> String {
        match self {
            Self::Source(note) => note.sentence(),
            Self::RoomTemperature { celsius } => {
                format!("The spec gives no `room.temperature`: {celsius} °C taken.")
            }
            Self::NoFormer => {
                "The spec has no `former`: the winding is taken to stand free, bare on all four sides.".into()
            }
            Self::FormerMaterial { stated, conductivity_watt_per_m_kelvin, density_kg_per_m3, emissivity } => {
                let unknown = match stated {
                    Some(material) => format!("The former's material \"{material}\" is not in the list"),
                    None => "The spec gives no `former.material`".into(),
                };
                format!(
                    "{unknown}: {conductivity_watt_per_m_kelvin} W/(m K), {density_kg_per_m3} kg/m³ and emissivity \
                     {emissivity} taken."
                )
            }
            Self::FormerWall => format!(
                "The spec gives no `former.wall`: {} mm taken for floor and cheeks.",
                ASSUMED_WALL_M * 1e3
            ),
            Self::OneCheek => {
                "The one cheek is taken to be on the side away from the other coil.".into()
            }
            Self::Emissivity => {
                "The spec gives no `winding.surface_emissivity`: 0.9 taken, as of enamel or tape.".into()
            }
            Self::ThermalClass { celsius } => format!(
                "The spec gives no `winding.wire.thermal_class`: {celsius} °C taken, the lowest of enamelled wire."
            ),
            Self::NoSupply => {
                "The spec has no `supply`: a current is held whatever voltage it takes.".into()
            }
            Self::NoVoltageLimit => {
                "The spec has no `supply.voltage_limit`: the supply is taken to give whatever voltage a current needs."
                    .into()
            }
            Self::NoCurrentLimit => {
                "The spec has no `supply.current_limit`: no current is beyond the supply, and the table ends at twice \
                 the continuous current."
                    .into()
            }
            Self::Pack(pack) => {
                let [low, high] = pack.published_range_watt_per_m_kelvin;
                format!(
                    "Across the wires {:.2} W/(m K), Hashin and Shtrikman's bound for wires spread evenly in this \
                     section; published windings, looser ones among them, usually lie between {low} and {high} W/(m K). \
                     The insulation is judged, and the hot spot's upper value stated, with {} W/(m K); the surfaces \
                     hardly move with it.",
                    pack.conductivity_watt_per_m_kelvin,
                    (pack.worst_watt_per_m_kelvin() * 100.0).round() / 100.0
                )
            }
            Self::StillAir => {
                "Still air, coils free on all sides, nothing laid over them; the bulb, the stand, heat carried off by \
                 the leads and one coil's warm air rising past the other are left out."
                    .into()
            }
            Self::Ceiling => format!(
                "A steady state is sought up to a mean of {CEILING_CELSIUS} °C, where neither enamel nor solder is left."
            ),
        }
    }
}

/// The assumptions for a bench.
pub(super) fn assumptions(
    bench: &Bench,
    pair: &HeatedPair,
    temperatures: &TemperatureLimits,
) -> Vec<Assumption> {
    let mut assumed = Vec::new();
    if bench.room.as_ref().and_then(|room| room.temperature_celsius).is_none() {
        assumed.push(Assumption::RoomTemperature { celsius: pair.room_celsius });
    }
    assumed.extend(of_the_former(bench));
    if bench.winding.surface_emissivity.is_none() {
        assumed.push(Assumption::Emissivity);
    }
    if temperatures.class_assumed {
        assumed.push(Assumption::ThermalClass { celsius: temperatures.thermal_class_celsius });
    }
    assumed.extend(of_the_supply(bench));
    assumed.push(Assumption::Source(on_growth(bench)));
    assumed.push(Assumption::Pack(pair.coils[0].pack));
    assumed.extend([Assumption::StillAir, Assumption::Ceiling]);
    assumed
}

/// The assumptions about the former.
fn of_the_former(bench: &Bench) -> Vec<Assumption> {
    let Some(former) = &bench.former else { return vec![Assumption::NoFormer] };
    let mut assumed = Vec::new();
    let (material, known) = former_material(former.material.as_deref().unwrap_or_default());
    if !known {
        assumed.push(Assumption::FormerMaterial {
            stated: former.material.clone(),
            conductivity_watt_per_m_kelvin: material.conductivity_watt_per_m_kelvin,
            density_kg_per_m3: material.density_kg_per_m3,
            emissivity: material.emissivity,
        });
    }
    if former.wall_m.is_none() {
        assumed.push(Assumption::FormerWall);
    }
    if former.cheeks == Cheeks::One {
        assumed.push(Assumption::OneCheek);
    }
    assumed
}

/// The assumptions about the supply.
fn of_the_supply(bench: &Bench) -> Vec<Assumption> {
    let Some(supply) = &bench.supply else { return vec![Assumption::NoSupply] };
    let voltage = supply.voltage_limit_volt.is_none().then_some(Assumption::NoVoltageLimit);
    let current = supply.current_limit_ampere.is_none().then_some(Assumption::NoCurrentLimit);
    voltage.into_iter().chain(current).collect()
}
