//! What to send to suppliers: a request for quotation from the wishes, and a form for the answer.
//!
//! Every figure in the request comes from the wishes. Only the largest field may follow from the tube that they state.

#[cfg(feature = "paper")]
pub mod files;
#[cfg(feature = "paper")]
pub mod words;

use crate::constants::REFERENCE_TEMPERATURE_CELSIUS;
use crate::files::spec::{Search, SpacingChoice, Wanted};
use crate::numeric::calendar::Day;
use crate::pair::Regulation;
use crate::questions::size as sizing;
use crate::units::{Dimension, Side, brief, period, significant_to, unit};
use serde::Serialize;
use std::cmp::Ordering;

/// A request for quotation.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Tender {
    /// Program name and version.
    pub program: String,
    /// Title of the wishes.
    pub wishes_title: String,
    /// First 12 hex digits of the SHA-256 of their file.
    pub wishes_digest: String,
    /// The date to print, if any.
    pub date: Option<Day>,
    /// The requirements on the pair.
    pub requirements: Vec<Requirement>,
    /// What the wishes leave open and a supplier will ask.
    pub open: Vec<&'static str>,
}

/// One requirement on the pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Requirement {
    /// Its subject.
    pub what: &'static str,
    /// What is wanted.
    pub wanted: String,
}

/// Makes the request.
pub fn tender(wanted: &Wanted, date: Option<Day>) -> Tender {
    let mut requirements: Vec<Requirement> = [
        ("field", field(wanted)),
        ("beam", beam(wanted)),
        ("uniformity", uniformity(wanted)),
        ("room for the bulb", bulb(wanted)),
        ("supply", supply(wanted)),
        ("time", time(wanted)),
        ("surface temperature", surface(wanted)),
        ("former", former(wanted)),
        ("delivery", delivery(wanted)),
    ]
    .into_iter()
    .filter_map(|(what, wanted)| Some(Requirement { what, wanted: wanted? }))
    .collect();
    if let Some(search) = &wanted.search {
        requirements.push(Requirement { what: "size", wanted: size(search) });
        requirements.push(Requirement { what: "connection", wanted: connection(search) });
        if let Some(wires) = &search.wires {
            let names: Vec<String> = wires.iter().map(wire).collect();
            requirements.push(Requirement { what: "wire", wanted: names.join(", or ") });
        }
    }
    Tender {
        program: concat!("coilwright ", env!("CARGO_PKG_VERSION")).into(),
        wishes_title: wanted.title.clone(),
        wishes_digest: wanted.digest.clone(),
        date,
        open: open(wanted),
        requirements,
    }
}

fn length(si: f64) -> String {
    brief(si, Dimension::Length)
}

fn range([low, high]: [f64; 2], dimension: Dimension) -> String {
    format!("{} to {}", brief(low, dimension), brief(high, dimension))
}

fn field(wanted: &Wanted) -> Option<String> {
    let (largest, _) = sizing::fields_needed(wanted).ok()?;
    Some(match wanted.largest_field_tesla {
        Some(stated) => format!("at least {} at the centre", brief(stated, Dimension::FluxDensity)),
        None => format!(
            "at least {} at the centre, which the highest gun voltage at the smallest beam radius takes",
            significant_to(largest, unit::MILLITESLA, 4, Side::Up)
        ),
    })
}

fn beam(wanted: &Wanted) -> Option<String> {
    let tube = wanted.tube.as_ref()?;
    let voltages = tube
        .gun_voltage_volt
        .map(|range_volt| format!("electrons of {}", range(range_volt, Dimension::Voltage)));
    let circles = tube.beam_radius_m.map(|range_m| {
        format!(
            "circles of {} radius in the plane midway between the coils",
            range(range_m, Dimension::Length)
        )
    });
    match (voltages, circles) {
        (Some(voltages), Some(circles)) => Some(format!("{voltages}, bent into {circles}")),
        (voltages, circles) => voltages.or(circles),
    }
}

fn uniformity(wanted: &Wanted) -> Option<String> {
    let deviation = brief(wanted.beam_deviation?, Dimension::Fraction);
    let gun = wanted.tube.as_ref().and_then(|tube| tube.gun_exit_m).map_or(String::new(), |at| {
        let [x, y, z] = [at.x, at.y, at.z].map(length);
        format!("; the beam leaves the gun at {x}, {y}, {z} from the centre (x, y, and z along the axis)")
    });
    Some(format!(
        "the axial field differs from that at the centre by at most {deviation} anywhere on the beam's circles{gun}"
    ))
}

fn bulb(wanted: &Wanted) -> Option<String> {
    let bulb = wanted.bulb().ok()?;
    let free = match wanted.clearance_m {
        0.0 => String::new(),
        clearance => format!(", and {} of free space around it", length(clearance)),
    };
    Some(format!(
        "a bulb of {} radius midway between the coils{free}; nothing of coil or former stands in it",
        length(bulb.radius_m)
    ))
}

fn supply(wanted: &Wanted) -> Option<String> {
    let supply = wanted.supply.as_ref()?;
    let volts =
        supply.voltage_limit_volt.map(|limit| format!("at most {}", brief(limit, Dimension::Voltage)));
    let amperes =
        supply.current_limit_ampere.map(|limit| format!("at most {}", brief(limit, Dimension::Current)));
    let limits: Vec<String> = volts.into_iter().chain(amperes).collect();
    if limits.is_empty() {
        return None;
    }
    let holds = match supply.regulation {
        Regulation::Current => "it holds its current",
        Regulation::Voltage => "it holds its voltage",
    };
    let leads = wanted
        .lead_resistance_ohm
        .map_or(String::new(), |ohm| format!("; the leads take {} of it", brief(ohm, Dimension::Resistance)));
    Some(format!("the buyer's gives {} ({holds}), winding warm{leads}", limits.join(" and ")))
}

fn time(wanted: &Wanted) -> Option<String> {
    let time = brief(wanted.time_at_largest_current_s?, Dimension::Time);
    Some(format!("the largest field is held for {time}, from cold"))
}

fn surface(wanted: &Wanted) -> Option<String> {
    let limit = brief(wanted.surface_temperature_limit_celsius?, Dimension::Temperature);
    let after = match wanted.time_at_largest_current_s {
        Some(_) => "after this time",
        None => "however long the largest field is held",
    };
    let room = wanted.room.as_ref().and_then(|room| room.temperature_celsius).map_or(String::new(), |room| {
        let asked = match room.total_cmp(&REFERENCE_TEMPERATURE_CELSIUS) {
            Ordering::Less => " (the quote form asks for it in a warmer room)",
            Ordering::Equal => "",
            Ordering::Greater => " (the quote form asks for it in a cooler room)",
        };
        format!(", in a room at {}{asked}", brief(room, Dimension::Temperature))
    });
    Some(format!("no surface that can be touched is hotter than {limit} {after}{room}"))
}

fn former(wanted: &Wanted) -> Option<String> {
    let former = wanted.former.as_ref()?;
    let material = former.material.clone();
    let wall = former.wall_m.map(|wall| format!("walls of {}", length(wall)));
    let parts: Vec<String> = material.into_iter().chain(wall).collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

fn delivery(wanted: &Wanted) -> Option<String> {
    let days = wanted.purchase.as_ref()?.delivery_days?;
    Some(format!("within {} of the order", period(days)))
}

fn size(search: &Search) -> String {
    let of = |range_m| range(range_m, Dimension::Length);
    let spacing = match search.spacing {
        SpacingChoice::Range(range_m) => format!("; spacing {}", of(range_m)),
        _ => String::new(),
    };
    format!(
        "mean radius {}; wound section {} wide and {} deep{spacing}",
        of(search.mean_radius_m),
        of(search.width_m),
        of(search.depth_m)
    )
}

fn connection(search: &Search) -> String {
    let name = |connection: &crate::pair::Connection| match connection {
        crate::pair::Connection::Series => "in series",
        crate::pair::Connection::Parallel => "in parallel",
    };
    search.connections.iter().map(name).collect::<Vec<_>>().join(" or ")
}

fn wire(wire: &crate::pair::Wire) -> String {
    match &wire.name {
        Some(name) => name.clone(),
        None => format!(
            "{} bare, {} over the enamel",
            length(wire.bare_diameter_m),
            length(wire.overall_diameter_m)
        ),
    }
}

/// What the wishes leave open.
fn open(wanted: &Wanted) -> Vec<&'static str> {
    let missing = |is_missing: bool, what| is_missing.then_some(what);
    let supply = wanted.supply.as_ref();
    [
        missing(field(wanted).is_none(), "the largest field"),
        missing(wanted.beam_deviation.is_none(), "how uniform the field must be"),
        missing(wanted.bulb().is_err(), "the room that must stay free"),
        missing(supply.and_then(|it| it.voltage_limit_volt).is_none(), "the supply's voltage"),
        missing(supply.and_then(|it| it.current_limit_ampere).is_none(), "the supply's current"),
        missing(wanted.time_at_largest_current_s.is_none(), "for how long the largest field is held"),
        missing(wanted.surface_temperature_limit_celsius.is_none(), "how hot a surface may get"),
    ]
    .into_iter()
    .flatten()
    .collect()
}
