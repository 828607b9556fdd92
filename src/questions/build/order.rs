//! The order list: wire on reels, leads, terminals, sheet, bolts and insulation.

use super::alternatives::{Alternative, alternatives};
use super::assembly::AssemblyPlan;
use super::former::{FormerPlan, THIN_SHEET_M};
use super::request::Request;
use super::winding::WindingPlan;
use crate::constants::Conductor;
use crate::pair::Bench;
use crate::physics::safety::SafetyFigures;
use serde::Serialize;
use std::f64::consts::FRAC_PI_4;

/// The order for a pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct OrderList {
    /// The wire.
    pub wire: WireOrder,
    /// What the next stock sizes of wire would change; the design comes first.
    pub alternatives: Vec<Alternative>,
    /// All lines of the order, the wire included.
    pub items: Vec<OrderItem>,
}

/// The wire for a pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WireOrder {
    /// Length wound on one coil.
    pub wound_per_coil_m: f64,
    /// Length left free at the two ends of one coil.
    pub free_ends_per_coil_m: f64,
    /// Fraction added for waste.
    pub waste_fraction: f64,
    /// Length needed for one coil: wound, free ends and waste.
    pub needed_per_coil_m: f64,
    /// Mass of the bare conductor per metre.
    pub bare_kg_per_m: f64,
    /// Mass of the enamelled wire per metre.
    pub enamelled_kg_per_m: f64,
    /// Mass of bare conductor wound on one coil.
    pub bare_wound_per_coil_kg: f64,
    /// Mass of enamelled wire needed for one coil.
    pub enamelled_needed_per_coil_kg: f64,
    /// The reels to buy. `None` if no size holds the wire of one coil in one piece.
    pub reels: Option<Reels>,
}

/// Reels of one size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Reels {
    /// Number of reels.
    pub count: u32,
    /// Mass of enamelled wire on each reel.
    pub each_kg: f64,
    /// Mass of wire left over once both coils are wound.
    pub left_kg: f64,
}

/// One line of the order.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct OrderItem {
    /// Name of the item.
    pub item: String,
    /// Quantity for the pair.
    pub quantity: f64,
    /// Unit of the quantity: `m`, `kg`, `m2` or `pcs`.
    pub unit: &'static str,
    /// What the item is for, or how the quantity was computed.
    pub remark: String,
}

/// Density of enamel; polyurethane to polyesterimide have 1200 to 1400 kg/m³ (common practice, no source).
const ENAMEL_KG_PER_M3: f64 = 1350.0;
/// Cross-sections of flexible leads.
const LEADS_MM2: [f64; 11] = [0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0];
/// Current density that flexible leads on a bench carry without getting noticeably warm (common practice, no source).
const LEAD_AMPERE_PER_MM2: f64 = 4.0;
/// Length of a flexible lead from the pair to the supply (common practice, no source).
const LEAD_M: f64 = 1.5;
/// Gap between parts on a sheet, and margin at its edge (common practice, no source).
pub(super) const PART_GAP_M: f64 = 8e-3;

impl OrderList {
    /// Makes the order for a pair.
    pub(super) fn of(
        bench: &Bench,
        request: &Request,
        winding: &WindingPlan,
        former: &FormerPlan,
        assembly: &AssemblyPlan,
        safety: &SafetyFigures,
    ) -> Self {
        let wire = WireOrder::of(bench, request, winding);
        let mut items = wire.items(bench);
        items.extend(electrical_items(bench, safety));
        items.extend(workshop_items(bench, request, winding, former, assembly));
        Self { wire, alternatives: alternatives(bench), items }
    }
}

impl WireOrder {
    fn of(bench: &Bench, request: &Request, winding: &WindingPlan) -> Self {
        let wire = &bench.winding.wire;
        let bare_kg_per_m = wire.conductor_area_m2() * wire.conductor.density_kg_per_m3();
        let overall_m = winding.wire.overall_diameter_m.nominal;
        let enamel_m2 = FRAC_PI_4 * (overall_m.powi(2) - wire.bare_diameter_m.powi(2)).max(0.0);
        let enamelled_kg_per_m = bare_kg_per_m + enamel_m2 * ENAMEL_KG_PER_M3;
        let free_ends_per_coil_m = 2.0 * request.lead_out_m;
        let needed_per_coil_m =
            (winding.wire_length_m + free_ends_per_coil_m) * (1.0 + request.waste_fraction);
        let enamelled_needed_per_coil_kg = needed_per_coil_m * enamelled_kg_per_m;
        Self {
            wound_per_coil_m: winding.wire_length_m,
            free_ends_per_coil_m,
            waste_fraction: request.waste_fraction,
            needed_per_coil_m,
            bare_kg_per_m,
            enamelled_kg_per_m,
            bare_wound_per_coil_kg: winding.wire_length_m * bare_kg_per_m,
            enamelled_needed_per_coil_kg,
            reels: reels(&request.reels_kg, enamelled_needed_per_coil_kg),
        }
    }

    fn items(&self, bench: &Bench) -> Vec<OrderItem> {
        let wire = &bench.winding.wire;
        let name = wire.name.clone().unwrap_or_else(|| {
            format!(
                "{:.3} mm bare, {:.3} mm overall",
                1e3 * wire.bare_diameter_m,
                1e3 * wire.overall_diameter_m
            )
        });
        let class = wire.thermal_class_celsius.map_or("thermal class not in the spec".into(), |class| {
            format!("thermal class {class:.0} at least")
        });
        let item = format!("enamelled {} wire, round, {name}", wire.conductor.name());
        let (quantity, remark) = match self.reels {
            Some(reels) => (
                f64::from(reels.count) * reels.each_kg,
                format!("{} × {} kg reel, {class}, no joint within a coil", reels.count, reels.each_kg),
            ),
            None => (
                2.0 * self.enamelled_needed_per_coil_kg,
                format!("no reel size named holds one coil in one piece: ask for longer lengths, {class}"),
            ),
        };
        vec![OrderItem { item, quantity, unit: "kg", remark }]
    }
}

/// The reels for both coils that leave the least wire; among equals, the fewest reels. Each coil is wound from one
/// piece. `None` if no size holds the wire of one coil.
fn reels(sizes_kg: &[f64], coil_kg: f64) -> Option<Reels> {
    let of_size = |each_kg: f64| {
        let coils = (each_kg / coil_kg).floor().min(2.0);
        (coils >= 1.0).then(|| {
            let count = if coils >= 2.0 { 1 } else { 2 };
            Reels { count, each_kg, left_kg: f64::from(count) * each_kg - 2.0 * coil_kg }
        })
    };
    sizes_kg
        .iter()
        .filter_map(|size| of_size(*size))
        .min_by(|one, other| one.left_kg.total_cmp(&other.left_kg).then(one.count.cmp(&other.count)))
}

fn item(item: impl Into<String>, quantity: f64, unit: &'static str, remark: impl Into<String>) -> OrderItem {
    OrderItem { item: item.into(), quantity, unit, remark: remark.into() }
}

/// Leads, terminals and the part against the inductive kick.
fn electrical_items(bench: &Bench, safety: &SafetyFigures) -> Vec<OrderItem> {
    let stated = bench.supply.and_then(|supply| supply.current_limit_ampere);
    let (ampere, whence) = match (stated, safety.reliable_continuous_current_ampere) {
        (Some(ampere), _) => (Some(ampere), "the supply's largest current"),
        (None, Some(ampere)) => (Some(ampere), "the continuous current to rely on"),
        (None, None) => (None, "current not known: smallest usual size"),
    };
    let largest = LEADS_MM2[LEADS_MM2.len() - 1];
    let area = ampere.map_or(1.5, |ampere| {
        let wanted = ampere / LEAD_AMPERE_PER_MM2;
        LEADS_MM2.iter().copied().find(|area| *area >= wanted).unwrap_or(largest)
    });
    vec![
        item(
            format!("flexible lead, {area} mm², two colours, twisted or paired"),
            2.0 * LEAD_M,
            "m",
            format!("suggested length, for {whence} at {LEAD_AMPERE_PER_MM2} A/mm² or less"),
        ),
        item("touch-proof 4 mm sockets", 4.0, "pcs", "start and finish of both coils, two colours"),
        item(
            "bridge or short lead between the coils",
            if bench.connection == crate::pair::Connection::Series { 1.0 } else { 2.0 },
            "pcs",
            "connects the coils as the winding sheet says",
        ),
        match bench.winding.wire.conductor {
            Conductor::Copper => item(
                "heat-shrink sleeve over the soldered ends",
                0.5,
                "m",
                "strip or burn off the enamel first",
            ),
            Conductor::Aluminium => item(
                "crimp connectors rated for aluminium wire, with sleeves",
                4.0,
                "pcs",
                "scrape off enamel and oxide just before crimping; aluminium is not soldered like copper",
            ),
        },
        item(
            "diode rated for the coil current, with a heat sink",
            1.0,
            "pcs",
            "across the pair, against the inductive kick",
        ),
    ]
}

/// What a sheet of this thickness is made of.
fn material_of(thickness_m: f64, former: &str) -> &str {
    if thickness_m < THIN_SHEET_M { "pressboard or card" } else { former }
}

/// Sheet, bolts, spacers, pins and insulation.
fn workshop_items(
    bench: &Bench,
    request: &Request,
    winding: &WindingPlan,
    former: &FormerPlan,
    assembly: &AssemblyPlan,
) -> Vec<OrderItem> {
    let material = former.material.clone().unwrap_or_else(|| "sheet, material not in the spec".into());
    let mut thicknesses: Vec<f64> = former.parts.iter().map(|part| part.thickness_m).collect();
    thicknesses.dedup();
    let mut items: Vec<OrderItem> = thicknesses
        .iter()
        .map(|thickness_m| {
            let parts = former.parts.iter().filter(|part| part.thickness_m == *thickness_m);
            let area: f64 = parts
                .map(|part| f64::from(2 * part.per_former) * (2.0 * part.outer_radius_m + PART_GAP_M).powi(2))
                .sum();
            item(
                format!("{}, {:.2} mm thick", material_of(*thickness_m, &material), 1e3 * thickness_m),
                area,
                "m2",
                "squares round the parts of both formers, laid side by side",
            )
        })
        .collect();
    let thread_mm = 1e3 * former.bolts.thread_m;
    let spacers = f64::from(assembly.spacers);
    items.push(item(
        format!(
            "threaded rod or bolt M{thread_mm}, {:.0} mm, brass or plastic",
            1e3 * assembly.bolt_length_m
        ),
        spacers,
        "pcs",
        "no steel near the beam",
    ));
    items.push(item(format!("nut M{thread_mm} with washer"), 2.0 * spacers, "pcs", "same material"));
    if assembly.spacer_length_m > 0.0 {
        items.push(item(
            format!(
                "spacer tube {:.0} × {:.1} mm, not magnetic, {:.1} mm long",
                1e3 * assembly.spacer_diameter_m,
                1e3 * former.bolts.holes.diameter_m,
                1e3 * assembly.spacer_length_m
            ),
            spacers,
            "pcs",
            "cut all to one length, after the formers are measured",
        ));
    }
    if let Some(dowels) = former.dowels {
        items.push(item(
            format!(
                "dowel pin {:.1} mm, {:.0} mm long",
                1e3 * dowels.diameter_m,
                (1e3 * former.overall_width_m + 1e-6).floor()
            ),
            f64::from(2 * dowels.count),
            "pcs",
            "hold flanges and core on one centre while the glue sets",
        ));
    }
    if request.interlayer_m > 0.0 {
        let between = &winding.layers[..winding.layers.len().saturating_sub(1)];
        let area: f64 = between
            .iter()
            .map(|row| std::f64::consts::PI * row.outer_diameter_m.nominal * former.channel_width_m)
            .sum();
        items.push(item(
            format!(
                "insulating foil {:.3} mm, {:.1} mm wide",
                1e3 * request.interlayer_m,
                1e3 * former.channel_width_m
            ),
            2.0 * area * (1.0 + request.waste_fraction),
            "m2",
            "between the layers of both coils",
        ));
    }
    if bench.winding.filling == crate::pair::Filling::Varnish {
        items.push(item(
            "varnish or resin for the finished coils",
            1.0,
            "pcs",
            "of the wire's thermal class",
        ));
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reels_waste_least_and_never_join_a_wire_within_a_coil() {
        let sizes = [0.25, 0.5, 1.0, 2.0];
        // Two coils of 0.4 kg: one reel of 1 kg and two of 0.5 kg both leave 0.2 kg, so the single reel is chosen.
        let found = reels(&sizes, 0.4).unwrap();
        assert_eq!((found.count, found.each_kg), (1, 1.0));
        // Two coils of 0.48 kg: one reel of 1 kg holds both.
        assert_eq!(reels(&sizes, 0.48).unwrap().count, 1);
        // Two coils of 0.6 kg: two reels of 1 kg and one of 2 kg both leave 0.8 kg.
        let found = reels(&sizes, 0.6).unwrap();
        assert_eq!((found.count, found.each_kg), (1, 2.0));
        // Two coils of 1.2 kg: one reel of 2 kg does not hold both, so two are needed.
        let found = reels(&sizes, 1.2).unwrap();
        assert_eq!((found.count, found.each_kg), (2, 2.0));
        assert!((found.left_kg - 1.6).abs() < 1e-12);
        assert_eq!(reels(&sizes, 2.5), None);
    }
}
