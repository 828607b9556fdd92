//! What a line is valid for, in words: the range of its readings, and what is not counted.

use crate::pair::Connection;
use crate::questions::calibrate::{Calibration, MeasuredRange};
use crate::questions::words::phrases::percent;
use crate::units::{Dimension, display, fixed, unit};

/// The validity of the tables, as labels and values.
pub(crate) fn validity_rows(record: &Calibration) -> Vec<(&'static str, String)> {
    let validity = &record.validity;
    let ammeter = match validity.ammeter {
        Some(meter) => format!(
            "resolution {}, limit of error {} of reading + {} digits",
            meter.resolution.map_or("not known".into(), |step| display(step, Dimension::Current, 1)),
            meter.accuracy_of_reading.map_or("an unknown part".into(), percent),
            meter.accuracy_digits
        ),
        None => "taken as exact".into(),
    };
    let currents = display(validity.current_limit_ampere, Dimension::Current, 3);
    let currents = match &validity.measured {
        Some(measured) => format!("0 A to {currents}; {}", measured_sentence(measured)),
        None => {
            format!("0 A to {currents}, and the other way round with every sign of the coil field changed")
        }
    };
    let connection = match validity.connection {
        Connection::Series => "in series",
        Connection::Parallel => "in parallel; the current is that of the supply",
    };
    vec![
        ("currents", currents),
        (
            "coils",
            format!(
                "{connection}; within {:.0} K of {}",
                validity.warming_kelvin,
                fixed(validity.room_temperature_celsius, unit::CELSIUS, 1)
            ),
        ),
        ("place", validity.place.into()),
        ("ammeter", ammeter),
        ("spec", format!("\"{}\", {}", record.provenance.spec_title, record.provenance.spec_digest)),
        ("program", record.provenance.program.clone()),
    ]
}

/// The errors that U does not include because the spec does not state them. `None` if it includes all.
pub(crate) fn not_counted_sentence(record: &Calibration) -> Option<String> {
    let exact = record.taken_as_exact();
    (!exact.is_empty()).then(|| {
        format!(
            "U and its probability do not count errors of {}, which the spec does not state: taken as exact.",
            exact.join(" and of ")
        )
    })
}

/// The rows of the tables beyond the readings. Empty if there are none.
pub(crate) fn extrapolated_sentence(record: &Calibration) -> String {
    let Some(measured) = &record.validity.measured else { return String::new() };
    let ampere = |current| display(current, Dimension::Current, 3);
    let outside = |found: fn(&MeasuredRange, f64) -> bool| {
        record.table.iter().any(|row| found(measured, row.current_ampere))
    };
    let below = outside(MeasuredRange::is_below).then(|| {
        let smallest = ampere(measured.smallest_current_ampere);
        format!("below {smallest}")
    });
    let above = outside(MeasuredRange::is_above).then(|| {
        let largest = ampere(measured.largest_current_ampere);
        format!("above {largest}")
    });
    let rows: Vec<String> = below.into_iter().chain(above).collect();
    match rows.is_empty() {
        true => String::new(),
        false => format!(" Rows {} are extrapolated: nothing was measured there.", rows.join(" and ")),
    }
}

/// The range of the readings, for the handout. `None` if the line rests on none.
pub(crate) fn measured_range_sentence(record: &Calibration, marked: bool) -> Option<String> {
    let measured = record.validity.measured.as_ref()?;
    let [smallest, largest] = [measured.smallest_current_ampere, measured.largest_current_ampere]
        .map(|current| display(current, Dimension::Current, 3));
    let way = if measured.both_directions { "both ways round" } else { "one way round only" };
    let marked = if marked { " Rows with a * lie outside: nothing was measured there." } else { "" };
    Some(format!("Measured from {smallest} to {largest}, {way}.{marked}"))
}

/// What was measured, and what is assumed: that the field of a coil without iron is proportional to its current.
fn measured_sentence(measured: &MeasuredRange) -> String {
    let ampere = |current| display(current, Dimension::Current, 3);
    let (smallest, largest) =
        (ampere(measured.smallest_current_ampere), ampere(measured.largest_current_ampere));
    let direction = if measured.both_directions {
        "in both directions"
    } else {
        "in one direction only, so nothing is claimed of the other"
    };
    let gap = if measured.smallest_current_ampere > 0.1 * measured.largest_current_ampere {
        format!(
            "; below {smallest} and above {largest} nothing was measured, and the tables trust the line to stay straight"
        )
    } else {
        format!("; above {largest} nothing was measured, and the tables trust the line to stay straight")
    };
    format!("measured from {smallest} to {largest} {direction}{gap}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::tests::bench;
    use crate::questions::calibrate::{AdoptedFrom, Request, calibrate};

    #[test]
    fn rows_outside_the_readings_are_extrapolated_on_either_side() {
        let with_readings = |currents: &[f64]| {
            let rows: Vec<String> =
                currents.iter().map(|it| format!("{it},{},0.001", 0.815 * it + 0.02)).collect();
            let text = format!("current_A,field_mT,field_uncertainty_mT\n{}\n", rows.join("\n"));
            let readings = Some(crate::questions::calibrate::readings_from_text("r.csv", &text).unwrap());
            let request = Request { readings, adopt: Some(AdoptedFrom::Fit), ..Request::default() };
            calibrate(&bench(), &request).unwrap()
        };
        // The tables go from 0 A to 3 A.
        let one_way = with_readings(&[0.5, 1.0, 1.5, 2.0]);
        let told = extrapolated_sentence(&one_way);
        assert_eq!(
            told,
            " Rows below 0.500 A and above 2.00 A are extrapolated: nothing was measured there."
        );
        let range = measured_range_sentence(&one_way, true).unwrap();
        assert!(
            range.contains("Measured from 0.500 A to 2.00 A, one way round only. Rows with a *"),
            "{range}"
        );
        let page = crate::questions::calibrate::files::handout::html(&one_way).unwrap();
        for (current, is_marked) in [("0.4", true), ("0.5", false), ("2.0", false), ("2.1", true)] {
            let cell = format!("<td>{current}{}</td>", if is_marked { "*" } else { "" });
            assert!(page.contains(&cell), "{cell}: {page}");
        }
        let both = extrapolated_sentence(&with_readings(&[-2.0, -0.5, 0.5, 2.0]));
        assert_eq!(both, " Rows above 2.00 A are extrapolated: nothing was measured there.");
        assert_eq!(extrapolated_sentence(&with_readings(&[-3.0, -1.0, 1.0, 3.0])), "");
    }
}
