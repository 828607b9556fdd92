//! The thermal expansion of a pair and its effect on the field: the one model that `heat`, `calibrate` and `compare`
//! share.
//!
//! The winding is a ring of conductor, warmer than its former. It grows with the conductor's expansion and its own mean
//! temperature. If the former grows less, the ring lifts off it. If a plastic or wooden former would grow more, its
//! floor is softer (3 GPa to 10 GPa against the conductor's 70 GPa to 120 GPa) and gives way. Only a metal floor is
//! stiff enough to matter; it changes the ring's expansion by a seventh at most.
//!
//! The spacing follows the part that holds the two formers apart. That part is taken as a plate of the former's
//! material, as thick as the former's wall. At the coils it has the temperature of the former's floor; between them the
//! air of the room cools it on both sides. The ratio of its mean rise to that of the floor is that of a fin heated at
//! both ends (F. P. Incropera and others, *Fundamentals of Heat and Mass Transfer*, the fin with an adiabatic tip, for
//! half the spacing; from memory):
//!
//! ```text
//! f = tanh(x)/x,   x = (s/2)/λ,   λ = √(k t/(2 h))
//! ```
//!
//! with s the spacing, k the material's conductivity, t its thickness and h the heat transfer coefficient of its
//! surfaces. Wood and plastic stay at the room's temperature except for a few millimetres; metal is nearly as warm as
//! the floor. Without a former the part between the coils is unknown, and the spacing is taken as constant.

use super::circuit::{Circuit, Currents, Drive};
use super::section::Side;
use super::transient::ThermalState;
use crate::pair::Bench;
use crate::pair::materials::{ASSUMED_WALL_M, former_material};
use crate::physics::field::{Assembly, PlacedWinding};
use nalgebra::Vector3;

/// Heat that a surface some ten kelvin warmer than a room gives to still air and to walls, W/(m² K) (common practice, no
/// source).
const SURFACE_WATT_PER_M2_KELVIN: f64 = 10.0;
/// A centre field smaller than this part of the coils' separate fields counts as cancelled.
const CANCELLED: f64 = 1e-3;

/// The thermal expansion of each part of a pair.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expansion {
    /// Expansion of the winding, per kelvin of its mean temperature.
    pub winding_per_kelvin: f64,
    /// Expansion of the spacing, per kelvin of the former's floor; 0 without a former.
    pub spacing_per_kelvin: f64,
    /// The temperature at which the dimensions hold.
    pub room_celsius: f64,
}

impl Expansion {
    /// For a bench whose dimensions hold at room temperature.
    pub fn of(bench: &Bench, room_celsius: f64) -> Self {
        let spacing_per_kelvin = bench.former.as_ref().map_or(0.0, |former| {
            let material = former_material(former.material.as_deref().unwrap_or_default()).0;
            let wall_m = former.wall_m.unwrap_or(ASSUMED_WALL_M);
            former.expansion_per_kelvin.unwrap_or(material.expansion_per_kelvin)
                * mean_share_of_fin(bench.spacing_m, material.conductivity_watt_per_m_kelvin, wall_m)
        });
        Self {
            winding_per_kelvin: bench.winding.wire.conductor.linear_expansion_per_kelvin(),
            spacing_per_kelvin,
            room_celsius,
        }
    }

    /// A winding's mean radius, width and depth over those at room temperature.
    fn winding_scale(&self, winding_celsius: f64) -> f64 {
        1.0 + self.winding_per_kelvin * (winding_celsius - self.room_celsius)
    }

    /// The outward displacement of a coil along the axis, over half the spacing.
    fn spacing_growth(&self, floor_celsius: f64) -> f64 {
        self.spacing_per_kelvin * (floor_celsius - self.room_celsius)
    }
}

/// Ratio of the mean rise of a plate between two coils to that of its ends.
fn mean_share_of_fin(spacing_m: f64, conductivity_watt_per_m_kelvin: f64, thickness_m: f64) -> f64 {
    let reach_m = (conductivity_watt_per_m_kelvin * thickness_m / (2.0 * SURFACE_WATT_PER_M2_KELVIN)).sqrt();
    let x = 0.5 * spacing_m / reach_m;
    if x > 0.0 { x.tanh() / x } else { 1.0 }
}

/// The pair's centre field as its coils warm.
#[derive(Clone, Debug)]
pub(crate) struct WarmField {
    windings: Vec<PlacedWinding>,
    senses: [f64; 2],
    half_spacing_m: f64,
    expansion: Expansion,
}

impl WarmField {
    /// For a bench whose dimensions hold at room temperature.
    pub(crate) fn of(bench: &Bench, room_celsius: f64) -> Self {
        Self {
            windings: Assembly::of(bench).windings().to_vec(),
            senses: bench.coils().map(|coil| coil.sense),
            half_spacing_m: 0.5 * bench.spacing_m,
            expansion: Expansion::of(bench, room_celsius),
        }
    }

    /// Relative change of the field constant as windings and former grow, with the split of the current held. `None` if
    /// the coils cancel.
    pub(crate) fn growth_fraction(&self, state: &ThermalState) -> Option<f64> {
        let shares = [0, 1].map(|coil| self.windings[coil].current_share * self.senses[coil]);
        let cold = self.centre_unless_cancelled_tesla(shares, &self.cold())?;
        Some(self.centre_tesla(shares, state) / cold - 1.0)
    }

    /// Relative change of the field from cold coils to a state, with one setting of the supply: the expansion and the
    /// effect of the warm copper on the currents. `None` if the coils cancel or no current flows.
    pub(crate) fn drift_fraction(
        &self,
        circuit: &Circuit,
        drive: &Drive,
        state: &ThermalState,
    ) -> Option<f64> {
        let amperes = |state: &ThermalState| -> Currents { circuit.currents(drive, state.mean_celsius) };
        let cold = self.centre_unless_cancelled_tesla(amperes(&self.cold()).coil_ampere, &self.cold())?;
        Some(self.centre_tesla(amperes(state).coil_ampere, state) / cold - 1.0)
    }

    fn cold(&self) -> ThermalState {
        ThermalState::uniform(self.expansion.room_celsius)
    }

    /// The field along z at the centre.
    fn centre_tesla(&self, coil_ampere: [f64; 2], state: &ThermalState) -> f64 {
        Assembly::new(self.warm_windings(coil_ampere, state)).field_once_per_ampere(&Vector3::zeros()).z
    }

    /// The field along z at the centre. `None` if it is negligible beside the coils' separate fields.
    fn centre_unless_cancelled_tesla(&self, coil_ampere: [f64; 2], state: &ThermalState) -> Option<f64> {
        let assembly = Assembly::new(self.warm_windings(coil_ampere, state));
        let tesla = assembly.field_once_per_ampere(&Vector3::zeros()).z;
        let size = assembly.separate_fields_at_centre();
        (tesla.abs() > CANCELLED * size && size > 0.0).then_some(tesla)
    }

    fn warm_windings(&self, coil_ampere: [f64; 2], state: &ThermalState) -> Vec<PlacedWinding> {
        let warm = |(coil, winding): (usize, &PlacedWinding)| {
            let scale = self.expansion.winding_scale(state.mean_celsius[coil]);
            let floor_celsius = state.wall_celsius[coil][Side::Inner as usize];
            let outward = [-1.0, 1.0][coil] * self.half_spacing_m;
            let mut winding = *winding;
            winding.section.mean_radius_m *= scale;
            winding.section.width_m *= scale;
            winding.section.depth_m *= scale;
            winding.centre_m.z += outward * self.expansion.spacing_growth(floor_celsius);
            winding.current_share = coil_ampere[coil] * self.senses[coil];
            winding
        };
        self.windings.iter().enumerate().map(warm).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::quadrature::gauss_legendre;
    use crate::pair::{Cheeks, Former};
    use crate::physics::budget_source::BudgetSource;
    use crate::physics::build_error;
    use crate::physics::heat::{HeatedPair, example};
    use crate::questions::calibrate as calibration;
    use crate::questions::heat::HeatRequest;
    use approx::assert_relative_eq;

    fn former(material: &str, expansion_per_kelvin: Option<f64>) -> Former {
        Former {
            material: Some(material.into()),
            wall_m: Some(4e-3),
            cheeks: Cheeks::Both,
            expansion_per_kelvin,
        }
    }

    #[test]
    fn a_thin_pair_loses_two_fifths_of_its_windings_growth_and_three_fifths_of_its_spacings() {
        // k ∝ R²/(R² + s²/4)^(3/2): with s = R, d ln k/d ln R = 2 − 3/1.25 = −0.4 and d ln k/d ln s = −0.6.
        let mut bench = Bench::thin_pair();
        let mut warmed = |former, by| {
            bench.former = former;
            WarmField::of(&bench, 20.0).growth_fraction(&ThermalState::uniform(20.0 + by))
        };
        let copper = 17e-6;
        assert_relative_eq!(warmed(None, 40.0).unwrap(), -0.4 * copper * 40.0, max_relative = 2e-3);
        let share = mean_share_of_fin(0.15, 160.0, 4e-3);
        let wanted = -(0.4 * copper + 0.6 * share * 23e-6) * 40.0;
        let aluminium = Some(former("aluminium", None));
        assert_relative_eq!(warmed(aluminium, 40.0).unwrap(), wanted, max_relative = 2e-3);
        assert_eq!(warmed(None, 0.0), Some(0.0));
    }

    #[test]
    fn the_mean_of_a_fin_is_that_of_its_cosh() {
        // Between two ends at θ₀ a plate has θ = θ₀ cosh((s/2 − z)/λ)/cosh(s/2/λ), z from either end to the middle.
        for (conductivity, thickness) in [(0.13f64, 5e-3f64), (160.0, 4e-3), (15.0, 2e-3)] {
            let (spacing, reach) = (0.16f64, (conductivity * thickness / 20.0).sqrt());
            let mean: f64 = gauss_legendre(40)
                .iter()
                .map(|(node, weight)| {
                    let from_middle = 0.25 * spacing * (1.0 + node);
                    0.5 * weight * (from_middle / reach).cosh() / (0.5 * spacing / reach).cosh()
                })
                .sum();
            assert_relative_eq!(
                mean_share_of_fin(spacing, conductivity, thickness),
                mean,
                max_relative = 1e-9
            );
        }
        // Plywood stays near room temperature, aluminium near the coils' temperature.
        assert!(mean_share_of_fin(0.168, 0.13, 5e-3) < 0.08);
        assert!(mean_share_of_fin(0.168, 160.0, 4e-3) > 0.9);
    }

    /// The relative change of the field constant per kelvin in the budget of `calibrate`.
    fn budget_per_kelvin(bench: &Bench) -> f64 {
        let mut bench = bench.clone();
        bench.build_tolerance = Some(calibration::tests::bench().build_tolerance.unwrap());
        let calibration = calibration::calibrate(&bench, &Default::default()).unwrap();
        let mut budget = calibration.slope.budget.iter();
        let entry = budget.find(|entry| entry.source == BudgetSource::Temperature).unwrap();
        entry.sensitivity_tesla_per_ampere_per_unit / calibration.slope.tesla_per_ampere
    }

    #[test]
    fn heat_and_calibrate_give_the_same_factor_for_the_same_temperatures() {
        for former in [None, Some(former("aluminium", None)), Some(former("acrylic", Some(7e-5)))] {
            let mut bench = example::bench();
            bench.former = former;
            // The current that warms the winding by 40 K in the steady state.
            let pair = HeatedPair::of(&bench).unwrap();
            let current = pair.settled(pair.room_celsius + 40.0).currents.supply_ampere;
            bench.supply = None;
            let request = HeatRequest { current_ampere: Some(current), ..Default::default() };
            let heat = crate::questions::heat::study(&bench, &request).unwrap().at_current.unwrap();
            bench.supply = example::bench().supply;
            let by_heat = heat.field_drift_by_expansion_fraction.unwrap();
            let by_calibrate = 40.0 * budget_per_kelvin(&bench);
            // The budget takes the former as warm as the winding. In the steady state its floor is a little cooler,
            // which changes only the former's own part.
            let floor = pair.settled(pair.room_celsius + 40.0).coils[0].wall_celsius[Side::Inner as usize];
            let expansion = Expansion::of(&bench, pair.room_celsius);
            let cooler = 0.6 * expansion.spacing_per_kelvin * (pair.room_celsius + 40.0 - floor);
            assert_relative_eq!(by_heat - cooler, by_calibrate, max_relative = 0.01);
            if bench.former.is_none() {
                assert_relative_eq!(by_heat, by_calibrate, max_relative = 1e-3);
            }
        }
    }

    #[test]
    fn a_state_warm_throughout_moves_the_field_constant_as_the_budget_says() {
        let mut bench = example::bench();
        for material in ["plywood", "aluminium", "pvc"] {
            bench.former = Some(former(material, None));
            let field = WarmField::of(&bench, 22.0);
            let by_state = field.growth_fraction(&ThermalState::uniform(52.0)).unwrap();
            assert_relative_eq!(by_state, 30.0 * budget_per_kelvin(&bench), max_relative = 1e-3);
        }
    }

    #[test]
    fn coils_that_cancel_have_no_factor() {
        let mut bench = example::bench();
        let [a, mut b] = [bench.nominal_coil(), bench.nominal_coil()];
        b.sense = -1.0;
        bench.as_built = Some([a, b]);
        let field = WarmField::of(&bench, 22.0);
        assert_eq!(field.growth_fraction(&ThermalState::uniform(60.0)), None);
        let nominal = WarmField::of(&bench, 22.0);
        let k = build_error::field_constant_tesla_per_ampere(&Assembly::of(&bench));
        assert_relative_eq!(nominal.centre_tesla([1.0; 2], &nominal.cold()), k, max_relative = 1e-13);
    }
}
