//! The pairs that an incomplete quote may mean, represented by a few.
//!
//! A gap that the rest of the quote bounds takes values from end to end. A gap that nothing bounds is tried with values
//! far apart. A bound that depends on a trial is itself a trial.

use super::bounds::{Ground, Known, Range};
use crate::Result;
use crate::files::spec::{Filled, Gap, GapFilling, Quote, StatedWinding};
use crate::pair::{Bench, Connection, Wire};

/// One gap as it was filled in one scenario.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    pub(super) gap: Gap,
    pub(super) filling: GapFilling,
    /// What bounds it; `None` if nothing does, and the filling is then only a trial.
    pub(super) ground: Option<Ground>,
    /// Its rank among the fillings examined, from smallest to largest.
    pub(super) place: usize,
}

/// A pair that a quote may mean.
pub(super) struct Scenario {
    pub(super) bench: Bench,
    pub(super) choices: Vec<Choice>,
    /// Whether the turns fit only in nested layers, which the quote does not mention.
    pub(super) only_nested: bool,
}

/// The outcome for a quote.
pub(super) enum Meant {
    /// Pairs that it may mean; exactly one if nothing is left out.
    Pairs(Vec<Scenario>),
    /// No pair fits it; the problems.
    Nothing(Vec<String>),
    /// No pair was found, but the trial values may be the reason.
    Untold,
}

/// How finely and widely the gaps of a quote are examined.
#[derive(Clone, Copy)]
struct Look {
    /// Number of fillings of a bounded gap.
    points: usize,
    /// Factor on the usual tolerances of stated figures.
    slack: f64,
    /// Factors on the trial value of a gap that nothing bounds.
    trials: &'static [f64],
}

/// Two values far apart: a figure that differs between them is unknown.
const TRIALS: &[f64] = &[0.8, 1.25];
/// More factors, for quotes where neither of those gives a possible pair.
const MORE_TRIALS: &[f64] = &[0.25, 0.4, 0.6, 1.0, 1.6, 2.5, 4.0];

impl Look {
    fn ordinary(gaps: usize) -> Self {
        // Points between the ends, because a figure may be extreme there: the deviation has a minimum at the best
        // spacing.
        let points = match gaps {
            0 | 1 => 7,
            2 => 6,
            3 => 3,
            _ => 2,
        };
        Self { points, slack: 1.0, trials: TRIALS }
    }

    fn wide(gaps: usize) -> Self {
        Self { slack: 2.0, trials: if gaps > 3 { TRIALS } else { MORE_TRIALS }, ..Self::ordinary(gaps) }
    }
}

/// Every pair that a quote may mean.
///
/// # Errors
/// A quote that cannot be read with its gaps filled, which no quote that was read gives.
pub(super) fn meant(quote: &Quote) -> Result<Meant> {
    let gaps = quote.gaps.iter().filter(|gap| **gap != Gap::Connection).count();
    let problems = match pairs(quote, Look::ordinary(gaps))? {
        Ok(pairs) => return Ok(Meant::Pairs(pairs)),
        Err(problems) => problems,
    };
    if gaps > 0
        && let Ok(pairs) = pairs(quote, Look::wide(gaps))?
    {
        return Ok(Meant::Pairs(pairs));
    }
    Ok(if problems.is_empty() { Meant::Untold } else { Meant::Nothing(problems) })
}

/// The pairs, or the problems that no trial value causes.
fn pairs(quote: &Quote, look: Look) -> Result<std::result::Result<Vec<Scenario>, Vec<String>>> {
    let nested = quote.nested();
    let mut open = vec![Partial::of(quote)];
    for gap in order(quote, look) {
        open = open.into_iter().flat_map(|partial| partial.with(gap, quote, look)).collect();
    }
    let mut pairs = Vec::new();
    let mut impossible = Vec::new();
    for Partial { choices, .. } in open {
        match filled(quote, nested.as_ref(), choices)? {
            Ok(pair) => pairs.push(pair),
            Err(found) => impossible.push(found),
        }
    }
    if pairs.is_empty() {
        return Ok(Err(without_trial(&impossible)));
    }
    let possible = pairs.len();
    for Impossible { choices, .. } in &impossible {
        let Some(near) = pairs[..possible].iter().find(|pair| are_neighbours(&pair.choices, choices)) else {
            continue;
        };
        if let Some(pair) = moved_in(quote, nested.as_ref(), &near.choices, choices)? {
            pairs.push(pair);
        }
    }
    Ok(Ok(pairs))
}

/// Fillings that give no possible pair, with the problems.
struct Impossible {
    choices: Vec<Choice>,
    problems: Vec<String>,
}

/// The problems that remain whatever is tried for the unbounded gaps.
fn without_trial(impossible: &[Impossible]) -> Vec<String> {
    let bounded = |it: &Impossible| places(&it.choices, |choice| choice.ground.is_some());
    let Some(first) = impossible.first() else { return Vec::new() };
    let of_same = || impossible.iter().filter(|it| bounded(it) == bounded(first));
    let in_all = |problem: &&String| of_same().all(|it| it.problems.contains(problem));
    let trials = first.choices.iter().any(|choice| choice.ground.is_none());
    if trials && of_same().count() < 2 {
        return Vec::new();
    }
    first.problems.iter().filter(in_all).cloned().collect()
}

/// Gap and rank of the choices for which `of` holds.
pub(super) fn places(choices: &[Choice], of: impl Fn(&Choice) -> bool) -> Vec<(Gap, usize)> {
    choices.iter().filter(|choice| of(choice)).map(|choice| (choice.gap, choice.place)).collect()
}

/// The quote with these choices: as it stands, or with nested layers if it does not mention them and the turns fit only
/// so.
fn filled(
    quote: &Quote,
    nested: Option<&Quote>,
    choices: Vec<Choice>,
) -> Result<std::result::Result<Scenario, Impossible>> {
    let fillings: Vec<_> = choices.iter().map(|choice| (choice.gap, choice.filling.clone())).collect();
    let problems = match quote.filled(&fillings)? {
        Ok(bench) => return Ok(Ok(Scenario { bench, choices, only_nested: false })),
        Err(problems) => problems,
    };
    let by_nesting: Option<Filled> = nested.map(|nested| nested.filled(&fillings)).transpose()?;
    Ok(match by_nesting {
        Some(Ok(bench)) => Ok(Scenario { bench, choices, only_nested: true }),
        _ => Err(Impossible { choices, problems }),
    })
}

/// Whether two pairs have the same wire and differ by one rank in one gap.
fn are_neighbours(one: &[Choice], other: &[Choice]) -> bool {
    let apart = |(one, other): (&Choice, &Choice)| match (&one.filling, &other.filling) {
        (GapFilling::Wire(wire), GapFilling::Wire(of_other)) => {
            // There is nothing between two wires.
            let diameters = |wire: &Wire| (wire.bare_diameter_m, wire.overall_diameter_m);
            if diameters(wire) == diameters(of_other) { 0 } else { usize::MAX / 8 }
        }
        (GapFilling::Connection(one), GapFilling::Connection(other)) => {
            if one == other {
                0
            } else {
                usize::MAX / 8
            }
        }
        _ => one.place.abs_diff(other.place),
    };
    one.iter().zip(other).map(apart).sum::<usize>() == 1
}

/// The last possible pair on the way from a possible pair to an impossible end, by bisection: the true end of the
/// range.
fn moved_in(
    quote: &Quote,
    nested: Option<&Quote>,
    possible: &[Choice],
    end: &[Choice],
) -> Result<Option<Scenario>> {
    let mut found = None;
    let (mut near, mut far) = (0.0, 1.0);
    for _ in 0..8 {
        let part = 0.5 * (near + far);
        let choices = possible.iter().zip(end).map(|(from, to)| from.towards(to, part)).collect();
        match filled(quote, nested, choices)? {
            Ok(pair) => {
                near = part;
                found = Some(pair);
            }
            Err(_) => far = part,
        }
    }
    Ok(found)
}

impl Choice {
    /// A choice the fraction `part` of the way to another choice for the same gap, with the other's rank.
    fn towards(&self, other: &Self, part: f64) -> Self {
        let filling = match (&self.filling, &other.filling) {
            (GapFilling::Number(from), GapFilling::Number(to)) => {
                let between = from + part * (to - from);
                GapFilling::Number(if self.gap == Gap::Turns { between.round() } else { between })
            }
            (own, _) => own.clone(),
        };
        Self { filling, ..other.clone() }
    }
}

/// The gaps in the order in which they are filled: the connection, on which most bounds rest, then bounded gaps. A radius
/// bounded only by the wire's length comes after a depth that may bound it better.
fn order(quote: &Quote, look: Look) -> Vec<Gap> {
    let mut partial = Partial::of(quote);
    let mut left = quote.gaps.clone();
    let mut ordered = Vec::new();
    while !left.is_empty() {
        let rank = |gap: &Gap| match partial.known(quote, look).bounded(*gap) {
            _ if *gap == Gap::Connection => 0,
            Some((_, Ground::Resistance | Ground::Mass)) if *gap == Gap::MeanRadius => 2,
            Some(_) => 1,
            None => 3,
        };
        let at = (0..left.len()).min_by_key(|at| rank(&left[*at])).unwrap_or(0);
        let gap = left.remove(at);
        if let Some(first) = partial.with(gap, quote, look).into_iter().next() {
            partial = first;
        }
        ordered.push(gap);
    }
    ordered
}

/// A winding with some of its gaps filled.
#[derive(Clone)]
struct Partial {
    winding: StatedWinding,
    /// The winding without trial values.
    grounded: StatedWinding,
    choices: Vec<Choice>,
}

impl Partial {
    fn of(quote: &Quote) -> Self {
        Self { winding: quote.winding.clone(), grounded: quote.winding.clone(), choices: Vec::new() }
    }

    /// What is known without any trial, to bound a further gap.
    fn known<'a>(&'a self, quote: &'a Quote, look: Look) -> Known<'a> {
        let Quote { stated, half_units, .. } = quote;
        Known { winding: &self.grounded, stated, half_units, slack: look.slack }
    }

    /// Copies with one more gap filled, one for each value examined.
    fn with(&self, gap: Gap, quote: &Quote, look: Look) -> Vec<Self> {
        let known = self.known(quote, look);
        let (fillings, ground) = match known.bounded(gap) {
            Some((range, ground)) => (range.fillings(gap, look.points), Some(ground)),
            None => {
                let tried = Known { winding: &self.winding, ..known };
                let fillings = match tried.bounded(gap) {
                    Some((range, _)) => range.fillings(gap, look.trials.len()),
                    None => trial(gap, &self.winding, look.trials),
                };
                (fillings, None)
            }
        };
        let choices = fillings.into_iter().enumerate();
        choices.map(|(place, filling)| self.filled(Choice { gap, filling, ground, place })).collect()
    }

    fn filled(&self, choice: Choice) -> Self {
        let mut next = self.clone();
        fill(&mut next.winding, choice.gap, &choice.filling);
        if choice.ground.is_some() {
            fill(&mut next.grounded, choice.gap, &choice.filling);
        }
        next.choices.push(choice);
        next
    }
}

fn fill(winding: &mut StatedWinding, gap: Gap, filling: &GapFilling) {
    match (gap, filling) {
        (_, GapFilling::Wire(wire)) => winding.wires = vec![wire.clone()],
        (_, GapFilling::Connection(connection)) => winding.parallel = *connection == Connection::Parallel,
        (Gap::MeanRadius, GapFilling::Number(si)) => winding.mean_radius_m = Some(*si),
        (Gap::Width, GapFilling::Number(si)) => winding.width_m = Some(*si),
        (Gap::Depth, GapFilling::Number(si)) => winding.depth_m = Some(*si),
        (Gap::Turns, GapFilling::Number(turns)) => winding.turns = Some(*turns),
        (Gap::Spacing, GapFilling::Number(si)) => winding.spacing_m = Some(*si),
        (Gap::Wire | Gap::Connection, GapFilling::Number(_)) => {}
    }
}

impl Range {
    /// At most `points` fillings, from smallest to largest.
    fn fillings(self, gap: Gap, points: usize) -> Vec<GapFilling> {
        let last = points.max(2) - 1;
        match self {
            Self::Numbers([low, high]) => {
                let at = |point: usize| low + (high - low) * point as f64 / last as f64;
                let mut all: Vec<f64> = (0..=last).map(at).collect();
                if gap == Gap::Turns {
                    // The ends may be half turns.
                    (1..last).for_each(|point| all[point] = all[point].round());
                }
                all.dedup();
                all.into_iter().map(GapFilling::Number).collect()
            }
            Self::Connections(ways) => ways.into_iter().map(GapFilling::Connection).collect(),
            Self::Wires(wires) => {
                let shown = wires.len().min(last + 1);
                let at = |point: usize| point * (wires.len() - 1) / (shown - 1).max(1);
                (0..shown).map(|point| GapFilling::Wire(wires[at(point)].clone())).collect()
            }
        }
    }
}

/// Trial values, far apart, of what nothing bounds.
fn trial(gap: Gap, winding: &StatedWinding, factors: &[f64]) -> Vec<GapFilling> {
    let size = winding.mean_radius_m.or(winding.spacing_m).unwrap_or(0.15);
    let about = |middle: f64| factors.iter().map(|factor| GapFilling::Number(factor * middle)).collect();
    match gap {
        Gap::MeanRadius | Gap::Spacing => about(size),
        Gap::Width | Gap::Depth => about(0.11 * size),
        Gap::Turns => {
            factors.iter().map(|factor| GapFilling::Number((140.0 * factor).round().max(1.0))).collect()
        }
        Gap::Wire => {
            let section = winding.width_m.zip(winding.depth_m).map(|(width, depth)| width * depth);
            let room = section.zip(winding.turns).map_or(1.2e-3, |(area, turns)| (area / turns).sqrt());
            let wire = |factor: &f64| {
                let overall_diameter_m = 0.7 * factor * room;
                GapFilling::Wire(Wire {
                    name: None,
                    conductor: winding.conductor,
                    bare_diameter_m: 0.92 * overall_diameter_m,
                    overall_diameter_m,
                    thermal_class_celsius: winding.thermal_class_celsius,
                })
            };
            factors.iter().map(wire).collect()
        }
        // It is bounded by the two ways there are.
        Gap::Connection => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::quote_from_text;
    use serde_json::{Value, json};

    /// A whole pair that also states what follows from it; `edit` takes away.
    fn quote(edit: impl Fn(&mut Value)) -> Quote {
        let mut file = json!({
            "title": "Whole", "spacing": "150 mm", "connection": "series",
            "winding": {
                "mean_radius": "150 mm", "width": "16.9 mm", "depth": "9.5 mm", "turns": 136,
                "wire": { "size": "0.95 mm", "build": "grade 2" }
            }
        });
        edit(&mut file);
        quote_from_text("quote.json", &file.to_string()).unwrap()
    }

    fn take(file: &mut Value, key: &str) {
        match key.split_once('.') {
            Some((part, key)) => file[part].as_object_mut().unwrap().remove(key),
            None => file.as_object_mut().unwrap().remove(key),
        };
    }

    fn pairs(quote: &Quote) -> Vec<Scenario> {
        match meant(quote).unwrap() {
            Meant::Pairs(pairs) => pairs,
            Meant::Nothing(problems) => panic!("{problems:?}"),
            Meant::Untold => panic!("no pair was found"),
        }
    }

    /// What the whole pair has, by hand: R = ρ 2π r N/A of one coil, m = 2 δ 2π r N A, k of two thin loops.
    const COIL_OHM: f64 = 3.118;
    const MASS_KG: f64 = 1.629;

    #[test]
    fn a_whole_quote_means_itself() {
        assert_eq!(pairs(&quote(|_| ())).len(), 1);
    }

    #[test]
    fn the_truth_lies_between_the_ends_of_what_is_bounded() {
        let stated = |file: &mut Value| {
            file["stated"] = json!({
                "resistance": format!("{} ohm", 2.0 * COIL_OHM), "copper_mass": format!("{MASS_KG} kg"),
            });
        };
        type Of = fn(&Bench) -> f64;
        let cases: [(&str, Ground, Of, f64); 6] = [
            ("winding.mean_radius", Ground::FieldConstant, |it| it.winding.mean_radius_m, 0.15),
            ("winding.turns", Ground::Resistance, |it| it.winding.turns, 136.0),
            ("winding.width", Ground::WireAndTurns, |it| it.winding.width_m, 16.9e-3),
            ("winding.depth", Ground::WireAndTurns, |it| it.winding.depth_m, 9.5e-3),
            ("winding.wire", Ground::ResistanceAndMass, |it| it.winding.wire.bare_diameter_m, 0.95e-3),
            ("spacing", Ground::FieldConstant, |it| it.spacing_m, 0.15),
        ];
        for (key, ground, of, truth) in cases {
            let quote = quote(|file| {
                stated(file);
                // μ0 N r²/(r² + s²/4)^(3/2) = (4/5)^(3/2) μ0 N/r.
                file["stated"]["field_constant"] = json!("0.8153 mT/A");
                if key == "winding.turns" {
                    take(file, "stated.field_constant");
                }
                take(file, key);
            });
            let pairs = pairs(&quote);
            assert_eq!(pairs[0].choices[0].ground, Some(ground), "{key}");
            let values: Vec<f64> = pairs.iter().map(|pair| of(&pair.bench)).collect();
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(0.0, f64::max);
            assert!(low <= truth * 1.0001 && truth <= high * 1.0001, "{key}: {low} to {high}, true {truth}");
            assert!(high < 1.45 * low, "{key}: {low} to {high}");
        }
    }

    #[test]
    fn what_nothing_bounds_is_tried_with_two_distant_values() {
        for key in ["winding.mean_radius", "spacing"] {
            let pairs = pairs(&quote(|file| take(file, key)));
            assert_eq!((pairs.len(), pairs[0].choices[0].ground), (2, None), "{key}");
        }
    }

    #[test]
    fn wire_and_section_both_missing_follow_from_resistance_and_mass() {
        let pairs = pairs(&quote(|file| {
            file["stated"] = json!({ "resistance": format!("{} ohm", 2.0 * COIL_OHM), "copper_mass": format!("{MASS_KG} kg") });
            ["winding.wire", "winding.width", "winding.depth"].iter().for_each(|key| take(file, key));
        }));
        assert!(pairs.iter().all(|pair| pair.choices.iter().all(|choice| choice.ground.is_some())));
        assert!(
            pairs.iter().all(|pair| (pair.bench.winding.wire.bare_diameter_m / 0.95e-3 - 1.0).abs() < 0.05)
        );
    }

    #[test]
    fn diameters_give_radius_and_depth() {
        let pairs = pairs(&quote(|file| {
            file["stated"] = json!({ "inner_diameter": "290.5 mm", "outer_diameter": "309.5 mm" });
            ["winding.mean_radius", "winding.depth"].iter().for_each(|key| take(file, key));
        }));
        // Each diameter is good to half of its last digit, 0.05 mm: the radius to 0.025 mm, the depth to 0.05 mm.
        for (of, truth, half) in [
            ((|it| it.mean_radius_m) as fn(&crate::pair::Winding) -> f64, 0.15, 2.5e-5),
            (|it| it.depth_m, 9.5e-3, 5e-5),
        ] {
            let values = || pairs.iter().map(|pair| of(&pair.bench.winding));
            let (low, high) = (values().fold(1.0, f64::min), values().fold(0.0, f64::max));
            assert!(low >= truth - 1.001 * half && high <= truth + 1.001 * half, "{low} to {high}");
            assert!(low <= truth && truth <= high, "{low} to {high}");
        }
    }

    #[test]
    fn turns_that_no_section_holds_mean_nothing() {
        let quote = quote(|file| file["winding"]["turns"] = json!(1300));
        assert!(
            matches!(meant(&quote).unwrap(), Meant::Nothing(problems) if problems[0].contains("82 layers"))
        );
    }

    #[test]
    fn an_empty_quote_still_means_something_to_ask_about() {
        let empty = quote_from_text("empty.json", r#"{ "title": "Nothing yet" }"#).unwrap();
        let pairs = pairs(&empty);
        assert_eq!(pairs[0].choices.len(), 7);
        assert!(pairs.len() <= 128 + 7);
    }

    /// The smallest and the largest of something over the pairs.
    fn ends(pairs: &[Scenario], of: impl Fn(&Bench) -> f64) -> [f64; 2] {
        let values = || pairs.iter().map(|pair| of(&pair.bench));
        [values().fold(f64::INFINITY, f64::min), values().fold(0.0, f64::max)]
    }

    fn grounds(pairs: &[Scenario]) -> Vec<(Gap, Option<Ground>)> {
        pairs[0].choices.iter().map(|choice| (choice.gap, choice.ground)).collect()
    }

    #[test]
    fn a_mean_radius_follows_from_field_turns_and_spacing_and_from_one_diameter_once_the_depth_is_bounded() {
        let by_field = pairs(&quote(|file| {
            file["stated"] = json!({ "field_constant": "0.815 mT/A" });
            take(file, "winding.mean_radius");
        }));
        assert_eq!(grounds(&by_field), [(Gap::MeanRadius, Some(Ground::FieldConstant))]);
        let [low, high] = ends(&by_field, |it| it.winding.mean_radius_m);
        // ±1 % of the constant and half of its last digit are ±2.7 % of the radius: d ln k/d ln r = -0.4 at s = r.
        assert!(low < 0.15 && high > 0.15 && high - low < 0.009, "{low} to {high}");
        let by_diameter = pairs(&quote(|file| {
            file["stated"] = json!({ "inner_diameter": "290.5 mm", "resistance": "6.2 ohm" });
            ["winding.mean_radius", "winding.depth"].iter().for_each(|key| take(file, key));
        }));
        assert_eq!(grounds(&by_diameter)[1], (Gap::MeanRadius, Some(Ground::Diameters)));
        let [low, high] = ends(&by_diameter, |it| it.winding.mean_radius_m);
        assert!(low <= 0.15 && high >= 0.15 && high - low < 0.0015, "{low} to {high}");
    }

    #[test]
    fn only_stock_wires_whose_turns_fit_the_section_are_looked_at() {
        // Nine layers of grade 1 fit, of grade 2 (1.044 mm) only eight.
        let quote = quote(|file| {
            file["winding"]["depth"] = json!("9.25 mm");
            file["winding"]["packing"] = json!("square");
            file["winding"]["wire"].as_object_mut().unwrap().remove("build");
        });
        let pairs = pairs(&quote);
        assert_eq!(quote.winding.wires.len(), 2);
        assert!(!pairs.is_empty());
        for pair in &pairs {
            assert_eq!(pair.bench.winding.wire.name.as_deref(), Some("0.95 mm grade 1"));
        }
    }

    #[test]
    fn nested_layers_hold_more_and_are_found_where_nothing_is_said_of_them() {
        // 136 turns in 9 layers, 1.044 mm (1 + 8 √3/2) = 8.277 mm deep; wire by wire they would take 9.396 mm.
        let whole = |file: &mut Value| {
            file["winding"]["packing"] = json!("nested");
            file["winding"]["width"] = json!("17.4 mm");
            file["winding"]["depth"] = json!("8.3 mm");
        };
        for key in ["winding.depth", "winding.turns", "winding.wire"] {
            let pairs = pairs(&quote(|file| {
                whole(file);
                take(file, key);
            }));
            assert!(pairs.iter().all(|pair| pair.choices[0].ground.is_some()), "{key}");
            for (of, truth) in [
                ((|it| it.depth_m) as fn(&crate::pair::Winding) -> f64, 8.3e-3),
                (|it| it.turns, 136.0),
                (|it| it.wire.overall_diameter_m, 1.044e-3),
            ] {
                let [low, high] = ends(&pairs, |it| of(&it.winding));
                assert!(
                    low <= truth * 1.001 && truth <= high * 1.001,
                    "{key}: {low} to {high}, true {truth}"
                );
            }
        }
        let unsaid = pairs(&quote(|file| {
            whole(file);
            take(file, "winding.packing");
        }));
        assert_eq!((unsaid.len(), unsaid[0].only_nested), (1, true));
    }

    #[test]
    fn what_only_a_trial_bounds_is_a_trial() {
        let pairs = pairs(&quote(|file| {
            file["stated"] = json!({ "resistance": "6.24 ohm" });
            ["winding.mean_radius", "winding.turns", "winding.width"].iter().for_each(|key| take(file, key));
        }));
        // The turns follow from the wire's length only once a radius is tried, the width only from such turns.
        assert!(grounds(&pairs).iter().all(|(_, ground)| ground.is_none()), "{:?}", grounds(&pairs));
    }

    #[test]
    fn a_range_is_looked_at_inside_too() {
        let pairs = pairs(&quote(|file| {
            file["stated"] = json!({ "field_constant": "0.815 mT/A" });
            take(file, "spacing");
        }));
        assert_eq!(pairs.len(), 7);
    }

    #[test]
    fn a_trial_that_cannot_be_made_says_nothing_against_the_quote() {
        // 160 turns by the layers, which are known only once turns are tried: 8 of 20 and no other number.
        let quote = quote(|file| {
            file["winding"]["layers"] = json!(30);
            ["winding.width", "winding.wire", "winding.turns"].iter().for_each(|key| take(file, key));
        });
        assert!(!matches!(meant(&quote).unwrap(), Meant::Nothing(_)));
    }
}
