//! A bench with the field of its coils prepared.

use super::{Accuracy, Assembly};
use crate::pair::Bench;

/// A bench and its coils' field, which are asked about together: the field is that of this bench and of its model, as
/// built or as designed.
#[derive(Clone, Debug)]
pub struct PreparedPair<'a> {
    bench: &'a Bench,
    assembly: Assembly,
}

impl<'a> PreparedPair<'a> {
    /// The sections with smooth current density, to full accuracy.
    pub fn of(bench: &'a Bench) -> Self {
        Self { bench, assembly: Assembly::of(bench) }
    }

    /// Each turn where its wire lies.
    pub fn of_each_turn(bench: &'a Bench) -> Self {
        Self { bench, assembly: Assembly::of_each_turn(bench) }
    }

    /// The same pair with the field computed to another accuracy.
    #[must_use]
    pub fn with_accuracy(self, accuracy: Accuracy) -> Self {
        Self { bench: self.bench, assembly: self.assembly.with_accuracy(accuracy) }
    }

    /// The bench.
    pub fn bench(&self) -> &'a Bench {
        self.bench
    }

    /// The coils' field.
    pub fn assembly(&self) -> &Assembly {
        &self.assembly
    }
}
