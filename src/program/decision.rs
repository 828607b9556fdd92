//! The rule for values near a limit, for the commands that judge.

use coilwright::judgement::limit::Rule;

/// Flatten it into the arguments of a command that judges.
#[derive(clap::Args)]
pub struct DecisionArgs {
    /// How to decide near a limit: with a guard band of U (k = 2), or by the value alone
    #[arg(long, value_enum, default_value_t = Decision::Guarded)]
    decision: Decision,
}

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Decision {
    /// Keep a guard band of the expanded uncertainty (k = 2) on both sides of the limit
    Guarded,
    /// Use the value alone, whatever its uncertainty: buyer and seller share the risk
    Simple,
}

impl DecisionArgs {
    /// The chosen rule.
    pub fn rule(&self) -> Rule {
        match self.decision {
            Decision::Guarded => Rule::default(),
            Decision::Simple => Rule::Simple,
        }
    }
}
