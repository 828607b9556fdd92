//! Checks that the turns fit their section and that the coils fit beside each other.

use super::checks::Checks;
use crate::pair::*;
use crate::units::{Dimension, brief, display};

/// If the turns fill less than this fraction, the section is mostly not copper, and its mean radius is doubtful.
const LEAST_OCCUPANCY: f64 = 0.75;

fn length(si: f64) -> String {
    display(si, Dimension::Length, 4)
}

fn number(value: f64) -> String {
    brief(value, Dimension::Number)
}

/// Checks turns, layers and wire against width and depth.
pub(super) fn turns_in_section(checks: &mut Checks, bench: &Bench) {
    if !checks.sound(&["winding"]) {
        return;
    }
    let winding = &bench.winding;
    let layout = Layout::of(winding);
    let overall = winding.wire.overall_diameter_m;
    let (layers, per_layer) = (layout.layers, layout.turns_per_layer);
    if !layout.holds_all_turns() {
        let held = f64::from(layers) * f64::from(per_layer);
        checks.disagree(
            "winding.layers",
            format!(
                "{layers} layers of {per_layer} turns hold {} turns, not {}",
                number(held),
                number(winding.turns)
            ),
            "give more layers, more turns per layer, or leave one of the two out",
        );
        return;
    }
    if !layout.fits_width() {
        let most = (winding.width_m / overall).floor();
        checks.disagree(
            "winding.width",
            format!(
                "{per_layer} turns side by side need {}, and the section is {} wide",
                length(layout.needed_width_m),
                length(winding.width_m)
            ),
            format!("wire of {} over its enamel: at most {} fit side by side", length(overall), number(most)),
        );
    }
    if !layout.fits_depth() {
        checks.disagree(
            "winding.depth",
            format!(
                "{layers} layers need {}, and the section is {} deep",
                length(layout.needed_depth_m),
                length(winding.depth_m)
            ),
            format!(
                "{} turns of wire of {} over its enamel, {per_layer} to a layer",
                number(winding.turns),
                length(overall)
            ),
        );
    }
    if layout.fits_width() && layout.fits_depth() && layout.occupancy < LEAST_OCCUPANCY {
        checks.warn(
            "winding.depth",
            format!("the turns fill {:.0} % of the section", 100.0 * layout.occupancy),
            format!(
                "if they sit at its bottom, their mean radius is {}, not {}; width and depth describe the wound copper, not the channel",
                length(layout.bottom_mean_radius_m),
                length(winding.mean_radius_m)
            ),
        );
    }
    if layout.assumed && layout.fits_width() && layout.fits_depth() {
        assumed_last_layer(checks, bench, &layout);
    }
    as_built_sections(checks, bench, overall);
}

/// Warns if the last layer would not be full and the number of layers is not stated: the mean position of the turns
/// then moves.
fn assumed_last_layer(checks: &mut Checks, bench: &Bench, layout: &Layout) {
    // Half a thousandth of the radius, which a calibration notices.
    const NOTICED: f64 = 5e-4;
    let winding = Winding {
        layers: Some(layout.layers),
        turns_per_layer: Some(layout.turns_per_layer),
        ..bench.winding.clone()
    };
    let nearer_m = winding.mean_radius_m - Layout::wound(&winding, &bench.nominal_coil()).mean_radius_m;
    if nearer_m < NOTICED * winding.mean_radius_m {
        return;
    }
    let last = winding.turns - f64::from(layout.layers - 1) * f64::from(layout.turns_per_layer);
    checks.warn(
        "winding.turns",
        format!(
            "with {} turns side by side the last of {} layers holds {}, and neither `layers` nor `turns_per_layer` says so",
            layout.turns_per_layer,
            layout.layers,
            number(last)
        ),
        format!(
            "state one of them: wound so, the middle of the turns is {} nearer to the axis, and the field counts it",
            length(nearer_m)
        ),
    );
}

/// Checks the measured sections: one too small for its wire is a slip in a length or in the turns.
fn as_built_sections(checks: &mut Checks, bench: &Bench, overall_m: f64) {
    // The densest packing of round wires takes √3/2 of their squares.
    const DENSEST: f64 = 0.866;
    for (name, coil) in ["a", "b"].into_iter().zip(bench.as_built.iter().flatten()) {
        let path = format!("as_built.{name}");
        let densest = DENSEST * coil.turns * overall_m * overall_m;
        if checks.sound(&[&path]) && densest > coil.width_m * coil.depth_m {
            checks.disagree(
                &path,
                format!(
                    "{} turns of wire of {} do not fit coil {name}, {} wide and {} deep",
                    number(coil.turns),
                    length(overall_m),
                    length(coil.width_m),
                    length(coil.depth_m)
                ),
                "even wires in each other's grooves need more room: check the measured section and the turns",
            );
        }
    }
}

/// The coils must not touch, neither as designed nor as built.
pub(super) fn coils_apart(checks: &mut Checks, bench: &Bench) {
    if !checks.sound(&["winding.mean_radius", "winding.width", "winding.depth", "spacing"]) {
        return;
    }
    let width = bench.winding.width_m;
    if bench.spacing_m <= width {
        checks.refuse(
            "spacing",
            format!("the coils overlap: they are {} wide and {} apart", length(width), length(bench.spacing_m)),
            format!("`spacing` goes from the middle of one coil to the middle of the other: allowed is more than {}", length(width)),
        );
        return;
    }
    let Some([a, b]) = &bench.as_built else { return };
    if !checks.sound(&["as_built"]) {
        return;
    }
    let between_centres = bench.spacing_m + b.offset_m.z - a.offset_m.z;
    // Tilts turn the facing sides toward each other by at most their difference.
    let turned = (b.tilt_rad[0] - a.tilt_rad[0]).hypot(b.tilt_rad[1] - a.tilt_rad[1]);
    let reach = |coil: &Coil| coil.mean_radius_m + 0.5 * coil.depth_m;
    let gap = between_centres - 0.5 * (a.width_m + b.width_m) - turned.sin() * reach(a).min(reach(b));
    if gap <= 0.0 {
        checks.refuse(
            "as_built",
            format!("the coils as built overlap by {}", length(-gap)),
            "check `offset`, `tilt` and `width` of the two coils against `spacing`",
        );
    }
}

/// Coils connected against each other give a gradient instead of a field.
pub(super) fn coils_alike(checks: &mut Checks, bench: &Bench) {
    let Some([a, b]) = &bench.as_built else { return };
    if a.sense * b.sense < 0.0 && checks.sound(&["as_built"]) {
        let name = if a.sense < 0.0 { "a" } else { "b" };
        checks.warn(
            &format!("as_built.{name}.sense"),
            format!("coil {name} works against the other: at the centre they cancel"),
            "exchange its two leads and set its `sense` to 1; no beam makes a circle in such a field",
        );
    }
}

/// Warns of limits that the build tolerance leaves out.
pub(super) fn limits_left_out(checks: &mut Checks, bench: &Bench) {
    let left_out = bench.build_tolerance.map(|tolerance| tolerance.not_stated).unwrap_or_default();
    if !left_out.is_empty() && checks.sound(&["build_tolerance"]) {
        let keys: Vec<String> = left_out.keys().map(|key| format!("`{key}`")).collect();
        checks.warn(
            "build_tolerance",
            format!("these limits are left out: {}", keys.join(", ")),
            "computed uncertainties count the dimension as kept exactly; state a limit, or 0 where it is kept so",
        );
    }
}

/// Compares a measured resistance with that of the wire.
pub(super) fn as_built_resistance(checks: &mut Checks, bench: &Bench) {
    for found in resistance_contradictions(bench) {
        let path = format!("as_built.{}", found.coil);
        if !checks.sound(&["winding", &path]) {
            continue;
        }
        checks.warn(
            &format!("{path}.resistance.value"),
            format!(
                "coil {} was measured at {}",
                found.coil,
                display(found.stated_ohm, Dimension::Resistance, 4)
            ),
            format!(
                "{} turns of this wire have {} at {}: shorted turns, other wire, or the leads measured too",
                number(found.turns),
                display(found.by_wire_ohm, Dimension::Resistance, 4),
                brief(found.at_celsius, Dimension::Temperature)
            ),
        );
    }
}
