//! What had to be assumed for want of a key in the spec, and what the model leaves out, in sentences.

use crate::pair::{Bench, Cheeks};
use crate::physics::heat::expansion::Expansion;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::materials::{ASSUMED_WALL_M, former_material};
use crate::physics::heat::pair::{CEILING_CELSIUS, HeatedPair};

/// What is taken of the supply where the spec does not state it.
fn supply_assumptions(bench: &Bench) -> Vec<String> {
    let Some(supply) = &bench.supply else {
        return vec!["The spec has no `supply`: a current is held whatever voltage it takes.".into()];
    };
    let mut said = Vec::new();
    if supply.voltage_limit_volt.is_none() {
        said.push(
            "The spec has no `supply.voltage_limit`: the supply is taken to give whatever voltage a current needs."
                .into(),
        );
    }
    if supply.current_limit_ampere.is_none() {
        said.push(
            "The spec has no `supply.current_limit`: no current is beyond the supply, and the table ends at twice the \
             continuous current."
                .into(),
        );
    }
    said
}

pub(super) fn assumptions(bench: &Bench, pair: &HeatedPair, temperatures: &TemperatureLimits) -> Vec<String> {
    let mut said = Vec::new();
    if bench.room.as_ref().and_then(|room| room.temperature_celsius).is_none() {
        said.push(format!("The spec gives no `room.temperature`: {} °C taken.", pair.room_celsius));
    }
    match &bench.former {
        None => said.push(
            "The spec has no `former`: the winding is taken to stand free, bare on all four sides.".into(),
        ),
        Some(former) => {
            let (material, known) = former_material(former.material.as_deref().unwrap_or_default());
            if !known {
                let unknown = match &former.material {
                    Some(material) => format!("The former's material \"{material}\" is not in the list"),
                    None => "The spec gives no `former.material`".into(),
                };
                said.push(format!(
                    "{unknown}: {} W/(m K), {} kg/m³ and emissivity {} taken.",
                    material.conductivity_watt_per_m_kelvin, material.density_kg_per_m3, material.emissivity
                ));
            }
            if former.wall_m.is_none() {
                said.push(format!(
                    "The spec gives no `former.wall`: {} mm taken for floor and cheeks.",
                    ASSUMED_WALL_M * 1e3
                ));
            }
            if former.cheeks == Cheeks::One {
                said.push("The one cheek is taken to be on the side away from the other coil.".into());
            }
        }
    }
    if bench.winding.surface_emissivity.is_none() {
        said.push("The spec gives no `winding.surface_emissivity`: 0.9 taken, as of enamel or tape.".into());
    }
    if temperatures.class_assumed {
        said.push(format!(
            "The spec gives no `winding.wire.thermal_class`: {} °C taken, the lowest of enamelled wire.",
            temperatures.thermal_class_celsius
        ));
    }
    said.extend(supply_assumptions(bench));
    said.push(Expansion::assumption(bench));
    let pack = &pair.coils[0].pack;
    let [low, high] = pack.published_range_watt_per_m_kelvin;
    said.push(format!(
        "Across the wires {:.2} W/(m K), Hashin and Shtrikman's bound for wires spread evenly in this section; published \
         windings, looser ones among them, usually lie between {low} and {high} W/(m K). The insulation is judged, \
         and the hot spot's upper value stated, with {} W/(m K); the surfaces hardly move with it.",
        pack.conductivity_watt_per_m_kelvin,
        (pack.worst_watt_per_m_kelvin() * 100.0).round() / 100.0
    ));
    said.push(
        "Still air, coils free on all sides, nothing laid over them; the bulb, the stand, heat carried off by the \
         leads and one coil's warm air rising past the other are left out."
            .into(),
    );
    said.push(format!(
        "A steady state is sought up to a mean of {CEILING_CELSIUS} °C, where neither enamel nor solder is left."
    ));
    said
}
