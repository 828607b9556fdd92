//! The limits of the current: insulation, touch, supply.

use super::coil::CoilTemperatures;
use super::pair::{HeatedPair, SteadyPair};
use crate::Result;
use crate::pair::materials::TouchMaterial;
use crate::pair::{Bench, Supply};

/// Thermal class assumed if the spec gives none: the lowest of enamelled winding wire (common practice, no source).
pub(crate) const ASSUMED_THERMAL_CLASS_CELSIUS: f64 = 105.0;

/// What limits a current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CurrentLimit {
    /// The hot spot against the thermal class of the insulation.
    Insulation {
        /// The class.
        class_celsius: f64,
        /// Whether the spec gives none and the lowest is assumed.
        assumed: bool,
    },
    /// Accidental touch, IEC 61010-1.
    TouchByAccident,
    /// Touch for a minute, ISO 13732-1.
    TouchForAMinute,
    /// The user's own surface limit.
    OwnSurface,
    /// The supply's current limit.
    SupplyCurrent,
    /// The supply's voltage limit.
    SupplyVoltage,
    /// Above it there is no steady state below `CEILING_CELSIUS`.
    NoSteadyState,
}

/// One limit and the continuous current it allows.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// Which limit.
    pub limit: CurrentLimit,
    /// The supply's current at which it is reached in the steady state. `None` if it is never reached.
    pub current_ampere: Option<f64>,
    /// The temperature it allows. `None` for a limit of the supply.
    pub temperature_celsius: Option<f64>,
}

/// All limits and the smallest.
#[derive(Clone, Debug, PartialEq)]
pub struct Limits {
    /// The largest current that every limit allows indefinitely.
    pub continuous_current_ampere: f64,
    /// The limit that binds.
    pub limited_by: CurrentLimit,
    /// Each limit on its own.
    pub limits: Vec<Limit>,
    /// The current above which there is no steady state below `CEILING_CELSIUS`.
    pub critical_current_ampere: f64,
}

/// The temperature limits of a coil.
#[derive(Clone, Debug, PartialEq)]
pub struct TemperatureLimits {
    /// Thermal class of the insulation.
    pub thermal_class_celsius: f64,
    /// Whether the class is assumed.
    pub class_assumed: bool,
    /// A surface limit of the user's own; the standards' limits stay in force beside it.
    pub own_surface_celsius: Option<f64>,
}

/// One of the temperature limits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TemperatureLimit {
    /// Hot spot against the thermal class.
    Insulation,
    /// Accidental touch, IEC 61010-1.
    TouchByAccident,
    /// Touch for a minute, ISO 13732-1.
    TouchForAMinute,
    /// The user's own surface limit.
    OwnSurface,
}

impl TemperatureLimits {
    /// The limits of a bench.
    pub fn of(bench: &Bench) -> Self {
        let class = bench.winding.wire.thermal_class_celsius;
        Self {
            thermal_class_celsius: class.unwrap_or(ASSUMED_THERMAL_CLASS_CELSIUS),
            class_assumed: class.is_none(),
            own_surface_celsius: None,
        }
    }

    /// The limits that apply.
    pub fn all(&self) -> Vec<TemperatureLimit> {
        let mut all = vec![
            TemperatureLimit::Insulation,
            TemperatureLimit::TouchByAccident,
            TemperatureLimit::TouchForAMinute,
        ];
        if self.own_surface_celsius.is_some() {
            all.push(TemperatureLimit::OwnSurface);
        }
        all
    }

    /// The limits of surfaces: all except that of the insulation, which is judged with
    /// [`HeatedPair::badly_conducting`].
    pub(crate) fn of_surfaces(&self) -> Vec<TemperatureLimit> {
        self.all().into_iter().filter(|limit| *limit != TemperatureLimit::Insulation).collect()
    }

    /// The excess of a coil over a limit, from its mean, its hot spot, and the outer surface and material of each side.
    pub(crate) fn excess_kelvin(
        &self,
        limit: TemperatureLimit,
        mean_celsius: f64,
        hot_spot_celsius: f64,
        surfaces: [(f64, TouchMaterial); 4],
    ) -> f64 {
        let over = |allowed: &dyn Fn(TouchMaterial) -> f64| {
            surfaces
                .iter()
                .map(|(celsius, material)| celsius - allowed(*material))
                .fold(f64::NEG_INFINITY, f64::max)
        };
        match limit {
            TemperatureLimit::Insulation => {
                let class = self.thermal_class_celsius;
                hot_spot_celsius.max(mean_celsius + hot_spot_allowance_kelvin(class)) - class
            }
            TemperatureLimit::TouchByAccident => over(&touch_by_accident_celsius),
            TemperatureLimit::TouchForAMinute => over(&touch_for_a_minute_celsius),
            TemperatureLimit::OwnSurface => over(&|_| self.own_surface_celsius.unwrap_or(f64::INFINITY)),
        }
    }

    /// A temperature limit as one of the limits of a current.
    pub(crate) fn of_current(&self, limit: TemperatureLimit) -> CurrentLimit {
        match limit {
            TemperatureLimit::Insulation => CurrentLimit::Insulation {
                class_celsius: self.thermal_class_celsius,
                assumed: self.class_assumed,
            },
            TemperatureLimit::TouchByAccident => CurrentLimit::TouchByAccident,
            TemperatureLimit::TouchForAMinute => CurrentLimit::TouchForAMinute,
            TemperatureLimit::OwnSurface => CurrentLimit::OwnSurface,
        }
    }

    /// The temperature that the hottest side, or the hot spot, may reach.
    fn allowed_celsius(
        &self,
        limit: TemperatureLimit,
        materials: impl Iterator<Item = TouchMaterial>,
    ) -> f64 {
        let lowest = |allowed: fn(TouchMaterial) -> f64| materials.map(allowed).fold(f64::INFINITY, f64::min);
        match limit {
            TemperatureLimit::Insulation => self.thermal_class_celsius,
            TemperatureLimit::TouchByAccident => lowest(touch_by_accident_celsius),
            TemperatureLimit::TouchForAMinute => lowest(touch_for_a_minute_celsius),
            TemperatureLimit::OwnSurface => self.own_surface_celsius.unwrap_or(f64::INFINITY),
        }
    }
}

/// Smallest excess of the hottest place over the mean by resistance that is assumed, in K: 5 up to class 120, 10 for
/// 130 and 155, 15 above.
///
/// It is the difference between class and (40 °C + limit of rise by resistance) in IEC 60034-1, table of limits of
/// temperature rise (from memory).
pub(crate) fn hot_spot_allowance_kelvin(thermal_class_celsius: f64) -> f64 {
    match thermal_class_celsius {
        class if class < 130.0 => 5.0,
        class if class < 180.0 => 10.0,
        _ => 15.0,
    }
}

/// Highest temperature of an outer surface that is not meant to be touched, °C.
///
/// IEC 61010-1:2010, table 19 (from memory): metal uncoated 65, metal coated 80, plastic 85, glass or ceramic 80. Wood
/// is not in the table and is counted as plastic.
pub(crate) fn touch_by_accident_celsius(material: TouchMaterial) -> f64 {
    match material {
        TouchMaterial::BareMetal => 65.0,
        TouchMaterial::CoatedMetal | TouchMaterial::GlassOrCeramic => 80.0,
        TouchMaterial::Plastic | TouchMaterial::Wood => 85.0,
    }
}

/// Burn threshold for skin contact of one minute, °C: metal, coated or not, 51; ceramic, glass and stone 56; plastic and
/// wood 60.
///
/// ISO 13732-1:2006; the same table reprinted in SP 2.2.2.1327-03 (read at zakonbase.ru/content/part/330087). For ten
/// minutes it is 48 °C on any material, for eight hours 43 °C.
pub(crate) fn touch_for_a_minute_celsius(material: TouchMaterial) -> f64 {
    match material {
        TouchMaterial::BareMetal | TouchMaterial::CoatedMetal => 51.0,
        TouchMaterial::GlassOrCeramic => 56.0,
        TouchMaterial::Plastic | TouchMaterial::Wood => 60.0,
    }
}

/// The current limits of a bench, of its supply and of its temperatures, without a warm-up test.
///
/// The coils are those of [`Bench::model`]: as built, or as designed.
///
/// ```
/// let bench = coilwright::files::spec::read_bench("coil-specs/window-bench.json")?;
/// let limits = coilwright::physics::heat::limits(&bench)?;
/// println!("{:.2} A, limited by {:?}", limits.continuous_current_ampere, limits.limited_by);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn limits(bench: &Bench) -> Result<Limits> {
    let pair = HeatedPair::of(bench)?;
    Ok(pair.limits(&TemperatureLimits::of(bench), bench.supply.as_ref()))
}

impl HeatedPair {
    /// Every limit separately, and the smallest.
    pub fn limits(&self, temperatures: &TemperatureLimits, supply: Option<&Supply>) -> Limits {
        let badly_conducting = self.badly_conducting();
        let judged = |limit| match limit {
            TemperatureLimit::Insulation => &badly_conducting,
            _ => self,
        };
        let mut limits: Vec<Limit> = temperatures
            .all()
            .into_iter()
            .map(|limit| Limit {
                limit: temperatures.of_current(limit),
                current_ampere: judged(limit)
                    .steady_where(|pair| judged(limit).steady_excess_kelvin(temperatures, limit, pair))
                    .map(|pair| pair.currents.supply_ampere),
                temperature_celsius: Some(temperatures.allowed_celsius(
                    limit,
                    self.coils.iter().flat_map(|coil| coil.faces).map(|face| face.surface.touch),
                )),
            })
            .collect();
        if let Some(current_limit_ampere) = supply.and_then(|supply| supply.current_limit_ampere) {
            limits.push(Limit {
                limit: CurrentLimit::SupplyCurrent,
                current_ampere: Some(current_limit_ampere),
                temperature_celsius: None,
            });
        }
        if let Some(voltage_limit_volt) = supply.and_then(|supply| supply.voltage_limit_volt) {
            limits.push(Limit {
                limit: CurrentLimit::SupplyVoltage,
                current_ampere: self
                    .steady_where(|pair| pair.currents.supply_volt / voltage_limit_volt - 1.0)
                    .map(|pair| pair.currents.supply_ampere),
                temperature_celsius: None,
            });
        }
        let critical_current_ampere = self.critical_current_ampere();
        let mut smallest = (critical_current_ampere, CurrentLimit::NoSteadyState);
        for limit in &limits {
            if let Some(current_ampere) = limit.current_ampere
                && current_ampere < smallest.0
            {
                smallest = (current_ampere, limit.limit);
            }
        }
        Limits {
            continuous_current_ampere: smallest.0,
            limited_by: smallest.1,
            limits,
            critical_current_ampere,
        }
    }

    /// The continuous current and what binds it: those of [`Self::limits`] to 1e-7 K of the windings, without locating the
    /// limits that do not bind.
    ///
    /// It is the current at which the first of the surfaces' limits and the supply's voltage is reached, unless the
    /// supply's current or the insulation allows less.
    pub(crate) fn binding_limit(
        &self,
        temperatures: &TemperatureLimits,
        supply: Option<&Supply>,
    ) -> (f64, CurrentLimit) {
        let voltage_limit_volt = supply.and_then(|supply| supply.voltage_limit_volt);
        let of_surfaces = temperatures.of_surfaces();
        // The excess over the limit that is exceeded most, and that limit. Of the supply's voltage only the sign of the
        // excess matters; a percent counts as a kelvin.
        let exceeded_most = |pair: &SteadyPair| {
            let volt = voltage_limit_volt.map(|limit| 100.0 * (pair.currents.supply_volt / limit - 1.0));
            let of_surface = |limit: &TemperatureLimit| {
                (self.steady_excess_kelvin(temperatures, *limit, pair), temperatures.of_current(*limit))
            };
            let all = of_surfaces.iter().map(of_surface);
            all.chain(volt.map(|excess| (excess, CurrentLimit::SupplyVoltage))).fold(
                (f64::NEG_INFINITY, CurrentLimit::NoSteadyState),
                |most, one| {
                    if one.0 > most.0 { one } else { most }
                },
            )
        };
        let reached = self.steady_where(|pair| exceeded_most(pair).0);
        let supply_ampere = supply.and_then(|supply| supply.current_limit_ampere);
        let smallest = reached
            .map(|pair| (pair.currents.supply_ampere, exceeded_most(&pair).1))
            .into_iter()
            .chain(supply_ampere.map(|ampere| (ampere, CurrentLimit::SupplyCurrent)))
            .fold((self.critical_current_ampere(), CurrentLimit::NoSteadyState), smaller);
        let badly_conducting = self.badly_conducting();
        let insulation = TemperatureLimit::Insulation;
        let excess =
            |pair: &SteadyPair| badly_conducting.steady_excess_kelvin(temperatures, insulation, pair);
        // Usually the insulation is still safe half-way to its class, and the pair then carries more than the other
        // limits allow.
        let half_way_celsius = 0.5 * (self.room_celsius + temperatures.thermal_class_celsius);
        let half_way = badly_conducting.settled(half_way_celsius);
        if half_way.currents.supply_ampere >= smallest.0 && excess(&half_way) <= 0.0 {
            return smallest;
        }
        let found = badly_conducting.steady_where(excess);
        found
            .map(|pair| (pair.currents.supply_ampere, temperatures.of_current(insulation)))
            .into_iter()
            .fold(smallest, smaller)
    }

    /// The continuous current alone.
    pub(crate) fn continuous_current_ampere(
        &self,
        temperatures: &TemperatureLimits,
        supply: Option<&Supply>,
    ) -> f64 {
        self.binding_limit(temperatures, supply).0
    }

    /// The excess of the hotter coil of a steady pair over a temperature limit.
    pub(crate) fn steady_excess_kelvin(
        &self,
        temperatures: &TemperatureLimits,
        limit: TemperatureLimit,
        pair: &SteadyPair,
    ) -> f64 {
        let of_coil = |index: usize, coil: &CoilTemperatures| {
            let surfaces = std::array::from_fn(|side| {
                (coil.surface_celsius[side], self.coils[index].faces[side].surface.touch)
            });
            // The hot spot is computed only if it matters.
            let hot_spot_celsius = match limit {
                TemperatureLimit::Insulation => coil.hot_spot_celsius(),
                _ => coil.mean_celsius,
            };
            temperatures.excess_kelvin(limit, coil.mean_celsius, hot_spot_celsius, surfaces)
        };
        of_coil(0, &pair.coils[0]).max(of_coil(1, &pair.coils[1]))
    }
}

/// The smaller of two currents with what sets it, the first of equal ones.
fn smaller(one: (f64, CurrentLimit), other: (f64, CurrentLimit)) -> (f64, CurrentLimit) {
    if other.0 < one.0 { other } else { one }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Connection;
    use crate::physics::heat::circuit::Drive;
    use crate::physics::heat::example;

    #[test]
    fn each_limit_is_met_exactly_at_its_own_current() {
        let bench = example::bench();
        let pair = HeatedPair::of(&bench).unwrap();
        let temperatures =
            TemperatureLimits { own_surface_celsius: Some(45.0), ..TemperatureLimits::of(&bench) };
        let found = pair.limits(&temperatures, bench.supply.as_ref());
        for (limit, entry) in temperatures.all().into_iter().zip(&found.limits) {
            let drive = Drive::held(entry.current_ampere.unwrap());
            let pair = match limit {
                TemperatureLimit::Insulation => pair.badly_conducting(),
                _ => pair.clone(),
            };
            let steady = pair.steady(&drive).unwrap();
            let excess = pair.steady_excess_kelvin(&temperatures, limit, &steady);
            assert!(excess.abs() < 1e-4, "{:?}: {excess} K", entry.limit);
        }
        let voltage = found.limits.last().unwrap();
        let drive = Drive::held(voltage.current_ampere.unwrap());
        let steady = pair.steady(&drive).unwrap();
        approx::assert_relative_eq!(steady.currents.supply_volt, 30.0, max_relative = 1e-7);
        // The smallest binds.
        let smallest = found.limits.iter().filter_map(|l| l.current_ampere).fold(f64::INFINITY, f64::min);
        assert_eq!(found.continuous_current_ampere, smallest);
        assert_eq!(found.limited_by, CurrentLimit::OwnSurface);
        assert!(found.critical_current_ampere > smallest);
    }

    #[test]
    fn the_continuous_current_alone_is_that_of_the_limits_whichever_binds() {
        let mut bound = std::collections::BTreeSet::new();
        for connection in [Connection::Series, Connection::Parallel] {
            for unlike in [false, true] {
                for class in [60.0, 105.0, 180.0] {
                    for own in [None, Some(26.0), Some(90.0)] {
                        for (ampere, volt) in [
                            (None, None),
                            (Some(0.4), Some(60.0)),
                            (Some(40.0), Some(3.0)),
                            (Some(9.0), Some(900.0)),
                        ] {
                            let mut bench = example::bench();
                            bench.connection = connection;
                            bench.winding.wire.thermal_class_celsius = Some(class);
                            if unlike {
                                let [a, mut b] = [bench.nominal_coil(), bench.nominal_coil()];
                                (b.turns, b.mean_radius_m) = (150.0, 0.170);
                                bench.as_built = Some([a, b]);
                            }
                            let supply = Supply {
                                current_limit_ampere: ampere,
                                voltage_limit_volt: volt,
                                ..bench.supply.unwrap()
                            };
                            let pair = HeatedPair::of(&bench).unwrap();
                            let temperatures = TemperatureLimits {
                                own_surface_celsius: own,
                                ..TemperatureLimits::of(&bench)
                            };
                            let all = pair.limits(&temperatures, Some(&supply));
                            let (alone, limit) = pair.binding_limit(&temperatures, Some(&supply));
                            assert_eq!(limit, all.limited_by);
                            approx::assert_relative_eq!(
                                alone,
                                all.continuous_current_ampere,
                                max_relative = 1e-7
                            );
                            bound.insert(format!("{:?}", all.limited_by));
                        }
                    }
                }
            }
        }
        // Touch by accident allows more than touch for a minute, and both less than the highest steady state.
        assert_eq!(bound.len(), 5, "{bound:?}");
    }

    #[test]
    fn the_insulation_is_judged_with_the_worst_conductivity_published() {
        let mut bench = example::bench();
        let insulation = |bench: &Bench| limits(bench).unwrap().limits[0].current_ampere.unwrap();
        let pair = HeatedPair::of(&bench).unwrap();
        let pack = pair.coils[0].pack;
        // Dry wire: at least 0.06 W/(m K); the model gives more.
        assert_eq!(pack.worst_watt_per_m_kelvin(), 0.06);
        assert!(pack.conductivity_watt_per_m_kelvin > 0.06);
        let class = TemperatureLimits::of(&bench).thermal_class_celsius;
        let allowed = insulation(&bench);
        let hot_spot = |pair: &HeatedPair| pair.steady(&Drive::held(allowed)).unwrap().hot_spot_celsius();
        assert!((hot_spot(&pair.badly_conducting()) - class).abs() < 1e-3);
        assert!(hot_spot(&pair) < class - 5.0);
        // Varnish conducts better, so that more is allowed.
        bench.winding.filling = crate::pair::Filling::Varnish;
        assert!(insulation(&bench) > allowed);
    }

    #[test]
    fn published_limits_stand_as_published() {
        // ISO 13732-1:2006, contact for one minute, and IEC 61010-1:2010 table 19 (from memory).
        for (material, minute, accident) in [
            (TouchMaterial::BareMetal, 51.0, 65.0),
            (TouchMaterial::CoatedMetal, 51.0, 80.0),
            (TouchMaterial::GlassOrCeramic, 56.0, 80.0),
            (TouchMaterial::Plastic, 60.0, 85.0),
        ] {
            assert_eq!(touch_for_a_minute_celsius(material), minute);
            assert_eq!(touch_by_accident_celsius(material), accident);
        }
        // IEC 60034-1: limit of rise by resistance (from memory) + 40 °C + allowance = thermal class of IEC 60085.
        for (class, rise) in [(105.0, 60.0), (120.0, 75.0), (130.0, 80.0), (155.0, 105.0), (180.0, 125.0)] {
            assert_eq!(40.0 + rise + hot_spot_allowance_kelvin(class), class);
        }
    }

    #[test]
    fn a_bench_with_neither_former_supply_room_nor_class_has_limits_and_says_what_it_assumed() {
        let mut bench = example::bench();
        (bench.former, bench.supply, bench.room) = (None, None, None);
        bench.winding.wire.thermal_class_celsius = None;
        let limits = limits(&bench).unwrap();
        assert_eq!(limits.limits.len(), 3);
        let assumed = CurrentLimit::Insulation { class_celsius: 105.0, assumed: true };
        assert_eq!(limits.limits[0].limit, assumed);
        assert!(limits.continuous_current_ampere > 0.5 && limits.continuous_current_ampere < 10.0);
    }

    #[test]
    fn in_a_room_hotter_than_a_limit_no_current_is_allowed() {
        let mut bench = example::bench();
        bench.room = Some(crate::pair::Room { temperature_celsius: Some(55.0), field: None });
        let limits = limits(&bench).unwrap();
        assert_eq!(limits.continuous_current_ampere, 0.0);
        assert_eq!(limits.limited_by, CurrentLimit::TouchForAMinute);
        bench.room = Some(crate::pair::Room { temperature_celsius: Some(300.0), field: None });
        assert!(crate::physics::heat::limits::limits(&bench).is_err());
    }
}
