//! A winding placed in space.

use super::section::Section;
use crate::pair::circuit::current_shares_of;
use crate::pair::{Bench, Coil, Layout, WoundSection};
use nalgebra::{Rotation3, Vector3};

/// One winding with its position and axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedWinding {
    /// Its section.
    pub section: Section,
    /// Its turns.
    pub turns: f64,
    /// Its centre.
    pub centre_m: Vector3<f64>,
    /// Unit vector along its axis; positive current makes field along it.
    pub axis: Vector3<f64>,
    /// Its current per ampere through the ammeter; negative for a coil connected backwards.
    pub current_share: f64,
}

impl PlacedWinding {
    /// A winding on the z axis with its centre at z = `height_m`, carrying the ammeter's current.
    pub const fn on_axis(section: Section, turns: f64, height_m: f64) -> Self {
        let (centre_m, axis) = (Vector3::new(0.0, 0.0, height_m), Vector3::new(0.0, 0.0, 1.0));
        Self { section, turns, centre_m, axis, current_share: 1.0 }
    }

    /// A pair of coils connected as in the bench, coil a at −spacing/2 and coil b at +spacing/2 plus their offsets. A
    /// coil whose last layer is not full becomes the section that stands for its turns ([`Layout::wound`]).
    pub fn pair(bench: &Bench, coils: &[Coil; 2], spacing_m: f64) -> [Self; 2] {
        let shares = current_shares_of(bench, coils);
        let half = 0.5 * spacing_m;
        let place = |coil: &Coil, z: f64, share: f64| {
            let WoundSection { mean_radius_m, width_m, depth_m, axial_m } =
                Layout::wound(&bench.winding, coil);
            let axis = Rotation3::new(Vector3::new(coil.tilt_rad[0], coil.tilt_rad[1], 0.0)) * Vector3::z();
            let middle = Vector3::new(0.0, 0.0, z) + coil.offset_m;
            Self {
                section: Section { mean_radius_m, width_m, depth_m },
                turns: coil.turns,
                centre_m: if axial_m == 0.0 { middle } else { middle + axial_m * axis },
                axis,
                current_share: share * coil.sense,
            }
        };
        [place(&coils[0], -half, shares[0]), place(&coils[1], half, shares[1])]
    }

    /// Half the extent along a direction, a unit vector, of a cylinder with the winding's outer radius and width.
    pub(crate) fn half_extent_m(&self, direction: &Vector3<f64>) -> f64 {
        let outer = self.section.mean_radius_m + 0.5 * self.section.depth_m;
        let along = self.axis.dot(direction).abs().min(1.0);
        outer * (1.0 - along * along).sqrt() + 0.5 * self.section.width_m * along
    }

    /// The corners of the section and the middles of its sides, at an azimuth about the axis.
    pub(crate) fn sides_m(&self, azimuth: f64) -> [Vector3<f64>; 8] {
        let Section { mean_radius_m, width_m, depth_m } = self.section;
        let across = self.axis.cross(&Vector3::ith(self.axis.iamin(), 1.0)).normalize();
        let outward = across * azimuth.cos() + self.axis.cross(&across) * azimuth.sin();
        let at = |radial: f64, axial: f64| {
            let radius = mean_radius_m + 0.5 * radial * depth_m;
            self.centre_m + outward * radius + self.axis * (0.5 * axial * width_m)
        };
        [(-1., -1.), (-1., 0.), (-1., 1.), (0., -1.), (0., 1.), (1., -1.), (1., 0.), (1., 1.)]
            .map(|(radial, axial)| at(radial, axial))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Packing;
    use crate::physics::field::Assembly;

    fn bench(turns: f64, packing: Packing) -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.mean_radius_m = 0.168;
        bench.winding.width_m = 0.022;
        bench.winding.depth_m = 0.009;
        bench.winding.turns = turns;
        bench.winding.layers = Some(8);
        bench.winding.turns_per_layer = Some(20);
        bench.winding.packing = packing;
        bench.winding.wire.bare_diameter_m = 0.95e-3;
        bench.winding.wire.overall_diameter_m = 1.041e-3;
        bench.spacing_m = 0.168;
        bench
    }

    /// Largest difference from the turns computed one by one over the beam region, relative to the field: at the centre
    /// and anywhere.
    fn differences(bench: &Bench) -> [f64; 2] {
        let (smooth, each) = (Assembly::of(bench), Assembly::of_each_turn(bench));
        let points =
            [(0.0, 0.0), (0.05, 0.0), (0.09, 0.0), (0.0, 0.04), (0.0, -0.06), (0.05, 0.03), (0.05, -0.03)];
        let off = |(x, z): (f64, f64)| {
            let point = Vector3::new(x, 0.0, z);
            let wanted = each.field_per_ampere(&point);
            (smooth.field_per_ampere(&point) - wanted).norm() / wanted.norm()
        };
        [off(points[0]), points.into_iter().map(off).fold(0.0, f64::max)]
    }

    #[test]
    fn a_last_layer_that_is_not_full_has_the_field_of_its_turns() {
        for packing in [Packing::Square, Packing::Nested] {
            // Full layers first, for the difference that the smooth section has in any case.
            let [_, full] = differences(&bench(160.0, packing));
            for turns in [159.0, 155.5, 150.0, 144.0, 141.0] {
                let [centre, anywhere] = differences(&bench(turns, packing));
                // Third order in section over radius, (11/168)³ = 2.8e-4; at the centre it cancels between the coils.
                assert!(
                    centre < 2e-5 && anywhere < full + 2e-4,
                    "{packing:?} {turns}: {centre:e}, {anywhere:e}, full {full:e}"
                );
            }
        }
    }

    #[test]
    fn where_half_of_the_last_layer_is_missing_the_section_as_stated_makes_too_little_field() {
        let mut bench = bench(150.0, Packing::Square);
        let wound = Assembly::of(&bench).field_per_ampere(&Vector3::zeros()).z;
        (bench.winding.layers, bench.winding.turns_per_layer) = (None, None);
        let stated = Assembly::of(&bench).field_per_ampere(&Vector3::zeros()).z;
        // The middle of the turns is 3.5 − 490/150 layers of 1.125 mm nearer to the axis. At this spacing the field of
        // a loop varies as the −0.4th power of its radius: d ln B/d ln a = 2 − 3 a²/(a² + s²/4).
        let wanted = 0.4 * (3.5 - 490.0 / 150.0) * 1.125 / 168.0;
        assert!(
            (wound / stated - 1.0 - wanted).abs() < 0.05 * wanted,
            "{} for {wanted}",
            wound / stated - 1.0
        );
    }
}
