//! Which field engine a command uses.

use coilwright::field::Assembly;
use coilwright::numeric::lanes::InstructionSet;
use coilwright::spec::{Bench, Model};

/// Options of every command that computes fields at points.
#[derive(clap::Args)]
pub struct EngineArgs {
    /// Take each turn where the wire lies instead of a smooth section
    #[arg(long)]
    each_turn: bool,
    /// Plain scalar arithmetic: the same digits on every machine, slower
    #[arg(long)]
    portable: bool,
}

impl EngineArgs {
    /// The coils of the bench as asked for.
    pub fn assembly(&self, bench: &Bench, model: Model) -> Assembly {
        let assembly = match self.each_turn {
            true => Assembly::of_each_turn(bench, model),
            false => Assembly::of(bench, model),
        };
        match self.portable {
            true => assembly.with_instruction_set(InstructionSet::Scalar),
            false => assembly,
        }
    }
}
