//! The wire that is ordered for a pair: length, mass, reels, and where it may be joined.

use super::item::Reels;
use super::request::Request;
use super::winding::LayerRow;
use crate::pair::{Bench, WireLimits};
use serde::Serialize;
use std::f64::consts::FRAC_PI_4;

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
    /// The reels if the wire must be joined within a coil, and where. `None` if it need not be, or cannot be at the end of a
    /// layer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joined: Option<Joined>,
}

/// Coils wound from several pieces of wire.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Joined {
    /// The reels for both coils.
    pub reels: Reels,
    /// The layers of each coil at whose end one piece is joined to the next.
    pub after_layers: Vec<u32>,
}

/// Density of enamel; polyurethane to polyesterimide have 1200 to 1400 kg/m³ (common practice, no source).
const ENAMEL_KG_PER_M3: f64 = 1350.0;
impl WireOrder {
    /// The wire of a bench of which so much is wound on each coil.
    pub(super) fn of(bench: &Bench, request: &Request, wound_per_coil_m: f64) -> Self {
        let wire = &bench.winding.wire;
        let bare_kg_per_m = wire.conductor_area_m2() * wire.conductor.density_kg_per_m3();
        let overall_m = WireLimits::of(wire).overall_diameter_m.nominal;
        let enamel_m2 = FRAC_PI_4 * (overall_m.powi(2) - wire.bare_diameter_m.powi(2)).max(0.0);
        let enamelled_kg_per_m = bare_kg_per_m + enamel_m2 * ENAMEL_KG_PER_M3;
        let free_ends_per_coil_m = 2.0 * request.lead_out_m;
        let needed_per_coil_m = (wound_per_coil_m + free_ends_per_coil_m) * (1.0 + request.waste_fraction);
        let enamelled_needed_per_coil_kg = needed_per_coil_m * enamelled_kg_per_m;
        Self {
            wound_per_coil_m,
            free_ends_per_coil_m,
            waste_fraction: request.waste_fraction,
            needed_per_coil_m,
            bare_kg_per_m,
            enamelled_kg_per_m,
            bare_wound_per_coil_kg: wound_per_coil_m * bare_kg_per_m,
            enamelled_needed_per_coil_kg,
            reels: reels(&request.reels_kg, enamelled_needed_per_coil_kg),
            joined: None,
        }
    }

    /// With where the wire may be joined, if no reel holds that of one coil in one piece.
    pub(super) fn joined_after(self, request: &Request, layers: &[LayerRow]) -> Self {
        let joined = match self.reels {
            Some(_) => None,
            None => self.fewest_joints(request, layers),
        };
        Self { joined, ..self }
    }

    /// The reels with which a coil has the fewest joints, each at the end of a full layer; among equals those that leave the
    /// least wire. `None` if a reel holds less than a layer.
    fn fewest_joints(&self, request: &Request, layers: &[LayerRow]) -> Option<Joined> {
        let with_waste = self.enamelled_kg_per_m * (1.0 + self.waste_fraction);
        let of_size = |each_kg: f64| {
            let after_layers = ends_of_pieces(layers, each_kg / with_waste, request.lead_out_m)?;
            let count = 2 * (after_layers.len() as u32 + 1);
            let left_kg = f64::from(count) * each_kg - 2.0 * self.enamelled_needed_per_coil_kg;
            Some(Joined { reels: Reels { count, each_kg, left_kg }, after_layers })
        };
        let joints = |joined: &Joined| joined.after_layers.len();
        request.reels_kg.iter().filter_map(|size| of_size(*size)).min_by(|one, other| {
            joints(one).cmp(&joints(other)).then(one.reels.left_kg.total_cmp(&other.reels.left_kg))
        })
    }
}

/// The layers after which a coil of pieces of this length is joined; each piece is wound as far as it holds whole layers.
/// `None` if a piece holds less than a layer.
fn ends_of_pieces(layers: &[LayerRow], piece_m: f64, lead_out_m: f64) -> Option<Vec<u32>> {
    let mut ends = Vec::new();
    // The first piece leaves the lead at the start free, the last that at the finish.
    let (mut begins_m, mut last) = (-lead_out_m, 0);
    while layers.last()?.wire_length_so_far_m + lead_out_m - begins_m > piece_m {
        let held = layers.iter().take_while(|row| row.wire_length_so_far_m - begins_m <= piece_m).count();
        // The last layer is not cut off: its end needs its lead in one piece.
        let held = held.min(layers.len() - 1);
        if held <= last {
            return None;
        }
        (begins_m, last) = (layers[held - 1].wire_length_so_far_m, held);
        ends.push(layers[held - 1].layer);
    }
    Some(ends)
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Layers of so many metres each.
    fn layers(each_m: &[f64]) -> Vec<LayerRow> {
        let mut so_far = 0.0;
        let wire = crate::pair::wires::stock_wires()[0].wire(crate::constants::Conductor::Copper, None);
        let winding = crate::pair::Winding::new(0.05, 0.01, 0.01, 24.0, wire);
        let bench = Bench::unchecked("Layers", winding, 0.05);
        let plan = crate::questions::build::winding::winding_plan(&bench, &Request::default()).unwrap();
        let row = |(index, metre): (usize, &f64)| {
            so_far += metre;
            LayerRow { layer: index as u32 + 1, wire_length_so_far_m: so_far, ..plan.layers[0] }
        };
        each_m.iter().enumerate().map(row).collect()
    }

    #[test]
    fn pieces_are_joined_at_the_ends_of_layers_and_nowhere_else() {
        let five = layers(&[10.0, 11.0, 12.0, 13.0, 14.0]);
        // With half a metre free at each end, 60 + 1 m in one piece.
        assert_eq!(ends_of_pieces(&five, 61.0, 0.5), Some(vec![]));
        // 40 m hold the first 33 m and a lead of 0.5 m, and then 27 m and the other lead.
        assert_eq!(ends_of_pieces(&five, 40.0, 0.5), Some(vec![3]));
        assert_eq!(ends_of_pieces(&five, 22.0, 0.5), Some(vec![2, 3, 4]));
        // The lead at the start counts: 21 m do not hold it and two layers.
        assert_eq!(ends_of_pieces(&five, 21.4, 0.5), Some(vec![1, 2, 3, 4]));
        // No layer is joined in its middle.
        assert_eq!(ends_of_pieces(&five, 13.5, 0.5), None);
    }

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
