//! The class's runs: e/m of each with the accepted value, and the straight line of voltage against (B r)².

use super::{RunResult, Weighing};
use crate::paper::palette::INK;
use crate::paper::{Axis, Chart, Figure, Measured, Stroke, panels};
use crate::units::unit;

/// Both charts on one sheet.
pub fn figure(weighing: &Weighing) -> Figure {
    panels(
        "e/m from the class's runs",
        &[&charge_to_mass(weighing), &straight_line(weighing)],
        1,
        &weighing.provenance.to_string(),
    )
}

/// e/m run by run, with bars of each run's own standard uncertainty. Runs found misread are named and drawn
/// differently.
fn charge_to_mass(weighing: &Weighing) -> Chart {
    // The axis counts in 1e11 C/kg; the chart's own unit has no such name.
    const SCALE: f64 = 1e-11;
    // Free space at the right for the name of the accepted line.
    let count = weighing.runs.len() as f64;
    let span = [0.5, 1.12 * count + 0.5];
    let mut chart = Chart::new(
        "Run by run, in the order of the file",
        Axis::new(numbering(weighing), unit::ONE).over(span),
        Axis::new("e/m in 10¹¹ C/kg", unit::ONE),
    );
    // If a run was found misread, the result is that without it.
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    let q = SCALE * outcome.charge_to_mass_coulomb_per_kg;
    if let Some(u) = outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg {
        let u = SCALE * u;
        let what = match weighing.without_suspects {
            Some(_) => "the others together, ± standard uncertainty",
            None => "all runs together, ± standard uncertainty",
        };
        chart.band(what, span.map(|x| [x, q - u, q + u]));
    }
    chart.curve_drawn("", span.map(|x| [x, q]), Stroke::solid(INK, 1.4));
    let measured = |i: usize, run: &RunResult| Measured {
        y_bar: SCALE * run.charge_to_mass_standard_uncertainty_coulomb_per_kg.unwrap_or(0.0),
        ..Measured::at(i as f64 + 1.0, SCALE * run.charge_to_mass_coulomb_per_kg)
    };
    let those = |wanted: &dyn Fn(&RunResult) -> bool| -> Vec<Measured> {
        let runs = weighing.runs.iter().enumerate().filter(|(_, run)| wanted(run));
        runs.map(|(i, run)| measured(i, run)).collect()
    };
    for (label, negative) in [("current positive", false), ("current negative", true)] {
        let points = those(&|run| (run.current_ampere < 0.0) == negative && !run.stands_out);
        if !points.is_empty() {
            chart.points(label, points);
        }
    }
    let suspects: Vec<String> =
        weighing.runs.iter().filter(|run| run.stands_out).map(|run| run.name()).collect();
    if !suspects.is_empty() {
        chart.points(format!("stands out: {}", suspects.join(", ")), those(&|run| run.stands_out));
    }
    chart.level("accepted", SCALE * outcome.accepted_charge_to_mass_coulomb_per_kg);
    chart
}

/// The label of the axis: the runs in order, the first and the last by name.
fn numbering(weighing: &Weighing) -> String {
    match &weighing.runs[..] {
        [] => "run".into(),
        [one] => format!("run ({})", one.name()),
        [first, .., last] => format!("run (1: {}, {}: {})", first.name(), weighing.runs.len(), last.name()),
    }
}

/// V against (B r)²: its slope is half of e/m.
fn straight_line(weighing: &Weighing) -> Chart {
    // The axis counts in (mT mm)²; the chart's own units have no square of a product.
    const SCALE: f64 = 1e12;
    let mut chart = Chart::new(
        "Voltage against (B r)²: the slope is half of e/m",
        Axis::new("(B r)² in (mT mm)²", unit::ONE).from_zero(),
        Axis::new("voltage at the beam", unit::VOLT).from_zero(),
    );
    let largest = weighing.runs.iter().map(|run| run.field_radius_squared_tesla2_m2).fold(0.0, f64::max);
    let end = |q: f64| [[0.0, 0.0], [SCALE * largest, 0.5 * q * largest]];
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    chart.curve(
        if weighing.without_suspects.is_some() { "the others together" } else { "all runs together" },
        end(outcome.charge_to_mass_coulomb_per_kg),
    );
    chart.curve("accepted", end(outcome.accepted_charge_to_mass_coulomb_per_kg));
    for (label, wanted) in [("runs", false), ("stands out", true)] {
        let points: Vec<Measured> = weighing
            .runs
            .iter()
            .filter(|run| run.stands_out == wanted)
            .map(|run| {
                let relative = run.charge_to_mass_standard_uncertainty_coulomb_per_kg.unwrap_or(0.0)
                    / run.charge_to_mass_coulomb_per_kg;
                let x = SCALE * run.field_radius_squared_tesla2_m2;
                Measured { x_bar: relative * x, ..Measured::at(x, run.beam_voltage_volt) }
            })
            .collect();
        if !points.is_empty() {
            chart.points(label, points);
        }
    }
    chart
}
