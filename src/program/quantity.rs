//! Arguments shared by several commands: quantities with a unit, and the spec with its model.

use super::output;
use clap::builder::TypedValueParser;
use coilwright::files::spec;
use coilwright::pair::{Bench, resistance_contradictions};
use coilwright::units::{Dimension, QuantityError, brief, parse};
use std::path::{Path, PathBuf};

/// Reads an argument such as `--current "-1.4 A"` into SI; the argument also needs
/// `allow_hyphen_values = true`, or a leading minus is taken for an option.
pub fn quantity(dimension: Dimension) -> impl TypedValueParser<Value = f64> {
    move |text: &str| parse(text, dimension)
}

/// Reads a quantity as [`quantity`] does, and refuses one outside a range, in SI.
pub fn quantity_within(dimension: Dimension, least: f64, most: f64) -> impl TypedValueParser<Value = f64> {
    move |text: &str| {
        let value = parse(text, dimension)?;
        match (least..=most).contains(&value) {
            true => Ok(value),
            false => {
                let [least, most] = [least, most].map(|end| brief(end, dimension));
                Err(out_of_range(text, format!("allowed: {least} to {most}")))
            }
        }
    }
}

/// One or more quantities separated by commas.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantities(pub Vec<f64>);

/// Reads a list such as `100 V,200 V`. A comma between two digits, after a text without a unit, is reported as a
/// decimal comma.
fn list(text: &str, one: impl Fn(&str) -> Result<f64, QuantityError>) -> Result<Quantities, QuantityError> {
    let pieces: Vec<&str> = text.split(',').collect();
    let decimal = pieces.windows(2).any(|pair| {
        let [before, after] = [pair[0].trim(), pair[1]];
        before.ends_with(|c: char| c.is_ascii_digit()) && after.starts_with(|c: char| c.is_ascii_digit())
    });
    match decimal {
        true => Err(QuantityError {
            message: format!("`{text}` has a comma in its number"),
            hint: "write the decimals after a point, as in `1.4 A`; a comma separates values, each with its unit".into(),
        }),
        false => pieces.iter().map(|piece| one(piece)).collect::<Result<_, _>>().map(Quantities),
    }
}

/// Reads several quantities, as [`quantity`] reads one.
pub fn quantities(dimension: Dimension) -> impl TypedValueParser<Value = Quantities> {
    move |text: &str| list(text, |piece| parse(piece, dimension))
}

/// Reads several coil currents, as [`current`] reads one.
pub fn currents() -> impl TypedValueParser<Value = Quantities> {
    move |text: &str| list(text, one_current)
}

/// Largest current, as for a supply in a spec.
const LARGEST_CURRENT_AMPERE: f64 = 1e4;
/// Smallest current other than zero: the field of a microampere is smaller than any other.
const SMALLEST_CURRENT_AMPERE: f64 = 1e-6;

/// Reads a coil current of either direction; zero is allowed.
pub fn current() -> impl TypedValueParser<Value = f64> {
    one_current
}

fn one_current(text: &str) -> Result<f64, QuantityError> {
    let value = parse(text, Dimension::Current)?;
    let size = value.abs();
    match size == 0.0 || (SMALLEST_CURRENT_AMPERE..=LARGEST_CURRENT_AMPERE).contains(&size) {
        true => Ok(value),
        false => Err(out_of_range(text, "allowed: 0 A, and 1 µA to 10000 A in either direction".into())),
    }
}

fn out_of_range(text: &str, hint: String) -> QuantityError {
    QuantityError { message: format!("`{text}` is out of range"), hint }
}

/// The spec for most commands.
#[derive(clap::Args)]
pub struct SpecArgs {
    /// The spec file
    pub spec: PathBuf,
    /// Use the design and ignore `as_built`
    #[arg(long)]
    pub nominal: bool,
}

impl SpecArgs {
    /// The checked bench in the chosen geometry. Of its warnings only a contradiction is reported; the others are left
    /// to `check`.
    pub fn read(&self) -> coilwright::Result<Bench> {
        let bench = read_spec(&self.spec)?;
        Ok(if self.nominal { bench.as_designed() } else { bench })
    }
}

/// The checked bench of a spec file. A contradiction in it is always reported on standard error.
pub fn read_spec(path: &Path) -> coilwright::Result<Bench> {
    let bench = spec::read_bench(path)?;
    warn_of_contradictions(path, &bench);
    Ok(bench)
}

/// Reports on standard error where the bench of a file contradicts itself.
pub fn warn_of_contradictions(path: &Path, bench: &Bench) {
    for contradiction in resistance_contradictions(bench) {
        output::warn(
            &format!("{}: {contradiction}", path.display()),
            "voltage, heat and whatever else rests on the resistance is doubtful: ask which of the two is right",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    #[derive(Parser)]
    struct Arguments {
        #[command(flatten)]
        spec: SpecArgs,
        #[arg(long, value_parser = current(), allow_hyphen_values = true)]
        current: Option<f64>,
    }

    #[test]
    fn a_leading_minus_belongs_to_the_quantity() {
        for words in [&["x", "pair.json", "--current", "-1.4 A"][..], &["x", "pair.json", "--current=-1.4A"]]
        {
            let arguments = Arguments::try_parse_from(words).unwrap();
            assert_eq!(arguments.current, Some(-1.4));
            assert!(!arguments.spec.nominal);
        }
    }

    #[test]
    fn a_list_is_cut_at_its_commas_and_a_decimal_comma_is_told() {
        let read = |text: &str| list(text, one_current);
        assert_eq!(read("1 A,-2 A, 0.5A"), Ok(Quantities(vec![1.0, -2.0, 0.5])));
        for text in ["1,4 A", "-1,4 A", "1.234,5 A", "1 A,2,5 A"] {
            let error = read(text).unwrap_err();
            assert_eq!(error.message, format!("`{text}` has a comma in its number"));
        }
        assert_eq!(read("1 A,2").unwrap_err().message, "`2` has no unit");
    }

    #[test]
    fn a_value_out_of_range_is_refused_with_the_range() {
        for (text, message) in [
            ("2e4 A", "`2e4 A` is out of range"),
            ("-1e9 A", "`-1e9 A` is out of range"),
            ("1e-99 A", "`1e-99 A` is out of range"),
        ] {
            let Err(error) = Arguments::try_parse_from(["x", "pair.json", "--current", text]) else {
                panic!()
            };
            let error = crate::program::usage::refused(&error).unwrap();
            assert_eq!(error.to_string(), format!("--current: {message}"));
            assert_eq!(error.hint().unwrap(), "allowed: 0 A, and 1 µA to 10000 A in either direction");
        }
        assert_eq!(
            Arguments::try_parse_from(["x", "pair.json", "--current", "0 A"]).unwrap().current,
            Some(0.0)
        );
    }
}
