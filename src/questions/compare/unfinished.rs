//! What a quote leaves out, bounded by what it says: every pair that it may mean, as far as a few stand for all.

use crate::Result;
use crate::constants::MU_0;
use crate::files::spec::{Filled, Filling, Gap, Quote, StatedWinding};
use crate::pair::wires::{StockWire, stock_wires};
use crate::pair::{Bench, StatedByMaker, Wire};
use serde::Serialize;
use std::f64::consts::{PI, TAU};

/// What bounds a gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// Inner and outer diameter of the winding.
    Diameters,
    /// The stated resistance and mass.
    ResistanceAndMass,
    /// The stated resistance, with what else is known of the winding.
    Resistance,
    /// The stated mass, with what else is known of the winding.
    Mass,
    /// The stated field constant, with turns and mean radius.
    FieldConstant,
    /// The section, with wire or turns.
    Section,
    /// The wire and the turns.
    WireAndTurns,
    /// The size or the build, which only a few stock wires have.
    Stock,
}

/// One gap as it was filled in one scenario.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    pub(super) gap: Gap,
    pub(super) filling: Filling,
    /// What bounds it; `None` where nothing does, and then the filling is only a trial.
    pub(super) ground: Option<Ground>,
}

/// A pair that a quote may mean.
pub(super) struct Scenario {
    pub(super) bench: Bench,
    pub(super) choices: Vec<Choice>,
}

/// What becomes of a quote.
pub(super) enum Meant {
    /// Pairs that it may mean: one where nothing is left out.
    Pairs(Vec<Scenario>),
    /// No pair can be what it says; the problems.
    Nothing(Vec<String>),
}

/// Resistance and mass hold within this: wire drawn to 1 % has a section within 2 % (IEC 60317-0-1), the rest is the
/// lead-outs and the rounding of a quote (common practice, no source).
const OF_STATED: f64 = 0.05;
/// A stated field constant is rounded and its pair built to half a millimetre (common practice, no source).
const OF_STATED_CONSTANT: f64 = 0.01;
/// A wound section is at least as large as its wires side by side, and at most so much larger (common practice, no source).
const LOOSEST: f64 = 1.3;
/// Width over depth of a section of which neither is known (common practice, no source).
const SHAPES: [f64; 2] = [0.5, 2.0];

/// Every pair that a quote may mean.
///
/// # Errors
/// A quote that cannot be read with its gaps filled, which no quote that was read gives.
pub(super) fn meant(quote: &Quote) -> Result<Meant> {
    let mut open = Vec::from([Partial { winding: quote.winding.clone(), choices: Vec::new() }]);
    for gap in order(quote) {
        open = open.into_iter().flat_map(|partial| partial.with(gap, &quote.stated)).collect();
    }
    let mut pairs = Vec::new();
    let mut impossible = Vec::new();
    let mut problems = Vec::new();
    for partial in open {
        match filled(quote, &partial.choices)? {
            Ok(bench) => pairs.push(Scenario { bench, choices: partial.choices }),
            Err(found) => {
                problems = found;
                impossible.push(partial.choices);
            }
        }
    }
    let possible = pairs.len();
    for choices in impossible {
        // The possible pair that differs in least.
        let nearest = pairs[..possible].iter().min_by_key(|pair| {
            let alike = |(one, other): (&Choice, &Choice)| format!("{one:?}") != format!("{other:?}");
            pair.choices.iter().zip(&choices).filter(|both| alike(*both)).count()
        });
        let Some(nearest) = nearest else { break };
        if let Some(pair) = moved_in(quote, &nearest.choices, &choices)? {
            pairs.push(pair);
        }
    }
    Ok(if pairs.is_empty() { Meant::Nothing(problems) } else { Meant::Pairs(pairs) })
}

fn filled(quote: &Quote, choices: &[Choice]) -> Result<Filled> {
    let fillings: Vec<_> = choices.iter().map(|choice| (choice.gap, choice.filling.clone())).collect();
    quote.filled(&fillings)
}

/// The last pair that can be made on the way from a possible one to an impossible end: the real end of the range.
fn moved_in(quote: &Quote, possible: &[Choice], end: &[Choice]) -> Result<Option<Scenario>> {
    let mut found = None;
    let (mut near, mut far) = (0.0, 1.0);
    for _ in 0..8 {
        let part = 0.5 * (near + far);
        let choices: Vec<Choice> =
            possible.iter().zip(end).map(|(from, to)| from.towards(to, part)).collect();
        match filled(quote, &choices)? {
            Ok(bench) => {
                near = part;
                found = Some(Scenario { bench, choices });
            }
            Err(_) => far = part,
        }
    }
    Ok(found)
}

impl Choice {
    /// Part of the way to another choice for the same gap; a wire is one or the other.
    fn towards(&self, other: &Self, part: f64) -> Self {
        let filling = match (&self.filling, &other.filling) {
            (Filling::Number(from), Filling::Number(to)) => {
                let between = from + part * (to - from);
                Filling::Number(if self.gap == Gap::Turns { between.round() } else { between })
            }
            (_, other) => other.clone(),
        };
        Self { filling, ..self.clone() }
    }
}

/// The gaps, those that something bounds before those that nothing does.
fn order(quote: &Quote) -> Vec<Gap> {
    let mut partial = Partial { winding: quote.winding.clone(), choices: Vec::new() };
    let mut left = quote.gaps.clone();
    let mut ordered = Vec::new();
    while let Some(at) = left
        .iter()
        .position(|gap| bounded(*gap, &partial.winding, &quote.stated).is_some())
        .or((!left.is_empty()).then_some(0))
    {
        let gap = left.remove(at);
        if let Some(first) = partial.with(gap, &quote.stated).into_iter().next() {
            partial = first;
        }
        ordered.push(gap);
    }
    ordered
}

/// A winding on its way to a whole one.
#[derive(Clone)]
struct Partial {
    winding: StatedWinding,
    choices: Vec<Choice>,
}

impl Partial {
    /// The same with one gap filled, once for each end of what it may be.
    fn with(&self, gap: Gap, stated: &StatedByMaker) -> Vec<Self> {
        let (fillings, ground) = match bounded(gap, &self.winding, stated) {
            Some((fillings, ground)) => (fillings, Some(ground)),
            None => (trial(gap, &self.winding), None),
        };
        fillings.into_iter().map(|filling| self.filled(Choice { gap, filling, ground })).collect()
    }

    fn filled(&self, choice: Choice) -> Self {
        let mut next = self.clone();
        let winding = &mut next.winding;
        match (choice.gap, &choice.filling) {
            (_, Filling::Wire(wire)) => winding.wires = vec![wire.clone()],
            (Gap::MeanRadius, Filling::Number(si)) => winding.mean_radius_m = Some(*si),
            (Gap::Width, Filling::Number(si)) => winding.width_m = Some(*si),
            (Gap::Depth, Filling::Number(si)) => winding.depth_m = Some(*si),
            (Gap::Turns, Filling::Number(turns)) => winding.turns = Some(*turns),
            (Gap::Spacing, Filling::Number(si)) => winding.spacing_m = Some(*si),
            (Gap::Wire, Filling::Number(_)) => {}
        }
        next.choices.push(choice);
        next
    }
}

type Bounded = Option<(Vec<Filling>, Ground)>;

/// Both ends of what a gap may be, and what says so; `None` where nothing does.
fn bounded(gap: Gap, winding: &StatedWinding, stated: &StatedByMaker) -> Bounded {
    match gap {
        Gap::MeanRadius => mean_radius(winding, stated),
        Gap::Width => section_side(winding, winding.depth_m, false, stated),
        Gap::Depth => section_side(winding, winding.width_m, true, stated),
        Gap::Turns => turns(winding, stated),
        Gap::Wire => wire(winding, stated),
        Gap::Spacing => spacing(winding, stated),
    }
}

/// Two distant values of what nothing bounds: figures that differ between them cannot be told.
fn trial(gap: Gap, winding: &StatedWinding) -> Vec<Filling> {
    let size = winding.mean_radius_m.or(winding.spacing_m).unwrap_or(0.15);
    let numbers = |ends: [f64; 2]| ends.map(Filling::Number).to_vec();
    match gap {
        Gap::MeanRadius | Gap::Spacing => numbers([0.8 * size, 1.25 * size]),
        Gap::Width | Gap::Depth => numbers([0.08 * size, 0.16 * size]),
        Gap::Turns => match (one_wire(winding), section(winding)) {
            (Some(wire), Some(area)) => {
                let most = area / wire.overall_diameter_m.powi(2);
                numbers([(0.3 * most).max(1.0).floor(), (0.7 * most).max(2.0).floor()])
            }
            _ => numbers([100.0, 200.0]),
        },
        Gap::Wire => {
            let room =
                section(winding).zip(winding.turns).map_or(1.2e-3, |(area, turns)| (area / turns).sqrt());
            [0.5, 0.9]
                .map(|part| {
                    let overall_diameter_m = part * room;
                    Filling::Wire(Wire {
                        name: None,
                        conductor: winding.conductor,
                        bare_diameter_m: 0.92 * overall_diameter_m,
                        overall_diameter_m,
                        thermal_class_celsius: winding.thermal_class_celsius,
                    })
                })
                .to_vec()
        }
    }
}

/// The wire, where one is known.
fn one_wire(winding: &StatedWinding) -> Option<&Wire> {
    match &winding.wires[..] {
        [wire] => Some(wire),
        _ => None,
    }
}

fn section(winding: &StatedWinding) -> Option<f64> {
    Some(winding.width_m? * winding.depth_m?)
}

/// Resistance of one coil at 20 °C, from that of the pair.
fn coil_ohm(winding: &StatedWinding, stated: &StatedByMaker) -> Option<f64> {
    let pair = stated.resistance_ohm?;
    Some(if winding.parallel { 2.0 * pair } else { 0.5 * pair })
}

/// Both ends of a value that is known within a part of it.
fn within(value: f64, part: f64) -> [f64; 2] {
    [value * (1.0 - part), value * (1.0 + part)]
}

fn numbers(ends: [f64; 2], ground: Ground) -> Bounded {
    Some((ends.map(Filling::Number).to_vec(), ground))
}

fn number(value: f64, ground: Ground) -> Bounded {
    Some((vec![Filling::Number(value)], ground))
}

/// Length of the wire of one coil, with what says so.
fn wire_length(winding: &StatedWinding, stated: &StatedByMaker) -> Option<(f64, Ground)> {
    let wire = one_wire(winding)?;
    let area = wire.conductor_area_m2();
    let rho = wire.conductor.resistivity_at_20_celsius_ohm_m();
    let by_resistance = || Some((coil_ohm(winding, stated)? * area / rho, Ground::Resistance));
    let by_mass = || {
        Some((stated.conductor_mass_kg? / (2.0 * wire.conductor.density_kg_per_m3() * area), Ground::Mass))
    };
    by_resistance().or_else(by_mass)
}

fn mean_radius(winding: &StatedWinding, stated: &StatedByMaker) -> Bounded {
    match (stated.inner_diameter_m, stated.outer_diameter_m, winding.depth_m) {
        (Some(inner), Some(outer), _) if outer > inner => {
            return number(0.25 * (inner + outer), Ground::Diameters);
        }
        (Some(inner), _, Some(depth)) => return number(0.5 * (inner + depth), Ground::Diameters),
        (_, Some(outer), Some(depth)) if outer > depth => {
            return number(0.5 * (outer - depth), Ground::Diameters);
        }
        _ => {}
    }
    let (length, ground) = wire_length(winding, stated)?;
    numbers(within(length / (TAU * winding.turns?), OF_STATED), ground)
}

fn turns(winding: &StatedWinding, stated: &StatedByMaker) -> Bounded {
    let whole = |ends: [f64; 2]| [ends[0].max(1.0).floor(), ends[1].max(1.0).ceil()];
    if let (Some(constant), Some(radius), Some(spacing)) =
        (stated.field_constant_tesla_per_ampere, winding.mean_radius_m, winding.spacing_m)
    {
        let each = thin_pair_field(radius, spacing) * if winding.parallel { 0.5 } else { 1.0 };
        return numbers(whole(within(constant / each, OF_STATED_CONSTANT)), Ground::FieldConstant);
    }
    if let (Some((length, ground)), Some(radius)) = (wire_length(winding, stated), winding.mean_radius_m) {
        return numbers(whole(within(length / (TAU * radius), OF_STATED)), ground);
    }
    let side_by_side = section(winding)? / one_wire(winding)?.overall_diameter_m.powi(2);
    numbers([(side_by_side / LOOSEST).max(1.0).ceil(), side_by_side.max(1.0).floor()], Ground::Section)
}

/// Field at the centre of two loops for each turn and ampere.
fn thin_pair_field(radius: f64, spacing: f64) -> f64 {
    MU_0 * radius.powi(2) / (radius.powi(2) + 0.25 * spacing.powi(2)).powf(1.5)
}

fn spacing(winding: &StatedWinding, stated: &StatedByMaker) -> Bounded {
    let radius = winding.mean_radius_m?;
    let turns = winding.turns? * if winding.parallel { 0.5 } else { 1.0 };
    let constant = stated.field_constant_tesla_per_ampere?;
    let of = |constant: f64| {
        let reach = (MU_0 * turns * radius.powi(2) / constant).powf(2.0 / 3.0) - radius.powi(2);
        (reach > 0.0).then(|| 2.0 * reach.sqrt())
    };
    let [low, high] = within(constant, OF_STATED_CONSTANT);
    numbers([of(high)?, of(low)?], Ground::FieldConstant)
}

/// One side of the section, from the other, or from a shape where neither is known; `radial` for the depth.
fn section_side(
    winding: &StatedWinding,
    other: Option<f64>,
    radial: bool,
    stated: &StatedByMaker,
) -> Bounded {
    if let (true, Some(inner), Some(outer)) = (radial, stated.inner_diameter_m, stated.outer_diameter_m)
        && outer > inner
    {
        return number(0.5 * (outer - inner), Ground::Diameters);
    }
    let wire = one_wire(winding)?.overall_diameter_m;
    let area = winding.turns? * wire * wire;
    if let (true, Some(layers)) = (radial, winding.layers) {
        return numbers([1.0, 1.1].map(|loose| loose * f64::from(layers) * wire), Ground::WireAndTurns);
    }
    if let Some(other) = other {
        let least = tight_side(winding.turns?, wire, other);
        return numbers([least, least.max(LOOSEST * area / other)], Ground::WireAndTurns);
    }
    if let (false, Some(layers)) = (radial, winding.layers) {
        let depth = f64::from(layers) * wire;
        return numbers([1.0, 1.1].map(|loose| loose * area / depth), Ground::WireAndTurns);
    }
    // Loose enough that the turns fit, whatever the shape.
    numbers(
        SHAPES.map(|shape| (1.1 * area * if radial { 1.0 / shape } else { shape }).sqrt()),
        Ground::WireAndTurns,
    )
}

/// The side that so many turns take beside another side, wire by wire.
fn tight_side(turns: f64, wire: f64, other: f64) -> f64 {
    let beside = (other / wire * 1.000_001).floor().max(1.0);
    (turns / beside).ceil() * wire * 1.000_001
}

fn wire(winding: &StatedWinding, stated: &StatedByMaker) -> Bounded {
    if !winding.wires.is_empty() {
        return Some((ends_of(winding.wires.clone()), Ground::Stock));
    }
    if let Some((area, ground)) = conductor_area(winding, stated) {
        let bare = (4.0 * area / PI).sqrt();
        // Half of the section's uncertainty, and the wire drawn to 1 %.
        let fits = |it: &StockWire| (it.bare_diameter_m / bare - 1.0).abs() < 0.5 * OF_STATED + 0.01;
        return Some((stock(winding, &fits).unwrap_or_else(|| made(winding, bare)), ground));
    }
    let room = (section(winding)? / winding.turns?).sqrt();
    let fits = |it: &StockWire| (room / LOOSEST.sqrt()..room * 1.0001).contains(&it.overall_diameter_m);
    stock(winding, &fits).map(|fillings| (fillings, Ground::Section))
}

/// Section of the conductor, from resistance and mass, or one of them with the wire's length.
fn conductor_area(winding: &StatedWinding, stated: &StatedByMaker) -> Option<(f64, Ground)> {
    let rho = winding.conductor.resistivity_at_20_celsius_ohm_m();
    let density = winding.conductor.density_kg_per_m3();
    let ohm = coil_ohm(winding, stated);
    let mass = stated.conductor_mass_kg.map(|pair| 0.5 * pair);
    if let (Some(ohm), Some(mass)) = (ohm, mass) {
        return Some(((mass * rho / (density * ohm)).sqrt(), Ground::ResistanceAndMass));
    }
    let length = TAU * winding.mean_radius_m? * winding.turns?;
    ohm.map(|ohm| (rho * length / ohm, Ground::Resistance))
        .or_else(|| mass.map(|mass| (mass / (density * length), Ground::Mass)))
}

/// Stock wires that fit, of the build that is stated; `None` where there is none.
fn stock(winding: &StatedWinding, fits: &dyn Fn(&StockWire) -> bool) -> Option<Vec<Filling>> {
    let of_build = |it: &StockWire| winding.build.is_none_or(|build| it.build == build);
    let found: Vec<Wire> = stock_wires()
        .iter()
        .filter(|it| of_build(it) && fits(it))
        .map(|it| it.wire(winding.conductor, winding.thermal_class_celsius))
        .collect();
    (!found.is_empty()).then(|| ends_of(found))
}

/// A wire that is not in stock, thinly and thickly enamelled.
fn made(winding: &StatedWinding, bare_diameter_m: f64) -> Vec<Filling> {
    let enamel = |overall: f64| Wire {
        name: None,
        conductor: winding.conductor,
        bare_diameter_m,
        overall_diameter_m: overall * bare_diameter_m,
        thermal_class_celsius: winding.thermal_class_celsius,
    };
    vec![Filling::Wire(enamel(1.04)), Filling::Wire(enamel(1.12))]
}

/// The thinnest and the thickest conductor, each as it is enamelled, for all.
fn ends_of(mut wires: Vec<Wire>) -> Vec<Filling> {
    wires.sort_by(|one, other| {
        let key = |wire: &Wire| (wire.bare_diameter_m, wire.overall_diameter_m);
        key(one).partial_cmp(&key(other)).unwrap_or(std::cmp::Ordering::Equal)
    });
    if wires.len() > 2 {
        wires.drain(1..wires.len() - 1);
    }
    wires.into_iter().map(Filling::Wire).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::quote_from_text;
    use serde_json::{Value, json};

    /// A whole pair that also states what follows from it; `edit` takes away.
    fn quote(edit: impl Fn(&mut Value)) -> Quote {
        let mut file = json!({
            "title": "Whole", "spacing": "150 mm",
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
            ("winding.mean_radius", Ground::Resistance, |it| it.winding.mean_radius_m, 0.15),
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
        assert_eq!(pairs.len(), 1);
        let winding = &pairs[0].bench.winding;
        assert!((winding.mean_radius_m - 0.15).abs() < 1e-12 && (winding.depth_m - 9.5e-3).abs() < 1e-12);
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
        assert_eq!(pairs[0].choices.len(), 6);
        assert!(pairs.len() <= 64);
    }
}
