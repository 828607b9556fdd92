//! One heated coil: the heat it gives the room at a given temperature of its copper.

use super::faces;
use super::faces::Face;
use super::pack::WirePack;
use super::section::{CooledSection, LOADS, Profile, Responses, SolvedSection};
use crate::Result;
use crate::pair::{Bench, Coil, Layout};
use nalgebra::{SMatrix, SVector};
use std::cell::Cell;
use std::f64::consts::TAU;

/// Surface temperatures are iterated until they change by less than this fraction of the rise.
const SURFACE_TOLERANCE: f64 = 1e-9;
const SURFACE_ITERATIONS: usize = 100;
/// A wall whose heat capacity is less than this part of the winding's has no temperature of its own in the model: it
/// follows the winding within seconds. Followed one by one, thin walls would force steps of a fraction of a second
/// through cycles of hours.
const LEAST_WALL: f64 = 0.05;
/// Rise of the winding at which the ratio of such a wall's rise to the winding's is computed.
const USUAL_RISE_KELVIN: f64 = 30.0;
/// Part of the heat stored in such a wall that is added to the winding's. The rest is stored behind the surface that
/// reaches its limit first. Found by comparison with walls followed one by one.
const STORED: f64 = 0.75;

/// One coil as a thermal model.
#[derive(Clone, Debug, PartialEq)]
pub struct HeatedCoil {
    /// Its sides, in the order of `Side::ALL`.
    pub faces: [Face; 4],
    /// The wire pack.
    pub pack: WirePack,
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
    /// Mean circumference.
    pub circumference_m: f64,
    /// Heat capacity of the winding and of walls that follow it, including the factor from a warm-up test.
    pub winding_joule_per_kelvin: f64,
    /// Heat capacity of each side's wall, including that factor; 0 if the side has no wall, or one that follows the winding.
    pub wall_joule_per_kelvin: [f64; 4],
    /// Factor on the surface coefficients: 1, or the result of a warm-up test.
    pub surface_factor: f64,
    /// Temperature of the room's air and walls.
    pub room_celsius: f64,
}

/// Temperatures of a coil whose walls are in balance with its winding.
#[derive(Clone, Copy, Debug)]
pub struct CoilTemperatures {
    /// Mean over the winding, the temperature that its resistance shows.
    pub mean_celsius: f64,
    /// Outer surface of each side.
    pub surface_celsius: [f64; 4],
    /// Middle of each side's wall; the surface of the pack if there is no wall.
    pub wall_celsius: [f64; 4],
    /// Heat given to the room.
    pub loss_watt: f64,
    room_celsius: f64,
    profile: Profile,
}

/// Heat flows of a coil at one moment, for any temperatures of its walls.
#[derive(Clone, Copy, Debug)]
pub struct CoilFlows {
    /// Heat leaving the winding.
    pub from_winding_watt: f64,
    /// Heat that each side's wall gains.
    pub wall_gain_watt: [f64; 4],
    /// Heat given to the room.
    pub to_room_watt: f64,
    /// Outer surface of each side.
    pub surface_celsius: [f64; 4],
    room_celsius: f64,
    profile: Profile,
}

impl HeatedCoil {
    /// The model of one coil of a bench; `upper` says that a coil lying flat is the upper one.
    ///
    /// A single layer that its turns do not fill is as wide as they are.
    pub fn of(bench: &Bench, coil: &Coil, upper: bool, room_celsius: f64) -> Result<Self> {
        let coil = &Coil { width_m: Layout::wound_width_m(&bench.winding, coil), ..coil.clone() };
        let pack =
            WirePack::of(&bench.winding.wire, coil.turns, coil.width_m * coil.depth_m, bench.winding.filling);
        let faces = faces::faces(bench, coil, upper)?;
        let circumference_m = TAU * coil.mean_radius_m;
        let winding = pack.heat_capacity_joule_per_m_kelvin * circumference_m;
        let walls = faces.map(|face| face.wall.map_or(0.0, |wall| wall.heat_capacity_joule_per_kelvin));
        let lags = |capacity: f64| capacity >= LEAST_WALL * winding;
        let mut this = Self {
            faces,
            pack,
            width_m: coil.width_m,
            depth_m: coil.depth_m,
            circumference_m,
            winding_joule_per_kelvin: winding,
            wall_joule_per_kelvin: walls.map(|capacity| if lags(capacity) { capacity } else { 0.0 }),
            surface_factor: 1.0,
            room_celsius,
        };
        // A wall without a temperature of its own is as warm as in balance with the winding, and stores heat
        // accordingly.
        let warm = this.settled(room_celsius + USUAL_RISE_KELVIN);
        let following = (0..4)
            .filter(|side| !this.lags(*side))
            .map(|side| STORED * walls[side] * (warm.wall_celsius[side] - room_celsius) / USUAL_RISE_KELVIN);
        this.winding_joule_per_kelvin += following.sum::<f64>();
        Ok(this)
    }

    /// The same coil with surface coefficients and heat capacities multiplied by the factors from a warm-up test.
    pub(crate) fn with_factors(&self, surface_factor: f64, heat_capacity_factor: f64) -> Self {
        Self {
            surface_factor: self.surface_factor * surface_factor,
            winding_joule_per_kelvin: self.winding_joule_per_kelvin * heat_capacity_factor,
            wall_joule_per_kelvin: self.wall_joule_per_kelvin.map(|capacity| capacity * heat_capacity_factor),
            ..self.clone()
        }
    }

    /// Heat capacity of winding and former together.
    pub(crate) fn heat_capacity_joule_per_kelvin(&self) -> f64 {
        self.winding_joule_per_kelvin + self.wall_joule_per_kelvin.iter().sum::<f64>()
    }

    /// The coil at a given mean temperature of its winding, its walls in balance.
    pub(crate) fn settled(&self, mean_celsius: f64) -> CoilTemperatures {
        self.settled_near(mean_celsius, &SurfaceGuess::default())
    }

    /// The same, starting from a guess, which is updated.
    pub(super) fn settled_near(&self, mean_celsius: f64, guess: &SurfaceGuess) -> CoilTemperatures {
        let mean_kelvin = mean_celsius - self.room_celsius;
        let mut surface_kelvin = guess.open.get().map(|ratio| ratio * mean_kelvin);
        let mut acceleration = Acceleration::default();
        let mut section = guess.section.take();
        let mut round = 0;
        loop {
            let conductance = self.conductance_watt_per_kelvin(surface_kelvin);
            let solved = self.section(&conductance, section.as_ref());
            let responses = solved.responses();
            let watt_per_m = mean_kelvin / responses.mean_kelvin[0];
            let side_kelvin = responses.side_kelvin[0].map(|kelvin| kelvin * watt_per_m);
            let side_watt = self.each_face(|index, _| conductance[index] * side_kelvin[index]);
            let behind = |index: usize, share: f64| {
                side_kelvin[index] - share * self.faces[index].wall_kelvin_per_watt() * side_watt[index]
            };
            let found = self.each_face(|index, _| behind(index, 1.0));
            round += 1;
            if self.stands_still(mean_kelvin, &surface_kelvin, &found) || round == SURFACE_ITERATIONS {
                guess.open.set(ratios(guess.open.get(), found, [mean_kelvin; 4]));
                guess.section.set(Some(solved));
                return CoilTemperatures {
                    mean_celsius,
                    surface_celsius: found.map(|kelvin| self.room_celsius + kelvin),
                    wall_celsius: self.each_face(|index, _| self.room_celsius + behind(index, 0.5)),
                    loss_watt: side_watt.iter().sum(),
                    room_celsius: self.room_celsius,
                    profile: solved.profile(&[watt_per_m, 0.0, 0.0, 0.0, 0.0]),
                };
            }
            surface_kelvin = acceleration.next(surface_kelvin, found);
            section = Some(solved);
        }
    }

    /// Conductance from each side of the winding through the wall to the room, at the given surface temperatures.
    fn conductance_watt_per_kelvin(&self, surface_kelvin: [f64; 4]) -> [f64; 4] {
        self.each_face(|index, face| {
            let outside = 1.0 / self.outside_watt_per_kelvin(face, surface_kelvin[index]);
            1.0 / (face.wall_kelvin_per_watt() + outside)
        })
    }

    /// The heat flows at a given mean temperature of the winding and given temperatures of the walls' middles.
    ///
    /// The profile inside the winding is taken as settled, because it settles in minutes and the coil as a whole in an
    /// hour. If a wall lags behind, the flow into it beyond the settled flow is taken as uniform over its side.
    #[cfg(test)]
    pub(crate) fn flows(&self, mean_celsius: f64, wall_celsius: [f64; 4]) -> CoilFlows {
        self.flows_near(mean_celsius, wall_celsius, &SurfaceGuess::default())
    }

    /// The same, starting from a guess, which is updated.
    pub(super) fn flows_near(
        &self,
        mean_celsius: f64,
        wall_celsius: [f64; 4],
        guess: &SurfaceGuess,
    ) -> CoilFlows {
        let mean_kelvin = mean_celsius - self.room_celsius;
        let wall_kelvin = wall_celsius.map(|celsius| celsius - self.room_celsius);
        let mut surface_kelvin = guess.open.get().map(|ratio| ratio * mean_kelvin);
        let mut to_room_watt = [0.0; 4];
        let of_wall = guess.of_wall.get();
        for (index, face) in self.faces.iter().enumerate().filter(|(index, _)| self.lags(*index)) {
            (surface_kelvin[index], to_room_watt[index]) =
                self.outside_of_wall(face, wall_kelvin[index], of_wall[index]);
        }
        guess.of_wall.set(ratios(of_wall, surface_kelvin, wall_kelvin));
        let mut acceleration = Acceleration::default();
        let mut section = guess.section.take();
        let mut round = 0;
        loop {
            let conductance = self.conductance_watt_per_kelvin(surface_kelvin);
            let solved = self.section(&conductance, section.as_ref());
            let responses = solved.responses();
            let amounts = self.lagging_loads(&responses, mean_kelvin, &conductance, &wall_kelvin);
            let side_kelvin: [f64; 4] = std::array::from_fn(|side| {
                responses.side_kelvin.iter().zip(amounts).map(|(kelvin, amount)| kelvin[side] * amount).sum()
            });
            let side_watt = self.each_face(|index, _| {
                conductance[index] * side_kelvin[index] + amounts[index + 1] * self.circumference_m
            });
            let mut found = surface_kelvin;
            for (index, face) in self.faces.iter().enumerate().filter(|(index, _)| !self.lags(*index)) {
                found[index] = side_kelvin[index] - face.wall_kelvin_per_watt() * side_watt[index];
                to_room_watt[index] = side_watt[index];
            }
            round += 1;
            if self.stands_still(mean_kelvin, &surface_kelvin, &found) || round == SURFACE_ITERATIONS {
                guess.open.set(ratios(guess.open.get(), found, [mean_kelvin; 4]));
                guess.section.set(Some(solved));
                return CoilFlows {
                    from_winding_watt: side_watt.iter().sum(),
                    wall_gain_watt: self.each_face(|index, _| side_watt[index] - to_room_watt[index]),
                    to_room_watt: to_room_watt.iter().sum(),
                    surface_celsius: found.map(|kelvin| self.room_celsius + kelvin),
                    room_celsius: self.room_celsius,
                    profile: solved.profile(&amounts),
                };
            }
            surface_kelvin = acceleration.next(surface_kelvin, found);
            section = Some(solved);
        }
    }

    /// The loads of a section with a given mean temperature whose covered sides give their heat to walls of given
    /// temperature. There is one source for the mean and one extra flow for each covered side; the extra flow of the
    /// other sides is 0.
    fn lagging_loads(
        &self,
        responses: &Responses,
        mean_kelvin: f64,
        conductance: &[f64; 4],
        wall_kelvin: &[f64; 4],
    ) -> [f64; LOADS] {
        let mut equations = SMatrix::<f64, LOADS, LOADS>::identity();
        let mut wanted = SVector::<f64, LOADS>::zeros();
        wanted[0] = mean_kelvin;
        for (column, mean_kelvin) in responses.mean_kelvin.iter().enumerate() {
            equations[(0, column)] = *mean_kelvin;
        }
        for (index, face) in self.faces.iter().enumerate() {
            let Some(wall) = face.wall.filter(|_| self.lags(index)) else { continue };
            // Settled flow U θ plus extra flow X (W, over the circumference) equals the flow through half the wall:
            // U θ + X = (θ − θ_wall) / (R/2), times R/2.
            let half = 0.5 * wall.resistance_kelvin_per_watt;
            wanted[index + 1] = -wall_kelvin[index];
            for (column, side_kelvin) in responses.side_kelvin.iter().enumerate() {
                equations[(index + 1, column)] = (half * conductance[index] - 1.0) * side_kelvin[index];
            }
            equations[(index + 1, index + 1)] += half * self.circumference_m;
        }
        equations.lu().solve(&wanted).unwrap_or_else(SVector::zeros).into()
    }

    /// Whether a side has a wall with a temperature of its own.
    fn lags(&self, side: usize) -> bool {
        self.wall_joule_per_kelvin[side] > 0.0
    }

    /// The section with the given conductance from each side to the room; `before` is an earlier solution for this
    /// coil.
    fn section(&self, conductance: &[f64; 4], before: Option<&SolvedSection>) -> SolvedSection {
        let section = CooledSection {
            width_m: self.width_m,
            depth_m: self.depth_m,
            conductivity_watt_per_m_kelvin: self.pack.conductivity_watt_per_m_kelvin,
            side_watt_per_m2_kelvin: self.each_face(|index, face| conductance[index] / face.pack_area_m2),
        };
        section.solve_after(before)
    }

    fn stands_still(&self, scale_kelvin: f64, before: &[f64; 4], after: &[f64; 4]) -> bool {
        before
            .iter()
            .zip(after)
            .all(|(before, after)| (after - before).abs() <= SURFACE_TOLERANCE * scale_kelvin.abs())
    }

    fn each_face(&self, mut of_face: impl FnMut(usize, &Face) -> f64) -> [f64; 4] {
        std::array::from_fn(|index| of_face(index, &self.faces[index]))
    }

    fn outside_watt_per_kelvin(&self, face: &Face, surface_kelvin: f64) -> f64 {
        self.surface_factor
            * face.surface.conductance_watt_per_kelvin(self.room_celsius + surface_kelvin, self.room_celsius)
    }

    /// Outside temperature and heat flow of a wall whose middle is `middle_kelvin` above the room. The iteration starts
    /// with the outside at `ratio` times that.
    fn outside_of_wall(&self, face: &Face, middle_kelvin: f64, ratio: f64) -> (f64, f64) {
        let mut surface_kelvin = ratio * middle_kelvin;
        let mut acceleration = Acceleration::default();
        let mut round = 0;
        loop {
            let outside = self.outside_watt_per_kelvin(face, surface_kelvin);
            let watt = middle_kelvin / (0.5 * face.wall_kelvin_per_watt() + 1.0 / outside);
            let found = watt / outside;
            round += 1;
            let stands_still = (found - surface_kelvin).abs() <= SURFACE_TOLERANCE * middle_kelvin.abs();
            if stands_still || round == SURFACE_ITERATIONS {
                return (found, watt);
            }
            [surface_kelvin] = acceleration.next([surface_kelvin], [found]);
        }
    }
}

/// Start values of the iteration for the surface temperatures, and the section as it was solved, both from the moment
/// before. They save rounds and change the result by less than the tolerance.
#[derive(Clone, Debug)]
pub(super) struct SurfaceGuess {
    /// Ratio of each surface's rise to the winding's.
    open: Cell<[f64; 4]>,
    /// Ratio of each outer surface's rise to that of its wall's middle.
    of_wall: Cell<[f64; 4]>,
    section: Cell<Option<SolvedSection>>,
}

impl Default for SurfaceGuess {
    fn default() -> Self {
        Self { open: Cell::new([0.8; 4]), of_wall: Cell::new([1.0; 4]), section: Cell::new(None) }
    }
}

/// `found` over `rise`; the value in `before` if that is not a usable number.
fn ratios(before: [f64; 4], found: [f64; 4], rise: [f64; 4]) -> [f64; 4] {
    std::array::from_fn(|side| {
        let ratio = found[side] / rise[side];
        if (0.01..=1.5).contains(&ratio) { ratio } else { before[side] }
    })
}

/// Speeds up an iteration x → f(x). From the second round on it follows the secant of each component separately, which
/// halves the number of rounds if f hardly mixes the components.
struct Acceleration<const N: usize> {
    before: Option<([f64; N], [f64; N])>,
}

impl<const N: usize> Default for Acceleration<N> {
    fn default() -> Self {
        Self { before: None }
    }
}

impl<const N: usize> Acceleration<N> {
    /// The next x after f(`at`) = `found`.
    fn next(&mut self, at: [f64; N], found: [f64; N]) -> [f64; N] {
        let Some((at_before, found_before)) = self.before.replace((at, found)) else { return found };
        std::array::from_fn(|i| {
            let slope = (found[i] - found_before[i]) / (at[i] - at_before[i]);
            // A steep slope would make it diverge; NaN fails the comparison too.
            if slope.abs() < 0.8 { (found[i] - slope * at[i]) / (1.0 - slope) } else { found[i] }
        })
    }
}

impl CoilTemperatures {
    /// The hottest place in the winding.
    pub(crate) fn hot_spot_celsius(&self) -> f64 {
        self.room_celsius + self.profile.hottest_kelvin()
    }
}

impl CoilFlows {
    /// The hottest place in the winding.
    pub(crate) fn hot_spot_celsius(&self) -> f64 {
        self.room_celsius + self.profile.hottest_kelvin()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{AxisPosition, Cheeks};
    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    fn variants() -> Vec<(String, HeatedCoil)> {
        let mut coils = Vec::new();
        for axis in [AxisPosition::Horizontal, AxisPosition::Vertical] {
            for cheeks in [None, Some(Cheeks::None), Some(Cheeks::One), Some(Cheeks::Both)] {
                for material in ["plywood", "aluminium"] {
                    let mut bench = example::bench();
                    bench.axis = axis;
                    match (cheeks, &mut bench.former) {
                        (Some(cheeks), Some(former)) => {
                            former.cheeks = cheeks;
                            former.material = Some(material.into());
                        }
                        _ => bench.former = None,
                    }
                    for upper in [false, true] {
                        let coil = HeatedCoil::of(&bench, &bench.nominal_coil(), upper, 22.0).unwrap();
                        coils.push((format!("{axis:?} {cheeks:?} {material} {upper}"), coil));
                    }
                }
            }
        }
        coils
    }

    #[test]
    fn heat_lost_is_what_the_surfaces_give_and_nothing_is_hotter_than_the_hot_spot() {
        for (name, coil) in variants() {
            let mut before = 0.0;
            for mean in [23.0, 40.0, 70.0, 130.0, 300.0] {
                let settled = coil.settled(mean);
                let given: f64 = (0..4)
                    .map(|side| {
                        let surface = settled.surface_celsius[side];
                        coil.faces[side].surface.conductance_watt_per_kelvin(surface, 22.0) * (surface - 22.0)
                    })
                    .sum();
                assert_relative_eq!(settled.loss_watt, given, max_relative = 1e-8);
                assert!(settled.loss_watt > before, "{name} at {mean} °C");
                before = settled.loss_watt;
                let hot = settled.hot_spot_celsius();
                assert!(hot > mean, "{name}: hot spot {hot} at {mean}");
                assert!(
                    settled.surface_celsius.iter().all(|surface| (22.0..hot).contains(surface)),
                    "{name}"
                );
            }
        }
    }

    #[test]
    fn walls_left_alone_settle_where_the_settled_coil_has_them() {
        for (name, coil) in variants() {
            let settled = coil.settled(60.0);
            let flows = coil.flows(60.0, settled.wall_celsius);
            assert_relative_eq!(flows.from_winding_watt, settled.loss_watt, max_relative = 1e-7);
            assert_relative_eq!(flows.to_room_watt, settled.loss_watt, max_relative = 1e-7);
            let gain = flows.wall_gain_watt.iter().fold(0.0, |most: f64, watt| most.max(watt.abs()));
            assert!(gain < 1e-6, "{name}: a wall still gains {gain} W");
            for side in 0..4 {
                assert_relative_eq!(
                    flows.surface_celsius[side],
                    settled.surface_celsius[side],
                    max_relative = 1e-7
                );
            }
        }
    }

    #[test]
    fn a_thin_wall_that_follows_the_winding_changes_no_time() {
        use crate::physics::heat::circuit::Drive;
        use crate::physics::heat::limits::TemperatureLimits;
        use crate::physics::heat::pair::HeatedPair;
        for wall_m in [0.3e-3, 0.6e-3, 1e-3] {
            let mut bench = example::bench();
            let former = bench.former.as_mut().unwrap();
            (former.wall_m, former.cheeks) = (Some(wall_m), Cheeks::Both);
            let pair = HeatedPair::of(&bench).unwrap();
            let of = |pair: &HeatedPair| {
                let temperatures = TemperatureLimits::of(&bench);
                pair.time_to_limit(&Drive::held(2.5), &temperatures).unwrap().unwrap().0
            };
            let mut one_by_one = pair.clone();
            for coil in &mut one_by_one.coils {
                coil.wall_joule_per_kelvin =
                    coil.faces.map(|face| face.wall.map_or(0.0, |wall| wall.heat_capacity_joule_per_kelvin));
                coil.winding_joule_per_kelvin =
                    coil.pack.heat_capacity_joule_per_m_kelvin * coil.circumference_m;
            }
            assert!(pair.coils[0].wall_joule_per_kelvin[1] == 0.0, "{wall_m}");
            let (following, late) = (of(&pair), of(&one_by_one));
            assert_relative_eq!(following, late, max_relative = 2e-3);
        }
    }

    #[test]
    fn what_the_winding_gives_reaches_walls_or_room() {
        for (_, coil) in variants() {
            let flows = coil.flows(80.0, [30.0; 4]);
            let gained: f64 = flows.wall_gain_watt.iter().sum();
            assert_relative_eq!(flows.from_winding_watt, gained + flows.to_room_watt, max_relative = 1e-8);
        }
    }

    #[test]
    fn an_unmodelled_wall_is_refused_and_a_thin_section_is_not() {
        let mut bench = example::bench();
        if let Some(former) = &mut bench.former {
            former.wall_m = Some(0.2);
        }
        let error = HeatedCoil::of(&bench, &bench.nominal_coil(), false, 22.0).unwrap_err().to_string();
        assert_eq!(
            error,
            "the former's wall of 200.0000 mm leaves no bore in a winding of inner radius 163.7500 mm"
        );
        let thin = crate::pair::Bench::thin_pair();
        let coil = HeatedCoil::of(&thin, &thin.nominal_coil(), false, 20.0).unwrap();
        assert!(coil.settled(50.0).loss_watt.is_finite());
    }

    #[test]
    fn a_single_layer_is_as_wide_as_its_turns() {
        let mut bench = example::bench();
        let wire_m = bench.winding.wire.overall_diameter_m;
        let winding = &mut bench.winding;
        (winding.layers, winding.turns_per_layer) = (Some(1), Some(40));
        (winding.turns, winding.width_m, winding.depth_m) = (20.0, 40.0 * wire_m, wire_m);
        let mut narrow = bench.clone();
        (narrow.winding.width_m, narrow.winding.turns_per_layer) = (20.0 * wire_m, Some(20));
        let surfaces = |bench: &Bench| {
            let coil = HeatedCoil::of(bench, &bench.nominal_coil(), false, 20.0).unwrap();
            coil.settled(60.0).surface_celsius
        };
        for (one, other) in surfaces(&bench).into_iter().zip(surfaces(&narrow)) {
            assert_relative_eq!(one, other, max_relative = 1e-9);
        }
    }
}
