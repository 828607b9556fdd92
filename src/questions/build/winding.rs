//! The winding plan, layer by layer, as the person at the winder needs it.
//!
//! Layers are spread over the section of the spec. What a layer may add to the diameter, and the limits of the diameter that
//! follow, are in `diameters.rs`.

mod diameters;

use super::request::Request;
use crate::pair::{Allowed, Bench, Layout, Packing, Winding, WireLimits};
use crate::physics::field::Assembly;
use crate::physics::test_limits::{Tested, resistance_ohm};
use crate::units::{Dimension, display};
use crate::{Error, Result};
use diameters::Stack;
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::TAU;

/// Largest number of layers on a winding sheet.
const MOST_LAYERS: u32 = 2000;

/// The winding of each coil; both are alike.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WindingPlan {
    /// Limits of the wire.
    pub wire: WireLimits,
    /// Stock name of the wire. `None` if it is not a stock size.
    pub wire_name: Option<String>,
    /// Turns per coil.
    pub turns: f64,
    /// Turns in a full layer.
    pub turns_per_layer: u32,
    /// Whether the layers are assumed, because the spec states neither layers nor turns per layer.
    pub layout_assumed: bool,
    /// How layers are stacked.
    pub packing: Packing,
    /// Axial distance from turn to turn.
    pub pitch_m: f64,
    /// Thickness of insulation between layers that was asked for; 0 for none.
    pub interlayer_m: f64,
    /// Thickness of a filler between layers that nobody asked for and that is advised, because wound tight the coil would
    /// be too small, or because a slipped turn would not show; 0 for none. The limits of the layers reckon with it.
    pub filler_m: f64,
    /// Diameter of the floor on which the first layer lies, with its limits.
    pub floor_diameter_m: Allowed,
    /// Width of the winding along the axis, with its limits.
    pub width_m: Allowed,
    /// Copper temperature for which the resistances hold.
    pub celsius: f64,
    /// All layers, the innermost first.
    pub layers: Vec<LayerRow>,
    /// Length of wire in one coil, without the free ends.
    pub wire_length_m: f64,
    /// Resistance of one coil at `celsius`, without the free ends.
    pub resistance_ohm: Tested,
    /// Outer diameter of the finished coil, with the limits that the build tolerance allows.
    pub finished_diameter_m: Allowed,
    /// The coil if every layer lies tight on the one beneath.
    pub tight: TightWinding,
    /// Angle from the start to the finish, beyond whole turns.
    pub finish_angle_rad: f64,
    /// Whether the last layer runs towards the cheek at which the first one started.
    pub finish_at_start_cheek: bool,
}

/// One layer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LayerRow {
    /// Number of the layer, counted from 1 at the inside.
    pub layer: u32,
    /// Turns in the layer.
    pub turns: f64,
    /// Whether the layer is full.
    pub full: bool,
    /// Whether the layer runs from the start cheek to the far one.
    pub away_from_start: bool,
    /// Number of turns wound once the layer is done.
    pub turns_so_far: f64,
    /// Length of wire wound once the layer is done.
    pub wire_length_so_far_m: f64,
    /// Outer diameter once the layer is done, with its limits.
    pub outer_diameter_m: Allowed,
    /// Smallest and largest amount that the layer adds to the diameter.
    pub adds_m: [f64; 2],
    /// Resistance of the wire wound so far, without the free end.
    pub resistance_so_far_ohm: Tested,
}

/// The coil if it is wound tight, compared with that of the spec.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TightWinding {
    /// Outer diameter with wire of the nominal diameter, wire on wire.
    pub outer_diameter_m: f64,
    /// Outer diameter of the spec minus `outer_diameter_m`.
    pub short_of_design_m: f64,
    /// Relative change of the field constant against the spec.
    pub field_constant_relative_change: f64,
    /// Thickness of a filler between layers that brings the coil nearer the design and has room with the largest wire, in
    /// whole hundredths of a millimetre; 0 where none does. The same figure given as insulation is not refused.
    pub filler_between_layers_m: f64,
    /// What the outer diameter is then still short of the design.
    pub filled_short_of_design_m: f64,
}

/// Plans the winding of a bench.
///
/// # Errors
/// If there are more layers than a sheet lists, or if the section has no room for the insulation between layers.
pub(super) fn winding_plan(bench: &Bench, request: &Request) -> Result<WindingPlan> {
    let winding = &bench.winding;
    let layout = Layout::of(winding);
    check(&layout, bench, request)?;
    let wire = WireLimits::of(&winding.wire);
    let tolerance = bench.tolerance_or_ordinary();
    let floor_m = 2.0 * winding.mean_radius_m - winding.depth_m;
    let floor = Allowed {
        least: floor_m - tolerance.mean_radius_m,
        nominal: floor_m,
        most: floor_m + tolerance.mean_radius_m,
    };
    let celsius = request.winding_celsius.unwrap_or(bench.room_temperature_celsius());
    let outer_m = floor_m + 2.0 * winding.depth_m;
    let limit_m = 2.0 * tolerance.mean_radius_m + tolerance.depth_m;
    let finished = Allowed { least: outer_m - limit_m, nominal: outer_m, most: outer_m + limit_m };
    let tight = tight(bench, &layout, &wire, request.interlayer_m);
    let stack = Stack {
        layout: &layout,
        wire: &wire,
        overall_m: winding.wire.overall_diameter_m,
        depth_m: winding.depth_m,
        between_m: request.interlayer_m,
    };
    let is_filled = request.interlayer_m == 0.0
        && (tight.is_noted() || tight.outer_diameter_m < finished.least || stack.hides_a_slip());
    let filler_m = if is_filled { tight.filler_between_layers_m } else { 0.0 };
    let stack = Stack { between_m: request.interlayer_m + filler_m, ..stack };
    let layers = layer_rows(bench, &stack, floor, finished, celsius);
    let last = layers.last().copied().ok_or_else(|| Error::value("a winding without turns has no layers"))?;
    let width_m = Layout::wound_width_m(winding, &bench.nominal_coil());
    Ok(WindingPlan {
        wire_name: winding.wire.name.clone(),
        turns: winding.turns,
        turns_per_layer: layout.turns_per_layer,
        layout_assumed: layout.assumed,
        packing: winding.packing,
        pitch_m: layout.axial_pitch_m(),
        interlayer_m: request.interlayer_m,
        filler_m,
        floor_diameter_m: floor,
        width_m: Allowed {
            least: width_m - tolerance.width_m,
            nominal: width_m,
            most: width_m + tolerance.width_m,
        },
        celsius,
        wire_length_m: last.wire_length_so_far_m,
        resistance_ohm: last.resistance_so_far_ohm,
        finished_diameter_m: finished,
        tight,
        finish_angle_rad: TAU * winding.turns.fract(),
        finish_at_start_cheek: !last.away_from_start,
        layers,
        wire,
    })
}

fn check(layout: &Layout, bench: &Bench, request: &Request) -> Result<()> {
    if layout.layers > MOST_LAYERS {
        return Err(Error::value_with_hint(
            format!(
                "the winding has {} layers, and a winding sheet lists at most {MOST_LAYERS}",
                layout.layers
            ),
            "state `layers` or `turns_per_layer` in `winding`",
        ));
    }
    let between = f64::from(layout.layers.saturating_sub(1)) * request.interlayer_m;
    let needed = depth_of_largest_wire_m(layout, &bench.winding) + between;
    let depth = bench.winding.depth_m;
    if request.interlayer_m > 0.0 && needed > depth * (1.0 + 1e-9) {
        let length = |metre: f64| display(metre, Dimension::Length, 3);
        return Err(Error::value_with_hint(
            format!(
                "{} layers with {} of insulation between them need {}, and the section is {} deep",
                layout.layers,
                length(request.interlayer_m),
                length(needed),
                length(depth)
            ),
            match layout.is_staggered() {
                true => {
                    "on insulation the layers cannot lie in each other's grooves: leave it out, or take a deeper section"
                }
                false => "take thinner insulation with --interlayer, fewer layers, or a deeper section",
            },
        ));
    }
    Ok(())
}

/// All layers, with the running sums.
fn layer_rows(
    bench: &Bench,
    stack: &Stack<'_>,
    floor: Allowed,
    finished: Allowed,
    celsius: f64,
) -> Vec<LayerRow> {
    let (winding, layout) = (&bench.winding, stack.layout);
    let (mut turns, mut length_m) = (0.0, 0.0);
    let rows = layout.turns_in_layers().zip(stack.layers(floor, finished)).map(|((index, count), layer)| {
        // The length is that of turns where the section has them, as in the field and everywhere else.
        let middle_m = winding.mean_radius_m + layout.radial_middle_m(index, stack.overall_m);
        turns += count;
        length_m += TAU * middle_m * count;
        LayerRow {
            layer: index + 1,
            turns: count,
            full: count >= f64::from(layout.turns_per_layer) * (1.0 - 1e-9),
            away_from_start: index % 2 == 0,
            turns_so_far: turns,
            wire_length_so_far_m: length_m,
            outer_diameter_m: layer.outer_m,
            adds_m: layer.adds_m,
            resistance_so_far_ohm: resistance_ohm(
                bench,
                stack.wire.resistance_at_20_celsius_ohm_per_m,
                length_m,
                celsius,
            ),
        }
    });
    rows.collect()
}

/// A smaller relative change of the field constant is not worth a note.
const LEAST_CHANGE: f64 = 5e-4;

impl TightWinding {
    /// Whether it differs enough from the design for the papers to say so.
    pub(super) fn is_noted(&self) -> bool {
        self.field_constant_relative_change.abs() > LEAST_CHANGE
    }
}

/// The coil wound tight with wire of the nominal diameter.
fn tight(bench: &Bench, layout: &Layout, wire: &WireLimits, interlayer_m: f64) -> TightWinding {
    let winding = &bench.winding;
    let beneath = f64::from(layout.layers.saturating_sub(1));
    // A gap between turns lets the next layer sink in deeper.
    let apart =
        layout.axial_pitch_m().max(wire.overall_diameter_m.nominal) / (2.0 * wire.overall_diameter_m.nominal);
    let in_grooves = layout.is_staggered() && interlayer_m == 0.0;
    let on_wire = if in_grooves { (1.0 - apart * apart).max(0.0).sqrt() } else { 1.0 };
    let depth_m = wire.overall_diameter_m.nominal * (1.0 + on_wire * beneath) + beneath * interlayer_m;
    let floor_m = 2.0 * winding.mean_radius_m - winding.depth_m;
    let short_m = winding.depth_m - depth_m;
    let mut tight = bench.clone();
    tight.winding.depth_m = depth_m;
    tight.winding.mean_radius_m = 0.5 * (floor_m + depth_m);
    let field = |bench: &Bench| Assembly::of(bench).field_once_per_ampere(&Vector3::zeros()).z;
    let filler_m = most_insulation_m(layout, winding);
    // Insulation lifts the wires out of the grooves.
    let filled_m = wire.overall_diameter_m.nominal * (1.0 + beneath) + beneath * filler_m;
    TightWinding {
        outer_diameter_m: floor_m + 2.0 * depth_m,
        short_of_design_m: 2.0 * short_m,
        field_constant_relative_change: field(&tight) / field(bench) - 1.0,
        filler_between_layers_m: filler_m,
        filled_short_of_design_m: match filler_m > 0.0 {
            true => 2.0 * (winding.depth_m - filled_m),
            false => 2.0 * short_m,
        },
    }
}

/// Depth that the layers need with the largest wire, without the insulation between them. On insulation no wire lies in a groove.
fn depth_of_largest_wire_m(layout: &Layout, winding: &Winding) -> f64 {
    layout.needed_depth_m.max(f64::from(layout.layers) * winding.wire.overall_diameter_m)
}

/// The thickest insulation between layers for which [`check`] finds room, in whole hundredths of a millimetre.
fn most_insulation_m(layout: &Layout, winding: &Winding) -> f64 {
    const STEP_M: f64 = 1e-5;
    let between = f64::from(layout.layers.saturating_sub(1));
    let room_m = winding.depth_m - depth_of_largest_wire_m(layout, winding);
    if between > 0.0 { ((room_m / between / STEP_M + 1e-6).floor() * STEP_M).max(0.0) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::diameters::IN_GROOVES;
    use super::*;
    use crate::constants::Conductor;
    use crate::pair::BuildTolerance;
    use crate::pair::wires::{Build, stock_wire};
    use approx::assert_relative_eq;

    /// 24 turns of 0.9 mm grade 2 wire, 10 in a layer, on a floor of 100 mm; each layer is 1 mm deep.
    fn bench() -> Bench {
        let wire = stock_wire("0.9 mm", Build::Grade2).unwrap().wire(Conductor::Copper, None);
        let mut winding = Winding::new(0.0515, 0.010, 0.003, 24.0, wire);
        winding.layers = Some(3);
        winding.turns_per_layer = Some(10);
        let mut bench = Bench::unchecked("By hand", winding, 0.05);
        bench.build_tolerance = Some(BuildTolerance { mean_radius_m: 0.2e-3, ..BuildTolerance::ORDINARY });
        bench
    }

    #[test]
    fn the_layers_are_those_of_a_hand_calculation() {
        let plan =
            winding_plan(&bench(), &Request { winding_celsius: Some(25.0), ..Request::default() }).unwrap();
        // The layers' middles are at 50.5, 51.5 and 52.5 mm. With 10, 10 and 4 turns: 2π (505 + 515 + 210) mm = 7.7283
        // m.
        let lengths: Vec<f64> = plan.layers.iter().map(|row| row.wire_length_so_far_m).collect();
        for (found, by_hand) in lengths.iter().zip([3.173_01, 6.408_85, 7.728_318]) {
            assert_relative_eq!(*found, by_hand, max_relative = 1e-5);
        }
        let turns: Vec<(f64, f64, bool)> =
            plan.layers.iter().map(|row| (row.turns, row.turns_so_far, row.full)).collect();
        assert_eq!(turns, [(10.0, 10.0, true), (10.0, 20.0, true), (4.0, 24.0, false)]);
        let design: Vec<f64> = plan.layers.iter().map(|row| row.outer_diameter_m.nominal * 1e3).collect();
        // The first layer lies on the floor, the last ends at the section's outside, the others between.
        for (found, by_hand) in design.iter().zip([101.978, 103.989, 106.0]) {
            assert_relative_eq!(*found, by_hand, max_relative = 1e-12);
        }
        // A layer adds least in grooves, 2 × 0.951 √(1 − (1/1.902)²) mm. Wire on wire it adds 2 × 0.989 mm, but spread over the
        // section 2 (3 − 0.989)/2 mm, which is more.
        assert_eq!(plan.filler_m, 0.0);
        assert_relative_eq!(plan.layers[1].adds_m[0], 1.617_902e-3, max_relative = 1e-6);
        assert_relative_eq!(plan.layers[1].adds_m[1], 2.011e-3, max_relative = 1e-9);
        // First layer: 99.8 + 2 × 0.951 mm at least, 100.2 + 2 × 0.989 mm at most.
        assert_relative_eq!(plan.layers[0].outer_diameter_m.least, 101.702e-3, max_relative = 1e-9);
        assert_relative_eq!(plan.layers[0].outer_diameter_m.most, 102.178e-3, max_relative = 1e-9);
        // Third layer: in grooves alone it would end at 104.938 mm, below the finished coil's 106 − 2 × 0.2 − 0.5 = 105.1 mm.
        assert_relative_eq!(plan.layers[2].outer_diameter_m.least, 105.1e-3, max_relative = 1e-9);
        assert_relative_eq!(plan.layers[2].outer_diameter_m.most, 106.2e-3, max_relative = 1e-9);
        assert_relative_eq!(plan.finished_diameter_m.least, 105.1e-3, max_relative = 1e-9);
        // 7.728318 m of 1/58.5 Ω·mm²/m over 0.636173 mm² at 25 °C: 0.207662 × 1.01965 Ω.
        assert_relative_eq!(plan.resistance_ohm.expected, 0.211_743, max_relative = 1e-5);
        assert!(plan.layers[0].away_from_start && !plan.layers[1].away_from_start);
        assert!(!plan.finish_at_start_cheek);
    }

    #[test]
    fn resistance_and_mass_elsewhere_count_the_wire_of_these_layers() {
        use crate::pair::circuit::wire_length_m;
        let mut bench = bench();
        for (turns, packing) in [
            (24.0, Packing::Square),
            (24.0, Packing::Nested),
            (30.0, Packing::Square),
            (20.5, Packing::Square),
        ] {
            bench.winding.turns = turns;
            bench.winding.packing = packing;
            let plan = winding_plan(&bench, &Request::default()).unwrap();
            let elsewhere = wire_length_m(&bench.winding, &bench.nominal_coil());
            assert_relative_eq!(elsewhere, plan.wire_length_m, max_relative = 1e-12);
        }
    }

    #[test]
    fn full_layers_take_the_length_of_turns_times_the_mean_turn() {
        let mut bench = bench();
        bench.winding.turns = 30.0;
        let plan = winding_plan(&bench, &Request::default()).unwrap();
        assert_relative_eq!(plan.wire_length_m, TAU * 0.0515 * 30.0, max_relative = 1e-12);
        assert_eq!(plan.finish_angle_rad, 0.0);
        bench.winding.turns = 29.5;
        let plan = winding_plan(&bench, &Request::default()).unwrap();
        assert_relative_eq!(plan.finish_angle_rad, std::f64::consts::PI, max_relative = 1e-12);
    }

    #[test]
    fn a_slipped_turn_stands_out_of_the_limits_of_its_layer() {
        let plan = winding_plan(&bench(), &Request::default()).unwrap();
        for row in &plan.layers {
            assert!(row.outer_diameter_m.least <= row.outer_diameter_m.nominal);
            assert!(row.outer_diameter_m.nominal <= row.outer_diameter_m.most);
            let slipped = row.adds_m[0] + 2.0 * plan.wire.overall_diameter_m.least * IN_GROOVES;
            assert!(slipped > row.adds_m[1], "{row:?}");
        }
    }

    #[test]
    fn insulation_without_room_is_refused_and_with_room_counts() {
        let refused =
            winding_plan(&bench(), &Request { interlayer_m: 0.05e-3, ..Request::default() }).unwrap_err();
        assert!(refused.to_string().contains("need 3.07 mm"), "{refused}");
        let thin = Request { interlayer_m: 0.015e-3, ..Request::default() };
        let plan = winding_plan(&bench(), &thin).unwrap();
        // The layers fill the section: 2 (3 − 0.989)/2 mm is more than 2 (0.989 + 0.015) mm.
        assert_relative_eq!(plan.layers[1].adds_m[1], 2.011e-3, max_relative = 1e-9);
        assert_eq!(plan.filler_m, 0.0);
    }

    #[test]
    fn the_insulation_that_is_advised_is_not_refused() {
        for (layers, depth_m) in [(3, 0.0031), (3, 0.0032), (20, 0.0225)] {
            let mut bench = bench();
            (bench.winding.layers, bench.winding.depth_m) = (Some(layers), depth_m);
            bench.winding.turns = 10.0 * f64::from(layers);
            let tight = winding_plan(&bench, &Request::default()).unwrap().tight;
            let advised = tight.filler_between_layers_m;
            assert!(advised > 0.0 && tight.filled_short_of_design_m < tight.short_of_design_m);
            let with = |interlayer_m| winding_plan(&bench, &Request { interlayer_m, ..Request::default() });
            let found = with(advised).unwrap().tight.short_of_design_m;
            assert_relative_eq!(found, tight.filled_short_of_design_m, epsilon = 1e-12);
            assert!(with(advised + 1e-5).is_err());
        }
    }

    #[test]
    fn on_insulation_no_wire_lies_in_a_groove() {
        let mut bench = bench();
        bench.winding.packing = Packing::Nested;
        let overall = bench.winding.wire.overall_diameter_m;
        // Nested with 1 mm from turn to turn, and 2 % looser than tight.
        bench.winding.depth_m = 1.02 * overall * (1.0 + 2.0 * IN_GROOVES);
        let thin = Request { interlayer_m: 0.01e-3, ..Request::default() };
        let refused = winding_plan(&bench, &thin).unwrap_err();
        assert!(refused.hint().unwrap().contains("in each other's grooves"), "{refused}");
        let plan = winding_plan(&bench, &Request::default()).unwrap();
        assert!(plan.tight.short_of_design_m > 0.0);
        assert_eq!(
            plan.tight.filler_between_layers_m, 0.0,
            "insulation would make it larger than the design"
        );
        // What a layer adds allows for the design's own step.
        let design = plan.layers[2].outer_diameter_m.nominal - plan.layers[1].outer_diameter_m.nominal;
        assert!(plan.layers[2].adds_m[1] >= design - 1e-12);
    }
}
