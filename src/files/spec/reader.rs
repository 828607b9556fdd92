//! Reads a file into a checked bench, or into everything that is wrong with it.

use super::file::BenchFile;
use super::source::Source;
use super::structured::{diagnosed, structured};
use super::written::spec_text;
use super::{physical, resolve, structure, syntax};
use crate::error::diagnosis::{Diagnosis, Severity, Stage};
use crate::pair::Bench;
use crate::{Document, Result};
use std::path::Path;

/// A bench that passed every check, with its warnings.
#[derive(Clone, Debug)]
pub struct CheckedBench {
    /// The bench.
    pub bench: Bench,
    /// Warnings; no errors.
    pub warnings: Diagnosis,
}

/// Reads a spec file and checks it; warnings are left out.
///
/// A syntax error is reported alone; otherwise all structural errors together, then every physical one whose
/// inputs are sound ([`crate::Error::Diagnosed`]).
pub fn read_bench(path: impl AsRef<Path>) -> Result<Bench> {
    check_bench(path).map(|checked| checked.bench)
}

/// Reads a spec file and checks it.
pub fn check_bench(path: impl AsRef<Path>) -> Result<CheckedBench> {
    checked(&Source::read(path.as_ref())?)
}

/// Reads a spec from text; `name` stands for the file in messages.
///
/// ```
/// let bench = coilwright::files::spec::bench_from_text(
///     "pair.json",
///     r#"{
///         "title": "Window bench pair",
///         "winding": {
///             "mean_radius": "150 mm", "width": "16.9 mm", "depth": "9.5 mm", "turns": 136,
///             "wire": { "size": "0.95 mm", "build": "grade 2" }
///         },
///         "spacing": "150 mm"
///     }"#,
/// )?;
/// assert_eq!(bench.winding.mean_radius_m, 0.15);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn bench_from_text(name: &str, text: &str) -> Result<Bench> {
    checked(&Source::from_bytes(Path::new(name), text.as_bytes())?).map(|checked| checked.bench)
}

/// Checks a bench that was made or changed in code as a spec file is checked: every value alone, and all together. The
/// places of the problems are those in [`spec_text`] of the bench.
///
/// Its rounding counts: lengths are checked as written, to a nanometre. A wire with the name of a stock wire is checked
/// as that stock wire, and a bench as designed without its `as_built`.
///
/// ```
/// use coilwright::files::spec::{check_again, read_bench};
/// let mut bench = read_bench("coil-specs/window-bench.json")?;
/// assert!(check_again(&bench).is_ok());
/// bench.winding.mean_radius_m = -0.15;
/// assert!(check_again(&bench).is_err());
/// # Ok::<(), coilwright::Error>(())
/// ```
///
/// # Errors
/// [`crate::Error::Diagnosed`] with all errors and warnings. If there are only warnings, they are returned.
pub fn check_again(bench: &Bench) -> Result<Diagnosis> {
    let source = Source::from_bytes(Path::new("bench"), spec_text(bench).as_bytes())?;
    checked(&source).map(|checked| checked.warnings)
}

/// The JSON Schema (draft 2020-12) of a spec file.
pub fn bench_schema() -> &'static serde_json::Value {
    structure::schema_of::<BenchFile>().as_value()
}

pub(super) fn checked(source: &Source) -> Result<CheckedBench> {
    let tree =
        syntax::tree(&source.text).map_err(|problem| diagnosed(source, Stage::Syntax, vec![*problem]))?;
    let file: BenchFile = structured(source, &tree, Document::Spec)?;
    let (bench, unknown_wire) = resolve::bench(file, source.digest.clone());
    let problems = physical::problems(&bench, unknown_wire, &tree);
    if problems.iter().any(|problem| problem.severity == Severity::Error) {
        return Err(diagnosed(source, Stage::Physics, problems));
    }
    Ok(CheckedBench { bench, warnings: Diagnosis::new(&source.path, &source.text, Stage::Physics, problems) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;
    use proptest::prelude::*;

    const EXAMPLE: &str = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/quote-used.json"));

    /// Reads a file and formats its problems.
    fn read_and_draw(bytes: &[u8]) -> String {
        let outcome = Source::from_bytes(Path::new("pair.json"), bytes).and_then(|source| checked(&source));
        match outcome {
            Ok(checked) => checked.warnings.draw(false),
            Err(Error::Diagnosed { diagnosis, .. }) => {
                assert_eq!(diagnosis.records().len(), diagnosis.problems().len());
                diagnosis.draw(true) + &diagnosis.draw(false)
            }
            Err(error) => error.to_string(),
        }
    }

    #[test]
    fn the_example_says_what_the_bench_then_holds() {
        let bench = bench_from_text("quote-used.json", EXAMPLE).unwrap();
        assert_eq!(bench.winding.wire.name.as_deref(), Some("AWG 19 heavy"));
        let [a, b] = bench.as_built.unwrap();
        assert_eq!((a.turns, b.turns), (159.5, 160.0));
        assert_eq!(a.offset_m, nalgebra::Vector3::new(0.0, 0.0006, -0.0008));
        assert_eq!(b.tilt_rad, [0.0, -0.4_f64.to_radians()]);
        assert_eq!(b.width_m, 0.0162);
        assert_eq!(bench.tube.unwrap().gun_direction, Some(nalgebra::Vector3::y_axis()));
        assert_eq!(bench.build_tolerance.unwrap().turns, 0.5);
    }

    type Change = fn(&mut Bench);

    #[test]
    fn a_bench_changed_in_code_is_checked_as_a_file_is() {
        let sound = bench_from_text("quote-used.json", EXAMPLE).unwrap();
        assert!(check_again(&sound).is_ok());
        let changes: [(&str, Change); 5] = [
            ("spacing", |bench| bench.spacing_m = f64::NAN),
            ("winding.turns", |bench| bench.winding.turns = -1.0),
            ("room.temperature", |bench| bench.room.as_mut().unwrap().temperature_celsius = Some(300.0)),
            ("tube.bulb_radius", |bench| bench.tube.as_mut().unwrap().bulb_radius_m = Some(-0.08)),
            ("supply.current_limit", |bench| bench.supply.as_mut().unwrap().current_limit_ampere = Some(0.0)),
        ];
        for (name, change) in changes {
            let mut changed = sound.clone();
            change(&mut changed);
            assert!(matches!(check_again(&changed), Err(Error::Diagnosed { .. })), "{name}");
        }
    }

    #[test]
    fn a_megabyte_on_one_line_is_refused_in_a_page() {
        let mut text = String::from("{ \"title\": 5, ");
        while text.len() < 1_000_000 {
            text.push_str("\"mean_radius\": \"12 µm\", ");
        }
        text.push_str("\"spacing\": 3 }");
        let drawn = read_and_draw(text.as_bytes());
        assert!(drawn.contains(" more"), "most are only counted");
        assert!(drawn.len() < 200_000, "{}", drawn.len());
    }

    proptest! {
        #[test]
        fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            read_and_draw(&bytes);
        }

        #[test]
        fn no_text_of_brackets_and_quotes_makes_the_reader_panic(
            text in "[\\[\\]{}\",:\\\\a-c0-9.eE+\\- \n\r\tµ\u{1F9F2}-]{0,120}",
        ) {
            read_and_draw(text.as_bytes());
        }

        #[test]
        fn no_spoiled_example_makes_the_reader_panic(
            edits in prop::collection::vec((0..EXAMPLE.len(), 0..30_usize, ".{0,6}"), 1..6),
        ) {
            let mut bytes = EXAMPLE.as_bytes().to_vec();
            for (at, length, text) in edits {
                let start = at.min(bytes.len());
                let end = (start + length).min(bytes.len());
                bytes.splice(start..end, text.bytes());
            }
            read_and_draw(&bytes);
        }

        #[test]
        fn no_exchanged_value_makes_the_reader_panic(
            at in 0..150_usize,
            value in "(-?[0-9]{1,3}(\\.[0-9])?|1e30) (mm|A|V|deg|ohm|degC|uT|%|m)?",
        ) {
            // Every second quoted text is replaced by another quantity.
            let mut parts: Vec<&str> = EXAMPLE.split('"').collect();
            let which = (2 * at + 1) % (parts.len() - 1);
            parts[which] = &value;
            read_and_draw(parts.join("\"").as_bytes());
        }
    }
}
