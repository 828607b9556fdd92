//! The adopted line, read back from `calibration.json`.

use super::fit::correlation;
use super::room_effect::RoomSource;
use crate::error::reason_unread;
use crate::pair::{Instrument, Provenance};
use crate::physics::beam::{FieldLine, LineRoom};
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::{AdoptedFrom, BudgetEntry, Slope, SlopeUncertainty};
use crate::{Error, Result};
use serde::{Deserialize, Serialize};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// Largest calibration file that is read, in bytes. A real one has some tens of thousands.
const LARGEST_FILE_BYTES: u64 = 16 << 20;

/// The adopted line of a calibration: B = k I + B0.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(from = "Written", into = "Written")]
#[non_exhaustive]
pub struct AdoptedLine {
    /// Where it comes from.
    pub provenance: Provenance,
    /// Digest of coils, tolerances and meters. `None` in a file of an older version.
    pub apparatus_digest: Option<String>,
    /// The instruments that it was measured with, as far as the spec names them.
    pub instruments: Vec<Instrument>,
    /// k: the coils' field at the centre per ampere through the ammeter.
    pub slope: Slope,
    /// B0. For a computed line it is zero. From readings it is the room's axial field if the probe was turned round,
    /// else that field plus the meter's zero.
    pub intercept_tesla: f64,
    /// u(B0), as the file has it.
    pub intercept_standard_uncertainty_tesla: f64,
    /// cov(k, B0) in T²/A, as the file has it; `None` for coils alone and in an entry of an older register.
    pub intercept_covariance_with_slope: Option<f64>,
    /// The room's axial field, if it was known.
    pub room: Option<RoomPart>,
    /// The range for which the line holds.
    pub validity: ValidityPart,
    /// The slope fitted to the readings, if another line was adopted.
    pub fitted: Option<Slope>,
    /// Whether the line was adopted although something spoke against its readings.
    pub in_dispute: bool,
    /// The number of its certificate, if the file has it.
    pub certificate: Option<String>,
}

/// The keys of a calibration that are read back.
#[derive(Serialize, Deserialize)]
struct Written {
    provenance: Provenance,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    apparatus_digest: Option<String>,
    #[serde(default, skip_serializing_if = "PaperworkPart::is_empty")]
    paperwork: PaperworkPart,
    adopted_from: AdoptedFrom,
    slope_tesla_per_ampere: f64,
    slope_standard_uncertainty_tesla_per_ampere: f64,
    intercept_tesla: f64,
    intercept_standard_uncertainty_tesla: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    intercept_covariance_with_slope: Option<f64>,
    /// `None` for infinitely many.
    #[serde(default)]
    effective_degrees_of_freedom: Option<f64>,
    coverage_factor: f64,
    #[serde(default)]
    room: Option<RoomPart>,
    validity: ValidityPart,
    #[serde(default)]
    budget: Vec<BudgetEntry>,
    #[serde(default, skip_serializing_if = "Option::is_none", with = "super::fitted")]
    fitted_slope: Option<Slope>,
    /// What spoke against the readings.
    #[serde(default, skip_serializing)]
    dispute: Option<serde_json::Value>,
    #[serde(default, skip_serializing)]
    issue: IssuePart,
}

/// The part of the issue that is read back.
#[derive(Default, Deserialize)]
struct IssuePart {
    #[serde(default)]
    certificate: Option<String>,
}

impl From<Written> for AdoptedLine {
    fn from(written: Written) -> Self {
        let standard = written.slope_standard_uncertainty_tesla_per_ampere;
        let is_known = standard != 0.0 || !written.budget.is_empty();
        Self {
            provenance: written.provenance,
            apparatus_digest: written.apparatus_digest,
            instruments: written.paperwork.instruments,
            slope: Slope {
                from: written.adopted_from,
                tesla_per_ampere: written.slope_tesla_per_ampere,
                uncertainty: is_known.then_some(SlopeUncertainty {
                    standard_tesla_per_ampere: standard,
                    expanded_tesla_per_ampere: written.coverage_factor * standard,
                    coverage_factor: written.coverage_factor,
                    degrees_of_freedom: written.effective_degrees_of_freedom,
                }),
                budget: written.budget,
            },
            intercept_tesla: written.intercept_tesla,
            intercept_standard_uncertainty_tesla: written.intercept_standard_uncertainty_tesla,
            intercept_covariance_with_slope: written.intercept_covariance_with_slope,
            room: written.room,
            validity: written.validity,
            fitted: written.fitted_slope,
            in_dispute: written.dispute.is_some(),
            certificate: written.issue.certificate,
        }
    }
}

impl From<AdoptedLine> for Written {
    fn from(line: AdoptedLine) -> Self {
        let slope = line.slope;
        let uncertainty = slope.uncertainty.unwrap_or(SlopeUncertainty::UNKNOWN_IN_FILES);
        Self {
            provenance: line.provenance,
            apparatus_digest: line.apparatus_digest,
            paperwork: PaperworkPart { instruments: line.instruments },
            adopted_from: slope.from,
            slope_tesla_per_ampere: slope.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: uncertainty.standard_tesla_per_ampere,
            intercept_tesla: line.intercept_tesla,
            intercept_standard_uncertainty_tesla: line.intercept_standard_uncertainty_tesla,
            intercept_covariance_with_slope: line.intercept_covariance_with_slope,
            effective_degrees_of_freedom: uncertainty.degrees_of_freedom,
            coverage_factor: uncertainty.coverage_factor,
            room: line.room,
            validity: line.validity,
            budget: slope.budget,
            fitted_slope: line.fitted,
            dispute: None,
            issue: IssuePart::default(),
        }
    }
}

/// The part of the paperwork that is read back.
#[derive(Default, Serialize, Deserialize)]
struct PaperworkPart {
    #[serde(default)]
    instruments: Vec<Instrument>,
}

impl PaperworkPart {
    fn is_empty(&self) -> bool {
        self.instruments.is_empty()
    }
}

/// The part of the room's record that is read back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct RoomPart {
    /// Where it comes from; `None` in an entry of an older register.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<RoomSource>,
    /// The room's field along +z. `None` if only its sum with the meter's zero was known.
    #[serde(default)]
    pub axial_tesla: Option<f64>,
    /// Its standard uncertainty, where it is known; `None` in an entry of an older register.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_standard_uncertainty_tesla: Option<f64>,
    /// What the field meter's gain contributes to that; `None` where it is not known, and in a file of an older program, which
    /// did not count it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axial_probe_gain_contribution_tesla: Option<f64>,
}

/// The part of the validity that is read back.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct ValidityPart {
    /// The largest current, either direction.
    pub current_limit_ampere: f64,
}

impl AdoptedLine {
    /// The coils' field along +z at the centre.
    pub fn coil_field_tesla(&self, current_ampere: f64) -> f64 {
        self.slope.tesla_per_ampere * current_ampere
    }

    /// The slope fitted to its readings. `None` for a computed line without readings, and for a computed or combined
    /// line written by an older version, which kept no fit beside it.
    pub fn fitted_slope(&self) -> Option<Slope> {
        match self.slope.from {
            AdoptedFrom::Fit => Some(self.slope.clone()),
            _ => self.fitted.clone(),
        }
    }

    /// The room's axial field, where the calibration knew it apart from the meter's zero, with its standard uncertainty and
    /// its correlation with the slope.
    ///
    /// An older program left the field meter's gain out of both; it is added from the budget, which always had it. With the
    /// sensitivity s = dk/dg of the budget u²(B0) gains (B0 u(g))² and cov(k, B0) gains s B0 u²(g).
    pub fn room_found(&self) -> Option<LineRoom> {
        let room = self.room?;
        let axial_tesla = room.axial_tesla?;
        let rests_on_readings = self.slope.from != AdoptedFrom::Computed;
        // An entry of an older register does not say where the room's field comes from.
        let is_intercept = rests_on_readings && axial_tesla == self.intercept_tesla;
        if !room.source.map_or(is_intercept, |source| source == RoomSource::Readings) {
            return Some(LineRoom::stated(axial_tesla));
        }
        let counted_u = room.axial_standard_uncertainty_tesla.or(match is_intercept {
            true => Some(self.intercept_standard_uncertainty_tesla),
            false => None,
        });
        let Some(counted_u) = counted_u else { return Some(LineRoom::stated(axial_tesla)) };
        let beside = self.fitted.iter().flat_map(|fitted| &fitted.budget);
        let gain = self.slope.budget.iter().chain(beside).find(|part| part.source == BudgetSource::ProbeGain);
        let gain = gain.filter(|_| room.axial_probe_gain_contribution_tesla.is_none());
        let [of_slope, u_of_gain] = gain.map_or([0.0; 2], |gain| {
            let per_unit = gain.sensitivity_tesla_per_ampere_per_unit;
            [per_unit, (gain.contribution_tesla_per_ampere / per_unit).abs()]
        });
        let u = counted_u.hypot(axial_tesla * u_of_gain);
        let covariance = self.intercept_covariance_with_slope.filter(|_| is_intercept).unwrap_or(0.0);
        let of_gain = if rests_on_readings { of_slope * axial_tesla * u_of_gain.powi(2) } else { 0.0 };
        let of_line = self.slope.standard_uncertainty().unwrap_or(0.0);
        Some(LineRoom {
            axial_tesla,
            standard_uncertainty_tesla: Some(u),
            correlation_with_slope: correlation(covariance + of_gain, of_line, u).clamp(-1.0, 1.0),
        })
    }
}

/// Reads the adopted line from a `calibration.json` of this program.
///
/// Unknown keys are ignored. Refused: a file that is not such JSON, a missing or non-finite number, a slope of zero, a
/// negative uncertainty.
pub fn read_adopted_line(path: &Path) -> Result<AdoptedLine> {
    let unreadable = |reason: String| Error::Read { path: path.to_owned(), reason };
    let file = File::open(path).map_err(|error| unreadable(reason_unread(&error)))?;
    if file.metadata().is_ok_and(|found| found.is_dir()) {
        return Err(unreadable("it is a folder, not a calibration.json".into()));
    }
    // The size of a device is not known beforehand, so the bytes read are counted.
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| unreadable(reason_unread(&error)))?;
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        return Err(unreadable(format!(
            "it holds more than {LARGEST_FILE_BYTES} bytes, too many for a calibration.json"
        )));
    }
    let text =
        String::from_utf8(bytes).map_err(|_| unreadable("it is not UTF-8 text; save it as UTF-8".into()))?;
    adopted_line_from_text(path, &text)
}

/// Reads the adopted line from the text of such a file, as [`read_adopted_line`] does; `path` stands for it in
/// messages.
pub fn adopted_line_from_text(path: &Path, text: &str) -> Result<AdoptedLine> {
    let unreadable = |reason: String| Error::Read { path: path.to_owned(), reason };
    let line: AdoptedLine = serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|error| {
        let text = error.to_string();
        let what = match error.is_data() {
            true => text.split(" at line").next().unwrap_or_default(),
            false => "it is not JSON",
        };
        unreadable(format!("it is no calibration written by `calibrate --out`: {what}"))
    })?;
    check(&line).map_err(unreadable)?;
    Ok(line)
}

pub(super) fn check(line: &AdoptedLine) -> std::result::Result<(), String> {
    let slope = line.slope.tesla_per_ampere;
    let uncertainties = [
        (
            "slope_standard_uncertainty_tesla_per_ampere",
            line.slope.standard_uncertainty().unwrap_or_default(),
        ),
        ("intercept_standard_uncertainty_tesla", line.intercept_standard_uncertainty_tesla),
    ];
    // A slope below 1 nT/A or above 1 T/A belongs to no air-cored coil pair.
    if !(1e-9..=1.0).contains(&slope.abs()) {
        return Err(format!("slope_tesla_per_ampere is {slope}, and no coil pair makes that"));
    }
    if let Some(fitted) = line.fitted.as_ref().map(|fitted| fitted.tesla_per_ampere)
        && !(1e-9..=1.0).contains(&fitted.abs())
    {
        return Err(format!("the fitted slope_tesla_per_ampere is {fitted}, and no coil pair makes that"));
    }
    for (name, value) in uncertainties {
        if !(value.is_finite() && value >= 0.0) {
            return Err(format!("{name} is {value}, and it cannot be negative"));
        }
    }
    let beside = line.fitted.iter().flat_map(|fitted| &fitted.budget);
    for part in line.slope.budget.iter().chain(beside) {
        let contribution = part.contribution_tesla_per_ampere;
        if !(contribution.is_finite() && contribution >= 0.0) {
            return Err(format!(
                "the budget's contribution of {} is {contribution}, and it cannot be negative",
                part.source
            ));
        }
    }
    if let Some(factor) = line.slope.uncertainty.map(|uncertainty| uncertainty.coverage_factor)
        && !(1.0..=1e3).contains(&factor)
    {
        return Err(format!("coverage_factor is {factor}, and it lies between 1 and 1000"));
    }
    let limit_ampere = line.validity.current_limit_ampere;
    if limit_ampere.is_nan() || limit_ampere <= 0.0 {
        return Err(format!("validity.current_limit_ampere is {limit_ampere}, and it must be positive"));
    }
    Ok(())
}

impl From<&AdoptedLine> for FieldLine {
    fn from(line: &AdoptedLine) -> Self {
        Self {
            slope: line.slope.clone(),
            calibration: Some(line.provenance.clone()),
            register_entry: None,
            room: line.room_found(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::pair::FieldMeter;
    use crate::questions::calibrate::tests::bench;
    use crate::questions::calibrate::{Reading, Readings, Request, calibrate};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    fn written() -> serde_json::Value {
        serde_json::to_value(calibrate(&bench(), &Request::default()).unwrap()).unwrap()
    }

    fn read(value: &serde_json::Value) -> Result<AdoptedLine> {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("calibration.json");
        std::fs::write(&path, serde_json::to_string(value).unwrap()).unwrap();
        read_adopted_line(&path)
    }

    #[test]
    fn what_calibrate_writes_is_read_back_to_the_last_bit() {
        let calibration = calibrate(&bench(), &Request::default()).unwrap();
        let line = read(&written()).unwrap();
        assert_eq!(line.slope.tesla_per_ampere, calibration.slope.tesla_per_ampere);
        assert_eq!(line.slope.uncertainty, calibration.slope.uncertainty);
        assert_eq!(line.slope.from, AdoptedFrom::Computed);
        assert_eq!(line.provenance, calibration.provenance);
        assert_eq!(line.room_found(), None);
        let contributions = |parts: &[f64]| parts.iter().map(|part| part.powi(2)).sum::<f64>().sqrt();
        let parts: Vec<f64> =
            line.slope.budget.iter().map(|part| part.contribution_tesla_per_ampere).collect();
        let whole = line.slope.standard_uncertainty().unwrap();
        assert!((contributions(&parts) / whole - 1.0).abs() < 1e-12);
        assert_eq!(line.coil_field_tesla(2.0), 2.0 * calibration.slope.tesla_per_ampere);
    }

    #[test]
    fn a_file_without_budget_and_uncertainty_holds_a_slope_of_unknown_uncertainty() {
        let mut file = written();
        let older = file.as_object_mut().unwrap();
        older.remove("budget");
        let line = read(&file).unwrap();
        assert_eq!(
            line.slope.expanded_uncertainty(),
            Some(file["slope_expanded_uncertainty_tesla_per_ampere"].as_f64().unwrap())
        );
        file["slope_standard_uncertainty_tesla_per_ampere"] = 0.0.into();
        let line = read(&file).unwrap();
        assert_eq!(line.slope.uncertainty, None);
        // It is written as it was read.
        let again = serde_json::to_value(&line).unwrap();
        for key in
            ["slope_standard_uncertainty_tesla_per_ampere", "coverage_factor", "effective_degrees_of_freedom"]
        {
            assert_eq!(again[key], file[key], "{key}");
        }
    }

    #[test]
    fn a_spoiled_file_is_refused_with_what_is_wrong() {
        for (key, value, complaint) in [
            ("slope_tesla_per_ampere", serde_json::json!(0.0), "no coil pair"),
            ("slope_tesla_per_ampere", serde_json::json!("much"), "invalid type"),
            ("slope_standard_uncertainty_tesla_per_ampere", serde_json::json!(-1e-6), "negative"),
            ("coverage_factor", serde_json::json!(0.0), "between 1"),
            (
                "budget",
                serde_json::json!([{
                    "source": "spacing", "sensitivity_tesla_per_ampere_per_unit": 1.0,
                    "contribution_tesla_per_ampere": -1.0
                }]),
                "contribution of spacing",
            ),
        ] {
            let mut spoiled = written();
            spoiled[key] = value;
            let error = read(&spoiled).unwrap_err().to_string();
            assert!(error.contains(complaint), "{error}");
        }
        let mut lacking = written();
        lacking.as_object_mut().unwrap().remove("slope_tesla_per_ampere");
        assert!(read(&lacking).unwrap_err().to_string().contains("missing field"));
        assert!(read_adopted_line(Path::new("/no/such/file.json")).is_err());
        assert!(read_adopted_line(Path::new("/")).is_err());
    }

    /// A calibration by readings with the probe turned round: 45 µT of the room, and a field meter of 5 %.
    fn turned(adopt: AdoptedFrom) -> crate::questions::calibrate::Calibration {
        let mut bench = bench();
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(0.05), zero_tesla: None });
        let k = crate::questions::calibrate::computed_slope_tesla_per_ampere(&bench).unwrap();
        let of = |current_ampere: f64, sign: f64| Reading {
            field_uncertainty_tesla: Some(1.5e-6),
            direction: sign * Vector3::z(),
            ..Reading::new(current_ampere, sign * (k * current_ampere + 45e-6) + 3e-6).unwrap()
        };
        let currents = [-2.4, -1.2, 1.2, 2.4];
        let readings = currents.into_iter().flat_map(|current| [of(current, 1.0), of(current, -1.0)]);
        let readings = Some(Readings::new(readings.collect()).unwrap());
        calibrate(&bench, &Request { readings, adopt: Some(adopt), ..Request::default() }).unwrap()
    }

    #[test]
    fn the_room_of_a_file_without_the_probes_gain_is_as_uncertain_as_that_of_a_new_one() {
        for adopt in [AdoptedFrom::Fit, AdoptedFrom::Combined, AdoptedFrom::Computed] {
            let new = serde_json::to_value(turned(adopt)).unwrap();
            let wanted = read(&new).unwrap().room_found().unwrap();
            let u = wanted.standard_uncertainty_tesla.unwrap();
            let by_gain = 45e-6 * 0.05 / 3f64.sqrt();
            assert!(u > by_gain, "{u}");
            // What an older program wrote: the gain is left out of u and of the covariance.
            let mut old = new.clone();
            let without = (u.powi(2) - by_gain.powi(2)).sqrt();
            let room = old["room"].as_object_mut().unwrap();
            room.remove("axial_probe_gain_contribution_tesla").unwrap();
            room.insert("axial_standard_uncertainty_tesla".into(), without.into());
            let mut entry = old.clone();
            entry["room"] = serde_json::json!({ "axial_tesla": new["room"]["axial_tesla"] });
            if adopt == AdoptedFrom::Computed {
                assert_eq!(wanted.correlation_with_slope, 0.0, "a computed slope holds no gain of the probe");
                // A register that was older still did not say what was measured.
                assert_eq!(read(&entry).unwrap().room_found(), Some(LineRoom::stated(wanted.axial_tesla)));
            } else {
                let gain = new["budget"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .find(|part| part["source"] == BudgetSource::ProbeGain.name());
                let per_unit = gain.unwrap()["sensitivity_tesla_per_ampere_per_unit"].as_f64().unwrap();
                let of_gain = per_unit * wanted.axial_tesla * (0.05f64 / 3f64.sqrt()).powi(2);
                let covariance = new["intercept_covariance_with_slope"].as_f64().unwrap();
                for one in [&mut old, &mut entry] {
                    one["intercept_standard_uncertainty_tesla"] = without.into();
                }
                old["intercept_covariance_with_slope"] = (covariance - of_gain).into();
                entry.as_object_mut().unwrap().remove("intercept_covariance_with_slope");
                let of_entry = read(&entry).unwrap().room_found().unwrap();
                assert_relative_eq!(of_entry.standard_uncertainty_tesla.unwrap(), u, max_relative = 1e-6);
                // All but the scatter's part, which is nought about a mean current of nought.
                assert_relative_eq!(
                    of_entry.correlation_with_slope,
                    wanted.correlation_with_slope,
                    max_relative = 1e-6
                );
            }
            let of_old = read(&old).unwrap().room_found().unwrap();
            assert_relative_eq!(of_old.standard_uncertainty_tesla.unwrap(), u, max_relative = 1e-6);
            assert_relative_eq!(
                of_old.correlation_with_slope,
                wanted.correlation_with_slope,
                max_relative = 1e-6
            );
        }
    }
}
