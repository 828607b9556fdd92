//! The order list: wire on reels, leads, terminals, sheet, bolts and insulation.

use super::alternatives::{Alternative, alternatives};
use super::assembly::AssemblyPlan;
use super::former::{FormerPlan, THIN_SHEET_M};
use super::item::{Item, LeadCurrent, OrderItem, OrderUnit, SheetMaterial};
use super::request::Request;
use super::sentences::with_phrases;
use super::winding::WindingPlan;
use super::wire_order::WireOrder;
use crate::constants::Conductor;
use crate::pair::{Bench, Connection, Filling};
use crate::physics::electrical::{inductances, stored_energy_joule};
use crate::physics::field::PreparedPair;
use crate::physics::safety::SafetyFigures;
use serde::Serialize;
use std::f64::consts::{FRAC_PI_4, PI};

/// The order for a pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct OrderList {
    /// The wire.
    pub wire: WireOrder,
    /// What the next stock sizes of wire would change; the design comes first.
    pub alternatives: Vec<Alternative>,
    /// All lines of the order, the wire included.
    #[serde(serialize_with = "with_phrases")]
    pub items: Vec<OrderItem>,
}

/// Cross-sections of flexible leads.
const LEADS_MM2: [f64; 11] = [0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0];
/// Cross-section of the leads where the current is not known.
const SMALLEST_LEAD_MM2: f64 = 1.5;
/// Current density that flexible leads on a bench carry without getting noticeably warm (common practice, no source).
const LEAD_AMPERE_PER_MM2: f64 = 4.0;
/// Length of a flexible lead from the pair to the supply (common practice, no source).
const LEAD_M: f64 = 1.5;
/// Energy that the clamp must take, divided by that of the field (common practice, no source).
const CLAMP_MARGIN: f64 = 2.0;
/// Length of sleeve over the soldered ends of both coils (common practice, no source).
const SLEEVE_M: f64 = 0.5;
/// Gap between parts on a sheet, and margin at its edge (common practice, no source).
pub(super) const PART_GAP_M: f64 = 8e-3;

impl OrderList {
    /// Makes the order for a pair.
    pub(super) fn of(
        pair: &PreparedPair,
        request: &Request,
        winding: &WindingPlan,
        former: &FormerPlan,
        assembly: &AssemblyPlan,
        safety: &SafetyFigures,
    ) -> Self {
        let bench = pair.bench();
        let wire =
            WireOrder::of(bench, request, winding.wire_length_m).joined_after(request, &winding.layers);
        let mut items = vec![of_wire(&wire, bench)];
        items.extend(electrical_items(pair, safety, former));
        items.extend(sheets(former));
        items.extend(fasteners(former, assembly));
        items.extend(terminal_screws(former));
        items.extend(insulation_of_metal(request, former));
        items.extend(foil(request, winding, former));
        items.extend(varnish(bench));
        Self { wire, alternatives: alternatives(bench, request, winding.celsius), items }
    }
}

/// The wire as a line of the order.
fn of_wire(order: &WireOrder, bench: &Bench) -> OrderItem {
    let wire = &bench.winding.wire;
    let what = Item::Wire {
        conductor: wire.conductor,
        name: wire.name.clone(),
        bare_diameter_m: wire.bare_diameter_m,
        overall_diameter_m: wire.overall_diameter_m,
        thermal_class_celsius: wire.thermal_class_celsius,
        reels: order.reels,
        joined: order.joined.as_ref().map(|joined| joined.reels),
    };
    let kg = order
        .reels
        .map_or(2.0 * order.enamelled_needed_per_coil_kg, |reels| f64::from(reels.count) * reels.each_kg);
    OrderItem { what, quantity: kg, unit: OrderUnit::Kilogram }
}

fn pieces(what: Item, quantity: f64) -> OrderItem {
    OrderItem { what, quantity, unit: OrderUnit::Piece }
}

/// Leads, terminals and the part against the inductive kick.
fn electrical_items(pair: &PreparedPair, safety: &SafetyFigures, former: &FormerPlan) -> Vec<OrderItem> {
    let bench = pair.bench();
    let bridges = if bench.connection == Connection::Series { 1.0 } else { 2.0 };
    let ends = match bench.winding.wire.conductor {
        Conductor::Copper => OrderItem { what: Item::Sleeve, quantity: SLEEVE_M, unit: OrderUnit::Metre },
        Conductor::Aluminium => pieces(Item::Crimps, 4.0),
    };
    vec![
        lead(bench, safety),
        pieces(Item::Sockets { hole_m: former.terminals.map(|plate| plate.socket_hole_m) }, 4.0),
        pieces(Item::Bridge, bridges),
        ends,
        pieces(clamp(pair, safety), 1.0),
    ]
}

/// The largest current that the leads and the clamp must stand, if it is known, and what it is.
fn largest_ampere(bench: &Bench, safety: &SafetyFigures) -> (Option<f64>, LeadCurrent) {
    let stated = bench.supply.and_then(|supply| supply.current_limit_ampere);
    match (stated, safety.reliable_continuous_current_ampere) {
        (Some(ampere), _) => (Some(ampere), LeadCurrent::OfSupply),
        (None, Some(ampere)) => (Some(ampere), LeadCurrent::Continuous),
        (None, None) => (None, LeadCurrent::NotKnown),
    }
}

fn clamp(pair: &PreparedPair, safety: &SafetyFigures) -> Item {
    let bench = pair.bench();
    let stored = |ampere| stored_energy_joule(bench, &inductances(pair), ampere);
    Item::Clamp {
        supply_volt: bench.supply.and_then(|supply| supply.voltage_limit_volt),
        energy_joule: largest_ampere(bench, safety).0.map(|ampere| CLAMP_MARGIN * stored(ampere)),
    }
}

fn lead(bench: &Bench, safety: &SafetyFigures) -> OrderItem {
    let (ampere, current) = largest_ampere(bench, safety);
    let largest = LEADS_MM2[LEADS_MM2.len() - 1];
    let area_mm2 = ampere.map_or(SMALLEST_LEAD_MM2, |ampere| {
        let wanted = ampere / LEAD_AMPERE_PER_MM2;
        LEADS_MM2.iter().copied().find(|area| *area >= wanted).unwrap_or(largest)
    });
    let what =
        Item::Lead { area_m2: 1e-6 * area_mm2, current, most_ampere_per_m2: 1e6 * LEAD_AMPERE_PER_MM2 };
    OrderItem { what, quantity: 2.0 * LEAD_M, unit: OrderUnit::Metre }
}

/// The sheets from which the parts of both formers are cut, one item for each material and thickness.
fn sheets(former: &FormerPlan) -> Vec<OrderItem> {
    let mut kinds: Vec<(f64, bool)> =
        former.parts.iter().map(|part| (part.thickness_m, part.insulates)).collect();
    kinds.dedup();
    let sheet = |(thickness_m, insulates): (f64, bool)| {
        let parts =
            former.parts.iter().filter(|part| (part.thickness_m, part.insulates) == (thickness_m, insulates));
        let with_gap = |side_m: f64| side_m + PART_GAP_M;
        let area_m2: f64 = parts
            .map(|part| {
                f64::from(2 * part.per_former) * part.size_m().map(with_gap).into_iter().product::<f64>()
            })
            .sum();
        let material = if insulates { SheetMaterial::Insulator } else { material(former, thickness_m) };
        let what = Item::Sheet { material, thickness_m };
        OrderItem { what, quantity: area_m2, unit: OrderUnit::SquareMetre }
    };
    kinds.into_iter().map(sheet).collect()
}

/// The material of a sheet of this thickness.
fn material(former: &FormerPlan, thickness_m: f64) -> SheetMaterial {
    match &former.material {
        _ if thickness_m < THIN_SHEET_M => SheetMaterial::Card,
        Some(material) => SheetMaterial::OfFormer(material.clone()),
        None => SheetMaterial::NotStated,
    }
}

/// Screws that hold the plates with the sockets on the outer flanges.
fn terminal_screws(former: &FormerPlan) -> Option<OrderItem> {
    /// Threads that nut and washer take.
    const NUT_OVER_THREAD: f64 = 1.5;
    let plate = former.terminals?;
    let least_m = plate.thickness_m + former.wall_m + NUT_OVER_THREAD * plate.thread_m;
    let length_m = (least_m * 200.0).ceil() / 200.0;
    Some(pieces(Item::Screw { thread_m: plate.thread_m, length_m }, 4.0))
}

/// Bolts, nuts, spacers and pins.
fn fasteners(former: &FormerPlan, assembly: &AssemblyPlan) -> Vec<OrderItem> {
    let thread_m = former.bolts.thread_m;
    let spacers = f64::from(assembly.spacers);
    let spacer = (assembly.spacer_length_m > 0.0).then_some(Item::Spacer {
        diameter_m: assembly.spacer_diameter_m,
        bore_diameter_m: former.bolts.holes.diameter_m,
        length_m: assembly.spacer_length_m,
    });
    let dowels = former.dowels.map(|dowels| {
        // Whole millimetres, so that no pin stands out of the former.
        let length_m = 1e-3 * (1e3 * former.overall_width_m + 1e-6).floor();
        pieces(Item::Dowel { diameter_m: dowels.diameter_m, length_m }, f64::from(2 * dowels.count))
    });
    [
        Some(pieces(Item::Bolt { thread_m, length_m: assembly.bolt_length_m }, spacers)),
        Some(pieces(Item::Nut { thread_m }, 2.0 * spacers)),
        spacer.map(|spacer| pieces(spacer, spacers)),
        dowels,
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The foil between the layers of both coils: what was asked for, or what the winding sheet advises for a coil that is
/// else too small. `None` if the layers lie on each other.
fn foil(request: &Request, winding: &WindingPlan, former: &FormerPlan) -> Option<OrderItem> {
    let width_m = former.clear_width_m();
    let is_filler = request.interlayer_m == 0.0;
    let thickness_m = if is_filler { winding.filler_m } else { request.interlayer_m };
    let between = &winding.layers[..winding.layers.len().saturating_sub(1)];
    let area_m2: f64 = between.iter().map(|row| PI * row.outer_diameter_m.nominal * width_m).sum();
    (thickness_m > 0.0).then_some(OrderItem {
        what: Item::Foil { thickness_m, width_m, is_filler },
        quantity: 2.0 * area_m2 * (1.0 + request.waste_fraction),
        unit: OrderUnit::SquareMetre,
    })
}

fn varnish(bench: &Bench) -> Option<OrderItem> {
    (bench.winding.filling == Filling::Varnish).then(|| pieces(Item::Varnish, 1.0))
}

/// What keeps a former that conducts from being a shorted turn, and the winding off it.
fn insulation_of_metal(request: &Request, former: &FormerPlan) -> Vec<OrderItem> {
    let Some(slit) = former.slit else { return Vec::new() };
    let core_m = former.core_diameter_m.nominal;
    let rim_m = core_m + 2.0 * former.channel_depth_m;
    let of_flanges_m2 = 2.0 * FRAC_PI_4 * (rim_m.powi(2) - core_m.powi(2));
    let of_floor_m2 = PI * core_m * former.channel_width_m;
    // Whole millimetres, so that both may be trimmed.
    let up_to_mm = |length_m: f64| 1e-3 * (1e3 * length_m).ceil();
    let strip = Item::GapStrip {
        thickness_m: slit.width_m,
        depth_m: up_to_mm(0.5 * (former.flange_diameter_m - former.bore_diameter_m)),
        width_m: up_to_mm(former.overall_width_m),
    };
    vec![
        OrderItem {
            what: Item::Lining { thickness_m: former.lining_m },
            quantity: 2.0 * (of_floor_m2 + of_flanges_m2) * (1.0 + request.waste_fraction),
            unit: OrderUnit::SquareMetre,
        },
        pieces(strip, 2.0),
    ]
}
