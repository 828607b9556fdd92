//! Combines readings of each coil, and of the field at the centre, into readings of the pair.

use crate::constants::Conductor;
use crate::files::spec::{CoilReadings, Measured, MeasuredValue};
use crate::pair::Connection;

/// The readings, completed with what follows from both coils but was not measured on the pair: the resistance as
/// connected, the mass, the means of diameters and widths, and the field at the centre from the first reading there.
/// The uncertainties of two readings count as independent. Readings of the pair itself stay.
pub(crate) fn joined(measured: &Measured, connection: Connection, conductor: Conductor) -> Measured {
    let connection = measured.connection.unwrap_or(connection);
    let mut joined = Measured { connection: Some(connection), ..measured.clone() };
    let [a, b] = &measured.coils;
    let both = |of: fn(&CoilReadings) -> Option<MeasuredValue>| of(a).zip(of(b));
    if joined.resistance_ohm.is_none()
        && let Some((first, second)) = both(|coil| coil.resistance_ohm)
    {
        let ratio = conductor.resistance_ratio(a.resistance_at_celsius)
            / conductor.resistance_ratio(b.resistance_at_celsius);
        joined.resistance_ohm = Some(connected(first, scaled(second, ratio), connection));
        joined.resistance_at_celsius = a.resistance_at_celsius;
    }
    if joined.conductor_mass_kg.is_none() {
        joined.conductor_mass_kg = both(|coil| coil.conductor_mass_kg).map(|(a, b)| weighted(a, b, 1.0));
    }
    let mean =
        |stays: Option<MeasuredValue>, of| stays.or_else(|| both(of).map(|(a, b)| weighted(a, b, 0.5)));
    joined.inner_diameter_m = mean(measured.inner_diameter_m, |coil| coil.inner_diameter_m);
    joined.outer_diameter_m = mean(measured.outer_diameter_m, |coil| coil.outer_diameter_m);
    joined.width_m = mean(measured.width_m, |coil| coil.width_m);
    let centre = measured.fields.iter().find(|reading| reading.at_m.norm() == 0.0);
    joined.field_tesla_per_ampere = measured.field_tesla_per_ampere.or_else(|| {
        centre.map(|reading| MeasuredValue {
            value: reading.tesla.value / reading.current_ampere,
            standard_uncertainty: reading.tesla.standard_uncertainty / reading.current_ampere.abs(),
        })
    });
    joined
}

fn scaled(reading: MeasuredValue, factor: f64) -> MeasuredValue {
    MeasuredValue {
        value: factor * reading.value,
        standard_uncertainty: factor * reading.standard_uncertainty,
    }
}

/// weight × (a + b).
fn weighted(a: MeasuredValue, b: MeasuredValue, weight: f64) -> MeasuredValue {
    MeasuredValue {
        value: weight * (a.value + b.value),
        standard_uncertainty: weight * a.standard_uncertainty.hypot(b.standard_uncertainty),
    }
}

/// In series a + b; in parallel R = a b/(a + b), with dR/da = (R/a)² and dR/db = (R/b)².
fn connected(a: MeasuredValue, b: MeasuredValue, connection: Connection) -> MeasuredValue {
    match connection {
        Connection::Series => weighted(a, b, 1.0),
        Connection::Parallel => {
            let value = connection.of_two_ohm(a.value, b.value);
            let part = |coil: MeasuredValue| (value / coil.value).powi(2) * coil.standard_uncertainty;
            MeasuredValue { value, standard_uncertainty: part(a).hypot(part(b)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(ohm: [f64; 2], connection: Connection) -> Measured {
        let mut measured = Measured::nothing("Two coils");
        for (coil, value) in measured.coils.iter_mut().zip(ohm) {
            coil.resistance_ohm = Some(MeasuredValue { value, standard_uncertainty: 0.03 });
            coil.width_m = Some(MeasuredValue { value: 0.01 * value, standard_uncertainty: 1e-4 });
        }
        joined(&measured, connection, Conductor::Copper)
    }

    #[test]
    fn two_coils_give_the_pair() {
        let series = of([4.0, 4.2], Connection::Series);
        let ohm = series.resistance_ohm.unwrap();
        assert!((ohm.value - 8.2).abs() < 1e-12 && (ohm.standard_uncertainty - 0.042_426_4).abs() < 1e-6);
        assert!((series.width_m.unwrap().value - 0.041).abs() < 1e-12);
        // Two equal ones in parallel: half of one, u/(2√2).
        let parallel = of([4.0, 4.0], Connection::Parallel).resistance_ohm.unwrap();
        assert!((parallel.value - 2.0).abs() < 1e-12);
        assert!((parallel.standard_uncertainty - 0.03 / 8f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn what_was_measured_on_the_pair_stays() {
        let mut measured = of([4.0, 4.2], Connection::Series);
        measured.resistance_ohm = Some(MeasuredValue { value: 9.0, standard_uncertainty: 0.1 });
        let again = joined(&measured, Connection::Series, Conductor::Copper);
        assert_eq!(again.resistance_ohm.unwrap().value, 9.0);
    }
}
