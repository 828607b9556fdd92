//! Relaxing wishes, tested over random wishes with fixed seeds.

use super::*;
use crate::files::spec::wanted_from_text;
use crate::numeric::random::SampleGenerator;
use std::collections::BTreeSet;

/// Wishes as a file states them: the texts of the limits, in the order of [`LIMITS`].
#[derive(Clone, Debug)]
struct Drawn {
    limits: [Option<String>; 7],
    search: &'static str,
}

/// Each limit's key, and whether a larger value is the looser one.
const LIMITS: [(&str, bool); 7] = [
    ("clearance", false),
    ("current_limit", true),
    ("voltage_limit", true),
    ("surface_temperature_limit", true),
    ("beam_deviation", true),
    ("time_at_largest_current", false),
    ("largest_field", false),
];

const SEARCHES: [&str; 3] = [
    r#"{ "mean_radius": ["150 mm", "150.2 mm"], "width": ["16 mm", "22 mm"], "depth": ["10 mm", "18 mm"], "spacing": "radius",
         "wires": [{ "size": "AWG 18", "build": "heavy" }, { "size": "0.9 mm", "build": "grade 2" }] }"#,
    r#"{ "mean_radius": ["135 mm", "170 mm"], "width": ["12 mm", "30 mm"], "depth": ["8 mm", "30 mm"], "spacing": "beam",
         "wires": [{ "size": "0.63 mm", "build": "grade 2" }, { "size": "1.12 mm", "build": "grade 1" }] }"#,
    r#"{ "mean_radius": ["140 mm", "200 mm"], "width": ["10 mm", "36 mm"], "depth": ["6 mm", "36 mm"],
         "spacing": ["140 mm", "180 mm"], "connection": ["parallel"], "wires": [{ "size": "AWG 21", "build": "heavy" }] }"#,
];

impl Drawn {
    fn by(random: &mut SampleGenerator) -> Self {
        let mut between = |low: f64, high: f64| low + (high - low) * random.unit();
        let clearance = format!("{:.2} mm", between(0.0, 15.0));
        let current = format!("{:.3} A", between(1.0, 5.0));
        let voltage = format!("{:.2} V", between(8.0, 40.0));
        let surface = (between(0.0, 1.0) < 0.8).then(|| format!("{:.1} degC", between(35.0, 80.0)));
        let deviation = format!("{:.3} %", between(0.2, 2.0));
        let time = (between(0.0, 1.0) < 0.7).then(|| format!("{:.1} min", between(4.0, 120.0)));
        let field = format!("{:.3} mT", between(1.0, 2.5));
        let search = SEARCHES[(between(0.0, 3.0) as usize).min(2)];
        Self {
            limits: [
                Some(clearance),
                Some(current),
                Some(voltage),
                surface,
                Some(deviation),
                time,
                Some(field),
            ],
            search,
        }
    }

    fn wanted(&self) -> Wanted {
        let line = |at: usize| {
            self.limits[at]
                .as_ref()
                .map_or(String::new(), |text| format!("\"{}\": \"{text}\",\n", LIMITS[at].0))
        };
        let outside: String = [0, 3, 4, 5, 6].map(line).concat();
        let supply: String = [1, 2].map(line).concat();
        let text = format!(
            r#"{{ "title": "Drawn", {outside}
                 "tube": {{ "bulb_radius": "74 mm", "gun_exit": ["44 mm", "0 mm", "0 mm"], "gun_direction": [0, 1, 0],
                            "gun_voltage": ["90 V", "280 V"], "beam_radius": ["30 mm", "48 mm"] }},
                 "supply": {{ {} }}, "room": {{ "temperature": "21 degC" }}, "search": {} }}"#,
            supply.trim_end_matches(",\n"),
            self.search
        );
        wanted_from_text("drawn.json", &text).unwrap_or_else(|error| panic!("{error}: {text}"))
    }

    /// These wishes with one limit relaxed, slightly or by a lot.
    fn relaxed(&self, random: &mut SampleGenerator) -> Self {
        let mut relaxed = self.clone();
        let at = (7.0 * random.unit()) as usize % 7;
        let Some(text) = &self.limits[at] else { return self.relaxed(random) };
        let (number, unit) = text.split_once(' ').expect("a unit");
        let by = 1.0 + 10f64.powf(-4.0 + 3.7 * random.unit());
        let number: f64 = number.parse().expect("a number");
        let number = if LIMITS[at].1 { number * by } else { number / by };
        relaxed.limits[at] = Some(format!("{number} {unit}"));
        relaxed
    }

    /// These wishes with the limits that were advised.
    fn as_advised(&self, relaxations: &[Relaxation]) -> Self {
        let mut relaxed = self.clone();
        for relaxation in relaxations {
            relaxed.limits[relaxation.wish as usize] = Some(relaxation.to.clone());
        }
        relaxed
    }
}

/// All windings that pass the search.
fn met(wanted: &Wanted) -> BTreeSet<String> {
    let space = Space::of(wanted, wanted.search().unwrap()).unwrap();
    let wishes = Wishes::of(wanted);
    let region = region_of(wanted).unwrap();
    let judge = judge_of(&wishes, &space, fields_needed(wanted).unwrap().0).unwrap();
    search::walk(
        &space,
        region.as_ref(),
        &judge,
        BTreeSet::new,
        |met: &mut BTreeSet<String>, winding| {
            if winding.meets_everything() {
                met.insert(format!(
                    "{:?} {:?} {} x {} at {} and {}",
                    space.wires[winding.wire].name,
                    winding.connection,
                    winding.layers,
                    winding.turns_per_layer,
                    winding.section.mean_radius_m,
                    winding.spacing_m
                ));
            }
        },
        |met, _| met,
        |mut one, other| {
            one.extend(other);
            one
        },
    )
}

#[test]
fn relaxing_a_wish_never_takes_a_winding_away() {
    let mut random = SampleGenerator::new(20, 0);
    let mut compared = 0;
    for number in 0..60 {
        let drawn = Drawn::by(&mut random);
        let before = met(&drawn.wanted());
        if before.is_empty() {
            continue;
        }
        for _ in 0..2 {
            let relaxed = drawn.relaxed(&mut random);
            let after = met(&relaxed.wanted());
            let lost = before.difference(&after).next();
            assert!(lost.is_none(), "draw {number}: {lost:?} is lost\n{drawn:?}\n{relaxed:?}");
            compared += before.len();
        }
    }
    // Enough comparisons for a rare loss to show.
    assert!(compared > 10_000, "{compared}");
}

#[test]
fn advice_taken_all_together_yields_a_winding() {
    let mut random = SampleGenerator::new(21, 0);
    let (mut of_conflicts, mut of_near_misses) = (0, 0);
    for number in 0..60 {
        let drawn = Drawn::by(&mut random);
        let found = sizing(&drawn.wanted(), None, |_| {}).unwrap();
        if let Some(conflict) = found.conflict.as_ref().filter(|conflict| conflict.nearest.is_some()) {
            let advised = drawn.as_advised(&conflict.relaxations);
            let again = sizing(&advised.wanted(), None, |_| {}).unwrap();
            assert!(again.feasible > 0, "draw {number}: {:?}\n{drawn:?}", conflict.relaxations);
            of_conflicts += 1;
        }
        for near in found.near_misses.iter().take(1) {
            let advised = drawn.as_advised(&near.relaxations);
            let again = sizing(&advised.wanted(), None, |_| {}).unwrap();
            assert!(again.feasible > found.feasible, "draw {number}: {:?}\n{drawn:?}", near.relaxations);
            of_near_misses += 1;
        }
    }
    assert!(of_conflicts > 5 && of_near_misses > 20, "{of_conflicts} and {of_near_misses}");
}

#[test]
fn a_relaxed_limit_stands_in_the_unit_in_which_it_was_written() {
    let drawn = Drawn {
        limits: [
            Some("5.2 cm".into()),
            Some("700 mA".into()),
            Some("4 V".into()),
            Some("299 K".into()),
            Some("400 ppm".into()),
            Some("30 min".into()),
            Some("2.5 mT".into()),
        ],
        search: SEARCHES[1],
    };
    let conflict = sizing(&drawn.wanted(), None, |_| {}).unwrap().conflict.unwrap();
    assert!(conflict.relaxations.len() >= 3, "{:?}", conflict.relaxations);
    for relaxation in &conflict.relaxations {
        let unit = ["cm", "mA", "V", "K", "ppm"][relaxation.wish as usize];
        assert!(relaxation.to.ends_with(&format!(" {unit}")), "{relaxation:?}");
    }
}
