//! What warmth does to the field: currents that shift and windings that grow.

use super::circuit::Currents;
use super::materials::former_material;
use super::transient::ThermalState;
use crate::field::{Assembly, PlacedWinding};
use crate::spec::{Bench, Model};
use nalgebra::Vector3;

/// The pair's centre field as its coils warm.
///
/// A winding's mean radius, width and depth grow with the conductor's expansion and the winding's mean temperature, or
/// with the former's floor where that grows more: a conductor cannot be squeezed shorter, a former can stretch the
/// winding. The spacing is the bench's and stays.
#[derive(Clone, Debug)]
pub struct WarmField {
    windings: Vec<PlacedWinding>,
    senses: [f64; 2],
    conductor_per_kelvin: f64,
    former_per_kelvin: f64,
    room_celsius: f64,
}

impl WarmField {
    /// Of a bench whose dimensions hold at room temperature.
    pub fn of(bench: &Bench, model: Model, room_celsius: f64) -> Self {
        let former_per_kelvin = bench.former.as_ref().map_or(0.0, |former| {
            former.expansion_per_kelvin.unwrap_or(former_material(&former.material).0.expansion_per_kelvin)
        });
        Self {
            windings: Assembly::of(bench, model).windings().to_vec(),
            senses: bench.coils(model).map(|coil| coil.sense),
            conductor_per_kelvin: bench.winding.wire.conductor.linear_expansion_per_kelvin(),
            former_per_kelvin,
            room_celsius,
        }
    }

    /// The field along z at the centre.
    pub fn centre_tesla(&self, currents: &Currents, state: &ThermalState) -> f64 {
        Assembly::new(self.warm_windings(currents, state)).field_per_ampere(&Vector3::zeros()).z
    }

    /// The sum of what each coil alone makes there: what the field is measured against when coils oppose each other.
    pub fn centre_size_tesla(&self, currents: &Currents, state: &ThermalState) -> f64 {
        self.warm_windings(currents, state)
            .into_iter()
            .map(|winding| Assembly::new(vec![winding]).field_per_ampere(&Vector3::zeros()).norm())
            .sum()
    }

    fn warm_windings(&self, currents: &Currents, state: &ThermalState) -> Vec<PlacedWinding> {
        self.windings
            .iter()
            .enumerate()
            .map(|(coil, winding)| {
                let conductor = self.conductor_per_kelvin * (state.mean_celsius[coil] - self.room_celsius);
                let former = self.former_per_kelvin * (state.wall_celsius[coil][1] - self.room_celsius);
                let scale = 1.0 + conductor.max(former);
                let mut winding = *winding;
                winding.section.mean_radius_m *= scale;
                winding.section.width_m *= scale;
                winding.section.depth_m *= scale;
                winding.current_share = currents.coil_ampere[coil] * self.senses[coil];
                winding
            })
            .collect()
    }
}
