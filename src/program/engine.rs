//! The choice of field engine for a command.

use coilwright::pair::Bench;
use coilwright::physics::field::{Accuracy, PreparedPair};
use coilwright::units::QuantityError;

/// Options of every command that computes fields at points.
#[derive(clap::Args)]
pub struct EngineArgs {
    /// Compute each turn where its wire lies, instead of a section with smooth current density
    #[arg(long)]
    each_turn: bool,
    /// Accuracy relative to the sum of the coils' fields at the point, from 1e-13 to 0.01; a larger one is faster
    #[arg(long, value_name = "FRACTION", default_value = "1e-12", value_parser = accuracy)]
    accuracy: Accuracy,
}

fn accuracy(text: &str) -> Result<Accuracy, QuantityError> {
    match text.trim().parse::<f64>() {
        Ok(fraction) if Accuracy::RANGE.contains(&fraction) => Ok(Accuracy::relative(fraction)),
        _ => Err(QuantityError {
            message: format!("\"{text}\" is not an accuracy between 1e-13 and 0.01"),
            hint: "write a plain fraction, such as --accuracy 1e-9".into(),
        }),
    }
}

impl EngineArgs {
    /// The pair, its field computed as chosen.
    pub fn pair<'a>(&self, bench: &'a Bench) -> PreparedPair<'a> {
        match self.each_turn {
            true => PreparedPair::of_each_turn(bench),
            false => PreparedPair::of(bench),
        }
        .with_accuracy(self.accuracy)
    }
}
