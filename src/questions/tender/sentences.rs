//! One phrase for each requirement, and for what the wishes leave open.

use super::requirement::{Open, Requirement, WantedWire};
use crate::constants::REFERENCE_TEMPERATURE_CELSIUS;
use crate::pair::{Connection, Regulation};
use crate::units::{Dimension, Side, brief, period, significant_to, unit};
use serde::{Serialize, Serializer};
use std::cmp::Ordering;

impl Requirement {
    /// Its subject.
    #[must_use]
    pub fn what(&self) -> &'static str {
        match self {
            Self::Field { .. } => "field",
            Self::Beam { .. } => "beam",
            Self::Uniformity { .. } => "uniformity",
            Self::Bulb { .. } => "room for the bulb",
            Self::Supply { .. } => "supply",
            Self::Time { .. } => "time",
            Self::Surface { .. } => "surface temperature",
            Self::Former { .. } => "former",
            Self::Delivery { .. } => "delivery",
            Self::Size { .. } => "size",
            Self::Connection { .. } => "connection",
            Self::Wire { .. } => "wire",
        }
    }

    /// What is wanted.
    #[must_use]
    pub fn wanted(&self) -> String {
        match self {
            Self::Field { at_least_tesla, stated } => field(*at_least_tesla, *stated),
            Self::Beam { gun_voltage_volt, radius_m } => beam(*gun_voltage_volt, *radius_m),
            Self::Uniformity { beam_deviation, gun_exit_m } => uniformity(*beam_deviation, *gun_exit_m),
            Self::Bulb { radius_m, clearance_m } => bulb(*radius_m, *clearance_m),
            Self::Supply { voltage_limit_volt, current_limit_ampere, regulation, lead_resistance_ohm } => {
                let volts = voltage_limit_volt.map(|limit| brief(limit, Dimension::Voltage));
                let amperes = current_limit_ampere.map(|limit| brief(limit, Dimension::Current));
                supply(&[volts, amperes], *regulation, *lead_resistance_ohm)
            }
            Self::Time { held_s } => {
                format!("the largest field is held for {}, from cold", brief(*held_s, Dimension::Time))
            }
            Self::Surface { limit_celsius, after_the_time, room_celsius } => {
                surface(*limit_celsius, *after_the_time, *room_celsius)
            }
            Self::Former { material, wall_m } => {
                let wall = wall_m.map(|wall| format!("walls of {}", length(wall)));
                let parts: Vec<String> = material.clone().into_iter().chain(wall).collect();
                parts.join(", ")
            }
            Self::Delivery { days } => format!("within {} of the order", period(*days)),
            Self::Size { mean_radius_m, width_m, depth_m, spacing_m } => {
                let of = |range_m| range(range_m, Dimension::Length);
                let spacing = spacing_m.map_or(String::new(), |range_m| format!("; spacing {}", of(range_m)));
                format!(
                    "mean radius {}; wound section {} wide and {} deep{spacing}",
                    of(*mean_radius_m),
                    of(*width_m),
                    of(*depth_m)
                )
            }
            Self::Connection { any_of } => any_of.iter().map(connection).collect::<Vec<_>>().join(" or "),
            Self::Wire { any_of } => any_of.iter().map(wire).collect::<Vec<_>>().join(", or "),
        }
    }
}

/// Serialises each requirement with the two phrases besides its own keys.
pub(super) fn with_phrases<S: Serializer>(
    list: &[Requirement],
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct WithPhrases<'a> {
        what: &'static str,
        wanted: String,
        #[serde(flatten)]
        one: &'a Requirement,
    }
    serializer.collect_seq(list.iter().map(|one| WithPhrases { what: one.what(), wanted: one.wanted(), one }))
}

/// Serialises what is open as its phrases.
pub(super) fn as_phrases<S: Serializer>(
    list: &[Open],
    serializer: S,
) -> std::result::Result<S::Ok, S::Error> {
    serializer.collect_seq(list.iter().map(|open| open.phrase()))
}

impl Open {
    /// Its phrase in a list.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::LargestField => "the largest field",
            Self::Uniformity => "how uniform the field must be",
            Self::FreeRoom => "the room that must stay free",
            Self::SupplyVoltage => "the supply's voltage",
            Self::SupplyCurrent => "the supply's current",
            Self::HoldingTime => "for how long the largest field is held",
            Self::SurfaceTemperature => "how hot a surface may get",
        }
    }
}

fn length(si: f64) -> String {
    brief(si, Dimension::Length)
}

fn range([low, high]: [f64; 2], dimension: Dimension) -> String {
    format!("{} to {}", brief(low, dimension), brief(high, dimension))
}

fn field(at_least_tesla: f64, stated: bool) -> String {
    if stated {
        return format!("at least {} at the centre", brief(at_least_tesla, Dimension::FluxDensity));
    }
    format!(
        "at least {} at the centre, which the highest gun voltage at the smallest beam radius takes",
        significant_to(at_least_tesla, unit::MILLITESLA, 4, Side::Up)
    )
}

fn beam(gun_voltage_volt: Option<[f64; 2]>, radius_m: Option<[f64; 2]>) -> String {
    let electrons =
        gun_voltage_volt.map(|range_volt| format!("electrons of {}", range(range_volt, Dimension::Voltage)));
    let circles = radius_m.map(|range_m| {
        let radius = range(range_m, Dimension::Length);
        format!("circles of {radius} radius in the plane midway between the coils")
    });
    match (electrons, circles) {
        (Some(electrons), Some(circles)) => format!("{electrons}, bent into {circles}"),
        (electrons, circles) => electrons.or(circles).unwrap_or_default(),
    }
}

fn uniformity(beam_deviation: f64, gun_exit_m: Option<[f64; 3]>) -> String {
    let deviation = brief(beam_deviation, Dimension::Fraction);
    let gun = gun_exit_m.map_or(String::new(), |at| {
        let [x, y, z] = at.map(length);
        format!("; the beam leaves the gun at {x}, {y}, {z} from the centre (x, y, and z along the axis)")
    });
    format!(
        "the axial field differs from that at the centre by at most {deviation} anywhere on the beam's circles{gun}"
    )
}

fn bulb(radius_m: f64, clearance_m: f64) -> String {
    let free = match clearance_m {
        0.0 => String::new(),
        clearance => format!(", and {} of free space around it", length(clearance)),
    };
    format!(
        "a bulb of {} radius midway between the coils{free}; nothing of coil or former stands in it",
        length(radius_m)
    )
}

fn supply(limits: &[Option<String>], regulation: Regulation, lead_resistance_ohm: Option<f64>) -> String {
    let limits: Vec<String> = limits.iter().flatten().map(|limit| format!("at most {limit}")).collect();
    let holds = match regulation {
        Regulation::Current => "it holds its current",
        Regulation::Voltage => "it holds its voltage",
    };
    let leads = lead_resistance_ohm
        .map_or(String::new(), |ohm| format!("; the leads take {} of it", brief(ohm, Dimension::Resistance)));
    format!("the buyer's gives {} ({holds}), winding warm{leads}", limits.join(" and "))
}

fn surface(limit_celsius: f64, after_the_time: bool, room_celsius: Option<f64>) -> String {
    let limit = brief(limit_celsius, Dimension::Temperature);
    let after = match after_the_time {
        true => "after this time",
        false => "however long the largest field is held",
    };
    let room = room_celsius.map_or(String::new(), |room| {
        let asked = match room.total_cmp(&REFERENCE_TEMPERATURE_CELSIUS) {
            Ordering::Less => " (the quote form asks for it in a warmer room)",
            Ordering::Equal => "",
            Ordering::Greater => " (the quote form asks for it in a cooler room)",
        };
        format!(", in a room at {}{asked}", brief(room, Dimension::Temperature))
    });
    format!("no surface that can be touched is hotter than {limit} {after}{room}")
}

fn connection(connection: &Connection) -> &'static str {
    match connection {
        Connection::Series => "in series",
        Connection::Parallel => "in parallel",
    }
}

fn wire(wire: &WantedWire) -> String {
    match &wire.name {
        Some(name) => name.clone(),
        None => format!(
            "{} bare, {} over the enamel",
            length(wire.bare_diameter_m),
            length(wire.overall_diameter_m)
        ),
    }
}
