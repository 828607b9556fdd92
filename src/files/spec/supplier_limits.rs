//! A file of a supplier's limits, for `accept`.

use super::checks::Checks;
use super::source::Source;
use super::structured::{diagnosed, structured};
use super::supplier_limits_file::{CoilLimitsFile, RangeFile, SupplierLimitsFile};
use super::{limits, structure, syntax};
use crate::constants::REFERENCE_TEMPERATURE_CELSIUS;
use crate::error::diagnosis::Stage;
use crate::{Document, Result};
use serde::Serialize;
use std::path::Path;

/// A supplier's promises, read from a file and checked.
#[derive(Clone, Debug)]
pub struct SupplierLimits {
    /// The title, as written.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// Resistance of the pair at its terminals.
    pub resistance_ohm: Option<Promise>,
    /// Wire diameter over the enamel.
    pub overall_wire_diameter_m: Option<Promise>,
    /// Inner diameter of the wound copper.
    pub inner_diameter_m: Option<Promise>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<Promise>,
    /// Width of the wound copper.
    pub width_m: Option<Promise>,
    /// Distance between the centre planes of the coils.
    pub spacing_m: Option<Promise>,
    /// Field at the centre per ampere.
    pub field_tesla_per_ampere: Option<Promise>,
    /// Inductance of the pair as connected.
    pub inductance_henry: Option<Promise>,
    /// Mass of the conductor in both coils together.
    pub conductor_mass_kg: Option<Promise>,
    /// Each coil alone.
    pub coil: CoilPromises,
    /// Field at points.
    pub fields: Option<Promise>,
    /// Hottest touchable surface.
    pub surface_celsius: Option<Promise>,
    /// Voltage at the pair's terminals.
    pub warm_volt: Option<Promise>,
    /// Largest less smallest distance of the coils round the rim.
    pub spacing_difference_m: Option<Promise>,
    /// Step from rim to rim.
    pub rim_step_m: Option<Promise>,
    /// Resistance between winding and former.
    pub insulation_ohm: Option<Promise>,
}

/// A supplier's promises for each coil.
#[derive(Clone, Copy, Debug, Default)]
pub struct CoilPromises {
    /// Turns.
    pub turns: Option<Promise>,
    /// Resistance.
    pub resistance_ohm: Option<Promise>,
    /// Inner diameter of the wound copper.
    pub inner_diameter_m: Option<Promise>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<Promise>,
    /// Radius of the middle of the wound section.
    pub mean_radius_m: Option<Promise>,
    /// Its extent along the radius.
    pub depth_m: Option<Promise>,
    /// Width of the wound copper.
    pub width_m: Option<Promise>,
    /// Its own inductance.
    pub inductance_henry: Option<Promise>,
    /// Mass of its conductor.
    pub conductor_mass_kg: Option<Promise>,
}

/// A promised range: its ends, or a fraction of the spec's value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Promise {
    /// Smallest allowed.
    pub at_least: Option<f64>,
    /// Largest allowed.
    pub at_most: Option<f64>,
    /// Instead of both: fraction above or below the spec's value.
    pub within: Option<f64>,
    /// For a resistance: the copper's temperature at which the ends hold.
    pub at_celsius: f64,
}

/// Reads a file of a supplier's limits and checks it.
///
/// A syntax error is reported alone; otherwise all structural errors together, then every impossible range
/// ([`Error::Diagnosed`](crate::Error::Diagnosed)).
pub fn read_supplier_limits(path: impl AsRef<Path>) -> Result<SupplierLimits> {
    checked(&Source::read(path.as_ref())?)
}

/// Reads limits from text; `name` stands for the file in messages.
pub fn supplier_limits_from_text(name: &str, text: &str) -> Result<SupplierLimits> {
    checked(&Source::from_bytes(Path::new(name), text.as_bytes())?)
}

/// The JSON Schema (draft 2020-12) of a file of a supplier's limits.
pub fn supplier_limits_schema() -> &'static serde_json::Value {
    structure::schema_of::<SupplierLimitsFile>().as_value()
}

fn checked(source: &Source) -> Result<SupplierLimits> {
    let tree =
        syntax::tree(&source.text).map_err(|problem| diagnosed(source, Stage::Syntax, vec![*problem]))?;
    let file: SupplierLimitsFile = structured(source, &tree, Document::SupplierLimits)?;
    let limits = resolved(file, source.digest.clone());
    let mut checks = Checks::new(&tree);
    checks.title(&limits.title);
    for (path, promise) in limits.promises() {
        check(&mut checks, &path, promise);
    }
    if checks.problems.is_empty() {
        Ok(limits)
    } else {
        Err(diagnosed(source, Stage::Physics, checks.problems))
    }
}

fn check(checks: &mut Checks, path: &str, promise: &Promise) {
    checks.within(&format!("{path}.at"), promise.at_celsius, limits::COPPER_TEMPERATURE);
    checks.within_if(&format!("{path}.within"), promise.within, limits::ACCURACY_OF_READING);
    let ends = [promise.at_least, promise.at_most].into_iter().flatten().count();
    if promise.within == Some(0.0) {
        checks.disagree(
            &format!("{path}.within"),
            "a promise within 0 % is kept by nothing that is measured",
            "give the part by which it may differ, such as \"3 %\"",
        );
    }
    match (ends, promise.within) {
        (0, None) => checks.refuse(
            path,
            format!("`{path}` promises nothing"),
            "give `at_least`, `at_most` or both, or `within` as a part of what the spec gives",
        ),
        (1 | 2, Some(_)) => checks.refuse(
            &format!("{path}.within"),
            format!("`{path}` has ends and `within`"),
            "give one of the two",
        ),
        _ => {}
    }
    if let (Some(least), Some(most)) = (promise.at_least, promise.at_most)
        && least > most
    {
        checks.refuse(
            &format!("{path}.at_most"),
            format!("`{path}.at_most` is less than `{path}.at_least`"),
            "exchange the two",
        );
    }
}

impl SupplierLimits {
    /// Every promise with its path in the file.
    fn promises(&self) -> Vec<(String, &Promise)> {
        let coil = self.coil.promises();
        let pair = [
            ("resistance", &self.resistance_ohm),
            ("overall_wire_diameter", &self.overall_wire_diameter_m),
            ("inner_diameter", &self.inner_diameter_m),
            ("outer_diameter", &self.outer_diameter_m),
            ("width", &self.width_m),
            ("spacing", &self.spacing_m),
            ("field", &self.field_tesla_per_ampere),
            ("inductance", &self.inductance_henry),
            ("mass", &self.conductor_mass_kg),
            ("fields", &self.fields),
            ("surface_temperature", &self.surface_celsius),
            ("warm_voltage", &self.warm_volt),
            ("spacing_difference", &self.spacing_difference_m),
            ("rim_step", &self.rim_step_m),
            ("insulation_resistance", &self.insulation_ohm),
        ];
        let pair = pair.into_iter().map(|(path, promise)| (path.to_owned(), promise));
        let coil = coil.into_iter().map(|(path, promise)| (format!("coil.{path}"), promise));
        pair.chain(coil).filter_map(|(path, promise)| Some((path, promise.as_ref()?))).collect()
    }
}

impl CoilPromises {
    fn promises(&self) -> [(&'static str, &Option<Promise>); 9] {
        [
            ("turns", &self.turns),
            ("resistance", &self.resistance_ohm),
            ("inner_diameter", &self.inner_diameter_m),
            ("outer_diameter", &self.outer_diameter_m),
            ("mean_radius", &self.mean_radius_m),
            ("depth", &self.depth_m),
            ("width", &self.width_m),
            ("inductance", &self.inductance_henry),
            ("mass", &self.conductor_mass_kg),
        ]
    }
}

fn resolved(file: SupplierLimitsFile, digest: String) -> SupplierLimits {
    SupplierLimits {
        title: crate::units::inert::line(&file.title).into_owned(),
        digest,
        resistance_ohm: file.resistance.map(|it| Promise {
            at_celsius: it.at.map_or(REFERENCE_TEMPERATURE_CELSIUS, |at| at.0),
            ..promise(it.at_least.map(|end| end.0), it.at_most.map(|end| end.0), it.within.map(|part| part.0))
        }),
        overall_wire_diameter_m: range(file.overall_wire_diameter, |it| it.0),
        inner_diameter_m: range(file.inner_diameter, |it| it.0),
        outer_diameter_m: range(file.outer_diameter, |it| it.0),
        width_m: range(file.width, |it| it.0),
        spacing_m: range(file.spacing, |it| it.0),
        field_tesla_per_ampere: file.field.map(|it| {
            let ampere = it.current.map_or(1.0, |current| current.0);
            let [least, most] = [it.at_least, it.at_most].map(|end| end.map(|end| end.0 / ampere));
            promise(least, most, it.within.map(|part| part.0))
        }),
        inductance_henry: range(file.inductance, |it| it.0),
        conductor_mass_kg: range(file.mass, |it| it.0),
        coil: file.coil.map(resolved_coil).unwrap_or_default(),
        fields: file.fields.map(|it| promise(None, None, Some(it.within.0))),
        surface_celsius: range(file.surface_temperature, |it| it.0),
        warm_volt: range(file.warm_voltage, |it| it.0),
        spacing_difference_m: range(file.spacing_difference, |it| it.0),
        rim_step_m: range(file.rim_step, |it| it.0),
        insulation_ohm: range(file.insulation_resistance, |it| it.0),
    }
}

fn resolved_coil(file: CoilLimitsFile) -> CoilPromises {
    CoilPromises {
        turns: file.turns.map(|it| promise(it.at_least, it.at_most, it.within.map(|part| part.0))),
        resistance_ohm: file.resistance.map(|it| Promise {
            at_celsius: it.at.map_or(REFERENCE_TEMPERATURE_CELSIUS, |at| at.0),
            ..promise(it.at_least.map(|end| end.0), it.at_most.map(|end| end.0), it.within.map(|part| part.0))
        }),
        inner_diameter_m: range(file.inner_diameter, |it| it.0),
        outer_diameter_m: range(file.outer_diameter, |it| it.0),
        mean_radius_m: range(file.mean_radius, |it| it.0),
        depth_m: range(file.depth, |it| it.0),
        width_m: range(file.width, |it| it.0),
        inductance_henry: range(file.inductance, |it| it.0),
        conductor_mass_kg: range(file.mass, |it| it.0),
    }
}

fn range<T>(file: Option<RangeFile<T>>, si: fn(T) -> f64) -> Option<Promise> {
    file.map(|it| promise(it.at_least.map(si), it.at_most.map(si), it.within.map(|part| part.0)))
}

fn promise(at_least: Option<f64>, at_most: Option<f64>, within: Option<f64>) -> Promise {
    Promise { at_least, at_most, within, at_celsius: REFERENCE_TEMPERATURE_CELSIUS }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;

    const LIMITS: &str = r#"{
        "title": "Letter of the winder",
        "resistance": { "at_least": "8.1 ohm", "at_most": "8.5 ohm", "at": "25 degC" },
        "field": { "at_least": "1.64 mT", "at_most": "1.70 mT", "current": "2 A" },
        "width": { "within": "3 %" },
        "coil": { "turns": { "at_least": 149.5, "at_most": 150.5 }, "mass": { "within": "4 %" } },
        "fields": { "within": "2 %" },
        "surface_temperature": { "at_most": "50 degC" },
        "insulation_resistance": { "at_least": "20 Mohm" }
    }"#;

    #[test]
    fn every_promise_of_the_format_is_read() {
        let limits = supplier_limits_from_text("letter.json", LIMITS).unwrap();
        let resistance = limits.resistance_ohm.unwrap();
        assert_eq!((resistance.at_least, resistance.at_celsius), (Some(8.1), 25.0));
        assert_eq!(limits.field_tesla_per_ampere.unwrap().at_most, Some(0.85e-3));
        assert_eq!(limits.width_m.unwrap().within, Some(0.03));
        assert_eq!(limits.coil.turns.unwrap().at_least, Some(149.5));
        assert_eq!(limits.insulation_ohm.unwrap().at_least, Some(20e6));
        assert_eq!(limits.promises().len(), 8);
    }

    #[test]
    fn a_range_that_is_none_is_told_with_its_place() {
        for (from, to, wanted) in [
            (r#"{ "within": "3 %" }"#, "{}", "`width` promises nothing"),
            (r#""within": "3 %""#, r#""within": "3 %", "at_most": "1 mm""#, "has ends and `within`"),
            (r#""8.5 ohm""#, r#""7.5 ohm""#, "`resistance.at_most` is less than `resistance.at_least`"),
            (r#""within": "4 %""#, r#""within": "90 %""#, "`coil.mass.within` is 90 %"),
            ("\"width\"", "\"widht\"", "did you mean `width`"),
        ] {
            let text = LIMITS.replacen(from, to, 1);
            assert_ne!(text, LIMITS, "{from}");
            let error = supplier_limits_from_text("letter.json", &text).unwrap_err();
            let Error::Diagnosed { diagnosis, .. } = &error else { panic!("{error}") };
            let drawn = diagnosis.draw(false);
            assert!(drawn.contains(wanted), "{to}: {drawn}");
        }
    }
}
