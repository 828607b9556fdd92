//! The reduced runs as text and as a table.

mod sentences;

use super::{Evaluation, Finding, RoomSource, RunUncertainty, Weighing};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::orbit::words::notes;
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{
    line_origin, model_sentence, percent_of, probability, signed_percent, volts,
};
use crate::units::{
    Dimension, display, fixed, length, number_of_six, rounded, scientific, unit, value_and_uncertainty,
};
use sentences as words;
use serde::Serialize;

/// The page for people.
pub fn text(weighing: &Weighing) -> String {
    let mut page = Page::new(&weighing.provenance.spec_title, &on_page(&weighing.provenance));
    page.paragraph(model_sentence(weighing.model));
    page.paragraph(&words::radii(weighing));
    if !weighing.left_out.is_empty() {
        page.paragraph(&format!("Left out on request: {}.", weighing.left_out.join(", ")));
    }
    result(&mut page, weighing);
    uncertainty(&mut page, weighing);
    page.section("Runs");
    page.block(&runs_table(weighing));
    page.block("\n");
    page.paragraph(
        "run: its label; line: in the file; read: the radius as written; radius: in the beam plane; B: effective field of \
         the circle with the room's. e/m in 1e11 C/kg: of the run alone, ± the standard uncertainty of what belongs to this \
         run; by hand: 2 V/(k I r)². v in 1e6 m/s, p in 1e-24 kg m/s. res.: residual of the radius in standard \
         uncertainties.",
    );
    page.section("What stands out");
    page.paragraph(&words::conclusion(weighing));
    let sentences: Vec<String> =
        weighing.findings.iter().map(|finding| words::sentence(finding, weighing)).collect();
    page.list(sentences.iter().map(String::as_str));
    notes(&mut page, &told(&weighing.notes), &weighing.safety);
    page.into_text()
}

/// The record as one JSON document, each finding with its sentence.
#[derive(Debug, Serialize)]
#[non_exhaustive]
pub struct Document<'a> {
    #[serde(flatten)]
    weighing: &'a Weighing,
    findings: Vec<Told<'a>>,
}

#[derive(Debug, Serialize)]
struct Told<'a> {
    #[serde(flatten)]
    finding: &'a Finding,
    sentence: String,
}

/// The record with the sentences of its findings.
pub fn document(weighing: &Weighing) -> Document<'_> {
    let told = |finding| Told { finding, sentence: words::sentence(finding, weighing) };
    Document { weighing, findings: weighing.findings.iter().map(told).collect() }
}

fn result(page: &mut Page, weighing: &Weighing) {
    let mut outcomes = vec![&weighing.outcome];
    outcomes.extend(weighing.without_suspects.as_ref());
    page.section("Result");
    if outcomes.len() > 1 {
        let suspects: Vec<String> =
            weighing.runs.iter().filter(|run| run.stands_out).map(|run| run.name()).collect();
        page.row("", &format!("all {} runs | without {}", weighing.runs.len(), suspects.join(", ")));
    }
    let beside = |value: &dyn Fn(&Evaluation) -> String| -> String {
        outcomes.iter().map(|outcome| value(outcome)).collect::<Vec<_>>().join(" | ")
    };
    page.row(
        "e/m, standard uncertainty",
        &beside(&|outcome| {
            let u = outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg;
            powers(outcome.charge_to_mass_coulomb_per_kg, u, 11, "C/kg")
        }),
    );
    let accepted = &weighing.outcome;
    page.row(
        "  accepted (CODATA 2022)",
        &format!("{} C/kg", scientific(accepted.accepted_charge_to_mass_coulomb_per_kg, 7)),
    );
    page.row("  difference", &beside(&difference));
    page.row(
        "electron's mass, standard unc.",
        &beside(&|outcome| {
            powers(outcome.electron_mass_kg, outcome.electron_mass_standard_uncertainty_kg, -31, "kg")
        }),
    );
    page.row(
        "  accepted (CODATA 2022)",
        &format!("{} kg", scientific(accepted.accepted_electron_mass_kg, 7)),
    );
    if accepted.centre_field_charge_to_mass_coulomb_per_kg.is_some() {
        page.row("e/m with k I alone", &beside(&by_hand));
    }
    page.row("field constant, standard unc.", &field_constant(weighing));
    page.row("room field along the axis", &room(weighing));
}

fn difference(outcome: &Evaluation) -> String {
    let apart = outcome
        .difference_in_standard_uncertainties
        .map(|apart| format!(", {:.1} standard uncertainties", apart.abs()));
    signed_percent(outcome.difference_fraction) + &apart.unwrap_or_default()
}

fn by_hand(outcome: &Evaluation) -> String {
    let found = outcome.centre_field_charge_to_mass_coulomb_per_kg;
    match found.zip(outcome.centre_field_difference_fraction()) {
        Some((by_hand, off)) => format!("{} C/kg, {} off", scientific(by_hand, 5), signed_percent(off)),
        None => "none".into(),
    }
}

fn field_constant(weighing: &Weighing) -> String {
    let slope = weighing.line.slope.tesla_per_ampere;
    let value = match weighing.line.slope.standard_uncertainty() {
        Some(u) => crate::units::uncertain(slope, u, Dimension::FieldConstant),
        None => display(slope, Dimension::FieldConstant, 5),
    };
    format!("{value} ({})", line_origin(&weighing.line))
}

fn room(weighing: &Weighing) -> String {
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    let microtesla = |tesla: f64| fixed(tesla, unit::MICROTESLA, 1);
    let with_uncertainty = |tesla: f64, u: Option<f64>| match u {
        Some(u) => {
            let (value, u) = value_and_uncertainty(tesla, u, Dimension::FluxDensity);
            format!("{value}, standard uncertainty {u}")
        }
        None => microtesla(tesla),
    };
    let value = with_uncertainty(outcome.room_axial_tesla, outcome.room_axial_standard_uncertainty_tesla);
    match outcome.room_source {
        RoomSource::Runs => {
            let spec = weighing.spec_room_axial_tesla.map(|spec| {
                let u = weighing.stated_room_standard_uncertainty_tesla;
                format!("; the spec says {}", with_uncertainty(spec, u))
            });
            format!("{value}, fitted with e/m{}", spec.unwrap_or_default())
        }
        RoomSource::Spec => format!("{value}, from the spec"),
        RoomSource::Calibration => format!("{value}, from the calibration"),
        RoomSource::Unknown => {
            let u = outcome.room_axial_standard_uncertainty_tesla.map(microtesla).unwrap_or_default();
            format!("not known; taken as none, standard uncertainty {u}")
        }
    }
}

fn uncertainty(page: &mut Page, weighing: &Weighing) {
    let outcome = weighing.without_suspects.as_ref().unwrap_or(&weighing.outcome);
    let q = outcome.charge_to_mass_coulomb_per_kg;
    let percent = |u: f64| percent_of(u / q, 2);
    page.section(match weighing.without_suspects {
        Some(_) => "Uncertainty (standard, of e/m without what stands out)",
        None => "Uncertainty (standard, of e/m)",
    });
    let from = match weighing.run_uncertainty {
        RunUncertainty::Stated if outcome.scatter_factor > 1.0 => "from the runs, by their scatter",
        RunUncertainty::Stated => "from the runs, as stated",
        RunUncertainty::Scatter => "from the runs' scatter",
    };
    page.row(from, &outcome.run_standard_uncertainty_coulomb_per_kg.map_or("not known".into(), percent));
    let shared = outcome.shared_standard_uncertainty_coulomb_per_kg;
    page.row("shared by all runs", &if shared > 0.0 { percent(shared) } else { "nothing stated".into() });
    for part in &outcome.shared {
        page.row(&format!("  {}", part.source), &percent(part.contribution_coulomb_per_kg));
    }
    if let Some(chi_square) = outcome.chi_square {
        let probability = match outcome.chi_square_probability {
            Some(p) => format!(", probability {}", probability(p)),
            None => String::new(),
        };
        page.row(
            "chi-square",
            &format!(
                "{} with {} degrees of freedom{probability}",
                number_of_six(chi_square, 2),
                outcome.degrees_of_freedom
            ),
        );
    }
}

fn runs_table(weighing: &Weighing) -> String {
    let rows: Vec<Vec<String>> = weighing
        .runs
        .iter()
        .map(|run| {
            let own = match run.charge_to_mass_standard_uncertainty_coulomb_per_kg {
                Some(u) => {
                    let (value, u) = rounded(run.charge_to_mass_coulomb_per_kg * 1e-11, u * 1e-11);
                    format!("{value} ± {u}")
                }
                None => number_of_six(run.charge_to_mass_coulomb_per_kg * 1e-11, 3),
            };
            vec![
                run.label.clone().unwrap_or_default(),
                run.line.to_string(),
                volts(run.gun_voltage_volt),
                fixed(run.current_ampere, unit::AMPERE, 3),
                length(run.read_radius_m, 1),
                length(run.radius_m, 1),
                fixed(run.field_tesla, unit::MILLITESLA, 4),
                own,
                number_of_six(run.centre_field_charge_to_mass_coulomb_per_kg * 1e-11, 3),
                number_of_six(run.speed_m_per_s * 1e-6, 2),
                number_of_six(run.momentum_kg_m_per_s * 1e24, 3),
                run.weighted_residual.map_or("-".into(), |residual| format!("{residual:+.1}")),
                if run.stands_out { "stands out".into() } else { String::new() },
            ]
        })
        .collect();
    columns(
        &[
            "run",
            "line",
            "V",
            "I",
            "read",
            "radius",
            "B",
            "e/m, 1e11 C/kg",
            "by hand",
            "1e6 m/s",
            "1e-24 kg m/s",
            "res.",
            "",
        ],
        &[0, 12],
        &rows,
    )
}

/// A value with its uncertainty to two digits, with a common power of ten: `(1.761 ± 0.023)e11 C/kg`.
fn powers(value: f64, uncertainty: Option<f64>, power: i32, symbol: &str) -> String {
    let scale = 10f64.powi(power);
    match uncertainty.filter(|u| u.is_finite() && *u > 0.0) {
        None => format!("{} {symbol}", scientific(value, 5)),
        Some(u) => {
            let (value, u) = rounded(value / scale, u / scale);
            format!("({value} ± {u})e{power} {symbol}")
        }
    }
}

/// The runs as CSV.
pub(crate) fn runs_csv(weighing: &Weighing, format: NumberFormat) -> String {
    let heading = [
        "label",
        "line",
        "gun_voltage_volt",
        "beam_voltage_volt",
        "current_ampere",
        "radius_as_written_m",
        "radius_in_beam_plane_m",
        "effective_field_ratio",
        "field_tesla",
        "charge_to_mass_coulomb_per_kg",
        "charge_to_mass_standard_uncertainty_coulomb_per_kg",
        "centre_field_charge_to_mass_coulomb_per_kg",
        "speed_m_per_s",
        "weighted_residual",
        "stands_out",
    ];
    let mut file = TableFile::new(format, &[weighing.provenance.to_string()], &heading);
    for run in &weighing.runs {
        let number = |value: f64| format.number(Some(value));
        file.row(&[
            format.text(run.label.as_deref().unwrap_or_default()),
            run.line.to_string(),
            number(run.gun_voltage_volt),
            number(run.beam_voltage_volt),
            number(run.current_ampere),
            number(run.read_radius_m),
            number(run.radius_m),
            number(run.effective_field_ratio),
            number(run.field_tesla),
            number(run.charge_to_mass_coulomb_per_kg),
            format.number(run.charge_to_mass_standard_uncertainty_coulomb_per_kg),
            number(run.centre_field_charge_to_mass_coulomb_per_kg),
            number(run.speed_m_per_s),
            format.number(run.weighted_residual),
            if run.stands_out { "yes" } else { "no" }.into(),
        ]);
    }
    file.into_text()
}
