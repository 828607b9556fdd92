//! `accept`: deliveries with faults planted at known size, measured coil by coil with ordinary meters, and how often the
//! verdict on the delivery and on each quantity is wrong.
//!
//! Limits do not depend on readings, so they are computed once and each reading is held against them by [`decide`], as
//! `accept` does; every hundredth delivery goes through `accept` itself, which must say the same.

use super::check::Verdicts;
use coilwright::files::spec::{FieldReading, InsulationReading, Measured, MeasuredValue, read_bench};
use coilwright::judgement::limit::{Acceptance, Decision, Limits, Rule, decide};
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::{Bench, Coil, Distribution, circuit};
use coilwright::physics::build_error::{BuildParameter, CoilName, build_tolerance};
use coilwright::physics::field::{Assembly, Section, self_inductance_henry};
use coilwright::questions::accept::{Request, accept};
use coilwright::questions::check::{QuantityCheck, delivery_verdict};
use nalgebra::Vector3;
use rayon::prelude::*;

/// Each quantity measured, by its key in the file, with its standard uncertainty: a part of the value where it is
/// below 0.1 and marked so, else in SI.
///
/// The surface's temperature is left out: following the heat takes longer than all the rest.
const MEASURED: [(&str, f64, bool); 30] = [
    ("resistance", 0.002, true),
    ("inductance", 0.003, true),
    ("mass", 0.002, true),
    ("overall_wire_diameter", 3e-6, false),
    ("inner_diameter", 0.1e-3, false),
    ("outer_diameter", 0.1e-3, false),
    ("width", 0.05e-3, false),
    ("spacing", 0.1e-3, false),
    ("coil_a.turns", 0.05, false),
    ("coil_a.resistance", 0.002, true),
    ("coil_a.inner_diameter", 0.1e-3, false),
    ("coil_a.outer_diameter", 0.1e-3, false),
    ("coil_a.width", 0.05e-3, false),
    ("coil_a.inductance", 0.003, true),
    ("coil_a.mass", 0.002, true),
    ("coil_b.turns", 0.05, false),
    ("coil_b.resistance", 0.002, true),
    ("coil_b.inner_diameter", 0.1e-3, false),
    ("coil_b.outer_diameter", 0.1e-3, false),
    ("coil_b.width", 0.05e-3, false),
    ("coil_b.mass", 0.002, true),
    // These follow from the diameters.
    ("mean_radius", RADIUS_U, false),
    ("depth", 2.0 * RADIUS_U, false),
    ("coil_a.mean_radius", RADIUS_U, false),
    ("coil_a.depth", 2.0 * RADIUS_U, false),
    ("coil_b.mean_radius", RADIUS_U, false),
    ("coil_b.depth", 2.0 * RADIUS_U, false),
    ("fields[0]", 0.0007, true),
    ("fields[1]", 0.0007, true),
    ("insulation_resistance", 0.05, true),
];
const COUNT: usize = MEASURED.len();
/// Standard uncertainty of a quarter of the sum of two diameters of 0.1 mm each.
const RADIUS_U: f64 = 0.25 * 0.1e-3 * std::f64::consts::SQRT_2;
/// Where mean radius and depth of a section stand, and the inner and outer diameter that they follow from.
const SECTIONS: [(usize, usize); 3] = [(21, 4), (23, 10), (25, 17)];
type Values = [f64; COUNT];

/// Points and current of the fields.
const PLACES_M: [[f64; 3]; 2] = [[0.0, 0.0, 0.0], [0.0, 0.0, 0.04]];
const AMPERE: f64 = 2.0;
/// Faults reach so many U beyond the limit, and as many short of it.
const REACH: f64 = 4.0;

/// The spec whose pairs are delivered.
pub struct Deliveries {
    bench: Bench,
    /// What the spec's pair shows, and the limits of each quantity.
    nominal: Values,
    limits: [Limits; COUNT],
}

/// What was counted.
#[derive(Clone, Copy, Debug, Default)]
pub struct Counted {
    pub all: usize,
    /// With a true value outside its limits, and what was said of them.
    pub bad: usize,
    pub bad_passed: usize,
    pub bad_failed: usize,
    /// The others.
    pub good_passed: usize,
    pub good_failed: usize,
    pub quantities: Verdicts,
}

impl Counted {
    fn and(self, other: Self) -> Self {
        Self {
            all: self.all + other.all,
            bad: self.bad + other.bad,
            bad_passed: self.bad_passed + other.bad_passed,
            bad_failed: self.bad_failed + other.bad_failed,
            good_passed: self.good_passed + other.good_passed,
            good_failed: self.good_failed + other.good_failed,
            quantities: self.quantities.and(other.quantities),
        }
    }
}

impl Deliveries {
    pub fn of(spec: &'static str) -> Self {
        let path = format!("{}/coil-specs/{spec}.json", env!("CARGO_MANIFEST_DIR"));
        let bench = read_bench(&path).expect("an example spec");
        let none = Limits { low: None, high: None };
        let mut deliveries = Self { bench, nominal: [1.0; COUNT], limits: [none; COUNT] };
        // What is expected does not depend on the readings: any file gives it.
        for (i, quantity) in deliveries.by_program(&[1.0; COUNT]).1.iter().enumerate() {
            deliveries.nominal[i] = quantity.expected.unwrap_or(20e6);
            deliveries.limits[i] = quantity.limits;
        }
        deliveries
    }

    fn standard_uncertainty(i: usize, value: f64) -> f64 {
        let (_, u, relative) = MEASURED[i];
        if relative { u * value.abs() } else { u }
    }

    /// The verdict on the delivery, and each quantity's guard band and verdict.
    fn judge(&self, case: u64, values: &Values) -> (Acceptance, Vec<(f64, Acceptance)>) {
        let of = |i: usize| {
            let u = Self::standard_uncertainty(i, values[i]);
            decide(values[i], u, self.limits[i], Rule::default()).expect("a limit")
        };
        let decisions: Vec<Decision> = (0..COUNT).map(of).collect();
        let verdict = Acceptance::of(decisions.iter().map(|it| it.verdict));
        let each: Vec<_> = decisions.iter().map(|it| (it.guard_band, Acceptance::of([it.verdict]))).collect();
        if case.is_multiple_of(100) {
            let (whole, quantities) = self.by_program(values);
            assert_eq!(whole, verdict);
            assert!(quantities.iter().map(|it| it.verdict).eq(each.iter().map(|it| it.1)), "{quantities:?}");
        }
        (verdict, each)
    }

    fn by_program(&self, values: &Values) -> (Acceptance, Vec<QuantityCheck>) {
        let found = delivery_verdict(&self.bench, &file(values), None, Rule::default()).expect("a verdict");
        assert!(
            found.1.iter().map(|it| it.name.as_str()).eq(MEASURED.iter().map(|it| it.0)),
            "{:?}",
            found.1
        );
        found
    }

    /// A pair within its tolerance, its wire within its standard, and what it shows.
    fn built(&self, random: &mut SampleGenerator) -> Values {
        let tolerance = build_tolerance(&self.bench).expect("a build tolerance");
        let mut built = self.bench.clone();
        for (parameter, coil) in BuildParameter::of(&self.bench) {
            let limit = parameter.limit(&tolerance);
            let by = match parameter.distribution(&tolerance) {
                Distribution::Rectangular => random.rectangular(limit),
                Distribution::Normal => random.normal(0.5 * limit),
            };
            built = parameter.displaced(&built, coil, by);
        }
        built.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.01);
        let mut shown = self.shown(&built);
        follow_from_diameters(&mut shown);
        shown[3] = self.nominal[3] * (1.0 + random.rectangular(0.015));
        // A sound former.
        shown[29] = 10f64.powf(6.5 + 2.0 * random.unit());
        shown
    }

    fn shown(&self, bench: &Bench) -> Values {
        let [a, b] = bench.coils();
        let wire = &bench.winding.wire;
        let mass = |coil: &Coil| {
            circuit::wire_length_m(&bench.winding, coil)
                * wire.conductor_area_m2()
                * wire.conductor.density_kg_per_m3()
        };
        // As long and as thin as it is, beside the spec's.
        let [first, _] = self.bench.coils();
        let thicker = wire.conductor_area_m2() / self.bench.winding.wire.conductor_area_m2();
        let ohm = |coil: &Coil| {
            self.nominal[9] * circuit::wire_length_m(&bench.winding, coil)
                / circuit::wire_length_m(&self.bench.winding, &first)
                / thicker
        };
        let diameter = |coil: &Coil, sign: f64| 2.0 * coil.mean_radius_m + sign * coil.depth_m;
        let own = |coil: &Coil| {
            let section =
                Section { mean_radius_m: coil.mean_radius_m, width_m: coil.width_m, depth_m: coil.depth_m };
            self_inductance_henry(&section, coil.turns)
        };
        let assembly = Assembly::of(bench);
        let field = |place: [f64; 3]| AMPERE * assembly.field_per_ampere(&Vector3::from(place)).z;
        // Within a build tolerance the inductance of the pair goes with the coils' own.
        let pair_henry = self.nominal[1] * (own(&a) * own(&b)).sqrt() / own(&first);
        [
            circuit::pair_resistance_at_20_celsius_ohm(bench),
            pair_henry,
            mass(&a) + mass(&b),
            self.nominal[3],
            0.5 * (diameter(&a, -1.0) + diameter(&b, -1.0)),
            0.5 * (diameter(&a, 1.0) + diameter(&b, 1.0)),
            0.5 * (a.width_m + b.width_m),
            bench.spacing_m + b.offset_m.z - a.offset_m.z,
            a.turns,
            ohm(&a),
            diameter(&a, -1.0),
            diameter(&a, 1.0),
            a.width_m,
            own(&a),
            mass(&a),
            b.turns,
            ohm(&b),
            diameter(&b, -1.0),
            diameter(&b, 1.0),
            b.width_m,
            mass(&b),
            0.0,
            0.0,
            0.0,
            0.0,
            0.0,
            0.0,
            field(PLACES_M[0]),
            field(PLACES_M[1]),
            self.nominal[29],
        ]
    }

    /// The distance of a true value inside its limits; negative outside.
    fn margin(&self, i: usize, value: f64) -> f64 {
        let low = self.limits[i].low.map_or(f64::INFINITY, |low| value - low);
        let high = self.limits[i].high.map_or(f64::INFINITY, |high| high - value);
        low.min(high)
    }

    /// The value of a quantity that lies so many U beyond one of its limits.
    fn beyond(&self, i: usize, times: f64, random: &mut SampleGenerator) -> f64 {
        let Limits { low, high } = self.limits[i];
        let (limit, sign) = match (low, high) {
            (Some(low), Some(high)) => {
                if random.unit() < 0.5 {
                    (low, -1.0)
                } else {
                    (high, 1.0)
                }
            }
            (Some(low), None) => (low, -1.0),
            (_, high) => (high.expect("a limit"), 1.0),
        };
        limit + sign * times * 2.0 * Self::standard_uncertainty(i, limit)
    }

    fn measured(&self, truth: &Values, random: &mut SampleGenerator) -> Values {
        let mut read =
            std::array::from_fn(|i| truth[i] + random.normal(Self::standard_uncertainty(i, truth[i])));
        follow_from_diameters(&mut read);
        read
    }

    /// Sets a quantity to a value; mean radius and depth by way of the diameters.
    fn set(truth: &mut Values, i: usize, value: f64) {
        truth[i] = value;
        let of_section = SECTIONS.into_iter().filter(|(place, _)| (*place..place + 2).contains(&i));
        of_section.for_each(|section| diameters_follow(truth, section));
        follow_from_diameters(truth);
    }

    /// Deliveries, each with one quantity planted up to 4 U beyond its limit or short of it, or (a fifth of them) sound.
    pub fn judged(&self, seed: u64, count: u64) -> Counted {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let mut truth = self.built(&mut random);
            if !case.is_multiple_of(5) {
                let i = random.whole(COUNT);
                let value = self.beyond(i, random.rectangular(REACH), &mut random);
                Self::set(&mut truth, i, value);
            }
            self.counted(case, &truth, &mut random)
        };
        (0..count).into_par_iter().map(one).reduce(Counted::default, Counted::and)
    }

    fn counted(&self, case: u64, truth: &Values, random: &mut SampleGenerator) -> Counted {
        let (verdict, quantities) = self.judge(case, &self.measured(truth, random));
        let mut found = Counted { all: 1, ..Counted::default() };
        let margins: Vec<f64> = (0..COUNT).map(|i| self.margin(i, truth[i])).collect();
        for ((guard_band, verdict), margin) in quantities.iter().zip(&margins) {
            found.quantities.count(*margin, *guard_band, *verdict);
        }
        let passed = usize::from(verdict == Acceptance::Pass);
        let failed = usize::from(verdict == Acceptance::Fail);
        if margins.iter().any(|margin| *margin < 0.0) {
            (found.bad, found.bad_passed, found.bad_failed) = (1, passed, failed);
        } else {
            (found.good_passed, found.good_failed) = (passed, failed);
        }
        found
    }

    /// The worst case of the buyer's risk: one quantity just outside its limit, all others as the spec has them. How many,
    /// and how many pass.
    pub fn at_the_limit(&self, seed: u64, count: u64) -> [usize; 2] {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let mut truth = self.nominal;
            let i = random.whole(COUNT);
            let value = self.beyond(i, 1e-6, &mut random);
            Self::set(&mut truth, i, value);
            let (verdict, _) = self.judge(case, &self.measured(&truth, &mut random));
            [1, usize::from(verdict == Acceptance::Pass)]
        };
        (0..count).into_par_iter().map(one).reduce(|| [0; 2], |a, b| [a[0] + b[0], a[1] + b[1]])
    }
}

impl Deliveries {
    /// Deliveries with every true value anywhere in its limits but the outermost 2 U: how many, and how many pass. `None` if
    /// 2 U leave nothing of some limits.
    pub fn well_inside(&self, seed: u64, count: u64) -> Option<[usize; 2]> {
        let wide = |i: usize| match self.limits[i] {
            Limits { low: Some(low), high: Some(high) } => {
                high - low > 8.1 * Self::standard_uncertainty(i, high)
            }
            _ => true,
        };
        (0..COUNT).all(wide).then(|| self.counted_inside(seed, count))
    }

    fn counted_inside(&self, seed: u64, count: u64) -> [usize; 2] {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let mut truth: Values = std::array::from_fn(|i| {
                let edge = |limit: f64| 4.000_001 * Self::standard_uncertainty(i, limit);
                let Limits { low, high } = self.limits[i];
                // An open side is as far off as ten times the edge.
                let low = low.map(|low| low + edge(low));
                let high = high.map(|high| high - edge(high));
                let low_end = low.or(high.map(|high| high - 10.0 * edge(high))).expect("a limit");
                let high_end = high.unwrap_or(low_end + 10.0 * edge(low_end));
                low_end + (high_end - low_end) * random.unit()
            });
            SECTIONS.iter().for_each(|section| diameters_follow(&mut truth, *section));
            let (verdict, _) = self.judge(case, &self.measured(&truth, &mut random));
            [1, usize::from(verdict == Acceptance::Pass)]
        };
        (0..count).into_par_iter().map(one).reduce(|| [0; 2], |a, b| [a[0] + b[0], a[1] + b[1]])
    }
}

/// Part of each tolerance within which the pairs of [`Deliveries::uncounted`] are built: a careful workshop's.
const CAREFUL: f64 = 0.3;

impl Deliveries {
    /// Deliveries whose turns nobody counted, coil a this many turns short and all else well inside: how many, how many pass,
    /// and how many fail, by `accept` itself.
    ///
    /// Measured are of each coil the resistance, the diameters and the width, of the pair the spacing, the field at the
    /// centre and the inductance. No resistance of the pair: leads cannot be in it.
    pub fn uncounted(&self, seed: u64, count: u64, short: f64) -> [usize; 3] {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let tolerance = build_tolerance(&self.bench).expect("a build tolerance");
            let mut built = BuildParameter::Turns.displaced(&self.bench, Some(CoilName::A), -short);
            for (parameter, coil) in BuildParameter::of(&self.bench) {
                if parameter != BuildParameter::Turns {
                    let by = random.rectangular(CAREFUL * parameter.limit(&tolerance));
                    built = parameter.displaced(&built, coil, by);
                }
            }
            // One reel for both coils.
            built.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.006);
            let resistivity = 1.0 + random.rectangular(0.005);
            let shown = self.shown(&built);
            let mut read = |i: usize, factor: f64, u: f64| {
                let value = factor * shown[i] + random.normal(u);
                Some(MeasuredValue { value, standard_uncertainty: u })
            };
            let mut file =
                Measured { inductance_henry: read(1, 1.0, 0.05e-3), ..Measured::nothing("Uncounted") };
            file.spacing_m = read(7, 1.0, 0.05e-3);
            for (coil, from) in file.coils.iter_mut().zip([8, 15]) {
                coil.resistance_ohm = read(from + 1, resistivity, 0.003);
                coil.inner_diameter_m = read(from + 2, 1.0, 0.1e-3);
                coil.outer_diameter_m = read(from + 3, 1.0, 0.1e-3);
                coil.width_m = read(from + 4, 1.0, 0.05e-3);
            }
            file.fields = vec![FieldReading {
                current_uncertainty_ampere: Some(0.2e-3),
                tesla: read(27, 1.0, 1e-6).expect("a reading"),
                current_ampere: AMPERE,
                at_m: Vector3::zeros(),
            }];
            let found = accept(&self.bench, &file, &Request::default()).expect("a verdict");
            let is = |verdict| usize::from(found.verdict == verdict);
            [1, is(Acceptance::Pass), is(Acceptance::Fail)]
        };
        (0..count).into_par_iter().map(one).reduce(|| [0; 3], |a, b| [0, 1, 2].map(|i| a[i] + b[i]))
    }
}

/// The diameters of a section from its mean radius and depth.
fn diameters_follow(values: &mut Values, (place, inner): (usize, usize)) {
    let [radius, depth] = [values[place], values[place + 1]];
    [values[inner], values[inner + 1]] = [2.0 * radius - depth, 2.0 * radius + depth];
}

/// Mean radius and depth of each section from its diameters.
fn follow_from_diameters(values: &mut Values) {
    for (place, inner) in SECTIONS {
        let [inner, outer] = [values[inner], values[inner + 1]];
        [values[place], values[place + 1]] = [0.25 * (inner + outer), 0.5 * (outer - inner)];
    }
}

fn file(values: &Values) -> Measured {
    let reading = |i: usize| MeasuredValue {
        value: values[i],
        standard_uncertainty: Deliveries::standard_uncertainty(i, values[i]),
    };
    let some = |i: usize| Some(reading(i));
    let mut file = Measured {
        resistance_ohm: some(0),
        inductance_henry: some(1),
        conductor_mass_kg: some(2),
        overall_wire_diameter_m: some(3),
        inner_diameter_m: some(4),
        outer_diameter_m: some(5),
        width_m: some(6),
        spacing_m: some(7),
        fields: (0..2)
            .map(|place| FieldReading {
                current_uncertainty_ampere: Some(0.0),
                tesla: reading(27 + place),
                current_ampere: AMPERE,
                at_m: Vector3::from(PLACES_M[place]),
            })
            .collect(),
        insulation: Some(InsulationReading { ohm: reading(29), test_volt: 250.0 }),
        ..Measured::nothing("Delivery")
    };
    for (coil, [from, mass]) in file.coils.iter_mut().zip([[8, 14], [15, 20]]) {
        coil.turns = some(from);
        coil.resistance_ohm = some(from + 1);
        coil.inner_diameter_m = some(from + 2);
        coil.outer_diameter_m = some(from + 3);
        coil.width_m = some(from + 4);
        coil.conductor_mass_kg = some(mass);
    }
    file.coils[0].inductance_henry = some(13);
    file
}
