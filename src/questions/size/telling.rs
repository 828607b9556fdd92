//! Turns windings into the answer: the best, what stopped the near misses, the trade-off front, and why nothing passes.

use super::impasse::Impasse;
use super::judge::{Judge, Winding, Wish};
use super::record::{Choice, Conflict, Front, FrontPoint, Gain, NearMiss, Reason, Relaxation};
use super::search::{Found, NEAR, Preference};
use super::space::Space;
use super::wishes::{Wishes, spec_winding, wished_holding};
use super::{impasse, relaxation, search};
use crate::Result;
use crate::pair::{Bench, Price, Wire};
use crate::physics::field::SampledRegion;
use crate::physics::heat::HeatedPair;
use crate::physics::heat::circuit::Drive;
use crate::physics::spacing;
use crate::physics::test_limits::OF_RISE;
use crate::units::{Dimension, display};

/// Number of windings shown.
pub(super) const SHOWN: usize = 8;
/// Number of windings shown along the front, in equal ratios of mass.
pub(super) const ALONG: usize = 6;
/// The heaviest of them, as a multiple of the lightest winding: beyond it, more copper saves little power.
pub(super) const HEAVIEST: f64 = 8.0;
/// Relaxing a wish is reported as a gain only if it lowers the score below this factor.
const GAIN: f64 = 0.995;
/// Number of radii searched if nothing meets the wishes.
const IMPASSE_RADII: usize = 7;

/// Turns windings into the answer.
pub(super) struct Teller<'a> {
    pub(super) wishes: &'a Wishes<'a>,
    pub(super) space: &'a Space,
    pub(super) region: Option<&'a SampledRegion>,
}

impl Teller<'_> {
    pub(super) fn bench(&self, winding: &Winding) -> Bench {
        let wire = self.space.wires[winding.wire].clone();
        let layers = Some([winding.layers, winding.turns_per_layer]);
        let spec = spec_winding(f64::from(winding.turns()), layers, wire);
        self.wishes.bench(&winding.section, winding.spacing_m, winding.connection, spec)
    }

    fn choice(&self, winding: &Winding) -> Result<Choice> {
        let wire = &self.space.wires[winding.wire];
        let price: Option<&Price> = self.wishes.wanted.wire_price_per_kg.as_ref();
        let pair = HeatedPair::of(&self.bench(winding))?;
        let drive = Drive::held(winding.current_ampere);
        let surface = pair.hottest_surface_celsius_after(&drive, self.wishes.carried_s)?;
        let warm = pair.carried(&drive, wished_holding(Some(self.wishes.wanted)))?;
        Ok(Choice {
            mean_radius_m: winding.section.mean_radius_m,
            width_m: winding.section.width_m,
            depth_m: winding.section.depth_m,
            turns: winding.turns(),
            layers: winding.layers,
            turns_per_layer: winding.turns_per_layer,
            wire: wire_name(wire),
            spacing_m: winding.spacing_m,
            connection: winding.connection,
            field_constant_tesla_per_ampere: winding.field_constant_tesla_per_ampere,
            current_ampere: winding.current_ampere,
            copper_temperature_celsius: warm.map(|warm| warm.copper_celsius()),
            voltage_volt: warm.map_or(winding.voltage_volt, |warm| warm.moment.currents.supply_volt),
            power_watt: warm.map_or(winding.power_watt, |warm| warm.coils_watt()),
            conductor_mass_kg: winding.conductor_mass_kg,
            wire_length_m: 2.0
                * std::f64::consts::TAU
                * winding.section.mean_radius_m
                * f64::from(winding.turns()),
            price: price.and_then(|price| price.amount).map(|amount| amount * winding.conductor_mass_kg),
            currency: price.and_then(|price| price.currency.clone()),
            worst_beam_deviation: self.region.map(|region| {
                spacing::worst_deviation(&winding.section, winding.spacing_m, region)
                    .unwrap_or(winding.worst_beam_deviation)
            }),
            surface_temperature_celsius: surface,
            surface_temperature_upper_celsius: surface
                .map(|celsius| celsius + OF_RISE * (celsius - self.wishes.room_celsius).max(0.0)),
        })
    }

    /// The best of each wire and connection that the heating model itself accepts.
    pub(super) fn best(&self, found: &Found, preference: &Preference) -> Result<Vec<(Winding, Choice)>> {
        let mut all: Vec<Winding> = found.by_group.iter().flatten().copied().collect();
        all.sort_by(|a, b| preference.order(a, b));
        let mut best: Vec<(Winding, Choice)> = Vec::new();
        for winding in all {
            if best.len() == SHOWN {
                break;
            }
            if best
                .iter()
                .any(|(other, _)| (other.wire, other.connection) == (winding.wire, winding.connection))
            {
                continue;
            }
            let choice = self.choice(&winding)?;
            if self.is_passed_by_the_models(&choice) {
                best.push((winding, choice));
            }
        }
        Ok(best)
    }

    /// Windings along the front that the heating model accepts, beside those of `best`.
    pub(super) fn along_front(
        &self,
        found: &Found,
        best: &[(Winding, Choice)],
    ) -> Result<Vec<(Winding, Choice)>> {
        let front = found.front_of(0);
        let mut along: Vec<(Winding, Choice)> = Vec::new();
        let Some(lightest_kg) = front.first().map(|winding| winding.conductor_mass_kg) else {
            return Ok(along);
        };
        for step in 1..=ALONG {
            let wanted_kg = lightest_kg * HEAVIEST.powf(step as f64 / ALONG as f64);
            // The heaviest winding up to this mass: between two windings of the front there is no other.
            let lighter = front.iter().rev().find(|winding| winding.conductor_mass_kg <= wanted_kg);
            let Some(winding) = lighter.copied() else { continue };
            let choice = self.choice(&winding)?;
            let is_new = best.iter().chain(&along).all(|(_, known)| *known != choice);
            if is_new && self.is_passed_by_the_models(&choice) {
                along.push((winding, choice));
            }
        }
        Ok(along)
    }

    /// Whether the figures from the models themselves meet the wishes.
    fn is_passed_by_the_models(&self, choice: &Choice) -> bool {
        let wanted = self.wishes.wanted;
        let cool_enough = self
            .wishes
            .surface_limit_celsius
            .is_none_or(|limit| choice.surface_temperature_celsius.is_some_and(|celsius| celsius <= limit));
        let volts_enough = (wanted.supply.and_then(|supply| supply.voltage_limit_volt))
            .is_none_or(|limit| choice.voltage_volt <= limit);
        let even_enough = (wanted.beam_deviation.zip(choice.worst_beam_deviation))
            .is_none_or(|(limit, worst)| worst.abs() <= limit);
        cool_enough && volts_enough && even_enough
    }

    pub(super) fn near_misses(
        &self,
        found: &Found,
        best: Option<&Winding>,
        preference: &Preference,
    ) -> Result<Vec<NearMiss>> {
        let mut near = Vec::new();
        for (wish, winding) in Wish::ALL.into_iter().zip(&found.near) {
            let Some(winding) = winding else { continue };
            let missed_by_fraction = winding.misses[wish as usize];
            let choice = self.choice(winding)?;
            let Some(relaxations) = relaxation::relaxations(self.wishes, winding, &choice) else { continue };
            let gain = self.gain(wish, winding, best, preference);
            near.push(NearMiss {
                wish,
                missed_by_fraction,
                relaxations,
                stopped_alone: found.stopped_alone[wish as usize],
                choice,
                gain,
            });
        }
        Ok(near)
    }

    /// The gain of a winding that misses one wish over the best one.
    fn gain(&self, wish: Wish, winding: &Winding, best: Option<&Winding>, preference: &Preference) -> Gain {
        let Some(best) = best else { return Gain::AnyWinding };
        let (with, without) = (preference.score(winding), preference.score(best));
        match with < GAIN * without {
            true => Gain::Better { prefer: preference.prefer, by_fraction: 1.0 - with / without },
            false => Gain::Nothing { as_far_as: wish.relaxed(self.wishes, NEAR) },
        }
    }

    pub(super) fn front(&self, found: &Found) -> Vec<Front> {
        let limit = self.wishes.wanted.beam_deviation;
        search::FRONT_SHARES
            .into_iter()
            .enumerate()
            .filter(|(class, _)| *class == 0 || limit.is_some())
            .map(|(class, share)| Front {
                beam_deviation: limit.map(|limit| share * limit),
                points: found
                    .front_of(class)
                    .iter()
                    .map(|winding| FrontPoint {
                        conductor_mass_kg: winding.conductor_mass_kg,
                        power_watt: winding.power_watt,
                        wire: wire_name(&self.space.wires[winding.wire]),
                    })
                    .collect(),
            })
            .filter(|front| !front.points.is_empty())
            .collect()
    }

    /// Why nothing passes; `judge` must have infinite patience.
    pub(super) fn conflict(&self, judge: &Judge, preference: &Preference) -> Result<Conflict> {
        let thinned = self.space.thinned(IMPASSE_RADII);
        let impasse = impasse::impasse(&thinned, self.region, judge, preference);
        if impasse.nearest.is_none() {
            return Ok(Conflict::with_no_winding());
        }
        let (unmet_alone, pairs) = impasse::conflicts(&impasse);
        let nearest_misses: Vec<(Wish, f64)> = impasse
            .nearest
            .iter()
            .flat_map(|winding| Wish::ALL.into_iter().zip(winding.misses))
            .filter(|(_, miss)| *miss > 0.0)
            .collect();
        let unmet = unmet_alone.iter().map(|wish| Reason::Unmet {
            wish: *wish,
            nearest_needs: wish.relaxed(self.wishes, impasse.smallest_miss[*wish as usize]),
        });
        let mut reasons: Vec<Reason> =
            unmet.chain(pairs.iter().map(|two| Reason::UnmetTogether(*two))).collect();
        if reasons.is_empty() {
            reasons.push(Reason::TooMany);
        }
        let advised = self.advised(&impasse)?;
        reasons.extend(advised.as_ref().map(|(choice, relaxations)| Reason::Relaxing {
            relaxations: relaxations.clone(),
            allows: choice.clone(),
        }));
        let (nearest, relaxations) = advised.map_or((None, Vec::new()), |(choice, all)| (Some(choice), all));
        Ok(Conflict { unmet_alone, pairs, nearest, nearest_misses, relaxations, reasons })
    }

    /// The nearest winding and the limits to relax for it, if that is possible.
    fn advised(&self, impasse: &Impasse) -> Result<Option<(Choice, Vec<Relaxation>)>> {
        let Some(winding) =
            impasse.nearest.filter(|winding| winding.misses.iter().all(|miss| miss.is_finite()))
        else {
            return Ok(None);
        };
        let choice = self.choice(&winding)?;
        let relaxations = relaxation::relaxations(self.wishes, &winding, &choice);
        Ok(relaxations.map(|relaxations| (choice, relaxations)))
    }
}

/// A wire's name for people.
fn wire_name(wire: &Wire) -> String {
    wire.name.clone().unwrap_or_else(|| {
        format!(
            "{} bare, {} overall",
            display(wire.bare_diameter_m, Dimension::Length, 3),
            display(wire.overall_diameter_m, Dimension::Length, 4)
        )
    })
}
