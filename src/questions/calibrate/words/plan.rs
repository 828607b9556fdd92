//! A plan of readings as text for people and as the blank file to fill in.

use crate::files::out::csv::{NumberFormat, TableFile};
use crate::pair::Provenance;
use crate::paper::page::Page;
use crate::questions::calibrate::plan::Plan;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::percent;
use crate::units::{Dimension, display};

/// The page for people.
pub fn text(plan: &Plan, provenance: &Provenance) -> String {
    let mut page = Page::new(&format!("Readings to take: {}", provenance.spec_title), &on_page(provenance));
    page.section("Wish");
    page.row("expanded uncertainty wanted", &format!("{} of the slope", percent(plan.wanted_fraction)));
    page.row(
        "computed line, without readings",
        &match (plan.computed_fraction, plan.computed_meets_the_wish) {
            (Some(fraction), true) => format!(
                "{}: meets the wish already, as far as the spec's build tolerances are right; readings test that",
                percent(fraction)
            ),
            (Some(fraction), false) => format!("{}: does not meet the wish", percent(fraction)),
            (None, _) => "not known: the spec has no `build_tolerance`".into(),
        },
    );
    page.row(
        "reached by this plan",
        &format!(
            "{}: {}",
            percent(plan.expected_fraction),
            if plan.reachable { "the wish is met" } else { "the wish is not met" }
        ),
    );
    let floor = percent(plan.floor_fraction);
    page.row(
        "left by the meters alone",
        &match &plan.floor_set_by {
            Some(source) => format!("{floor}, most of it from the {source}"),
            None => floor,
        },
    );
    if !plan.reachable && plan.floor_fraction >= plan.wanted_fraction {
        page.paragraph(
            "No number of readings meets the wish: what the meters share does not shrink. A better meter, or one \
             compared with a better one, would.",
        );
    }
    page.section("Plan");
    page.row("largest current", &display(plan.largest_current_ampere, Dimension::Current, 3));
    page.row("rounds", &plan.rounds.to_string());
    page.row("readings", &plan.readings.len().to_string());
    page.row("reversals of the current", &plan.reversals.to_string());
    page.row("turns of the probe", &plan.probe_turns.to_string());
    page.row(
        "scatter of one reading",
        &format!(
            "{}{}",
            display(plan.reading_scatter_tesla, Dimension::FluxDensity, 2),
            if plan.scatter_guessed {
                ", guessed from the field meter's zero: state it if you know it"
            } else {
                ""
            }
        ),
    );
    page.section("How");
    page.list([
        "Put the probe at the centre, along the axis, and keep it there. Note any other place in columns x_mm, y_mm, \
         z_mm.",
        "Set each current of the list, wait until meter and supply are steady, write down what the field meter shows, \
         sign included.",
        "Turn the current down to zero before reversing the leads.",
        "Where the list says so, turn the probe end for end: it then shows the same field with the other sign, and its \
         zero unchanged.",
        "Let the coils stay near room temperature: no longer at the largest current than a reading needs.",
    ]);
    page.into_text()
}

/// The blank file: the currents are filled in, the fields are not.
pub(crate) fn blank_csv(plan: &Plan, provenance: &Provenance, format: NumberFormat) -> String {
    let comments = [provenance.to_string()];
    let mut file = TableFile::new(format, &comments, &["label", "current_A", "field_mT", "probe_flipped"]);
    for reading in &plan.readings {
        file.row(&[
            format.text(&reading.label),
            format.number(Some(reading.current_ampere)),
            String::new(),
            if reading.probe_flipped { "yes".into() } else { "no".into() },
        ]);
    }
    file.into_text()
}
