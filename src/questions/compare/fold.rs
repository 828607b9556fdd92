//! The pairs that one quote may mean, told as one option.

use super::option::{asked_alike, option};
use super::record::{FIGURES, OpenGap, PairOption, Question};
use super::terms;
use super::unfinished::{Meant, Scenario, meant};
use crate::Result;
use crate::files::spec::{Filling, Gap, Quote, Wanted};
use crate::pair::Offer;
use crate::physics::safety::SafetyFigures;
use crate::units::{Dimension, brief, display, length};

/// Figures that differ by less than this part do not depend on what was filled in.
const SAME: f64 = 1e-6;

/// One pair that a quote may mean, with its figures.
pub(super) struct Looked {
    /// What was chosen where something bounds the choice; the rest are trials.
    bounded: String,
    pub(super) option: PairOption,
}

/// An option with every pair that it may mean.
pub(super) struct Offered {
    pub(super) name: String,
    title: String,
    digest: String,
    offer: Offer,
    gaps: Vec<OpenGap>,
    /// Why no pair can be what is stated; then there are no scenarios.
    problems: Vec<String>,
    pub(super) scenarios: Vec<Looked>,
    terms: Vec<Question>,
}

/// How something differs between the pairs that a quote may mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Spread {
    /// Not at all.
    None,
    /// Between bounds.
    Bounded([f64; 2]),
    /// With what nothing bounds, or where only some of the pairs have it.
    Open,
}

impl Offered {
    /// Looks at every pair that a quote may mean.
    pub(super) fn of(
        name: String,
        quote: &Quote,
        field_needed: Option<f64>,
        needs: Option<&Wanted>,
    ) -> Result<Self> {
        let (pairs, problems) = match meant(quote)? {
            Meant::Pairs(pairs) => (pairs, Vec::new()),
            Meant::Nothing(problems) => (Vec::new(), problems),
        };
        let scenarios = pairs
            .iter()
            .map(|pair| {
                let option = option(&asked_alike(&pair.bench, needs), field_needed, needs)?;
                Ok(Looked { bounded: bounded_choices(pair), option })
            })
            .collect::<Result<_>>()?;
        Ok(Self {
            name,
            title: quote.title.clone(),
            digest: quote.digest.clone(),
            offer: quote.offer.clone(),
            gaps: quote.gaps.iter().map(|gap| open_gap(*gap, &pairs)).collect(),
            problems,
            scenarios,
            terms: terms::questions(&quote.offer, needs.and_then(|needs| needs.purchase.as_ref())),
        })
    }

    /// The one option: what all pairs share, what lies within bounds, and nothing of what is open.
    pub(super) fn folded(&self) -> PairOption {
        let mut folded = match self.scenarios.first() {
            Some(first) => first.option.clone(),
            None => PairOption::without_figures(&self.title, &self.digest),
        };
        for figure in FIGURES {
            match self.spread(figure.of) {
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
        let Offer { amount, ref currency, carriage, tax_fraction, delivery_days, warranty_days } = self.offer;
        folded.price = amount;
        folded.currency.clone_from(currency);
        (folded.carriage, folded.tax_fraction) = (carriage, tax_fraction);
        (folded.delivery_days, folded.warranty_days) = (delivery_days, warranty_days);
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
        if !all(&|it| it.limited_by == folded.limited_by) {
            folded.limited_by = None;
        }
        // The safe end of what the pairs may do, and nothing where that is open.
        let end = |of: fn(&PairOption) -> Option<f64>, larger: bool| match self.spread(of) {
            Spread::None => of(folded),
            Spread::Bounded(ends) => Some(ends[usize::from(larger)]),
            Spread::Open => None,
        };
        folded.safety = SafetyFigures {
            reliable_continuous_current_ampere: end(|it| it.safety.reliable_continuous_current_ampere, false),
            caution_distance_m: end(|it| it.safety.caution_distance_m, true),
        };
    }

    /// How a figure differs between the pairs.
    pub(super) fn spread(&self, of: impl Fn(&PairOption) -> Option<f64>) -> Spread {
        let values: Vec<Option<f64>> = self.scenarios.iter().map(|it| of(&it.option)).collect();
        self.spread_of(&values)
    }

    /// How values, one for each pair, differ.
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
            let choice = looked.bounded.clone();
            let of_same = self.scenarios.iter().zip(values).filter(move |(it, _)| it.bounded == choice);
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

    /// Whether a gap that nothing bounds was left with one trial, because no pair could be made of the other: then nothing
    /// tells which figures depend on it.
    fn lacks_a_trial(&self) -> bool {
        let open = self.gaps.iter().any(|gap| gap.bounded_by.is_none());
        open && self
            .scenarios
            .iter()
            .any(|looked| self.scenarios.iter().filter(|other| other.bounded == looked.bounded).count() < 2)
    }

    fn questions(&self) -> Vec<Question> {
        let gaps = self.gaps.iter().map(|open| Question::Gap {
            gap: open.gap,
            bounded_by: open.bounded_by,
            ends: open.ends.clone(),
        });
        let problems = self.problems.iter().map(|problem| Question::Impossible { problem: problem.clone() });
        // What contradicts itself whichever pair is meant.
        let first = self.scenarios.first().map_or(&[][..], |first| &first.option.questions);
        let shared = first.iter().filter(|question| {
            let alike = |other: &Question| match (question, other) {
                (Question::Contradiction(one), Question::Contradiction(other)) => {
                    one.property == other.property
                }
                (one, other) => std::mem::discriminant(*one) == std::mem::discriminant(other),
            };
            self.scenarios.iter().all(|looked| looked.option.questions.iter().any(alike))
        });
        gaps.chain(problems).chain(shared.cloned()).chain(self.terms.iter().cloned()).collect()
    }
}

fn bounded_choices(pair: &Scenario) -> String {
    let bounded = pair.choices.iter().filter(|choice| choice.ground.is_some());
    format!(
        "{:?}",
        bounded.map(|choice| (choice.gap, words_of(choice.gap, &choice.filling))).collect::<Vec<_>>()
    )
}

/// A gap, and the ends of what was looked at where something bounds it.
fn open_gap(gap: Gap, pairs: &[Scenario]) -> OpenGap {
    let choices: Vec<_> =
        pairs.iter().flat_map(|pair| &pair.choices).filter(|choice| choice.gap == gap).collect();
    let bounded_by = choices.first().and_then(|choice| choice.ground);
    let mut values: Vec<(f64, String)> = choices
        .iter()
        .filter(|_| bounded_by.is_some())
        .map(|choice| (size_of(&choice.filling), words_of(gap, &choice.filling)))
        .collect();
    values.sort_by(|one, other| one.0.total_cmp(&other.0));
    values.dedup_by(|one, other| one.1 == other.1);
    if values.len() > 2 {
        values.drain(1..values.len() - 1);
    }
    OpenGap { gap, bounded_by, ends: values.into_iter().map(|(_, words)| words).collect() }
}

fn size_of(filling: &Filling) -> f64 {
    match filling {
        Filling::Number(number) => *number,
        Filling::Wire(wire) => wire.bare_diameter_m + 1e-3 * wire.overall_diameter_m,
    }
}

fn words_of(gap: Gap, filling: &Filling) -> String {
    match (gap, filling) {
        (Gap::Turns, Filling::Number(turns)) => brief(*turns, Dimension::Number),
        (_, Filling::Number(metres)) => length(*metres, 1),
        (_, Filling::Wire(wire)) => match &wire.name {
            Some(name) => name.clone(),
            None => format!(
                "{} bare, {} over the enamel",
                display(wire.bare_diameter_m, Dimension::Length, 3),
                display(wire.overall_diameter_m, Dimension::Length, 3)
            ),
        },
    }
}
