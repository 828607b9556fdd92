//! `schema`: what may a file contain?

use super::output;
use coilwright::Result;
use coilwright::files::spec;

/// The arguments of `schema`.
#[derive(clap::Args)]
pub struct SchemaArgs {
    /// The kind of file
    #[arg(value_enum, default_value_t = FileKind::Bench)]
    pub kind: FileKind,
}

/// The kinds of JSON file that people write.
#[derive(Clone, Copy, clap::ValueEnum)]
pub enum FileKind {
    /// A spec: a coil pair and its surroundings
    Bench,
    /// Wishes, for `size`
    Wanted,
    /// Measurements, for `identify`, `check` and `accept`
    Measured,
    /// A supplier's limits, for `accept`
    SupplierLimits,
}

/// Prints the JSON Schema of one kind of file.
pub fn run(arguments: &SchemaArgs) -> Result<()> {
    output::print_json(match arguments.kind {
        FileKind::Bench => spec::bench_schema(),
        FileKind::Wanted => spec::wanted_schema(),
        FileKind::Measured => spec::measured_schema(),
        FileKind::SupplierLimits => spec::supplier_limits_schema(),
    })
}
