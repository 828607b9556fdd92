//! The most probable candidate as a bench, for rebuilding the pair.

use super::prediction::{Prediction, Scored};
use crate::files::spec;
use crate::pair::{Bench, BuildTolerance, Distribution, Filling, Layout, Packing, Winding, Wire};

/// Rounding of lengths.
const STEP_M: f64 = 1e-4;
/// Rounding of the wire's diameter.
const WIRE_STEP_M: f64 = 1e-6;

fn rounded(length_m: f64, step_m: f64) -> f64 {
    let steps = (length_m / step_m).round();
    // Dividing two whole numbers gives the nearest number to the decimal that people write.
    steps / (1.0 / step_m).round()
}

fn rounded_up(length_m: f64) -> f64 {
    rounded((length_m / STEP_M - 1e-6).ceil() * STEP_M, STEP_M)
}

impl Prediction<'_> {
    /// The most probable candidate whose spec every command can read. `None` if there is none because the dimensions
    /// contradict each other, as for coils that would overlap.
    pub(super) fn readable_bench(&self, wires: &[Wire], candidates: &[Scored]) -> Option<Bench> {
        candidates
            .iter()
            .map(|scored| self.bench(&wires[scored.wire], scored.turns))
            .find(|bench| spec::bench_from_text("identified.json", &spec::spec_text(bench)).is_ok())
    }

    /// The candidate as a bench with rounded lengths. Layers and turns per layer are left to the densest winding.
    pub(super) fn bench(&self, wire: &Wire, turns: u32) -> Bench {
        let section = self.dimensions.section();
        let [inner, outer, width, spacing] = self.dimensions.uncertainties();
        let winding = fitting(Winding {
            mean_radius_m: rounded(section.mean_radius_m, STEP_M),
            width_m: rounded(section.width_m, STEP_M),
            depth_m: rounded(section.depth_m, STEP_M),
            turns: f64::from(turns),
            layers: None,
            turns_per_layer: None,
            packing: Packing::Square,
            filling: Filling::Air,
            surface_emissivity: None,
            wire: self.wire_as_measured(wire),
        });
        let title: String = format!("Identified: {}", self.measured.title).chars().take(200).collect();
        let tolerance = |limit_m: f64| rounded_up(limit_m.max(STEP_M));
        Bench {
            connection: self.connection,
            // Two standard uncertainties of the measurement.
            build_tolerance: Some(BuildTolerance {
                mean_radius_m: tolerance(0.5 * inner.hypot(outer)),
                spacing_m: tolerance(2.0 * spacing),
                turns: 0.5,
                width_m: tolerance(2.0 * width),
                depth_m: tolerance(inner.hypot(outer)),
                offset_m: 0.5e-3,
                tilt_rad: 5e-3,
                distribution: Distribution::Normal,
                not_stated: crate::pair::NotStated::default(),
            }),
            ..Bench::unchecked(title, winding, rounded(self.dimensions.spacing_m.value, STEP_M))
        }
    }

    /// The stock wire, with the diameter over its enamel as measured on the pair.
    fn wire_as_measured(&self, wire: &Wire) -> Wire {
        match self.measured.overall_wire_diameter_m {
            Some(measured) if measured.value > wire.bare_diameter_m => {
                Wire { name: None, overall_diameter_m: rounded(measured.value, WIRE_STEP_M), ..wire.clone() }
            }
            _ => wire.clone(),
        }
    }
}

/// The winding with a section that holds its turns. Turns that do not fit stacked are nested, and if that is not enough
/// the section is enlarged.
fn fitting(mut winding: Winding) -> Winding {
    let fits = |winding: &Winding| {
        let layout = Layout::of(winding);
        layout.fits_width() && layout.fits_depth()
    };
    if !fits(&winding) {
        winding.packing = Packing::Nested;
    }
    for _ in 0..2 {
        let layout = Layout::of(&winding);
        if !layout.fits_width() {
            winding.width_m = rounded_up(layout.needed_width_m);
        }
        if !layout.fits_depth() {
            winding.depth_m = rounded_up(layout.needed_depth_m);
        }
    }
    winding
}
