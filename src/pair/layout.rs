//! The arrangement of the turns in the section: layers, turns in a layer, and the place of each turn.
//!
//! `width` and `depth` describe the wound copper, so the turns fill the whole section. A layer of n turns has an axial
//! pitch of width/n. With square packing m layers have a radial pitch of depth/m; with nested packing the first and
//! last layer touch the section's faces and the others lie evenly between. The wire's overall diameter decides whether
//! that is possible.

use super::bench::{Coil, Packing, Winding};
use serde::Serialize;

/// One turn's place in the section, relative to the section's centre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnPlace {
    /// Radial distance from the section's centre, outward positive.
    pub radial_m: f64,
    /// Axial distance from the section's centre.
    pub axial_m: f64,
    /// 1 for a whole turn, less for a partial turn at the end.
    pub turns: f64,
}

/// The arrangement of the turns of one coil in its section.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Layout {
    /// Layers; the last may be incomplete.
    pub layers: u32,
    /// Turns in a full layer.
    pub turns_per_layer: u32,
    /// Whether layers and turns per layer were both assumed: the densest whole-layer winding.
    pub assumed: bool,
    /// Copper cross-section over section area.
    pub fill_factor: f64,
    /// Turns times overall diameter squared, over section area.
    pub occupancy: f64,
    /// Width that a full layer needs.
    pub needed_width_m: f64,
    /// Depth that the layers need.
    pub needed_depth_m: f64,
    /// Mean radius of the turns if they lie tightly at the bottom of the section.
    pub bottom_mean_radius_m: f64,
    /// Layers that fill the section's depth; further ones lie outside it.
    #[serde(skip)]
    filling_layers: u32,
    #[serde(skip)]
    nested: bool,
    #[serde(skip)]
    turns: f64,
    #[serde(skip)]
    width_m: f64,
    #[serde(skip)]
    depth_m: f64,
}

/// The rectangle of uniform current density that stands for a coil's turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WoundSection {
    /// Radius of its middle.
    pub mean_radius_m: f64,
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
    /// Distance of its middle from the coil's centre along the coil's axis.
    pub axial_m: f64,
}

/// Mean positions of the turns relative to the section's centre, and mean squares about these means.
struct Moments {
    radial_m: f64,
    axial_m: f64,
    radial_square_m2: f64,
    axial_square_m2: f64,
}

/// Distances between turns and between layers.
struct Pitches {
    axial_m: f64,
    radial_m: f64,
    first_radial_m: f64,
}

impl Pitches {
    /// Radial position of a layer, outward from the section's centre.
    fn radial_of(&self, layer: u32) -> f64 {
        self.first_radial_m + self.radial_m * f64::from(layer)
    }
}

/// √3/2: radial pitch of nested layers over wire diameter.
const NESTED_PITCH: f64 = 0.866_025_403_784_438_6;
/// Number of turns beyond full layers that still lie at the end of the last layer: one squeezed in, and a quarter for where the
/// leads come out (common practice, no source). If there are more, they start a further layer.
const SURPLUS: f64 = 1.25;
/// Relative tolerance of the comparisons of fit, so that 20 wires of 1.05 mm fit 21 mm.
const SLACK: f64 = 1e-9;

impl Layout {
    /// The layout of a winding from its layers and turns per layer if given, else the densest whole-layer winding that
    /// its width allows.
    pub fn of(winding: &Winding) -> Self {
        let overall = winding.wire.overall_diameter_m;
        let turns = winding.turns;
        let nested = winding.packing == Packing::Nested;
        let ceil = |x: f64| (x * (1.0 - SLACK)).ceil().max(1.0) as u32;
        let whole = |x: f64| (x * (1.0 + SLACK)).floor().max(1.0) as u32;
        let (layers, turns_per_layer) = match (winding.layers, winding.turns_per_layer) {
            (Some(layers), Some(per_layer)) => (layers, per_layer),
            (Some(layers), None) => (layers, ceil(turns / f64::from(layers.max(1)))),
            (None, Some(per_layer)) => (ceil(turns / f64::from(per_layer.max(1))), per_layer),
            (None, None) => {
                // A nested layer shifts by half a wire, so its width must hold n + 1/2 wires.
                let shift = if nested { 0.5 * overall } else { 0.0 };
                let per_layer = whole((winding.width_m - shift) / overall);
                (ceil(turns / f64::from(per_layer)), per_layer)
            }
        };
        let pitch = if nested && layers > 1 { NESTED_PITCH } else { 1.0 };
        let area = winding.width_m * winding.depth_m;
        let mut layout = Self {
            layers,
            turns_per_layer,
            assumed: winding.layers.is_none() && winding.turns_per_layer.is_none(),
            fill_factor: turns * winding.wire.conductor_area_m2() / area,
            occupancy: turns * overall * overall / area,
            needed_width_m: overall
                * (f64::from(turns_per_layer) + if nested && layers > 1 { 0.5 } else { 0.0 }),
            needed_depth_m: overall * (1.0 + pitch * f64::from(layers.saturating_sub(1))),
            bottom_mean_radius_m: 0.0,
            filling_layers: layers,
            nested,
            turns,
            width_m: winding.width_m,
            depth_m: winding.depth_m,
        };
        let inner = winding.mean_radius_m - 0.5 * winding.depth_m;
        let mean_layer = layout.turns_in_layers().map(|(layer, count)| f64::from(layer) * count).sum::<f64>();
        layout.bottom_mean_radius_m = inner + overall * (0.5 + pitch * mean_layer / turns);
        layout
    }

    /// The layout of one coil: the bench's layers with the coil's own turns and sides. Turns that do not fit in these
    /// layers lie in further ones.
    pub(crate) fn of_coil(winding: &Winding, coil: &Coil) -> Self {
        let own =
            Winding { turns: coil.turns, width_m: coil.width_m, depth_m: coil.depth_m, ..winding.clone() };
        let layout = Self::of(winding);
        let stated = Winding {
            layers: Some(layout.layers),
            turns_per_layer: Some(layout.turns_per_layer),
            ..own.clone()
        };
        let with_own_turns = Self::of(&stated);
        if with_own_turns.holds_all_turns() {
            return with_own_turns;
        }
        if winding.layers.is_none() && winding.turns_per_layer.is_none() {
            return Self::of(&own);
        }
        let layers = layout.layers + layout.further_layers(coil.turns).max(1);
        Self { filling_layers: layout.layers, ..Self::of(&Winding { layers: Some(layers), ..stated }) }
    }

    /// Whether layers times turns per layer hold all turns.
    pub(crate) fn holds_all_turns(&self) -> bool {
        f64::from(self.layers) * f64::from(self.turns_per_layer) >= self.turns * (1.0 - SLACK)
    }

    /// Whether a full layer fits the width.
    pub(crate) fn fits_width(&self) -> bool {
        self.needed_width_m <= self.width_m * (1.0 + SLACK)
    }

    /// Whether the layers fit the depth.
    pub(crate) fn fits_depth(&self) -> bool {
        self.needed_depth_m <= self.depth_m * (1.0 + SLACK)
    }

    /// Layer number from 0 and the turns in it, from the inside out.
    pub(crate) fn turns_in_layers(&self) -> impl Iterator<Item = (u32, f64)> + '_ {
        let full = f64::from(self.turns_per_layer);
        (0..self.layers)
            .map(move |layer| (layer, (self.turns - f64::from(layer) * full).clamp(0.0, full)))
            .filter(|(_, count)| *count > 0.0)
    }

    /// The section of uniform current density that stands for a coil's turns.
    ///
    /// If all layers are full, or their number is not stated, this is the wound section itself. If the last layer is
    /// not full, the section has the mean position of the turns and their spread about it, along the radius and along
    /// the axis. Field and inductance depend on anything else only in the third order of section over radius. The
    /// layers are those of the bench. Missing turns are missing at the end of the outermost layer, and about one
    /// surplus turn is added there; more surplus turns lie in further layers outside.
    pub fn wound(winding: &Winding, coil: &Coil) -> WoundSection {
        let as_stated = WoundSection {
            mean_radius_m: coil.mean_radius_m,
            width_m: coil.width_m,
            depth_m: coil.depth_m,
            axial_m: 0.0,
        };
        if winding.layers.is_none() && winding.turns_per_layer.is_none() {
            return as_stated;
        }
        let layout =
            Self { turns: coil.turns, width_m: coil.width_m, depth_m: coil.depth_m, ..Self::of(winding) };
        let capacity = f64::from(layout.layers) * f64::from(layout.turns_per_layer);
        if (coil.turns - capacity).abs() <= capacity * SLACK || coil.turns <= 0.0 {
            return as_stated;
        }
        let full = Self { turns: capacity, ..layout.clone() }.moments(winding.wire.overall_diameter_m);
        let wound = layout.moments(winding.wire.overall_diameter_m);
        // A rectangle's mean square about its middle is a twelfth of its side's square.
        let side = |stated: f64, change: f64| (stated * stated + 12.0 * change).max(0.0).sqrt();
        WoundSection {
            mean_radius_m: coil.mean_radius_m + wound.radial_m - full.radial_m,
            width_m: side(coil.width_m, wound.axial_square_m2 - full.axial_square_m2),
            depth_m: side(coil.depth_m, wound.radial_square_m2 - full.radial_square_m2),
            axial_m: wound.axial_m - full.axial_m,
        }
    }

    /// Width of a coil's winding: that of its section, and of its turns where a single layer does not fill that.
    pub(crate) fn wound_width_m(winding: &Winding, coil: &Coil) -> f64 {
        match Self::of_coil(winding, coil).layers {
            1 => Self::wound(winding, coil).width_m.min(coil.width_m),
            _ => coil.width_m,
        }
    }

    /// Number of layers beyond the stated ones for this many turns.
    fn further_layers(&self, turns: f64) -> u32 {
        let full = f64::from(self.turns_per_layer);
        let surplus = turns - f64::from(self.layers) * full;
        if surplus <= SURPLUS { 0 } else { (surplus / full * (1.0 - SLACK)).ceil() as u32 }
    }

    /// Mean position and spread of the turns, with each layer treated as a strip.
    fn moments(&self, wire_overall_diameter_m: f64) -> Moments {
        let pitches = self.pitches(wire_overall_diameter_m);
        let layers = self.layers + self.further_layers(self.turns);
        let (full, last) = (f64::from(self.turns_per_layer), layers - 1);
        let strips = (0..layers).map(|layer| {
            // The last layer takes all remaining turns, even one more than it holds. So the section has no kink there
            // as a function of the turns.
            let left = (self.turns - f64::from(layer) * full).max(0.0);
            let count = if layer == last { left } else { left.min(full) };
            let length = pitches.axial_m * count;
            let start = -0.5 * self.width_m + pitches.axial_m * self.shift(layer);
            [count, pitches.radial_of(layer), start + 0.5 * length, length * length / 12.0]
        });
        let strips: Vec<[f64; 4]> = strips.collect();
        let turns: f64 = strips.iter().map(|strip| strip[0]).sum();
        let mean = |of: &dyn Fn(&[f64; 4]) -> f64| {
            strips.iter().map(|strip| strip[0] * of(strip)).sum::<f64>() / turns
        };
        let (radial_m, axial_m) = (mean(&|strip| strip[1]), mean(&|strip| strip[2]));
        Moments {
            radial_m,
            axial_m,
            radial_square_m2: mean(&|strip| (strip[1] - radial_m).powi(2)),
            axial_square_m2: mean(&|strip| (strip[2] - axial_m).powi(2) + strip[3]),
        }
    }

    /// The distances from turn to turn and from layer to layer.
    fn pitches(&self, wire_overall_diameter_m: f64) -> Pitches {
        let per_layer = f64::from(self.turns_per_layer);
        let radial_m = if self.staggered() {
            (self.depth_m - wire_overall_diameter_m) / f64::from(self.filling_layers - 1)
        } else {
            self.depth_m / f64::from(self.filling_layers)
        };
        Pitches {
            axial_m: self.width_m / if self.staggered() { per_layer + 0.5 } else { per_layer },
            radial_m,
            first_radial_m: -0.5 * radial_m * f64::from(self.filling_layers - 1),
        }
    }

    /// Radial distance of a layer's middle, numbered from 0, from the section's centre.
    pub(crate) fn radial_middle_m(&self, layer: u32, wire_overall_diameter_m: f64) -> f64 {
        self.pitches(wire_overall_diameter_m).radial_of(layer)
    }

    /// Distance along the axis from turn to turn.
    pub(crate) fn axial_pitch_m(&self) -> f64 {
        self.pitches(0.0).axial_m
    }

    /// Whether every other layer lies in the grooves of the one below.
    pub(crate) fn is_staggered(&self) -> bool {
        self.staggered()
    }

    /// Whether every other layer is shifted by half a turn.
    fn staggered(&self) -> bool {
        self.nested && self.filling_layers > 1
    }

    /// Shift of a layer, in turns.
    fn shift(&self, layer: u32) -> f64 {
        if self.staggered() && layer % 2 == 1 { 0.5 } else { 0.0 }
    }

    /// The position of every turn, from the inside out; a partial turn comes last.
    pub fn places(&self, wire_overall_diameter_m: f64) -> Vec<TurnPlace> {
        let pitches = self.pitches(wire_overall_diameter_m);
        let mut places = Vec::with_capacity(self.turns.ceil() as usize);
        for (layer, count) in self.turns_in_layers() {
            for turn in 0..count.ceil() as u32 {
                places.push(TurnPlace {
                    radial_m: pitches.radial_of(layer),
                    axial_m: -0.5 * self.width_m
                        + pitches.axial_m * (f64::from(turn) + 0.5 + self.shift(layer)),
                    turns: (count - f64::from(turn)).min(1.0),
                });
            }
        }
        places
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;
    use crate::pair::{Filling, Wire};
    use approx::assert_relative_eq;

    fn winding(turns: f64, packing: Packing) -> Winding {
        Winding {
            mean_radius_m: 0.2,
            width_m: 0.021,
            depth_m: 0.009,
            turns,
            layers: None,
            turns_per_layer: None,
            packing,
            filling: Filling::Air,
            surface_emissivity: None,
            wire: Wire {
                name: None,
                conductor: Conductor::Copper,
                bare_diameter_m: 1.0e-3,
                overall_diameter_m: 1.05e-3,
                thermal_class_celsius: None,
            },
        }
    }

    #[test]
    fn twenty_wires_fill_a_layer_twenty_diameters_wide() {
        let layout = Layout::of(&winding(160.0, Packing::Square));
        assert_eq!((layout.turns_per_layer, layout.layers), (20, 8));
        assert!(layout.fits_width() && layout.fits_depth() && layout.holds_all_turns());
        // 8 layers of 1.05 mm in 9 mm: at the bottom their mean radius is 195.5 + 4.2 mm.
        assert_relative_eq!(layout.bottom_mean_radius_m, 0.1955 + 0.0042, max_relative = 1e-12);
    }

    #[test]
    fn half_a_turn_is_half_a_turn_and_comes_last() {
        let layout = Layout::of(&winding(159.5, Packing::Square));
        let places = layout.places(1.05e-3);
        assert_eq!(places.len(), 160);
        assert_relative_eq!(places.iter().map(|place| place.turns).sum::<f64>(), 159.5);
        assert_relative_eq!(places[159].turns, 0.5);
    }

    #[test]
    fn full_layers_are_centred_on_the_section_and_stay_inside_it() {
        for (turns, packing) in [(160.0, Packing::Square), (152.0, Packing::Nested)] {
            let layout = Layout::of(&winding(turns, packing));
            assert!(layout.holds_all_turns() && layout.fits_width(), "{layout:?}");
            let places = layout.places(1.05e-3);
            let mean = |of: fn(&TurnPlace) -> f64| places.iter().map(of).sum::<f64>() / turns;
            assert!(mean(|place| place.radial_m).abs() < 1e-15);
            assert!(mean(|place| place.axial_m).abs() < 1e-15);
            let reach = places.iter().map(|place| place.axial_m.abs()).fold(0.0, f64::max);
            assert!(reach <= 0.0105 - 0.000525 + 1e-12, "{reach}");
        }
    }

    #[test]
    fn nested_neighbours_are_at_least_a_wire_apart() {
        let layout = Layout::of(&winding(152.0, Packing::Nested));
        let places = layout.places(1.05e-3);
        for (i, a) in places.iter().enumerate() {
            for b in &places[..i] {
                let distance = (a.radial_m - b.radial_m).hypot(a.axial_m - b.axial_m);
                assert!(distance > 1.05e-3 * (1.0 - 1e-9), "{a:?} {b:?} {distance}");
            }
        }
    }

    #[test]
    fn full_layers_are_wound_as_stated_and_a_short_last_one_lies_nearer_to_the_axis() {
        let stated = |turns: f64, packing| Winding {
            layers: Some(8),
            turns_per_layer: Some(20),
            ..winding(turns, packing)
        };
        let coil = |turns: f64| Coil {
            turns,
            mean_radius_m: 0.2,
            width_m: 0.021,
            depth_m: 0.009,
            offset_m: nalgebra::Vector3::zeros(),
            tilt_rad: [0.0; 2],
            sense: 1.0,
            resistance: None,
        };
        for packing in [Packing::Square, Packing::Nested] {
            let wound = Layout::wound(&stated(160.0, packing), &coil(160.0));
            let sides = [wound.mean_radius_m, wound.width_m, wound.depth_m, wound.axial_m];
            assert_eq!(sides, [0.2, 0.021, 0.009, 0.0]);
            // No kink at full layers: half a turn more has the opposite effect of half a turn less.
            let [less, more] = [159.5, 160.5]
                .map(|turns| Layout::wound(&stated(160.0, packing), &coil(turns)).mean_radius_m - 0.2);
            assert!((less + more).abs() < 0.02 * more, "{less} {more}");
        }
        // Seven full layers of 20, and ten turns in the eighth: mean layer (7·20·3 + 10·7)/150 instead of 3.5, 1.125 mm
        // per layer.
        let wound = Layout::wound(&stated(160.0, Packing::Square), &coil(150.0));
        assert_relative_eq!(
            wound.mean_radius_m,
            0.2 + (490.0 / 150.0 - 3.5) * 1.125e-3,
            max_relative = 1e-12
        );
        // The ten missing turns are on the far side: the middle moves by 10/150 of a quarter of the width.
        assert_relative_eq!(wound.axial_m, -10.0 / 150.0 * 0.021 / 4.0, max_relative = 1e-9);
        // If nothing is stated about the layers, nothing is assumed about the last one.
        let wound = Layout::wound(&winding(150.0, Packing::Square), &coil(150.0));
        assert_eq!(wound.mean_radius_m, 0.2);
    }

    #[test]
    fn turns_beyond_the_layers_open_a_further_one_as_if_it_had_been_stated() {
        let stated = |layers: u32, turns: f64| Winding {
            layers: Some(layers),
            turns_per_layer: Some(20),
            ..winding(turns, Packing::Square)
        };
        // Eight layers of 1.125 mm in 9 mm. A ninth has the same pitch and extends beyond the stated section.
        let coil = |winding: &Winding| Coil { turns: 180.0, ..winding.designed_coil() };
        let eight = stated(8, 160.0);
        let nine =
            Winding { mean_radius_m: 0.2 + 0.5 * 1.125e-3, depth_m: 0.009 + 1.125e-3, ..stated(9, 180.0) };
        let (found, wanted) = (Layout::wound(&eight, &coil(&eight)), Layout::wound(&nine, &coil(&nine)));
        assert_relative_eq!(found.mean_radius_m, wanted.mean_radius_m, max_relative = 1e-12);
        assert_relative_eq!(found.depth_m, wanted.depth_m, max_relative = 1e-12);
        assert_relative_eq!(found.width_m, wanted.width_m, max_relative = 1e-12);
        assert_relative_eq!(found.axial_m, wanted.axial_m, epsilon = 1e-15);
        let layout = Layout::of_coil(&eight, &coil(&eight));
        assert_eq!((layout.layers, layout.turns_per_layer, layout.holds_all_turns()), (9, 20, true));
        let places = layout.places(1.05e-3);
        assert_relative_eq!(places.iter().map(|place| place.turns).sum::<f64>(), 180.0);
        // Separate turns and section have the same middle.
        let middle = places.iter().map(|place| place.radial_m).sum::<f64>() / 180.0;
        assert_relative_eq!(0.2 + middle, found.mean_radius_m, max_relative = 1e-12);
    }
}
