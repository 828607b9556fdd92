//! What the wishes require of a pair, and what they leave open.

use crate::files::spec::{Search, SpacingChoice, Wanted};
use crate::pair::{Connection, Regulation};
use crate::questions::size as sizing;
use serde::Serialize;

/// One requirement on the pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Requirement {
    /// The largest field at the centre.
    Field {
        /// At least this, T.
        at_least_tesla: f64,
        /// The wishes state it; else the beam's highest voltage at its smallest radius takes it.
        stated: bool,
    },
    /// The electrons that the field must bend.
    Beam {
        /// Lowest and highest voltage of the gun, V.
        gun_voltage_volt: Option<[f64; 2]>,
        /// Smallest and largest radius, m.
        radius_m: Option<[f64; 2]>,
    },
    /// How uniform the field must be.
    Uniformity {
        /// Largest deviation of the axial field from that at the centre, as a fraction.
        beam_deviation: f64,
        /// Where the beam leaves the gun: x, y, z, m.
        gun_exit_m: Option<[f64; 3]>,
    },
    /// The room that must stay free.
    Bulb {
        /// Radius of the bulb, m.
        radius_m: f64,
        /// Free space around it, m.
        clearance_m: f64,
    },
    /// What the buyer's supply gives.
    Supply {
        /// Highest voltage, V.
        voltage_limit_volt: Option<f64>,
        /// Highest current, A.
        current_limit_ampere: Option<f64>,
        /// What it holds.
        regulation: Regulation,
        /// Resistance of the leads, ohm.
        lead_resistance_ohm: Option<f64>,
    },
    /// How long the largest field is held, from cold.
    Time {
        /// That time, s.
        held_s: f64,
    },
    /// How hot a surface may get.
    Surface {
        /// The limit, °C.
        limit_celsius: f64,
        /// Is it a limit at the end of the stated time? Else it holds however long the field is held.
        after_the_time: bool,
        /// Temperature of the room, °C.
        room_celsius: Option<f64>,
    },
    /// What the former is made of.
    Former {
        /// Its material.
        material: Option<String>,
        /// Thickness of its walls, m.
        wall_m: Option<f64>,
    },
    /// The time of delivery.
    Delivery {
        /// Days after the order, at most.
        days: f64,
    },
    /// Dimensions of the coils.
    Size {
        /// Smallest and largest mean radius, m.
        mean_radius_m: [f64; 2],
        /// Smallest and largest axial width of the wound section, m.
        width_m: [f64; 2],
        /// Smallest and largest radial depth of the wound section, m.
        depth_m: [f64; 2],
        /// Smallest and largest spacing, m, where the wishes state a range.
        spacing_m: Option<[f64; 2]>,
    },
    /// How the coils are connected.
    Connection {
        /// Any of these.
        any_of: Vec<Connection>,
    },
    /// The wire.
    Wire {
        /// Any of these.
        any_of: Vec<WantedWire>,
    },
}

/// A wire that may be used.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WantedWire {
    /// Its name in a table.
    pub name: Option<String>,
    /// Diameter of the bare conductor, m.
    pub bare_diameter_m: f64,
    /// Diameter over the enamel, m.
    pub overall_diameter_m: f64,
}

/// Something that the wishes leave open and a supplier will ask.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Open {
    /// The largest field.
    LargestField,
    /// How uniform the field must be.
    Uniformity,
    /// The room that must stay free.
    FreeRoom,
    /// The supply's voltage.
    SupplyVoltage,
    /// The supply's current.
    SupplyCurrent,
    /// For how long the largest field is held.
    HoldingTime,
    /// How hot a surface may get.
    SurfaceTemperature,
}

/// The requirements, in the order of the page.
pub(super) fn requirements(wanted: &Wanted) -> Vec<Requirement> {
    let search = wanted.search.as_ref();
    [
        field(wanted),
        beam(wanted),
        uniformity(wanted),
        bulb(wanted),
        supply(wanted),
        wanted.time_at_largest_current_s.map(|held_s| Requirement::Time { held_s }),
        surface(wanted),
        former(wanted),
        delivery(wanted),
        search.map(size),
        search.map(|search| Requirement::Connection { any_of: search.connections.clone() }),
        search.and_then(wire),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn field(wanted: &Wanted) -> Option<Requirement> {
    let (largest, _) = sizing::fields_needed(wanted).ok()?;
    let stated = wanted.largest_field_tesla;
    Some(Requirement::Field { at_least_tesla: stated.unwrap_or(largest), stated: stated.is_some() })
}

fn beam(wanted: &Wanted) -> Option<Requirement> {
    let tube = wanted.tube.as_ref()?;
    let (gun_voltage_volt, radius_m) = (tube.gun_voltage_volt, tube.beam_radius_m);
    (gun_voltage_volt.is_some() || radius_m.is_some())
        .then_some(Requirement::Beam { gun_voltage_volt, radius_m })
}

fn uniformity(wanted: &Wanted) -> Option<Requirement> {
    let gun_exit = wanted.tube.as_ref().and_then(|tube| tube.gun_exit_m);
    Some(Requirement::Uniformity {
        beam_deviation: wanted.beam_deviation?,
        gun_exit_m: gun_exit.map(|at| [at.x, at.y, at.z]),
    })
}

fn bulb(wanted: &Wanted) -> Option<Requirement> {
    let bulb = wanted.bulb().ok()?;
    Some(Requirement::Bulb { radius_m: bulb.radius_m, clearance_m: wanted.clearance_m })
}

fn supply(wanted: &Wanted) -> Option<Requirement> {
    let supply = wanted.supply.as_ref()?;
    let (voltage_limit_volt, current_limit_ampere) = (supply.voltage_limit_volt, supply.current_limit_ampere);
    (voltage_limit_volt.is_some() || current_limit_ampere.is_some()).then_some(Requirement::Supply {
        voltage_limit_volt,
        current_limit_ampere,
        regulation: supply.regulation,
        lead_resistance_ohm: wanted.lead_resistance_ohm,
    })
}

fn surface(wanted: &Wanted) -> Option<Requirement> {
    Some(Requirement::Surface {
        limit_celsius: wanted.surface_temperature_limit_celsius?,
        after_the_time: wanted.time_at_largest_current_s.is_some(),
        room_celsius: wanted.room.as_ref().and_then(|room| room.temperature_celsius),
    })
}

fn former(wanted: &Wanted) -> Option<Requirement> {
    let former = wanted.former.as_ref()?;
    let (material, wall_m) = (former.material.clone(), former.wall_m);
    (material.is_some() || wall_m.is_some()).then_some(Requirement::Former { material, wall_m })
}

fn delivery(wanted: &Wanted) -> Option<Requirement> {
    Some(Requirement::Delivery { days: wanted.purchase.as_ref()?.delivery_days? })
}

fn size(search: &Search) -> Requirement {
    Requirement::Size {
        mean_radius_m: search.mean_radius_m,
        width_m: search.width_m,
        depth_m: search.depth_m,
        spacing_m: match search.spacing {
            SpacingChoice::Range(range_m) => Some(range_m),
            _ => None,
        },
    }
}

fn wire(search: &Search) -> Option<Requirement> {
    let any_of = search.wires.as_ref()?.iter().map(|wire| WantedWire {
        name: wire.name.clone(),
        bare_diameter_m: wire.bare_diameter_m,
        overall_diameter_m: wire.overall_diameter_m,
    });
    Some(Requirement::Wire { any_of: any_of.collect() })
}

/// What the wishes leave open.
pub(super) fn open(wanted: &Wanted) -> Vec<Open> {
    let supply = wanted.supply.as_ref();
    [
        (field(wanted).is_none(), Open::LargestField),
        (wanted.beam_deviation.is_none(), Open::Uniformity),
        (wanted.bulb().is_err(), Open::FreeRoom),
        (supply.and_then(|it| it.voltage_limit_volt).is_none(), Open::SupplyVoltage),
        (supply.and_then(|it| it.current_limit_ampere).is_none(), Open::SupplyCurrent),
        (wanted.time_at_largest_current_s.is_none(), Open::HoldingTime),
        (wanted.surface_temperature_limit_celsius.is_none(), Open::SurfaceTemperature),
    ]
    .into_iter()
    .filter_map(|(is_missing, open)| is_missing.then_some(open))
    .collect()
}
