//! `check --measured`: pairs built within their tolerance of wire within its standard, with one fault or none, or another
//! pair altogether, measured with ordinary meters; and how often the verdict on a quantity is wrong.

use super::count::Said;
use coilwright::constants::Conductor;
use coilwright::files::spec::{Measured, MeasuredValue, read_bench};
use coilwright::judgement::limit::Acceptance;
use coilwright::judgement::priors;
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::wires::stock_wires;
use coilwright::pair::{Bench, BuildTolerance, Coil, Connection, Distribution, circuit};
use coilwright::physics::electrical;
use coilwright::physics::field::{Assembly, PreparedPair};
use coilwright::questions::check::{Cause, LessonCheck, Quantity, Request, Subject, lesson_check};
use nalgebra::{SMatrix, SVector, Vector3};
use rayon::prelude::*;

type Values = [f64; Quantity::COUNT];

/// Relative standard uncertainties of the meters: resistance, field, inductance, mass; then those of lengths.
const RELATIVE: [f64; 4] = [0.002, 0.003, 0.004, 0.004];
const LENGTH_M: [f64; 5] = [3e-6, 0.15e-3, 0.15e-3, 0.1e-3, 0.15e-3];
/// Real wire over its enamel, of the largest that the standard allows.
const OVERALL: [f64; 2] = [0.985, 0.015];

/// What is delivered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Planted {
    Fault(Cause),
    /// Another design of another wire.
    AnotherPair,
}

/// Faults with a size, then those without.
pub const FAULTS: [Planted; 19] = [
    Planted::Fault(Cause::Spacing),
    Planted::Fault(Cause::Turns),
    Planted::Fault(Cause::MeanRadius),
    Planted::Fault(Cause::WireDiameter),
    Planted::Fault(Cause::CopperTemperature),
    Planted::Fault(Cause::ContactResistance),
    Planted::Fault(Cause::MeterGain),
    Planted::Fault(Cause::ProbeTilted),
    Planted::Fault(Cause::Alone(Quantity::WidthM)),
    Planted::Fault(Cause::CoilReversed),
    Planted::Fault(Cause::Connection),
    Planted::Fault(Cause::OneCoilAlone),
    Planted::Fault(Cause::Aluminium),
    Planted::Fault(Cause::GaussForMillitesla),
    Planted::Fault(Cause::MilliteslaForGauss),
    Planted::Fault(Cause::FieldReversed),
    Planted::Fault(Cause::RadiusForDiameter),
    Planted::Fault(Cause::ShortedTurns),
    Planted::AnotherPair,
];

impl Planted {
    pub fn has_size(self) -> bool {
        let Self::Fault(cause) = self else { return false };
        matches!(
            cause,
            Cause::Spacing
                | Cause::Turns
                | Cause::MeanRadius
                | Cause::WireDiameter
                | Cause::CopperTemperature
                | Cause::ContactResistance
                | Cause::MeterGain
                | Cause::ProbeTilted
                | Cause::Alone(_)
        )
    }

    fn prior(self) -> f64 {
        let Self::Fault(cause) = self else { return priors::ANOTHER_PAIR };
        match cause {
            Cause::Spacing => priors::SPACING_OFF,
            Cause::Turns => priors::TURNS_MISCOUNTED,
            Cause::MeanRadius => priors::MEAN_RADIUS_OFF,
            Cause::WireDiameter => priors::WIRE_DIAMETER,
            Cause::CopperTemperature => priors::COPPER_TEMPERATURE,
            Cause::ContactResistance => priors::CONTACT_RESISTANCE,
            Cause::MeterGain => priors::METER_GAIN,
            Cause::ProbeTilted => priors::PROBE_TILTED,
            Cause::CoilReversed => priors::COIL_REVERSED,
            Cause::Connection => priors::CONNECTION_SWAPPED,
            Cause::OneCoilAlone => priors::ONE_COIL_ALONE,
            Cause::Aluminium => priors::ALUMINIUM_FOR_COPPER,
            Cause::GaussForMillitesla => priors::UNIT_MIX_UP,
            Cause::MilliteslaForGauss => 0.3 * priors::UNIT_MIX_UP,
            Cause::FieldReversed => priors::FIELD_REVERSED,
            Cause::RadiusForDiameter => priors::RADIUS_FOR_DIAMETER,
            Cause::ShortedTurns => priors::SHORTED_TURNS,
            _ => priors::ONE_QUANTITY_OFF,
        }
    }

    fn is(self, cause: Cause) -> bool {
        match self {
            Self::AnotherPair => cause == Cause::AnotherPair,
            Self::Fault(planted) => planted == cause,
        }
    }
}

/// A spec whose pairs are delivered, and which quantities are measured.
pub struct Delivery {
    bench: Bench,
    measured: [bool; Quantity::COUNT],
    nominal: Values,
    covariance: SMatrix<f64, { Quantity::COUNT }, { Quantity::COUNT }>,
}

/// What a pair shows: its coils' resistance, field, inductance, mass, wire, diameters, width, spacing.
fn shown(bench: &Bench, celsius: f64) -> Values {
    let mut values = shown_but_inductance(bench, celsius);
    // Coils a little beside the axis and askew have the inductance of coaxial ones to second order, a thousandth of the meter's
    // error, and that is computed a hundred times faster.
    let mut coaxial = bench.clone();
    coaxial.set_coils(bench.coils().map(|coil| Coil {
        offset_m: Vector3::zeros(),
        tilt_rad: [0.0; 2],
        ..coil
    }));
    values[2] = electrical::inductances(&PreparedPair::of(&coaxial)).pair_henry;
    values
}

fn shown_but_inductance(bench: &Bench, celsius: f64) -> Values {
    let assembly = Assembly::of(bench);
    let [a, b] = bench.coils();
    let wire = &bench.winding.wire;
    let length = circuit::wire_length_m(&bench.winding, &a) + circuit::wire_length_m(&bench.winding, &b);
    // Of the coil that is nearer.
    let diameter = |sign: f64| 2.0 * a.mean_radius_m + sign * a.depth_m;
    [
        circuit::pair_resistance_at_20_celsius_ohm(bench) * wire.conductor.resistance_ratio(celsius),
        assembly.field_per_ampere(&Vector3::zeros()).z,
        0.0,
        length * wire.conductor_area_m2() * wire.conductor.density_kg_per_m3(),
        wire.overall_diameter_m,
        diameter(-1.0),
        diameter(1.0),
        a.width_m,
        bench.spacing_m + b.offset_m.z - a.offset_m.z,
    ]
}

impl Delivery {
    /// `measured` names what is measured of [`Quantity::ALL`].
    pub fn of(spec: &'static str, leads: bool, measured: [bool; Quantity::COUNT]) -> Self {
        let path = format!("{}/coil-specs/{spec}.json", env!("CARGO_MANIFEST_DIR"));
        let mut bench = read_bench(&path).expect("an example spec");
        // Leads of the spec, counted or not, hide as much of a bad contact.
        if !leads {
            bench.lead_resistance_ohm = None;
        }
        let mut typical = bench.clone();
        typical.winding.wire.overall_diameter_m *= Self::overall(&bench);
        let nominal = shown(&typical, 20.0);
        let mut delivery = Self { bench, measured, nominal, covariance: SMatrix::identity() };
        // The spread of sound pairs as measured.
        const DRAWN: u64 = 1_000;
        let relative: Vec<SVector<f64, { Quantity::COUNT }>> = (0..DRAWN)
            .into_par_iter()
            .map(|case| {
                let mut random = SampleGenerator::new(17, case);
                let values = delivery.measured_values(&delivery.built(&mut random), 20.0, &mut random).0;
                SVector::from_fn(|i, _| values[i] / delivery.nominal[i] - 1.0)
            })
            .collect();
        let mean = relative.iter().sum::<SVector<f64, { Quantity::COUNT }>>() / DRAWN as f64;
        let spread = relative.iter().map(|one| (one - mean) * (one - mean).transpose());
        delivery.covariance = spread.sum::<SMatrix<f64, _, _>>() / DRAWN as f64;
        for (i, measured) in delivery.measured.iter().enumerate().filter(|(_, measured)| !**measured) {
            let _ = measured;
            delivery.covariance.row_mut(i).fill(0.0);
            delivery.covariance.column_mut(i).fill(0.0);
            delivery.covariance[(i, i)] = 1e12;
        }
        delivery
    }

    /// What is over the enamel of a stock size, on the average, of what the spec states.
    fn overall(bench: &Bench) -> f64 {
        if bench.winding.wire.name.is_some() { OVERALL[0] } else { 1.0 }
    }

    fn tolerance(&self) -> BuildTolerance {
        self.bench.build_tolerance.unwrap_or(BuildTolerance::ORDINARY)
    }

    /// A pair within its tolerance, its wire within its standard.
    fn built(&self, random: &mut SampleGenerator) -> Bench {
        let tolerance = self.tolerance();
        let resistances = [random.normal(0.002), random.normal(0.002)];
        let mut by = |limit: f64| match tolerance.distribution {
            Distribution::Rectangular => random.rectangular(limit),
            Distribution::Normal => random.normal(0.5 * limit),
        };
        let mut built = self.bench.clone();
        let mut coils = built.coils();
        built.spacing_m += by(tolerance.spacing_m);
        for (coil, other) in coils.iter_mut().zip(resistances) {
            coil.turns += by(tolerance.turns);
            coil.mean_radius_m += by(tolerance.mean_radius_m);
            coil.width_m += by(tolerance.width_m);
            coil.depth_m += by(tolerance.depth_m);
            coil.offset_m.x += by(tolerance.offset_m);
            coil.offset_m.y += by(tolerance.offset_m);
            coil.tilt_rad[0] += by(tolerance.tilt_rad);
            coil.tilt_rad[1] += by(tolerance.tilt_rad);
            if let Some(resistance) = &mut coil.resistance {
                resistance.ohm *= 1.0 + other;
            }
        }
        built.set_coils(coils);
        built.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.01);
        built.winding.wire.overall_diameter_m *= Self::overall(&self.bench) + random.rectangular(OVERALL[1]);
        built
    }

    /// What is read of a pair: the values, their standard uncertainties, and the true values.
    fn measured_values(
        &self,
        pair: &Bench,
        celsius: f64,
        random: &mut SampleGenerator,
    ) -> (Values, Values, Values) {
        let sound = pair.connection == self.bench.connection
            && pair.coils().iter().zip(self.bench.coils()).all(|(one, other)| one.sense == other.sense);
        // Within a build tolerance the inductance goes as N² R: what the section and the spacing add is lost in one percent.
        let near = |coil: &Coil, of: &Coil| (coil.mean_radius_m / of.mean_radius_m - 1.0).abs() < 0.01;
        let sound = sound && (pair.spacing_m - self.bench.spacing_m).abs() < 1.2e-3;
        let truth = if sound && pair.coils().iter().zip(&self.bench.coils()).all(|(one, of)| near(one, of)) {
            let mut truth = shown_but_inductance(pair, celsius);
            let square = |coil: &Coil| coil.turns * coil.turns * coil.mean_radius_m;
            let of = |bench: &Bench| bench.coils().iter().map(square).sum::<f64>();
            truth[2] = self.nominal[2] * of(pair) / of(&self.bench);
            truth
        } else {
            shown(pair, celsius)
        };
        let uncertainties: Values = std::array::from_fn(|i| {
            if i < 4 {
                RELATIVE[i] * truth[i].abs().max(1e-3 * self.nominal[i].abs())
            } else {
                LENGTH_M[i - 4]
            }
        });
        let mut values: Values = std::array::from_fn(|i| truth[i] + random.normal(uncertainties[i]));
        // What an inductance meter's frequency makes of it.
        values[2] *= 1.0 + random.normal(0.01);
        if let Some(ohm) = self.bench.lead_resistance_ohm
            && random.unit() < 0.5
        {
            values[0] += ohm;
        }
        (values, uncertainties, truth)
    }

    fn file(&self, values: &Values, uncertainties: &Values) -> Measured {
        let reading = |i: usize| {
            self.measured[i]
                .then_some(MeasuredValue { value: values[i], standard_uncertainty: uncertainties[i] })
        };
        Measured {
            resistance_ohm: reading(0),
            overall_wire_diameter_m: reading(4),
            inner_diameter_m: reading(5),
            outer_diameter_m: reading(6),
            width_m: reading(7),
            spacing_m: reading(8),
            field_tesla_per_ampere: reading(1),
            inductance_henry: reading(2),
            conductor_mass_kg: reading(3),
            ..Measured::nothing("Delivery")
        }
    }

    /// Another design: other size, turns and wire, filling its section.
    fn another(&self, random: &mut SampleGenerator) -> Bench {
        let wires = stock_wires();
        let mut other = self.built(random);
        let stretch = |random: &mut SampleGenerator, by: f64| (random.rectangular(by)).exp();
        let radius = stretch(random, 0.25);
        let wire = loop {
            let wire = &wires[random.whole(wires.len())];
            let ratio = wire.bare_diameter_m / self.bench.winding.wire.bare_diameter_m;
            if (0.5..2.0).contains(&ratio) && (ratio - 1.0).abs() > 0.03 {
                break wire.wire(Conductor::Copper, None);
            }
        };
        let turns = (self.bench.winding.turns * stretch(random, 0.5)).round();
        let mut coils = other.coils();
        let pitch = wire.overall_diameter_m;
        let layers = (turns.sqrt() * stretch(random, 0.3)).round().max(2.0);
        for coil in &mut coils {
            coil.turns = turns;
            coil.mean_radius_m *= radius;
            coil.depth_m = layers * pitch;
            coil.width_m = (turns / layers).ceil() * pitch;
            coil.resistance = None;
        }
        other.set_coils(coils);
        other.spacing_m *= radius * stretch(random, 0.05);
        let wanted = OVERALL[0] + random.rectangular(OVERALL[1]);
        other.winding.wire = wire;
        other.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.01);
        other.winding.wire.overall_diameter_m *= wanted;
        other
    }

    /// Makes a fault of this size.
    fn make(&self, cause: Cause, size: f64, pair: &mut Bench, celsius: &mut f64) {
        let coils = |pair: &mut Bench, change: &dyn Fn(&mut Coil)| {
            let mut coils = pair.coils();
            coils.iter_mut().for_each(change);
            pair.set_coils(coils);
        };
        match cause {
            Cause::Spacing => pair.spacing_m += size,
            Cause::Turns => coils(pair, &|coil| coil.turns += size),
            Cause::MeanRadius => coils(pair, &|coil| coil.mean_radius_m += size),
            Cause::WireDiameter => {
                pair.winding.wire.bare_diameter_m *= 1.0 + size;
                pair.winding.wire.overall_diameter_m *= 1.0 + size;
            }
            Cause::CopperTemperature => *celsius += size,
            Cause::CoilReversed => {
                let mut coils = pair.coils();
                coils[1].sense = -coils[1].sense;
                pair.set_coils(coils);
            }
            Cause::Connection => {
                pair.connection = match pair.connection {
                    Connection::Series => Connection::Parallel,
                    Connection::Parallel => Connection::Series,
                };
            }
            Cause::Aluminium => pair.winding.wire.conductor = Conductor::Aluminium,
            _ => {}
        }
    }

    /// What a fault of the meters or the pen, of this size, makes of the values.
    fn misread(
        &self,
        cause: Cause,
        size: f64,
        pair: &Bench,
        random: &mut SampleGenerator,
        values: &mut Values,
    ) {
        match cause {
            Cause::ContactResistance => values[0] += size,
            Cause::MeterGain => values[1] *= 1.0 + size,
            Cause::ProbeTilted => values[1] *= 1.0 - size,
            Cause::Alone(quantity) => {
                let at = Quantity::ALL.iter().position(|it| *it == quantity).unwrap_or(0);
                values[at] *= 1.0 + size;
            }
            Cause::GaussForMillitesla => values[1] *= 10.0,
            Cause::MilliteslaForGauss => values[1] *= 0.1,
            Cause::FieldReversed => values[1] = -values[1],
            Cause::RadiusForDiameter => {
                values[5] *= 0.5;
                values[6] *= 0.5;
            }
            Cause::OneCoilAlone => {
                let own = electrical::inductances(&PreparedPair::of(pair)).self_henry[0];
                values[2] *= own / shown(pair, 20.0)[2];
                let [ohm, field] = match pair.connection {
                    Connection::Series => [0.5, 0.5],
                    Connection::Parallel => [2.0, 1.0],
                };
                values[0] *= ohm;
                values[1] *= field;
            }
            Cause::ShortedTurns => {
                let part = 1.0 - 0.5 * (3.0 + random.unit() * 12.0) / self.bench.winding.turns;
                values[0] *= part;
                values[1] *= part;
                values[2] *= 0.4 + 0.5 * random.unit();
            }
            _ => {}
        }
    }

    /// Standard uncertainty of a fault's size, by the spread of sound pairs.
    fn determined(&self, cause: Cause) -> f64 {
        let step = match cause {
            Cause::Spacing | Cause::MeanRadius => 1e-4,
            Cause::Turns => 0.1,
            Cause::CopperTemperature => 1.0,
            Cause::ContactResistance => 1e-3 * self.nominal[0],
            _ => 1e-3,
        };
        let mut typical = self.bench.clone();
        typical.winding.wire.overall_diameter_m *= Self::overall(&self.bench);
        let mut celsius = 20.0;
        self.make(cause, step, &mut typical, &mut celsius);
        let mut values = shown(&typical, celsius);
        self.misread(cause, step, &typical, &mut SampleGenerator::new(0, 0), &mut values);
        let effect = SVector::<f64, { Quantity::COUNT }>::from_fn(|i, _| {
            if self.measured[i] { (values[i] / self.nominal[i] - 1.0) / step } else { 0.0 }
        });
        let inverse = self.covariance.try_inverse().expect("a covariance");
        (effect.dot(&(inverse * effect))).sqrt().recip()
    }

    fn check(&self, values: &Values, uncertainties: &Values) -> LessonCheck {
        lesson_check(&self.bench, &self.file(values, uncertainties), &Request::default()).expect("a check")
    }

    fn said(&self, planted: Option<Planted>, record: &LessonCheck) -> Said {
        let right = |class: &coilwright::questions::check::CauseClass| {
            planted
                .is_some_and(|planted| class.members.iter().any(|one| one.plausible && planted.is(one.cause)))
        };
        let findings: Vec<(f64, bool)> =
            record.causes.iter().map(|class| (class.probability, right(class))).collect();
        Said { stated: findings.clone(), findings }
    }

    fn with(&self, planted: Planted, size: f64, random: &mut SampleGenerator) -> Said {
        let (pair, celsius, cause) = match planted {
            Planted::AnotherPair => (self.another(random), 20.0, None),
            Planted::Fault(cause) => {
                let (mut pair, mut celsius) = (self.built(random), 20.0);
                self.make(cause, size, &mut pair, &mut celsius);
                (pair, celsius, Some(cause))
            }
        };
        let (mut values, mut uncertainties, _) = self.measured_values(&pair, celsius, random);
        if let Some(cause) = cause {
            let before = values;
            self.misread(cause, size, &pair, random, &mut values);
            for i in 0..Quantity::COUNT {
                uncertainties[i] *=
                    if before[i] == 0.0 { 1.0 } else { (values[i] / before[i]).abs().max(1e-3) };
            }
        }
        self.said(Some(planted), &self.check(&values, &uncertainties))
    }

    /// Sound pairs.
    pub fn clean(&self, seed: u64, count: u64) -> Vec<Said> {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let pair = self.built(&mut random);
            let (values, uncertainties, _) = self.measured_values(&pair, 20.0, &mut random);
            self.said(None, &self.check(&values, &uncertainties))
        };
        (0..count).into_par_iter().map(one).collect()
    }

    /// Pairs with one fault of so many standard uncertainties.
    pub fn planted(&self, planted: Planted, times: f64, seed: u64, count: u64) -> Vec<Said> {
        let size = match planted {
            Planted::Fault(cause) if planted.has_size() => times * self.determined(cause),
            _ => 0.0,
        };
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let one_sided = matches!(
                planted,
                Planted::Fault(Cause::ContactResistance | Cause::ProbeTilted | Cause::CopperTemperature)
            );
            let sign = if one_sided || random.unit() < 0.5 { 1.0 } else { -1.0 };
            self.with(planted, sign * size, &mut random)
        };
        (0..count).into_par_iter().map(one).collect()
    }

    /// Pairs with faults as common and as large as the table of priors says.
    pub fn drawn(&self, seed: u64, count: u64) -> Vec<Said> {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let pick = random.unit();
            let mut sum = 0.0;
            let planted = FAULTS.iter().copied().find(|planted| {
                sum += planted.prior();
                pick < sum
            });
            let Some(mut planted) = planted else {
                let pair = self.built(&mut random);
                let (values, uncertainties, _) = self.measured_values(&pair, 20.0, &mut random);
                return self.said(None, &self.check(&values, &uncertainties));
            };
            let measured: Vec<usize> = (0..Quantity::COUNT).filter(|i| self.measured[*i]).collect();
            if matches!(planted, Planted::Fault(Cause::Alone(_))) {
                planted = Planted::Fault(Cause::Alone(Quantity::ALL[measured[random.whole(measured.len())]]));
            }
            let [low, high] = self.range(planted);
            let size = low * (high / low).powf(random.unit());
            let one_sided = matches!(planted, Planted::Fault(Cause::ContactResistance | Cause::ProbeTilted));
            let sign = if one_sided || random.unit() < 0.5 { 1.0 } else { -1.0 };
            self.with(planted, sign * size, &mut random)
        };
        (0..count).into_par_iter().map(one).collect()
    }

    fn range(&self, planted: Planted) -> [f64; 2] {
        let Planted::Fault(cause) = planted else { return [1.0, 1.0] };
        match cause {
            Cause::Spacing => [5e-4, 0.3 * self.bench.spacing_m],
            Cause::MeanRadius => [5e-4, 0.3 * self.bench.winding.mean_radius_m],
            Cause::Turns => [0.5, 0.6 * self.bench.winding.turns],
            Cause::WireDiameter => [0.02, 0.5],
            Cause::CopperTemperature => [2.0, 40.0],
            Cause::ContactResistance => [1e-2 * self.nominal[0], 3.0 * self.nominal[0]],
            Cause::MeterGain => [0.005, 0.2],
            Cause::ProbeTilted => [1.0 - 0.05f64.cos(), 1.0 - 0.7f64.cos()],
            Cause::Alone(_) => [0.02, 1.0],
            _ => [1.0, 1.0],
        }
    }

    /// Verdicts on single quantities of pairs that miss their limits or keep them: how many are wrong, and how many are
    /// decided of those that lie more than 2 U inside or outside.
    pub fn verdicts(&self, seed: u64, count: u64) -> Verdicts {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let mut pair = self.built(&mut random);
            // Around the limits, where verdicts are hardest.
            let tolerance = self.tolerance();
            pair.spacing_m = self.bench.spacing_m + random.rectangular(3.0 * tolerance.spacing_m + 1e-3);
            let mut coils = pair.coils();
            let wide = random.rectangular(3.0 * tolerance.width_m + 1e-3);
            coils.iter_mut().for_each(|coil| coil.width_m += wide);
            pair.set_coils(coils);
            pair.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.04);
            let (values, uncertainties, truth) = self.measured_values(&pair, 20.0, &mut random);
            let record = self.check(&values, &uncertainties);
            let mut found = Verdicts::default();
            for quantity in &record.quantities {
                let Some(at) = Quantity::ALL.iter().position(|it| Subject::Pair(*it) == quantity.subject)
                else {
                    continue;
                };
                let [low, high] =
                    [quantity.limits.low, quantity.limits.high].map(|it| it.unwrap_or(f64::NAN));
                let margin = (truth[at] - low).min(high - truth[at]);
                found.count(margin, quantity.guard_band, quantity.verdict);
            }
            found
        };
        (0..count).into_par_iter().map(one).reduce(Verdicts::default, Verdicts::and)
    }
}

/// Guard-banded verdicts counted.
#[derive(Clone, Copy, Debug, Default)]
pub struct Verdicts {
    pub all: usize,
    /// Pass of what lies outside, fail of what lies inside.
    pub wrong: usize,
    /// True values more than 2 U inside or outside, and those of them that pass or fail as they should.
    pub clear: usize,
    pub clear_and_decided: usize,
}

impl Verdicts {
    pub fn count(&mut self, true_margin: f64, guard_band: f64, verdict: Acceptance) {
        let inside = true_margin >= 0.0;
        let right = if inside { Acceptance::Pass } else { Acceptance::Fail };
        self.all += 1;
        self.wrong += usize::from(verdict != right && verdict != Acceptance::Undecided);
        if true_margin.abs() > 2.0 * guard_band {
            self.clear += 1;
            self.clear_and_decided += usize::from(verdict == right);
        }
    }

    pub fn and(self, other: Self) -> Self {
        Self {
            all: self.all + other.all,
            wrong: self.wrong + other.wrong,
            clear: self.clear + other.clear,
            clear_and_decided: self.clear_and_decided + other.clear_and_decided,
        }
    }
}
