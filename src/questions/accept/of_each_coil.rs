//! Turns of each coil from all readings together: do the readings fit the spec's turns, or a whole turn more or fewer on
//! one coil better?
//!
//! Each reading departs from the spec by
//!
//! y = sum over the coils of t n + sum over the rest of c p + e,
//!
//! with n the turns that a coil has more than the spec's, t the relative change of the reading with one turn, p what else
//! may differ (radii, spacing, wire, resistivity, models), each within its own standard uncertainty, and e the error of
//! the reading. The covariance of y for given n is V = diag(u²) + C diag(u_p²) Cᵀ, and χ²(n) = (y − T n)ᵀ V⁻¹ (y − T n). The
//! radii come from the diameters and cancel in the ratio of the coils' resistances; one wire for both coils leaves their
//! turns there. Wound from several reels they have wires of their own. The fields give the sum.

use crate::files::spec::{Measured, WoundFrom};
use crate::pair::{Bench, Coil, circuit};
use crate::physics::build_error::CoilName;
use crate::physics::field::Assembly;
use crate::questions::check::{CoilQuantity, Quantity, QuantityCheck, SectionQuantity, Subject};
use nalgebra::{DMatrix, DVector, Matrix2, Vector2, Vector3};
use serde::Serialize;

/// Largest number of turns more or fewer that is tried on each coil.
const FARTHEST: i32 = 3;
/// The spec's turns are in doubt if its χ² exceeds that of other turns by this: those then make the readings e times as
/// probable. `benches/judgement` counts how often that passes a coil that is a turn short.
const IN_DOUBT: f64 = 2.0;
/// Turns with a larger standard uncertainty are not told.
const TOLD_BELOW: f64 = 1.0;

/// What else may differ, by its place in [`Row::rest`].
const RADIUS: [usize; 2] = [0, 1];
const SPACING: usize = 2;
const WIRE: usize = 3;
const WIRE_OF_ONE: [usize; 2] = [4, 5];
const RESISTIVITY: usize = 6;
const FIELD_MODEL: usize = 7;
const INDUCTANCE_MODEL: usize = 8;
const ORIGIN: usize = 9;
const REST: usize = 10;

/// Relative standard uncertainty of the wire's area in the order: bare diameter within ±1 % (IEC 60317-0-1), rectangular.
const OF_WIRE: f64 = 0.02 / 1.732_050_807_568_877_2;
/// The same of one coil against the other: both are wound from one reel (common practice, no source).
const OF_WIRE_OF_ONE: f64 = 0.001;
/// Of the resistivity, which both coils share, with the free ends.
const OF_RESISTIVITY: f64 = 0.006;
/// Of a computed field: layers that are not full, and the model itself (common practice, no source).
const OF_FIELD_MODEL: f64 = 1e-3;
/// Of a computed inductance, shared by both coils, and of one coil against the other (common practice, no source).
const OF_INDUCTANCE_MODEL: f64 = 0.01;
const OF_INDUCTANCE_OF_ONE: f64 = 0.004;
/// Standard uncertainty of the middle from which places of fields are measured (common practice, no source).
const ORIGIN_M: f64 = 0.3e-3;
/// Standard uncertainty of the length of one coil's free ends, where no length is stated (common practice, no source).
const FREE_ENDS_M: f64 = 0.1;

/// Turns of each coil, coil a first.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TurnsOfEach {
    /// The spec's.
    pub spec: [f64; 2],
    /// Those that fit best, the spec's or whole turns more or fewer.
    pub best: [f64; 2],
    /// χ² of the spec's turns less that of the best.
    pub chi_square_of_spec_above_best: f64,
    /// Whether both coils count as wound from one reel.
    pub of_one_reel: bool,
    /// The turns as fitted, with their standard uncertainty; `None` if the readings do not tell the coils apart.
    pub fitted: Option<[MeasuredTurns; 2]>,
}

/// Turns with their standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeasuredTurns {
    /// The turns.
    pub turns: f64,
    /// Their standard uncertainty.
    pub standard_uncertainty: f64,
}

impl TurnsOfEach {
    /// Whether other turns fit clearly better than the spec's.
    pub(super) fn speak_against_the_spec(&self) -> bool {
        self.chi_square_of_spec_above_best > IN_DOUBT
    }
}

/// One reading beside the spec.
struct Row {
    /// Measured over expected, minus one.
    y: f64,
    /// Standard uncertainty of that.
    u: f64,
    /// Relative change with one turn more on coil a, on coil b.
    turns: [f64; 2],
    /// Change with everything else.
    rest: [f64; REST],
}

/// `None` if no reading depends on the turns.
pub(super) fn turns_of_each(
    bench: &Bench,
    measured: &Measured,
    quantities: &[QuantityCheck],
) -> Option<TurnsOfEach> {
    let connected = Bench { connection: measured.connection.unwrap_or(bench.connection), ..bench.clone() };
    let rows: Vec<Row> = quantities.iter().filter_map(|it| row(&connected, measured, it)).collect();
    if rows.iter().all(|row| row.turns == [0.0; 2]) {
        return None;
    }
    let of_one_reel = measured.wound_from == WoundFrom::OneReel;
    let fit = Fit::of(&connected, of_one_reel, &rows)?;
    let allowed = bench.tolerance_or_ordinary().turns.max(0.5);
    let (mut best, mut best_chi_square) = ([0.0; 2], fit.chi_square([0.0; 2]));
    let mut of_spec = best_chi_square;
    for more in (-FARTHEST..=FARTHEST).flat_map(|a| (-FARTHEST..=FARTHEST).map(move |b| [a, b])) {
        let more = more.map(f64::from);
        let chi_square = fit.chi_square(more);
        if more.iter().all(|it| it.abs() <= allowed) {
            of_spec = of_spec.min(chi_square);
        }
        // Rounding must not decide between turns that the readings cannot tell apart.
        if chi_square < best_chi_square - 1e-6 {
            (best, best_chi_square) = (more, chi_square);
        }
    }
    let spec = connected.coils().map(|coil| coil.turns);
    Some(TurnsOfEach {
        spec,
        best: [spec[0] + best[0], spec[1] + best[1]],
        chi_square_of_spec_above_best: (of_spec - best_chi_square).max(0.0),
        of_one_reel,
        fitted: fit.turns(spec),
    })
}

/// The readings, with the inverse of their covariance.
struct Fit {
    y: DVector<f64>,
    turns: DMatrix<f64>,
    weight: DMatrix<f64>,
}

impl Fit {
    fn of(bench: &Bench, of_one_reel: bool, rows: &[Row]) -> Option<Self> {
        let u = standard_uncertainties(bench, of_one_reel);
        let rest = DMatrix::from_fn(rows.len(), REST, |i, p| rows[i].rest[p] * u[p]);
        let own = DVector::from_fn(rows.len(), |i, _| rows[i].u.powi(2));
        let covariance = DMatrix::from_diagonal(&own) + &rest * rest.transpose();
        Some(Self {
            y: DVector::from_fn(rows.len(), |i, _| rows[i].y),
            turns: DMatrix::from_fn(rows.len(), 2, |i, coil| rows[i].turns[coil]),
            weight: covariance.cholesky()?.inverse(),
        })
    }

    fn chi_square(&self, more: [f64; 2]) -> f64 {
        let left = &self.y - &self.turns * DVector::from_row_slice(&more);
        left.dot(&(&self.weight * &left))
    }

    /// The turns by generalised least squares.
    fn turns(&self, spec: [f64; 2]) -> Option<[MeasuredTurns; 2]> {
        let of_turns = self.turns.transpose() * &self.weight;
        let normal = &of_turns * &self.turns;
        let right = of_turns * &self.y;
        let covariance =
            Matrix2::new(normal[(0, 0)], normal[(0, 1)], normal[(1, 0)], normal[(1, 1)]).try_inverse()?;
        let more = covariance * Vector2::new(right[0], right[1]);
        let fitted = [0, 1].map(|i| MeasuredTurns {
            turns: spec[i] + more[i],
            standard_uncertainty: covariance[(i, i)].max(0.0).sqrt(),
        });
        fitted.iter().all(|it| it.standard_uncertainty < TOLD_BELOW).then_some(fitted)
    }
}

/// Standard uncertainty of everything but the turns.
fn standard_uncertainties(bench: &Bench, of_one_reel: bool) -> [f64; REST] {
    let tolerance = bench.tolerance_or_ordinary();
    let of_length = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    let mut u = [0.0; REST];
    for (coil, place) in bench.coils().iter().zip(RADIUS) {
        u[place] = of_length(tolerance.mean_radius_m) / coil.mean_radius_m;
    }
    u[SPACING] = of_length(tolerance.spacing_m) / bench.spacing_m;
    // What the standard allows is shared by wire of one reel, and taken by each of several for itself.
    let (shared, of_one) = if of_one_reel { (OF_WIRE, OF_WIRE_OF_ONE) } else { (0.0, OF_WIRE) };
    u[WIRE] = shared;
    WIRE_OF_ONE.into_iter().for_each(|place| u[place] = of_one);
    u[RESISTIVITY] = OF_RESISTIVITY;
    u[FIELD_MODEL] = OF_FIELD_MODEL;
    u[INDUCTANCE_MODEL] = OF_INDUCTANCE_MODEL;
    u[ORIGIN] = ORIGIN_M;
    u
}

/// A quantity as a row; `None` if it tells nothing of turns, radii or spacing. The resistance of the pair is left out: it may
/// hold leads, and tells nothing that the coils' own do not.
fn row(bench: &Bench, measured: &Measured, quantity: &QuantityCheck) -> Option<Row> {
    let expected = quantity.expected.filter(|it| *it != 0.0)?;
    let (mut turns, mut rest) = (Vec::new(), Vec::new());
    let mut own = 0.0;
    let coils = bench.coils();
    let place = |name: CoilName| usize::from(name == CoilName::B);
    match quantity.subject {
        Subject::Coil(name, of_coil) => {
            let i = place(name);
            let [power, of_rest] = match of_coil {
                CoilQuantity::Turns => [1.0, 0.0],
                CoilQuantity::ResistanceOhm => {
                    rest.extend([(WIRE, -1.0), (WIRE_OF_ONE[i], -1.0), (RESISTIVITY, 1.0)]);
                    if measured.coils[i].free_ends_m.is_none() {
                        own = FREE_ENDS_M / circuit::wire_length_m(&bench.winding, &coils[i]);
                    }
                    [1.0, 1.0]
                }
                CoilQuantity::ConductorMassKg => {
                    rest.extend([(WIRE, 1.0), (WIRE_OF_ONE[i], 1.0)]);
                    [1.0, 1.0]
                }
                CoilQuantity::InductanceHenry => {
                    rest.push((INDUCTANCE_MODEL, 1.0));
                    own = OF_INDUCTANCE_OF_ONE;
                    [2.0, 1.5]
                }
                _ => return None,
            };
            turns.push((i, power / coils[i].turns));
            rest.push((RADIUS[i], of_rest));
        }
        Subject::Section(Some(name), SectionQuantity::MeanRadiusM) => rest.push((RADIUS[place(name)], 1.0)),
        Subject::Section(None, SectionQuantity::MeanRadiusM) => {
            rest.extend(RADIUS.map(|radius| (radius, 0.5)));
        }
        Subject::Pair(Quantity::SpacingM) => rest.push((SPACING, 1.0)),
        Subject::Pair(Quantity::ConductorMassKg) => {
            turns.extend([0, 1].map(|i| (i, 0.5 / coils[i].turns)));
            rest.extend(RADIUS.map(|radius| (radius, 0.5)));
            rest.push((WIRE, 1.0));
            rest.extend(WIRE_OF_ONE.map(|wire| (wire, 0.5)));
        }
        Subject::Pair(Quantity::FieldTeslaPerAmpere) => of_field(bench, [0.0; 3], &mut turns, &mut rest),
        Subject::Field { at_m, .. } => of_field(bench, at_m, &mut turns, &mut rest),
        _ => return None,
    }
    let mut row = Row {
        y: quantity.value / expected - 1.0,
        u: (quantity.standard_uncertainty / expected).hypot(own).max(1e-6),
        turns: [0.0; 2],
        rest: [0.0; REST],
    };
    turns.iter().for_each(|(i, by)| row.turns[*i] += by);
    rest.iter().for_each(|(i, by)| row.rest[*i] += by);
    row.y.is_finite().then_some(row)
}

/// The relative changes of the field along the axis at a point, by differences.
fn of_field(bench: &Bench, at_m: [f64; 3], turns: &mut Vec<(usize, f64)>, rest: &mut Vec<(usize, f64)>) {
    /// Relative step of a difference.
    const STEP: f64 = 1e-4;
    let field = |bench: &Bench, at_m: [f64; 3]| Assembly::of(bench).field_per_ampere(&Vector3::from(at_m)).z;
    let nominal = field(bench, at_m);
    let relative = |changed: f64| (changed / nominal - 1.0) / STEP;
    let with = |i: usize, change: &dyn Fn(&mut Coil)| {
        let mut changed = bench.clone();
        let mut coils = bench.coils();
        change(&mut coils[i]);
        changed.set_coils(coils);
        relative(field(&changed, at_m))
    };
    for (i, radius) in RADIUS.into_iter().enumerate() {
        turns.push((i, with(i, &|coil| coil.turns *= 1.0 + STEP) / bench.coils()[i].turns));
        rest.push((radius, with(i, &|coil| coil.mean_radius_m *= 1.0 + STEP)));
    }
    let wider = Bench { spacing_m: bench.spacing_m * (1.0 + STEP), ..bench.clone() };
    rest.push((SPACING, relative(field(&wider, at_m))));
    rest.push((FIELD_MODEL, 1.0));
    if at_m != [0.0; 3] {
        let farther = [at_m[0], at_m[1], at_m[2] + STEP];
        rest.push((ORIGIN, relative(field(bench, farther))));
    }
}
