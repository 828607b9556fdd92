//! The outer diameter after each layer, and what each layer adds to it.
//!
//! A layer adds least if the thinnest wire lies in the grooves of the layer beneath, and most if the thickest wire lies on wire,
//! or if the layers are spread over the section of the spec where that is more. The limits of the diameter follow from this
//! alone: a diameter within them can be reached from one within those of the layer before, and leads to a finished coil
//! within its own limits. So no layer that adds what it may is refused, and a turn that slips on top of another, which
//! adds two wire diameters at once, is more than any layer may add.

use crate::pair::{Allowed, Layout, WireLimits};

/// √3/2: distance, in wire diameters, of layers that lie in each other's grooves.
pub(super) const IN_GROOVES: f64 = 0.866_025_403_784_438_6;

/// What the layers are wound from and on.
#[derive(Clone, Copy)]
pub(super) struct Stack<'a> {
    pub(super) layout: &'a Layout,
    pub(super) wire: &'a WireLimits,
    /// Overall diameter of the wire in the spec, by which the section is laid out.
    pub(super) overall_m: f64,
    /// Depth of the section.
    pub(super) depth_m: f64,
    /// Insulation or filler between layers; 0 for none.
    pub(super) between_m: f64,
}

/// The diameter after one layer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layer {
    pub(super) outer_m: Allowed,
    pub(super) adds_m: [f64; 2],
}

impl Stack<'_> {
    fn beneath(&self) -> f64 {
        f64::from(self.layout.layers.saturating_sub(1))
    }

    /// What every layer but the first adds if the layers are spread evenly over the section.
    fn spread_m(&self) -> f64 {
        2.0 * (self.depth_m - self.overall_m) / self.beneath().max(1.0)
    }

    /// Least and most that the first layer adds.
    fn first_m(&self) -> [f64; 2] {
        let overall = self.wire.overall_diameter_m;
        [2.0 * overall.least.min(self.overall_m), 2.0 * overall.most.max(self.overall_m)]
    }

    /// Least and most that every further layer adds.
    fn next_m(&self) -> [f64; 2] {
        let overall = self.wire.overall_diameter_m;
        // Insulation covers the grooves. A gap between turns lets the next layer sink in deeper.
        let apart = self.layout.axial_pitch_m().max(overall.least) / (2.0 * overall.least);
        let grooves = if self.between_m > 0.0 { 1.0 } else { (1.0 - apart * apart).max(0.0).sqrt() };
        let least = 2.0 * (overall.least * grooves + self.between_m);
        let most = 2.0 * (overall.most + self.between_m);
        [least.min(self.spread_m()), most.max(self.spread_m())]
    }

    /// Whether a turn that lies on another may not show, because a loose layer adds as much as a tight one with a slip.
    pub(super) fn hides_a_slip(&self) -> bool {
        let [least, most] = self.next_m();
        self.layout.layers > 1 && least + 2.0 * IN_GROOVES * self.wire.overall_diameter_m.least <= most
    }

    /// All layers on a floor, for a finished coil within its limits.
    pub(super) fn layers(&self, floor: Allowed, finished: Allowed) -> Vec<Layer> {
        let (first, next) = (self.first_m(), self.next_m());
        let expected = |index: u32| floor.nominal + 2.0 * self.overall_m + f64::from(index) * self.spread_m();
        // One layer may fill less than the section, so that it cannot reach the finished coil's limits.
        let last = expected(self.layout.layers.saturating_sub(1));
        let reached = |floor_m: f64, end: usize| floor_m + first[end] + self.beneath() * next[end];
        let ends = [
            finished.least.min(last).min(reached(floor.least, 1)),
            finished.most.max(last).max(reached(floor.most, 0)),
        ];
        let (mut least, mut most) = (floor.least, floor.most);
        let layer = |index: u32| {
            let adds_m = if index == 0 { first } else { next };
            let left = self.beneath() - f64::from(index);
            least = (least + adds_m[0]).max(ends[0] - left * next[1]);
            most = (most + adds_m[1]).min(ends[1] - left * next[0]);
            Layer { outer_m: Allowed { least, nominal: expected(index), most }, adds_m }
        };
        (0..self.layout.layers.max(1)).map(layer).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::IN_GROOVES;
    use crate::constants::Conductor;
    use crate::numeric::random::SampleGenerator;
    use crate::pair::wires::stock_wires;
    use crate::pair::{Bench, BuildTolerance, Packing, Winding};
    use crate::questions::build::request::Request;
    use crate::questions::build::winding::{WindingPlan, winding_plan};

    /// Windings of every stock wire, tight to loose, stacked and nested, on formers from 20 mm to 400 mm.
    fn plans() -> Vec<WindingPlan> {
        let wires = stock_wires();
        let one = |case: usize| {
            let mut random = SampleGenerator::new(11, case as u64);
            let wire = wires[case % wires.len()].wire(Conductor::Copper, None);
            let overall = wire.overall_diameter_m;
            let packing = if random.unit() < 0.5 { Packing::Square } else { Packing::Nested };
            let layers = 1 + random.whole(24);
            let loose = 1.0 + if random.unit() < 0.5 { 0.03 } else { 0.6 } * random.unit();
            let per_layer = 4 + random.whole(30);
            let radius = 10f64.powf(-2.0 + 1.3 * random.unit()) + layers as f64 * overall;
            let width = (per_layer as f64 + 0.5) * overall * (1.0 + 0.1 * random.unit());
            let mut winding = Winding::new(
                radius,
                width,
                layers as f64 * overall * loose,
                (layers * per_layer) as f64,
                wire,
            );
            winding.packing = packing;
            (winding.layers, winding.turns_per_layer) = (Some(layers as u32), Some(per_layer as u32));
            let mut bench = Bench::unchecked("Any", winding, 3.0 * radius);
            if random.unit() < 0.5 {
                let limit = 10f64.powf(-5.0 + 2.0 * random.unit());
                bench.build_tolerance =
                    Some(BuildTolerance { mean_radius_m: limit, depth_m: limit, ..BuildTolerance::ORDINARY });
            }
            winding_plan(&bench, &Request::default()).unwrap()
        };
        (0..600).map(one).collect()
    }

    #[test]
    fn limits_and_design_grow_by_what_a_layer_may_add() {
        for plan in plans() {
            let mut before = plan.floor_diameter_m;
            for row in &plan.layers {
                let (outer, [least, most]) = (row.outer_diameter_m, row.adds_m);
                let slack = 1e-9;
                for step in
                    [outer.least - before.least, outer.nominal - before.nominal, outer.most - before.most]
                {
                    assert!(step >= least - slack && step <= most + slack, "{step} {row:?} {plan:?}");
                }
                assert!(
                    outer.least <= outer.nominal + slack && outer.nominal <= outer.most + slack,
                    "{row:?}"
                );
                before = outer;
            }
            let (last, finished) = (before, plan.finished_diameter_m);
            if plan.layers.len() > 1 {
                assert!((last.nominal - finished.nominal).abs() < 1e-9);
                assert!(last.least >= finished.least - 1e-9 && last.most <= finished.most + 1e-9);
            }
        }
    }

    #[test]
    fn a_turn_on_another_adds_more_than_any_layer_may_whatever_the_wire() {
        let mut looked = 0;
        for plan in plans() {
            let slip = 2.0 * plan.wire.overall_diameter_m.least * IN_GROOVES;
            for row in plan.layers.iter().filter(|row| row.layer > 1) {
                looked += 1;
                assert!(row.adds_m[0] + slip > row.adds_m[1], "{row:?} {plan:?}");
            }
        }
        assert!(looked > 3000, "{looked}");
    }
}
