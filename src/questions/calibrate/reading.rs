//! One reading of a calibration: a current and the field it makes, with what is known of their errors.

use crate::Result;
use crate::error::Refused;
use crate::files::tables::LeftOut;
use nalgebra::Vector3;
use serde::Serialize;

/// One measured pair of current and field.
///
/// [`Reading::new`] makes a reading that states nothing else; set the other fields afterwards.
/// [`Readings::new`](super::Readings::new) checks them, and a calibration checks them again.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Its line in the file or row of the sheet, counted from 1, the heading included. For readings made in code: its
    /// number, from 1.
    pub line: u64,
    /// The user's name for it.
    pub label: Option<String>,
    /// Reading of the ammeter.
    pub current_ampere: f64,
    /// Reading of the field meter.
    pub field_tesla: f64,
    /// Standard uncertainty of this current alone; above zero, and stated for all readings or for none.
    pub current_uncertainty_ampere: Option<f64>,
    /// Standard uncertainty of this field alone; above zero, and stated for all readings or for none.
    pub field_uncertainty_tesla: Option<f64>,
    /// Correlation of this current's own error with this field's, between -1 and 1; 0 unless both are stated.
    pub current_field_correlation: f64,
    /// The error of the current that this reading shares with others.
    pub current_shared: Option<Share>,
    /// The error of the field that this reading shares with others.
    pub field_shared: Option<Share>,
    /// Position of the probe; the centre unless stated.
    pub probe_m: Vector3<f64>,
    /// Unit vector along which the probe reads, such as −z for a probe turned round.
    pub direction: Vector3<f64>,
}

/// A reading's part in an error that several readings share, such as that of a range of the meter, a day or a setting.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// Name of the error: readings with the same name share it. Empty if the file has one error for all.
    pub by: String,
    /// Effect of one standard uncertainty of it on this reading, in A or T; above zero.
    pub standard_uncertainty: f64,
}

/// A reading of the file that a `#` before its row leaves out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct LeftOutReading {
    /// Its line in the file or row of the sheet.
    pub line: u64,
    /// The user's name for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Why it is left out, as the file says it after the last column.
    pub reason: Option<String>,
}

impl From<LeftOut> for LeftOutReading {
    fn from(row: LeftOut) -> Self {
        Self { line: row.line, label: row.label, reason: row.said }
    }
}

/// A length within rounding of 1.
const UNIT_LENGTH: f64 = 1e-9;

impl Reading {
    /// A reading of a probe at the centre that points along +z, without stated uncertainties.
    ///
    /// # Errors
    /// [`Refused::UnusableReading`] if a value is not finite.
    pub fn new(current_ampere: f64, field_tesla: f64) -> Result<Self> {
        let reading = Self {
            line: 0,
            label: None,
            current_ampere,
            field_tesla,
            current_uncertainty_ampere: None,
            field_uncertainty_tesla: None,
            current_field_correlation: 0.0,
            current_shared: None,
            field_shared: None,
            probe_m: Vector3::zeros(),
            direction: Vector3::z(),
        };
        reading.check()?;
        Ok(reading)
    }

    /// Refuses a reading that no line can be fitted to.
    ///
    /// # Errors
    /// [`Refused::UnusableReading`] if a number is not finite, an uncertainty is not above zero, the direction is not of
    /// length one, a correlation is not between -1 and 1 or stated without both uncertainties, or a shared uncertainty is
    /// stated without one of the reading's own.
    pub(crate) fn check(&self) -> Result<()> {
        let finite = "a finite number";
        let above_zero = "finite and above 0";
        let positive = |value: f64| value.is_finite() && value > 0.0;
        let (own_current, own_field) = (self.current_uncertainty_ampere, self.field_uncertainty_tesla);
        let own = own_current.is_some() || own_field.is_some();
        let correlation = self.current_field_correlation;
        let mut checks = vec![
            ("current in A", self.current_ampere, self.current_ampere.is_finite(), finite),
            ("field in T", self.field_tesla, self.field_tesla.is_finite(), finite),
            ("length of the probe's direction", self.direction.norm(), self.has_unit_direction(), "1"),
            ("correlation of current and field", correlation, correlation.abs() < 1.0, "between -1 and 1"),
            (
                "correlation of current and field",
                correlation,
                correlation == 0.0 || (own_current.is_some() && own_field.is_some()),
                "0 unless the uncertainties of both are stated",
            ),
        ];
        checks.extend(self.probe_m.iter().map(|x| ("probe's coordinate in m", *x, x.is_finite(), finite)));
        let own_uncertainties = [
            ("standard uncertainty of the current in A", own_current),
            ("standard uncertainty of the field in T", own_field),
        ];
        for (name, value) in own_uncertainties {
            checks.extend(value.map(|value| (name, value, positive(value), above_zero)));
        }
        for (name, share) in [
            ("shared uncertainty of the current in A", &self.current_shared),
            ("shared uncertainty of the field in T", &self.field_shared),
        ] {
            let Some(value) = share.as_ref().map(|share| share.standard_uncertainty) else { continue };
            checks.push((name, value, positive(value), above_zero));
            checks.push((name, value, own, "left out unless the reading has an uncertainty of its own"));
        }
        match checks.into_iter().find(|(_, _, sound, _)| !sound) {
            None => Ok(()),
            Some((quantity, value, _, allowed)) => {
                Err(Refused::UnusableReading { line: self.line, quantity, value, allowed }.into())
            }
        }
    }

    fn has_unit_direction(&self) -> bool {
        (self.direction.norm() - 1.0).abs() < UNIT_LENGTH
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;
    use crate::questions::calibrate::Readings;

    /// Two sound readings, the second changed.
    fn with(change: impl Fn(&mut Reading)) -> Result<Readings> {
        let [first, mut second] = [1.0, 2.0].map(|ampere| Reading::new(ampere, 0.8e-3 * ampere).unwrap());
        change(&mut second);
        Readings::new(vec![first, second])
    }

    #[test]
    fn readings_made_in_code_are_numbered_and_an_empty_list_is_too_few() {
        let readings = with(|_| {}).unwrap();
        assert_eq!(readings.readings.iter().map(|one| one.line).collect::<Vec<_>>(), [1, 2]);
        for few in [vec![], vec![Reading::new(1.0, 1e-3).unwrap()]] {
            let refused = Readings::new(few).unwrap_err();
            assert!(matches!(refused, Error::Refused(Refused::TooFewPoints { needed: 2, .. })), "{refused}");
        }
    }

    type Change<'a> = &'a dyn Fn(&mut Reading);

    #[test]
    fn a_value_that_cannot_be_is_refused_by_its_number_and_name() {
        assert!(Reading::new(f64::NAN, 1e-3).is_err() && Reading::new(1.0, f64::INFINITY).is_err());
        let share = |standard_uncertainty| Some(Share { by: "range".into(), standard_uncertainty });
        let changes: [(&str, Change); 9] = [
            ("field in T", &|one| one.field_tesla = f64::NAN),
            ("standard uncertainty of the field", &|one| one.field_uncertainty_tesla = Some(-1e-6)),
            ("standard uncertainty of the field", &|one| one.field_uncertainty_tesla = Some(f64::NAN)),
            ("standard uncertainty of the current", &|one| one.current_uncertainty_ampere = Some(0.0)),
            ("direction", &|one| one.direction = Vector3::z() * 2.0),
            ("direction", &|one| one.direction = Vector3::z() * f64::NAN),
            ("probe", &|one| one.probe_m.x = f64::NAN),
            ("correlation", &|one| one.current_field_correlation = 0.5),
            ("shared uncertainty of the field", &|one| one.field_shared = share(1e-6)),
        ];
        for (name, change) in changes {
            let refused = with(change).unwrap_err();
            let Error::Refused(Refused::UnusableReading { line: 2, quantity, .. }) = &refused else {
                panic!("{name}: {refused}");
            };
            assert!(quantity.contains(name), "{name}: {refused}");
        }
        let lone = with(|one| one.field_uncertainty_tesla = Some(1e-6)).unwrap_err();
        assert!(matches!(lone, Error::Refused(Refused::UncertaintyNotOfAll { .. })), "{lone}");
    }

    #[test]
    fn a_calibration_refuses_readings_whose_fields_were_changed() {
        use crate::questions::calibrate::{Request, calibrate};
        let mut readings = with(|_| {}).unwrap();
        readings.readings[0].direction *= 2.0;
        let bench = crate::pair::Bench::thin_pair();
        let request = Request { readings: Some(readings), ..Request::default() };
        let refused = calibrate(&bench, &request).unwrap_err();
        assert!(matches!(refused, Error::Refused(Refused::UnusableReading { line: 1, .. })), "{refused}");
    }
}
