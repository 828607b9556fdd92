//! Arguments and commands: parse, one library call, write.

mod accept;
mod build;
mod calibrate;
mod check;
mod compare;
mod completions;
mod decision;
#[cfg(feature = "desk")]
mod desk;
mod engine;
mod export;
mod field;
mod heat;
mod identify;
mod interrupt;
mod issue;
mod lesson;
mod line;
mod map;
mod orbit;
mod output;
mod progress;
mod quantity;
mod register;
mod schema;
mod sheet;
mod size;
mod tender;
mod threads;
mod today;
mod tolerance;
mod uniformity;
mod usage;
mod weigh;
mod wires;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use coilwright::Result;
use coilwright::numeric::lanes;
use std::any::TypeId;
use std::path::PathBuf;
use std::process::ExitCode;

/// Designs the coil pair of an electron-beam teaching bench, calibrates it and states its limits.
#[derive(Parser)]
#[command(name = "coilwright", version, arg_required_else_help = true)]
struct Cli {
    #[command(subcommand)]
    command: Command,
    /// Use scalar arithmetic: slower, with the same digits on every machine
    #[arg(long, global = true)]
    portable: bool,
}

/// One variant for each command; each has its own file.
#[derive(Subcommand)]
enum Command {
    /// Write everything the workshop needs: drawings, winding sheet, order list, test sheet.
    Build(build::BuildArgs),
    /// Judge a delivered pair against the spec that was ordered, with a protocol to sign.
    Accept(accept::AcceptArgs),
    /// Calculate the calibration line with its uncertainty, and the tables for the labs.
    Calibrate(calibrate::CalibrateArgs),
    /// Check a spec or another input file.
    Check(check::CheckArgs),
    /// Calculate the field vector at given points.
    Field(field::FieldArgs),
    /// Calculate coil temperatures, and the current and time allowed.
    Heat(heat::HeatArgs),
    /// Compare pairs against the lessons' needs.
    Compare(compare::CompareArgs),
    /// Identify the turns and wire of an unlabelled pair from measurements.
    Identify(identify::IdentifyArgs),
    /// Prepare a lesson: a page for the browser, worksheet, answers, class sheet and scale.
    Lesson(lesson::LessonArgs),
    /// Map the field's uniformity (pictures and grid).
    Map(map::MapArgs),
    /// Follow the beam in the real field, and find the bias of e/m due to the bench.
    Orbit(orbit::OrbitArgs),
    /// Show the register of a pair: its calibrations, control chart, drift, and the one in force.
    Register(register::RegisterArgs),
    /// Print what a spec file may contain, as a JSON Schema.
    Schema(schema::SchemaArgs),
    /// Print a data sheet of the pair on one page.
    Sheet(sheet::SheetArgs),
    /// Find windings that meet a set of wishes, best first.
    Size(size::SizeArgs),
    /// Write a request for quotation from the wishes, with a form that `compare` reads back.
    Tender(tender::TenderArgs),
    /// Work out the building tolerances, and the effect of each on the field.
    Tolerance(tolerance::ToleranceArgs),
    /// Calculate how far off-centre the field stays within a given deviation.
    Uniformity(uniformity::UniformityArgs),
    /// Evaluate e/m and the electron's mass from the class's runs.
    Weigh(weigh::WeighArgs),
    /// List the stock wires: gauges and metric sizes.
    Wires(wires::WiresArgs),
    /// Open the program in a browser window, on this machine only.
    #[cfg(feature = "desk")]
    Desk(desk::DeskArgs),
    /// Print the completion script of a shell.
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page in roff.
    Manual,
}

impl Command {
    fn run(self) -> Result<()> {
        match self {
            Self::Build(arguments) => build::run(&arguments),
            Self::Accept(arguments) => accept::run(&arguments),
            Self::Calibrate(arguments) => calibrate::run(&arguments),
            Self::Check(arguments) => check::run(&arguments),
            Self::Field(arguments) => field::run(&arguments),
            Self::Heat(arguments) => heat::run(&arguments),
            Self::Compare(arguments) => compare::run(&arguments),
            Self::Identify(arguments) => identify::run(&arguments),
            Self::Lesson(arguments) => lesson::run(&arguments),
            Self::Map(arguments) => map::run(&arguments),
            Self::Orbit(arguments) => orbit::run(&arguments),
            Self::Register(arguments) => register::run(&arguments),
            Self::Schema(arguments) => schema::run(&arguments),
            Self::Sheet(arguments) => sheet::run(&arguments),
            Self::Size(arguments) => size::run(&arguments),
            Self::Tender(arguments) => tender::run(&arguments),
            Self::Tolerance(arguments) => tolerance::run(&arguments),
            Self::Uniformity(arguments) => uniformity::run(&arguments),
            Self::Weigh(arguments) => weigh::run(&arguments),
            Self::Wires(arguments) => wires::run(&arguments),
            #[cfg(feature = "desk")]
            Self::Desk(arguments) => desk::run(&arguments, definitions()),
            Self::Completions { shell } => completions::completions(Cli::command(), shell),
            Self::Manual => completions::manual(&Cli::command()),
        }
    }
}

/// The definitions of all commands.
#[cfg(feature = "desk")]
pub fn definitions() -> clap::Command {
    numbers_with_a_sign(Cli::command())
}

/// The same command, with every option for a number or quantity told that `-1` is a value and not an option.
fn numbers_with_a_sign(command: clap::Command) -> clap::Command {
    let told = |argument: clap::Arg| {
        if takes_a_number(&argument) { argument.allow_hyphen_values(true) } else { argument }
    };
    command.mut_subcommands(|one| one.mut_args(told))
}

/// Whether an argument is an option with a value that is neither a name, a path nor one of a list of words.
fn takes_a_number(argument: &clap::Arg) -> bool {
    let names = [TypeId::of::<String>(), TypeId::of::<PathBuf>()];
    argument.get_long().is_some()
        && argument.get_action().takes_values()
        && argument.get_possible_values().is_empty()
        && !names.iter().any(|kind| argument.get_value_parser().type_id() == *kind)
}

/// Runs the command line and returns the exit status: 0 done, 1 failed, 2 wrong usage.
pub fn main() -> ExitCode {
    interrupt::clean_up_on_interrupt();
    let parsed = numbers_with_a_sign(Cli::command()).try_get_matches();
    let cli = match parsed.and_then(|matches| Cli::from_arg_matches(&matches)) {
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
