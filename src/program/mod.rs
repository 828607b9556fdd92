//! Arguments and commands: parse, one library call, write.

mod calibrate;
mod check;
mod compare;
mod completions;
mod decision;
mod engine;
mod export;
mod field;
mod heat;
mod identify;
mod interrupt;
mod map;
mod orbit;
mod output;
mod progress;
mod quantity;
mod schema;
mod sheet;
mod size;
mod threads;
mod tolerance;
mod uniformity;
mod usage;
mod weigh;
mod wires;

use clap::{CommandFactory, Parser, Subcommand};
use coilwright::Result;
use coilwright::numeric::lanes;
use std::process::ExitCode;

/// Designs, calibrates and limits the coil pair of an electron-beam teaching bench.
#[derive(Parser)]
#[command(name = "coilwright", version, arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    command: Command,
    /// Plain scalar arithmetic: the same digits on every machine, slower
    #[arg(long, global = true)]
    portable: bool,
}

/// One variant a command; each runs in a file of its own.
#[derive(Subcommand)]
enum Command {
    /// The calibration line, its uncertainty, and the tables for the labs.
    Calibrate(calibrate::CalibrateArgs),
    /// Is this file right?
    Check(check::CheckArgs),
    /// The field vector at these points.
    Field(field::FieldArgs),
    /// How much current, how long, how hot?
    Heat(heat::HeatArgs),
    /// Which of these pairs, against what the lessons need?
    Compare(compare::CompareArgs),
    /// What is this unlabelled pair: turns and wire from what can be measured.
    Identify(identify::IdentifyArgs),
    /// Where is the field how uniform, as pictures and grid?
    Map(map::MapArgs),
    /// Where does the beam go, in the real field, and what does the bench do to e/m?
    Orbit(orbit::OrbitArgs),
    /// Print what a spec file may contain, as a JSON Schema.
    Schema(schema::SchemaArgs),
    /// Everything about this pair on one page.
    Sheet(sheet::SheetArgs),
    /// Which windings would do, best first?
    Size(size::SizeArgs),
    /// What must be held while building, and what does it cost to miss?
    Tolerance(tolerance::ToleranceArgs),
    /// How far off-centre may the beam go?
    Uniformity(uniformity::UniformityArgs),
    /// e/m and the electron's mass from the class's runs.
    Weigh(weigh::WeighArgs),
    /// Which wires are known: gauges and metric sizes from stock.
    Wires(wires::WiresArgs),
    /// Print the completion script of a shell.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Print the manual page in roff.
    Manual,
}

impl Command {
    fn run(self) -> Result<()> {
        match self {
            Self::Calibrate(arguments) => calibrate::run(&arguments),
            Self::Check(arguments) => check::run(&arguments),
            Self::Field(arguments) => field::run(&arguments),
            Self::Heat(arguments) => heat::run(&arguments),
            Self::Compare(arguments) => compare::run(&arguments),
            Self::Identify(arguments) => identify::run(&arguments),
            Self::Map(arguments) => map::run(&arguments),
            Self::Orbit(arguments) => orbit::run(&arguments),
            Self::Schema(arguments) => schema::run(&arguments),
            Self::Sheet(arguments) => sheet::run(&arguments),
            Self::Size(arguments) => size::run(&arguments),
            Self::Tolerance(arguments) => tolerance::run(&arguments),
            Self::Uniformity(arguments) => uniformity::run(&arguments),
            Self::Weigh(arguments) => weigh::run(&arguments),
            Self::Wires(arguments) => wires::run(&arguments),
            Self::Completions { shell } => completions::completions(Cli::command(), shell),
            Self::Manual => completions::manual(&Cli::command()),
        }
    }
}

/// Runs the command line and returns the exit status: 0 done, 1 failed, 2 wrong usage.
pub fn main() -> ExitCode {
    interrupt::clean_up_on_interrupt();
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => {
            return match usage::refused(&error) {
                Some(error) => output::report_error(&error),
                None => output::report_help(&error),
            };
        }
    };
    if cli.portable {
        lanes::keep_to_scalar();
    }
    match threads::on_all_cores(|| cli.command.run()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => output::report_error(&error),
    }
}
