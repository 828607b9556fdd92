//! The likeliest candidate as a bench, to rebuild it.

use super::prediction::{Prediction, Scored};
use crate::files::spec;
use crate::pair::{Bench, BuildTolerance, Distribution, Filling, Layout, Packing, Winding, Wire};

impl Prediction<'_> {
    /// The likeliest candidate whose spec every command can read. `None` if there is none: the dimensions then contradict
    /// each other, as coils do that would overlap.
    pub(super) fn readable_bench(&self, wires: &[Wire], candidates: &[Scored]) -> Option<Bench> {
        candidates
            .iter()
            .map(|scored| self.bench(&wires[scored.wire], scored.turns))
            .find(|bench| spec::bench_from_text("identified.json", &spec::spec_text(bench)).is_ok())
    }

    /// The candidate as a bench; layers and turns in a layer are left to the densest winding.
    pub(super) fn bench(&self, wire: &Wire, turns: u32) -> Bench {
        let section = self.dimensions.section();
        let [inner, outer, width, spacing] = self.dimensions.uncertainties();
        let mut winding = Winding {
            mean_radius_m: section.mean_radius_m,
            width_m: section.width_m,
            depth_m: section.depth_m,
            turns: f64::from(turns),
            layers: None,
            turns_per_layer: None,
            packing: Packing::Square,
            filling: Filling::Air,
            surface_emissivity: None,
            wire: wire.clone(),
        };
        // Turns that do not fit wire on wire lie in each other's grooves.
        let layout = Layout::of(&winding);
        if !(layout.fits_width() && layout.fits_depth()) {
            winding.packing = Packing::Nested;
        }
        let title: String = format!("Identified: {}", self.measured.title).chars().take(200).collect();
        Bench {
            connection: self.connection,
            // As well as it was measured: two standard uncertainties.
            build_tolerance: Some(BuildTolerance {
                mean_radius_m: 0.5 * inner.hypot(outer),
                spacing_m: 2.0 * spacing,
                turns: 0.5,
                width_m: 2.0 * width,
                depth_m: inner.hypot(outer),
                offset_m: 0.5e-3,
                tilt_rad: 5e-3,
                distribution: Distribution::Normal,
            }),
            ..Bench::bare(title, winding, self.dimensions.spacing_m.value)
        }
    }
}
