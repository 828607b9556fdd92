//! Arguments that several commands share: quantities with a unit, and the spec with its model.

use clap::builder::TypedValueParser;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use coilwright::spec::{self, Bench, Model};
use coilwright::units::{Dimension, QuantityError, parse};
use coilwright::{Error, Result};
use std::error::Error as _;
use std::path::PathBuf;

/// Reads an argument such as `--current "-1.4 A"` into SI; the argument also needs
/// `allow_hyphen_values = true`, or a leading minus is taken for an option.
pub fn quantity(dimension: Dimension) -> impl TypedValueParser<Value = f64> {
    move |text: &str| parse(text, dimension)
}

/// The spec that most commands start from.
#[derive(clap::Args)]
pub struct SpecArgs {
    /// The spec file
    pub spec: PathBuf,
    /// Use the design and ignore `as_built`
    #[arg(long)]
    pub nominal: bool,
}

impl SpecArgs {
    /// The checked bench; its warnings are for `check`.
    pub fn read(&self) -> Result<Bench> {
        spec::read_bench(&self.spec)
    }

    /// Which geometry was asked for.
    pub fn model(&self) -> Model {
        if self.nominal { Model::Nominal } else { Model::AsBuilt }
    }
}

/// A refused quantity in our own two lines, the hint apart; anything else stays the argument parser's.
pub fn refused_quantity(error: &clap::Error) -> Option<Error> {
    if error.kind() != ErrorKind::ValueValidation {
        return None;
    }
    let quantity = error.source()?.downcast_ref::<QuantityError>()?;
    let argument = match error.get(ContextKind::InvalidArg) {
        Some(ContextValue::String(argument)) => argument.split_whitespace().next().unwrap_or(argument),
        _ => "argument",
    };
    Some(Error::Usage {
        message: format!("{argument}: {}", quantity.message),
        hint: Some(quantity.hint.clone()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    #[derive(Parser)]
    struct Arguments {
        #[command(flatten)]
        spec: SpecArgs,
        #[arg(long, value_parser = quantity(Dimension::Current), allow_hyphen_values = true)]
        current: Option<f64>,
    }

    #[test]
    fn a_leading_minus_belongs_to_the_quantity() {
        for words in [&["x", "pair.json", "--current", "-1.4 A"][..], &["x", "pair.json", "--current=-1.4A"]]
        {
            let arguments = Arguments::try_parse_from(words).unwrap();
            assert_eq!(arguments.current, Some(-1.4));
            assert_eq!(arguments.spec.model(), Model::AsBuilt);
        }
    }

    #[test]
    fn a_refused_quantity_names_its_argument_and_keeps_its_hint_apart() {
        let Err(error) = Arguments::try_parse_from(["x", "pair.json", "--current", "1.4"]) else { panic!() };
        let error = refused_quantity(&error).unwrap();
        assert_eq!(error.to_string(), "--current: `1.4` has no unit");
        assert_eq!(error.hint().unwrap(), "write the unit too, such as `1.4 A` (units: A, mA, uA)");
        assert_eq!(error.exit_status(), 2);
    }
}
