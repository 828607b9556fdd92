//! The class's runs reduced, as text and as a table.

use super::{RoomSource, RunUncertainty, Weighing};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::orbit::words::notes;
use crate::questions::words::phrases::volts;
use crate::questions::words::phrases::{model_sentence, percent_of, signed_percent};
use crate::units::{Dimension, display, fixed, length, number_of_six, rounded, scientific, unit};

/// The page for people.
pub fn text(weighing: &Weighing) -> String {
    let mut page = Page::new(&weighing.provenance.spec_title, &weighing.provenance.to_string());
    page.paragraph(model_sentence(weighing.model));
    result(&mut page, weighing);
    uncertainty(&mut page, weighing);
    page.section("Runs");
    page.block(&runs_table(weighing));
    page.block("\n");
    page.paragraph(
        "B: effective field of the circle with the room's. e/m in 1e11 C/kg: of the run alone, ± what belongs to this \
         run; by hand: 2 V/(k I r)². v in 1e6 m/s, p in 1e-24 kg m/s. res.: residual of the radius in standard \
         uncertainties.",
    );
    if !weighing.findings.is_empty() {
        page.section("What stands out");
        page.list(weighing.findings.iter().map(|finding| finding.sentence.as_str()));
    }
    notes(&mut page, &weighing.notes);
    page.into_text()
}

fn result(page: &mut Page, weighing: &Weighing) {
    let q = weighing.charge_to_mass_coulomb_per_kg;
    page.section("Result");
    page.row("e/m", &powers(q, weighing.charge_to_mass_standard_uncertainty_coulomb_per_kg, 11, "C/kg"));
    page.row(
        "  accepted (CODATA 2022)",
        &format!("{} C/kg", scientific(weighing.accepted_charge_to_mass_coulomb_per_kg, 7)),
    );
    let mut difference = signed_percent(weighing.difference_fraction);
    if let Some(apart) = weighing.difference_in_standard_uncertainties {
        difference += &format!(", {:.1} standard uncertainties", apart.abs());
    }
    page.row("  difference", &difference);
    page.row(
        "mass of the electron, e known",
        &powers(weighing.electron_mass_kg, weighing.electron_mass_standard_uncertainty_kg, -31, "kg"),
    );
    page.row(
        "  accepted (CODATA 2022)",
        &format!("{} kg", scientific(weighing.accepted_electron_mass_kg, 7)),
    );
    if let Some(by_hand) = weighing.centre_field_charge_to_mass_coulomb_per_kg {
        page.row(
            "e/m with k I alone",
            &format!(
                "{} C/kg, {} off",
                scientific(by_hand, 5),
                signed_percent(by_hand / weighing.accepted_charge_to_mass_coulomb_per_kg - 1.0)
            ),
        );
    }
    page.row(
        "field constant",
        &format!(
            "{} ({})",
            match weighing.line.slope_standard_uncertainty_tesla_per_ampere {
                Some(u) => crate::units::uncertain(weighing.line.slope_tesla_per_ampere, u, Dimension::FieldConstant),
                None => display(weighing.line.slope_tesla_per_ampere, Dimension::FieldConstant, 5),
            },
            weighing.line.origin()
        ),
    );
    page.row("room field along the axis", &room(weighing));
    if weighing.scale_magnification != 1.0 {
        page.row("radii divided by, for parallax", &format!("{:.4}", weighing.scale_magnification));
    }
}

fn room(weighing: &Weighing) -> String {
    let axial = weighing.room_axial_tesla;
    let microtesla = fixed(axial, unit::MICROTESLA, 1);
    match weighing.room_source {
        RoomSource::Runs => {
            let value = match weighing.room_axial_standard_uncertainty_tesla {
                Some(u) => crate::units::uncertain(axial, u, Dimension::FluxDensity),
                None => microtesla,
            };
            let spec = weighing
                .spec_room_axial_tesla
                .map(|spec| format!("; the spec says {}", fixed(spec, unit::MICROTESLA, 1)));
            format!("{value}, fitted with e/m{}", spec.unwrap_or_default())
        }
        RoomSource::Spec => format!("{microtesla}, from the spec"),
        RoomSource::Calibration => format!("{microtesla}, from the calibration"),
        RoomSource::Unknown => "not known; taken as none".into(),
    }
}

fn uncertainty(page: &mut Page, weighing: &Weighing) {
    let q = weighing.charge_to_mass_coulomb_per_kg;
    let percent = |u: f64| percent_of(u / q, 2);
    page.section("Uncertainty (standard, of e/m)");
    let from = match weighing.run_uncertainty {
        RunUncertainty::Stated => "from the runs, as stated",
        RunUncertainty::Scatter => "from the runs' scatter",
    };
    page.row(from, &weighing.run_standard_uncertainty_coulomb_per_kg.map_or("not known".into(), percent));
    let shared = weighing.shared_standard_uncertainty_coulomb_per_kg;
    page.row("shared by all runs", &if shared > 0.0 { percent(shared) } else { "nothing stated".into() });
    for part in &weighing.shared {
        page.row(&format!("  {}", part.source), &percent(part.contribution_coulomb_per_kg));
    }
    if let Some(chi_square) = weighing.chi_square {
        let probability = match weighing.chi_square_probability {
            Some(probability) => format!(", probability {probability:.2}"),
            None => String::new(),
        };
        page.row(
            "chi-square",
            &format!(
                "{} with {} degrees of freedom{probability}",
                number_of_six(chi_square, 2),
                weighing.degrees_of_freedom
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
                run.line.to_string(),
                volts(run.gun_voltage_volt),
                fixed(run.current_ampere, unit::AMPERE, 3),
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
            "line",
            "V",
            "I",
            "radius",
            "B",
            "e/m, 1e11 C/kg",
            "by hand",
            "1e6 m/s",
            "1e-24 kg m/s",
            "res.",
            "",
        ],
        &[10],
        &rows,
    )
}

/// A value with its uncertainty to two digits, both over one power of ten: `(1.761 ± 0.023)e11 C/kg`.
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
pub fn runs_csv(weighing: &Weighing, format: NumberFormat) -> String {
    let heading = [
        "line",
        "label",
        "gun_voltage_volt",
        "beam_voltage_volt",
        "current_ampere",
        "radius_m",
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
            run.line.to_string(),
            format.text(run.label.as_deref().unwrap_or_default()),
            number(run.gun_voltage_volt),
            number(run.beam_voltage_volt),
            number(run.current_ampere),
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
