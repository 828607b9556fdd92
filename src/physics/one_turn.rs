//! One turn more in a coil: what it adds to the slope, by where in the section it lies.

use crate::pair::Bench;

/// Steps along width and depth between the places in a section at which a turn is tried.
const STEPS: u32 = 8;

/// Smallest and largest change of the slope by one more turn, T/A, over all places in the sections of both coils.
/// `middle_turn` is the change by a turn in the middle of a section. It is multiplied by the centre field of a loop at
/// the place, over that of a loop in the middle.
///
/// A loop of radius r at height h gives B = μ0 I r²/2(r² + h²)^(3/2) on its axis. Offsets across the axis and tilts
/// change the ratio only in second order and are left out.
pub(crate) fn turn_range_tesla_per_ampere(bench: &Bench, middle_turn: f64) -> [f64; 2] {
    let mut over_middle: Vec<f64> = Vec::new();
    for (coil, side) in bench.coils().iter().zip([-0.5, 0.5]) {
        let part = |i: u32| f64::from(i) / f64::from(STEPS) - 0.5;
        let field = |along_depth: f64, along_width: f64| {
            let r = coil.mean_radius_m + along_depth * coil.depth_m;
            let h = side * bench.spacing_m + coil.offset_m.z + along_width * coil.width_m;
            r * r / (r * r + h * h).powf(1.5)
        };
        let middle = field(0.0, 0.0);
        let places = (0..=STEPS).flat_map(|i| (0..=STEPS).map(move |j| (part(i), part(j))));
        over_middle.extend(places.map(|(depth, width)| field(depth, width) / middle));
    }
    let least = over_middle.iter().copied().fold(f64::INFINITY, f64::min);
    let most = over_middle.iter().copied().fold(0.0, f64::max);
    [least * middle_turn, most * middle_turn]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::lanes::InstructionSet;
    use crate::physics::build_error::field_constant_tesla_per_ampere;
    use crate::physics::field::{Assembly, Filament, filaments_field};
    use approx::assert_relative_eq;

    /// Two thick coils, one of them displaced, so that the pair's ends are not alike.
    fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        (bench.winding.width_m, bench.winding.depth_m) = (0.03, 0.02);
        let mut coils = bench.coils();
        coils[1].offset_m.z = 4e-3;
        bench.set_coils(coils);
        bench
    }

    /// The field at the centre of one ampere in a loop, by elliptic integrals a tenth of a micrometre off the axis.
    fn loop_tesla(radius_m: f64, height_m: f64) -> f64 {
        let turn = Filament { radius_m, height_m, current_ampere: 1.0 };
        filaments_field(&[turn], &[1e-7], &[0.0], InstructionSet::Scalar).1[0]
    }

    #[test]
    fn the_ends_of_the_range_are_those_of_all_turns_of_both_sections() {
        let bench = bench();
        let [low, high] = turn_range_tesla_per_ampere(&bench, 1.0);
        let (mut least, mut most) = (f64::INFINITY, 0f64);
        for (coil, z) in bench.coils().iter().zip([-0.075, 0.079]) {
            let middle = loop_tesla(coil.mean_radius_m, z);
            let part = |i: u32| f64::from(i) / 96.0 - 0.5;
            for (i, j) in (0..=96).flat_map(|i| (0..=96).map(move |j| (i, j))) {
                let place = [coil.mean_radius_m + part(i) * coil.depth_m, z + part(j) * coil.width_m];
                let over_middle = loop_tesla(place[0], place[1]) / middle;
                (least, most) = (least.min(over_middle), most.max(over_middle));
            }
        }
        // Here the ends lie at corners, which both ways of looking contain; 1e-10: a tenth of a micrometre off the axis.
        assert_relative_eq!(low, least, max_relative = 1e-10);
        assert_relative_eq!(high, most, max_relative = 1e-10);
        assert!(low < 0.9 && high > 1.1, "{low} {high}");
    }

    #[test]
    fn the_turn_in_the_middle_adds_nearly_the_mean_of_all_turns() {
        let bench = bench();
        let mut wound = bench.clone();
        let mut coils = bench.coils();
        coils[0].turns += 1.0;
        wound.set_coils(coils);
        let slope = |bench: &Bench| field_constant_tesla_per_ampere(&Assembly::of(bench));
        let mean_turn = slope(&wound) - slope(&bench);
        // Second order in the section: (w² − ...)/24 of a curvature of about 1/r² is some parts in ten thousand.
        assert_relative_eq!(mean_turn, loop_tesla(0.15, -0.075), max_relative = 2e-3);
    }
}
