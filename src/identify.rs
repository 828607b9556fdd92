//! What is this unlabelled pair?
//!
//! For every stock wire and every whole number of turns the measurements are predicted from the measured dimensions,
//! and the probability that they would come out as they did is found. The dimensions, and the wire's own tolerance, are
//! not exact: their standard uncertainties are carried to first order into the predictions, together with the
//! correlations that they bring. Every wire and every number of turns that fits the section counts as equally likely
//! beforehand (Bayes' rule with a flat prior; D. S. Sivia, *Data Analysis: A Bayesian Tutorial*, ch. 4, from memory).

use crate::field::{Assembly, PlacedWinding, Section, mutual_inductance_henry, self_inductance_henry};
use crate::numeric::quadrature::gauss_legendre;
use crate::spec::wires::stock_wires;
use crate::spec::{
    Bench, BuildTolerance, Connection, Distribution, Filling, Layout, Measured, Packing, Reading, Winding,
    Wire,
};
use crate::{Error, Result};
use nalgebra::{SMatrix, SVector, Vector3};
use serde::Serialize;
use std::f64::consts::TAU;

/// Candidates shown.
const SHOWN: usize = 12;
/// Candidates looked at when the next measurement is chosen.
const WEIGHED: usize = 200;
/// Standard uncertainty of a stock wire's bare diameter, a rectangular ±1 % (IEC 60317-0-1, conductor tolerance).
const BARE_DIAMETER_RELATIVE: f64 = 0.01 / 1.732_050_807_568_877_2;
/// Standard uncertainty of the diameter over the enamel against the largest that the standard allows (from memory: real
/// wire stays 1 to 3 % below).
const OVERALL_BELOW_LARGEST: f64 = 0.985;
const OVERALL_RELATIVE: f64 = 0.01;
/// Turns times overall diameter squared over the section's area: below three quarters a winding is mostly air, above
/// 2/√3 round wires cannot be packed.
const OCCUPANCY: [f64; 2] = [0.75, 1.154_700_538_379_251_5];

/// The answer to "what is this unlabelled pair?".
#[derive(Clone, Debug, Serialize)]
pub struct Identification {
    /// Title of the measurements.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file.
    pub digest: String,
    /// Program name and version.
    pub program: String,
    /// Mean radius from the diameters measured.
    pub mean_radius_m: f64,
    /// Width of the section.
    pub width_m: f64,
    /// Depth of the section.
    pub depth_m: f64,
    /// Centre plane to centre plane.
    pub spacing_m: f64,
    /// What was taken because it was not measured, in sentences.
    pub assumed: Vec<String>,
    /// Wires and turn counts compared.
    pub compared: usize,
    /// The likeliest, with what each predicts.
    pub candidates: Vec<Candidate>,
    /// Probability of each turn count, whatever the wire, likeliest first.
    pub turns: Vec<TurnsProbability>,
    /// Chi-square of the best candidate over the measurements used; much above their number, something else is wrong.
    pub best_chi_square: f64,
    /// How many measurements were used.
    pub measurements: usize,
    /// Measurements that would settle it, best first.
    pub next_measurements: Vec<NextMeasurement>,
    /// The likeliest as a bench.
    #[serde(skip)]
    pub bench: Option<Bench>,
}

/// One wire and turn count.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// Turns of each coil.
    pub turns: u32,
    /// The wire.
    pub wire: String,
    /// How likely, 0 to 1, among everything compared.
    pub probability: f64,
    /// Chi-square of the measurements against it.
    pub chi_square: f64,
    /// What it predicts for the resistance, at the temperature of the measurement.
    pub resistance_ohm: f64,
    /// What it predicts for the field.
    pub field_constant_tesla_per_ampere: f64,
    /// What it predicts for the inductance.
    pub inductance_henry: f64,
    /// What it predicts for the conductor's mass.
    pub conductor_mass_kg: f64,
}

/// A turn count and how likely it is.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TurnsProbability {
    /// Turns of each coil.
    pub turns: u32,
    /// How likely, 0 to 1.
    pub probability: f64,
}

/// A measurement that would tell the candidates apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NextMeasurement {
    /// What to measure.
    pub quantity: &'static str,
    /// With which relative standard uncertainty.
    pub relative_standard_uncertainty: f64,
    /// What it is expected to tell, in bits; what is still open is [`Self::open_bits`].
    pub expected_bits: f64,
    /// What is still open before it: the entropy of the candidates.
    pub open_bits: f64,
    /// The same in a sentence.
    pub sentence: String,
}

/// What is predicted and compared: resistance, field, inductance, mass, diameter over the enamel.
const QUANTITIES: usize = 5;
/// What is uncertain in a prediction: inner and outer diameter, width, spacing, bare diameter, overall diameter.
const CAUSES: usize = 6;
type Observed = SVector<f64, QUANTITIES>;
type Covariance = SMatrix<f64, QUANTITIES, QUANTITIES>;

/// The dimensions, measured or taken, each with its standard uncertainty.
#[derive(Clone, Copy, Debug)]
struct Dimensions {
    inner_diameter_m: Reading,
    outer_diameter_m: Reading,
    width_m: Reading,
    spacing_m: Reading,
}

/// What one turn of a wire of unit bare diameter gives, each to be scaled by turns and diameter.
#[derive(Clone, Copy, Debug)]
struct PerTurn {
    mean_radius_m: f64,
    /// T/A of the supply's current.
    field: f64,
    /// H of the pair as connected.
    inductance: f64,
}

/// Says which stock wires and whole turn counts fit.
///
/// # Errors
/// Neither diameter was measured; nothing was measured that tells the turns; no stock wire fits the section.
pub fn identify(measured: &Measured) -> Result<Identification> {
    let wires: Vec<Wire> = stock_wires().iter().map(|wire| wire.wire(measured.conductor, None)).collect();
    identify_among(measured, &wires)
}

fn identify_among(measured: &Measured, wires: &[Wire]) -> Result<Identification> {
    let (dimensions, assumed) = dimensions(measured)?;
    let model = Model::of(measured, dimensions)?;
    let mut all: Vec<Scored> = Vec::new();
    for (number, wire) in wires.iter().enumerate() {
        for turns in 1..=model.most_turns(wire) {
            all.push(model.scored(number, wire, turns));
        }
    }
    let best = all.iter().map(|scored| scored.log_likelihood).fold(f64::NEG_INFINITY, f64::max);
    if !best.is_finite() {
        return Err(Error::value_with_hint(
            "no stock wire gives this pair any whole number of turns",
            "check the dimensions and their uncertainties: they are diameters, not radii",
        ));
    }
    let sum: f64 = all.iter().map(|scored| (scored.log_likelihood - best).exp()).sum();
    for scored in &mut all {
        scored.probability = (scored.log_likelihood - best).exp() / sum;
    }
    let compared = all.len();
    let turns = by_turns(&all);
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all.truncate(WEIGHED);
    let next_measurements = model.next_measurements(wires, &all);
    let candidates: Vec<Candidate> =
        all.iter().take(SHOWN).map(|scored| model.candidate(&wires[scored.wire], scored)).collect();
    let likeliest = &all[0];
    Ok(Identification {
        title: measured.title.clone(),
        digest: measured.digest.clone(),
        program: concat!("coilwright ", env!("CARGO_PKG_VERSION")).into(),
        mean_radius_m: model.per_turn.mean_radius_m,
        width_m: dimensions.width_m.value,
        depth_m: dimensions.depth_m(),
        spacing_m: dimensions.spacing_m.value,
        assumed,
        compared,
        best_chi_square: likeliest.chi_square,
        measurements: model.used.iter().filter(|used| **used).count(),
        turns: turns.into_iter().take(SHOWN).collect(),
        next_measurements,
        bench: Some(model.bench(measured, &wires[likeliest.wire], likeliest.turns)),
        candidates,
    })
}

/// One wire and turn count with its score.
#[derive(Clone, Copy)]
struct Scored {
    wire: usize,
    turns: u32,
    log_likelihood: f64,
    chi_square: f64,
    probability: f64,
}

fn by_turns(all: &[Scored]) -> Vec<TurnsProbability> {
    let most = all.iter().map(|scored| scored.turns).max().unwrap_or(0) as usize;
    let mut sums = vec![0.0; most + 1];
    for scored in all {
        sums[scored.turns as usize] += scored.probability;
    }
    let mut turns: Vec<TurnsProbability> = sums
        .into_iter()
        .enumerate()
        .filter(|(_, probability)| *probability >= 1e-6)
        .map(|(turns, probability)| TurnsProbability { turns: turns as u32, probability })
        .collect();
    turns.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    turns
}

impl Dimensions {
    fn depth_m(&self) -> f64 {
        0.5 * (self.outer_diameter_m.value - self.inner_diameter_m.value)
    }

    fn section(&self) -> Section {
        Section {
            mean_radius_m: 0.25 * (self.outer_diameter_m.value + self.inner_diameter_m.value),
            width_m: self.width_m.value,
            depth_m: self.depth_m(),
        }
    }

    /// The same with one of them larger by a length.
    fn with(&self, cause: usize, by: f64) -> Self {
        let mut changed = *self;
        let length = match cause {
            0 => &mut changed.inner_diameter_m,
            1 => &mut changed.outer_diameter_m,
            2 => &mut changed.width_m,
            _ => &mut changed.spacing_m,
        };
        length.value += by;
        changed
    }

    fn uncertainties(&self) -> [f64; 4] {
        [self.inner_diameter_m, self.outer_diameter_m, self.width_m, self.spacing_m]
            .map(|reading| reading.standard_uncertainty)
    }
}

/// The dimensions, what is missing taken widely, with a sentence for each.
fn dimensions(measured: &Measured) -> Result<(Dimensions, Vec<String>)> {
    let mut assumed = Vec::new();
    let taken = |value: f64, relative: f64| Reading { value, standard_uncertainty: relative * value };
    let (inner, outer) = match (measured.inner_diameter_m, measured.outer_diameter_m) {
        (Some(inner), Some(outer)) => (inner, outer),
        (Some(inner), None) => {
            assumed.push("the outer diameter was not measured: taken 6 % ± 2 % larger than the inner".into());
            (inner, taken(1.06 * inner.value, 0.02))
        }
        (None, Some(outer)) => {
            assumed
                .push("the inner diameter was not measured: taken 6 % ± 2 % smaller than the outer".into());
            (taken(outer.value / 1.06, 0.02), outer)
        }
        (None, None) => {
            return Err(Error::MissingPart {
                part: "inner_diameter",
                why: "every prediction rests on the size of the coil; a ruler will do",
                example: r#""inner_diameter": { "value": "312 mm", "uncertainty": "1 mm" }"#,
            });
        }
    };
    let depth = 0.5 * (outer.value - inner.value);
    let radius = 0.25 * (outer.value + inner.value);
    let width = measured.width_m.unwrap_or_else(|| {
        assumed.push("the width was not measured: taken 1.5 times the depth, ±40 %".into());
        taken(1.5 * depth, 0.4)
    });
    let spacing = measured.spacing_m.unwrap_or_else(|| {
        assumed.push("the spacing was not measured: taken as one mean radius, ±3 %".into());
        taken(radius, 0.03)
    });
    if spacing.value <= width.value {
        return Err(Error::value_with_hint(
            "the spacing is not larger than the width, so the two coils would overlap",
            "the spacing is from the middle of one coil to the middle of the other",
        ));
    }
    if measured.connection.is_none() {
        assumed.push("the connection was not given: taken as series".into());
    }
    let dimensions =
        Dimensions { inner_diameter_m: inner, outer_diameter_m: outer, width_m: width, spacing_m: spacing };
    Ok((dimensions, assumed))
}

/// Everything that predicts the measurements.
struct Model<'a> {
    measured: &'a Measured,
    dimensions: Dimensions,
    connection: Connection,
    per_turn: PerTurn,
    /// Relative change of each quantity for one standard uncertainty of each cause.
    causes: SMatrix<f64, QUANTITIES, CAUSES>,
    observed: Observed,
    uncertainty: Observed,
    used: [bool; QUANTITIES],
}

impl<'a> Model<'a> {
    fn of(measured: &'a Measured, dimensions: Dimensions) -> Result<Self> {
        let readings = [
            measured.resistance_ohm,
            measured.field_tesla_per_ampere,
            measured.inductance_henry,
            measured.conductor_mass_kg,
            measured.overall_wire_diameter_m,
        ];
        if readings[..4].iter().all(Option::is_none) {
            return Err(Error::value_with_hint(
                "nothing was measured that tells the turns",
                "measure the resistance, the field at a known current, the inductance or the mass of the copper",
            ));
        }
        let connection = measured.connection.unwrap_or_default();
        let per_turn = PerTurn::of(&dimensions, connection);
        let mut causes = SMatrix::zeros();
        for (cause, uncertainty) in dimensions.uncertainties().into_iter().enumerate() {
            // A step of a hundredth keeps the section from turning inside out where an uncertainty is wide.
            let step = 0.01 * uncertainty;
            let [up, down] = [step, -step].map(|by| PerTurn::of(&dimensions.with(cause, by), connection));
            let change = |of: fn(&PerTurn) -> f64| {
                if step > 0.0 {
                    (of(&up) - of(&down)) / (2.0 * step) * uncertainty / of(&per_turn)
                } else {
                    0.0
                }
            };
            causes[(0, cause)] = change(|turn| turn.mean_radius_m);
            causes[(1, cause)] = change(|turn| turn.field);
            causes[(2, cause)] = change(|turn| turn.inductance);
            causes[(3, cause)] = change(|turn| turn.mean_radius_m);
        }
        causes[(0, 4)] = -2.0 * BARE_DIAMETER_RELATIVE;
        causes[(3, 4)] = 2.0 * BARE_DIAMETER_RELATIVE;
        causes[(4, 5)] = OVERALL_RELATIVE;
        Ok(Self {
            measured,
            dimensions,
            connection,
            per_turn,
            causes,
            observed: Observed::from_iterator(readings.map(|it| it.map_or(0.0, |it| it.value.abs()))),
            uncertainty: Observed::from_iterator(
                readings.map(|it| it.map_or(0.0, |it| it.standard_uncertainty)),
            ),
            used: readings.map(|it| it.is_some()),
        })
    }

    /// The most turns of a wire that the section could hold, its uncertainty allowed for.
    fn most_turns(&self, wire: &Wire) -> u32 {
        let (area, relative) = self.area();
        let largest = area * (1.0 + 3.0 * relative) * OCCUPANCY[1];
        (largest / (OVERALL_BELOW_LARGEST * wire.overall_diameter_m).powi(2)).min(20_000.0) as u32
    }

    /// The section's area and its relative standard uncertainty.
    fn area(&self) -> (f64, f64) {
        let d = &self.dimensions;
        let depth = d.depth_m();
        let depth_uncertainty =
            0.5 * d.inner_diameter_m.standard_uncertainty.hypot(d.outer_diameter_m.standard_uncertainty);
        let relative = (d.width_m.standard_uncertainty / d.width_m.value).hypot(depth_uncertainty / depth);
        (d.width_m.value * depth, relative)
    }

    /// What is predicted of a wire and turn count.
    fn predicted(&self, wire: &Wire, turns: f64) -> Observed {
        let length = TAU * self.per_turn.mean_radius_m * turns;
        let area = wire.conductor_area_m2();
        let coil_ohm = wire.conductor.resistivity_at_20_celsius_ohm_m() * length / area
            * wire.conductor.resistance_ratio(self.measured.resistance_at_celsius);
        let pair_ohm = match self.connection {
            Connection::Series => 2.0 * coil_ohm,
            Connection::Parallel => 0.5 * coil_ohm,
        };
        Observed::from([
            pair_ohm,
            self.per_turn.field * turns,
            self.per_turn.inductance * turns * turns,
            2.0 * length * area * wire.conductor.density_kg_per_m3(),
            OVERALL_BELOW_LARGEST * wire.overall_diameter_m,
        ])
    }

    /// Relative covariance of the measurements about the predictions; what was not measured stands apart with a one.
    fn covariance(&self, predicted: &Observed) -> Covariance {
        let mut covariance = self.causes * self.causes.transpose();
        for i in 0..QUANTITIES {
            if self.used[i] {
                covariance[(i, i)] += (self.uncertainty[i] / predicted[i]).powi(2);
            } else {
                covariance.row_mut(i).fill(0.0);
                covariance.column_mut(i).fill(0.0);
                covariance[(i, i)] = 1.0;
            }
        }
        covariance
    }

    fn residual(&self, predicted: &Observed) -> Observed {
        Observed::from_fn(|i, _| if self.used[i] { self.observed[i] / predicted[i] - 1.0 } else { 0.0 })
    }

    fn scored(&self, number: usize, wire: &Wire, turns: u32) -> Scored {
        let predicted = self.predicted(wire, f64::from(turns));
        let residual = self.residual(&predicted);
        let none = Scored {
            wire: number,
            turns,
            log_likelihood: f64::NEG_INFINITY,
            chi_square: f64::INFINITY,
            probability: 0.0,
        };
        // Far off by any single measurement: no correlation brings it back.
        let covariance = self.covariance(&predicted);
        if (0..QUANTITIES).any(|i| residual[i].powi(2) > 100.0 * covariance[(i, i)]) {
            return none;
        }
        let Some(cholesky) = covariance.cholesky() else { return none };
        let chi_square = residual.dot(&cholesky.solve(&residual));
        let half_log_determinant: f64 = cholesky.l_dirty().diagonal().iter().map(|entry| entry.ln()).sum();
        let scale: f64 = (0..QUANTITIES).filter(|i| self.used[*i]).map(|i| predicted[i].ln()).sum();
        let log_likelihood =
            -0.5 * chi_square - half_log_determinant - scale + self.log_occupancy(wire, f64::from(turns));
        Scored { log_likelihood, chi_square, ..none }
    }

    /// Zero where the turns fill the section as windings do, falling off on both sides by its uncertainty.
    fn log_occupancy(&self, wire: &Wire, turns: f64) -> f64 {
        let (area, relative) = self.area();
        let relative = relative.hypot(0.03);
        let filled = turns * (OVERALL_BELOW_LARGEST * wire.overall_diameter_m).powi(2) / area;
        let beyond = if filled > OCCUPANCY[1] {
            (filled / OCCUPANCY[1]).ln()
        } else if filled < OCCUPANCY[0] {
            (OCCUPANCY[0] / filled).ln()
        } else {
            0.0
        };
        -0.5 * (beyond / relative).powi(2)
    }

    fn candidate(&self, wire: &Wire, scored: &Scored) -> Candidate {
        let predicted = self.predicted(wire, f64::from(scored.turns));
        Candidate {
            turns: scored.turns,
            wire: wire.name.clone().unwrap_or_default(),
            probability: scored.probability,
            chi_square: scored.chi_square,
            resistance_ohm: predicted[0],
            field_constant_tesla_per_ampere: predicted[1],
            inductance_henry: predicted[2],
            conductor_mass_kg: predicted[3],
        }
    }

    /// The candidate as a bench; layers and turns in a layer are left to the densest winding.
    fn bench(&self, measured: &Measured, wire: &Wire, turns: u32) -> Bench {
        let section = self.dimensions.section();
        let [inner, outer, width, spacing] = self.dimensions.uncertainties();
        let mut winding = Winding {
            mean_radius_m: section.mean_radius_m,
            width_m: section.width_m,
            depth_m: section.depth_m,
            turns: f64::from(turns),
            layers: None,
            turns_per_layer: None,
            packing: Packing::Square,
            filling: Filling::Air,
            surface_emissivity: None,
            wire: wire.clone(),
        };
        // Turns that do not fit wire on wire lie in each other's grooves.
        let layout = Layout::of(&winding);
        if !(layout.fits_width() && layout.fits_depth()) {
            winding.packing = Packing::Nested;
        }
        Bench {
            title: format!("Identified: {}", measured.title).chars().take(200).collect(),
            digest: String::new(),
            axis: crate::spec::AxisPosition::Horizontal,
            winding,
            spacing_m: self.dimensions.spacing_m.value,
            connection: self.connection,
            lead_resistance_ohm: None,
            former: None,
            as_built: None,
            // As well as it was measured: two standard uncertainties.
            build_tolerance: Some(BuildTolerance {
                mean_radius_m: 0.5 * inner.hypot(outer),
                spacing_m: 2.0 * spacing,
                turns: 0.5,
                width_m: 2.0 * width,
                depth_m: inner.hypot(outer),
                offset_m: 0.5e-3,
                tilt_rad: 5e-3,
                distribution: Distribution::Normal,
            }),
            tube: None,
            supply: None,
            ammeter: None,
            voltmeter: None,
            field_meter: None,
            reading: None,
            room: None,
            price: None,
        }
    }

    /// What each measurement, made well, would tell about what is still open, best first.
    fn next_measurements(&self, wires: &[Wire], all: &[Scored]) -> Vec<NextMeasurement> {
        let open_bits: f64 = all
            .iter()
            .filter(|it| it.probability > 0.0)
            .map(|it| -it.probability * it.probability.log2())
            .sum();
        // Relative standard uncertainties of a careful measurement with ordinary means (common practice, no source).
        let means = [
            ("the resistance with four wires", 0.002),
            ("the field at the centre with a calibrated probe, current reversed", 0.003),
            ("the inductance at a low frequency", 0.005),
            ("the mass of the copper", 0.003),
            ("the wire's diameter over the enamel with a micrometer", 0.005),
        ];
        let mut next: Vec<NextMeasurement> = means
            .into_iter()
            .enumerate()
            .map(|(quantity, (name, relative))| {
                let expected_bits = self.expected_bits(wires, all, quantity, relative).min(open_bits);
                NextMeasurement {
                    quantity: name,
                    relative_standard_uncertainty: relative,
                    expected_bits,
                    open_bits,
                    sentence: format!(
                        "{name}, to {}, would settle {:.0} % of what is open",
                        crate::units::display(relative, crate::units::Dimension::Fraction, 1),
                        if open_bits > 0.0 { 100.0 * expected_bits / open_bits } else { 0.0 }
                    ),
                }
            })
            .filter(|next| next.expected_bits > 0.01)
            .collect();
        next.sort_by(|a, b| b.expected_bits.total_cmp(&a.expected_bits));
        next
    }

    /// Mutual information of candidates and one more measurement, in bits: the entropy of the mixture of what they
    /// predict minus that of one of them.
    fn expected_bits(&self, wires: &[Wire], all: &[Scored], quantity: usize, relative: f64) -> f64 {
        let normals: Vec<(f64, f64, f64)> = all
            .iter()
            .filter(|scored| scored.probability > 1e-4)
            .map(|scored| {
                let (mean, deviation) = self.foreseen(&wires[scored.wire], scored.turns, quantity, relative);
                (scored.probability, mean, deviation)
            })
            .collect();
        let weight: f64 = normals.iter().map(|(weight, ..)| weight).sum();
        let density = |x: f64| {
            normals
                .iter()
                .map(|(w, mean, deviation)| {
                    w / weight * (-0.5 * ((x - mean) / deviation).powi(2)).exp() / (deviation * TAU.sqrt())
                })
                .sum::<f64>()
        };
        let rule = gauss_legendre(24);
        let entropy_of_mixture: f64 = normals
            .iter()
            .map(|(w, mean, deviation)| {
                // −∫ p_i ln p over ±6 standard deviations of each.
                let sum: f64 = rule
                    .iter()
                    .map(|(x, node)| {
                        let t = 6.0 * x;
                        6.0 * node * (-0.5 * t * t).exp() / TAU.sqrt() * density(mean + t * deviation).ln()
                    })
                    .sum();
                -w / weight * sum
            })
            .sum();
        let entropy_of_one: f64 =
            normals.iter().map(|(w, _, deviation)| w / weight * (0.5 + (deviation * TAU.sqrt()).ln())).sum();
        ((entropy_of_mixture - entropy_of_one) / std::f64::consts::LN_2).max(0.0)
    }

    /// What a candidate foresees for one more measurement, given those made: mean and standard deviation, relative to a
    /// scale common to all candidates.
    fn foreseen(&self, wire: &Wire, turns: u32, quantity: usize, relative: f64) -> (f64, f64) {
        let predicted = self.predicted(wire, f64::from(turns));
        let residual = self.residual(&predicted);
        let covariance = self.covariance(&predicted);
        let row = self.causes.row(quantity);
        let own = (row * row.transpose())[0] + relative * relative;
        let mut with_used = (self.causes * row.transpose()).column(0).into_owned();
        for i in 0..QUANTITIES {
            if !self.used[i] {
                with_used[i] = 0.0;
            }
        }
        let (shift, known) = match covariance.cholesky() {
            Some(cholesky) => {
                (with_used.dot(&cholesky.solve(&residual)), with_used.dot(&cholesky.solve(&with_used)))
            }
            None => (0.0, 0.0),
        };
        let scale = if self.used[quantity] { self.observed[quantity] } else { 1.0 };
        let mean = predicted[quantity] * (1.0 + shift) / scale;
        let deviation = predicted[quantity] * (own - known).max(relative * relative).sqrt() / scale;
        (mean, deviation)
    }
}

impl PerTurn {
    fn of(dimensions: &Dimensions, connection: Connection) -> Self {
        let section = dimensions.section();
        let half = 0.5 * dimensions.spacing_m.value;
        let placed = |z: f64| PlacedWinding {
            section,
            turns: 1.0,
            centre_m: Vector3::new(0.0, 0.0, z),
            axis: Vector3::z(),
            current_share: 1.0,
        };
        let [a, b] = [placed(-half), placed(half)];
        let mutual = mutual_inductance_henry(&a, &b);
        let own = self_inductance_henry(&section, 1.0);
        let field = Assembly::new(vec![a, b]).field_per_ampere(&Vector3::zeros()).z;
        let (field, inductance) = match connection {
            Connection::Series => (field, 2.0 * (own + mutual)),
            Connection::Parallel => (0.5 * field, 0.5 * (own + mutual)),
        };
        Self { mean_radius_m: section.mean_radius_m, field, inductance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;
    use crate::spec::{Model as BenchModel, measured_from_text};

    fn reading(value: f64, relative: f64) -> Option<Reading> {
        Some(Reading { value, standard_uncertainty: relative * value })
    }

    /// What a careful person would measure on a bench.
    fn measured(bench: &Bench, uncertainties: [f64; 5]) -> Measured {
        let assembly = Assembly::of(bench, BenchModel::Nominal);
        let coil = bench.nominal_coil();
        let wire = &bench.winding.wire;
        let [resistance, field, inductance, mass, overall] = uncertainties;
        let kilograms = 2.0
            * crate::electrical::wire_length_m(&coil)
            * wire.conductor_area_m2()
            * wire.conductor.density_kg_per_m3();
        let length = |value: f64| Some(Reading { value, standard_uncertainty: 0.5e-3 });
        let ohm = crate::electrical::pair_resistance_at_20_celsius_ohm(bench, BenchModel::Nominal);
        let henry = crate::electrical::inductances(bench, BenchModel::Nominal, &assembly).pair_henry;
        Measured {
            title: "Synthetic".into(),
            digest: String::new(),
            connection: Some(bench.connection),
            resistance_ohm: reading(ohm, resistance),
            resistance_at_celsius: 20.0,
            overall_wire_diameter_m: reading(OVERALL_BELOW_LARGEST * wire.overall_diameter_m, overall),
            inner_diameter_m: length(2.0 * coil.mean_radius_m - coil.depth_m),
            outer_diameter_m: length(2.0 * coil.mean_radius_m + coil.depth_m),
            width_m: length(coil.width_m),
            spacing_m: length(bench.spacing_m),
            field_tesla_per_ampere: reading(assembly.field_per_ampere(&Vector3::zeros()).z, field),
            inductance_henry: reading(henry, inductance),
            conductor_mass_kg: reading(kilograms, mass),
            conductor: wire.conductor,
        }
    }

    fn bench(turns: f64, wire: &Wire) -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.mean_radius_m = 0.151;
        bench.spacing_m = 0.151;
        bench.winding.width_m = 0.020;
        bench.winding.depth_m = 0.0095;
        bench.winding.turns = turns;
        bench.winding.wire = wire.clone();
        bench
    }

    fn stock() -> Vec<Wire> {
        stock_wires().iter().map(|wire| wire.wire(crate::constants::Conductor::Copper, None)).collect()
    }

    #[test]
    fn measurements_without_noise_give_back_the_turns_and_the_wire() {
        for name in ["AWG 19 heavy", "0.75 mm grade 2"] {
            let wire = stock().into_iter().find(|wire| wire.name.as_deref() == Some(name)).unwrap();
            for connection in [Connection::Series, Connection::Parallel] {
                let turns = (0.9 * 0.020 * 0.0095 / wire.overall_diameter_m.powi(2)).floor();
                let mut truth = bench(turns, &wire);
                truth.connection = connection;
                let found = identify(&measured(&truth, [0.002, 0.001, 0.005, 0.003, 0.003])).unwrap();
                let best = &found.candidates[0];
                assert_eq!((f64::from(best.turns), best.wire.as_str()), (turns, name), "{:?}", found.turns);
                assert!(best.chi_square < 1e-3 && found.best_chi_square == best.chi_square);
                assert_eq!(found.bench.as_ref().unwrap().winding.turns, turns);
                let sum: f64 = found.turns.iter().map(|turns| turns.probability).sum();
                assert!(sum > 0.8 && sum <= 1.0 + 1e-9, "{sum}");
            }
        }
    }

    #[test]
    fn turns_are_recovered_as_often_as_is_claimed() {
        // 120 pairs: wire and turns drawn flat from what fits, every dimension, wire and reading off by its own
        // uncertainty. Claims and hits then differ by chance alone: at most 3 standard errors, √(p (1 − p)/120).
        const PAIRS: u64 = 120;
        let wires: Vec<Wire> =
            stock().into_iter().filter(|w| (0.6e-3..1.3e-3).contains(&w.bare_diameter_m)).collect();
        let (mut claimed, mut variance, mut hits) = (0.0, 0.0, 0.0);
        for pair in 0..PAIRS {
            let mut random = SampleGenerator::new(41, pair);
            let wire = &wires[random.whole(wires.len())];
            let overall = OVERALL_BELOW_LARGEST * wire.overall_diameter_m;
            let area = 0.020 * 0.0095;
            let [least, most] = OCCUPANCY.map(|occupancy| (occupancy * area / (overall * overall)) as usize);
            let turns = (least + 1 + random.whole(most - least)) as f64;
            let mut truth = bench(turns, wire);
            truth.winding.wire.bare_diameter_m *= 1.0 + random.rectangular(0.01);
            truth.winding.wire.overall_diameter_m *= 1.0 + random.normal(OVERALL_RELATIVE);
            let mut measured = measured(&truth, [0.005, 0.004, 0.01, 0.01, 0.01]);
            for reading in [
                &mut measured.resistance_ohm,
                &mut measured.overall_wire_diameter_m,
                &mut measured.inner_diameter_m,
                &mut measured.outer_diameter_m,
                &mut measured.width_m,
                &mut measured.spacing_m,
                &mut measured.field_tesla_per_ampere,
                &mut measured.inductance_henry,
                &mut measured.conductor_mass_kg,
            ] {
                let reading = reading.as_mut().unwrap();
                reading.value += random.normal(reading.standard_uncertainty);
            }
            let found = identify_among(&measured, &wires).unwrap();
            let best = found.turns[0];
            claimed += best.probability;
            variance += best.probability * (1.0 - best.probability);
            hits += f64::from(u8::from(f64::from(best.turns) == turns));
        }
        assert!(claimed / PAIRS as f64 > 0.2, "a claim worth testing: {claimed}");
        assert!((hits - claimed).abs() < 3.0 * variance.sqrt(), "{hits} hits for {claimed} claimed");
    }

    #[test]
    fn the_measurement_that_would_settle_it_is_the_one_that_does() {
        let wire = stock().into_iter().find(|wire| wire.name.as_deref() == Some("0.95 mm grade 2")).unwrap();
        let truth = bench(160.0, &wire);
        // The resistance alone: turns and wire go together.
        let mut little = measured(&truth, [0.002, 0.003, 0.005, 0.003, 0.003]);
        (little.field_tesla_per_ampere, little.inductance_henry) = (None, None);
        (little.conductor_mass_kg, little.overall_wire_diameter_m) = (None, None);
        let before = identify(&little).unwrap();
        let advised = &before.next_measurements[0];
        assert!(advised.expected_bits > 1.0, "{:?}", before.next_measurements);
        let mut more = little.clone();
        more.field_tesla_per_ampere =
            measured(&truth, [0.002, 0.003, 0.005, 0.003, 0.003]).field_tesla_per_ampere;
        let after = identify(&more).unwrap();
        assert!(after.turns[0].probability > 2.0 * before.turns[0].probability);
    }

    #[test]
    fn what_is_missing_is_asked_for_or_taken_and_said() {
        let of = |text: &str| identify(&measured_from_text("pair.json", text).unwrap());
        let nothing = of(r#"{ "title": "Nothing" }"#).unwrap_err();
        assert!(nothing.hint().unwrap().contains("inner_diameter"), "{nothing}");
        let size = r#""inner_diameter": { "value": "292 mm", "uncertainty": "1 mm" }"#;
        let no_turns = of(&format!(r#"{{ "title": "Size", {size} }}"#)).unwrap_err();
        assert!(no_turns.to_string().contains("tells the turns"), "{no_turns}");
        let found = of(&format!(
            r#"{{ "title": "Little", {size}, "resistance": {{ "value": "7.4 ohm", "uncertainty": "0.04 ohm" }} }}"#
        ))
        .unwrap();
        assert_eq!(found.assumed.len(), 4, "{:?}", found.assumed);
    }
}
