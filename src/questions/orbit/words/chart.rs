//! The chart, the bias table and the printed scale in words: as text and as CSV.

use super::{line_row, notes, volts};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::pair::BeamEdge;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::orbit::{BiasTable, ChartPoint, RadiusChart, ReadingScale, ScaleCircle};
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{model_sentence, percent_of, signed_percent};
use crate::units::{fixed, length, unit};

/// The chart as a text page.
pub fn chart_text(chart: &RadiusChart) -> String {
    let mut page = Page::new(&chart.provenance.spec_title, &on_page(&chart.provenance));
    page.paragraph(model_sentence(chart.model));
    page.section("Beam radius in mm against current");
    let [low, high] = chart.allowed_radius_m;
    page.paragraph(&format!(
        "Radii outside the tube's {} to {} stand in brackets; a dash is a beam that strikes the glass before it is \
         opposite the gun. The largest circle that fits the bulb has a radius of {}.",
        length(low, 1),
        length(high, 1),
        length(chart.largest_radius_in_bulb_m, 1)
    ));
    if chart.scale_magnification != 1.0 {
        page.paragraph(&format!(
            "Two radii for each setting: in the beam plane, and as read on the scale, where a length looks {:.4} times as \
             long.",
            chart.scale_magnification
        ));
    }
    line_row(&mut page, &chart.line);
    page.block("\n");
    page.block(&chart_table(chart));
    notes(&mut page, &told(&chart.notes), &chart.safety);
    page.into_text()
}

fn chart_table(chart: &RadiusChart) -> String {
    let headings: Vec<String> = chart.curves.iter().map(|curve| volts(curve.gun_voltage_volt)).collect();
    let mut names = vec!["current"];
    names.extend(headings.iter().map(String::as_str));
    let rows: Vec<Vec<String>> = tabulated(chart)
        .map(|(i, point)| {
            let mut row = vec![fixed(point.current_ampere, unit::AMPERE, 2)];
            row.extend(
                chart.curves.iter().map(|curve| radius_cell(&curve.points[i], chart.scale_magnification)),
            );
            row
        })
        .collect();
    columns(&names, &[], &rows)
}

/// The points of the chart that are rows of the table, each with its index.
fn tabulated(chart: &RadiusChart) -> impl Iterator<Item = (usize, &ChartPoint)> {
    let points = chart.curves.first().map_or(&[][..], |curve| &curve.points);
    points.iter().enumerate().filter(|(_, point)| {
        let steps = point.current_ampere / chart.table_step_ampere;
        (steps - steps.round()).abs() < 1e-6
    })
}

/// The radius in the beam plane in mm, followed by the radius on the scale if that differs: `36.1, 36.7`.
fn radius_cell(point: &ChartPoint, magnification: f64) -> String {
    let Some(radius_m) = point.read_radius_m else { return "-".into() };
    let millimetres = |length_m: f64| length(length_m, 1).trim_end_matches(" mm").to_owned();
    let text = if magnification == 1.0 {
        millimetres(radius_m)
    } else {
        format!("{}, {}", millimetres(radius_m), millimetres(radius_m * magnification))
    };
    if point.allowed { text } else { format!("({text})") }
}

/// Every point of the chart as CSV. The radius is empty if the beam does not come round.
pub(crate) fn chart_csv(chart: &RadiusChart, format: NumberFormat) -> String {
    let heading = ["gun_voltage_volt", "current_ampere", "read_radius_m", "textbook_radius_m", "allowed"];
    let mut file = TableFile::new(format, &[chart.provenance.to_string()], &heading);
    for curve in &chart.curves {
        for point in &curve.points {
            let numbers = [
                Some(curve.gun_voltage_volt),
                Some(point.current_ampere),
                point.read_radius_m,
                Some(point.textbook_radius_m),
            ];
            file.exact_and_text(numbers, if point.allowed { "yes" } else { "no" });
        }
    }
    file.into_text()
}

/// The bias table as a text page, headed by the bias in one sentence.
pub fn bias_text(table: &BiasTable) -> String {
    let mut page = Page::new(&table.provenance.spec_title, &on_page(&table.provenance));
    page.paragraph(model_sentence(table.model));
    page.section("What a perfect reader gets for e/m on this bench");
    page.paragraph(&bias_sentence(table));
    line_row(&mut page, &table.line);
    page.block("\n");
    let rows: Vec<Vec<String>> = table
        .rows
        .iter()
        .map(|row| {
            let mut cells = vec![
                volts(row.gun_voltage_volt),
                fixed(row.current_ampere, unit::AMPERE, 2),
                row.read_radius_m.map_or("strikes glass".into(), |radius| length(radius, 1)),
            ];
            let fraction = |value: Option<f64>| value.map_or("-".into(), signed_percent);
            let parts = row.bias.as_ref().map(|bias| bias.parts);
            cells.push(fraction(row.bias.as_ref().map(|bias| bias.bias_fraction)));
            cells
                .push(fraction(row.bias.as_ref().and_then(|bias| bias.with_beam_radius_correction_fraction)));
            cells.push(fraction(parts.map(|parts| parts.non_uniformity)));
            cells.push(fraction(parts.map(|parts| parts.room_field)));
            cells.push(fraction(parts.map(|parts| parts.gun())));
            cells.push(fraction(parts.map(|parts| parts.voltage_and_line())));
            cells.push(fraction(parts.map(|parts| parts.relativity)));
            cells.push(
                row.bias
                    .as_ref()
                    .map_or("-".into(), |bias| percent_of(bias.standard_uncertainty_fraction, 2)),
            );
            cells
        })
        .collect();
    page.block(&columns(
        &["V", "I", "radius", "k I", "k I ratio", "field", "room", "gun", "V, k", "rel.", "u"],
        &[],
        &rows,
    ));
    page.block("\n");
    page.paragraph(
        "radius: in the beam plane. k I: deviation of e/m from the accepted value when B = k I is used. k I ratio: with the \
         beam-radius correction. Then what makes it up: non-uniformity of the coil field, the room's field, the gun \
         off the beam plane or tilted, gun voltage offset and calibration line, relativity. u: standard uncertainty \
         from ammeter, voltmeter, voltage offset and line.",
    );
    notes(&mut page, &told(&table.notes), &table.safety);
    page.into_text()
}

/// The bench's bias in one sentence.
pub(crate) fn bias_sentence(table: &BiasTable) -> String {
    let Some([low, high]) = table.bias_range_fraction else {
        return "At none of these settings does the beam come round, so the bench gives no e/m.".into();
    };
    let between = |low: f64, high: f64| {
        let (low, high) = (signed_percent(low), signed_percent(high));
        if low == high { low } else { format!("{low} to {high}") }
    };
    let mut sentence = format!(
        "With the centre field constant a perfect reader gets e/m {} off the accepted value",
        between(low, high)
    );
    if let (Some(cause), Some(part)) = (table.main_cause, table.main_cause_fraction) {
        sentence += &format!(", most of it from {cause} (up to {})", signed_percent(part));
    }
    if let Some([low, high]) = table.corrected_bias_range_fraction {
        sentence += &format!("; with the beam-radius correction {} remains", between(low, high));
    }
    if let Some([low, high]) = table.standard_uncertainty_range_fraction
        && high > 0.0
    {
        let percent = |value| percent_of(value, 2);
        sentence +=
            &format!("; standard uncertainty from meters and line: {} to {}", percent(low), percent(high));
    }
    sentence + "."
}

/// The bias table as CSV.
pub(crate) fn bias_csv(table: &BiasTable, format: NumberFormat) -> String {
    let causes = table.rows.iter().find_map(|row| row.bias.as_ref()).map(|bias| bias.parts.named());
    let causes: Vec<String> = causes
        .iter()
        .flatten()
        .map(|(cause, _)| format!("{}_fraction", cause.replace([' ', '-'], "_")))
        .collect();
    let mut heading = vec![
        "gun_voltage_volt",
        "current_ampere",
        "read_radius_m",
        "apparent_charge_to_mass_coulomb_per_kg",
        "bias_fraction",
        "with_beam_radius_correction_fraction",
    ];
    heading.extend(causes.iter().map(String::as_str));
    heading.push("standard_uncertainty_fraction");
    let mut file = TableFile::new(format, &[table.provenance.to_string()], &heading);
    for row in &table.rows {
        let bias = row.bias.as_ref();
        let mut cells = vec![
            Some(row.gun_voltage_volt),
            Some(row.current_ampere),
            row.read_radius_m,
            bias.map(|bias| bias.apparent_charge_to_mass_coulomb_per_kg),
            bias.map(|bias| bias.bias_fraction),
            bias.and_then(|bias| bias.with_beam_radius_correction_fraction),
        ];
        cells.extend((0..causes.len()).map(|i| bias.map(|bias| bias.parts.named()[i].1)));
        cells.push(bias.map(|bias| bias.standard_uncertainty_fraction));
        file.exact(cells);
    }
    file.into_text()
}

/// The printed scale as a text page.
pub fn scale_text(scale: &ReadingScale) -> String {
    let mut page = Page::new(&scale.provenance.spec_title, &on_page(&scale.provenance));
    page.paragraph(model_sentence(scale.model));
    page.section("Circles on the scale");
    let rows: Vec<Vec<String>> = scale
        .circles
        .iter()
        .map(|circle| {
            vec![
                volts(circle.gun_voltage_volt),
                fixed(circle.current_ampere, unit::AMPERE, 2),
                length(circle.read_radius_m, 2),
                length(circle.radius_on_scale_m, 2),
                length(2.0 * circle.radius_on_scale_m, 2),
            ]
        })
        .collect();
    page.block(&columns(
        &[
            "gun voltage",
            "current",
            "radius in the beam plane",
            "radius on the scale",
            "diameter on the scale",
        ],
        &[],
        &rows,
    ));
    page.section("Reading it");
    page.list(reading_rules(scale).iter().map(String::as_str));
    let left_out: Vec<String> = scale
        .left_out
        .iter()
        .map(|[volt, ampere]| {
            format!("{} with {}: the beam strikes the glass.", volts(*volt), fixed(*ampere, unit::AMPERE, 2))
        })
        .collect();
    notes(&mut page, &left_out, &scale.safety);
    page.into_text()
}

/// The words printed on the scale.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ScaleWords {
    /// Heading above the scale.
    pub heading: String,
    /// Name of the picture for a screen reader.
    pub name: String,
    /// One line for each circle, in the circles' order.
    pub circles: Vec<String>,
    /// Label beside the zero of the rule.
    pub gun_exit: String,
    /// Label under the bar that checks the print.
    pub check_bar: String,
    /// Instructions for reading.
    pub rules: Vec<String>,
}

impl ScaleWords {
    /// The words in English.
    pub(crate) fn english(scale: &ReadingScale) -> Self {
        let line = |(index, circle): (usize, &ScaleCircle)| {
            format!(
                "{}: {} and {}: diameter {} on this scale, radius {} in the beam plane",
                index + 1,
                fixed(circle.gun_voltage_volt, unit::VOLT, 0),
                fixed(circle.current_ampere, unit::AMPERE, 2),
                fixed(2.0 * circle.radius_on_scale_m, unit::MILLIMETRE, 1),
                fixed(circle.read_radius_m, unit::MILLIMETRE, 1)
            )
        };
        Self {
            heading: format!("{}: reading scale", scale.provenance.spec_title),
            name: "True-size reading scale with the beam circles to expect".into(),
            circles: scale.circles.iter().enumerate().map(line).collect(),
            gun_exit: "gun exit".into(),
            check_bar: "check bar: exactly 100 mm".into(),
            rules: reading_rules(scale),
        }
    }
}

/// Instructions for reading, which are also printed on the scale.
fn reading_rules(scale: &ReadingScale) -> Vec<String> {
    let mut rules = vec![
        "Print at 100 % and measure the check bar: it must be 100 mm long.".to_owned(),
        "Put the zero at the gun exit, the gun pointing up the page, and read to the opposite side of the circle. Drawn \
         as seen from beyond coil b; from coil a it is the mirror image."
            .to_owned(),
    ];
    rules.push(match scale.edge {
        Some(BeamEdge::Outer) => {
            "Read the outer edge of the glow: its electrons have lost no energy to the gas.".to_owned()
        }
        Some(BeamEdge::Middle) => {
            "Read the middle of the glow; the inner side is electrons that have lost energy, so the middle lies a \
             little inside the true circle and e/m comes out high."
                .to_owned()
        }
        Some(BeamEdge::Inner) => {
            "The spec says the inner edge is read: it lies inside the true circle by the width of the glow, and e/m \
             comes out high by twice that share of the radius."
                .to_owned()
        }
        None => "Read the same edge of the glow every time; the electrons at the outer edge have lost no energy to the gas.".to_owned(),
    });
    rules.push(if scale.magnification == 1.0 {
        "The scale must lie in the beam plane; look at it square on. The rule shows the diameter: write it under `diameter_mm`."
            .to_owned()
    } else {
        format!(
            "The scale stands {} behind the beam plane, the camera {} before it: a length in the beam plane looks \
             {:.4} times as long on the scale. The circles are drawn so, and the rule shows the diameter as read on \
             the scale: write it under `diameter_mm` as it is, and `weigh` divides by that.",
            length(scale.scale_offset_m, 1),
            scale.camera_distance_m.map(|distance| length(distance, 0)).unwrap_or_default(),
            scale.magnification
        )
    });
    rules
}
