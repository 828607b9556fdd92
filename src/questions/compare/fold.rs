//! Folds all pairs that one quote may mean into one option.

use super::contradiction::{Follows, PairAsQuoted, contradictions};
use super::figures::{FIGURES, is_of_borne_current};
use super::gap_end::GapEnd;
use super::option::{asked_alike, option};
use super::question::Question;
use super::record::{OpenGap, PairOption};
use super::terms;
use super::unfinished::{Choice, Meant, Scenario, meant, places};
use super::wire::other_wire;
use crate::Result;
use crate::constants::Conductor;
use crate::files::spec::{Blank, Doubt, Gap, Quote, Remark, Unreadable, Wanted};
use crate::numeric::calendar::Day;
use crate::pair::{Offer, ResistanceContradiction, StatedByMaker, resistance_contradictions};
use crate::physics::safety::SafetyFigures;
use rayon::prelude::*;

/// Figures closer than this relative difference count as independent of what was filled in.
const SAME: f64 = 1e-6;

/// One pair that a quote may mean, with its figures.
pub(super) struct Looked {
    choices: Vec<Choice>,
    only_nested: bool,
    pub(super) option: PairOption,
    follows: Follows,
    resistances: Vec<ResistanceContradiction>,
}

/// An option with every pair that it may mean.
pub(super) struct Offered {
    pub(super) name: String,
    title: String,
    digest: String,
    offer: Offer,
    stated: StatedByMaker,
    gaps: Vec<OpenGap>,
    unreadable: Vec<Unreadable>,
    doubts: Vec<Doubt>,
    remarks: Vec<Remark>,
    blanks: Vec<Blank>,
    shortest_delivery_days: Option<f64>,
    /// What the maker promises and the needs exceed.
    pub(super) promised: Vec<Question>,
    /// Why no pair fits the quote; there are then no scenarios.
    problems: Vec<String>,
    pub(super) scenarios: Vec<Looked>,
    /// Contradictions that hold whichever pair is meant.
    pub(super) contradicted: Vec<Question>,
    terms: Vec<Question>,
    /// The question about a conductor that is left open.
    conductor: Option<Question>,
}

/// How something differs between the pairs that a quote may mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Spread {
    /// Not at all.
    None,
    /// Between bounds.
    Bounded([f64; 2]),
    /// Unbounded, or known for only some of the pairs.
    Open,
}

impl Offered {
    /// Looks at every pair that a quote may mean. An open conductor is the one with which the rest of the quote can be true;
    /// copper is taken where both are, or neither is, and it is asked.
    pub(super) fn of(
        name: String,
        quote: &Quote,
        field_needed: Option<f64>,
        needs: Option<&Wanted>,
        date: Option<Day>,
    ) -> Result<Self> {
        if !quote.is_conductor_open {
            return Self::as_written(name, quote, field_needed, needs, date);
        }
        let of = |conductor| {
            Self::as_written(name.clone(), &quote.of_conductor(conductor), field_needed, needs, date)
        };
        let can_be = |it: &Self| it.problems.is_empty() && it.contradicted.is_empty();
        let [copper, aluminium] = [of(Conductor::Copper)?, of(Conductor::Aluminium)?];
        let (taken, conductor, follows) = match (can_be(&copper), can_be(&aluminium)) {
            (true, false) => return Ok(copper),
            (false, true) => (aluminium, Conductor::Aluminium, true),
            _ => (copper, Conductor::Copper, false),
        };
        Ok(Self { conductor: Some(Question::Conductor { taken: conductor, follows }), ..taken })
    }

    fn as_written(
        name: String,
        quote: &Quote,
        field_needed: Option<f64>,
        needs: Option<&Wanted>,
        date: Option<Day>,
    ) -> Result<Self> {
        let (pairs, problems) = match meant(quote)? {
            Meant::Pairs(pairs) => (pairs, Vec::new()),
            Meant::Nothing(problems) => (Vec::new(), problems),
            Meant::Untold => (Vec::new(), Vec::new()),
        };
        let gaps = quote.gaps.iter().map(|gap| open_gap(*gap, &pairs)).collect();
        let named = needs.and_then(|needs| needs.search.as_ref()?.wires.as_deref());
        let wires: Vec<_> = pairs.iter().map(|pair| &pair.bench.winding.wire).collect();
        let other_wire =
            other_wire(&wires, named).map(|(offered, named)| Question::OtherWire { offered, named });
        let scenarios = pairs
            .into_par_iter()
            .map(|pair| Looked::at(pair, &quote.half_units, field_needed, needs))
            .collect::<Vec<Result<Looked>>>()
            // Collected in order, so that the first pair's error is returned whichever thread ends first.
            .into_iter()
            .collect::<Result<_>>()?;
        let mut offered = Self {
            name,
            title: quote.title.clone(),
            digest: quote.digest.clone(),
            offer: quote.offer.clone(),
            stated: quote.stated.clone(),
            gaps,
            unreadable: quote.unreadable.clone(),
            doubts: quote.doubts.clone(),
            remarks: quote.remarks.clone(),
            blanks: quote.blanks.iter().copied().filter(|blank| matters(*blank, needs)).collect(),
            shortest_delivery_days: quote.shortest_delivery_days,
            promised: promised(quote, field_needed),
            problems,
            scenarios,
            contradicted: Vec::new(),
            terms: match needs.and_then(|needs| needs.purchase.as_ref()) {
                Some(purchase) => {
                    let mut asked: Vec<Question> = other_wire.into_iter().collect();
                    asked.extend(terms::declared(&quote.stated));
                    asked.extend(terms::questions(&quote.offer, Some(purchase), date));
                    asked
                }
                None => other_wire.into_iter().chain(terms::questions(&quote.offer, None, date)).collect(),
            },
            conductor: None,
        };
        let follows: Vec<&Follows> = offered.scenarios.iter().map(|looked| &looked.follows).collect();
        let stated = contradictions(quote, &follows, |values| offered.hull(values));
        let resistances = ["a", "b"].into_iter().filter_map(|coil| offered.resistance_contradicted(coil));
        let resistances = resistances.map(Question::WhichResistance);
        let twice = quote.doubts.iter().filter(|it| it.is_contradiction()).cloned().map(Question::Doubt);
        let contradicted =
            twice.chain(resistances).chain(stated.into_iter().map(Question::Contradiction)).collect();
        offered.contradicted = contradicted;
        Ok(offered)
    }

    /// A coil's stated resistance, if it lies on the same side of the wire's for every pair that may be meant.
    fn resistance_contradicted(&self, coil: &str) -> Option<ResistanceContradiction> {
        let of = |looked: &Looked| looked.resistances.iter().find(|it| it.coil == coil).copied();
        let each: Vec<ResistanceContradiction> = self.scenarios.iter().map(of).collect::<Option<_>>()?;
        let by_wire: Vec<Option<f64>> = each.iter().map(|it| Some(it.by_wire_ohm)).collect();
        let first = *each.first()?;
        let above = |it: &ResistanceContradiction| it.stated_ohm > it.by_wire_ohm;
        let one_side = each.iter().all(|it| above(it) == above(&first));
        // A value that depends on a trial contradicts nothing.
        (one_side && self.spread_of(&by_wire) != Spread::Open).then(|| {
            let nearer = |one: &ResistanceContradiction, other: &ResistanceContradiction| {
                let off = |it: &ResistanceContradiction| (it.stated_ohm - it.by_wire_ohm).abs();
                off(one).total_cmp(&off(other))
            };
            each.into_iter().min_by(nearer).unwrap_or(first)
        })
    }

    /// Whether no pair fits the quote.
    pub(super) fn is_impossible(&self) -> bool {
        !self.problems.is_empty()
    }

    /// One option for all pairs: figures that all share, ranges of bounded figures, and no unbounded ones.
    pub(super) fn folded(&self) -> PairOption {
        let mut folded = match self.scenarios.first() {
            Some(first) => first.option.clone(),
            None => PairOption::without_figures(&self.title, &self.digest),
        };
        for figure in FIGURES {
            let spread = match is_of_borne_current(figure.key) {
                true => self.spread_of_borne(&self.values(figure.of)),
                false => self.spread(figure.of),
            };
            match spread {
                Spread::None => {}
                Spread::Bounded(ends) => {
                    folded.bounds.insert(figure.key, ends);
                    (figure.leave_out)(&mut folded);
                }
                Spread::Open => (figure.leave_out)(&mut folded),
            }
        }
        if self.scenarios.len() > 1 {
            self.keep_what_all_share(&mut folded);
        }
        folded.questions = self.questions();
        folded.label.clone_from(&self.name);
        folded.title.clone_from(&self.title);
        folded.digest.clone_from(&self.digest);
        folded.gaps.clone_from(&self.gaps);
        folded.remarks.clone_from(&self.remarks);
        folded.unclear = self.unclear().map(str::to_owned).collect();
        let Offer { amount, ref currency, carriage, tax_fraction, delivery_days, warranty_days, .. } =
            self.offer;
        folded.price = amount;
        folded.currency.clone_from(currency);
        (folded.carriage, folded.tax_fraction) = (carriage, tax_fraction);
        (folded.delivery_days, folded.warranty_days) = (delivery_days, warranty_days);
        folded.shortest_delivery_days = self.shortest_delivery_days;
        folded.valid_until = self.offer.valid_until;
        folded.stated_hottest_surface_celsius = self.stated.hottest_surface_celsius;
        folded.insulation_test_voltage_volt = self.stated.insulation_test_voltage_volt;
        folded.insulation_resistance_ohm = self.stated.insulation_resistance_ohm;
        folded.standards.clone_from(&self.stated.standards);
        folded.terminals.clone_from(&self.stated.terminals);
        folded.held_by.clone_from(&self.stated.held_by);
        folded
    }

    fn keep_what_all_share(&self, folded: &mut PairOption) {
        let all = |same: &dyn Fn(&PairOption) -> bool| self.scenarios.iter().all(|it| same(&it.option));
        if !all(&|it| it.smallest_beam_radius_m == folded.smallest_beam_radius_m) {
            folded.smallest_beam_radius_m = None;
        }
        if !all(&|it| it.charge_to_mass_bias_fraction == folded.charge_to_mass_bias_fraction) {
            folded.charge_to_mass_bias_fraction = None;
        }
        if self.tries_the_winding() || !all(&|it| it.limited_by == folded.limited_by) {
            folded.limited_by = None;
        }
        // The safe end of the range; `None` if it is unbounded.
        let end =
            |of: fn(&PairOption) -> Option<f64>, larger: bool| match self.spread_of_borne(&self.values(of)) {
                Spread::None => of(folded),
                Spread::Bounded(ends) => Some(ends[usize::from(larger)]),
                Spread::Open => None,
            };
        folded.safety = SafetyFigures {
            reliable_continuous_current_ampere: end(|it| it.safety.reliable_continuous_current_ampere, false),
            caution_distance_m: end(|it| it.safety.caution_distance_m, true),
        };
    }

    /// Spread of a figure over the pairs.
    pub(super) fn spread(&self, of: impl Fn(&PairOption) -> Option<f64>) -> Spread {
        self.spread_of(&self.values(of))
    }

    /// A figure of each pair.
    fn values(&self, of: impl Fn(&PairOption) -> Option<f64>) -> Vec<Option<f64>> {
        self.scenarios.iter().map(|it| of(&it.option)).collect()
    }

    /// Spread of the currents that the pairs can carry, or of the fields at them. The supply may limit all tried pairs
    /// to the same value, yet not every possible winding. They are therefore open if a part of the winding is only a
    /// trial.
    pub(super) fn spread_of_borne(&self, values: &[Option<f64>]) -> Spread {
        match self.tries_the_winding() && values.iter().any(Option::is_some) {
            true => Spread::Open,
            false => self.spread_of(values),
        }
    }

    /// Whether a gap that nothing bounds affects resistance and cooling.
    fn tries_the_winding(&self) -> bool {
        self.gaps.iter().any(|open| open.bounded_by.is_none() && open.gap != Gap::Spacing)
    }

    /// Spread of values, one for each pair.
    pub(super) fn spread_of(&self, values: &[Option<f64>]) -> Spread {
        let same = |one: Option<f64>, other: Option<f64>| match (one, other) {
            (Some(one), Some(other)) => {
                one == other || (one - other).abs() <= SAME * one.abs().max(other.abs())
            }
            (one, other) => one == other,
        };
        if values.windows(2).all(|pair| same(pair[0], pair[1])) && !self.lacks_a_trial() {
            return Spread::None;
        }
        let of_choice = |looked: &Looked| {
            let choice = looked.bounded();
            let of_same = self.scenarios.iter().zip(values).filter(move |(it, _)| it.bounded() == choice);
            of_same.map(|(_, value)| *value).collect::<Vec<_>>()
        };
        let open = self.scenarios.iter().any(|looked| {
            let values = of_choice(looked);
            values.iter().any(|value| !same(*value, values[0]))
        });
        let all: Option<Vec<f64>> = values.iter().copied().collect();
        match all {
            Some(all) if !open && !self.lacks_a_trial() => Spread::Bounded([
                all.iter().copied().fold(f64::INFINITY, f64::min),
                all.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            ]),
            _ => Spread::Open,
        }
    }

    /// Smallest and largest of values, one for each pair; `None` if they are open.
    fn hull(&self, values: &[Option<f64>]) -> Option<[f64; 2]> {
        match self.spread_of(values) {
            Spread::None => values.first().copied().flatten().map(|value| [value; 2]),
            Spread::Bounded(ends) => Some(ends),
            Spread::Open => None,
        }
    }

    /// Whether only one trial of an unbounded gap gave a possible pair. Which figures depend on the gap is then
    /// unknown.
    fn lacks_a_trial(&self) -> bool {
        let open = self.gaps.iter().any(|gap| gap.bounded_by.is_none());
        open && self
            .scenarios
            .iter()
            .any(|looked| self.scenarios.iter().filter(|it| it.bounded() == looked.bounded()).count() < 2)
    }

    /// The gaps whose answers would decide `values` (one for each pair): those that alone change the values by at least
    /// a fifth of their whole range, most influential first. If no gap does so alone, all open gaps.
    pub(super) fn deciding_gaps(&self, values: &[Option<f64>]) -> Vec<Gap> {
        let moved = |gap: Gap| {
            let elsewhere = |looked: &Looked| places(&looked.choices, |choice| choice.gap != gap);
            let mut most: f64 = 0.0;
            for (at, one) in self.scenarios.iter().enumerate() {
                for (other, value) in self.scenarios.iter().zip(values).skip(at + 1) {
                    if elsewhere(one) == elsewhere(other) {
                        most = most.max(apart(values[at], *value));
                    }
                }
            }
            most
        };
        let whole = values.iter().flat_map(|one| values.iter().map(|other| apart(*one, *other)));
        let least = 0.2 * whole.fold(0.0, f64::max);
        let mut moving: Vec<(Gap, f64)> = self.gaps.iter().map(|open| (open.gap, moved(open.gap))).collect();
        moving.retain(|(_, moved)| *moved > 0.0 && *moved >= least);
        moving.sort_by(|one, other| other.1.total_cmp(&one.1));
        if moving.is_empty() {
            return self.gaps.iter().filter(|open| open.ends.len() != 1).map(|open| open.gap).collect();
        }
        moving.into_iter().map(|(gap, _)| gap).collect()
    }

    fn questions(&self) -> Vec<Question> {
        let unreadable = self.unreadable.iter().map(|it| Question::Unreadable(it.clone()));
        let doubts =
            self.doubts.iter().filter(|it| !it.is_contradiction()).map(|it| Question::Doubt(it.clone()));
        let beside = self.remarks.iter().filter(|it| it.key.is_some());
        let remarks = beside.map(|it| Question::Remark(it.clone()));
        let blanks = self.blanks.iter().map(|blank| Question::LeftBlank { blank: *blank });
        // A key that is filled in unclearly is asked for once.
        let is_asked =
            |question: &Question| question.key().is_some_and(|key| self.unclear().any(|it| it == key));
        let gaps = self.gaps.iter().map(|open| Question::Gap {
            gap: open.gap,
            bounded_by: open.bounded_by,
            ends: open.ends.clone(),
        });
        let problems = self.problems.iter().map(|problem| Question::Impossible { problem: problem.clone() });
        let some = !self.scenarios.is_empty();
        let all = |of: fn(&Looked) -> bool| some && self.scenarios.iter().all(of);
        let packing = all(|looked| looked.only_nested).then_some(Question::Packing);
        let tolerance = all(|looked| looked.option.questions.contains(&Question::BuildTolerance))
            .then_some(Question::BuildTolerance);
        gaps.chain(problems)
            .chain(self.contradicted.iter().cloned())
            .chain(self.promised.iter().cloned())
            .chain(packing)
            .chain(self.conductor.clone())
            .chain(tolerance)
            .chain(blanks)
            .chain(self.terms.iter().cloned())
            .filter(|question| !is_asked(question))
            .chain(doubts)
            .chain(unreadable)
            .chain(remarks)
            .collect()
    }

    /// The keys of what is filled in but cannot be read, or may be meant in more than one way.
    fn unclear(&self) -> impl Iterator<Item = &str> {
        let doubts = self.doubts.iter().map(|it| it.key.as_str());
        self.unreadable.iter().map(|it| it.key.as_str()).chain(doubts)
    }
}

impl Looked {
    fn at(
        pair: Scenario,
        half_units: &StatedByMaker,
        field_needed: Option<f64>,
        needs: Option<&Wanted>,
    ) -> Result<Self> {
        let Scenario { bench, choices, only_nested } = pair;
        let option = option(&asked_alike(&bench, needs), field_needed, needs)?;
        let follows = Follows::of(&PairAsQuoted {
            bench: &bench,
            field_constant_tesla_per_ampere: option.field_constant_tesla_per_ampere,
            conductor_mass_kg: option.conductor_mass_kg,
            half_unit_ampere: half_units.largest_field_current_ampere.unwrap_or(0.0),
        });
        Ok(Self { choices, only_nested, follows, resistances: resistance_contradictions(&bench), option })
    }

    /// The choices made for bounded gaps; the others are trials.
    fn bounded(&self) -> Vec<(Gap, usize)> {
        places(&self.choices, |choice| choice.ground.is_some())
    }
}

/// Whether a need, or the order, depends on something that a quote leaves blank.
fn matters(blank: Blank, needs: Option<&Wanted>) -> bool {
    let Some(needs) = needs else { return false };
    let on_warmth =
        needs.surface_temperature_limit_celsius.is_some() || needs.time_at_largest_current_s.is_some();
    let on_voltage = needs.supply.is_some_and(|supply| supply.voltage_limit_volt.is_some());
    needs.purchase.is_some() || if blank == Blank::Leads { on_voltage } else { on_warmth }
}

/// Questions about the largest field that a maker states, if it is less than needed or stated without its current.
fn promised(quote: &Quote, field_needed: Option<f64>) -> Vec<Question> {
    let StatedByMaker {
        largest_field_tesla: field,
        largest_field_current_ampere: current,
        largest_field_voltage_volt: voltage,
        hottest_surface_celsius: surface,
        ..
    } = quote.stated;
    let half_unit = quote.half_units.largest_field_tesla.unwrap_or(0.0);
    let less = field.zip(field_needed).filter(|(stated, needed)| stated + half_unit < *needed);
    let less = less.map(|(stated_tesla, needed_tesla)| Question::PromisesLess { stated_tesla, needed_tesla });
    let rests_on_it = field.is_some() || voltage.is_some() || surface.is_some();
    let of_which_current = (rests_on_it && current.is_none()).then_some(Question::CurrentOfLargestField);
    less.into_iter().chain(of_which_current).collect()
}

/// Distance of two values; infinite if only one is known.
fn apart(one: Option<f64>, other: Option<f64>) -> f64 {
    match (one, other) {
        (one, other) if one == other => 0.0,
        (Some(one), Some(other)) => (one - other).abs(),
        _ => f64::INFINITY,
    }
}

/// A gap with the ends of the values examined, if something bounds it.
fn open_gap(gap: Gap, pairs: &[Scenario]) -> OpenGap {
    let choices: Vec<_> =
        pairs.iter().flat_map(|pair| &pair.choices).filter(|choice| choice.gap == gap).collect();
    let bounded_by = choices.first().and_then(|choice| choice.ground);
    let mut ends: Vec<GapEnd> = choices
        .iter()
        .filter(|_| bounded_by.is_some())
        .map(|choice| GapEnd::of(gap, &choice.filling))
        .collect();
    ends.sort_by(|one, other| one.size().total_cmp(&other.size()));
    // Values that read the same are one.
    ends.dedup_by(|one, other| one.phrase() == other.phrase());
    if ends.len() > 2 {
        ends.drain(1..ends.len() - 1);
    }
    OpenGap { gap, bounded_by, ends }
}
